//! Roots of functions of one variable.

use std::fmt;

/// A root with its residual and evaluation count.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Root {
    /// The root.
    pub x: f64,
    /// Function value at the root.
    pub residual: f64,
    /// Function evaluations.
    pub iterations: usize,
}

/// Why no root was returned.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum RootError {
    /// The function has the same sign at both ends; their values.
    NotBracketed(f64, f64),
    /// The interval did not shrink to the tolerance within the allowed steps.
    NotConverged,
}

impl fmt::Display for RootError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::NotBracketed(..) => "the function has the same sign at both ends",
            Self::NotConverged => "the search for the root did not end",
        })
    }
}

impl std::error::Error for RootError {}

/// Finds a root of `f` between `a` and `b` by the Illinois variant of false position, safeguarded by bisection.
///
/// Stops when the bracket is shorter than `tolerance` or the function vanishes. `f(a)` and `f(b)` must differ in sign.
///
/// # Errors
/// [`RootError::NotBracketed`] without a change of sign or with a NaN,
/// [`RootError::NotConverged`] after 200 steps.
pub(crate) fn find_root(mut f: impl FnMut(f64) -> f64, a: f64, b: f64, tolerance: f64) -> Result<Root, RootError> {
    let (mut lo, mut hi) = (a, b);
    let (mut at_lo, mut at_hi) = (f(lo), f(hi));
    for (x, residual) in [(lo, at_lo), (hi, at_hi)] {
        if residual == 0.0 {
            return Ok(Root { x, residual, iterations: 2 });
        }
    }
    if !(at_lo.is_finite() && at_hi.is_finite() && (at_lo < 0.0) != (at_hi < 0.0)) {
        return Err(RootError::NotBracketed(at_lo, at_hi));
    }
    let mut last_side = 0;
    for step in 0..200 {
        // Every third step bisects, so that a strongly curved function cannot stall the secant.
        let x = if step % 3 == 2 { 0.5 * (lo + hi) } else { (lo * at_hi - hi * at_lo) / (at_hi - at_lo) };
        let x = if x > lo.min(hi) && x < lo.max(hi) { x } else { 0.5 * (lo + hi) };
        let y = f(x);
        if y == 0.0 || (hi - lo).abs() < tolerance {
            return Ok(Root { x, residual: y, iterations: step + 3 });
        }
        if (y < 0.0) == (at_lo < 0.0) {
            (lo, at_lo) = (x, y);
            if last_side == -1 {
                at_hi *= 0.5;
            }
            last_side = -1;
        } else {
            (hi, at_hi) = (x, y);
            if last_side == 1 {
                at_lo *= 0.5;
            }
            last_side = 1;
        }
    }
    Err(RootError::NotConverged)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn finds_simple_and_steep_roots() {
        let root = find_root(|x| x * x - 2.0, 0.0, 5.0, 1e-13).unwrap();
        assert!((root.x - 2.0_f64.sqrt()).abs() < 1e-12, "{root:?}");
        let root = find_root(|x| (x - 0.001).powi(9), -1.0, 1.0, 1e-12).unwrap();
        assert!((root.x - 0.001).abs() < 1e-11, "{root:?}");
    }

    #[test]
    fn refuses_an_interval_without_change_of_sign() {
        assert_eq!(find_root(|x| x * x + 1.0, -1.0, 1.0, 1e-9), Err(RootError::NotBracketed(2.0, 2.0)));
        assert!(find_root(|_| f64::NAN, -1.0, 1.0, 1e-9).is_err());
    }

    #[test]
    fn an_end_that_is_the_root_is_taken_as_it_is() {
        for (a, b, root) in [(0.0, 5.0, 0.0), (-5.0, 0.0, 0.0)] {
            assert_eq!(find_root(|x| x, a, b, 1e-9), Ok(Root { x: root, residual: 0.0, iterations: 2 }));
        }
    }

    #[test]
    fn what_is_infinite_at_an_end_or_never_narrow_enough_is_an_error() {
        let pole = |at: f64| move |x: f64| if x == at { f64::INFINITY.copysign(at) } else { x };
        assert!(
            matches!(find_root(pole(1.0), -1.0, 1.0, 1e-9), Err(RootError::NotBracketed(_, at)) if at.is_infinite())
        );
        assert!(
            matches!(find_root(pole(-1.0), -1.0, 1.0, 1e-9), Err(RootError::NotBracketed(at, _)) if at.is_infinite())
        );
        // A jump has no root, and no bracket is shorter than nothing.
        let jump = |x: f64| if x < 1.0 / 3.0 { -1.0 } else { 1.0 };
        assert_eq!(find_root(jump, 0.0, 1.0, 0.0), Err(RootError::NotConverged));
    }

    #[test]
    fn smooth_roots_take_half_the_steps_of_halving() {
        fn steps(f: impl FnMut(f64) -> f64, a: f64, b: f64) -> usize {
            find_root(f, a, b, 1e-14).unwrap().iterations
        }
        let steps = [
            steps(|x| x.cos() - x, 0.0, 1.5),
            steps(|x| x * x * x - 2.0, 0.0, 3.0),
            steps(|x| x.exp() - 3.0, -1.0, 4.0),
            steps(|x| 3.0 - x.exp(), -1.0, 4.0),
            steps(|x| 1.0 / x - 4.0, 0.1, 2.0),
            steps(|x| x.atan() - 0.7, 5.0, -4.0),
        ];
        // Halving an interval of 5 takes 49 steps to 1e-14.
        assert!(steps.iter().all(|steps| *steps <= 27), "{steps:?}");
    }
}
