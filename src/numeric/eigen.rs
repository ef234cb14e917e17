//! Eigenvalues of small symmetric matrices.

/// Eigenvalues and eigenvectors of a symmetric matrix.
#[derive(Debug, Clone, PartialEq)]
pub struct Eigen {
    /// The eigenvalues, in no particular order.
    pub values: Vec<f64>,
    /// The eigenvectors, of length one, in the order of the values: `vectors[j][i]` is entry i of vector j.
    pub vectors: Vec<Vec<f64>>,
    /// Root of the sum of squares of the remaining off-diagonal entries.
    pub residual: f64,
    /// Sweeps used.
    pub iterations: usize,
}

/// Eigenvalues of a symmetric matrix, given by rows, by cyclic Jacobi rotations.
///
/// Slow for large matrices, accurate to rounding for small ones (Golub and Van Loan, Matrix Computations, section 8.5,
/// from memory). `None` if 60 sweeps do not converge, as with NaN entries.
pub(crate) fn symmetric_eigen(mut a: Vec<Vec<f64>>) -> Option<Eigen> {
    let n = a.len();
    // Eigenvectors are stored transposed, so that a rotation acts on two rows.
    let mut v: Vec<Vec<f64>> = (0..n).map(|i| (0..n).map(|j| if i == j { 1.0 } else { 0.0 }).collect()).collect();
    let whole: f64 = a.iter().flatten().map(|x| x * x).sum();
    for iterations in 0..60 {
        let off: f64 = (0..n).flat_map(|i| (0..i).map(move |j| (i, j))).map(|(i, j)| 2.0 * a[i][j] * a[i][j]).sum();
        if off <= whole * 1e-30 {
            let values = (0..n).map(|i| a[i][i]).collect();
            return Some(Eigen { values, vectors: v, residual: off.sqrt(), iterations });
        }
        for p in 0..n {
            for q in p + 1..n {
                if a[p][q] == 0.0 {
                    continue;
                }
                let theta = (a[q][q] - a[p][p]) / (2.0 * a[p][q]);
                let t = 1.0_f64.copysign(theta) / (theta.abs() + libm::hypot(theta, 1.0));
                let c = 1.0 / libm::hypot(t, 1.0);
                let s = t * c;
                rotate(&mut a, p, q, c, s);
                for row in &mut a {
                    (row[p], row[q]) = (c * row[p] - s * row[q], s * row[p] + c * row[q]);
                }
                rotate(&mut v, p, q, c, s);
            }
        }
    }
    None
}

/// Applies a Jacobi rotation to rows p and q (p < q).
fn rotate(rows: &mut [Vec<f64>], p: usize, q: usize, c: f64, s: f64) {
    let (head, tail) = rows.split_at_mut(q);
    for (x, y) in head[p].iter_mut().zip(&mut tail[0]) {
        (*x, *y) = (c * *x - s * *y, s * *x + c * *y);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_second_difference_has_its_closed_form_eigenvalues() {
        // 2 - 2 cos(j pi/(n + 1)) for the matrix with 2 on and -1 beside the diagonal (closed form).
        let n = 30;
        let entry = |i: usize, j: usize| [2.0, -1.0, 0.0][i.abs_diff(j).min(2)];
        let a: Vec<Vec<f64>> = (0..n).map(|i| (0..n).map(|j| entry(i, j)).collect()).collect();
        let mut eigen = symmetric_eigen(a.clone()).unwrap();
        for (value, vector) in eigen.values.iter().zip(&eigen.vectors) {
            for (i, row) in a.iter().enumerate() {
                let product: f64 = row.iter().zip(vector).map(|(x, y)| x * y).sum();
                assert!((product - value * vector[i]).abs() < 1e-13);
            }
        }
        eigen.values.sort_by(f64::total_cmp);
        for (j, value) in eigen.values.iter().enumerate() {
            let exact = 2.0 - 2.0 * ((j + 1) as f64 * std::f64::consts::PI / (n + 1) as f64).cos();
            assert!((value - exact).abs() < 1e-13, "{value} is not {exact}");
        }
    }

    #[test]
    fn what_is_no_number_has_no_eigenvalues() {
        assert!(symmetric_eigen(vec![vec![1.0, f64::NAN], vec![f64::NAN, 1.0]]).is_none());
    }
}
