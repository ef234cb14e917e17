//! Boards of a table that is there already, in words and figures.

use std::fmt::Write as _;

use serde_json::{Value, json};

use super::json::{checks_json, figure, points};
use super::learned::{learned_json, learned_line};
use super::lines::looked_at;
use super::uncertainty::{band_words, forecast_json};
use crate::calibrate::{Learned, LearnedBoard};
use crate::curve::{Curve, PlaneCurve};
use crate::finding::Finding;
use crate::forecast::Forecast;
use crate::job::Job;
use crate::press::Pressed;
use crate::rocker::Target;
use crate::units::{LengthUnit, Quantity, length};

/// One stack on the table and the board that it gives.
#[derive(Debug, Clone, PartialEq)]
pub struct PredictedStack {
    /// What the shop calls it.
    pub name: String,
    /// As it lies on the table.
    pub pressed: Pressed,
    /// The released board over its finished length, as it rests on the floor.
    pub curve: Curve,
    /// How sure that is, where boards were simulated.
    pub forecast: Option<Forecast>,
    /// Largest distance from the wanted board at the same place along the base, mm.
    pub largest_error_mm: f64,
    /// What the shop's boards say of this stack.
    pub learned: Option<(Learned, Vec<LearnedBoard>)>,
    /// Checks of this stack on the table.
    pub checks: Vec<Finding>,
}

impl PredictedStack {
    /// Heights of tail and tip, mm.
    fn heights_mm(&self) -> (f64, f64) {
        let (tail, tip) = self.curve.range_mm();
        (self.curve.at(tail).point.y, self.curve.at(tip).point.y)
    }
}

/// The stack that comes nearest to what is wanted.
fn nearest(stacks: &[PredictedStack]) -> Option<&PredictedStack> {
    stacks.iter().min_by(|a, b| a.largest_error_mm.total_cmp(&b.largest_error_mm))
}

/// What a builder wants to know first.
pub(crate) fn prediction_summary(job: &Job, target: &Target, stacks: &[PredictedStack]) -> String {
    let say = |mm: f64| length(mm, job.unit);
    let mut out = format!("{}, on the existing table\n", job.title);
    // Writing to a String cannot fail.
    let _ = writeln!(
        out,
        "  {:<10} tip {}, tail {} high",
        "wanted",
        say(target.tip_height_mm()),
        say(target.tail_height_mm())
    );
    for stack in stacks {
        let (tail, tip) = stack.heights_mm();
        let gap = stack.pressed.contact.gap_mm.iter().copied().fold(0.0, f64::max);
        let _ = writeln!(out, "\n  {}", stack.name);
        let _ = writeln!(
            out,
            "  {:<10} tip {}, tail {} high; within {} of the wanted curve",
            "predicted",
            say(tip),
            say(tail),
            Quantity::within(stack.largest_error_mm).text(job.unit)
        );
        if let Some(forecast) = &stack.forecast {
            let (tip, tail) = (band_words(&forecast.tip_mm, job.unit), band_words(&forecast.tail_mm, job.unit));
            let _ = writeln!(out, "  {:<10} tip {tip}, tail {tail}", "9 in 10");
        }
        let _ = writeln!(out, "  {:<10} {} at most under the stack", "gap", Quantity::small(gap).text(job.unit));
        if let Some((learned, boards)) = &stack.learned {
            let (label, words) = learned_line(learned, boards.len());
            let _ = writeln!(out, "  {label:<10} {words}");
        }
        out.push_str(&looked_at(&stack.checks, &job.accepted, "look at this before pressing:", job.unit));
    }
    if let (Some(best), true) = (nearest(stacks), stacks.len() > 1) {
        let _ = writeln!(out, "\nnearest to the wanted rocker: {}", best.name);
    }
    out
}

/// All figures as one JSON document.
pub(crate) fn prediction_json(job: &Job, stacks: &[PredictedStack], origin: &str) -> Value {
    let mut all = stacks.iter().map(|s| stack_json(s, job.unit));
    let mut out = all.next().unwrap_or_default();
    out["made_by"] = json!(origin);
    out["title"] = json!(job.title);
    out["job_sha256"] = json!(job.hash);
    out["alternatives"] = all.collect();
    out["nearest"] = json!(nearest(stacks).map(|s| s.name.as_str()));
    out
}

fn stack_json(stack: &PredictedStack, unit: LengthUnit) -> Value {
    let (tail, tip) = stack.heights_mm();
    let pressed = &stack.pressed;
    let lying = pressed.stations.iter().enumerate().map(|(i, station)| {
        let base = pressed.base_per_mm.get(i).map_or_else(|| pressed.base_per_mm[i - 1][1], |ends| ends[0]);
        json!({
            "s_mm": figure(station.table_mm),
            "gap_mm": figure(pressed.contact.gap_mm[i]),
            "curvature_per_m": figure(1e3 * base),
        })
    });
    let mut json = json!({
        "name": stack.name,
        "pressed": { "points": lying.collect::<Vec<_>>() },
        "released": {
            "tip_height_mm": figure(tip),
            "tail_height_mm": figure(tail),
            "largest_error_mm": figure(stack.largest_error_mm),
            "points": points(&stack.curve, false),
        },
        "forecast": stack.forecast.as_ref().map(forecast_json),
        "checks": checks_json(&stack.checks, unit),
    });
    if let Some((learned, boards)) = &stack.learned {
        json["calibration"] = learned_json(learned, boards);
    }
    json
}
