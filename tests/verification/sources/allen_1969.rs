//! Stiffness of a sandwich of equal faces.

use super::Program;
use crate::bench::{Kind, Mark, Row, Source, Stated};

pub(crate) fn source(program: &Program) -> Source {
    let row = |face_mm: f64, face_mpa: f64, core_mm: f64, core_mpa: f64| {
        let apart = core_mm + face_mm;
        let sandwich = face_mpa * face_mm * apart * apart / 2.0
            + face_mpa * face_mm.powi(3) / 6.0
            + core_mpa * core_mm.powi(3) / 12.0;
        let section = program.plies(&[(face_mm, face_mpa), (core_mm, core_mpa), (face_mm, face_mpa)]);
        Row {
            quantity: format!("bonded stiffness of {face_mm} mm faces on {core_mm} mm, N mm²/mm"),
            stated: Stated::formula("Ef t d²/2 + Ef t³/6 + Ec c³/12", sandwich),
            place: "chapter 2, flexural rigidity",
            computed: section.bonded_stiffness_n_mm,
            allowed: 1e-12 * sandwich,
            why: "rounding",
        }
    };
    Source {
        name: "allen_1969",
        claim: "A sandwich is as stiff as its three terms",
        work: "Allen, Analysis and Design of Structural Sandwich Panels, 1969",
        mark: Mark::FromMemory,
        kind: Kind::ClosedForm,
        parameters: "Per mm of width. None of the three terms is small in the last stack.",
        count: 3,
        rows: vec![
            row(0.8, 18_600.0, 9.0, 11_980.0),
            row(0.6, 135_000.0, 8.0, 4_380.0),
            row(4.0, 3_000.0, 5.0, 16_000.0),
        ],
    }
}
