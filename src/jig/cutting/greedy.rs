//! Plans to begin with: bar after bar, each with the longest piece that is left and the fullest filling beside it.

use super::bound::PRICE;
use super::knapsack::fill;
use super::{Pattern, Plan, Problem};
use crate::numeric::Random;

/// Plans that are tried with the worth of the pieces shaken: each costs a filling a bar.
const RESTARTS: usize = 40;
/// Plans that are tried where many problems are to be tried.
const FEW_RESTARTS: usize = 4;
/// How far the worth of a length is shaken at most: more than this leaves bars half empty.
const SHAKEN: f64 = 0.15;
/// How far long pieces are favoured at most, as an exponent of their length: short ones are easy to place later.
const LONG_FAVOURED: f64 = 0.5;
/// Seed of the shaking.
const SEED: u64 = 1;
/// Pieces above which the shaken plans repeat a filling as long as they can.
const FEW_PIECES: usize = 200;

/// The best of several plans, or `None` where none was found with the bars there are.
pub(super) fn best(problem: &Problem, relaxed: &[(Pattern, f64)]) -> Option<Plan> {
    of_restarts(problem, relaxed, RESTARTS)
}

/// As [`best`], of few plans.
pub(super) fn few(problem: &Problem, relaxed: &[(Pattern, f64)]) -> Option<Plan> {
    of_restarts(problem, relaxed, FEW_RESTARTS)
}

fn of_restarts(problem: &Problem, relaxed: &[(Pattern, f64)], restarts: usize) -> Option<Plan> {
    let mut random = Random::new(SEED);
    let longest = problem.weights.first().copied().unwrap_or(1) as f64;
    let plain = problem.weights.clone();
    let mut plans = vec![finish(problem, Vec::new(), &plain, true), rounded(problem, relaxed, &plain)];
    let repeat = problem.demand.iter().sum::<usize>() > FEW_PIECES;
    for _ in 0..restarts {
        let favour = LONG_FAVOURED * random.uniform();
        let worth = |w: &i64| {
            let long = (*w as f64 / longest).powf(favour);
            (*w as f64 * long * (1.0 + SHAKEN * (random.uniform() - 0.5)) * PRICE as f64) as i64
        };
        let shaken: Vec<i64> = problem.weights.iter().map(worth).collect();
        plans.push(finish(problem, Vec::new(), &shaken, repeat));
        plans.push(rounded(problem, relaxed, &shaken));
    }
    plans.into_iter().flatten().min_by_key(|p| problem.cost(p))
}

/// The relaxed plan with every pattern cut as often as it is whole, and the rest bar after bar.
fn rounded(problem: &Problem, relaxed: &[(Pattern, f64)], worth: &[i64]) -> Option<Plan> {
    // What misses a whole number by less is a whole number that was rounded.
    const NEARLY: f64 = 1e-6;
    let whole = relaxed.iter().map(|(p, x)| (p.clone(), (x + NEARLY).floor() as usize));
    finish(problem, whole.filter(|(_, times)| *times > 0).collect(), worth, false)
}

/// Completes a plan bar after bar.
fn finish(problem: &Problem, mut plan: Plan, worth: &[i64], repeat: bool) -> Option<Plan> {
    let mut left: Vec<usize> = problem.kinds.iter().map(|k| k.most).collect();
    let mut rest = problem.demand.clone();
    for (pattern, times) in &mut plan {
        // The relaxed plan may cut more of a length than is wanted.
        *times = (*times).min(often(pattern, &rest)).min(left[pattern.kind]);
        left[pattern.kind] = left[pattern.kind].saturating_sub(*times);
        rest.iter_mut().zip(&pattern.counts).for_each(|(r, n)| *r -= n * *times);
    }
    plan.retain(|(_, times)| *times > 0);
    while let Some(longest) = rest.iter().position(|n| *n > 0) {
        let mut best: Option<(i128, i64, Pattern)> = None;
        for (k, kind) in problem.kinds.iter().enumerate() {
            if left[k] == 0 || kind.room < problem.weights[longest] {
                continue;
            }
            rest[longest] -= 1;
            let beside = fill(&problem.weights, worth, &rest, kind.room - problem.weights[longest], 0).counts;
            rest[longest] += 1;
            let mut pattern = Pattern { kind: k, counts: beside.unwrap_or_else(|| vec![0; rest.len()]) };
            pattern.counts[longest] += 1;
            let filled = problem.filled(&pattern);
            // The least cost for what is filled.
            let cheaper = best
                .as_ref()
                .is_none_or(|(cost, full, _)| i128::from(kind.cost) * i128::from(*full) < cost * i128::from(filled));
            if cheaper {
                best = Some((i128::from(kind.cost), filled, pattern));
            }
        }
        let (_, _, pattern) = best?;
        let most = often(&pattern, &rest).min(left[pattern.kind]);
        let times = if repeat { most.max(1) } else { 1 };
        rest.iter_mut().zip(&pattern.counts).for_each(|(r, n)| *r -= n * times);
        left[pattern.kind] = left[pattern.kind].saturating_sub(times);
        plan.push((pattern, times));
    }
    Some(plan)
}

/// How often a pattern can be cut from what is still wanted.
fn often(pattern: &Pattern, rest: &[usize]) -> usize {
    let each = |(n, r): (&usize, &usize)| if *n == 0 { usize::MAX } else { r / n };
    pattern.counts.iter().zip(rest).map(each).min().unwrap_or(0)
}
