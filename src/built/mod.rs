//! Everything that a build computes, before any of it is worded, drawn or written.
//!
//! [`design`] finds the table, [`compute`] also the jig, its sheets, the simulated boards and the checks.

mod causes;
mod certainty;
mod correction;
mod design;
mod figures;
mod narrow;
mod progress;
mod stack;
mod supports;

pub use correction::Shimming;
pub(crate) use correction::{last_of, scheduled, surface_of_kept};
pub(crate) use design::stations;
pub use design::{Design, design};
pub use figures::{Figures, Variation};
pub use progress::Progress;
pub(crate) use stack::laminates;

use std::panic::resume_unwind;
use std::thread;

use crate::calibrate::{ShimSchedule, boards};
use crate::codes;
use crate::finding::{Faults, Finding, Held, Verdict};
use crate::forecast::{Advice, Forecast, Scene, after_a_season_mm};
use crate::jig::{Consumables, Jig};
use crate::job::{Board, Job, Lies};
use crate::stock::{Layout, Shopping, Used, lay_out};
use crate::table::{Carried, checks};
use crate::units::Quantity;
use causes::with_causes;
use certainty::Certainty;

/// All that a build computes.
#[derive(Debug, Clone)]
#[non_exhaustive]
pub struct Built {
    /// Job, stack, curve and table.
    pub design: Design,
    /// What that table carries while it is pressed on.
    pub carried: Carried,
    /// What is built.
    pub jig: Jig,
    /// What its parts are cut from.
    pub layout: Layout,
    /// Blank, film, breather, bag and tape.
    pub consumables: Consumables,
    /// What is bought for the table and for the boards of a pressing.
    pub shopping: Shopping,
    /// How sure the released board is, where boards were simulated.
    pub forecast: Option<Forecast>,
    /// What would make the boards better.
    pub advice: Vec<Advice>,
    /// What tail and tip of nine in ten next boards of a shop that learns keep within of the wanted height, mm.
    pub next_error_mm: Option<(f64, f64)>,
    /// The table of the shop's last board of this job, and what turns it into this one.
    pub correction: Option<Correction>,
    /// Heights of tail and tip of the board after a season, mm, where its core goes on relaxing under its skins.
    pub season_mm: Option<(f64, f64)>,
    /// All checks.
    pub checks: Vec<Finding>,
}

/// What turns a table that is likely to be there still into the one that was computed.
#[derive(Debug, Clone, PartialEq)]
pub struct Correction {
    /// The board that was pressed on it.
    pub label: String,
    /// What is put under its skin, and where.
    pub schedule: ShimSchedule,
}

/// Computes the table of a job and all that is built for it.
///
/// # Errors
/// Faults with the paths of the keys at fault, where the job is impossible.
pub fn compute(job: &Job) -> Result<Built, Faults> {
    compute_watched(job, &|_| ())
}

/// As [`compute`]; `watch` is called from worker threads with the progress.
///
/// # Errors
/// As [`compute`].
pub(crate) fn compute_watched(job: &Job, watch: &(dyn Fn(Progress) + Sync)) -> Result<Built, Faults> {
    computed(job, watch).map_err(|faults| faults.in_units(job.unit))
}

fn computed(job: &Job, watch: &(dyn Fn(Progress) + Sync)) -> Result<Built, Faults> {
    let mut design = design(job)?;
    design.search_overhangs();
    built(design, watch).map_err(|faults| with_causes(job, faults))
}

fn built(design: Design, watch: &(dyn Fn(Progress) + Sync)) -> Result<Built, Faults> {
    let (certainty, construction) = together(|| Certainty::of(&design, watch), || Construction::of(&design, watch));
    let Certainty { forecast, advice } = certainty?;
    let Construction { jig, layout, carried, consumables, shopping, checks } = construction?;
    let known = design.known.as_ref();
    Ok(Built {
        next_error_mm: known.and(forecast.as_ref()).map(|f| boards::next_error_mm(f, &design.target)),
        correction: correction(&design)?,
        season_mm: after_a_season_mm(
            &Scene::designed(&design.table, &design.setup.load, design.target.anchor_mm),
            &design.lying,
        ),
        shopping,
        consumables,
        checks,
        carried,
        jig,
        layout,
        forecast,
        advice,
        design,
    })
}

