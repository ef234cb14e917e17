//! Which bars to take: sets of bars from the cheapest on, each filled or shown to be too small.

use super::bound::{Relaxed, relax};
use super::dive::dive;
use super::search::{Found, search};
use super::{Kind, Plan, Problem, greedy};

/// Steps of the search in one set of bars: nearly all sets need a few hundred.
const STEPS_IN_A_SET: usize = 400_000;
/// Steps over all sets: some seconds on a slow machine.
const STEPS_IN_ALL: usize = 4_000_000;
/// Steps that solving the relaxation of one set counts for.
const STEPS_OF_A_RELAXATION: usize = 20_000;
/// Totals of bar lengths that are kept; with more the bound is not raised to the next of them.
const MOST_TOTALS: usize = 100_000;
/// Pieces above which no search is made beyond the bound: its depth would be the number of bars.
const MOST_PIECES: usize = 400;

/// The cheapest plan with what is certain about it.
#[derive(Debug)]
pub(super) struct Cheapest {
    /// The plan; `None` where none was found with the bars there are.
    pub(super) plan: Option<Plan>,
    /// Every plan costs at least this, µm.
    pub(super) bound: i64,
    /// Without a plan: whether it is certain that there is none.
    pub(super) certain: bool,
}

/// Looks for the cheapest plan.
pub(super) fn cheapest(problem: &Problem) -> Cheapest {
    let relaxed = relax(problem);
    let pieces: usize = problem.demand.iter().sum();
    let first = match greedy::best(problem, &relaxed.patterns) {
        Some(plan) => plan,
        None => match with_all_bars(problem, pieces) {
            Found::Plan(plan) => plan,
            Found::Nothing => return Cheapest { plan: None, bound: 0, certain: true },
            Found::Unknown => return Cheapest { plan: None, bound: 0, certain: false },
        },
    };
    let known = problem.cost(&first);
    let left: Vec<usize> = problem.kinds.iter().map(|k| k.most).collect();
    let lower = relaxed.prices.iter().map(|p| p.bound(&problem.demand, &left)).max().unwrap_or(0);
    let Some(totals) = totals(problem, known) else {
        return Cheapest { plan: Some(first), bound: lower.min(known), certain: true };
    };
    let open: Vec<i64> = totals.into_iter().filter(|t| *t >= lower && *t < known).collect();
    let mut bound = None;
    let mut steps = if pieces > MOST_PIECES { 0 } else { STEPS_IN_ALL };
    for total in open {
        match of_total(problem, total, &mut steps) {
            Found::Plan(plan) => {
                return Cheapest { plan: Some(plan), bound: bound.unwrap_or(total), certain: true };
            }
            Found::Nothing => {}
            Found::Unknown => bound = bound.or(Some(total)),
        }
    }
    Cheapest { plan: Some(first), bound: bound.unwrap_or(known), certain: true }
}

/// A plan with whatever bars there are.
fn with_all_bars(problem: &Problem, pieces: usize) -> Found {
    let all: Vec<usize> = problem.kinds.iter().map(|k| k.most.min(pieces)).collect();
    let set = of_bars(problem, &all);
    let total = set.kinds.iter().map(|k| k.cost * k.most as i64).sum();
    search(&set, &relax(&set), total, STEPS_IN_ALL)
}

/// The same pieces with these numbers of bars.
fn of_bars(problem: &Problem, numbers: &[usize]) -> Problem {
    let kinds = problem.kinds.iter().zip(numbers).map(|(k, n)| Kind { most: *n, ..*k }).collect();
    Problem { kinds, ..problem.clone() }
}

/// A plan with bars whose lengths add up to `total`.
fn of_total(problem: &Problem, total: i64, steps: &mut usize) -> Found {
    let needed: i64 = problem.weights.iter().zip(&problem.demand).map(|(w, n)| w * *n as i64).sum();
    let mut sets = Vec::new();
    let mut numbers = vec![0; problem.kinds.len()];
    add_sets(problem, total, 0, &mut numbers, &mut sets);
    let room = |set: &Vec<usize>| problem.kinds.iter().zip(set).map(|(k, n)| k.room * *n as i64).sum::<i64>();
    sets.retain(|s| room(s) >= needed);
    // Those with the most room first.
    sets.sort_by_key(|s| std::cmp::Reverse(room(s)));
    let mut unknown = false;
    for numbers in sets {
        if *steps < STEPS_OF_A_RELAXATION {
            return Found::Unknown;
        }
        *steps -= STEPS_OF_A_RELAXATION;
        let set = of_bars(problem, &numbers);
        let relaxed: Relaxed = relax(&set);
        if relaxed.prices.iter().any(|p| p.bound(&set.demand, &numbers) > total) {
            continue;
        }
        if let Some(plan) = greedy::best(&set, &relaxed.patterns) {
            return Found::Plan(plan);
        }
        let mut relaxations = 0;
        let dived = dive(&set, &mut relaxations);
        *steps = steps.saturating_sub(relaxations * STEPS_OF_A_RELAXATION);
        if let Some(plan) = dived {
            return Found::Plan(plan);
        }
        let allowed = STEPS_IN_A_SET.min(*steps);

        match search(&set, &relaxed, total, allowed) {
            Found::Plan(plan) => return Found::Plan(plan),
            Found::Nothing => {}
            Found::Unknown => {
                *steps -= allowed;
                unknown = true;
            }
        }
    }
    if unknown { Found::Unknown } else { Found::Nothing }
}

/// All numbers of bars from the kind at `at` on whose lengths add up to `total`.
fn add_sets(problem: &Problem, total: i64, at: usize, numbers: &mut Vec<usize>, sets: &mut Vec<Vec<usize>>) {
    let Some(kind) = problem.kinds.get(at) else {
        if total == 0 {
            sets.push(numbers.clone());
        }
        return;
    };
    let most = kind.most.min((total / kind.cost.max(1)) as usize);
    for n in 0..=most {
        numbers[at] = n;
        add_sets(problem, total - kind.cost * n as i64, at + 1, numbers, sets);
    }
    numbers[at] = 0;
}

/// All lengths up to `most` that whole bars add up to, ascending.
fn totals(problem: &Problem, most: i64) -> Option<Vec<i64>> {
    let mut totals = vec![0_i64];
    for kind in problem.kinds.iter().filter(|k| k.cost > 0) {
        let times = kind.most.min((most / kind.cost) as usize);
        let mut longer = totals.clone();
        for t in &totals {
            longer.extend((1..=times as i64).map(|n| t + n * kind.cost).take_while(|c| *c <= most));
            if longer.len() > 4 * MOST_TOTALS {
                return None;
            }
        }
        longer.sort_unstable();
        longer.dedup();
        if longer.len() > MOST_TOTALS {
            return None;
        }
        totals = longer;
    }
    Some(totals)
}
