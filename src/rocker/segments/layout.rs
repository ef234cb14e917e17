//! Positions of segments, and the bends of those given by the height they gain.

use std::f64::consts::FRAC_PI_2;

use super::part::Part;
use crate::codes;
use crate::curve::{Curvature, Curve, Piece, PlaneCurve, resting_pose};
use crate::finding::{Fault, Faults};
use crate::job::SegmentShape;
use crate::numeric::find_root;
use crate::rocker::limits;
use crate::rocker::rest::longest_carrying;

/// Positions of the parts, and the anchor.
pub(super) struct Layout {
    /// Joints from tail to tip, one more than parts, mm.
    joints_mm: Vec<f64>,
    /// The part that holds the anchor.
    pub(super) anchor: usize,
    /// The anchor, mm.
    pub(super) anchor_mm: f64,
}

/// An arc whose curvature follows from a height.
pub(super) struct Gain {
    /// Index of the part.
    pub(super) part: usize,
    /// From its inner to its outer end, mm.
    pub(super) height_mm: f64,
    /// The key that states it.
    pub(super) path: String,
}

impl Layout {
    pub(super) fn new(parts: &[Part], lengths: &[f64]) -> Self {
        let total: f64 = lengths.iter().sum();
        let mut joints_mm = vec![-0.5 * total];
        let mut sum = 0.0;
        for length in lengths {
            sum += length;
            joints_mm.push(sum - 0.5 * total);
        }
        let anchor_mm = resting_run(parts, &joints_mm, |p| matches!(p.shape, SegmentShape::Flat))
            .or_else(|| resting_run(parts, &joints_mm, Part::is_camber))
            .map_or(0.0, |(a, b)| 0.5 * (a + b));
        let anchor = joints_mm[1..].partition_point(|&end| end <= anchor_mm).min(parts.len() - 1);
        Self { joints_mm, anchor, anchor_mm }
    }

    fn length_mm(&self, i: usize) -> f64 {
        self.joints_mm[i + 1] - self.joints_mm[i]
    }

    /// Curvature at both ends of a part, seen from tail to tip.
    fn ends(&self, parts: &[Part], arcs: &[f64], i: usize) -> (f64, f64) {
        let SegmentShape::Easing { from_radius_mm, to_radius_mm } = parts[i].shape else { return (arcs[i], arcs[i]) };
        // A neighbour that is itself an easing has a radius of its own where they meet; the check saw to it.
        let before = || match i.checked_sub(1).map(|j| (parts[j].shape, arcs[j])) {
            Some((SegmentShape::Easing { to_radius_mm, .. }, _)) => to_radius_mm.map_or(0.0, f64::recip),
            Some((_, k)) => k,
            None => 0.0,
        };
        let behind = || match parts.get(i + 1).map(|p| p.shape) {
            Some(SegmentShape::Easing { from_radius_mm, .. }) => from_radius_mm.map_or(0.0, f64::recip),
            Some(_) => arcs[i + 1],
            None => 0.0,
        };
        (from_radius_mm.map_or_else(before, f64::recip), to_radius_mm.map_or_else(behind, f64::recip))
    }

    pub(super) fn curvature(&self, parts: &[Part], arcs: &[f64]) -> Curvature {
        let piece = |i: usize| {
            let (k_start_per_mm, k_end_per_mm) = self.ends(parts, arcs, i);
            Piece { start_mm: self.joints_mm[i], end_mm: self.joints_mm[i + 1], k_start_per_mm, k_end_per_mm }
        };
        Curvature::new((0..parts.len()).map(piece).collect()).expect("lengths and bends were checked")
    }

