//! The cantilever under a force that keeps its direction, bent far beyond where beams are straight.

use overbend::curve::{Curvature, Curve, PlaneCurve};

use super::Program;
use crate::bench::{Kind, Mark, Row, Source, Stated};

/// Pieces of the cantilever: the error of curvature that is linear within each falls with the square of their length.
const PIECES: usize = 4_000;

/// Where the end of a cantilever of length 1 comes to: curvature anywhere is load times the lever arm that is left,
/// and the points are integrated from the curvature by the program.
fn end(load: f64) -> (f64, f64) {
    let s = |i: usize| i as f64 / PIECES as f64;
    let mut x: Vec<f64> = (0..=PIECES).map(s).collect();
    loop {
        let tip = x[PIECES];
        let nodes: Vec<(f64, f64)> = (0..=PIECES).map(|i| (s(i), load * (tip - x[i]))).collect();
        let curve = Curve::new(Curvature::through(&nodes).unwrap());
        let mut moved = 0.0_f64;
        for (i, place) in x.iter_mut().enumerate() {
            let next = curve.at(s(i)).point.x;
            moved = moved.max((next - *place).abs());
            // Part of the way only: under high loads the whole way overshoots.
            *place += 0.2 * (next - *place);
        }
        if moved < 1e-9 {
            let at = curve.at(1.0).point;
            return (1.0 - at.x, at.y);
        }
    }
}

pub(crate) fn source(_: &Program) -> Source {
    let printed = [
        (1.0, "0.30172", "0.05643"),
        (2.0, "0.49346", "0.16064"),
        (5.0, "0.71379", "0.38763"),
        (10.0, "0.81061", "0.55500"),
    ];
    let mut rows = Vec::new();
    for (load, across, along) in printed {
        let (inward, deflection) = end(load);
        for (words, stated, computed) in [("transverse", across, deflection), ("axial", along, inward)] {
            rows.push(Row {
                quantity: format!("P L²/EI = {load}: {words} displacement of the end / L"),
                stated: Stated::printed(stated),
                place: "Table 1",
                computed,
                allowed: 6e-6,
                why: "last digit printed; pieces of curvature add 1e-7",
            });
        }
    }
    Source {
        name: "mattiasson_1981",
        claim: "Curves far from straight are integrated from their curvature",
        work: "Mattiasson, Numerical results from large deflection beam and frame problems, IJNME 17 (1981) 145",
        mark: Mark::SecondHand,
        kind: Kind::Published,
        parameters: "Cantilever under an end force that keeps its direction. Curvature from the lever arm, points from our \
                     integration, repeated until both agree.",
        count: 8,
        rows,
    }
}
