//! Top edges: parallels to the surface that the board lies on.

use super::concave::Across;
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

/// The top edge at `y_mm` from the middle, `depth_mm` below the surface and raised by the curve across.
///
/// The depth is taken square to the surface in the edge's own plane; where a rise varies along the surface with the slope
/// m, that is too deep by half of m² of it, a hundredth of a millimetre for 4 mm at a slope of 1 in 14.
///
/// # Errors
/// As [`parallel`].
pub(super) fn top_edge<'c>(
    surface: &'c Curve,
    across: &Across,
    y_mm: f64,
    depth_mm: f64,
) -> Result<Parallel<'c>, Fault> {
    match across.rise_along(y_mm, depth_mm) {
        None => parallel(surface, across.rise_mm(0.0, y_mm, depth_mm) - depth_mm),
        Some(rise) => {
            Parallel::varying(surface, -depth_mm, rise).map_err(|folds| fold_fault(&folds, "table.concave.along"))
        }
    }
}

/// Height of the lowest place of a top edge under `surface`, mm.
pub(super) fn lowest_of(surface: &Curve, top: &Parallel<'_>) -> f64 {
    // The lowest place of a parallel lies where the curve itself is lowest, or at an end.
    let (from, to) = top.range_mm();
    let mut places = vec![lowest_point(surface), from, to];
    if top.varies() {
        let count = ((to - from) / LOWEST_STEP_MM).ceil().max(1.0) as usize;
        places.extend((0..count).map(|i| from + (to - from) * i as f64 / count as f64));
    }
    places.iter().map(|s| top.at(*s).point.y).fold(f64::INFINITY, f64::min)
}

/// Step of the places at which the lowest of a varying edge is looked for, mm: a radius of 300 mm hides 0.002 mm between.
const LOWEST_STEP_MM: f64 = 2.0;
