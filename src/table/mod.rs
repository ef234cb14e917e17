//! The inverse problem: the table whose released board has the curve that is wanted.

mod design;
mod faces;
mod feasible;
mod overbent;
mod run_out;
mod setup;
mod wanted;

pub use faces::{OtherFace, turned_over, upside_down};
pub use overbent::{OverbentTable, Setup, overbend, overbend_lying};
pub use setup::setup;
