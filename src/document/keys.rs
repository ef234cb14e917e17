//! What a key takes, as data: for the schema, the list of keys, and pages that offer a control for each key.

use std::fmt;

use crate::job::LONGEST_TEXT;
use crate::units::{Dimension, plain};

/// A key of a document.
#[derive(Debug, Clone, PartialEq)]
pub struct Key {
    /// Where it stands, such as `layers[].sag_test.span`; `[]` stands for each entry of a list.
    pub path: String,
    /// What it is, in a sentence.
    pub meaning: &'static str,
    /// What may stand behind it.
    pub takes: Takes,
    /// What holds where it is not given.
    pub left_out: LeftOut,
}

/// What may stand behind a key.
#[derive(Debug, Clone, PartialEq)]
pub enum Takes {
    /// A number, bare or as a text with a unit.
    Quantity {
        /// What it measures; it knows the units.
        dimension: Dimension,
        /// Which values, in the library's own unit of the dimension.
        range: Range,
        /// A word that may stand in the place of the number.
        word: Option<&'static str>,
    },
    /// A whole number.
    Count {
        /// The least.
        least: usize,
        /// The most.
        most: usize,
        /// Whether 0 is taken as well, for none.
        or_zero: bool,
    },
    /// One of a few whole numbers.
    Number(&'static [usize]),
    /// A text of 1 to [`LONGEST_TEXT`] characters.
    Text,
    /// `true` or `false`.
    Flag,
    /// One of a few words.
    Choice(Vec<&'static str>),
    /// A list.
    List {
        /// What each entry is.
        of: Box<Takes>,
        /// How few and how many entries it may have.
        entries: (usize, usize),
    },
    /// Two values in a list of their own.
    Pair(Box<(Takes, Takes)>),
    /// A table; its keys have paths of their own.
    Table,
    /// A list of tables; their keys have paths of their own.
    Tables {
        /// How few and how many tables there may be.
        entries: (usize, usize),
    },
}

/// Which values a quantity may have.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum Range {
    /// More than 0, at most this.
    UpTo(f64),
    /// From the first to the second.
    Within(f64, f64),
    /// At most this in size, but not 0.
    NotZero(f64),
}

/// What holds where a key is not given.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum LeftOut {
    /// It must be given.
    Required,
    /// This value, which may be written as well.
    Default(Value),
    /// What the words say.
    Says(&'static str),
    /// Nothing is known of it then, or another key stands in its place.
    Nothing,
}

/// A value as it is written in a document.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// A bare number.
    Number(f64),
    /// A text.
    Text(String),
    /// `true` or `false`.
    Flag(bool),
}

impl fmt::Display for Value {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Number(number) => f.write_str(&plain(*number, DECIMALS)),
            Self::Text(text) => f.write_str(text),
            Self::Flag(flag) => write!(f, "{flag}"),
        }
    }
}

/// Decimals of bounds and defaults; the finest is a part of a thousand.
const DECIMALS: usize = 6;

/// A quantity in the unit of a bare number, with that unit.
pub(super) fn shown(value: f64, dimension: Dimension) -> String {
    format!("{} {}", plain(dimension.to_bare(value), DECIMALS), dimension.unit()).trim_end().to_owned()
}

impl Range {
    /// Whether it holds a value.
    pub(crate) fn holds(self, value: f64) -> bool {
        match self {
            Self::UpTo(most) => value > 0.0 && value <= most,
            Self::Within(least, most) => (least..=most).contains(&value),
            Self::NotZero(most) => value.abs() <= most && value != 0.0,
        }
    }

    /// The lowest value, which [`Range::UpTo`] does not hold itself, and the highest.
    pub fn ends(self) -> (f64, f64) {
        match self {
            Self::UpTo(most) => (0.0, most),
            Self::Within(least, most) => (least, most),
            Self::NotZero(most) => (-most, most),
        }
    }

    /// In words, the numbers in the unit of bare ones: `above 0, up to 300 mm`.
    fn words(self, dimension: Dimension) -> String {
        let (least, most) = self.ends();
        let (least, most) = (plain(dimension.to_bare(least), DECIMALS), shown(most, dimension));
        match self {
            Self::UpTo(_) => format!("above 0, up to {most}"),
            Self::Within(..) => format!("from {least} to {most}"),
            Self::NotZero(_) => format!("from {least} to {most} but not 0"),
        }
    }
}

impl Takes {
    /// A quantity without a word in its place.
    pub(super) fn quantity(dimension: Dimension, range: Range) -> Self {
        Self::Quantity { dimension, range, word: None }
    }

    /// The dimension of the quantity, or of the first one in each entry of a list.
    pub fn dimension(&self) -> Option<Dimension> {
        match self {
            Self::Quantity { dimension, .. } => Some(*dimension),
            Self::List { of, .. } => of.dimension(),
            Self::Pair(pair) => pair.0.dimension(),
            _ => None,
        }
    }

