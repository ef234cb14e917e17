//! What a fit is asked, and what it rests on.

use crate::job::{Ends, LengthAlong, Origin};

/// What a fit needs to know besides the readings.
#[derive(Debug, Clone, PartialEq)]
pub struct FitOptions {
    /// Length of the board, mm.
    pub length_mm: f64,
    /// Along what it was measured.
    pub length_along: LengthAlong,
    /// What the curvature does at the ends.
    pub ends: Ends,
    /// The key that holds the readings, for the faults.
    pub path: String,
}

/// Below this scatter, mm, nothing stands out, and no error of readings is taken for smaller: no shop reads finer than a
/// twentieth of a millimetre off a rule. Rounded readings of one place that agree to the last digit show no error at all,
/// and a curve through every one of them would be the likeliest.
pub(crate) const FINEST_READING_MM: f64 = 0.05;

/// Place on the base from which stations are counted.
pub(super) fn zero_of(origin: Origin, half_mm: f64) -> f64 {
    match origin {
        Origin::Tail => -half_mm,
        Origin::Middle => 0.0,
        Origin::Tip => half_mm,
    }
}
