//! The job document: TOML text in, a checked job or located problems out.
//!
//! The raw document and the job are different types. Raw tables accept anything in any key, so that one reading
//! collects every problem; a key's meaning, range and default are decided here and nowhere else.

mod bearers;
mod board;
mod files;
mod forecast;
mod frame;
mod layers;
pub mod materials;
mod own_materials;
mod places;
mod pressing;
mod problem;
mod quantity;
mod reader;
mod rocker;
mod starters;
mod table;

pub use own_materials::kind_name;
pub use problem::Problem;
pub use starters::{STARTERS, Starter};

use serde::Deserialize;
use toml::Spanned;
use toml::de::DeTable;

use crate::finding::Fault;
use crate::job::{Alternative, Board, Job};
use crate::numeric::fingerprint;
use crate::units::LengthUnit;
use own_materials::Shelf;
use quantity::Quantity;
use reader::{Reader, nearest};

/// Largest document that is read, bytes: some hundred times what a long job needs.
pub const LARGEST_DOCUMENT: usize = 1_000_000;

/// A document as text, with the place of every key.
#[derive(Debug)]
pub struct Document<'a> {
    name: &'a str,
    text: &'a str,
    tree: Spanned<DeTable<'a>>,
}

/// The document's tables as written. Every key may be missing here; what is required is decided when it is checked.
#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
struct RawDocument {
    title: Option<Quantity>,
    units: Option<Quantity>,
    inch_fraction: Option<Quantity>,
    accept: Option<Vec<Quantity>>,
    board: Option<board::RawBoard>,
    rocker: Option<rocker::RawRocker>,
    materials: Option<Vec<own_materials::RawOwnMaterial>>,
    layers: Option<Vec<layers::RawLayer>>,
    alternatives: Option<Vec<RawAlternative>>,
    forecast: Option<forecast::RawForecast>,
    pressing: Option<pressing::RawPressing>,
    table: Option<table::RawTable>,
    files: Option<files::RawFiles>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
struct RawAlternative {
    name: Option<Quantity>,
    layers: Option<Vec<layers::RawLayer>>,
}

impl<'a> Document<'a> {
    /// Parses the TOML. `name` is what problems call the document: a file name or `-`.
    ///
    /// # Errors
    /// All syntax errors with their places.
    pub fn parse(name: &'a str, text: &'a str) -> Result<Self, Vec<Problem>> {
        if text.len() > LARGEST_DOCUMENT {
            let fault = Fault::new(
                "document-too-large",
                "",
                format!("the document has {} bytes; {LARGEST_DOCUMENT} are the most that are read.", text.len()),
                "Check that this is a job document.",
            );
            return Err(vec![Problem::at(name, text, 0..0, fault)]);
        }
        let (tree, errors) = DeTable::parse_recoverable(text);
        if errors.is_empty() {
            return Ok(Self { name, text, tree });
        }
        let located = |e: &toml::de::Error| {
            let fault = Fault::new(
                "syntax",
                "",
                format!("this is not valid TOML: {}.", e.message().trim_end_matches('.')),
                "Write it as `key = value`, texts in double quotes, tables as `[name]`.",
            );
            Problem::at(name, text, e.span().unwrap_or(0..0), fault)
        };
        Err(errors.iter().map(located).collect())
    }

