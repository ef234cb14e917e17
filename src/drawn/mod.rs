//! Lines drawn in a CAD program, DXF or SVG: as strokes, as one line with two ends, or as a closed one.

mod chain;
mod dxf_in;
mod found;
mod lines;
mod ring;
mod stroke;
mod svg_in;
mod svg_path;

pub(crate) use chain::{joined, kink};
pub(crate) use lines::strokes;
pub(crate) use ring::{closed, ring};
pub(crate) use stroke::Stroke;

use crate::finding::Fault;

/// A fault of a drawing with the table of the document that names the drawing before its key.
pub(crate) fn in_table(fault: Fault, table: &str) -> Fault {
    let path = format!("{table}.{}", fault.path);
    Fault { path, ..fault }
}
