//! A profile drawn in a CAD program, read as curvature.

use kurbo::{Affine, Point};

use super::limits;
use super::measured::{FitOptions, fit_all};
use crate::codes;
use crate::curve::{Curvature, Curve, Piece, PlaneCurve};
use crate::drawn::{Stroke, in_table, joined, kink, strokes};
use crate::finding::{Fault, Faults};
use crate::job::{
    Board, Datum, Direction, DrawnProfile, Ends, LengthAlong, Origin, Reading, Readings, Smoothing, StationsAlong,
};
use crate::units::{Quantity, phrase};

/// The table that names the drawing, and its key that faults are reported at.
const TABLE: &str = "rocker.drawing";
const PATH: &str = "rocker.drawing.file";
/// How far the drawn profile's length may miss the board's, mm: what a tape shows.
const LENGTH_MM: f64 = 0.5;

/// A change of direction that is still taken for a smooth joint, rad. Rounded coordinates of short arcs make a few
/// thousandths of a degree; a tenth of a degree is the least that somebody drew.
const SMOOTH_RAD: f64 = 0.002;

/// How closely the curve must follow a profile of short straight lines, mm: more, and the lines have a real corner.
const FACETS_MM: f64 = 0.05;

/// A change of direction from line to line that no division of a base makes, rad: ten lines of it turn the base around.
const CORNER_RAD: f64 = 0.3;

/// Minimum number of lines of a profile of nothing else that stand for a curve although they hardly turn.
const DIVIDED: usize = 10;

/// Maximum number of corners that a curve is fitted to: five to each piece of the fit's curvature. Of more lines, corners that far apart
/// are taken.
const MOST_CORNERS: f64 = 500.0;

/// Error of the corners of such a profile, mm: the rounding of a drawing in hundredths.
const FACET_ERROR_MM: f64 = 0.005;

/// The curvature of a drawn profile.
pub(super) fn curvature(profile: &DrawnProfile, board: &Board) -> Result<Curvature, Faults> {
    let lines = &profile.lines;
    let strokes = strokes(lines, |unit_mm| upright(profile, unit_mm));
    let chain = strokes.and_then(|strokes| joined(strokes, lines.gap_mm)).map_err(|fault| in_table(fault, TABLE))?;
    Ok(chain_curvature(&chain, board)?)
}

fn chain_curvature(chain: &[Stroke], board: &Board) -> Result<Curvature, Fault> {
    let smooth = chain.windows(2).all(|w| kink(&w[0], &w[1]).abs() <= SMOOTH_RAD);
    // So many lines are a curve divided finely, however little each turns.
    let divided = chain.len() >= DIVIDED && chain.iter().all(Stroke::is_line);
    let curvature = if smooth && !divided { of_smooth(chain)? } else { of_facets(chain)? };
    let turned: f64 = curvature.pieces().iter().map(|p| p.turned_to(p.end_mm).abs()).sum();
    limits::check_turn(turned, PATH)?;
    let (low, high) = curvature.extremes();
    for k in [low.1, high.1] {
        limits::check_arc(k, 0.0, PATH)?;
    }
    check_length(&curvature, board)?;
    Ok(curvature)
}

/// The motion and scale that bring the drawing to millimetres, up being up and the tip at the right.
fn upright(profile: &DrawnProfile, unit_mm: f64) -> Affine {
    let quarter = std::f64::consts::FRAC_PI_2;
    let turn = match profile.up {
        Direction::PlusY => 0.0,
        Direction::MinusX => -quarter,
        Direction::MinusY => {
            // As in every SVG: the page's y points down, and turning it over is a mirror image.
            return Affine::new([if profile.tip_right { unit_mm } else { -unit_mm }, 0.0, 0.0, -unit_mm, 0.0, 0.0]);
        }
        Direction::PlusX => quarter,
    };
    let mirror = if profile.tip_right { 1.0 } else { -1.0 };
    Affine::new([mirror * unit_mm, 0.0, 0.0, unit_mm, 0.0, 0.0]) * Affine::rotate(turn)
}

/// Half of the longest stretch over which a small break at a joint is spread, mm: short enough to leave flats flat, long
/// enough to make no bump of it.
const SPREAD_MM: f64 = 10.0;

