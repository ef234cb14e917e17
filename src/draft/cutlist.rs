//! The list of all parts, and how pieces are cut off bars.

use serde_json::{Value, json};

use super::lines::Line;
use crate::drawing::{Cell, Listing};
use crate::stock::{CutBar, CutRow, Cuts, Layout, stock_sheets};
use crate::units::{LengthUnit, Quantity, counted, decimal, inch_fraction, plain};

/// The rows as a listing, in millimetres and in inches with fractions of 1/`denominator`.
pub fn cutlist(rows: &[CutRow], denominator: u32) -> Listing {
    let columns = [
        "item",
        "part",
        "count",
        "stock",
        "length_mm",
        "width_mm",
        "thickness_mm",
        "length_in",
        "width_in",
        "weight_each_kg",
        "weight_all_kg",
        "sheets",
        "finished_height_mm",
        "bevel_deg",
    ];
    let mut listing = Listing::new("Parts", &columns);
    for (i, row) in rows.iter().enumerate() {
        let size = |mm: f64| if mm > 0.0 { Cell::Number(mm, 1) } else { Cell::text("") };
        let inches = |mm: f64| if mm > 0.0 { Cell::Figure(inch_fraction(mm, denominator)) } else { Cell::text("") };
        let weight = |of: usize| row.weight_kg.map_or(Cell::text(""), |w| Cell::Number(w * of as f64, 3));
        let sheets: Vec<String> = row.sheets.iter().map(usize::to_string).collect();
        listing.rows.push(vec![
            Cell::count(i + 1),
            Cell::text(row.names.join(" ")),
            Cell::count(row.count),
            Cell::text(&row.stock),
            size(row.size_mm[0]),
            size(row.size_mm[1]),
            if row.size_mm[2] > 0.0 { Cell::Number(row.size_mm[2], 2) } else { Cell::text("") },
            inches(row.size_mm[0]),
            inches(row.size_mm[1]),
            weight(1),
            weight(row.count),
            Cell::text(sheets.join(" ")),
            row.finish.map_or(Cell::text(""), |f| Cell::Number(f.height_mm, 1)),
            row.finish.map_or(Cell::text(""), |f| Cell::Number(f.bevel_rad.to_degrees(), 1)),
        ]);
    }
    listing
}

/// What comes out of a bar, in the order of cutting, with lengths as `say` writes them: `4 x 82.60`.
pub(super) fn pieces_off(cuts: &Cuts, bar: &CutBar, say: impl Fn(f64) -> String) -> String {
    let mut runs: Vec<(usize, f64)> = Vec::new();
    for piece in &bar.pieces {
        let length = cuts.of.pieces[*piece].length_mm;
        match runs.last_mut() {
            Some((times, last)) if *last == length => *times += 1,
            _ => runs.push((1, length)),
        }
    }
    runs.iter().map(|(n, l)| format!("{n} x {}", say(*l))).collect::<Vec<_>>().join(" + ")
}

/// A plan of cuts in one line.
pub(super) fn plan_words(cuts: &Cuts, unit: LengthUnit) -> String {
    let pieces: usize = cuts.of.pieces.iter().map(|p| p.count).sum();
    let waste = 100.0 * cuts.plan.waste_mm(&cuts.of.pieces) / cuts.plan.stock_mm;
    format!(
        "{} for {pieces} {}, {} % waste: {}",
        counted(cuts.plan.bars.len(), "bar"),
        cuts.of.what,
        plain(waste, 1),
        if cuts.plan.proven {
            "proven minimum".to_owned()
        } else {
            format!("every plan needs at least {}", Quantity::length(cuts.plan.bound_mm).text(unit))
        }
    )
}

/// Lines of the summary about sheets and bars.
pub(super) fn stock_lines(layout: &Layout, unit: LengthUnit) -> Vec<Line> {
    let mut lines = Vec::new();
    let sheets = &layout.sheets;
    if !sheets.is_empty() {
        let used: Vec<String> = sheets.iter().map(|s| decimal(100.0 * s.nested.utilisation, 0)).collect();
        let parts: usize = sheets.iter().map(|s| s.nested.placed.len()).sum();
        let set_ups = if sheets.iter().any(|s| s.set_up.is_some()) {
            format!(" in {} set-ups", sheets.len())
        } else {
            String::new()
        };
        let on = counted(stock_sheets(sheets), "sheet") + &set_ups;
        lines.push(("sheets", format!("{on} for {parts} parts, {} % used", used.join(" %, "))));
    }
    lines.extend(layout.cuts.iter().map(|c| ("bars", plan_words(c, unit))));
    lines
}

/// All cuts off bars as a listing.
pub fn cutting(cuts: &[Cuts], unit: LengthUnit) -> Listing {
    let denominator = unit.denominator();
    let columns = ["for", "bars", "bar_mm", "bar_in", "pieces_mm", "rest_mm", "rest_in", "note"];
    let mut listing = Listing::new("Cuts", &columns);
    for cut in cuts {
        for (times, bar) in cut.alike() {
            let length = cut.of.stock.bars[bar.bar].length_mm;
            listing.rows.push(vec![
                Cell::text(cut.of.what),
                Cell::count(times),
                Cell::Number(length, 1),
                Cell::Figure(inch_fraction(length, denominator)),
                Cell::text(pieces_off(cut, bar, |mm| plain(mm, 2))),
                Cell::Number(bar.rest_mm, 1),
                Cell::Figure(inch_fraction(bar.rest_mm, denominator)),
                Cell::text(format!(
                    "saw cut {}, end trim {}",
                    Quantity::fine(cut.of.stock.kerf_mm).text(unit),
                    Quantity::fine(cut.of.stock.end_trim_mm).text(unit)
                )),
            ]);
        }
        listing.rows.push(vec![
            Cell::text(cut.of.what),
            Cell::count(cut.plan.bars.len()),
            Cell::Number(cut.plan.stock_mm, 1),
            Cell::Figure(inch_fraction(cut.plan.stock_mm, denominator)),
            Cell::text("all"),
            Cell::text(""),
            Cell::text(""),
            Cell::text(plan_words(cut, unit)),
        ]);
    }
    listing
}

/// The cuts for `result.json`.
pub(super) fn cutting_json(cuts: &[Cuts]) -> Value {
    let figure = super::json::figure;
    let one = |c: &Cuts| {
        json!({
            "for": c.of.what,
            "bars": c.plan.bars.len(),
            "stock_mm": figure(c.plan.stock_mm),
            "least_mm": figure(c.plan.bound_mm),
            "proven": c.plan.proven,
            "waste_mm": figure(c.plan.waste_mm(&c.of.pieces)),
        })
    };
    cuts.iter().map(one).collect()
}
