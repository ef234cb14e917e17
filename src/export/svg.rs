//! Drawings as SVG 1.1: a page in millimetres, one user unit per millimetre, true arcs.

use std::fmt::Write as _;

use kurbo::Point;
use svg::Document;
use svg::node::element::{Circle, Description, Element, Group, Path, Text as SvgText, Title};
use svg::node::{Node, Value};

use super::names::one_line;
use super::order::in_machining_order;
use super::{ExportError, layer_name, paint, unique_ids};
use crate::drawing::{Arc, Contour, Drawing, Operation, Shape, Text, TextAnchor, Work};
use crate::units::{plain, push_plain};

/// What an SVG file is to be like.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SvgOptions {
    /// Lines so thin that laser drivers take them as cuts, not as areas to engrave.
    pub hairline: bool,
    /// Free strip around the drawing, mm.
    pub margin_mm: f64,
}

impl Default for SvgOptions {
    fn default() -> Self {
        Self { hairline: false, margin_mm: 5.0 }
    }
}

/// Line width for reading, mm.
const LINE_MM: f64 = 0.25;
/// Line width for laser drivers, mm: a thousandth of an inch (common practice, no source).
const HAIRLINE_MM: f64 = 0.0254;
/// Widest arc that is drawn in one piece, rad: where its centre moves no more than ten times as far as its radius.
const WIDEST_RAD: f64 = 2.0;
/// Height of capitals as a share of the font size of common sans-serif fonts (from memory: 0.70 to 0.73).
const CAPITALS: f64 = 0.716;

/// The drawing as an SVG file: a group per part and, in machining order, one per operation in it.
///
/// # Errors
/// [`ExportError::Empty`] without parts, [`ExportError::OpenCut`] for a cut along an open path.
pub fn write_svg(drawing: &Drawing, options: &SvgOptions) -> Result<Vec<u8>, ExportError> {
    let parts = in_machining_order(drawing)?;
    let bounds = drawing.bounds().ok_or(ExportError::Empty)?.inflate(options.margin_mm, options.margin_mm);
    let title = one_line(&drawing.title);
    let mut document = Document::new()
        .set("width", format!("{}mm", number(bounds.width())))
        .set("height", format!("{}mm", number(bounds.height())))
        .set(
            "viewBox",
            format!(
                "{} {} {} {}",
                number(bounds.x0),
                number(-bounds.y1),
                number(bounds.width()),
                number(bounds.height())
            ),
        )
        .set("role", "img")
        .set("aria-labelledby", "drawing-title drawing-origin")
        .add(Title::new(title).set("id", "drawing-title"))
        .add(Description::new().set("id", "drawing-origin").add(svg::node::Text::new(one_line(&drawing.origin))));
    let ids = unique_ids(parts.iter().map(|(part, _)| part.id.as_str()));
    for ((part, works), id) in parts.iter().zip(ids) {
        let mut group = Group::new().set("id", id.as_str()).set("role", "group").add(Title::new(one_line(&part.title)));
        for operation in Operation::ALL {
            let mut shapes = works.iter().filter(|w| w.operation == operation).peekable();
            if shapes.peek().is_some() {
                let empty = operation_group(operation, &id, options);
                group = group.add(shapes.fold(empty, |g, work| g.add(shape(work))));
            }
        }
        document = document.add(group);
    }
    let mut bytes = b"<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n".to_vec();
    bytes.extend_from_slice(document.to_string().as_bytes());
    bytes.push(b'\n');
    Ok(bytes)
}

fn operation_group(operation: Operation, part_id: &str, options: &SvgOptions) -> Group {
    let (red, green, blue) = paint(operation).rgb;
    Group::new()
        .set("id", format!("{part_id}-{}", layer_name(operation)))
        .set("class", layer_name(operation))
        .set("fill", "none")
        .set("stroke", format!("#{red:02x}{green:02x}{blue:02x}"))
        .set("stroke-width", number(if options.hairline { HAIRLINE_MM } else { LINE_MM }))
}

fn shape(work: &Work) -> Element {
    match &work.shape {
        Shape::Contour(contour) => Path::new().set("d", path_data(contour)).into(),
        Shape::Circle { center, radius_mm } => {
            Circle::new().set("cx", number(center.x)).set("cy", number(-center.y)).set("r", number(*radius_mm)).into()
        }
        Shape::Text(text) => lettering(text, work.operation),
    }
}

/// The path as SVG path data, y turned to point down.
fn path_data(contour: &Contour) -> String {
    let mut d = String::new();
    let start = contour.vertices()[0].point;
    push_point(&mut d, "M", start);
    let last = contour.segments().count() - 1;
    for (i, (a, bulge, b)) in contour.segments().enumerate() {
        if contour.is_closed() && i == last && bulge == 0.0 {
            // `Z` draws it.
            break;
        }
        let Some(arc) = Arc::from_bulge(a, bulge, b) else {
            push_point(&mut d, " L", b);
            continue;
        };
        // The centre of an arc near a half circle hangs on the last digit of its radius (0.03 mm for 4 mm): those of
        // its parts do not.
        let parts = (arc.sweep_rad.abs() / WIDEST_RAD).ceil().max(1.0);
        let mut part = 0.0;
        while part < parts {
            part += 1.0;
            let end = if part < parts { arc.at(part / parts) } else { b };
            // With y down, what turns counter-clockwise to the eye turns toward negative angles: sweep flag 0.
            let (r, sweep) = (number(arc.radius_mm), u8::from(bulge < 0.0));
            // Writing to a string does not fail.
            let _ = write!(d, " A{r} {r} 0 0 {sweep} ");
            push_point(&mut d, "", end);
        }
    }
    if contour.is_closed() {
        d.push_str(" Z");
    }
    d
}

