//! `[board]`: the finished board and its blank.

use serde::Deserialize;

use super::quantity::Quantity;
use super::reader::{LONGEST_MM, Range, Reader};
use crate::codes;
use crate::finding::Fault;
use crate::job::{Board, LengthAlong};
use crate::units::Dimension;

#[derive(Debug, Default, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default)]
pub(super) struct RawBoard {
    /// Length of the finished, trimmed board.
    ///
    /// Takes a length over 0 up to 20000 mm; must be given.
    length: Option<Quantity>,
    /// How the length is measured: along the underside, or from tip to tail through the air.
    ///
    /// Takes one of `base`, `straight`; `base` when left out.
    length_along: Option<Quantity>,
    /// Width of the finished board.
    ///
    /// Takes a length over 0 up to 20000 mm; must be given.
    width: Option<Quantity>,
    /// Blank beyond each finished end.
    ///
    /// Takes a length from 0 to 2000 mm; `40 mm` when left out.
    overhang: Option<Quantity>,
    /// Blank beyond the tip, where it differs from `overhang`.
    ///
    /// Takes a length from 0 to 2000 mm; that of `overhang` when left out.
    overhang_tip: Option<Quantity>,
    /// Blank beyond the tail, where it differs from `overhang`.
    ///
    /// Takes a length from 0 to 2000 mm; that of `overhang` when left out.
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
                codes::WRONG_CHOICE,
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
