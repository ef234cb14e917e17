//! A curve as the shortest path of lines and circular arcs within a tolerance.
//!
//! Every joint lies on the curve. An arc between two joints then has one degree of freedom, its tangent at the first. The
//! arcs within tolerance form an interval of it, found exactly from the inscribed angle (Euclid, Elements, III.20): the
//! arc from A to B through Q turns by twice the angle between AQ and QB. Dynamic programming over joints and tangents
//! finds the path with the fewest arcs whose tangents agree at the joints, and among those the one closest to the curve.

use std::fmt;

use kurbo::{Point, Vec2};

use super::{PlaneCurve, Sample};

/// Default distance that a fitted path may deviate from its curve, mm: a tenth of a router's repeatability.
pub const DEFAULT_TOLERANCE_MM: f64 = 0.01;

/// Largest change of direction at a joint, rad (0.1 degrees): far below what slows a machine down or can be felt as an
/// edge, and coarse enough to keep the search over tangents small.
pub const LARGEST_BREAK_RAD: f64 = 17.4e-4;

/// Arcs flatter than this become lines, mm. A camber of 2 mm under 1100 mm has a radius of 76 m and stays an arc; at
/// 100 m a line of 89 mm stays within 0.01 mm. More distant centres lose digits in machine code with fixed decimals.
pub const LARGEST_RADIUS_MM: f64 = 100_000.0;

/// Shortest line or arc, mm: shorter ones make machines stutter.
pub const SHORTEST_MM: f64 = 0.5;

/// Candidate joints along one longest arc. On 40 curves of random pieces, 24 candidates took 5 % more arcs than the minimum
/// with free tangents, and 64 took 1 %; the time grows with the square.
const JOINTS_PER_ARC: usize = 64;
/// The same for paths of more than [`MANY_ARCS`] arcs, to bound time and memory.
const JOINTS_PER_ARC_OF_MANY: usize = 24;
/// Number of longest arcs above which fewer candidate joints are used.
const MANY_ARCS: usize = 100;
/// Minimum number of samples at which an arc of the search is checked. An error with three humps between the samples is
/// underestimated by up to a hundredth, which [`SEARCH_SHARE`] leaves.
const SAMPLES_PER_ARC: usize = 32;
/// Samples at which a longest arc is checked: twice as many as an arc's error has humps would do.
const COARSE_SAMPLES: usize = 24;
/// Tangent steps within [`LARGEST_BREAK_RAD`]; finer steps give closer paths, not shorter ones.
const STEPS_PER_BREAK: f64 = 16.0;
/// Tangent steps allowed at a joint: two fewer than [`STEPS_PER_BREAK`], for rounding.
const BREAK_STEPS: usize = 14;
/// Share of the tolerance used by the search; the rest covers deviations between samples.
const SEARCH_SHARE: f64 = 0.99;
/// Tangent of half the largest sweep of one arc, a right angle: bulges stay small and exact.
const LARGEST_TANGENT: f64 = 1.0;
/// Maximum number of arcs of a path: twenty metres of board take some 300. The search keeps about 200 kB for each.
const MAX_ARCS: usize = 600;

/// A joint of a path with the bulge of the segment after it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ArcNode {
    /// Position, mm.
    pub point: Point,
    /// Tangent of a quarter of the angle swept to the next joint: 0 for a line, positive counter-clockwise; 0 at the
    /// last joint.
    pub bulge: f64,
}

/// A path of lines and arcs with its measured deviation.
#[derive(Debug, Clone, PartialEq)]
pub struct ArcPath {
    /// The joints in order; the last one ends the path.
    pub nodes: Vec<ArcNode>,
    /// Largest measured distance between path and curve, mm.
    pub deviation_mm: f64,
    /// Largest change of direction at a joint, rad.
    pub largest_break_rad: f64,
}

