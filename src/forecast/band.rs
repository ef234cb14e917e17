//! Seeded simulation: thousands of possible stacks on one table.

use std::num::NonZero;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;

use crate::job::Share;
use crate::laminate::Laminate;
use crate::numeric::Random;

use super::inputs::{Input, inputs_of, stack_at};
use super::model::Model;

/// Where nine of ten boards come out, and the middle one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    /// One in twenty is below.
    pub p05: f64,
    /// Half are below.
    pub p50: f64,
    /// One in twenty is above.
    pub p95: f64,
}

impl Band {
    /// The band of values, sorted here; linear between neighbours (type 7 of Hyndman and Fan 1996).
    fn of(values: &mut [f64]) -> Self {
        values.sort_by(f64::total_cmp);
        let last = (values.len() - 1) as f64;
        let at = |p: f64| {
            let below = (p * last).floor();
            let (a, b) = (values[below as usize], values[((below + 1.0).min(last)) as usize]);
            a + (p * last - below) * (b - a)
        };
        let band = Self { p05: at(0.05), p50: at(0.50), p95: at(0.95) };
        debug_assert!(band.p05 <= band.p50 && band.p50 <= band.p95, "{band:?}");
        band
    }
}

/// How much of the scatter of the boards one input makes.
#[derive(Debug, Clone, PartialEq)]
pub struct InputShare {
    /// The input.
    pub input: Input,
    /// Part of the variance of the tip's height that goes with it alone, 0 to 1.
    pub of_tip: f64,
    /// Part of the variance of the tail's height that goes with it alone, 0 to 1.
    pub of_tail: f64,
}

/// The result of a simulation.
#[derive(Debug, Clone, PartialEq)]
pub struct Forecast {
    /// Height of the tip, mm.
    pub tip_mm: Band,
    /// Height of the tail, mm.
    pub tail_mm: Band,
    /// Springback share in the middle of the board.
    pub springback_share: Band,
    /// The inputs, what scatters the tip (or, where that stays, the tail) most first.
    pub shares: Vec<InputShare>,
    /// Boards simulated.
    pub draws: usize,
    /// The seed.
    pub seed: u64,
}

/// One simulated board.
#[derive(Debug, Clone, Copy, Default)]
struct Board {
    tail_mm: f64,
    tip_mm: f64,
    springback_share: f64,
}

/// Simulates `draws` boards. The same seed gives the same boards whatever the number of threads.
///
/// Returns `None` where fewer than 99 of 100 stacks make a board at all, which a sensible stack never does.
pub fn forecast(model: &Model, factor: Share, draws: usize, seed: u64) -> Option<Forecast> {
    let threads = thread::available_parallelism().map_or(1, NonZero::get);
    forecast_on(model, factor, draws, seed, threads, &|_| ())
}

/// As [`forecast_on`], on all cores.
pub(crate) fn forecast_watched(
    model: &Model,
    factor: Share,
    draws: usize,
    seed: u64,
    report: &(dyn Fn(usize) + Sync),
) -> Option<Forecast> {
    let threads = thread::available_parallelism().map_or(1, NonZero::get);
    forecast_on(model, factor, draws, seed, threads, report)
}

/// Boards between two progress reports: few enough to look alive, many enough to cost nothing.
const REPORTED_EVERY: usize = 16;

