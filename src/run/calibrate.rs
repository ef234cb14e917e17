//! A measured board: its factor, what the shop knows with it, and what the table needs.

use serde_json::Value;

use super::predict::surface_of;
use super::shop::{self, Known};
use super::{OutputFile, file, stations};
use crate::calibrate::{BoardFactor, OffTable, ShareAt, ShimOptions, fit_board, shares_along, shims};
use crate::curve::{Curvature, Curve, PlaneCurve, resting_pose};
use crate::draft::{self, Calibrated, ToldBoard};
use crate::export::write_csv;
use crate::finding::Fault;
use crate::jig::{self, Marks};
use crate::job::{ExistingTable, Frame, Job, KeptBoard, Lies, PressedAs, Readings, Rocker, Shop};
use crate::laminate::Laminate;
use crate::rocker::measured::{Fit, FitOptions, fit};
use crate::rocker::{self, Target};
use crate::table::{self, OverbentTable};
use crate::units::LengthUnit;

/// The table that a measured board was pressed on.
#[derive(Debug, Clone, PartialEq)]
pub enum PressedOn {
    /// The one that a build of this job designs, with what the shop knew before this board.
    Designed,
    /// One that was measured, or that the document describes.
    Existing(ExistingTable),
    /// The one of the shop's last board.
    SameAsLast,
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
    /// Thicknesses of shim that the shop has, mm; with none, the packing of the job's bearers, else exact thicknesses.
    pub shims_mm: Vec<f64>,
    /// Whether wood may be planed off the table too.
    pub planing: bool,
}

/// What a measured board says.
#[derive(Debug, Clone, PartialEq)]
pub struct Calibration {
    /// A short text for the builder.
    pub summary: String,
    /// `shims.csv` and `calibration.json`.
    pub files: Vec<OutputFile>,
    /// All figures, as in `calibration.json`.
    pub json: Value,
    /// The board as it is to be kept.
    pub board: KeptBoard,
}

/// Most curvature of what shims leave over, 1/mm: a tenth per metre is a dent of half a millimetre between three stations a
/// hand apart, which a skin of plywood spans without a bump that is seen (our choice, no source).
const MOST_KINK_PER_MM: f64 = 1e-4;
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
    let designed = designed(&before, &target)?;
    let laminate = Laminate::new(&job.layers, job.pressing.cure_above_room_k)?;
    let mut board = kept(job, measured, &target, &designed, &laminate)?;
    let (found, shares) = told(&laminate, &mut board)?;
    let mut kept = job.shop.clone().unwrap_or_default();
    kept.boards.push(board.clone());
    let known = shop::known(job, &kept)?;
    let after = designed_with(job, kept, &target)?;
    let schedule = schedule(job, measured, &board.pressed, &target, &designed, &after)?;
    let origin = draft::origin(&job.hash);
    let calibrated = Calibrated {
        label: &board.label,
        found: &found,
        shares: &shares,
        learnt: &known.learnt,
        boards: &told_boards(&known),
        table: match measured.table {
            PressedOn::Designed => "the one that this job designed with what was known before",
            PressedOn::Existing(_) => "as measured or described",
            PressedOn::SameAsLast => "the one of the board before",
        },
        schedule: &schedule,
    };
    let json = draft::calibration_json(&calibrated, &origin);
    let denominator = match job.unit {
        LengthUnit::Millimetre => 64,
        LengthUnit::Inch { denominator } => denominator,
    };
    let mut bytes = serde_json::to_vec_pretty(&json).unwrap_or_default();
    bytes.push(b'\n');
    let files = vec![
        file("shims.csv", write_csv(&draft::shims(&schedule, denominator), &origin)),
        file("calibration.json", bytes),
    ];
    Ok(Calibration { summary: draft::calibration_summary(job, &calibrated), files, json, board })
}

/// The boards for the words and figures.
pub(super) fn told_boards(known: &Known) -> Vec<ToldBoard> {
    let standing = known.learnt.standing.iter();
    let told = known.boards.iter().zip(standing).map(|(t, standing)| ToldBoard {
        label: t.label.clone(),
        factor: t.factor,
        deviation: t.deviation,
        counts: *standing,
    });
    told.collect()
}

