//! Messages about a job: checks with a verdict, and faults that point into the document.

mod error_list;
mod problem_text;

use std::fmt;
use std::ops::Range;

pub use error_list::ErrorList;
pub(crate) use problem_text::floor_char;
pub use problem_text::{MarkedLine, ProblemText};

use crate::units::{LengthUnit, Phrase, Quantity};

/// How a check came out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Verdict {
    /// Within the limit.
    Ok,
    /// Possible, but look at it before cutting.
    Watch,
    /// Over the limit: `build` stops unless the shop accepts the check by its code.
    Stop,
}

impl Verdict {
    /// The word used in every output.
    pub fn word(self) -> &'static str {
        match self {
            Self::Ok => "ok",
            Self::Watch => "watch",
            Self::Stop => "stop",
        }
    }
}

impl fmt::Display for Verdict {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

/// Which kind of message a code belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A check with a verdict, which a shop may accept by this code.
    Check,
    /// A mistake in the document; nothing is computed until it is fixed.
    Mistake,
}

impl Kind {
    /// The word in listings.
    pub fn word(self) -> &'static str {
        match self {
            Self::Check => "check",
            Self::Mistake => "problem",
        }
    }
}

/// What a check or a mistake is, whatever the job: [`codes`](crate::codes) holds all of them.
#[derive(Clone, Copy, Eq)]
pub struct Code {
    /// Its stable name, such as `layer-strain`; the name that an override uses.
    pub name: &'static str,
    /// What carries it.
    pub kind: Kind,
    /// What it reports.
    pub meaning: &'static str,
    /// How the figure is computed, or what is compared.
    pub computed: &'static str,
    /// Where the limit or the formula comes from.
    pub source: &'static str,
    /// What to do, where nothing more can be said about the job.
    pub remedy: &'static str,
}

impl Code {
    /// A fault of this kind at `path`, with the remedy of its kind.
    pub(crate) fn at(&'static self, path: impl Into<String>, message: impl Into<Phrase>) -> Fault {
        Fault::new(self, path, message, self.remedy)
    }

    /// The check of `subject` that came out like this, with the remedy of its kind unless it is ok.
    pub(crate) fn check(&'static self, subject: impl Into<Phrase>, (verdict, held): (Verdict, Held)) -> Finding {
        Finding { held: Some(held), ..self.verdict(subject, verdict) }
    }

    /// The same without a value to compare.
    pub(crate) fn verdict(&'static self, subject: impl Into<Phrase>, verdict: Verdict) -> Finding {
        let remedy = if verdict == Verdict::Ok { Phrase::default() } else { self.remedy.into() };
        Finding { code: self, subject: subject.into(), held: None, verdict, remedy }
    }
}

impl PartialEq for Code {
    fn eq(&self, other: &Self) -> bool {
        self.name == other.name
    }
}

impl PartialEq<str> for Code {
    fn eq(&self, name: &str) -> bool {
        self.name == name
    }
}

impl fmt::Debug for Code {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name)
    }
}

impl fmt::Display for Code {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name)
    }
}

/// One check: what was compared with what, and what to do.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// Which check it is.
    pub code: &'static Code,
    /// What it is about, in the builder's words: a layer, a rib, a place.
    pub subject: Phrase,
    /// The value and the limit that it was held against; `None` where there is nothing to compare.
    pub held: Option<Held>,
    /// How it came out.
    pub verdict: Verdict,
    /// What to do; empty if nothing is wrong.
    pub remedy: Phrase,
}

/// A value beside the limit that decided over it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Held {
    /// The value found.
    pub value: Quantity,
    /// The limit.
    pub limit: Quantity,
    /// Whether the value may not be below the limit; otherwise it may not be above.
    pub is_least: bool,
}

impl Finding {
    /// The same with a remedy of its own, unless it is ok.
    pub(crate) fn with_remedy(self, remedy: impl Into<Phrase>) -> Self {
        if self.verdict == Verdict::Ok { self } else { Self { remedy: remedy.into(), ..self } }
    }

    /// Value, limit and unit as result files have them, in SI whatever the units of the job; `None` where there is nothing
    /// to compare.
    pub fn si(&self) -> Option<(f64, f64, &'static str)> {
        let held = self.held?;
        let (value, unit) = held.value.si();
        Some((value, held.limit.si().0, unit))
    }
}

impl Held {
    /// A value that may be at most the limit.
    pub fn at_most(value: Quantity, limit: Quantity) -> Self {
        Self { value, limit, is_least: false }
    }

    /// A value that must be at least the limit.
    pub(crate) fn at_least(value: Quantity, limit: Quantity) -> Self {
        Self { value, limit, is_least: true }
    }

