//! Two layered beams worked out in a textbook.

use super::Program;
use crate::bench::{Kind, Mark, Row, Source, Stated};

pub(crate) fn source(program: &Program) -> Source {
    // In kips and inches: 4 in wide, wood 6 in deep on steel 0.5 in deep, under 60 kip in.
    let wood_on_steel = program.plies(&[(0.5, 30_000.0), (6.0, 1_500.0)]);
    let psi = |modulus_ksi: f64, height_in: f64| {
        let k_per_in = 60.0 / (4.0 * wood_on_steel.bonded_stiffness_n_mm);
        1000.0 * modulus_ksi * k_per_in * (wood_on_steel.neutral_mm - height_in)
    };
    // 200 mm wide, aluminium faces of 5 mm on 150 mm of plastic, under 3 kN m.
    let faced = program.plies(&[(5.0, 72_000.0), (150.0, 800.0), (5.0, 72_000.0)]);
    let mpa = |modulus_mpa: f64, height_mm: f64| {
        modulus_mpa * 3.0e6 / (200.0 * faced.bonded_stiffness_n_mm) * (height_mm - faced.neutral_mm)
    };
    let slide_rule = "the book rounds its second moments to four digits before it divides";
    // Three digits are printed of large stresses, four of the stiffness.
    let stated = |printed: &str| match printed.trim_end_matches('0').len() {
        _ if printed.contains('.') => Stated::printed(printed),
        short => Stated::rounded(printed, 10_f64.powi(i32::try_from(printed.len() - short).unwrap())),
    };
    let row = |quantity: &str, printed: &str, place, computed, allowed, why| Row {
        quantity: quantity.to_owned(),
        stated: stated(printed),
        place,
        computed,
        allowed,
        why,
    };
    Source {
        name: "gere_2004",
        claim: "Layered beams of unlike materials bend as a textbook works out",
        work: "Gere, Mechanics of Materials, 6th edition 2004, section 6.3",
        mark: Mark::FromMemory,
        kind: Kind::Published,
        parameters: "Example 6-1: wood 4 x 6 in, 1500 ksi, over steel 4 x 0.5 in, 30 000 ksi, 60 kip in. Example 6-2: \
                     faces 5 mm of 72 GPa on 150 mm of 800 MPa, 200 mm wide, 3 kN m.",
        count: 8,
        rows: vec![
            row(
                "neutral axis below the top, in",
                "5.031",
                "example 6-1",
                6.5 - wood_on_steel.neutral_mm,
                0.000_6,
                "last digit printed",
            ),
            row("stress at the top of the wood, psi", "-1310", "example 6-1", psi(1_500.0, 6.5), 6.0, slide_rule),
            row("stress at the bottom of the wood, psi", "251", "example 6-1", psi(1_500.0, 0.5), 0.6, slide_rule),
            row("stress at the bottom of the steel, psi", "7620", "example 6-1", psi(30_000.0, 0.0), 6.0, slide_rule),
            row("stress at the top of the steel, psi", "5030", "example 6-1", psi(30_000.0, 0.5), 6.0, slide_rule),
            row(
                "bending stiffness, N m²",
                "910200",
                "example 6-2",
                200.0 * faced.bonded_stiffness_n_mm * 1e-6,
                60.0,
                "printed to four digits",
            ),
            row("stress in the faces, MPa", "19.0", "example 6-2", mpa(72_000.0, 160.0), 0.06, slide_rule),
            row("stress in the core, MPa", "0.198", "example 6-2", mpa(800.0, 155.0), 0.000_6, slide_rule),
        ],
    }
}
