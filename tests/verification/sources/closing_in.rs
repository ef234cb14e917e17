//! Rings of layers that shrink through their thickness, by finite elements.

use super::{Program, stored};
use crate::bench::{Kind, Mark, Row, Source, Stated};
use crate::program::layer;

/// Shrinkage of the layers, the script's; both signs are taken, so that squares of it fall out.
const STRAIN: f64 = 1e-3;

pub(crate) fn source(program: &Program) -> Source {
    let kept = stored("closing_in");
    let row = |case: &serde_json::Value| {
        let number = |value: &serde_json::Value| value.as_f64().unwrap();
        let stays = |sign: f64| {
            let of = |l: &serde_json::Value| {
                let mut layer = layer(number(&l["thickness_mm"]), number(&l["along_mpa"]));
                layer.shrinks_through = Some(sign * STRAIN * number(&l["shrinks"]));
                layer
            };
            let layers: Vec<_> = case["layers"].as_array().unwrap().iter().map(of).collect();
            (program.section)(&layers, 0.0).free_curvature(1.0)
        };
        let found = &case["closes_in_per_strain"];
        Row {
            quantity: format!("{}: closing in per strain, of the pressed curvature", case["name"].as_str().unwrap()),
            stated: Stated::found(number(&found["value"]), number(&found["changed_by_last_halving"]).abs()),
            place: "closing_in.json",
            computed: (stays(1.0) - stays(-1.0)) / (2.0 * STRAIN),
            allowed: 2e-3 * number(&found["value"]),
            why: "0.2 %: the ring is a hundredth as thick as its radius, a strip has no radius",
        }
    };
    Source {
        name: "closing_in",
        claim: "A stack that shrinks through its thickness closes in, with the stress that its layers keep",
        work: "finite elements, `tests/independent/closing_in.py`",
        mark: Mark::Own,
        kind: Kind::OtherProgram,
        parameters: "Ring of radius 1000 mm with finite stretches, layers bent about their own middles and let go, then shrunk by \
                     0.001. Four plies of 2.5 mm; skins of 0.8 mm that keep their thickness on 8 mm of wood in two plies \
                     and in one; four plies of which the upper two shrink. Without the lever of the stress that stays in the \
                     layers, the third would be 0.524.",
        count: 4,
        rows: kept["cases"].as_array().unwrap().iter().map(row).collect(),
    }
}
