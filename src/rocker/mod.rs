//! What is wanted, in whatever way the shop said it, as one target curve.

mod arc;
mod limits;
mod report;
mod segments;

pub use report::{Extremum, Report};

use crate::curve::{Curvature, Curve, PlaneCurve, resting_pose};
use crate::finding::Fault;
use crate::job::{Board, Rocker};

/// The rocker that is wanted.
#[derive(Debug, Clone, PartialEq)]
pub struct Target {
    /// Curvature at the base of the finished board over its arc length, from -L/2 (tail) to +L/2 (tip).
    pub curvature: Curvature,
    /// The base as it rests on the floor: lowest point at height 0, s = 0 at x = 0.
    pub curve: Curve,
    /// Where the board rests (the place that decides how it stands), mm from its middle.
    pub anchor_mm: f64,
    /// What can be said about it.
    pub report: Report,
}

impl Target {
    /// The target made of `curvature`, resting at `anchor_mm`; `asked_extrema` of its curvature are meant and no bumps.
    pub fn new(curvature: Curvature, anchor_mm: f64, asked_extrema: usize) -> Self {
        let curve = resting_pose(&Curve::new(curvature.clone()), anchor_mm);
        let report = Report::of(&curve, anchor_mm, asked_extrema);
        Self { curvature, curve, anchor_mm, report }
    }

    /// Height of the tip over the lowest point while the board rests, mm.
    pub fn tip_height_mm(&self) -> f64 {
        self.curve.at(self.curvature.end_mm()).point.y
    }

    /// Height of the tail over the lowest point while the board rests, mm.
    pub fn tail_height_mm(&self) -> f64 {
        self.curve.at(self.curvature.start_mm()).point.y
    }
}

/// The target curve of a board.
///
/// # Errors
/// Every reason why what was said is no curve for this board, each with the path of the key at fault.
pub fn target(rocker: &Rocker, board: &Board) -> Result<Target, Vec<Fault>> {
    if !(board.length_mm > 0.0 && board.length_mm.is_finite()) {
        return Err(vec![Fault::new(
            "board-length",
            "board.length",
            format!("A board of {} mm has no rocker.", board.length_mm),
            "Give the finished length, greater than zero.",
        )]);
    }
    match rocker {
        Rocker::Arc(bend) => {
            let curvature = arc::curvature(*bend, board)?;
            Ok(Target::new(curvature, 0.0, 0))
        }
        Rocker::Segments(segments) => {
            let laid = segments::lay(segments, board)?;
            let asked = report::extrema(&laid.curvature).len();
            Ok(Target::new(laid.curvature, laid.anchor_mm, asked))
        }
    }
}
