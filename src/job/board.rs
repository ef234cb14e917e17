//! The finished board.

use super::{Direction, DrawnLines, Origin, Stations};

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
    /// How many of them lie side by side on the table and are pressed at once.
    pub count: usize,
    /// Clear distance between the finished edges of neighbours, mm.
    pub gap_mm: f64,
    /// Blank beyond the finished tip, mm.
    pub overhang_tip_mm: f64,
    /// Blank beyond the finished tail, mm.
    pub overhang_tail_mm: f64,
    /// Its shape in plan, a rectangle where it is not given.
    pub outline: Option<PlanOutline>,
    /// Holes to be drilled through it.
    pub holes: Vec<BoardHole>,
}

/// The board seen from above, its deck up.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanOutline {
    /// How it is given.
    pub shape: OutlineShape,
    /// Whether the layers are cut to it before they are pressed; otherwise the blank is a rectangle.
    pub shaped_blank: bool,
    /// Thickness of the trimming template, mm; 0 for none.
    pub template_mm: f64,
}

/// How an outline is given.
#[derive(Debug, Clone, PartialEq)]
pub enum OutlineShape {
    /// Width at stations, alike on both sides.
    Widths {
        /// Stations with the width there, mm.
        points: Stations,
        /// Where stations are counted from.
        from: Origin,
    },
    /// Each side by itself.
    Sides {
        /// Stations with the distance of the left edge from the middle line, mm.
        left: Stations,
        /// The same of the right edge.
        right: Stations,
        /// Where stations are counted from.
        from: Origin,
    },
    /// A closed line drawn elsewhere.
    Drawn {
        /// The drawing.
        lines: DrawnLines,
        /// Where the tip lies on it.
        tip: Direction,
    },
}

/// A hole through the board.
#[derive(Debug, Clone, PartialEq)]
pub struct BoardHole {
    /// What it is for.
    pub name: Option<String>,
    /// Station along the base from the middle toward the tip, mm.
    pub station_mm: f64,
    /// Distance from the middle line, positive to the left seen from the tail with the deck up, mm.
    pub side_mm: f64,
    /// Diameter, mm.
    pub diameter_mm: f64,
}

impl Board {
    /// Blank beyond each finished end where the shop does not say, mm (common practice, no source).
    pub(crate) const USUAL_OVERHANG_MM: f64 = 40.0;
    /// Blank beyond the finished width at each side, to be trimmed off, mm (common practice, no source).
    pub(crate) const SIDE_TRIM_MM: f64 = 5.0;
    /// Clear distance between the finished edges of neighbours where the shop does not say, mm: what both blanks have to trim,
    /// and as much again for what keeps them apart (common practice, no source).
    pub const USUAL_GAP_MM: f64 = 20.0;

    /// One board of this finished length along its base and this finished width, mm, with the usual overhang.
    pub fn new(length_mm: f64, width_mm: f64) -> Self {
        let overhang_mm = Self::USUAL_OVERHANG_MM;
        Self {
            length_mm,
            length_along: LengthAlong::Base,
            width_mm,
            count: 1,
            gap_mm: Self::USUAL_GAP_MM,
            overhang_tip_mm: overhang_mm,
            overhang_tail_mm: overhang_mm,
            outline: None,
            holes: Vec::new(),
        }
    }
}
