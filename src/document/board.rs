//! `[board]`: the finished board and its blank.

use super::inputs::Inputs;
use super::keys::Range::{UpTo, Within};
use super::outline::{MOST_HOLES, hole, outline};
use super::reader::LONGEST_MM;
use super::section::Section;
use crate::codes;
use crate::job::{Board, LengthAlong};
use crate::units::{Quantity, phrase};

/// Most boards side by side.
const MOST_BOARDS: usize = 20;

pub(super) fn board(at: &mut Section<'_, '_>, inputs: &Inputs) -> Option<Board> {
    let meaning = "Length of the finished, trimmed board.";
    let length = at.length("length", UpTo(LONGEST_MM), meaning).usual(250.0, 6000.0).required();
    let ways = [("base", LengthAlong::Base), ("straight", LengthAlong::Straight)];
    let meaning = "How the length is measured: along the underside, or from tip to tail through the air.";
    let length_along = at.choice("length_along", &ways, meaning);
    let meaning = "Width of the finished board.";
    let width = at.length("width", UpTo(LONGEST_MM), meaning).usual(30.0, 1200.0).required();
    let meaning = "How many boards lie side by side on one table and are pressed at once.";
    let count = at.count("count", (1, MOST_BOARDS), meaning).or(1);
    let meaning =
        "Clear distance between the finished edges of boards side by side; each blank is trimmed by 5 mm at each side.";
    let gap_mm = at.length("gap", Within(2.0 * Board::SIDE_TRIM_MM, 1000.0), meaning).or(Board::USUAL_GAP_MM);
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
    let over_all_mm = count as f64 * (width_mm + gap_mm) - gap_mm;
    if over_all_mm > LONGEST_MM {
        let (over_all, most) = (Quantity::exact(over_all_mm), Quantity::exact(LONGEST_MM));
        let message = phrase!("the boards side by side take {}; a table is {} wide at most.", over_all, most);
        at.fault(codes::OUT_OF_RANGE, "count", message, "Press fewer boards at once.");
    }
    Some(Board { length_mm, length_along, width_mm, count, gap_mm, overhang_tip_mm, overhang_tail_mm, outline, holes })
}
