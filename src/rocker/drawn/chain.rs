//! Strokes put in order from tail to tip.

use std::f64::consts::{PI, TAU};

use kurbo::Point;

use super::PATH;
use super::stroke::Stroke;
use crate::finding::Fault;
use crate::units::plain;

/// Change of direction from one stroke to the next, rad.
pub(super) fn kink(before: &Stroke, behind: &Stroke) -> f64 {
    (behind.start_rad() - before.end_rad() + PI).rem_euclid(TAU) - PI
}

/// The strokes in one line, each going on where the one before ended, from the left end to the right one.
///
/// # Errors
/// Says where the line branches, is open, runs back into itself, or is not one line.
pub(super) fn joined(strokes: Vec<Stroke>, gap_mm: f64) -> Result<Vec<Stroke>, Fault> {
    // What is shorter than a joint's gap is a speck.
    let mut left: Vec<Stroke> = strokes.into_iter().filter(|s| s.length_mm() > gap_mm.max(1e-6)).collect();
    if left.is_empty() {
        return Err(Fault::new(
            "drawing-empty",
            PATH,
            "no line, arc, polyline or spline was found.",
            "Put the base of the board on the layer or under the id that is named, as a line from tail to tip.",
        ));
    }
    let near = |a: Point, b: Point| a.distance(b) <= gap_mm.max(1e-6);
    let partners =
        |at: Point, all: &[Stroke]| all.iter().flat_map(|s| [s.start(), s.end()]).filter(|p| near(*p, at)).count();
    let ends: Vec<Point> = left.iter().flat_map(|s| [s.start(), s.end()]).collect();
    if let Some(branch) = ends.iter().find(|p| partners(**p, &left) > 2) {
        return Err(Fault::new(
            "drawing-branches",
            PATH,
            format!("more than two ends meet at {}.", shown(*branch)),
            "Leave only the base of the board, drawn once, on the layer or under the id that is named.",
        ));
    }
    let mut loose: Vec<Point> = ends.into_iter().filter(|p| partners(*p, &left) < 2).collect();
    loose.sort_by(|a, b| a.x.total_cmp(&b.x));
    let Some(&tail) = loose.first() else {
        return Err(Fault::new(
            "drawing-closed",
            PATH,
            "the drawn line runs back into itself.",
            "Leave only the base of the board, a line with two ends.",
        ));
    };
    let mut chain: Vec<Stroke> = Vec::new();
    let mut at = tail;
    while let Some(i) = left.iter().position(|s| near(s.start(), at) || near(s.end(), at)) {
        let stroke = left.swap_remove(i);
        let stroke = if near(stroke.start(), at) { stroke } else { stroke.reversed() };
        at = stroke.end();
        chain.push(stroke);
    }
    if left.is_empty() {
        return Ok(chain);
    }
    // Where the next stroke is nearest, to show what is missing.
    let nearest = left
        .iter()
        .flat_map(|s| [s.start(), s.end()])
        .min_by(|a, b| a.distance(at).total_cmp(&b.distance(at)))
        .unwrap_or(at);
    Err(Fault::new(
        "drawing-gap",
        PATH,
        format!("the line ends at {}, and the next one begins {} mm away.", shown(at), plain(nearest.distance(at), 3)),
        "Join them in the drawing, or allow a larger gap; take out what is not the base of the board.",
    ))
}

fn shown(p: Point) -> String {
    format!("({}, {}) mm", plain(p.x, 2), plain(p.y, 2))
}
