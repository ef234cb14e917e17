//! A text of TOML with the places of its keys: parsing, and faults with their places.

use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::problem::{Problem, Problems};
use crate::codes;
use crate::finding::Fault;
use crate::units::LengthUnit;

/// Most problems that are reported at once.
pub(super) const MOST_PROBLEMS: usize = 40;

/// A file as text, with the place of every key.
#[derive(Debug)]
pub(super) struct Source<'a> {
    pub(super) name: &'a str,
    pub(super) text: &'a str,
    pub(super) tree: Spanned<DeTable<'a>>,
}

impl<'a> Source<'a> {
    /// Parses TOML of at most `largest` bytes; `too_large` says what to do about more.
    ///
    /// # Errors
    /// All syntax errors with their places.
    pub(super) fn parse(name: &'a str, text: &'a str, (largest, too_large): (usize, &str)) -> Result<Self, Problems> {
        let problem = |(span, fault)| Problem::at(name, text, span, fault);
        if text.len() > largest {
            let message = format!("it has {} bytes; {largest} are the most that are read.", text.len());
            return Err(problem((0..0, Fault::new(codes::DOCUMENT_TOO_LARGE, "", message, too_large))).into());
        }
        let (tree, errors) = DeTable::parse_recoverable(text);
        let located = |e: &toml::de::Error| {
            let span = e.span().unwrap_or(0..0);
            let begins = text.get(..span.start).unwrap_or(text).rfind('\n').map_or(0, |at| at + 1);
            let line = text[begins..].lines().next().unwrap_or_default();
            let (message, remedy) = if e.message().contains("duplicate key") {
                ("this key stands here for the second time.".to_owned(), "Delete one of the two.")
            } else if line.trim_end().ends_with('=') {
                ("this key has no value.".to_owned(), "Write the value behind the `=`, or delete the line.")
            } else {
                let message = format!("this is not valid TOML: {}.", e.message().trim_end_matches('.'));
                (message, "Write it as `key = value`, texts in double quotes, tables as `[name]`.")
            };
            problem((span, Fault::new(codes::SYNTAX, "", message, remedy)))
        };
        let mut problems: Problems = errors.iter().map(located).collect();
        if problems.is_empty() {
            let mut controls = Vec::new();
            controls_in_table(tree.get_ref(), &mut controls);
            problems.extend(controls.into_iter().take(MOST_PROBLEMS).map(problem));
        }
        problems.or(Self { name, text, tree })
    }

    /// Gives faults their places, ordered by place, and the unit in which they are reported.
    pub(super) fn problems(&self, faults: impl IntoIterator<Item = Fault>, unit: LengthUnit) -> Problems {
        let located = |f: Fault| {
            let f = f.in_units(unit);
            let span = span_of(&self.tree, &f.path, f.code == codes::UNKNOWN_KEY);
            Problem::in_file(&f).unwrap_or_else(|| Problem::at(self.name, self.text, span, f))
        };
        let mut problems: Problems = faults.into_iter().map(located).collect();
        problems.sort_by_key(|p| (p.span.start, p.span.end));
        problems.truncate(MOST_PROBLEMS);
        problems
    }

    /// Bytes of the value that is written at `path`, if there is one.
    pub(super) fn written_at(&self, path: &str) -> Option<Range<usize>> {
        let mut table = Some(self.tree.get_ref());
        let mut value: Option<&Spanned<DeValue<'_>>> = None;
        for step in steps(path) {
            let found = match step {
                Step::Key(key) => table.and_then(|t| t.get(key)),
                Step::Index(i) => value.and_then(|v| v.get_ref().as_array()).and_then(|a| a.get(i)),
            }?;
            table = found.get_ref().as_table();
            value = Some(found);
        }
        value.map(Spanned::span)
    }
}

/// Control characters in keys and texts, with their places. A terminal would obey them, and no name or path has any.
fn controls_in_table(table: &DeTable<'_>, found: &mut Vec<(Range<usize>, Fault)>) {
    for (key, value) in table.iter() {
        controls_in_text("a key", key.get_ref(), key.span(), found);
        controls_in_value(value, found);
    }
}

