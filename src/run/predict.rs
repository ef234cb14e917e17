//! What comes off a table that is there already.

use serde_json::Value;

use super::shop;
use super::sure::laminates;
use crate::curve::{Curvature, Curve, Piece, PlaneCurve, resting_pose};
use crate::draft::{self, PredictedStack};
use crate::finding::Fault;
use crate::forecast::{Model, Scene, forecast};
use crate::job::{Board, Job, Layer, Lies};
use crate::laminate::Laminate;
use crate::press::{Blank, Load, PressError, press, release};
use crate::rocker::{self, Target};
use crate::table::{self, OtherFace};
use crate::units::{LengthUnit, Quantity};

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
/// Rounds in which the blank's length is found, and how well, mm. The stretch between face and neutral line goes in once;
/// what is left of it after that is of the second order.
const BLANK_ROUNDS: usize = 4;
const SAME_MM: f64 = 0.01;

/// Presses the job's stack, and each of its alternatives, on its existing table.
///
/// # Errors
/// Faults with the paths of the keys at fault: no existing table, a table shorter than the blank or tighter than the
/// stack allows.
pub fn predict(job: &Job) -> Result<Prediction, Vec<Fault>> {
    let (taught, known) = shop::taught(job)?;
    let job = &taught;
    let Some(table) = &job.existing_table else {
        return Err(vec![Fault::new(
            "no-existing-table",
            "existing_table",
            "the document has no table to press on.",
            "Add it here: [existing_table] with its `length`, and its surface as a rocker is given, such as \
             [existing_table.surface.arc]. Or give its measured heights with --as-built.",
        )]);
    };
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
    let (laminate, lying) = laminates(job, layers).map_err(elsewhere)?;
    let setup = table::setup(&job.board, &job.pressing, &laminate, job.table.end_margin_mm);
    let whole = (target.curvature.start_mm(), target.curvature.end_mm());
    // The finished ends on the face that lies on the table, and where the board rests, both along that face.
    let deck = match job.table.lies {
        Lies::BaseDown => None,
        Lies::DeckDown => Some(
            OtherFace::new(&target.curvature, |s| laminate.section_at(s).thickness_mm)
                .map_err(|_| vec![thick("rocker")])?,
        ),
    };
    let face = |base_mm: f64| deck.as_ref().map_or(base_mm, |d| d.opposite(base_mm));
    let finished_mm = (face(whole.0), face(whole.1));
    let mut blank =
        Blank { tail_mm: finished_mm.0 - setup.overhang_tail_mm, tip_mm: finished_mm.1 + setup.overhang_tip_mm };
    let mut lain = None;
    for _ in 0..BLANK_ROUNDS {
        let pressed = press(surface, &lying, blank, &setup.load)
            .map_err(|e| vec![off_table(e, surface, &lying, blank, job.unit)])?;
        let folds = |_| vec![fault(PressError::TooTight(0.0), surface, blank, job.unit)];
        let released = release(&pressed).map_err(folds)?;
        // The released face is longer or shorter than the flat blank; the blank is cut so that it reaches as far as asked.
        let short_mm = (
            released.base.start_mm() - (finished_mm.0 - setup.overhang_tail_mm),
            finished_mm.1 + setup.overhang_tip_mm - released.base.end_mm(),
        );
        lain = Some((pressed, released));
        if short_mm.0.abs().max(short_mm.1.abs()) < SAME_MM {
            break;
        }
        blank = Blank { tail_mm: blank.tail_mm - short_mm.0, tip_mm: blank.tip_mm + short_mm.1 };
    }
    let folds = |_| vec![fault(PressError::TooTight(0.0), surface, blank, job.unit)];
    let Some((pressed, released)) = lain else { return Err(vec![thick("existing_table.surface")]) };
    let reached = (finished_mm.0.max(released.base.start_mm()), finished_mm.1.min(released.base.end_mm()));
    let finished = released.base.between(reached.0, reached.1).map_err(folds)?;
    let base = match &deck {
        None => finished,
        Some(deck) => {
            let upright = table::upside_down(&finished).map_err(folds)?;
            deck.base_under(&upright, |s| laminate.section_at(s).thickness_mm).map_err(folds)?
        }
    };
    let curve = resting_pose(&Curve::new(base), target.anchor_mm);
    let apart = target.curve.samples(STEP_MM).into_iter().map(|w| w.point.distance(curve.at(w.s_mm).point));
    let largest_error_mm = apart.fold(0.0, f64::max);
    let (tail, tip) = curve.range_mm();
    let on_deck = deck.as_ref().map(|_| (curve.at(tail).point.y, curve.at(tip).point.y));
    let anchor_mm = face(target.anchor_mm);
    let scene = Scene { pressed: &pressed, load: &setup.load, finished_mm: reached, anchor_mm, on_deck };
    let sure = job.forecast;
    // What the shop's boards have told is uncertain in the factor, not in the layers again.
    let certain = match job.shop.as_ref().is_some_and(|s| s.counted().next().is_some()) {
        true => laminates(job, &shop::settled(laminate.layers()))?.1,
        false => lying.clone(),
    };
    let forecast = (sure.draws > 0)
        .then(|| Model::new(&scene, &certain).ok())
        .flatten()
        .and_then(|model| forecast(&model, sure.springback, sure.draws, sure.seed));
    Ok(PredictedStack { name: name.to_owned(), pressed, curve, forecast, largest_error_mm })
}

