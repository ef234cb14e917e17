//! A fault with its place.

use std::fmt;
use std::ops::Range;

use crate::finding::{ErrorList, Fault, MarkedLine, ProblemText, floor_char};

/// Most lines that are shown of one problem.
const MOST_LINES: usize = 3;

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

impl Problem {
    /// The problem as a builder reads it. `text` is the document; a problem in another file brings its own line.
    pub fn shown(&self, text: &str) -> ProblemText {
        let (place, marked) = match &self.fault.place {
            Some(place) => (self.place(), vec![MarkedLine::new(&place.text, place.bytes.clone())]),
            // A table that is still to be written has no line.
            None if !self.fault.path.is_empty() && self.stands_at_the_end_of(text) => {
                (format!("{}, {}", self.file, key_in_words(&self.fault.path)), Vec::new())
            }
            None => (self.place(), self.lines(text).map(|(line, bytes)| MarkedLine::new(line, bytes)).collect()),
        };
        ProblemText {
            sentence: self.sentence(),
            place,
            marked,
            remedy: self.fault.remedy(),
            code: self.fault.code.name,
        }
    }

    /// Whether nothing is marked and nothing follows.
    fn stands_at_the_end_of(&self, text: &str) -> bool {
        self.span.is_empty() && text.get(self.span.end..).is_some_and(|rest| rest.trim().is_empty())
    }

    /// What is wrong, as a sentence that begins with a capital unless it begins with the name of a file.
    fn sentence(&self) -> String {
        let message = self.fault.message();
        let is_word = message.split(' ').next().is_some_and(|w| w.chars().all(char::is_alphabetic));
        let mut rest = message.chars();
        match rest.next() {
            Some(first) if is_word => first.to_uppercase().chain(rest).collect(),
            _ => message.clone(),
        }
    }

    /// File, line and key in words: "board.toml, line 23, `material` of layer 2".
    fn place(&self) -> String {
        let mut words = format!("{}, line {}", self.file, self.line);
        // The key of a problem in another file stands in the document, not on this line.
        if self.fault.place.is_none() && !self.fault.path.is_empty() {
            words.push_str(&format!(", {}", key_in_words(&self.fault.path)));
        }
        words
    }

    /// The first lines that the span touches, each with the bytes of it that are at fault.
    fn lines<'t>(&self, text: &'t str) -> impl Iterator<Item = (&'t str, Range<usize>)> {
        let Range { start, end } = self.span.clone();
        let mut from = 0;
        let lines = text.split_inclusive('\n').map(move |whole| {
            let at = from;
            from += whole.len();
            let line = whole.trim_end_matches(['\n', '\r']);
            let within = |byte: usize| byte.saturating_sub(at).min(line.len());
            (at, line, within(start)..within(end))
        });
        lines
            .skip(self.line - 1)
            .take_while(move |(at, ..)| *at <= start || *at < end)
            .map(|(_, line, bytes)| (line, bytes))
            .take(MOST_LINES)
    }
}

/// All that is wrong in a document.
pub type Problems = ErrorList<Problem>;

impl std::error::Error for Problem {}

impl fmt::Display for Problem {
    /// The problem on one line: what is wrong, what to do, where, and the code.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (code, remedy) = (self.fault.code, self.fault.remedy());
        let gap = if remedy.is_empty() { "" } else { " " };
        write!(f, "{}{gap}{remedy} ({}; {code})", self.sentence(), self.place())
    }
}

/// A path of keys in words: `layers[1].material` is "`material` of layer 2", `table.ribs.count` "`count` in [table.ribs]".
fn key_in_words(path: &str) -> String {
    // From the outside in, each with the word that joins it to what it holds.
    let mut words: Vec<(&str, String)> = Vec::new();
    // Keys since the last entry of a list.
    let mut keys: Vec<&str> = Vec::new();
    for part in path.split('.') {
        let (key, numbers) = part.split_once('[').unwrap_or((part, ""));
        let mut numbers = numbers.split(['[', ']']).filter_map(|n| n.parse::<usize>().ok());
        let Some(first) = numbers.next() else {
            keys.push(key);
            continue;
        };
        push_table(&mut words, &mut keys);
        words.push(match entry_name(key) {
            Some(name) => ("of", format!("{name} {}", first + 1)),
            None => ("of", format!("entry {} of `{key}`", first + 1)),
        });
        words.extend(numbers.map(|n| ("of", format!("entry {}", n + 1))));
    }
    if let Some(key) = keys.pop() {
        push_table(&mut words, &mut keys);
        words.push(("of", format!("`{key}`")));
    }
    let mut out = words.pop().map_or_else(String::new, |(_, word)| word);
    for (joint, word) in words.iter().rev() {
        out.push_str(&format!(" {joint} {word}"));
    }
    out
}

/// Takes the keys of nested tables as one word: as a heading where no list is around them.
fn push_table(words: &mut Vec<(&str, String)>, keys: &mut Vec<&str>) {
    if !keys.is_empty() {
        let path = keys.join(".");
        words.push(("in", if words.is_empty() { format!("[{path}]") } else { format!("`{path}`") }));
        keys.clear();
    }
}

/// What one entry of a list is called.
fn entry_name(key: &str) -> Option<&'static str> {
    Some(match key {
        "layers" => "layer",
        "materials" => "material",
        "alternatives" => "alternative",
        "parts" => "part",
        "points" => "point",
        "readings" => "reading",
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::key_in_words;

    #[test]
    fn keys_are_named_in_words() {
        for (path, words) in [
            ("title", "`title`"),
            ("board.length", "`length` in [board]"),
            ("table.ribs.count", "`count` in [table.ribs]"),
            ("layers[1].material", "`material` of layer 2"),
            ("layers[1].sag_test.load", "`load` in `sag_test` of layer 2"),
            ("alternatives[0].layers[2].thickness", "`thickness` of layer 3 of alternative 1"),
            ("rocker.segments.parts[2].radius", "`radius` of part 3 in [rocker.segments]"),
            ("rocker.measured.readings[3][1]", "entry 2 of reading 4 in [rocker.measured]"),
            ("files.printed_square[0]", "entry 1 of `printed_square` in [files]"),
        ] {
            assert_eq!(key_in_words(path), words);
        }
    }
}
