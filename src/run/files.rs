//! The files of a build: drawn for machines and on paper, listed, and told.

use std::collections::BTreeSet;

use kurbo::{Point, Vec2};
use serde_json::Value;

use super::{Outcome, OutputFile, file, json_bytes};
use crate::built::{Built, together};
use crate::codes;
use crate::draft;
use crate::drawing::{Drawing, Listing, Operation, Part, Shape, Text, TextAnchor};
use crate::export::{
    DxfOptions, DxfVersion, ExportError, RollOptions, Ruler, SheetOptions, SvgOptions, Unreached, lacks_strokes,
    layer_name, offset_to_waste, with_stroke_text, write_csv, write_dxf, write_html, write_roll, write_sheets,
    write_stl, write_svg,
};
use crate::finding::{Fault, Faults, Finding, Held, Verdict};
use crate::jig::PartKind;
use crate::job::{DxfDialect, Files};
use crate::stock::cut_rows;
use crate::units::{LengthUnit, Quantity, phrase};

/// Words, draws and writes all that was built.
///
/// # Errors
/// A fault at the key that a file cannot be made with.
pub fn files(built: Built) -> Result<Outcome, Faults> {
    let unit = built.design.job.unit;
    worded(built, true).map_err(|faults| faults.in_units(unit))
}

/// Words all that was built and looks whether its files can be made, without making them.
///
/// # Errors
/// As [`files`].
pub fn check(built: Built) -> Result<Outcome, Faults> {
    let unit = built.design.job.unit;
    worded(built, false).map_err(|faults| faults.in_units(unit))
}

fn worded(mut built: Built, with_files: bool) -> Result<Outcome, Faults> {
    let drawings = Drawings::of(&built)?;
    let (files, unit) = (built.design.job.files.clone(), built.design.job.unit);
    let machined = || if with_files { drawings.machined(&files) } else { Ok(Vec::new()) };
    let (machined, worded) = together(machined, || -> Result<_, Faults> {
        let (patterns, letters) = drawings.patterns(&files, unit)?;
        built.checks.extend(drawings.findings.iter().cloned().chain(letters));
        let result = draft::result(&built);
        let others = if with_files { [patterns, listed(&built, &result)].concat() } else { Vec::new() };
        Ok((result, others))
    });
    let (mut made, (result, others)) = (machined?, worded?);
    made.extend(others);
    let summary = draft::summary(&built);
    let job = built.design.job;
    Ok(Outcome { summary, checks: built.checks, unit, accepted: job.accepted, result, files: made })
}

/// The listings, the table as a solid, all figures and the book.
fn listed(built: &Built, result: &Value) -> Vec<OutputFile> {
    let mut made = listings(built);
    if built.design.job.files.table_solid {
        let origin = draft::origin(&built.design.job.hash);
        made.push(file("table.stl", write_stl(&built.jig.solid(), &origin)));
    }
    made.push(file("result.json", json_bytes(result)));
    made.push(file("book.html", write_html(&draft::book(built))));
    made
}

/// All listings.
fn listings(built: &Built) -> Vec<OutputFile> {
    let (job, jig, layout) = (&built.design.job, &built.jig, &built.layout);
    let (origin, denominator) = (draft::origin(&job.hash), job.unit.denominator());
    let rows = cut_rows(job, jig, layout);
    let all = [
        ("shims.csv", built.correction.as_ref().map(|c| draft::shims(&c.schedule, denominator))),
        ("outline.csv", draft::outline(built, denominator)),
        ("stations.csv", Some(draft::stations(jig, denominator))),
        ("tapers.csv", draft::tapers(built, denominator)),
        ("spacers.csv", (!jig.spacers.bays.is_empty()).then(|| draft::spacers(jig, denominator))),
        ("bearers.csv", (!jig.bearers.is_empty()).then(|| draft::bearers(jig, denominator))),
        ("cutlist.csv", Some(draft::cutlist(&rows, denominator))),
        ("shopping.csv", Some(draft::shopping(built))),
        ("cutting.csv", (!layout.cuts.is_empty()).then(|| draft::cutting(&layout.cuts, job.unit))),
    ];
    let written = |(name, listing): (&str, Option<Listing>)| Some(file(name, write_csv(&listing?, &origin)));
    all.into_iter().filter_map(written).collect()
}

/// Everything that is drawn.
struct Drawings {
    /// Ribs and members, as they are on paper, cut along their lines by hand.
    nominal: Vec<Drawing>,
    /// Ribs, members and sheets for machines, each with the name of its files.
    machined: Vec<(String, Drawing)>,
    /// What has to be said about them.
    findings: Vec<Finding>,
    title: String,
}

