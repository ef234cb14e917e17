//! One user unit of an SVG file is one millimetre on paper.

use kurbo::Point;
use overbend::drawing::{Contour, Drawing, Operation, Part, Shape};
use overbend::export::{SvgOptions, write_svg};

use super::Program;
use crate::bench::{Kind, Mark, Row, Source, Stated};

fn attribute<'t>(svg: &'t str, name: &str) -> &'t str {
    svg.split_once(&format!(" {name}=\"")).unwrap().1.split_once('"').unwrap().0
}

pub(crate) fn source(_: &Program) -> Source {
    let corners = [(10.0, 20.0), (310.5, 20.0), (310.5, 77.25), (10.0, 77.25)];
    let outline = Contour::polygon(corners.map(|(x, y)| Point::new(x, y))).unwrap();
    let mut part = Part::new("part", "part");
    part.add(Operation::CutOutside, Shape::Contour(outline));
    let drawing = Drawing { title: "part".to_owned(), origin: "verification".to_owned(), parts: vec![part] };
    let options = SvgOptions { margin_mm: 4.0, ..SvgOptions::default() };
    let svg = String::from_utf8(write_svg(&drawing, &options).unwrap()).unwrap();
    let view: Vec<f64> = attribute(&svg, "viewBox").split_whitespace().map(|v| v.parse().unwrap()).collect();
    let millimetres = |name| attribute(&svg, name).strip_suffix("mm").unwrap().parse::<f64>().unwrap();
    let row = |quantity: &str, text: &str, value, place, computed| Row {
        quantity: quantity.to_owned(),
        stated: Stated::formula(text, value),
        place,
        computed,
        allowed: 1e-9,
        why: "decimals of the file",
    };
    Source {
        name: "svg_user_unit",
        claim: "SVG files are to scale, with y pointing down",
        work: "W3C, Scalable Vector Graphics 1.1, section 7: width and height in mm with a viewBox in mm",
        mark: Mark::Seen,
        kind: Kind::ClosedForm,
        parameters: "A rectangle from (10, 20) to (310.5, 77.25) mm with a margin of 4 mm.",
        count: 4,
        rows: vec![
            row("millimetres per user unit across", "1", 1.0, "7.7, viewBox", millimetres("width") / view[2]),
            row("millimetres per user unit down", "1", 1.0, "7.7, viewBox", millimetres("height") / view[3]),
            row("width, mm", "300.5 + 8", 308.5, "7.2, viewport", millimetres("width")),
            row("upper edge of the viewBox", "-(77.25 + 4)", -81.25, "7.3, y points down", view[1]),
        ],
    }
}
