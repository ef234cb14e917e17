//! Outliers among the readings.

use super::weight::Spectrum;
use crate::numeric::{SymmetricBanded, add_combination, robust_std_dev};

/// With fewer readings no outlier can be identified: a real kick may rest on one reading.
const FEWEST_JUDGED: usize = 8;

/// At most one reading in so many is left out. If more disagree, the curve is at fault.
const ONE_IN: usize = 6;

/// Smallest usable 1 - leverage: with less, the curve follows the reading whatever its value.
const LEAST_LEFT: f64 = 1e-9;

/// Outliers: index and distance, in standard deviations, of readings more than `limit` from the curve through the others.
///
/// Smoothness and outliers cannot be found one after the other: two adjacent bad readings look like a bump, and a curve that
/// may have bumps follows them. For each of a series of weights, outliers are removed one by one, the worst first, and the
/// most likely combination of weight and outliers is kept. A good reading is normal about the curve; an outlier may lie
/// anywhere, at the cost of `limit` standard deviations. In
/// simulated boards (`tests/library/bad_readings.rs`) this named 1511 of 1532 bad readings where the error was stated, and 10 of 24868
/// good ones.
///
/// `least_scatter_mm` is a lower bound of the standard deviation of a reading.
pub(super) fn outliers(spectrum: &Spectrum, least_scatter_mm: f64, limit: f64) -> Vec<(usize, f64)> {
    let count = spectrum.readings();
    if count < FEWEST_JUDGED {
        return Vec::new();
    }
    let most = count / ONE_IN;
    let mut best: Option<(f64, Trial<'_>)> = None;
    for weight in spectrum.decades() {
        let mut trial = Trial::new(spectrum, weight);
        while trial.removed.len() < most {
            let scatter_mm = trial.scatter_mm().max(least_scatter_mm);
            let worst = trial.worst();
            if trial.distance_mm(worst).abs() <= limit * scatter_mm {
                break;
            }
            trial.remove(worst);
        }
        let cost = trial.cost(least_scatter_mm, limit);
        let (full, price) = (trial.removed.len() == most, most as f64 * limit * limit);
        if best.as_ref().is_none_or(|b| cost < b.0) {
            best = Some((cost, trial));
        } else if full && best.as_ref().is_some_and(|b| cost > b.0 + price) {
            // Too stiff for the readings by more than all removals cost; a stiffer curve is farther from them still.
            break;
        }
    }
    best.map_or(Vec::new(), |(_, trial)| trial.confirmed(least_scatter_mm, limit))
}

/// The readings for one weight, some removed.
struct Trial<'s> {
    spectrum: &'s Spectrum,
    weight: f64,
    /// Residual of every reading, mm, and the diagonal of 1 - H, H being the hat matrix.
    left: Vec<(f64, f64)>,
    removed: Vec<usize>,
    is_removed: Vec<bool>,
    /// For each removed reading, its column of 1 - H over the root of its diagonal, after the earlier removals.
    columns: Vec<Vec<f64>>,
    /// Sum of squares in the likelihood, mm².
    square_mm2: f64,
    /// Log-determinant of the readings' covariance, relative to that of their errors.
    spread: f64,
}

impl<'s> Trial<'s> {
    fn new(spectrum: &'s Spectrum, weight: f64) -> Self {
        let left = spectrum.residuals(weight);
        let (square_mm2, spread) = spectrum.square_and_spread(weight);
        let is_removed = vec![false; left.len()];
        Self { spectrum, weight, left, removed: Vec::new(), is_removed, columns: Vec::new(), square_mm2, spread }
    }

