//! Removed readings held against the same problem without them.

use super::super::model::Linear;
use super::super::weight::tests::{alike, problem};
use super::*;

/// The problem without some readings.
fn without(linear: &Linear, out: &[usize]) -> Linear {
    let kept = || (0..linear.wanted.len()).filter(|i| !out.contains(i));
    Linear {
        free: kept().map(|i| linear.free[i].clone()).collect(),
        steps: kept().map(|i| linear.steps[i].clone()).collect(),
        wanted: kept().map(|i| linear.wanted[i]).collect(),
    }
}

#[test]
fn removing_readings_gives_the_problem_without_them() {
    // More readings than steps, and fewer.
    for linear in [problem(12, 4, 1), problem(10, 15, 2)] {
        let spectrum = Spectrum::of(&linear).unwrap();
        let mut spreads = Vec::new();
        for weight in [0.03, 0.7, 20.0] {
            let mut trial = Trial::new(&spectrum, weight);
            trial.remove(7);
            trial.remove(2);
            let rest = Spectrum::of(&without(&linear, &[2, 7])).unwrap();
            for (i, (residual, left)) in trial.kept().zip(rest.residuals(weight)) {
                alike(trial.left[i].0, residual);
                alike(trial.left[i].1, left);
            }
            let (square, spread) = rest.square_and_spread(weight);
            alike(trial.square_mm2, square);
            spreads.push(trial.spread - spread);
        }
        // They differ by what the plain parameters lose, which no weight changes.
        spreads.iter().for_each(|s| alike(*s, spreads[0]));
    }
}

#[test]
fn a_removed_reading_is_judged_by_the_curve_through_those_that_stay() {
    let linear = problem(12, 4, 1);
    let spectrum = Spectrum::of(&linear).unwrap();
    let mut trial = Trial::new(&spectrum, 0.7);
    [7, 2, 9].into_iter().for_each(|i| trial.remove(i));
    let scatter_mm = trial.scatter_mm();
    // Each alone beside those that stay.
    let times = |i: usize, others: &[usize]| {
        let part = Spectrum::of(&without(&linear, others)).unwrap();
        let at = (0..i).filter(|j| !others.contains(j)).count();
        Trial::new(&part, 0.7).distance_mm(at).abs() / scatter_mm
    };
    let all = [(7, times(7, &[2, 9])), (2, times(2, &[7, 9])), (9, times(9, &[7, 2]))];
    let least = *all.iter().min_by(|a, b| a.1.total_cmp(&b.1)).unwrap();
    let named = trial.confirmed(1e-9, 0.999 * least.1);
    assert_eq!(named.iter().map(|n| n.0).collect::<Vec<_>>(), [7, 2, 9]);
    named.iter().zip(all).for_each(|(found, exact)| alike(found.1, exact.1));
    // A limit over the least: that one is taken back, and the other two are judged with it in the curve.
    let mut trial = Trial::new(&spectrum, 0.7);
    [7, 2, 9].into_iter().for_each(|i| trial.remove(i));
    let named = trial.confirmed(1e-9, 1.001 * least.1);
    assert!(named.len() < 3 && named.iter().all(|n| n.0 != least.0), "{named:?}");
    for (i, found) in named.iter().copied() {
        let others: Vec<usize> = named.iter().map(|n| n.0).filter(|j| *j != i).collect();
        alike(found, times(i, &others));
    }
}

#[test]
fn of_seven_readings_none_is_judged() {
    let mut linear = problem(7, 4, 1);
    linear.wanted[3] += 1e3;
    assert_eq!(outliers(&Spectrum::of(&linear).unwrap(), 0.05, 3.5), []);
}
