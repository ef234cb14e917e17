//! Clearance holes.

use crate::units::MM_PER_INCH;

/// Medium clearance holes by nominal diameter, mm: ISO 273, medium series (M6 to M16).
const ISO_273_MEDIUM: [(f64, f64); 5] = [(6.0, 6.6), (8.0, 9.0), (10.0, 11.0), (12.0, 13.5), (16.0, 17.5)];
/// Normal clearance holes by nominal diameter, inch (ASME B18.2.8 normal fit, second-hand).
const INCH_NORMAL: [(f64, f64); 4] =
    [(0.25, 9.0 / 32.0), (5.0 / 16.0, 11.0 / 32.0), (0.375, 13.0 / 32.0), (0.5, 9.0 / 16.0)];

/// Hole for a bolt or rod of this diameter, mm, where a standard lists it.
pub(super) fn clearance_hole(diameter_mm: f64) -> Option<f64> {
    let same = |a: f64| (a - diameter_mm).abs() < 0.01;
    let metric = ISO_273_MEDIUM.iter().find(|(d, _)| same(*d)).map(|(_, hole)| *hole);
    metric.or_else(|| INCH_NORMAL.iter().find(|(d, _)| same(d * MM_PER_INCH)).map(|(_, hole)| hole * MM_PER_INCH))
}
