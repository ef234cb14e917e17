//! Gauss-Legendre quadrature.

/// Abscissae (positive half) and weights of the ten-point rule on [-1, 1], exact for polynomials of degree 19.
///
/// Source: Abramowitz and Stegun, Handbook of Mathematical Functions, Table 25.4, n = 10.
const TEN_POINT: [(f64, f64); 5] = [
    (0.148_874_338_981_631_22, 0.295_524_224_714_752_87),
    (0.433_395_394_129_247_2, 0.269_266_719_309_996_35),
    (0.679_409_568_299_024_4, 0.219_086_362_515_982_04),
    (0.865_063_366_688_984_5, 0.149_451_349_150_580_6),
    (0.973_906_528_517_171_7, 0.066_671_344_308_688_14),
];

/// The same for five points, exact for polynomials of degree 9: the weight of the middle, then the others. Same source, n = 5.
const FIVE_POINT: (f64, [(f64, f64); 2]) = (
    0.568_888_888_888_888_9,
    [(0.538_469_310_105_683_1, 0.478_628_670_499_366_47), (0.906_179_845_938_664, 0.236_926_885_056_189_1)],
);

/// Integrals of functions from `from` to `to` by one application of the five-point rule.
pub(crate) fn gauss5<const N: usize>(from: f64, to: f64, f: impl Fn(f64) -> [f64; N]) -> [f64; N] {
    let middle = f(0.5 * (from + to)).map(|value| FIVE_POINT.0 * value);
    weighed(middle, &FIVE_POINT.1, (from, to), f)
}

/// Integrals of functions from `from` to `to` by one application of the ten-point rule.
pub(crate) fn gauss10<const N: usize>(from: f64, to: f64, f: impl Fn(f64) -> [f64; N]) -> [f64; N] {
    weighed([0.0; N], &TEN_POINT, (from, to), f)
}

/// Adds the values at both sides of the middle, each with its weight, and scales the sums to the interval.
fn weighed<const N: usize>(
    mut sums: [f64; N],
    rule: &[(f64, f64)],
    (from, to): (f64, f64),
    f: impl Fn(f64) -> [f64; N],
) -> [f64; N] {
    let (middle, half) = (0.5 * (from + to), 0.5 * (to - from));
    for &(x, w) in rule {
        let (a, b) = (f(middle - half * x), f(middle + half * x));
        sums.iter_mut().zip(a.iter().zip(&b)).for_each(|(sum, (a, b))| *sum += w * (a + b));
    }
    sums.map(|sum| sum * half)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn polynomials_up_to_degree_nineteen_and_nine_are_exact() {
        let exact = |n: i32| (1.7_f64.powi(n + 1) - (-0.3_f64).powi(n + 1)) / f64::from(n + 1);
        let [a, b] = gauss10(-0.3, 1.7, |x| [x.powi(19), x.powi(8) - 3.0 * x]);
        assert!((a - exact(19)).abs() < 1e-12 * exact(19).abs(), "{a}");
        assert!((b - (exact(8) - 3.0 * exact(1))).abs() < 1e-12, "{b}");
        let [a, b] = gauss5(-0.3, 1.7, |x| [x.powi(9), x.powi(8) - 3.0 * x]);
        assert!((a - exact(9)).abs() < 1e-13 * exact(9).abs(), "{a}");
        assert!((b - (exact(8) - 3.0 * exact(1))).abs() < 1e-13, "{b}");
    }
}
