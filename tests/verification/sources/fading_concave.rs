//! Strain of a board that is bent along and hollow across at once, by finite elements.

use serde_json::Value;

use super::both_ways::strain;
use super::{Program, stored};
use crate::bench::{Kind, Mark, Row, Source, Stated};

pub(crate) fn source(program: &Program) -> Source {
    let number = |v: &Value| v.as_f64().unwrap();
    let mut rows = Vec::new();
    let kept = stored("fading_concave");
    let at = |key: &str| number(&kept[key]);
    let (rise, flat, faded) = (at("rise_mm"), at("flat_to_mm"), at("faded_at_mm"));
    let (k, half_length) = (at("rocker_per_mm"), at("half_length_mm"));
    let cases = [
        ("even", vec![(-faded, rise), (faded, rise)]),
        ("fading", vec![(-faded, 0.0), (-flat, rise), (flat, rise), (faded, 0.0)]),
    ];
    for (name, stations) in cases {
        let computed = 100.0 * strain(program, stations, k, half_length);
        rows.push(Row {
            quantity: format!("{name} hollow: largest strain along by the strip theory, %"),
            stated: Stated::found(100.0 * number(&kept[name]["strip"]), 1e-6),
            place: "fading_concave.json",
            computed,
            allowed: 3e-4,
            why: "arcs across here, parabolas there; steps of 4 mm along",
        });
        for (plate, misses) in [("isotropic", 0.02), ("crossed", 0.15), ("veneer", 0.28)] {
            let found = &kept[name]["plates"][plate];
            let most = 100.0 * number(&found["along"]);
            rows.push(Row {
                quantity: format!("{name} hollow, {plate} plate: largest strain along, %"),
                stated: Stated::found(most, 100.0 * number(&found["known_to"])),
                place: "fading_concave.json",
                computed,
                allowed: misses * most,
                why: "what the strip theory leaves out: ends, shear along the board, the modulus across",
            });
        }
    }
    Source {
        name: "fading_concave",
        claim: "What the strip theory of bending both ways leaves out is known",
        work: "finite elements, `tests/independent/fading_concave.py`",
        mark: Mark::Own,
        kind: Kind::OtherProgram,
        parameters: "Membrane of a plate that follows the surface freely, 240 by 960 mm, rocker of 2500 mm radius, edges 4 mm \
                     higher than the middle all along or fading between 150 and 330 mm from it; strains away from the ends by \
                     a width.",
        count: 8,
        rows,
    }
}
