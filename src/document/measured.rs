//! `[rocker.measured]`: heights read off a board, as a list or in a file of comma-separated values.

use super::csv::{self, FileOfReadings};
use super::inputs::Inputs;
use super::keys::Range::UpTo;
use super::reader::{Reader, last_of};
use super::section::Section;
use crate::codes;
use crate::finding::{Fault, Faults};
use crate::job::{Datum, Ends, Origin, Reading, Readings, Smoothing, StationsAlong};
use crate::units::{Dimension, LengthUnit};

/// Largest reading error that leaves a curve to be found, mm.
const LARGEST_ERROR_MM: f64 = 50.0;
/// From where stations are counted.
pub(super) const ORIGINS: [(&str, Origin); 3] =
    [("tail", Origin::Tail), ("middle", Origin::Middle), ("tip", Origin::Tip)];

/// The readings, and what the curvature does at the ends.
pub(super) fn measured(at: &mut Section<'_, '_>, inputs: &Inputs) -> Option<(Readings, Ends)> {
    let file = at.file("file", "File with a station and a height in each line, by its path from this document.");
    let file = file.optional();
    let pair = [(Dimension::Length, csv::HEIGHTS.range); 2];
    let shown = ("[[0, 45], [150, 12.5]]", "Pairs of station and height.");
    let listed = at.pairs("readings", pair, (0, csv::MOST_READINGS), shown).optional();
    let datums = [("floor", Datum::Floor), ("straightedge", Datum::Straightedge)];
    let datum = at.choice("datum", &datums, "What heights were read from.");
    let along = [("base", StationsAlong::Base), ("datum", StationsAlong::Datum)];
    let along = at.choice("along", &along, "Along what stations were read.");
    let from = at.word("from", &ORIGINS, "Where stations are counted from.");
    let from = from.otherwise("what the file's heading says, or `tail`,");
    let meaning = "Standard error of one reading.";
    let error_mm = at.length("error", UpTo(LARGEST_ERROR_MM), meaning).otherwise("found from the readings");
    let (most, meaning) = (csv::MOST_READINGS, "Numbers of readings, from 1, that do not count.");
    let exclude = at.counts("exclude", (1, most), (0, most), meaning).optional();
    let ends = [("free", Ends::Free), ("run-out", Ends::RunningOut)];
    let ends = at.choice("ends", &ends, "What the curvature does at the ends: free, or fading out.");
    let ways = [("likelihood", Smoothing::Likelihood), ("cross-validation", Smoothing::CrossValidation)];
    let smoothing = at.choice("smoothing", &ways, "How the smoothness is chosen.");
    let (readings, file, origin) = match at.one_of(&["readings", "file"], "where the readings are")? {
        "readings" => {
            let reading = |(station_mm, height_mm)| Reading { station_mm, height_mm };
            (listed?.into_iter().map(reading).collect(), None, from.unwrap_or(Origin::Tail))
        }
        _ => {
            let (name, path) = (file?, at.path_of("file"));
            let text = inputs.text(at.reader, &name, &path)?;
            let read = csv::read(at.reader, text, (&name, &path), &csv::HEIGHTS)?;
            let origin = origin_of(at.reader, from, &read, (&at.path_of("from"), Origin::Tail))?;
            (read.readings, Some(read.file), origin)
        }
    };
    // Readings are counted from 1 in the document and in every message.
    let excluded: Vec<usize> = exclude.unwrap_or_default().into_iter().map(|n| n - 1).collect();
    if let Some(i) = excluded.iter().position(|n| *n >= readings.len()) {
        let count = Vec::<Reading>::len(&readings);
        let message = format!("reading {} is to be left out, and there are {count}.", excluded[i] + 1);
        at.fault(codes::OUT_OF_RANGE, &format!("exclude[{i}]"), message, format!("Write a number from 1 to {count}."));
    }
    Some((Readings { readings, file, datum, along, origin, error_mm, smoothing, excluded }, ends))
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
) -> Result<Readings, Faults> {
    let mut reader = Reader { unit, ..Reader::default() };
    let read = csv::read(&mut reader, text, (name, "measured"), &csv::HEIGHTS);
    let read = read.and_then(|read| Some((origin_of(&mut reader, from, &read, ("measured", Origin::Tail))?, read)));
    match read {
        Some((origin, read)) if reader.faults.is_empty() => {
            Ok(Readings { readings: read.readings, file: Some(read.file), origin, ..how })
        }
        _ => Err(reader.faults),
    }
}

/// Where stations are counted from: what the file's heading or the key at `path` says, which must agree, or the usual.
pub(super) fn origin_of(
    reader: &mut Reader,
    from: Option<Origin>,
    read: &FileOfReadings,
    (path, usual): (&str, Origin),
) -> Option<Origin> {
    if let (Some(from), Some(heading)) = (from, read.origin)
        && from != heading
    {
        let key = if path.contains('.') { last_of(path) } else { "from" };
        reader.faults.push(Fault::new(
            codes::WRONG_CHOICE,
            path,
            format!(
                "the heading of {} counts stations from the {}, and `{key}` from the {}.",
                read.file.name,
                word(heading),
                word(from)
            ),
            format!("Leave `{key}` out, or correct the heading."),
        ));
        return None;
    }
    Some(read.origin.or(from).unwrap_or(usual))
}

fn word(origin: Origin) -> &'static str {
    match origin {
        Origin::Tail => "tail",
        Origin::Middle => "middle",
        Origin::Tip => "tip",
    }
}
