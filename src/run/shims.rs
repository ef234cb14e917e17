//! What turns a table that is there into the one that is wanted.

use serde_json::{Value, json};

use super::predict::{Lying, lying_checks, surface_of};
use super::{OutputFile, demand, file, shop, stations, sure};
use crate::calibrate::{ShimOptions, ShimSchedule, shims as schedule, surface_through};
use crate::curve::{Curvature, Curve, PlaneCurve, resting_pose};
use crate::draft;
use crate::export::write_csv;
use crate::finding::Fault;
use crate::jig::{self, Marks};
use crate::job::{Frame, Job, KeptBoard, Lies, Rocker};
use crate::laminate::Laminate;
use crate::rocker::{self, Target};
use crate::table::{self, OverbentTable};
use crate::units::{LengthUnit, MM_PER_INCH};

/// Most curvature of what shims leave over, 1/mm: a tenth per metre is a dent of half a millimetre between three stations a
/// hand apart, which a skin of plywood spans without a bump that is seen (our choice, no source).
const MOST_KINK_PER_MM: f64 = 1e-4;
/// Ends of two boards that are the same within this were pressed on the same table, mm.
const SAME_MM: f64 = 0.5;
/// Shims that are proposed where the shop names none, mm: card, veneer and plywood, or fractions of an inch and a card
/// (common practice, no source).
const COMMON_MM: [f64; 5] = [0.3, 0.5, 1.0, 2.0, 5.0];
const COMMON_INCH_MM: [f64; 5] =
    [0.01 * MM_PER_INCH, MM_PER_INCH / 32.0, MM_PER_INCH / 16.0, MM_PER_INCH / 8.0, MM_PER_INCH / 4.0];

/// How the shop wants to correct a table.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Shimming {
    /// Thicknesses of shim, mm; with none, those of the shop's file, else the packing of the job's bearers, else common ones.
    pub thicknesses_mm: Vec<f64>,
    /// Whether wood may be planed off the table too.
    pub planing: bool,
}

/// A table's correction.
#[derive(Debug, Clone, PartialEq)]
pub struct Shimmed {
    /// A short text for the builder.
    pub summary: String,
    /// `shims.csv`, `shims.json` and `book.html`.
    pub files: Vec<OutputFile>,
    /// All figures, as in `shims.json`.
    pub json: Value,
}

/// Corrects the job's existing table or, where it names none, the one of the shop's last board of this job. The checks are
/// those of the stack on the corrected table.
///
/// # Errors
/// Faults of the job, of the table or of the shop's boards; no table.
pub fn shim(job: &Job, wishes: &Shimming) -> Result<Shimmed, Vec<Fault>> {
    if job.table.lies == Lies::DeckDown {
        return Err(vec![Fault::new(
            "shims-deck-down",
            "table.lies",
            "tables for boards that lie on their deck cannot be corrected yet.",
            "Cut the ribs anew.",
        )]);
    }
    let (taught, known) = shop::taught(job)?;
    let target = rocker::target(&taught.rocker, &taught.board)?;
    let wanted = designed(&taught, &target)?;
    let (built, read_at, whose) = match (&job.existing_table, last_of(job, &target)) {
        (Some(table), _) => {
            let read_at = match &table.surface {
                Rocker::Measured { readings, .. } => table.read_at_mm(readings).into_iter().map(|r| r.0).collect(),
                _ => Vec::new(),
            };
            (surface_of(table, &job.board)?, read_at, "the one that was measured or described".to_owned())
        }
        (None, Some(last)) => {
            let pressed = &last.pressed;
            let whose = format!("{}, the one of `{}` of {}", shop::id_of(pressed), last.label, job.title);
            (surface_of_kept(&pressed.table)?, shop::read_at_mm(pressed), whose)
        }
        (None, None) => {
            return Err(vec![Fault::new(
                "no-table-to-correct",
                "existing_table",
                format!("there is no table that could be corrected: no board of {} was measured.", job.title),
                "Add it here: [existing_table] with its `length`, and its surface as a rocker is given. Or give its \
                 measured heights with --as-built, or calibrate with a first board.",
            )]);
        }
    };
    let schedule = scheduled(&taught, wishes, (&built, &read_at), &target, &wanted)?;
    let (laminate, _) = sure::laminates(&taught, &taught.layers)?;
    let lying = Lying {
        layers: &taught.layers,
        upright: &laminate,
        lying: &laminate,
        pressed: &wanted.pressed,
        released: &wanted.released,
        finished_mm: wanted.finished_base_mm,
        load: &wanted.load,
    };
    let mut checks = job.doubt_findings();
    checks.extend(lying_checks(&taught, &lying));
    let origin = draft::origin(&job.hash);
    let learnt = known.as_ref().map(|k| draft::learnt_line(&k.learnt, k.boards.len()));
    let mut json = json!({
        "made_by": origin,
        "job_sha256": job.hash,
        "table": whose,
        "shims": draft::shims_json(&schedule),
        "checks": draft::checks_json(&checks, job.unit),
    });
    if let Some(known) = &known {
        json["calibration"] = draft::learnt_json(&known.learnt, &known.boards);
    }
    let mut lines = vec![("table", whose.clone())];
    lines.extend(learnt);
    lines.extend(draft::shims_lines(&schedule, job.unit));
    let page = draft::shims_page(job, &schedule, &whose, &origin);
    let files = vec![
        file("shims.csv", write_csv(&draft::shims(&schedule, job.unit.denominator()), &origin)),
        file("shims.json", super::json_bytes(&json)),
        file("book.html", crate::export::write_html(&page)),
    ];
    let summary = draft::lines_summary(&format!("{}: shims", job.title), &lines)
        + &draft::shims_text(&schedule, job.unit)
        + &draft::looked_at(&checks, &job.accepted, "look at this before pressing on it:", job.unit);
    Ok(Shimmed { summary, files, json })
}

