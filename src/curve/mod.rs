//! Plane curves as curvature over arc length, integrated exactly to points.
//!
//! Signs: arc length s grows toward the tip; curvature k > 0 turns counter-clockwise when walking toward the tip with
//! z up, so the ends come up (rocker); k < 0 is camber.

mod arcs;
mod curvature;
mod parallel;
mod plane;
mod pose;
mod resting;

pub use arcs::{
    ArcFitError, ArcNode, ArcPath, DEFAULT_TOLERANCE_MM, LARGEST_BREAK_RAD, LARGEST_RADIUS_MM, SHORTEST_MM, fit_arcs,
};
pub use curvature::{Curvature, CurvatureError, MOST_PARTS, Piece};
pub use parallel::{Parallel, ParallelFolds};
pub(crate) use parallel::{parallel_curvature, parallel_stretch};
pub use plane::{Curve, PlaneCurve, Sample};
pub use pose::Pose;
pub use resting::resting_pose;
pub(crate) use resting::{lowest_between, lowest_point};
