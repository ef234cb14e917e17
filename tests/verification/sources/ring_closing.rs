//! A ring that shrinks through its thickness alone, at kept lengths.

use super::Program;
use crate::bench::{Kind, Mark, Row, Source, Stated};
use crate::program::layers;

pub(crate) fn source(program: &Program) -> Source {
    let row = |shrinks: f64, count: usize| {
        let mut stack = layers(&vec![(12.0 / count as f64, 10_000.0); count]);
        stack.iter_mut().for_each(|l| l.shrinks_through = Some(shrinks));
        let elastic = 1.0 - 1.0 / (count * count) as f64;
        Row {
            quantity: format!("{count} plies that shrink by {shrinks}: free over pressed curvature"),
            stated: Stated::formula("(1 - 1/n²) / (1 - e)", elastic / (1.0 - shrinks)),
            place: "uniform shrinkage",
            computed: (program.section)(&stack, 0.0).free_curvature(1.0),
            allowed: 1e-12,
            why: "rounding",
        }
    };
    Source {
        name: "ring_closing",
        claim: "Equal plies that shrink through their thickness close in by e / (1 - e)",
        work: "spring-in of curved laminates, as after Nelson and Cairns, 1989",
        mark: Mark::FromMemory,
        kind: Kind::ClosedForm,
        parameters: "12 mm in equal plies, one of them swelling; curvature is angle over a kept length.",
        count: 3,
        rows: vec![row(0.023, 40), row(0.01, 7), row(-0.005, 3)],
    }
}
