//! `[existing_table]`: a table that is there already, for `overbend predict`.

use super::csv;
use super::inputs::Inputs;
use super::keys::Range::UpTo;
use super::reader::{LONGEST_MM, Reader};
use super::rocker::rocker;
use super::section::Section;
use crate::codes;
use crate::finding::{Fault, Faults};
use crate::job::{Datum, Ends, ExistingTable, LengthAlong, Origin, Readings, Rocker, Smoothing, StationsAlong};
use crate::units::{LengthUnit, Quantity, phrase};

pub(super) fn existing(at: &mut Section<'_, '_>, inputs: &Inputs) -> Option<ExistingTable> {
    let length_mm = at.length("length", UpTo(LONGEST_MM), "Length of its surface.").usual(250.0, 8000.0).required();
    let meaning = "Its surface, described like a rocker.";
    let remedy = "Add a table [existing_table.surface.arc], or another one as a rocker is given.";
    let surface = at.table("surface", meaning, |at| rocker(at, inputs)).needed(remedy);
    let (middle_mm, beyond_mm) = (None, (0.0, 0.0));
    let length_along = LengthAlong::Base;
    Some(ExistingTable { length_mm: length_mm?, middle_mm, beyond_mm, length_along, surface: surface? })
}

/// A table from heights of its surface over a straight line, read at stations along that line and listed as comma
/// separated values, in growing or falling order. It reaches from the first station to the last, and no further than one
/// more step of the stations there. The middle of the board lies at the station `middle_mm`; where nobody said at 0 if
/// stations go below it, else halfway.
///
/// # Errors
/// What is wrong in which line; a middle that is not on the table.
pub fn table_from_heights(
    name: &str,
    text: &str,
    unit: LengthUnit,
    middle_mm: Option<f64>,
) -> Result<ExistingTable, Faults> {
    let mut reader = Reader { unit, ..Reader::default() };
    let read = csv::read(&mut reader, text, (name, "existing_table.surface"), &csv::HEIGHTS);
    let read = read.filter(|_| reader.faults.is_empty()).ok_or(reader.faults)?;
    let (mut readings, file) = (read.readings, read.file);
    let mut places: Vec<(f64, f64)> = readings.iter().map(|r| (r.station_mm, r.height_mm)).collect();
    places.sort_by(|a, b| a.0.total_cmp(&b.0));
    places.dedup_by(|b, a| a.0 == b.0);
    let [(first, first_height), (second, _), .., (before, _), (last, last_height)] = places[..] else {
        let message = format!("{name} does not hold the heights of a table.");
        let remedy = "Give a line with station and height for every place that was read, four at least.";
        return Err(Fault::new(codes::TOO_FEW_READINGS, "existing_table.surface", message, remedy).into());
    };
    let halfway = 0.5 * (first + last);
    let middle_mm = middle_mm.unwrap_or(if first < 0.0 || read.origin == Some(Origin::Middle) { 0.0 } else { halfway });
    if !(first < middle_mm && middle_mm < last) {
        let [middle, first, last] = [middle_mm, first, last].map(Quantity::exact);
        let message = phrase!("the middle of the board, at station {}, is not on the table.", middle);
        let remedy = phrase!("{} reaches from {} to {}; give its station with --middle.", name, first, last);
        return Err(Fault::new(codes::TABLE_MIDDLE, "existing_table.surface", message, remedy).into());
    }
    readings.iter_mut().for_each(|r| r.station_mm -= first);
    let readings = Readings {
        readings,
        datum: Datum::Straightedge,
        along: StationsAlong::Datum,
        origin: Origin::Tail,
        error_mm: None,
        file: Some(file),
        smoothing: Smoothing::Likelihood,
        excluded: Vec::new(),
    };
    Ok(ExistingTable {
        length_mm: libm::hypot(last - first, last_height - first_height),
        middle_mm: Some(middle_mm - first),
        beyond_mm: (second - first, last - before),
        length_along: LengthAlong::Straight,
        surface: Rocker::Measured { readings, ends: Ends::Free },
    })
}
