//! Flats, arcs, cambers and easings, one behind the other.

use std::f64::consts::FRAC_PI_2;

use super::arc::bent_to_rise;
use super::limits;
use super::rest::longest_carrying;
use crate::curve::{Curvature, Curve, Piece, PlaneCurve, resting_pose};
use crate::finding::Fault;
use crate::job::{Bend, Board, LengthAlong, Segment, SegmentShape, Segments};
use crate::numeric::find_root;
use crate::units::plain;

/// How far the stated lengths may miss the board's length along the base, mm: the rounding of a list in tenths.
const BASE_SUM_MM: f64 = 0.05;

/// How far the straight length of the segments may miss the board's, mm. It cannot be stated exactly, as it follows
/// from the bends; half a millimetre is what a tape shows.
const STRAIGHT_SUM_MM: f64 = 0.5;

/// Segments turned into curvature.
#[derive(Debug)]
pub(super) struct Laid {
    /// Curvature from -L/2 to +L/2.
    pub(super) curvature: Curvature,
    /// Where the board rests, mm.
    pub(super) anchor_mm: f64,
}

/// A segment in its place from tail to tip, with the number that it has in the document.
#[derive(Debug, Clone)]
struct Part {
    number: usize,
    length_mm: Option<f64>,
    shape: SegmentShape,
}

impl Part {
    fn path(&self) -> String {
        let kind = match self.shape {
            SegmentShape::Flat => "flat",
            SegmentShape::Arc(bend) if limits::amount(bend) < 0.0 => "camber",
            SegmentShape::Arc(_) => "arc",
            SegmentShape::Easing => "easing",
        };
        format!("rocker.segments.parts[{}].{kind}", self.number)
    }

    fn bend_path(&self, bend: Bend) -> String {
        format!("{}.{}", self.path(), limits::key(bend))
    }

    fn is_camber(&self) -> bool {
        matches!(self.shape, SegmentShape::Arc(bend) if limits::amount(bend) < 0.0)
    }
}

/// The curvature of the segments on a board of the given length.
///
/// # Errors
/// Every fault found in the list itself; or, where the list is sound, that its lengths or heights do not come out.
pub(super) fn lay(segments: &Segments, board: &Board) -> Result<Laid, Vec<Fault>> {
    check(segments)?;
    let parts = in_order(segments);
    let stated: f64 = parts.iter().filter_map(|p| p.length_mm).sum();
    let open = parts.iter().filter(|p| p.length_mm.is_none()).count();
    match (board.length_along, open) {
        (LengthAlong::Base, 0) => {
            if (stated - board.length_mm).abs() > BASE_SUM_MM {
                return Err(vec![sum_fault("along the base", stated, board.length_mm)]);
            }
            bend(&parts, 0.0)
        }
        (LengthAlong::Base, _) => {
            let rest = (board.length_mm - stated) / open as f64;
            if rest <= 0.0 {
                return Err(vec![sum_fault("along the base", stated, board.length_mm)]);
            }
            bend(&parts, rest)
        }
        (LengthAlong::Straight, 0) => {
            let laid = bend(&parts, 0.0)?;
            let straight = straight_mm(&laid.curvature);
            if (straight - board.length_mm).abs() > STRAIGHT_SUM_MM {
                return Err(vec![sum_fault("straight from tail to tip", straight, board.length_mm)]);
            }
            Ok(laid)
        }
        (LengthAlong::Straight, _) => bend_open_straight(&parts, board.length_mm, stated, open),
    }
}

/// Finds the open length with which the board is as long as stated, straight from tail to tip.
fn bend_open_straight(parts: &[Part], length_mm: f64, stated_mm: f64, open: usize) -> Result<Laid, Vec<Fault>> {
    // A half circle is the most that a board turns, and its base is pi/2 times its chord.
    let longest = (FRAC_PI_2 * length_mm - stated_mm) / open as f64;
    let shortest = 1e-6 * length_mm;
    if longest <= shortest {
        return Err(vec![sum_fault("along the base", stated_mm, length_mm)]);
    }
    let mut faults = Vec::new();
    let root = find_root(
        |rest| match bend(parts, rest) {
            Ok(laid) => straight_mm(&laid.curvature) - length_mm,
            Err(found) => {
                faults = found;
                f64::NAN
            }
        },
        shortest,
        longest,
        1e-10,
    );
    match root {
        Ok(root) => bend(parts, root.x),
        Err(_) if !faults.is_empty() => Err(faults),
        Err(_) => {
            let least = bend(parts, shortest).map_or(stated_mm, |laid| straight_mm(&laid.curvature));
            Err(vec![sum_fault("straight from tail to tip", least, length_mm)])
        }
    }
}

