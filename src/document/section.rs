//! A table of a document while it is read: asking for a key declares it.
//!
//! What a key is called, takes, means, and what holds without it stands in the one place that asks for it. Reading, bounds, the list
//! of known keys, the schema and [`super::keys`] all come from there: to list the keys, the same functions read nothing.
//! So a function that reads a table asks for all of its keys before it returns.

use toml::de::{DeArray, DeTable, DeValue};

use super::doubts;
use super::keys::{Key, LeftOut, Range, Takes, Value, shown};
use super::reader::{Reader, counted, inside_sentence, last_of, nearest, number_of};
use super::source::MOST_PROBLEMS;
use crate::codes;
use crate::finding::Code;
use crate::job::Doubt;
use crate::units::{Dimension, Phrase};

/// One table of the document.
pub(super) struct Section<'r, 't> {
    pub(super) reader: &'r mut Reader,
    /// Where it stands in the document; empty for the document itself.
    pub(super) path: String,
    /// What is written; an empty table where there is none.
    table: Option<&'t DeTable<'t>>,
    known: Vec<&'static str>,
}

/// A key that was asked for, until it is said what holds without it.
pub(super) struct Asked<'s, 'r, 't, T> {
    section: &'s mut Section<'r, 't>,
    key: &'static str,
    takes: Takes,
    /// `None` where nothing is written or what is written is wrong.
    value: Option<T>,
    /// Its place in the list of keys, where one is made.
    listed: usize,
}

/// Reads the table at `path`, `None` for an empty one, and tells its unknown keys.
pub(super) fn read<'t, T>(
    reader: &mut Reader,
    path: String,
    table: Option<&'t DeTable<'t>>,
    read: impl FnOnce(&mut Section<'_, 't>) -> T,
) -> T {
    let mut section = Section { reader, path, table, known: Vec::new() };
    let found = read(&mut section);
    section.tell_unknown();
    found
}

impl<'r, 't> Section<'r, 't> {
    /// The path of a key of this table.
    pub(super) fn path_of(&self, key: &str) -> String {
        if self.path.is_empty() { key.to_owned() } else { format!("{}.{key}", self.path) }
    }

    /// Whether something is written behind a key, right or wrong.
    pub(super) fn has(&self, key: &str) -> bool {
        self.value(key).is_some()
    }

    /// The bare number behind a key, as it was typed.
    pub(super) fn bare(&self, key: &str) -> Option<f64> {
        self.value(key).and_then(number_of)
    }

    fn value(&self, key: &str) -> Option<&'t DeValue<'t>> {
        self.table.and_then(|t| t.get(key)).map(|v| v.get_ref())
    }

    /// Records a fault at a key.
    pub(super) fn fault(
        &mut self,
        code: &'static Code,
        key: &str,
        message: impl Into<Phrase>,
        remedy: impl Into<Phrase>,
    ) {
        let path = self.path_of(key);
        self.reader.fault(code, &path, message, remedy);
    }

    /// Records that a key is missing.
    pub(super) fn missing(&mut self, key: &str, remedy: impl Into<Phrase>) {
        self.fault(codes::MISSING_KEY, key, format!("`{key}` is missing."), remedy);
    }

    /// Notes what looks like a slip.
    pub(super) fn doubt(&mut self, doubt: Option<Doubt>) {
        self.reader.doubts.extend(doubt);
    }

