//! Symmetric positive definite banded systems.

use super::dot;

/// Lower half of a symmetric banded matrix, stored by rows: `band[i][d]` is the entry (i, i - d).
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct SymmetricBanded {
    size: usize,
    width: usize,
    band: Vec<f64>,
}

impl SymmetricBanded {
    /// A zero matrix of `size` rows with `width` diagonals below the main one.
    pub(crate) fn zeros(size: usize, width: usize) -> Self {
        Self { size, width, band: vec![0.0; size * (width + 1)] }
    }

    /// Number of rows.
    pub(crate) fn size(&self) -> usize {
        self.size
    }

    /// Adds `value` to the entry (row, column) and to its transpose. Call once per pair.
    ///
    /// # Panics
    /// If the entry lies outside the matrix or the band.
    pub(crate) fn add(&mut self, row: usize, column: usize, value: f64) {
        let (low, high) = (row.min(column), row.max(column));
        assert!(high < self.size && high - low <= self.width, "entry ({row}, {column}) lies outside the band");
        self.band[high * (self.width + 1) + high - low] += value;
    }

    /// The entry (row, column), zero outside the band.
    pub(crate) fn get(&self, row: usize, column: usize) -> f64 {
        let (low, high) = (row.min(column), row.max(column));
        if high - low > self.width { 0.0 } else { self.band[high * (self.width + 1) + high - low] }
    }

    /// The product with a vector of `size` entries.
    pub(crate) fn times(&self, x: &[f64]) -> Vec<f64> {
        // Both vectors backward, so that they run as the rows of the band do.
        let back: Vec<f64> = x.iter().rev().copied().collect();
        let mut y = vec![0.0; self.size];
        for (i, row) in self.band.chunks_exact(self.width + 1).enumerate() {
            let row = &row[..=self.width.min(i)];
            let here = self.size - 1 - i;
            y[here] += dot(row, &back[here..][..row.len()]);
            y[here + 1..].iter_mut().zip(&row[1..]).for_each(|(y, a)| *y += a * back[here]);
        }
        y.reverse();
        y
    }

    /// Cholesky factorisation, or `None` if the matrix is not positive definite.
    pub(crate) fn cholesky(&self) -> Option<BandedCholesky> {
        self.factor_into(None)
    }

    /// As [`SymmetricBanded::cholesky`], reusing the memory of an earlier factor.
    pub(crate) fn factor_into(&self, spare: Option<BandedCholesky>) -> Option<BandedCholesky> {
        let mut l = spare.map_or_else(Vec::new, |old| old.l);
        l.clone_from(&self.band);
        // Narrow bands of a width known at compile time factor several times faster.
        let definite = match self.width {
            2 => factor_narrow::<3>(&mut l),
            3 => factor_narrow::<4>(&mut l),
            5 => factor_narrow::<6>(&mut l),
            7 => factor_narrow::<8>(&mut l),
            9 => factor_narrow::<10>(&mut l),
            _ => factor(&mut l, self.size, self.width),
        };
        definite.then_some(BandedCholesky { size: self.size, width: self.width, l })
    }
}

/// Factors in place into L D Lᵀ with a unit diagonal of L. The inverse of D is stored on the diagonal, so that factoring
/// and solving need one division per row. Returns false if the matrix is not positive definite.
fn factor(l: &mut [f64], size: usize, width: usize) -> bool {
    let stride = width + 1;
    for i in 0..size {
        let reach = width.min(i);
        let (above, below) = l.split_at_mut(i * stride);
        let row = &mut below[..stride];
        // First the entries of L D from left to right, then those of L.
        for d in (1..reach).rev() {
            let other = &above[(i - d) * stride..][..stride];
            row[d] -= dot(&row[d + 1..=reach], &other[1..=reach - d]);
        }
        let mut pivot = row[0];
        for d in 1..=reach {
            let scaled = row[d] * above[(i - d) * stride];
            pivot -= row[d] * scaled;
            row[d] = scaled;
        }
        if !(pivot > 0.0 && pivot.is_finite()) {
            return false;
        }
        row[0] = 1.0 / pivot;
    }
    true
}

/// As [`factor`] for a band whose rows hold `STRIDE` entries.
fn factor_narrow<const STRIDE: usize>(l: &mut [f64]) -> bool {
    // `above[d]` is the finished row d above this one; there is none above the first, and nothing left of the first
    // column, so these stay zero.
    let mut above = [[0.0; STRIDE]; STRIDE];
    for row in l.as_chunks_mut::<STRIDE>().0 {
        for d in (1..STRIDE).rev() {
            for back in 1..STRIDE - d {
                row[d] -= row[d + back] * above[d][back];
            }
        }
        let mut pivot = row[0];
        for d in (1..STRIDE).rev() {
            let scaled = row[d] * above[d][0];
            pivot -= row[d] * scaled;
            row[d] = scaled;
        }
        if !(pivot > 0.0 && pivot.is_finite()) {
            return false;
        }
        row[0] = 1.0 / pivot;
        for d in (2..STRIDE).rev() {
            above[d] = above[d - 1];
        }
        above[1] = *row;
    }
    true
}

