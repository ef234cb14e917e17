//! Parts on sheets: one drawing for each sheet.

use kurbo::Point;
use serde_json::{Value, json};

use crate::drawing::{Contour, Drawing, Operation, Part, Shape, Text, TextAnchor};
use crate::job::{Job, Nesting};
use crate::stock::{Layout, SetUp, Sheet};
use crate::units::{LengthUnit, Quantity, decimal};

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
    let set_up = sheet.set_up.as_ref().map(|s| set_up_words(s, job.unit));
    for (line, words) in set_up.into_iter().chain([words]).enumerate() {
        let at = Point::new(0.0, stock.width_mm + (0.5 + 1.5 * line as f64) * NOTE_MM);
        let text = Text { at, height_mm: NOTE_MM, angle_rad: 0.0, anchor: TextAnchor::Start, content: words };
        edge.add(Operation::Note, Shape::Text(text));
    }
    let dowels = sheet.set_up.as_ref().filter(|s| s.stretch.1 > 1).map(dowels);
    let placed = sheet.nested.placed.iter().map(|p| dressed[p.part].placed(&p.placement));
    Drawing {
        title: format!("{}: sheet {}", job.title, sheet.number),
        origin: origin.to_owned(),
        parts: std::iter::once(edge).chain(dowels).chain(placed).collect(),
    }
}

/// The holes that a sheet is placed by when it is moved on, and those that it is placed by already.
fn dowels(set_up: &SetUp) -> Part {
    let mut part = Part::new("dowels", "Dowel holes");
    let radius_mm = 0.5 * set_up.dowel_mm;
    for center in &set_up.holes {
        part.add(Operation::Drill, Shape::Circle { center: *center, radius_mm });
    }
    // Dowels stand there: nothing is to be cut.
    for center in &set_up.stands_on {
        part.add(Operation::Note, Shape::Circle { center: *center, radius_mm });
    }
    part
}

/// Which part of which sheet it is.
pub(super) fn set_up_words(set_up: &SetUp, unit: LengthUnit) -> String {
    let SetUp { sheet, strip, stretch, from_mm, .. } = set_up;
    let from = Quantity::fine(*from_mm).text(unit);
    let stretch = if stretch.1 > 1 {
        format!("stretch {} of {} (from {from} on) of ", stretch.0, stretch.1)
    } else {
        String::new()
    };
    let strip = if strip.1 > 1 { format!("strip {} of {} of ", strip.0, strip.1) } else { String::new() };
    format!("{stretch}{strip}stock sheet {sheet}")
}

/// The sheets for `result.json`.
pub(super) fn sheets_json(layout: &Layout, rules: &Nesting) -> Value {
    let places = |of: &[Point]| {
        of.iter().map(|d| json!([super::json::figure(d.x), super::json::figure(d.y)])).collect::<Vec<_>>()
    };
    let sheet = |s: &Sheet| {
        let on_it: Vec<&str> = s.nested.placed.iter().map(|p| layout.parts[p.part].part.id.as_str()).collect();
        let mut row = json!({
            "file": s.file_name(),
            "stock": s.stock.name,
            "length_mm": super::json::figure(s.stock.length_mm),
            "width_mm": super::json::figure(s.stock.width_mm),
            "margin_mm": super::json::figure(rules.margin_mm),
            "gap_mm": super::json::figure(rules.gap_mm),
            "utilisation": super::json::figure(s.nested.utilisation),
            "parts": on_it,
        });
        if let Some(set_up) = &s.set_up {
            row["set_up"] = json!({
                "sheet": set_up.sheet,
                "strip": set_up.strip.0,
                "strips": set_up.strip.1,
                "stretch": set_up.stretch.0,
                "stretches": set_up.stretch.1,
                "from_mm": super::json::figure(set_up.from_mm),
                "dowel_mm": super::json::figure(set_up.dowel_mm),
                "holes": places(&set_up.holes),
                "stands_on": places(&set_up.stands_on),
            });
        }
        row
    };
    layout.sheets.iter().map(sheet).collect()
}