    /// Checks everything and makes the job.
    ///
    /// # Errors
    /// All problems found, in the order of their places.
    pub fn job(&self) -> Result<Job, Vec<Problem>> {
        let (raw, mut faults, spoiled) = places::extract::<RawDocument>(&self.tree);
        let mut reader = Reader::new(spoiled);
        let unit = unit(&mut reader, &raw);
        reader.unit = unit;
        let title = reader.text(raw.title.as_ref(), "title");
        let title = title.unwrap_or_else(|| {
            reader.missing("title", "Give the board a name: title = \"Lake board\".");
            String::new()
        });
        let accepted = raw.accept.unwrap_or_default();
        let accepted =
            accepted.iter().enumerate().filter_map(|(i, a)| reader.text(Some(a), &format!("accept[{i}]"))).collect();
        let board = board::check(&mut reader, raw.board);
        let rocker = rocker::check(&mut reader, raw.rocker);
        let mut shelf = Shelf::new();
        shelf.add(&mut reader, raw.materials.as_deref().unwrap_or_default(), "materials");
        let layers = layers::check(&mut reader, raw.layers, "layers", &shelf, board.as_ref());
        let alternatives = alternatives(&mut reader, raw.alternatives, &shelf, board.as_ref());
        let forecast = forecast::check(&mut reader, raw.forecast);
        let pressing = pressing::check(&mut reader, raw.pressing);
        let table = table::check(&mut reader, raw.table, &shelf);
        let cutter_mm = table.as_ref().map_or(0.0, |t| t.cutting.cutter_mm);
        let files = files::check(&mut reader, raw.files, cutter_mm);
        faults.append(&mut reader.faults);
        match (board, rocker, layers, pressing, table) {
            (Some(board), Some(rocker), Some(layers), Some(pressing), Some(table)) if faults.is_empty() => Ok(Job {
                title,
                unit,
                hash: fingerprint(self.text.as_bytes()),
                board,
                rocker,
                layers,
                alternatives,
                forecast,
                pressing,
                table,
                files,
                accepted,
            }),
            _ => Err(self.problems(&faults)),
        }
    }

    /// Gives faults their places in this document, ordered by place.
    pub fn problems(&self, faults: &[Fault]) -> Vec<Problem> {
        let mut problems: Vec<Problem> = faults
            .iter()
            .map(|f| {
                let span = places::span_of(&self.tree, &f.path, f.code == "unknown-key");
                Problem::at(self.name, self.text, span, f.clone())
            })
            .collect();
        problems.sort_by_key(|p| (p.span.start, p.span.end));
        problems
    }
}

/// Most stacks that are compared.
const MOST_ALTERNATIVES: usize = 20;

fn alternatives(
    reader: &mut Reader,
    raw: Option<Vec<RawAlternative>>,
    shelf: &Shelf,
    board: Option<&Board>,
) -> Vec<Alternative> {
    let raw = raw.unwrap_or_default();
    if raw.len() > MOST_ALTERNATIVES {
        let message = format!("{} stacks are to be compared.", raw.len());
        let remedy = format!("At most {MOST_ALTERNATIVES} are.");
        reader.faults.push(Fault::new("too-many", "alternatives", message, remedy));
        return Vec::new();
    }
    let mut found = Vec::new();
    for (i, a) in raw.into_iter().enumerate() {
        let path = format!("alternatives[{i}]");
        if a.name.is_none() {
            reader.missing(&format!("{path}.name"), "Give the stack a name.");
        }
        let name = reader.text(a.name.as_ref(), &format!("{path}.name"));
        let layers = layers::check(reader, a.layers, &format!("{path}.layers"), shelf, board);
        if let (Some(name), Some(layers)) = (name, layers) {
            found.push(Alternative { name, layers });
        }
    }
    found
}

fn unit(reader: &mut Reader, raw: &RawDocument) -> LengthUnit {
    let denominator = match reader.text_or_number(raw.inch_fraction.as_ref(), "inch_fraction").as_deref() {
        None | Some("64") => 64,
        Some("32") => 32,
        Some("16") => 16,
        Some("8") => 8,
        Some(other) => {
            reader.faults.push(Fault::new(
                "wrong-choice",
                "inch_fraction",
                format!("`{other}` is no division of a rule that is printed here."),
                "Write 8, 16, 32 or 64.",
            ));
            64
        }
    };
    match reader.text(raw.units.as_ref(), "units").as_deref() {
        None | Some("mm") => LengthUnit::Millimetre,
        Some("in") => LengthUnit::Inch { denominator },
        Some(other) => {
            let hint = nearest(other, &["mm", "in"]).map_or(String::new(), |n| format!(" Did you mean \"{n}\"?"));
            reader.faults.push(Fault::new(
                "wrong-choice",
                "units",
                format!("`{other}` is not a unit that bare lengths can have."),
                format!("Write \"mm\" or \"in\".{hint}"),
            ));
            LengthUnit::Millimetre
        }
    }
}