fn straight_mm(curvature: &Curvature) -> f64 {
    let curve = Curve::new(curvature.clone());
    let (from, to) = curve.range_mm();
    curve.at(from).point.distance(curve.at(to).point)
}

fn sum_fault(along: &str, sum_mm: f64, board_mm: f64) -> Fault {
    let difference = sum_mm - board_mm;
    Fault::new(
        "segments-sum",
        "rocker.segments.parts",
        format!(
            "The parts come to {} mm {along} and the board is {} mm long: {} mm too {}.",
            plain(sum_mm, 2),
            plain(board_mm, 2),
            plain(difference.abs(), 2),
            if difference > 0.0 { "much" } else { "little" }
        ),
        "Change a length, or leave the length of one part out: it then takes the rest.",
    )
}

/// Faults of single parts and of their order.
fn check(segments: &Segments) -> Result<(), Vec<Fault>> {
    let numbered: Vec<Part> = segments.parts.iter().enumerate().map(|(i, s)| part(i, s)).collect();
    if numbered.is_empty() {
        return Err(vec![Fault::new(
            "segments-none",
            "rocker.segments.parts",
            "There is no part.",
            "Give at least one flat, arc or camber.",
        )]);
    }
    let mut faults = Vec::new();
    for part in &numbered {
        if let Some(length) = part.length_mm
            && !(length > 0.0 && length.is_finite())
        {
            faults.push(Fault::new(
                "segment-length",
                format!("{}.length", part.path()),
                format!("A part cannot be {} mm long.", plain(length, 2)),
                "Give a length greater than zero.",
            ));
        }
        if let SegmentShape::Arc(bend) = part.shape
            && let Err(fault) = limits::check_bend(bend, &part.bend_path(bend))
        {
            faults.push(fault);
        }
    }
    let mut open = numbered.iter().filter(|p| p.length_mm.is_none());
    if let (Some(first), Some(second)) = (open.next(), open.next()) {
        faults.push(Fault::new(
            "segment-open",
            second.path(),
            format!("parts[{}] has no length either, so the rest cannot be shared out.", first.number),
            "Leave the length of one part out at most.",
        ));
    }
    let easing = |p: &Part| matches!(p.shape, SegmentShape::Easing);
    for pair in numbered.windows(2) {
        if easing(&pair[0]) && easing(&pair[1]) {
            faults.push(Fault::new(
                "easing-neighbours",
                pair[1].path(),
                "Two easings lie next to each other, so neither knows where its curvature is to go.",
                "Put a flat, an arc or a camber between them, or make them one.",
            ));
        }
    }
    let alone = numbered.len() == 1 || segments.mirrored;
    if easing(&numbered[0]) && alone {
        faults.push(Fault::new(
            "easing-neighbours",
            numbered[0].path(),
            "An easing needs a neighbour whose curvature it leads to.",
            "Begin with a flat, an arc or a camber.",
        ));
    }
    if faults.is_empty() { Ok(()) } else { Err(faults) }
}

fn part(number: usize, segment: &Segment) -> Part {
    Part { number, length_mm: segment.length_mm, shape: segment.shape }
}

/// The parts from tail to tip, a mirrored list written out.
fn in_order(segments: &Segments) -> Vec<Part> {
    let given = segments.parts.iter().enumerate().map(|(i, s)| part(i, s));
    if segments.mirrored {
        let tail = given.clone().skip(1).rev();
        tail.chain(given).collect()
    } else {
        given.collect()
    }
}

