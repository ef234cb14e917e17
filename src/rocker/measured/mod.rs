//! Curvature from the measured heights of a board.
//!
//! Differentiating heights twice amplifies noise. Instead, the curvature itself is fitted: penalised least squares, the
//! penalty being a weight times the integral of k'². Heights are integrated from the angle exactly, without small slopes.

mod check;
mod model;
mod options;
mod outliers;
mod weight;

use crate::codes;
use crate::curve::{Curvature, Curve, PlaneCurve, lowest_point};
use crate::finding::{Fault, Faults, Finding, Held, Verdict};
use crate::job::{Datum, LengthAlong, Origin, Reading, Readings, StationsAlong};
use crate::numeric::{BandedCholesky, max_abs};
use crate::units::{Quantity, phrase};

use model::{Linear, Model};
use options::zero_of;
use weight::Spectrum;

pub(crate) use options::FINEST_READING_MM;
pub use options::FitOptions;

/// A reading that lies further from the curve through the others than this many standard deviations is named and left
/// out: of honest readings about one in two thousand does (normal distribution).
const STANDS_OUT: f64 = 3.5;

/// One reading and how the fitted curve passes it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Row {
    /// Station as the shop counts it, mm.
    pub station_mm: f64,
    /// Place on the base, mm from the middle along the base.
    pub s_mm: f64,
    /// The height that was read, mm.
    pub height_mm: f64,
    /// The height of the fitted curve there, mm.
    pub fitted_mm: f64,
    /// It was listed as not to be used.
    pub excluded: bool,
    /// How many standard deviations it lies from where the others put it, if that stands out. Such a reading is left out
    /// of the fit.
    pub stands_out: Option<f64>,
}

impl Row {
    /// Whether the curve was fitted to it.
    pub fn used(&self) -> bool {
        !self.excluded && self.stands_out.is_none()
    }

    /// Reading less curve, mm.
    pub(crate) fn residual_mm(&self) -> f64 {
        self.height_mm - self.fitted_mm
    }
}

/// A curve through readings.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// Curvature at the base, from -L/2 (tail) to +L/2 (tip).
    pub curvature: Curvature,
    /// The curve as it lay when it was read: heights above the datum.
    pub curve: Curve,
    /// The readings, in the order in which they were given.
    pub rows: Vec<Row>,
    /// Standard deviation of one reading, mm: the stated one, or the one that the readings show.
    pub error_mm: f64,
    /// Whether that error was stated.
    pub error_stated: bool,
    /// The weight of smoothness against closeness, mm⁵.
    pub weight_mm5: f64,
    /// How many free numbers the curve in effect spends on following the readings.
    pub effective_dof: f64,
    /// Rounds of integrating and solving.
    pub iterations: usize,
    /// How far the curve still moved in the last round, mm.
    pub residual_mm: f64,
    /// What the heights were measured from.
    pub datum: Datum,
    /// What to look at: readings that stand out, heights that look like another unit.
    pub findings: Vec<Finding>,
    model: Model,
    /// Of the information that the readings hold about the model's parameters.
    factor: BandedCholesky,
}

/// Maximum number of rounds of finding the weight, and how little its logarithm changes once it is found. Boards take three or four;
/// readings without error may never agree on the last digits of a weight that then hardly matters.
const MOST_WEIGHT_ROUNDS: usize = 12;
const SAME_WEIGHT: f64 = 1e-2;

/// How often readings are judged: once for nearly every board, and again where some were left out, from the curve without
/// them.
const MOST_JUDGEMENTS: usize = 4;

/// Maximum number of rounds of integrating and solving under a held weight. Boards settle within six; the rest is for boards bent to
/// a hook and for places that come on and off the floor.
const MOST_ROUNDS: usize = 60;

/// How firmly a board that was read on the floor is kept from sinking under it, as the error of a reading, mm. Without
/// this the smooth curve dips under a long flat just before a kick, and tip and tail then seem higher than they are;
/// much firmer, and a floor with a hollow or a rule with a worn end would bend the curve.
const FLOOR_ERROR_MM: f64 = 0.1;

