//! What the page shows of a document: curves, values, layers, checks, problems.

use overbend::built::{Built, Design, compute, design};
use overbend::curve::{Curvature, Curve, PlaneCurve};
use overbend::document::{Document, Problem};
use overbend::finding::{Code, Faults, Finding, Verdict};
use overbend::forecast::Band;
use overbend::job::{Job, Layer, Rocker, Thickness};
use overbend::rocker::{self, Target};
use overbend::run::{self, OutputFile};
use overbend::units::{LengthUnit, Quantity, decimal};
use serde_json::{Value, json};

use crate::edit::values;
use crate::{Opened, advice, handles};

/// Distance of the points of a curve in the picture, mm.
const POINT_STEP_MM: f64 = 10.0;

/// Everything that follows a moving hand.
pub(crate) fn live(opened: &Opened) -> Value {
    look(opened, false).0
}

/// Everything, with the files.
pub(crate) fn full(opened: &Opened) -> (Value, Vec<OutputFile>) {
    look(opened, true)
}

fn look(opened: &Opened, whole: bool) -> (Value, Vec<OutputFile>) {
    let mut view = json!({ "values": values(&opened.text) });
    let document = match Document::parse(&opened.name, &opened.text) {
        Ok(document) => document,
        Err(found) => {
            view["problems"] = problems(&found);
            return (view, Vec::new());
        }
    };
    view["inputs"] = json!(document.inputs());
    let inputs = opened.inputs();
    let shown = document
        .job_with(&inputs)
        .and_then(|job| of_job(&mut view, &job, whole).map_err(|faults| document.problems(&faults)));
    match shown {
        Ok(files) => (view, files),
        Err(found) => {
            // The wanted curve is shown even where the rest of the document is wrong.
            if let Ok(wanted) = document.wanted_with(&inputs)
                && let Ok(target) = rocker::target(&wanted.rocker, &wanted.board)
            {
                of_board(&mut view, (&wanted.title, wanted.unit, &wanted.rocker), &target);
            }
            view["problems"] = problems(&found);
            (view, Vec::new())
        }
    }
}

/// Computes the job and shows what comes of it; its parts, simulated boards and files where the whole is wanted, for which a
/// moving hand does not wait.
fn of_job(view: &mut Value, job: &Job, whole: bool) -> Result<Vec<OutputFile>, Faults> {
    if !whole {
        let design = design(job)?;
        of_design(view, &design);
        view["checks"] = checks(&design.quick_checks(), &[], job.unit, &job.accepted);
        return Ok(Vec::new());
    }
    let built = compute(job)?;
    of_design(view, &built.design);
    of_boards(view, &built);
    let quick: Vec<&Code> = built.design.quick_checks().iter().map(|c| c.code).collect();
    let outcome = run::files(built)?;
    let late: Vec<bool> = outcome.checks.iter().map(|c| !quick.contains(&c.code)).collect();
    view["checks"] = checks(&outcome.checks, &late, outcome.unit, &outcome.accepted);
    view["stops"] = json!(outcome.stops());
    view["files"] = outcome.files.iter().map(|f| json!({ "name": f.name, "bytes": f.bytes.len() })).collect();
    view["summary"] = json!(outcome.summary);
    Ok(outcome.files)
}

/// Checks in words, worst first; `late` says of each whether it does not follow a moving hand.
fn checks(all: &[Finding], late: &[bool], unit: LengthUnit, accepted: &[String]) -> Value {
    let mut sorted: Vec<(usize, &Finding)> = all.iter().enumerate().collect();
    sorted.sort_by_key(|(_, c)| std::cmp::Reverse(c.verdict));
    let shown = |(i, c): (usize, &Finding)| {
        let mut shown = finding(c, unit, accepted);
        shown["late"] = json!(late.get(i).copied().unwrap_or(false));
        shown
    };
    sorted.into_iter().map(shown).collect()
}

pub(crate) fn problems(found: &[Problem]) -> Value {
    found
        .iter()
        .map(|p| {
            json!({
                "file": p.file,
                "path": p.fault.path,
                "line": p.line,
                "column": p.column,
                "from": p.span.start,
                "to": p.span.end,
                "code": p.fault.code.name,
                "message": p.fault.message(),
                "remedy": p.fault.remedy(),
            })
        })
        .collect()
}

fn hundredth(value: f64) -> f64 {
    (value * 100.0).round() / 100.0
}

/// Points of a curve: station, x and z, mm.
fn points(curve: &Curve) -> Value {
    let (from, to) = curve.range_mm();
    let steps = ((to - from) / POINT_STEP_MM).ceil().max(1.0);
    let place = |i: usize| from + (to - from) * i as f64 / steps;
    (0..=steps as usize)
        .map(|i| {
            let at = curve.at(place(i)).point;
            json!([hundredth(place(i)), hundredth(at.x), hundredth(at.y)])
        })
        .collect()
}