/// As [`forecast`], on a number of threads; each calls `report` with the number of boards simulated so far.
pub fn forecast_on(
    model: &Model,
    factor: Share,
    draws: usize,
    seed: u64,
    threads: usize,
    report: &(dyn Fn(usize) + Sync),
) -> Option<Forecast> {
    let simulated = AtomicUsize::new(0);
    let inputs = inputs_of(model.laminate(), factor);
    let mut boards: Vec<Option<Board>> = vec![None; draws];
    let share = draws.div_ceil(threads.max(1)).max(1);
    let simulate_share = |first: usize, boards: &mut [Option<Board>]| {
        for (i, board) in boards.iter_mut().enumerate() {
            let z = numbers(&inputs, seed, first + i);
            let stack = stack_at(model.laminate(), &inputs, factor, &z);
            *board = simulate(model, &stack);
            let done = simulated.fetch_add(1, Ordering::Relaxed) + 1;
            if done.is_multiple_of(REPORTED_EVERY) {
                report(done);
            }
        }
    };
    if share >= draws {
        // One share needs no thread of its own; WebAssembly has none.
        simulate_share(0, &mut boards);
    } else {
        thread::scope(|scope| {
            for (chunk, boards) in boards.chunks_mut(share).enumerate() {
                let simulate_share = &simulate_share;
                scope.spawn(move || simulate_share(chunk * share, boards));
            }
        });
    }
    let made: Vec<(usize, Board)> = boards.into_iter().enumerate().filter_map(|(i, b)| Some((i, b?))).collect();
    if made.is_empty() || made.len() * 100 < draws * 99 {
        return None;
    }
    let column = |f: fn(&Board) -> f64| made.iter().map(|(_, b)| f(b)).collect::<Vec<f64>>();
    let (mut tip, mut tail) = (column(|b| b.tip_mm), column(|b| b.tail_mm));
    let columns = columns(&made, &inputs, seed);
    let share = |(input, z): (Input, Vec<f64>)| {
        let (of_tip, of_tail) = (correlation(&z, &tip).powi(2), correlation(&z, &tail).powi(2));
        InputShare { input, of_tip, of_tail }
    };
    let mut shares: Vec<InputShare> = inputs.into_iter().zip(columns).map(share).collect();
    shares.sort_by(|a, b| b.of_tip.max(b.of_tail).total_cmp(&a.of_tip.max(a.of_tail)));
    Some(Forecast {
        tip_mm: Band::of(&mut tip),
        tail_mm: Band::of(&mut tail),
        springback_share: Band::of(&mut column(|b| b.springback_share)),
        shares,
        draws,
        seed,
    })
}

fn simulate(model: &Model, stack: &Laminate) -> Option<Board> {
    let (tail_mm, tip_mm) = model.end_heights_mm(stack)?;
    Some(Board { tail_mm, tip_mm, springback_share: stack.section_at(0.0).springback_share() })
}

/// The standard normal numbers of one draw, one for each input.
fn numbers(inputs: &[Input], seed: u64, draw: usize) -> Vec<f64> {
    let mut random = Random::for_draw(seed, draw as u64);
    inputs.iter().map(|_| random.normal()).collect()
}

/// The same numbers by input.
fn columns(made: &[(usize, Board)], inputs: &[Input], seed: u64) -> Vec<Vec<f64>> {
    let mut columns = vec![Vec::with_capacity(made.len()); inputs.len()];
    for (draw, _) in made {
        for (column, z) in columns.iter_mut().zip(numbers(inputs, seed, *draw)) {
            column.push(z);
        }
    }
    columns
}

