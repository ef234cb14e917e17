//! `[existing_table]`: a table that is there already, for `overbend predict`.

use serde::Deserialize;

use super::csv;
use super::inputs::Inputs;
use super::quantity::Quantity;
use super::reader::{LONGEST_MM, Range, Reader};
use super::rocker::{self, RawRocker};
use crate::finding::Fault;
use crate::job::{Datum, Ends, ExistingTable, LengthAlong, Origin, Readings, Rocker, Smoothing, StationsAlong};
use crate::units::{Dimension, LengthUnit};

#[derive(Debug, Default, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default)]
pub(super) struct RawExistingTable {
    /// Length of its surface.
    ///
    /// Takes a length over 0 up to 20000 mm; must be given.
    length: Option<Quantity>,
    /// Its surface, said in the ways that a rocker is.
    surface: Option<RawRocker>,
}

/// Names of the files that the table wants.
pub(super) fn files(raw: &RawExistingTable) -> Vec<String> {
    raw.surface.iter().flat_map(rocker::files).collect()
}

pub(super) fn check(reader: &mut Reader, raw: Option<RawExistingTable>, inputs: &Inputs) -> Option<ExistingTable> {
    let raw = raw?;
    let within = Range::Positive(LONGEST_MM);
    let length_mm = reader.required(raw.length.as_ref(), "existing_table.length", Dimension::Length, within);
    let before = reader.faults.len();
    let surface = rocker::check(reader, raw.surface, inputs);
    // A surface is said as a rocker is, in another place of the document.
    for fault in &mut reader.faults[before..] {
        fault.path = fault.path.replacen("rocker", "existing_table.surface", 1);
        fault.remedy = fault.remedy.replace("[rocker.", "[existing_table.surface.");
        fault.message = fault.message.replace("`rocker`", "`surface`");
    }
    Some(ExistingTable { length_mm: length_mm?, length_along: LengthAlong::Base, surface: surface? })
}

/// A table from heights of its surface over a straight line, read at stations along that line and listed as comma
/// separated values. It reaches from the first station to the last; stations below zero are counted from its middle.
///
/// # Errors
/// What is wrong in which line.
pub fn table_from_heights(name: &str, text: &str, unit: LengthUnit) -> Result<ExistingTable, Vec<Fault>> {
    let mut reader = Reader::new(Vec::new());
    reader.unit = unit;
    let read = csv::read(&mut reader, text, name, "existing_table.surface");
    let read = read.filter(|_| reader.faults.is_empty()).ok_or(reader.faults)?;
    let (mut readings, file) = (read.readings, read.file);
    let ends = readings
        .iter()
        .map(|r| r.station_mm)
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), s| (a.min(s), b.max(s)));
    let (origin, length_mm) = if ends.0 < 0.0 || read.origin == Some(Origin::Middle) {
        (Origin::Middle, 2.0 * ends.1.max(-ends.0))
    } else {
        readings.iter_mut().for_each(|r| r.station_mm -= ends.0);
        (Origin::Tail, ends.1 - ends.0)
    };
    let few = readings.len() < 2 || length_mm.is_nan() || length_mm <= 0.0;
    if few {
        let message = format!("{name} does not hold the heights of a table.");
        let remedy = "Give a line with station and height for every place that was read.";
        return Err(vec![Fault::new("too-few-readings", "existing_table.surface", message, remedy)]);
    }
    let readings = Readings {
        readings,
        datum: Datum::Straightedge,
        along: StationsAlong::Datum,
        origin,
        error_mm: None,
        file: Some(file),
        smoothing: Smoothing::Likelihood,
        excluded: Vec::new(),
    };
    let surface = Rocker::Measured { readings, ends: Ends::Free };
    Ok(ExistingTable { length_mm, length_along: LengthAlong::Straight, surface })
}
