use dxf::entities::{Entity, EntityType, LwPolyline, Spline as DxfSpline};
use dxf::enums::{AcadVersion, Units};
use dxf::{LwPolylineVertex, Point as DxfPoint};

use super::*;
use crate::job::Rocker;
use crate::rocker::{Target, target};

/// Flat of 900 mm with an arc at each end that turns 0.25 rad: at the tail on 800 mm, at the tip on 600 mm.
const BASE_MM: f64 = 200.0 + 900.0 + 150.0;

fn board(length_mm: f64) -> Board {
    Board { length_mm, length_along: LengthAlong::Base, width_mm: 250.0, overhang_tip_mm: 40.0, overhang_tail_mm: 40.0 }
}

/// The corners of that profile with their bulges, tail at the left, up being up.
fn corners() -> [(Point, f64); 4] {
    let bulge = (0.25_f64 / 4.0).tan();
    let (sine, rise) = (0.25_f64.sin(), 1.0 - 0.25_f64.cos());
    [
        (Point::new(-800.0 * sine, 800.0 * rise), bulge),
        (Point::new(0.0, 0.0), 0.0),
        (Point::new(900.0, 0.0), bulge),
        (Point::new(900.0 + 600.0 * sine, 600.0 * rise), 0.0),
    ]
}

fn dxf_of(entities: Vec<EntityType>, units: Units) -> Vec<u8> {
    let mut file = dxf::Drawing::new();
    file.header.version = AcadVersion::R2000;
    file.header.default_drawing_units = units;
    for entity in entities {
        let mut entity = Entity::new(entity);
        entity.common.layer = "base".to_owned();
        file.add_entity(entity);
    }
    let mut bytes = Vec::new();
    file.save(&mut bytes).unwrap();
    bytes
}

fn profile(bytes: Vec<u8>, format: DrawingFormat) -> DrawnProfile {
    let up = if format == DrawingFormat::Dxf { Direction::PlusY } else { Direction::MinusY };
    DrawnProfile { bytes, format, layer: None, unit_mm: None, up, tip_right: true, gap_mm: 0.05 }
}

fn made(profile: DrawnProfile, length_mm: f64) -> Result<Target, Vec<Fault>> {
    target(&Rocker::Drawing(profile), &board(length_mm))
}

#[track_caller]
fn is_the_profile(target: &Target) {
    for (s, radius) in [(-620.0, 800.0), (-430.0, 800.0), (480.0, 600.0), (620.0, 600.0)] {
        let k = target.curvature.at(s);
        assert!((k * radius - 1.0).abs() < 1e-4, "{k} at {s}");
    }
    assert!(target.curvature.at(0.0).abs() < 1e-7);
    assert!((target.tip_height_mm() - 600.0 * (1.0 - 0.25_f64.cos())).abs() < 1e-3, "{}", target.tip_height_mm());
    assert!((target.tail_height_mm() - 800.0 * (1.0 - 0.25_f64.cos())).abs() < 1e-3);
}

fn polyline(corners: &[(Point, f64)]) -> EntityType {
    let vertices = corners
        .iter()
        .map(|(p, bulge)| LwPolylineVertex { x: p.x, y: p.y, bulge: *bulge, ..LwPolylineVertex::default() })
        .collect();
    EntityType::LwPolyline(LwPolyline { vertices, ..LwPolyline::default() })
}

#[test]
fn a_polyline_with_bulges_is_exact_whichever_way_it_lies() {
    for (up, turn) in
        [(Direction::PlusY, 0.0), (Direction::MinusX, 0.25), (Direction::MinusY, 0.5), (Direction::PlusX, 0.75)]
    {
        for mirrored in [false, true] {
            // Turn the upright profile so that its up points as said; mirrored, the tip is at the left.
            let turned = Affine::rotate(turn * std::f64::consts::TAU);
            let flipped = if mirrored { Affine::FLIP_X } else { Affine::IDENTITY };
            // A page whose y points down is looked at from behind: its profile is the mirror image of the turned one.
            let page = if up == Direction::MinusY { Affine::FLIP_Y } else { turned };
            let place = page * flipped;
            let sign = place.determinant().signum();
            let corners: Vec<(Point, f64)> = corners().iter().map(|&(p, b)| (place * p, sign * b)).collect();
            let bytes = dxf_of(vec![polyline(&corners)], Units::Millimeters);
            let drawn = DrawnProfile { up, tip_right: !mirrored, ..profile(bytes, DrawingFormat::Dxf) };
            is_the_profile(&made(drawn, BASE_MM).unwrap());
        }
    }
}