/// Curvature of strokes that join smoothly. What little they break at a joint is spread evenly to both sides of it, so
/// that no angle is lost and none is turned at another place.
fn of_smooth(chain: &[Stroke]) -> Result<Curvature, Fault> {
    let lengths: Vec<f64> = chain.iter().map(Stroke::length_mm).collect();
    let total: f64 = lengths.iter().sum();
    let mut joint = -0.5 * total;
    let mut breaks: Vec<(f64, f64, f64)> = Vec::new();
    for (strokes, lengths) in chain.windows(2).zip(lengths.windows(2)) {
        joint += lengths[0];
        let reach = SPREAD_MM.min(0.5 * lengths[0]).min(0.5 * lengths[1]);
        breaks.push((joint - reach, joint + reach, kink(&strokes[0], &strokes[1]) / (2.0 * reach)));
    }
    let mut pieces: Vec<Piece> = Vec::new();
    let mut s = -0.5 * total;
    for (length, k_start_per_mm, k_end_per_mm) in chain.iter().flat_map(Stroke::curvature) {
        let whole = Piece { start_mm: s, end_mm: s + length, k_start_per_mm, k_end_per_mm };
        let inside = breaks.iter().flat_map(|b| [b.0, b.1]).filter(|c| *c > whole.start_mm && *c < whole.end_mm);
        let mut cuts: Vec<f64> = inside.chain([whole.start_mm, whole.end_mm]).collect();
        cuts.sort_by(f64::total_cmp);
        cuts.dedup();
        for w in cuts.windows(2) {
            let middle = 0.5 * (w[0] + w[1]);
            let extra: f64 = breaks.iter().filter(|b| b.0 < middle && middle < b.1).map(|b| b.2).sum();
            let k = |s: f64| whole.at(s) + extra;
            pieces.push(Piece { start_mm: w[0], end_mm: w[1], k_start_per_mm: k(w[0]), k_end_per_mm: k(w[1]) });
        }
        s += length;
    }
    Curvature::new(pieces).map_err(|_| {
        Fault::new(codes::DRAWING_EMPTY, PATH, "the profile has no length.", "Draw the base from tail to tip.")
    })
}

/// A corner of a profile of short lines: how far along, mm, and where.
type Corner = (f64, Point);

/// The corners, arcs and splines divided like lines, no nearer to each other than so many to the profile. Stations are along
/// the curve: each chord is lengthened to the arc that turns as much as the corners at its ends.
fn corners(chain: &[Stroke]) -> Vec<Corner> {
    let total_mm: f64 = chain.iter().map(Stroke::length_mm).sum();
    let pitch_mm = total_mm / MOST_CORNERS;
    let mut points: Vec<Point> = chain.first().map(Stroke::start).into_iter().collect();
    let ends = chain.iter().flat_map(|stroke| stroke.divided(2.0 * pitch_mm));
    let mut last = None;
    for end in ends {
        if points.last().is_none_or(|p| p.distance(end) >= pitch_mm) {
            points.push(end);
        }
        last = Some(end);
    }
    // The profile's own end stays, in the place of the corner before it where that one is too near.
    if let (Some(end), Some(before)) = (last, points.last().copied())
        && end != before
    {
        if points.len() > 2 {
            points.pop();
        }
        points.push(end);
    }
    let turn = |i: usize| match points.get(i.wrapping_sub(1)..=i + 1) {
        Some([a, b, c]) => turned(*a, *b, *c),
        _ => 0.0,
    };
    let mut station_mm = 0.0;
    let mut corners = vec![(0.0, points[0])];
    for i in 1..points.len() {
        let inner = [turn(i - 1), turn(i)];
        // At the profile's ends one corner speaks for both.
        let whole = if i == 1 || i + 1 == points.len() { 2.0 } else { 1.0 };
        let half = (0.25 * whole * (inner[0] + inner[1])).abs();
        let longer = if half < 1e-6 { 1.0 } else { half / libm::sin(half) };
        station_mm += longer * points[i - 1].distance(points[i]);
        corners.push((station_mm, points[i]));
    }
    corners
}

/// Change of direction at `b` on the way from `a` to `c`, rad.
fn turned(a: Point, b: Point, c: Point) -> f64 {
    let (before, behind) = (b - a, c - b);
    libm::atan2(before.cross(behind), before.dot(behind))
}

