//! Choice of the smoothing weight, and the fit for a given weight.

use super::model::Linear;
use super::options::FINEST_READING_MM;
use crate::job::Smoothing;
use crate::numeric::{add_combination, dot, symmetric_eigen};

/// The linear problem in coordinates that decouple the effect of the weight (singular value decomposition).
#[derive(Debug, Clone)]
pub(super) struct Spectrum {
    /// Orthonormal basis of the effects of the unpenalised parameters.
    plain: Vec<Vec<f64>>,
    /// Squared singular values of the effects of the steps, projected off that basis.
    values: Vec<f64>,
    /// Left singular vectors, `vectors[j][i]` for reading i.
    vectors: Vec<Vec<f64>>,
    /// Heights to fit, less the part explained by the unpenalised parameters.
    wanted: Vec<f64>,
    /// Their components along the singular vectors.
    along: Vec<f64>,
    /// Sum of squares of the heights that no parameter explains.
    rest_square: f64,
    /// Number of readings less unpenalised parameters and singular vectors; may be negative if some vectors are null.
    rest_count: f64,
}

/// Range of weights, as multiples of the largest squared singular value, and trials per decade. Below it the curve follows
/// every reading, above it is one arc.
const WEIGHTS: (i32, i32) = (-11, 4);
const TRIES_PER_DECADE: i32 = 8;

impl Spectrum {
    /// `None` if the eigenvalues did not converge.
    pub(super) fn of(linear: &Linear) -> Option<Self> {
        let readings = linear.wanted.len();
        let plain = orthonormal_columns(&linear.free);
        let project = |mut x: Vec<f64>| {
            // Orthogonalise twice, to remove the rounding of the first pass.
            for _ in 0..2 {
                for q in &plain {
                    let along = dot(q, &x);
                    x.iter_mut().zip(q).for_each(|(x, q)| *x -= along * q);
                }
            }
            x
        };
        let wanted = project(linear.wanted.clone());
        let columns: Vec<Vec<f64>> =
            (0..linear.steps[0].len()).map(|j| project(linear.steps.iter().map(|row| row[j]).collect())).collect();
        let (values, vectors) = if readings <= columns.len() {
            let gram = (0..readings)
                .map(|a| (0..readings).map(|b| columns.iter().map(|c| c[a] * c[b]).sum()).collect())
                .collect();
            let eigen = symmetric_eigen(gram)?;
            (eigen.values.into_iter().map(|v| v.max(0.0)).collect::<Vec<_>>(), eigen.vectors)
        } else {
            let mut gram = vec![vec![0.0; columns.len()]; columns.len()];
            for i in 0..columns.len() {
                for j in 0..=i {
                    gram[i][j] = dot(&columns[i], &columns[j]);
                    gram[j][i] = gram[i][j];
                }
            }
            let eigen = symmetric_eigen(gram)?;
            let largest = eigen.values.iter().copied().fold(0.0, f64::max);
            let mut values = Vec::new();
            let mut vectors = Vec::new();
            for (value, right) in eigen.values.into_iter().zip(eigen.vectors) {
                if value <= largest * 1e-14 {
                    continue;
                }
                let mut left = vec![0.0; readings];
                add_combination(&mut left, columns.iter().zip(right.iter().map(|r| r / value.sqrt())));
                values.push(value);
                vectors.push(left);
            }
            (values, vectors)
        };
        let along: Vec<f64> = vectors.iter().map(|v| dot(v, &wanted)).collect();
        let rest_square =
            if readings <= columns.len() { 0.0 } else { (dot(&wanted, &wanted) - dot(&along, &along)).max(0.0) };
        let rest_count = readings as f64 - plain.len() as f64 - values.len() as f64;
        Some(Self { plain, values, vectors, wanted, along, rest_square, rest_count })
    }

