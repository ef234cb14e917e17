//! A measured board: its factor, what the shop knows with it, and what the table needs.

use serde_json::Value;

use super::judged::{self, Judged, ReadOff};
use super::predict::surface_of;
use super::{OutputFile, file, json_bytes};
use crate::built::{Design, Shimming, design, scheduled, surface_of_kept};
use crate::calibrate::{OffTable, boards, fit_board, shares_along, table_id, thinned_nodes};
use crate::codes;
use crate::draft::{self, Calibrated};
use crate::export::{write_csv, write_html};
use crate::finding::{Fault, Faults, Finding};
use crate::job::{
    Ends, ExistingTable, Job, KeptBoard, LONGEST_TEXT, LengthAlong, Lies, MOST_HOURS, PressedAs, Readings, Rocker, Shop,
};
use crate::laminate::Laminate;
use crate::rocker::measured::{FINEST_READING_MM, Fit, FitOptions, fit};
use crate::table::OverbentTable;

/// The table that a measured board was pressed on.
#[derive(Debug, Clone, PartialEq)]
pub enum PressedOn {
    /// Nobody said. It is taken to be the one that this job designs, unless the readings rather fit the one of the last
    /// board of this job: then the board is kept and not learned from until the shop says which.
    Unstated,
    /// The one that a build of this job designs, with what the shop knew before this board.
    Designed,
    /// One that was measured, or that the document describes.
    Existing(ExistingTable),
    /// The one of the last board of this job.
    SameAsLast,
    /// The one of the board of this name, whose later readings these are: they count in place of its earlier ones.
    Again(String),
}

/// A board that was measured.
#[derive(Debug, Clone, PartialEq)]
pub struct Measured {
    /// Heights read off it.
    pub readings: Readings,
    /// What the shop calls it; numbered where it does not say.
    pub label: Option<String>,
    /// When it was measured, year-month-day.
    pub date: Option<String>,
    /// What else is to be remembered.
    pub remark: Option<String>,
    /// Hours after release at which it was read; a day where nobody says.
    pub hours_after_release: Option<f64>,
    /// The table.
    pub table: PressedOn,
    /// Whether it is learned from even where no factor explains it.
    pub learn_anyway: bool,
    /// How the shop wants to correct the table.
    pub shimming: Shimming,
}

/// What a measured board says.
#[derive(Debug, Clone, PartialEq)]
pub struct Calibration {
    /// A short text for the builder.
    pub summary: String,
    /// `shims.csv`, `calibration.json` and `book.html`.
    pub files: Vec<OutputFile>,
    /// All figures, as in `calibration.json`.
    pub json: Value,
    /// The board as it is to be kept.
    pub board: KeptBoard,
    /// What to look at; a board that is left out of learning for one of these says so there.
    pub checks: Vec<Finding>,
}

/// Places along the board at which shares are told.
const SHARES: usize = 9;
/// The key that the readings stand under in faults.
const READINGS: &str = "measured.readings";

/// Calibrates with one measured board.
///
/// # Errors
/// Faults of the job, of label and remark, of the readings (paths under `measured`), of the table or of the shop's boards.
pub fn calibrate(job: &Job, measured: &Measured) -> Result<Calibration, Faults> {
    learned(job, measured).map_err(|faults| faults.in_units(job.unit))
}

fn learned(job: &Job, measured: &Measured) -> Result<Calibration, Faults> {
    if job.table.lies == Lies::DeckDown {
        return Err(codes::CALIBRATE_DECK_DOWN
            .at("table.lies", "boards that lie on their deck cannot be calibrated yet.")
            .into());
    }
    check_texts(measured)?;
    let before = design(job)?;
    let mut board = kept(job, measured, &before)?;
    let read = read_off(&mut board)?;
    let judged = judged::board(job, &before.job, &board, &read, measured.table == PressedOn::Unstated);
    board.left_out = judged.left_out && !measured.learn_anyway;
    let mut shop = job.shop.clone().unwrap_or_default();
    shop.boards.push(board.clone());
    calibrated(&Job { shop: Some(shop), ..job.clone() }, measured, board, (&read, judged))
}