/// What holds the table up, what that takes, and all checks.
struct Construction {
    jig: Jig,
    layout: Layout,
    carried: Carried,
    consumables: Consumables,
    shopping: Shopping,
    checks: Vec<Finding>,
}

impl Construction {
    fn of(design: &Design, watch: &dyn Fn(Progress)) -> Result<Self, Faults> {
        let Design { job, lying, table, .. } = design;
        let jig = design.jig()?;
        let layout = lay_out(job, &jig, &|done, of| watch(Progress { stage: "parts on sheets", done, of }))?;
        let ribs_mm4 = jig.ribs_mm4();
        let carrying = supports::carrying(job, &jig, &ribs_mm4);
        let carried = Carried::new(table, &job.board, &job.pressing.hold, lying, &carrying);
        let mut all = design.checks();
        all.extend(checks(table, &job.pressing, lying, &carrying, &carried));
        all.extend(jig.findings.iter().cloned());
        all.extend((job.table.concave.is_some() && design.laminate.crosswise_at(0.0).is_none()).then(unknown_across));
        all.extend(narrow_table(job));
        all.extend(layout.findings.iter().cloned());
        let blank_mm = table.blank.tip_mm - table.blank.tail_mm;
        let consumables = Consumables::new(&jig, &job.table, &job.pressing.hold, blank_mm, &job.board);
        let used = Used {
            consumables: &consumables,
            blank_mm: (table.blank.tail_mm, table.blank.tip_mm),
            blanks_m2: design.blanks_m2(),
            pitch_mm: carried.fastening.pitch_mm,
        };
        let shopping = Shopping::new(job, &jig, &layout, &used);
        Ok(Self { jig, layout, carried, consumables, shopping, checks: all })
    }
}

/// What the table of the last board of these ends needs: it is likely to be there still.
fn correction(design: &Design) -> Result<Option<Correction>, Faults> {
    let Design { job, target, .. } = design;
    let last = design.known.as_ref().and_then(|_| last_of(job, target)).filter(|_| job.table.lies == Lies::BaseDown);
    let Some(last) = last else { return Ok(None) };
    let surface = surface_of_kept(&last.pressed.table)?;
    let read_at = boards::read_at_mm(&last.pressed);
    let schedule = scheduled(design, &Shimming::default(), (&surface, &read_at))?;
    Ok(Some(Correction { label: last.label.clone(), schedule }))
}

/// Runs `first` on a thread of its own beside `second`; one after the other on WebAssembly, which has no threads.
pub(crate) fn together<A: Send, B>(first: impl FnOnce() -> A + Send, second: impl FnOnce() -> B) -> (A, B) {
    if cfg!(target_arch = "wasm32") {
        return (first(), second());
    }
    thread::scope(|scope| {
        let first = scope.spawn(first);
        let second = second();
        (first.join().unwrap_or_else(|panic| resume_unwind(panic)), second)
    })
}

/// The check for a table that ends inside of the blank.
fn narrow_table(job: &Job) -> Option<Finding> {
    let (margin_mm, trim_mm) = (job.table.side_margin_mm, Board::SIDE_TRIM_MM);
    let held = Held::at_least(Quantity::length(margin_mm), Quantity::length(trim_mm));
    (margin_mm < trim_mm)
        .then(|| codes::TABLE_NARROW.check("table beyond each side of the board", (Verdict::Watch, held)))
}

/// The check for a concave whose springback across is not known.
fn unknown_across() -> Finding {
    codes::CROSS_MODULUS.verdict("springback across: the crosswise modulus of a layer is not known", Verdict::Watch)
}