    /// Direction, seen outwards, at the inner end of part `i`, the anchor's direction being `tilt_rad` toward the tip.
    fn direction_at(&self, parts: &[Part], arcs: &[f64], i: usize, tilt_rad: f64) -> f64 {
        let curvature = self.curvature(parts, arcs);
        let (from, to, tilt) = if i > self.anchor {
            (self.anchor_mm, self.joints_mm[i], tilt_rad)
        } else {
            (self.joints_mm[i + 1], self.anchor_mm, -tilt_rad)
        };
        let inner = curvature.between(from, to);
        tilt + inner.map_or(0.0, |c| c.total_angle())
    }

    /// Solves for the curvature of arcs given by the height they gain.
    ///
    /// Each is solved by itself, outwards from the anchor; the way the board stands couples them (a camber tips when one
    /// end is bent more), so the round is repeated until it stands still.
    pub(super) fn reach_heights(&self, parts: &[Part], arcs: &mut [f64], gains: &[Gain]) -> Result<(), Faults> {
        let mut outwards: Vec<_> = gains.iter().collect();
        outwards.sort_by_key(|gain| gain.part.abs_diff(self.anchor));
        let mut tilt_rad = 0.0;
        let mut moved = f64::INFINITY;
        for _ in 0..100 {
            if outwards.is_empty() || moved < 1e-12 {
                return Ok(());
            }
            moved = 0.0;
            for gain in &outwards {
                let new = self.bent_to_gain(parts, arcs, gain, tilt_rad)?;
                let old = std::mem::replace(&mut arcs[gain.part], new);
                moved = moved.max((new - old).abs() * self.length_mm(gain.part));
            }
            let posed = resting_pose(&Curve::new(self.curvature(parts, arcs)), self.anchor_mm);
            let stands = posed.at(self.anchor_mm).angle_rad;
            moved = moved.max((stands - tilt_rad).abs());
            tilt_rad = stands;
        }
        Err(codes::HEIGHTS_NOT_FOUND
            .at(
                "rocker.segments.parts",
                format!("the heights do not settle; the last round still turned an arc by {moved:.1e} rad."),
            )
            .into())
    }

    /// Curvature with which an arc gains its height.
    fn bent_to_gain(&self, parts: &[Part], arcs: &[f64], wanted: &Gain, tilt_rad: f64) -> Result<f64, Fault> {
        let &Gain { part: i, height_mm, ref path } = wanted;
        let length = self.length_mm(i);
        let mut trial = arcs.to_vec();
        let mut direction = |turn: f64| {
            trial[i] = turn / length;
            self.direction_at(parts, &trial, i, tilt_rad)
        };
        // An easing before the arc turns with it, so the direction at the start of the arc is linear in its turn.
        let at_rest = direction(0.0);
        let along = direction(1.0) - at_rest;
        let gain = |turn: f64| {
            let half = 0.5 * turn;
            // Chord of the arc times the sine of its direction, which is that of the arc's middle.
            let chord = if half == 0.0 { length } else { length * libm::sin(half) / half };
            chord * libm::sin(at_rest + along * turn + half)
        };
        // The gain grows with the turn up to the vertical; beyond, the end would lean back.
        let upright = |angle: f64| (angle - at_rest) / (1.0 + along);
        let (least, most) = (upright(-FRAC_PI_2), upright(FRAC_PI_2));
        let root = find_root(|turn| gain(turn) - height_mm, least, most, 1e-14);
        root.map(|root| root.x / length).map_err(|_| limits::out_of_reach(height_mm, gain(most), length, path))
    }
}

/// The longest run of parts of a kind on which the board can rest.
fn resting_run(parts: &[Part], joints_mm: &[f64], kind: impl Fn(&Part) -> bool) -> Option<(f64, f64)> {
    let mut runs: Vec<(f64, f64)> = Vec::new();
    for (_, ends) in parts.iter().zip(joints_mm.windows(2)).filter(|(part, _)| kind(part)) {
        match runs.last_mut() {
            Some(run) if run.1 == ends[0] => run.1 = ends[1],
            _ => runs.push((ends[0], ends[1])),
        }
    }
    longest_carrying(runs, (joints_mm[0], joints_mm[parts.len()]))
}