/// How far past an end of the curve a reading's place may come out, as a part of its length: more than bad readings and a
/// pencil line shift it.
const PAST_END_SHARE: f64 = 0.02;

/// A round that moves the curve less than this ends the fit, mm: far below any reading, above the rounding of the solve
/// under the smallest weights.
const SETTLED_MM: f64 = 1e-5;

/// The smoothest curvature that agrees with the readings.
///
/// The weight maximises the likelihood of the readings, with curvature as a random walk and normal errors of the heights
/// (stated, or estimated with the weight): Wahba, A comparison of GCV and GML,
/// Annals of Statistics 13 (1985) 1378, from memory. Cross-validation, which may be asked for, now and then follows
/// the noise; this does not.
///
/// # Errors
/// Faults of the readings (order, gaps, contradictions, stations beyond the ends), each with its number, and a fit that
/// does not converge.
pub fn fit(readings: &Readings, options: &FitOptions) -> Result<Fit, Faults> {
    fit_as_listed(readings, options)
        .map_err(|faults| faults.into_iter().map(|f| in_file(f, readings, options)).collect())
}

/// The same fault, with its line if the readings are in a file.
fn in_file(fault: Fault, readings: &Readings, options: &FitOptions) -> Fault {
    let Some(file) = &readings.file else { return fault };
    let number = fault.path.strip_prefix(options.path.as_str()).and_then(|rest| {
        let number = rest.strip_prefix('[')?.split(']').next()?;
        number.parse::<usize>().ok()
    });
    let path = check::sibling(options, "file");
    match number.and_then(|i| file.lines.get(i)) {
        Some(place) => Fault { path, ..fault }.in_file(place.clone()),
        None if fault.path == options.path => {
            Fault { path, message: phrase!("{}: {}", &file.name, fault.message), ..fault }
        }
        None => fault,
    }
}

/// The same without a search for outliers.
///
/// # Errors
/// As [`fit`].
pub(super) fn fit_all(readings: &Readings, options: &FitOptions) -> Result<Fit, Faults> {
    check::readings(readings, options)?;
    fit_base(&Problem { readings, base_mm: options.length_mm, judged: false }, options)
}

fn fit_as_listed(readings: &Readings, options: &FitOptions) -> Result<Fit, Faults> {
    check::readings(readings, options)?;
    let fit = fit_length(readings, options)?;
    // Stations are on the board; a curve that reaches them only beyond its ends does not fit.
    let reach_mm = (0.5 + PAST_END_SHARE) * fit.curvature.length_mm();
    if fit.rows.iter().any(|r| r.s_mm.abs() > reach_mm) {
        return Err(not_settled(options).into());
    }
    let used: Vec<usize> = (0..fit.rows.len()).filter(|&i| fit.rows[i].used()).collect();
    check::agreement(readings, &used, options)?;
    Ok(fit)
}

fn fit_length(readings: &Readings, options: &FitOptions) -> Result<Fit, Faults> {
    let along = |base_mm: f64| fit_base(&Problem { readings, base_mm, judged: true }, options);
    match options.length_along {
        LengthAlong::Base => along(options.length_mm),
        LengthAlong::Straight => {
            // The base is a little longer than the straight line, by an amount that follows from the fit.
            let mut base_mm = options.length_mm.max(chain_mm(readings));
            for _ in 0..30 {
                let fit = along(base_mm)?;
                let (from, to) = fit.curve.range_mm();
                let short = options.length_mm - fit.curve.at(from).point.distance(fit.curve.at(to).point);
                if short.abs() < 1e-6 {
                    return Ok(fit);
                }
                base_mm += short;
            }
            Err(not_settled(options).into())
        }
    }
}

