//! Fresnel integrals: the curve whose curvature runs linearly.

use overbend::curve::{Curvature, Curve, PlaneCurve};

use super::Program;
use crate::bench::{Kind, Mark, Row, Source, Stated};

pub(crate) fn source(_: &Program) -> Source {
    let printed = [("0.4923442", "0.0647324", 0.5), ("0.7798934", "0.4382591", 1.0), ("0.4882534", "0.3434157", 2.0)];
    let mut rows = Vec::new();
    for (c, s, u) in printed {
        // Direction pi u²/2, so curvature pi u: in mm, over a length of 500 u.
        let unit = 500.0;
        let nodes = [(0.0, 0.0), (unit * u, std::f64::consts::PI * u / unit)];
        let end = Curve::new(Curvature::through(&nodes).unwrap()).at(unit * u).point;
        for (name, stated, computed) in [("C", c, end.x / unit), ("S", s, end.y / unit)] {
            rows.push(Row {
                quantity: format!("{name}({u})"),
                stated: Stated::printed(stated),
                place: "Table 7.7",
                computed,
                allowed: 6e-8,
                why: "last digit printed",
            });
        }
    }
    Source {
        name: "abramowitz_stegun_1964",
        claim: "Curvature that runs linearly makes the clothoid",
        work: "Abramowitz and Stegun, Handbook of Mathematical Functions, 1964",
        mark: Mark::FromMemory,
        kind: Kind::Published,
        parameters: "One piece of curvature from 0 to pi u, argument pi t²/2. At u = 2 it turns by 360 degrees.",
        count: 6,
        rows,
    }
}
