//! The whole flow in one function.

mod calibrate;
mod causes;
mod difference;
mod files;
mod judged;
mod predict;
mod shims;
mod shop;
mod stock;
mod sure;
mod target;

pub use target::target;

use std::panic::resume_unwind;
use std::thread;

use serde_json::Value;

use crate::curve::PlaneCurve;
use crate::draft;
use crate::export::{write_csv, write_html};
use crate::finding::{Fault, Finding, Verdict};
use crate::forecast::FIRST_BOARD;
use crate::jig::{self, Across, Consumables, Demand, Marks};
use crate::job::{Below, Frame, Hold, Job, Lies};
use crate::laminate::Laminate;
use crate::rocker;
use crate::table::{self, OverbentTable, Setup, Span};
use crate::units::LengthUnit;

pub use calibrate::{Calibration, Measured, PressedOn, calibrate};
pub use difference::{Difference, difference, on_table_of};
pub use predict::{Prediction, predict};
pub use shims::{Shimmed, Shimming, shim};

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
        self.checks.iter().any(|c| c.verdict == Verdict::Stop && !self.accepted.iter().any(|a| a == c.code))
    }
}

/// From a checked job to files, in memory.
///
/// # Errors
/// Faults with the paths of the keys at fault, where the job is impossible.
pub fn build(job: &Job) -> Result<Outcome, Vec<Fault>> {
    build_watched(job, &|_| ())
}

/// How far a build has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Progress {
    /// What is being done, in a word or two.
    pub stage: &'static str,
    /// How many of its steps are done.
    pub done: usize,
    /// How many steps it has.
    pub of: usize,
}

/// As [`build`]; `watch` is told how work comes on, from several threads.
///
/// # Errors
/// As [`build`].
pub fn build_watched(job: &Job, watch: &(dyn Fn(Progress) + Sync)) -> Result<Outcome, Vec<Fault>> {
    built(job, watch).map_err(|faults| causes::with_causes(job, faults))
}

