//! What must come out the same when the question is turned, mirrored, cut finer, or asked in other units.

use overbend::curve::{Curvature, Curve, PlaneCurve, resting_pose};
use overbend::laminate::Laminate;

use super::Program;
use crate::bench::{Kind, Mark, Row, Source, Stated};
use crate::program::layers;

/// Kicks at both ends, unlike each other, over a flat middle with a little camber.
const NODES: [(f64, f64); 6] = [
    (-620.0, 1.0 / 900.0),
    (-480.0, 1.0 / 900.0),
    (-350.0, 0.0),
    (300.0, -5e-5),
    (430.0, 1.0 / 1400.0),
    (620.0, 1.0 / 700.0),
];

const STACK: [(f64, f64); 4] = [(0.8, 18_600.0), (4.0, 10_890.0), (4.5, 10_890.0), (0.6, 40_000.0)];

fn tip(curvature: &Curvature) -> f64 {
    resting_pose(&Curve::new(curvature.clone()), 0.0).at(curvature.end_mm()).point.y
}

fn tail(curvature: &Curvature) -> f64 {
    resting_pose(&Curve::new(curvature.clone()), 0.0).at(curvature.start_mm()).point.y
}

fn scaled(curvature: &Curvature, factor: f64) -> Curvature {
    let nodes: Vec<(f64, f64)> = NODES.iter().map(|(s, k)| (s * factor, k / factor)).collect();
    assert_eq!(curvature.pieces().len(), nodes.len() - 1);
    Curvature::through(&nodes).unwrap()
}

pub(crate) fn source(program: &Program) -> Source {
    let wanted = Curvature::through(&NODES).unwrap();
    let board = (program.released)(&wanted, &layers(&STACK));
    let mirrored = (program.released)(&wanted.reversed(), &layers(&STACK));
    let finer = (program.released)(&wanted.refined(7.0), &layers(&STACK));
    let large = scaled(&wanted, 2.0);
    let doubled: Vec<(f64, f64)> = STACK.iter().map(|(t, e)| (2.0 * t, *e)).collect();
    let large_board = (program.released)(&large, &layers(&doubled));
    let softer: Vec<(f64, f64)> = STACK.iter().map(|(t, e)| (*t, 0.37 * e)).collect();
    let soft_board = (program.released)(&wanted, &layers(&softer));
    let upside_down: Vec<(f64, f64)> = STACK.iter().rev().copied().collect();
    let (section, turned) = (program.plies(&STACK), program.plies(&upside_down));
    let cut_in_two = {
        let mut plies = layers(&[(0.8, 18_600.0), (1.5, 10_890.0), (2.5, 10_890.0), (4.5, 10_890.0), (0.6, 40_000.0)]);
        plies[1].cured_group = Some(1);
        plies[2].cured_group = Some(1);
        Laminate::new(&plies, 0.0).unwrap().section_at(0.0)
    };
    let row = |quantity: &str, place, same: f64, computed: f64, allowed: f64, why| Row {
        quantity: quantity.to_owned(),
        stated: Stated::same(same),
        place,
        computed,
        allowed,
        why,
    };
    let contact = "contact is solved to 1e-9 of its gaps, on another grid";
    Source {
        name: "metamorphic",
        claim: "The same question asked otherwise has the same answer",
        work: "symmetries of plane curves and of linear elasticity",
        mark: Mark::Own,
        kind: Kind::Invariant,
        parameters: "A board with unlike kicks and a little camber; skins of unlike stiffness on two plies of a core.",
        count: 8,
        rows: vec![
            row("mirrored board: tail height, mm", "tip of the board", tip(&board), tail(&mirrored), 1e-3, contact),
            row("mirrored board: tip height, mm", "tail of the board", tail(&board), tip(&mirrored), 1e-3, contact),
            row("curve cut into pieces of 7 mm: tip height, mm", "uncut", tip(&board), tip(&finer), 1e-3, contact),
            row(
                "all lengths doubled: tip height, mm",
                "twice the tip height",
                2.0 * tip(&board),
                tip(&large_board),
                2e-3,
                "ends lift by as much under the same pressure, not by twice as much",
            ),
            row("all moduli times 0.37: tip height, mm", "as before", tip(&board), tip(&soft_board), 1e-3, contact),
            row(
                "stack turned over: part given back",
                "as before",
                section.springback_share(),
                turned.springback_share(),
                1e-13,
                "rounding",
            ),
            row(
                "stack turned over: neutral axis from the deck, mm",
                "from the base before",
                section.neutral_mm,
                turned.thickness_mm - turned.neutral_mm,
                1e-12,
                "rounding",
            ),
            row(
                "a ply in two halves glued beforehand: part given back",
                "one ply",
                section.springback_share(),
                cut_in_two.springback_share(),
                1e-13,
                "rounding",
            ),
        ],
    }
}
