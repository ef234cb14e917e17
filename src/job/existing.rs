//! A table that is there already.

use super::{LengthAlong, Rocker};

/// The surface of a table that was built before, as the shop knows it.
#[derive(Debug, Clone, PartialEq)]
pub struct ExistingTable {
    /// Its length, mm; the middle of the board goes on its middle.
    pub length_mm: f64,
    /// Along what that length is measured.
    pub length_along: LengthAlong,
    /// What its surface was built to or measured as, in the ways that a rocker can be said.
    pub surface: Rocker,
}
