//! Interpolation between listed places.

/// Linear interpolation in increasing `x`; beyond the ends it runs on with slope 1, as lengths do.
pub(crate) fn between(x: &[f64], y: &[f64], at: f64) -> f64 {
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
pub(crate) fn interpolated(x: &[f64], y: &[f64], at: f64) -> f64 {
    let i = x.partition_point(|v| *v <= at).clamp(1, x.len() - 1);
    let part = ((at - x[i - 1]) / (x[i] - x[i - 1])).clamp(0.0, 1.0);
    y[i - 1] + (y[i] - y[i - 1]) * part
}

/// Few of the points, given in order of their places: those without which the straight lines between them would miss one
/// by more than `tolerance`, in the unit of the values. Two points at one place are a jump and stay.
/// (Ramer, Comput. Graph. Image Process. 1 (1972) 244; Douglas and Peucker, Cartographica 10 (1973) 112; from memory).
pub(crate) fn thinned(points: &[(f64, f64)], tolerance: f64) -> Vec<(f64, f64)> {
    let mut kept = vec![false; points.len()];
    let mut open = Vec::new();
    let mut first = 0;
    for i in 0..points.len() {
        let ends = i + 1 == points.len() || points[i + 1].0 <= points[i].0;
        if ends {
            (kept[first], kept[i]) = (true, true);
            open.push((first, i));
            first = i + 1;
        }
    }
    while let Some((a, b)) = open.pop() {
        let missed = |i: usize| {
            let share = (points[i].0 - points[a].0) / (points[b].0 - points[a].0);
            (points[a].1 + share * (points[b].1 - points[a].1) - points[i].1).abs()
        };
        let worst = (a + 1..b).max_by(|i, j| missed(*i).total_cmp(&missed(*j)));
        if let Some(i) = worst.filter(|i| missed(*i) > tolerance) {
            kept[i] = true;
            open.extend([(a, i), (i, b)]);
        }
    }
    points.iter().zip(kept).filter(|(_, kept)| *kept).map(|(point, _)| *point).collect()
}

/// A cubic through points that rises and falls only where they do.
///
/// Slopes are weighted harmonic means of the neighbouring secants: Fritsch and Butland, SIAM J. Sci. Stat. Comput. 5 (1984)
/// 300, with Brodlie's weights (from memory). At an end it is the slope of the parabola through the three points there, as
/// far as the curve stays monotone.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Monotone {
    /// Abscissa, value and slope of each point.
    knots: Vec<(f64, f64, f64)>,
}

impl Monotone {
    /// Through at least two points with increasing abscissae. The ends have the slopes given, those found where none is.
    pub(crate) fn through(points: &[(f64, f64)], (first, last): (Option<f64>, Option<f64>)) -> Self {
        let steps: Vec<(f64, f64)> =
            points.windows(2).map(|w| (w[1].0 - w[0].0, (w[1].1 - w[0].1) / (w[1].0 - w[0].0))).collect();
        let count = steps.len();
        let inner = |before: (f64, f64), after: (f64, f64)| {
            if before.1 * after.1 <= 0.0 {
                return 0.0;
            }
            let weights = (2.0 * after.0 + before.0, after.0 + 2.0 * before.0);
            (weights.0 + weights.1) / (weights.0 / before.1 + weights.1 / after.1)
        };
        let slope = |i: usize| match i {
            0 => first.unwrap_or_else(|| end_slope(steps[0], steps.get(1).copied())),
            i if i == count => {
                last.unwrap_or_else(|| end_slope(steps[count - 1], count.checked_sub(2).map(|i| steps[i])))
            }
            i => inner(steps[i - 1], steps[i]),
        };
        Self { knots: points.iter().enumerate().map(|(i, (x, y))| (*x, *y, slope(i))).collect() }
    }

    /// Through points (abscissa, value, slope) with increasing abscissae, at least two; it may then swing between them.
    pub(crate) fn of_knots(knots: Vec<(f64, f64, f64)>) -> Self {
        Self { knots }
    }

