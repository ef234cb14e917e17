//! `[board]`: the finished board and its blank.

use serde::Deserialize;

use super::quantity::Quantity;
use super::reader::{LONGEST_MM, Range, Reader};
use crate::finding::Fault;
use crate::job::{Board, LengthAlong};
use crate::units::Dimension;

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct RawBoard {
    length: Option<Quantity>,
    length_along: Option<Quantity>,
    width: Option<Quantity>,
    overhang: Option<Quantity>,
    overhang_tip: Option<Quantity>,
    overhang_tail: Option<Quantity>,
}

/// Blank beyond each finished end when the document does not say, mm (common practice, no source).
const DEFAULT_OVERHANG_MM: f64 = 40.0;

pub(super) fn check(reader: &mut Reader, raw: Option<RawBoard>) -> Option<Board> {
    let Some(raw) = raw else {
        reader.missing("board", "Add a table [board] with length and width.");
        return None;
    };
    let within = Range::Positive(LONGEST_MM);
    let length = reader.required(raw.length.as_ref(), "board.length", Dimension::Length, within);
    let width = reader.required(raw.width.as_ref(), "board.width", Dimension::Length, within);
    let length_along = match reader.text(raw.length_along.as_ref(), "board.length_along").as_deref() {
        None | Some("base") => LengthAlong::Base,
        Some("straight") => LengthAlong::Straight,
        Some(other) => {
            reader.faults.push(Fault::new(
                "wrong-choice",
                "board.length_along",
                format!("`{other}` is no way to measure the length."),
                "Write \"base\" (along the underside) or \"straight\" (tip to tail through the air).",
            ));
            LengthAlong::Base
        }
    };
    let ends = Range::NotNegative(2000.0);
    let both = reader.optional(raw.overhang.as_ref(), "board.overhang", Dimension::Length, ends);
    let both = both.unwrap_or(DEFAULT_OVERHANG_MM);
    let mut end =
        |value: Option<&Quantity>, path| reader.optional(value, path, Dimension::Length, ends).unwrap_or(both);
    let overhang_tip_mm = end(raw.overhang_tip.as_ref(), "board.overhang_tip");
    let overhang_tail_mm = end(raw.overhang_tail.as_ref(), "board.overhang_tail");
    Some(Board { length_mm: length?, length_along, width_mm: width?, overhang_tip_mm, overhang_tail_mm })
}
