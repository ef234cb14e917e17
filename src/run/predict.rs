//! What comes off a table that is there already.

use serde_json::Value;

use super::shop;
use super::sure::laminates;
use crate::curve::{Curvature, Curve, PlaneCurve, resting_pose};
use crate::draft::{self, PredictedStack};
use crate::finding::Fault;
use crate::forecast::{Model, Scene, forecast};
use crate::job::{Board, Job, Layer, Lies};
use crate::press::{Blank, PressError, press, release};
use crate::rocker::{self, Target};
use crate::table;

/// What is said about the boards of an existing table.
#[derive(Debug, Clone, PartialEq)]
pub struct Prediction {
    /// A short text for the builder.
    pub summary: String,
    /// All figures, with the keys of `result.json`.
    pub json: Value,
}

/// Step at which a predicted board is compared with the wanted one, mm.
const STEP_MM: f64 = 5.0;

/// Presses the job's stack, and each of its alternatives, on its existing table.
///
/// # Errors
/// Faults with the paths of the keys at fault: no existing table, a table shorter than the blank or tighter than the
/// stack allows, a board that lies on its deck.
pub fn predict(job: &Job) -> Result<Prediction, Vec<Fault>> {
    let (taught, known) = shop::taught(job)?;
    let job = &taught;
    let Some(table) = &job.existing_table else {
        return Err(vec![Fault::new(
            "no-existing-table",
            "title",
            "the document has no table to press on.",
            "Add [existing_table] with its length and surface.",
        )]);
    };
    if job.table.lies == Lies::DeckDown {
        return Err(vec![Fault::new(
            "predict-deck-down",
            "table.lies",
            "boards that lie on their deck cannot be predicted on an existing table yet.",
            "Design a table for it with build, which presses and releases it on its deck.",
        )]);
    }
    let target = rocker::target(&job.rocker, &job.board)?;
    let surface = surface_of(table, &job.board)?;
    let mut stacks = vec![stack(job, &job.title, &job.layers, &target, &surface, "layers")?];
    for (i, other) in job.alternatives.iter().enumerate() {
        stacks.push(stack(job, &other.name, &other.layers, &target, &surface, &format!("alternatives[{i}].layers"))?);
    }
    let origin = draft::origin(&job.hash);
    let mut prediction = Prediction {
        summary: draft::prediction_summary(job, &target, &stacks),
        json: draft::prediction_json(job, &stacks, &origin),
    };
    if let Some(known) = &known {
        let (label, words) = draft::learnt_line(&known.learnt, known.boards.len());
        prediction.summary.push_str(&format!("\n  {label:<10} {words}\n"));
        prediction.json["calibration"] = draft::learnt_json(&known.learnt, &known.boards);
    }
    Ok(prediction)
}

/// Curvature of the table's surface, which is said as a board's rocker is.
pub(super) fn surface_of(table: &crate::job::ExistingTable, board: &Board) -> Result<Curvature, Vec<Fault>> {
    let as_board = Board { length_mm: table.length_mm, length_along: table.length_along, ..board.clone() };
    let elsewhere = |mut fault: Fault| {
        fault.path = match fault.path.strip_prefix("rocker") {
            Some(rest) => format!("existing_table.surface{rest}"),
            None => "existing_table.length".to_owned(),
        };
        fault
    };
    rocker::target(&table.surface, &as_board)
        .map(|t| t.curvature)
        .map_err(|faults| faults.into_iter().map(elsewhere).collect())
}

fn stack(
    job: &Job,
    name: &str,
    layers: &[Layer],
    target: &Target,
    surface: &Curvature,
    list: &str,
) -> Result<PredictedStack, Vec<Fault>> {
    let elsewhere = |faults: Vec<Fault>| -> Vec<Fault> {
        let moved = |mut f: Fault| {
            f.path = f.path.replacen("layers", list, 1);
            f
        };
        faults.into_iter().map(moved).collect()
    };
    let (laminate, _) = laminates(job, layers).map_err(elsewhere)?;
    let setup = table::setup(&job.board, &job.pressing, &laminate, job.table.end_margin_mm);
    let finished_mm = (target.curvature.start_mm(), target.curvature.end_mm());
    let blank =
        Blank { tail_mm: finished_mm.0 - setup.overhang_tail_mm, tip_mm: finished_mm.1 + setup.overhang_tip_mm };
    let pressed = press(surface, &laminate, blank, &setup.load).map_err(|e| vec![fault(e, surface, blank)])?;
    let folds = |_| vec![fault(PressError::TooTight(0.0), surface, blank)];
    let released = release(&pressed).map_err(folds)?;
    let finished = released.base.between(finished_mm.0, finished_mm.1).map_err(folds)?;
    let curve = resting_pose(&Curve::new(finished), target.anchor_mm);
    let apart = target.curve.samples(STEP_MM).into_iter().map(|w| w.point.distance(curve.at(w.s_mm).point));
    let largest_error_mm = apart.fold(0.0, f64::max);
    let scene = Scene { pressed: &pressed, load: &setup.load, finished_mm, anchor_mm: target.anchor_mm, on_deck: None };
    let sure = job.forecast;
    // What the shop's boards have told is uncertain in the factor, not in the layers again.
    let certain = match job.shop.as_ref().is_some_and(|s| s.counted().next().is_some()) {
        true => laminates(job, &shop::settled(laminate.layers()))?.0,
        false => laminate.clone(),
    };
    let forecast = (sure.draws > 0)
        .then(|| Model::new(&scene, &certain).ok())
        .flatten()
        .and_then(|model| forecast(&model, sure.springback, sure.draws, sure.seed));
    Ok(PredictedStack { name: name.to_owned(), pressed, curve, forecast, largest_error_mm })
}

fn fault(error: PressError, surface: &Curvature, blank: Blank) -> Fault {
    match error {
        PressError::Blank(at) => Fault::new(
            "blank-off-table",
            "existing_table.length",
            format!(
                "the table is {:.0} mm long; a blank of {:.0} mm does not lie on it ({at:.0} mm from the middle).",
                surface.length_mm(),
                blank.tip_mm - blank.tail_mm
            ),
            "Give the whole length of its surface, or a shorter overhang in [board].",
        ),
        PressError::TooTight(at) => Fault::new(
            "too-tight",
            "existing_table.surface",
            format!("at {at:.0} mm the table is tighter than the stack is thick."),
            "Check radius and unit.",
        ),
        PressError::Contact(reason) => Fault::new(
            "contact",
            "pressing",
            format!("how the stack lies on the table could not be computed ({reason:?})."),
            "Check stack and pressure for values far outside of what boards have.",
        ),
    }
}
