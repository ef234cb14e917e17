//! `overbend build` of one document, and `overbend check`.

use std::path::{Path, PathBuf};
use std::time::Instant;

use overbend::built::Progress;
use overbend::codes;
use overbend::finding::Faults;
use overbend::job::Job;
use overbend::run::{self, Outcome, OutputFile};
use overbend::units::decimal;
use serde_json::{Value, json};

use crate::args::{Build, Check};
use crate::batch;
use crate::exit::Exit;
use crate::folder::{self, FolderError};
use crate::input::{Failed, Opened};
use crate::progress::Bar;
use crate::report::{checks, detail, print_json, print_message, print_result};

pub(crate) fn build(arguments: &Build) -> Exit {
    let [file] = &arguments.files[..] else { return batch::build(arguments) };
    if let Err(error) = folder::check(&arguments.output, arguments.force) {
        return refused(&error);
    }
    let outcome = match compute(file, &arguments.accept, run::build_watched) {
        Ok(outcome) => outcome,
        Err(failed) => {
            if arguments.json {
                print_json(&failed_json(file, &failed), false);
            }
            return failed.print();
        }
    };
    let written = write(&outcome, &arguments.output, arguments.force);
    let exit = match &written {
        Ok(written) => written.exit,
        Err(error) => refused(error),
    };
    if arguments.json {
        print_json(&built_json(file, &outcome, exit, &arguments.output), false);
    } else if written.is_ok() {
        print_result(&outcome.summary);
    }
    checks(&file.display().to_string(), &outcome);
    more(&outcome);
    if let Ok(written) = &written {
        written.print(&outcome.files, &arguments.output);
    }
    exit
}

pub(crate) fn check(arguments: &Check) -> Exit {
    match compute(&arguments.file, &arguments.accept, run::check_watched) {
        Ok(outcome) => {
            if arguments.json {
                print_json(&outcome.result, true);
            } else {
                print_result(&outcome.summary);
            }
            checks(&arguments.file.display().to_string(), &outcome);
            more(&outcome);
            if outcome.stops() { Exit::Stopped } else { Exit::Done }
        }
        Err(failed) => failed.print(),
    }
}

/// How a folder was written.
pub(crate) struct Written {
    /// Done, or stopped by a check.
    pub(crate) exit: Exit,
    kept: Option<PathBuf>,
}

impl Written {
    /// Reports what was written, or why not.
    pub(crate) fn print(&self, files: &[OutputFile], folder: &Path) {
        if self.exit == Exit::Stopped {
            print_message(
                "A check stops the build; nothing was written. Fix the cause, or accept the check with --accept CODE.\n",
            );
            return;
        }
        print_message(&format!(
            "\n{} files are in {}. Open {} first.\n",
            files.len(),
            folder.display(),
            folder.join("book.html").display()
        ));
        for file in files {
            detail(&format!("  {} ({} bytes)\n", file.name, file.bytes.len()));
        }
        if let Some(kept) = &self.kept {
            print_message(&format!("The old folder is now {}.\n", kept.display()));
        }
    }
}

/// Writes what was built, unless a check says stop.
pub(crate) fn write(outcome: &Outcome, folder: &Path, force: bool) -> Result<Written, FolderError> {
    if outcome.stops() {
        return Ok(Written { exit: Exit::Stopped, kept: None });
    }
    let kept = folder::replace(folder, &outcome.files, job_of(&outcome.result), force)?;
    Ok(Written { exit: Exit::Done, kept })
}

/// The hash of the job that figures were computed from.
pub(crate) fn job_of(figures: &Value) -> &str {
    figures["job_sha256"].as_str().unwrap_or_default()
}

/// One document in one line for scripts.
pub(crate) fn built_json(file: &Path, outcome: &Outcome, exit: Exit, folder: &Path) -> Value {
    let files: Vec<&str> = outcome.files.iter().map(|f| f.name.as_str()).collect();
    let done = exit == Exit::Done;
    json!({
        "document": file.display().to_string(),
        "ended": exit.word(),
        "exit": exit as u8,
        "folder": done.then(|| folder.display().to_string()),
        "files": if done { files } else { Vec::new() },
        "title": outcome.result["title"],
        "table": { "tip_height_mm": outcome.result["table"]["tip_height_mm"],
                   "tail_height_mm": outcome.result["table"]["tail_height_mm"] },
        "checks": outcome.result["checks"],
        "accepted": outcome.accepted,
        "problems": [],
    })
}

/// A document that gave nothing, in one line for scripts.
pub(crate) fn failed_json(file: &Path, failed: &Failed) -> Value {
    json!({
        "document": file.display().to_string(),
        "ended": failed.exit().word(),
        "exit": failed.exit() as u8,
        "folder": null,
        "files": [],
        "problems": failed.lines(),
    })
}

/// Details for --verbose: every check with its value, limit and source.
fn more(outcome: &Outcome) {
    for c in &outcome.checks {
        let held = c.held.map(|h| h.words(outcome.unit));
        let held = held.map_or(String::new(), |(value, limit)| format!(": {value}, {limit}"));
        let (verdict, subject) = (c.verdict.word(), c.subject.text(outcome.unit));
        detail(&format!("  {verdict:<5} {subject}{held} ({}; {})\n", c.code, c.code.source));
    }
}

/// What is done with a job: [`run::build_watched`] or [`run::check_watched`].
pub(crate) type Compute = fn(&Job, &(dyn Fn(Progress) + Sync)) -> Result<Outcome, Faults>;

pub(crate) fn compute(path: &Path, accept: &[String], compute: Compute) -> Result<Outcome, Failed> {
    let begin = Instant::now();
    if let Some((code, near)) = accept.iter().find_map(|c| codes::find_check(c).err().map(|near| (c, near))) {
        let hint = near.map_or(String::new(), |n| format!(" Did you mean {n}?"));
        let message = format!("there is no check {code}.{hint} `overbend explain` lists all codes.");
        return Err(Failed::sentence(Exit::Wrong, &message));
    }
    compute_opened(&Opened::read(path)?, accept, begin, compute)
}

/// The same for a document that was read already; `begin` is when its work began.
pub(crate) fn compute_opened(
    opened: &Opened,
    accept: &[String],
    begin: Instant,
    compute: Compute,
) -> Result<Outcome, Failed> {
    let bar = Bar::begin(opened.name());
    let outcome = opened.with(|document, inputs| {
        let mut job = document.job_with(inputs)?;
        job.accepted.extend_from_slice(accept);
        compute(&job, &|p| bar.update(p)).map_err(|faults| document.problems(&faults))
    })?;
    drop(bar);
    detail(&format!("{} took {} s.\n", opened.name(), decimal(begin.elapsed().as_secs_f64(), 2)));
    Ok(outcome)
}

pub(crate) fn refused(error: &FolderError) -> Exit {
    let failed = match error {
        FolderError::NotOurs(message) => Failed::sentence(Exit::Wrong, message),
        FolderError::Disk(message) => Failed::sentence(Exit::Disk, message),
    };
    failed.print()
}