/// The fault of a board that has no deck as thick as it is.
fn thick(path: &str) -> Fault {
    Fault::new(
        "too-tight",
        path,
        "the board is thicker than the radius that it is bent to.",
        "Ease the curve, or thin the stack.",
    )
}

/// The fault of a stack that could not be pressed; of a table that is too short it says how long it would have to be.
fn off_table(error: PressError, surface: &Curvature, lying: &Laminate, blank: Blank, unit: LengthUnit) -> Fault {
    let taken = matches!(error, PressError::Blank(_)).then(|| taken_mm(surface, lying, blank)).flatten();
    let Some((tail_mm, tip_mm)) = taken else { return fault(error, surface, blank, unit) };
    let half_mm = 0.5 * surface.length_mm();
    let place = |mm: f64| Quantity::place(mm).text(unit);
    Fault::new(
        "blank-off-table",
        "existing_table.length",
        format!(
            "the table is {} long, {} on each side of its middle; the base of this blank takes {} of it on the tail's \
             side and {} on the tip's.",
            place(2.0 * half_mm),
            place(half_mm),
            place(tail_mm),
            place(tip_mm)
        ),
        format!(
            "Give the whole length of its surface, which must be {} or more, or a shorter overhang in [board].",
            place((2.0 * tail_mm.max(tip_mm)).ceil())
        ),
    )
}

/// How much of a table's surface the base of a blank takes on the tail's and on the tip's side of its middle, mm, if the
/// table went on straight beyond its ends.
fn taken_mm(surface: &Curvature, lying: &Laminate, blank: Blank) -> Option<(f64, f64)> {
    let reach_mm = 2.0 * (blank.tip_mm - blank.tail_mm);
    let straight = |start_mm, end_mm| Piece { start_mm, end_mm, k_start: 0.0, k_end: 0.0 };
    let (from, to) = (surface.start_mm(), surface.end_mm());
    let mut pieces = vec![straight(from - reach_mm, from)];
    pieces.extend_from_slice(surface.pieces());
    pieces.push(straight(to, to + reach_mm));
    let longer = Curvature::new(pieces).ok()?;
    let pressed = press(&longer, lying, blank, &Load::even(ATMOSPHERE_MPA)).ok()?;
    let (first, last) = (pressed.stations.first()?, pressed.stations.last()?);
    Some((-first.table_mm, last.table_mm))
}

/// Stations on the table do not depend on the pressure; any will do to find them, MPa.
const ATMOSPHERE_MPA: f64 = 0.1;

fn fault(error: PressError, surface: &Curvature, blank: Blank, unit: LengthUnit) -> Fault {
    let place = |mm: f64| Quantity::place(mm).text(unit);
    match error {
        PressError::Blank(_) => Fault::new(
            "blank-off-table",
            "existing_table.length",
            format!(
                "the table is {} long; a blank of {} does not lie on it.",
                place(surface.length_mm()),
                place(blank.tip_mm - blank.tail_mm)
            ),
            "Give the whole length of its surface, or a shorter overhang in [board].",
        ),
        PressError::TooTight(at) => Fault::new(
            "too-tight",
            "existing_table.surface",
            format!("at {} the table is tighter than the stack is thick.", place(at)),
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
