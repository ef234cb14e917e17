//! The job document: TOML text in, a checked job or located problems out.
//!
//! The raw document and the job are different types. Raw tables accept anything in any key, so that one reading
//! collects every problem; a key's meaning, range and default are decided here and nowhere else.

mod bearers;
mod board;
mod csv;
mod doubts;
mod drawn;
mod existing;
mod files;
mod forecast;
mod frame;
mod holes;
mod inputs;
mod layers;
pub mod materials;
mod measured;
mod own_materials;
mod places;
mod pressing;
mod problem;
mod quantity;
mod reader;
mod rocker;
#[cfg(feature = "schema")]
mod schema;
pub mod shop;
mod starters;
mod stock;
mod table;

pub use existing::table_from_heights;
pub use inputs::Inputs;
pub use measured::board_readings;
pub use own_materials::kind_name;
pub use problem::Problem;
#[cfg(feature = "schema")]
pub use schema::schema;
pub use starters::{STARTERS, Starter, in_unit, value_in, with_values};

use serde::Deserialize;
use toml::Spanned;
use toml::de::DeTable;

use crate::codes;
use crate::finding::Fault;
use crate::job::{Alternative, Board, Job, Rocker, Wanted};
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
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default)]
struct RawDocument {
    /// Name of the board; it stands on every file.
    ///
    /// Takes a text; must be given.
    title: Option<Quantity>,
    /// What bare lengths in this document are, and how lengths are printed.
    ///
    /// Takes one of `mm`, `in`; `mm` when left out.
    units: Option<Quantity>,
    /// Finest division of the inch rule: 8, 16, 32 or 64.
    ///
    /// Takes one of the numbers 8, 16, 32, 64; `64` when left out.
    inch_fraction: Option<Quantity>,
    /// Checks that say stop and that the shop overrides, by their codes.
    ///
    /// Takes a list of texts.
    accept: Option<Vec<Quantity>>,
    /// The finished board and its blank.
    board: Option<board::RawBoard>,
    /// The rocker that is wanted; exactly one of these tables.
    rocker: Option<rocker::RawRocker>,
    /// File with a list `[[materials]]` for all jobs of the shop, by its path from this document.
    ///
    /// Takes a text.
    materials_file: Option<Quantity>,
    /// File in which the shop keeps its measured boards, by its path from this document.
    ///
    /// Takes a text.
    shop: Option<Quantity>,
    /// Materials of the shop's own, which layers can name.
    materials: Option<Vec<own_materials::RawOwnMaterial>>,
    /// The stack from base to deck.
    layers: Option<Vec<layers::RawLayer>>,
    /// Other stacks that might be pressed on the same table; `overbend predict` compares them.
    alternatives: Option<Vec<RawAlternative>>,
    /// How the boards that an uncertain stack may give are simulated.
    forecast: Option<forecast::RawForecast>,
    /// A table that is there already, for `overbend predict`.
    existing_table: Option<existing::RawExistingTable>,
    /// What presses the stack on the table; exactly one of `vacuum`, `press`, `clamps`, `weights`.
    pressing: Option<pressing::RawPressing>,
    /// How the table is built; exactly one of `ribs` and `bearers` carries the skin.
    table: Option<table::RawTable>,
    /// Sheets that flat parts are laid out on, one table for each kind.
    stock: Option<Vec<stock::RawSheet>>,
    /// How parts lie on their sheets.
    nesting: Option<stock::RawNesting>,
    /// Bars that spacers and rods are cut off.
    bars: Option<stock::RawBars>,
    /// What the files are to be like.
    files: Option<files::RawFiles>,
}

impl RawDocument {
    /// Names of the files that are to be handed over with the document.
    fn named(&self) -> Vec<String> {
        let mut names: Vec<String> = self.rocker.iter().flat_map(rocker::files).collect();
        names.extend(self.existing_table.iter().flat_map(existing::files));
        if let Some(Quantity::Text(name)) = &self.materials_file {
            names.push(name.trim().to_owned());
        }
        names.extend(self.shop_file());
        names
    }
}

