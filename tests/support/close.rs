//! How near two numbers are, said where a test fails.

/// Stops a test where `found` is further than `allowed` from `expected`, or is NaN.
#[track_caller]
pub(crate) fn close_abs(found: f64, expected: f64, allowed: f64) {
    assert!((found - expected).abs() <= allowed, "{found} is not {expected} within {allowed}");
}

/// The same with `allowed` as a part of `expected`.
#[track_caller]
pub(crate) fn close_rel(found: f64, expected: f64, allowed: f64) {
    assert!((found - expected).abs() <= allowed * expected.abs(), "{found} is not {expected} within {allowed} of it");
}
