//! Parts on sheets: one drawing for each sheet.

use kurbo::Point;
use serde_json::{Value, json};

use crate::drawing::{Contour, Drawing, Operation, Part, Shape, Text, TextAnchor};
use crate::job::{Job, Nesting};
use crate::stock::{Layout, Sheet};
use crate::units::{Quantity, decimal};

/// Height of capitals of the line that says what the sheet is, mm.
const NOTE_MM: f64 = 20.0;

/// The sheet with its lower left corner at the origin: its edge as a note, and the parts, with their marks, where they
/// lie.
pub(crate) fn sheet_drawing(sheet: &Sheet, dressed: &[Part], job: &Job, origin: &str) -> Drawing {
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
    let placed = sheet.nested.placed.iter().map(|p| dressed[p.part].placed(&p.placement));
    Drawing {
        title: format!("{}: sheet {}", job.title, sheet.number),
        origin: origin.to_owned(),
        parts: std::iter::once(edge).chain(placed).collect(),
    }
}

/// The sheets for `result.json`.
pub(super) fn sheets_json(layout: &Layout, rules: &Nesting) -> Value {
    let sheet = |s: &Sheet| {
        let on_it: Vec<&str> = s.nested.placed.iter().map(|p| layout.parts[p.part].part.id.as_str()).collect();
        json!({
            "file": s.file_name(),
            "stock": s.stock.name,
            "length_mm": super::json::figure(s.stock.length_mm),
            "width_mm": super::json::figure(s.stock.width_mm),
            "margin_mm": super::json::figure(rules.margin_mm),
            "gap_mm": super::json::figure(rules.gap_mm),
            "utilisation": super::json::figure(s.nested.utilisation),
            "parts": on_it,
        })
    };
    layout.sheets.iter().map(sheet).collect()
}
