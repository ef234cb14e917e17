//! Paper of inch sizes, in the PDF files that are written for them.

use super::Program;
use super::iso_216::media_box;
use crate::bench::{Kind, Mark, Row, Source, Stated};

pub(crate) fn source(_: &Program) -> Source {
    let mut rows = Vec::new();
    for (name, short, long) in [
        ("letter", "8.5", "11.0"),
        ("legal", "8.5", "14.0"),
        ("tabloid", "11.0", "17.0"),
        ("ansi-c", "17.0", "22.0"),
        ("ansi-d", "22.0", "34.0"),
        ("ansi-e", "34.0", "44.0"),
    ] {
        let (across, up) = media_box(name);
        for (side, printed, points) in [("shorter", short, across), ("longer", long, up)] {
            rows.push(Row {
                quantity: format!("{name} sheet of a pattern, {side} side, in"),
                stated: Stated::printed(printed),
                place: "sheet sizes; PDF: 1 unit = 1/72 in",
                computed: points / 72.0,
                allowed: 0.051,
                why: "last digit printed",
            });
        }
    }
    Source {
        name: "asme_y14_1",
        claim: "Patterns are printed on inch sheets in full size",
        work: "ASME Y14.1, decimal inch drawing sheet size; letter and legal by common practice",
        mark: Mark::FromMemory,
        kind: Kind::Published,
        parameters: "Read from the MediaBox, as for metric sheets.",
        count: 12,
        rows,
    }
}
