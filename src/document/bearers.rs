//! `[table.bearers]`: a jig built by hand.

use super::keys::Range::{UpTo, Within};
use super::section::Section;
use crate::job::Bearers;
use crate::units::{LengthUnit, MM_PER_INCH};

/// Most kinds of packing that are combined.
const MOST_PACKING: usize = 12;

pub(super) fn bearers(at: &mut Section<'_, '_>) -> Option<Bearers> {
    let pitch = at.length("pitch", Within(20.0, 2000.0), "Largest centre-to-centre spacing.").usual(25.0, 800.0);
    let pitch_mm = pitch.otherwise("what the skin allows");
    let thickness = at.length("thickness", UpTo(200.0), "Thickness of their stock.").usual(8.0, 150.0).required();
    let meaning = "Height where the table is lowest.";
    let lowest = at.length("lowest_height", UpTo(1000.0), meaning).usual(8.0, 400.0).required();
    let step = at.length("cut_step", Within(0.1, 100.0), "Bearers are cut to multiples of this.");
    let cut_step_mm = step.otherwise("1 mm, or 1/16 in,").unwrap_or(match at.reader.unit {
        LengthUnit::Millimetre => 1.0,
        LengthUnit::Inch { .. } => MM_PER_INCH / 16.0,
    });
    let meaning = "Thicknesses of packing that the shop has.";
    let packing = at.lengths("packing", Within(0.05, 100.0), (0, MOST_PACKING), meaning).optional();
    let mut packing_mm = packing.unwrap_or_default();
    packing_mm.sort_by(|a, b| b.total_cmp(a));
    packing_mm.dedup();
    let base_thickness_mm = at.length("base", UpTo(200.0), "Thickness of the base board.").or(18.0);
    Some(Bearers {
        pitch_mm,
        thickness_mm: thickness?,
        lowest_height_mm: lowest?,
        cut_step_mm,
        packing_mm,
        base_thickness_mm,
    })
}
