//! Which of some values is the least.

/// Index of the least value, the first of equals; 0 where there is none. NaN is never the least.
pub fn index_of_least(values: impl IntoIterator<Item = f64>) -> usize {
    let start = (0, f64::INFINITY);
    values.into_iter().enumerate().fold(start, |least, (i, x)| if x < least.1 { (i, x) } else { least }).0
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
}
