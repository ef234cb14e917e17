//! Curves of linear curvature and their parallels, by other people's libraries.

use kurbo::Point;
use overbend::curve::{Curvature, Curve, Piece, PlaneCurve};
use serde_json::Value;

use super::{Program, stored};
use crate::bench::{Kind, Mark, Row, Source, Stated};

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap()
}

/// Places looked at along the curve.
const PLACES: u32 = 25_000;

pub(crate) fn source(program: &Program) -> Source {
    let kept = stored("curves");
    let piece = |p: &Value| Piece {
        start_mm: number(&p[0]),
        end_mm: number(&p[1]),
        k_start_per_mm: number(&p[2]),
        k_end_per_mm: number(&p[3]),
    };
    let curve = Curve::new(Curvature::new(kept["pieces"].as_array().unwrap().iter().map(piece).collect()).unwrap());
    let mut rows = Vec::new();
    let mut add = |quantity: String, found: f64, known_to, computed, allowed, why| {
        let (stated, place) = (Stated::found(found, known_to), "curves.json");
        rows.push(Row { quantity, stated, place, computed, allowed, why });
    };
    let rounding = "rounding, and what the file keeps";
    for joint in kept["joints"].as_array().unwrap() {
        let s = number(&joint["s_mm"]);
        let at = curve.at(s);
        add(format!("x at {s} mm, mm"), number(&joint["x_mm"]), 1e-10, at.point.x, 1e-8, rounding);
        add(format!("y at {s} mm, mm"), number(&joint["y_mm"]), 1e-10, at.point.y, 1e-8, rounding);
    }
    let (from, to) = curve.range_mm();
    let places: Vec<f64> = (0..=PLACES).map(|i| from + (to - from) * f64::from(i) / f64::from(PLACES)).collect();
    let base: Vec<Point> = places.iter().map(|s| curve.at(*s).point).collect();
    for parallel in kept["parallels"].as_array().unwrap() {
        let d = number(&parallel["distance_mm"]);
        let beside = (program.below)(&curve, -d, &places);
        let length: f64 = beside.windows(2).map(|w| w[0].distance(w[1])).sum();
        let ring: Vec<Point> = base.iter().copied().chain(beside.iter().rev().copied()).collect();
        let area: f64 =
            (0..ring.len()).map(|i| 0.5 * ring[i].to_vec2().cross(ring[(i + 1) % ring.len()].to_vec2())).sum();
        let highest = beside.iter().map(|p| p.y).fold(f64::NEG_INFINITY, f64::max);
        let most = beside.iter().map(|p| p.x).fold(f64::NEG_INFINITY, f64::max);
        // Its lengths miss the closed form L - d times the angle turned, which ours meet, by up to 0.012 mm.
        let cut = "shapely's engine first drops points of the line, as far as a small part of the distance allows";
        add(format!("parallel at {d} mm: length, mm"), number(&parallel["length_mm"]), 0.015, length, 0.03, cut);
        let between = number(&parallel["area_between_mm2"]);
        add(format!("parallel at {d} mm: area between, mm²"), between, 0.15, area.abs(), 0.3, cut);
        add(
            format!("parallel at {d} mm: highest place, mm"),
            number(&parallel["highest_mm"]),
            0.015,
            highest,
            0.03,
            cut,
        );
        add(format!("parallel at {d} mm: farthest place, mm"), number(&parallel["most_x_mm"]), 0.015, most, 0.03, cut);
    }
    Source {
        name: "curves",
        claim: "Curves and their parallels are where other libraries put them",
        work: "scipy's Fresnel integrals and shapely's offsets, `tests/independent/curves.py`",
        mark: Mark::Own,
        kind: Kind::OtherProgram,
        parameters: "Four pieces of linear curvature over 1250 mm, with kicks of 350 and 290 mm radius and camber between; \
                     parallels 18.5 mm below and 12 mm above.",
        count: 16,
        rows,
    }
}
