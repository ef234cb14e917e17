//! Cutting pieces off bars: which bars, and which pieces out of each, so that little stock is used.
//!
//! Lengths are counted in whole micrometres, so that every comparison is exact. A saw cut goes with every piece, and
//! each bar counts as one saw cut longer, because its last piece needs none behind it. A greedy plan comes first, a
//! proven lower bound second, and where the two differ a search of limited size third.

use std::fmt;

#[cfg(test)]
mod tests;

use std::cmp::Reverse;
use std::collections::HashSet;

use crate::job::BarStock;
use crate::numeric::Random;

/// Pieces of one length.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece {
    /// What the shop calls them.
    pub label: String,
    /// Length, mm.
    pub length_mm: f64,
    /// How many.
    pub count: usize,
}

/// A bar and what is cut off it.
#[derive(Debug, Clone, PartialEq)]
pub struct CutBar {
    /// Which kind of bar (index in the stock).
    pub bar: usize,
    /// Which pieces (indices in the list of pieces), in the order of cutting.
    pub pieces: Vec<usize>,
    /// What is left of the bar behind the last saw cut, mm.
    pub rest_mm: f64,
}

/// A cutting plan.
#[derive(Debug, Clone, PartialEq)]
pub struct CuttingPlan {
    /// The bars, each kind together.
    pub bars: Vec<CutBar>,
    /// Length of all bars used, mm.
    pub stock_mm: f64,
    /// Length of bars that every plan needs at least, mm.
    pub bound_mm: f64,
    /// Whether no plan uses less stock: `bound_mm` equals `stock_mm`.
    pub proven: bool,
}

impl CuttingPlan {
    /// What the pieces do not use of the bars, saw cuts and trimmed ends included, mm.
    pub(crate) fn waste_mm(&self, pieces: &[Piece]) -> f64 {
        self.stock_mm - pieces.iter().map(|p| p.length_mm * p.count as f64).sum::<f64>()
    }
}

/// Why there is no plan.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum CuttingError {
    /// A piece (its index) is longer than what the longest bar yields, mm.
    TooLong {
        /// Index of the piece.
        piece: usize,
        /// Longest piece that can be cut, mm.
        longest_mm: f64,
    },
    /// No plan was found with the bars listed.
    NotEnough {
        /// Whether it is certain that none exists.
        certain: bool,
    },
}

impl fmt::Display for CuttingError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::TooLong { piece, .. } => write!(f, "piece {piece} is longer than the longest bar"),
            Self::NotEnough { certain: true } => f.write_str("there are not enough bars"),
            Self::NotEnough { certain: false } => f.write_str("no plan was found with these bars"),
        }
    }
}

impl std::error::Error for CuttingError {}

/// Micrometres in a millimetre: half of one is far below what any saw repeats.
const PER_MM: f64 = 1000.0;
/// Pieces that all greedy plans together place.
const GREEDY_PIECES: usize = 40_000;
/// Greedy plans tried at most, each with its own order of lengths.
const GREEDY_PLANS: usize = 200;
/// Steps of filling one bar in a greedy plan.
const FILLING_STEPS: usize = 300;
/// Seed of the orders.
const SEED: u64 = 1;
/// Equal parts of a bar, up to so many, that the lower bound counts pieces in.
const MAX_PARTS: i64 = 8;
/// Steps of one search: under a second on a slow machine.
const SEARCH_STEPS: usize = 100_000;
/// Pieces above which nothing is searched, since the steps would not suffice.
const SEARCH_PIECES: usize = 60;

/// The problem in whole numbers, lengths from long to short.
#[derive(Debug, Clone)]
struct Problem {
    /// Length of a piece with its saw cut, µm.
    weights: Vec<i64>,
    /// How many of each length.
    demand: Vec<usize>,
    /// The bars.
    kinds: Vec<Kind>,
    prices: Vec<Prices>,
}

/// Prices of the lengths at which a bar never holds more than `held` for `cost`: any plan costs at least what its pieces
/// are worth, times `cost / held`.
///
/// The length itself is such a price. So is the number of whole n-th parts of a room that a length exceeds: the pieces in a
/// bar exceed no more of them together than its own room does.
#[derive(Debug, Clone)]
struct Prices {
    price: Vec<i64>,
    cost: i64,
    held: i64,
}

/// A kind of bar in whole numbers.
#[derive(Debug, Clone, Copy)]
struct Kind {
    /// Length, µm.
    cost: i64,
    /// What pieces with their saw cuts may add up to, µm.
    room: i64,
    /// How many there are.
    quantity: usize,
}

