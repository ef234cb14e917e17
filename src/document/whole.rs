//! The document from its first key to its last.

use super::board::board;
use super::existing::existing;
use super::files::files;
use super::forecast::{self, forecast};
use super::inputs::Inputs;
use super::keys::Key;
use super::layers::{alternatives, layers};
use super::machine::{machine, split_ribs};
use super::own_materials::Shelf;
use super::pressing::{self, pressing};
use super::prices::prices;
use super::problem::Problems;
use super::reader::Reader;
use super::rocker::rocker;
use super::section::{self, Section};
use super::source::Source;
use super::stock::stock;
use super::table::table;
use super::{doubts, shop};
use crate::codes;
use crate::finding::Fault;
use crate::job::{Board, Files, Job, Machine, Rocker, Shop, Stock, Table, Wanted};
use crate::numeric::fingerprint;
use crate::units::LengthUnit;

/// Largest document that is read, bytes: some hundred times what a long job needs.
pub const LARGEST_DOCUMENT: usize = 1_000_000;
/// Most checks that a job overrides.
const MOST_ACCEPTED: usize = 1000;

/// A document as text, with the place of every key.
#[derive(Debug)]
pub struct Document<'a> {
    source: Source<'a>,
}

/// Every key of a job document, each table before its keys.
///
/// ```
/// use overbend::document::{LeftOut, keys};
///
/// let span = keys().into_iter().find(|k| k.path == "layers[].sag_test.span").unwrap();
/// assert_eq!(span.meaning, "Distance between the supports.");
/// assert_eq!(span.takes.words(), "a length above 0, up to 20000 mm");
/// assert_eq!(span.left_out, LeftOut::Required);
/// ```
pub fn keys() -> Vec<Key> {
    let mut reader = Reader { listing: Some(Vec::new()), ..Reader::default() };
    section::read(&mut reader, String::new(), None, |at| {
        let wanted = read_wanted(at, &Inputs::default());
        rest(at, &wanted, &Inputs::default());
    });
    reader.listing.unwrap_or_default()
}

/// All keys in Markdown, one table for each table of the document.
pub fn key_page() -> String {
    super::keys::page(&keys())
}

/// What stands in a document about the board alone, as far as it could be read.
struct PartialSpec {
    title: Option<String>,
    board: Option<Board>,
    rocker: Option<Rocker>,
}

fn read_wanted(at: &mut Section<'_, '_>, inputs: &Inputs) -> PartialSpec {
    let title = at.text("title", "Name of the board; it stands on every file.");
    let title = title.needed("Give the board a name: title = \"Lake board\".");
    let meaning = "Unit of bare lengths in this document, and of lengths that are printed.";
    let inches = at.choice("units", &[("mm", false), ("in", true)], meaning);
    let denominator = at.number("inch_fraction", &[8, 16, 32, 64], "Finest division of the inch rule.") as u32;
    if inches {
        at.reader.unit = LengthUnit::Inch { denominator };
    }
    let board = at.table("board", "The finished board and its blank.", |at| board(at, inputs));
    let board = board.needed("Add a table [board] with length and width.");
    let meaning = "The rocker that is wanted; exactly one of these tables.";
    let rocker = at.table("rocker", meaning, |at| rocker(at, inputs));
    let rocker = rocker.needed("Add a table [rocker.arc] or [rocker.segments].");
    PartialSpec { title, board, rocker }
}

