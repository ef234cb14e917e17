//! What parts are cut on.

use super::Stock;

/// The machine, or the saw, that parts are cut on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Machine {
    /// Length and width of the bed, mm: where the cutter gets to.
    pub bed_mm: Option<(f64, f64)>,
    /// Longest piece that it takes, mm, if that is not the bed's length.
    pub longest_mm: Option<f64>,
    /// Clear width beside the blade of a bandsaw, mm.
    pub throat_mm: Option<f64>,
    /// Diameter of the dowels that place a sheet on the bed, mm.
    pub dowel_mm: f64,
}

impl Machine {
    /// Diameter of dowels where the shop does not say, mm (common practice, no source).
    pub(crate) const USUAL_DOWEL_MM: f64 = 8.0;

    /// Width at the end of a stretch of a sheet that its dowels take, mm: the hole and half of it on each side.
    pub(crate) fn dowel_room_mm(&self) -> f64 {
        2.0 * self.dowel_mm
    }

    /// Length and width of the largest part, mm; infinite where nothing limits it. The cutter runs all round it, and on a
    /// listed sheet it keeps clear of dowels and margin.
    pub(crate) fn largest_part_mm(&self, cutter_mm: f64, stock: &Stock) -> (f64, f64) {
        let margin_mm = if stock.sheets.is_empty() { 0.0 } else { self.dowel_room_mm().max(stock.nesting.margin_mm) };
        let taken_mm = cutter_mm.max(2.0 * margin_mm);
        let (length, width) = self.bed_mm.unwrap_or((f64::INFINITY, f64::INFINITY));
        let (long, wide) = (length.max(width) - taken_mm, length.min(width) - taken_mm);
        (long.min(self.longest_mm.unwrap_or(long)), wide.min(self.throat_mm.unwrap_or(wide)))
    }
}
