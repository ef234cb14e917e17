//! What every plan needs at least: the relaxation in which patterns may be cut in parts.
//!
//! Patterns are generated one by one by their reduced cost (Gilmore and Gomory, A Linear Programming Approach to the
//! Cutting-Stock Problem, Operations Research 9, 1961; from memory). The prices of the lengths that come out prove a
//! bound whatever the rounding did on the way, once they are turned to whole numbers and the best filling at these
//! prices is known (the dual bound; Farley, Operations Research 38, 1990, from memory).

use super::knapsack::fill;
use super::{Pattern, Problem};

/// Prices count in this part of a micrometre of stock, so that rounding them down loses nothing that matters.
pub(super) const PRICE: i64 = 1000;
/// Rounds of the simplex method: far more than patterns are ever needed.
const MOST_ROUNDS: usize = 1500;
/// Lengths beyond which the relaxation is left out; the plain bound by length remains.
const MOST_LENGTHS: usize = 120;

/// The relaxation's result.
#[derive(Debug, Clone)]
pub(super) struct Relaxed {
    /// Sets of prices of the lengths, in `PRICE` parts of a micrometre, each with what it proves.
    pub(super) prices: Vec<Prices>,
    /// Patterns of the relaxed plan with how often each is cut.
    pub(super) patterns: Vec<(Pattern, f64)>,
}

/// Prices of the lengths and what a bar's filling is worth beyond the bar's own cost at them.
#[derive(Debug, Clone)]
pub(super) struct Prices {
    /// Of each length.
    pub(super) price: Vec<i64>,
    /// For each kind of bar; zero for bars of which there are as many as it takes.
    pub(super) excess: Vec<i64>,
}

impl Prices {
    /// Least cost of bars for these counts, µm, with so many bars of each kind left.
    pub(super) fn bound(&self, counts: &[usize], left: &[usize]) -> i64 {
        let worth: i64 = self.price.iter().zip(counts).map(|(p, n)| p * *n as i64).sum();
        let mut free = 0_i64;
        for (excess, n) in self.excess.iter().zip(left) {
            // Without excess the number of bars does not matter, and may be unlimited.
            free = free.saturating_add(if *excess == 0 { 0 } else { excess.saturating_mul(*n as i64) });
        }
        let needed = worth.saturating_sub(free);
        // Costs are whole micrometres: round up.
        if needed <= 0 { 0 } else { (needed - 1) / PRICE + 1 }
    }
}

/// Solves the relaxation.
pub(super) fn relax(problem: &Problem) -> Relaxed {
    // By length alone: a micrometre of room is worth what the cheapest bar asks for it.
    let cheapest = problem
        .kinds
        .iter()
        .filter(|k| k.room > 0)
        .min_by(|a, b| (i128::from(a.cost) * i128::from(b.room)).cmp(&(i128::from(b.cost) * i128::from(a.room))));
    let by_length = problem.weights.iter().map(|w| {
        cheapest.map_or(0, |k| (i128::from(*w) * i128::from(k.cost) * i128::from(PRICE) / i128::from(k.room)) as i64)
    });
    let mut relaxed = Relaxed { prices: Vec::new(), patterns: Vec::new() };
    relaxed.prices.push(proven(problem, by_length.collect()));
    if problem.weights.len() <= MOST_LENGTHS {
        let (duals, patterns) = Master::new(problem).solve(problem);
        let whole = duals.iter().map(|d| (d.max(0.0) * PRICE as f64).floor() as i64).collect();
        relaxed.prices.push(proven(problem, whole));
        relaxed.patterns = patterns;
    }
    relaxed
}

/// Makes prices prove something: what the best filling of each bar is worth is found, or bounded, in whole numbers.
fn proven(problem: &Problem, mut price: Vec<i64>) -> Prices {
    // Of bars without end no filling may be worth more than the bar: scale the prices until it is so.
    for kind in problem.kinds.iter().filter(|k| k.most == usize::MAX) {
        let cost = kind.cost * PRICE;
        let worth = fill(&problem.weights, &price, &problem.demand, kind.room, cost).at_most;
        if worth > cost {
            price.iter_mut().for_each(|p| *p = (i128::from(*p) * i128::from(cost) / i128::from(worth)) as i64);
        }
    }
    let excess = problem
        .kinds
        .iter()
        .map(|kind| {
            let cost = kind.cost * PRICE;
            if kind.most == usize::MAX {
                return 0;
            }
            fill(&problem.weights, &price, &problem.demand, kind.room, cost).at_most - cost
        })
        .collect();
    Prices { price, excess }
}

/// The simplex method with a dense inverse; one row for each length, then one for each kind of bar that is limited.
struct Master {
    limited: Vec<usize>,
    inverse: Vec<Vec<f64>>,
    values: Vec<f64>,
    basis: Vec<Column>,
    lengths: usize,
}

#[derive(Clone)]
struct Column {
    cost: f64,
    rows: Vec<f64>,
    pattern: Option<Pattern>,
}