/// Reads what stands in a document beside the board and its rocker. The job's title, unit and hash are set by the caller.
fn rest(at: &mut Section<'_, '_>, wanted: &PartialSpec, inputs: &Inputs) -> Option<Job> {
    let board = wanted.board.as_ref();
    let accepted = accepted(at);
    let meaning = "A table that is there already, for `overbend predict`.";
    let existing_table = at.table("existing_table", meaning, |at| existing(at, inputs)).optional();
    let shelf = shelf(at, inputs);
    let shop = shop(at, inputs);
    let (mut layers, listed) = layers(at, &shelf, (board, inputs));
    if let Some(board) = board {
        at.doubt(doubts::width(board));
        at.reader.doubts.extend(doubts::tapers(&listed, wanted.rocker.as_ref(), board));
        if let Some(Rocker::Measured { readings, .. }) = &wanted.rocker {
            at.doubt(doubts::readings("rocker.measured", readings, board));
        }
    }
    let mut alternatives = alternatives(at, &shelf, (board, inputs));
    let meaning = "What presses the stack on the table; exactly one of `vacuum`, `press`, `clamps`, `weights`.";
    let pressing = at
        .table("pressing", meaning, pressing)
        .needed("Add one of the tables [pressing.vacuum], [pressing.press], [pressing.clamps] or [pressing.weights].");
    if let Some((board, pressing)) = board.zip(pressing.as_ref()) {
        pressing::bound(at, pressing, board);
    }
    if let Some(pressing) = &pressing {
        let stacks = layers.iter_mut().chain(alternatives.iter_mut().map(|a| &mut a.layers));
        stacks.for_each(|layers| pressing.condition(layers));
    }
    let glue = pressing.as_ref().and_then(|p| p.glue);
    let meaning = "How the boards that an uncertain stack may give are simulated.";
    let forecast = at.settings("forecast", meaning, |at| forecast(at, glue));
    if let (Some(board), Some(layers)) = (board, &layers) {
        let all = layers.len() + alternatives.iter().map(|a| a.layers.len()).sum::<usize>();
        forecast::bound(at, &forecast, all, board);
    }
    let (table, files, stock, machine) = construction(at, &shelf);
    let meaning = "What materials cost, for the shopping list; sheets, bars and layers carry their own `price`.";
    let prices = at.settings("prices", meaning, prices);
    Some(Job {
        title: wanted.title.clone()?,
        unit: at.reader.unit,
        hash: String::new(),
        board: board.cloned()?,
        rocker: wanted.rocker.clone()?,
        layers: layers?,
        alternatives,
        forecast,
        shop,
        existing_table,
        pressing: pressing?,
        table: table?,
        stock,
        machine,
        prices,
        files,
        accepted,
        doubts: std::mem::take(&mut at.reader.doubts),
    })
}

/// The table with its files, and what its parts are cut from and on.
fn construction(at: &mut Section<'_, '_>, shelf: &Shelf) -> (Option<Table>, Files, Stock, Option<Machine>) {
    let meaning = "How the table is built; exactly one of `ribs` and `bearers` carries the skin.";
    let table = at.table("table", meaning, |at| table(at, shelf));
    let mut table = table.needed("Add a table [table] with skin and a table [table.ribs] or [table.bearers].");
    let cutter_mm = table.as_ref().map_or(0.0, |t| t.cutting.cutter_mm);
    let files = at.settings("files", "What the files are to be like.", |at| files(at, cutter_mm));
    let stock = stock(at, files.cut_width_mm.unwrap_or(0.0).max(cutter_mm));
    let meaning = "What parts are cut on: ribs are split and sheets cut in stretches where they must be.";
    let machine = at.table("machine", meaning, machine).optional();
    if let Some(table) = &mut table {
        split_ribs(at, table, machine.as_ref(), &stock);
    }
    (table, files, stock, machine)
}

fn shelf(at: &mut Section<'_, '_>, inputs: &Inputs) -> Shelf {
    let mut shelf = Shelf::default();
    let meaning = "File with a list `[[materials]]` for all jobs of the shop, by its path from this document.";
    if let Some(name) = at.file("materials_file", meaning).optional()
        && let Some(text) = inputs.text(at.reader, &name, "materials_file")
    {
        shelf.add_file(at.reader, &name, text, "materials_file");
    }
    shelf.add(at, "Materials of the shop's own, which layers can name.");
    shelf
}

fn shop(at: &mut Section<'_, '_>, inputs: &Inputs) -> Option<Shop> {
    let meaning = "File in which the shop keeps its measured boards, by its path from this document.";
    let name = at.file("shop", meaning).optional()?;
    shop::named(at.reader, &name, inputs, "shop")
}

/// Codes of checks; a mistyped one would override nothing, silently.
fn accepted(at: &mut Section<'_, '_>) -> Vec<String> {
    let meaning = "Checks that say stop and that the shop overrides, by their codes.";
    let codes = at.texts("accept", (0, MOST_ACCEPTED), meaning).optional().unwrap_or_default();
    for (i, code) in codes.iter().enumerate() {
        if let Err(near) = codes::find_check(code) {
            let hint = near.map_or(String::new(), |n| format!(" Did you mean \"{n}\"?"));
            let remedy = format!("Write a check's code, such as `layer-strain`; `overbend explain` lists them.{hint}");
            at.fault(codes::WRONG_CHOICE, &format!("accept[{i}]"), format!("no check is called `{code}`."), remedy);
        }
    }
    codes
}

