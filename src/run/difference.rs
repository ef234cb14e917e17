//! What changes from one result to another: whether an old table still serves.

use std::fmt::Write as _;

use serde_json::{Value, json};

use super::Prediction;
use super::predict::predict_on;
use crate::calibrate::{surface_through, surfaces_apart};
use crate::curve::{Curvature, Curve, PlaneCurve, resting_pose};
use crate::finding::Faults;
use crate::job::Job;
use crate::units::{LengthUnit, Quantity};

/// What changes.
#[derive(Debug, Clone, PartialEq)]
pub struct Difference {
    /// A short text for the builder.
    pub summary: String,
    /// All of it for scripts.
    pub json: Value,
    /// The units of the new side.
    pub unit: LengthUnit,
    /// Largest distance in height of the tables' surfaces over the finished length that both have, mm, one laid on the
    /// other at the height and tilt of least squares, as shims may lay it; `None` where a result has no table.
    pub surface_mm: Option<f64>,
}

/// Makes a number of a result a quantity.
type Show = fn(f64) -> Quantity;

/// Figures that are compared: label, place in the result, what the number is.
const FIGURES: [(&str, &str, Show); 15] = [
    ("wanted tip", "/target/tip_height_mm", Quantity::fine),
    ("wanted tail", "/target/tail_height_mm", Quantity::fine),
    ("wanted length", "/target/length_mm", Quantity::fine),
    ("stack", "/stack/thickness_mm", Quantity::fine),
    ("springback", "/stack/springback_share", Quantity::share),
    ("springback max", "/stack/springback_share_most", Quantity::share),
    ("tip loses", "/released/tip_lost_share", Quantity::share),
    ("tail loses", "/released/tail_lost_share", Quantity::share),
    ("table tip", "/table/tip_height_mm", Quantity::fine),
    ("table tail", "/table/tail_height_mm", Quantity::fine),
    ("predicted tip", "/released/tip_height_mm", Quantity::fine),
    ("predicted tail", "/released/tail_height_mm", Quantity::fine),
    ("error", "/released/largest_error_mm", Quantity::fine),
    ("rods", "/spacers/rod_count", Quantity::count),
    ("rod length", "/spacers/rod_length_mm", Quantity::fine),
];
/// Figures that differ by less are one figure: the last digit of a result.
const SAME: f64 = 2e-6;

/// Compares two results as `result.json` holds them.
///
/// ```
/// use overbend::document::{Document, Starter, with_values};
/// use overbend::run;
///
/// let old = Starter::find("twin-tip").unwrap().text;
/// let new = with_values(old, &[("rocker.arc.height".into(), "55".into())]);
/// let result = |text: &str| run::build(&Document::parse("board", text).unwrap().job().unwrap()).unwrap().result;
/// let found = run::difference(&result(old), &result(&new)).unwrap();
/// assert!(found.surface_mm.unwrap() > 1.0, "the old table does not serve");
/// ```
///
/// # Errors
/// In one sentence, where one of them is no result of a build.
pub fn difference(old: &Value, new: &Value) -> Result<Difference, String> {
    for (name, side) in [("first", old), ("second", new)] {
        if !side["title"].is_string() || !side["table"].is_object() || !side["checks"].is_array() {
            return Err(format!("the {name} side is not a build result: title, table or checks are missing."));
        }
    }
    let unit = units_of(new);
    let mut out = format!("{} -> {}\n", text(&old["title"]), text(&new["title"]));
    let rows = changed_figures(old, new, unit, &mut out);
    let changed_parts = changed_parts(old, new, unit, &mut out);
    let verdicts = verdicts(old, new);
    for v in &verdicts {
        let (code, before, after) = (text(&v["code"]), text(&v["before"]), text(&v["after"]));
        // Writing to a String cannot fail.
        let _ = writeln!(out, "  {:<14} {code}: {before} to {after}", "check");
    }
    let surface = surfaces(old, new);
    if rows.is_empty() && changed_parts.is_empty() && verdicts.is_empty() {
        out.push_str("  no changes\n");
    }
    if let Some((apart, at)) = surface {
        let _ = writeln!(
            out,
            "\nLargest difference of the table surfaces: {}, {} from the middle.",
            Quantity::small(apart).text(unit),
            Quantity::place(at).text(unit)
        );
    }
    let json = json!({
        "before": old["title"], "after": new["title"],
        "figures": rows, "parts": changed_parts, "checks": verdicts,
        "surface_mm": surface.map(|s| s.0), "surface_at_mm": surface.map(|s| s.1),
    });
    Ok(Difference { summary: out, json, unit, surface_mm: surface.map(|s| s.0) })
}

/// Figures that differ, each as a line of `out` and as JSON.
fn changed_figures(old: &Value, new: &Value, unit: LengthUnit, out: &mut String) -> Vec<Value> {
    let mut rows = Vec::new();
    for (label, place, quantity) in FIGURES {
        let of = |side: &Value| side.pointer(place).and_then(Value::as_f64);
        let (before, after) = (of(old), of(new));
        let same = match (before, after) {
            (Some(a), Some(b)) => (a - b).abs() <= SAME,
            (a, b) => a.is_none() && b.is_none(),
        };
        if same {
            continue;
        }
        let shown = |v: Option<f64>| v.map_or("none".to_owned(), |v| quantity(v).text(unit));
        let (from, to) = match (before, after) {
            (Some(a), Some(b)) => quantity(a).beside(quantity(b), unit),
            (a, b) => (shown(a), shown(b)),
        };
        // Writing to a String cannot fail.
        let _ = writeln!(out, "  {label:<14} {from} to {to}");
        let si = |v: Option<f64>| v.map(|v| quantity(v).si().0);
        rows.push(json!({ "what": label, "before": si(before), "after": si(after) }));
    }
    rows
}

