//! Top edges: parallels to the surface that the board lies on.

use super::rib::fold_fault;
use crate::curve::{Curve, Parallel, PlaneCurve, Pose, lowest_point};
use crate::finding::Fault;
use kurbo::Vec2;

/// The surface, raised.
pub(super) fn raised(surface: &Curve, raised_mm: f64) -> Curve {
    surface.posed(Pose { turn_rad: 0.0, shift: Vec2::new(0.0, raised_mm) })
}

/// The edge at `distance_mm` above the surface, negative below it.
///
/// # Errors
/// A surface so tight that the edge folds.
pub(super) fn parallel(surface: &Curve, distance_mm: f64) -> Result<Parallel<'_>, Fault> {
    Parallel::new(surface, distance_mm).map_err(|folds| fold_fault(&folds, "table.skin"))
}

/// Height of the lowest place of the curve at `distance_mm` from `surface`, mm.
pub(super) fn lowest_top(surface: &Curve, distance_mm: f64) -> Result<f64, Fault> {
    let top = parallel(surface, distance_mm)?;
    // The lowest place of a parallel lies where the curve itself is lowest, or at an end.
    let (from, to) = top.range_mm();
    let places = [lowest_point(surface), from, to];
    Ok(places.iter().map(|s| top.at(*s).point.y).fold(f64::INFINITY, f64::min))
}
