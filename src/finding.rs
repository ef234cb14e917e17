//! What the tool has to say about a job: checks with a verdict, and faults that point into the document.

use std::fmt;
use std::ops::Range;

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

/// One check: what was compared with what, and what would mend it.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// Stable name of the check, such as `layer-strain`; the name that an override uses.
    pub code: &'static str,
    /// What it is about, in the builder's words: a layer, a rib, a place.
    pub subject: String,
    /// The value found, in `unit`.
    pub value: f64,
    /// The limit it was held against, in `unit`.
    pub limit: f64,
    /// Unit of value and limit; empty for plain numbers.
    pub unit: &'static str,
    /// How it came out.
    pub verdict: Verdict,
    /// Where the limit comes from.
    pub source: &'static str,
    /// What would mend it; empty when nothing needs mending.
    pub remedy: String,
}

/// Something that makes the job impossible, with the path of the key that is at fault.
///
/// The path is written as in the document: `table.ribs.count`, `layers[2].thickness`. The document room turns it
/// into a line and a column.
#[derive(Debug, Clone, PartialEq)]
pub struct Fault {
    /// Stable name of the mistake, such as `parallel-folds`.
    pub code: &'static str,
    /// The key at fault.
    pub path: String,
    /// What is wrong, in a sentence with its numbers.
    pub message: String,
    /// What would be right.
    pub remedy: String,
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
    /// A fault at `path`.
    pub fn new(
        code: &'static str,
        path: impl Into<String>,
        message: impl Into<String>,
        remedy: impl Into<String>,
    ) -> Self {
        Self { code, path: path.into(), message: message.into(), remedy: remedy.into(), place: None }
    }

    /// The same fault, in a file that the document or an argument names.
    pub fn in_file(self, place: FilePlace) -> Self {
        Self { place: Some(place), ..self }
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.place {
            Some(place) => write!(f, "{}:{}", place.file, place.line)?,
            None => f.write_str(&self.path)?,
        }
        write!(f, " [{}]: {} {}", self.code, self.message, self.remedy)
    }
}

impl std::error::Error for Fault {}

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
