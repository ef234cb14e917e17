//! Sections of random stacks, meshed by another program.

use serde_json::Value;

use super::{Program, stored};
use crate::bench::{Kind, Mark, Row, Source, Stated};

pub(crate) fn source(program: &Program) -> Source {
    let number = |v: &Value| v.as_f64().unwrap();
    let mut rows = Vec::new();
    for (i, stack) in stored("sections")["stacks"].as_array().unwrap().iter().enumerate() {
        let plies: Vec<(f64, f64)> =
            stack["layers"].as_array().unwrap().iter().map(|l| (number(&l[0]), number(&l[1]))).collect();
        let found = program.plies(&plies);
        for (quantity, key, computed) in [
            ("bonded stiffness, N mm²/mm", "bonded_n_mm", found.bonded_stiffness_n_mm),
            ("wet stiffness, N mm²/mm", "wet_n_mm", found.wet_stiffness_n_mm),
            ("neutral axis over the base, mm", "neutral_mm", found.neutral_mm),
        ] {
            let value = number(&stack[key]);
            rows.push(Row {
                quantity: format!("stack {} of {} layers: {quantity}", i + 1, plies.len()),
                stated: Stated::found(value, 1e-10 * value),
                place: "sections.json",
                computed,
                allowed: 1e-9 * value,
                why: "rounding in a mesh of triangles",
            });
        }
    }
    Source {
        name: "sections",
        claim: "A stack's stiffnesses and its neutral axis are those of its meshed section",
        work: "sectionproperties, `tests/independent/sections.py`",
        mark: Mark::Own,
        kind: Kind::OtherProgram,
        parameters: "Eight stacks of two to seven layers drawn at random, 0.4 to 6 mm and 0.8 to 140 GPa.",
        count: 24,
        rows,
    }
}
