//! A fault with its place.

use std::fmt;
use std::ops::Range;

use crate::finding::Fault;

/// Something wrong in a document, with where it stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Problem {
    /// Name of the document, or of the file that it names.
    pub file: String,
    /// Bytes of that file that are at fault.
    pub span: Range<usize>,
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// What is wrong and what would be right.
    pub fault: Fault,
}

impl Problem {
    /// A fault at bytes `span` of `text`.
    pub fn at(file: &str, text: &str, span: Range<usize>, fault: Fault) -> Self {
        let start = floor_char(text, span.start);
        let end = floor_char(text, span.end).max(start);
        let before = &text[..start];
        let line = before.matches('\n').count() + 1;
        let column = before.rsplit('\n').next().map_or(1, |l| l.chars().count() + 1);
        Self { file: file.to_owned(), span: start..end, line, column, fault }
    }

    /// A fault that stands in a file of its own, with its place there.
    pub fn in_file(fault: &Fault) -> Option<Self> {
        let place = fault.place.as_ref()?;
        let span = place.line_start + place.bytes.start..place.line_start + place.bytes.end;
        let column = place.text.get(..place.bytes.start).map_or(1, |before| before.chars().count() + 1);
        Some(Self { file: place.file.clone(), span, line: place.line, column, fault: fault.clone() })
    }
}

fn floor_char(text: &str, at: usize) -> usize {
    let mut at = at.min(text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Fault { code, message, remedy, .. } = &self.fault;
        write!(f, "{}:{}:{}: [{code}] {message} {remedy}", self.file, self.line, self.column)
    }
}
