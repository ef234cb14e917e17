//! The rib tops lie below the surface along its normal, on the outer side of a hollow.

use overbend::curve::{Curvature, Curve};

use super::{Program, arc};
use crate::bench::{Kind, Mark, Row, Source, Stated};

pub(crate) fn source(program: &Program) -> Source {
    let mut rows = Vec::new();
    for (radius, below) in [(400.0, 6.5), (-400.0, 6.5), (1500.0, 18.0)] {
        let curve = Curve::new(arc(300.0, 1.0 / radius));
        let center = kurbo::Point::new(0.0, radius);
        let tops = (program.below)(&curve, below, &[-300.0, 0.0, 210.0]);
        let worst = tops.iter().map(|p| p.distance(center)).max_by(|a, b| {
            let off = |d: &f64| (d - (radius.abs() + below.copysign(radius))).abs();
            off(a).total_cmp(&off(b))
        });
        rows.push(Row {
            quantity: format!("radius of the rib tops {below} mm below a radius of {radius} mm, mm"),
            stated: Stated::formula("|R + d|", (radius + below).abs()),
            place: "circles about one centre; R > 0 is a hollow",
            computed: worst.unwrap(),
            allowed: 1e-9,
            why: "rounding; the worst of three places",
        });
        let lowest = tops[1];
        rows.push(Row {
            quantity: format!("height of the rib top in the middle, radius {radius} mm, mm"),
            stated: Stated::formula("-d", -below),
            place: "the same",
            computed: lowest.y,
            allowed: 1e-9,
            why: "rounding",
        });
    }
    // A clothoid, whose curvature is another everywhere.
    let curve = Curve::new(Curvature::through(&[(0.0, 1.0 / 900.0), (700.0, 1.0 / 300.0)]).unwrap());
    let (length, turned, below) = (700.0, curve.curvature().total_angle(), 18.0);
    let places: Vec<f64> = (0..=20_000).map(|i| length * f64::from(i) / 20_000.0).collect();
    let tops = (program.below)(&curve, below, &places);
    let walked: f64 = tops.windows(2).map(|w| w[0].distance(w[1])).sum();
    rows.push(Row {
        quantity: "length of the rib tops below a clothoid of 700 mm, mm".to_owned(),
        stated: Stated::formula("L + d θ", length + below * turned),
        place: "Steiner's formula for parallel curves",
        computed: walked,
        allowed: 1e-6,
        why: "summed over 20 000 chords",
    });
    Source {
        name: "parallel_circle",
        claim: "Rib tops are the true parallel below the table's surface",
        work: "the parallel of a circle is a circle about the same centre; Steiner, length of a parallel",
        mark: Mark::Own,
        kind: Kind::ClosedForm,
        parameters: "Last row: curvature from 1/900 to 1/300 mm, 18 mm below. Others: places at -300, 0 and 210 mm along the surface.",
        count: 7,
        rows,
    }
}