    fn kept(&self) -> impl Iterator<Item = usize> + '_ {
        (0..self.left.len()).filter(|&i| !self.is_removed[i])
    }

    /// Distance of a reading from the curve, as large as its error would make it, mm.
    fn distance_mm(&self, i: usize) -> f64 {
        let (residual, left) = self.left[i];
        residual / left.max(LEAST_LEFT).sqrt()
    }

    fn scatter_mm(&self) -> f64 {
        robust_std_dev(&self.kept().map(|i| self.distance_mm(i)).collect::<Vec<_>>())
    }

    fn worst(&self) -> usize {
        self.kept().max_by(|&a, &b| self.distance_mm(a).abs().total_cmp(&self.distance_mm(b).abs())).unwrap_or(0)
    }

    /// Removes a reading and updates the residuals and leverages of the others.
    fn remove(&mut self, i: usize) {
        let mut column = self.spectrum.left_column(self.weight, i);
        add_combination(&mut column, self.columns.iter().map(|earlier| (earlier, -earlier[i])));
        let own = column[i].max(LEAST_LEFT);
        column.iter_mut().for_each(|c| *c /= own.sqrt());
        let pull = self.left[i].0 / own.sqrt();
        for ((residual, left), c) in self.left.iter_mut().zip(&column) {
            *residual -= c * pull;
            *left -= c * c;
        }
        self.square_mm2 -= pull * pull;
        self.spread += libm::log(own);
        self.removed.push(i);
        self.is_removed[i] = true;
        self.columns.push(column);
    }

    /// Minus twice the log-likelihood of all readings, up to a constant.
    fn cost(&self, least_scatter_mm: f64, limit: f64) -> f64 {
        let free = self.spectrum.count();
        let square = self.square_mm2.max(0.0);
        let variance = (square / free).max(least_scatter_mm * least_scatter_mm);
        square / variance + free * libm::log(variance) + self.spread + self.removed.len() as f64 * limit * limit
    }

    /// The removed readings that disagree with the curve through all others. A reading that was removed only because another
    /// outlier bent the curve is restored.
    fn confirmed(mut self, least_scatter_mm: f64, limit: f64) -> Vec<(usize, f64)> {
        let scatter_mm = self.scatter_mm().max(least_scatter_mm);
        // With M the removed readings' part of 1 - H and e their residuals before any was removed, a reading lies
        // (M⁻¹ e)ᵢ / √(M⁻¹)ᵢᵢ from the curve without all of them.
        let size = self.removed.len();
        let mut part = SymmetricBanded::zeros(size, size.saturating_sub(1));
        for (a, &i) in self.removed.iter().enumerate() {
            let column = self.spectrum.left_column(self.weight, i);
            self.removed.iter().take(a + 1).enumerate().for_each(|(b, &j)| part.add(a, b, column[j]));
        }
        let Some(factor) = part.cholesky() else { return Vec::new() };
        let mut inverse: Vec<Vec<f64>> = (0..size)
            .map(|a| {
                let mut unit = vec![0.0; size];
                unit[a] = 1.0;
                factor.solve(&mut unit);
                unit
            })
            .collect();
        let before = self.spectrum.residuals(self.weight);
        let mut off: Vec<f64> = self.removed.iter().map(|&i| before[i].0).collect();
        factor.solve(&mut off);
        loop {
            let times = |a: usize| off[a].abs() / inverse[a][a].sqrt() / scatter_mm;
            let all = (0..self.removed.len()).map(|a| (self.removed[a], times(a)));
            let Some(least) = (0..self.removed.len()).min_by(|&a, &b| times(a).total_cmp(&times(b))) else {
                return Vec::new();
            };
            if times(least) > limit {
                return all.collect();
            }
            self.removed.remove(least);
            let row = inverse.remove(least);
            let (own, pull) = (row[least], off.remove(least));
            let others: Vec<f64> = row.iter().enumerate().filter(|(a, _)| *a != least).map(|(_, r)| *r).collect();
            for ((line, value), share) in inverse.iter_mut().zip(&mut off).zip(&others) {
                line.remove(least);
                line.iter_mut().zip(&others).for_each(|(l, o)| *l -= share * o / own);
                *value -= share * pull / own;
            }
        }
    }
}

#[cfg(test)]
mod tests;
