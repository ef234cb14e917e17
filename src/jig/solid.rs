//! The table as one body, for a shop that mills or prints it.

use super::record::Jig;
use crate::curve::PlaneCurve;
use crate::drawing::Mesh;

/// How far a flat triangle may lie off the surface, mm: a tenth of what a mill leaves; the last
/// step may be half as long again, and leaves twice that.
const OFF_MM: f64 = 0.005;
/// Longest side of a triangle along and across the table, mm: long thin ones trouble slicing programs.
const LONGEST_MM: (f64, f64) = (20.0, 40.0);
/// Places ahead at which curvature is looked at for a step.
const LOOKS_AHEAD: u32 = 8;
/// Smallest step, mm: of a tight place more triangles show nothing.
const LEAST_STEP_MM: f64 = 0.5;

impl Jig {
    /// The body under the surface that the board lies on, film and skin included, down to the flat base, with upright sides.
    /// x runs along the table toward the tip, y across, z up, as in the rest of the jig.
    pub fn solid(&self) -> Mesh {
        let half_mm = 0.5 * self.width_mm;
        let across = self.places_across_mm(half_mm);
        let rows: Vec<Vec<[f64; 3]>> = self
            .places_along_mm()
            .into_iter()
            .map(|s| {
                let on = self.surface.at(s);
                let place = |y: &f64| {
                    let p = on.point + on.normal() * self.across.rise_mm(s, *y, 0.0);
                    [p.x, *y, p.y]
                };
                across.iter().map(place).collect()
            })
            .collect();
        Mesh::under(&rows)
    }

    /// Places along the surface so near that chords stay on it.
    fn places_along_mm(&self) -> Vec<f64> {
        let (from, to) = self.surface.range_mm();
        let k = self.surface.curvature();
        let edge = self.across.edge_curvature(self.width_mm, k);
        let sharpest = |s: f64| {
            let ahead = (0..=LOOKS_AHEAD).map(|i| s + LONGEST_MM.0 * f64::from(i) / f64::from(LOOKS_AHEAD));
            ahead.map(|s| k.at(s).abs().max(edge.as_ref().map_or(0.0, |edge| edge.at(s).abs()))).fold(0.0, f64::max)
        };
        let mut places = vec![from];
        let mut s = from;
        while s < to {
            let step = step_mm(sharpest(s), LONGEST_MM.0);
            // A rest shorter than a step belongs to it.
            s = if to - s < 1.5 * step { to } else { s + step };
            places.push(s);
        }
        places
    }

    /// Places across, from edge to edge.
    fn places_across_mm(&self, half_mm: f64) -> Vec<f64> {
        let looks = 64;
        let look_mm = half_mm / f64::from(looks);
        let deepest_mm = self.across.deepest_mm();
        let rise = |i: i32| self.across.rise_mm(deepest_mm, look_mm * f64::from(i), 0.0);
        let bend = |i: i32| ((rise(i + 1) - 2.0 * rise(i) + rise(i - 1)) / (look_mm * look_mm)).abs();
        let sharpest = (0..looks).map(bend).fold(0.0, f64::max);
        let count = (2.0 * half_mm / step_mm(sharpest, LONGEST_MM.1)).ceil().max(1.0) as usize;
        (0..=count).map(|i| -half_mm + 2.0 * half_mm * i as f64 / count as f64).collect()
    }
}

/// Step whose chord leaves a curve of this curvature by what is allowed: its rise is the square of the step times the
/// curvature, over 8.
fn step_mm(k_per_mm: f64, longest_mm: f64) -> f64 {
    (8.0 * OFF_MM / k_per_mm.max(1e-12)).sqrt().clamp(LEAST_STEP_MM, longest_mm)
}
