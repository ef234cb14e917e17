//! Press, bond and release in two dimensions by finite elements.

use overbend::curve::{Curvature, Curve, PlaneCurve};
use overbend::laminate::Laminate;
use overbend::press::{Blank, Load, press, release};
use serde_json::Value;

use super::{Program, stored};
use crate::bench::{Kind, Mark, Row, Source, Stated};
use crate::program::layers;

/// Pieces of the eased end: its curvature runs as a parabola, ours in straight pieces.
const EASED_PIECES: usize = 60;

/// The form of the script from end to end.
fn form(half: f64, eased: f64, k: f64) -> Curvature {
    let mut right = vec![(0.0, k)];
    for i in 0..=EASED_PIECES {
        let u = 1.0 - i as f64 / EASED_PIECES as f64;
        right.push((half - eased * u, k * u * (2.0 - u)));
    }
    let left = right.iter().skip(1).rev().map(|(s, k)| (-s, *k));
    let ends = ((-half - 10.0, 0.0), (half + 10.0, 0.0));
    let nodes: Vec<(f64, f64)> =
        std::iter::once(ends.0).chain(left).chain(right.iter().copied()).chain(std::iter::once(ends.1)).collect();
    Curvature::through(&nodes).unwrap()
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap()
}

pub(crate) fn source(_: &Program) -> Source {
    let mut rows = Vec::new();
    for case in stored("press_bond_release")["cases"].as_array().unwrap() {
        let name = case["name"].as_str().unwrap();
        let half = number(&case["half_length_mm"]);
        let table = form(half, number(&case["eased_mm"]), number(&case["form_curvature_per_mm"]));
        let of = |layer: &Value| (number(&layer["thickness_mm"]), number(&layer["along_mpa"]));
        let plies: Vec<(f64, f64)> = case["layers"].as_array().unwrap().iter().map(of).collect();
        let laminate = Laminate::new(&layers(&plies), 0.0).unwrap();
        let turned = table.between(0.0, half).unwrap().total_angle();
        let end = half - laminate.section_at(0.0).neutral_mm * turned;
        let pressed = press(&table, &laminate, Blank { tail_mm: -end, tip_mm: end }, &Load::even(0.08)).unwrap();
        let board = release(&pressed).unwrap();
        let base = Curve::new(board.base.clone());
        // Places of the form on the released base.
        let on_base = |table_mm: f64| {
            let i = pressed.stations.partition_point(|s| s.table_mm < table_mm).clamp(1, pressed.stations.len() - 1);
            let (a, b) = (pressed.stations[i - 1].table_mm, pressed.stations[i].table_mm);
            board.base_mm[i - 1] + (board.base_mm[i] - board.base_mm[i - 1]) * (table_mm - a) / (b - a)
        };
        let angle = |part: f64| base.at(on_base(part * half)).angle_rad;
        let middle = base.at(0.0);
        let from_middle = base.at(on_base(half)).point - middle.point;
        let up = -from_middle.x * middle.angle_rad.sin() + from_middle.y * middle.angle_rad.cos();
        let mut add = |quantity: String, found: &Value, computed: f64| {
            let value = number(&found["value"]);
            rows.push(Row {
                quantity,
                stated: Stated::found(value, number(&found["changed_by_last_halving"]).abs()),
                place: "press_bond_release.json",
                computed,
                allowed: 1e-3 * value,
                why: "0.1 %: sheared ends, Poisson's ratio and stretch of the second order are not in a strip",
            });
        };
        add(
            format!("{name}: angle turned from 5 to 60 % of the half length, rad"),
            &case["turned"],
            angle(0.6) - angle(0.05),
        );
        add(format!("{name}: height of the tip, mm"), &case["tip"], up);
    }
    Source {
        name: "press_bond_release",
        claim: "Layers pressed, bonded and released in two dimensions come off as the strip theory says",
        work: "finite elements on scikit-fem, `tests/independent/press_bond_release.py`",
        mark: Mark::Own,
        kind: Kind::OtherProgram,
        parameters: "Nine-node plane-stress elements with large rotations; layers pressed on the form without friction, \
                     tied as they lie, released. Half length 700 mm, radius 1200 mm, ends eased over 60 mm. Four layers of \
                     2.5 mm and 10.89 GPa; skins of 0.8 mm and 18.6 GPa on two wood plies of 4 mm that shear and squeeze \
                     as wood does. Known to what the last halving of the mesh changed.",
        count: 4,
        rows,
    }
}
