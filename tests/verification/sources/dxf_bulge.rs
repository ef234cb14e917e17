//! What a bulge in a DXF file means, read from the file that is written.

use kurbo::Point;
use overbend::drawing::{Arc, Contour, Vertex};

use super::Program;
use crate::bench::{Kind, Mark, Row, Source, Stated};

/// Corners and bulges of the first polyline of a file, by the group codes 10, 20 and 42 of the format.
fn polyline(dxf: &str) -> Vec<(Point, f64)> {
    let lines: Vec<&str> = dxf.lines().map(str::trim).collect();
    let pairs: Vec<(&str, &str)> = lines.chunks_exact(2).map(|c| (c[0], c[1])).collect();
    let start = pairs.iter().position(|p| *p == ("0", "LWPOLYLINE")).unwrap();
    let mut corners: Vec<(Point, f64)> = Vec::new();
    for (code, value) in pairs[start + 1..].iter().take_while(|p| p.0 != "0") {
        match *code {
            "10" => corners.push((Point::new(value.parse().unwrap(), f64::NAN), 0.0)),
            "20" => corners.last_mut().unwrap().0.y = value.parse().unwrap(),
            "42" => corners.last_mut().unwrap().1 = value.parse().unwrap(),
            _ => {}
        }
    }
    corners
}

/// Area of a closed polyline by the format's definition: an arc to the right of its chord where the bulge is positive.
fn area(corners: &[(Point, f64)]) -> f64 {
    (0..corners.len())
        .map(|i| {
            let ((a, bulge), (b, _)) = (corners[i], corners[(i + 1) % corners.len()]);
            let theta = 4.0 * bulge.atan();
            let cap = if bulge == 0.0 {
                0.0
            } else {
                let radius = 0.5 * a.distance(b) / (0.5 * theta).sin();
                0.5 * radius * radius * (theta - theta.sin())
            };
            0.5 * a.to_vec2().cross(b.to_vec2()) + cap
        })
        .sum()
}

fn closed(corners: &[(f64, f64, f64)]) -> Contour {
    Contour::closed(corners.iter().map(|&(x, y, bulge)| Vertex { point: Point::new(x, y), bulge }).collect()).unwrap()
}

pub(crate) fn source(program: &Program) -> Source {
    let shallow = Arc::from_bulge(Point::ORIGIN, 2.0 * 10.0 / 1000.0, Point::new(1000.0, 0.0)).unwrap();
    let rounded = closed(&[(0.0, 0.0, 0.0), (80.0, 0.0, 1.0), (80.0, 20.0, 0.0), (0.0, 20.0, -0.3)]);
    let written = polyline(&(program.dxf)(&rounded));
    let quarter = (std::f64::consts::PI / 8.0).tan();
    let tube = closed(&[(10.0, 0.0, quarter), (0.0, 10.0, quarter), (-10.0, 0.0, quarter), (0.0, -10.0, quarter)]);
    let disc = polyline(&(program.dxf)(&tube));
    // Rectangle, half disc of radius 10 outside on the right, and a bite of bulge 0.3 over 20 mm out of the left.
    let bite_theta = 4.0 * 0.3_f64.atan();
    let bite_radius = 10.0 / (0.5 * bite_theta).sin();
    let bite = 0.5 * bite_radius.powi(2) * (bite_theta - bite_theta.sin());
    let whole = 80.0 * 20.0 + 50.0 * std::f64::consts::PI - bite;
    let row = |quantity: &str, text: &str, value: f64, place, computed, allowed, why| Row {
        quantity: quantity.to_owned(),
        stated: Stated::formula(text, value),
        place,
        computed,
        allowed,
        why,
    };
    let bulge = "LWPOLYLINE, group code 42";
    Source {
        name: "dxf_bulge",
        claim: "Arcs in DXF files are what the format says",
        work: "DXF reference: a bulge is tan(θ/4), positive for an arc that goes counter-clockwise",
        mark: Mark::Seen,
        kind: Kind::ClosedForm,
        parameters: "The last three rows read the written file by its group codes.",
        count: 5,
        rows: vec![
            row(
                "radius of a bulge of 0.02 over 1000 mm, mm",
                "c²/(8 h) + h/2, h = 10",
                12_505.0,
                "definition",
                shallow.radius_mm,
                1e-6,
                "rounding",
            ),
            row(
                "height of its middle, mm",
                "-h, right of the chord",
                -10.0,
                "definition",
                shallow.at(0.5).y,
                1e-9,
                "rounding",
            ),
            row(
                "bulge written for a quarter circle",
                "tan(π/8)",
                quarter,
                bulge,
                disc.first().map_or(f64::NAN, |c| c.1),
                1e-9,
                "decimals of the file",
            ),
            row(
                "area of four of them with radius 10, mm²",
                "100 π",
                100.0 * std::f64::consts::PI,
                bulge,
                area(&disc).abs(),
                1e-6,
                "decimals of the file",
            ),
            row(
                "area of 80 x 20 mm with a half disc added and a segment taken, mm²",
                "1600 + 50 π - segment",
                whole,
                bulge,
                area(&written).abs(),
                1e-5,
                "decimals of the file",
            ),
        ],
    }
}
