//! Documents: TOML text in, jobs and materials out.

pub mod materials;