impl Drawings {
    fn of(built: &Built) -> Result<Self, Faults> {
        let (job, jig, layout) = (&built.design.job, &built.jig, &built.layout);
        let origin = draft::origin(&job.hash);
        let dressed: Vec<Part> = layout.parts.iter().map(|flat| draft::dressed(flat, jig)).collect();
        let is_rib = |i: &usize| matches!(layout.parts[*i].kind, PartKind::Rib { .. });
        let (ribs, others): (Vec<usize>, Vec<usize>) = (0..dressed.len()).partition(is_rib);
        let parts = |of: Vec<usize>| of.into_iter().map(|i| dressed[i].clone()).collect::<Vec<Part>>();
        let named = [
            ("ribs", draft::ribs(parts(ribs), &job.title, &origin)),
            ("members", draft::members(parts(others), &job.title, &origin)),
            ("stick", job.files.story_stick.then(|| draft::stick(built)).flatten()),
        ];
        let mut all =
            Self { nominal: Vec::new(), machined: Vec::new(), findings: Vec::new(), title: job.title.clone() };
        for (name, drawing) in named.into_iter().filter_map(|(name, drawing)| Some((name, drawing?))) {
            let (for_machines, findings) = for_machines(name, &drawing, &job.files, job.unit)?;
            all.machined.push((name.to_owned(), for_machines));
            all.findings.extend(findings);
            all.nominal.push(drawing);
        }
        if let Some(plan) = draft::plan(built) {
            // Plain rectangles are marked out without a pattern.
            let (plan, _) = for_machines("plan", &plan, &job.files, job.unit)?;
            all.machined.push(("plan".to_owned(), plan));
        }
        for sheet in &layout.sheets {
            let (name, drawing) = (sheet.file_name(), draft::sheet_drawing(sheet, &dressed, job, &origin));
            // What has to be said about its parts is said of the parts' own drawings.
            let (for_machines, _) = for_machines(&name, &drawing, &job.files, job.unit)?;
            all.machined.push((name, for_machines));
        }
        Ok(all)
    }

    /// A DXF and an SVG file of each drawing for machines.
    fn machined(&self, files: &Files) -> Result<Vec<OutputFile>, Faults> {
        let version = match files.dxf {
            DxfDialect::R2000 => DxfVersion::R2000,
            DxfDialect::R12 => DxfVersion::R12,
        };
        let svg = SvgOptions { hairline: files.hairline, ..SvgOptions::default() };
        let mut made = Vec::new();
        for (name, drawing) in &self.machined {
            let wrong = |e: ExportError| fault(name, &e);
            let dxf = write_dxf(drawing, &DxfOptions { version }).map_err(wrong)?;
            made.push(file(&format!("{name}.dxf"), dxf));
            made.push(file(&format!("{name}.svg"), write_svg(drawing, &svg).map_err(wrong)?));
        }
        Ok(made)
    }

    /// Patterns on sheets and on a roll, and what has to be said about them.
    fn patterns(&self, files: &Files, unit: LengthUnit) -> Result<(Vec<OutputFile>, Option<Finding>), Faults> {
        match on_paper(&self.title, &self.nominal) {
            Some(drawing) => patterns(&drawing, files, unit).map_err(|e| fault("patterns", &e).into()),
            None => Ok((Vec::new(), None)),
        }
    }
}

/// A drawing for machines, with cuts moved and texts in strokes as the job says, and what has to be said about it.
fn for_machines(
    name: &str,
    drawing: &Drawing,
    files: &Files,
    unit: LengthUnit,
) -> Result<(Drawing, Vec<Finding>), Faults> {
    let mut findings = Vec::new();
    let mut drawing = drawing.clone();
    if let Some(width_mm) = files.cut_width_mm {
        let offset = offset_to_waste(&drawing, 0.5 * width_mm, files.beam).map_err(|e| fault(name, &e))?;
        findings.extend(unreached(name, &offset.unreached, width_mm));
        drawing = offset.drawing;
        say_moved(&mut drawing, files, unit);
    }
    if files.stroke_text {
        let texts = drawing.parts.iter().flat_map(|p| &p.works).filter_map(|w| match &w.shape {
            Shape::Text(text) => Some(text.content.as_str()),
            _ => None,
        });
        let missing: BTreeSet<char> = texts.flat_map(lacks_strokes).collect();
        findings.extend(unlettered(&format!("marks of the {name}"), &missing));
        drawing = with_stroke_text(&drawing);
    }
    Ok((drawing, findings))
}

/// Says in the title and below the drawing that its cuts are moved, so that nobody moves them again.
fn say_moved(drawing: &mut Drawing, files: &Files, unit: LengthUnit) {
    let Some(words) = draft::cuts_moved(files, unit) else { return };
    let corner = drawing.bounds().map_or(Point::ZERO, |b| b.origin());
    let mut note = Part::new("note", "Note");
    let text = Text {
        at: corner - Vec2::new(0.0, 2.0 * NOTE_MM),
        height_mm: NOTE_MM,
        angle_rad: 0.0,
        anchor: TextAnchor::Start,
        content: words.clone(),
    };
    note.add(Operation::Note, Shape::Text(text));
    drawing.parts.push(note);
    drawing.title = format!("{}. {words}", drawing.title);
}

