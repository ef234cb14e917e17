//! What is said on the terminal.

use std::io::{ErrorKind, IsTerminal, Write};

use annotate_snippets::{AnnotationKind, Level, Renderer, Snippet};
use overbend::document::Problem;

/// Prints results to stdout. A reader that has gone away is no failure.
pub(crate) fn say(text: &str) {
    quietly(std::io::stdout().lock().write_all(text.as_bytes()));
}

/// Prints talk to stderr.
pub(crate) fn tell(text: &str) {
    quietly(std::io::stderr().lock().write_all(text.as_bytes()));
}

/// A closed pipe ends the talk, not the work; any other failure of a terminal has nowhere to be reported.
fn quietly(result: std::io::Result<()>) {
    if let Err(error) = result {
        debug_assert!(error.kind() == ErrorKind::BrokenPipe, "{error}");
    }
}

/// Draws problems under the lines they stand in.
pub(crate) fn problems(text: &str, problems: &[Problem]) {
    let colour = std::io::stderr().is_terminal() && std::env::var_os("NO_COLOR").is_none_or(|v| v.is_empty());
    let renderer = if colour { Renderer::styled() } else { Renderer::plain() };
    let mut out = String::new();
    for problem in problems {
        let fault = &problem.fault;
        let snippet = Snippet::source(text)
            .path(problem.file.as_str())
            .fold(true)
            .annotation(AnnotationKind::Primary.span(problem.span.clone()));
        let title = Level::ERROR.primary_title(fault.message.as_str()).id(fault.code);
        let mut group = title.element(snippet);
        if !fault.remedy.is_empty() {
            group = group.element(Level::HELP.message(fault.remedy.as_str()));
        }
        out.push_str(&renderer.render(&[group]));
        out.push_str("\n\n");
    }
    let count = problems.len();
    out.push_str(&format!("{count} problem{} found; nothing was written.\n", if count == 1 { "" } else { "s" }));
    tell(&out);
}

/// One sentence about something that went wrong outside a document.
pub(crate) fn failure(message: &str) {
    tell(&format!("error: {message}\n"));
}