    /// The one key that is given among several of which one decides `what`, or a fault that lists them.
    pub(super) fn one_of(&mut self, keys: &[&'static str], what: &str) -> Option<&'static str> {
        let given: Vec<&'static str> = keys.iter().copied().filter(|k| self.has(k)).collect();
        let names = keys.iter().map(|k| format!("`{k}`")).collect::<Vec<_>>().join(", ");
        match given[..] {
            [only] => return Some(only),
            [] => {
                let path = self.path.clone();
                self.reader.fault(
                    codes::MISSING_KEY,
                    &path,
                    format!("{what} is not given."),
                    format!("Give one of {names}."),
                );
            }
            [_, second, ..] => {
                let message = format!("{what} is given more than once: `{}`.", given.join("` and `"));
                self.fault(codes::TOO_MANY_CHOICES, second, message, format!("Keep one of {names}."));
            }
        }
        None
    }

    /// Declares a key, and finds what is written behind it.
    fn declare(&mut self, key: &'static str, meaning: &'static str, takes: &Takes) -> (usize, Option<&'t DeValue<'t>>) {
        self.known.push(key);
        let path = self.path_of(key);
        let list = self.reader.listing.as_mut();
        let listed = list.map_or(0, |list| {
            list.push(Key { path, meaning, takes: takes.clone(), left_out: LeftOut::Nothing });
            list.len() - 1
        });
        (listed, self.value(key))
    }

    fn ask<T>(
        &mut self,
        key: &'static str,
        meaning: &'static str,
        takes: Takes,
        read: impl FnOnce(&mut Reader, &'t DeValue<'t>, &str) -> Option<T>,
    ) -> Asked<'_, 'r, 't, T> {
        let (listed, written) = self.declare(key, meaning, &takes);
        let path = self.path_of(key);
        let value = written.and_then(|v| read(self.reader, v, &path));
        Asked { section: self, key, takes, value, listed }
    }

    /// A quantity.
    pub(super) fn quantity(
        &mut self,
        key: &'static str,
        dimension: Dimension,
        range: Range,
        meaning: &'static str,
    ) -> Asked<'_, 'r, 't, f64> {
        let takes = Takes::quantity(dimension, range);
        self.ask(key, meaning, takes, |reader, value, path| reader.quantity(value, path, dimension, range))
    }

