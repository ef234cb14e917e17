//! What comes off a table that is there already.

use serde_json::Value;

use crate::built::laminates;
use crate::calibrate::boards;
use crate::codes;
use crate::curve::{Curvature, Curve, Piece, PlaneCurve, resting_pose};
use crate::draft::{self, PredictedStack};
use crate::finding::{Fault, Faults, Finding, Verdict};
use crate::forecast::{Model, Scene, forecast};
use crate::job::{Board, ExistingTable, Job, Layer, Lies};
use crate::laminate::Laminate;
use crate::press::{Blank, Load, PressError, Pressed, Released, press, release};
use crate::rocker::{self, Target};
use crate::table::{self, OtherFace, Setup};
use crate::units::{Quantity, phrase};

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
pub fn predict(job: &Job) -> Result<Prediction, Faults> {
    predicted(job).map_err(|faults| faults.in_units(job.unit))
}

fn predicted(job: &Job) -> Result<Prediction, Faults> {
    let Some(table) = &job.existing_table else {
        return Err(codes::NO_EXISTING_TABLE.at("existing_table", "the document has no table to press on.").into());
    };
    predict_on(job, &surface_of(table, &job.board)?)
}

/// Presses the job's stack, and each of its alternatives, on a table of this surface.
///
/// # Errors
/// As [`predict`].
pub(super) fn predict_on(job: &Job, surface: &Curvature) -> Result<Prediction, Faults> {
    let target = rocker::target(&job.rocker, &job.board)?;
    let mut stacks = vec![stack(job, &job.title, &target, surface, "layers")?];
    for (i, other) in job.alternatives.iter().enumerate() {
        // What the shop's boards say differs from stack to stack.
        let of = Job { layers: other.layers.clone(), ..job.clone() };
        stacks.push(stack(&of, &other.name, &target, surface, &format!("alternatives[{i}].layers"))?);
    }
    let origin = draft::origin(&job.hash);
    Ok(Prediction {
        summary: draft::prediction_summary(job, &target, &stacks),
        json: draft::prediction_json(job, &stacks, &origin),
    })
}

/// A stack as it lies on a table, for its checks.
pub(super) struct Lying<'a> {
    /// Its layers as the document has them.
    pub(super) layers: &'a [Layer],
    /// The stack from its base up.
    pub(super) upright: &'a Laminate,
    /// The stack from the face on the table up.
    pub(super) lying: &'a Laminate,
    pub(super) pressed: &'a Pressed,
    pub(super) released: &'a Released,
    /// Ends of the finished board along its face on the table, mm.
    pub(super) finished_mm: (f64, f64),
    pub(super) load: &'a Load,
}

/// The checks of a stack that make sense for any table.
pub(super) fn lying_checks(job: &Job, of: &Lying<'_>) -> Vec<Finding> {
    let mut checks = of.upright.doubts(of.layers, of.finished_mm);
    checks.extend(of.pressed.turning().ok().map(|k| of.lying.strain_findings(&k, "")).unwrap_or_default());
    let overhang_mm = job.board.overhang_tip_mm.min(job.board.overhang_tail_mm);
    checks.extend(of.lying.soft_findings(job.board.length_mm, overhang_mm, of.load.pressure_mpa));
    checks.extend(table::lying_checks((of.pressed, of.released), of.finished_mm, &job.pressing, of.load, of.lying));
    checks
}

/// Curvature of the table's surface, which is said as a board's rocker is.
pub(super) fn surface_of(table: &ExistingTable, board: &Board) -> Result<Curvature, Faults> {
    let as_board = Board { length_mm: table.length_mm, length_along: table.length_along, ..board.clone() };
    let elsewhere = |mut fault: Fault| {
        fault.path = match fault.path.strip_prefix("rocker") {
            Some(rest) => format!("existing_table.surface{rest}"),
            None => "existing_table.length".to_owned(),
        };
        fault
    };
    let target = rocker::target(&table.surface, &as_board)
        .map_err(|faults| -> Faults { faults.into_iter().map(elsewhere).collect() })?;
    Ok(placed(&target, table))
}