    fn shares(&self, weight: f64) -> impl Iterator<Item = (f64, f64)> + '_ {
        self.values.iter().zip(&self.along).map(move |(value, along)| (weight / (weight + value), along * along))
    }

    /// Minus twice the log-likelihood of the readings, up to a constant.
    fn neg_two_log_likelihood(&self, weight: f64, error_mm: Option<f64>) -> f64 {
        let (square, spread) = self.square_and_spread(weight);
        match error_mm {
            Some(error) => square / (error * error) + spread,
            None => self.count() * libm::log(square.max(self.least_square())) + spread,
        }
    }

    /// Expected squared error of the curve for a weight, up to a constant: the unbiased risk estimate for a stated error,
    /// generalised cross-validation without one. Craven and
    /// Wahba, Smoothing noisy data with spline functions, Numer. Math. 31 (1979) 377, from memory.
    fn risk(&self, weight: f64, error_mm: Option<f64>) -> f64 {
        let square: f64 =
            self.rest_square + self.shares(weight).map(|(share, along)| share * share * along).sum::<f64>();
        let left: f64 = self.rest_count + self.shares(weight).map(|(share, _)| share).sum::<f64>();
        match error_mm {
            Some(error) => square - 2.0 * error * error * left,
            None => square.max(self.least_square()) / (left * left).max(f64::MIN_POSITIVE),
        }
    }

    /// The chosen weight.
    pub(super) fn weight(&self, smoothing: Smoothing, error_mm: Option<f64>) -> f64 {
        match smoothing {
            Smoothing::Likelihood => self.best_weight(|weight| self.neg_two_log_likelihood(weight, error_mm)),
            Smoothing::CrossValidation => self.best_weight(|weight| self.risk(weight, error_mm)),
        }
    }

    /// Weights a decade apart over the range of trials.
    pub(super) fn decades(&self) -> impl Iterator<Item = f64> {
        let largest = self.largest();
        (WEIGHTS.0..=WEIGHTS.1).map(move |power| largest * 10.0_f64.powi(power))
    }

    fn largest(&self) -> f64 {
        self.values.iter().copied().fold(f64::MIN_POSITIVE, f64::max)
    }

    fn best_weight(&self, cost: impl Fn(f64) -> f64) -> f64 {
        let largest = self.largest();
        let weight = |power: f64| largest * libm::pow(10.0, power);
        let step = 1.0 / f64::from(TRIES_PER_DECADE);
        let tries = (WEIGHTS.1 - WEIGHTS.0) * TRIES_PER_DECADE;
        let place = |i: i32| f64::from(WEIGHTS.0) + step * f64::from(i);
        let mut best = (place(tries), cost(weight(place(tries))));
        for i in (0..tries).rev() {
            let tried = cost(weight(place(i)));
            // On a plateau, prefer the smoother curve.
            if tried < best.1 {
                best = (place(i), tried);
            }
        }
        // Golden-section search between the neighbours of the best try.
        const GOLDEN: f64 = 0.618_033_988_749_894_9;
        let (mut a, mut b) = (best.0 - step, best.0 + step);
        for _ in 0..30 {
            let (c, d) = (b - GOLDEN * (b - a), a + GOLDEN * (b - a));
            if cost(weight(c)) < cost(weight(d)) { b = d } else { a = c }
        }
        weight(0.5 * (a + b))
    }

    /// Number of readings less the number of unpenalised parameters.
    pub(super) fn count(&self) -> f64 {
        self.values.len() as f64 + self.rest_count
    }

    /// Lower bound of the residual sum of squares: that of the finest possible readings.
    fn least_square(&self) -> f64 {
        self.count() * FINEST_READING_MM.powi(2)
    }

    /// Standard deviation of a reading, estimated for a weight, mm.
    pub(super) fn error_mm(&self, weight: f64) -> f64 {
        let (square, _) = self.square_and_spread(weight);
        (square.max(self.least_square()) / self.count()).sqrt()
    }

    /// Effective degrees of effective_dof of the curve: the trace of the hat matrix.
    pub(super) fn effective_dof(&self, weight: f64) -> f64 {
        self.plain.len() as f64 + self.values.iter().map(|v| v / (weight + v)).sum::<f64>()
    }

    /// The parameters for a weight, the unpenalised ones first.
    pub(super) fn solve(&self, linear: &Linear, weight: f64) -> Vec<f64> {
        // Steps d = M' u (u'y)/(weight + value), summed over the singular vectors.
        let mut pull = vec![0.0; linear.wanted.len()];
        let shares = self.values.iter().zip(&self.along).map(|(value, along)| along / (weight + value));
        add_combination(&mut pull, self.vectors.iter().zip(shares));
        for q in &self.plain {
            let along = dot(q, &pull);
            pull.iter_mut().zip(q).for_each(|(p, q)| *p -= along * q);
        }
        let steps: Vec<f64> = (0..linear.steps[0].len())
            .map(|j| linear.steps.iter().zip(&pull).map(|(row, p)| row[j] * p).sum())
            .collect();
        let left: Vec<f64> = linear.steps.iter().zip(&linear.wanted).map(|(row, y)| y - dot(row, &steps)).collect();
        let mut parameters = solve_triangular(&linear.free, &self.plain, &left);
        parameters.extend(steps);
        parameters
    }

    /// Number of readings.
    pub(super) fn readings(&self) -> usize {
        self.wanted.len()
    }

    /// Residuals for a weight, mm, and the diagonal of 1 - H, H being the hat matrix.
    pub(super) fn residuals(&self, weight: f64) -> Vec<(f64, f64)> {
        let mut out: Vec<(f64, f64)> = self.wanted.iter().map(|&y| (y, 1.0)).collect();
        for q in &self.plain {
            out.iter_mut().zip(q).for_each(|(o, q)| o.1 -= q * q);
        }
        for ((value, vector), along) in self.values.iter().zip(&self.vectors).zip(&self.along) {
            let kept = value / (weight + value);
            out.iter_mut().zip(vector).for_each(|(o, v)| *o = (o.0 - kept * along * v, o.1 - kept * v * v));
        }
        out
    }

    /// Column `i` of 1 - H for a weight.
    pub(super) fn left_column(&self, weight: f64, i: usize) -> Vec<f64> {
        let mut column = vec![0.0; self.readings()];
        column[i] = 1.0;
        let steps = self.values.iter().zip(&self.vectors).map(|(value, v)| (value / (weight + value), v));
        let vectors = self.plain.iter().map(|q| (1.0, q)).chain(steps);
        add_combination(&mut column, vectors.map(|(kept, v)| (v, -kept * v[i])));
        column
    }

    /// What the likelihood holds against the error under a weight: a sum of squares, mm², and the logarithm of the
    /// determinant of the readings' covariance over their error's.
    pub(super) fn square_and_spread(&self, weight: f64) -> (f64, f64) {
        self.shares(weight).fold((self.rest_square, 0.0), |(square, spread), (share, along)| {
            (square + share * along, spread - libm::log(share))
        })
    }
}

