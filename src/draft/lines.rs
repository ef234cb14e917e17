//! Texts of lines: a label and its words, and the checks to look at.

use std::fmt::Write as _;

use crate::finding::{Finding, Verdict};
use crate::units::LengthUnit;

/// A line of the summary: its label and its words.
pub type Line = (&'static str, String);

/// A title and its lines, where a text has nothing else.
pub(crate) fn lines_summary(title: &str, lines: &[Line]) -> String {
    let mut out = format!("{title}\n");
    push_lines(&mut out, lines);
    out
}

/// Appends lines, each with its label in a column of its own.
pub(super) fn push_lines(out: &mut String, lines: &[Line]) {
    for (label, words) in lines {
        // Writing to a String cannot fail.
        let _ = writeln!(out, "  {label:<10} {words}");
    }
}

/// The checks that do not say ok, under `heading`; that all are ok where they are.
pub fn looked_at(checks: &[Finding], accepted: &[String], heading: &str, unit: LengthUnit) -> String {
    let shown: Vec<&Finding> = checks.iter().filter(|c| c.verdict != Verdict::Ok).collect();
    if shown.is_empty() {
        return if checks.len() == 1 {
            "\nthe one check is ok\n".to_owned()
        } else {
            format!("\nall {} checks are ok\n", checks.len())
        };
    }
    let mut out = format!("\n{heading}\n");
    for c in shown {
        let accepted = if accepted.iter().any(|a| a == c.code.name) { ", accepted by you" } else { "" };
        let held = c.held.map(|h| h.words(unit));
        let held = held.map_or(String::new(), |(value, limit)| format!(": {value} (limit: {limit})"));
        // Writing to a String cannot fail.
        let _ = writeln!(
            out,
            "  {:<5} {}{held}. {} ({}{accepted})",
            c.verdict.word(),
            c.subject.text(unit),
            c.remedy.text(unit),
            c.code
        );
    }
    out
}