/// A bar of some kind, how many of each length are cut off it, and the room left, µm.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Filled {
    kind: usize,
    counts: Vec<usize>,
    rest: i64,
}

type Plan = Vec<Filled>;

/// A plan that uses little stock; of the greedy plans with the same stock, the one that leaves its waste in long pieces.
///
/// # Errors
/// [`CuttingError`] where a piece is too long or the bars are too few.
pub fn cut(pieces: &[Piece], stock: &BarStock) -> Result<CuttingPlan, CuttingError> {
    let (problem, members) = problem(pieces, stock)?;
    let (plan, bound) = problem.best_plan()?;
    let cost = problem.cost(&plan);
    Ok(CuttingPlan {
        bars: cut_bars(plan, members, stock),
        stock_mm: cost as f64 / PER_MM,
        bound_mm: bound as f64 / PER_MM,
        proven: bound == cost,
    })
}

impl Problem {
    fn cost(&self, plan: &Plan) -> i64 {
        plan.iter().map(|bar| self.kinds[bar.kind].cost).sum()
    }

    /// The best plan found, and the cost that no plan goes below, µm.
    fn best_plan(&self) -> Result<(Plan, i64), CuttingError> {
        let mut best = self.greedy();
        let bound = self.bound(&self.demand);
        let few = self.demand.iter().sum::<usize>() <= SEARCH_PIECES;
        while few && best.as_ref().is_none_or(|plan| self.cost(plan) > bound) {
            let max_cost = best.as_ref().map_or(i64::MAX, |plan| self.cost(plan) - 1);
            let mut search = Search::new(self, max_cost);
            if search.next_bar(0) {
                best = Some(search.plan);
            } else if search.steps <= SEARCH_STEPS {
                // Everything was tried.
                let plan = best.ok_or(CuttingError::NotEnough { certain: true })?;
                let cost = self.cost(&plan);
                return Ok((plan, cost));
            } else {
                break;
            }
        }
        best.map(|plan| (plan, bound)).ok_or(CuttingError::NotEnough { certain: false })
    }

    /// Every plan for these numbers of pieces costs at least this, µm.
    fn bound(&self, counts: &[usize]) -> i64 {
        let least = |p: &Prices| {
            let worth: i128 = p.price.iter().zip(counts).map(|(price, n)| i128::from(*price) * *n as i128).sum();
            (worth * i128::from(p.cost) + i128::from(p.held) - 1) / i128::from(p.held)
        };
        let step = i128::from(self.kinds.iter().map(|k| k.cost).reduce(gcd).unwrap_or(1).max(1));
        // Whole bars add up to multiples of their greatest common divisor.
        self.prices.iter().map(least).max().map_or(0, |least| ((least + step - 1) / step * step) as i64)
    }

    /// The best of several greedy plans, or `None` where the bars sufficed for none.
    fn greedy(&self) -> Option<Plan> {
        let mut random = Random::new(SEED);
        let plans = (GREEDY_PIECES / self.demand.iter().sum::<usize>().max(1)).clamp(1, GREEDY_PLANS);
        let plan = |round: usize| {
            // The first plan prefers long pieces.
            let shake = if round == 0 { 0.0 } else { random.uniform() };
            let mut order: Vec<(f64, usize)> = self
                .weights
                .iter()
                .enumerate()
                .map(|(i, w)| (*w as f64 * (1.0 - shake * random.uniform()), i))
                .collect();
            order.sort_by(|a, b| b.0.total_cmp(&a.0));
            self.bar_after_bar(&order.into_iter().map(|(_, i)| i).collect::<Vec<_>>())
        };
        // Squares of the rests are largest where the waste lies in few long pieces.
        let gathered = |plan: &Plan| plan.iter().map(|b| i128::from(b.rest).pow(2)).sum::<i128>();
        (0..plans).filter_map(plan).min_by_key(|p| (self.cost(p), Reverse(gathered(p))))
    }

    /// A bar of this kind with nothing but one piece of this length, if the bar is long enough.
    fn with_one(&self, kind: usize, length: usize) -> Option<Filled> {
        let mut counts = vec![0; self.weights.len()];
        counts[length] = 1;
        let rest = self.kinds[kind].room - self.weights[length];
        (rest >= 0).then_some(Filled { kind, counts, rest })
    }

