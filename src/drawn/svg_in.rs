//! Paths, lines and polylines of an SVG.

use kurbo::{Affine, Point};
use svgtypes::{Length, LengthUnit, NumberListParser, Transform, ViewBox};

use super::found::{Found, PATH, check_count};
use super::stroke::Stroke;
use super::svg_path;
use crate::codes;
use crate::finding::Fault;
use crate::units::MM_PER_INCH;

/// Pixels in an inch (CSS Values and Units Level 3, section 5.2).
const PIXELS_PER_INCH: f64 = 96.0;

pub(super) fn read(bytes: &[u8], id: Option<&str>) -> Result<Found, Fault> {
    let unread = |why: String| codes::DRAWING_NOT_READ.at(PATH, format!("the SVG cannot be read: {why}."));
    let text = std::str::from_utf8(bytes).map_err(|e| unread(e.to_string()))?;
    let options = roxmltree::ParsingOptions { allow_dtd: true, nodes_limit: 1_000_000, ..Default::default() };
    let tree = roxmltree::Document::parse_with_options(text, options).map_err(|e| unread(e.to_string()))?;
    let root = tree.root_element();
    let from = match id {
        None => root,
        Some(id) => tree.descendants().find(|n| n.attribute("id") == Some(id)).ok_or_else(|| {
            let known: Vec<&str> = tree.descendants().filter_map(|n| n.attribute("id")).take(20).collect();
            Fault::new(
                codes::DRAWING_LAYER,
                "layer",
                format!("nothing has the id `{id}`."),
                format!("Ids in the file: {}.", known.join(", ")),
            )
        })?,
    };
    let mut strokes = Vec::new();
    // What encloses the node at hand: placed how, drawn or not, wanted or not. Each transform is read once.
    let mut around: Vec<(roxmltree::NodeId, Placed)> = Vec::new();
    for node in tree.root().descendants().filter(roxmltree::Node::is_element) {
        let parent = node.parent().map(|p| p.id());
        while around.last().is_some_and(|(id, _)| Some(*id) != parent) {
            around.pop();
        }
        let outer = around.last().map_or(Placed::default(), |(_, placed)| *placed);
        let own = node.attribute("transform").map_or(Ok(Affine::IDENTITY), transform)?;
        let placed = Placed {
            place: outer.place * own,
            // What stands in a store of definitions is not drawn.
            stored: outer.stored
                || matches!(node.tag_name().name(), "defs" | "symbol" | "clipPath" | "mask" | "marker"),
            wanted: outer.wanted || node == from,
        };
        around.push((node.id(), placed));
        if placed.wanted && !placed.stored {
            let drawn = shapes(&node)?;
            if !drawn.is_empty() {
                check_even(placed.place)?;
            }
            check_count(strokes.len() + drawn.len())?;
            strokes.extend(drawn.iter().map(|s| s.placed(placed.place)));
        }
    }
    Ok(Found { strokes, unit_mm: unit_mm(&root) })
}

/// How a node lies in the page.
#[derive(Clone, Copy, Default)]
struct Placed {
    place: Affine,
    stored: bool,
    wanted: bool,
}

/// Refuses a transform that would make an arc something else.
fn check_even(place: Affine) -> Result<(), Fault> {
    let [a, b, c, d, ..] = place.as_coeffs();
    let even = ((a * a + b * b) - (c * c + d * d)).abs() <= 1e-9 * (a * a + b * b)
        && (a * c + b * d).abs() <= 1e-9 * (a * a + b * b);
    if even {
        return Ok(());
    }
    Err(codes::DRAWING_STRETCHED.at(PATH, "the profile is stretched unevenly by a transform."))
}

/// Millimetres in a user unit: the page's width in real units over that of its view box.
fn unit_mm(root: &roxmltree::Node<'_, '_>) -> Option<f64> {
    let pixel = MM_PER_INCH / PIXELS_PER_INCH;
    let parsed = (root.attribute("width"), root.attribute("viewBox").and_then(|v| v.parse::<ViewBox>().ok()));
    let (Some(width), Some(view)) = parsed else { return Some(pixel) };
    let width: Length = width.trim().parse().ok()?;
    let factor = match width.unit {
        LengthUnit::Mm => 1.0,
        LengthUnit::Cm => 10.0,
        LengthUnit::In => MM_PER_INCH,
        LengthUnit::Pt => MM_PER_INCH / 72.0,
        LengthUnit::Pc => MM_PER_INCH / 6.0,
        LengthUnit::None | LengthUnit::Px => pixel,
        LengthUnit::Em | LengthUnit::Ex | LengthUnit::Percent => return None,
    };
    (width.number > 0.0).then_some(width.number * factor / view.w)
}

fn shapes(node: &roxmltree::Node<'_, '_>) -> Result<Vec<Stroke>, Fault> {
    let number = |name: &str| node.attribute(name).map_or(Some(0.0), |t| t.trim().parse().ok());
    let bad = |what: &str| codes::DRAWING_PATH.at(PATH, format!("a {what} of the drawing cannot be read."));
    match node.tag_name().name() {
        "path" => svg_path::strokes(node.attribute("d").unwrap_or_default()).ok_or_else(|| bad("path")),
        "line" => {
            let ends = (number("x1"), number("y1"), number("x2"), number("y2"));
            let (Some(x1), Some(y1), Some(x2), Some(y2)) = ends else { return Err(bad("line")) };
            Ok(vec![Stroke::line(Point::new(x1, y1), Point::new(x2, y2))])
        }
        name @ ("polyline" | "polygon") => {
            let list = node.attribute("points").unwrap_or_default();
            let list: Vec<f64> = NumberListParser::from(list).collect::<Result<_, _>>().map_err(|_| bad(name))?;
            let mut points: Vec<Point> = list.chunks_exact(2).map(|c| Point::new(c[0], c[1])).collect();
            if name == "polygon" {
                points.extend(points.first().copied());
            }
            Ok(points.windows(2).map(|w| Stroke::line(w[0], w[1])).collect())
        }
        "circle" | "ellipse" | "rect" | "use" => Err(Fault::new(
            codes::DRAWING_ENTITY,
            PATH,
            format!("there is a <{}> where the profile is.", node.tag_name().name()),
            "Turn it into a path, or name the profile's id under layer.",
        )),
        _ => Ok(Vec::new()),
    }
}

/// A list of transforms.
fn transform(text: &str) -> Result<Affine, Fault> {
    let read = text.parse::<Transform>().map(|t| Affine::new([t.a, t.b, t.c, t.d, t.e, t.f]));
    read.map_err(|_| codes::DRAWING_TRANSFORM.at(PATH, format!("the transform `{text}` cannot be read.")))
}
