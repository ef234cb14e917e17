//! `[[stock]]`, `[nesting]` and `[bars]`: what the shop has to cut from.

use serde::Deserialize;

use super::files::wrong_choice;
use super::quantity::Quantity;
use super::reader::{LONGEST_MM, Range, Reader};
use crate::codes;
use crate::finding::Fault;
use crate::job::{Bar, BarStock, Grain, Nesting, SheetStock, Stock};
use crate::units::{self, Dimension, phrase};

#[derive(Debug, Default, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default)]
pub(super) struct RawSheet {
    /// What the sheet is called.
    ///
    /// Takes a text; its number when left out.
    name: Option<Quantity>,
    /// Length.
    ///
    /// Takes a length over 0 up to 20000 mm; must be given.
    length: Option<Quantity>,
    /// Width.
    ///
    /// Takes a length over 0 up to 20000 mm; must be given.
    width: Option<Quantity>,
    /// Only parts of this thickness are cut from it.
    ///
    /// Takes a length over 0 up to 300 mm; parts of any thickness when left out.
    thickness: Option<Quantity>,
    /// How the grain of its face runs to its length.
    ///
    /// Takes one of `along`, `across`, `none`; `along` when left out.
    grain: Option<Quantity>,
    /// How many there are.
    ///
    /// Takes a whole number from 1 to 10000; as many as it takes when left out.
    quantity: Option<Quantity>,
    /// For the weights in the list of parts.
    ///
    /// Takes a density over 0 up to 25000 kg/m3.
    density: Option<Quantity>,
}

#[derive(Debug, Default, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default)]
pub(super) struct RawNesting {
    /// From a part to the sheet's edge.
    ///
    /// Takes a length from 0 to 500 mm; `10 mm` when left out.
    margin: Option<Quantity>,
    /// Between parts.
    ///
    /// Takes a length from 0 to 200 mm; the cutter and 2 mm, or 8 mm, when left out.
    gap: Option<Quantity>,
    /// How the parts' length lies to the grain.
    ///
    /// Takes one of `along`, `across`, `free`; `along` when left out.
    grain: Option<Quantity>,
    /// Parts may be turned end for end.
    ///
    /// Takes true or false; `true` when left out.
    turn: Option<Quantity>,
    /// Parts may be cut from their other face.
    ///
    /// Takes true or false; `false` when left out.
    mirror: Option<Quantity>,
}

#[derive(Debug, Default, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default)]
pub(super) struct RawBars {
    /// Bars that spacers are cut off.
    spacers: Option<RawBarStock>,
    /// Bars that rods are cut off.
    rods: Option<RawBarStock>,
}

#[derive(Debug, Default, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default)]
struct RawBarStock {
    /// What bars there are.
    stock: Option<Vec<RawBar>>,
    /// Width of the saw cut.
    ///
    /// Takes a length from 0 to 20 mm; `3 mm` when left out.
    kerf: Option<Quantity>,
    /// Taken off the beginning of every bar, saw cut included.
    ///
    /// Takes a length from 0 to 500 mm; `0 mm` when left out.
    end_trim: Option<Quantity>,
}

#[derive(Debug, Default, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default)]
struct RawBar {
    /// Length of a bar.
    ///
    /// Takes a length over 0 up to 20000 mm; must be given.
    length: Option<Quantity>,
    /// How many there are.
    ///
    /// Takes a whole number from 1 to 10000; as many as it takes when left out.
    quantity: Option<Quantity>,
}

/// Most kinds of sheets and of bars.
const MOST_KINDS: usize = 20;
/// Most sheets or bars of one kind.
const MOST_OF_A_KIND: usize = 10_000;
/// Strip along a sheet's edge where the shop does not say: edges of sheets are often bruised (common practice, no
/// source).
const MARGIN_MM: f64 = 10.0;
/// Room between parts where no cutter is named (common practice, no source).
const GAP_MM: f64 = 8.0;
/// Bridge that is left between two paths of the cutter, where the gap is not given (common practice, no source).
const BRIDGE_MM: f64 = 2.0;
/// Saw cut where the shop does not say: a blade of a bench saw (common practice, no source).
const KERF_MM: f64 = 3.0;

/// `cut_width_mm` is what the cutter or the beam takes, 0 where it is not named.
pub(super) fn check(
    reader: &mut Reader,
    sheets: Option<Vec<RawSheet>>,
    nesting: Option<RawNesting>,
    bars: Option<RawBars>,
    cut_width_mm: f64,
) -> Stock {
    let sheets = sheets.unwrap_or_default();
    too_many(reader, "stock", sheets.len());
    let bars = bars.unwrap_or_default();
    Stock {
        sheets: sheets.iter().enumerate().filter_map(|(i, s)| sheet(reader, s, i)).collect(),
        nesting: rules(reader, &nesting.unwrap_or_default(), cut_width_mm),
        spacer_bars: bars.spacers.and_then(|b| bar_stock(reader, &b, "bars.spacers")),
        rod_bars: bars.rods.and_then(|b| bar_stock(reader, &b, "bars.rods")),
    }
}

