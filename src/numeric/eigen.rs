//! Eigenvalues of symmetric matrices.

use super::{dot, max_abs};

/// Eigenvalues and eigenvectors of a symmetric matrix.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Eigen {
    /// The eigenvalues, in no particular order.
    pub(crate) values: Vec<f64>,
    /// The eigenvectors, of length one, in the order of the values: `vectors[j][i]` is entry i of vector j.
    pub(crate) vectors: Vec<Vec<f64>>,
}

/// Steps for one eigenvalue before it counts as not found; two are usual.
const MOST_STEPS: usize = 60;

/// Eigenvalues of a symmetric matrix, given by rows: Householder reflections make it tridiagonal, implicit QL steps with
/// Wilkinson's shift diagonal (Golub and Van Loan, Matrix Computations, sections 8.2 and 8.3, from memory).
///
/// Errors of values are some 1e-16 of the largest. `None` if a value does not converge, as with NaN entries.
pub(crate) fn symmetric_eigen(a: Vec<Vec<f64>>) -> Option<Eigen> {
    let (mut values, mut beside, mut vectors) = tridiagonal(a);
    let n = values.len();
    let least = f64::EPSILON * max_abs(values.iter().chain(&beside).copied());
    for first in 0..n {
        for step in 0.. {
            let splits = |i: &usize| beside[*i].abs() <= least;
            let last = (first..n - 1).find(splits).unwrap_or(n - 1);
            if last == first {
                break;
            }
            if step == MOST_STEPS {
                return None;
            }
            ql_step(&mut values, &mut beside, &mut vectors, (first, last));
        }
    }
    values.iter().all(|v| v.is_finite()).then_some(Eigen { values, vectors })
}

/// The diagonal of a similar tridiagonal matrix, the entries beside it, and the rows that lead there.
fn tridiagonal(mut a: Vec<Vec<f64>>) -> (Vec<f64>, Vec<f64>, Vec<Vec<f64>>) {
    let n = a.len();
    let mut beside = vec![0.0; n.saturating_sub(1)];
    let mut mirrors: Vec<Vec<f64>> = Vec::new();
    for k in 0..n.saturating_sub(1) {
        let mut mirror = a[k][k + 1..].to_vec();
        beside[k] = -dot(&mirror, &mirror).sqrt().copysign(mirror[0]);
        mirror[0] -= beside[k];
        let length = dot(&mirror, &mirror).sqrt();
        // A column that is zero already needs no reflection.
        mirror.iter_mut().for_each(|m| *m /= if length > 0.0 { length } else { 1.0 });
        let rest = &mut a[k + 1..];
        let mut pull: Vec<f64> = rest.iter().map(|row| dot(&row[k + 1..], &mirror)).collect();
        let along = dot(&pull, &mirror);
        pull.iter_mut().zip(&mirror).for_each(|(p, m)| *p -= along * m);
        for (row, (m, p)) in rest.iter_mut().zip(mirror.iter().zip(&pull)) {
            let entries = row[k + 1..].iter_mut().zip(mirror.iter().zip(&pull));
            entries.for_each(|(x, (mj, pj))| *x -= 2.0 * (m * pj + p * mj));
        }
        mirrors.push(mirror);
    }
    let mut columns: Vec<Vec<f64>> = (0..n).map(|i| (0..n).map(|j| f64::from(u8::from(i == j))).collect()).collect();
    for (k, mirror) in mirrors.iter().enumerate().rev() {
        let mut seen = vec![0.0; n];
        for (row, m) in columns[k + 1..].iter().zip(mirror) {
            seen.iter_mut().zip(row).for_each(|(s, x)| *s += m * x);
        }
        for (row, m) in columns[k + 1..].iter_mut().zip(mirror) {
            row.iter_mut().zip(&seen).for_each(|(x, s)| *x -= 2.0 * m * s);
        }
    }
    let rows = (0..n).map(|j| columns.iter().map(|row| row[j]).collect()).collect();
    ((0..n).map(|i| a[i][i]).collect(), beside, rows)
}