/// Length of the chain through readings along the datum, mm: no base is shorter, and from one that is, steep ends are out of
/// reach. 0 for readings along the base.
fn chain_mm(readings: &Readings) -> f64 {
    if readings.along == StationsAlong::Base {
        return 0.0;
    }
    let mut places: Vec<Reading> = readings.listed().into_iter().map(|i| readings.readings[i]).collect();
    places.sort_by(|a, b| a.station_mm.total_cmp(&b.station_mm));
    places.windows(2).map(|w| libm::hypot(w[1].station_mm - w[0].station_mm, w[1].height_mm - w[0].height_mm)).sum()
}

fn not_settled(options: &FitOptions) -> Fault {
    codes::FIT_NOT_SETTLED.at(&options.path, "no curve settles on these readings.")
}

fn fit_base(problem: &Problem<'_>, options: &FitOptions) -> Result<Fit, Faults> {
    problem.settle(options).ok_or_else(|| not_settled(options).into())
}

/// Readings along a base of a known length.
struct Problem<'r> {
    readings: &'r Readings,
    base_mm: f64,
    /// Whether outliers are left out.
    judged: bool,
}

/// Results before the final fit: weight, error and outliers.
struct Weighed {
    weight: f64,
    error_mm: f64,
    /// Readings used.
    used: Vec<usize>,
    /// Readings left out, with their distance in standard deviations.
    outliers: Vec<(usize, f64)>,
    rounds: usize,
}

impl Problem<'_> {
    /// The readings as linear functions of the model's parameters; `None` where a station is not on the curve.
    fn linear(&self, model: &Model, curve: &Curve, used: &[usize]) -> Option<Linear> {
        let Readings { readings, along, origin, .. } = self.readings;
        let heights: Vec<f64> = used.iter().map(|&i| readings[i].height_mm).collect();
        let places: Option<Vec<f64>> = used.iter().map(|&i| place_of(self.readings, i, self.base_mm, curve)).collect();
        Some(model.linearised(curve, &places?, *along, *origin, &heights))
    }

    /// Iterates weight and outliers with the curve. After outliers are left out, the curve is fitted and all readings are judged
    /// again.
    fn weigh(&self, model: &mut Model) -> Option<Weighed> {
        let Readings { smoothing, error_mm: stated, .. } = self.readings;
        let listed = self.readings.listed();
        let mut found =
            Weighed { weight: f64::NAN, error_mm: f64::NAN, used: listed.clone(), outliers: Vec::new(), rounds: 0 };
        for _ in 0..MOST_JUDGEMENTS {
            let mut arrived = false;
            for _ in 0..MOST_WEIGHT_ROUNDS {
                let linear = self.linear(model, &model.curve(), &found.used)?;
                let spectrum = Spectrum::of(&linear)?;
                let old = found.weight;
                found.weight = spectrum.weight(*smoothing, *stated);
                found.error_mm = stated.unwrap_or_else(|| spectrum.error_mm(found.weight));
                arrived = model.go_toward(&spectrum.solve(&linear, found.weight));
                found.rounds += 1;
                if arrived && libm::log(found.weight / old).abs() < SAME_WEIGHT {
                    break;
                }
            }
            // While the curve is far from the readings, it cannot judge them.
            if !self.judged || !arrived {
                break;
            }
            let spectrum = Spectrum::of(&self.linear(model, &model.curve(), &listed)?)?;
            let outliers = outliers::outliers(&spectrum, stated.unwrap_or(FINEST_READING_MM), STANDS_OUT);
            found.outliers = outliers.into_iter().map(|(at, times)| (listed[at], times)).collect();
            let out = |i: &usize| found.outliers.iter().any(|o| o.0 == *i);
            let used: Vec<usize> = listed.iter().copied().filter(|i| !out(i)).collect();
            if used == found.used {
                break;
            }
            found.used = used;
        }
        Some(found)
    }

    /// The fit; `None` if it does not converge.
    fn settle(&self, options: &FitOptions) -> Option<Fit> {
        let readings = self.readings;
        let mut model = Model::new(self.base_mm, options.ends, readings.listed().len());
        let found = self.weigh(&mut model)?;
        let floor_share = match readings.datum {
            Datum::Floor => (found.error_mm / FLOOR_ERROR_MM).powi(2),
            Datum::Straightedge => 0.0,
        };
        for round in 1..=MOST_ROUNDS {
            let before = model.curve();
            let linear = self.linear(&model, &before, &found.used)?;
            let mut information = linear.information(found.weight);
            let mut pull = linear.pull();
            if floor_share > 0.0 {
                let under: Vec<f64> = model.nodes().filter(|&s| before.at(s).point.y < 0.0).collect();
                let floor =
                    model.linearised(&before, &under, StationsAlong::Base, readings.origin, &vec![0.0; under.len()]);
                floor.add_to(&mut information, &mut pull, floor_share);
            }
            let factor = information.cholesky()?;
            factor.solve(&mut pull);
            model.go_toward(&pull);
            let after = model.curve();
            let moved = max_abs(model.nodes().map(|s| after.at(s).point.y - before.at(s).point.y));
            if !moved.is_finite() {
                return None;
            }
            if moved < SETTLED_MM {
                let rows = self.rows(&after, &found.outliers)?;
                return Some(Fit {
                    curvature: model.curvature(),
                    curve: after,
                    datum: readings.datum,
                    findings: findings(&rows, readings, options),
                    rows,
                    error_mm: found.error_mm,
                    error_stated: readings.error_mm.is_some(),
                    weight_mm5: found.weight * model.node_step_mm(),
                    effective_dof: Spectrum::of(&linear)?.effective_dof(found.weight),
                    iterations: found.rounds + round,
                    residual_mm: moved,
                    factor,
                    model,
                });
            }
        }
        None
    }

    /// The readings with their fitted values.
    fn rows(&self, curve: &Curve, outliers: &[(usize, f64)]) -> Option<Vec<Row>> {
        let row = |(i, reading): (usize, &Reading)| {
            let s_mm = place_of(self.readings, i, self.base_mm, curve)?;
            Some(Row {
                station_mm: reading.station_mm,
                s_mm,
                height_mm: reading.height_mm,
                fitted_mm: curve.at(s_mm).point.y,
                excluded: self.readings.excluded.contains(&i),
                stands_out: outliers.iter().find(|o| o.0 == i).map(|o| o.1),
            })
        };
        self.readings.readings.iter().enumerate().map(row).collect()
    }
}

