//! `[machine]`: what parts are cut on.

use super::frame::{DEFAULT_GAP_MM, DEFAULT_STRESS_MPA, LONGEST_KEY};
use super::keys::Range::{UpTo, Within};
use super::reader::LONGEST_MM;
use super::section::Section;
use crate::codes;
use crate::job::{Frame, Joint, Machine, Split, Stock, Table};

/// Shortest bed, mm: half a rib's joint has room on it.
const LEAST_BED_MM: f64 = 200.0;

pub(super) fn machine(at: &mut Section<'_, '_>) -> Option<Machine> {
    let bed = Within(LEAST_BED_MM, LONGEST_MM);
    let meaning = "Length of the bed that the cutter gets to; sheets are moved on along it.";
    let length = at.length("bed_length", bed, meaning).optional();
    let width = at.length("bed_width", bed, "Width of the bed that the cutter gets to.").optional();
    let meaning = "Longest piece that can be cut, where that is not the bed's length.";
    let longest_mm = at.length("longest", bed, meaning).optional();
    let meaning = "Clear width beside the blade of a bandsaw: the widest piece that passes.";
    let throat_mm = at.length("throat", UpTo(LONGEST_MM), meaning).optional();
    let meaning = "Diameter of the dowels that place a sheet on the bed when it is moved on.";
    let dowel_mm = at.length("dowel", Within(3.0, 30.0), meaning).or(Machine::USUAL_DOWEL_MM);
    if at.has("bed_length") != at.has("bed_width") {
        let missing = if at.has("bed_length") { "bed_width" } else { "bed_length" };
        at.missing(missing, "Give both `bed_length` and `bed_width`.");
        return None;
    }
    Some(Machine { bed_mm: length.zip(width), longest_mm, throat_mm, dowel_mm })
}

/// Splits ribs into what the machine takes, with a key where the document names no joint.
pub(super) fn split_ribs(at: &mut Section<'_, '_>, table: &mut Table, machine: Option<&Machine>, stock: &Stock) {
    let Frame::Ribs(frame) = &mut table.frame else { return };
    let most_mm = machine.map_or(f64::INFINITY, |m| m.largest_part_mm(table.cutting.cutter_mm, stock).0);
    let key =
        if machine.is_some_and(|m| m.longest_mm == Some(most_mm)) { "machine.longest" } else { "machine.bed_length" };
    match &mut frame.split {
        Some(split) if most_mm < split.longest_mm => (split.longest_mm, split.longest_key) = (most_mm, key),
        None if most_mm.is_finite() => {
            let joint = Joint::Key { gap_mm: DEFAULT_GAP_MM };
            let (longest_mm, stress_mpa) = (most_mm, DEFAULT_STRESS_MPA);
            frame.split = Some(Split { longest_mm, longest_key: key, joint, stress_mpa });
        }
        _ => {}
    }
    if frame.split.is_some_and(|s| s.longest_mm.is_infinite()) {
        let remedy = "Give the longest piece, or the bed of the machine under [machine].";
        at.fault(codes::MISSING_KEY, LONGEST_KEY, "`longest` is missing.", remedy);
    }
}
