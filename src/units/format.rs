//! Numbers to text.

use super::MM_PER_INCH;

/// Fixed decimals, without the minus sign of a value that rounds to zero.
///
/// `decimal(-0.0004, 2)` is `0.00`. Not finite values print as `n/a`: no file of ours carries a `NaN`.
pub fn decimal(value: f64, decimals: usize) -> String {
    if !value.is_finite() {
        return "n/a".to_owned();
    }
    if let Some(text) = quick(&mut [0; QUICK_BYTES], value, decimals) {
        return text.to_owned();
    }
    let text = format!("{value:.decimals$}");
    let is_zero = text.bytes().all(|b| matches!(b, b'-' | b'0' | b'.'));
    if is_zero { text.trim_start_matches('-').to_owned() } else { text }
}

/// What a whole number of last digits must stay below, so that scaling is good to a thousandth of a digit.
const QUICK_BELOW: f64 = 1e12;
/// Sign, thirteen digits and a point at most.
const QUICK_BYTES: usize = 16;
/// How near to the middle between two digits the slow way decides, in digits.
const DOUBTFUL: f64 = 1e-3;

/// The same text several times faster, where the last digit is beyond doubt: drawings are made of such numbers.
fn quick(text: &mut [u8; QUICK_BYTES], value: f64, decimals: usize) -> Option<&str> {
    const POWERS: [u64; 7] = [1, 10, 100, 1000, 10_000, 100_000, 1_000_000];
    let power = *POWERS.get(decimals)?;
    let scaled = value.abs() * power as f64;
    let below = scaled.floor();
    let rest = scaled - below;
    if scaled >= QUICK_BELOW || (rest - 0.5).abs() < DOUBTFUL {
        return None;
    }
    let mut digits = below as u64 + u64::from(rest > 0.5);
    let negative = value < 0.0 && digits > 0;
    // From the last digit to the first.
    let mut from = text.len();
    let mut written = 0;
    while digits > 0 || written <= decimals {
        if written == decimals && decimals > 0 {
            from -= 1;
            text[from] = b'.';
        }
        from -= 1;
        text[from] = b'0' + (digits % 10) as u8;
        digits /= 10;
        written += 1;
    }
    if negative {
        from -= 1;
        text[from] = b'-';
    }
    std::str::from_utf8(&text[from..]).ok()
}

/// Fixed decimals with trailing zeros (and a bare point) removed: `2.50` becomes `2.5`, `3.00` becomes `3`.
pub fn plain(value: f64, most_decimals: usize) -> String {
    let mut text = String::new();
    push_plain(&mut text, value, most_decimals);
    text
}

/// The same at the end of a text, without a text of its own.
pub(crate) fn push_plain(text: &mut String, value: f64, most_decimals: usize) {
    match quick(&mut [0; QUICK_BYTES], value, most_decimals) {
        Some(quick) => text.push_str(without_zeros(quick)),
        None => text.push_str(without_zeros(&decimal(value, most_decimals))),
    }
}

fn without_zeros(text: &str) -> &str {
    let bytes = text.as_bytes();
    if !bytes.contains(&b'.') {
        return text;
    }
    let zeros = bytes.iter().rev().take_while(|b| **b == b'0').count();
    let end = bytes.len() - zeros;
    &text[..if bytes[end - 1] == b'.' { end - 1 } else { end }]
}

/// A length in millimetres as inches and the nearest fraction, reduced: `3 7/8`, `-1/64`, `0`.
///
/// `denominator` is the finest division of the shop's rule, usually 32 or 64. No unit mark is appended.
pub(crate) fn inch_fraction(length_mm: f64, denominator: u32) -> String {
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

/// A number of things: `1 sheet`, `3 sheets`.
pub fn counted(count: usize, thing: &str) -> String {
    format!("{count} {thing}{}", if count == 1 { "" } else { "s" })
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
    fn the_quick_way_writes_what_the_slow_one_does() {
        let mut random = 1_u64;
        for i in 0..20_000 {
            random = random.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            let unit = (random >> 11) as f64 / (1_u64 << 53) as f64 - 0.5;
            let value = unit * 10_f64.powi(i % 16 - 3);
            // Ties and whole numbers too.
            for value in [value, (value * 8.0).round() / 8.0, value.round()] {
                for decimals in 0..7 {
                    let slow = format!("{value:.decimals$}");
                    let slow =
                        if slow.trim_matches(['-', '0', '.']).is_empty() { slow.trim_matches('-') } else { &slow };
                    assert_eq!(decimal(value, decimals), slow, "{value:?} {decimals}");
                }
            }
        }
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
