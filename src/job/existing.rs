//! A table that is there already.

use super::{LengthAlong, Origin, Readings, Rocker};

/// The surface of a table that was built before, as the shop knows it.
#[derive(Debug, Clone, PartialEq)]
pub struct ExistingTable {
    /// Its length, mm.
    pub length_mm: f64,
    /// Where on it the middle of the board goes, mm from its tail end along the line that its stations are read on; its own
    /// middle where `None`.
    pub middle_mm: Option<f64>,
    /// How far its surface may be thought on beyond its ends (tail, tip), mm, with the curvature that it has there.
    pub beyond_mm: (f64, f64),
    /// Along what that length is measured.
    pub length_along: LengthAlong,
    /// What its surface was built to or measured as, in the ways that a rocker can be said.
    pub surface: Rocker,
}

impl ExistingTable {
    /// The readings of its surface with stations from the middle of the board toward the tip, mm, and heights, mm.
    pub(crate) fn read_at_mm(&self, readings: &Readings) -> Vec<(f64, f64)> {
        let half = 0.5 * self.length_mm;
        let place = |station_mm: f64| match readings.origin {
            Origin::Tail => station_mm - self.middle_mm.unwrap_or(half),
            Origin::Middle => station_mm,
            Origin::Tip => half - station_mm,
        };
        readings.readings.iter().map(|r| (place(r.station_mm), r.height_mm)).collect()
    }
}
