//! The least, the largest and the middle of some values.

/// Index of the least value, the first of equals; 0 where there is none. NaN is never the least.
pub fn index_of_least(values: impl IntoIterator<Item = f64>) -> usize {
    let start = (0, f64::INFINITY);
    values.into_iter().enumerate().fold(start, |least, (i, x)| if x < least.1 { (i, x) } else { least }).0
}

/// Largest of the values without their signs, 0 where there is none. A value that is no number is not lost, as it would be
/// with `f64::max`: searches that ask whether anything still moves must not take it for rest.
pub fn largest(values: impl IntoIterator<Item = f64>) -> f64 {
    values.into_iter().map(f64::abs).fold(0.0, |most, v| if v.is_nan() || v > most { v } else { most })
}

/// Middle of the values without their signs; of one value at least.
fn median_of_absolute(values: &[f64]) -> f64 {
    let mut sorted: Vec<f64> = values.iter().map(|v| v.abs()).collect();
    sorted.sort_by(f64::total_cmp);
    let n = sorted.len();
    0.5 * (sorted[(n - 1) / 2] + sorted[n / 2])
}

/// Standard deviation of values about zero, of one at least, that few bad ones do not move: the median absolute deviation,
/// which for normal numbers is a 1.4826th of the standard one.
pub fn robust_deviation(values: &[f64]) -> f64 {
    1.4826 * median_of_absolute(values)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_of_the_least_values_is_found_and_what_is_no_number_is_passed_over() {
        assert_eq!(index_of_least([3.0, -1.0, 2.0, -1.0]), 1);
        assert_eq!(index_of_least([f64::NAN, 5.0, f64::INFINITY, 4.0]), 3);
        assert_eq!(index_of_least([f64::INFINITY, f64::NAN]), 0);
        assert_eq!(index_of_least([]), 0);
    }

    #[test]
    fn the_largest_has_no_sign_and_does_not_hide_what_is_no_number() {
        assert_eq!(largest([1.0, -3.0, 2.0]), 3.0);
        assert_eq!(largest([]), 0.0);
        for values in [[f64::NAN, 1.0], [1.0, f64::NAN]] {
            assert!(largest(values).is_nan());
        }
    }

    #[test]
    fn the_median_lies_in_the_middle_of_the_sizes() {
        assert_eq!(median_of_absolute(&[-7.0]), 7.0);
        assert_eq!(median_of_absolute(&[-7.0, 1.0]), 4.0);
        assert_eq!(median_of_absolute(&[5.0, -1.0, 2.0]), 2.0);
        assert_eq!(median_of_absolute(&[10.0, -3.0, 1.0, -6.0]), 4.5);
        assert_eq!(median_of_absolute(&[0.5, -9.0, 4.0, 8.0, -2.0]), 4.0);
        assert!((robust_deviation(&[-10.0, 10.0]) - 14.826).abs() < 1e-12);
    }
}
