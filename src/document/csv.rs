//! Heights or thicknesses at stations in a file of separated values: which column is which, in what unit, counted from
//! where.

use std::ops::Range;

use super::keys;
use super::reader::{LONGEST_MM, Reader, THICKEST_MM};
use crate::codes;
use crate::finding::{Fault, FilePlace};
use crate::job::{Origin, Reading, ReadingsFile};
use crate::units::{Dimension, LengthUnit, Quantity, parse_quantity, phrase};

/// Most readings of one board.
pub(super) const MOST_READINGS: usize = 2000;
/// Stations that are read.
const STATIONS: keys::Range = keys::Range::Within(-LONGEST_MM, LONGEST_MM);

/// What is read at each station.
pub(super) struct Values {
    /// What it is called in messages and in the heading of its column.
    word: &'static str,
    pub(super) range: keys::Range,
}

/// Heights of a board or a table.
pub(super) const HEIGHTS: Values = Values { word: "height", range: STATIONS };
/// Thicknesses of a layer.
pub(super) const THICKNESSES: Values = Values { word: "thickness", range: keys::Range::UpTo(THICKEST_MM) };

/// What a file of readings holds.
pub(super) struct FileOfReadings {
    pub(super) readings: Vec<Reading>,
    pub(super) file: ReadingsFile,
    /// Where its heading says that stations are counted from.
    pub(super) origin: Option<Origin>,
}

/// A line that holds something.
struct Line<'t> {
    /// Bytes before it in the file.
    start: usize,
    /// Counted from 1.
    number: usize,
    text: &'t str,
}

/// One value of a line: where it stands in the line, and what it says without quotes.
struct CsvCell {
    bytes: Range<usize>,
    text: String,
}

/// The columns that are read.
struct Columns {
    station: Column,
    /// Heights, the latest last; where more than one was filled in, the latest counts.
    heights: Vec<Column>,
    origin: Option<Origin>,
    /// Whether a heading named them: other columns and empty heights are then passed over.
    named: bool,
}

/// A column: its number, and the unit of its bare numbers where the heading gives one.
struct Column {
    at: usize,
    unit: Option<String>,
}

impl Line<'_> {
    fn place(&self, name: &str, bytes: Range<usize>) -> FilePlace {
        let (file, text) = (name.to_owned(), self.text.to_owned());
        FilePlace { file, line: self.number, line_start: self.start, bytes, text }
    }

    fn whole(&self, name: &str) -> FilePlace {
        self.place(name, 0..self.text.len())
    }
}

/// The lines that hold something, without remarks.
fn lines_of(text: &str) -> Vec<Line<'_>> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut start = 0;
    let mut lines = Vec::new();
    for (i, line) in text.split_inclusive('\n').enumerate() {
        let trimmed = line.trim_end();
        if !trimmed.trim_start().is_empty() && !trimmed.trim_start().starts_with('#') {
            lines.push(Line { start, number: i + 1, text: trimmed });
        }
        start += line.len();
    }
    lines
}

