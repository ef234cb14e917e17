//! The modulus of stock from how far a strip of it sags.

use overbend::job::SagTest;
use overbend::laminate::sag_modulus;

use super::Program;
use crate::bench::{Kind, Mark, Row, Source, Stated};

/// Sag of a beam of modulus `e` by quadrature of its moments (unit load): bending and, where `g` is given, shear.
fn sag_mm(test: &SagTest, e: f64, g: Option<f64>) -> f64 {
    let (area, second) = (test.width_mm * test.thickness_mm, test.width_mm * test.thickness_mm.powi(3) / 12.0);
    let weight = test.strip_weight_n / test.span_mm;
    let count = 2_000;
    let step = 0.5 * test.span_mm / f64::from(count);
    // Midpoint rule over one half; moments and their unit-load partners are smooth there.
    let half: f64 = (0..count)
        .map(|i| {
            let x = (f64::from(i) + 0.5) * step;
            let moment = 0.5 * test.load_n * x + 0.5 * weight * x * (test.span_mm - x);
            let shear = 0.5 * test.load_n + weight * (0.5 * test.span_mm - x);
            let by_shear = g.map_or(0.0, |g| 1.2 * shear * 0.5 / (g * area));
            (moment * 0.5 * x / (e * second) + by_shear) * step
        })
        .sum();
    2.0 * half
}

pub(crate) fn source(_: &Program) -> Source {
    let row = |words: &str, strip_weight_n: f64, shear_ratio: Option<f64>, span_mm: f64| {
        let (e, width_mm, thickness_mm) = (11_300.0, 38.0, 8.2);
        let mut test = SagTest {
            span_mm,
            load_n: 7.5,
            sag_mm: 1.0,
            width_mm,
            thickness_mm,
            strip_weight_n,
            shear_ratio,
            sag_error_mm: 0.1,
            thickness_error_mm: 0.05,
        };
        test.sag_mm = sag_mm(&test, e, shear_ratio.map(|r| e / r));
        Row {
            quantity: format!("modulus of a strip that sags {words}, MPa"),
            stated: Stated::formula("modulus that made the sag", e),
            place: "principle of virtual work",
            computed: sag_modulus(&test, "sag_test").unwrap().modulus_mpa.value,
            allowed: 0.01,
            why: "the other side is integrated in 2000 steps",
        }
    };
    Source {
        name: "sag_test",
        claim: "A sag test finds the modulus that made the sag",
        work: "own derivation: sag of a beam on two supports by virtual work, shear factor 6/5 of a rectangle",
        mark: Mark::Own,
        kind: Kind::ClosedForm,
        parameters: "Strip of 38 x 8.2 mm and 11.3 GPa, 7.5 N in the middle.",
        count: 4,
        rows: vec![
            row("under a weight, over 600 mm", 0.0, None, 600.0),
            row("under a weight and itself, over 600 mm", 1.3, None, 600.0),
            row("under a weight with its shear, over 120 mm", 0.0, Some(16.0), 120.0),
            row("under a weight and itself with shear, over 200 mm", 0.9, Some(14.0), 200.0),
        ],
    }
}