/// Curvature of the parts, open ones being `rest_mm` long.
fn bend(parts: &[Part], rest_mm: f64) -> Result<Laid, Vec<Fault>> {
    let lengths: Vec<f64> = parts.iter().map(|p| p.length_mm.unwrap_or(rest_mm)).collect();
    let layout = Layout::new(parts, &lengths);
    let mut arcs = vec![0.0; parts.len()];
    let mut faults = Vec::new();
    let mut gains = Vec::new();
    for (i, part) in parts.iter().enumerate() {
        let SegmentShape::Arc(bend) = part.shape else { continue };
        let path = part.bend_path(bend);
        match bend {
            Bend::Radius(r) => arcs[i] = 1.0 / r,
            Bend::Angle(a) => arcs[i] = a / lengths[i],
            Bend::Height(h) if part.is_camber() || i == layout.anchor => match bent_to_rise(h, lengths[i], &path) {
                Ok(k) => arcs[i] = k,
                Err(fault) => faults.push(fault),
            },
            Bend::Height(h) => gains.push((i, h, path)),
        }
    }
    if faults.is_empty() {
        layout.reach_heights(parts, &mut arcs, &gains)?;
        for (i, part) in parts.iter().enumerate() {
            if let SegmentShape::Arc(bend) = part.shape
                && let Err(fault) = limits::check_arc(arcs[i], lengths[i], &part.bend_path(bend))
            {
                faults.push(fault);
            }
        }
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    let curvature = layout.curvature(parts, &arcs);
    let turned = curvature.pieces().iter().map(|p| p.turned_to(p.end_mm).abs()).sum::<f64>();
    limits::check_turn(turned, "rocker.segments.parts").map_err(|fault| vec![fault])?;
    Ok(Laid { curvature, anchor_mm: layout.anchor_mm })
}

/// Where the parts lie and on which of them the board rests.
struct Layout {
    /// Joints from tail to tip, one more than parts, mm.
    joints_mm: Vec<f64>,
    /// The part that holds the place where the board rests.
    anchor: usize,
    /// That place, mm.
    anchor_mm: f64,
}

impl Layout {
    fn new(parts: &[Part], lengths: &[f64]) -> Self {
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
        match parts[i].shape {
            SegmentShape::Flat | SegmentShape::Arc(_) => (arcs[i], arcs[i]),
            SegmentShape::Easing => {
                let before = if i > 0 { arcs[i - 1] } else { 0.0 };
                (before, arcs.get(i + 1).copied().unwrap_or(0.0))
            }
        }
    }

    fn curvature(&self, parts: &[Part], arcs: &[f64]) -> Curvature {
        let piece = |i: usize| {
            let (k_start, k_end) = self.ends(parts, arcs, i);
            Piece { start_mm: self.joints_mm[i], end_mm: self.joints_mm[i + 1], k_start, k_end }
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

    /// Finds the curvature of the arcs that are given by the height they gain.
    ///
    /// Each is solved by itself, outwards from the anchor; the way the board stands couples them (a camber tips when one
    /// end is bent more), so the round is repeated until it stands still.
    fn reach_heights(
        &self,
        parts: &[Part],
        arcs: &mut [f64],
        gains: &[(usize, f64, String)],
    ) -> Result<(), Vec<Fault>> {
        let mut outwards: Vec<_> = gains.iter().collect();
        outwards.sort_by_key(|(i, ..)| i.abs_diff(self.anchor));
        for &&(i, height, _) in &outwards {
            arcs[i] = 2.0 * height / self.length_mm(i).powi(2);
        }
        let mut tilt_rad = 0.0;
        let mut moved = f64::INFINITY;
        for _ in 0..100 {
            if outwards.is_empty() || moved < 1e-12 {
                return Ok(());
            }
            moved = 0.0;
            for (i, height, path) in &outwards {
                let old = arcs[*i];
                let new = self.bent_to_gain(parts, arcs, *i, *height, tilt_rad, path).map_err(|f| vec![f])?;
                arcs[*i] = new;
                moved = moved.max((new - old).abs() * self.length_mm(*i));
            }
            let posed = resting_pose(&Curve::new(self.curvature(parts, arcs)), self.anchor_mm);
            let stands = posed.at(self.anchor_mm).angle_rad;
            moved = moved.max((stands - tilt_rad).abs());
            tilt_rad = stands;
        }
        Err(vec![Fault::new(
            "heights-not-found",
            "rocker.segments.parts",
            format!("The heights do not settle; the last round still turned an arc by {moved:.1e} rad."),
            "Give some of the arcs by radius or angle.",
        )])
    }

    /// Curvature with which part `i` gains `height_mm` from its inner to its outer end.
    fn bent_to_gain(
        &self,
        parts: &[Part],
        arcs: &[f64],
        i: usize,
        height_mm: f64,
        tilt_rad: f64,
        path: &str,
    ) -> Result<f64, Fault> {
        let length = self.length_mm(i);
        let mut trial = arcs.to_vec();
        let mut gain = |turn: f64| {
            trial[i] = turn / length;
            let half = 0.5 * turn;
            // Chord of the arc times the sine of its direction, which is that of the arc's middle.
            let chord = if half == 0.0 { length } else { length * half.sin() / half };
            chord * (self.direction_at(parts, &trial, i, tilt_rad) + half).sin()
        };
        // Up to a right angle the gain grows with the turn; beyond, the end of the board would lean back.
        let most = gain(FRAC_PI_2);
        let root = find_root(|turn| gain(turn) - height_mm, -FRAC_PI_2, FRAC_PI_2, 1e-14);
        root.map(|root| root.x / length).map_err(|_| limits::out_of_reach(height_mm, most, length, path))
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

#[cfg(test)]
mod tests;
