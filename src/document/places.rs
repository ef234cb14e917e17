//! From paths of keys to places in the text, and reading that survives wrong keys.

use std::ops::Range;

use serde::de::DeserializeOwned;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::reader::nearest;
use crate::codes;
use crate::finding::Fault;

/// Most structural problems that are collected from one document.
pub(super) const MOST_PROBLEMS: usize = 40;

/// Reads `T` from the tree. Each key that does not fit is reported, taken out, and the reading repeated, so that one
/// run finds them all. Returns the value, the faults, and the paths that were taken out.
pub(super) fn extract<T: DeserializeOwned + Default>(tree: &Spanned<DeTable<'_>>) -> (T, Vec<Fault>, Vec<String>) {
    let mut tree = tree.clone();
    let (mut faults, mut spoiled) = (Vec::new(), Vec::new());
    while faults.len() < MOST_PROBLEMS {
        let error = match T::deserialize(toml::de::Deserializer::from(tree.clone())) {
            Ok(value) => return (value, faults, spoiled),
            Err(error) => error,
        };
        let span = error.span().unwrap_or(0..0);
        let Some(path) = path_at(tree.get_ref(), &span) else {
            faults.push(Fault::new(codes::WRONG_SHAPE, "", error.message().to_owned(), ""));
            break;
        };
        let (fault, meant) = describe(&path, error.message());
        faults.push(fault);
        remove(tree.get_mut(), &path);
        // The key that was probably meant is not reported as missing as well.
        if let Some(meant) = meant {
            let parent = path.rfind('.').map_or("", |dot| &path[..=dot]);
            spoiled.push(format!("{parent}{meant}"));
        }
        spoiled.push(path);
    }
    (T::default(), faults, spoiled)
}

/// Control characters in keys and texts, with their places. A terminal would obey them, and no name or path has any.
pub(super) fn control_characters(tree: &Spanned<DeTable<'_>>) -> Vec<(Range<usize>, Fault)> {
    let mut found = Vec::new();
    controls_in_table(tree.get_ref(), &mut found);
    found
}

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

/// Our words for what serde says about a key, and the key that was probably meant.
fn describe(path: &str, message: &str) -> (Fault, Option<String>) {
    let quoted: Vec<&str> = message.split('`').skip(1).step_by(2).collect();
    let key = path.rsplit('.').next().unwrap_or(path);
    if message.starts_with("unknown field") {
        let known = quoted.get(1..).unwrap_or_default();
        let meant = nearest(key, known);
        let hint = meant.map_or(String::new(), |n| format!("Did you mean `{n}`? "));
        let list = known.join(", ");
        let message = format!("there is no key `{key}` here.");
        let fault = Fault::new(codes::UNKNOWN_KEY, path, message, format!("{hint}Known here: {list}."));
        return (fault, meant.map(str::to_owned));
    }
    let (found, wanted) = message.split_once(", expected ").unwrap_or((message, "another shape"));
    let found = found.trim_start_matches("invalid type: ").replace("floating point", "number");
    let wanted = match wanted {
        w if w.starts_with("struct") => "a table",
        w if w.starts_with("a sequence") => "a list",
        w => w,
    };
    let fault = Fault::new(
        codes::WRONG_SHAPE,
        path,
        format!("`{key}` has the wrong shape: {found} where {wanted} belongs."),
        "Look at a starter document (`overbend new`) for the shape of this key.",
    );
    (fault, None)
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
pub(super) fn span_of(tree: &Spanned<DeTable<'_>>, path: &str, at_key: bool) -> Range<usize> {
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

/// Bytes of the value that is written at `path`, if there is one.
pub(super) fn written_at(tree: &Spanned<DeTable<'_>>, path: &str) -> Option<Range<usize>> {
    let mut table = Some(tree.get_ref());
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

fn first_line(value: &Spanned<DeValue<'_>>) -> Range<usize> {
    let span = value.span();
    match value.get_ref() {
        DeValue::Table(t) if span.is_empty() => t.iter().next().map_or(span, |(k, _)| k.span()),
        _ => span,
    }
}

/// The deepest key or list entry that `span` lies in.
fn path_at(table: &DeTable<'_>, span: &Range<usize>) -> Option<String> {
    let holds = |outer: &Range<usize>| outer.start <= span.start && span.end <= outer.end && !outer.is_empty();
    for (key, value) in table.iter() {
        let name = key.get_ref();
        if holds(&key.span()) {
            return Some(name.to_string());
        }
        if let Some(rest) = path_in_value(value, span) {
            let joint = if rest.is_empty() || rest.starts_with('[') { "" } else { "." };
            return Some(format!("{name}{joint}{rest}"));
        }
        if holds(&value.span()) {
            return Some(name.to_string());
        }
    }
    None
}

fn path_in_value(value: &Spanned<DeValue<'_>>, span: &Range<usize>) -> Option<String> {
    match value.get_ref() {
        DeValue::Table(t) => path_at(t, span),
        DeValue::Array(a) => a.iter().enumerate().find_map(|(i, v)| {
            let inner = path_in_value(v, span);
            let own = v.span();
            let here = own.start <= span.start && span.end <= own.end && !own.is_empty();
            match inner {
                Some(rest) if rest.starts_with('[') => Some(format!("[{i}]{rest}")),
                Some(rest) => Some(format!("[{i}].{rest}")),
                None if here => Some(format!("[{i}]")),
                None => None,
            }
        }),
        _ => None,
    }
}

/// Takes the key or list entry at `path` out of the tree.
fn remove(table: &mut DeTable<'_>, path: &str) {
    let steps: Vec<Step<'_>> = steps(path).collect();
    let Some((Step::Key(first), rest)) = steps.split_first() else { return };
    if rest.is_empty() {
        table.remove(*first);
    } else if let Some(value) = table.get_mut(*first) {
        remove_in(value.get_mut(), rest);
    }
}

fn remove_in(value: &mut DeValue<'_>, steps: &[Step<'_>]) {
    let Some((step, rest)) = steps.split_first() else { return };
    match (value, step) {
        (DeValue::Table(t), Step::Key(key)) if rest.is_empty() => {
            t.remove(*key);
        }
        (DeValue::Table(t), Step::Key(key)) => {
            if let Some(v) = t.get_mut(*key) {
                remove_in(v.get_mut(), rest);
            }
        }
        (DeValue::Array(a), Step::Index(i)) if *i < a.len() => {
            if rest.is_empty() {
                // An emptied table keeps the places of the entries behind it.
                if let Some(v) = a.get_mut(*i) {
                    *v.get_mut() = DeValue::Table(DeTable::new());
                }
            } else if let Some(v) = a.get_mut(*i) {
                remove_in(v.get_mut(), rest);
            }
        }
        _ => {}
    }
}