#[test]
fn loose_lines_and_arcs_in_inches_are_joined_in_any_order() {
    let inch = 25.4;
    let [a, b, c, d] = corners().map(|(p, _)| p);
    let line = |p: Point, q: Point| {
        let at = |p: Point| DxfPoint::new(p.x / inch, p.y / inch, 0.0);
        EntityType::Line(dxf::entities::Line::new(at(p), at(q)))
    };
    let arc = |center: Point, radius: f64, from: f64, to: f64| {
        let center = DxfPoint::new(center.x / inch, center.y / inch, 0.0);
        EntityType::Arc(dxf::entities::Arc::new(center, radius / inch, from, to))
    };
    let degrees = 0.25_f64.to_degrees();
    let tail = arc(Point::new(0.0, 800.0), 800.0, 270.0 - degrees, 270.0);
    let tip = arc(Point::new(900.0, 600.0), 600.0, 270.0, 270.0 + degrees);
    let bytes = dxf_of(vec![tip, line(c, b), tail], Units::Inches);
    let mut drawn = profile(bytes, DrawingFormat::Dxf);
    drawn.layer = Some("BASE".to_owned());
    is_the_profile(&made(drawn, BASE_MM).unwrap());
    assert!(a.x < b.x && c.x < d.x);
}

#[test]
fn an_svg_path_is_read_in_its_page_units_with_its_transforms() {
    let [a, b, c, d] = corners().map(|(p, _)| p);
    // Half a millimetre to the user unit, y down, moved and drawn from tip to tail.
    let at = |p: Point| format!("{} {}", 2.0 * p.x - 10.0, -2.0 * p.y);
    let path = format!("M {} A 1200 1200 0 0 1 {} L {} A 1600 1600 0 0 1 {}", at(d), at(c), at(b), at(a));
    let svg = format!(
        "<svg xmlns='http://www.w3.org/2000/svg' width='150cm' height='20cm' viewBox='0 -300 3000 400'>\
         <defs><path d='M0 0 L 5 5'/></defs><rect width='3' height='3'/>\
         <g transform='translate(4 6) rotate(0)'><path id='base' d='{path}' transform='translate(6,-6)'/></g></svg>"
    );
    let mut drawn = profile(svg.clone().into_bytes(), DrawingFormat::Svg);
    drawn.layer = Some("base".to_owned());
    is_the_profile(&made(drawn, BASE_MM).unwrap());
    let whole = made(profile(svg.into_bytes(), DrawingFormat::Svg), BASE_MM).unwrap_err();
    assert_eq!(whole[0].code, "drawing-entity");
}

#[test]
fn a_cubic_spline_has_the_curvature_of_its_polynomial() {
    // y = x³/(6 a²) over 0 to 500 mm with a = 600: y'' = x/a², y' = x²/(2 a²).
    let a2 = 600.0_f64.powi(2);
    let control = [(0.0, 0.0), (500.0 / 3.0, 0.0), (1000.0 / 3.0, 0.0), (500.0, 500.0_f64.powi(3) / (6.0 * a2))];
    let spline = DxfSpline {
        degree_of_curve: 3,
        knot_values: vec![0.0, 0.0, 0.0, 0.0, 1.0, 1.0, 1.0, 1.0],
        control_points: control.iter().map(|&(x, y)| DxfPoint::new(x, y, 0.0)).collect(),
        ..DxfSpline::default()
    };
    let bytes = dxf_of(vec![EntityType::Spline(spline)], Units::Millimeters);
    // Length: integral of sqrt(1 + x⁴/(4 a⁴)) by Simpson's rule.
    let speed = |x: f64| (1.0 + x.powi(4) / (4.0 * a2 * a2)).sqrt();
    let n = 2000;
    let simpson = |i: i32| {
        f64::from(if i == 0 || i == n {
            1
        } else if i % 2 == 1 {
            4
        } else {
            2
        })
    };
    let length: f64 = (0..=n).map(|i| simpson(i) * speed(500.0 * f64::from(i) / f64::from(n))).sum::<f64>() * 500.0
        / f64::from(3 * n);
    let made = made(profile(bytes, DrawingFormat::Dxf), length).unwrap();
    assert!((made.curvature.length_mm() - length).abs() < 1e-6);
    let slope = 500.0_f64.powi(2) / (2.0 * a2);
    let exact = (500.0 / a2) / (1.0 + slope * slope).powf(1.5);
    assert!((made.curvature.at(0.5 * length) - exact).abs() < 1e-8);
    assert!((made.report.straight_mm - Point::new(control[3].0, control[3].1).to_vec2().hypot()).abs() < 1e-3);
}

