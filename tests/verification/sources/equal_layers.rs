//! Springback of loose layers from sums of their stiffnesses.

use super::Program;
use crate::bench::{Kind, Mark, Row, Source, Stated};

/// Stacks as thickness (mm) and modulus (MPa), base first.
const UNEQUAL: [&[(f64, f64)]; 5] = [
    &[(0.8, 18_600.0), (9.0, 11_980.0), (0.8, 18_600.0)],
    &[(1.0, 40_000.0), (10.0, 10_890.0), (1.0, 40_000.0)],
    &[(0.6, 135_000.0), (8.0, 4_380.0), (0.6, 135_000.0)],
    &[(0.8, 18_600.0), (5.0, 10_890.0), (5.0, 10_890.0), (0.8, 18_600.0)],
    &[(1.3, 2_100.0), (0.7, 40_000.0), (3.1, 10_890.0), (2.2, 4_380.0), (0.9, 135_000.0)],
];

/// Own stiffness of every layer and stiffness of the bonded stack, N mm, without ever asking for a neutral axis:
/// B = sum of E I + sum over pairs of (E A)i (E A)j (zi - zj)² / sum of E A.
fn by_pairs(plies: &[(f64, f64)]) -> (f64, f64) {
    let own: f64 = plies.iter().map(|(t, e)| e * t.powi(3) / 12.0).sum();
    let axial: f64 = plies.iter().map(|(t, e)| e * t).sum();
    let mut middles = Vec::new();
    let mut top = 0.0;
    for (t, e) in plies {
        middles.push((e * t, top + 0.5 * t));
        top += t;
    }
    let mut pairs = 0.0;
    for (i, a) in middles.iter().enumerate() {
        pairs += middles[..i].iter().map(|b| a.0 * b.0 * (a.1 - b.1).powi(2)).sum::<f64>();
    }
    (own, own + pairs / axial)
}

pub(crate) fn source(program: &Program) -> Source {
    let mut rows = Vec::new();
    for n in [1_u32, 2, 3, 4, 5, 7, 23] {
        let section = program.plies(&vec![(1.7, 9_300.0); n as usize]);
        rows.push(Row {
            quantity: format!("part of the curve that {n} equal layers give back"),
            stated: Stated::formula("1/n²", 1.0 / f64::from(n * n)),
            place: "sum of t³ over (sum of t)³",
            computed: section.springback_share(),
            allowed: 1e-12,
            why: "rounding",
        });
    }
    for n in [2_u32, 3, 4, 5] {
        let section = program.plies(&vec![(2.4, 12_000.0); n as usize]);
        let k = 1.0 / 900.0;
        rows.push(Row {
            quantity: format!("radius after release over radius pressed, {n} equal layers"),
            stated: Stated::formula("1/(1 - 1/n²)", 1.0 / (1.0 - 1.0 / f64::from(n * n))),
            place: "inverse of what stays",
            computed: k / section.free_curvature(k),
            allowed: 1e-12,
            why: "rounding",
        });
    }
    for plies in UNEQUAL {
        let section = program.plies(plies);
        let (own, bonded) = by_pairs(plies);
        let words: Vec<String> = plies.iter().map(|(t, e)| format!("{t}@{}", e / 1000.0)).collect();
        rows.push(Row {
            quantity: format!("part given back by {} (mm @ GPa)", words.join(" / ")),
            stated: Stated::formula("own/bonded", own / bonded),
            place: "stiffness from pairs of layers",
            computed: section.springback_share(),
            allowed: 1e-12,
            why: "rounding",
        });
    }
    Source {
        name: "equal_layers",
        claim: "Loose layers give back own stiffness over bonded stiffness",
        work: "own derivation: layers bent each about its own middle, released as one beam",
        mark: Mark::Own,
        kind: Kind::ClosedForm,
        parameters: "The bonded stiffness on the other side is summed over pairs of layers and needs no neutral axis.",
        count: 16,
        rows,
    }
}