    /// A length.
    pub(super) fn length(&mut self, key: &'static str, range: Range, meaning: &'static str) -> Asked<'_, 'r, 't, f64> {
        self.quantity(key, Dimension::Length, range, meaning)
    }

    /// A quantity, or `None` for a word in its place.
    pub(super) fn quantity_or(
        &mut self,
        key: &'static str,
        word: &'static str,
        (dimension, range): (Dimension, Range),
        meaning: &'static str,
    ) -> Asked<'_, 'r, 't, Option<f64>> {
        let takes = Takes::Quantity { dimension, range, word: Some(word) };
        self.ask(key, meaning, takes, |reader, value, path| {
            if value.as_str().is_some_and(|t| t.trim() == word) {
                return Some(None);
            }
            reader.quantity(value, path, dimension, range).map(Some)
        })
    }

    /// A whole number.
    pub(super) fn count(
        &mut self,
        key: &'static str,
        (least, most): (usize, usize),
        meaning: &'static str,
    ) -> Asked<'_, 'r, 't, usize> {
        let takes = Takes::Count { least, most, or_zero: false };
        self.ask(key, meaning, takes, |reader, value, path| reader.count(value, path, (least, most), false))
    }

    /// A whole number, or 0.
    pub(super) fn count_or_zero(
        &mut self,
        key: &'static str,
        (least, most): (usize, usize),
        meaning: &'static str,
    ) -> Asked<'_, 'r, 't, usize> {
        let takes = Takes::Count { least, most, or_zero: true };
        self.ask(key, meaning, takes, |reader, value, path| reader.count(value, path, (least, most), true))
    }

    /// A text.
    pub(super) fn text(&mut self, key: &'static str, meaning: &'static str) -> Asked<'_, 'r, 't, String> {
        self.ask(key, meaning, Takes::Text, Reader::text)
    }

    /// The name of a file that the document wants to be handed over.
    pub(super) fn file(&mut self, key: &'static str, meaning: &'static str) -> Asked<'_, 'r, 't, String> {
        self.ask(key, meaning, Takes::Text, |reader, value, path| {
            let name = reader.text(value, path)?;
            reader.files.push((path.to_owned(), name.clone()));
            Some(name)
        })
    }

    /// `true` or `false`.
    pub(super) fn flag(&mut self, key: &'static str, meaning: &'static str) -> Asked<'_, 'r, 't, bool> {
        self.ask(key, meaning, Takes::Flag, Reader::flag)
    }

    /// One of a few words.
    pub(super) fn word<T: Copy>(
        &mut self,
        key: &'static str,
        choices: &[(&'static str, T)],
        meaning: &'static str,
    ) -> Asked<'_, 'r, 't, T> {
        let words: Vec<&'static str> = choices.iter().map(|c| c.0).collect();
        self.ask(key, meaning, Takes::Choice(words.clone()), |reader, value, path| {
            let typed = reader.text(value, path)?;
            let found = choices.iter().find(|c| c.0.eq_ignore_ascii_case(&typed)).map(|c| c.1);
            if found.is_none() {
                reader.wrong_choice(path, (&typed, &words), "\"");
            }
            found
        })
    }

    /// One of a few words; the first one where nothing is written.
    pub(super) fn choice<T: Copy>(
        &mut self,
        key: &'static str,
        choices: &[(&'static str, T)],
        meaning: &'static str,
    ) -> T {
        let (word, usual) = choices[0];
        let asked = self.word(key, choices, meaning);
        asked.list(LeftOut::Default(Value::Text(word.to_owned()))).unwrap_or(usual)
    }

    /// One of a few whole numbers; the last one where nothing is written.
    pub(super) fn number(&mut self, key: &'static str, numbers: &'static [usize], meaning: &'static str) -> usize {
        let usual = numbers.last().copied().unwrap_or_default();
        let asked = self.ask(key, meaning, Takes::Number(numbers), |reader, value, path| {
            let typed = number_of(value).map_or_else(|| reader.text(value, path), |n| Some(n.to_string()))?;
            let found = numbers.iter().find(|n| n.to_string() == typed);
            if found.is_none() {
                let words: Vec<String> = numbers.iter().map(ToString::to_string).collect();
                let words: Vec<&str> = words.iter().map(String::as_str).collect();
                reader.wrong_choice(path, (&typed, &words), "");
            }
            found.copied()
        });
        asked.list(LeftOut::Default(Value::Number(usual as f64))).unwrap_or(usual)
    }

    /// A list of values.
    fn list<T>(
        &mut self,
        key: &'static str,
        of: Takes,
        entries: (usize, usize),
        meaning: &'static str,
        mut read: impl FnMut(&mut Reader, &'t DeValue<'t>, &str) -> Option<T>,
    ) -> Asked<'_, 'r, 't, Vec<T>> {
        let takes = Takes::List { of: Box::new(of), entries };
        self.ask(key, meaning, takes, |reader, value, path| {
            let list = list_of(reader, value, path, (entries, meaning))?;
            let values: Vec<Option<T>> =
                list.iter().enumerate().map(|(i, v)| read(reader, v.get_ref(), &format!("{path}[{i}]"))).collect();
            values.into_iter().collect()
        })
    }

    /// A list of lengths.
    pub(super) fn lengths(
        &mut self,
        key: &'static str,
        range: Range,
        entries: (usize, usize),
        meaning: &'static str,
    ) -> Asked<'_, 'r, 't, Vec<f64>> {
        let of = Takes::quantity(Dimension::Length, range);
        self.list(key, of, entries, meaning, move |reader, value, path| {
            reader.quantity(value, path, Dimension::Length, range)
        })
    }

    /// A list of whole numbers.
    pub(super) fn counts(
        &mut self,
        key: &'static str,
        (least, most): (usize, usize),
        entries: (usize, usize),
        meaning: &'static str,
    ) -> Asked<'_, 'r, 't, Vec<usize>> {
        let of = Takes::Count { least, most, or_zero: false };
        self.list(key, of, entries, meaning, move |reader, value, path| reader.count(value, path, (least, most), false))
    }

    /// A list of texts.
    pub(super) fn texts(
        &mut self,
        key: &'static str,
        entries: (usize, usize),
        meaning: &'static str,
    ) -> Asked<'_, 'r, 't, Vec<String>> {
        self.list(key, Takes::Text, entries, meaning, Reader::text)
    }

    /// A list of pairs; `example` shows one in messages.
    pub(super) fn pairs(
        &mut self,
        key: &'static str,
        [first, second]: [(Dimension, Range); 2],
        entries: (usize, usize),
        (example, meaning): (&'static str, &'static str),
    ) -> Asked<'_, 'r, 't, Vec<(f64, f64)>> {
        let takes = |(dimension, range)| Takes::quantity(dimension, range);
        let of = Takes::Pair(Box::new((takes(first), takes(second))));
        self.list(key, of, entries, meaning, move |reader, value, path| {
            let Some(pair) = value.as_array() else {
                reader.wrong_shape(value, path, "a pair in a list");
                return None;
            };
            if pair.len() != 2 {
                let values = counted(pair.len(), "value", "values");
                let message = format!("an entry of `{key}` has {values} and should have two.");
                reader.fault(codes::WRONG_SHAPE, path, message, format!("Write pairs: {key} = {example}."));
                return None;
            }
            let a = reader.quantity(pair[0].get_ref(), &format!("{path}[0]"), first.0, first.1);
            let b = reader.quantity(pair[1].get_ref(), &format!("{path}[1]"), second.0, second.1);
            a.zip(b)
        })
    }

    /// A table.
    pub(super) fn table<T>(
        &mut self,
        key: &'static str,
        meaning: &'static str,
        each: impl FnOnce(&mut Section<'_, 't>) -> Option<T>,
    ) -> Asked<'_, 'r, 't, T> {
        let (listed, table) = self.table_of(key, meaning);
        let path = self.path_of(key);
        let there = table.is_some() || self.reader.listing.is_some();
        let value = if there { read(self.reader, path, table, each) } else { None };
        Asked { section: self, key, takes: Takes::Table, value, listed }
    }

    /// A table of which all may be left out.
    pub(super) fn settings<T>(
        &mut self,
        key: &'static str,
        meaning: &'static str,
        each: impl FnOnce(&mut Section<'_, 't>) -> T,
    ) -> T {
        let (_, table) = self.table_of(key, meaning);
        let path = self.path_of(key);
        read(self.reader, path, table, each)
    }

    /// Declares a table, and finds it.
    fn table_of(&mut self, key: &'static str, meaning: &'static str) -> (usize, Option<&'t DeTable<'t>>) {
        let (listed, written) = self.declare(key, meaning, &Takes::Table);
        let table = written.and_then(DeValue::as_table);
        if let (Some(other), None) = (written, table) {
            let path = self.path_of(key);
            self.reader.wrong_shape(other, &path, "a table");
        }
        (listed, table)
    }

    /// A list of tables, each read with its number from 0; nothing where one of them is wrong.
    pub(super) fn tables<T>(
        &mut self,
        key: &'static str,
        entries: (usize, usize),
        meaning: &'static str,
        mut each: impl FnMut(&mut Section<'_, 't>, usize) -> Option<T>,
    ) -> Asked<'_, 'r, 't, Vec<T>> {
        let takes = Takes::Tables { entries };
        let (listed, written) = self.declare(key, meaning, &takes);
        let path = self.path_of(key);
        if self.reader.listing.is_some() {
            read(self.reader, format!("{path}[]"), None, |entry| each(entry, 0));
        }
        let value = written.and_then(|value| {
            let mut found = Vec::new();
            let list = list_of(self.reader, value, &path, (entries, meaning))?;
            for (i, value) in list.iter().enumerate() {
                let at = format!("{path}[{i}]");
                match value.get_ref() {
                    DeValue::Table(table) => found.push(read(self.reader, at, Some(table), |entry| each(entry, i))),
                    other => {
                        self.reader.wrong_shape(other, &at, "a table");
                        found.push(None);
                    }
                }
            }
            found.into_iter().collect()
        });
        Asked { section: self, key, takes, value, listed }
    }

    /// Tells the keys that were not asked for, with the names that were probably meant.
    fn tell_unknown(self) {
        let unknown = self.table.iter().flat_map(|t| t.keys()).map(|k| k.get_ref().as_ref());
        for key in unknown.filter(|k| !self.known.contains(k)) {
            if self.reader.spoiled.len() >= MOST_PROBLEMS {
                break;
            }
            let meant = nearest(key, &self.known);
            let hint = meant.map_or(String::new(), |n| format!("Did you mean `{n}`? "));
            let path = self.path_of(key);
            let message = format!("there is no key `{key}` here.");
            self.reader.fault(
                codes::UNKNOWN_KEY,
                &path,
                message,
                format!("{hint}Known here: {}.", self.known.join(", ")),
            );
            self.reader.spoiled.extend(meant.map(|meant| self.path_of(meant)));
            self.reader.spoiled.push(path);
        }
    }
}