/// Parts whose number or sizes differ, each as a line of `out` and as JSON.
fn changed_parts(old: &Value, new: &Value, unit: LengthUnit, out: &mut String) -> Vec<Value> {
    let parts = [
        ("ribs", "length_mm", "height_mm"),
        ("bearers", "x_mm", "height_mm"),
        ("cross_members", "length_mm", "height_mm"),
    ];
    let mut changed_parts = Vec::new();
    for (list, first, second) in parts {
        let sizes = |side: &Value| -> Vec<(f64, f64)> {
            let size = |p: &Value| Some((p[first].as_f64()?, p[second].as_f64()?));
            side[list].as_array().into_iter().flatten().filter_map(size).collect()
        };
        let (before, after) = (sizes(old), sizes(new));
        if before == after {
            continue;
        }
        let name = list.replace('_', " ");
        let apart =
            before.iter().zip(&after).map(|(a, b)| (a.0 - b.0).abs().max((a.1 - b.1).abs())).fold(0.0, f64::max);
        let words = if before.len() == after.len() {
            format!("{} as before; sizes differ by up to {}", after.len(), Quantity::small(apart).text(unit))
        } else {
            format!("{} to {}", before.len(), after.len())
        };
        let _ = writeln!(out, "  {name:<14} {words}");
        changed_parts.push(json!({ "what": list, "before": before.len(), "after": after.len(), "apart_mm": apart }));
    }
    changed_parts
}

/// Units of the shop whose result it is.
fn units_of(result: &Value) -> LengthUnit {
    match result["units"].as_str() {
        Some("in") => LengthUnit::Inch { denominator: 64 },
        _ => LengthUnit::Millimetre,
    }
}

fn text(value: &Value) -> &str {
    value.as_str().unwrap_or_default()
}

/// The worst verdict of each check, where it changes.
fn verdicts(old: &Value, new: &Value) -> Vec<Value> {
    let rank = |word: &str| ["none", "ok", "watch", "stop"].iter().position(|w| *w == word).unwrap_or(0);
    let worst = |side: &Value, code: &str| -> String {
        let all =
            side["checks"].as_array().into_iter().flatten().filter(|c| c["code"] == code).map(|c| text(&c["verdict"]));
        all.max_by_key(|w| rank(w)).unwrap_or("none").to_owned()
    };
    let mut codes: Vec<&str> = [old, new]
        .iter()
        .flat_map(|s| s["checks"].as_array().into_iter().flatten())
        .map(|c| text(&c["code"]))
        .collect();
    codes.sort_unstable();
    codes.dedup();
    let change = |code: &&str| {
        let (before, after) = (worst(old, code), worst(new, code));
        (before != after).then(|| json!({ "code": code, "before": before, "after": after }))
    };
    codes.iter().filter_map(change).collect()
}

/// Curvature of a result's table over its arc length; results of before hold it at points only.
fn surface(side: &Value) -> Option<Curvature> {
    let table = &side["table"];
    let nodes: Option<Vec<(f64, f64)>> = match table["curvature"].as_array() {
        Some(nodes) => nodes.iter().map(|n| Some((n[0].as_f64()?, 1e-3 * n[1].as_f64()?))).collect(),
        None => {
            let point = |p: &Value| Some((p["s_mm"].as_f64()?, 1e-3 * p["curvature_per_m"].as_f64()?));
            table["points"].as_array()?.iter().map(point).collect()
        }
    };
    surface_through(&nodes?)
}

/// A result's table as its board would rest on the floor, and where the finished ends are, straight along it from the
/// middle of the board, mm.
fn lying(side: &Value) -> Option<(Curve, (f64, f64))> {
    let curve = resting_pose(&Curve::new(surface(side)?), side["target"]["anchor_mm"].as_f64()?);
    let straight = |key: &str| Some(curve.at(side["table"][key].as_f64()?).point.x);
    let ends = (straight("finished_from_mm")?, straight("finished_to_mm")?);
    Some((curve, ends))
}

/// Largest difference of the surfaces over the finished length that both have, and where it is.
fn surfaces(old: &Value, new: &Value) -> Option<(f64, f64)> {
    let ((a, of_a), (b, of_b)) = (lying(old)?, lying(new)?);
    surfaces_apart(&a, &b, (of_a.0.max(of_b.0), of_a.1.min(of_b.1)))
}

/// Presses the job's stack on the table of an earlier result. `None` where that result holds no curvature of a table.
///
/// # Errors
/// As [`predict`](super::predict).
pub fn on_table_of(job: &Job, old: &Value) -> Option<Result<Prediction, Faults>> {
    Some(predict_on(job, &surface(old)?).map_err(|faults| faults.in_units(job.unit)))
}
