//! `overbend build` and `overbend check`.

use std::path::Path;

use overbend::run::{self, Outcome};

use crate::args::{Build, Check};
use crate::exit::Exit;
use crate::folder::{self, FolderError};
use crate::input::{Failed, Opened};
use crate::report::{failure, say, tell};

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

pub(crate) fn compute(path: &Path, accept: &[String]) -> Result<Outcome, Failed> {
    Opened::read(path)?.with(|document, inputs| {
        let mut job = document.job_with(inputs)?;
        job.accepted.extend_from_slice(accept);
        run::build(&job).map_err(|faults| document.problems(&faults))
    })
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
