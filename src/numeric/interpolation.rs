//! Interpolation between listed places.

/// Linear interpolation in increasing `x`; beyond the ends it runs on with slope 1, as lengths do.
pub fn between(x: &[f64], y: &[f64], at: f64) -> f64 {
    let last = x.len() - 1;
    if at <= x[0] {
        return y[0] + at - x[0];
    }
    if at >= x[last] {
        return y[last] + at - x[last];
    }
    let i = x.partition_point(|v| *v <= at) - 1;
    y[i] + (y[i + 1] - y[i]) * (at - x[i]) / (x[i + 1] - x[i])
}

/// Linear interpolation in increasing `x`, the last value beyond the ends.
pub fn interpolated(x: &[f64], y: &[f64], at: f64) -> f64 {
    let i = x.partition_point(|v| *v <= at).clamp(1, x.len() - 1);
    let part = ((at - x[i - 1]) / (x[i] - x[i - 1])).clamp(0.0, 1.0);
    y[i - 1] + (y[i] - y[i - 1]) * part
}
