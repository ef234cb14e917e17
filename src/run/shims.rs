//! What turns a table that is there into the one that is wanted.

use serde_json::{Value, json};

use super::predict::{Lying, lying_checks, surface_of};
use super::{OutputFile, file, json_bytes};
use crate::built::{Design, Shimming, design, last_of, scheduled, surface_of_kept};
use crate::calibrate::boards;
use crate::codes;
use crate::curve::Curvature;
use crate::draft;
use crate::export::{write_csv, write_html};
use crate::finding::Faults;
use crate::job::{Job, Lies, Rocker};

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
pub fn shim(job: &Job, wishes: &Shimming) -> Result<Shimmed, Faults> {
    corrected(job, wishes).map_err(|faults| faults.in_units(job.unit))
}

fn corrected(job: &Job, wishes: &Shimming) -> Result<Shimmed, Faults> {
    if job.table.lies == Lies::DeckDown {
        return Err(codes::SHIMS_DECK_DOWN
            .at("table.lies", "tables for boards that lie on their deck cannot be corrected yet.")
            .into());
    }
    let wanted = design(job)?;
    let (built, read_at, whose) = table_to_correct(job, &wanted)?;
    let schedule = scheduled(&wanted, wishes, (&built, &read_at))?;
    let Design { job: with_learned_factor, known, table, .. } = &wanted;
    let lying = Lying {
        layers: &with_learned_factor.layers,
        upright: &wanted.laminate,
        lying: &wanted.lying,
        pressed: &table.pressed,
        released: &table.released,
        finished_mm: table.finished_base_mm,
        load: &table.load,
    };
    let mut checks = job.doubt_findings();
    checks.extend(lying_checks(with_learned_factor, &lying));
    let origin = draft::origin(&job.hash);
    let learned = known.as_ref().map(|k| draft::learned_line(&k.learned, k.boards.len()));
    let mut json = json!({
        "made_by": origin,
        "job_sha256": job.hash,
        "table": whose,
        "shims": draft::shims_json(&schedule),
        "checks": draft::checks_json(&checks, job.unit),
    });
    if let Some(known) = known {
        json["calibration"] = draft::learned_json(&known.learned, &known.boards);
    }
    let mut lines = vec![("table", whose.clone())];
    lines.extend(learned);
    lines.extend(draft::shims_lines(&schedule, job.unit));
    let page = draft::shims_page(job, &schedule, &whose, &origin);
    let files = vec![
        file("shims.csv", write_csv(&draft::shims(&schedule, job.unit.denominator()), &origin)),
        file("shims.json", json_bytes(&json)),
        file("book.html", write_html(&page)),
    ];
    let summary = draft::lines_summary(&format!("{}: shims", job.title), &lines)
        + &draft::shims_text(&schedule, job.unit)
        + &draft::looked_at(&checks, &job.accepted, "look at this before pressing on it:", job.unit);
    Ok(Shimmed { summary, files, json })
}

/// The table that is there: its surface, where it was read, and whose it is in words.
fn table_to_correct(job: &Job, wanted: &Design) -> Result<(Curvature, Vec<f64>, String), Faults> {
    if let Some(table) = &job.existing_table {
        let read_at = match &table.surface {
            Rocker::Measured { readings, .. } => table.read_at_mm(readings).into_iter().map(|r| r.0).collect(),
            _ => Vec::new(),
        };
        return Ok((surface_of(table, &job.board)?, read_at, "as measured or described".to_owned()));
    }
    let Some(last) = last_of(job, &wanted.target) else {
        let message = format!("there is no table that could be corrected: no board of {} was measured.", job.title);
        return Err(codes::NO_TABLE_TO_CORRECT.at("existing_table", message).into());
    };
    let whose = format!("{}, used for `{}` of {}", boards::id_of(&last.pressed), last.label, job.title);
    Ok((surface_of_kept(&last.pressed.table)?, boards::read_at_mm(&last.pressed), whose))
}