/// The entries of a list, unless it is none or has too few or too many.
fn list_of<'t>(
    reader: &mut Reader,
    value: &'t DeValue<'t>,
    path: &str,
    ((least, most), meaning): ((usize, usize), &str),
) -> Option<&'t DeArray<'t>> {
    let Some(list) = value.as_array() else {
        reader.wrong_shape(value, path, "a list");
        return None;
    };
    let message = format!("`{}` has {}.", last_of(path), counted(list.len(), "entry", "entries"));
    if list.len() > most && most > least {
        reader.fault(codes::TOO_MANY, path, message, format!("At most {most} are read."));
    } else if !(least..=most).contains(&list.len()) {
        let count = if least == most { least.to_string() } else { format!("{least} to {most}") };
        reader.fault(codes::WRONG_SHAPE, path, message, format!("Give {count}: {}.", inside_sentence(meaning)));
    } else {
        return Some(list);
    }
    None
}

impl<T> Asked<'_, '_, '_, T> {
    fn list(self, left_out: LeftOut) -> Option<T> {
        if let Some(key) = self.section.reader.listing.as_mut().and_then(|list| list.get_mut(self.listed)) {
            key.left_out = left_out;
        }
        self.value
    }

    /// What is written, if anything is.
    pub(super) fn optional(self) -> Option<T> {
        self.value
    }

    /// What is written, if anything is; otherwise `what` is taken.
    pub(super) fn otherwise(self, what: &'static str) -> Option<T> {
        self.list(LeftOut::Says(what))
    }

    /// What must be written; the remedy says how.
    pub(super) fn needed(self, remedy: impl Into<Phrase>) -> Option<T> {
        if !self.section.has(self.key) {
            self.section.missing(self.key, remedy);
        }
        self.list(LeftOut::Required)
    }
}

