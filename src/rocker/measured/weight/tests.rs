//! The spectrum held against plain linear algebra: the same problem by its normal equations, solved by elimination.

use super::*;

/// Numbers between -1 and 1 from a fixed sequence (multiplier and increment of Knuth's MMIX, from memory).
fn numbers(seed: u64) -> impl FnMut() -> f64 {
    let mut state = seed;
    move || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 11) as f64 / (1u64 << 52) as f64 - 1.0
    }
}

pub(in super::super) fn problem(readings: usize, steps: usize, seed: u64) -> Linear {
    let mut number = numbers(seed);
    let mut rows = |count: usize| (0..readings).map(|_| (0..count).map(|_| number()).collect()).collect();
    let (mut free, steps): (Vec<Vec<f64>>, _) = (rows(2), rows(steps));
    // Columns far from square to each other.
    free.iter_mut().for_each(|row| row[1] = 2.0 * row[0] + 0.5 * row[1] + 1.0);
    Linear { free, steps, wanted: (0..readings).map(|_| 3.0 * number()).collect() }
}

/// More readings than steps, and fewer: the two ways of finding the singular vectors.
fn problems() -> [Linear; 2] {
    [problem(7, 4, 1), problem(5, 9, 2)]
}

/// Normal equations of least squares with `weight` times the squares of the steps, and the logarithm of their determinant.
struct Dense {
    rows: Vec<Vec<f64>>,
    normal: Vec<Vec<f64>>,
}

impl Dense {
    fn new(linear: &Linear, weight: f64) -> Self {
        let free = linear.free[0].len();
        let rows: Vec<Vec<f64>> =
            linear.free.iter().zip(&linear.steps).map(|(a, b)| [&a[..], &b[..]].concat()).collect();
        let n = rows[0].len();
        let mut normal = vec![vec![0.0; n]; n];
        for (i, out) in normal.iter_mut().enumerate() {
            for (j, out) in out.iter_mut().enumerate() {
                *out = rows.iter().map(|row| row[i] * row[j]).sum::<f64>();
                *out += if i == j && i >= free { weight } else { 0.0 };
            }
        }
        Self { rows, normal }
    }

    fn parameters(&self, y: &[f64]) -> Vec<f64> {
        let right = (0..self.normal.len()).map(|j| self.rows.iter().zip(y).map(|(row, y)| row[j] * y).sum()).collect();
        eliminated(self.normal.clone(), right).0
    }

    /// What the curve makes of the heights: the hat matrix times them.
    fn fitted(&self, y: &[f64]) -> Vec<f64> {
        let parameters = self.parameters(y);
        self.rows.iter().map(|row| row.iter().zip(&parameters).map(|(a, p)| a * p).sum()).collect()
    }

    /// The diagonal of the hat matrix.
    fn leverages(&self) -> Vec<f64> {
        let unit = |i: usize| (0..self.rows.len()).map(|j| if i == j { 1.0 } else { 0.0 }).collect::<Vec<f64>>();
        (0..self.rows.len()).map(|i| self.fitted(&unit(i))[i]).collect()
    }
}

/// Gauss's elimination without exchanges, which a positive definite matrix needs none of: the solution, and the logarithm of
/// the determinant.
fn eliminated(mut a: Vec<Vec<f64>>, mut y: Vec<f64>) -> (Vec<f64>, f64) {
    let n = y.len();
    for i in 0..n {
        let (above, below) = a.split_at_mut(i + 1);
        let pivot = &above[i];
        for (k, row) in (i + 1..n).zip(below) {
            let times = row[i] / pivot[i];
            row.iter_mut().zip(pivot).skip(i).for_each(|(x, p)| *x -= times * p);
            y[k] -= times * y[i];
        }
    }
    let logarithm = (0..n).map(|i| a[i][i].ln()).sum();
    for i in (0..n).rev() {
        y[i] = (y[i] - (i + 1..n).map(|j| a[i][j] * y[j]).sum::<f64>()) / a[i][i];
    }
    (y, logarithm)
}

#[track_caller]
pub(in super::super) fn alike(found: f64, expected: f64) {
    assert!((found - expected).abs() < 1e-9 * (1.0 + expected.abs()), "{found} is not {expected}");
}