fn too_many(reader: &mut Reader, path: &str, count: usize) {
    if count > MOST_KINDS {
        let message = format!("{count} kinds are listed.");
        reader.faults.push(Fault::new(codes::TOO_MANY, path, message, format!("At most {MOST_KINDS} are read.")));
    }
}

fn sheet(reader: &mut Reader, raw: &RawSheet, index: usize) -> Option<SheetStock> {
    let path = |key: &str| format!("stock[{index}].{key}");
    let side = Range::Positive(LONGEST_MM);
    let length_mm = reader.required(raw.length.as_ref(), &path("length"), Dimension::Length, side);
    let width_mm = reader.required(raw.width.as_ref(), &path("width"), Dimension::Length, side);
    let thickness =
        reader.optional(raw.thickness.as_ref(), &path("thickness"), Dimension::Length, Range::Positive(300.0));
    let density = reader.optional(raw.density.as_ref(), &path("density"), Dimension::Density, Range::Positive(25e3));
    let quantity = raw.quantity.as_ref().and_then(|q| reader.count(Some(q), &path("quantity"), 1, MOST_OF_A_KIND));
    let name = reader.text(raw.name.as_ref(), &path("name")).unwrap_or_else(|| format!("stock {}", index + 1));
    Some(SheetStock {
        name,
        length_mm: length_mm?,
        width_mm: width_mm?,
        thickness_mm: thickness,
        grain: grain(reader, raw.grain.as_ref(), &path("grain"), "none"),
        quantity,
        density_kg_m3: density,
    })
}

/// `free` is the word for no grain, or for a part that does not care.
fn grain(reader: &mut Reader, raw: Option<&Quantity>, path: &str, free: &str) -> Grain {
    match reader.text(raw, path).as_deref() {
        None | Some("along") => Grain::Along,
        Some("across") => Grain::Across,
        Some(word) if word == free => Grain::Free,
        Some(other) => {
            wrong_choice(reader, path, other, &["along", "across", free], "no way that grain runs");
            Grain::Along
        }
    }
}

fn rules(reader: &mut Reader, raw: &RawNesting, cut_width_mm: f64) -> Nesting {
    let length = Dimension::Length;
    let margin = reader.optional(raw.margin.as_ref(), "nesting.margin", length, Range::NotNegative(500.0));
    let gap = reader.optional(raw.gap.as_ref(), "nesting.gap", length, Range::NotNegative(200.0));
    if let Some(gap) = gap.filter(|g| *g < cut_width_mm) {
        let cut = units::Quantity::exact(cut_width_mm);
        reader.faults.push(Fault::new(
            codes::GAP_TOO_NARROW,
            "nesting.gap",
            phrase!("a gap of {} is narrower than the cut of {}.", units::Quantity::exact(gap), cut),
            phrase!("Give {} at least, or take the key out.", cut),
        ));
    }
    let usual = if cut_width_mm > 0.0 { cut_width_mm + BRIDGE_MM } else { GAP_MM };
    Nesting {
        margin_mm: margin.unwrap_or(MARGIN_MM),
        gap_mm: gap.unwrap_or(usual),
        grain: grain(reader, raw.grain.as_ref(), "nesting.grain", "free"),
        turn: reader.flag(raw.turn.as_ref(), "nesting.turn", true),
        mirror: reader.flag(raw.mirror.as_ref(), "nesting.mirror", false),
    }
}

fn bar_stock(reader: &mut Reader, raw: &RawBarStock, path: &str) -> Option<BarStock> {
    let list = raw.stock.as_deref().unwrap_or_default();
    if list.is_empty() {
        reader.missing(&format!("{path}.stock"), "List what you have: stock = [{ length = 2400 }].");
        return None;
    }
    too_many(reader, &format!("{path}.stock"), list.len());
    let length = Dimension::Length;
    let bars = list.iter().enumerate().filter_map(|(i, b)| {
        let at = |key: &str| format!("{path}.stock[{i}].{key}");
        let length_mm = reader.required(b.length.as_ref(), &at("length"), length, Range::Positive(LONGEST_MM));
        let quantity = b.quantity.as_ref().and_then(|q| reader.count(Some(q), &at("quantity"), 1, MOST_OF_A_KIND));
        Some(Bar { length_mm: length_mm?, quantity })
    });
    let bars: Vec<Bar> = bars.collect();
    let kerf = reader.optional(raw.kerf.as_ref(), &format!("{path}.kerf"), length, Range::NotNegative(20.0));
    let trim = reader.optional(raw.end_trim.as_ref(), &format!("{path}.end_trim"), length, Range::NotNegative(500.0));
    Some(BarStock { bars, kerf_mm: kerf.unwrap_or(KERF_MM), end_trim_mm: trim.unwrap_or(0.0) })
}