    /// Each bar gets the longest piece left and the fullest filling found beside it; of the kinds of bar, the one that
    /// costs least for what is filled.
    fn bar_after_bar(&self, order: &[usize]) -> Option<Plan> {
        let mut left: Vec<usize> = self.kinds.iter().map(|k| k.quantity).collect();
        let mut rest = self.demand.clone();
        let mut plan = Plan::new();
        while let Some(longest) = rest.iter().position(|n| *n > 0) {
            rest[longest] -= 1;
            let bars = (0..self.kinds.len()).filter(|k| left[*k] > 0).filter_map(|k| self.with_one(k, longest));
            let filled = bars.map(|mut bar| {
                let mut fullest = bar.clone();
                self.fill(&rest, order, &mut bar, &mut fullest, &mut FILLING_STEPS.clone());
                fullest
            });
            let worth = |a: &Filled, b: &Filled| {
                i128::from(self.kinds[a.kind].cost) * i128::from(self.kinds[b.kind].room - b.rest)
            };
            let bar = filled.min_by(|a, b| worth(a, b).cmp(&worth(b, a)))?;
            rest[longest] += 1;
            rest.iter_mut().zip(&bar.counts).for_each(|(r, n)| *r -= n);
            left[bar.kind] -= 1;
            plan.push(bar);
        }
        Some(plan)
    }

    /// Adds lengths in this order to the bar, many first, in as many ways as the steps allow; keeps the fullest.
    fn fill(&self, rest: &[usize], order: &[usize], bar: &mut Filled, fullest: &mut Filled, steps: &mut usize) {
        if bar.rest < fullest.rest {
            fullest.clone_from(bar);
        }
        let fits = |i: &usize| rest[*i] > 0 && self.weights[*i] <= bar.rest;
        let Some(next) = order.iter().position(fits) else { return };
        let (length, weight) = (order[next], self.weights[order[next]]);
        for count in (0..=rest[length].min((bar.rest / weight) as usize)).rev() {
            if fullest.rest == 0 || *steps == 0 {
                return;
            }
            *steps -= 1;
            bar.counts[length] += count;
            bar.rest -= count as i64 * weight;
            self.fill(rest, &order[next + 1..], bar, fullest, steps);
            bar.counts[length] -= count;
            bar.rest += count as i64 * weight;
        }
    }
}

fn gcd(a: i64, b: i64) -> i64 {
    if b == 0 { a } else { gcd(b, a % b) }
}

/// The search for a plan within a cost: the longest piece left lies in some bar, and every filling of that bar to which
/// nothing can be added is tried, as long as the bound leaves hope.
struct Search<'a> {
    problem: &'a Problem,
    max_cost: i64,
    plan: Plan,
    rest: Vec<usize>,
    left: Vec<usize>,
    /// Pieces and bars left from which nothing was found.
    seen: HashSet<(Vec<usize>, Vec<usize>)>,
    steps: usize,
}

impl<'a> Search<'a> {
    fn new(problem: &'a Problem, max_cost: i64) -> Self {
        let left = problem.kinds.iter().map(|k| k.quantity).collect();
        let rest = problem.demand.clone();
        Self { problem, max_cost, plan: Plan::new(), rest, left, seen: HashSet::new(), steps: 0 }
    }

    /// Tries all fillings of the next bar, `used` micrometres of bars being cut; whether the plan is complete.
    fn next_bar(&mut self, used: i64) -> bool {
        if used + self.problem.bound(&self.rest) > self.max_cost {
            return false;
        }
        let Some(longest) = self.rest.iter().position(|n| *n > 0) else { return true };
        // The numbers of bars left determine what was used.
        if !self.seen.insert((self.rest.clone(), self.left.clone())) {
            return false;
        }
        for (kind, of) in self.problem.kinds.iter().enumerate().filter(|(k, _)| self.left[*k] > 0).collect::<Vec<_>>() {
            let Some(mut bar) = self.problem.with_one(kind, longest) else { continue };
            self.rest[longest] -= 1;
            self.left[kind] -= 1;
            if self.fill(&mut bar, longest, used + of.cost) {
                return true;
            }
            self.left[kind] += 1;
            self.rest[longest] += 1;
        }
        false
    }

    /// Adds lengths from `from` on to the bar in every way, many first.
    fn fill(&mut self, bar: &mut Filled, from: usize, used: i64) -> bool {
        self.steps += 1;
        if self.steps > SEARCH_STEPS {
            return false;
        }
        let fits = |i: &usize| self.rest[*i] > 0 && self.problem.weights[*i] <= bar.rest;
        let Some(length) = (from..self.rest.len()).find(fits) else {
            // A bar to which a length passed over could still be added is never better than the fuller one.
            if (0..from).any(|i| fits(&i)) {
                return false;
            }
            self.plan.push(bar.clone());
            let complete = self.next_bar(used);
            if !complete {
                self.plan.pop();
            }
            return complete;
        };
        let weight = self.problem.weights[length];
        for count in (0..=self.rest[length].min((bar.rest / weight) as usize)).rev() {
            self.rest[length] -= count;
            bar.counts[length] += count;
            bar.rest -= count as i64 * weight;
            if self.fill(bar, length + 1, used) {
                return true;
            }
            self.rest[length] += count;
            bar.counts[length] -= count;
            bar.rest += count as i64 * weight;
        }
        false
    }
}

