//! Stacks pressed on tables with kicks, jumps and tapers, against contact as a complementarity problem in scipy.

use overbend::curve::{Curvature, Piece};
use overbend::job::{Layer, Material, MaterialKind, Thickness};
use overbend::laminate::Laminate;
use overbend::press::{Blank, Load, Pressed};
use serde_json::Value;

use super::{Program, stored};
use crate::bench::{Kind, Mark, Row, Source, Stated};

/// Estimate of its own error at which the program stops refining, mm: half of the 0.002 mm that it promises.
const ESTIMATED_MM: f64 = 1e-3;

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap()
}

fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(number).collect()
}

fn table(case: &Value) -> Curvature {
    let piece = |p: &Value| {
        let p = numbers(p);
        Piece { start_mm: p[0], end_mm: p[1], k_start_per_mm: p[2], k_end_per_mm: p[3] }
    };
    Curvature::new(case["pieces"].as_array().unwrap().iter().map(piece).collect()).unwrap()
}

fn stack(case: &Value) -> Laminate {
    let layer = |l: &Value| {
        let places: Vec<(f64, f64)> = l[1].as_array().unwrap().iter().map(|p| (number(&p[0]), number(&p[1]))).collect();
        let material = Material::of_modulus("given", MaterialKind::WoodAlong, number(&l[0]));
        let mut layer = Layer::flat("layer", material, places[0].1);
        if places.len() > 1 {
            layer.thickness = Thickness::Tapered(places);
        }
        layer
    };
    let layers: Vec<Layer> = case["layers"].as_array().unwrap().iter().map(layer).collect();
    Laminate::new(&layers, 0.0).unwrap()
}

/// Largest gap between two places of the table, mm.
fn largest_gap(pressed: &Pressed, from_mm: f64, to_mm: f64) -> f64 {
    let gaps = pressed.stations.iter().zip(&pressed.contact.gap_mm);
    gaps.filter(|(s, _)| (from_mm..=to_mm).contains(&s.table_mm)).map(|(_, gap)| *gap).fold(0.0, f64::max)
}

/// Curvature of the pressed base at a place of the table, 1/mm.
fn bent(pressed: &Pressed, table_mm: f64) -> f64 {
    let i = pressed.stations.partition_point(|s| s.table_mm <= table_mm) - 1;
    let (a, b) = (pressed.stations[i].table_mm, pressed.stations[i + 1].table_mm);
    let [from, to] = pressed.base_per_mm[i];
    from + (to - from) * (table_mm - a) / (b - a)
}

pub(crate) fn source(program: &Program) -> Source {
    let mut rows = Vec::new();
    for case in stored("pressed_strip")["cases"].as_array().unwrap() {
        let name = case["name"].as_str().unwrap();
        let ends = numbers(&case["ends_mm"]);
        let blank = Blank { tail_mm: ends[0], tip_mm: ends[1] };
        let load = Load::even(number(&case["pressure_mpa"]));
        let pressed = (program.pressed)(&table(case), &stack(case), blank, &load);
        for part in case["lifted"].as_array().unwrap() {
            let (from, to) = (number(&part["from_mm"]), number(&part["to_mm"]));
            let gap = number(&part["largest_gap_mm"]);
            if gap < ESTIMATED_MM {
                continue;
            }
            rows.push(Row {
                quantity: format!("{name}: largest gap from {from:.0} to {to:.0} mm, mm"),
                stated: Stated::found(gap, 1e-7),
                place: "pressed_strip.json",
                computed: largest_gap(&pressed, from - 1.0, to + 1.0),
                allowed: ESTIMATED_MM,
                why: "elements are refined until the program's own estimate is below",
            });
        }
        let tightest = case["pieces"].as_array().unwrap().iter().flat_map(|p| numbers(p)[2..].to_vec());
        let tightest = tightest.fold(0.0, |a: f64, k| a.max(k.abs()));
        for at in case["bent"].as_array().unwrap() {
            let (place, k) = (number(&at["table_mm"]), number(&at["base_per_mm"]));
            rows.push(Row {
                quantity: format!("{name}: curvature of the pressed base at {place} mm, 1/m"),
                stated: Stated::found(1e3 * k, 1e-7),
                place: "pressed_strip.json",
                computed: 1e3 * bent(&pressed, place),
                allowed: 1e3 * 1e-3 * tightest,
                why: "a thousandth of the tightest curvature: linear in elements of a few millimetres",
            });
        }
    }
    Source {
        name: "pressed_strip",
        claim: "Where a wet stack lies on a table with kicks, where it lifts off, and how it is bent there",
        work: "scipy: contact as a complementarity problem, then solve_bvp with the places of lift-off unknown, \
               `tests/independent/pressed_strip.py`",
        mark: Mark::Own,
        kind: Kind::OtherProgram,
        parameters: "80 kPa. Two tables with kicks, one of jumps under even layers and one eased under a tapered core, and \
                     a hump. Every stretch that lifts by more than 0.001 mm, and the curvature there every 40 mm.",
        count: 22,
        rows,
    }
}
