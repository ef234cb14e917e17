//! Why a job probably fails: what is unusual in its document, and a stack that keeps next to nothing of its bend.

use super::stack::laminates;
use crate::codes;
use crate::finding::{Code, Fault, Faults};
use crate::job::{Job, Layer};
use crate::laminate::{MOST_SPRINGBACK, thickness_at};
use crate::units::{Phrase, Quantity, phrase};

/// Mistakes that a table bent too far makes; with a stack that springs back nearly all the way they are no mistakes of
/// the rocker.
const BENT_TOO_FAR: [&Code; 4] =
    [codes::IMPOSSIBLE_GEOMETRY, codes::PARALLEL_FOLDS, codes::TOO_TIGHT, codes::BEND_NOT_FINITE];

/// The faults of a job with their likely causes.
pub(super) fn with_causes(job: &Job, mut faults: Faults) -> Faults {
    let bent_too_far = |f: &Fault| BENT_TOO_FAR.contains(&f.code);
    if faults.iter().any(bent_too_far)
        && let Some(cause) = springback_cause(job)
    {
        faults.retain(|f| !bent_too_far(f));
        faults.push(cause);
    }
    faults.extend(job.doubts.iter().map(|d| {
        let subject = d.finding.subject.text(job.unit);
        let of = subject.strip_prefix(&d.path).unwrap_or(&subject);
        let value = d.finding.held.map_or(Phrase::default(), |h| phrase!(" is {}", h.value));
        let message = phrase!("this may be the cause: {}{}{}.", &d.path, of, value);
        Fault::new(codes::LIKELY_CAUSE, d.path.clone(), message, d.finding.remedy.clone())
    }));
    faults
}

/// The fault of a stack that springs back nearly all the way, because one of its layers is most of it.
fn springback_cause(job: &Job) -> Option<Fault> {
    let (laminate, _) = laminates(job, &job.layers).ok()?;
    let share = laminate.section_at(0.0).springback_share();
    if share <= MOST_SPRINGBACK {
        return None;
    }
    let (number, thickest) =
        job.layers.iter().enumerate().max_by(|a, b| thickness_at(a.1, 0.0).total_cmp(&thickness_at(b.1, 0.0)))?;
    let plies = job.layers.iter().filter(|l| l.entry == thickest.entry).count();
    let whole_mm: f64 = job.layers.iter().map(|l: &Layer| thickness_at(l, 0.0)).sum();
    let message = phrase!(
        "the stack springs back {} of its bend, because {} is one piece of {} in a stack of {}; no table can be bent that far.",
        Quantity::share(share),
        &job.layers[number].name,
        Quantity::fine(thickness_at(thickest, 0.0)),
        Quantity::fine(whole_mm)
    );
    let remedy = phrase!(
        "Split it into {} plies that slide while the glue is wet: thickness = \"{}\", plies = {}.",
        if plies == 1 { "two".to_owned() } else { (2 * plies).to_string() },
        Quantity::fine(0.5 * thickness_at(thickest, 0.0)),
        2 * plies
    );
    Some(Fault::new(codes::SPRINGBACK_NEARLY_ALL, format!("layers[{}]", thickest.entry), message, remedy))
}