/// The surface counted from the middle of the board, thought on beyond its ends as far as the table allows.
fn placed(target: &Target, table: &ExistingTable) -> Curvature {
    let surface = &target.curvature;
    let middle = match (table.middle_mm, &target.fit) {
        (Some(middle_mm), Some(fit)) => place_of(&fit.curve, middle_mm),
        _ => 0.0,
    };
    let mut pieces: Vec<Piece> = surface.pieces().to_vec();
    let (from, to) = (surface.start_mm(), surface.end_mm());
    let beyond = |start_mm: f64, end_mm: f64, k: f64| Piece { start_mm, end_mm, k_start_per_mm: k, k_end_per_mm: k };
    // Stations lie along the datum, and a steep end is longer than its step of them; none is steeper than 72 degrees.
    let cosine = |s_mm: f64| target.fit.as_ref().map_or(1.0, |fit| libm::cos(fit.curve.at(s_mm).angle_rad).max(0.3));
    if table.beyond_mm.0 > 0.0 {
        pieces.insert(0, beyond(from - table.beyond_mm.0 / cosine(from), from, surface.at(from)));
    }
    if table.beyond_mm.1 > 0.0 {
        pieces.push(beyond(to, to + table.beyond_mm.1 / cosine(to), surface.at(to)));
    }
    for piece in &mut pieces {
        piece.start_mm -= middle;
        piece.end_mm -= middle;
    }
    // Pieces that lay end to end still do.
    Curvature::new(pieces).unwrap_or_else(|_| surface.clone())
}

