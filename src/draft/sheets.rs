//! Parts on sheets: one drawing for each sheet.

use kurbo::Point;
use serde_json::{Value, json};

use super::members::member_parts;
use super::ribs::rib_parts;
use crate::drawing::{Contour, Drawing, Operation, Part, Shape, Text, TextAnchor};
use crate::jig::{Jig, NestedSheet};
use crate::job::{Job, Nesting, SheetStock};
use crate::units::{Quantity, decimal};

/// A part that is cut from flat stock.
#[derive(Debug, Clone, PartialEq)]
pub struct FlatPart {
    /// The part in its own coordinates.
    pub part: Part,
    /// Thickness of its stock, mm.
    pub thickness_mm: f64,
    /// Whether it is a rib or a piece of one.
    pub is_rib: bool,
    /// What is still to be done to the blank once it is cut, where something is.
    pub finish: Option<Finish>,
}

/// How a bearer is finished.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Finish {
    /// Height at its middle, mm.
    pub height_mm: f64,
    /// Bevel of its top, rad, positive when it rises toward the tip.
    pub bevel_rad: f64,
}

/// All parts that are cut from flat stock, each once.
pub fn flat_parts(jig: &Jig) -> Vec<FlatPart> {
    let thickness_mm = jig.rib_thickness_mm;
    let ribs = jig.ribs.iter().flat_map(|r| rib_parts(r, jig)).map(|part| FlatPart {
        part,
        thickness_mm,
        is_rib: true,
        finish: None,
    });
    ribs.chain(member_parts(jig)).collect()
}

/// A sheet with the parts that it is cut into.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// Number, 1 first.
    pub number: usize,
    /// What it is cut from.
    pub stock: SheetStock,
    /// Thickness of its parts, mm.
    pub thickness_mm: f64,
    /// Where which part lies; parts are indices in the list of flat parts.
    pub nested: NestedSheet,
}

impl Sheet {
    /// Name of its files, without the ending.
    pub fn file_name(&self) -> String {
        format!("sheet-{:02}", self.number)
    }
}

/// Height of capitals of the line that says what the sheet is, mm.
const NOTE_MM: f64 = 20.0;

/// The sheet with its lower left corner at the origin: its edge as a note, and the parts where they lie.
pub fn sheet_drawing(sheet: &Sheet, parts: &[FlatPart], job: &Job, origin: &str) -> Drawing {
    let stock = &sheet.stock;
    let corners = [(0.0, 0.0), (stock.length_mm, 0.0), (stock.length_mm, stock.width_mm), (0.0, stock.width_mm)];
    let mut edge = Part::new("sheet", format!("Sheet {}: {}", sheet.number, stock.name));
    if let Ok(outline) = Contour::polygon(corners.map(Point::from)) {
        edge.add(Operation::Note, Shape::Contour(outline));
    }
    let size = |mm: f64| Quantity::fine(mm).text(job.unit);
    let words = format!(
        "SHEET {}: {}, {} x {}, {} parts {} thick, {} % used",
        sheet.number,
        stock.name,
        size(stock.length_mm),
        size(stock.width_mm),
        sheet.nested.placed.len(),
        Quantity::fine(sheet.thickness_mm).text(job.unit),
        decimal(100.0 * sheet.nested.utilisation, 0)
    );
    edge.add(
        Operation::Note,
        Shape::Text(Text {
            at: Point::new(0.0, stock.width_mm + 0.5 * NOTE_MM),
            height_mm: NOTE_MM,
            angle_rad: 0.0,
            anchor: TextAnchor::Start,
            content: words,
        }),
    );
    let placed = sheet.nested.placed.iter().map(|p| parts[p.part].part.placed(&p.placement));
    Drawing {
        title: format!("{}: sheet {}", job.title, sheet.number),
        origin: origin.to_owned(),
        parts: std::iter::once(edge).chain(placed).collect(),
    }
}

/// The sheets for `result.json`.
pub fn sheets_json(sheets: &[Sheet], parts: &[FlatPart], rules: &Nesting) -> Value {
    let sheet = |s: &Sheet| {
        let on_it: Vec<&str> = s.nested.placed.iter().map(|p| parts[p.part].part.id.as_str()).collect();
        json!({
            "file": s.file_name(),
            "stock": s.stock.name,
            "length_mm": super::result::figure(s.stock.length_mm),
            "width_mm": super::result::figure(s.stock.width_mm),
            "margin_mm": super::result::figure(rules.margin_mm),
            "gap_mm": super::result::figure(rules.gap_mm),
            "utilisation": super::result::figure(s.nested.utilisation),
            "parts": on_it,
        })
    };
    sheets.iter().map(sheet).collect()
}
