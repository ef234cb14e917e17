//! The finished board.

/// Along what the finished length is measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LengthAlong {
    /// Along the base of the board.
    Base,
    /// Straight from tip to tail.
    Straight,
}

/// The board as it is trimmed, and the blank it is cut from.
#[derive(Debug, Clone, PartialEq)]
pub struct Board {
    /// Finished length, mm.
    pub length_mm: f64,
    /// Along what that length is measured.
    pub length_along: LengthAlong,
    /// Finished width, mm.
    pub width_mm: f64,
    /// Blank beyond the finished tip, mm.
    pub overhang_tip_mm: f64,
    /// Blank beyond the finished tail, mm.
    pub overhang_tail_mm: f64,
}

impl Board {
    /// Blank beyond each finished end where the shop does not say, mm (common practice, no source).
    pub const USUAL_OVERHANG_MM: f64 = 40.0;

    /// A board of this finished length along its base and this finished width, mm, with the usual overhang.
    pub fn new(length_mm: f64, width_mm: f64) -> Self {
        let overhang_mm = Self::USUAL_OVERHANG_MM;
        Self {
            length_mm,
            length_along: LengthAlong::Base,
            width_mm,
            overhang_tip_mm: overhang_mm,
            overhang_tail_mm: overhang_mm,
        }
    }
}