/// Why a curve could not be fitted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ArcFitError {
    /// The interval is shorter than [`SHORTEST_MM`], reversed, or not finite.
    NoLength {
        /// Requested start, mm.
        from_mm: f64,
        /// Requested end, mm.
        to_mm: f64,
    },
    /// The tolerance is not a positive number (mm).
    BadTolerance(f64),
    /// The curve bends too sharply for arcs of [`SHORTEST_MM`] within the tolerance, or its tangents cannot be met.
    TooSharp {
        /// Parameter near which it fails, mm.
        s_mm: f64,
    },
}

impl fmt::Display for ArcFitError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::NoLength { .. } => "the part to be drawn has no length",
            Self::BadTolerance(_) => "the tolerance is not above zero",
            Self::TooSharp { .. } => "it bends too sharply for arcs",
        })
    }
}

impl std::error::Error for ArcFitError {}

/// The path of fewest lines and arcs that stays within `tolerance_mm` of `curve` between two parameters (mm).
///
/// Its directions agree at the joints within [`LARGEST_BREAK_RAD`]; no piece is shorter than [`SHORTEST_MM`], no
/// radius larger than [`LARGEST_RADIUS_MM`], no sweep larger than a right angle.
///
/// # Errors
/// [`ArcFitError`] for an unusable interval, tolerance or curve.
pub fn fit_arcs(
    curve: &(impl PlaneCurve + ?Sized),
    from_mm: f64,
    to_mm: f64,
    tolerance_mm: f64,
) -> Result<ArcPath, ArcFitError> {
    if !(from_mm.is_finite() && to_mm.is_finite() && to_mm - from_mm >= SHORTEST_MM) {
        return Err(ArcFitError::NoLength { from_mm, to_mm });
    }
    if !(tolerance_mm.is_finite() && tolerance_mm > 0.0) {
        return Err(ArcFitError::BadTolerance(tolerance_mm));
    }
    let mut allowed_mm = tolerance_mm * SEARCH_SHARE;
    let mut worst_s_mm = from_mm;
    // Usually the first round suffices; a curve with features between the samples needs a tighter tolerance.
    for _ in 0..6 {
        let longest = longest_arcs(curve, from_mm, to_mm, allowed_mm)?;
        let gates = candidate_gates(curve, &longest, allowed_mm);
        let path = Search::new(&gates, joints_per_arc(longest.len() - 1), allowed_mm).path()?;
        let (deviation_mm, s_mm) = deviation(curve, &gates, &path);
        if deviation_mm <= tolerance_mm {
            return Ok(finished(&gates, &path, deviation_mm));
        }
        worst_s_mm = s_mm;
        allowed_mm *= 0.995 * tolerance_mm / deviation_mm;
    }
    Err(ArcFitError::TooSharp { s_mm: worst_s_mm })
}

/// A point of the curve with the two points beside it that an arc must pass between.
struct Gate {
    at: Sample,
    left: Point,
    right: Point,
    /// Squared distance within which a joint is too close to judge an arc here, mm².
    near_mm2: f64,
}

impl Gate {
    fn new(at: Sample, allowed_mm: f64) -> Self {
        let aside = at.normal() * allowed_mm;
        // Close to a joint the interval is wide and the angle ill-conditioned.
        let near_mm2 = 16.0 * allowed_mm * allowed_mm;
        Self { at, left: at.point + aside, right: at.point - aside, near_mm2 }
    }
}

/// Arcs between two joints that stay within tolerance: an interval of half the swept angle. For each end of the interval, the
/// gate that sets it: the half sweep that meets the curve there, and the change of it that uses up the tolerance.
struct Allowed {
    chord: Vec2,
    low: f64,
    high: f64,
    set_low: (f64, f64),
    set_high: (f64, f64),
}

