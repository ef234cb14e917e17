//! The search for a plan that costs no more than a target, or for the certainty that there is none.
//!
//! The longest piece that is left lies in some bar; every filling of that bar to which nothing can be added is tried,
//! as far as the prices of the lengths leave hope for the target.

use std::collections::HashSet;

use super::bound::{PRICE, Prices, Relaxed};
use super::{Pattern, Plan, Problem};

/// What a search ended with.
#[derive(Debug)]
pub(super) enum Found {
    /// A plan within the target.
    Plan(Plan),
    /// There is none.
    Nothing,
    /// The steps did not suffice to know.
    Unknown,
}

/// Looks for a plan of at most `target` micrometres of bars in at most so many steps.
pub(super) fn search(problem: &Problem, relaxed: &Relaxed, target: i64, most_steps: usize) -> Found {
    let mut search = Search {
        problem,
        guides: relaxed.prices.iter().map(|p| Guide::new(problem, p)).collect(),
        target,
        plan: None,
        path: Vec::new(),
        rest: problem.demand.clone(),
        left: problem.kinds.iter().map(|k| k.most).collect(),
        seen: HashSet::new(),
        steps: 0,
        most_steps,
    };
    search.bar(0);
    match search.plan {
        Some(plan) => Found::Plan(plan),
        None if search.steps > most_steps => Found::Unknown,
        None => Found::Nothing,
    }
}

/// Prices made ready for the search.
struct Guide<'a> {
    prices: &'a Prices,
    /// The most valuable length from each on, by value per length.
    densest: Vec<usize>,
}

impl<'a> Guide<'a> {
    fn new(problem: &Problem, prices: &'a Prices) -> Self {
        let count = problem.weights.len();
        let mut densest = vec![count.saturating_sub(1); count];
        for i in (0..count.saturating_sub(1)).rev() {
            let next = densest[i + 1];
            let here = i128::from(prices.price[i]) * i128::from(problem.weights[next]);
            let there = i128::from(prices.price[next]) * i128::from(problem.weights[i]);
            densest[i] = if here >= there { i } else { next };
        }
        Self { prices, densest }
    }

    /// What `room` is worth at most, filled with lengths from `from` on.
    fn loose(&self, problem: &Problem, from: usize, room: i64) -> i64 {
        self.densest.get(from).map_or(0, |i| {
            (i128::from(room) * i128::from(self.prices.price[*i]) / i128::from(problem.weights[*i])) as i64
        })
    }
}

struct Search<'a> {
    problem: &'a Problem,
    guides: Vec<Guide<'a>>,
    target: i64,
    plan: Option<Plan>,
    path: Vec<Pattern>,
    rest: Vec<usize>,
    left: Vec<usize>,
    /// Pieces and bars that were left before, from which nothing was found.
    seen: HashSet<(Vec<usize>, Vec<usize>)>,
    steps: usize,
    most_steps: usize,
}

impl Search<'_> {
    fn done(&self) -> bool {
        self.plan.is_some() || self.steps > self.most_steps
    }

    /// Tries all fillings of the next bar, `used` micrometres of bars being cut already.
    fn bar(&mut self, used: i64) {
        let Some(longest) = self.rest.iter().position(|n| *n > 0) else {
            self.plan = Some(self.path.iter().map(|p| (p.clone(), 1)).collect());
            return;
        };
        if self.guides.iter().any(|g| used + g.prices.bound(&self.rest, &self.left) > self.target) {
            return;
        }
        // The bars that are left, all of them counted, say what was used.
        if !self.seen.insert((self.rest.clone(), self.left.clone())) {
            return;
        }
        for kind in 0..self.problem.kinds.len() {
            let room = self.problem.kinds[kind].room;
            if self.left[kind] == 0 || room < self.problem.weights[longest] {
                continue;
            }
            self.left[kind] -= 1;
            let after = used + self.problem.kinds[kind].cost;
            let counts = vec![0; self.rest.len()];
            self.filling(&mut Bar { kind, first: longest, after, counts }, longest, room);
            self.left[kind] += 1;
            if self.done() {
                return;
            }
        }
    }

    /// Whether the pieces that stay could still be cut within the target if `room` were filled from `from` on.
    fn hopeful(&self, bar: &Bar, from: usize, room: i64) -> bool {
        self.guides.iter().all(|g| {
            // `rest` is without what lies in the bar.
            let stays: i64 = g.prices.price.iter().zip(&self.rest).map(|(p, n)| p * *n as i64).sum();
            let free: i64 = g
                .prices
                .excess
                .iter()
                .zip(&self.left)
                .map(|(e, n)| if *e == 0 { 0 } else { e.saturating_mul(*n as i64) })
                .fold(0, i64::saturating_add);
            let least = stays - g.loose(self.problem, from, room) - free;
            bar.after * PRICE + least.max(0) <= self.target * PRICE
        })
    }

    /// Adds lengths from `at` on to the bar in every way that leaves hope.
    fn filling(&mut self, bar: &mut Bar, at: usize, room: i64) {
        self.steps += 1;
        if self.done() || !self.hopeful(bar, at, room) {
            return;
        }
        let next = (at..self.rest.len()).find(|i| self.rest[*i] > 0 && self.problem.weights[*i] <= room);
        let Some(next) = next else {
            // Of lengths that were passed over, none may fit any more: a fuller bar is never worse.
            let fits = |i: usize| self.rest[i] > 0 && self.problem.weights[i] <= room;
            if !(0..self.rest.len()).any(fits) {
                self.path.push(Pattern { kind: bar.kind, counts: bar.counts.clone() });
                self.bar(bar.after);
                self.path.pop();
            }
            return;
        };
        let weight = self.problem.weights[next];
        let least = usize::from(next == bar.first);
        let most = self.rest[next].min((room / weight) as usize);
        for count in (least..=most).rev() {
            self.rest[next] -= count;
            bar.counts[next] += count;
            self.filling(bar, next + 1, room - weight * count as i64);
            bar.counts[next] -= count;
            self.rest[next] += count;
            if self.done() {
                return;
            }
        }
    }
}

/// The bar that is being filled.
struct Bar {
    kind: usize,
    first: usize,
    /// Cost of all bars up to this one, µm.
    after: i64,
    counts: Vec<usize>,
}