    /// Abscissae of the points.
    pub(crate) fn places(&self) -> impl Iterator<Item = f64> + '_ {
        self.knots.iter().map(|k| k.0)
    }

    /// Slope at a point, by its number.
    pub(crate) fn slope(&self, point: usize) -> f64 {
        self.knots[point].2
    }

    /// Value, slope and second derivative; straight on beyond the ends.
    pub(crate) fn at(&self, x: f64) -> [f64; 3] {
        let (first, last) = (self.knots[0], self.knots[self.knots.len() - 1]);
        for end in [first, last] {
            if (end == first && x < first.0) || (end == last && x > last.0) {
                return [end.1 + end.2 * (x - end.0), end.2, 0.0];
            }
        }
        let i = self.knots.partition_point(|k| k.0 <= x).clamp(1, self.knots.len() - 1) - 1;
        let (a, b) = (self.knots[i], self.knots[i + 1]);
        let h = b.0 - a.0;
        let t = (x - a.0) / h;
        let secant = (b.1 - a.1) / h;
        // Hermite's cubic in powers of t.
        let (square, cube) = (3.0 * secant - 2.0 * a.2 - b.2, a.2 + b.2 - 2.0 * secant);
        [
            a.1 + h * t * (a.2 + t * (square + t * cube)),
            a.2 + t * (2.0 * square + 3.0 * t * cube),
            (2.0 * square + 6.0 * t * cube) / h,
        ]
    }
}

/// Slope at an end with the step and secant there and those of its neighbour.
fn end_slope((h, secant): (f64, f64), neighbour: Option<(f64, f64)>) -> f64 {
    let Some((h_next, next)) = neighbour else { return secant };
    let slope = ((2.0 * h + h_next) * secant - h * next) / (h + h_next);
    if slope * secant <= 0.0 {
        0.0
    } else if secant * next <= 0.0 && slope.abs() > 3.0 * secant.abs() {
        3.0 * secant
    } else {
        slope
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_monotone_cubic_is_the_parabola_through_three_points_of_a_hollow() {
        let curve = Monotone::through(&[(-500.0, 290.0), (0.0, 250.0), (500.0, 290.0)], (None, None));
        for x in [-500.0, -310.0, -20.0, 0.0, 123.0, 500.0] {
            let [y, slope, second] = curve.at(x);
            assert!((y - (250.0 + 1.6e-4 * x * x)).abs() < 1e-9, "{x}: {y}");
            assert!((slope - 3.2e-4 * x).abs() < 1e-12 && (second - 3.2e-4).abs() < 1e-12, "{x}");
        }
    }

    /// Figures of `scipy.interpolate.PchipInterpolator` 1.17.1 for the same points.
    #[test]
    fn a_monotone_cubic_agrees_with_another_program() {
        let points = [(-700.0, 0.0), (-650.0, 80.0), (-400.0, 130.0), (100.0, 115.0), (500.0, 128.0), (700.0, 60.0)];
        let curve = Monotone::through(&points, (None, None));
        for (x, y) in PCHIP {
            assert!((curve.at(x)[0] - y).abs() < 1e-9, "{x}: {} is not {y}", curve.at(x)[0]);
        }
    }

    const PCHIP: [(f64, f64); 6] = [
        (-690.0, 19.365_572_139_303_48),
        (-600.0, 98.955_223_880_597_02),
        (-410.0, 129.931_462_686_567_2),
        (-77.0, 119.308_364_08),
        (333.0, 123.094_150_593_75),
        (650.0, 83.679_687_5),
    ];

    #[test]
    fn beyond_its_ends_it_runs_straight_on_and_two_points_make_a_line() {
        let curve = Monotone::through(&[(0.0, 1.0), (10.0, 3.0)], (None, None));
        let level = Monotone::through(&[(0.0, 1.0), (10.0, 3.0)], (Some(0.0), Some(0.0)));
        for (x, on_line, on_level) in
            [(-5.0, 0.0, 1.0), (0.0, 1.0, 1.0), (5.0, 2.0, 2.0), (10.0, 3.0, 3.0), (20.0, 5.0, 3.0)]
        {
            assert!((curve.at(x)[0] - on_line).abs() < 1e-12 && (level.at(x)[0] - on_level).abs() < 1e-12, "{x}");
        }
    }
}
