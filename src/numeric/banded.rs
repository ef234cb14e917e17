//! Symmetric positive definite banded systems.

/// Lower half of a symmetric banded matrix, stored by rows: `band[i][d]` is the entry (i, i - d).
#[derive(Debug, Clone, PartialEq)]
pub struct SymmetricBanded {
    size: usize,
    width: usize,
    band: Vec<f64>,
}

impl SymmetricBanded {
    /// A zero matrix of `size` rows with `width` diagonals below the main one.
    pub fn zeros(size: usize, width: usize) -> Self {
        Self { size, width, band: vec![0.0; size * (width + 1)] }
    }

    /// Number of rows.
    pub fn size(&self) -> usize {
        self.size
    }

    /// Adds `value` to the entry (row, column) and to its mirror image. Give each pair once.
    ///
    /// # Panics
    /// If the entry lies outside the matrix or outside the band: a mistake in the calling code.
    pub fn add(&mut self, row: usize, column: usize, value: f64) {
        let (low, high) = (row.min(column), row.max(column));
        assert!(high < self.size && high - low <= self.width, "entry ({row}, {column}) lies outside the band");
        self.band[high * (self.width + 1) + high - low] += value;
    }

    /// The entry (row, column), zero outside the band.
    pub fn get(&self, row: usize, column: usize) -> f64 {
        let (low, high) = (row.min(column), row.max(column));
        if high - low > self.width { 0.0 } else { self.band[high * (self.width + 1) + high - low] }
    }

    /// The product with a vector of `size` entries.
    pub fn times(&self, x: &[f64]) -> Vec<f64> {
        let mut y = vec![0.0; self.size];
        for i in 0..self.size {
            let row = &self.band[i * (self.width + 1)..(i + 1) * (self.width + 1)];
            y[i] += row[0] * x[i];
            for d in 1..=self.width.min(i) {
                y[i] += row[d] * x[i - d];
                y[i - d] += row[d] * x[i];
            }
        }
        y
    }

    /// Cholesky factorisation, or `None` where the matrix is not positive definite.
    pub fn cholesky(&self) -> Option<BandedCholesky> {
        let (n, w, stride) = (self.size, self.width, self.width + 1);
        let mut l = self.band.clone();
        for i in 0..n {
            for d in (0..=w.min(i)).rev() {
                let j = i - d;
                let mut sum = l[i * stride + d];
                for k in i.saturating_sub(w).max(j.saturating_sub(w))..j {
                    sum -= l[i * stride + i - k] * l[j * stride + j - k];
                }
                if d > 0 {
                    l[i * stride + d] = sum / l[j * stride];
                } else if sum > 0.0 && sum.is_finite() {
                    l[i * stride] = sum.sqrt();
                } else {
                    return None;
                }
            }
        }
        Some(BandedCholesky { size: n, width: w, l })
    }
}

/// The factor of a [`SymmetricBanded`] matrix.
#[derive(Debug, Clone)]
pub struct BandedCholesky {
    size: usize,
    width: usize,
    l: Vec<f64>,
}

impl BandedCholesky {
    /// Solves the system in place; `x` holds the right-hand side and afterwards the solution.
    pub fn solve(&self, x: &mut [f64]) {
        let (w, stride) = (self.width, self.width + 1);
        for i in 0..self.size {
            let mut sum = x[i];
            for d in 1..=w.min(i) {
                sum -= self.l[i * stride + d] * x[i - d];
            }
            x[i] = sum / self.l[i * stride];
        }
        for i in (0..self.size).rev() {
            let mut sum = x[i];
            for d in 1..=w.min(self.size - 1 - i) {
                sum -= self.l[(i + d) * stride + d] * x[i + d];
            }
            x[i] = sum / self.l[i * stride];
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn solves_a_pentadiagonal_system() {
        let n = 40;
        let mut a = SymmetricBanded::zeros(n, 2);
        for i in 0..n {
            a.add(i, i, 6.5 + 0.1 * i as f64);
            if i + 1 < n {
                a.add(i + 1, i, -4.0 + 0.3);
            }
            if i + 2 < n {
                a.add(i, i + 2, 1.0);
            }
        }
        let x: Vec<f64> = (0..n).map(|i| (i as f64 * 0.7).sin()).collect();
        let mut y = a.times(&x);
        a.cholesky().unwrap().solve(&mut y);
        for (found, expected) in y.iter().zip(&x) {
            assert!((found - expected).abs() < 1e-11, "{found} is not {expected}");
        }
    }

    #[test]
    fn an_indefinite_matrix_is_refused() {
        let mut a = SymmetricBanded::zeros(2, 1);
        a.add(0, 0, 1.0);
        a.add(1, 1, 1.0);
        a.add(1, 0, 2.0);
        assert!(a.cholesky().is_none());
    }
}
