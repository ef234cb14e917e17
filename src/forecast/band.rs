//! Seeded simulation: thousands of possible stacks on one table.

use std::num::NonZero;
use std::thread;

use crate::job::Share;
use crate::laminate::Laminate;
use crate::numeric::Random;

use super::inputs::{Input, inputs, stack_at};
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
        Self { p05: at(0.05), p50: at(0.50), p95: at(0.95) }
    }

    /// Distance from one end to the other.
    pub fn width(&self) -> f64 {
        self.p95 - self.p05
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

/// What a simulation says.
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
    forecast_on(model, factor, draws, seed, threads)
}

fn forecast_on(model: &Model, factor: Share, draws: usize, seed: u64, threads: usize) -> Option<Forecast> {
    let inputs = inputs(model.laminate(), factor);
    let mut boards: Vec<Option<Board>> = vec![None; draws];
    let share = draws.div_ceil(threads.max(1)).max(1);
    thread::scope(|scope| {
        for (chunk, boards) in boards.chunks_mut(share).enumerate() {
            let inputs = &inputs;
            scope.spawn(move || {
                let mut work = model.pressed().clone();
                for (i, board) in boards.iter_mut().enumerate() {
                    let z = numbers(inputs, seed, chunk * share + i);
                    let stack = stack_at(model.laminate(), inputs, factor, &z);
                    *board = simulate(model, &stack, &mut work);
                }
            });
        }
    });
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

fn simulate(model: &Model, stack: &Laminate, work: &mut crate::press::Pressed) -> Option<Board> {
    let (tail_mm, tip_mm) = model.end_heights_mm(stack, work)?;
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
