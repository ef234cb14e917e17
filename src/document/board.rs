//! `[board]`: the finished board and its blank.

use super::inputs::Inputs;
use super::keys::Range::{UpTo, Within};
use super::outline::{MOST_HOLES, hole, outline};
use super::reader::LONGEST_MM;
use super::section::Section;
use crate::job::{Board, LengthAlong};

pub(super) fn board(at: &mut Section<'_, '_>, inputs: &Inputs) -> Option<Board> {
    let meaning = "Length of the finished, trimmed board.";
    let length = at.length("length", UpTo(LONGEST_MM), meaning).usual(250.0, 6000.0).required();
    let ways = [("base", LengthAlong::Base), ("straight", LengthAlong::Straight)];
    let meaning = "How the length is measured: along the underside, or from tip to tail through the air.";
    let length_along = at.choice("length_along", &ways, meaning);
    let meaning = "Width of the finished board.";
    let width = at.length("width", UpTo(LONGEST_MM), meaning).usual(30.0, 1200.0).required();
    let ends = Within(0.0, 2000.0);
    let both_mm = at.length("overhang", ends, "Blank beyond each finished end.").or(Board::USUAL_OVERHANG_MM);
    let tip = at.length("overhang_tip", ends, "Blank beyond the tip, where it differs from `overhang`.");
    let overhang_tip_mm = tip.otherwise("that of `overhang`").unwrap_or(both_mm);
    let tail = at.length("overhang_tail", ends, "Blank beyond the tail, where it differs from `overhang`.");
    let overhang_tail_mm = tail.otherwise("that of `overhang`").unwrap_or(both_mm);
    let meaning = "The finished board seen from above; exactly one of `points`, `left` with `right`, `drawing`.";
    let outline = at.table("outline", meaning, |at| outline(at, inputs)).optional();
    let meaning = "Holes to be drilled through the finished board, marked on its trimming template.";
    let holes = at.tables("holes", (0, MOST_HOLES), meaning, hole).optional().unwrap_or_default();
    let (length_mm, width_mm) = (length?, width?);
    Some(Board { length_mm, length_along, width_mm, overhang_tip_mm, overhang_tail_mm, outline, holes })
}
