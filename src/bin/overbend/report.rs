//! Output to the terminal: results to stdout, messages to stderr. How verbose it is, and in which format, is set once
//! from the arguments.

use std::io::{ErrorKind, IsTerminal, Write};
use std::sync::OnceLock;
use std::sync::atomic::{AtomicBool, Ordering};

use overbend::document::Problem;
use overbend::finding::{ProblemText, Verdict};
use overbend::run::Outcome;
use serde_json::{Value, json};

use crate::args::{Format, Talk};
use crate::exit::Exit;
use crate::input::STDIN;

static TALK: OnceLock<Talk> = OnceLock::new();
/// Whether results could not be written, for another reason than a reader that has gone away.
static LOST: AtomicBool = AtomicBool::new(false);

/// Sets how to talk; the first call counts.
pub(crate) fn set(talk: Talk) {
    // A second call finds the same arguments.
    let _ = TALK.set(talk);
}

fn talk() -> Talk {
    TALK.get().copied().unwrap_or_default()
}

/// Whether messages are for an editor.
fn for_editors() -> bool {
    talk().message_format == Format::Json
}

/// Whether somebody sits there who may like to know how work comes on.
pub(crate) fn someone_watches() -> bool {
    !talk().quiet && !for_editors() && std::io::stderr().is_terminal()
}

/// Prints results to stdout. A reader that has gone away is no failure; a full disk behind stdout is.
pub(crate) fn print_result(text: &str) {
    let mut out = std::io::stdout().lock();
    let done = out.write_all(text.as_bytes()).and_then(|()| out.flush());
    if let Err(error) = done
        && error.kind() != ErrorKind::BrokenPipe
        && !LOST.swap(true, Ordering::Relaxed)
    {
        failure(&format!("the results cannot be written to stdout: {error}."));
    }
}

/// Prints one result as JSON: indented where one stands alone, on one line where more follow.
pub(crate) fn print_json(value: &Value, alone: bool) {
    print_result(&if alone { format!("{value:#}\n") } else { format!("{value}\n") });
}

/// How the run ends, results that could not be written included.
pub(crate) fn end(exit: Exit) -> Exit {
    if LOST.load(Ordering::Relaxed) { exit.max(Exit::Disk) } else { exit }
}

/// Prints talk to stderr.
pub(crate) fn print_message(text: &str) {
    if !talk().quiet {
        note(text);
    }
}

/// Prints talk for those who want to know more.
pub(crate) fn detail(text: &str) {
    if talk().verbose {
        note(text);
    }
}

fn note(text: &str) {
    if for_editors() {
        message(&json!({ "level": "note", "message": text.trim_end() }));
    } else {
        to_stderr(text);
    }
}

/// Where stderr fails there is nobody left to be told.
fn to_stderr(text: &str) {
    let _ = std::io::stderr().lock().write_all(text.as_bytes());
}

/// One message for an editor.
fn message(value: &Value) {
    to_stderr(&format!("{value}\n"));
}

/// Shows problems, each with its line.
pub(crate) fn problems(text: &str, problems: &[Problem]) {
    if for_editors() {
        for problem in problems {
            let mut value = located(text, problem);
            value["rendered"] = Value::String(shown(text, problem).to_string());
            message(&value);
        }
        return;
    }
    let in_colour = colourful();
    let mut out = String::new();
    for problem in problems {
        let shown = shown(text, problem);
        out.push_str(&if in_colour { coloured(&shown) } else { shown.to_string() });
        out.push('\n');
    }
    let count = problems.len();
    out.push_str(&format!("{count} problem{}; nothing was written.\n", if count == 1 { "" } else { "s" }));
    to_stderr(&out);
}

fn shown(text: &str, problem: &Problem) -> ProblemText {
    if problem.file == STDIN {
        return Problem { file: "stdin".to_owned(), ..problem.clone() }.shown(text);
    }
    problem.shown(text)
}

/// Colour is for people at a terminal who have not declined it (no-color.org).
fn colourful() -> bool {
    std::io::stderr().is_terminal() && std::env::var_os("NO_COLOR").is_none_or(|v| v.is_empty())
}

/// A problem for a terminal: the sentence bold, the fault red, the code faint.
fn coloured(shown: &ProblemText) -> String {
    let [bold, faint, red, plain] = ["\x1b[1m", "\x1b[2m", "\x1b[1;31m", "\x1b[0m"];
    let ProblemText { sentence, place, marked, remedy, code } = shown;
    let mut out = format!("{bold}{sentence}{plain}\n  {place}\n");
    for line in marked {
        let (fault, under) = (&line.fault, line.underline());
        out.push_str(&format!("      {}{red}{fault}{plain}{}\n      {red}{under}{plain}\n", line.before, line.after));
    }
    if !remedy.is_empty() {
        out.push_str(&format!("  {remedy}\n"));
    }
    out + &format!("  {faint}({code}){plain}\n")
}

/// A problem in figures: lines and columns from 1, columns in characters, the end exclusive, bytes from 0.
fn located(text: &str, problem: &Problem) -> Value {
    let (end_line, end_column) = match &problem.fault.place {
        Some(place) => (place.line, place.text.get(..place.bytes.end).map_or(1, |t| t.chars().count() + 1)),
        None => {
            let end = Problem::at(&problem.file, text, problem.span.end..problem.span.end, problem.fault.clone());
            (end.line, end.column)
        }
    };
    json!({
        "level": "error",
        "code": problem.fault.code.name,
        "message": problem.fault.message(),
        "remedy": problem.fault.remedy(),
        "file": problem.file,
        "key": problem.fault.path,
        "line": problem.line,
        "column": problem.column,
        "end_line": end_line,
        "end_column": end_column,
        "from_byte": problem.span.start,
        "to_byte": problem.span.end,
    })
}

/// Checks that do not say ok, for an editor; people read them in the results.
pub(crate) fn checks(file: &str, outcome: &Outcome) {
    if !for_editors() {
        return;
    }
    for check in outcome.checks.iter().filter(|c| c.verdict != Verdict::Ok) {
        let accepted = outcome.accepted.iter().any(|a| a == check.code.name);
        message(&json!({
            "level": if check.verdict == Verdict::Stop && !accepted { "error" } else { "warning" },
            "code": check.code.name,
            "message": check.subject.text(outcome.unit),
            "remedy": check.remedy.text(outcome.unit),
            "file": file,
            "verdict": check.verdict.word(),
            "accepted": accepted,
            "value": check.si().map(|(value, ..)| value),
            "limit": check.si().map(|(_, limit, _)| limit),
            "unit": check.si().map(|(.., unit)| unit),
        }));
    }
}

/// One sentence about something that went wrong outside a document.
pub(crate) fn failure(text: &str) {
    if for_editors() {
        message(&json!({ "level": "error", "message": text }));
    } else {
        to_stderr(&format!("error: {text}\n"));
    }
}
