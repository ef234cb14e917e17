//! What all boards of a shop say together, in words and figures.

use serde_json::{Value, json};

use super::result::figure;
use super::summary::Line;
use crate::calibrate::Learnt;
use crate::forecast::{Band, Forecast};
use crate::rocker::Target;
use crate::units::{LengthUnit, Quantity, decimal};

/// A board that the shop learnt from.
#[derive(Debug, Clone, PartialEq)]
pub struct ToldBoard {
    /// What the shop calls it.
    pub label: String,
    /// When it was measured, year-month-day, where the shop said.
    pub date: Option<String>,
    /// Its factor.
    pub factor: f64,
    /// Standard deviation of that, for the stack of the job.
    pub deviation: f64,
    /// How much it counts in the end, 0 to 1.
    pub counts: f64,
    /// What was expected of it beside what came out; `None` for boards too long ago to be told.
    pub history: Option<Foretold>,
}

/// Heights (tail, tip) over the lowest place, mm, of a board that lies with its middle level.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Foretold {
    /// By the layers alone.
    pub by_layers_mm: (f64, f64),
    /// With what the shop knew before this board.
    pub foretold_mm: (f64, f64),
    /// One board in twenty was expected to be lower.
    pub lowest_mm: (f64, f64),
    /// One board in twenty was expected to be higher.
    pub highest_mm: (f64, f64),
    /// As it was measured.
    pub measured_mm: (f64, f64),
}

/// The line of a build's summary about the shop's factor.
pub fn learnt_line(learnt: &Learnt, boards: usize) -> (&'static str, String) {
    if boards == 0 {
        return ("shop", "no board is learned from yet; taken to spring back as the layers alone say".to_owned());
    }
    let many = if boards == 1 { "board" } else { "boards" };
    (
        "shop",
        format!(
            "springs back {} times as much as the layers alone say (9 in 10: {} to {}), learnt from {boards} {many}",
            decimal(learnt.factor, 2),
            decimal(learnt.p05, 2),
            decimal(learnt.p95, 2)
        ),
    )
}

/// The key `calibration` of `result.json`.
pub fn learnt_json(learnt: &Learnt, boards: &[ToldBoard]) -> Value {
    let told = boards.iter().map(|b| {
        json!({
            "label": b.label,
            "factor": figure(b.factor),
            "deviation": figure(b.deviation),
            "counts": figure(b.counts),
            "heights": b.history.map(|h| history_json(&h)),
        })
    });
    json!({
        "factor": figure(learnt.factor),
        "factor_p05": figure(learnt.p05),
        "factor_p95": figure(learnt.p95),
        "next_board_deviation": figure(learnt.next_deviation),
        "scatter": figure(learnt.scatter),
        "scatter_found": learnt.scatter_found,
        "boards": boards.len(),
        "told": told.collect::<Vec<_>>(),
    })
}

fn history_json(told: &Foretold) -> Value {
    let ends = |(tail, tip): (f64, f64)| json!({ "tail_mm": figure(tail), "tip_mm": figure(tip) });
    json!({
        "by_layers": ends(told.by_layers_mm),
        "foretold": ends(told.foretold_mm),
        "foretold_p05": ends(told.lowest_mm),
        "foretold_p95": ends(told.highest_mm),
        "measured": ends(told.measured_mm),
    })
}

/// What tail and tip of nine in ten next boards keep within of the wanted height, mm.
pub fn next_error_mm(forecast: &Forecast, target: &Target) -> (f64, f64) {
    let off = |band: &Band, wanted: f64| (band.p05 - wanted).abs().max((band.p95 - wanted).abs());
    (off(&forecast.tail_mm, target.tail_height_mm()), off(&forecast.tip_mm, target.tip_height_mm()))
}

/// The line of a summary about that.
pub fn next_line((tail, tip): (f64, f64), unit: LengthUnit) -> Line {
    let say = |mm: f64| Quantity::fine(mm).text(unit);
    ("next board", format!("9 in 10: tip within {} of what is wanted, tail within {}", say(tip), say(tail)))
}

/// The key `calibration.next_error_mm` of `result.json`.
pub fn next_json(next: Option<(f64, f64)>) -> Value {
    next.map_or(Value::Null, |(tail, tip)| json!({ "tail": figure(tail), "tip": figure(tip) }))
}
