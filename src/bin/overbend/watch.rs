//! `overbend watch`: a new build on every save.
//!
//! Saves are seen by looking at length and time of change of a handful of files a few times a second. That costs
//! nothing, works on every disk and share and with editors that replace the file they save, and needs no crate; a
//! service of the operating system would tell a tenth of a second earlier. The open page asks for the time of the last
//! build in the same way (`serve`).

use std::path::{Path, PathBuf};
use std::thread::sleep;
use std::time::{Duration, SystemTime};

use overbend::export::with_notice;
use overbend::finding::{ProblemText, Verdict};
use overbend::run::{self, OutputFile};

use crate::args::Watch;
use crate::build::{built_json, compute, failed_json, job_of, refused};
use crate::exit::Exit;
use crate::folder;
use crate::input::{Opened, STDIN};
use crate::report::{checks, failure, print_json, print_message, print_result};
use crate::serve::Server;

/// Pause between two looks. A save is built when two looks in a row see the same: editors write in pieces.
const LOOK: Duration = Duration::from_millis(100);
/// Name of the build book.
const BOOK: &str = "book.html";

/// What is seen of a file from outside.
type Seen = Vec<Option<(u64, SystemTime)>>;

/// Builds now and after every save, until the folder can no longer be written or the program is ended.
pub(crate) fn watch(arguments: &Watch) -> Exit {
    if arguments.file == Path::new(STDIN) {
        failure("stdin cannot be watched; name a file.");
        return Exit::Wrong;
    }
    if let Err(error) = folder::check(&arguments.output, false) {
        return refused(&error.without_force());
    }
    print_message(&format!("Watching {}. Press Ctrl-C to stop.\n", arguments.file.display()));
    let server = match Server::start() {
        Ok(server) => {
            print_message(&format!(
                "Build book: {} (this machine only; it reloads after every save).\n",
                server.address
            ));
            Some(server)
        }
        Err(error) => {
            print_message(&format!("The book cannot reload by itself ({error}); reload {BOOK} from the folder.\n"));
            None
        }
    };
    let (mut before, mut built): (Option<Seen>, Option<Seen>) = (None, None);
    let mut good: Option<(Vec<OutputFile>, String)> = None;
    let (mut job, mut named) = (None, Vec::new());
    loop {
        // What the job names is watched too; while the job cannot be read, what it named last.
        let seen = look(std::slice::from_ref(&arguments.file));
        if job.as_ref() != Some(&seen) {
            named = Opened::read(&arguments.file).ok().and_then(|o| o.named()).unwrap_or(named);
            job = Some(seen);
        }
        let files: Vec<PathBuf> = std::iter::once(&arguments.file).chain(&named).cloned().collect();
        let now = look(&files);
        if before.as_ref() == Some(&now) && built.as_ref() != Some(&now) {
            if let Err(exit) = rebuild(arguments, &mut good, server.as_ref()) {
                return exit;
            }
            built = Some(now.clone());
        }
        before = Some(now);
        sleep(LOOK);
    }
}

fn look(files: &[PathBuf]) -> Seen {
    let seen = |path: &PathBuf| {
        let data = std::fs::metadata(path).ok()?;
        Some((data.len(), data.modified().ok()?))
    };
    files.iter().map(seen).collect()
}

/// One build. What is wrong with the job goes to the terminal and into the last good book, never over it.
fn rebuild(
    arguments: &Watch,
    good: &mut Option<(Vec<OutputFile>, String)>,
    server: Option<&Server>,
) -> Result<(), Exit> {
    let (line, problems) = match compute(&arguments.file, &arguments.accept, run::build_watched) {
        Ok(outcome) => {
            let exit = if outcome.stops() { Exit::Stopped } else { Exit::Done };
            if !arguments.json {
                print_result(&outcome.summary);
            }
            checks(&arguments.file.display().to_string(), &outcome);
            let line = built_json(&arguments.file, &outcome, exit, &arguments.output);
            let stops = outcome
                .checks
                .iter()
                .filter(|c| c.verdict == Verdict::Stop && !outcome.accepted.iter().any(|a| a == c.code.name))
                .map(|c| ProblemText {
                    remedy: c.remedy.text(outcome.unit),
                    code: c.code.name,
                    ..ProblemText::sentence(&format!("A check says stop: {}.", c.subject.text(outcome.unit)))
                })
                .collect();
            if exit == Exit::Done {
                let job = job_of(&outcome.result).to_owned();
                *good = Some((outcome.files, job));
                (line, Vec::new())
            } else {
                (line, stops)
            }
        }
        Err(failed) => {
            failed.print();
            (failed_json(&arguments.file, &failed), failed.shown())
        }
    };
    shelve(arguments, good.as_ref(), &problems, server)?;
    // Who reads this line finds the files there.
    if arguments.json {
        print_json(&line, false);
    }
    Ok(())
}

/// Puts the last good files into the folder, with what is wrong now at the head of the book.
fn shelve(
    arguments: &Watch,
    good: Option<&(Vec<OutputFile>, String)>,
    problems: &[ProblemText],
    server: Option<&Server>,
) -> Result<(), Exit> {
    let Some((files, job)) = good.cloned().or_else(|| folder::read_back(&arguments.output)) else {
        print_message("No book was built yet; fix the job and save it.\n");
        return Ok(());
    };
    let head = format!("{} has problems. This page is the last good build.", shown(&arguments.file));
    let noticed = files.into_iter().map(|file| match with_notice(&file.bytes, &head, problems) {
        Some(bytes) if file.name == BOOK => OutputFile { bytes, ..file },
        _ => file,
    });
    let noticed: Vec<OutputFile> = noticed.collect();
    let written = folder::replace(&arguments.output, &noticed, &job, false);
    if let (Ok(_), Some(server), Some(book)) = (&written, server, noticed.iter().find(|f| f.name == BOOK)) {
        server.show(&book.bytes);
    }
    match written {
        Ok(_) if problems.is_empty() => {
            print_message(&format!("\n{} files are in {}.\n", noticed.len(), arguments.output.display()));
            Ok(())
        }
        Ok(_) => {
            print_message("The last good book is kept, with these problems at its top.\n");
            Ok(())
        }
        Err(error) => Err(refused(&error.without_force())),
    }
}

fn shown(path: &Path) -> String {
    path.file_name().map_or_else(|| path.display().to_string(), |n| n.to_string_lossy().into_owned())
}