    /// Whether the value keeps the limit.
    pub fn is_kept(&self) -> bool {
        let (value, limit) = (self.value.value(), self.limit.value());
        if self.is_least { value >= limit } else { value <= limit }
    }

    /// Value and limit in the units of a job: `0.12 mm` and `at most 0.05 mm`. They never read as equal where they are not.
    pub fn words(&self, unit: LengthUnit) -> (String, String) {
        let (value, limit) = self.value.beside(self.limit, unit);
        let bound = if self.is_least { "at least" } else { "at most" };
        (value, format!("{bound} {limit}"))
    }
}

impl Verdict {
    /// The verdict on a value with a limit from which it is watched and one from which it stops, and the one of the two
    /// that decided. `make` gives value and limit their dimension.
    pub(crate) fn over(value: f64, (watch, stop): (f64, f64), make: fn(f64) -> Quantity) -> (Self, Held) {
        let (verdict, limit) = match value {
            v if v > stop => (Self::Stop, stop),
            v if v > watch => (Self::Watch, watch),
            _ => (Self::Ok, watch),
        };
        (verdict, Held::at_most(make(value), make(limit)))
    }

    /// The same for a value that may be too small.
    pub(crate) fn under(value: f64, (watch, stop): (f64, f64), make: fn(f64) -> Quantity) -> (Self, Held) {
        let (verdict, limit) = match value {
            v if v < stop => (Self::Stop, stop),
            v if v < watch => (Self::Watch, watch),
            _ => (Self::Ok, watch),
        };
        (verdict, Held::at_least(make(value), make(limit)))
    }
}

/// Something that makes the job impossible, with the path of the key that is at fault.
///
/// The path is written as in the document: `table.ribs.count`, `layers[2].thickness`. The document room turns it
/// into a line and a column.
#[derive(Debug, Clone, PartialEq)]
pub struct Fault {
    /// Which mistake it is.
    pub code: &'static Code,
    /// The key at fault.
    pub path: String,
    /// What is wrong, in a sentence with its values.
    pub message: Phrase,
    /// What would be right.
    pub remedy: Phrase,
    /// The units in which it becomes text: those of the job.
    pub unit: LengthUnit,
    /// Where it stands, if not in the document itself.
    pub place: Option<FilePlace>,
}

/// A place in a file that a document or an argument names.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FilePlace {
    /// The file, as it was named.
    pub file: String,
    /// Line, from 1.
    pub line: usize,
    /// Bytes of the file before that line.
    pub line_start: usize,
    /// Bytes of the line that are meant.
    pub bytes: Range<usize>,
    /// The line.
    pub text: String,
}

impl Fault {
    /// A fault at `path` with a remedy of its own; [`Code::at`] gives that of its kind.
    pub(crate) fn new(
        code: &'static Code,
        path: impl Into<String>,
        message: impl Into<Phrase>,
        remedy: impl Into<Phrase>,
    ) -> Self {
        let (message, remedy) = (message.into(), remedy.into());
        Self { code, path: path.into(), message, remedy, unit: LengthUnit::default(), place: None }
    }

    /// The same fault in the units of a job.
    pub fn in_units(self, unit: LengthUnit) -> Self {
        Self { unit, ..self }
    }

    /// What is wrong, in its units.
    pub fn message(&self) -> String {
        self.message.text(self.unit)
    }

    /// What would be right, in its units.
    pub fn remedy(&self) -> String {
        self.remedy.text(self.unit)
    }

    /// The same fault, in a file that the document or an argument names.
    pub(crate) fn in_file(self, place: FilePlace) -> Self {
        Self { place: Some(place), ..self }
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.place {
            Some(place) => write!(f, "{}:{}", place.file, place.line)?,
            None => f.write_str(&self.path)?,
        }
        write!(f, " [{}]: {} {}", self.code, self.message(), self.remedy())
    }
}

impl std::error::Error for Fault {}

/// All that makes a job impossible.
pub type Faults = ErrorList<Fault>;

impl Faults {
    /// The same faults in the units of a job.
    pub fn in_units(self, unit: LengthUnit) -> Self {
        self.into_iter().map(|f| f.in_units(unit)).collect()
    }
}

/// The known name nearest to a mistyped one, if one is near enough to be meant.
pub fn nearest<'n>(typed: &str, known: &[&'n str]) -> Option<&'n str> {
    let lower = typed.to_lowercase();
    known
        .iter()
        .map(|k| (strsim::damerau_levenshtein(&lower, &k.to_lowercase()), *k))
        .filter(|(distance, k)| *distance <= 1 + k.chars().count().max(3) / 4)
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, k)| k)
}
