//! The inverse problem: the table whose released board has the curve that is wanted.

mod overbent;
mod run_out;
mod setup;

pub use overbent::{OverbentTable, Setup, overbend};
pub use setup::setup;
