//! `[files]`: what the files are to be like.

use serde::Deserialize;

use super::doubts;
use super::quantity::Quantity;
use super::reader::{Range, Reader, nearest};
use crate::codes;
use crate::drawing::Paper;
use crate::finding::Fault;
use crate::job::{DxfDialect, Files, Sheets};
use crate::units::{Dimension, LengthUnit};

#[derive(Debug, Default, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default)]
pub(super) struct RawFiles {
    /// Dialect of the DXF files.
    ///
    /// Takes one of `r2000`, `r12`; `r2000` when left out.
    dxf: Option<Quantity>,
    /// SVG lines as thin as lasers want them.
    ///
    /// Takes true or false; `false` when left out.
    hairline: Option<Quantity>,
    /// Marks in single lines, for machines that cannot cut text.
    ///
    /// Takes true or false; `false` when left out.
    stroke_text: Option<Quantity>,
    /// Cuts move by half of this to their waste side.
    ///
    /// Takes a length over 0 up to 10 mm.
    kerf: Option<Quantity>,
    /// Cuts move by half of the table's cutter to their waste side.
    ///
    /// Takes true or false; `false` when left out.
    cutter_path: Option<Quantity>,
    /// Paper of the full-size patterns: a0 to a4, b1 to b4, letter, legal, tabloid, ansi-b to ansi-e, or none.
    ///
    /// Takes a text; a4, or letter for inch documents, when left out.
    paper: Option<Quantity>,
    /// Width of a sheet of your own.
    ///
    /// Takes a length from 120 to 5000 mm.
    paper_width: Option<Quantity>,
    /// Height of a sheet of your own.
    ///
    /// Takes a length from 120 to 5000 mm.
    paper_height: Option<Quantity>,
    /// Strip along the sheet's edges that the printer leaves.
    ///
    /// Takes a length from 0 to 50 mm; `10 mm` when left out.
    margin: Option<Quantity>,
    /// How much neighbouring sheets show of each other.
    ///
    /// Takes a length from 0 to 50 mm; `12 mm` when left out.
    overlap: Option<Quantity>,
    /// Width of a roll, for all patterns on one long page as well.
    ///
    /// Takes a length from 120 to 5000 mm.
    roll: Option<Quantity>,
    /// What the square of 100 mm or 4 inches measured on the last print, along its lower and its left edge.
    ///
    /// Takes a list of lengths from 90 to 110 mm.
    printed_square: Option<Vec<Quantity>>,
}

/// Sides of a sheet that are read, mm.
const SHEET: Range = Range::Within(120.0, 5_000.0);

/// `cutter_mm` is the diameter that the table names, 0 for none.
pub(super) fn check(reader: &mut Reader, raw: Option<RawFiles>, cutter_mm: f64) -> Files {
    let raw = raw.unwrap_or_default();
    let length = Dimension::Length;
    let kerf = reader.optional(raw.kerf.as_ref(), "files.kerf", length, Range::Positive(10.0));
    if let Some(kerf_mm) = kerf {
        doubts::kerf(reader, "files.kerf", kerf_mm);
    }
    let by_cutter = reader.flag(raw.cutter_path.as_ref(), "files.cutter_path", false);
    if by_cutter && raw.kerf.is_some() {
        reader.one_of("files", &[("kerf", true), ("cutter_path", true)], "what the cuts are moved for");
    }
    if by_cutter && cutter_mm == 0.0 {
        reader.missing("table.cutter", "Give the cutter's diameter, or take `cutter_path` out of [files].");
    }
    let dxf = match reader.text(raw.dxf.as_ref(), "files.dxf").as_deref() {
        None | Some("r2000") => DxfDialect::R2000,
        Some("r12") => DxfDialect::R12,
        Some(other) => {
            wrong_choice(reader, "files.dxf", other, &["r2000", "r12"], "no dialect of DXF that is written here");
            DxfDialect::R2000
        }
    };
    Files {
        dxf,
        hairline: reader.flag(raw.hairline.as_ref(), "files.hairline", false),
        stroke_text: reader.flag(raw.stroke_text.as_ref(), "files.stroke_text", false),
        cut_width_mm: kerf.or(by_cutter.then_some(cutter_mm)),
        beam: kerf.is_some(),
        sheets: sheets(reader, &raw),
        roll_width_mm: reader.optional(raw.roll.as_ref(), "files.roll", length, SHEET),
        printed_square_mm: printed_square(reader, raw.printed_square.as_deref()),
    }
}