/// A file with a block of the polyline with bulges, and the block put into the drawing.
fn dxf_with_block(insert: dxf::entities::Insert) -> Vec<u8> {
    let mut file = dxf::Drawing::new();
    file.header.version = AcadVersion::R2000;
    file.header.default_drawing_units = Units::Millimeters;
    let block = dxf::Block {
        name: "profile".to_owned(),
        base_point: DxfPoint::new(100.0, 50.0, 0.0),
        entities: vec![Entity::new(polyline(&corners()))],
        ..dxf::Block::default()
    };
    file.add_block(block);
    let mut entity = Entity::new(EntityType::Insert(insert));
    entity.common.layer = "base".to_owned();
    file.add_entity(entity);
    let mut bytes = Vec::new();
    file.save(&mut bytes).unwrap();
    bytes
}

fn put(along: f64, up: f64, degrees: f64) -> dxf::entities::Insert {
    dxf::entities::Insert {
        name: "PROFILE".to_owned(),
        location: DxfPoint::new(-30.0, 7.0, 0.0),
        x_scale_factor: along,
        y_scale_factor: up,
        rotation: degrees,
        ..dxf::entities::Insert::default()
    }
}

#[test]
fn a_block_is_read_turned_mirrored_and_scaled_evenly() {
    let drawn =
        |insert| DrawnProfile { layer: Some("base".into()), ..profile(dxf_with_block(insert), DrawingFormat::Dxf) };
    is_the_profile(&made(drawn(put(1.0, 1.0, 0.0)), BASE_MM).unwrap());
    let turned = DrawnProfile { up: Direction::PlusX, tip_right: false, ..drawn(put(-1.0, 1.0, 90.0)) };
    let up_left = DrawnProfile { up: Direction::MinusX, ..turned.clone() };
    assert!(made(turned, BASE_MM).is_ok() || made(up_left, BASE_MM).is_ok());
    let half = made(drawn(put(0.5, 0.5, 0.0)), 0.5 * BASE_MM).unwrap();
    assert!((half.tip_height_mm() - 300.0 * (1.0 - 0.25_f64.cos())).abs() < 1e-3, "{}", half.tip_height_mm());
    let faults = made(drawn(put(1.0, 0.5, 0.0)), BASE_MM).unwrap_err();
    assert_eq!(faults[0].code, "drawing-block");
    assert!(faults[0].message.contains("`PROFILE` on layer `base` is scaled by 1 along and 0.5 up"), "{faults:?}");
}

