//! Boards that were measured: what one says, and the shop's file with it.

use overbend::built::Shimming;
use overbend::codes;
use overbend::document::{Document, board_readings, shop, table_from_heights};
use overbend::finding::{Fault, Faults, Finding};
use overbend::job::{Datum, ExistingTable, Job, Origin, Readings, Smoothing, StationsAlong};
use overbend::run::{self, Measured, OutputFile, PressedOn};
use overbend::units::{Dimension, LengthUnit, parse_quantity};
use serde::Deserialize;
use serde_json::{Value, json};

use crate::Opened;
use crate::view::{finding, problems};

/// A board that was measured, as it was typed.
#[derive(Debug, Deserialize)]
pub struct Board {
    /// Station and height in each line, with a comma between them.
    readings: String,
    /// Where stations are counted from: `tail`, `middle` or `tip`.
    from: String,
    /// What heights were read from: `floor` or `straightedge`.
    datum: String,
    /// Standard error of a height; found from the readings where it is empty.
    error: String,
    /// What the shop calls the board; numbered where it is empty.
    label: String,
    /// The table that it came off: `designed`, `last`, `existing`, `heights`, or empty where nobody says.
    table: String,
    /// Heights of that table over a straight line, station and height in each line.
    #[serde(default)]
    table_heights: String,
    /// Station of those heights that lies under the middle of the board; empty where that is their own middle.
    #[serde(default)]
    table_middle: String,
    /// Thicknesses of shim, with commas between them; the shop's or common ones where it is empty.
    shims: String,
    /// Whether it is learned from even where no factor explains it.
    #[serde(default)]
    anyway: bool,
}

/// What messages call the readings.
const READINGS: &str = "readings";
/// What messages call the heights of a table.
const TABLE: &str = "heights of the table";

/// What a measured board says, with the files of a calibration.
pub(crate) fn learned(opened: &Opened, board: &Board) -> (Value, Vec<OutputFile>) {
    let document = match Document::parse(&opened.name, &opened.text) {
        Ok(document) => document,
        Err(found) => return (json!({ "problems": problems(&found) }), Vec::new()),
    };
    let job = match document.job_with(&opened.inputs()) {
        Ok(job) => job,
        Err(found) => return (json!({ "problems": problems(&found) }), Vec::new()),
    };
    let learned = measured(&job, board).and_then(|m| run::calibrate(&job, &m));
    let calibration = match learned {
        Ok(calibration) => calibration,
        Err(faults) => return (json!({ "faults": sentences(&faults) }), Vec::new()),
    };
    let shop_file = document.shop_file().unwrap_or_else(|| "shop.toml".to_owned());
    let before = opened.inputs.get(&shop_file).and_then(Value::as_str).unwrap_or_default();
    let kept = shop::with_board(&shop_file, before, &calibration.board);
    let files: Vec<Value> =
        calibration.files.iter().map(|f| json!({ "name": f.name, "bytes": f.bytes.len() })).collect();
    let answer = json!({
        "summary": with_labels(&calibration.summary),
        "checks": calibration.checks.iter().map(|c| check(c, job.unit)).collect::<Vec<_>>(),
        "board": calibration.json["board"],
        "left_out": calibration.board.left_out,
        "shop_file": shop_file,
        "named": document.shop_file().is_some(),
        "shop": kept.as_ref().ok(),
        "problems": kept.as_ref().err().map(|found| problems(found)),
        "files": files,
    });
    (answer, calibration.files)
}

/// Options of the program that messages name, and the labels of the page that stand for them.
const LABELS: [(&str, &str); 11] = [
    ("Say --same-table", "Choose `the table of the last board` under `Pressed on`"),
    ("or --new-table", "or `the table of this document`"),
    ("--new-table where", "or `the table of this document` where"),
    ("Leave --same-table out for the first board", "Choose another table under `Pressed on` for the first board"),
    ("--as-built", "`Heights of the table`"),
    ("--middle", "`Middle of the board at`"),
    ("say --from tip", "choose `tip` under `Stations from`"),
    ("say --from tail", "choose `tail` under `Stations from`"),
    ("another --label", "another `Name of the board`"),
    ("unless --learn-anyway is said", "unless you choose so"),
    ("name your own with --shim", "name your own under `Shims at hand`"),
];

/// A check in words.
fn check(of: &Finding, unit: LengthUnit) -> Value {
    let mut shown = finding(of, unit, &[]);
    for key in ["subject", "remedy"] {
        shown[key] = json!(with_labels(shown[key].as_str().unwrap_or_default()));
    }
    shown
}

/// A message with the page's labels in place of the program's options.
pub(crate) fn with_labels(message: &str) -> String {
    LABELS.iter().fold(message.to_owned(), |text, (option, label)| text.replace(option, label))
}

/// Faults in whole sentences, those of readings with their line.
fn sentences(faults: &[Fault]) -> Vec<String> {
    let one = |f: &Fault| match &f.place {
        Some(place) if place.file == TABLE => format!("Table, line {}: {} {}", place.line, f.message(), f.remedy()),
        Some(place) => format!("Line {}: {} {}", place.line, f.message(), f.remedy()),
        None => format!("{} {}", f.message(), f.remedy()),
    };
    faults.iter().map(|f| with_labels(&one(f))).collect()
}