/// Place on the base of reading `i`, mm from the middle; `None` where the curve never gets there. A little past an end
/// (by the width of a pencil line, or while the length is still sought) the end's arc goes on.
pub(crate) fn place_of(readings: &Readings, i: usize, base_mm: f64, curve: &Curve) -> Option<f64> {
    let half = 0.5 * base_mm;
    let station = readings.readings[i].station_mm;
    let sign = if readings.origin == Origin::Tip { -1.0 } else { 1.0 };
    let zero_s = zero_of(readings.origin, half);
    let mut s = zero_s + sign * station;
    if readings.along == StationsAlong::Base {
        return Some(s);
    }
    let x = curve.at(zero_s).point.x + sign * station;
    for _ in 0..50 {
        let at = curve.at(s);
        let step = (x - at.point.x) / libm::cos(at.angle_rad);
        s += step;
        if !s.is_finite() || s.abs() > 2.0 * base_mm {
            return None;
        }
        if step.abs() < 1e-10 {
            return Some(s);
        }
    }
    None
}

fn findings(rows: &[Row], readings: &Readings, options: &FitOptions) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (i, row) in rows.iter().enumerate() {
        let Some(times) = row.stands_out else { continue };
        findings.push(codes::READING_STANDS_OUT.check(match readings.file.as_ref().and_then(|f| Some((f, f.lines.get(i)?))) {
                Some((file, place)) => phrase!(
                    "reading {} (line {} of {}) at station {}, in times the scatter of the readings",
                    i + 1,
                    place.line.to_string(),
                    &file.name,
                    Quantity::length(row.station_mm)
                ),
                None => phrase!(
                    "reading {} at station {}, in times the scatter of the readings",
                    i + 1,
                    Quantity::length(row.station_mm)
                ),
            }, (Verdict::Watch, Held::at_most(Quantity::times(times), Quantity::times(STANDS_OUT)))).with_remedy(phrase!(
                "{} was read; the other readings suggest {}, and the curve follows them alone. Read it again, or list its \
                 number {} under exclude.",
                Quantity::length(row.height_mm),
                Quantity::length(row.fitted_mm),
                i + 1
            )));
    }
    let used = rows.iter().filter(|r| r.used()).map(|r| r.height_mm);
    let (low, high) = used.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), z| (a.min(z), b.max(z)));
    let range_mm = high - low;
    if range_mm > 0.0 && range_mm < LOW_BOARD_SHARE * options.length_mm {
        findings.push(
            codes::HEIGHTS_LOOK_SMALL
                .check(
                    "the readings",
                    (
                        Verdict::Watch,
                        Held::at_least(Quantity::fine(range_mm), Quantity::fine(LOW_BOARD_SHARE * options.length_mm)),
                    ),
                )
                .with_remedy(phrase!(
                    "The heights span {} over {} of board. If they were read in inches, say so: they are then {}.",
                    Quantity::fine(range_mm),
                    Quantity::length(options.length_mm),
                    Quantity::length(range_mm * crate::units::MM_PER_INCH)
                )),
        );
    }
    findings
}

