//! The table that is computed for a board, pressed on and released, gives that board.

use overbend::curve::{Curvature, PlaneCurve};
use overbend::job::Thickness;
use overbend::laminate::Laminate;
use overbend::table::{Setup, overbend};

use super::Program;
use crate::bench::{Kind, Mark, Row, Source, Stated};
use crate::program::{layers, load};

pub(crate) fn source(_: &Program) -> Source {
    let arc = Curvature::constant(-700.0, 700.0, 1.0 / 3000.0).unwrap();
    let kicks = Curvature::through(&[
        (-600.0, 1.0 / 600.0),
        (-520.0, 1.0 / 600.0),
        (-400.0, 0.0),
        (300.0, -0.0001),
        (420.0, 0.001),
        (600.0, 0.0025),
    ])
    .unwrap();
    let even = layers(&[(0.8, 18_600.0), (4.0, 10_890.0), (4.0, 10_890.0), (0.8, 18_600.0)]);
    let mut tapered = even.clone();
    tapered[1].thickness = Thickness::Tapered(vec![(-500.0, 1.5), (0.0, 5.0), (450.0, 1.8)]);
    let mut rows = Vec::new();
    for (name, target, stack) in
        [("an arc", &arc, &even), ("kicks, even core", &kicks, &even), ("kicks, tapered core", &kicks, &tapered)]
    {
        let setup = Setup { overhang_tail_mm: 200.0, overhang_tip_mm: 200.0, end_margin_mm: 30.0, load: load(0.08) };
        let bent = overbend(target, 0.0, &Laminate::new(stack, 0.0).unwrap(), &setup).unwrap();
        let ends = (bent.wanted.range_mm(), bent.predicted.range_mm());
        let pairs = [
            ("tip", bent.wanted.at(ends.0.1).point.y, bent.predicted.at(ends.1.1).point.y),
            ("tail", bent.wanted.at(ends.0.0).point.y, bent.predicted.at(ends.1.0).point.y),
        ];
        for (end, wanted, predicted) in pairs {
            rows.push(Row {
                quantity: format!("{name}: height of the {end}, mm"),
                stated: Stated::same(wanted),
                place: "as wanted",
                computed: predicted,
                allowed: 0.01,
                why: "a tenth of what a router repeats",
            });
        }
    }
    Source {
        name: "round_trip",
        claim: "Pressed on the table that was computed and released, the board is the wanted one",
        work: "the inverse problem undone by the forward one",
        mark: Mark::Own,
        kind: Kind::Invariant,
        parameters: "Skins on a core of two plies, a bag at 80 kPa, 200 mm of blank beyond the finished ends.",
        count: 6,
        rows,
    }
}
