//! The same bars with their waste gathered: one long rest can be used again, many short ones cannot.

use super::knapsack::fill;
use super::{Pattern, Plan, Problem};

/// Bars above which the waste stays where it is: the work grows with their square.
const MOST_BARS: usize = 60;
/// Rounds over all pairs; three usually end it.
const MOST_ROUNDS: usize = 8;

/// Packs the pieces of two bars anew, one of them as full as it goes, as long as that gathers waste.
///
/// Only a fuller bar than before counts, so that what is left of the pieces fits the other one.
pub(super) fn gather_waste(problem: &Problem, plan: Plan) -> Plan {
    if plan.iter().map(|(_, times)| times).sum::<usize>() > MOST_BARS {
        return plan;
    }
    let mut bars: Vec<Pattern> = plan.into_iter().flat_map(|(p, times)| std::iter::repeat_n(p, times)).collect();
    let rest = |p: &Pattern| problem.kinds[p.kind].room - problem.filled(p);
    // The sum of the squares grows when waste moves from a short rest to a long one.
    let gathered = |a: &Pattern, b: &Pattern| i128::from(rest(a)).pow(2) + i128::from(rest(b)).pow(2);
    for _ in 0..MOST_ROUNDS {
        let mut changed = false;
        for i in 0..bars.len() {
            for j in (0..bars.len()).filter(|j| *j != i) {
                let both: Vec<usize> = bars[i].counts.iter().zip(&bars[j].counts).map(|(a, b)| a + b).collect();
                let room = problem.kinds[bars[i].kind].room;
                let before = problem.filled(&bars[i]);
                let Some(full) = fill(&problem.weights, &problem.weights, &both, room, before).counts else { continue };
                let others = both.iter().zip(&full).map(|(a, b)| a - b).collect();
                let packed =
                    (Pattern { kind: bars[i].kind, counts: full }, Pattern { kind: bars[j].kind, counts: others });
                if gathered(&packed.0, &packed.1) > gathered(&bars[i], &bars[j]) {
                    (bars[i], bars[j]) = packed;
                    changed = true;
                }
            }
        }
        if !changed {
            break;
        }
    }
    // A bar that was emptied would have made the plan cheaper; none is kept.
    let mut plan: Plan = Vec::new();
    for bar in bars.into_iter().filter(|b| b.counts.iter().any(|n| *n > 0)) {
        match plan.iter_mut().find(|(p, _)| *p == bar) {
            Some((_, times)) => *times += 1,
            None => plan.push((bar, 1)),
        }
    }
    plan
}