impl Master {
    fn new(problem: &Problem) -> Self {
        let lengths = problem.weights.len();
        let limited: Vec<usize> = (0..problem.kinds.len()).filter(|k| problem.kinds[*k].most != usize::MAX).collect();
        let rows = lengths + limited.len();
        let dearest = problem.kinds.iter().map(|k| k.cost).max().unwrap_or(1) as f64;
        let unit = |i: usize| (0..rows).map(|r| if r == i { 1.0 } else { 0.0 }).collect::<Vec<f64>>();
        // To begin with, every piece is bought for more than any bar, and no bar of limited number is used.
        let column =
            |i: usize| Column { cost: if i < lengths { 10.0 * dearest } else { 0.0 }, rows: unit(i), pattern: None };
        let demand = problem.demand.iter().map(|d| *d as f64);
        let supply = limited.iter().map(|k| problem.kinds[*k].most as f64);
        Self {
            values: demand.chain(supply).collect(),
            inverse: (0..rows).map(unit).collect(),
            basis: (0..rows).map(column).collect(),
            limited,
            lengths,
        }
    }

    /// Prices of the lengths, µm, and the patterns that are used.
    fn solve(mut self, problem: &Problem) -> (Vec<f64>, Vec<(Pattern, f64)>) {
        for _ in 0..MOST_ROUNDS {
            let duals = self.duals();
            if self.entering(problem, &duals).and_then(|column| self.enter(column)).is_none() {
                break;
            }
        }
        let duals = self.duals()[..self.lengths].to_vec();
        let used = self.basis.iter().zip(&self.values).filter_map(|(c, x)| c.pattern.clone().map(|p| (p, *x)));
        (duals, used.collect())
    }

    fn duals(&self) -> Vec<f64> {
        let rows = self.basis.len();
        (0..rows).map(|j| (0..rows).map(|i| self.basis[i].cost * self.inverse[i][j]).sum()).collect()
    }

    /// A column that makes the plan cheaper.
    fn entering(&self, problem: &Problem, duals: &[f64]) -> Option<Column> {
        let rows = duals.len();
        // Rounding: what saves less than a thousandth of a micrometre saves nothing.
        const SAVED: f64 = 1e-3;
        // More than is wanted of a length, and bars left over, cost nothing.
        let (worst, dual) = duals
            .iter()
            .enumerate()
            .map(|(i, d)| (i, if i < self.lengths { *d } else { -d }))
            .fold((0, 0.0), |worst, (i, d)| if d < worst.1 { (i, d) } else { worst });
        if dual < -SAVED {
            let sign = if worst < self.lengths { -1.0 } else { 1.0 };
            let unit = (0..rows).map(|r| if r == worst { sign } else { 0.0 }).collect();
            return Some(Column { cost: 0.0, rows: unit, pattern: None });
        }
        let prices: Vec<i64> =
            duals[..self.lengths].iter().map(|d| (d.max(0.0) * PRICE as f64).round() as i64).collect();
        let mut best: Option<(f64, Column)> = None;
        for (k, kind) in problem.kinds.iter().enumerate() {
            let row = self.limited.iter().position(|l| *l == k);
            let scarce = row.map_or(0.0, |r| -duals[self.lengths + r]).max(0.0);
            let asked = kind.cost as f64 + scarce;
            let above = (asked * PRICE as f64).ceil() as i64 + 1;
            let Some(counts) = fill(&problem.weights, &prices, &problem.demand, kind.room, above).counts else {
                continue;
            };
            let mut column: Vec<f64> = counts.iter().map(|n| *n as f64).collect();
            column.resize(rows, 0.0);
            if let Some(r) = row {
                column[self.lengths + r] = 1.0;
            }
            let worth: f64 = counts.iter().zip(duals).map(|(n, d)| *n as f64 * d).sum();
            if worth - asked > best.as_ref().map_or(SAVED, |b| b.0) {
                let pattern = Some(Pattern { kind: k, counts });
                best = Some((worth - asked, Column { cost: kind.cost as f64, rows: column, pattern }));
            }
        }
        best.map(|b| b.1)
    }

    /// Exchanges a column of the basis for `column`; `None` where none gives way.
    fn enter(&mut self, column: Column) -> Option<()> {
        const ZERO: f64 = 1e-9;
        let dot = |row: &Vec<f64>| row.iter().zip(&column.rows).map(|(a, b)| a * b).sum::<f64>();
        let change: Vec<f64> = self.inverse.iter().map(dot).collect();
        let out = (0..change.len())
            .filter(|i| change[*i] > ZERO)
            .min_by(|i, j| (self.values[*i] / change[*i]).total_cmp(&(self.values[*j] / change[*j])))?;
        let step = self.values[out] / change[out];
        let pivot: Vec<f64> = self.inverse[out].iter().map(|x| x / change[out]).collect();
        for (i, factor) in change.iter().enumerate() {
            if i != out {
                self.values[i] = (self.values[i] - factor * step).max(0.0);
                self.inverse[i].iter_mut().zip(&pivot).for_each(|(x, p)| *x -= factor * p);
            }
        }
        self.values[out] = step;
        self.inverse[out] = pivot;
        self.basis[out] = column;
        Some(())
    }
}