/// Curvature over stations: each piece by its ends, mm and 1/m.
fn curvature(of: &Curvature) -> Value {
    let end = |s_mm: f64, k: f64| json!([hundredth(s_mm), (1e6 * k).round() / 1e3]);
    of.pieces().iter().flat_map(|p| [end(p.start_mm, p.k_start_per_mm), end(p.end_mm, p.k_end_per_mm)]).collect()
}

fn of_board(view: &mut Value, (title, unit, rocker): (&str, LengthUnit, &Rocker), target: &Target) {
    view["title"] = json!(title);
    view["unit"] = json!(match unit {
        LengthUnit::Millimetre => "mm",
        LengthUnit::Inch { .. } => "in",
    });
    view["wanted"] = points(&target.curve);
    view["curvature"] = json!({ "wanted": curvature(&target.curvature) });
    view["handles"] = handles::listed(rocker, target, unit);
    let length = |mm: f64| Quantity::length(mm).text(unit);
    view["board"] = json!({
        "tip": length(target.tip_height_mm()),
        "tail": length(target.tail_height_mm()),
        "radius": target.report.tightest_radius_mm().map(|mm| Quantity::place(mm).text(unit)),
        "radius_at": tightest_at_mm(target).map(|mm| Quantity::place(mm).text(unit)),
    });
}

/// Where the board is bent most; nothing where it is bent alike all along.
fn tightest_at_mm(target: &Target) -> Option<f64> {
    let ((_, low), (_, high)) = target.curvature.extremes();
    let alike = high - low < 1e-3 * high.abs().max(low.abs());
    target.report.tightest.map(|t| t.s_mm).filter(|_| !alike)
}

/// `43.5 to 46.3 mm`: a band with its unit once.
fn band_words(low_mm: f64, high_mm: f64, unit: LengthUnit) -> String {
    let [low, high] = [low_mm, high_mm].map(|mm| Quantity::length(mm).text(unit));
    let name = high.rsplit(' ').next().unwrap_or_default();
    format!("{} to {high}", low.trim_end_matches(name).trim_end())
}

fn of_design(view: &mut Value, design: &Design) {
    let Design { job, target, laminate, table, .. } = design;
    let unit = job.unit;
    of_board(view, (&job.title, unit, &job.rocker), target);
    let length = |mm: f64| Quantity::length(mm).text(unit);
    let section = laminate.section_at(0.0);
    let (tail_mm, tip_mm) = table.table_heights_mm();
    view["table"] = points(&table.resting);
    view["released"] = points(&table.predicted);
    view["curvature"]["table"] = curvature(&table.surface);
    view["values_shown"] = json!({
        "table_tip": length(tip_mm),
        "table_tail": length(tail_mm),
        "springback": format!("{} %", decimal(100.0 * section.springback_share(), 1)),
        "thickness": length(section.thickness_mm),
        "error": Quantity::small(table.error_mm).text(unit),
        "force": Quantity::force(design.closing_force_n()).text(unit),
    });
    view["layers"] = job.layers.iter().map(|l| layer(l, unit)).collect();
}

/// What simulated boards tell.
fn of_boards(view: &mut Value, built: &Built) {
    let job = &built.design.job;
    let unit = job.unit;
    if let Some(forecast) = &built.forecast {
        let band = |band: &Band| {
            let (from, to) = (band.p05, band.p95);
            json!({ "from": from, "to": to, "text": band_words(from, to, unit), "width": Quantity::fine(to - from).text(unit) })
        };
        view["band"] = json!({ "tip": band(&forecast.tip_mm), "tail": band(&forecast.tail_mm) });
        view["advice"] = built.advice.iter().map(|a| advice::shown(a, job, &view["values"])).collect();
    }
}

/// A layer in its middle.
fn layer(layer: &Layer, unit: LengthUnit) -> Value {
    let thickness_mm = match &layer.thickness {
        Thickness::Constant(mm) => *mm,
        Thickness::Tapered(stations) => {
            stations.iter().min_by(|a, b| a.0.abs().total_cmp(&b.0.abs())).map_or(0.0, |s| s.1)
        }
    };
    json!({
        "entry": layer.entry,
        "name": layer.name,
        "material": layer.material.name,
        "thickness": thickness_mm,
        "tapered": matches!(layer.thickness, Thickness::Tapered(_)),
        "text": Quantity::fine(thickness_mm).text(unit),
        "kind": overbend::document::kind_name(layer.material.kind),
    })
}

/// A check in words; `accepted` are the codes that the shop overrides.
pub(crate) fn finding(of: &Finding, unit: LengthUnit, accepted: &[String]) -> Value {
    let held = of.held.map(|h| h.words(unit));
    json!({
        "code": of.code.name,
        "verdict": of.verdict.word(),
        "accepted": of.verdict == Verdict::Stop && accepted.iter().any(|a| a == of.code.name),
        "subject": of.subject.text(unit),
        "value": held.as_ref().map(|h| &h.0),
        "limit": held.as_ref().map(|h| &h.1),
        "source": of.code.source,
        "remedy": of.remedy.text(unit),
    })
}
