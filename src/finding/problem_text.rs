//! How a problem is laid out for people: sentence, place, the line with the fault marked, what to do, code.

use std::fmt;
use std::ops::Range;

use unicode_width::UnicodeWidthChar;

/// Widest line of a document that is shown whole, columns.
const WIDEST: usize = 96;
/// Columns kept before the fault where a line is too long.
const BEFORE: usize = 32;
/// Columns between two tab stops.
const TAB: usize = 4;
/// What stands where a line was cut.
const CUT: &str = "...";

/// A problem in the order in which it is read. `Display` writes it as plain text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ProblemText {
    /// What is wrong.
    pub sentence: String,
    /// File, line and key in words; empty where no document is at fault.
    pub place: String,
    /// The lines at fault; the first three where there are more.
    pub marked: Vec<MarkedLine>,
    /// What to do; may be empty.
    pub remedy: String,
    /// Code of the message, for `overbend explain`; may be empty.
    pub code: &'static str,
}

/// One line of a document, ready to print: no tabs, no control characters, at most about 100 columns.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MarkedLine {
    /// What stands before the fault.
    pub before: String,
    /// The part at fault; empty where something is missing.
    pub fault: String,
    /// What stands behind it.
    pub after: String,
}

impl ProblemText {
    /// A sentence about something that stands in no document.
    pub fn sentence(text: &str) -> Self {
        Self { sentence: text.to_owned(), place: String::new(), marked: Vec::new(), remedy: String::new(), code: "" }
    }
}

impl MarkedLine {
    /// `line` with these of its bytes at fault. Bytes beyond the line, or inside a character, are moved to the nearest place
    /// before them.
    pub(crate) fn new(line: &str, bytes: Range<usize>) -> Self {
        let (before, rest) = line.split_at(floor_char(line, bytes.start));
        let (fault, after) = rest.split_at(floor_char(rest, bytes.end.saturating_sub(before.len())));
        let before = printable(before.trim_start(), 0);
        let fault = printable(fault, width(&before));
        let after = printable(after.trim_end(), width(&before) + width(&fault));
        if width(&before) + width(&fault) + width(&after) <= WIDEST {
            return Self { before, fault, after };
        }
        let before = keep_end(before, BEFORE);
        let fault = keep_start(fault, WIDEST - width(&before));
        let after = keep_start(after, WIDEST.saturating_sub(width(&before) + width(&fault)));
        Self { before, fault, after }
    }

    /// Blanks and marks that put a mark under every column of the fault.
    pub fn underline(&self) -> String {
        " ".repeat(width(&self.before)) + &"~".repeat(width(&self.fault).max(1))
    }
}

impl fmt::Display for ProblemText {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(f, "{}", self.sentence)?;
        if !self.place.is_empty() {
            writeln!(f, "  {}", self.place)?;
        }
        for line in &self.marked {
            writeln!(f, "      {}{}{}", line.before, line.fault, line.after)?;
            writeln!(f, "      {}", line.underline())?;
        }
        if !self.remedy.is_empty() {
            writeln!(f, "  {}", self.remedy)?;
        }
        if !self.code.is_empty() {
            writeln!(f, "  ({})", self.code)?;
        }
        Ok(())
    }
}

/// The end of the last whole character of `text` that ends at or before byte `at`.
pub(crate) fn floor_char(text: &str, at: usize) -> usize {
    let mut at = at.min(text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

/// Columns that a terminal takes for `text`.
fn width(text: &str) -> usize {
    text.chars().map(|c| c.width().unwrap_or(0)).sum()
}

/// `text` with blanks for tabs, and a sign for every character that would move the cursor or turn the direction of writing.
/// `column` is where it begins.
fn printable(text: &str, column: usize) -> String {
    let mut out = String::new();
    for c in text.chars() {
        match c {
            '\t' => out.push_str(&" ".repeat(TAB - (column + width(&out)) % TAB)),
            '\u{61C}' | '\u{200E}' | '\u{200F}' | '\u{202A}'..='\u{202E}' | '\u{2066}'..='\u{2069}' => {
                out.push('\u{FFFD}')
            }
            c if c.is_control() => out.push('\u{FFFD}'),
            c => out.push(c),
        }
    }
    out
}

/// The start of `text` within so many columns, with a sign where something is left out.
fn keep_start(text: String, columns: usize) -> String {
    if width(&text) <= columns {
        return text;
    }
    let mut out = String::new();
    for c in text.chars() {
        if width(&out) + c.width().unwrap_or(0) + CUT.len() > columns {
            break;
        }
        out.push(c);
    }
    out + CUT
}

/// The end of `text` within so many columns, with a sign where something is left out.
fn keep_end(text: String, columns: usize) -> String {
    let surplus = width(&text).saturating_sub(columns);
    if surplus == 0 {
        return text;
    }
    let mut left_out = 0;
    let rest = text.trim_start_matches(|c: char| {
        let goes = left_out < surplus + CUT.len();
        left_out += c.width().unwrap_or(0);
        goes
    });
    format!("{CUT}{rest}")
}

#[cfg(test)]
mod tests {
    use super::{MarkedLine, width};

    fn marked(line: &str, fault: &str) -> (String, String) {
        let start = line.find(fault).unwrap();
        let marked = MarkedLine::new(line, start..start + fault.len());
        (format!("{}{}{}", marked.before, marked.fault, marked.after), marked.underline())
    }

    #[test]
    fn marks_stand_under_the_fault_whatever_stands_before_it() {
        for (line, shown) in [
            ("a = bad # why", ("a = bad # why", "    ~~~")),
            ("\t\ta\t= bad", ("a   = bad", "      ~~~")),
            ("板 = bad", ("板 = bad", "     ~~~")),
            ("e\u{301} = bad", ("e\u{301} = bad", "    ~~~")),
        ] {
            let (text, marks) = marked(line, "bad");
            assert_eq!((text.as_str(), marks.as_str()), shown);
        }
        assert_eq!(marked("a = \"板板\"", "\"板板\"").1, "    ~~~~~~");
    }

    #[test]
    fn what_is_missing_gets_one_mark() {
        let end = MarkedLine::new("a = 1", 5..5);
        assert_eq!(end.underline(), "     ~");
        assert_eq!(MarkedLine::new("", 7..9).underline(), "~");
        // Inside a character.
        assert_eq!(MarkedLine::new("板", 1..2).underline(), "~");
    }

    #[test]
    fn long_lines_are_cut_around_the_fault() {
        let line = format!("{}bad{}", "x ".repeat(400), " y".repeat(400));
        let (shown, marks) = marked(&line, "bad");
        assert!(width(&shown) <= 96, "{}", width(&shown));
        assert!(shown.starts_with("...") && shown.ends_with("...") && shown.contains("bad"), "{shown}");
        assert_eq!(marks.find('~'), shown.find("bad"));
        let long = "z".repeat(500);
        let (shown, marks) = marked(&format!("a = {long}"), &long);
        assert_eq!((width(&shown), width(&marks)), (96, 96));
        let (shown, marks) = marked(&format!("{}bad", "板".repeat(300)), "bad");
        assert_eq!(width(&shown), width(&marks));
    }

    #[test]
    fn nothing_that_is_shown_moves_the_cursor() {
        let (shown, _) = marked("a = \"\u{1B}[31m\u{202E}\u{9B}bad", "bad");
        assert_eq!(shown, "a = \"\u{FFFD}[31m\u{FFFD}\u{FFFD}bad");
    }
}
