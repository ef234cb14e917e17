//! The factor of one board, from the heights read off it.

use kurbo::Vec2;

use super::OffTable;
use super::local::{Local, find_local};
use super::read_row::ReadRow;
use crate::codes;
use crate::curve::{Curve, PlaneCurve, Pose};
use crate::finding::Fault;
use crate::forecast::end_heights_mm;
use crate::job::{Readings, StationsAlong};
use crate::numeric::{SymmetricBanded, max_abs, robust_std_dev};
use crate::rocker::measured;
use crate::rocker::measured::FINEST_READING_MM;
use crate::units::phrase;

/// The result of one board.
#[derive(Debug, Clone, PartialEq)]
pub struct BoardFactor {
    /// The factor under which the model comes nearest to the readings.
    pub factor: f64,
    /// Its standard deviation, from the error of the readings and, where the model does not explain them, from what is
    /// left over.
    pub deviation: f64,
    /// Standard deviation of the factor from what the table may differ by from what it was taken to be; 0 until
    /// [`BoardFactor::on_table_within`] has found it.
    pub table_deviation: f64,
    /// How much lower the springback factor seems when the board closes in as much as computed; in proportion for multiples
    /// of that. 0 where the stack does not close in.
    pub factor_per_closing_in: f64,
    /// The readings that were used.
    pub rows: Vec<ReadRow>,
    /// Standard deviation of one reading, mm: the stated one, or the one that the readings show.
    pub error_mm: f64,
    /// Whether that error was stated.
    pub error_stated: bool,
    /// Root of the mean square of what is left over, in reading errors; about 1 where one factor explains the board.
    pub misfit: f64,
    /// Where and how the board differs from what one factor explains, if it clearly does.
    pub local: Option<Local>,
    /// Rounds of the solution.
    pub iterations: usize,
    /// Change of the factor in the last round.
    pub residual: f64,
    /// The model's base with this factor, lying as the board was read.
    pub curve: Curve,
}

/// Half the width of a band that holds nine in ten of a normal distribution, in standard deviations.
pub(crate) const NINE_IN_TEN: f64 = 1.644_853_627;

impl BoardFactor {
    /// Band that holds the factor in nine of ten cases.
    pub(crate) fn band(&self) -> (f64, f64) {
        let reach = NINE_IN_TEN * libm::hypot(self.deviation, self.table_deviation);
        (self.factor - reach, self.factor + reach)
    }

    /// Whether one factor explains the readings within their error, and is one that springback can have.
    pub(crate) fn is_explained(&self) -> bool {
        self.local.is_none() && self.misfit <= MOST_MISFIT && self.is_springback()
    }

    /// Whether the board may have sprung back at all, with what it may have closed in; one that is more bent than its table
    /// without that has another cause.
    pub(crate) fn is_springback(&self) -> bool {
        self.band().1 + MOST_CLOSING * self.factor_per_closing_in >= 0.0
    }

    /// The same with a band that also holds what the table may differ by from what it was taken to be, `table_error_mm`
    /// (standard deviation) at the ends of the board: where a stack springs back little, that is most of what is not known.
    #[must_use]
    pub fn on_table_within(mut self, off: &OffTable, table_error_mm: f64) -> Self {
        let ends = |factor: f64| off.released(factor).map(|r| end_heights_mm(&r.base, off.finished_mm(), 0.0));
        let moved = ends(self.factor).zip(ends(self.factor + STEP)).map_or(f64::NAN, |(a, b)| {
            let (tail, tip) = ((b.0 - a.0) / STEP, (b.1 - a.1) / STEP);
            tail.abs().max(tip.abs())
        });
        // Where the ends do not say, `min` of NaN and the bound is the bound.
        self.table_deviation = (table_error_mm / moved).min(BLIND * (1.0 + self.factor_per_closing_in));
        self
    }
}

