//! What can go wrong when a drawing is written.

use std::fmt;

use crate::units::{decimal, plain};

/// Why a drawing could not be written.
#[derive(Debug, Clone, PartialEq)]
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

impl fmt::Display for ExportError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Empty => f.write_str("the drawing holds no parts; nothing would be written"),
            Self::OpenCut { part } => {
                write!(f, "part '{part}' has a cut that is not a closed outline; close it or make it a mark")
            }
            Self::CutterTooWide { part, diameter_mm } => {
                let diameter = plain(*diameter_mm, 3);
                write!(f, "part '{part}' has a hole that a cutter of {diameter} mm does not fit into")
            }
            Self::Setting { name, value, low, high } => {
                let [value, low, high] = [value, low, high].map(|x| decimal(*x, 1));
                write!(f, "{name} is {value} mm, which must lie between {low} and {high} mm")
            }
            Self::TooManySheets { sheets, most } => {
                write!(f, "the patterns need {sheets} sheets of this paper or more; {most} are the most that are made")
            }
            Self::Format(words) => write!(f, "the drawing could not be written: {words}"),
        }
    }
}

impl std::error::Error for ExportError {}
