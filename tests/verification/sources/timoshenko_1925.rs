//! How two metals that are bonded at one temperature bow at another.

use super::Program;
use crate::bench::{Kind, Mark, Row, Source, Stated};
use crate::program::layer;

/// Thickness of both strips together, mm.
const H_MM: f64 = 3.0;
/// Expansions, 1/K.
const ALPHA: (f64, f64) = (4e-6, 24e-6);
/// Change of temperature, K.
const WARM_K: f64 = 35.0;

/// Equation 4: curvature of two strips, m = t1/t2, n = E1/E2.
fn equation_4(m: f64, n: f64) -> f64 {
    let bow = 6.0 * (ALPHA.1 - ALPHA.0) * WARM_K * (1.0 + m).powi(2);
    bow / (H_MM * (3.0 * (1.0 + m).powi(2) + (1.0 + m * n) * (m * m + 1.0 / (m * n))))
}

pub(crate) fn source(program: &Program) -> Source {
    let mut rows = Vec::new();
    for (m, n) in [(1.0, 1.0), (1.0, 10.0), (1.0, 0.1), (2.0, 1.0), (5.0, 1.0), (0.5, 0.1), (3.0, 4.0)] {
        for deck_shrinks_more in [true, false] {
            let strip = |t: f64, e: f64, expansion: f64| {
                let mut l = layer(t, e);
                l.material.expansion_per_k = Some(expansion);
                l
            };
            let first = strip(H_MM * m / (1.0 + m), 70_000.0 * n, ALPHA.0);
            let second = strip(H_MM / (1.0 + m), 70_000.0, ALPHA.1);
            // Glued warm and used cool: the strip that expands more becomes the shorter one and draws its side in.
            let (stack, sign, where_it_lies) = if deck_shrinks_more {
                ([first, second], 1.0, "on the deck")
            } else {
                ([second, first], -1.0, "on the base")
            };
            let curvature = (program.section)(&stack, WARM_K).thermal_curvature_per_mm;
            let scale = H_MM / ((ALPHA.1 - ALPHA.0) * WARM_K);
            rows.push(Row {
                quantity: format!("k h/(Δα ΔT), m = {m}, n = {n}, the one that shrinks more {where_it_lies}"),
                stated: Stated::formula("equation 4", sign * scale * equation_4(m, n)),
                place: "equation 4",
                computed: curvature * scale,
                allowed: 1e-12,
                why: "rounding",
            });
        }
    }
    Source {
        name: "timoshenko_1925",
        claim: "A warm cure bows unlike layers, with the ends toward the side that shrinks more",
        work: "Timoshenko, Analysis of Bi-Metal Thermostats, J. Opt. Soc. Am. 11 (1925) 233",
        mark: Mark::FromMemory,
        kind: Kind::ClosedForm,
        parameters: "Two layers of 3 mm together, expansions 4 and 24 e-6/K, glued 35 K above the room. Positive: ends up.",
        count: 14,
        rows,
    }
}