/// Orthonormal columns spanning those of a tall matrix (rows given), by Gram-Schmidt done twice.
fn orthonormal_columns(rows: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let mut basis: Vec<Vec<f64>> = Vec::new();
    for j in 0..rows[0].len() {
        let mut column: Vec<f64> = rows.iter().map(|row| row[j]).collect();
        for _ in 0..2 {
            for q in &basis {
                let along = dot(q, &column);
                column.iter_mut().zip(q).for_each(|(c, q)| *c -= along * q);
            }
        }
        let length = dot(&column, &column).sqrt();
        basis.push(column.into_iter().map(|c| c / length).collect());
    }
    basis
}

/// Solves rows · x = y in the least squares sense, the columns' orthonormal basis being known.
fn solve_triangular(rows: &[Vec<f64>], basis: &[Vec<f64>], y: &[f64]) -> Vec<f64> {
    let n = basis.len();
    let column = |j: usize| rows.iter().map(|row| row[j]).collect::<Vec<f64>>();
    let mut x: Vec<f64> = basis.iter().map(|q| dot(q, y)).collect();
    for i in (0..n).rev() {
        for j in i + 1..n {
            x[i] -= dot(&basis[i], &column(j)) * x[j];
        }
        x[i] /= dot(&basis[i], &column(i));
    }
    x
}

#[cfg(test)]
pub(super) mod tests;