/// What is said of a board that is among the shop's.
fn calibrated(
    job: &Job,
    measured: &Measured,
    board: KeptBoard,
    (read, judged): (&ReadOff, Judged),
) -> Result<Calibration, Faults> {
    let after = design(job)?;
    let built = surface_of_kept(&board.pressed.table)?;
    let schedule = scheduled(&after, &measured.shimming, (&built, &boards::read_at_mm(&board.pressed)))?;
    // Where this board is left out there may be none to learn from.
    let known = after.known.map_or_else(|| boards::known(job, &Shop::default()), Ok)?;
    let origin = draft::origin(&job.hash);
    let table = format!(
        "{}: {}",
        boards::id_of(&board.pressed),
        match &measured.table {
            PressedOn::Unstated | PressedOn::Designed => "as this job designed it before this board".to_owned(),
            PressedOn::Existing(_) => "as measured or described".to_owned(),
            PressedOn::SameAsLast => format!("that of the last board of {}", job.title),
            PressedOn::Again(label) => format!("that of `{label}`"),
        }
    );
    let calibrated = Calibrated {
        label: &board.label,
        found: &read.found,
        read_after: board.hours_after_release.map(|hours| (hours, read.shown)),
        // Shares of a board that springback does not explain are none.
        shares: if judged.explained { &read.shares } else { &[] },
        known: &known,
        table: &table,
        left_out: board.left_out,
        checks: &judged.checks,
        schedule: &schedule,
    };
    let mut json = draft::calibration_json(&calibrated, job.unit, &origin);
    json["job_sha256"] = job.hash.as_str().into();
    let page = draft::board_page(job, &calibrated, &origin);
    let files = vec![
        file("shims.csv", write_csv(&draft::shims(&schedule, job.unit.denominator()), &origin)),
        file("calibration.json", json_bytes(&json)),
        file("book.html", write_html(&page)),
    ];
    Ok(Calibration { summary: draft::calibration_summary(job, &calibrated), files, json, board, checks: judged.checks })
}

/// Label, remark and hours go into the shop's file, which has to be read again.
fn check_texts(measured: &Measured) -> Result<(), Faults> {
    let mut faults = Faults::default();
    for (what, text) in [("label", &measured.label), ("remark", &measured.remark)] {
        let Some(text) = text else { continue };
        let length = text.chars().count();
        if text.trim().is_empty() || length > LONGEST_TEXT {
            let message = format!("the {what} has {length} characters.");
            let remedy = format!("Write 1 to {LONGEST_TEXT} characters after --{what}, or leave it out.");
            faults.push(Fault::new(codes::BOARD_TEXTS, "measured", message, remedy));
        }
    }
    if let Some(hours) = measured.hours_after_release.filter(|h| !(0.0..=MOST_HOURS).contains(h)) {
        let message = format!("a board cannot be read {hours} h after release.");
        faults.push(Fault::new(
            codes::BOARD_TEXTS,
            "measured",
            message,
            "Give the hours since its release after --hours.",
        ));
    }
    faults.or(())
}

fn no_board(message: &str, remedy: &str) -> Fault {
    Fault::new(codes::NO_SUCH_BOARD, "shop", message, remedy)
}

/// The board with all that it is computed from.
fn kept(job: &Job, measured: &Measured, before: &Design) -> Result<KeptBoard, Faults> {
    let boards = job.shop.as_ref().map_or(&[][..], |s| &s.boards);
    if let PressedOn::Again(of) = &measured.table {
        return match boards.iter().find(|b| b.label == *of) {
            Some(earlier) => again(earlier, boards, measured),
            None => {
                let labels: Vec<&str> = boards.iter().map(|b| b.label.as_str()).collect();
                let message = format!("the shop has no board called `{of}` that could be measured again.");
                let known = if labels.is_empty() { "none".to_owned() } else { labels.join(", ") };
                Err(no_board(&message, &format!("Its boards: {known}.")).into())
            }
        };
    }
    let (table, table_id, table_heights_mm) = table_of(job, measured, &before.table)?;
    let Design { target, table: designed, .. } = before;
    let load = &designed.load;
    let pressed = PressedAs {
        layers: before.laminate.layers().to_vec(),
        cure_above_room_k: job.pressing.cure_above_room_k,
        table,
        table_id,
        table_heights_mm,
        blank_mm: (designed.blank.tail_mm, designed.blank.tip_mm),
        finished_mm: (target.curvature.start_mm(), target.curvature.end_mm()),
        pressure_mpa: load.pressure_mpa,
        forces: load.forces.iter().map(|f| (f.blank_mm, f.force_n_per_mm)).collect(),
        caul_stiffness_n_mm: load.caul_stiffness_n_mm,
        matched: load.matched,
    };
    Ok(KeptBoard {
        label: new_label(boards, measured, |n| format!("board {}", boards.len() + n))?,
        date: measured.date.clone(),
        remark: measured.remark.clone(),
        hours_after_release: measured.hours_after_release,
        left_out: false,
        again_of: None,
        job_hash: job.hash.clone(),
        job_title: job.title.clone(),
        pressed,
        readings: measured.readings.clone(),
    })
}