impl RawDocument {
    /// Name of the file in which the shop keeps its boards.
    fn shop_file(&self) -> Option<String> {
        match &self.shop {
            Some(Quantity::Text(name)) if !name.trim().is_empty() => Some(name.trim().to_owned()),
            _ => None,
        }
    }
}

#[derive(Debug, Default, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default)]
struct RawAlternative {
    /// What the stack is called.
    ///
    /// Takes a text; must be given.
    name: Option<Quantity>,
    /// The stack from base to deck.
    layers: Option<Vec<layers::RawLayer>>,
}

/// What stands in a document about the board alone, as far as it could be read.
struct PartialSpec {
    title: String,
    unit: LengthUnit,
    hash: String,
    board: Option<Board>,
    rocker: Option<Rocker>,
}

impl PartialSpec {
    fn whole(self) -> Option<Wanted> {
        let Self { title, unit, hash, board, rocker } = self;
        Some(Wanted { title, unit, hash, board: board?, rocker: rocker? })
    }
}

impl<'a> Document<'a> {
    /// Parses the TOML. `name` is what problems call the document: a file name or `-`.
    ///
    /// # Errors
    /// All syntax errors with their places.
    pub fn parse(name: &'a str, text: &'a str) -> Result<Self, Vec<Problem>> {
        if text.len() > LARGEST_DOCUMENT {
            let fault = Fault::new(
                codes::DOCUMENT_TOO_LARGE,
                "",
                format!("the document has {} bytes; {LARGEST_DOCUMENT} are the most that are read.", text.len()),
                "Check that this is a job document.",
            );
            return Err(vec![Problem::at(name, text, 0..0, fault)]);
        }
        let (tree, errors) = DeTable::parse_recoverable(text);
        if errors.is_empty() {
            let problem = |(span, fault)| Problem::at(name, text, span, fault);
            let controls: Vec<Problem> =
                places::control_characters(&tree).into_iter().take(places::MOST_PROBLEMS).map(problem).collect();
            return if controls.is_empty() { Ok(Self { name, text, tree }) } else { Err(controls) };
        }
        let located = |e: &toml::de::Error| {
            let fault = Fault::new(
                codes::SYNTAX,
                "",
                format!("this is not valid TOML: {}.", e.message().trim_end_matches('.')),
                "Write it as `key = value`, texts in double quotes, tables as `[name]`.",
            );
            Problem::at(name, text, e.span().unwrap_or(0..0), fault)
        };
        Err(errors.iter().map(located).collect())
    }

    /// Keys with lengths that are written as bare numbers, so that their unit is the document's.
    pub fn bare_lengths(&self) -> Vec<String> {
        self.read(&Inputs::default()).1
    }

    /// Names of the files that the document wants to be handed over, as it gives them.
    pub fn inputs(&self) -> Vec<String> {
        let (raw, ..) = places::extract::<RawDocument>(&self.tree);
        raw.named()
    }

    /// Name of the file in which the shop keeps its boards, as the document gives it. There need be no such file before the
    /// first board: an empty text stands for it then.
    pub fn shop_file(&self) -> Option<String> {
        let (raw, ..) = places::extract::<RawDocument>(&self.tree);
        raw.shop_file()
    }

    /// Checks everything and makes the job, of a document that names no files.
    ///
    /// # Errors
    /// All problems found, in the order of their places.
    pub fn job(&self) -> Result<Job, Vec<Problem>> {
        self.job_with(&Inputs::default())
    }

    /// Checks everything and makes the job; `inputs` holds the files that [`Document::inputs`] lists.
    ///
    /// # Errors
    /// All problems found, in the order of their places.
    pub fn job_with(&self, inputs: &Inputs) -> Result<Job, Vec<Problem>> {
        self.read(inputs).0
    }

