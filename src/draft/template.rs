//! Marks on planing rails: stations of the taper, the middle, the tip.

use kurbo::Point;

use super::ribs::stroke;
use crate::drawing::{Part, Placer};
use crate::jig::{BED_MM, PlaningRails};

/// Height of capitals, mm.
const TEXT_MM: f64 = 4.0;
/// How far from its place a text may stand, mm.
const TEXT_REACH_MM: f64 = 60.0;
/// Length of a tick, mm.
const TICK_MM: f64 = 5.0;

pub(super) fn dress_planing_rail(part: &mut Part, rails: &PlaningRails) {
    let (Some((tail, _)), Some((tip, _))) = (rails.points.first().copied(), rails.points.last().copied()) else {
        return;
    };
    for (s, t) in rails.points.iter().filter(|p| p.0 > tail && p.0 < tip) {
        stroke(part, Point::new(*s, BED_MM + t), Point::new(*s, BED_MM + t - TICK_MM));
    }
    if tail < 0.0 && tip > 0.0 {
        stroke(part, Point::ZERO, Point::new(0.0, TICK_MM));
    }
    let mut placer = Placer::of(part);
    for (words, x_mm) in
        [("TIP", tip - 12.0), ("MIDDLE", 16.0), (&format!("PLANING RAIL {}", rails.number), 0.5 * tail)]
    {
        placer.write(part, words, TEXT_MM, Point::new(x_mm.clamp(tail, tip), 0.5 * BED_MM), TEXT_REACH_MM);
    }
}
