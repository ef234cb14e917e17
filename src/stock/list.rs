//! The list of all parts.

use super::Layout;
use super::bars::spacer_pieces;
use crate::jig::{Finish, Jig, PartKind};
use crate::job::Job;
use crate::units::{LengthUnit, Quantity};

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
pub(crate) fn cut_rows(job: &Job, jig: &Jig, layout: &Layout) -> Vec<CutRow> {
    let Layout { parts, sheets, .. } = layout;
    let mut rows: Vec<(Vec<f64>, CutRow)> = Vec::new();
    for (i, flat) in parts.iter().enumerate() {
        let Some(outline) = flat.part.outline() else { continue };
        let on = sheets.iter().find(|s| s.nested.placed.iter().any(|p| p.part == i));
        let density = on.and_then(|s| s.stock.density_kg_m3).or_else(|| {
            job.table
                .rib_material
                .as_ref()
                .filter(|_| matches!(flat.kind, PartKind::Rib { .. }))
                .and_then(|m| m.density_kg_m3)
        });
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
    let count = table.skin_sheets.count;
    let sheet_mm = table.skin_mm / count as f64;
    let size_mm = [length, jig.width_mm, sheet_mm];
    let density = table.skin_material.as_ref().and_then(|m| m.density_kg_m3);
    (table.skin_mm > 0.0).then(|| CutRow {
        names: vec!["table skin".to_owned()],
        count,
        stock: table.skin_material.as_ref().map_or_else(|| Quantity::fine(sheet_mm).text(job.unit), |m| m.name.clone()),
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
