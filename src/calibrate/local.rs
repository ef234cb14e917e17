//! A place where a board differs from what one factor explains.

use super::OffTable;
use super::read_row::ReadRow;
use crate::numeric::SymmetricBanded;

/// What may have caused a local deviation. The readings tell where and which way; the rest is for the shop to look at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cause {
    /// The board lost more of its curve there: layers that are not bonded, or only in part, give back more.
    DrySpot,
    /// It lost more there, and the model has the stack off the table there, or an end of the board is near.
    LiftOff,
    /// It kept more of its curve there, or bent where the table is nearly flat: another thickness of stack or table, or a
    /// table that is not as it was taken to be.
    Thickness,
}

/// A place where the board clearly bends more or less than one factor explains.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Local {
    /// Middle of the place along the base, mm from the middle of the board.
    pub s_mm: f64,
    /// Half its length, mm, as well as the readings tell.
    pub half_mm: f64,
    /// What the board turns there over what one factor explains, rad; negative where it is flatter.
    pub angle_rad: f64,
    /// Standard deviation of that angle, rad.
    pub deviation_rad: f64,
    /// What it does to the nearer end's height, mm.
    pub end_mm: f64,
    /// What may have caused it.
    pub cause: Cause,
}

/// Deviations of the angle beyond which a place is named. Some twenty independent places and lengths are looked at, so one
/// honest board in a thousand is named (normal distribution).
const CLEAR: f64 = 4.0;
/// Half lengths that are looked at, as shares of the board's length.
const HALVES: [f64; 3] = [0.05, 0.1, 0.2];
/// Places that are looked at along the board.
const PLACES: usize = 41;
/// An end counts as near within this share of the length.
const NEAR_END: f64 = 0.12;
/// Gap of the model that counts as lying off the table, mm: thicker than a glue line.
const GAP_MM: f64 = 0.1;
/// A table bent less than this share of its tightest place is nearly flat.
const FLAT: f64 = 0.1;
/// A reading this many errors off whose neighbours lie within half of that is a slip of the rule, not a place.
const SLIP: f64 = 4.0;

/// Looks along the board for the bend, spread over a short length, that explains most of what the factor leaves over.
/// `system` holds, for each row, the effect of factor, height and tilt.
pub(super) fn find_local(off: &OffTable, rows: &[ReadRow], system: &[[f64; 4]], error_mm: f64) -> Option<Local> {
    let kept = without_slips(rows, error_mm);
    if kept.len() < 6 {
        return None;
    }
    let (from, to) = off.finished_mm();
    let length = to - from;
    let mut best: Option<Local> = None;
    let mut best_times = CLEAR;
    for half in HALVES.map(|h| h * length) {
        for i in 0..PLACES {
            let s_mm = from + length * (0.05 + 0.9 * i as f64 / (PLACES - 1) as f64);
            let Some((angle_rad, variance)) = angle(&kept, rows, system, s_mm, half) else { continue };
            let deviation_rad = error_mm * variance.sqrt();
            let times = (angle_rad / deviation_rad).abs();
            if times > best_times {
                best_times = times;
                let arm = if s_mm < 0.0 { s_mm - from } else { to - s_mm };
                let cause = cause(off, s_mm, half, angle_rad);
                best = Some(Local { s_mm, half_mm: half, angle_rad, deviation_rad, end_mm: angle_rad * arm, cause });
            }
        }
    }
    best
}

/// Numbers of the rows that are no slips of single readings.
fn without_slips(rows: &[ReadRow], error_mm: f64) -> Vec<usize> {
    let mut order: Vec<usize> = (0..rows.len()).collect();
    order.sort_by(|a, b| rows[*a].s_mm.total_cmp(&rows[*b].s_mm));
    let times = |at: usize| (rows[order[at]].residual_mm() / error_mm).abs();
    let last = order.len().saturating_sub(1);
    let slip = |at: usize| {
        let quiet = |other: usize| times(other) < 0.5 * SLIP;
        times(at) > SLIP && (at == 0 || quiet(at - 1)) && (at == last || quiet(at + 1))
    };
    (0..order.len()).filter(|at| !slip(*at)).map(|at| order[at]).collect()
}

/// The angle at a place that explains most, factor, height and tilt being free, and its variance per error squared.
fn angle(kept: &[usize], rows: &[ReadRow], system: &[[f64; 4]], s_mm: f64, half_mm: f64) -> Option<(f64, f64)> {
    let mut normal = SymmetricBanded::zeros(4, 3);
    let mut right = [0.0; 4];
    for &i in kept {
        let columns = [lifted(rows[i].s_mm - s_mm, half_mm), system[i][0], system[i][1], system[i][2]];
        for a in 0..4 {
            right[a] += columns[a] * rows[i].residual_mm();
            for b in 0..=a {
                normal.add(a, b, columns[a] * columns[b]);
            }
        }
    }
    let factor = normal.cholesky()?;
    let mut unit = [1.0, 0.0, 0.0, 0.0];
    factor.solve(&mut unit);
    factor.solve(&mut right);
    Some((right[0], unit[0]))
}

/// Height at a distance from the middle of a bend by one radian that grows and fades evenly over `half` to each side.
fn lifted(distance: f64, half: f64) -> f64 {
    if distance <= -half {
        0.0
    } else if distance < 0.0 {
        (distance + half).powi(3) / (6.0 * half * half)
    } else if distance < half {
        distance + (half - distance).powi(3) / (6.0 * half * half)
    } else {
        distance
    }
}

fn cause(off: &OffTable, s_mm: f64, half_mm: f64, angle_rad: f64) -> Cause {
    let pressed = off.pressed();
    let ends = || pressed.stations.iter().zip(&pressed.base_per_mm);
    let tightest = ends().map(|(_, k)| k[0].abs()).fold(0.0, f64::max);
    let here = ends().find(|(s, _)| s.blank_mm >= s_mm).map_or(0.0, |(_, k)| k[0]);
    if here.abs() < FLAT * tightest || angle_rad * here > 0.0 {
        return Cause::Thickness;
    }
    let beside = |blank_mm: f64| (blank_mm - s_mm).abs() <= half_mm;
    let gap = pressed.stations.iter().zip(&pressed.contact.gap_mm).any(|(s, g)| beside(s.blank_mm) && *g > GAP_MM);
    let (from, to) = off.finished_mm();
    let near_end = (s_mm - from).min(to - s_mm) < NEAR_END * (to - from);
    if gap || near_end { Cause::LiftOff } else { Cause::DrySpot }
}
