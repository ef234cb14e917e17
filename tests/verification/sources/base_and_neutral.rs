//! The base is not the neutral line: curvatures and lengths differ by its height.

use super::{Program, arc};
use crate::bench::{Kind, Mark, Row, Source, Stated};
use crate::program::layers;

pub(crate) fn source(program: &Program) -> Source {
    let mut rows = Vec::new();
    // Thick, so that the height of the neutral axis counts; stiffer below, so that it is not in the middle.
    let plies = [(6.0, 20_000.0), (7.0, 9_000.0), (5.0, 12_000.0)];
    let area: f64 = plies.iter().map(|(t, e)| t * e).sum();
    let zn = (120_000.0 * 3.0 + 63_000.0 * 9.5 + 60_000.0 * 15.5) / area;
    let own: f64 = plies.iter().map(|(t, e)| e * t.powi(3) / 12.0).sum();
    let bonded = own + 120_000.0 * (3.0 - zn).powi(2) + 63_000.0 * (9.5 - zn).powi(2) + 60_000.0 * (15.5 - zn).powi(2);
    for radius in [600.0, -600.0, 5_000.0] {
        let k_table = 1.0 / radius;
        let half = 300.0;
        let released = (program.released)(&arc(half, k_table), &layers(&plies));
        // Rotation per flat length when pressed, what of it stays, and back to the base.
        let turn = k_table / (1.0 - k_table * zn);
        let free = turn * (1.0 - own / bonded);
        let stretch = 1.0 + free * zn;
        rows.push(Row {
            quantity: format!("radius of the released base, pressed on a radius of {radius} mm, mm"),
            stated: Stated::formula("(1 + κ zn)/κ, κ = (1 - S)/(R - zn)", stretch / free),
            place: "rotation per length of the neutral line",
            computed: 1.0 / released.at(0.0),
            allowed: 1e-7 * (stretch / free).abs(),
            why: "contact is solved to 1e-9",
        });
        rows.push(Row {
            quantity: format!("length of that base where 600 mm lay on the table, radius {radius} mm, mm"),
            stated: Stated::formula("600 (1 - k zn)(1 + κ zn)", 2.0 * half * (1.0 - k_table * zn) * stretch),
            place: "the neutral line keeps its length",
            computed: released.length_mm(),
            allowed: 0.004,
            why: "the free ends lift off within 2 mm",
        });
    }
    Source {
        name: "base_and_neutral",
        claim: "Curvatures and lengths are converted between base and neutral line",
        work: "own derivation: sections stay plane, the neutral line keeps its length",
        mark: Mark::Own,
        kind: Kind::ClosedForm,
        parameters: "Layers 6, 7 and 5 mm of 20, 9 and 12 GPa, 1000 MPa of pressure so that the stack lies.",
        count: 6,
        rows,
    }
}
