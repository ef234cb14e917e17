//! `[rocker.measured]`: heights read off a board, as a list or in a file of comma-separated values.

use serde::Deserialize;

use super::csv::{self, FileOfReadings, MOST_READINGS, reading_range, too_many};
use super::inputs::Inputs;
use super::quantity::Quantity;
use super::reader::{Range, Reader};
use crate::codes;
use crate::finding::Fault;
use crate::job::{Datum, Ends, Origin, Reading, Readings, Smoothing, StationsAlong};
use crate::units::{Dimension, LengthUnit};

#[derive(Debug, Default, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default)]
pub(super) struct RawMeasured {
    /// File with a station and a height in each line, by its path from this document.
    ///
    /// Takes a text.
    file: Option<Quantity>,
    /// Pairs of station and height.
    ///
    /// Takes a list of pairs of a length from -20000 to 20000 mm and a length from -20000 to 20000 mm.
    readings: Option<Vec<Vec<Quantity>>>,
    /// What heights were read from.
    ///
    /// Takes one of `floor`, `straightedge`; `floor` when left out.
    datum: Option<Quantity>,
    /// Along what stations were read.
    ///
    /// Takes one of `base`, `datum`; `base` when left out.
    along: Option<Quantity>,
    /// Where stations are counted from.
    ///
    /// Takes one of `tail`, `middle`, `tip`; what the file's heading says, or `tail`, when left out.
    from: Option<Quantity>,
    /// How far two readings of one height usually differ.
    ///
    /// Takes a length over 0 up to 50 mm; found from the readings when left out.
    error: Option<Quantity>,
    /// Numbers of readings, from 1, that do not count.
    ///
    /// Takes a list of whole numbers from 1 to 2000.
    exclude: Option<Vec<Quantity>>,
    /// What the curvature does at the ends: free, or fading out.
    ///
    /// Takes one of `free`, `run-out`; `free` when left out.
    ends: Option<Quantity>,
    /// How the smoothness is chosen.
    ///
    /// Takes one of `likelihood`, `cross-validation`; `likelihood` when left out.
    smoothing: Option<Quantity>,
}

/// Largest reading error that leaves a curve to be found, mm.
const LARGEST_ERROR_MM: f64 = 50.0;

/// Files that the table names.
pub(super) fn files(raw: &RawMeasured) -> Option<&Quantity> {
    raw.file.as_ref()
}

/// The readings under `path`, and what the curvature does at the ends.
pub(super) fn check(reader: &mut Reader, raw: &RawMeasured, path: &str, inputs: &Inputs) -> Option<(Readings, Ends)> {
    let key = |key: &str| format!("{path}.{key}");
    let datum = reader.choice(
        raw.datum.as_ref(),
        &key("datum"),
        &[("floor", Datum::Floor), ("straightedge", Datum::Straightedge)],
        Datum::Floor,
    );
    let along = reader.choice(
        raw.along.as_ref(),
        &key("along"),
        &[("base", StationsAlong::Base), ("datum", StationsAlong::Datum)],
        StationsAlong::Base,
    );
    let mut origin = origin(reader, raw.from.as_ref(), &key("from"));
    let ends = reader.choice(
        raw.ends.as_ref(),
        &key("ends"),
        &[("free", Ends::Free), ("run-out", Ends::RunningOut)],
        Ends::Free,
    );
    let smoothing = reader.choice(
        raw.smoothing.as_ref(),
        &key("smoothing"),
        &[("likelihood", Smoothing::Likelihood), ("cross-validation", Smoothing::CrossValidation)],
        Smoothing::Likelihood,
    );
    let error_mm =
        reader.optional(raw.error.as_ref(), &key("error"), Dimension::Length, Range::Positive(LARGEST_ERROR_MM));
    let choices = [("readings", raw.readings.is_some()), ("file", raw.file.is_some())];
    let (readings, file) = match reader.one_of(path, &choices, "where the readings are")? {
        "readings" => (listed(reader, raw.readings.as_deref()?, &key("readings"))?, None),
        _ => {
            let name = reader.text(raw.file.as_ref(), &key("file"))?;
            let text = inputs.text(reader, &name, &key("file"))?;
            let read = csv::read(reader, text, &name, &key("file"))?;
            origin = origin_of(reader, raw.from.is_some().then_some(origin), &read, &key("from"))?;
            (read.readings, Some(read.file))
        }
    };
    let mut excluded = Vec::new();
    for (i, number) in raw.exclude.iter().flatten().enumerate() {
        let at = format!("{path}.exclude[{i}]");
        // Readings are counted from 1 in the document and in every message.
        excluded.extend(reader.count(Some(number), &at, 1, readings.len().max(1)).map(|n| n - 1));
    }
    Some((Readings { readings, file, datum, along, origin, error_mm, smoothing, excluded }, ends))
}

