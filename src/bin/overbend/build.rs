//! `overbend build` and `overbend check`.

use std::path::Path;

use overbend::document::Document;
use overbend::run::{self, Outcome};

use crate::args::{Build, Check};
use crate::exit::Exit;
use crate::folder::{self, FolderError};
use crate::input::read_text;
use crate::report::{failure, problems, say, tell};

pub(crate) fn build(arguments: &Build) -> Exit {
    if let Err(error) = folder::check(&arguments.output, arguments.force) {
        return refused(&error);
    }
    let outcome = match compute(&arguments.file, &arguments.accept) {
        Ok(outcome) => outcome,
        Err(failed) => return failed.exit,
    };
    if outcome.stops() {
        say(&outcome.summary);
        tell("A check says stop; nothing was written. Mend it, or accept it by name with --accept CODE.\n");
        return Exit::Stopped;
    }
    match folder::replace(&arguments.output, &outcome.files, arguments.force) {
        Ok(kept) => {
            say(&outcome.summary);
            say(&format!("\n{} files are in {}.\n", outcome.files.len(), arguments.output.display()));
            if let Some(kept) = kept {
                tell(&format!("The folder that was there before is kept as {}.\n", kept.display()));
            }
            Exit::Done
        }
        Err(error) => refused(&error),
    }
}

pub(crate) fn check(arguments: &Check) -> Exit {
    match compute(&arguments.file, &arguments.accept) {
        Ok(outcome) => {
            say(&outcome.summary);
            if outcome.stops() { Exit::Stopped } else { Exit::Done }
        }
        Err(failed) => failed.exit,
    }
}

/// Why there is no outcome; the terminal has been told already.
#[derive(Debug)]
pub(crate) struct Failed {
    /// How the run ends.
    pub(crate) exit: Exit,
    /// What is wrong, a sentence or two each.
    pub(crate) lines: Vec<String>,
}

pub(crate) fn compute(path: &Path, accept: &[String]) -> Result<Outcome, Failed> {
    let text = read_text(path).map_err(|message| {
        failure(&message);
        Failed { exit: Exit::Disk, lines: vec![message] }
    })?;
    let name = path.display().to_string();
    let wrong = |found: Vec<overbend::document::Problem>| {
        problems(&text, &found);
        Failed { exit: Exit::Wrong, lines: found.iter().map(ToString::to_string).collect() }
    };
    let document = Document::parse(&name, &text).map_err(wrong)?;
    let mut job = document.job().map_err(wrong)?;
    job.accepted.extend_from_slice(accept);
    run::build(&job).map_err(|faults| wrong(document.problems(&faults)))
}

pub(crate) fn refused(error: &FolderError) -> Exit {
    match error {
        FolderError::NotOurs(message) => {
            failure(message);
            Exit::Wrong
        }
        FolderError::Disk(message) => {
            failure(message);
            Exit::Disk
        }
    }
}
