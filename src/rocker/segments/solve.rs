//! Bends of all segments.

use std::f64::consts::FRAC_PI_2;

use super::layout::{Gain, Layout};
use super::part::{Laid, Part};
use crate::codes;
use crate::curve::{Curve, PlaneCurve, resting_pose};
use crate::finding::{Fault, Faults};
use crate::job::{Bend, SegmentShape};
use crate::numeric::{find_root, max_abs};
use crate::rocker::arc::bent_to_rise;
use crate::rocker::limits;
use crate::units::{Quantity, phrase};

/// Prescribed heights of the ends above the lowest point.
#[derive(Debug, Clone, Copy)]
pub(super) struct Wanted {
    pub(super) tip_mm: Option<f64>,
    pub(super) tail_mm: Option<f64>,
}

/// An end of the board.
#[derive(Debug, Clone, Copy, PartialEq)]
enum End {
    Tip,
    Tail,
}

impl End {
    fn key(self) -> &'static str {
        match self {
            Self::Tip => "rocker.segments.tip_height",
            Self::Tail => "rocker.segments.tail_height",
        }
    }
}

/// Curvature of the parts, open ones being `rest_mm` long.
pub(super) fn bend(parts: &[Part], rest_mm: f64, wanted: Wanted) -> Result<Laid, Faults> {
    let lengths: Vec<f64> = parts.iter().map(|p| p.length_mm.unwrap_or(rest_mm)).collect();
    let bending = Bending::new(parts, &lengths)?;
    let arcs = bending.solve(wanted)?;
    let mut faults = Faults::default();
    for (i, part) in parts.iter().enumerate() {
        if let SegmentShape::Arc(bend) = part.shape {
            faults.extend(limits::check_arc(arcs[i], lengths[i], &part.bend_path(bend)).err());
        }
    }
    let curvature = bending.layout.curvature(parts, &arcs);
    let turned = curvature.pieces().iter().map(|p| p.turned_to(p.end_mm).abs()).sum::<f64>();
    if faults.is_empty() {
        faults.extend(limits::check_turn(turned, "rocker.segments.parts").err());
    }
    faults.or(Laid { curvature, anchor_mm: bending.layout.anchor_mm })
}

/// Parts with the bends that need no solving.
struct Bending<'p> {
    parts: &'p [Part],
    lengths: &'p [f64],
    layout: Layout,
    /// Curvature of each arc, 1/mm; zero for other parts and unknown arcs.
    arcs: Vec<f64>,
    /// Arcs given by the height they gain.
    gains: Vec<Gain>,
}

impl<'p> Bending<'p> {
    fn new(parts: &'p [Part], lengths: &'p [f64]) -> Result<Self, Faults> {
        let layout = Layout::new(parts, lengths);
        let mut arcs = vec![0.0; parts.len()];
        let (mut gains, mut faults) = (Vec::new(), Faults::default());
        for (i, part) in parts.iter().enumerate() {
            let SegmentShape::Arc(bend) = part.shape else { continue };
            let path = part.bend_path(bend);
            match bend {
                Bend::Radius(r) => arcs[i] = 1.0 / r,
                Bend::Angle(a) => arcs[i] = a / lengths[i],
                Bend::Rise { rise_mm, chord_mm } => arcs[i] = limits::curvature_of_rise(rise_mm, chord_mm),
                Bend::Height(h) if part.is_camber() || i == layout.anchor => match bent_to_rise(h, lengths[i], &path) {
                    Ok(k) => arcs[i] = k,
                    Err(fault) => faults.push(fault),
                },
                Bend::Height(height_mm) => gains.push(Gain { part: i, height_mm, path }),
                Bend::Solved => {}
            }
        }
        faults.or(Self { parts, lengths, layout, arcs, gains })
    }