/// Height of capitals of the note below a drawing, mm.
const NOTE_MM: f64 = 10.0;

fn patterns(
    drawing: &Drawing,
    files: &Files,
    unit: LengthUnit,
) -> Result<(Vec<OutputFile>, Option<Finding>), ExportError> {
    let mut made = Vec::new();
    let ruler = match unit {
        LengthUnit::Millimetre => Ruler::Millimetres,
        LengthUnit::Inch { .. } => Ruler::Inches,
    };
    let printed_square_mm = files.printed_square_mm;
    let mut missing = BTreeSet::new();
    if let Some(sheets) = &files.sheets {
        let options = SheetOptions {
            paper: sheets.paper,
            margin_mm: sheets.margin_mm,
            overlap_mm: sheets.overlap_mm,
            printed_square_mm,
            ruler,
        };
        let patterns = write_sheets(drawing, &options)?;
        missing.extend(patterns.missing);
        made.push(file(&format!("patterns-{}.pdf", sheets.name), patterns.bytes));
    }
    if let Some(width_mm) = files.roll_width_mm {
        let options = RollOptions { printed_square_mm, ruler, ..RollOptions::on(width_mm) };
        let patterns = write_roll(drawing, &options)?;
        missing.extend(patterns.missing);
        made.push(file("patterns-roll.pdf", patterns.bytes));
    }
    Ok((made, unlettered("patterns", &missing)))
}

/// All parts that paper helps with: a plain rectangle is marked out faster than glued, unless it is there for its marks.
fn on_paper(title: &str, drawings: &[Drawing]) -> Option<Drawing> {
    let origin = drawings.first()?.origin.clone();
    let parts: Vec<Part> = drawings
        .iter()
        .flat_map(|d| &d.parts)
        .filter(|p| p.id == draft::STICK_ID || !plain_rectangle(p))
        .cloned()
        .collect();
    (!parts.is_empty()).then(|| Drawing { title: format!("{title}: patterns"), origin, parts })
}

fn plain_rectangle(part: &Part) -> bool {
    part.works.iter().all(|w| match (&w.operation, &w.shape) {
        (Operation::CutInside | Operation::Drill, _) => false,
        (Operation::CutOutside, Shape::Contour(c)) => {
            let bounds = c.bounds();
            c.vertices().len() == 4 && (c.signed_area_mm2().abs() - bounds.area()).abs() < 1e-6 * bounds.area()
        }
        _ => true,
    })
}

/// One finding for all parts of a drawing: ribs are alike, and so are their corners.
fn unreached(name: &str, all: &[Unreached], width_mm: f64) -> Option<Finding> {
    let worst = all.iter().max_by(|a, b| a.places_mm2[0].total_cmp(&b.places_mm2[0]))?;
    let places: usize = all.iter().map(|u| u.places_mm2.len()).sum();
    let parts: BTreeSet<&str> = all.iter().map(|u| u.part.as_str()).collect();
    Some(codes::CUTTER_REACH.check(phrase!(
            "{}: {} corners or necks of {} parts that the cutter does not get into; the largest in the {} of {}",
            name,
            places,
            parts.len(),
            layer_name(worst.operation),
            &worst.part
        ), (Verdict::Watch, Held::at_most(Quantity::area(worst.places_mm2[0]), Quantity::area(0.0)))).with_remedy(phrase!(
            "Use a cutter narrower than {} or reliefs, or take the rest out by hand.",
            Quantity::fine(width_mm)
        )))
}

fn unlettered(what: &str, missing: &BTreeSet<char>) -> Option<Finding> {
    if missing.is_empty() {
        return None;
    }
    let list = missing.iter().map(char::to_string).collect::<Vec<_>>().join(" ");
    Some(codes::LETTERS_MISSING.check(
        phrase!("{}: characters that are drawn as crossed boxes: {}", what, list),
        (Verdict::Watch, Held::at_most(Quantity::count(missing.len() as f64), Quantity::count(0.0))),
    ))
}

fn fault(name: &str, error: &ExportError) -> Fault {
    let message = phrase!("the {} cannot be drawn: {}.", name, error.phrase());
    let (path, remedy) = match error {
        ExportError::CutterTooWide { .. } => ("files", "Take `kerf` or `cutter_path` out, or make the holes wider."),
        ExportError::Setting { name: "roll width", .. } => ("files.roll", "Use a wider roll, or sheets."),
        ExportError::Setting { name: "margin", .. } => ("files.margin", "Give the strip that the printer leaves."),
        ExportError::Setting { name: "overlap", .. } => ("files.overlap", "Give a smaller overlap."),
        ExportError::Setting { .. } | ExportError::TooManySheets { .. } => {
            ("files.paper", "Use another paper, or \"none\".")
        }
        ExportError::Empty | ExportError::OpenCut { .. } | ExportError::Format(_) => {
            ("table", "Use a gentler rocker or a shorter table.")
        }
    };
    Fault::new(codes::NOT_DRAWABLE, path, message, remedy)
}
