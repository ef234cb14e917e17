//! `[files]`: what the files are to be like.

use super::doubts;
use super::keys::Range::{self, UpTo, Within};
use super::section::Section;
use crate::codes;
use crate::drawing::Paper;
use crate::job::{DxfDialect, Files, Sheets};
use crate::units::LengthUnit;

/// Sides of a sheet that are read, mm.
const SHEET: Range = Within(120.0, 5_000.0);
/// What the printed square may measure, mm: one further off was printed with another size than the page's own.
const SQUARE: Range = Within(90.0, 110.0);

/// `cutter_mm` is the diameter that the table names, 0 for none.
pub(super) fn files(at: &mut Section<'_, '_>, cutter_mm: f64) -> Files {
    let dialects = [("r2000", DxfDialect::R2000), ("r12", DxfDialect::R12)];
    let dxf = at.choice("dxf", &dialects, "Dialect of the DXF files.");
    let hairline = at.flag("hairline", "SVG lines as thin as lasers want them.").or(false);
    let stroke_text = at.flag("stroke_text", "Marks in single lines, for machines that cannot cut text.").or(false);
    let meaning =
        "A strip as long as the table with a tick, the height and its step at each station, for building by hand.";
    let story_stick = at.flag("story_stick", meaning).or(false);
    let meaning = "The table as one solid, `table.stl`, for milling it from a block or printing it.";
    let table_solid = at.flag("table_solid", meaning).or(false);
    let kerf_mm = at.length("kerf", UpTo(10.0), "Cuts move by half of this to their waste side.").optional();
    at.doubt(kerf_mm.and_then(|kerf_mm| doubts::kerf("files.kerf", kerf_mm)));
    let meaning = "Cuts move by half of the table's cutter to their waste side.";
    let by_cutter = at.flag("cutter_path", meaning).or(false);
    if by_cutter && at.has("kerf") {
        at.one_of(&["kerf", "cutter_path"], "the offset of the cuts");
    }
    if by_cutter && cutter_mm == 0.0 {
        let remedy = "Give the cutter's diameter, or take `cutter_path` out of [files].";
        at.reader.fault(codes::MISSING_KEY, "table.cutter", "`cutter` is missing.", remedy);
    }
    let sheets = sheets(at);
    let meaning = "Width of a roll, for all patterns on one long page as well.";
    let roll_width_mm = at.length("roll", SHEET, meaning).optional();
    let meaning = "What the check square measured on the last print, along its lower and its left edge.";
    let measured = at.lengths("printed_square", SQUARE, (2, 2), meaning).optional();
    Files {
        dxf,
        hairline,
        stroke_text,
        story_stick,
        table_solid,
        cut_width_mm: kerf_mm.or(by_cutter.then_some(cutter_mm)),
        beam: kerf_mm.is_some(),
        sheets,
        roll_width_mm,
        printed_square_mm: measured.map(|m| (m[0], m[1])),
    }
}

fn sheets(at: &mut Section<'_, '_>) -> Option<Sheets> {
    let named = |name| (name, (name, Paper::named(name)));
    let papers: Vec<(&'static str, (&'static str, Option<Paper>))> =
        Paper::names().chain(["none"]).map(named).collect();
    let paper =
        at.word("paper", &papers, "Paper of the full-size patterns.").otherwise("a4, or letter for inch documents,");
    let width = at.length("paper_width", SHEET, "Width of a sheet of your own.").optional();
    let height = at.length("paper_height", SHEET, "Height of a sheet of your own.").optional();
    // Common printers leave 4 to 6 mm; tape wants the overlap: common practice, no source.
    let margin = at.length("margin", Within(0.0, 50.0), "Strip along the sheet's edges that the printer leaves.");
    let margin_mm = margin.or(10.0);
    let overlap_mm =
        at.length("overlap", Within(0.0, 50.0), "How much neighbouring sheets show of each other.").or(12.0);
    let other_side = [("paper_width", "paper_height"), ("paper_height", "paper_width")];
    if let Some((_, other)) = other_side.into_iter().find(|(one, other)| at.has(one) && !at.has(other)) {
        at.missing(other, "Give both sides of the sheet, or a `paper` by name.");
    }
    let (name, paper) = if at.has("paper_width") {
        if at.has("paper") {
            at.one_of(&["paper", "paper_width"], "the paper");
        }
        ("own", Paper { width_mm: width?, height_mm: height? })
    } else {
        let usual = match at.reader.unit {
            LengthUnit::Millimetre => "a4",
            LengthUnit::Inch { .. } => "letter",
        };
        let (name, paper) = paper.unwrap_or_else(|| named(usual).1);
        (name, paper?)
    };
    Some(Sheets { name: name.to_owned(), paper, margin_mm, overlap_mm })
}
