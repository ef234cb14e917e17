//! Files that are drawn: for machines, and on paper.

use super::{OutputFile, file};
use crate::drawing::{Drawing, Shape};
use crate::export::{
    DxfOptions, DxfVersion, ExportError, RollOptions, Ruler, SheetOptions, SvgOptions, Unreached, lacks_strokes,
    layer_name, offset_to_waste, with_stroke_text, write_dxf, write_roll, write_sheets, write_svg,
};
use crate::finding::{Fault, Finding, Verdict};
use crate::job::{DxfDialect, Files};
use crate::units::{LengthUnit, plain};

/// Files and what has to be said about them.
type Made = (Vec<OutputFile>, Vec<Finding>);

fn refused(error: ExportError) -> Vec<Fault> {
    vec![fault(&error)]
}

/// A drawing for machines, as `NAME.dxf` and `NAME.svg`.
///
/// # Errors
/// A fault at the key that a file cannot be made with.
pub(super) fn machined(name: &str, drawing: &Drawing, files: &Files) -> Result<Made, Vec<Fault>> {
    let mut findings = Vec::new();
    let mut machined = drawing.clone();
    if let Some(width_mm) = files.cut_width_mm {
        let offset = offset_to_waste(&machined, 0.5 * width_mm).map_err(refused)?;
        findings.extend(offset.unreached.iter().map(|u| unreached(u, width_mm)));
        machined = offset.drawing;
    }
    if files.stroke_text {
        let texts = machined.parts.iter().flat_map(|p| &p.works).filter_map(|w| match &w.shape {
            Shape::Text(text) => Some(text.content.as_str()),
            _ => None,
        });
        let mut missing: Vec<char> = texts.flat_map(lacks_strokes).collect();
        missing.sort_unstable();
        missing.dedup();
        findings.extend(unlettered("DXF and SVG marks", &missing));
        machined = with_stroke_text(&machined);
    }
    let version = match files.dxf {
        DxfDialect::R2000 => DxfVersion::R2000,
        DxfDialect::R12 => DxfVersion::R12,
    };
    let svg = SvgOptions { hairline: files.hairline, ..SvgOptions::default() };
    let made = vec![
        file(&format!("{name}.dxf"), write_dxf(&machined, &DxfOptions { version }).map_err(refused)?),
        file(&format!("{name}.svg"), write_svg(&machined, &svg).map_err(refused)?),
    ];
    Ok((made, findings))
}

/// A drawing as full-size patterns on paper, as far as they are wanted.
///
/// Paper is cut along its lines by hand: patterns show the nominal outline.
///
/// # Errors
/// A fault at the key that a file cannot be made with.
pub(super) fn patterns(drawing: &Drawing, files: &Files, unit: LengthUnit) -> Result<Made, Vec<Fault>> {
    let (mut made, mut findings) = (Vec::new(), Vec::new());
    let ruler = match unit {
        LengthUnit::Millimetre => Ruler::Millimetres,
        LengthUnit::Inch { .. } => Ruler::Inches,
    };
    if let Some(sheets) = &files.sheets {
        let options = SheetOptions {
            paper: sheets.paper,
            margin_mm: sheets.margin_mm,
            overlap_mm: sheets.overlap_mm,
            printed_square_mm: files.printed_square_mm,
            ruler,
        };
        let patterns = write_sheets(drawing, &options).map_err(refused)?;
        findings.extend(unlettered("patterns", &patterns.missing));
        made.push(file(&format!("patterns-{}.pdf", sheets.name), patterns.bytes));
    }
    if let Some(width_mm) = files.roll_width_mm {
        let options = RollOptions { printed_square_mm: files.printed_square_mm, ruler, ..RollOptions::on(width_mm) };
        let patterns = write_roll(drawing, &options).map_err(refused)?;
        // Sheets of the same drawing have said so already.
        findings.extend(unlettered("patterns", &patterns.missing).filter(|_| files.sheets.is_none()));
        made.push(file("patterns-roll.pdf", patterns.bytes));
    }
    Ok((made, findings))
}

fn unreached(found: &Unreached, width_mm: f64) -> Finding {
    Finding {
        code: "cutter-reach",
        subject: format!(
            "{} of {}: waste that the cutter leaves in corners and necks",
            layer_name(found.operation),
            found.part
        ),
        value: found.area_mm2,
        limit: 0.0,
        unit: "mm2",
        verdict: Verdict::Watch,
        source: "the outline grown and shrunk back by half the cut's width",
        remedy: format!("Use a cutter narrower than {} mm, or take the rest out by hand.", plain(width_mm, 3)),
    }
}

fn unlettered(what: &str, missing: &[char]) -> Option<Finding> {
    if missing.is_empty() {
        return None;
    }
    let list = missing.iter().map(char::to_string).collect::<Vec<_>>().join(" ");
    Some(Finding {
        code: "letters-missing",
        subject: format!("{what}: characters that are drawn as crossed boxes: {list}"),
        value: missing.len() as f64,
        limit: 0.0,
        unit: "",
        verdict: Verdict::Watch,
        source: "the letters that files of this kind can carry",
        remedy: "Write names with the letters A to Z, digits and common signs.".to_owned(),
    })
}

fn fault(error: &ExportError) -> Fault {
    let message = format!("{error}.");
    let (path, remedy) = match error {
        ExportError::CutterTooWide { .. } => ("files", "Give a narrower `kerf` or `cutter`, or wider holes."),
        ExportError::Setting { name: "roll width", .. } => ("files.roll", "Use a wider roll, or sheets."),
        ExportError::Setting { name: "margin", .. } => ("files.margin", "Give the strip that the printer leaves."),
        ExportError::Setting { name: "overlap", .. } => ("files.overlap", "Give a smaller overlap."),
        ExportError::Setting { .. } | ExportError::TooManySheets { .. } => {
            ("files.paper", "Use another paper, or \"none\".")
        }
        ExportError::Empty | ExportError::OpenCut { .. } | ExportError::Format(_) => {
            ("table.ribs", "Use a gentler rocker or a shorter table.")
        }
    };
    Fault::new("not-drawable", path, message, remedy)
}
