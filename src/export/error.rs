//! What can go wrong when a drawing is written.

use std::fmt;

use crate::units::{LengthUnit, Phrase, Quantity, phrase};

/// Why a drawing could not be written.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum ExportError {
    /// There is nothing in the drawing.
    Empty,
    /// An outline that is to be cut is not closed (name of the part).
    OpenCut {
        /// The part's id.
        part: String,
    },
    /// A hole is narrower than the cutter or the kerf.
    CutterTooWide {
        /// The part's id.
        part: String,
        /// The cutter's diameter or the kerf's width, mm.
        diameter_mm: f64,
    },
    /// A setting lies outside of what can be used.
    Setting {
        /// Which one.
        name: &'static str,
        /// What it is, mm.
        value: f64,
        /// The least that can be used, mm.
        low: f64,
        /// The most that can be used, mm.
        high: f64,
    },
    /// The parts would need more sheets than anyone glues together.
    TooManySheets {
        /// How many at least.
        sheets: usize,
        /// The most that are made.
        most: usize,
    },
    /// The writer of the format refused the drawing (its own words).
    Format(String),
}

impl ExportError {
    /// What went wrong, without a full stop.
    pub(crate) fn phrase(&self) -> Phrase {
        match self {
            Self::Empty => "the drawing holds no parts; nothing would be written".into(),
            Self::OpenCut { part } => {
                phrase!("part '{}' has a cut that is not a closed outline; close it or make it a mark", part)
            }
            Self::CutterTooWide { part, diameter_mm } => phrase!(
                "part '{}' has a hole that a cutter of {} does not fit into",
                part,
                Quantity::exact(*diameter_mm)
            ),
            Self::Setting { name, value, low, high } => {
                let [value, low, high] = [value, low, high].map(|x| Quantity::exact(*x));
                phrase!("{} is {}, which must lie between {} and {}", *name, value, low, high)
            }
            Self::TooManySheets { sheets, most } => phrase!(
                "the patterns need {} sheets of this paper or more; {} are the most that are made",
                *sheets,
                *most
            ),
            Self::Format(words) => phrase!("the drawing could not be written: {}", words),
        }
    }
}

impl fmt::Display for ExportError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.phrase().text(LengthUnit::default()))
    }
}

impl std::error::Error for ExportError {}
