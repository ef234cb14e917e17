//! From results to drawings, listings and words. Explains; does not compute.

mod book;
mod listings;
mod members;
mod plot;
mod result;
mod ribs;
mod summary;

pub use book::{Results, book};
pub use listings::{bearers, spacers, stations};
pub use members::members;
pub use result::result;
pub use ribs::ribs;
pub use summary::summary;

/// Program and job in one line, written into every file so that a part can be traced.
pub fn origin(job_hash: &str) -> String {
    let short = job_hash.get(..16).unwrap_or(job_hash);
    format!("overbend {} job {short}", env!("CARGO_PKG_VERSION"))
}
