//! What is asked of a jig.

use super::concave::Across;
use crate::job::Table;

/// Places that are listed and marked.
#[derive(Debug, Clone, PartialEq)]
pub struct Marks {
    /// Ends of the finished board (tail, tip) along its base, mm from its middle.
    pub finished_base_mm: (f64, f64),
    /// Stations: place along the finished board's base (0 in its middle) and along the table's surface, mm.
    pub stations: Vec<(f64, f64)>,
}

/// What the table has to carry and how it is curved across.
#[derive(Debug, Clone, PartialEq)]
pub struct Demand {
    /// Width over all boards that lie side by side, from the outer edge of the first to that of the last, mm.
    pub boards_width_mm: f64,
    /// The table's curve across.
    pub across: Across,
    /// Places along the table's surface (mm, in order) and the moment there with which the pressed stack bends the whole
    /// table, N mm.
    pub moments_n_mm: Vec<(f64, f64)>,
    /// Widest clear distance between the skin's supports (across the board, along it) that the checks of the pressing
    /// allow, mm.
    pub clear_mm: (f64, f64),
    /// Smallest strain limit of the layers, for the check of bending both ways at once.
    pub strain_limit: Option<f64>,
    /// Whether a box under the skin is pumped with the bag.
    pub pumped: bool,
}

impl Demand {
    /// Width over the outer ribs or of the bearers, mm.
    pub(super) fn width_mm(&self, table: &Table) -> f64 {
        self.boards_width_mm + 2.0 * table.side_margin_mm
    }
}
