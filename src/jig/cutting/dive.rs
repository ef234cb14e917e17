//! A plan from the relaxation, pattern by pattern: the pattern that the relaxed plan likes best is cut, and the
//! relaxation solved anew for what is left.

use super::bound::relax;
use super::{Plan, Problem, greedy};
use crate::numeric::Random;

/// Dives into one set of bars; each begins with other patterns.
const DIVES: usize = 10;
/// Seed of the choice of patterns.
const SEED: u64 = 3;

/// A plan with the bars of the problem, if a dive finds one; counts the relaxations that it solves.
pub(super) fn dive(problem: &Problem, relaxations: &mut usize) -> Option<Plan> {
    let mut random = Random::new(SEED);
    (0..DIVES).find_map(|round| once(problem, if round == 0 { None } else { Some(&mut random) }, relaxations))
}

fn once(problem: &Problem, mut random: Option<&mut Random>, relaxations: &mut usize) -> Option<Plan> {
    let mut rest = problem.clone();
    let mut plan: Plan = Vec::new();
    loop {
        let relaxed = relax(&rest);
        *relaxations += 1;
        let numbers: Vec<usize> = rest.kinds.iter().map(|k| k.most).collect();
        let all: i64 = rest.kinds.iter().map(|k| k.cost.saturating_mul(k.most as i64)).sum();
        if relaxed.prices.iter().any(|p| p.bound(&rest.demand, &numbers) > all) {
            return None;
        }
        if let Some(end) = greedy::few(&rest, &relaxed.patterns) {
            plan.extend(end);
            return Some(plan);
        }
        // Of the patterns, which never cut more than is left, the one that is cut most; shaken after the first dive.
        let (pattern, _) = relaxed
            .patterns
            .into_iter()
            .filter(|(p, _)| rest.kinds[p.kind].most > 0)
            .map(|(p, x)| (p, x * random.as_mut().map_or(1.0, |c| 0.5 + c.uniform())))
            .max_by(|a, b| a.1.total_cmp(&b.1))?;
        rest.kinds[pattern.kind].most -= 1;
        rest.demand.iter_mut().zip(&pattern.counts).for_each(|(r, n)| *r -= n);
        plan.push((pattern, 1));
    }
}