/// Correlation of two columns; its square is the part of the variance of one that goes along with the other in a
/// straight line. Zero where one of them does not vary.
fn correlation(x: &[f64], y: &[f64]) -> f64 {
    let n = x.len() as f64;
    let (mx, my) = (x.iter().sum::<f64>() / n, y.iter().sum::<f64>() / n);
    let (mut xx, mut yy, mut xy) = (0.0, 0.0, 0.0);
    for (a, b) in x.iter().zip(y) {
        xx += (a - mx) * (a - mx);
        yy += (b - my) * (b - my);
        xy += (a - mx) * (b - my);
    }
    if xx > 0.0 && yy > 0.0 { xy / (xx * yy).sqrt() } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::curve::Curvature;
    use crate::forecast::{Quantity, Scene};
    use crate::job::{Layer, Material, MaterialKind, Spread};
    use crate::press::Load;
    use crate::table::{Setup, overbend};

    fn layer(name: &str, thickness_mm: f64, modulus_mpa: f64, cv: f64) -> Layer {
        let mut material = Material::of_modulus(name, MaterialKind::WoodAlong, modulus_mpa);
        material.modulus_mpa = Spread { value: modulus_mpa, cv };
        Layer::flat(name, material, thickness_mm)
    }

    fn model(layers: &[Layer]) -> Model {
        let laminate = Laminate::new(layers, 0.0).unwrap();
        let load = Load::even(0.08);
        let setup = Setup { overhang_tail_mm: 60.0, overhang_tip_mm: 60.0, end_margin_mm: 30.0, load: load.clone() };
        let target = Curvature::constant(-650.0, 650.0, 2e-4).unwrap();
        let table = overbend(&target, 0.0, &laminate, &setup).unwrap();
        let scene = Scene::designed(&table, &load, 0.0);
        Model::new(&scene, &laminate).unwrap()
    }

    fn sandwich() -> [Layer; 4] {
        let mut layers = [
            layer("skin", 0.8, 25_000.0, 0.08),
            layer("core", 4.0, 10_890.0, 0.22),
            layer("core", 4.0, 10_890.0, 0.22),
            layer("skin", 0.8, 25_000.0, 0.08),
        ];
        layers[1].thickness_sd_mm = 0.1;
        layers[2].thickness_sd_mm = 0.1;
        layers
    }

    #[test]
    fn any_number_of_threads_simulates_the_same_boards() {
        let model = model(&sandwich());
        let factor = Share { value: 1.0, sd: 0.3 };
        let one = forecast_on(&model, factor, 301, 5, 1, &|_| ()).unwrap();
        for threads in [2, 3, 7, 400] {
            assert_eq!(forecast_on(&model, factor, 301, 5, threads, &|_| ()).unwrap(), one);
        }
        assert_ne!(forecast_on(&model, factor, 301, 6, 1, &|_| ()).unwrap().tip_mm, one.tip_mm);
    }

    /// With the springback factor alone the curvature is k (1 - f S), so that the tip's height is nearly linear in f:
    /// half of it between the quantiles of the normal distribution, 1.645 standard deviations out.
    #[test]
    fn a_band_from_one_normal_input_lies_where_its_quantiles_are() {
        let plain = [layer("ply", 4.0, 10_000.0, 0.0), layer("ply", 4.0, 10_000.0, 0.0)];
        let model = model(&plain);
        let factor = Share { value: 1.0, sd: 0.2 };
        let found = forecast(&model, factor, 4000, 11).unwrap();
        let tip = |f: f64| {
            let stack = model.laminate().with_springback_factor(f);
            model.end_heights_mm(&stack).unwrap().1
        };
        let out = (1.644_854 * 1.04_f64.ln().sqrt()).exp();
        // Three standard errors of a quantile at 5 % of 4000 draws: 0.10 standard deviations; of the median: 0.06.
        let sd = 0.5 * (tip(0.8) - tip(1.2));
        // Of a log-normal factor the deviation is proportional to it.
        assert!((found.tip_mm.p05 - tip(out)).abs() < 0.10 * sd * out, "{found:?}");
        assert!((found.tip_mm.p95 - tip(1.0 / out)).abs() < 0.10 * sd, "{found:?}");
        assert!((found.tip_mm.p50 - tip(1.0)).abs() < 0.06 * sd, "{found:?}");
        assert_eq!(found.shares.len(), 1);
        // Squared correlation of a log-normal number with its logarithm: s² / (exp(s²) - 1), where exp(s²) is 1.04.
        assert!((found.shares[0].of_tip - 1.04_f64.ln() / 0.04).abs() < 2e-3, "{found:?}");
    }

    /// First-order variance shares by moving one input at a time through its range, weighted as a normal distribution.
    #[test]
    fn shares_are_those_found_by_moving_one_input_at_a_time() {
        let model = model(&sandwich());
        let factor = Share { value: 1.0, sd: 0.1 };
        let found = forecast(&model, factor, 4000, 3).unwrap();
        let all = inputs_of(model.laminate(), factor);
        let variance = |i: usize| {
            let (mut mean, mut square, mut whole) = (0.0, 0.0, 0.0);
            for step in -40..=40 {
                let x = f64::from(step) * 0.1;
                let weight = (-0.5 * x * x).exp();
                let mut z = vec![0.0; all.len()];
                z[i] = x;
                let stack = stack_at(model.laminate(), &all, factor, &z);
                let tip = model.end_heights_mm(&stack).unwrap().1;
                mean += weight * tip;
                square += weight * tip * tip;
                whole += weight;
            }
            square / whole - (mean / whole).powi(2)
        };
        let variances: Vec<f64> = (0..all.len()).map(variance).collect();
        let total: f64 = variances.iter().sum();
        for (input, variance) in all.iter().zip(&variances) {
            let share = found.shares.iter().find(|s| s.input == *input).unwrap();
            assert!(
                (share.of_tip - variance / total).abs() < 0.04,
                "{}: {} {}",
                input.name(),
                share.of_tip,
                variance / total
            );
        }
        assert_eq!(all.len(), 4);
        assert!(found.shares[0].of_tip >= found.shares[1].of_tip);
        let modulus = found.shares.iter().find(|s| s.input.quantity == Quantity::Modulus).unwrap();
        assert!(modulus.of_tip > 0.0);
    }

    #[test]
    fn nothing_uncertain_gives_a_band_without_width() {
        let plain = [layer("ply", 4.0, 10_000.0, 0.0), layer("ply", 4.0, 10_000.0, 0.0)];
        let found = forecast(&model(&plain), Share { value: 1.0, sd: 0.0 }, 10, 1).unwrap();
        assert_eq!(found.tip_mm.p95, found.tip_mm.p05);
        assert!(found.shares.is_empty());
    }

    /// A stack pressed to k folds where its free curvature k (1 - f S) falls to minus one over the height of its neutral line:
    /// at a factor far beyond what shops have. Normal numbers pass that at four standard deviations in 3 of 100 000 draws, at
    /// 1.5 in 7 of 100.
    #[test]
    fn a_forecast_stands_where_one_stack_in_a_hundred_may_fold_and_no_more() {
        let plain = [layer("ply", 4.0, 10_000.0, 0.0), layer("ply", 4.0, 10_000.0, 0.0)];
        let model = model(&plain);
        let tightest = model.pressed().base_per_mm.iter().flatten().copied().fold(0.0, f64::max);
        // Two equal plies give a quarter back, and their neutral line is 4 mm high.
        let folds = (1.0 + 1.0 / (4.0 * tightest)) / 0.25;
        let spread = |sd: f64| forecast(&model, Share { value: 0.0, sd }, 1000, 7);
        assert_eq!(spread(folds / 4.0).unwrap().draws, 1000);
        assert_eq!(spread(folds / 1.5), None);
    }

    #[test]
    fn no_draws_make_no_forecast_and_one_draw_no_shares() {
        let model = model(&sandwich());
        let factor = Share { value: 1.0, sd: 0.3 };
        assert_eq!(forecast(&model, factor, 0, 1), None);
        let one = forecast(&model, factor, 1, 1).unwrap();
        assert_eq!((one.tip_mm.p05, one.tip_mm.p95), (one.tip_mm.p50, one.tip_mm.p50));
        assert!(one.shares.iter().all(|s| s.of_tip == 0.0 && s.of_tail == 0.0), "{one:?}");
    }

    #[test]
    fn a_straight_line_correlates_wholly_and_what_stays_not_at_all() {
        let x = [1.0, 2.0, 4.0];
        assert!((correlation(&x, &x.map(|x| 3.0 - 2.0 * x)) + 1.0).abs() < 1e-15);
        // By hand: x less its mean is (-4, -1, 5)/3, y less its mean (-1, 1, 0).
        assert!((correlation(&x, &[0.0, 2.0, 1.0]) - 1.0 / (42.0_f64 / 9.0 * 2.0).sqrt()).abs() < 1e-15);
        assert_eq!((correlation(&x, &[5.0; 3]), correlation(&[5.0; 3], &x)), (0.0, 0.0));
    }
}
