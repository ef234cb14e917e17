use dxf::entities::{Entity, EntityType, LwPolyline, Spline as DxfSpline};
use dxf::enums::{AcadVersion, Units};
use dxf::{LwPolylineVertex, Point as DxfPoint};

use super::*;
use crate::job::{DrawingFormat, DrawnLines, Rocker};
use crate::rocker::{Target, target};

/// Flat of 900 mm with an arc at each end that turns 0.25 rad: at the tail on 800 mm, at the tip on 600 mm.
const BASE_MM: f64 = 200.0 + 900.0 + 150.0;

fn board(length_mm: f64) -> Board {
    Board {
        length_mm,
        length_along: LengthAlong::Base,
        width_mm: 250.0,
        count: 1,
        gap_mm: Board::USUAL_GAP_MM,
        overhang_tip_mm: 40.0,
        overhang_tail_mm: 40.0,
        outline: None,
        holes: Vec::new(),
    }
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
    let lines = DrawnLines { bytes, format, layer: None, unit_mm: None, gap_mm: 0.05 };
    DrawnProfile { lines, up, tip_right: true }
}

fn on_layer(name: &str, mut profile: DrawnProfile) -> DrawnProfile {
    profile.lines.layer = Some(name.to_owned());
    profile
}

fn made(profile: DrawnProfile, length_mm: f64) -> Result<Target, Faults> {
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
    drawn.lines.layer = Some("BASE".to_owned());
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
    drawn.lines.layer = Some("base".to_owned());
    is_the_profile(&made(drawn, BASE_MM).unwrap());
    let whole = made(profile(svg.into_bytes(), DrawingFormat::Svg), BASE_MM).unwrap_err();
    assert_eq!(whole[0].code.name, "drawing-entity");
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
    dxf_with_block_beside(insert, &corners(), Vec::new())
}

/// The same with a block of these corners, and other entities beside it.
fn dxf_with_block_beside(insert: dxf::entities::Insert, inside: &[(Point, f64)], beside: Vec<EntityType>) -> Vec<u8> {
    let mut file = dxf::Drawing::new();
    file.header.version = AcadVersion::R2000;
    file.header.default_drawing_units = Units::Millimeters;
    let block = dxf::Block {
        name: "profile".to_owned(),
        base_point: DxfPoint::new(100.0, 50.0, 0.0),
        entities: vec![Entity::new(polyline(inside))],
        ..dxf::Block::default()
    };
    file.add_block(block);
    for entity in [EntityType::Insert(insert)].into_iter().chain(beside) {
        let mut entity = Entity::new(entity);
        entity.common.layer = "base".to_owned();
        file.add_entity(entity);
    }
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
    let drawn = |insert| on_layer("base", profile(dxf_with_block(insert), DrawingFormat::Dxf));
    is_the_profile(&made(drawn(put(1.0, 1.0, 0.0)), BASE_MM).unwrap());
    let turned = DrawnProfile { up: Direction::PlusX, tip_right: false, ..drawn(put(-1.0, 1.0, 90.0)) };
    let up_left = DrawnProfile { up: Direction::MinusX, ..turned.clone() };
    assert!(made(turned, BASE_MM).is_ok() || made(up_left, BASE_MM).is_ok());
    let half = made(drawn(put(0.5, 0.5, 0.0)), 0.5 * BASE_MM).unwrap();
    assert!((half.tip_height_mm() - 300.0 * (1.0 - 0.25_f64.cos())).abs() < 1e-3, "{}", half.tip_height_mm());
    let faults = made(drawn(put(1.0, 0.5, 0.0)), BASE_MM).unwrap_err();
    assert_eq!(faults[0].code.name, "drawing-block");
    assert!(faults[0].message().contains("`PROFILE` on layer `base` is scaled by 1 along and 0.5 up"), "{faults:?}");
}

