//! Published examples of the rule for equal laminations: of a camber x, n layers lose x/n².

use super::{Program, arc, rise_over};
use crate::bench::{Kind, Mark, Row, Source, Stated};
use crate::program::layers;
use overbend::units::MM_PER_INCH;

const SPAN_MM: f64 = 200.0 * MM_PER_INCH;

pub(crate) fn source(program: &Program) -> Source {
    let row = |camber_in: f64, count: usize, printed: &str| {
        let half = 0.5 * SPAN_MM;
        let rise = camber_in * MM_PER_INCH;
        let k_per_mm = 2.0 * rise / (half * half + rise * rise);
        let table = arc(half, k_per_mm);
        let ply = 0.25 * MM_PER_INCH / count as f64;
        let board = (program.released)(&table, &layers(&vec![(ply, 10_000.0); count]));
        let lost = rise_over(program, &table, half) - rise_over(program, &board, half);
        Row {
            quantity: format!("camber lost of {camber_in} in by {count} layers, in"),
            stated: Stated::printed(printed),
            place: "examples under the rule",
            computed: lost / MM_PER_INCH,
            allowed: 0.004 * camber_in / (count * count) as f64 + 1e-4,
            why: "the rule takes the rise of an arc as proportional to its curvature",
        }
    };
    Source {
        name: "laminating_rule",
        claim: "Equal laminations lose a known part of their camber",
        work: "rule of bent laminating, y = x/n², as printed with examples in woodworking texts",
        mark: Mark::Seen,
        kind: Kind::Published,
        parameters: "Stack of 1/4 in, arc over 200 in (the examples give no span), pressed, bonded and released as a board; heights of the base.",
        count: 4,
        rows: vec![row(1.0, 4, "1/16"), row(1.0, 8, "1/64"), row(3.0, 4, "3/16"), row(3.0, 8, "3/64")],
    }
}
