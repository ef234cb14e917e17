//! Shops of all kinds, some far from what the layers say, that press and measure boards on a new table each.

use std::thread;

use overbend::calibrate::{
    EXPECTED_SCATTER, Learned, MeasuredFactor, OffTable, Prior, Sensitivities, fit_board, learn,
};
use overbend::job::{ClosingIn, Layer, Material, MaterialKind};
use overbend::laminate::Laminate;
use overbend::numeric::Random;

use crate::simulation::{HALF_MM, TABLE_MM, TIP_MM, read, table, tip_mm};

/// Boards that each shop presses.
pub(crate) const BOARDS: usize = 6;

/// What the shops of one kind press.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Pressing {
    /// 8 mm of poplar between skins of 0.8 mm of glass laid along, tips 45 mm high.
    Skins,
    /// So many plies of 1.5 mm with water-based glue, tips 70 mm high.
    Plies(usize),
}

/// A kind of shop.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Shops {
    /// What it is called in the listing.
    pub(crate) name: &'static str,
    /// What it presses.
    pub(crate) pressing: Pressing,
    /// The shop's factor, from a standard normal number.
    pub(crate) factor: fn(f64) -> f64,
    /// Scatter of its boards' factors.
    pub(crate) scatter: f64,
    /// Share of boards that are pressed of something else.
    pub(crate) bad: f64,
}

/// The kinds of shops that are looked at.
pub(crate) const KINDS: [Shops; 7] = [
    kind("factor sd 0.12, boards 0.02", Pressing::Skins, |z| 1.0 + 0.12 * z, 0.02, 0.0),
    kind("lognormal sd 0.35, boards 0.04", Pressing::Skins, wide, 0.04, 0.0),
    kind("lognormal sd 0.35, boards 0.10", Pressing::Skins, wide, 0.10, 0.0),
    kind("factor from 1.9 on, boards 0.04", Pressing::Skins, |z| 1.9 + 0.3 * z.abs(), 0.04, 0.0),
    kind("as the second, one board in ten bad", Pressing::Skins, wide, 0.04, 0.1),
    kind("seven plies that close in by 0.5 to 2.5 %", Pressing::Plies(7), wide, 0.04, 0.0),
    kind("twenty plies that close in by 0.5 to 2.5 %", Pressing::Plies(20), wide, 0.04, 0.0),
];

const fn kind(name: &'static str, pressing: Pressing, factor: fn(f64) -> f64, scatter: f64, bad: f64) -> Shops {
    Shops { name, pressing, factor, scatter, bad }
}

fn wide(z: f64) -> f64 {
    (0.35 * z).exp()
}

/// Part of their thickness that thin plies are computed to lose.
const SHRINKS: f64 = 0.015;
/// Boards that are drawn for the band of one tip.
const DRAWS: u32 = 400;

/// What came of one board that was pressed with what the boards before it with_learned_factor.
#[derive(Debug, Clone, Copy)]
struct Pressed {
    error_mm: f64,
    /// Error of a shop that knows how shops differ and how its boards scatter.
    knowing_mm: f64,
    factor_held: bool,
    tip_held: bool,
    bad: bool,
}

/// Figures over many shops, for the second board on.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Row {
    /// What 95 of 100 tips keep within, mm.
    pub(crate) p95_mm: [f64; BOARDS - 1],
    /// The same for the shop that knows.
    pub(crate) knowing_mm: [f64; BOARDS - 1],
    /// Median error, mm.
    pub(crate) median_mm: [f64; BOARDS - 1],
    /// Share of bands that held the shop's factor.
    pub(crate) factor_held: [f64; BOARDS - 1],
    /// Share of bands that held the tip.
    pub(crate) tip_held: [f64; BOARDS - 1],
}

fn stack(pressing: Pressing) -> (Laminate, f64) {
    let layer = |kind, mpa, mm| Layer::flat("layer", Material::of_modulus("layer", kind, mpa), mm);
    let (layers, tip_mm) = match pressing {
        Pressing::Skins => {
            let skin = || layer(MaterialKind::Laminate, 40_000.0, 0.8);
            (vec![skin(), layer(MaterialKind::WoodAlong, 10_890.0, 8.0), skin()], TIP_MM)
        }
        Pressing::Plies(count) => {
            let mut ply = layer(MaterialKind::WoodAlong, 10_890.0, 1.5);
            ply.shrinks_through = Some(SHRINKS);
            (vec![ply; count], 70.0)
        }
    };
    (Laminate::new(&layers, 0.0).unwrap(), tip_mm)
}

/// Ends of the band of the next tip, as the program draws boards: closing in, and the factor that goes with it.
fn band(learned: &Learned, closes: bool, tip: &dyn Fn(f64, f64) -> f64, random: &mut Random) -> (f64, f64) {
    let ClosingIn { multiple, factor_per_multiple } = learned.closing_in;
    let tied = factor_per_multiple * multiple.sd;
    let sd = (learned.next_deviation.powi(2) - tied * tied).max(0.0).sqrt();
    let log_sd = (sd / learned.factor).powi(2).ln_1p().sqrt();
    // The tip is all but linear in both.
    let (middle, step) = (tip(learned.factor, multiple.value), 0.05);
    let by_factor = (tip(learned.factor + step, multiple.value) - middle) / step;
    let by_closing = (tip(learned.factor, multiple.value + step) - middle) / step;
    let draw = |_| {
        let more = if closes { (multiple.sd * random.normal()).max(-multiple.value) } else { 0.0 };
        let factor = (learned.factor * (log_sd * random.normal()).exp() + factor_per_multiple * more).max(0.0);
        middle + by_factor * (factor - learned.factor) + by_closing * more
    };
    let mut tips: Vec<f64> = (0..DRAWS).map(draw).collect();
    tips.sort_by(f64::total_cmp);
    (tips[DRAWS as usize / 20], tips[DRAWS as usize * 19 / 20])
}

