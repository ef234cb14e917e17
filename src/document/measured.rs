//! `[rocker.measured]`: heights read off a board, as a list or in a file of comma-separated values.

use serde::Deserialize;

use super::inputs::Inputs;
use super::quantity::Quantity;
use super::reader::{LONGEST_MM, Range, Reader};
use crate::finding::Fault;
use crate::job::{Datum, Ends, Origin, Reading, Readings, ReadingsFile, Smoothing, StationsAlong};
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
    /// Takes one of `tail`, `middle`, `tip`; `tail` when left out.
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

/// Most readings of one board.
const MOST_READINGS: usize = 2000;
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
    let origin = origin(reader, raw.from.as_ref(), &key("from"));
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
            let (readings, file) = from_csv(reader, text, &name, &key("file"))?;
            (readings, Some(file))
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
                "wrong-shape",
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
    let range = Range::Within(-LONGEST_MM, LONGEST_MM);
    let station_mm = reader.optional(Some(station), at_station, Dimension::Length, range);
    let height_mm = reader.optional(Some(height), at_height, Dimension::Length, range);
    Some(Reading { station_mm: station_mm?, height_mm: height_mm? })
}

fn too_many(path: &str, count: usize) -> Fault {
    Fault::new(
        "too-many",
        path,
        format!("{count} readings are given."),
        format!("At most {MOST_READINGS} are read; every 5 mm is plenty."),
    )
}

/// Reads `station, height` lines. Semicolons and tabs part values too, and then a comma may be the decimal sign. Lines
/// that begin with `#` are remarks; a first line without numbers is a heading, and says `_in` or `_mm` if it knows.
pub(super) fn from_csv(
    reader: &mut Reader,
    text: &str,
    name: &str,
    path: &str,
) -> Option<(Vec<Reading>, ReadingsFile)> {
    let lines: Vec<(usize, &str)> = text
        .lines()
        .enumerate()
        .map(|(i, line)| (i + 1, line.trim()))
        .filter(|(_, line)| !line.is_empty() && !line.starts_with('#'))
        .collect();
    if lines.len() > MOST_READINGS + 1 {
        reader.faults.push(too_many(path, lines.len()));
        return None;
    }
    let faults_before = reader.faults.len();
    let document_unit = reader.unit;
    let (mut readings, mut numbers) = (Vec::new(), Vec::new());
    for (i, (number, line)) in lines.into_iter().enumerate() {
        let cells = cells(line);
        let heading = cells.iter().all(|c| !c.contains(|c: char| c.is_ascii_digit()));
        if i == 0 && heading {
            reader.unit = heading_unit(&cells).unwrap_or(document_unit);
            continue;
        }
        let [station, height] = &cells[..] else {
            reader.faults.push(Fault::new(
                "wrong-shape",
                path,
                format!("line {number} of {name} has {} values: `{line}`.", cells.len()),
                "Each line holds a station and a height, parted by a comma, a semicolon or a tab.",
            ));
            continue;
        };
        let before = reader.faults.len();
        let as_text = |cell: &str| Quantity::Text(cell.to_owned());
        readings.extend(reading(reader, &as_text(station), &as_text(height), path, path));
        numbers.push(number);
        for fault in &mut reader.faults[before..] {
            fault.message =
                format!("line {number} of {name}, `{line}`: {}", fault.message.replace("`file`", "a value"));
        }
    }
    reader.unit = document_unit;
    let file = ReadingsFile { name: name.to_owned(), lines: numbers };
    (reader.faults.len() == faults_before).then_some((readings, file))
}

/// Heights read off a board, listed as comma separated values: how they were read is in `how`, whose own list is
/// replaced.
///
/// # Errors
/// What is wrong in which line.
pub fn board_readings(name: &str, text: &str, unit: LengthUnit, how: Readings) -> Result<Readings, Vec<Fault>> {
    let mut reader = Reader::new(Vec::new());
    reader.unit = unit;
    match from_csv(&mut reader, text, name, "measured") {
        Some((readings, file)) if reader.faults.is_empty() => Ok(Readings { readings, file: Some(file), ..how }),
        _ => Err(reader.faults),
    }
}

fn cells(line: &str) -> Vec<String> {
    let clean = |cell: &str| cell.trim().trim_matches('"').trim().to_owned();
    if line.contains([';', '\t']) {
        line.split([';', '\t']).map(|cell| clean(cell).replace(',', ".")).collect()
    } else {
        line.split(',').map(clean).collect()
    }
}

fn heading_unit(cells: &[String]) -> Option<LengthUnit> {
    let all = |endings: [&str; 3]| {
        cells.iter().all(|c| endings.iter().any(|e| c.to_lowercase().trim_end_matches([')', ']']).ends_with(e)))
    };
    if all(["_mm", " mm", "(mm"]) {
        Some(LengthUnit::Millimetre)
    } else if all(["_in", " in", "(in"]) {
        Some(LengthUnit::Inch { denominator: 64 })
    } else {
        None
    }
}