    /// The job, and keys with lengths whose unit is the document's.
    fn read(&self, inputs: &Inputs) -> (Result<Job, Vec<Problem>>, Vec<String>) {
        let (mut raw, mut faults, spoiled) = places::extract::<RawDocument>(&self.tree);
        let mut reader = Reader::new(spoiled);
        let accepted = accepted(&mut reader, &raw.accept.take().unwrap_or_default());
        let wish = self.wish(&mut reader, &mut raw, inputs);
        let board = wish.board.as_ref();
        let mut shelf = Shelf::new();
        if let Some(name) = reader.text(raw.materials_file.as_ref(), "materials_file")
            && let Some(text) = inputs.text(&mut reader, &name, "materials_file")
        {
            shelf.add_file(&mut reader, &name, text, "materials_file");
        }
        shelf.add(&mut reader, raw.materials.as_deref().unwrap_or_default(), "materials");
        let counted = layers::counted(raw.layers.as_deref().unwrap_or_default(), "layers", reader.unit);
        let mut layers = layers::check(&mut reader, raw.layers, "layers", &shelf, board);
        if let Some(board) = board {
            doubts::width(&mut reader, board);
            doubts::tapers(&mut reader, &counted, wish.rocker.as_ref(), board);
            if let Some(Rocker::Measured { readings, .. }) = &wish.rocker {
                doubts::readings(&mut reader, "rocker.measured", readings, board);
            }
        }
        let mut alternatives = alternatives(&mut reader, raw.alternatives, &shelf, board);
        let pressing = pressing::check(&mut reader, raw.pressing);
        if let Some((board, pressing)) = board.zip(pressing.as_ref()) {
            pressing::bound(&mut reader, pressing, board);
        }
        if let Some(pressing) = &pressing {
            let stacks = layers.iter_mut().chain(alternatives.iter_mut().map(|a| &mut a.layers));
            stacks.for_each(|layers| pressing::condition(layers, pressing));
        }
        let forecast = forecast::check(&mut reader, raw.forecast, pressing.as_ref().and_then(|p| p.glue));
        let shop =
            reader.text(raw.shop.as_ref(), "shop").and_then(|name| shop::named(&mut reader, &name, inputs, "shop"));
        if let (Some(board), Some(layers)) = (board, &layers) {
            let all = layers.len() + alternatives.iter().map(|a| a.layers.len()).sum::<usize>();
            forecast::bound(&mut reader, &forecast, all, board);
        }
        let existing_table = existing::check(&mut reader, raw.existing_table, inputs);
        let table = table::check(&mut reader, raw.table, &shelf);
        let cutter_mm = table.as_ref().map_or(0.0, |t| t.cutting.cutter_mm);
        let files = files::check(&mut reader, raw.files, cutter_mm);
        let cut_width_mm = files.cut_width_mm.unwrap_or(0.0).max(cutter_mm);
        let stock = stock::check(&mut reader, raw.stock, raw.nesting, raw.bars, cut_width_mm);
        faults.append(&mut reader.faults);
        let bare = reader.bare_lengths;
        let job = match (wish.whole(), layers, pressing, table) {
            (Some(wanted), Some(layers), Some(pressing), Some(table)) if faults.is_empty() => Ok(Job {
                title: wanted.title,
                unit: wanted.unit,
                hash: wanted.hash,
                board: wanted.board,
                rocker: wanted.rocker,
                layers,
                alternatives,
                forecast,
                shop,
                existing_table,
                pressing,
                table,
                stock,
                files,
                accepted,
                doubts: reader.doubts,
            }),
            _ => Err(self.problems(&faults)),
        };
        (job, bare)
    }

