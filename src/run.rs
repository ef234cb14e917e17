//! What the commands do, in memory: everything becomes texts and files.

mod calibrate;
mod difference;
mod files;
mod judged;
mod predict;
mod shims;
mod sweep;
mod target;

use serde_json::Value;

use crate::built::{Progress, compute_watched};
use crate::finding::{Faults, Finding, Verdict};
use crate::job::Job;
use crate::units::LengthUnit;

pub use calibrate::{Calibration, Measured, PressedOn, calibrate};
pub use difference::{Difference, difference, on_table_of};
pub use files::{check, files};
pub use predict::{Prediction, predict};
pub use shims::{Shimmed, shim};
pub use sweep::{MOST_VARIATIONS, Sweep, SweepError, SweepPart, Vary, sweep};
pub use target::target;

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
#[non_exhaustive]
pub struct Outcome {
    /// A short text for the builder.
    pub summary: String,
    /// All checks.
    pub checks: Vec<Finding>,
    /// The units that the job's shop reads.
    pub unit: LengthUnit,
    /// Codes of checks that the shop overrides.
    pub accepted: Vec<String>,
    /// All figures, as in `result.json`; of a target alone, with the keys of that file's `target`.
    pub result: Value,
    /// The files.
    pub files: Vec<OutputFile>,
}

impl Outcome {
    /// Whether a check says stop that the shop has not accepted by its code.
    pub fn stops(&self) -> bool {
        self.checks.iter().any(|c| c.verdict == Verdict::Stop && !self.accepted.iter().any(|a| a == c.code.name))
    }
}

/// From a checked job to files, in memory: [`compute`](crate::built::compute), then [`files`].
///
/// # Errors
/// Faults with the paths of the keys at fault, where the job is impossible.
pub fn build(job: &Job) -> Result<Outcome, Faults> {
    build_watched(job, &|_| ())
}

/// As [`build`]; `watch` is called from worker threads with the progress.
///
/// # Errors
/// As [`build`].
pub fn build_watched(job: &Job, watch: &(dyn Fn(Progress) + Sync)) -> Result<Outcome, Faults> {
    files(compute_watched(job, watch)?)
}

/// As [`build_watched`] without files: what it says is the same, and what cannot be drawn is refused the same.
///
/// # Errors
/// As [`build`].
pub fn check_watched(job: &Job, watch: &(dyn Fn(Progress) + Sync)) -> Result<Outcome, Faults> {
    check(compute_watched(job, watch)?)
}

fn file(name: &str, bytes: Vec<u8>) -> OutputFile {
    OutputFile { name: name.to_owned(), bytes }
}

fn json_bytes(value: &Value) -> Vec<u8> {
    // A value that was made here has no keys but texts, so it can be written.
    let mut bytes = serde_json::to_vec_pretty(value).unwrap_or_default();
    bytes.push(b'\n');
    bytes
}