/// Reads a station and a height, or another of `values`, from each line.
///
/// Commas separate values, or semicolons or tabs, and then a comma is the decimal sign. Lines that begin with `#` are
/// remarks. A first line without numbers is a heading: it may name columns (`station`, `height`), give each its unit
/// (`height_cm`, `height (in)`) and say where stations are counted from (`station_from_middle_mm`). Faults are reported at
/// `path` with their place in the file; `None` where there is one.
pub(super) fn read(
    reader: &mut Reader,
    text: &str,
    (name, path): (&str, &str),
    values: &Values,
) -> Option<FileOfReadings> {
    let lines = lines_of(text);
    if lines.len() > MOST_READINGS + 1 {
        let remedy = phrase!("At most {} are read; every {} is plenty.", MOST_READINGS, Quantity::fine(5.0));
        reader.fault(codes::TOO_MANY, path, format!("{} readings are given.", lines.len()), remedy);
        return None;
    }
    let faults_before = reader.faults.len();
    let separator = lines.first().map_or(',', |l| [';', '\t'].into_iter().find(|c| l.text.contains(*c)).unwrap_or(','));
    let begins_number = |c: &CsvCell| c.text.starts_with(|c: char| c.is_ascii_digit() || "+-.".contains(c));
    let mut lines = lines.into_iter().peekable();
    let mut columns = Columns {
        station: Column { at: 0, unit: None },
        heights: vec![Column { at: 1, unit: None }],
        origin: None,
        named: false,
    };
    if let Some(heading) = lines.next_if(|l| !split(l.text, separator).iter().any(begins_number)) {
        match columns_of(&heading, separator, (name, path), values.word) {
            Ok(found) => columns = found,
            Err(fault) => {
                reader.faults.push(*fault);
                return None;
            }
        }
    }
    let lines: Vec<(Vec<CsvCell>, Line<'_>)> = lines.map(|l| (split(l.text, separator), l)).collect();
    let filled = |c: &Column| lines.iter().any(|(cells, _)| cells.get(c.at).is_some_and(|c| !c.text.is_empty()));
    let height = columns.heights.iter().rev().find(|c| filled(c)).or(columns.heights.first())?;
    let mut read = FileOfReadings {
        readings: Vec::new(),
        file: ReadingsFile { name: name.to_owned(), lines: Vec::new() },
        origin: columns.origin,
    };
    for (cells, line) in &lines {
        let (station, z) = (cells.get(columns.station.at), cells.get(height.at));
        let (Some(station), Some(z), true) = (station, z, columns.named || cells.len() == 2) else {
            let message = format!("this line has {} values.", cells.len());
            let remedy =
                format!("Each line holds a station and a {}, separated by a comma, a semicolon or a tab.", values.word);
            reader.faults.push(Fault::new(codes::WRONG_SHAPE, path, message, remedy).in_file(line.whole(name)));
            continue;
        };
        if columns.named && z.text.is_empty() {
            continue;
        }
        let station_mm = length(reader, (station, "station", STATIONS), &columns.station, (line, name, path));
        let height_mm = length(reader, (z, values.word, values.range), height, (line, name, path));
        if let (Some(station_mm), Some(height_mm)) = (station_mm, height_mm) {
            read.readings.push(Reading { station_mm, height_mm });
            read.file.lines.push(line.whole(name));
        }
    }
    (reader.faults.len() == faults_before).then_some(read)
}

/// One length, mm.
fn length(
    reader: &mut Reader,
    (cell, word, range): (&CsvCell, &str, keys::Range),
    column: &Column,
    (line, name, path): (&Line<'_>, &str, &str),
) -> Option<f64> {
    let bare = cell.text.ends_with(|c: char| c.is_ascii_digit() || c == '.');
    let text = match &column.unit {
        Some(unit) if bare => format!("{} {unit}", cell.text),
        _ => cell.text.clone(),
    };
    let before = reader.faults.len();
    let found = reader.written(&text, (path, Some(word)), Dimension::Length, range);
    for fault in &mut reader.faults[before..] {
        fault.place = Some(line.place(name, cell.bytes.clone()));
    }
    found
}

/// The values of a line, quotes and blanks around them taken off, and decimal commas made points. Our own, because the `csv`
/// crate does not tell where in its line a value stands, and faults point there.
fn split(line: &str, separator: char) -> Vec<CsvCell> {
    let mut cells = Vec::new();
    let mut start = 0;
    let mut quoted = false;
    for (at, c) in line.char_indices().chain([(line.len(), separator)]) {
        let opens = c == '"' && line[start..at].trim().is_empty();
        // A quote within a value that is not quoted stands for inches.
        quoted = opens || (quoted && c != '"');
        if (c != separator || quoted) && at < line.len() {
            continue;
        }
        let raw = &line[start..at];
        let trimmed = raw.trim();
        let unquoted = trimmed.strip_prefix('"').and_then(|t| t.strip_suffix('"')).unwrap_or(trimmed).trim();
        let from = start + (raw.len() - raw.trim_start().len());
        let numeric = unquoted.starts_with(|c: char| c.is_ascii_digit() || "+-,".contains(c));
        let text = if numeric { unquoted.replace(',', ".") } else { unquoted.to_owned() };
        cells.push(CsvCell { bytes: from..from + trimmed.len(), text });
        start = (at + separator.len_utf8()).min(line.len());
    }
    cells
}

/// Words of a heading that are no units.
const WORDS: [&str; 33] = [
    "station",
    "stations",
    "height",
    "heights",
    "thickness",
    "core",
    "ply",
    "from",
    "middle",
    "tail",
    "tip",
    "expected",
    "at",
    "release",
    "after",
    "a",
    "day",
    "one",
    "later",
    "above",
    "over",
    "floor",
    "along",
    "base",
    "board",
    "table",
    "the",
    "of",
    "on",
    "read",
    "measured",
    "number",
    "reading",
];

/// What a heading says.
fn columns_of(
    heading: &Line<'_>,
    separator: char,
    (name, path): (&str, &str),
    value: &str,
) -> Result<Columns, Box<Fault>> {
    let cells = split(heading.text, separator);
    let mut columns = Vec::new();
    let (mut station, mut heights, mut origin) = (None, Vec::new(), None);
    for (at, cell) in cells.iter().enumerate() {
        let lower = cell.text.to_lowercase();
        let words: Vec<&str> =
            lower.split(|c: char| c.is_whitespace() || "_()[],.:/".contains(c)).filter(|w| !w.is_empty()).collect();
        let has = |word: &str| words.iter().any(|w| *w == word || w.strip_suffix('s') == Some(word));
        let unit = match words[..] {
            [_, .., last] if !WORDS.contains(&last) => Some(last.to_owned()),
            _ => None,
        };
        if let Some(unit) = &unit
            && parse_quantity(&format!("1 {unit}"), Dimension::Length, LengthUnit::Millimetre).is_err()
        {
            let message = format!("`{unit}` in the heading `{}` is not a unit of length.", cell.text);
            let remedy =
                format!("Units that fit: {}; such as {value}_mm or \"{value} (in)\".", Dimension::Length.units());
            let place = heading.place(name, cell.bytes.clone());
            return Err(Box::new(Fault::new(codes::WRONG_UNIT, path, message, remedy).in_file(place)));
        }
        if has("station") {
            station = station.or(Some(at));
            let from = |word: &str, origin: Origin| has(word).then_some(origin);
            origin = from("middle", Origin::Middle).or(from("tail", Origin::Tail)).or(from("tip", Origin::Tip));
        } else if has(value) {
            heights.push(at);
        }
        columns.push(unit);
    }
    let column = |at: usize| Column { at, unit: columns[at].clone() };
    match (station, &heights[..]) {
        (Some(station), [_, ..]) => {
            let heights = heights.iter().map(|&at| column(at)).collect();
            Ok(Columns { station: column(station), heights, origin, named: true })
        }
        _ if columns.len() == 2 => Ok(Columns { station: column(0), heights: vec![column(1)], origin, named: false }),
        _ => {
            let message = format!("the heading `{}` does not say which column is which.", heading.text);
            let remedy = format!("Name two columns `station` and `{value}`, such as station_mm,{value}_mm.");
            Err(Box::new(Fault::new(codes::WRONG_SHAPE, path, message, remedy).in_file(heading.whole(name))))
        }
    }
}

#[cfg(test)]
mod tests;
