//! Arcs by chord and rise, by arc length and radius.

use overbend::curve::PlaneCurve;
use overbend::job::{Bend, Board, LengthAlong, Rocker};
use overbend::rocker;

use super::Program;
use crate::bench::{Kind, Mark, Row, Source, Stated};

pub(crate) fn source(program: &Program) -> Source {
    let board = |length_mm, length_along| Board {
        length_mm,
        length_along,
        width_mm: 300.0,
        count: 1,
        gap_mm: Board::USUAL_GAP_MM,
        overhang_tip_mm: 50.0,
        overhang_tail_mm: 50.0,
        outline: None,
        holes: Vec::new(),
    };
    let mut rows = Vec::new();
    for (chord, rise) in [(1000.0, 10.0), (1400.0, 50.0), (600.0, 6.0)] {
        let wanted = Rocker::Arc(Bend::Height(rise));
        let target = rocker::target(&wanted, &board(chord, LengthAlong::Straight)).unwrap();
        let radius = chord * chord / (8.0 * rise) + rise / 2.0;
        rows.push(Row {
            quantity: format!("radius over a chord of {chord} mm and a rise of {rise} mm, mm"),
            stated: Stated::formula("c²/(8 h) + h/2", radius),
            place: "intersecting chords",
            computed: 1.0 / target.curvature.at(0.0),
            allowed: 1e-8 * radius,
            why: "rounding, and the root that is searched for",
        });
    }
    let (radius, length) = (1500.0, 1340.0);
    let target = rocker::target(&Rocker::Arc(Bend::Radius(radius)), &board(length, LengthAlong::Base)).unwrap();
    let curve = (program.standing)(&target.curvature);
    let half_angle = length / (2.0 * radius);
    let (tip, tail) = (curve.at(0.5 * length).point, curve.at(-0.5 * length).point);
    rows.push(Row {
        quantity: "height of the tip, 1340 mm along a radius of 1500 mm, mm".to_owned(),
        stated: Stated::formula("R (1 - cos(L/2R))", radius * (1.0 - half_angle.cos())),
        place: "trigonometry",
        computed: tip.y,
        allowed: 1e-8,
        why: "rounding",
    });
    rows.push(Row {
        quantity: "chord of the same, mm".to_owned(),
        stated: Stated::formula("2 R sin(L/2R)", 2.0 * radius * half_angle.sin()),
        place: "trigonometry",
        computed: tip.distance(tail),
        allowed: 1e-8,
        why: "rounding",
    });
    Source {
        name: "circle",
        claim: "An arc is an arc, however it is asked for",
        work: "plane trigonometry; Euclid, Elements, III.35",
        mark: Mark::Own,
        kind: Kind::ClosedForm,
        parameters: "Length measured straight from tip to tail in the first three rows, along the base in the others.",
        count: 5,
        rows,
    }
}