impl Allowed {
    fn between<'p>(a: &Sample, b: &Sample, inner: impl Iterator<Item = &'p Gate>) -> Option<Self> {
        // Compare tangents of half sweeps as cross over dot product: monotonic in the sweep, without an arc tangent per gate
        // and mostly without a division.
        let turn = |q: Point| {
            let (to, on) = (q - a.point, b.point - q);
            (to.cross(on), to.dot(on))
        };
        let tangent = |(cross, dot): (f64, f64)| if dot > 0.0 { cross / dot } else { f64::INFINITY.copysign(cross) };
        let (mut low, mut high) = (-LARGEST_TANGENT, LARGEST_TANGENT);
        let (mut set_low, mut set_high) = (None, None);
        for p in inner {
            if p.at.point.distance_squared(a.point).min(p.at.point.distance_squared(b.point)) < p.near_mm2 {
                continue;
            }
            let (left, right) = (turn(p.left), turn(p.right));
            // With both dot products positive, this equals comparing the tangents.
            if left.1 > 0.0 && right.1 > 0.0 && left.0 <= low * left.1 && right.0 >= high * right.1 {
                continue;
            }
            let ends = (tangent(left), tangent(right));
            if ends.0 > low {
                (low, set_low) = (ends.0, Some(ends.1));
            }
            if ends.1 < high {
                (high, set_high) = (ends.1, Some(ends.0));
            }
            if low > high {
                return None;
            }
        }
        let (low, high) = (libm::atan(low), libm::atan(high));
        // From one end of a gate's interval and the tangent of the other to its middle and half its width.
        let gate = |end: f64, other: Option<f64>| {
            other.map(libm::atan).map_or((0.0, f64::INFINITY), |other| (0.5 * (end + other), 0.5 * (end - other).abs()))
        };
        Some(Self { chord: b.point - a.point, low, high, set_low: gate(low, set_low), set_high: gate(high, set_high) })
    }

    /// Smallest half sweep allowed by [`LARGEST_RADIUS_MM`].
    fn flattest(&self) -> f64 {
        libm::asin((0.5 * self.chord.hypot() / LARGEST_RADIUS_MM).min(1.0))
    }

    fn takes_line(&self) -> bool {
        self.low <= 0.0 && self.high >= 0.0
    }

    fn takes_any(&self) -> bool {
        let flat = self.flattest();
        self.takes_line() || self.high >= flat || self.low <= -flat
    }

    /// For both gates that set the interval, a half sweep and a scale: the distance of another half sweep from it, times the
    /// scale, is the deviation as a share of the tolerance.
    fn measures(&self) -> [(f64, f64); 2] {
        [self.set_low, self.set_high].map(|(mid, half)| if half.is_finite() { (mid, 1.0 / half) } else { (0.0, 0.0) })
    }
}

/// Joints of the path with the longest arcs that the tolerance allows, with free tangents.
fn longest_arcs(
    curve: &(impl PlaneCurve + ?Sized),
    from_mm: f64,
    to_mm: f64,
    allowed_mm: f64,
) -> Result<Vec<f64>, ArcFitError> {
    let fits = |from: f64, to: f64| {
        let at = |i: usize| curve.at(from + (to - from) * i as f64 / COARSE_SAMPLES as f64);
        let inner: Vec<Gate> = (1..COARSE_SAMPLES).map(|i| Gate::new(at(i), allowed_mm)).collect();
        Allowed::between(&at(0), &at(COARSE_SAMPLES), inner.iter()).is_some_and(|a| a.takes_any())
    };
    let mut joints = vec![from_mm];
    let mut step = 1.0;
    let mut here = from_mm;
    while here < to_mm {
        if joints.len() > MAX_ARCS {
            return Err(ArcFitError::TooSharp { s_mm: here });
        }
        // Double from a quarter of the last length until it no longer fits, then bisect.
        let (mut good, mut bad) = (0.0, f64::INFINITY);
        let mut length: f64 = step * 0.25;
        for _ in 0..60 {
            let reached = here + length >= to_mm;
            let trial = length.min(to_mm - here);
            if fits(here, here + trial) {
                good = trial;
                if reached {
                    break;
                }
            } else {
                bad = trial;
            }
            if bad.is_finite() && (bad - good) < 1e-3 * bad {
                break;
            }
            length = if bad.is_finite() { 0.5 * (good + bad) } else { 2.0 * trial };
        }
        if good < SHORTEST_MM && here + good < to_mm {
            return Err(ArcFitError::TooSharp { s_mm: here });
        }
        step = good;
        here = if to_mm - here - good < 1e-9 { to_mm } else { here + good };
        joints.push(here);
    }
    Ok(joints)
}

