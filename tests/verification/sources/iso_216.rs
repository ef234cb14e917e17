//! Paper sizes, in the PDF files that are written for them.

use kurbo::Point;
use overbend::drawing::{Contour, Drawing, Operation, Paper, Part, Shape};
use overbend::export::{SheetOptions, write_sheets};

use super::Program;
use crate::bench::{Kind, Mark, Row, Source, Stated};

/// Shorter and longer side of the page map's sheet in points, as its MediaBox says.
pub(super) fn media_box(paper: &str) -> (f64, f64) {
    let outline = Contour::polygon([(0.0, 0.0), (60.0, 0.0), (60.0, 40.0)].map(|(x, y)| Point::new(x, y))).unwrap();
    let mut part = Part::new("part", "part");
    part.add(Operation::CutOutside, Shape::Contour(outline));
    let drawing = Drawing { title: "part".to_owned(), origin: "verification".to_owned(), parts: vec![part] };
    let pdf = write_sheets(&drawing, &SheetOptions::on(Paper::named(paper).unwrap())).unwrap().bytes;
    let text = String::from_utf8_lossy(&pdf).into_owned();
    let list = text.split_once("/MediaBox").unwrap().1.split_once('[').unwrap().1.split_once(']').unwrap().0;
    let sides: Vec<f64> = list.split_whitespace().map(|v| v.parse().unwrap()).collect();
    let (across, up) = (sides[2] - sides[0], sides[3] - sides[1]);
    (across.min(up), across.max(up))
}

pub(crate) fn source(_: &Program) -> Source {
    let mut rows = Vec::new();
    for (name, short, long) in
        [("a4", "210", "297"), ("a3", "297", "420"), ("a2", "420", "594"), ("a1", "594", "841"), ("a0", "841", "1189")]
    {
        let (across, up) = media_box(name);
        for (side, printed, points) in [("shorter", short, across), ("longer", long, up)] {
            rows.push(Row {
                quantity: format!("{} sheet of a pattern, {side} side, mm", name.to_uppercase()),
                stated: Stated::printed(printed),
                place: "table 1; PDF: 1 unit = 1/72 in",
                computed: points * 25.4 / 72.0,
                allowed: 0.51,
                why: "printed to the millimetre, which is exact by the standard",
            });
        }
    }
    Source {
        name: "iso_216",
        claim: "Patterns are printed on standard sheets in full size",
        work: "ISO 216 for the sheets; ISO 32000-1, 8.3.2.3, for the unit of a page",
        mark: Mark::Seen,
        kind: Kind::Published,
        parameters: "Read from the MediaBox of the file that is written.",
        count: 10,
        rows,
    }
}