/// A command of path data and its point, y turned to point down.
fn push_point(d: &mut String, command: &str, point: Point) {
    d.push_str(command);
    push_plain(d, point.x, DECIMALS);
    d.push(' ');
    push_plain(d, -point.y, DECIMALS);
}

fn lettering(text: &Text, operation: Operation) -> Element {
    let (red, green, blue) = paint(operation).rgb;
    let (x, y) = (number(text.at.x), number(-text.at.y));
    let mut element = SvgText::new(one_line(&text.content))
        .set("x", x.as_str())
        .set("y", y.as_str())
        .set("font-size", number(text.height_mm / CAPITALS))
        .set("font-family", "Helvetica, Arial, sans-serif")
        .set("fill", format!("#{red:02x}{green:02x}{blue:02x}"))
        .set("stroke", "none")
        .set(
            "text-anchor",
            match text.anchor {
                TextAnchor::Start => "start",
                TextAnchor::Middle => "middle",
                TextAnchor::End => "end",
            },
        );
    if text.angle_rad != 0.0 {
        element.assign("transform", Value::from(format!("rotate({} {x} {y})", number(-text.angle_rad.to_degrees()))));
    }
    element.into()
}

/// Decimals of a number in the file: to a tenth of a micrometre.
const DECIMALS: usize = 4;

/// A number as it stands in the file.
fn number(value: f64) -> String {
    plain(value, DECIMALS)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawing::{Part, Vertex};
    use kurbo::Point;

    fn drawing() -> Drawing {
        let mut part = Part::new("rib-1", "Rib <1> & \u{0}co");
        let outline = vec![
            Vertex { point: Point::new(0.0, 0.0), bulge: 0.0 },
            Vertex { point: Point::new(100.0, 0.0), bulge: 1.0 },
            Vertex { point: Point::new(100.0, 40.0), bulge: 0.0 },
            Vertex { point: Point::new(0.0, 40.0), bulge: -0.2 },
        ];
        part.add(Operation::CutOutside, Shape::Contour(Contour::closed(outline).unwrap()));
        part.add(Operation::Drill, Shape::Circle { center: Point::new(20.0, 20.0), radius_mm: 5.25 });
        let text = Text {
            at: Point::new(50.0, 10.0),
            height_mm: 8.0,
            angle_rad: 0.5,
            anchor: TextAnchor::Middle,
            content: "</text><script>alert(1)</script>".into(),
        };
        part.add(Operation::Mark, Shape::Text(text));
        Drawing { title: "Ribs".into(), origin: "program 1, job 2".into(), parts: vec![part] }
    }

    fn written(options: &SvgOptions) -> String {
        String::from_utf8(write_svg(&drawing(), options).unwrap()).unwrap()
    }

    #[test]
    fn the_page_is_in_millimetres_and_y_points_down() {
        let text = written(&SvgOptions { margin_mm: 0.0, ..SvgOptions::default() });
        assert!(text.contains("width=\"120mm\"") && text.contains("height=\"40mm\""), "{text}");
        assert!(text.contains("viewBox=\"0 -40 120 40\""), "{text}");
        // A half circle that bulges to the right when y is up: from the lower right corner up, counter-clockwise.
        assert!(text.contains("L100 0 A20 20 0 0 0 120 -20 A20 20 0 0 0 100 -40 L0 -40 A52 52 0 0 1 0 0 Z"), "{text}");
    }

    #[test]
    fn names_never_become_markup() {
        let text = written(&SvgOptions::default());
        assert!(!text.contains("<script") && text.contains("&lt;script&gt;"), "{text}");
        assert!(text.contains("Rib &lt;1&gt; &amp; co") && !text.contains('\0'), "{text}");
    }

    #[test]
    fn groups_have_stable_ids_in_machining_order() {
        let text = written(&SvgOptions::default());
        let place = |id: &str| text.find(&format!("id=\"{id}\"")).unwrap();
        assert!(place("rib-1") < place("rib-1-drill") && place("rib-1-drill") < place("rib-1-mark"));
        assert!(place("rib-1-mark") < place("rib-1-outside-cut"));
        assert_eq!(text, written(&SvgOptions::default()));
    }

    #[test]
    fn hairlines_are_thin_and_the_origin_is_inside() {
        let text = written(&SvgOptions { hairline: true, ..SvgOptions::default() });
        assert!(text.contains("stroke-width=\"0.0254\"") && !text.contains("stroke-width=\"0.25\""));
        assert!(text.contains("program 1, job 2"));
    }
}