fn measured(job: &Job, board: &Board) -> Result<Measured, Faults> {
    let how = Readings {
        readings: Vec::new(),
        file: None,
        datum: if board.datum == "straightedge" { Datum::Straightedge } else { Datum::Floor },
        along: StationsAlong::Base,
        origin: Origin::Tail,
        error_mm: length(&board.error, job.unit)?,
        smoothing: Smoothing::Likelihood,
        excluded: Vec::new(),
    };
    let from = match board.from.as_str() {
        "middle" => Some(Origin::Middle),
        "tip" => Some(Origin::Tip),
        _ => None,
    };
    let table = match (board.table.as_str(), &job.existing_table) {
        ("existing", Some(table)) => PressedOn::Existing(table.clone()),
        ("heights", _) => PressedOn::Existing(table_of(board, job.unit)?),
        ("last", _) => PressedOn::SameAsLast,
        ("designed", _) => PressedOn::Designed,
        _ => PressedOn::Unstated,
    };
    let mut thicknesses_mm = Vec::new();
    for typed in board.shims.split(',') {
        thicknesses_mm.extend(length(typed, job.unit)?);
    }
    Ok(Measured {
        readings: board_readings(READINGS, &board.readings, job.unit, from, how)?,
        label: Some(board.label.trim().to_owned()).filter(|l| !l.is_empty()),
        date: None,
        remark: None,
        hours_after_release: None,
        table,
        learn_anyway: board.anyway,
        shimming: Shimming { thicknesses_mm, planing: false },
    })
}

/// The table whose heights were typed.
fn table_of(board: &Board, unit: LengthUnit) -> Result<ExistingTable, Faults> {
    let middle = board.table_middle.trim();
    let middle_mm = match middle {
        "" => None,
        typed => Some(parse_quantity(typed, Dimension::Length, unit).map_err(|_| {
            let message = format!("`{typed}` is not a station.");
            codes::of_argument("measured", message, format!("Write {}.", Dimension::Length.units()))
        })?),
    };
    table_from_heights(TABLE, &board.table_heights, unit, middle_mm)
}

/// A length above zero; nothing where nothing is typed.
fn length(typed: &str, unit: LengthUnit) -> Result<Option<f64>, Faults> {
    let typed = typed.trim();
    if typed.is_empty() {
        return Ok(None);
    }
    match parse_quantity(typed, Dimension::Length, unit) {
        Ok(mm) if mm > 0.0 => Ok(Some(mm)),
        _ => {
            let message = format!("`{typed}` is not a length above zero.");
            Err(codes::of_argument("measured", message, format!("Write {}.", Dimension::Length.units())).into())
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const READINGS_OF_A_BOARD: &str = "0, 42.3\n150, 25.8\n300, 12.9\n450, 4.4\n600, 0.6\n700, 0\n800, 0.7\n950, 4.7\n1100, 13\n1250, 25.4\n1400, 42.6";

    fn learned_on(table: &str, heights: &str, middle: &str) -> Value {
        let text = overbend::document::STARTERS[0].text;
        let opened = Opened { name: "board.toml".into(), text: text.into(), inputs: serde_json::Map::new() };
        let board = Board {
            readings: READINGS_OF_A_BOARD.into(),
            from: "tail".into(),
            datum: "floor".into(),
            error: String::new(),
            label: String::new(),
            table: table.into(),
            table_heights: heights.into(),
            table_middle: middle.into(),
            shims: String::new(),
            anyway: false,
        };
        learned(&opened, &board).0
    }

    /// Heights of a table bent to a circle, over a line through its lowest place.
    fn circle(radius_mm: f64) -> String {
        let height = |x: f64| radius_mm - (radius_mm.powi(2) - x.powi(2)).sqrt();
        (-8..=8).map(|i| f64::from(i) * 100.0).map(|x| format!("{x}, {:.2}\n", height(x))).collect()
    }

    #[test]
    fn a_board_of_a_table_that_was_read_is_explained_by_that_table() {
        let flatter = learned_on("heights", &circle(5600.0), "");
        let steeper = learned_on("heights", &circle(4400.0), "0");
        let factor = |said: &Value| said["board"]["factor"].as_f64().unwrap();
        assert!(factor(&flatter) < 1.0 && factor(&steeper) > 1.0, "{flatter} {steeper}");
    }

    #[test]
    fn a_table_that_was_not_read_is_asked_for_by_the_labels_of_the_page() {
        let none = learned_on("heights", "", "")["faults"].to_string();
        assert!(none.contains("heights of the table"), "{none}");
        let beyond = learned_on("heights", &circle(5000.0), "900")["faults"].to_string();
        assert!(beyond.contains("`Middle of the board at`") && !beyond.contains("--"), "{beyond}");
        let middle = learned_on("heights", &circle(5000.0), "x")["faults"].to_string();
        assert!(middle.contains("`x` is not a station"), "{middle}");
    }
}
