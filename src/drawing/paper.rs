//! Paper sizes by name.

/// A sheet of paper in portrait.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Paper {
    /// Width, mm.
    pub width_mm: f64,
    /// Height, mm.
    pub height_mm: f64,
}

/// Names and sizes in mm: A and B by ISO 216 table 1 and 2 (from memory), the others by ANSI/ASME Y14.1 (A to E, in
/// inches 8.5 x 11, 11 x 17, 17 x 22, 22 x 34, 34 x 44; from memory) and legal by common practice, no source.
const SIZES: [(&str, f64, f64); 16] = [
    ("a0", 841.0, 1189.0),
    ("a1", 594.0, 841.0),
    ("a2", 420.0, 594.0),
    ("a3", 297.0, 420.0),
    ("a4", 210.0, 297.0),
    ("b1", 707.0, 1000.0),
    ("b2", 500.0, 707.0),
    ("b3", 353.0, 500.0),
    ("b4", 250.0, 353.0),
    ("letter", 215.9, 279.4),
    ("legal", 215.9, 355.6),
    ("tabloid", 279.4, 431.8),
    ("ansi-b", 279.4, 431.8),
    ("ansi-c", 431.8, 558.8),
    ("ansi-d", 558.8, 863.6),
    ("ansi-e", 863.6, 1117.6),
];

impl Paper {
    /// The sheet with this name, ignoring case.
    pub fn named(name: &str) -> Option<Self> {
        let wanted = name.trim().to_ascii_lowercase();
        let found = SIZES.iter().find(|(n, _, _)| *n == wanted)?;
        Some(Self { width_mm: found.1, height_mm: found.2 })
    }

    /// All names, for messages.
    pub(crate) fn names() -> impl Iterator<Item = &'static str> {
        SIZES.iter().map(|(name, _, _)| *name)
    }

    /// The sheet in landscape.
    #[must_use]
    pub(crate) fn turned(self) -> Self {
        Self { width_mm: self.height_mm, height_mm: self.width_mm }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn iso_sheets_halve_into_the_next_size() {
        // ISO 216: halving the long side, rounded down to a millimetre, gives the next size.
        for series in ["a", "b"] {
            for n in 1..4 {
                let sheet = |n: i32| Paper::named(&format!("{series}{n}"));
                let (Some(large), Some(small)) = (sheet(n), sheet(n + 1)) else { continue };
                assert_eq!((large.height_mm / 2.0).floor(), small.width_mm);
                assert_eq!(large.width_mm, small.height_mm);
            }
        }
        assert_eq!(Paper::named(" A4 "), Some(Paper { width_mm: 210.0, height_mm: 297.0 }));
        assert_eq!(Paper::named("foolscap"), None);
    }

    #[test]
    fn inch_sheets_are_whole_half_inches() {
        for name in ["letter", "legal", "tabloid", "ansi-c", "ansi-d", "ansi-e"] {
            let sheet = Paper::named(name).unwrap();
            for side in [sheet.width_mm, sheet.height_mm] {
                assert!((side / 12.7 - (side / 12.7).round()).abs() < 1e-9, "{name}");
            }
        }
    }
}