fn joints_per_arc(arcs: usize) -> usize {
    if arcs > MANY_ARCS { JOINTS_PER_ARC_OF_MANY } else { JOINTS_PER_ARC }
}

/// Gates of the search: even ones are candidate joints, odd ones lie between.
fn candidate_gates(curve: &(impl PlaneCurve + ?Sized), longest: &[f64], allowed_mm: f64) -> Vec<Gate> {
    let (from, to) = (longest[0], longest[longest.len() - 1]);
    let count = joints_per_arc(longest.len() - 1);
    let mut stations: Vec<f64> = longest
        .windows(2)
        .flat_map(|w| (0..count).map(move |i| w[0] + (w[1] - w[0]) * i as f64 / count as f64))
        .chain(std::iter::once(to))
        .collect();
    // A curve of few pieces gets candidates at all its breaks. On a fine grid most breaks are meaningless, and only jumps
    // of curvature are used.
    let breaks: Vec<f64> = curve.breaks_mm().into_iter().filter(|b| *b > from && *b < to).collect();
    let few = breaks.len() <= 4 * longest.len();
    let step = 1e-7 * (to - from);
    let jumps = |b: &f64| {
        let (left, right) = (curve.at(b - step).k_per_mm, curve.at(b + step).k_per_mm);
        (left - right).abs() > 1e-3 * left.abs().max(right.abs()) && (left - right).abs() > 1e-7
    };
    let wanted: Vec<f64> = breaks.into_iter().filter(|b| few || jumps(b)).collect();
    let near = 1e-6 * (to - from);
    stations.retain(|p| *p == from || *p == to || wanted.iter().all(|w| (w - p).abs() > near));
    stations.extend(wanted.iter().filter(|w| **w - from > near && to - **w > near));
    stations.sort_by(f64::total_cmp);
    stations.dedup();
    let mut gates = Vec::with_capacity(2 * stations.len());
    for w in stations.windows(2) {
        gates.extend([w[0], 0.5 * (w[0] + w[1])].map(|s| Gate::new(curve.at(s), allowed_mm)));
    }
    gates.push(Gate::new(curve.at(to), allowed_mm));
    gates
}

/// The best known path to a joint, arriving with one tangent.
#[derive(Clone, Copy)]
struct Reached {
    arcs: u32,
    sum_sq_dev: f64,
    from: u32,
    leaving: u32,
    half_sweep: f64,
}

/// Cost of a path: number of arcs, then sum of squared deviations.
type Cost = (u32, f64);

const UNREACHED: Reached = Reached { arcs: u32::MAX, sum_sq_dev: f64::INFINITY, from: 0, leaving: 0, half_sweep: 0.0 };

impl Reached {
    fn beats(&self, other: &Self) -> bool {
        (self.arcs, self.sum_sq_dev) < (other.arcs, other.sum_sq_dev)
    }
}

/// An arc of the path: indices of its gates, and half its sweep.
struct Leg {
    from: usize,
    to: usize,
    half_sweep: f64,
}

/// The search over joints and tangents. A tangent is a whole number of steps from the curve's own.
struct Search<'a> {
    gates: &'a [Gate],
    per_arc: usize,
    step_rad: f64,
    /// Steps to each side.
    reach: usize,
}

impl<'a> Search<'a> {
    fn new(gates: &'a [Gate], per_arc: usize, allowed_mm: f64) -> Self {
        let step_rad = LARGEST_BREAK_RAD / STEPS_PER_BREAK;
        // An arc of length l with deviation e from a spiral makes an angle of 10.4 e/l with it (e''' constant, joints on the
        // curve); twice that always suffices. The shortest of the longest arcs sets the scale.
        let joints = gates.len().div_ceil(2);
        let span = per_arc.min(joints - 1);
        let length = |i: usize| gates[2 * (i + span)].at.s_mm - gates[2 * i].at.s_mm;
        let shortest = (0..joints - span).map(length).fold(f64::INFINITY, f64::min).max(SHORTEST_MM);
        let reach = (20.8 * allowed_mm / shortest / step_rad).ceil().clamp(16.0, 400.0) as usize;
        Self { gates, per_arc, step_rad, reach }
    }