#[test]
fn an_elliptic_arc_of_a_dxf_has_its_curvature_and_height() {
    // Half axes 900 and 400 mm, from 60 degrees before to 60 degrees behind the lowest place.
    let (a, b, half) = (900.0_f64, 400.0_f64, std::f64::consts::FRAC_PI_3);
    let down = 1.5 * std::f64::consts::PI;
    // Length by Simpson's rule.
    let speed = |t: f64| (a * t.cos()).hypot(b * t.sin());
    let n = 4000_i32;
    let share = |i: i32| if i == 0 || i == n { 1.0 } else { f64::from(2 + 2 * (i % 2)) };
    let step = 2.0 * half / f64::from(n);
    let length: f64 = (0..=n).map(|i| share(i) * speed(-half + step * f64::from(i))).sum::<f64>() * step / 3.0;
    // Upright, and with its up at the left.
    for (up, (x, y)) in [(Direction::PlusY, (1.0, 0.0)), (Direction::MinusX, (0.0, 1.0))] {
        let ellipse = dxf::entities::Ellipse {
            center: DxfPoint::new(-b * y, b * x, 0.0),
            major_axis: dxf::Vector::new(a * x, a * y, 0.0),
            minor_axis_ratio: b / a,
            start_parameter: down - half,
            end_parameter: down + half,
            ..dxf::entities::Ellipse::default()
        };
        let bytes = dxf_of(vec![EntityType::Ellipse(ellipse)], Units::Millimeters);
        let made = made(DrawnProfile { up, ..profile(bytes, DrawingFormat::Dxf) }, length).unwrap();
        assert!((made.tip_height_mm() - b * (1.0 - half.cos())).abs() < 1e-3, "{up:?}: {}", made.tip_height_mm());
        // At the vertex of the minor axis the curvature is b/a².
        assert!((made.curvature.at(0.0) * a * a / b - 1.0).abs() < 1e-5, "{up:?}: {}", made.curvature.at(0.0));
    }
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
        (on_layer("rim", millimetres(vec![polyline(&corners())])), BASE_MM, "drawing-layer"),
    ];
    for (drawn, length, code) in cases {
        let faults = made(drawn, length).unwrap_err();
        assert_eq!(faults[0].code.name, code, "{faults:?}");
    }
    let inches = profile(dxf_of(vec![polyline(&corners())], Units::Inches), DrawingFormat::Dxf);
    let faults = made(inches, BASE_MM).unwrap_err();
    assert!(faults[0].remedy().contains("units = \"mm\""), "{faults:?}");
}

#[test]
fn a_block_lies_with_its_base_point_where_it_is_put() {
    // From the base point (100, 50) to (-30, 7): what is drawn beside the block, in the drawing itself, goes on there.
    let all = corners();
    let moved = |c: &(Point, f64)| (c.0 + kurbo::Vec2::new(-130.0, -43.0), c.1);
    let beside = polyline(&all[2..].iter().map(moved).collect::<Vec<_>>());
    let bytes = dxf_with_block_beside(put(1.0, 1.0, 0.0), &all[..3], vec![beside]);
    is_the_profile(&made(profile(bytes, DrawingFormat::Dxf), BASE_MM).unwrap());
}

#[test]
fn a_block_is_scaled_evenly_when_its_scales_differ_by_a_millionth_of_themselves() {
    let scaled = |along: f64, up: f64| {
        let bytes = dxf_with_block(put(along, up, 0.0));
        let mut drawn = profile(bytes, DrawingFormat::Dxf);
        drawn.lines.unit_mm = Some(1.0 / along);
        made(drawn, BASE_MM)
    };
    for scale in [1e-3, 1.0, 1e3] {
        is_the_profile(&scaled(scale, scale * (1.0 + 5e-7)).unwrap());
        assert_eq!(scaled(scale, scale * (1.0 + 5e-6)).unwrap_err()[0].code.name, "drawing-block", "{scale}");
    }
}

