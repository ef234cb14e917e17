//! How far a table's skin sags between its supports under a bag.

use overbend::job::{Below, Hold, Material, MaterialKind};
use overbend::laminate::Laminate;
use overbend::table::Span;

use super::Program;
use crate::bench::{Kind, Mark, Row, Source, Stated};
use crate::program::{layer, load};

/// Sag at which the program draws the line, mm.
const SHOWS_MM: f64 = 0.1;
const PRESSURE_MPA: f64 = 0.085;
/// Second moment of area of a unit width of the skin over its thickness cubed.
const STRIP: f64 = 1.0 / 12.0;

/// Sag in the middle of a beam built in at both ends over pressure times span⁴ over stiffness: its moment
/// p s² (1/24 - x²/2) from the middle, integrated twice from the end by Simpson's rule with 2000 steps.
fn built_in() -> f64 {
    let steps = 2000;
    let h = 0.5 / f64::from(steps);
    // The moment's lever about the middle: sag = ∫ (1/24 - x²/2) (1/2 - x) dx from the middle to the end.
    let under = |x: f64| (1.0 / 24.0 - 0.5 * x * x) * (0.5 - x);
    let weight = |i: i32| if i == 0 || i == steps { 1.0 } else { f64::from(2 + 2 * (i % 2)) };
    (0..=steps).map(|i| weight(i) * under(f64::from(i) * h)).sum::<f64>() * h / 3.0
}

pub(crate) fn source(program: &Program) -> Source {
    let skin = |along: f64, across: f64| {
        let mut m = Material::of_modulus("skin", MaterialKind::WoodAlong, along);
        m.cross_modulus_mpa = Some(across);
        m
    };
    let stack = |across: f64| {
        let mut ply = layer(3.0, 10_000.0);
        ply.material.cross_modulus_mpa = Some(across);
        Laminate::new(&[ply.clone(), ply], 0.0).unwrap()
    };
    let hold = Hold::Vacuum { reading_mpa: Some(PRESSURE_MPA), altitude_m: 0.0, below: Below::Vacuum };
    let mut rows = Vec::new();
    for (span, words, sheet_mpa, ply_mpa) in [
        (Span::Across, "ribs, skin and wood across the grain", 4_000.0, 500.0),
        (Span::Along, "bearers, skin and wood along the grain", 9_000.0, 10_000.0),
    ] {
        for skin_mm in [3.0_f64, 6.5] {
            let stiffness = STRIP * (sheet_mpa * skin_mm.powi(3) + 2.0 * ply_mpa * 27.0);
            let clear = (SHOWS_MM * stiffness / (built_in() * PRESSURE_MPA)).powf(0.25);
            rows.push(Row {
                quantity: format!("clear distance of {words}, {skin_mm} mm of skin, mm"),
                stated: Stated::formula("sag of 0.1 mm", clear),
                place: "p s⁴/(384 E I), integrated here",
                computed: (program.widest_clear_mm)(
                    &hold,
                    &load(PRESSURE_MPA),
                    &stack(500.0),
                    skin_mm,
                    &skin(9_000.0, 4_000.0),
                    span,
                ),
                allowed: 1e-6,
                why: "rounding",
            });
        }
    }
    Source {
        name: "skin_sag",
        claim: "Supports are as near as the sag of the skin between them asks",
        work: "own integration: sag of a strip built in at both ends under even pressure",
        mark: Mark::Own,
        kind: Kind::ClosedForm,
        parameters: "85 kPa over a box under vacuum; two wet plies of 3 mm bend with the skin, each by itself.",
        count: 4,
        rows,
    }
}