    /// The path with the fewest arcs, and among those the closest.
    fn path(&self) -> Result<Vec<Leg>, ArcFitError> {
        let rest = self.rest();
        // Paths of few arcs pass through few joints, so trying short paths first is fast. Matching tangents cost a few arcs; a
        // curve that needs more than half again as many is searched without a limit.
        let mut more = 0;
        while more <= rest[0] / 2 + 1 {
            if let Ok(legs) = self.path_within(&rest, rest[0] + more) {
                return Ok(legs);
            }
            more = 2 * more + 1;
        }
        self.path_within(&rest, u32::MAX)
    }

    /// Gates between two joints at which an arc is checked.
    fn inner(&self, i: usize, j: usize) -> impl Iterator<Item = &Gate> {
        let inner = &self.gates[2 * i + 1..2 * j];
        inner.iter().step_by((inner.len() / SAMPLES_PER_ARC).max(1))
    }

    /// Minimum number of arcs from each joint to the end, with free tangents.
    fn rest(&self) -> Vec<u32> {
        let mut rest = vec![0; self.gates.len().div_ceil(2)];
        let (mut end, mut arcs) = (rest.len() - 1, 0);
        while end > 0 {
            let fits = |i: usize| {
                Allowed::between(&self.gates[2 * i].at, &self.gates[2 * end].at, self.inner(i, end))
                    .is_some_and(|a| a.takes_any())
            };
            // Backward in doubling steps to the first joint that does not fit, then bisection.
            let (mut good, mut bad, mut step) = (end - 1, None, 1);
            while good > 0 && bad.is_none_or(|b| good - b > 1) {
                let tried = bad.map_or(good.saturating_sub(step), |b| usize::midpoint(b, good));
                if fits(tried) {
                    (good, step) = (tried, 2 * step);
                } else {
                    bad = Some(tried);
                }
            }
            arcs += 1;
            rest[good..end].fill(arcs);
            end = good;
        }
        rest
    }

    /// The same among paths of at most `max_arcs` arcs; `rest` is the minimum number of arcs from each joint on.
    fn path_within(&self, rest: &[u32], max_arcs: u32) -> Result<Vec<Leg>, ArcFitError> {
        let joints = self.gates.len().div_ceil(2);
        let width = 2 * self.reach + 1;
        // Rows of joints that no path reaches stay empty: most of a short search.
        let mut arriving: Vec<Vec<Reached>> = vec![Vec::new(); joints];
        // For each joint: arriving tangent by leaving tangent.
        let mut turned: Vec<Vec<u32>> = vec![Vec::new(); joints];
        let mut leaving: Vec<Cost> = vec![(u32::MAX, f64::INFINITY); width];
        let mut furthest = 0;
        for i in 0..joints {
            if i == 0 {
                leaving.fill((0, 0.0));
            } else {
                if arriving[i].iter().all(|w| w.arcs == u32::MAX) {
                    continue;
                }
                turned[i] = self.relax_tangent(&arriving[i], &mut leaving);
            }
            furthest = i;
            let fewest = leaving.iter().map(|l| l.0).min().unwrap_or(0);
            let mut misses = 0;
            for j in i + 1..joints {
                if fewest.saturating_add(1).saturating_add(rest[j]) > max_arcs {
                    continue;
                }
                let (a, b) = (&self.gates[2 * i].at, &self.gates[2 * j].at);
                if b.s_mm - a.s_mm < SHORTEST_MM {
                    continue;
                }
                match Allowed::between(a, b, self.inner(i, j)) {
                    Some(allowed) => {
                        misses = 0;
                        arriving[j].resize(width, UNREACHED);
                        self.relax_edge(i, j, &allowed, &leaving, &mut arriving[j]);
                    }
                    // Just after a jump of curvature a longer arc may fit again.
                    None => {
                        misses += 1;
                        if misses > self.per_arc / 8 {
                            break;
                        }
                    }
                }
            }
        }
        self.backtrack(&arriving, &turned).ok_or(ArcFitError::TooSharp { s_mm: self.gates[2 * furthest].at.s_mm })
    }

