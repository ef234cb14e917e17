//! The inverse problem: the table whose released board has the target curve.

mod carried;
mod checks;
mod design;
mod faces;
mod feasible;
mod overbent;
mod overhang;
mod run_out;
mod setup;
mod side_by_side;
mod wanted;

pub use carried::{AVERAGED_MM, Build, Carried, Fastening, LoadCase, Peak, Sag, Skin, Span, widest_clear_mm};
pub use checks::{checks, plywood_radius_mm};
pub(crate) use checks::{checks_without_jig, left_over_there, lying_checks, quick_checks};
pub use faces::{OtherFace, turned_over};
pub use overbent::{OverbentTable, PressedPoint, Setup, overbend, overbend_lying};
pub use overhang::{Overhangs, overhangs};
pub use setup::setup;
pub use side_by_side::middles_mm;
pub(crate) use side_by_side::{width_of_all_mm, width_over_all_mm};
