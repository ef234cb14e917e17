//! Minimum, largest absolute value and median of a slice.

/// Index of the minimum, the first of equals; 0 for an empty slice. NaN is ignored.
pub(crate) fn index_of_min(values: impl IntoIterator<Item = f64>) -> usize {
    let start = (0, f64::INFINITY);
    values.into_iter().enumerate().fold(start, |least, (i, x)| if x < least.1 { (i, x) } else { least }).0
}

/// Largest absolute value, 0 for an empty slice. NaN propagates, unlike with `f64::max`, so that a convergence test
/// cannot mistake it for rest.
pub(crate) fn max_abs(values: impl IntoIterator<Item = f64>) -> f64 {
    values.into_iter().map(f64::abs).fold(0.0, |most, v| if v.is_nan() || v > most { v } else { most })
}

/// Median of the absolute values of at least one value.
fn median_of_absolute(values: &[f64]) -> f64 {
    let mut sizes: Vec<f64> = values.iter().map(|v| v.abs()).collect();
    let n = sizes.len();
    let (lower, &mut upper, _) = sizes.select_nth_unstable_by(n / 2, f64::total_cmp);
    0.5 * (if n % 2 == 1 { upper } else { lower.iter().copied().fold(0.0, f64::max) } + upper)
}

/// Robust standard deviation about zero of at least one value: 1.4826 times the median absolute value, which is
/// consistent for normal errors and which a few bad values do not move.
pub fn robust_std_dev(values: &[f64]) -> f64 {
    1.4826 * median_of_absolute(values)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_of_the_least_values_is_found_and_what_is_no_number_is_passed_over() {
        assert_eq!(index_of_min([3.0, -1.0, 2.0, -1.0]), 1);
        assert_eq!(index_of_min([f64::NAN, 5.0, f64::INFINITY, 4.0]), 3);
        assert_eq!(index_of_min([f64::INFINITY, f64::NAN]), 0);
        assert_eq!(index_of_min([]), 0);
    }

    #[test]
    fn the_largest_has_no_sign_and_does_not_hide_what_is_no_number() {
        assert_eq!(max_abs([1.0, -3.0, 2.0]), 3.0);
        assert_eq!(max_abs([]), 0.0);
        for values in [[f64::NAN, 1.0], [1.0, f64::NAN]] {
            assert!(max_abs(values).is_nan());
        }
    }

    #[test]
    fn the_median_lies_in_the_middle_of_the_sizes() {
        assert_eq!(median_of_absolute(&[-7.0]), 7.0);
        assert_eq!(median_of_absolute(&[-7.0, 1.0]), 4.0);
        assert_eq!(median_of_absolute(&[5.0, -1.0, 2.0]), 2.0);
        assert_eq!(median_of_absolute(&[10.0, -3.0, 1.0, -6.0]), 4.5);
        assert_eq!(median_of_absolute(&[0.5, -9.0, 4.0, 8.0, -2.0]), 4.0);
        assert!((robust_std_dev(&[-10.0, 10.0]) - 14.826).abs() < 1e-12);
    }
}
