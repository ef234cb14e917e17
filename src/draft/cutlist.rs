//! The list of all parts, and how pieces are cut off bars.

use serde_json::{Value, json};

use super::{Finish, FlatPart, Sheet};
use crate::drawing::{Cell, Listing};
use crate::jig::{CutBar, CuttingPlan, Jig, Piece};
use crate::job::{BarStock, Job};
use crate::units::{LengthUnit, Quantity, inch_fraction, plain};

/// Parts that are alike.
#[derive(Debug, Clone, PartialEq)]
pub struct CutRow {
    /// Their names.
    pub names: Vec<String>,
    /// How many.
    pub count: usize,
    /// What they are cut from, as far as it is known.
    pub stock: String,
    /// Length, width and thickness, mm; 0 where there is none.
    pub size_mm: [f64; 3],
    /// What is still to be done to it once it is cut, where something is.
    pub finish: Option<Finish>,
    /// Weight of one, kg, where the density of its stock is known.
    pub weight_kg: Option<f64>,
    /// Numbers of the sheets they are on.
    pub sheets: Vec<usize>,
}

/// Cubic millimetres in a cubic metre.
const MM3_PER_M3: f64 = 1e9;

/// All parts of the table: what is cut from sheets, the skin, spacers, rods, nuts and washers.
pub fn cut_rows(job: &Job, jig: &Jig, parts: &[FlatPart], sheets: &[Sheet]) -> Vec<CutRow> {
    let mut rows: Vec<(Vec<f64>, CutRow)> = Vec::new();
    for (i, flat) in parts.iter().enumerate() {
        let Some(outline) = flat.part.outline() else { continue };
        let on = sheets.iter().find(|s| s.nested.placed.iter().any(|p| p.part == i));
        let density = on
            .and_then(|s| s.stock.density_kg_m3)
            .or_else(|| job.table.rib_material.as_ref().filter(|_| flat.is_rib).and_then(|m| m.density_kg_m3));
        let bounds = outline.bounds();
        let area = flat.part.net_area_mm2();
        // Parts are alike when size, area and finish are, and they come from the same stock.
        let stock = on.map_or_else(|| Quantity::fine(flat.thickness_mm).text(job.unit), |s| s.stock.name.clone());
        let size_mm = [bounds.width(), bounds.height(), flat.thickness_mm];
        let finish = flat.finish.map_or([0.0; 2], |f| [f.height_mm, f.bevel_rad]);
        let alike = vec![size_mm[0], size_mm[1], size_mm[2], area, outline.length_mm(), finish[0], finish[1]];
        let same = |(a, row): &&mut (Vec<f64>, CutRow)| {
            row.stock == stock && a.iter().zip(&alike).all(|(x, y)| (x - y).abs() <= 1e-6 * x.abs().max(1.0))
        };
        let number = on.map(|s| s.number);
        if let Some((_, row)) = rows.iter_mut().find(same) {
            row.names.push(flat.part.id.clone());
            row.count += 1;
            row.sheets.extend(number.filter(|n| !row.sheets.contains(n)));
        } else {
            let weight_kg = density.map(|d| area * flat.thickness_mm / MM3_PER_M3 * d);
            let names = vec![flat.part.id.clone()];
            let sheets = number.into_iter().collect();
            let finish = flat.finish;
            rows.push((alike, CutRow { names, count: 1, stock, size_mm, finish, weight_kg, sheets }));
        }
    }
    let mut rows: Vec<CutRow> = rows.into_iter().map(|(_, row)| row).collect();
    rows.extend(skin(job, jig));
    rows.extend(hardware(jig, job.unit));
    rows
}

fn skin(job: &Job, jig: &Jig) -> Option<CutRow> {
    let table = &job.table;
    let length = jig.surface.curvature().length_mm();
    let size_mm = [length, jig.width_mm, table.skin_mm];
    let density = table.skin_material.as_ref().and_then(|m| m.density_kg_m3);
    (table.skin_mm > 0.0).then(|| CutRow {
        names: vec!["table skin".to_owned()],
        count: 1,
        stock: table
            .skin_material
            .as_ref()
            .map_or_else(|| Quantity::fine(table.skin_mm).text(job.unit), |m| m.name.clone()),
        size_mm,
        finish: None,
        weight_kg: density.map(|d| size_mm.iter().product::<f64>() / MM3_PER_M3 * d),
        sheets: Vec::new(),
    })
}

fn hardware(jig: &Jig, unit: LengthUnit) -> Vec<CutRow> {
    let schedule = &jig.spacers;
    let bar = |name: &str, count: usize, length: f64| CutRow {
        names: vec![name.to_owned()],
        count,
        stock: format!("rod {}", Quantity::fine(schedule.rod_diameter_mm).text(unit)),
        size_mm: [length, 0.0, 0.0],
        finish: None,
        weight_kg: None,
        sheets: Vec::new(),
    };
    let mut rows: Vec<CutRow> = spacer_pieces(jig)
        .into_iter()
        .map(|p| CutRow { stock: "spacer stock".to_owned(), ..bar("spacer", p.count, p.length_mm) })
        .collect();
    if schedule.rod_count > 0 {
        rows.push(bar("threaded rod", schedule.rod_count, schedule.rod_length_mm));
        rows.push(bar("nut and washer", 2 * schedule.rod_count, 0.0));
    }
    rows
}