    /// All arcs, including those solved for heights.
    fn solve(&self, wanted: Wanted) -> Result<Vec<f64>, Faults> {
        let mut numbers: Vec<usize> = self.parts.iter().filter(|p| p.is_solved()).map(|p| p.number).collect();
        // The part nearer the tip makes the tip's height; a mirrored part stands at both sides and counts once.
        numbers.sort_unstable();
        numbers.dedup();
        let tip = wanted.tip_mm.map(|h| (End::Tip, h)).zip(numbers.last().copied());
        let tail = wanted.tail_mm.map(|h| (End::Tail, h)).zip(numbers.first().copied());
        let unknowns: Vec<((End, f64), usize)> = tip.into_iter().chain(tail).collect();
        let mut turns = vec![0.0; unknowns.len()];
        for _ in 0..MOST_ROUNDS {
            let before = turns.clone();
            for at in 0..unknowns.len() {
                turns[at] = self.turn_for(&unknowns, &turns, at)?;
            }
            let moved = max_abs(turns.iter().zip(&before).map(|(a, b)| a - b));
            // One unknown takes one round; two are coupled by the tilt of the board only.
            if unknowns.len() < 2 || moved < 1e-12 {
                return self.with(&unknowns, &turns);
            }
        }
        Err(Fault::new(
            codes::HEIGHTS_NOT_FOUND,
            "rocker.segments.tip_height",
            "no bends were found that give both ends their heights.",
            "Give one of the two arcs by radius or angle.",
        )
        .into())
    }

    /// All arcs for given turns of the unknown ones.
    fn with(&self, unknowns: &[((End, f64), usize)], turns: &[f64]) -> Result<Vec<f64>, Faults> {
        let mut arcs = self.arcs.clone();
        for ((_, number), turn) in unknowns.iter().zip(turns) {
            for (i, part) in self.parts.iter().enumerate() {
                if part.number == *number {
                    arcs[i] = turn / self.lengths[i];
                }
            }
        }
        self.layout.reach_heights(self.parts, &mut arcs, &self.gains)?;
        Ok(arcs)
    }

    /// The turn of one unknown arc that gives its end the wanted height.
    fn turn_for(&self, unknowns: &[((End, f64), usize)], turns: &[f64], at: usize) -> Result<f64, Faults> {
        let (end, wanted_mm) = unknowns[at].0;
        let mut trial = turns.to_vec();
        let mut faults = Faults::default();
        let mut height = |turn: f64| {
            trial[at] = turn;
            match self.with(unknowns, &trial) {
                Ok(arcs) => {
                    let curve = Curve::new(self.layout.curvature(self.parts, &arcs));
                    let posed = resting_pose(&curve, self.layout.anchor_mm);
                    let (tail, tip) = posed.range_mm();
                    posed.at(if end == End::Tip { tip } else { tail }).point.y
                }
                Err(found) => {
                    faults = found;
                    f64::NAN
                }
            }
        };
        // Upwards from no bend in growing steps to the first that is too high: far beyond, where the board leans back,
        // heights fall again.
        let least = height(0.0);
        let (mut low, mut high, mut most) = (0.0, FIRST_TURN_RAD, least);
        loop {
            let reached = height(high);
            most = most.max(reached);
            if reached.is_nan() || reached >= wanted_mm || high >= FRAC_PI_2 {
                break;
            }
            (low, high) = (high, (1.5 * high).min(FRAC_PI_2));
        }
        let found = find_root(|turn| height(turn) - wanted_mm, low, high, 1e-14);
        match found {
            Ok(root) => Ok(root.x),
            Err(_) if !faults.is_empty() => Err(faults),
            Err(_) => Err(Fault::new(
                codes::HEIGHT_OUT_OF_REACH,
                end.key(),
                phrase!(
                    "bending this arc brings the end to between {} and {}, not to {}.",
                    Quantity::exact(least),
                    Quantity::exact(most),
                    Quantity::exact(wanted_mm)
                ),
                "Give it more length, or solve for an arc nearer to this end.",
            )
            .into()),
        }
    }
}

/// First trial turn of an arc, rad: less than a shop can see.
const FIRST_TURN_RAD: f64 = 1e-3;

/// Maximum number of rounds over two unknown arcs. They are coupled by the tilt of a camber only and converge within ten.
const MOST_ROUNDS: usize = 50;