#[test]
fn only_turns_mirrors_and_even_scales_are_transforms_of_a_profile() {
    let svg = |m: [f64; 4]| {
        let [a, b, c, d] = m;
        format!(
            "<svg xmlns='http://www.w3.org/2000/svg'><path d='M0 0H100' transform='matrix({a:e} {b:e} {c:e} {d:e} 3 4)'/></svg>"
        )
        .into_bytes()
    };
    let turned = |degrees: f64, scale: f64| {
        let (sine, cosine) = degrees.to_radians().sin_cos();
        [cosine, sine, -sine, cosine].map(|x| scale * x)
    };
    let times = |scale: f64, m: [f64; 4]| m.map(|x| scale * x);
    // A tenth of the error that is let pass: one axis longer, one turned out of square.
    let (longer, leaning) = ([1.0, 0.0, 0.0, 1.0 + 1e-10], [1.0, 0.0, 1e-10, 1.0]);
    // The same a quarter turn on.
    let (longer_up, leaning_up) = ([0.0, 1.0, -1.0 - 1e-10, 0.0], [0.0, 1.0, -1.0, 1e-10]);
    let mut even = vec![[0.0; 4]];
    let mut uneven = Vec::new();
    for scale in [1e-3, 1.0, 3.0, 1e3] {
        for degrees in [0.0, 30.0, 60.0, 90.0, 135.0, 200.0, 290.0] {
            let m = turned(degrees, scale);
            even.extend([m, [m[0], m[1], -m[2], -m[3]]]);
        }
        even.extend([longer, leaning, longer_up, leaning_up].map(|m| times(scale, m)));
        uneven.extend(
            [
                [2.0, 0.0, 0.0, 1.0],
                [1.0, 0.0, 0.0, 1.001],
                [1.0, 0.0, 0.0, 1.0 + 1e-8],
                [0.0, 1.0, -1.0 - 1e-8, 0.0],
                // Sheared along x, and two axes of one length that are not square to each other.
                [1.0, 0.0, 0.5, 1.0],
                [1.0, 0.0, 0.6, 0.8],
                [0.0, 1.0, 0.8, 0.6],
                [1.0, 0.0, 1e-8, 1.0],
                [0.6, 0.8, 0.8, 0.6],
                [1.0, 0.0, 0.0, 0.0],
            ]
            .map(|m| times(scale, m)),
        );
    }
    let read = |m| strokes(&profile(svg(m), DrawingFormat::Svg).lines, Affine::scale);
    for m in even {
        assert!(read(m).is_ok(), "{m:?}");
    }
    for m in uneven {
        assert_eq!(read(m).err().map(|f| f.code.name), Some("drawing-stretched"), "{m:?}");
    }
    // Shrunk to nothing, there is nothing to read.
    let faults = made(profile(svg([0.0; 4]), DrawingFormat::Svg), 100.0).unwrap_err();
    assert_eq!(faults[0].code.name, "drawing-empty");
}

/// Lines one behind the other, by length and change of direction before each.
fn lines(list: &[(f64, f64)]) -> Vec<Stroke> {
    let (mut at, mut angle) = (Point::new(7.0, 3.0), 0.4);
    let mut line = |&(length, turn): &(f64, f64)| {
        angle += turn;
        let from = at;
        at += kurbo::Vec2::from_angle(angle) * length;
        Stroke::line(from, at)
    };
    list.iter().map(&mut line).collect()
}

#[test]
fn a_small_break_is_spread_to_both_sides_of_its_joint() {
    // Joints at 16 and 76 mm from the middle. The first break has 10 mm to each side, the second half of the last line.
    let curvature = of_smooth(&lines(&[(100.0, 0.0), (60.0, 0.001), (8.0, -0.0016)])).unwrap();
    assert!((curvature.start_mm() + 84.0).abs() < 1e-9 && (curvature.end_mm() - 84.0).abs() < 1e-9);
    let expected = [(-84.0, 0.0), (6.0, 0.001 / 20.0), (26.0, 0.0), (72.0, -0.0016 / 8.0), (80.0, 0.0)];
    for (i, (from, k)) in expected.iter().enumerate() {
        let to = expected.get(i + 1).map_or(84.0, |next| next.0);
        for s in [from + 1e-6, 0.5 * (from + to), to - 1e-6] {
            assert!((curvature.at(s) - k).abs() < 1e-12, "{} at {s}", curvature.at(s));
        }
    }
    let turned = |from: f64, to: f64| curvature.between(from, to).unwrap().total_angle();
    assert!((turned(-84.0, 30.0) - 0.001).abs() < 1e-12 && (turned(30.0, 84.0) + 0.0016).abs() < 1e-12);
    // As well where the first line is the short one: its joint is 26 mm from the middle and has 4 mm to each side.
    let curvature = of_smooth(&lines(&[(8.0, 0.0), (60.0, 0.0016)])).unwrap();
    for (s, k) in [(-30.1, 0.0), (-29.9, 0.0002), (-22.1, 0.0002), (-21.9, 0.0), (30.0, 0.0)] {
        assert!((curvature.at(s) - k).abs() < 1e-12, "{} at {s}", curvature.at(s));
    }
}

#[test]
fn a_small_break_adds_to_the_curvature_of_the_arcs_that_meet_there() {
    // Arcs of 30 mm with radius 500, and of 12 mm with 800; the second leaves 0.0012 rad steeper than the first arrives.
    let arc = |from: Point, angle: f64, length: f64, radius: f64| {
        let half = 0.5 * length / radius;
        let to = from + kurbo::Vec2::from_angle(angle + half) * (2.0 * radius * half.sin());
        Stroke::Arc(from, (0.5 * half).tan(), to)
    };
    let first = arc(Point::new(0.0, 0.0), -0.1, 30.0, 500.0);
    let second = arc(first.end(), -0.1 + 0.06 + 0.0012, 12.0, 800.0);
    let curvature = of_smooth(&[first, second]).unwrap();
    // The joint at 9 mm from the middle; 6 mm to each side.
    let extra = 0.0012 / 12.0;
    for (s, k) in [(-20.0, 0.002), (2.99, 0.002), (3.01, 0.002 + extra), (8.9, 0.002 + extra), (9.1, 0.00125 + extra)] {
        assert!((curvature.at(s) - k).abs() < 1e-10, "{} at {s}", curvature.at(s));
    }
    assert!((curvature.total_angle() - (0.06 + 0.015 + 0.0012)).abs() < 1e-10, "{}", curvature.total_angle());
}