/// Spacers by their length.
fn spacer_pieces(jig: &Jig) -> Vec<Piece> {
    let mut pieces: Vec<Piece> = Vec::new();
    for bay in jig.spacers.bays.iter().filter(|b| b.count > 0) {
        let same = |p: &&mut Piece| (p.length_mm - bay.spacer_length_mm).abs() < 1e-6;
        match pieces.iter_mut().find(same) {
            Some(piece) => piece.count += bay.count,
            None => {
                let label = "spacer".to_owned();
                pieces.push(Piece { label, length_mm: bay.spacer_length_mm, count: bay.count });
            }
        }
    }
    pieces
}

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

/// Pieces that are to be cut off bars.
#[derive(Debug, Clone, PartialEq)]
pub struct BarCuts<'a> {
    /// What they are: `spacers` or `rods`, as the document calls them.
    pub what: &'static str,
    /// The pieces.
    pub pieces: Vec<Piece>,
    /// What they are cut from.
    pub stock: &'a BarStock,
}

impl<'a> BarCuts<'a> {
    /// What the job has bars for.
    pub fn of(job: &'a Job, jig: &Jig) -> Vec<Self> {
        let rods = Piece {
            label: "threaded rod".to_owned(),
            length_mm: jig.spacers.rod_length_mm,
            count: jig.spacers.rod_count,
        };
        let cuts = [
            ("spacers", spacer_pieces(jig), job.stock.spacer_bars.as_ref()),
            ("rods", vec![rods], job.stock.rod_bars.as_ref()),
        ];
        cuts.into_iter()
            .filter(|(_, pieces, _)| pieces.iter().any(|p| p.count > 0))
            .filter_map(|(what, pieces, stock)| stock.map(|stock| Self { what, pieces, stock }))
            .collect()
    }
}

/// Pieces off bars with the plan.
#[derive(Debug, Clone, PartialEq)]
pub struct Cuts<'a> {
    /// What is cut from what.
    pub of: BarCuts<'a>,
    /// The plan.
    pub plan: CuttingPlan,
}

impl Cuts<'_> {
    /// Bars that are cut alike, with how many there are of them.
    pub(in crate::draft) fn alike(&self) -> Vec<(usize, &CutBar)> {
        let mut groups: Vec<(usize, &CutBar)> = Vec::new();
        for bar in &self.plan.bars {
            match groups.iter_mut().find(|(_, b)| **b == *bar) {
                Some((times, _)) => *times += 1,
                None => groups.push((1, bar)),
            }
        }
        groups
    }

    /// What comes out of a bar, in the order of cutting: `4 x 82.60`.
    fn pieces(&self, bar: &CutBar) -> String {
        self.pieces_by(bar, |mm| plain(mm, 2))
    }

    /// The same with lengths as `say` writes them.
    pub(in crate::draft) fn pieces_by(&self, bar: &CutBar, say: impl Fn(f64) -> String) -> String {
        let mut runs: Vec<(usize, f64)> = Vec::new();
        for piece in &bar.pieces {
            let length = self.of.pieces[*piece].length_mm;
            match runs.last_mut() {
                Some((times, last)) if *last == length => *times += 1,
                _ => runs.push((1, length)),
            }
        }
        runs.iter().map(|(n, l)| format!("{n} x {}", say(*l))).collect::<Vec<_>>().join(" + ")
    }

    /// The plan in one line.
    pub fn words(&self, unit: LengthUnit) -> String {
        let pieces: usize = self.of.pieces.iter().map(|p| p.count).sum();
        let waste = 100.0 * self.plan.waste_mm(&self.of.pieces) / self.plan.stock_mm;
        format!(
            "{pieces} {} out of {}, {} % waste: {}",
            self.of.what,
            super::counted(self.plan.bars.len(), "bar"),
            plain(waste, 1),
            if self.plan.proven {
                "no plan uses less".to_owned()
            } else {
                format!("no plan uses less than {}", Quantity::length(self.plan.bound_mm).text(unit))
            }
        )
    }
}

/// All cuts off bars as a listing.
pub fn cutting(cuts: &[Cuts<'_>], unit: LengthUnit) -> Listing {
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
                Cell::text(cut.pieces(bar)),
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
            Cell::text(cut.words(unit)),
        ]);
    }
    listing
}

/// The cuts for `result.json`.
pub fn cutting_json(cuts: &[Cuts<'_>]) -> Value {
    let figure = super::result::figure;
    let one = |c: &Cuts<'_>| {
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
