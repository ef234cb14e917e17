//! The whole flow in one function.

mod files;

use crate::curve::PlaneCurve;
use crate::draft;
use crate::export::{write_csv, write_html};
use crate::finding::{Fault, Finding, Verdict};
use crate::jig::{self, Across, Demand, Marks};
use crate::job::{Job, Lies};
use crate::laminate::Laminate;
use crate::rocker;
use crate::table::{self, OverbentTable};
use crate::units::LengthUnit;

/// A file of the output folder.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OutputFile {
    /// Its plain name, without folders.
    pub name: String,
    /// Its bytes.
    pub bytes: Vec<u8>,
}

/// Everything a build makes.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// A short text for the builder.
    pub summary: String,
    /// All checks.
    pub checks: Vec<Finding>,
    /// Codes of checks that the shop overrides.
    pub accepted: Vec<String>,
    /// The files.
    pub files: Vec<OutputFile>,
}

impl Outcome {
    /// Whether a check says stop that the shop has not accepted by its code.
    pub fn stops(&self) -> bool {
        self.checks.iter().any(|c| c.verdict == Verdict::Stop && !self.accepted.iter().any(|a| a == c.code))
    }
}

/// From a checked job to files, in memory.
///
/// # Errors
/// Faults with the paths of the keys at fault, where the job is impossible.
pub fn build(job: &Job) -> Result<Outcome, Vec<Fault>> {
    let target = rocker::target(&job.rocker, &job.board)?;
    let laminate = Laminate::new(&job.layers, job.pressing.cure_above_room_k)?;
    let setup = table::setup(&job.board, &job.pressing, job.table.end_margin_mm);
    let lies = job.table.lies;
    let lying = match lies {
        Lies::BaseDown => laminate.clone(),
        Lies::DeckDown => Laminate::new(&table::turned_over(&job.layers), job.pressing.cure_above_room_k)?,
    };
    let bent = table::overbend_lying(&target.curvature, target.anchor_mm, &laminate, &lying, &setup, lies)?;
    let marks = Marks {
        finished_base_mm: bent.finished_base_mm,
        stations: stations(&target.curve, job.table.station_pitch_mm)
            .into_iter()
            .map(|s| (s, bent.table_at_base(s)))
            .collect(),
    };
    let demand = demand(job, &bent, &laminate);
    let jig = jig::build(&bent.resting, &marks, &demand, &job.table)?;
    let section = laminate.section_at(0.0);
    let mut checks = bent.pressed.turning().map(|k| lying.strain_findings(&k)).unwrap_or_default();

    let origin = draft::origin(&job.hash);
    let denominator = match job.unit {
        LengthUnit::Millimetre => 64,
        LengthUnit::Inch { denominator } => denominator,
    };
    checks.extend(jig.findings.iter().cloned());
    checks.extend((job.table.concave.is_some() && laminate.crosswise_at(0.0).is_none()).then(unknown_across));
    let ribs = (!jig.ribs.is_empty()).then(|| draft::ribs(&jig, &job.title, &origin));
    let members = draft::members(&jig, &job.title, &origin);
    let drawings: Vec<_> = [("ribs", ribs), ("members", members)]
        .into_iter()
        .filter_map(|(name, drawing)| drawing.map(|d| (name, d)))
        .collect();
    let (mut files, said) = files::drawn(&job.title, &drawings, &job.files, job.unit)?;
    checks.extend(said);
    let result = draft::result(job, &target, &section, &bent, &jig, &checks, &origin);
    let mut json = serde_json::to_vec_pretty(&result).unwrap_or_default();
    json.push(b'\n');
    files.push(file("stations.csv", write_csv(&draft::stations(&jig, denominator), &origin)));
    if !jig.spacers.bays.is_empty() {
        files.push(file("spacers.csv", write_csv(&draft::spacers(&jig, denominator), &origin)));
    }
    if !jig.bearers.is_empty() {
        files.push(file("bearers.csv", write_csv(&draft::bearers(&jig, denominator), &origin)));
    }
    files.push(file("result.json", json));
    let page = draft::book(&draft::Results {
        job,
        target: &target,
        laminate: &laminate,
        lying: &lying,
        setup: &setup,
        bent: &bent,
        jig: &jig,
        forecast: None,
        checks: &checks,
        origin: &origin,
    });
    files.push(file("book.html", write_html(&page)));
    Ok(Outcome {
        summary: draft::summary(job, &target, &section, &bent, &jig, &checks),
        checks,
        accepted: job.accepted.clone(),
        files,
    })
}

fn file(name: &str, bytes: Vec<u8>) -> OutputFile {
    OutputFile { name: name.to_owned(), bytes }
}

/// The check for a concave whose springback across is not known.
fn unknown_across() -> Finding {
    Finding {
        code: "cross-modulus",
        subject: "springback across: the crosswise modulus of a layer is not known".to_owned(),
        value: 0.0,
        limit: 0.0,
        unit: "",
        verdict: Verdict::Watch,
        source: "taken as along the board",
        remedy: "Name materials whose crosswise modulus is known, or press a narrow test piece first.".to_owned(),
    }
}

/// What the job and the bent table ask of the jig.
fn demand(job: &Job, bent: &OverbentTable, laminate: &Laminate) -> Demand {
    let width = job.board.width_mm;
    // A crosswise modulus that is not known is taken as that along: the share depends on ratios between layers only.
    let across = laminate.crosswise_at(0.0).unwrap_or_else(|| laminate.section_at(0.0));
    let over = |wanted| Across::new(wanted, width, across.springback_share());
    Demand {
        board_width_mm: width,
        across: job.table.concave.as_ref().map_or_else(Across::flat, over),
        moments_n_mm: bent.moments_n().into_iter().map(|(s, m)| (s, m * width)).collect(),
        strain_limit: job.layers.iter().filter_map(|l| l.material.strain_limit).reduce(f64::min),
    }
}

/// Places along the base that are listed: both ends, the middle, and every pitch from the middle outwards.
fn stations(target: &crate::curve::Curve, pitch_mm: f64) -> Vec<f64> {
    let (from, to) = target.range_mm();
    let mut places = vec![from];
    let first = (from / pitch_mm).ceil();
    let last = (to / pitch_mm).floor();
    let mut i = first;
    while i <= last {
        let s = i * pitch_mm;
        // A station that falls on an end is the end.
        if s - from > 1e-6 && to - s > 1e-6 {
            places.push(s);
        }
        i += 1.0;
    }
    places.push(to);
    places
}