/// One step toward the value at `first` of the block that ends at `last`.
fn ql_step(values: &mut [f64], beside: &mut [f64], vectors: &mut [Vec<f64>], (first, last): (usize, usize)) {
    let slope = (values[first + 1] - values[first]) / (2.0 * beside[first]);
    let shift = beside[first] / (slope + libm::hypot(slope, 1.0).copysign(slope));
    let mut bulge = values[last] - values[first] + shift;
    let (mut s, mut c, mut carried) = (1.0, 1.0, 0.0);
    for i in (first..last).rev() {
        let (f, b) = (s * beside[i], c * beside[i]);
        let r = libm::hypot(f, bulge);
        if i + 1 < last {
            beside[i + 1] = r;
        }
        if r == 0.0 {
            // The block falls in two.
            values[i + 1] -= carried;
            return;
        }
        (s, c) = (f / r, bulge / r);
        let kept = values[i + 1] - carried;
        let turned = (values[i] - kept) * s + 2.0 * c * b;
        carried = s * turned;
        values[i + 1] = kept + carried;
        bulge = c * turned - b;
        let (head, tail) = vectors.split_at_mut(i + 1);
        for (x, y) in head[i].iter_mut().zip(&mut tail[0]) {
            (*x, *y) = (c * *x - s * *y, s * *x + c * *y);
        }
    }
    values[first] -= carried;
    beside[first] = bulge;
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::numeric::Random;

    /// Checks that the vectors are orthonormal and that the matrix only stretches them; the values in rising order.
    #[track_caller]
    fn checked(a: &[Vec<f64>]) -> Vec<f64> {
        let Eigen { mut values, vectors } = symmetric_eigen(a.to_vec()).unwrap();
        let largest = values.iter().fold(0.0, |m: f64, v| m.max(v.abs()));
        for (i, (value, vector)) in values.iter().zip(&vectors).enumerate() {
            for (row, x) in a.iter().zip(vector) {
                assert!((dot(row, vector) - value * x).abs() <= 1e-14 * a.len() as f64 * largest);
            }
            for (j, other) in vectors.iter().enumerate() {
                assert!((dot(vector, other) - f64::from(u8::from(i == j))).abs() < 1e-13);
            }
        }
        values.sort_by(f64::total_cmp);
        values
    }

    fn matrix(n: usize, entry: impl Fn(usize, usize) -> f64) -> Vec<Vec<f64>> {
        (0..n).map(|i| (0..n).map(|j| entry(i, j)).collect()).collect()
    }

    #[test]
    fn a_second_difference_has_its_closed_form_eigenvalues() {
        // 2 - 2 cos(j pi/(n + 1)) for the matrix with 2 on and -1 beside the diagonal (closed form).
        let n = 30;
        let found = checked(&matrix(n, |i, j| [2.0, -1.0, 0.0][i.abs_diff(j).min(2)]));
        for (j, value) in found.iter().enumerate() {
            let exact = 2.0 - 2.0 * ((j + 1) as f64 * std::f64::consts::PI / (n + 1) as f64).cos();
            assert!((value - exact).abs() < 1e-13, "{value} is not {exact}");
        }
    }

    #[test]
    fn values_that_repeat_or_vanish_are_found_with_their_vectors() {
        assert!(checked(&[]).is_empty());
        assert_eq!(checked(&[vec![-3.0]]), [-3.0]);
        assert_eq!(checked(&matrix(5, |_, _| 0.0)), [0.0; 5]);
        // All ones: n once, else zero.
        let ones = checked(&matrix(9, |_, _| 1.0));
        assert!(ones[..8].iter().all(|v| v.abs() < 1e-14) && (ones[8] - 9.0).abs() < 1e-14, "{ones:?}");
        let blocks = checked(&matrix(6, |i, j| if i % 3 == j % 3 { 2.0 } else { 0.0 }));
        for (found, exact) in blocks.iter().zip([0.0, 0.0, 0.0, 4.0, 4.0, 4.0]) {
            assert!((found - exact).abs() < 1e-14, "{blocks:?}");
        }
    }

    #[test]
    fn any_matrix_keeps_its_trace_and_its_sum_of_squares() {
        let mut random = Random::new(5);
        for n in [2, 3, 7, 40] {
            // Graded, as the squares of singular values are.
            let half: Vec<Vec<f64>> = (0..n).map(|_| (0..n).map(|_| random.normal()).collect()).collect();
            let a = matrix(n, |i, j| (half[i][j] + half[j][i]) * libm::pow(10.0, -0.3 * (i + j) as f64));
            let found = checked(&a);
            let (trace, square): (f64, f64) = ((0..n).map(|i| a[i][i]).sum(), a.iter().map(|row| dot(row, row)).sum());
            assert!((found.iter().sum::<f64>() - trace).abs() < 1e-13 * square.sqrt());
            assert!((dot(&found, &found) - square).abs() < 1e-13 * square);
        }
    }

    #[test]
    fn what_is_no_number_has_no_eigenvalues() {
        assert!(symmetric_eigen(vec![vec![1.0, f64::NAN], vec![f64::NAN, 1.0]]).is_none());
        assert!(symmetric_eigen(vec![vec![f64::INFINITY]]).is_none());
    }
}
