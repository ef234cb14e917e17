//! The jig: from the table's surface to ribs, rods, spacers and stations.
//!
//! Table coordinates: x along the table's base with 0 under the middle of the board and + toward the tip, y across
//! with 0 in the middle of the width, z up from the flat base of the ribs.

mod layout;
mod rib;
mod rods;
mod stations;

pub use layout::{Bay, Spacers};
pub use rib::Rib;
pub use rods::{Rod, RodHole};
pub use stations::{Station, StationKind};

use crate::curve::{Curve, Parallel, PlaneCurve, Pose};
use crate::finding::Fault;
use crate::job::{Board, Table};
use kurbo::Vec2;

/// Places that are listed and marked.
#[derive(Debug, Clone, PartialEq)]
pub struct Marks {
    /// Ends of the finished board (tail, tip) along its base, mm from its middle.
    pub finished_base_mm: (f64, f64),
    /// Stations: place along the finished board's base (0 in its middle) and along the table's surface, mm.
    pub stations: Vec<(f64, f64)>,
}

/// Everything that is cut and threaded to make the table.
#[derive(Debug, Clone, PartialEq)]
pub struct Jig {
    /// Surface that the board lies on, in table coordinates.
    pub surface: Curve,
    /// How far the surface was raised so that the ribs have their lowest height over the base, mm.
    pub raised_mm: f64,
    /// Skin and film between the surface and the rib tops, mm.
    pub depth_mm: f64,
    /// Width over the outer ribs, mm.
    pub width_mm: f64,
    /// Thickness of the ribs, mm.
    pub rib_thickness_mm: f64,
    /// Ribs from the left (y < 0) to the right, seen from the tail.
    pub ribs: Vec<Rib>,
    /// Rods through all ribs.
    pub rods: Vec<Rod>,
    /// Spacers between the ribs, none without rods.
    pub spacers: Spacers,
    /// Listed and marked stations from tail to tip.
    pub stations: Vec<Station>,
}

/// Makes the jig under `surface`, a curve posed as the board is to lie.
///
/// # Errors
/// Faults with the document's paths: a top edge that folds, rods without room, ribs that do not fit width or stock.
pub fn build(surface: &Curve, marks: &Marks, board: &Board, table: &Table) -> Result<Jig, Vec<Fault>> {
    let depth = table.skin_mm + table.film_mm;
    let raised_mm = table.ribs.lowest_height_mm - lowest_top(surface, depth).map_err(|f| vec![f])?;
    let lifted = surface.posed(Pose { turn_rad: 0.0, shift: Vec2::new(0.0, raised_mm) });
    let top = Parallel::new(&lifted, -depth).map_err(|folds| vec![rib::fold_fault(&folds, "table.skin")])?;

    let mut faults = Vec::new();
    let width_mm = board.width_mm + 2.0 * table.side_margin_mm;
    let positions = layout::positions(&table.ribs, width_mm).unwrap_or_else(|fault| {
        faults.push(fault);
        Vec::new()
    });
    let rods = match &table.rods {
        None => Vec::new(),
        Some(wanted) => rods::place(wanted, &table.ribs, &top).unwrap_or_else(|mut found| {
            faults.append(&mut found);
            Vec::new()
        }),
    };
    let stations = stations::list(&lifted, &top, marks);
    let profile = rib::profile(&top).map_err(|f| vec![f])?;
    faults.extend(rib::stock_faults(&profile, &table.ribs));
    if !faults.is_empty() {
        return Err(faults);
    }
    let ribs = positions.iter().enumerate().map(|(i, y)| Rib::new(i + 1, *y, &profile, &rods, &stations)).collect();
    let spacers = layout::spacers(&positions, table.ribs.thickness_mm, width_mm, table.rods.as_ref(), rods.len());
    Ok(Jig {
        surface: lifted,
        raised_mm,
        depth_mm: depth,
        width_mm,
        rib_thickness_mm: table.ribs.thickness_mm,
        ribs,
        rods,
        spacers,
        stations,
    })
}

/// Height of the lowest place of the rib tops under `surface`, mm.
fn lowest_top(surface: &Curve, depth_mm: f64) -> Result<f64, Fault> {
    let top = Parallel::new(surface, -depth_mm).map_err(|folds| rib::fold_fault(&folds, "table.skin"))?;
    // The lowest place of a parallel lies where the curve itself is lowest, or at an end.
    let (from, to) = top.range_mm();
    let places = [crate::curve::lowest_point(surface), from, to];
    Ok(places.iter().map(|s| top.at(*s).point.y).fold(f64::INFINITY, f64::min))
}
