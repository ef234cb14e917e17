//! The coding and the widths of the standard font Helvetica.

/// Height of capitals as a share of the font size (Adobe Core 14 AFM, Helvetica: CapHeight 718).
pub(super) const CAPITALS: f64 = 0.718;

/// Widths of the characters 32 to 126 in thousandths of the font size (Adobe Core 14 AFM, Helvetica; from memory).
const WIDTHS: [u16; 95] = [
    278, 278, 355, 556, 556, 889, 667, 191, 333, 333, 389, 584, 278, 333, 278, 278, 556, 556, 556, 556, 556, 556, 556,
    556, 556, 556, 278, 278, 584, 584, 584, 556, 1015, 667, 667, 722, 722, 667, 611, 778, 722, 278, 500, 667, 556, 833,
    722, 778, 667, 778, 722, 667, 611, 722, 667, 944, 667, 667, 611, 278, 278, 278, 469, 556, 333, 556, 556, 500, 556,
    556, 278, 556, 556, 222, 222, 500, 222, 833, 556, 556, 556, 556, 333, 500, 278, 556, 500, 722, 500, 500, 500, 334,
    260, 334, 584,
];

/// The text in WinAnsi coding, or `None` if a character is outside of it (PDF, ISO 32000-1, annex D.2).
pub(super) fn coded(text: &str) -> Option<Vec<u8>> {
    let code = |c: char| -> Option<u8> {
        match c {
            ' '..='~' | '\u{a0}'..='\u{ff}' => u8::try_from(u32::from(c)).ok(),
            '€' => Some(128),
            '…' => Some(133),
            '‘' => Some(145),
            '’' => Some(146),
            '“' => Some(147),
            '”' => Some(148),
            '•' => Some(149),
            '–' => Some(150),
            '—' => Some(151),
            '™' => Some(153),
            '\u{2010}' | '\u{2011}' | '\u{2212}' => Some(b'-'),
            '⌀' => Some(216),
            _ => None,
        }
    };
    text.chars().map(code).collect()
}

/// Width of a coded text as a share of the font size; letters beyond ASCII count as a digit is wide.
pub(super) fn width(codes: &[u8]) -> f64 {
    let thousandths = |c: &u8| WIDTHS.get(usize::from(*c).wrapping_sub(32)).copied().unwrap_or(556);
    codes.iter().map(|c| f64::from(thousandths(c))).sum::<f64>() / 1000.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn characters_outside_the_font_are_noticed() {
        assert_eq!(coded("5° ±1 ⌀8 é"), Some(vec![53, 176, 32, 177, 49, 32, 216, 56, 32, 233]));
        assert_eq!(coded("木"), None);
        assert_eq!(coded("α"), None);
    }

    #[test]
    fn widths_follow_the_letters() {
        assert!((width(b"ii") - 0.444).abs() < 1e-12 && (width(b"W~") - 1.528).abs() < 1e-12);
    }
}