/// From where stations are counted.
pub(super) fn origin(reader: &mut Reader, value: Option<&Quantity>, path: &str) -> Origin {
    let choices = [("tail", Origin::Tail), ("middle", Origin::Middle), ("tip", Origin::Tip)];
    reader.choice(value, path, &choices, Origin::Tail)
}

fn listed(reader: &mut Reader, list: &[Vec<Quantity>], path: &str) -> Option<Vec<Reading>> {
    if list.len() > MOST_READINGS {
        reader.faults.push(too_many(path, list.len()));
        return None;
    }
    let mut readings = Vec::new();
    for (i, pair) in list.iter().enumerate() {
        let path = format!("{path}[{i}]");
        let [station, height] = &pair[..] else {
            reader.faults.push(Fault::new(
                codes::WRONG_SHAPE,
                path,
                format!("a reading has two numbers, not {}.", pair.len()),
                "Write [station, height], such as [150, 12.5].",
            ));
            continue;
        };
        readings.extend(reading(reader, station, height, &format!("{path}[0]"), &format!("{path}[1]")));
    }
    (readings.len() == list.len()).then_some(readings)
}

fn reading(
    reader: &mut Reader,
    station: &Quantity,
    height: &Quantity,
    at_station: &str,
    at_height: &str,
) -> Option<Reading> {
    let range = reading_range();
    let station_mm = reader.optional(Some(station), at_station, Dimension::Length, range);
    let height_mm = reader.optional(Some(height), at_height, Dimension::Length, range);
    Some(Reading { station_mm: station_mm?, height_mm: height_mm? })
}

/// Heights read off a board, listed as comma separated values. How they were read is in `how`, whose own list is replaced;
/// where stations are counted from is in the file's heading, in `from`, or the tail.
///
/// # Errors
/// What is wrong, with its place in the file.
pub fn board_readings(
    name: &str,
    text: &str,
    unit: LengthUnit,
    from: Option<Origin>,
    how: Readings,
) -> Result<Readings, Vec<Fault>> {
    let mut reader = Reader::new(Vec::new());
    reader.unit = unit;
    let read = csv::read(&mut reader, text, name, "measured");
    let read = read.and_then(|read| Some((origin_of(&mut reader, from, &read, "measured")?, read)));
    match read {
        Some((origin, read)) if reader.faults.is_empty() => {
            Ok(Readings { readings: read.readings, file: Some(read.file), origin, ..how })
        }
        _ => Err(reader.faults),
    }
}

/// Where stations are counted from: what the file's heading or the shop says, which must agree, or the tail.
fn origin_of(reader: &mut Reader, from: Option<Origin>, read: &FileOfReadings, path: &str) -> Option<Origin> {
    if let (Some(from), Some(heading)) = (from, read.origin)
        && from != heading
    {
        reader.faults.push(Fault::new(
            codes::WRONG_CHOICE,
            path,
            format!(
                "the heading of {} counts stations from the {}, and `from` from the {}.",
                read.file.name,
                word(heading),
                word(from)
            ),
            "Leave `from` out, or correct the heading.",
        ));
        return None;
    }
    Some(read.origin.or(from).unwrap_or(Origin::Tail))
}

fn word(origin: Origin) -> &'static str {
    match origin {
        Origin::Tail => "tail",
        Origin::Middle => "middle",
        Origin::Tip => "tip",
    }
}
