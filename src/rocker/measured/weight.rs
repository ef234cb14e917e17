//! How smooth: the weight, and the curve under it.

use super::model::Linear;
use super::options::FINEST_READING_MM;
use crate::job::Smoothing;
use crate::numeric::symmetric_eigen;

/// The linear problem in the coordinates in which the weight acts on each number by itself.
#[derive(Debug, Clone)]
pub(super) struct Spectrum {
    /// Orthonormal columns that span the effects of the parameters which the weight leaves alone.
    plain: Vec<Vec<f64>>,
    /// Squares of the singular values of what the steps do besides.
    values: Vec<f64>,
    /// Left singular vectors, `vectors[j][i]` for reading i.
    vectors: Vec<Vec<f64>>,
    /// The wanted heights, but for what the plain parameters explain.
    wanted: Vec<f64>,
    /// The same along the singular vectors.
    along: Vec<f64>,
    /// Sum of squares of the wanted heights that no step and no plain parameter explains.
    rest_square: f64,
    /// How many readings are left after the plain parameters and the singular vectors (may be negative where some of
    /// the vectors stand for nothing).
    rest_count: f64,
}

/// Range of weights tried, as multiples of the largest singular value squared, and tries per decade. Below it every
/// reading is followed, above it all is one arc.
const WEIGHTS: (i32, i32) = (-11, 4);
const TRIES_PER_DECADE: i32 = 8;

impl Spectrum {
    /// `None` where the eigenvalues were not found.
    pub(super) fn of(linear: &Linear) -> Option<Self> {
        let readings = linear.wanted.len();
        let plain = orthonormal_columns(&linear.free);
        let project = |mut x: Vec<f64>| {
            // Twice, as once leaves the rounding of the first pass.
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
            let gram = columns.iter().map(|a| columns.iter().map(|b| dot(a, b)).collect()).collect();
            let eigen = symmetric_eigen(gram)?;
            let largest = eigen.values.iter().copied().fold(0.0, f64::max);
            let mut values = Vec::new();
            let mut vectors = Vec::new();
            for (value, right) in eigen.values.into_iter().zip(eigen.vectors) {
                if value <= largest * 1e-14 {
                    continue;
                }
                let mut left = vec![0.0; readings];
                for (column, r) in columns.iter().zip(right) {
                    left.iter_mut().zip(column).for_each(|(l, c)| *l += c * r / value.sqrt());
                }
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

    /// Minus twice the logarithm of the likelihood of the readings, but for constants.
    fn unlikelihood(&self, weight: f64, error_mm: Option<f64>) -> f64 {
        let (square, spread) = self.square_and_spread(weight);
        match error_mm {
            Some(error) => square / (error * error) + spread,
            None => self.count() * square.max(self.least_square()).ln() + spread,
        }
    }

    /// What a curve under a weight is expected to be off, but for constants: with a stated error the residuals and twice the
    /// freedom at that error (the unbiased estimate of the risk), without one generalised cross-validation. Craven and
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

    /// The weight that is chosen.
    pub(super) fn weight(&self, smoothing: Smoothing, error_mm: Option<f64>) -> f64 {
        match smoothing {
            Smoothing::Likelihood => self.best_weight(|weight| self.unlikelihood(weight, error_mm)),
            Smoothing::CrossValidation => self.best_weight(|weight| self.risk(weight, error_mm)),
        }
    }

    /// Weights a decade apart over the range that is tried.
    pub(super) fn decades(&self) -> impl Iterator<Item = f64> {
        let largest = self.largest();
        (WEIGHTS.0..=WEIGHTS.1).map(move |power| largest * 10.0_f64.powi(power))
    }

    fn largest(&self) -> f64 {
        self.values.iter().copied().fold(f64::MIN_POSITIVE, f64::max)
    }

    fn best_weight(&self, cost: impl Fn(f64) -> f64) -> f64 {
        let largest = self.largest();
        let weight = |power: f64| largest * 10.0_f64.powf(power);
        let step = 1.0 / f64::from(TRIES_PER_DECADE);
        let tries = (WEIGHTS.1 - WEIGHTS.0) * TRIES_PER_DECADE;
        let place = |i: i32| f64::from(WEIGHTS.0) + step * f64::from(i);
        let mut best = (place(tries), cost(weight(place(tries))));
        for i in (0..tries).rev() {
            let tried = cost(weight(place(i)));
            // On a plateau the smoother curve wins.
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

    /// How many readings are left beyond those that the plain parameters take.
    pub(super) fn count(&self) -> f64 {
        self.values.len() as f64 + self.rest_count
    }

    /// Least sum of squares that readings leave, whatever they show: that of the finest readings there are.
    fn least_square(&self) -> f64 {
        self.count() * FINEST_READING_MM.powi(2)
    }

    /// Standard deviation of a reading that the readings themselves show under a weight, mm.
    pub(super) fn error_mm(&self, weight: f64) -> f64 {
        let (square, _) = self.square_and_spread(weight);
        (square.max(self.least_square()) / self.count()).sqrt()
    }

    /// How many free numbers the curve in effect spends on following the readings: the trace of the hat matrix.
    pub(super) fn freedom(&self, weight: f64) -> f64 {
        self.plain.len() as f64 + self.values.iter().map(|v| v / (weight + v)).sum::<f64>()
    }

    /// The parameters under a weight, the plain ones first.
    pub(super) fn solve(&self, linear: &Linear, weight: f64) -> Vec<f64> {
        // Steps d = M' u (u'y)/(weight + value), summed over the singular vectors.
        let mut pull = vec![0.0; linear.wanted.len()];
        for ((value, vector), along) in self.values.iter().zip(&self.vectors).zip(&self.along) {
            let c = along / (weight + value);
            pull.iter_mut().zip(vector).for_each(|(p, v)| *p += c * v);
        }
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

    /// How many readings there are.
    pub(super) fn readings(&self) -> usize {
        self.wanted.len()
    }

    /// Residuals under a weight, mm, and the share of each reading that is left over: the diagonal of 1 - H, H being the
    /// hat matrix.
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

    /// Column `i` of 1 - H under a weight.
    pub(super) fn left_column(&self, weight: f64, i: usize) -> Vec<f64> {
        let mut column = vec![0.0; self.readings()];
        column[i] = 1.0;
        let steps = self.values.iter().zip(&self.vectors).map(|(value, v)| (value / (weight + value), v));
        for (kept, vector) in self.plain.iter().map(|q| (1.0, q)).chain(steps) {
            column.iter_mut().zip(vector).for_each(|(c, v)| *c -= kept * vector[i] * v);
        }
        column
    }

    /// What the likelihood holds against the error under a weight: a sum of squares, mm², and the logarithm of the
    /// determinant of the readings' covariance over their error's.
    pub(super) fn square_and_spread(&self, weight: f64) -> (f64, f64) {
        self.shares(weight).fold((self.rest_square, 0.0), |(square, spread), (share, along)| {
            (square + share * along, spread - share.ln())
        })
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
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