/// Left over beyond this many reading errors a board is not explained: of twenty-odd honest readings fewer than one set in
/// a thousand is that far off (chi-square distribution).
const MOST_MISFIT: f64 = 1.5;
/// Degrees of freedom of the t distribution that readings are taken to scatter with: at 4 a reading ten errors off counts
/// for a twentieth, and honest readings lose a few hundredths of what they tell.
const FREEDOM: f64 = 4.0;
/// Step of the factor for its derivative. The released curve is all but linear in it.
const STEP: f64 = 1e-3;
/// Change of the factor that ends the rounds: a hundredth of what the best readings tell.
const SETTLED: f64 = 1e-5;
/// Maximum number of rounds; boards take four to ten.
const MOST_ROUNDS: usize = 60;
/// Round from which on an error that nobody stated is held as it was found. Found anew with every round it can go to and fro
/// with the weights for ever, as it does with six fair readings of a test; with a held error each round comes nearer.
const HELD_FROM: usize = 15;
/// Factors that no shop has: beyond them the board does not belong to the table.
const POSSIBLE: (f64, f64) = (-3.0, 6.0);
/// Change of a board's height, as a part of it, that other causes than springback make: laminations of many thin plies were
/// seen to close in by 1.6 to 2.4 % of their bend (trade reports, seen).
const SMALL_CHANGE: f64 = 0.05;
/// Multiple of the computed closing in that a board may show more or less of than expected.
const MOST_CLOSING: f64 = 3.0;
/// Deviation from which the readings say nothing about the factor.
const BLIND: f64 = 5.0;

/// Finds the factor, with free height and tilt of the board: least squares with weights after Student's t, so that a
/// reading with a large error moves it little (iteratively reweighted least squares; Lange, Little and Taylor, Robust
/// statistical modeling using the t distribution, J. Am. Stat. Assoc. 84 (1989) 881, from memory).
///
/// `path` is the key that the readings stand under, for the faults.
///
/// # Errors
/// A [`Fault`]: too few readings, stations that are not on the board, a board that does not depend on the factor, no
/// convergence, a factor that cannot be.
// Long, because the steps of a round of least squares share a dozen values.
pub fn fit_board(off: &OffTable, readings: &Readings, path: &str) -> Result<BoardFactor, Fault> {
    let used = readings.listed();
    if used.len() < 4 {
        return Err(Fault::new(
            codes::READINGS_TOO_FEW,
            path,
            phrase!("{} readings are used.", used.len()),
            "Factor, height and tilt take at least four; ten to thirty make a good calibration.",
        ));
    }
    let no_board = || codes::BOARD_NOT_OF_TABLE.at(path, "no springback makes a board like this of that table.");
    let not_seen = || codes::SPRINGBACK_NOT_SEEN.at(path, "the shape of this board hardly depends on its springback.");
    let (from, to) = off.finished_mm();
    let base_mm = to - from;
    let factor_per_closing_in = off.factor_per_closing_in();
    let blind = BLIND * (1.0 + factor_per_closing_in);
    let reach = MOST_CLOSING * factor_per_closing_in;
    let mut at = Step { factor: 1.0, height_mm: 0.0, tilt_rad: 0.0 };
    let mut weights = vec![1.0; used.len()];
    let mut held_mm = readings.error_mm;
    for round in 1..=MOST_ROUNDS {
        let curve = at.pose(off.base(at.factor).ok_or_else(no_board)?);
        let nudged = at.pose(off.base(at.factor + STEP).ok_or_else(no_board)?);
        let places = |curve: &Curve| -> Option<Vec<f64>> {
            used.iter().map(|&i| measured::place_of(readings, i, base_mm, curve)).collect()
        };
        let on = places(&curve).ok_or_else(no_board)?;
        let beside = match readings.along {
            StationsAlong::Base => on.clone(),
            StationsAlong::Datum => places(&nudged).ok_or_else(no_board)?,
        };
        let row = |(&i, (&s, &t)): (&usize, (&f64, &f64))| {
            let here = curve.at(s);
            // A turn lifts a place by its distance; stations along a level datum do not move with it.
            let slope = (nudged.at(t).point.y - here.point.y) / STEP;
            [slope, 1.0, here.point.x, readings.readings[i].height_mm - here.point.y]
        };
        let system: Vec<[f64; 4]> = used.iter().zip(on.iter().zip(&beside)).map(row).collect();
        let (change, variance) = solve(&system, &weights).ok_or_else(not_seen)?;
        at.factor += change[0];
        at.height_mm += change[1];
        at.tilt_rad += change[2];
        let left: Vec<f64> =
            system.iter().map(|r| r[3] - r[0] * change[0] - r[1] * change[1] - r[2] * change[2]).collect();
        let error_mm = held_mm.unwrap_or_else(|| robust_error_mm(&left));
        if round == HELD_FROM {
            held_mm = Some(error_mm);
        }
        // Many thin plies spring back so little that moisture and creep may outweigh it many times over.
        let heights = on.iter().map(|s| curve.at(*s).point.y);
        let (low, high) = heights.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), z| (a.min(z), b.max(z)));
        let moves = max_abs(system.iter().map(|r| r[0])) * (at.factor - 1.0).abs();
        let possible = ((POSSIBLE.0 - reach..=POSSIBLE.1 + reach).contains(&at.factor)
            || moves <= SMALL_CHANGE * (high - low))
            && at.tilt_rad.abs() < 1.0;
        if !possible {
            // What no reading holds runs anywhere.
            let loose = error_mm * variance.sqrt() > blind;
            return Err(if loose { not_seen() } else { no_board() });
        }
        // What is left over after this round decides how much each reading counts in the next.
        let before = std::mem::replace(&mut weights, left.iter().map(|r| weight(r / error_mm)).collect());
        let moved = max_abs(weights.iter().zip(&before).map(|(a, b)| a - b));
        if change[0].abs() < SETTLED * (1.0 + factor_per_closing_in) && moved < 1e-3 {
            let curve = at.pose(off.base(at.factor).ok_or_else(no_board)?);
            let rows = read_rows(readings, &curve, used.iter().zip(&on).zip(&weights));
            let square: f64 = rows.iter().map(|r| r.weight * (r.residual_mm() / error_mm).powi(2)).sum();
            let misfit = (square / (rows.len() as f64 - 3.0)).sqrt();
            let deviation = error_mm * variance.sqrt() * misfit.max(1.0);
            let seen = (0.0..=blind).contains(&deviation);
            if !seen {
                return Err(not_seen());
            }
            let local = find_local(off, &rows, &system, error_mm);
            return Ok(BoardFactor {
                factor: at.factor,
                deviation,
                table_deviation: 0.0,
                factor_per_closing_in,
                rows,
                error_mm,
                error_stated: readings.error_mm.is_some(),
                misfit,
                local,
                iterations: round,
                residual: change[0],
                curve,
            });
        }
    }
    Err(codes::CALIBRATION_NOT_SETTLED.at(path, "no factor settles on these readings."))
}

