//! What a shop has learned from all its boards, in words and values.

use serde_json::{Value, json};

use super::json::figure;
use super::lines::Line;
use crate::calibrate::{Learned, LearnedBoard, PredictedHeights};
use crate::units::{LengthUnit, Quantity, decimal};

/// Why a board is set aside and how to overrule that, where it is.
pub(super) fn set_aside_words(board: &LearnedBoard) -> Option<String> {
    board.set_aside.then(|| {
        format!(
            "`{}`: its factor of {} is unlike that of the other boards, or of any board. If it is right and they are not, give \
             them left_out = true in the shop's file.",
            board.label,
            decimal(board.factor, 2)
        )
    })
}
/// The line of a build's summary about the shop's factor.
pub(crate) fn learned_line(learned: &Learned, boards: usize) -> (&'static str, String) {
    if boards == 0 {
        return ("shop", "no board measured yet; springback predicted from the layers alone".to_owned());
    }
    let many = if boards == 1 { "board" } else { "boards" };
    (
        "shop",
        format!(
            "springback {} times the layers' own (9 in 10: {} to {}), learned from {boards} {many}",
            decimal(learned.factor, 2),
            decimal(learned.p05, 2),
            decimal(learned.p95, 2)
        ),
    )
}

/// The key `calibration` of `result.json`.
pub(crate) fn learned_json(learned: &Learned, boards: &[LearnedBoard]) -> Value {
    let learned_from = boards.iter().map(|b| {
        json!({
            "label": b.label,
            "factor": figure(b.factor),
            "deviation": figure(b.deviation),
            "counts": figure(b.counts),
            "heights": b.history.map(|h| history_json(&h)),
        })
    });
    json!({
        "factor": figure(learned.factor),
        "factor_p05": figure(learned.p05),
        "factor_p95": figure(learned.p95),
        "next_board_deviation": figure(learned.next_deviation),
        "closing_in": figure(learned.closing_in.multiple.value),
        "closing_in_deviation": figure(learned.closing_in.multiple.sd),
        "factor_per_closing_in": figure(learned.closing_in.factor_per_multiple),
        "scatter": figure(learned.scatter),
        "scatter_found": learned.scatter_found,
        "boards": boards.len(),
        "learned_from": learned_from.collect::<Vec<_>>(),
    })
}

fn history_json(heights: &PredictedHeights) -> Value {
    let ends = |(tail, tip): (f64, f64)| json!({ "tail_mm": figure(tail), "tip_mm": figure(tip) });
    json!({
        "by_layers": ends(heights.by_layers_mm),
        "predicted": ends(heights.predicted_mm),
        "predicted_p05": ends(heights.lowest_mm),
        "predicted_p95": ends(heights.highest_mm),
        "measured": ends(heights.measured_mm),
    })
}

/// The line of a summary about that.
pub(super) fn next_line((tail, tip): (f64, f64), unit: LengthUnit) -> Line {
    let say = |mm: f64| Quantity::fine(mm).text(unit);
    ("next board", format!("tip within {}, tail within {} of the wanted height (9 in 10)", say(tip), say(tail)))
}

/// The key `calibration.next_error_mm` of `result.json`.
pub(super) fn next_json(next: Option<(f64, f64)>) -> Value {
    next.map_or(Value::Null, |(tail, tip)| json!({ "tail": figure(tail), "tip": figure(tip) }))
}
