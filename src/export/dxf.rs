//! Drawings as DXF: AC1015 with LWPOLYLINE, or AC1009 (R12) with POLYLINE for old machines.
//!
//! The entities are made by the `dxf` crate; what it leaves out of the file is mended in [`super::dxf_finish`].

use dxf::entities::{Circle, Entity, EntityType, LwPolyline, Polyline, Text as DxfText, Vertex as DxfVertex};
use dxf::enums::{AcadVersion, DrawingUnits, HorizontalTextJustification, Units};
use dxf::tables::Layer;
use dxf::{Color, LwPolylineVertex};
use kurbo::{Point, Rect};

use super::dxf_finish::{DxfVersion, Facts, finish};
use super::names::one_line;
use super::order::in_machining_order;
use super::{ExportError, layer_name, paint};
use crate::drawing::{Contour, Drawing, Operation, Shape, Text, TextAnchor, Vertex};

/// What a DXF file is to be like.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct DxfOptions {
    /// The dialect.
    pub version: DxfVersion,
}

/// The drawing as a DXF file in millimetres, one layer per operation.
///
/// Entities stand in machining order: part by part, in each part inside cuts, holes, marks, notes, then the outline.
/// Work that is in the drawing twice is written once. Outlines are closed by their flag, so that they close exactly.
///
/// # Errors
/// [`ExportError::Empty`] without parts, [`ExportError::OpenCut`] for a cut along an open path,
/// [`ExportError::Format`] if the crate refuses.
pub fn write_dxf(drawing: &Drawing, options: &DxfOptions) -> Result<Vec<u8>, ExportError> {
    let parts = in_machining_order(drawing)?;
    let bounds = drawing.bounds().ok_or(ExportError::Empty)?;
    let mut file = dxf::Drawing::new();
    prepare_header(&mut file, options.version, bounds);
    for operation in Operation::ALL {
        file.add_layer(Layer {
            name: layer_name(operation).to_owned(),
            color: Color::from_index(paint(operation).dxf_color),
            line_type_name: "CONTINUOUS".to_owned(),
            ..Layer::default()
        });
    }
    for (_, works) in parts {
        for work in works {
            let entity = match &work.shape {
                Shape::Contour(contour) => outline(contour, options.version, &mut file),
                Shape::Circle { center, radius_mm } => {
                    EntityType::Circle(Circle { center: spot(*center), radius: *radius_mm, ..Circle::default() })
                }
                Shape::Text(text) => EntityType::Text(lettering(text)),
            };
            let mut entity = Entity::new(entity);
            entity.common.layer = layer_name(work.operation).to_owned();
            file.add_entity(entity);
        }
    }
    let mut raw = Vec::new();
    file.save(&mut raw).map_err(|e| ExportError::Format(e.to_string()))?;
    let raw = String::from_utf8(raw).map_err(|e| ExportError::Format(e.to_string()))?;
    Ok(finish(&raw, &Facts { title: &drawing.title, origin: &drawing.origin, version: options.version, bounds }))
}

fn prepare_header(file: &mut dxf::Drawing, version: DxfVersion, bounds: Rect) {
    let header = &mut file.header;
    header.version = match version {
        DxfVersion::R2000 => AcadVersion::R2000,
        DxfVersion::R12 => AcadVersion::R12,
    };
    header.default_drawing_units = Units::Millimeters;
    header.drawing_units = DrawingUnits::Metric;
    let (low, high) = (spot(bounds.origin()), spot(Point::new(bounds.x1, bounds.y1)));
    header.minimum_drawing_extents = low.clone();
    header.maximum_drawing_extents = high.clone();
    header.minimum_drawing_limits = low.clone();
    header.maximum_drawing_limits = high.clone();
    header.paperspace_minimum_drawing_extents = low.clone();
    header.paperspace_maximum_drawing_extents = high.clone();
    header.paperspace_minimum_drawing_limits = low;
    header.paperspace_maximum_drawing_limits = high;
}

fn outline(contour: &Contour, version: DxfVersion, file: &mut dxf::Drawing) -> EntityType {
    let vertices = contour.vertices();
    // The last bulge of an open path leads nowhere.
    let bulge = |i: usize, v: &Vertex| if contour.is_closed() || i + 1 < vertices.len() { v.bulge } else { 0.0 };
    match version {
        DxfVersion::R2000 => {
            let mut line = LwPolyline {
                vertices: vertices
                    .iter()
                    .enumerate()
                    .map(|(i, v)| LwPolylineVertex {
                        x: v.point.x,
                        y: v.point.y,
                        bulge: bulge(i, v),
                        ..LwPolylineVertex::default()
                    })
                    .collect(),
                ..LwPolyline::default()
            };
            line.set_is_closed(contour.is_closed());
            EntityType::LwPolyline(line)
        }
        DxfVersion::R12 => {
            let mut line = Polyline::default();
            line.set_is_closed(contour.is_closed());
            for (i, v) in vertices.iter().enumerate() {
                let bulge = bulge(i, v);
                line.add_vertex(file, DxfVertex { location: spot(v.point), bulge, ..DxfVertex::default() });
            }
            EntityType::Polyline(line)
        }
    }
}