impl Asked<'_, '_, '_, f64> {
    /// A quantity that must be written.
    pub(super) fn required(self) -> Option<f64> {
        let dimension = self.takes.dimension();
        let number = if dimension.is_some_and(Dimension::takes_bare) { "a number or as " } else { "" };
        self.needed(format!("Give it as {number}a text with a unit ({}).", dimension.map_or("", Dimension::units)))
    }

    /// A quantity with a default, in the library's own unit.
    pub(super) fn or(self, usual: f64) -> f64 {
        let written = match self.takes.dimension() {
            Some(Dimension::Ratio) | None => Value::Number(usual),
            Some(dimension) => Value::Text(shown(usual, dimension)),
        };
        self.list(LeftOut::Default(written)).unwrap_or(usual)
    }

    /// Notes a length that is not usual, mm, where another unit would make it so.
    pub(super) fn usual(self, least_mm: f64, most_mm: f64) -> Self {
        if let Some(mm) = self.value {
            let path = self.section.path_of(self.key);
            self.section.doubt(doubts::length(&path, mm, (least_mm, most_mm)));
        }
        self
    }
}

impl Asked<'_, '_, '_, usize> {
    /// A whole number with a default.
    pub(super) fn or(self, usual: usize) -> usize {
        self.list(LeftOut::Default(Value::Number(usual as f64))).unwrap_or(usual)
    }
}