impl<'a> Document<'a> {
    /// Parses the TOML. `name` is what problems call the document: a file name or `-`.
    ///
    /// # Errors
    /// All syntax errors with their places.
    pub fn parse(name: &'a str, text: &'a str) -> Result<Self, Problems> {
        let limit = (LARGEST_DOCUMENT, "Check that this is a job document.");
        Source::parse(name, text, limit).map(|source| Self { source })
    }

    /// Keys with lengths that are written as bare numbers, so that their unit is the document's.
    pub(crate) fn bare_lengths(&self) -> Vec<String> {
        self.read(&Inputs::default()).1.bare_lengths
    }

    /// Names of the files that the document wants to be handed over, as it gives them.
    pub fn inputs(&self) -> Vec<String> {
        self.read(&Inputs::default()).1.files.into_iter().map(|f| f.1).collect()
    }

    /// Name of the file in which the shop keeps its boards, as the document gives it. There need be no such file before the
    /// first board: an empty text stands for it then.
    pub fn shop_file(&self) -> Option<String> {
        self.read(&Inputs::default()).1.files.into_iter().find(|f| f.0 == "shop").map(|f| f.1)
    }

    /// Checks everything and makes the job, of a document that names no files.
    ///
    /// # Errors
    /// All problems found, in the order of their places.
    pub fn job(&self) -> Result<Job, Problems> {
        self.job_with(&Inputs::default())
    }

    /// Checks everything and makes the job; `inputs` holds the files that [`Document::inputs`] lists.
    ///
    /// # Errors
    /// All problems found, in the order of their places.
    pub fn job_with(&self, inputs: &Inputs) -> Result<Job, Problems> {
        let (job, reader) = self.read(inputs);
        let hash = self.hash(&reader, inputs);
        match job {
            Some(job) if reader.faults.is_empty() => Ok(Job { hash, ..job }),
            _ => Err(self.located(reader)),
        }
    }

    fn located(&self, reader: Reader) -> Problems {
        let unit = reader.unit;
        self.source.problems(reader.into_faults(), unit)
    }

    fn read(&self, inputs: &Inputs) -> (Option<Job>, Reader) {
        let mut reader = Reader::default();
        let job = section::read(&mut reader, String::new(), Some(self.source.tree.get_ref()), |at| {
            let wanted = read_wanted(at, inputs);
            rest(at, &wanted, inputs)
        });
        (job, reader)
    }

    /// Checks what stands there about the board and its rocker alone; the rest may be missing or wrong.
    ///
    /// # Errors
    /// All problems found, in the order of their places.
    pub fn wanted_with(&self, inputs: &Inputs) -> Result<Wanted, Problems> {
        let mut reader = Reader::default();
        let (wanted, rest) = section::read(&mut reader, String::new(), Some(self.source.tree.get_ref()), |at| {
            let wanted = read_wanted(at, inputs);
            let of_the_board = at.reader.faults.len();
            rest(at, &wanted, inputs);
            (wanted, of_the_board..at.reader.faults.len())
        });
        reader.faults.drain(rest);
        let hash = self.hash(&reader, inputs);
        let unit = reader.unit;
        match wanted {
            PartialSpec { title: Some(title), board: Some(board), rocker: Some(rocker) }
                if reader.faults.is_empty() =>
            {
                Ok(Wanted { title, unit, hash, board, rocker })
            }
            _ => Err(self.located(reader)),
        }
    }

    /// What tells this text with these files from another.
    fn hash(&self, reader: &Reader, inputs: &Inputs) -> String {
        let own = fingerprint(self.source.text.as_bytes());
        if reader.files.is_empty() {
            return own;
        }
        // The document's own digest first, so that no shift of bytes between the files can give the same one.
        let digests = reader.files.iter().filter_map(|f| inputs.found(&f.1)).map(fingerprint);
        fingerprint(std::iter::once(own).chain(digests).collect::<String>().as_bytes())
    }

    /// Gives faults their places in this document, ordered by place.
    pub fn problems(&self, faults: &[Fault]) -> Problems {
        let unit = self.read(&Inputs::default()).1.unit;
        self.source.problems(faults.iter().cloned(), unit)
    }

    /// Where the value at a path of keys is written, bytes.
    pub(super) fn written_at(&self, path: &str) -> Option<std::ops::Range<usize>> {
        self.source.written_at(path)
    }
}
