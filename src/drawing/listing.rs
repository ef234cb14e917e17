//! Rows of values and texts, for any table format.

use crate::units::decimal;

/// One cell.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    /// Text.
    Text(String),
    /// A number with its printed decimals.
    Number(f64, usize),
    /// A value already formatted, such as inches with a fraction.
    Figure(String),
}

impl Cell {
    /// Text.
    pub fn text(words: impl Into<String>) -> Self {
        Self::Text(words.into())
    }

    /// A whole number.
    pub(crate) fn count(n: usize) -> Self {
        // Counts here stay far below 2^53.
        Self::Number(n as f64, 0)
    }

    /// The cell as text.
    pub(crate) fn shown(&self) -> String {
        match self {
            Self::Text(words) | Self::Figure(words) => words.clone(),
            Self::Number(value, decimals) => decimal(*value, *decimals),
        }
    }
}

/// A table of rows with a heading for each column.
#[derive(Debug, Clone, PartialEq)]
pub struct Listing {
    /// Title.
    pub title: String,
    /// Headings: words with the unit at the end, as in `height_mm`.
    pub columns: Vec<String>,
    /// Rows with one cell for each column.
    pub rows: Vec<Vec<Cell>>,
}

impl Listing {
    /// An empty listing.
    pub(crate) fn new(title: impl Into<String>, columns: &[&str]) -> Self {
        Self { title: title.into(), columns: columns.iter().map(|c| (*c).to_owned()).collect(), rows: Vec::new() }
    }
}
