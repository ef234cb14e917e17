//! `[existing_table]`: a table that is there already, for `overbend predict`.

use serde::Deserialize;

use super::quantity::Quantity;
use super::reader::{LONGEST_MM, Range, Reader};
use super::rocker::{self, RawRocker};
use crate::job::ExistingTable;
use crate::units::Dimension;

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct RawExistingTable {
    length: Option<Quantity>,
    surface: Option<RawRocker>,
}

pub(super) fn check(reader: &mut Reader, raw: Option<RawExistingTable>) -> Option<ExistingTable> {
    let raw = raw?;
    let within = Range::Positive(LONGEST_MM);
    let length_mm = reader.required(raw.length.as_ref(), "existing_table.length", Dimension::Length, within);
    let before = reader.faults.len();
    let surface = rocker::check(reader, raw.surface);
    // A surface is said as a rocker is, in another place of the document.
    for fault in &mut reader.faults[before..] {
        fault.path = fault.path.replacen("rocker", "existing_table.surface", 1);
        fault.remedy = fault.remedy.replace("[rocker.", "[existing_table.surface.");
        fault.message = fault.message.replace("`rocker`", "`surface`");
    }
    Some(ExistingTable { length_mm: length_mm?, surface: surface? })
}