#[test]
fn the_first_corner_of_short_lines_counts_as_the_others_do() {
    // Flat but for the first line, which comes down by half a millimetre; corners are followed within a tenth.
    let heights = [0.5, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0];
    let corners: Vec<(Point, f64)> =
        heights.iter().zip(0..).map(|(&y, i)| (Point::new(100.0 * f64::from(i), y), 0.0)).collect();
    let bytes = dxf_of(vec![polyline(&corners)], Units::Millimeters);
    let made = made(profile(bytes, DrawingFormat::Dxf), 1000.0).unwrap();
    assert!((made.tail_height_mm() - 0.5).abs() < 0.2, "{}", made.tail_height_mm());
    assert!(made.tip_height_mm() < 0.1, "{}", made.tip_height_mm());
}

#[test]
fn where_ends_meet_wrongly_is_told_with_its_place() {
    let refused = |entities| {
        let drawn = profile(dxf_of(entities, Units::Millimeters), DrawingFormat::Dxf);
        made(drawn, BASE_MM).unwrap_err().remove(0).message()
    };
    let [a, b, c, d] = corners();
    let spur = (Point::new(950.0, -5.25), 0.0);
    let branch = refused(vec![polyline(&[a, b, c]), polyline(&[c, d]), polyline(&[(c.0, 0.0), spur])]);
    assert_eq!(branch, "more than two ends meet at (900 mm, 0 mm).");
    let gap = refused(vec![polyline(&[a, b]), polyline(&[(Point::new(0.0, 0.4), 0.0), c, d])]);
    assert_eq!(gap, "the line ends at (0 mm, 0 mm), and the next one begins 0.4 mm away.");
}

/// A curve above its middle, mm: a parabola, a flat whose ends kick up smoothly, and a camber.
type Height = fn(f64) -> f64;
const GENTLE: [(&str, Height); 3] = [
    ("parabola", |x| 45.0 * (x / 670.0).powi(2)),
    ("kicked", |x| 60.0 * ((x.abs() - 300.0).max(0.0) / 370.0).powi(3)),
    ("camber", |x| 30.0 * (x / 670.0).powi(4) - 4.0 * (x / 670.0).powi(2)),
];

/// Places that divide the curve in so many pieces: alike, or up to three times as long as others.
fn divided(count: usize, uneven: bool) -> Vec<f64> {
    let mut state = 1_u64;
    let mut length = || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        if uneven { 1.0 + 2.0 * (state >> 11) as f64 / (1_u64 << 53) as f64 } else { 1.0 }
    };
    let mut along = vec![0.0];
    for _ in 0..count {
        along.push(along[along.len() - 1] + length());
    }
    let whole = along[count];
    along.iter().map(|s| 1340.0 * s / whole - 670.0).collect()
}

fn length_of(height: Height) -> f64 {
    let step = |i: i32| -670.0 + 1340.0 * f64::from(i) / 20_000.0;
    (0..20_000).map(|i| (step(i + 1) - step(i)).hypot(height(step(i + 1)) - height(step(i)))).sum()
}

/// The curve as a polyline, in a DXF and in an SVG that rounds to a ten-thousandth.
fn polylines(height: Height, places: &[f64]) -> [DrawnProfile; 2] {
    let corners: Vec<(Point, f64)> = places.iter().map(|&x| (Point::new(x, height(x)), 0.0)).collect();
    let list: Vec<String> = corners.iter().map(|(p, _)| format!("{:.4},{:.4}", p.x, -p.y)).collect();
    let svg = format!(
        "<svg xmlns='http://www.w3.org/2000/svg' width='2000mm' height='200mm' viewBox='0 0 2000 200'>\
         <polyline points='{}'/></svg>",
        list.join(" ")
    );
    [
        profile(dxf_of(vec![polyline(&corners)], Units::Millimeters), DrawingFormat::Dxf),
        profile(svg.into_bytes(), DrawingFormat::Svg),
    ]
}