fn built(job: &Job, watch: &(dyn Fn(Progress) + Sync)) -> Result<Outcome, Vec<Fault>> {
    let (taught, known) = shop::taught(job)?;
    let job = &taught;
    let target = rocker::target(&job.rocker, &job.board)?;
    let (laminate, lying) = sure::laminates(job, &job.layers)?;
    let setup = table::setup(&job.board, &job.pressing, &laminate, job.table.end_margin_mm);
    let (lies, anchor_mm) = (job.table.lies, target.anchor_mm);
    let design = |setup: &Setup| table::overbend_lying(&target.curvature, anchor_mm, &laminate, &lying, setup, lies);
    let mut bent = design(&setup)?;
    let overhangs = table::overhangs(&bent, &setup, design);
    (bent.overhang_needed_mm, bent.overhang_leaves_mm) = (overhangs.needed_mm, overhangs.leaves_mm);
    let sure = || match &known {
        None => sure::sure(job, &target, &setup, &bent, &lying, watch),
        // What the shop's boards have told is uncertain in the factor, not in the layers again.
        Some(_) => {
            let settled = Job { layers: shop::settled(laminate.layers()), ..job.clone() };
            let (_, certain) = sure::laminates(&settled, &settled.layers)?;
            let mut sure = sure::sure(&settled, &target, &setup, &bent, &certain, watch)?;
            sure.iter_mut().for_each(|s| s.advice.retain(|a| a.what != FIRST_BOARD));
            Ok(sure)
        }
    };
    let marks = Marks {
        finished_base_mm: bent.finished_base_mm,
        stations: stations(&target.curve, job.table.station_pitch_mm)
            .into_iter()
            .map(|s| (s, bent.table_at_base(s)))
            .collect(),
    };
    let demand = demand(job, &bent, &laminate);
    let origin = draft::origin(&job.hash);
    let parts = || {
        let jig = jig::build(&bent.resting, &marks, &demand, &job.table)?;
        let ribs = (!jig.ribs.is_empty()).then(|| draft::ribs(&jig, &job.title, &origin));
        let rails = draft::planing_templates(&laminate, (bent.blank.tail_mm, bent.blank.tip_mm));
        let members = draft::members(&jig, rails, job, &origin);
        let drawings: Vec<_> = [("ribs", ribs), ("members", members)]
            .into_iter()
            .filter_map(|(name, drawing)| drawing.map(|d| (name, d)))
            .collect();
        let sheets = || {
            let cut_up = stock::cut_up(job, &jig, watch)?;
            let files = files::sheets(&cut_up.drawings(job, &origin), &job.files, job.unit)?;
            Ok((cut_up, files))
        };
        let (drawn, sheets) = together(|| files::drawn(&job.title, &drawings, &job.files, job.unit), sheets);
        Ok::<_, Vec<Fault>>((jig, drawn, sheets))
    };
    let (sure, parts) = together(sure, parts);
    let sure: Option<sure::Sure> = sure?;
    let (jig, drawn, sheets): (_, _, Result<_, Vec<Fault>>) = parts?;
    let (mut files, said) = drawn?;
    let (cut_up, sheet_files) = sheets?;
    files.extend(sheet_files);
    let turning = bent.pressed.turning().ok();
    let mut checks = job.doubt_findings();
    checks.extend(laminate.doubts(&job.layers, (target.curvature.start_mm(), target.curvature.end_mm())));
    checks.extend(turning.as_ref().map(|k| lying.strain_findings(k)).unwrap_or_default());
    let overhang_mm = job.board.overhang_tip_mm.min(job.board.overhang_tail_mm);
    checks.extend(lying.soft_findings(job.board.length_mm, overhang_mm, setup.load.pressure_mpa));

    let denominator = job.unit.denominator();
    checks.extend(target.findings());
    let ribs_mm4 = jig.ribs_mm4();
    let carrying = carrying(job, &jig, &ribs_mm4);
    let carried = table::Carried::new(&bent, &job.board, &job.pressing.hold, &lying, &carrying);
    checks.extend(table::checks(&bent, &job.pressing, &lying, &carrying, &carried));
    checks.extend(jig.findings.iter().cloned());
    checks.extend((job.table.concave.is_some() && laminate.crosswise_at(0.0).is_none()).then(unknown_across));
    checks.extend(said);
    checks.extend(cut_up.findings.iter().cloned());
    let mut result = draft::result(job, &target, &laminate, (&bent, &carried), &jig, &checks, &origin);
    if let Some(turning) = &turning {
        let (low, high) = turning.extremes();
        let (s_mm, k_per_mm) = if high.1 >= -low.1 { high } else { low };
        let stresses = lying.residual_stresses(s_mm, k_per_mm);
        result["stack"]["layers"] = draft::layers_json(&lying, &lying.strains(turning), &stresses);
    }
    let blank_mm = bent.blank.tip_mm - bent.blank.tail_mm;
    let consumables = Consumables::new(&jig, &job.table, &job.pressing.hold, blank_mm, job.board.width_mm);
    result["consumables"] = draft::consumables_json(&consumables);
    result["stack"]["along"] = draft::along_json(&lying, bent.blank.tail_mm, bent.blank.tip_mm);
    if let Some(sure) = &sure {
        result["forecast"] = draft::forecast_json(&sure.forecast);
        result["advice"] = draft::advice_json(&sure.advice);
    }
    if !cut_up.sheets.is_empty() {
        result["sheets"] = draft::sheets_json(&cut_up.sheets, &cut_up.parts, &job.stock.nesting);
    }
    if !cut_up.cuts.is_empty() {
        result["cutting"] = draft::cutting_json(&cut_up.cuts);
    }
    let mut sure_lines = sure.as_ref().map_or(Vec::new(), |s| draft::sure_lines(&s.forecast, &s.advice, job.unit));
    let next = known.as_ref().zip(sure.as_ref()).map(|(_, s)| draft::next_error_mm(&s.forecast, &target));
    if let Some(known) = &known {
        sure_lines.insert(0, draft::learnt_line(&known.learnt, known.boards.len()));
        sure_lines.extend(next.map(|n| draft::next_line(n, job.unit)));
        result["calibration"] = draft::learnt_json(&known.learnt, &known.boards);
        result["calibration"]["next_error_mm"] = draft::next_json(next);
    }
    // The table of the last board of these ends is likely to be there still.
    let last = known.as_ref().and_then(|_| shims::last_of(job, &target)).filter(|_| lies == Lies::BaseDown);
    let correction = match last {
        Some(last) => {
            let built = shims::surface_of_kept(&last.pressed.table)?;
            let read_at = shop::read_at_mm(&last.pressed);
            Some((
                last.label.as_str(),
                shims::scheduled(job, &Shimming::default(), (&built, &read_at), &target, &bent)?,
            ))
        }
        None => None,
    };
    if let Some((_, schedule)) = &correction {
        files.push(file("shims.csv", write_csv(&draft::shims(schedule, denominator), &origin)));
    }
    files.push(file("stations.csv", write_csv(&draft::stations(&jig, denominator), &origin)));
    if !jig.spacers.bays.is_empty() {
        files.push(file("spacers.csv", write_csv(&draft::spacers(&jig, denominator), &origin)));
    }
    if !jig.bearers.is_empty() {
        files.push(file("bearers.csv", write_csv(&draft::bearers(&jig, denominator), &origin)));
    }
    let rows = draft::cut_rows(job, &jig, &cut_up.parts, &cut_up.sheets);
    files.push(file("cutlist.csv", write_csv(&draft::cutlist(&rows, denominator), &origin)));
    if !cut_up.cuts.is_empty() {
        files.push(file("cutting.csv", write_csv(&draft::cutting(&cut_up.cuts, job.unit), &origin)));
    }
    files.push(file("result.json", json_bytes(&result)));
    let page = draft::book(&draft::Results {
        job,
        target: &target,
        laminate: &laminate,
        lying: &lying,
        setup: &setup,
        bent: &bent,
        carried: &carried,
        jig: &jig,
        consumables: &consumables,
        cut_up: draft::CutUp { parts: &cut_up.parts, sheets: &cut_up.sheets, cuts: &cut_up.cuts },
        forecast: sure.as_ref().map(|s| &s.forecast),
        learnt: known.as_ref().map(|k| draft::Learning { learnt: &k.learnt, boards: &k.boards, next_error_mm: next }),
        correction: correction.as_ref().map(|(of, schedule)| (*of, schedule)),
        checks: &checks,
        origin: &origin,
    });
    files.push(file("book.html", write_html(&page)));
    Ok(Outcome {
        summary: draft::summary(
            job,
            &target,
            &laminate,
            (&bent, &carried),
            &jig,
            &checks,
            (&sure_lines, &cut_up.lines(job.unit)),
        ),
        checks,
        unit: job.unit,
        accepted: job.accepted.clone(),
        result,
        files,
    })
}

