//! Lines, arcs, polylines and splines of a DXF.

use std::f64::consts::TAU;

use dxf::entities::EntityType;
use dxf::enums::Units;
use kurbo::{Affine, Point, Vec2};

use super::stroke::{Spline, Stroke};
use super::{Found, PATH};
use crate::finding::Fault;
use crate::units::MM_PER_INCH;

pub(super) fn read(bytes: &[u8], layer: Option<&str>) -> Result<Found, Fault> {
    let file = dxf::Drawing::load(&mut std::io::Cursor::new(bytes)).map_err(|e| {
        Fault::new(
            "drawing-not-read",
            PATH,
            format!("this is no DXF that can be read: {e}."),
            "Export it as DXF of the year 2000 or R12.",
        )
    })?;
    let unit_mm = match file.header.default_drawing_units {
        Units::Inches => Some(MM_PER_INCH),
        Units::Feet => Some(12.0 * MM_PER_INCH),
        Units::Millimeters => Some(1.0),
        Units::Centimeters => Some(10.0),
        Units::Meters => Some(1000.0),
        _ => None,
    };
    let mut strokes = Vec::new();
    for entity in file.entities() {
        if layer.is_some_and(|wanted| !entity.common.layer.eq_ignore_ascii_case(wanted)) {
            continue;
        }
        add(&entity.specific, &mut strokes)?;
    }
    if strokes.is_empty()
        && let Some(wanted) = layer
    {
        let mut names: Vec<&str> = file.entities().map(|e| e.common.layer.as_str()).collect();
        names.sort_unstable();
        names.dedup();
        return Err(Fault::new(
            "drawing-layer",
            "rocker.drawing.layer",
            format!("no line, arc, polyline or spline lies on the layer `{wanted}`."),
            format!("Layers with something on them: {}.", names.join(", ")),
        ));
    }
    Ok(Found { strokes, unit_mm })
}

/// Entities with a normal that points down are drawn from behind: x runs the other way.
fn seen(normal: &dxf::Vector) -> Affine {
    if normal.z < 0.0 { Affine::FLIP_X } else { Affine::IDENTITY }
}

fn add(entity: &EntityType, strokes: &mut Vec<Stroke>) -> Result<(), Fault> {
    let flat = |p: &dxf::Point| Point::new(p.x, p.y);
    match entity {
        EntityType::Line(line) => strokes.push(Stroke::line(flat(&line.p1), flat(&line.p2))),
        EntityType::Arc(arc) => {
            let (from, to) = (arc.start_angle.to_radians(), arc.end_angle.to_radians());
            let sweep = (to - from).rem_euclid(TAU);
            let at = |angle: f64| flat(&arc.center) + Vec2::from_angle(angle) * arc.radius;
            let stroke = Stroke::Arc(at(from), (0.25 * sweep).tan(), at(from + sweep));
            strokes.push(stroke.placed(seen(&arc.normal)));
        }
        EntityType::LwPolyline(line) => {
            let vertices: Vec<(Point, f64)> = line.vertices.iter().map(|v| (Point::new(v.x, v.y), v.bulge)).collect();
            polyline(&vertices, line.is_closed(), seen(&line.extrusion_direction), strokes);
        }
        EntityType::Polyline(line) => {
            let vertices: Vec<(Point, f64)> = line.vertices().map(|v| (flat(&v.location), v.bulge)).collect();
            polyline(&vertices, line.is_closed(), seen(&line.normal), strokes);
        }
        EntityType::Spline(spline) => strokes.push(spline_stroke(spline)?),
        EntityType::Circle(_) | EntityType::Ellipse(_) | EntityType::Insert(_) => {
            return Err(Fault::new(
                "drawing-entity",
                PATH,
                "there is a circle, an ellipse or a block where the profile is.",
                "Explode blocks and draw ellipses as splines or polylines; keep the profile on a layer of its own.",
            ));
        }
        // Text, dimensions, points and the like are no lines.
        _ => {}
    }
    Ok(())
}

fn polyline(vertices: &[(Point, f64)], closed: bool, seen: Affine, strokes: &mut Vec<Stroke>) {
    let stroke = |a: &(Point, f64), b: &(Point, f64)| Stroke::Arc(a.0, a.1, b.0).placed(seen);
    strokes.extend(vertices.windows(2).map(|w| stroke(&w[0], &w[1])));
    if let (true, Some(last), Some(first)) = (closed, vertices.last(), vertices.first()) {
        strokes.push(stroke(last, first));
    }
}

fn spline_stroke(spline: &dxf::entities::Spline) -> Result<Stroke, Fault> {
    let even = spline.weight_values.windows(2).all(|w| (w[0] - w[1]).abs() <= 1e-9 * w[0].abs());
    let control: Vec<Point> = spline.control_points.iter().map(|p| Point::new(p.x, p.y)).collect();
    let made = usize::try_from(spline.degree_of_curve)
        .ok()
        .filter(|_| even)
        .and_then(|degree| Spline::new(degree, spline.knot_values.clone(), control));
    made.map(Stroke::Spline).ok_or_else(|| {
        Fault::new(
            "drawing-spline",
            PATH,
            "there is a spline with weights, or without knots and control points.",
            "Export it as arcs or as a polyline of many short lines.",
        )
    })
}
