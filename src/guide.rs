//! Pages of the guide that belong to what the library computes.

#[doc = include_str!("guide/evidence.md")]
pub mod evidence {}