fn micrometres(length_mm: f64) -> i64 {
    (length_mm * PER_MM).round() as i64
}

/// The problem in whole numbers, and for each length the pieces that have it, one entry for each single piece.
fn problem(pieces: &[Piece], stock: &BarStock) -> Result<(Problem, Vec<Vec<usize>>), CuttingError> {
    let kerf = micrometres(stock.kerf_mm);
    let trim = micrometres(stock.end_trim_mm);
    let kind = |length_mm, quantity: Option<usize>| {
        let cost = micrometres(length_mm);
        Kind { cost, room: cost - trim + kerf, quantity: quantity.unwrap_or(usize::MAX) }
    };
    let kinds: Vec<Kind> = stock.bars.iter().map(|b| kind(b.length_mm, b.quantity)).collect();
    let room = kinds.iter().filter(|k| k.quantity > 0).map(|k| k.room).max().unwrap_or(0);
    let mut order: Vec<usize> = (0..pieces.len()).filter(|i| pieces[*i].count > 0).collect();
    order.sort_by_key(|i| Reverse(micrometres(pieces[*i].length_mm)));
    let (mut weights, mut members): (Vec<i64>, Vec<Vec<usize>>) = (Vec::new(), Vec::new());
    for i in order {
        // A piece has some length, so that what follows may divide by it.
        let weight = micrometres(pieces[i].length_mm).max(1) + kerf;
        if weight > room {
            let longest_mm = (room - kerf).max(0) as f64 / PER_MM;
            return Err(CuttingError::TooLong { piece: i, longest_mm });
        }
        let alike = std::iter::repeat_n(i, pieces[i].count);
        match (weights.last(), members.last_mut()) {
            (Some(last), Some(group)) if *last == weight => group.extend(alike),
            _ => {
                weights.push(weight);
                members.push(alike.collect());
            }
        }
    }
    let demand = members.iter().map(Vec::len).collect();
    let prices = prices(&weights, &kinds);
    Ok((Problem { weights, demand, kinds, prices }, members))
}

/// The length itself, and parts of every room.
fn prices(weights: &[i64], kinds: &[Kind]) -> Vec<Prices> {
    let usable = || kinds.iter().filter(|k| k.quantity > 0 && k.room > 0 && k.cost > 0);
    let of = |price: &dyn Fn(i64) -> i64| {
        let held = usable().map(|k| (k.cost, price(k.room))).filter(|(_, held)| *held > 0);
        let per_held = |a: &(i64, i64), b: &(i64, i64)| i128::from(a.0) * i128::from(b.1);
        // The kind with the lowest cost per worth.
        let (cost, held) = held.min_by(|a, b| per_held(a, b).cmp(&per_held(b, a)))?;
        Some(Prices { price: weights.iter().map(|w| price(*w)).collect(), cost, held })
    };
    let rooms = usable().flat_map(|k| (2..=MAX_PARTS).map(|n| (n, k.room)));
    let parts = rooms.filter_map(|(n, room)| of(&|length| (n * length - 1) / room));
    of(&|length| length).into_iter().chain(parts).collect()
}

/// The plan bar by bar: kinds together, the fullest bars first, long pieces first.
fn cut_bars(mut plan: Plan, mut members: Vec<Vec<usize>>, stock: &BarStock) -> Vec<CutBar> {
    let kerf = micrometres(stock.kerf_mm);
    members.iter_mut().for_each(|m| m.reverse());
    plan.sort_by(|a, b| (a.kind, a.rest, &b.counts).cmp(&(b.kind, b.rest, &a.counts)));
    let bar = |of: Filled| CutBar {
        bar: of.kind,
        pieces: members
            .iter_mut()
            .zip(&of.counts)
            .flat_map(|(m, n)| m.split_off(m.len() - n).into_iter().rev())
            .collect(),
        // Less the saw cut that a bar counts longer by.
        rest_mm: (of.rest - kerf).max(0) as f64 / PER_MM,
    };
    plan.into_iter().map(bar).collect()
}