fn sheets(reader: &mut Reader, raw: &RawFiles) -> Option<Sheets> {
    let length = Dimension::Length;
    let margin = reader.optional(raw.margin.as_ref(), "files.margin", length, Range::NotNegative(50.0));
    let overlap = reader.optional(raw.overlap.as_ref(), "files.overlap", length, Range::NotNegative(50.0));
    let width = reader.optional(raw.paper_width.as_ref(), "files.paper_width", length, SHEET);
    let height = reader.optional(raw.paper_height.as_ref(), "files.paper_height", length, SHEET);
    let (name, paper) = match (raw.paper_width.is_some(), raw.paper_height.is_some()) {
        (false, false) => named(reader, raw)?,
        (true, true) => {
            if raw.paper.is_some() {
                reader.one_of("files", &[("paper", true), ("paper_width", true)], "the paper");
            }
            ("own".to_owned(), Paper { width_mm: width?, height_mm: height? })
        }
        (true, false) => {
            reader.missing("files.paper_height", "Give both sides of the sheet, or a `paper` by name.");
            return None;
        }
        (false, true) => {
            reader.missing("files.paper_width", "Give both sides of the sheet, or a `paper` by name.");
            return None;
        }
    };
    // Common printers leave 4 to 6 mm; tape wants the overlap: common practice, no source.
    Some(Sheets { name, paper, margin_mm: margin.unwrap_or(10.0), overlap_mm: overlap.unwrap_or(12.0) })
}

fn named(reader: &mut Reader, raw: &RawFiles) -> Option<(String, Paper)> {
    let usual = match reader.unit {
        LengthUnit::Millimetre => "a4",
        LengthUnit::Inch { .. } => "letter",
    };
    let wanted = match &raw.paper {
        None => usual.to_owned(),
        Some(_) => reader.text(raw.paper.as_ref(), "files.paper")?.to_lowercase(),
    };
    if wanted == "none" {
        return None;
    }
    if let Some(paper) = Paper::named(&wanted) {
        return Some((wanted, paper));
    }
    let names: Vec<&str> = Paper::names().chain(std::iter::once("none")).collect();
    wrong_choice(reader, "files.paper", &wanted, &names, "no paper that is known here");
    None
}

fn printed_square(reader: &mut Reader, raw: Option<&[Quantity]>) -> Option<(f64, f64)> {
    let sides = raw?;
    if sides.len() != 2 {
        reader.faults.push(Fault::new(
            codes::WRONG_SHAPE,
            "files.printed_square",
            format!("`printed_square` has {} sides.", sides.len()),
            "Give two: what the square measured along the lower edge and along the left edge.",
        ));
        return None;
    }
    // A square further off was printed with another size than the page's own.
    let range = Range::Within(90.0, 110.0);
    let mut side =
        |i: usize| reader.optional(sides.get(i), &format!("files.printed_square[{i}]"), Dimension::Length, range);
    Some((side(0)?, side(1)?))
}

/// Records a word that is none of those that a key takes.
pub(super) fn wrong_choice(reader: &mut Reader, path: &str, typed: &str, known: &[&str], what: &str) {
    let hint = nearest(typed, known).map_or(String::new(), |n| format!(" Did you mean \"{n}\"?"));
    let list = known.join(", ");
    reader.faults.push(Fault::new(
        codes::WRONG_CHOICE,
        path,
        format!("`{typed}` is {what}."),
        format!("Write one of {list}.{hint}"),
    ));
}