/// The factor of a [`SymmetricBanded`] matrix: L D Lᵀ with D kept inverted on the diagonal.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct BandedCholesky {
    size: usize,
    width: usize,
    l: Vec<f64>,
}

impl BandedCholesky {
    /// Solves the system in place; `x` holds the right-hand side and afterwards the solution.
    pub(crate) fn solve(&self, x: &mut [f64]) {
        match self.width {
            2 => solve_narrow::<3>(&self.l, x),
            3 => solve_narrow::<4>(&self.l, x),
            5 => solve_narrow::<6>(&self.l, x),
            7 => solve_narrow::<8>(&self.l, x),
            9 => solve_narrow::<10>(&self.l, x),
            _ => self.solve_wide(x),
        }
    }

    fn solve_wide(&self, x: &mut [f64]) {
        // Backward, so that it runs as the rows of the band do.
        x.reverse();
        let last = self.size.saturating_sub(1);
        let rows = || self.l.chunks_exact(self.width + 1).enumerate();
        for (i, row) in rows() {
            let (done, row) = (last - i, &row[1..=self.width.min(i)]);
            x[done] -= dot(row, &x[done + 1..][..row.len()]);
        }
        for (i, row) in rows() {
            x[last - i] *= row[0];
        }
        for (i, row) in rows().rev() {
            let value = x[last - i];
            x[last - i + 1..].iter_mut().zip(&row[1..=self.width.min(i)]).for_each(|(x, l)| *x -= l * value);
        }
        x.reverse();
    }
}

fn solve_narrow<const STRIDE: usize>(l: &[f64], x: &mut [f64]) {
    let rows = l.as_chunks::<STRIDE>().0;
    let mut above = [0.0; STRIDE];
    for (row, value) in rows.iter().zip(x.iter_mut()) {
        for d in (1..STRIDE).rev() {
            *value -= row[d] * above[d];
        }
        for d in (2..STRIDE).rev() {
            above[d] = above[d - 1];
        }
        above[1] = *value;
    }
    // Backward substitution: subtract this row from the rows above.
    let mut taken = [0.0; STRIDE];
    for (row, value) in rows.iter().zip(x.iter_mut()).rev() {
        *value = *value * row[0] - taken[0];
        for d in 1..STRIDE {
            taken[d - 1] = taken[d] + row[d] * *value;
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
    fn every_width_solves_what_it_multiplied() {
        for width in 0..=10 {
            let n = 23;
            let mut a = SymmetricBanded::zeros(n, width);
            for i in 0..n {
                a.add(i, i, 9.0 + (i as f64).cos());
                for d in 1..=width.min(i) {
                    a.add(i, i - d, (1.3 * i as f64 + d as f64).sin());
                }
            }
            let x: Vec<f64> = (0..n).map(|i| (i as f64 * 0.7).sin()).collect();
            let mut y = a.times(&x);
            a.cholesky().unwrap().solve(&mut y);
            for (found, expected) in y.iter().zip(&x) {
                assert!((found - expected).abs() < 1e-12, "width {width}: {found} is not {expected}");
            }
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

    #[test]
    fn no_width_takes_an_indefinite_or_endless_matrix_for_a_good_one() {
        for width in 0..=10 {
            for bad in [-1.0, 0.0, f64::NAN, f64::INFINITY] {
                let mut a = SymmetricBanded::zeros(12, width);
                for i in 0..12 {
                    a.add(i, i, if i == 7 { bad } else { 2.0 });
                }
                assert!(a.cholesky().is_none(), "width {width}, {bad} on the diagonal");
            }
        }
    }

    #[test]
    fn entries_outside_the_band_are_zero_and_cannot_be_given() {
        assert_eq!(SymmetricBanded::zeros(5, 2).size(), 5);
        let a = SymmetricBanded::zeros(5, 1);
        assert_eq!((a.get(0, 4), a.get(4, 0)), (0.0, 0.0));
        for (row, column) in [(0, 2), (2, 0), (4, 5), (5, 5)] {
            let mut a = a.clone();
            let given = std::panic::catch_unwind(move || a.add(row, column, 1.0));
            assert!(given.is_err(), "({row}, {column})");
        }
    }
}