#[test]
fn a_curve_divided_into_lines_is_that_curve_however_finely_or_it_is_refused() {
    let cases = [
        (0, &[10, 50, 100, 134, 200, 2000, 20_000][..], 10),
        (1, &[10, 20, 50, 300], 50),
        (2, &[10, 20, 50, 300, 20_000], 50),
    ];
    for (shape, counts, certain) in cases {
        let (name, height) = GENTLE[shape];
        let low = (0..=1340).map(|x| height(f64::from(x) - 670.0)).fold(f64::INFINITY, f64::min);
        for &count in counts {
            for file in polylines(height, &divided(count, count % 20 == 0)) {
                let target = match made(file, length_of(height)) {
                    Ok(target) => target,
                    Err(faults) => {
                        assert!(
                            count < certain && faults[0].code.name == "drawing-coarse",
                            "{name} {count}: {faults:?}"
                        );
                        continue;
                    }
                };
                let (from, to) = target.curve.range_mm();
                for i in 0..=200 {
                    let at = target.curve.at(from + (to - from) * f64::from(i) / 200.0).point;
                    let off = at.y - (height(at.x) - low);
                    assert!(off.abs() < 0.05, "{name} in {count} pieces: {off} mm off at {}", at.x);
                }
            }
        }
    }
}

#[test]
fn a_straight_line_beside_short_ones_may_be_a_chord_and_is_refused() {
    // A flat of 600 mm in one line, arcs at its ends in lines of 10 mm.
    let height: Height = |x| (x.abs() - 300.0).max(0.0).powi(2) / 1600.0;
    let side = (0..=37).map(|i| 300.0 + 10.0 * f64::from(i));
    let places: Vec<f64> = side.clone().rev().map(|x| -x).chain(side).collect();
    for file in polylines(height, &places) {
        assert_eq!(made(file, length_of(height)).unwrap_err()[0].code.name, "drawing-coarse");
    }
}

#[test]
fn a_ring_and_lines_beside_the_profile_are_refused_however_they_are_joined() {
    let line = |points: &[(f64, f64)]| polyline(&points.iter().map(|&p| (Point::from(p), 0.0)).collect::<Vec<_>>());
    let code = |entities: Vec<EntityType>| {
        made(profile(dxf_of(entities, Units::Millimeters), DrawingFormat::Dxf), 300.0).unwrap_err()[0].code.name
    };
    let ring = [(0.0, 0.0), (300.0, 0.0), (300.0, 50.0), (0.0, 0.0)];
    assert_eq!(code(vec![line(&ring)]), "drawing-closed");
    assert_eq!(code(vec![line(&ring), line(&[(0.0, 90.0), (300.0, 90.0)])]), "drawing-gap");
    assert_eq!(
        code(vec![
            line(&[(0.0, 0.0), (300.0, 0.0)]),
            line(&[(300.0, 0.0), (400.0, 9.0)]),
            line(&[(300.0, 0.0), (300.0, 9.0)])
        ]),
        "drawing-branches"
    );
    assert_eq!(code(vec![line(&[(0.0, 0.0), (0.01, 0.01), (0.02, 0.0)])]), "drawing-empty");
}

#[test]
fn groups_within_groups_and_blocks_within_blocks_end() {
    // A hundred thousand groups around the profile, each moving it.
    let depth = 100_000;
    let around = "<g transform='translate(1 0)'>".repeat(depth);
    let svg = format!(
        "<svg xmlns='http://www.w3.org/2000/svg' width='2000mm' height='200mm' viewBox='0 0 2000 200'>{around}\
         <path d='M0 0 L300 0'/>{}</svg>",
        "</g>".repeat(depth)
    );
    let target = made(profile(svg.into_bytes(), DrawingFormat::Svg), 300.0).unwrap();
    assert_eq!(target.curve.at(100.0).point.y, 0.0);
    // Seven blocks, each of twelve of the next: 36 million lines.
    let mut file = dxf::Drawing::new();
    file.header.version = AcadVersion::R2000;
    let insert =
        |name: usize| EntityType::Insert(dxf::entities::Insert { name: format!("b{name}"), ..Default::default() });
    for i in 0..7 {
        let inside = || if i == 6 { polyline(&corners()) } else { insert(i + 1) };
        let entities = (0..12).map(|_| Entity::new(inside())).collect();
        file.add_block(dxf::Block { name: format!("b{i}"), entities, ..dxf::Block::default() });
    }
    file.add_entity(Entity::new(insert(0)));
    let mut bytes = Vec::new();
    file.save(&mut bytes).unwrap();
    assert_eq!(made(profile(bytes, DrawingFormat::Dxf), 300.0).unwrap_err()[0].code.name, "drawing-too-long");
}