fn controls_in_value(value: &Spanned<DeValue<'_>>, found: &mut Vec<(Range<usize>, Fault)>) {
    match value.get_ref() {
        DeValue::String(text) => controls_in_text("this text", text, value.span(), found),
        DeValue::Table(table) => controls_in_table(table, found),
        DeValue::Array(list) => list.iter().for_each(|v| controls_in_value(v, found)),
        _ => {}
    }
}

fn controls_in_text(what: &str, text: &str, span: Range<usize>, found: &mut Vec<(Range<usize>, Fault)>) {
    let Some((at, c)) = text.chars().enumerate().find(|(_, c)| c.is_control()) else { return };
    let message = format!("character {} of {what} is the control character U+{:04X}.", at + 1, u32::from(c));
    let remedy = "Write it on one line, without tabs, line ends and escapes such as \\n or \\u001B.";
    found.push((span, Fault::new(codes::CONTROL_CHARACTER, "", message, remedy)));
}

/// One step of a path.
enum Step<'a> {
    Key(&'a str),
    Index(usize),
}

fn steps(path: &str) -> impl Iterator<Item = Step<'_>> {
    path.split('.').filter(|p| !p.is_empty()).flat_map(|part| {
        let mut pieces = part.split('[');
        let key = pieces.next().filter(|k| !k.is_empty()).map(Step::Key);
        let indices = pieces.filter_map(|i| i.trim_end_matches(']').parse().ok().map(Step::Index));
        key.into_iter().chain(indices)
    })
}

/// Bytes of the value at `path`, or of its key where `at_key`; of the nearest enclosing key when the path itself is not
/// written. Where nothing of it is, the first key of the document for a fault of the whole and for the title, which belongs
/// there, and the end of the document for a table that is to be added.
fn span_of(tree: &Spanned<DeTable<'_>>, path: &str, at_key: bool) -> Range<usize> {
    let first = tree.get_ref().iter().map(|(k, _)| k.span()).min_by_key(|s| s.start);
    let mut span = first.unwrap_or(0..0);
    if !path.is_empty() && path != "title" {
        let end = tree.get_ref().iter().map(|(k, v)| last_byte(v).max(k.span().end)).max();
        span = end.map_or(span, |end| end..end);
    }
    let mut table = Some(tree.get_ref());
    let mut value: Option<&Spanned<DeValue<'_>>> = None;
    for step in steps(path) {
        let next = match step {
            Step::Key(key) => table.and_then(|t| t.get_key_value(key)).map(|(k, v)| (Some(k.span()), v)),
            Step::Index(i) => value.and_then(|v| v.get_ref().as_array()).and_then(|a| a.get(i)).map(|v| (None, v)),
        };
        let Some((key_span, found)) = next else { break };
        // A table's own span may cover many lines; its key is the better place to point at.
        span = match (found.get_ref(), key_span) {
            (DeValue::Table(_) | DeValue::Array(_), Some(key)) => key,
            (_, Some(key)) if at_key => key,
            (DeValue::Table(_), None) => first_line(found),
            _ => found.span(),
        };
        table = found.get_ref().as_table();
        value = Some(found);
    }
    span
}

/// The last byte of what is written of a value, tables inside it included.
fn last_byte(value: &Spanned<DeValue<'_>>) -> usize {
    let inside = match value.get_ref() {
        DeValue::Table(table) => table.iter().map(|(k, v)| last_byte(v).max(k.span().end)).max(),
        DeValue::Array(list) => list.iter().map(last_byte).max(),
        _ => None,
    };
    inside.unwrap_or(0).max(value.span().end)
}

fn first_line(value: &Spanned<DeValue<'_>>) -> Range<usize> {
    let span = value.span();
    match value.get_ref() {
        DeValue::Table(t) if span.is_empty() => t.iter().next().map_or(span, |(k, _)| k.span()),
        _ => span,
    }
}
