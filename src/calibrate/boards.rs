//! What the shop's boards show about this job's stack.

use super::{
    BoardFactor, EXPECTED_SCATTER, Learned, MeasuredFactor, OffTable, Prior, Sensitivities, fit_board, learn,
    surface_through, table_id,
};
use crate::codes;
use crate::finding::{Fault, Faults};
use crate::forecast::{Band, Forecast, READ_AFTER_H, end_heights_mm};
use crate::job::{ClosingIn, EffectiveLayer, Ends, Job, KeptBoard, Layer, LengthAlong, PressedAs, Share, Shop};
use crate::laminate::Laminate;
use crate::press::{Blank, LineForce, Load};
use crate::rocker::Target;
use crate::rocker::measured::{FitOptions, fit};
use crate::units::{Phrase, phrase};

/// What is known of the factor for one stack.
#[derive(Debug, Clone, PartialEq)]
pub struct Known {
    /// What prior and boards say together.
    pub learned: Learned,
    /// The boards that were learned from, oldest first.
    pub boards: Vec<LearnedBoard>,
}

/// A board that the shop learned from.
#[derive(Debug, Clone, PartialEq)]
pub struct LearnedBoard {
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
    /// Whether it is set aside for being unlike the other boards.
    pub set_aside: bool,
    /// What was expected of it beside what came out; `None` for boards too long ago to be told.
    pub history: Option<PredictedHeights>,
}

/// Heights (tail, tip) above the lowest place, mm, of a board that lies with its middle level.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PredictedHeights {
    /// By the layers alone.
    pub by_layers_mm: (f64, f64),
    /// With what the shop knew before this board.
    pub predicted_mm: (f64, f64),
    /// One board in twenty was expected to be lower.
    pub lowest_mm: (f64, f64),
    /// One board in twenty was expected to be higher.
    pub highest_mm: (f64, f64),
    /// As it was measured.
    pub measured_mm: (f64, f64),
}

/// Key of the document that names the shop's file.
const KEY: &str = "shop";

/// Boards at the end of the history that are listed with what was expected of them: more is too much to read.
const HISTORY: usize = 24;

/// The job as the shop's boards teach to take it, and what they say; the job itself where there are none.
pub(crate) fn with_learned_factor(job: &Job) -> Result<(Job, Option<Known>), Faults> {
    let Some(shop) = job.shop.as_ref().filter(|s| s.counted().next().is_some()) else {
        return Ok((job.clone(), None));
    };
    let known = known(job, shop)?;
    let learned = &known.learned;
    let mut with_learned_factor = job.clone();
    // What goes with closing in is drawn with that.
    let tied = learned.closing_in.factor_per_multiple * learned.closing_in.multiple.sd;
    let sd = (learned.next_deviation.powi(2) - tied * tied).max(0.0).sqrt();
    with_learned_factor.forecast.springback = Share { value: learned.factor, sd };
    with_learned_factor.forecast.closing_in = learned.closing_in;
    Ok((with_learned_factor, Some(known)))
}

/// What all boards of a shop say of the stack of a job.
pub(crate) fn known(job: &Job, shop: &Shop) -> Result<Known, Faults> {
    let now = Sensitivities::of(&Laminate::new(&job.layers, job.pressing.cure_above_room_k)?);
    let boards: Vec<Recomputed> = shop.counted().map(recomputed).collect::<Result<_, _>>()?;
    let of_shops = job.forecast.springback;
    let all = evidence(&boards, &now, shop.halve_after);
    let learned = learn(&prior(of_shops, &now), &all);
    let first = boards.len().saturating_sub(HISTORY);
    let told = boards.iter().zip(&all).zip(&learned.posterior_weights).enumerate().map(
        |(i, ((board, said), posterior_weight))| {
            // What the shop could have known before this board was pressed.
            let before = (i >= first).then(|| {
                let stack = &board.sensitivities;
                learn(&prior(of_shops, stack), &evidence(&boards[..i], stack, shop.halve_after))
            });
            let weight = (said.weight * posterior_weight, said.weight == 0.0 || *posterior_weight < 0.5);
            board.told(said.deviation, weight, of_shops.value, before.as_ref())
        },
    );
    Ok(Known { boards: told.collect(), learned })
}

