//! The inverse problem: the table whose released board has the curve that is wanted.

mod overbent;
mod run_out;

pub use overbent::{OverbentTable, Setup, overbend};