/// Length along a surface, from its middle, of the station `x_mm` counted from its tail end along the datum it was read from.
fn place_of(as_read: &Curve, x_mm: f64) -> f64 {
    let (mut low, mut high) = as_read.range_mm();
    let tail_mm = as_read.at(low).point.x;
    // Fifty halvings of 20 m leave less than a rounding error.
    for _ in 0..50 {
        let middle = 0.5 * (low + high);
        if as_read.at(middle).point.x - tail_mm < x_mm { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

// Long, because it goes the whole way from a stack to its board once.
fn stack(job: &Job, name: &str, target: &Target, surface: &Curvature, list: &str) -> Result<PredictedStack, Faults> {
    let elsewhere = |faults: Faults| -> Faults {
        let moved = |mut f: Fault| {
            f.path = f.path.replacen("layers", list, 1);
            f
        };
        faults.into_iter().map(moved).collect()
    };
    let (with_learned_factor, known) = boards::with_learned_factor(job).map_err(elsewhere)?;
    let job = &with_learned_factor;
    let (laminate, lying) = laminates(job, &job.layers).map_err(elsewhere)?;
    let setup = table::setup(&job.board, &job.pressing, &laminate, job.table.end_margin_mm);
    let whole = (target.curvature.start_mm(), target.curvature.end_mm());
    // The finished ends on the face that lies on the table, and where the board rests, both along that face.
    let deck = match job.table.lies {
        Lies::BaseDown => None,
        Lies::DeckDown => Some(
            OtherFace::new(&target.curvature, |s| laminate.section_at(s).thickness_mm).map_err(|_| thick("rocker"))?,
        ),
    };
    let face = |base_mm: f64| deck.as_ref().map_or(base_mm, |d| d.opposite(base_mm));
    let finished_mm = (face(whole.0), face(whole.1));
    let (pressed, released, blank) = pressed_and_released(surface, &lying, &setup, finished_mm)?;
    let folds = |_| fault(PressError::TooTight(0.0), surface, blank);
    let reached = (finished_mm.0.max(released.base.start_mm()), finished_mm.1.min(released.base.end_mm()));
    let finished = released.base.between(reached.0, reached.1).map_err(folds)?;
    let base = match &deck {
        None => finished,
        Some(deck) => {
            let upright = finished.upside_down();
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
    let certain = match known.is_some() {
        true => laminates(job, &boards::settled(laminate.layers()))?.1,
        false => lying.clone(),
    };
    let forecast = (sure.draws > 0)
        .then(|| Model::new(&scene, &certain).ok())
        .flatten()
        .and_then(|model| forecast(&model, sure.springback, sure.draws, sure.seed));
    let mut checks = job.doubt_findings();
    checks.extend(lying_checks(
        job,
        &Lying {
            layers: &job.layers,
            upright: &laminate,
            lying: &lying,
            pressed: &pressed,
            released: &released,
            finished_mm: reached,
            load: &setup.load,
        },
    ));
    checks.extend(hump_for_hollow(target, &released, job.table.lies, reached));
    checks.push(table::left_over_there(largest_error_mm));
    let learned = known.map(|k| (k.learned, k.boards));
    Ok(PredictedStack { name: name.to_owned(), pressed, curve, forecast, largest_error_mm, learned, checks })
}

/// The stack on the table and off it, with a blank that is cut so that the released face reaches beyond the finished ends
/// as far as asked: that face is longer or shorter than the flat blank.
fn pressed_and_released(
    surface: &Curvature,
    lying: &Laminate,
    setup: &Setup,
    finished_mm: (f64, f64),
) -> Result<(Pressed, Released, Blank), Faults> {
    let wanted =
        Blank { tail_mm: finished_mm.0 - setup.overhang_tail_mm, tip_mm: finished_mm.1 + setup.overhang_tip_mm };
    let lay = |blank: Blank| -> Result<_, Fault> {
        let pressed = press(surface, lying, blank, &setup.load).map_err(|e| off_table(e, surface, lying, blank))?;
        let released = release(&pressed).map_err(|_| fault(PressError::TooTight(0.0), surface, blank))?;
        Ok((pressed, released, blank))
    };
    let mut lain = lay(wanted)?;
    for _ in 1..BLANK_ROUNDS {
        let (_, Released { base, .. }, blank) = &lain;
        let short_mm = (base.start_mm() - wanted.tail_mm, wanted.tip_mm - base.end_mm());
        if short_mm.0.abs().max(short_mm.1.abs()) < SAME_MM {
            break;
        }
        lain = lay(Blank { tail_mm: blank.tail_mm - short_mm.0, tip_mm: blank.tip_mm + short_mm.1 })?;
    }
    Ok(lain)
}

/// A table that bends its board the other way than it is wanted: heights that were read downward, or from the other side.
fn hump_for_hollow(target: &Target, released: &Released, lies: Lies, (from, to): (f64, f64)) -> Option<Finding> {
    let turned = released.base.between(from, to).map_or(0.0, |k| k.total_angle());
    let turned = if lies == Lies::DeckDown { -turned } else { turned };
    let wanted = target.curvature.total_angle();
    (turned * wanted < 0.0).then(|| {
        codes::HUMP_FOR_HOLLOW.verdict(
            phrase!(
                "the board turns by {} from tail to tip, where {} is wanted",
                Quantity::angle(turned),
                Quantity::angle(wanted)
            ),
            Verdict::Stop,
        )
    })
}

/// The fault of a board that has no deck as thick as it is.
fn thick(path: &str) -> Fault {
    Fault::new(
        codes::TOO_TIGHT,
        path,
        "the board is thicker than the radius that it is bent to.",
        "Ease the curve, or thin the stack.",
    )
}

/// The fault of a stack that could not be pressed; of a table that is too short it says how long it would have to be.
fn off_table(error: PressError, surface: &Curvature, lying: &Laminate, blank: Blank) -> Fault {
    let taken = matches!(error, PressError::Blank(_)).then(|| taken_mm(surface, lying, blank)).flatten();
    let Some((tail_mm, tip_mm)) = taken else { return fault(error, surface, blank) };
    Fault::new(
        codes::BLANK_OFF_TABLE,
        "existing_table.length",
        phrase!(
            "the table reaches from {} to {} of the board's middle; this blank, whose base takes {} to {}, does not lie on it.",
            Quantity::place(surface.start_mm()),
            Quantity::place(surface.end_mm()),
            Quantity::place(-tail_mm),
            Quantity::place(tip_mm)
        ),
        phrase!(
            "Give the whole length of its surface, which must be {} or more, or a shorter overhang in [board].",
            Quantity::place((2.0 * tail_mm.max(tip_mm)).ceil())
        ),
    )
}

/// How much of a table's surface the base of a blank takes on the tail's and on the tip's side of its middle, mm, if the
/// table went on straight beyond its ends.
fn taken_mm(surface: &Curvature, lying: &Laminate, blank: Blank) -> Option<(f64, f64)> {
    let reach_mm = 2.0 * (blank.tip_mm - blank.tail_mm);
    let straight = |start_mm, end_mm| Piece { start_mm, end_mm, k_start_per_mm: 0.0, k_end_per_mm: 0.0 };
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

fn fault(error: PressError, surface: &Curvature, blank: Blank) -> Fault {
    match error {
        PressError::Blank(_) => Fault::new(
            codes::BLANK_OFF_TABLE,
            "existing_table.length",
            phrase!(
                "the table is {} long; a blank of {} does not lie on it.",
                Quantity::place(surface.length_mm()),
                Quantity::place(blank.tip_mm - blank.tail_mm)
            ),
            "Give the whole length of its surface, or a shorter overhang in [board].",
        ),
        PressError::TooTight(at) => Fault::new(
            codes::TOO_TIGHT,
            "existing_table.surface",
            phrase!("at {} the table is tighter than the stack is thick.", Quantity::place(at)),
            "Check radius and unit.",
        ),
        PressError::Contact(reason) => {
            codes::CONTACT.at("pressing", format!("how the stack lies on the table could not be computed ({reason})."))
        }
    }
}