    /// Relaxes the change of tangent at a joint; returns the arriving tangent for each leaving one.
    fn relax_tangent(&self, arriving: &[Reached], leaving: &mut [Cost]) -> Vec<u32> {
        let mut turned = vec![0; arriving.len()];
        let mut price = [0.0; BREAK_STEPS + 1];
        for (steps, price) in price.iter_mut().enumerate() {
            *price = (steps as f64 / BREAK_STEPS as f64).powi(2);
        }
        leaving.fill((u32::MAX, f64::INFINITY));
        for (from, way) in arriving.iter().enumerate().filter(|(_, way)| way.arcs < u32::MAX) {
            let last = (from + BREAK_STEPS).min(arriving.len() - 1);
            for cell in from.saturating_sub(BREAK_STEPS)..=last {
                let cost = (way.arcs, way.sum_sq_dev + price[cell.abs_diff(from)]);
                if cost < leaving[cell] {
                    (leaving[cell], turned[cell]) = (cost, from as u32);
                }
            }
        }
        turned
    }

    /// Relaxes the arc from joint `i` to joint `j` for every tangent.
    fn relax_edge(&self, i: usize, j: usize, allowed: &Allowed, leaving: &[Cost], arriving: &mut [Reached]) {
        let (a, b) = (&self.gates[2 * i].at, &self.gates[2 * j].at);
        // Direction of the chord, in the same revolution as the tangents.
        let middle = 0.5 * (a.angle_rad + b.angle_rad);
        let chord = middle + wrapped(allowed.chord.atan2() - middle);
        let (at_a, at_b) = (chord - a.angle_rad, chord - b.angle_rad);
        let flattest = allowed.flattest();
        let [low, high] = allowed.measures();
        let mut take = |half_sweep: f64, cell: usize, end: usize| {
            let (arcs, sum_sq_dev) = leaving[cell];
            let old = &mut arriving[end];
            if arcs >= old.arcs {
                return;
            }
            let deviation = ((half_sweep - low.0).abs() * low.1).max((half_sweep - high.0).abs() * high.1);
            let sum_sq_dev = sum_sq_dev + deviation * deviation;
            if arcs + 1 < old.arcs || sum_sq_dev < old.sum_sq_dev {
                *old = Reached { arcs: arcs + 1, sum_sq_dev, from: i as u32, leaving: cell as u32, half_sweep };
            }
        };
        if let (Some(cell), Some(end), true) = (self.cell(at_a), self.cell(at_b), allowed.takes_line()) {
            take(0.0, cell, end);
        }
        let offset = |half_sweep: f64| (at_a - half_sweep) / self.step_rad + self.reach as f64;
        // An arc is symmetric about its chord: one step more at the start is one less at the end.
        let both = ((at_a + at_b) / self.step_rad).round() + 2.0 * self.reach as f64;
        let most = 2.0 * self.reach as f64;
        let first = offset(allowed.high).ceil().max(both - most).max(0.0);
        let last = offset(allowed.low).floor().min(both).min(most);
        if first > last {
            return;
        }
        for cell in first as usize..=last as usize {
            let half_sweep = at_a - (cell as f64 - self.reach as f64) * self.step_rad;
            if half_sweep.abs() >= flattest {
                take(half_sweep, cell, both as usize - cell);
            }
        }
    }

    fn cell(&self, offset_rad: f64) -> Option<usize> {
        let steps = (offset_rad / self.step_rad).round() + self.reach as f64;
        (steps >= 0.0 && steps <= 2.0 * self.reach as f64).then_some(steps as usize)
    }

    fn backtrack(&self, arriving: &[Vec<Reached>], turned: &[Vec<u32>]) -> Option<Vec<Leg>> {
        let mut joint = arriving.len() - 1;
        let row = &arriving[joint];
        let mut cell = (0..row.len()).reduce(|best, c| if row[c].beats(&row[best]) { c } else { best })?;
        let mut legs = Vec::new();
        while joint > 0 {
            let way = arriving[joint][cell];
            if way.arcs == u32::MAX {
                return None;
            }
            let from = way.from as usize;
            legs.push(Leg { from: 2 * from, to: 2 * joint, half_sweep: way.half_sweep });
            // Nothing arrives at the first joint.
            cell = turned[from].get(way.leaving as usize).map_or(0, |cell| *cell as usize);
            joint = from;
        }
        legs.reverse();
        Some(legs)
    }
}

