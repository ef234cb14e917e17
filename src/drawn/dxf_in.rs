//! Lines, arcs, ellipses, polylines, splines and blocks of a DXF.

use std::cell::Cell;
use std::collections::BTreeMap;
use std::f64::consts::TAU;

use dxf::entities::{Entity, EntityType, Insert};
use dxf::enums::Units;
use kurbo::{Affine, Point, Vec2};

use super::found::{Found, PATH, check_count};
use super::stroke::{Spline, Stroke};
use crate::codes;
use crate::finding::Fault;
use crate::units::MM_PER_INCH;

pub(super) fn read(bytes: &[u8], layer: Option<&str>) -> Result<Found, Fault> {
    let file = dxf::Drawing::load(&mut std::io::Cursor::new(bytes)).map_err(|e| {
        Fault::new(
            codes::DRAWING_NOT_READ,
            PATH,
            format!("the DXF cannot be read: {e}."),
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
    let blocks = file.blocks().map(|b| (b.name.to_lowercase(), b)).collect();
    let reading = Reading { blocks, layer, entities: Cell::new(0) };
    for entity in file.entities() {
        reading.add(entity, &entity.common.layer, Affine::IDENTITY, 0, &mut strokes)?;
    }
    if strokes.is_empty()
        && let Some(wanted) = layer
    {
        let mut names: Vec<&str> = file.entities().map(|e| e.common.layer.as_str()).collect();
        names.sort_unstable();
        names.dedup();
        return Err(Fault::new(
            codes::DRAWING_LAYER,
            "layer",
            format!("no line, arc, ellipse, polyline or spline lies on the layer `{wanted}`."),
            if names.is_empty() {
                "The drawing is empty.".to_owned()
            } else {
                format!("Layers with something on them: {}.", names.join(", "))
            },
        ));
    }
    Ok(Found { strokes, unit_mm })
}

/// Entities with a normal that points down are drawn from behind: x runs the other way.
fn seen(normal: &dxf::Vector) -> Affine {
    if normal.z < 0.0 { Affine::FLIP_X } else { Affine::IDENTITY }
}

/// Blocks within blocks that are followed: more, and a block holds itself.
const DEEPEST_BLOCK: usize = 8;
/// How much the scales of a block along and up may differ and still count as one, as a part of them.
const SAME_SCALE: f64 = 1e-6;

/// A file that is being read.
struct Reading<'f> {
    /// Blocks by their names in small letters.
    blocks: BTreeMap<String, &'f dxf::Block>,
    layer: Option<&'f str>,
    /// Entities looked at, those of a block each time that it is put.
    entities: Cell<usize>,
}

impl Reading<'_> {
    /// Adds what an entity draws. In a block, what lies on layer 0 is on the layer that the block is put on.
    fn add(
        &self,
        entity: &Entity,
        layer: &str,
        place: Affine,
        depth: usize,
        strokes: &mut Vec<Stroke>,
    ) -> Result<(), Fault> {
        self.entities.set(self.entities.get() + 1);
        check_count(self.entities.get().max(strokes.len()))?;
        if let EntityType::Insert(insert) = &entity.specific {
            return self.block(insert, layer, place, depth, strokes);
        }
        if self.layer.is_some_and(|wanted| !layer.eq_ignore_ascii_case(wanted)) {
            return Ok(());
        }
        let mut own = Vec::new();
        add(&entity.specific, layer, &mut own)?;
        strokes.extend(own.iter().map(|s| s.placed(place)));
        Ok(())
    }

    fn block(
        &self,
        insert: &Insert,
        layer: &str,
        place: Affine,
        depth: usize,
        strokes: &mut Vec<Stroke>,
    ) -> Result<(), Fault> {
        let refused = |what: String| {
            let remedy = "Explode the block in the CAD program, or keep the profile on a layer of its own without it.";
            Fault::new(
                codes::DRAWING_BLOCK,
                PATH,
                format!("the block `{}` on layer `{layer}` {what}", insert.name),
                remedy,
            )
        };
        if depth >= DEEPEST_BLOCK {
            return Err(refused("holds blocks that hold blocks without end.".to_owned()));
        }
        let Some(block) = self.blocks.get(&insert.name.to_lowercase()) else {
            return Err(refused("is not in the file.".to_owned()));
        };
        let mut own = Vec::new();
        for entity in &block.entities {
            let its = if entity.common.layer == "0" { layer } else { &entity.common.layer };
            self.add(entity, its, Affine::IDENTITY, depth + 1, &mut own)?;
        }
        if own.is_empty() {
            return Ok(());
        }
        let (along, up) = (insert.x_scale_factor, insert.y_scale_factor);
        if (along.abs() - up.abs()).abs() > SAME_SCALE * along.abs() || along == 0.0 {
            return Err(refused(format!("is scaled by {along} along and {up} up, which bends its arcs.")));
        }
        if insert.column_count > 1 || insert.row_count > 1 {
            return Err(refused("stands in rows and columns.".to_owned()));
        }
        let (at, base) = (&insert.location, &block.base_point);
        let put = place
            * seen(&insert.extrusion_direction)
            * Affine::translate((at.x, at.y))
            * Affine::rotate(insert.rotation.to_radians())
            * Affine::scale_non_uniform(along, up)
            * Affine::translate((-base.x, -base.y));
        strokes.extend(own.iter().map(|s| s.placed(put)));
        Ok(())
    }
}

fn add(entity: &EntityType, layer: &str, strokes: &mut Vec<Stroke>) -> Result<(), Fault> {
    let flat = |p: &dxf::Point| Point::new(p.x, p.y);
    match entity {
        EntityType::Line(line) => strokes.push(Stroke::line(flat(&line.p1), flat(&line.p2))),
        EntityType::Arc(arc) => {
            let (from, to) = (arc.start_angle.to_radians(), arc.end_angle.to_radians());
            let sweep = (to - from).rem_euclid(TAU);
            let at = |angle: f64| flat(&arc.center) + Vec2::from_angle(angle) * arc.radius;
            let stroke = Stroke::Arc(at(from), libm::tan(0.25 * sweep), at(from + sweep));
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
        EntityType::Ellipse(ellipse) => strokes.push(ellipse_stroke(ellipse, layer)?),
        EntityType::Circle(_) => {
            return Err(Fault::new(
                codes::DRAWING_ENTITY,
                PATH,
                format!("there is a whole circle on layer `{layer}`, where the profile is."),
                "A base is not a full circle; trim it to the arc that is meant, or keep the profile on a layer of its own.",
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

/// The drawn part of an ellipse, from its start parameter counter-clockwise about its normal.
fn ellipse_stroke(ellipse: &dxf::entities::Ellipse, layer: &str) -> Result<Stroke, Fault> {
    let major = Vec2::new(ellipse.major_axis.x, ellipse.major_axis.y);
    let turn = if ellipse.normal.z < 0.0 { -1.0 } else { 1.0 };
    let minor = Vec2::new(-major.y, major.x) * (turn * ellipse.minor_axis_ratio);
    let sweep = (ellipse.end_parameter - ellipse.start_parameter).rem_euclid(TAU);
    let center = Point::new(ellipse.center.x, ellipse.center.y);
    let drawn = sweep > 0.0 && major.hypot() > 0.0 && ellipse.minor_axis_ratio > 0.0;
    let made = drawn.then(|| Spline::ellipse(center, major, minor, ellipse.start_parameter, sweep)).flatten();
    made.map(Stroke::Spline).ok_or_else(|| {
        Fault::new(
            codes::DRAWING_ENTITY,
            PATH,
            format!("there is a whole or flat ellipse on layer `{layer}`, where the profile is."),
            "Trim it to the part that is meant, or keep the profile on a layer of its own.",
        )
    })
}

fn spline_stroke(spline: &dxf::entities::Spline) -> Result<Stroke, Fault> {
    let control: Vec<Point> = spline.control_points.iter().map(|p| Point::new(p.x, p.y)).collect();
    let made = usize::try_from(spline.degree_of_curve)
        .ok()
        .and_then(|degree| Spline::new(degree, spline.knot_values.clone(), control))
        .and_then(
            |made| if spline.weight_values.is_empty() { Some(made) } else { made.weighted(&spline.weight_values) },
        );
    made.map(Stroke::Spline).ok_or_else(|| {
        codes::DRAWING_SPLINE
            .at(PATH, "there is a spline whose knots, weights and control points do not belong together.")
    })
}