/// The readings beside a curve: each the number of a reading, its place on the curve and its weight.
fn read_rows<'r>(
    readings: &Readings,
    curve: &Curve,
    used: impl Iterator<Item = ((&'r usize, &'r f64), &'r f64)>,
) -> Vec<ReadRow> {
    let row = |((&i, &s_mm), &weight): ((&usize, &f64), &f64)| ReadRow {
        station_mm: readings.readings[i].station_mm,
        s_mm,
        height_mm: readings.readings[i].height_mm,
        explained_mm: curve.at(s_mm).point.y,
        weight,
    };
    used.map(row).collect()
}

/// What is sought.
struct Step {
    factor: f64,
    height_mm: f64,
    tilt_rad: f64,
}

impl Step {
    fn pose(&self, curve: Curve) -> Curve {
        curve.posed(Pose { turn_rad: self.tilt_rad, shift: Vec2::new(0.0, self.height_mm) })
    }
}

/// Weight of a residual of so many errors.
pub(super) fn weight(times: f64) -> f64 {
    (FREEDOM + 1.0) / (FREEDOM + times * times)
}

/// Weighted least squares for three unknowns: the change, and the variance of the first of them per error squared; `None`
/// where the rows do not tell the three apart, as where the factor moves no reading.
fn solve(system: &[[f64; 4]], weights: &[f64]) -> Option<([f64; 3], f64)> {
    let mut normal = SymmetricBanded::zeros(3, 2);
    let mut right = [0.0; 3];
    for (row, w) in system.iter().zip(weights) {
        for i in 0..3 {
            right[i] += w * row[i] * row[3];
            for j in 0..=i {
                normal.add(i, j, w * row[i] * row[j]);
            }
        }
    }
    let factor = normal.cholesky()?;
    let mut unit = [1.0, 0.0, 0.0];
    factor.solve(&mut unit);
    factor.solve(&mut right);
    Some((right, unit[0]))
}

/// Error of the readings where nobody stated it: from the middle of the absolute values of what this round's solution
/// leaves over, which no few bad readings move (median absolute deviation).
fn robust_error_mm(left: &[f64]) -> f64 {
    // Three of the n were spent on the solution.
    let n = left.len() as f64;
    (robust_std_dev(left) * (n / (n - 3.0)).sqrt()).max(FINEST_READING_MM)
}

#[cfg(test)]
mod tests;