/// Samples per arc at which the finished path is measured. A parabola through three samples says whether a larger distance may
/// lie between them; beside a joint or a break of the curve it says too much, so that one is looked for at finer steps.
const VERIFY_SAMPLES: usize = 96;
const FINE_SAMPLES: usize = 32;

/// Largest distance of the path from the curve, mm, and its position, mm.
fn deviation(curve: &(impl PlaneCurve + ?Sized), gates: &[Gate], legs: &[Leg]) -> (f64, f64) {
    let mut worst = (0.0, gates[0].at.s_mm);
    for leg in legs {
        let (a, b) = (&gates[leg.from].at, &gates[leg.to].at);
        let chord = b.point - a.point;
        let left = Vec2::new(-chord.y, chord.x);
        let place = |i: usize| a.s_mm + (b.s_mm - a.s_mm) * i as f64 / VERIFY_SAMPLES as f64;
        let signed = |s_mm: f64| {
            let p = curve.at(s_mm).point;
            if leg.half_sweep == 0.0 {
                (p - a.point).cross(chord) / chord.hypot()
            } else {
                let center = a.point.midpoint(b.point) + left * (0.5 / libm::tan(leg.half_sweep));
                p.distance(center) - 0.5 * chord.hypot() / libm::sin(leg.half_sweep).abs()
            }
        };
        // Both ends are on the curve.
        let (mut before, mut here) = (0.0, signed(place(1)));
        for i in 1..VERIFY_SAMPLES {
            let after = if i + 1 < VERIFY_SAMPLES { signed(place(i + 1)) } else { 0.0 };
            let up = f64::signum(here);
            let bend: f64 = up * (before - 2.0 * here + after);
            let hump = up * here >= up * before && up * here >= up * after && bend < 0.0;
            let over = if hump { -(after - before) * (after - before) / (8.0 * bend) } else { 0.0 };
            if here.abs() > worst.0 {
                worst = (here.abs(), place(i));
            }
            if here.abs() + over > worst.0 {
                let (from, to) = (place(i - 1), place(i + 1));
                let fine = (1..FINE_SAMPLES).map(|k| from + (to - from) * k as f64 / FINE_SAMPLES as f64);
                worst = fine.map(|s| (signed(s).abs(), s)).fold(worst, |a, b| if b.0 > a.0 { b } else { a });
            }
            (before, here) = (here, after);
        }
    }
    worst
}

fn finished(gates: &[Gate], legs: &[Leg], deviation_mm: f64) -> ArcPath {
    let direction = |leg: &Leg| (gates[leg.to].at.point - gates[leg.from].at.point).atan2();
    let breaks =
        legs.windows(2).map(|w| wrapped(direction(&w[1]) - w[1].half_sweep - direction(&w[0]) - w[0].half_sweep).abs());
    let largest_break_rad = breaks.fold(0.0, f64::max);
    // The search never exceeds its tangent steps.
    debug_assert!(largest_break_rad <= LARGEST_BREAK_RAD * (1.0 + 1e-6), "a break of {largest_break_rad} rad");
    let node = |leg: &Leg| ArcNode { point: gates[leg.from].at.point, bulge: libm::tan(0.5 * leg.half_sweep) };
    let mut nodes: Vec<ArcNode> = legs.iter().map(node).collect();
    nodes.push(ArcNode { point: gates[gates.len() - 1].at.point, bulge: 0.0 });
    ArcPath { nodes, deviation_mm, largest_break_rad }
}

/// The equivalent angle between -pi and pi.
fn wrapped(angle_rad: f64) -> f64 {
    use std::f64::consts::{PI, TAU};
    (angle_rad + PI).rem_euclid(TAU) - PI
}

#[cfg(test)]
mod tests;
