//! Boards that were measured: what one says, and the shop's file with it.

use overbend::built::Shimming;
use overbend::codes;
use overbend::document::{Document, board_readings, shop};
use overbend::finding::{Fault, Faults};
use overbend::job::{Datum, Job, Origin, Readings, Smoothing, StationsAlong};
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
    /// The table that it came off: `designed`, `last`, `existing`, or empty where nobody says.
    table: String,
    /// Thicknesses of shim, with commas between them; the shop's or common ones where it is empty.
    shims: String,
    /// Whether it is learned from even where no factor explains it.
    #[serde(default)]
    anyway: bool,
}

/// What messages call the readings.
const READINGS: &str = "readings";

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
    let told = measured(&job, board).and_then(|m| run::calibrate(&job, &m));
    let calibration = match told {
        Ok(calibration) => calibration,
        Err(faults) => return (json!({ "faults": sentences(&faults) }), Vec::new()),
    };
    let shop_file = document.shop_file().unwrap_or_else(|| "shop.toml".to_owned());
    let before = opened.inputs.get(&shop_file).and_then(Value::as_str).unwrap_or_default();
    let kept = shop::with_board(&shop_file, before, &calibration.board);
    let files: Vec<Value> =
        calibration.files.iter().map(|f| json!({ "name": f.name, "bytes": f.bytes.len() })).collect();
    let answer = json!({
        "summary": calibration.summary,
        "checks": calibration.checks.iter().map(|c| finding(c, job.unit, &[])).collect::<Vec<_>>(),
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

/// Faults in whole sentences, those of readings with their line.
fn sentences(faults: &[Fault]) -> Vec<String> {
    let one = |f: &Fault| match &f.place {
        Some(place) => format!("Line {}: {} {}", place.line, f.message(), f.remedy()),
        None => format!("{} {}", f.message(), f.remedy()),
    };
    faults.iter().map(one).collect()
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
            Err(Fault::new(codes::ARGUMENT, "measured", message, format!("Write {}.", Dimension::Length.units()))
                .into())
        }
    }
}
