//! `[[stock]]`, `[nesting]` and `[bars]`: what the shop has to cut from.

use super::keys::Range::{UpTo, Within};
use super::prices::HIGHEST;
use super::reader::LONGEST_MM;
use super::section::Section;
use crate::codes;
use crate::job::{Bar, BarStock, Grain, Nesting, SheetStock, Stock};
use crate::units::{Dimension, Quantity, phrase};

/// Most kinds of sheets and of bars.
const MOST_KINDS: usize = 20;
/// Most sheets or bars of one kind.
const MOST_OF_A_KIND: usize = 10_000;
/// Bridge that is left between two paths of the cutter, where the gap is not given (common practice, no source).
const BRIDGE_MM: f64 = 2.0;
/// Saw cut where the shop does not say: a blade of a bench saw (common practice, no source).
const KERF_MM: f64 = 3.0;

/// `cut_width_mm` is what the cutter or the beam takes, 0 where it is not named.
pub(super) fn stock(at: &mut Section<'_, '_>, cut_width_mm: f64) -> Stock {
    let meaning = "Sheets that flat parts are laid out on, one table for each kind.";
    let sheets = at.tables("stock", (0, MOST_KINDS), meaning, sheet).optional().unwrap_or_default();
    let nesting = at.settings("nesting", "How parts lie on their sheets.", |at| nesting(at, cut_width_mm));
    let (spacer_bars, rod_bars) = at.settings("bars", "Bars that spacers and rods are cut off.", |at| {
        let spacers = at.table("spacers", "Bars that spacers are cut off.", bar_stock).optional();
        (spacers, at.table("rods", "Bars that rods are cut off.", bar_stock).optional())
    });
    Stock { sheets, nesting, spacer_bars, rod_bars }
}

fn sheet(at: &mut Section<'_, '_>, index: usize) -> Option<SheetStock> {
    let name = at.text("name", "What the sheet is called.").otherwise("its number");
    let length = at.length("length", UpTo(LONGEST_MM), "Length.").usual(200.0, 8000.0).required();
    let width = at.length("width", UpTo(LONGEST_MM), "Width.").required();
    let thickness = at.length("thickness", UpTo(300.0), "Only parts of this thickness are cut from it.");
    let thickness_mm = thickness.usual(2.5, 80.0).otherwise("parts of any thickness");
    let grains = [("along", Grain::Along), ("across", Grain::Across), ("none", Grain::Free)];
    let grain = at.choice("grain", &grains, "How the grain of its face runs to its length.");
    let quantity = quantity(at);
    let meaning = "For the weights in the list of parts.";
    let density_kg_m3 = at.quantity("density", Dimension::Density, UpTo(25e3), meaning).optional();
    let price = price(at, "Price of one sheet, for the shopping list.");
    let name = name.unwrap_or_else(|| format!("stock {}", index + 1));
    Some(SheetStock { name, length_mm: length?, width_mm: width?, thickness_mm, grain, quantity, density_kg_m3, price })
}

fn quantity(at: &mut Section<'_, '_>) -> Option<usize> {
    at.count("quantity", (1, MOST_OF_A_KIND), "How many there are.").otherwise("as many as it takes")
}

fn price(at: &mut Section<'_, '_>, meaning: &'static str) -> Option<f64> {
    at.quantity("price", Dimension::Price, Within(0.0, HIGHEST), meaning).optional()
}

fn nesting(at: &mut Section<'_, '_>, cut_width_mm: f64) -> Nesting {
    let margin_mm =
        at.length("margin", Within(0.0, 500.0), "From a part to the sheet's edge.").or(Nesting::USUAL_MARGIN_MM);
    let gap = at.length("gap", Within(0.0, 200.0), "Between parts.").otherwise("the cutter and 2 mm, or 8 mm,");
    let grains = [("along", Grain::Along), ("across", Grain::Across), ("free", Grain::Free)];
    let grain = at.choice("grain", &grains, "How the parts' length lies to the grain.");
    let turn = at.flag("turn", "Parts may be turned end for end.").or(true);
    let mirror = at.flag("mirror", "Parts may be cut from their other face.").or(false);
    if let Some(gap_mm) = gap.filter(|g| *g < cut_width_mm) {
        let (gap, cut) = (Quantity::exact(gap_mm), Quantity::exact(cut_width_mm));
        let message = phrase!("a gap of {} is narrower than the cut of {}.", gap, cut);
        at.fault(codes::GAP_TOO_NARROW, "gap", message, phrase!("Give {} at least, or take the key out.", cut));
    }
    let usual_mm = if cut_width_mm > 0.0 { cut_width_mm + BRIDGE_MM } else { Nesting::USUAL_GAP_MM };
    Nesting { margin_mm, gap_mm: gap.unwrap_or(usual_mm), grain, turn, mirror }
}

fn bar_stock(at: &mut Section<'_, '_>) -> Option<BarStock> {
    let bar = |at: &mut Section<'_, '_>, _| {
        let length = at.length("length", UpTo(LONGEST_MM), "Length of a bar.").required();
        let quantity = quantity(at);
        let price = price(at, "Price of one bar, for the shopping list.");
        Some(Bar { length_mm: length?, quantity, price })
    };
    let bars = at.tables("stock", (1, MOST_KINDS), "What bars there are.", bar);
    let bars = bars.needed("List what you have: stock = [{ length = 2400 }].");
    let kerf_mm = at.length("kerf", Within(0.0, 20.0), "Width of the saw cut.").or(KERF_MM);
    let meaning = "Taken off the beginning of every bar, saw cut included.";
    let end_trim_mm = at.length("end_trim", Within(0.0, 500.0), meaning).or(0.0);
    Some(BarStock { bars: bars?, kerf_mm, end_trim_mm })
}
