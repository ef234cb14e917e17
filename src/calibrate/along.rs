//! The share that a board really gave back, along the board.

use super::OffTable;
use crate::curve::{Curvature, parallel_curvature};
use crate::press::Pressed;
use crate::rocker::measured::Fit;

/// What was given back at one place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ShareAt {
    /// Place along the base, mm from the middle.
    pub s_mm: f64,
    /// Share that the model gives back with factor 1.
    pub predicted: f64,
    /// Share that the readings say, from the curve through them alone.
    pub measured: f64,
    /// Standard deviation of the measured share, from the readings.
    pub deviation: f64,
}

/// Places pressed to less than this share of the tightest one are too flat to show how much springs back.
const LEAST_BENT: f64 = 0.3;

/// The shares at `count` places, as means over the length between them; places that were pressed nearly flat are left
/// out. A warm cure's own curvature is taken off first.
pub(crate) fn shares_along(off: &OffTable, fit: &Fit, count: usize) -> Vec<ShareAt> {
    let (from, to) = off.finished_mm();
    let Some(released) = off.released(1.0) else { return Vec::new() };
    let pressed = off.pressed();
    let tightest = pressed.base_per_mm.iter().flatten().map(|k| k.abs()).fold(0.0, f64::max);
    let length = (to - from) / count as f64;
    let one = |i: usize| {
        let (a, b) = (from + length * i as f64, from + length * (i + 1) as f64);
        let bent = mean_over(pressed, &released.base_mm, a, b)?;
        if bent.turn_per_mm.abs() < LEAST_BENT * tightest {
            return None;
        }
        let given_back = |k: &Curvature| {
            let base = turned(k, a, b) / (b - a);
            let free = parallel_curvature(base, bent.neutral_mm);
            (bent.turn_per_mm + bent.thermal_per_mm - free) / bent.turn_per_mm
        };
        Some(ShareAt {
            s_mm: 0.5 * (a + b),
            predicted: given_back(&released.base),
            measured: given_back(&fit.curvature),
            deviation: fit.deviation_of(given_back),
        })
    };
    (0..count).filter_map(one).collect()
}

/// How the stack lay between two places of the released base, on the average.
struct Bent {
    /// What a section turns per length of blank, 1/mm.
    turn_per_mm: f64,
    /// Height of the neutral axis above the base, mm.
    neutral_mm: f64,
    /// Curvature that cooling adds, 1/mm.
    thermal_per_mm: f64,
}

fn mean_over(pressed: &Pressed, base_mm: &[f64], a: f64, b: f64) -> Option<Bent> {
    let mut sum = [0.0; 4];
    for (i, sections) in pressed.sections.iter().enumerate() {
        let overlap = base_mm[i + 1].min(b) - base_mm[i].max(a);
        if overlap <= 0.0 {
            continue;
        }
        for (section, base) in sections.iter().zip(pressed.base_per_mm[i]) {
            let turn = parallel_curvature(base, section.neutral_mm);
            let values = [1.0, turn, section.neutral_mm, section.thermal_curvature_per_mm];
            sum.iter_mut().zip(values).for_each(|(s, v)| *s += 0.5 * overlap * v);
        }
    }
    let [whole, turn, neutral, thermal] = sum;
    (whole > 0.0).then(|| Bent {
        turn_per_mm: turn / whole,
        neutral_mm: neutral / whole,
        thermal_per_mm: thermal / whole,
    })
}

/// Angle that a curve turns between two places, rad.
fn turned(k: &Curvature, a: f64, b: f64) -> f64 {
    k.between(a, b).map_or(f64::NAN, |part| part.total_angle())
}