/// Nodes of the table that the board was pressed on, its name, and the heights that it was read with.
type Surface = (Vec<(f64, f64)>, String, Vec<(f64, f64)>);

fn table_of(job: &Job, measured: &Measured, designed: &OverbentTable) -> Result<Surface, Faults> {
    let named = |nodes: Vec<(f64, f64)>, heights| {
        let id = table_id(&nodes);
        (nodes, id, heights)
    };
    match &measured.table {
        PressedOn::Unstated | PressedOn::Designed | PressedOn::Again(_) => {
            Ok(named(thinned_nodes(&designed.surface), Vec::new()))
        }
        PressedOn::Existing(table) => {
            let heights = match &table.surface {
                // From the middle of the board, as the surface is kept.
                Rocker::Measured { readings, .. } => table.read_at_mm(readings),
                _ => Vec::new(),
            };
            Ok(named(thinned_nodes(&surface_of(table, &job.board)?), heights))
        }
        PressedOn::SameAsLast => match boards::last_of(job) {
            Some(last) => {
                let pressed = &last.pressed;
                Ok((pressed.table.clone(), boards::id_of(pressed), pressed.table_heights_mm.clone()))
            }
            None => {
                let message = format!("there is no board before this one of {} whose table it could share.", job.title);
                let remedy = "Leave --same-table out for the first board, or give the table's heights with --as-built.";
                Err(no_board(&message, remedy).into())
            }
        },
    }
}

/// Later readings of a board that is kept already.
fn again(earlier: &KeptBoard, boards: &[KeptBoard], measured: &Measured) -> Result<KeptBoard, Faults> {
    let label = |n: usize| {
        let ending = if n == 1 { ", again".to_owned() } else { format!(", again {n}") };
        let room = LONGEST_TEXT - ending.chars().count();
        earlier.label.chars().take(room).collect::<String>() + &ending
    };
    Ok(KeptBoard {
        label: new_label(boards, measured, label)?,
        date: measured.date.clone(),
        remark: measured.remark.clone(),
        hours_after_release: measured.hours_after_release,
        left_out: false,
        again_of: Some(earlier.label.clone()),
        readings: measured.readings.clone(),
        ..earlier.clone()
    })
}

/// The label that the shop gives, or the first free one of `default`, which is asked with 1, 2, 3.
fn new_label(boards: &[KeptBoard], measured: &Measured, default: impl Fn(usize) -> String) -> Result<String, Faults> {
    let taken = |label: &str| boards.iter().any(|b| b.label == label);
    let Some(label) = measured.label.as_deref().map(str::trim) else {
        // One of one more than there are boards is free.
        let free = (1..=boards.len() + 1).map(default).find(|label| !taken(label));
        return Ok(free.unwrap_or_default());
    };
    if taken(label) {
        return Err(Fault::new(
            codes::BOARD_KEPT_ALREADY,
            "shop",
            format!("the shop has a board called `{label}` already."),
            "Give this one another --label; say --again for later readings of the same board.",
        )
        .into());
    }
    Ok(label.to_owned())
}

/// The board's factor and shares. An error of the readings that nobody stated is taken from the smoothest curve through
/// them, which follows a local deviation where the model does not, and is kept with the board.
fn read_off(board: &mut KeptBoard) -> Result<ReadOff, Faults> {
    let laminate = Laminate::of_effective(&board.pressed.layers, board.pressed.cure_above_room_k)?;
    let (from, to) = board.pressed.finished_mm;
    let options = FitOptions {
        length_mm: to - from,
        length_along: LengthAlong::Base,
        ends: Ends::Free,
        path: READINGS.to_owned(),
    };
    let through: Fit = fit(&board.readings, &options)?;
    let stated = board.readings.error_mm.is_some();
    board.readings.error_mm = Some(through.error_mm.max(FINEST_READING_MM));
    let off: OffTable = boards::off_table(&board.pressed, &laminate, board.hours_after_release).map_err(|why| {
        let message = format!("the stack cannot be pressed on this table: {why}");
        codes::CALIBRATE_TABLE.at("existing_table.length", message)
    })?;
    let found = fit_board(&off, &board.readings, READINGS);
    let found = found.map_err(|f| judged::mirrored_instead(f, &off, &board.readings))?;
    let mut found = found.on_table_within(&off, boards::table_error_mm(&board.pressed));
    found.error_stated = stated;
    let mut calm = board.readings.clone();
    calm.excluded.extend(judged::standing_out(&board.readings, &through, &found));
    let shares = fit(&calm, &options).map_or_else(|_| Vec::new(), |fit| shares_along(&off, &fit, SHARES));
    Ok(ReadOff { through, found, shares, shown: off.shown() })
}
