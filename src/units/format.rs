//! Numbers to text.

use super::{LengthUnit, MM_PER_INCH, N_PER_LBF, PA_PER_PSI};

/// Grams in an avoirdupois ounce, exact by definition.
const G_PER_OUNCE: f64 = 28.349_523_125;

/// Fixed decimals, without the minus sign of a value that rounds to zero.
///
/// `decimal(-0.0004, 2)` is `0.00`. Not finite values print as `n/a`: no file of ours carries a `NaN`.
pub fn decimal(value: f64, decimals: usize) -> String {
    if !value.is_finite() {
        return "n/a".to_owned();
    }
    let text = format!("{value:.decimals$}");
    let is_zero = text.bytes().all(|b| matches!(b, b'-' | b'0' | b'.'));
    if is_zero { text.trim_start_matches('-').to_owned() } else { text }
}

/// Fixed decimals with trailing zeros (and a bare point) removed: `2.50` becomes `2.5`, `3.00` becomes `3`.
pub fn plain(value: f64, most_decimals: usize) -> String {
    let text = decimal(value, most_decimals);
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

/// A length in millimetres as inches and the nearest fraction, reduced: `3 7/8`, `-1/64`, `0`.
///
/// `denominator` is the finest division of the shop's rule, usually 32 or 64. No unit mark is appended.
pub fn inch_fraction(length_mm: f64, denominator: u32) -> String {
    if !length_mm.is_finite() {
        return "n/a".to_owned();
    }
    let parts = (length_mm / MM_PER_INCH * f64::from(denominator)).round();
    let sign = if parts < 0.0 { "-" } else { "" };
    let mut rest = parts.abs() % f64::from(denominator);
    let whole = ((parts.abs() - rest) / f64::from(denominator)).round();
    let mut below = f64::from(denominator);
    while rest > 0.0 && rest % 2.0 == 0.0 && below % 2.0 == 0.0 {
        rest /= 2.0;
        below /= 2.0;
    }
    match (whole > 0.0, rest > 0.0) {
        (true, true) => format!("{sign}{whole} {rest}/{below}"),
        (true, false) => format!("{sign}{whole}"),
        (false, true) => format!("{sign}{rest}/{below}"),
        (false, false) => "0".to_owned(),
    }
}

/// A length as people of the document's unit read it, with its unit: `45.0 mm` or `1 49/64 in`.
pub fn length(length_mm: f64, unit: LengthUnit) -> String {
    match unit {
        LengthUnit::Millimetre => format!("{} mm", decimal(length_mm, 1)),
        LengthUnit::Inch { denominator } => format!("{} in", inch_fraction(length_mm, denominator)),
    }
}

/// A pressure with its unit: `85 kPa` or `12.3 psi`.
pub fn pressure(pressure_mpa: f64, unit: LengthUnit) -> String {
    match unit {
        LengthUnit::Millimetre => format!("{} kPa", decimal(1e3 * pressure_mpa, 0)),
        LengthUnit::Inch { .. } => format!("{} psi", decimal(1e6 * pressure_mpa / PA_PER_PSI, 1)),
    }
}

/// A force with its unit: `49.6 kN` or `11151 lbf`.
pub fn force(force_n: f64, unit: LengthUnit) -> String {
    match unit {
        LengthUnit::Millimetre => format!("{} kN", decimal(1e-3 * force_n, 1)),
        LengthUnit::Inch { .. } => format!("{} lbf", decimal(force_n / N_PER_LBF, 0)),
    }
}

/// A mass with its unit: `310 g` or `310 g (10.9 oz)`.
pub fn mass(mass_g: f64, unit: LengthUnit) -> String {
    let grams = decimal(mass_g, 0);
    match unit {
        LengthUnit::Millimetre => format!("{grams} g"),
        LengthUnit::Inch { .. } => format!("{grams} g ({} oz)", decimal(mass_g / G_PER_OUNCE, 1)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_that_round_to_zero_lose_their_sign() {
        assert_eq!(decimal(-0.0004, 2), "0.00");
        assert_eq!(decimal(-0.006, 2), "-0.01");
        assert_eq!(decimal(f64::NAN, 2), "n/a");
    }

    #[test]
    fn fractions_are_reduced_and_carry_over() {
        assert_eq!(inch_fraction(25.4 * 3.875, 64), "3 7/8");
        assert_eq!(inch_fraction(25.4 * 0.999, 64), "1");
        assert_eq!(inch_fraction(-25.4 / 64.0, 64), "-1/64");
        assert_eq!(inch_fraction(0.1, 64), "0");
        assert_eq!(inch_fraction(25.4 * (2.0 + 3.0 / 32.0), 32), "2 3/32");
    }

    #[test]
    fn plain_drops_only_what_says_nothing() {
        assert_eq!(plain(2.5, 3), "2.5");
        assert_eq!(plain(300.0, 2), "300");
        assert_eq!(plain(100.0, 0), "100");
    }
}
