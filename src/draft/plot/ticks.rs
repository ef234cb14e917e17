//! Places of ticks that people would choose.

use crate::units::{MM_PER_INCH, inch_fraction, plain};

/// How an axis counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::draft) enum Count {
    /// In tens: steps of 1, 2 and 5.
    Tens,
    /// In inches: halves down to sixty-fourths, whole ones up by what a rule shows.
    Inches,
    /// In whole numbers: what cannot be half.
    Whole,
}

/// Ticks between two values: places and what stands beside them.
pub(super) fn ticks(from: f64, to: f64, most: usize, count: Count) -> Vec<(f64, String)> {
    let step = step(to - from, most, count);
    let decimals = (0..6).find(|d| (step * 10f64.powi(*d)).fract().abs() < 1e-6).unwrap_or(6);
    let first = (from / step - 1e-6).ceil();
    let last = (to / step + 1e-6).floor();
    let mut places = Vec::new();
    let mut i = first;
    while i <= last && places.len() <= 4 * most {
        let value = i * step;
        let words = match count {
            Count::Inches if step < 1.0 => inch_fraction(value * MM_PER_INCH, 64),
            _ => plain(value, usize::try_from(decimals).unwrap_or(0)),
        };
        places.push((value, words));
        i += 1.0;
    }
    places
}

/// The smallest step that makes no more than `most` ticks over `span`.
fn step(span: f64, most: usize, count: Count) -> f64 {
    let least = span.max(1e-12) / most.max(1) as f64;
    if count == Count::Inches {
        const STEPS: [f64; 12] = [1.0 / 64.0, 1.0 / 32.0, 0.0625, 0.125, 0.25, 0.5, 1.0, 2.0, 4.0, 6.0, 12.0, 24.0];
        if let Some(step) = STEPS.iter().find(|s| **s >= least) {
            return *step;
        }
    }
    let power = libm::pow(10.0, libm::log10(least).floor());
    let step = [1.0, 2.0, 5.0, 10.0].into_iter().map(|m| m * power).find(|s| *s >= least * (1.0 - 1e-9));
    let step = step.unwrap_or(10.0 * power);
    if count == Count::Whole { step.max(1.0) } else { step }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn words(from: f64, to: f64, most: usize, count: Count) -> Vec<String> {
        ticks(from, to, most, count).into_iter().map(|t| t.1).collect()
    }

    #[test]
    fn ticks_stand_at_round_values() {
        assert_eq!(words(-768.0, 768.0, 7, Count::Tens), ["-500", "0", "500"]);
        assert_eq!(words(0.0, 0.23, 5, Count::Tens), ["0", "0.05", "0.1", "0.15", "0.2"]);
        assert_eq!(words(-19.0, 19.0, 7, Count::Inches), ["-18", "-12", "-6", "0", "6", "12", "18"]);
        assert_eq!(words(0.0, 0.66, 6, Count::Inches), ["0", "1/8", "1/4", "3/8", "1/2", "5/8"]);
        assert_eq!(words(0.5, 3.5, 9, Count::Whole), ["1", "2", "3"]);
    }
}