fn lettering(text: &Text) -> DxfText {
    let place = spot(text.at);
    DxfText {
        location: place.clone(),
        second_alignment_point: place,
        text_height: text.height_mm,
        rotation: text.angle_rad.to_degrees(),
        value: coded(&one_line(&text.content)),
        horizontal_text_justification: match text.anchor {
            TextAnchor::Start => HorizontalTextJustification::Left,
            TextAnchor::Middle => HorizontalTextJustification::Center,
            TextAnchor::End => HorizontalTextJustification::Right,
        },
        ..DxfText::default()
    }
}

/// Text as DXF codes it: percent signs that would begin a code are set apart, then the three signs that have a code of
/// their own (degree, plus-minus, diameter) get it. Other characters outside ASCII are left to the crate (`\U+` codes).
fn coded(text: &str) -> String {
    text.replace("%%", "% %").replace('°', "%%d").replace('±', "%%p").replace('⌀', "%%c")
}

fn spot(p: Point) -> dxf::Point {
    dxf::Point::new(p.x, p.y, 0.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawing::{Operation, Part};

    fn drawing() -> Drawing {
        let mut part = Part::new("rib-1", "Rib 1");
        let outline = [(0.0, 0.0, 0.0), (900.0, 0.0, 0.0), (900.0, 80.0, 0.031_25), (0.0, 80.0, -0.2)];
        let vertices = outline.map(|(x, y, bulge)| Vertex { point: Point::new(x, y), bulge });
        part.add(Operation::CutOutside, Shape::Contour(Contour::closed(vertices.to_vec()).unwrap()));
        let slot = [(40.0, 30.0, 0.0), (60.0, 30.0, 1.0), (60.0, 45.0, 0.0), (40.0, 45.0, 1.0)];
        let vertices = slot.map(|(x, y, bulge)| Vertex { point: Point::new(x, y), bulge });
        part.add(Operation::CutInside, Shape::Contour(Contour::closed(vertices.to_vec()).unwrap()));
        let line = [(10.0, 5.0, 0.3), (50.0, 5.0, 0.7)].map(|(x, y, bulge)| Vertex { point: Point::new(x, y), bulge });
        part.add(Operation::Mark, Shape::Contour(Contour::open(line.to_vec()).unwrap()));
        Drawing { title: "Ribs".into(), origin: "program, job".into(), parts: vec![part] }
    }

    /// Layer, closed, vertices.
    type Outline = (String, bool, Vec<(f64, f64, f64)>);

    /// Outlines as the crate reads them back.
    fn read_back(version: DxfVersion) -> Vec<Outline> {
        let bytes = write_dxf(&drawing(), &DxfOptions { version }).unwrap();
        let file = dxf::Drawing::load(&mut bytes.as_slice()).unwrap();
        let outlines = file.entities().map(|e| match &e.specific {
            EntityType::LwPolyline(p) => {
                let vertices = p.vertices.iter().map(|v| (v.x, v.y, v.bulge)).collect();
                (e.common.layer.clone(), p.is_closed(), vertices)
            }
            EntityType::Polyline(p) => {
                let vertices = p.vertices().map(|v| (v.location.x, v.location.y, v.bulge)).collect();
                (e.common.layer.clone(), p.is_closed(), vertices)
            }
            other => panic!("{other:?}"),
        });
        outlines.collect()
    }

    #[test]
    fn both_versions_hold_every_vertex_exactly_and_inside_cuts_first() {
        let found = read_back(DxfVersion::R2000);
        assert_eq!(found, read_back(DxfVersion::R12));
        let layers: Vec<&str> = found.iter().map(|o| o.0.as_str()).collect();
        assert_eq!(layers, ["inside-cut", "mark", "outside-cut"]);
        assert_eq!(found[2].2, [(0.0, 0.0, 0.0), (900.0, 0.0, 0.0), (900.0, 80.0, 0.031_25), (0.0, 80.0, -0.2)]);
        assert_eq!((found[0].1, found[1].1, found[2].1), (true, false, true));
        assert_eq!(found[1].2[1].2, 0.0, "the bulge that leads nowhere is not written");
    }

    #[test]
    fn percent_signs_of_the_user_stay_percent_signs() {
        assert_eq!(coded("5° ±1 ⌀8 100%%d"), "5%%d %%p1 %%c8 100% %d");
    }
}
