//! Strain of a board that is bent along and hollow across at once.

use overbend::curve::Curvature;
use overbend::jig::Across;
use overbend::job::{Concave, Lies};

use super::Program;
use crate::bench::{Kind, Mark, Row, Source, Stated};
use crate::program::layers;

/// Half of the width of all cases, mm.
const HALF_MM: f64 = 120.0;

/// Largest strain along of a board whose edges rise by so much at stations on a rocker of this curvature.
pub(super) fn strain(program: &Program, stations: Vec<(f64, f64)>, k_per_mm: f64, half_length_mm: f64) -> f64 {
    // One layer that keeps all of its bend is not over-bent.
    let mut ply = layers(&[(0.01, 10_000.0)]);
    ply[0].relaxed.value = 1.0;
    let section = (program.section)(&ply, 0.0);
    let across = Across::new(&Concave::Along(stations), 2.0 * HALF_MM, &section, Lies::BaseDown);
    let surface = Curvature::constant(-half_length_mm, half_length_mm, k_per_mm).unwrap();
    across.local_strain(2.0 * HALF_MM, &surface).unwrap().0
}

pub(crate) fn source(program: &Program) -> Source {
    let mut rows = Vec::new();
    for (radius, rise) in [(2500.0, 4.0), (900.0, 2.0)] {
        let across = 2.0 * rise / (HALF_MM * HALF_MM + rise * rise);
        let width = 2.0 * HALF_MM;
        rows.push(Row {
            quantity: format!("edge strain, {rise} mm of rise all along a radius of {radius} mm, %"),
            stated: Stated::formula("k1 k2 b²/12", 100.0 * across / radius * width * width / 12.0),
            place: "a long strip of even Gaussian curvature",
            computed: 100.0 * strain(program, vec![(-300.0, rise), (300.0, rise)], 1.0 / radius, 400.0),
            allowed: 2e-4,
            why: "the formula is that of small slopes across; these reach 1 in 15",
        });
    }
    // A cone: the rise at a place along it falls as one over its distance from the apex, and a sheet lies on it unstretched.
    let cone = |s: f64| HALF_MM * HALF_MM / (8.0 * (s + 900.0));
    let stations: Vec<(f64, f64)> = (0..=80).map(|i| -400.0 + 10.0 * f64::from(i)).map(|s| (s, cone(s))).collect();
    rows.push(Row {
        quantity: "strain of a piece of a cone, 240 mm wide, 500 to 1300 mm from its apex, %".to_owned(),
        stated: Stated::formula("0: it is developable", 0.0),
        place: "Gaussian curvature of a cone",
        computed: 100.0 * strain(program, stations, 0.0, 380.0),
        allowed: 5e-4,
        why: "the cubic through the stations; without the twist it would be thirty times as much",
    });
    Source {
        name: "both_ways",
        claim: "A board that is bent along and hollow across is strained as its Gaussian curvature says",
        work: "strip of even Gaussian curvature, and a cone: own derivation",
        mark: Mark::Own,
        kind: Kind::ClosedForm,
        parameters: "240 mm wide; edges 2 and 4 mm higher than the middle.",
        count: 3,
        rows,
    }
}