#[test]
fn an_elliptic_arc_of_a_dxf_has_its_curvature_and_height() {
    // Half axes 900 and 400 mm, from 60 degrees before to 60 degrees behind the lowest place.
    let (a, b, half) = (900.0_f64, 400.0_f64, std::f64::consts::FRAC_PI_3);
    let down = 1.5 * std::f64::consts::PI;
    let ellipse = dxf::entities::Ellipse {
        center: DxfPoint::new(0.0, b, 0.0),
        major_axis: dxf::Vector::new(a, 0.0, 0.0),
        minor_axis_ratio: b / a,
        start_parameter: down - half,
        end_parameter: down + half,
        ..dxf::entities::Ellipse::default()
    };
    let bytes = dxf_of(vec![EntityType::Ellipse(ellipse)], Units::Millimeters);
    // Length by Simpson's rule.
    let speed = |t: f64| (a * t.cos()).hypot(b * t.sin());
    let n = 4000_i32;
    let share = |i: i32| if i == 0 || i == n { 1.0 } else { f64::from(2 + 2 * (i % 2)) };
    let step = 2.0 * half / f64::from(n);
    let length: f64 = (0..=n).map(|i| share(i) * speed(-half + step * f64::from(i))).sum::<f64>() * step / 3.0;
    let made = made(profile(bytes, DrawingFormat::Dxf), length).unwrap();
    assert!((made.tip_height_mm() - b * (1.0 - half.cos())).abs() < 1e-3, "{}", made.tip_height_mm());
    // At the vertex of the minor axis the curvature is b/a².
    assert!((made.curvature.at(0.0) * a * a / b - 1.0).abs() < 1e-5, "{}", made.curvature.at(0.0));
}

#[test]
fn many_short_lines_are_read_as_the_curve_they_follow() {
    let curve = Curve::new(Curvature::constant(-600.0, 600.0, 1.0 / 2500.0).unwrap());
    let points: Vec<String> = (0..=120)
        .map(|i| curve.at(-600.0 + 10.0 * f64::from(i)).point)
        .map(|p| format!("{:.2},{:.2}", p.x, -p.y))
        .collect();
    let svg = format!(
        "<svg xmlns='http://www.w3.org/2000/svg' width='1200mm' height='100mm' viewBox='-600 -100 1200 100'>\
         <polyline points='{}'/></svg>",
        points.join(" ")
    );
    let made = made(profile(svg.into_bytes(), DrawingFormat::Svg), 1200.0).unwrap();
    assert!((made.tip_height_mm() - 2500.0 * (1.0 - 0.24_f64.cos())).abs() < 0.02, "{}", made.tip_height_mm());
    assert!((made.curvature.at(100.0) * 2500.0 - 1.0).abs() < 0.02);
}

#[test]
fn what_is_no_profile_is_refused_with_its_place() {
    let [a, b, c, d] = corners();
    let millimetres = |entities| profile(dxf_of(entities, Units::Millimeters), DrawingFormat::Dxf);
    let gap = vec![polyline(&[a, b]), polyline(&[(Point::new(0.4, 0.0), 0.0), c, d])];
    let branch =
        vec![polyline(&[a, b, c]), polyline(&[(c.0, c.1), d]), polyline(&[(c.0, 0.0), (Point::new(5.0, 5.0), 0.0)])];
    let closed = vec![polyline(&[a, b, c, d, a])];
    let corner = vec![polyline(&[(Point::new(0.0, 0.0), 0.0), (b.0 + kurbo::Vec2::new(900.0, 0.0), 0.0), d])];
    let cases = [
        (millimetres(gap), BASE_MM, "drawing-gap"),
        (millimetres(branch), BASE_MM, "drawing-branches"),
        (millimetres(closed), BASE_MM, "drawing-closed"),
        (millimetres(corner), 1050.0, "drawing-corner"),
        (millimetres(vec![polyline(&corners())]), 1300.0, "drawing-length"),
        (millimetres(Vec::new()), BASE_MM, "drawing-empty"),
        (profile(dxf_of(vec![polyline(&corners())], Units::Unitless), DrawingFormat::Dxf), BASE_MM, "drawing-unit"),
        (profile(b"no drawing".to_vec(), DrawingFormat::Svg), BASE_MM, "drawing-not-read"),
        (profile(vec![0xff; 9], DrawingFormat::Dxf), BASE_MM, "drawing-not-read"),
        (
            DrawnProfile { layer: Some("rim".into()), ..millimetres(vec![polyline(&corners())]) },
            BASE_MM,
            "drawing-layer",
        ),
    ];
    for (drawn, length, code) in cases {
        let faults = made(drawn, length).unwrap_err();
        assert_eq!(faults[0].code, code, "{faults:?}");
    }
    let inches = profile(dxf_of(vec![polyline(&corners())], Units::Inches), DrawingFormat::Dxf);
    let faults = made(inches, BASE_MM).unwrap_err();
    assert!(faults[0].remedy.contains("units = \"mm\""), "{faults:?}");
}