fn designed(job: &Job, target: &Target) -> Result<OverbentTable, Vec<Fault>> {
    let laminate = Laminate::new(&job.layers, job.pressing.cure_above_room_k)?
        .with_springback_factor(job.forecast.springback.value);
    let setup = table::setup(&job.board, &job.pressing, &laminate, job.table.end_margin_mm);
    table::overbend(&target.curvature, target.anchor_mm, &laminate, &setup)
}

/// The table that the job would have with these boards.
fn designed_with(job: &Job, shop: Shop, target: &Target) -> Result<OverbentTable, Vec<Fault>> {
    let (after, _) = shop::taught(&Job { shop: Some(shop), ..job.clone() })?;
    designed(&after, target)
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
                return Err(vec![Fault::new(
                    "no-last-board",
                    "shop",
                    "there is no board before this one whose table it could share.",
                    "Leave --same-table out for the first board.",
                )]);
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
    let label = measured.label.clone().unwrap_or_else(|| format!("board {}", boards.len() + 1));
    if boards.iter().any(|b| b.label == label) {
        return Err(vec![Fault::new(
            "board-kept-already",
            "shop",
            format!("the shop has a board called `{label}` already."),
            "Give this one another --label; a board that was measured again may have both sets of readings kept.",
        )]);
    }
    Ok(KeptBoard {
        label,
        date: measured.date.clone(),
        remark: measured.remark.clone(),
        left_out: false,
        job_hash: job.hash.clone(),
        pressed,
        readings: measured.readings.clone(),
    })
}

/// The board's factor and shares. An error of the readings that nobody stated is taken from the smoothest curve through
/// them, which follows a local deviation where the model does not, and is kept with the board.
fn told(laminate: &Laminate, board: &mut KeptBoard) -> Result<(BoardFactor, Vec<ShareAt>), Vec<Fault>> {
    let (from, to) = board.pressed.finished_mm;
    let options = FitOptions {
        length_mm: to - from,
        length_along: crate::job::LengthAlong::Base,
        ends: crate::job::Ends::Free,
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
    let mut found = fit_board(&off, &board.readings, "measured").map_err(|f| vec![f])?;
    found.error_stated = stated;
    Ok((found, shares_along(&off, &through, SHARES)))
}

/// Finest error of readings that is believed, mm.
const FINEST_MM: f64 = 0.05;

/// What turns the table that the board was pressed on into the one that is wanted now.
fn schedule(
    job: &Job,
    measured: &Measured,
    pressed: &PressedAs,
    target: &Target,
    designed: &OverbentTable,
    after: &OverbentTable,
) -> Result<crate::calibrate::ShimSchedule, Vec<Fault>> {
    let built: Curvature = shop::surface(&pressed.table).ok_or_else(|| {
        vec![Fault::new("calibrate-table", "existing_table.length", "the table is no curve.", "Check its heights.")]
    })?;
    let built = resting_pose(&Curve::new(built), 0.0);
    let (places, packing, square) = match &job.table.frame {
        Frame::Ribs(_) => {
            let places = stations(&target.curve, job.table.station_pitch_mm);
            let x = places.into_iter().map(|s| after.resting.at(after.table_at_base(s)).point.x).collect();
            (x, Vec::new(), true)
        }
        Frame::Bearers(bearers) => {
            let marks = Marks { finished_base_mm: designed.finished_base_mm, stations: Vec::new() };
            let demand = super::demand(job, designed, &Laminate::new(&job.layers, job.pressing.cure_above_room_k)?);
            let jig = jig::build(&designed.resting, &marks, &demand, &job.table)?;
            (jig.bearers.iter().map(|b| b.x_mm).collect::<Vec<f64>>(), bearers.packing_mm.clone(), false)
        }
    };
    let reach = |curve: &Curve| {
        let (from, to) = curve.range_mm();
        (curve.at(from).point.x - 1e-6, curve.at(to).point.x + 1e-6)
    };
    let (a, b) = (reach(&built), reach(&after.resting));
    let places: Vec<f64> = places.into_iter().filter(|x| *x >= a.0.max(b.0) && *x <= a.1.min(b.1)).collect();
    let options = ShimOptions {
        thicknesses_mm: if measured.shims_mm.is_empty() { packing } else { measured.shims_mm.clone() },
        planing: measured.planing,
        square,
        most_kink_per_mm: MOST_KINK_PER_MM,
    };
    Ok(shims(&built, &after.resting, &places, &options))
}
