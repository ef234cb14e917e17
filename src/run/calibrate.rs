//! A measured board: its factor, what the shop knows with it, and what the table needs.

use serde_json::Value;

use super::predict::surface_of;
use super::shims::{Shimming, designed as designed_table, scheduled, surface_of_kept};
use super::shop;
use super::{OutputFile, file, json_bytes};
use crate::calibrate::{BoardFactor, OffTable, ShareAt, fit_board, shares_along};
use crate::draft::{self, Calibrated};
use crate::export::{write_csv, write_html};
use crate::finding::Fault;
use crate::job::{Ends, ExistingTable, Job, KeptBoard, LengthAlong, Lies, PressedAs, Readings, Rocker};
use crate::laminate::Laminate;
use crate::rocker::measured::{Fit, FitOptions, fit};
use crate::rocker::{self, Target};
use crate::table::OverbentTable;

/// The table that a measured board was pressed on.
#[derive(Debug, Clone, PartialEq)]
pub enum PressedOn {
    /// The one that a build of this job designs, with what the shop knew before this board.
    Designed,
    /// One that was measured, or that the document describes.
    Existing(ExistingTable),
    /// The one of the shop's last board.
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
    /// The table.
    pub table: PressedOn,
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
}

/// Places along the board at which shares are told.
const SHARES: usize = 9;

/// Calibrates with one measured board.
///
/// # Errors
/// Faults of the job, of the readings (paths under `measured`), of the table or of the shop's boards.
pub fn calibrate(job: &Job, measured: &Measured) -> Result<Calibration, Vec<Fault>> {
    if job.table.lies == Lies::DeckDown {
        return Err(vec![Fault::new(
            "calibrate-deck-down",
            "table.lies",
            "boards that lie on their deck cannot be calibrated yet.",
            "Measure a board that was pressed on its base.",
        )]);
    }
    let (before, _) = shop::taught(job)?;
    let target = rocker::target(&before.rocker, &before.board)?;
    let designed = designed_table(&before, &target)?;
    let laminate = Laminate::new(&job.layers, job.pressing.cure_above_room_k)?;
    let mut board = kept(job, measured, &target, &designed, &laminate)?;
    let laminate = Laminate::new(&board.pressed.layers, board.pressed.cure_above_room_k)?;
    let (found, shares) = told(&laminate, &mut board)?;
    let mut shop = job.shop.clone().unwrap_or_default();
    shop.boards.push(board.clone());
    let (after, known) = shop::taught(&Job { shop: Some(shop), ..job.clone() })?;
    // The board at hand is never left out, so there is something to know.
    let Some(known) = known else { return Err(vec![no_board("the new board teaches nothing.", "Measure it anew.")]) };
    let built = surface_of_kept(&board.pressed.table)?;
    let schedule = scheduled(&after, &measured.shimming, &built, &target, &designed_table(&after, &target)?)?;
    let origin = draft::origin(&job.hash);
    let calibrated = Calibrated {
        label: &board.label,
        found: &found,
        shares: &shares,
        learnt: &known.learnt,
        boards: &known.boards,
        table: match measured.table {
            PressedOn::Designed => "the one that this job designed with what was known before",
            PressedOn::Existing(_) => "as measured or described",
            PressedOn::SameAsLast => "the one of the board before",
            PressedOn::Again(_) => "the one of the earlier readings",
        },
        schedule: &schedule,
    };
    let mut json = draft::calibration_json(&calibrated, &origin);
    json["job_sha256"] = job.hash.as_str().into();
    let page = draft::board_page(job, &calibrated, &origin);
    let files = vec![
        file("shims.csv", write_csv(&draft::shims(&schedule, job.unit.denominator()), &origin)),
        file("calibration.json", json_bytes(&json)),
        file("book.html", write_html(&page)),
    ];
    Ok(Calibration { summary: draft::calibration_summary(job, &calibrated), files, json, board })
}

fn no_board(message: &str, remedy: &str) -> Fault {
    Fault::new("no-such-board", "shop", message, remedy)
}

