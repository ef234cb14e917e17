//! `[table.bearers]`: a jig built by hand.

use serde::Deserialize;

use super::quantity::Quantity;
use super::reader::{Range, Reader};
use crate::codes;
use crate::finding::Fault;
use crate::job::Bearers;
use crate::units::{Dimension, LengthUnit, MM_PER_INCH};

#[derive(Debug, Default, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default)]
pub(super) struct RawBearers {
    /// Largest distance of their middles.
    ///
    /// Takes a length from 20 to 2000 mm; what the skin allows when left out.
    pitch: Option<Quantity>,
    /// Thickness of their stock.
    ///
    /// Takes a length over 0 up to 200 mm; must be given.
    thickness: Option<Quantity>,
    /// Height where the table is lowest.
    ///
    /// Takes a length over 0 up to 1000 mm; must be given.
    lowest_height: Option<Quantity>,
    /// Bearers are cut to multiples of this.
    ///
    /// Takes a length from 0.1 to 100 mm; 1 mm, or 1/16 in, when left out.
    cut_step: Option<Quantity>,
    /// Thicknesses of packing that the shop has.
    ///
    /// Takes a list of lengths from 0.05 to 100 mm.
    packing: Option<Vec<Quantity>>,
    /// Thickness of the base board.
    ///
    /// Takes a length over 0 up to 200 mm; `18 mm` when left out.
    base: Option<Quantity>,
}

/// Most kinds of packing that are combined.
const MOST_PACKING: usize = 12;

pub(super) fn bearers(reader: &mut Reader, raw: &RawBearers) -> Option<Bearers> {
    let at = |key: &str| format!("table.bearers.{key}");
    let length = Dimension::Length;
    let pitch = reader.optional(raw.pitch.as_ref(), &at("pitch"), length, Range::Within(20.0, 2000.0));
    let thickness = reader.required(raw.thickness.as_ref(), &at("thickness"), length, Range::Positive(200.0));
    let lowest = reader.required(raw.lowest_height.as_ref(), &at("lowest_height"), length, Range::Positive(1000.0));
    let step = reader.optional(raw.cut_step.as_ref(), &at("cut_step"), length, Range::Within(0.1, 100.0));
    let base = reader.optional(raw.base.as_ref(), &at("base"), length, Range::Positive(200.0));
    let list = raw.packing.as_deref().unwrap_or_default();
    if list.len() > MOST_PACKING {
        reader.faults.push(Fault::new(
            codes::TOO_MANY,
            at("packing"),
            format!("{} thicknesses of packing are given.", list.len()),
            format!("At most {MOST_PACKING} are combined."),
        ));
        return None;
    }
    let mut packing_mm = reader.lengths(list, &at("packing"), Range::Within(0.05, 100.0))?;
    packing_mm.sort_by(|a, b| b.total_cmp(a));
    packing_mm.dedup();
    let default_step = match reader.unit {
        LengthUnit::Millimetre => 1.0,
        LengthUnit::Inch { .. } => MM_PER_INCH / 16.0,
    };
    Some(Bearers {
        pitch_mm: pitch,
        thickness_mm: thickness?,
        lowest_height_mm: lowest?,
        cut_step_mm: step.unwrap_or(default_step),
        packing_mm,
        base_thickness_mm: base.unwrap_or(18.0),
    })
}