impl Asked<'_, '_, '_, bool> {
    /// A flag with a default.
    pub(super) fn or(self, usual: bool) -> bool {
        self.list(LeftOut::Default(Value::Flag(usual))).unwrap_or(usual)
    }
}

impl Asked<'_, '_, '_, String> {
    /// A text with a default.
    pub(super) fn or(self, usual: &str) -> String {
        self.list(LeftOut::Default(Value::Text(usual.to_owned()))).unwrap_or_else(|| usual.to_owned())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::document::source::Source;

    fn table(at: &mut Section<'_, '_>) -> (Option<f64>, f64, usize) {
        let length = at.length("length", Range::UpTo(100.0), "How long it is.").required();
        let inner = at.table("inner", "A table in it.", |at| {
            at.one_of(&["wide", "high"], "its size");
            at.length("wide", Range::Within(1.0, 2.0), "How wide it is.").optional()
        });
        let wide = inner.needed("Add it.").unwrap_or(f64::NAN);
        let count = at.count("count", (1, 9), "How many there are.").or(3);
        at.length("high", Range::Within(0.0, 1.0), "How high it is.").optional();
        (length, wide, count)
    }

    /// What is read, and the codes and places of the faults.
    type SampleRead = ((Option<f64>, f64, usize), Vec<(&'static str, String)>);

    fn read_sample(text: &str) -> SampleRead {
        let source = Source::parse("text", text, (1000, "")).unwrap();
        let mut reader = Reader::default();
        let found = read(&mut reader, String::new(), Some(source.tree.get_ref()), table);
        (found, reader.into_faults().into_iter().map(|f| (f.code.name, f.path)).collect())
    }

    #[test]
    fn asking_for_keys_lists_them_with_what_they_take() {
        let mut reader = Reader { listing: Some(Vec::new()), ..Reader::default() };
        read(&mut reader, String::new(), None, table);
        let listed = reader.listing.unwrap();
        let paths: Vec<&str> = listed.iter().map(|k| k.path.as_str()).collect();
        assert_eq!(paths, ["length", "inner", "inner.wide", "count", "high"]);
        assert_eq!(listed[0].rule(), "Takes a length above 0, up to 100 mm; required.");
        assert_eq!((listed[2].table(), listed[2].name()), ("inner", "wide"));
        assert_eq!(listed[3].left_out, LeftOut::Default(Value::Number(3.0)));
    }

    #[test]
    fn values_are_read_and_what_is_not_there_is_its_default() {
        let ((length, wide, count), faults) = read_sample("length = \"1 in\"\ninner = { wide = 1.5 }\n");
        assert_eq!((length, wide, count, faults), (Some(25.4), 1.5, 3, Vec::new()));
    }

    #[test]
    fn a_mistyped_key_is_told_once_and_not_missed_as_well() {
        let at = |code, path: &str| (code, path.to_owned());
        assert_eq!(read_sample("lenght = 3\ninner = { wide = 1 }\n").1, [at("unknown-key", "lenght")]);
        assert_eq!(read_sample("length = 3\niner = { wide = 1 }\n").1, [at("unknown-key", "iner")]);
        assert_eq!(read_sample("length = 3\ninner = { wyde = 1 }\n").1, [at("unknown-key", "inner.wyde")]);
        assert_eq!(read_sample("length = 3\ninner = 4\n").1, [at("wrong-shape", "inner")]);
        assert_eq!(read_sample("length = 3\ninner = {}\n").1, [at("missing-key", "inner")]);
        let both = [at("missing-key", "length"), at("out-of-range", "count")];
        assert_eq!(read_sample("count = 10\ninner = { wide = 1 }\n").1, both);
    }
}