/// How far a smooth curve through the corners may lie from any other one between them, mm, and where along. Over a line of
/// length h a change of curvature from corner to corner leaves about a thirty-second of it times h² open, and no curve that
/// bends one way leaves more than the rise of the arc over the line, an eighth of h times what it turns.
fn open_between(corners: &[Corner]) -> (f64, f64) {
    let length = |i: usize| corners[i + 1].0 - corners[i].0;
    let turn = |i: usize| turned(corners[i - 1].1, corners[i].1, corners[i + 1].1);
    let inner: Vec<(f64, f64)> =
        (1..corners.len() - 1).map(|i| (turn(i), 2.0 * turn(i) / (length(i - 1) + length(i)))).collect();
    // The changes at a line's ends count as well: a long chord between two like corners hides the one within it.
    let change = |i: usize| inner.get(i..i + 2).map_or(0.0, |w| (w[1].1 - w[0].1).abs());
    let one = |(i, w): (usize, &[(f64, f64)])| {
        let h = length(i + 1);
        let most = change(i).max(change(i + 1)).max(if i > 0 { change(i - 1) } else { 0.0 });
        let by_rise = 0.5 * (w[0].0.abs() + w[1].0.abs()) * h / 8.0;
        ((most * h * h / 32.0).min(by_rise), corners[i + 1].0 + 0.5 * h)
    };
    inner.windows(2).enumerate().map(one).fold((0.0, 0.0), |most, x| if x.0 > most.0 { x } else { most })
}

/// Curvature of a profile of short straight lines, whose corners are taken as readings of a smooth curve.
fn of_facets(chain: &[Stroke]) -> Result<Curvature, Fault> {
    let corners = corners(chain);
    let sharpest = chain
        .windows(2)
        .map(|w| (kink(&w[0], &w[1]), w[1].start()))
        .max_by(|a, b| a.0.abs().total_cmp(&b.0.abs()))
        .unwrap_or((0.0, Point::ORIGIN));
    let corner = || {
        codes::DRAWING_CORNER.at(
            PATH,
            phrase!(
                "the profile has a corner of {}, {} from its tail end.",
                Quantity::angle(sharpest.0.abs()),
                Quantity::exact(sharpest.1.x - chain[0].start().x)
            ),
        )
    };
    if corners.windows(3).any(|w| turned(w[0].1, w[1].1, w[2].1).abs() > CORNER_RAD) {
        return Err(corner());
    }
    let (open_mm, at_mm) = open_between(&corners);
    if open_mm > FACETS_MM {
        return Err(codes::DRAWING_COARSE.at(
            PATH,
            phrase!(
                "the lines leave the curve open by {} about {} from the tail end.",
                Quantity::exact(open_mm),
                Quantity::place(at_mm)
            ),
        ));
    }
    let length_mm = corners.last().map_or(0.0, |c| c.0);
    let options = FitOptions { length_mm, length_along: LengthAlong::Base, ends: Ends::Free, path: PATH.to_owned() };
    let readings = Readings {
        readings: corners.iter().map(|&(station_mm, p)| Reading { station_mm, height_mm: p.y }).collect(),
        datum: Datum::Straightedge,
        along: StationsAlong::Base,
        origin: Origin::Tail,
        error_mm: Some(FACET_ERROR_MM),
        file: None,
        smoothing: Smoothing::Likelihood,
        excluded: Vec::new(),
    };
    let fit = fit_all(&readings, &options).map_err(|_| corner())?;
    let largest = fit.rows.iter().map(|r| r.residual_mm().abs()).fold(0.0, f64::max);
    if largest > FACETS_MM { Err(corner()) } else { Ok(fit.curvature) }
}

fn check_length(curvature: &Curvature, board: &Board) -> Result<(), Fault> {
    let (drawn, along) = match board.length_along {
        LengthAlong::Base => (curvature.length_mm(), "along the base"),
        LengthAlong::Straight => {
            let curve = Curve::new(curvature.clone());
            let (from, to) = curve.range_mm();
            (curve.at(from).point.distance(curve.at(to).point), "straight from tail to tip")
        }
    };
    if (drawn - board.length_mm).abs() <= LENGTH_MM {
        return Ok(());
    }
    let mut remedy = phrase!("Give the board the length {}, or draw the finished base only.", Quantity::exact(drawn));
    for (factor, from, to) in [(25.4, "mm", "in"), (1.0 / 25.4, "in", "mm")] {
        if (drawn * factor / board.length_mm - 1.0).abs() < 0.01 {
            remedy = format!("The drawing's units seem to be {to}, not {from}: write units = \"{to}\".").into();
        }
    }
    Err(Fault::new(
        codes::DRAWING_LENGTH,
        PATH,
        phrase!(
            "the profile is {} long {} and the board {}.",
            Quantity::exact(drawn),
            along,
            Quantity::exact(board.length_mm)
        ),
        remedy,
    ))
}

#[cfg(test)]
mod tests;