#[test]
fn parameters_residuals_and_leverages_are_those_of_the_normal_equations() {
    for linear in problems() {
        let spectrum = Spectrum::of(&linear).unwrap();
        for weight in [0.03, 0.7, 20.0] {
            let dense = Dense::new(&linear, weight);
            let parameters = dense.parameters(&linear.wanted);
            let found = spectrum.solve(&linear, weight);
            assert_eq!(found.len(), parameters.len());
            found.iter().zip(&parameters).for_each(|(f, e)| alike(*f, *e));
            let (fitted, leverages) = (dense.fitted(&linear.wanted), dense.leverages());
            for (i, (residual, left)) in spectrum.residuals(weight).into_iter().enumerate() {
                alike(residual, linear.wanted[i] - fitted[i]);
                alike(left, 1.0 - leverages[i]);
                let unit: Vec<f64> = (0..leverages.len()).map(|j| if i == j { 1.0 } else { 0.0 }).collect();
                let column = spectrum.left_column(weight, i);
                column.iter().zip(&unit).zip(dense.fitted(&unit)).for_each(|((c, u), h)| alike(*c, u - h));
            }
            alike(spectrum.effective_dof(weight), leverages.iter().sum());
        }
    }
}

#[test]
fn error_likelihood_and_risk_are_those_of_the_normal_equations() {
    for linear in problems() {
        let spectrum = Spectrum::of(&linear).unwrap();
        let (readings, steps) = (linear.wanted.len() as f64, linear.steps[0].len() as f64);
        let plain: Vec<Vec<f64>> = (0..2)
            .map(|i| (0..2).map(|j| linear.free.iter().map(|row| row[i] * row[j]).sum::<f64>()).collect())
            .collect();
        for weight in [0.03, 0.7, 20.0] {
            let dense = Dense::new(&linear, weight);
            let residuals: Vec<f64> =
                linear.wanted.iter().zip(dense.fitted(&linear.wanted)).map(|(y, fitted)| y - fitted).collect();
            // Squares of what is left and weight times those of the steps come to y'(1 - H) y.
            let square = dot(&linear.wanted, &residuals);
            alike(spectrum.error_mm(weight), (square / (readings - 2.0)).sqrt());
            // The readings' covariance but for the plain parameters is 1 + S S'/weight; its determinant by Sylvester's identity.
            let zeros = |matrix: &Vec<Vec<f64>>| vec![0.0; matrix.len()];
            let spread = eliminated(dense.normal.clone(), zeros(&dense.normal)).1
                - eliminated(plain.clone(), zeros(&plain)).1
                - steps * weight.ln();
            alike(spectrum.neg_two_log_likelihood(weight, Some(0.4)), square / 0.16 + spread);
            alike(spectrum.neg_two_log_likelihood(weight, None), (readings - 2.0) * square.ln() + spread);
            let left = readings - dense.leverages().iter().sum::<f64>();
            let plain_square = dot(&residuals, &residuals);
            alike(spectrum.risk(weight, Some(0.4)), plain_square - 2.0 * 0.16 * left);
            alike(spectrum.risk(weight, None), plain_square / (left * left));
        }
    }
}

#[test]
fn readings_that_agree_better_than_a_rule_is_read_count_as_off_by_the_finest_reading() {
    let linear = Linear { wanted: vec![0.0; 7], ..problem(7, 4, 1) };
    let spectrum = Spectrum::of(&linear).unwrap();
    // Seven readings less two plain parameters.
    alike(spectrum.error_mm(1.0), FINEST_READING_MM);
    let left = 7.0 - spectrum.effective_dof(1.0);
    alike(spectrum.risk(1.0, None), 5.0 * FINEST_READING_MM.powi(2) / (left * left));
}

#[test]
fn the_lowest_cost_is_found_wherever_it_lies_and_of_equal_ones_the_smoothest() {
    let spectrum = Spectrum::of(&problem(7, 4, 1)).unwrap();
    let largest = spectrum.values.iter().copied().fold(0.0, f64::max);
    for power in [-10.3_f64, -5.0, -0.41, 0.06, 2.03, 3.9] {
        let found = spectrum.best_weight(|weight| ((weight / largest).log10() - power).powi(2));
        assert!(((found / largest).log10() - power).abs() < 1e-5, "{} is not {power}", (found / largest).log10());
    }
    // The smoothest that is tried, give or take one try.
    let flat = (spectrum.best_weight(|_| 1.0) / largest).log10();
    assert!((flat - f64::from(WEIGHTS.1)).abs() < 1.001 / f64::from(TRIES_PER_DECADE), "{flat}");
}
