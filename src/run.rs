//! The whole flow in one function.

mod files;

use crate::curve::PlaneCurve;
use crate::draft;
use crate::export::write_csv;
use crate::finding::{Fault, Finding, Verdict};
use crate::jig::{self, Marks};
use crate::job::Job;
use crate::laminate::Laminate;
use crate::rocker;
use crate::table;
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
    let bent = table::overbend(&target.curvature, target.anchor_mm, &laminate, &setup)?;
    let marks = Marks {
        finished_base_mm: bent.finished_base_mm,
        stations: stations(&target.curve, job.table.station_pitch_mm)
            .into_iter()
            .map(|s| (s, bent.table_at_base(s)))
            .collect(),
    };
    let jig = jig::build(&bent.resting, &marks, &job.board, &job.table)?;
    let section = laminate.section_at(0.0);
    let mut checks = bent.pressed.turning().map(|k| laminate.strain_findings(&k)).unwrap_or_default();

    let origin = draft::origin(&job.hash);
    let denominator = match job.unit {
        LengthUnit::Millimetre => 64,
        LengthUnit::Inch { denominator } => denominator,
    };
    let ribs = draft::ribs(&jig, &job.title, &origin);
    let (drawn, said) = files::drawn(&ribs, &job.files, job.unit)?;
    checks.extend(said);
    let result = draft::result(job, &target, &section, &bent, &jig, &checks, &origin);
    let mut json = serde_json::to_vec_pretty(&result).unwrap_or_default();
    json.push(b'\n');
    let file = |name: &str, bytes: Vec<u8>| OutputFile { name: name.to_owned(), bytes };
    let mut files = drawn;
    files.extend([
        file("stations.csv", write_csv(&draft::stations(&jig, denominator), &origin)),
        file("spacers.csv", write_csv(&draft::spacers(&jig, denominator), &origin)),
        file("result.json", json),
    ]);
    Ok(Outcome {
        summary: draft::summary(job, &target, &section, &bent, &jig, &checks),
        checks,
        accepted: job.accepted.clone(),
        files,
    })
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