/// A board whose heights span less than this share of its length is nearly flat; the likelier story is heights in inches.
const LOW_BOARD_SHARE: f64 = 0.003;

impl Fit {
    /// Standard error of a value derived from the curvature.
    ///
    /// `of` is asked for its value at the fit and at small changes of it; it should be smooth. The deviation is that of
    /// the curvature given the readings, under the same assumptions as the weight's choice.
    pub(crate) fn deviation_of(&self, of: impl Fn(&Curvature) -> f64) -> f64 {
        self.deviation(|model| of(&model.curvature()))
    }

    /// The same for a value that also depends on the position above the datum.
    fn deviation(&self, of: impl Fn(&Model) -> f64) -> f64 {
        let base = of(&self.model);
        let gradient: Vec<f64> = (0..self.model.parameters().len())
            .map(|j| {
                let (changed, step) = self.model.nudged(j);
                (of(&changed) - base) / step
            })
            .collect();
        let mut solved = gradient.clone();
        self.factor.solve(&mut solved);
        let variance: f64 = gradient.iter().zip(&solved).map(|(g, x)| g * x).sum();
        self.error_mm * variance.max(0.0).sqrt()
    }

    /// Whether heights were measured from the floor, with the board standing on it.
    pub(crate) fn on_floor(&self) -> bool {
        self.datum == Datum::Floor
    }

    /// Standard deviation of the tip's height over the place where the board rests, mm: as it lay on the floor, or, where
    /// it was read from a straightedge that may have been tilted, over the tangent at that place.
    pub(crate) fn tip_deviation_mm(&self) -> f64 {
        let anchor_mm = lowest_point(&self.curve);
        self.deviation(|model| {
            let curve = model.curve();
            let (anchor, tip) = (curve.at(anchor_mm), curve.at(curve.range_mm().1));
            let up = match self.datum {
                Datum::Floor => kurbo::Vec2::new(0.0, 1.0),
                Datum::Straightedge => anchor.normal(),
            };
            (tip.point - anchor.point).dot(up)
        })
    }

    /// Root mean square residual of the readings used, mm.
    pub(crate) fn rms_mm(&self) -> f64 {
        let used: Vec<f64> = self.rows.iter().filter(|r| r.used()).map(|r| r.residual_mm().powi(2)).collect();
        (used.iter().sum::<f64>() / used.len() as f64).sqrt()
    }
}

#[cfg(test)]
mod tests;