/// Two things at once: the first on a thread of its own.
fn together<A: Send, B>(first: impl FnOnce() -> A + Send, second: impl FnOnce() -> B) -> (A, B) {
    thread::scope(|scope| {
        let first = scope.spawn(first);
        let second = second();
        (first.join().unwrap_or_else(|panic| resume_unwind(panic)), second)
    })
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

/// The check for a concave whose springback across is not known.
fn unknown_across() -> Finding {
    Finding {
        code: "cross-modulus",
        subject: "springback across: the crosswise modulus of a layer is not known".into(),
        held: None,
        verdict: Verdict::Watch,
        source: "taken as along the board",
        remedy: "Name materials whose crosswise modulus is known, or press a narrow test piece first.".into(),
    }
}

/// What carries the stack, for the checks of the table.
fn carrying<'j>(job: &'j Job, jig: &jig::Jig, ribs_mm4: &'j [(f64, f64)]) -> table::Build<'j> {
    let mut places: Vec<f64> = jig.ribs.iter().map(|r| r.y_mm).collect();
    places.sort_by(f64::total_cmp);
    let widest = |places: &[f64]| places.windows(2).map(|w| w[1] - w[0]).reduce(f64::max);
    let bearers: Vec<f64> = jig.bearers.iter().map(|b| b.x_mm).collect();
    let (spacing, thickness_mm, all_mm, span) = match &job.table.frame {
        Frame::Ribs(_) => (widest(&places), jig.rib_thickness_mm, job.board.width_mm, Span::Across),
        Frame::Bearers(b) => (widest(&bearers), b.thickness_mm, job.board.length_mm, Span::Along),
    };
    table::Build {
        skin_mm: job.table.skin_mm,
        skin: job.table.skin_material.as_ref(),
        ribs_mm4,
        ribs: job.table.rib_material.as_ref(),
        clear_mm: spacing.map(|p| p - thickness_mm),
        spacing_mm: spacing.unwrap_or(all_mm),
        span,
        fasteners: job.table.fasteners,
    }
}

/// What the job and the bent table ask of the jig.
fn demand(job: &Job, bent: &OverbentTable, laminate: &Laminate) -> Demand {
    let width = job.board.width_mm;
    // A crosswise modulus that is not known is taken as that along: the share depends on ratios between layers only.
    let across = laminate.crosswise_at(0.0).unwrap_or_else(|| laminate.section_at(0.0));
    let over = |wanted| Across::new(wanted, width, &across, job.table.lies);
    let (hold, skin) = (&job.pressing.hold, job.table.skin_material.as_ref());
    let clear = |span| table::widest_clear_mm(hold, &bent.load, laminate, job.table.skin_mm, skin, span);
    Demand {
        board_width_mm: width,
        across: job.table.concave.as_ref().map_or_else(Across::flat, over),
        moments_n_mm: bent.moments_n().into_iter().map(|(s, m)| (s, m * width)).collect(),
        clear_mm: (clear(Span::Across), clear(Span::Along)),
        strain_limit: job.layers.iter().filter_map(|l| l.material.strain_limit).reduce(f64::min),
        pumped: matches!(job.pressing.hold, Hold::Vacuum { below: Below::Vacuum, .. }),
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