fn shop(kind: Shops, seed: u64) -> [Pressed; BOARDS - 1] {
    let mut random = Random::for_draw(2, seed);
    let (stack, wanted_mm) = stack(kind.pressing);
    let closes = kind.pressing != Pressing::Skins;
    let sensitivities = Sensitivities::of(&stack);
    let closing_in = ClosingIn::EXPECTED.multiple;
    let prior = Prior {
        factor: 1.0,
        deviation: 0.5,
        scatter: EXPECTED_SCATTER,
        fixed_scatter: sensitivities.fixed_scatter(),
        closing_in,
    };
    let truth = (kind.factor)(random.normal()).max(0.0);
    let closing = (0.005 + 0.02 * random.uniform()) / SHRINKS;
    let mut boards: Vec<MeasuredFactor> = Vec::new();
    let board = |i: usize| {
        let learned = learn(&prior, &boards);
        let built = table(&stack.with_closing_in(learned.closing_in), learned.factor, wanted_mm);
        let finished = (-HALF_MM, HALF_MM);
        let off = OffTable::new(&built.surface, &stack, built.blank, &built.load, finished).unwrap();
        let base = |factor: f64, closing: f64| off.released_closing(factor, closing).unwrap().base;
        let tip = |factor: f64, closing: f64| tip_mm(&base(factor, closing));
        let bad = random.uniform() < kind.bad;
        let factor = (truth + kind.scatter * random.normal()).max(0.0);
        let factor = if bad { factor * if random.uniform() < 0.5 { 0.4 } else { 1.8 } } else { factor };
        let board = base(factor, closing);
        let (low, high) = band(&learned, closes, &tip, &mut random);
        let one = fit_board(&off, &read(&board, &mut random), "r").unwrap().on_table_within(&off, TABLE_MM);
        let knowing = knowing(kind, &boards);
        boards.push(MeasuredFactor {
            factor: one.factor,
            deviation: one.deviation,
            unlike: 0.0,
            scatter: EXPECTED_SCATTER,
            fixed_scatter: prior.fixed_scatter.hypot(one.table_deviation),
            factor_per_closing_in: one.factor_per_closing_in,
            weight: 1.0,
        });
        (i > 0).then(|| Pressed {
            error_mm: (tip_mm(&board) - wanted_mm).abs(),
            // The tip is all but linear in the factor.
            knowing_mm: ((knowing - factor) * (tip(1.1, 1.0) - tip(1.0, 1.0)) / 0.1).abs(),
            factor_held: (learned.p05..=learned.p95).contains(&truth),
            tip_held: (low..=high).contains(&tip_mm(&board)),
            bad,
        })
    };
    let made: Vec<Pressed> = (0..BOARDS).filter_map(board).collect();
    made.try_into().unwrap()
}

/// Median factor of a shop that does not close in and knows how shops differ and boards scatter, by sums over a grid of standard normal numbers.
fn knowing(kind: Shops, boards: &[MeasuredFactor]) -> f64 {
    let of = |i: usize| {
        let z = -4.0 + 8.0 * i as f64 / 800.0;
        let factor = (kind.factor)(z);
        let log =
            |b: &MeasuredFactor| -0.5 * (b.factor - factor).powi(2) / (b.deviation.powi(2) + kind.scatter.powi(2));
        (factor, -0.5 * z * z + boards.iter().map(log).sum::<f64>())
    };
    let mut grid: Vec<(f64, f64)> = (0..=800).map(of).collect();
    grid.sort_by(|a, b| a.0.total_cmp(&b.0));
    let top = grid.iter().map(|g| g.1).fold(f64::NEG_INFINITY, f64::max);
    let half = 0.5 * grid.iter().map(|g| (g.1 - top).exp()).sum::<f64>();
    let mut below = 0.0;
    let middle = grid.iter().find(|g| {
        below += (g.1 - top).exp();
        below >= half
    });
    middle.unwrap().0
}

/// Simulates shops of one kind on all processors.
pub(crate) fn row(kind: Shops, shops: u64) -> Row {
    let threads = thread::available_parallelism().map_or(1, std::num::NonZero::get) as u64;
    let all: Vec<[Pressed; BOARDS - 1]> = thread::scope(|scope| {
        let part = |t: u64| scope.spawn(move || (t..shops).step_by(threads as usize).map(|n| shop(kind, n)).collect());
        let parts: Vec<thread::ScopedJoinHandle<'_, Vec<_>>> = (0..threads).map(part).collect();
        parts.into_iter().flat_map(|p| p.join().unwrap()).collect()
    });
    let mut row = Row::default();
    for i in 0..BOARDS - 1 {
        // What a bad board comes out at says nothing of what was learned.
        let boards: Vec<Pressed> = all.iter().map(|s| s[i]).filter(|b| !b.bad).collect();
        let quantile = |of: fn(&Pressed) -> f64, p: f64| {
            let mut values: Vec<f64> = boards.iter().map(of).collect();
            values.sort_by(f64::total_cmp);
            values[((p * (values.len() - 1) as f64).round()) as usize]
        };
        let share = |of: fn(&Pressed) -> bool| boards.iter().filter(|b| of(b)).count() as f64 / boards.len() as f64;
        row.p95_mm[i] = quantile(|b| b.error_mm, 0.95);
        row.knowing_mm[i] = quantile(|b| b.knowing_mm, 0.95);
        row.median_mm[i] = quantile(|b| b.error_mm, 0.5);
        row.factor_held[i] = share(|b| b.factor_held);
        row.tip_held[i] = share(|b| b.tip_held);
    }
    row
}
