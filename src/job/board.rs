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