    /// In words: `a length above 0, up to 300 mm`.
    pub fn words(&self) -> String {
        let list = |words: &[&str]| words.iter().map(|w| format!("`{w}`")).collect::<Vec<_>>().join(", ");
        let counted = |what: &str, (least, most): (usize, usize)| match least {
            0 => format!("a list of at most {most} {what}"),
            _ if least == most => format!("a list of {most} {what}"),
            _ => format!("a list of {least} to {most} {what}"),
        };
        match self {
            Self::Quantity { dimension, range, word } => {
                let article = if dimension.name().starts_with(['a', 'e']) { "an" } else { "a" };
                let word = word.map_or(String::new(), |w| format!(" or `{w}`"));
                format!("{article} {} {}{word}", dimension.name(), range.words(*dimension))
            }
            Self::Count { least, most, or_zero } => {
                format!("a whole number from {least} to {most}{}", if *or_zero { ", or 0" } else { "" })
            }
            Self::Number(numbers) => {
                let numbers: Vec<String> = numbers.iter().map(ToString::to_string).collect();
                format!("one of the numbers {}", numbers.join(", "))
            }
            Self::Text => format!("a text of 1 to {LONGEST_TEXT} characters"),
            Self::Flag => "true or false".to_owned(),
            Self::Choice(words) => format!("one of {}", list(words)),
            Self::List { of, entries } => counted(&format!("entries, each {}", of.words()), *entries),
            Self::Pair(pair) => format!("a pair of {} and {}", pair.0.words(), pair.1.words()),
            Self::Table => "a table".to_owned(),
            Self::Tables { entries } => counted("tables", *entries),
        }
    }
}

impl Key {
    /// Its name in its table.
    pub fn name(&self) -> &str {
        self.path.rsplit('.').next().unwrap_or_default().trim_end_matches("[]")
    }

    /// The path of the table that it stands in; empty for the document itself.
    pub fn table(&self) -> &str {
        self.path.rsplit_once('.').map_or("", |(table, _)| table)
    }

    /// What it takes and what holds without it, in a sentence: `Takes a length from 0 to 2000 mm; 40 mm when left out.`
    pub fn rule(&self) -> String {
        let left_out = match &self.left_out {
            LeftOut::Required => "; required".to_owned(),
            LeftOut::Default(value) => format!("; `{value}` when left out"),
            LeftOut::Says(what) => format!("; {what} when left out"),
            LeftOut::Nothing => String::new(),
        };
        format!("Takes {}{left_out}.", self.takes.words())
    }

    /// Which units it takes, in a sentence; `None` where there are none.
    pub(crate) fn units(&self) -> Option<String> {
        let dimension = self.takes.dimension().filter(|d| !matches!(d, Dimension::Ratio | Dimension::Price))?;
        if !dimension.takes_bare() {
            return Some(format!("A text with a unit: {}.", dimension.units()));
        }
        let bare = if dimension == Dimension::Length { "the document's `units`" } else { dimension.unit() };
        Some(format!("A bare number is in {bare}; texts take {}.", dimension.units()))
    }
}

/// The list of all keys in Markdown, one table for each table of the document.
pub(super) fn page(keys: &[Key]) -> String {
    let mut page = String::new();
    // Tables that were written, and paths of those that are like one of them.
    let (mut written, mut alike): (Vec<(String, String)>, Vec<String>) = (Vec::new(), Vec::new());
    let tables = keys.iter().filter(|k| matches!(k.takes, Takes::Table | Takes::Tables { .. }));
    let paths = tables.map(|k| match k.takes {
        Takes::Table => (k.path.clone(), k.meaning),
        _ => (format!("{}[]", k.path), k.meaning),
    });
    for (path, meaning) in std::iter::once((String::new(), "Top-level keys.")).chain(paths) {
        if alike.iter().any(|a| path.starts_with(a.as_str())) {
            continue;
        }
        let row = |k: &Key| format!("| `{}` | {} | {} |\n", k.name(), k.meaning, k.rule().replace("Takes ", ""));
        let rows: String = keys.iter().filter(|k| k.table() == path).map(row).collect();
        let heading = if path.is_empty() { "The document".to_owned() } else { format!("`{path}`") };
        page.push_str(&format!("\n### {heading}\n\n{meaning}\n\n"));
        if let Some((other, _)) = written.iter().find(|w| w.1 == rows) {
            page.push_str(&format!("The keys of `{other}`.\n"));
            alike.push(path);
        } else {
            page.push_str(&format!("| key | meaning | takes |\n|---|---|---|\n{rows}"));
            written.push((path, rows));
        }
    }
    page
}