/// The last board of this job that was not left out, if there is one: its table is likely to be there still.
pub(crate) fn last_of(job: &Job) -> Option<&KeptBoard> {
    job.shop.as_ref()?.counted().filter(|b| b.is_of(job)).last()
}

/// The name of the table that a board was pressed on.
pub(crate) fn id_of(pressed: &PressedAs) -> String {
    if pressed.table_id.is_empty() { table_id(&pressed.table) } else { pressed.table_id.clone() }
}

/// Where the table of a board was read, mm straight from the middle of the board; empty where it was not. Files of before
/// count from its end.
pub(crate) fn read_at_mm(pressed: &PressedAs) -> Vec<f64> {
    let at: Vec<f64> = pressed.table_heights_mm.iter().map(|r| r.0).collect();
    let (low, high) = at.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), s| (a.min(*s), b.max(*s)));
    let middle = if low < 0.0 { 0.0 } else { 0.5 * (low + high) };
    at.into_iter().map(|s| s - middle).collect()
}

/// What is known of a stack before a board was measured.
fn prior(of_shops: Share, stack: &Sensitivities) -> Prior {
    Prior {
        factor: of_shops.value,
        deviation: libm::hypot(of_shops.sd, of_shops.value * stack.shared_deviation()).max(LEAST_PRIOR),
        scatter: EXPECTED_SCATTER,
        fixed_scatter: stack.fixed_scatter(),
        closing_in: ClosingIn::EXPECTED.multiple,
    }
}

/// What boards say of a stack: less, the less alike theirs is, and the older they are.
fn evidence(boards: &[Recomputed], stack: &Sensitivities, halve_after: Option<f64>) -> Vec<MeasuredFactor> {
    let one = |(i, board): (usize, &Recomputed)| {
        let unlike = board.sensitivities.unlikeness(stack).deviation;
        let newer = (boards.len() - 1 - i) as f64;
        MeasuredFactor {
            factor: board.found.factor,
            deviation: board.found.deviation,
            unlike,
            scatter: EXPECTED_SCATTER,
            fixed_scatter: libm::hypot(board.sensitivities.fixed_scatter(), board.found.table_deviation),
            factor_per_closing_in: board.found.factor_per_closing_in,
            // A board that springback cannot make teaches nothing.
            weight: match board.found.is_springback() {
                true => halve_after.map_or(1.0, |n| libm::pow(0.5, newer / n)),
                false => 0.0,
            },
        }
    };
    boards.iter().enumerate().map(one).collect()
}

/// A kept board, computed anew.
struct Recomputed<'a> {
    kept: &'a KeptBoard,
    off: OffTable,
    found: BoardFactor,
    sensitivities: Sensitivities,
}

impl Recomputed<'_> {
    /// Heights (tail, tip) of the board of a shop with this factor, that closes in by a multiple of what is computed.
    fn heights_mm(&self, factor: f64, closing: f64) -> Option<(f64, f64)> {
        self.off.released_closing(factor, closing).map(|r| end_heights_mm(&r.base, self.off.finished_mm(), 0.0))
    }

    /// Heights (tail, tip) as they were read: of the smoothest curve through the readings where there is one, else of the
    /// model that comes nearest to them.
    fn measured_mm(&self) -> Option<(f64, f64)> {
        let (from, to) = self.off.finished_mm();
        let options = FitOptions {
            length_mm: to - from,
            length_along: LengthAlong::Base,
            ends: Ends::Free,
            path: KEY.to_owned(),
        };
        match fit(&self.kept.readings, &options) {
            Ok(through) => Some(end_heights_mm(&through.curvature, self.off.finished_mm(), 0.0)),
            Err(_) => self.heights_mm(self.found.factor, 1.0),
        }
    }

    /// The board for the texts; `weight` is how much it counts, and whether it is set aside.
    fn told(&self, deviation: f64, weight: (f64, bool), of_layers: f64, before: Option<&Learned>) -> LearnedBoard {
        let history = before.and_then(|before| {
            let closing = before.closing_in;
            // Where factor and closing in are tied, a board that springs back more also closes in more: what is left is less.
            let at = |f: f64| self.heights_mm(f, closing.multiple.value);
            let [lowest, highest] = [before.next_p95, before.next_p05].map(at);
            Some(PredictedHeights {
                by_layers_mm: self.heights_mm(of_layers, 1.0)?,
                predicted_mm: at(before.factor)?,
                lowest_mm: lowest?,
                highest_mm: highest?,
                measured_mm: self.measured_mm()?,
            })
        });
        LearnedBoard {
            label: self.kept.label.clone(),
            date: self.kept.date.clone(),
            factor: self.found.factor,
            deviation,
            counts: weight.0,
            set_aside: weight.1,
            history,
        }
    }
}