    /// Checks what stands there about the board and its rocker alone; the rest may be missing or wrong.
    ///
    /// # Errors
    /// All problems found, in the order of their places.
    pub fn wanted_with(&self, inputs: &Inputs) -> Result<Wanted, Vec<Problem>> {
        let (mut raw, faults, spoiled) = places::extract::<RawDocument>(&self.tree);
        let mut reader = Reader::new(spoiled);
        let wish = self.wish(&mut reader, &mut raw, inputs);
        // Faults of the tables that matter here, and of keys that stand in no table.
        let of_the_board = |f: &&Fault| {
            let (table, inside) = f.path.split_once(['.', '[']).unwrap_or((&f.path, ""));
            inside.is_empty() || table == "board" || table == "rocker"
        };
        let mut all: Vec<Fault> = faults.iter().filter(of_the_board).cloned().collect();
        all.append(&mut reader.faults);
        wish.whole().filter(|_| all.is_empty()).ok_or_else(|| self.problems(&all))
    }

    fn wish(&self, reader: &mut Reader, raw: &mut RawDocument, inputs: &Inputs) -> PartialSpec {
        reader.unit = unit(reader, raw);
        let title = reader.text(raw.title.as_ref(), "title");
        let title = title.unwrap_or_else(|| {
            reader.missing("title", "Give the board a name: title = \"Lake board\".");
            String::new()
        });
        let named = raw.named();
        let board = board::check(reader, raw.board.take());
        let rocker = rocker::check(reader, raw.rocker.take(), inputs);
        let hash = if named.is_empty() {
            fingerprint(self.text.as_bytes())
        } else {
            // The document's own digest first, so that no shift of bytes between the files can give the same one.
            let digests = named.iter().filter_map(|n| inputs.found(n)).map(fingerprint);
            fingerprint(
                std::iter::once(fingerprint(self.text.as_bytes())).chain(digests).collect::<String>().as_bytes(),
            )
        };
        PartialSpec { title, unit: reader.unit, hash, board, rocker }
    }

    /// Unit of its bare lengths, in which its problems are told too.
    fn unit(&self) -> LengthUnit {
        let (raw, ..) = places::extract::<RawDocument>(&self.tree);
        unit(&mut Reader::new(Vec::new()), &raw)
    }

    /// Gives faults their places in this document, ordered by place.
    pub fn problems(&self, faults: &[Fault]) -> Vec<Problem> {
        let unit = self.unit();
        let mut problems: Vec<Problem> = faults
            .iter()
            .map(|f| {
                let span = places::span_of(&self.tree, &f.path, f.code == "unknown-key");
                Problem::in_file(f).unwrap_or_else(|| Problem::at(self.name, self.text, span, f.clone()))
            })
            .map(|p| Problem { fault: p.fault.in_units(unit), ..p })
            .collect();
        problems.sort_by_key(|p| (p.span.start, p.span.end));
        problems
    }
}

/// Codes of checks; a mistyped one would override nothing, silently.
fn accepted(reader: &mut Reader, list: &[Quantity]) -> Vec<String> {
    let mut codes = Vec::new();
    for (i, typed) in list.iter().enumerate() {
        let path = format!("accept[{i}]");
        let Some(code) = reader.text(Some(typed), &path) else { continue };
        match codes::find_check(&code) {
            Ok(_) => codes.push(code),
            Err(near) => {
                let hint = near.map_or(String::new(), |n| format!(" Did you mean \"{n}\"?"));
                reader.faults.push(Fault::new(
                    codes::WRONG_CHOICE,
                    path,
                    format!("no check is called `{code}`."),
                    format!("Write the code that stands beside the check.{hint}"),
                ));
            }
        }
    }
    codes
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
        reader.faults.push(Fault::new(codes::TOO_MANY, "alternatives", message, remedy));
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
                codes::WRONG_CHOICE,
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
                codes::WRONG_CHOICE,
                "units",
                format!("`{other}` is not a unit that bare lengths can have."),
                format!("Write \"mm\" or \"in\".{hint}"),
            ));
            LengthUnit::Millimetre
        }
    }
}