/// The shop's last board of this job and of these ends, if it has one: its table is likely to be there still.
pub(super) fn last_of<'j>(job: &'j Job, target: &Target) -> Option<&'j KeptBoard> {
    let ends = (target.curvature.start_mm(), target.curvature.end_mm());
    let same = |b: &&KeptBoard| {
        let of = b.pressed.finished_mm;
        (of.0 - ends.0).abs() < SAME_MM && (of.1 - ends.1).abs() < SAME_MM
    };
    shop::last_of(job).filter(same)
}

/// The table that a job without further boards has.
pub(super) fn designed(job: &Job, target: &Target) -> Result<OverbentTable, Vec<Fault>> {
    let laminate = Laminate::new(&job.layers, job.pressing.cure_above_room_k)?
        .with_springback_factor(job.forecast.springback.value);
    let setup = table::setup(&job.board, &job.pressing, &laminate, job.table.end_margin_mm);
    table::overbend(&target.curvature, target.anchor_mm, &laminate, &setup)
}

/// The surface of a kept table.
pub(super) fn surface_of_kept(nodes: &[(f64, f64)]) -> Result<Curvature, Vec<Fault>> {
    surface_through(nodes)
        .ok_or_else(|| vec![Fault::new("kept-board", "shop", "the kept table is no curve.", "Check its heights.")])
}

/// What turns the table `built` into `wanted`: at the bearers, else at the stations `read_at` where it was read, so that
/// nothing is asked for between two readings, else at the stations of the job.
pub(super) fn scheduled(
    job: &Job,
    wishes: &Shimming,
    (built, read_at): (&Curvature, &[f64]),
    target: &Target,
    wanted: &OverbentTable,
) -> Result<ShimSchedule, Vec<Fault>> {
    let built = resting_pose(&Curve::new(built.clone()), target.anchor_mm);
    let (places, packing, square) = match &job.table.frame {
        Frame::Ribs(_) if !read_at.is_empty() => (read_at.to_vec(), Vec::new(), true),
        Frame::Ribs(_) => {
            let places = stations(&target.curve, job.table.station_pitch_mm);
            let x = places.into_iter().map(|s| wanted.resting.at(wanted.table_at_base(s)).point.x).collect();
            (x, Vec::new(), true)
        }
        Frame::Bearers(bearers) => {
            let marks = Marks { finished_base_mm: wanted.finished_base_mm, stations: Vec::new() };
            let demand = demand(job, wanted, &Laminate::new(&job.layers, job.pressing.cure_above_room_k)?);
            let jig = jig::build(&wanted.resting, &marks, &demand, &job.table)?;
            (jig.bearers.iter().map(|b| b.x_mm).collect::<Vec<f64>>(), bearers.packing_mm.clone(), false)
        }
    };
    let reach = |curve: &Curve| {
        let (from, to) = curve.range_mm();
        (curve.at(from).point.x - 1e-6, curve.at(to).point.x + 1e-6)
    };
    let (a, b) = (reach(&built), reach(&wanted.resting));
    let places: Vec<f64> = places.into_iter().filter(|x| *x >= a.0.max(b.0) && *x <= a.1.min(b.1)).collect();
    let of_shop = job.shop.as_ref().map_or(&[][..], |s| &s.shims_mm);
    let common = match job.unit {
        LengthUnit::Millimetre => COMMON_MM,
        LengthUnit::Inch { .. } => COMMON_INCH_MM,
    };
    let named = [&wishes.thicknesses_mm[..], of_shop, &packing].into_iter().find(|t| !t.is_empty());
    let options = ShimOptions {
        thicknesses_mm: named.unwrap_or(&common).to_vec(),
        planing: wishes.planing,
        square,
        most_kink_per_mm: MOST_KINK_PER_MM,
    };
    Ok(ShimSchedule { proposed: named.is_none(), ..schedule(&built, &wanted.resting, &places, &options) })
}