/// Least standard deviation of the prior: a shop that states its factor exactly still learns from boards.
const LEAST_PRIOR: f64 = 0.01;

/// A kept board with its factor, from what was kept of it.
fn recomputed(board: &KeptBoard) -> Result<Recomputed<'_>, Faults> {
    let elsewhere = |message: Phrase, remedy: Phrase| {
        let message = phrase!("the board `{}` that the shop kept: {}", &board.label, message);
        Fault::new(codes::KEPT_BOARD, KEY, message, remedy)
    };
    let of_fault = |f: Fault| elsewhere(f.message, f.remedy);
    let pressed = &board.pressed;
    let laminate = Laminate::of_effective(&pressed.layers, pressed.cure_above_room_k)
        .map_err(|mut faults| of_fault(faults.swap_remove(0)))?;
    let off = off_table(pressed, &laminate, board.hours_after_release)
        .map_err(|why| elsewhere(why.into(), "Mend its entry, or leave it out with left_out = true.".into()))?;
    let found = fit_board(&off, &board.readings, KEY).map_err(of_fault)?.on_table_within(&off, table_error_mm(pressed));
    Ok(Recomputed { kept: board, off, found, sensitivities: Sensitivities::of(&laminate) })
}

/// How near the table is taken to be to what is kept of it, mm (standard deviation at the ends of the board).
pub(crate) fn table_error_mm(pressed: &PressedAs) -> f64 {
    if pressed.table_heights_mm.is_empty() { BUILT_MM } else { READ_MM }
}

/// A table built to its drawing: cut ribs, a skin, and a frame that stands on a floor (our choice, no source).
const BUILT_MM: f64 = 0.3;
/// A table whose heights were read off it: a few tenths for each reading, a curve through twenty (our choice, no source).
const READ_MM: f64 = 0.2;

/// The stack on its table, as it was pressed, for readings so many hours after release.
pub(crate) fn off_table(
    pressed: &PressedAs,
    laminate: &Laminate,
    hours_after_release: Option<f64>,
) -> Result<OffTable, String> {
    let table = surface_through(&pressed.table).ok_or("the heights of its table make no curve.")?;
    let load = Load {
        pressure_mpa: pressed.pressure_mpa,
        forces: pressed
            .forces
            .iter()
            .map(|&(blank_mm, force_n_per_mm)| LineForce { blank_mm, force_n_per_mm })
            .collect(),
        caul_stiffness_n_mm: pressed.caul_stiffness_n_mm,
        matched: pressed.matched,
    };
    let blank = Blank { tail_mm: pressed.blank_mm.0, tip_mm: pressed.blank_mm.1 };
    let laminate = laminate.glued_under(load.pressure_mpa);
    OffTable::new(&table, &laminate, blank, &load, pressed.finished_mm)
        .map(|off| off.read_after(hours_after_release.unwrap_or(READ_AFTER_H), &laminate))
        .map_err(|e| format!("it cannot be pressed again ({e})."))
}

/// Layers whose moduli and relaxation are taken as they are: boards of the shop have told how far the springback is from
/// what these say, and the factor's own deviation holds what is still open.
pub(crate) fn settled(layers: &[EffectiveLayer]) -> Vec<Layer> {
    let settle = |l: &EffectiveLayer| {
        let mut layer = l.to_plain();
        layer.material.modulus_mpa.cv = 0.0;
        layer.material.relaxed.sd = 0.0;
        layer.relaxed.sd = 0.0;
        layer.thickness_sd_mm = 0.0;
        layer
    };
    layers.iter().map(settle).collect()
}

/// What tail and tip of nine in ten next boards keep within of the wanted height, mm.
pub(crate) fn next_error_mm(forecast: &Forecast, target: &Target) -> (f64, f64) {
    let off = |band: &Band, wanted: f64| (band.p05 - wanted).abs().max((band.p95 - wanted).abs());
    (off(&forecast.tail_mm, target.tail_height_mm()), off(&forecast.tip_mm, target.tip_height_mm()))
}