/// The board with all that it is computed from.
fn kept(
    job: &Job,
    measured: &Measured,
    target: &Target,
    designed: &OverbentTable,
    laminate: &Laminate,
) -> Result<KeptBoard, Vec<Fault>> {
    let boards = job.shop.as_ref().map_or(&[][..], |s| &s.boards);
    let (table, table_heights_mm) = match &measured.table {
        PressedOn::Designed => (shop::nodes(&designed.surface), Vec::new()),
        PressedOn::Existing(table) => {
            let heights = match &table.surface {
                Rocker::Measured { readings, .. } => {
                    readings.readings.iter().map(|r| (r.station_mm, r.height_mm)).collect()
                }
                _ => Vec::new(),
            };
            (shop::nodes(&surface_of(table, &job.board)?), heights)
        }
        PressedOn::SameAsLast => match boards.last() {
            Some(last) => (last.pressed.table.clone(), last.pressed.table_heights_mm.clone()),
            None => {
                let message = "there is no board before this one whose table it could share.";
                return Err(vec![no_board(message, "Leave --same-table out for the first board.")]);
            }
        },
        PressedOn::Again(of) => match boards.iter().find(|b| b.label == *of) {
            Some(earlier) => return again(earlier, boards, measured),
            None => {
                let labels: Vec<&str> = boards.iter().map(|b| b.label.as_str()).collect();
                let message = format!("the shop has no board called `{of}` that could be measured again.");
                let known = if labels.is_empty() { "none".to_owned() } else { labels.join(", ") };
                return Err(vec![no_board(&message, &format!("Its boards: {known}."))]);
            }
        },
    };
    let load = &designed.load;
    let pressed = PressedAs {
        layers: laminate.layers().to_vec(),
        cure_above_room_k: job.pressing.cure_above_room_k,
        table,
        table_heights_mm,
        blank_mm: (designed.blank.tail_mm, designed.blank.tip_mm),
        finished_mm: (target.curvature.start_mm(), target.curvature.end_mm()),
        pressure_mpa: load.pressure_mpa,
        forces: load.forces.iter().map(|f| (f.blank_mm, f.force_n_per_mm)).collect(),
        caul_stiffness_n_mm: load.caul_stiffness_n_mm,
        matched: load.matched,
    };
    let label = new_label(boards, measured, || format!("board {}", boards.len() + 1))?;
    Ok(KeptBoard {
        label,
        date: measured.date.clone(),
        remark: measured.remark.clone(),
        left_out: false,
        again_of: None,
        job_hash: job.hash.clone(),
        pressed,
        readings: measured.readings.clone(),
    })
}

/// Later readings of a board that is kept already.
fn again(earlier: &KeptBoard, boards: &[KeptBoard], measured: &Measured) -> Result<KeptBoard, Vec<Fault>> {
    Ok(KeptBoard {
        label: new_label(boards, measured, || format!("{}, again", earlier.label))?,
        date: measured.date.clone(),
        remark: measured.remark.clone(),
        again_of: Some(earlier.label.clone()),
        readings: measured.readings.clone(),
        ..earlier.clone()
    })
}

fn new_label(boards: &[KeptBoard], measured: &Measured, default: impl Fn() -> String) -> Result<String, Vec<Fault>> {
    let label = measured.label.clone().unwrap_or_else(default);
    if boards.iter().any(|b| b.label == label) {
        return Err(vec![Fault::new(
            "board-kept-already",
            "shop",
            format!("the shop has a board called `{label}` already."),
            "Give this one another --label; say --again for later readings of the same board.",
        )]);
    }
    Ok(label)
}

/// The board's factor and shares. An error of the readings that nobody stated is taken from the smoothest curve through
/// them, which follows a local deviation where the model does not, and is kept with the board.
fn told(laminate: &Laminate, board: &mut KeptBoard) -> Result<(BoardFactor, Vec<ShareAt>), Vec<Fault>> {
    let (from, to) = board.pressed.finished_mm;
    let options = FitOptions {
        length_mm: to - from,
        length_along: LengthAlong::Base,
        ends: Ends::Free,
        path: "measured".to_owned(),
    };
    let through: Fit = fit(&board.readings, &options)?;
    let stated = board.readings.error_mm.is_some();
    board.readings.error_mm = Some(through.error_mm.max(FINEST_MM));
    let off: OffTable = shop::off_table(&board.pressed, laminate).map_err(|why| {
        vec![Fault::new(
            "calibrate-table",
            "existing_table.length",
            format!("the stack cannot be pressed on this table: {why}"),
            "Check the table's length and heights; the whole blank must lie on it.",
        )]
    })?;
    let found = fit_board(&off, &board.readings, "measured").map_err(|f| vec![f])?;
    let mut found = found.on_table_within(&off, shop::table_error_mm(&board.pressed));
    found.error_stated = stated;
    Ok((found, shares_along(&off, &through, SHARES)))
}

/// Finest error of readings that is believed, mm.
const FINEST_MM: f64 = 0.05;
