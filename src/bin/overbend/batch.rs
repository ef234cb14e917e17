//! `overbend build` of several documents: in parallel, one folder and one line each, a count at the end.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::mpsc;
use std::thread;

use overbend::finding::Verdict;
use overbend::run::{self, Outcome};
use overbend::units::Quantity;

use crate::args::Build;
use crate::build::{built_json, compute, failed_json, refused, write};
use crate::exit::Exit;
use crate::folder::{self, FolderError};
use crate::input::{Failed, STDIN};
use crate::report::{checks, failure, print_json, print_result};

/// One document and its place on the disk.
struct Work<'a> {
    file: &'a Path,
    name: String,
    folder: PathBuf,
}

type Ended = Result<(Outcome, Result<Exit, FolderError>), Failed>;

pub(crate) fn build(arguments: &Build) -> Exit {
    let work = match plan(arguments) {
        Ok(work) => work,
        Err(exit) => return exit,
    };
    let mut counts = [0_usize; 4];
    let widest = work.iter().map(|w| w.name.chars().count()).max().unwrap_or(0);
    let next = AtomicUsize::new(0);
    let (sender, receiver) = mpsc::channel::<(usize, Ended)>();
    thread::scope(|scope| {
        let hands = thread::available_parallelism().map_or(1, usize::from).min(work.len());
        for _ in 0..hands {
            let (sender, next, work) = (sender.clone(), &next, &work);
            scope.spawn(move || {
                while let Some((i, w)) =
                    Some(next.fetch_add(1, Ordering::Relaxed)).and_then(|i| Some((i, work.get(i)?)))
                {
                    // The receiver outlives the hands.
                    let _ = sender.send((i, one(w, arguments)));
                }
            });
        }
        drop(sender);
        // Lines come in the order of the arguments, each as soon as those before it are there.
        let mut waiting: Vec<Option<Ended>> = work.iter().map(|_| None).collect();
        let mut reported = 0;
        for (i, ended) in receiver {
            waiting[i] = Some(ended);
            while let Some(ended) = waiting.get_mut(reported).and_then(Option::take) {
                counts[line(&work[reported], &ended, arguments.json, widest) as usize] += 1;
                reported += 1;
            }
        }
    });
    let failed: usize = counts[1..].iter().sum();
    let of = work.len();
    let done = counts[0];
    if !arguments.json {
        print_result(&if failed == 0 {
            format!("\nall {of} documents are built, in {}\n", arguments.output.display())
        } else {
            let words = [(1, "stopped by a check"), (2, "wrong"), (3, "not readable or not writable")];
            let parts: Vec<String> = words
                .iter()
                .filter(|(code, _)| counts[*code] > 0)
                .map(|(code, word)| format!("{} {word}", counts[*code]))
                .collect();
            format!("\n{done} of {of} documents are built, {failed} failed: {}\n", parts.join(", "))
        });
    }
    if failed > 0 {
        failure(&format!("{failed} of {of} documents failed."));
    }
    [Exit::Disk, Exit::Wrong, Exit::Stopped].into_iter().find(|e| counts[*e as usize] > 0).unwrap_or(Exit::Done)
}

/// Names and folders, and whether there is room for them.
fn plan(arguments: &Build) -> Result<Vec<Work<'_>>, Exit> {
    let files: Vec<&Path> = arguments.files.iter().map(PathBuf::as_path).collect();
    if files.iter().any(|f| *f == Path::new(STDIN)) {
        failure("stdin holds one document; build it alone, into its own folder.");
        return Err(Exit::Wrong);
    }
    let Some(names) = names(&files) else {
        failure("two documents have the same name and the same folder name. Build them one by one.");
        return Err(Exit::Wrong);
    };
    let output = &arguments.output;
    if output.join(folder::CONTENTS).exists() {
        let shown = output.display();
        failure(&format!("{shown} holds one build already. Name another folder for several."));
        return Err(Exit::Wrong);
    }
    let made = match std::fs::create_dir(output) {
        Err(e) if e.kind() == std::io::ErrorKind::AlreadyExists => Ok(()),
        made => made,
    };
    if let Err(e) = made {
        failure(&format!("the folder {} cannot be made: {e}.", output.display()));
        return Err(Exit::Disk);
    }
    let work = files.into_iter().zip(names).map(|(file, name)| Work { file, folder: output.join(&name), name });
    Ok(work.collect())
}

/// A name for each document: its own, or its folder's where names repeat, or both.
fn names(files: &[&Path]) -> Option<Vec<String>> {
    let own = |f: &Path| f.file_stem().map(|s| s.to_string_lossy().into_owned());
    let parent = |f: &Path| {
        let whole = std::path::absolute(f).ok()?;
        Some(whole.parent()?.file_name()?.to_string_lossy().into_owned())
    };
    let both = |f: &Path| Some(format!("{}-{}", parent(f)?, own(f)?));
    let all = |name: &dyn Fn(&Path) -> Option<String>| -> Option<Vec<String>> {
        let names = files.iter().map(|f| name(f)).collect::<Option<Vec<String>>>()?;
        // Some disks take two names for one that differ in capitals only.
        let apart: BTreeSet<String> = names.iter().map(|n| n.to_lowercase()).collect();
        (apart.len() == names.len()).then_some(names)
    };
    all(&own).or_else(|| all(&parent)).or_else(|| all(&both))
}

fn one(work: &Work<'_>, arguments: &Build) -> Ended {
    folder::check(&work.folder, arguments.force).map_err(|error| match error {
        FolderError::NotOurs(message) => Failed::sentence(Exit::Wrong, &message),
        FolderError::Disk(message) => Failed::sentence(Exit::Disk, &message),
    })?;
    let outcome = compute(work.file, &arguments.accept, run::build_watched)?;
    let written = write(&outcome, &work.folder, arguments.force).map(|w| w.exit);
    Ok((outcome, written))
}

/// Says how one document ended.
fn line(work: &Work<'_>, ended: &Ended, as_json: bool, widest: usize) -> Exit {
    let (exit, words, value) = match ended {
        Err(failed) => {
            let exit = failed.print();
            let count = failed.lines().len();
            let words = format!("{count} problem{}", if count == 1 { "" } else { "s" });
            (exit, words, failed_json(work.file, failed))
        }
        Ok((outcome, written)) => {
            let exit = match written {
                Ok(exit) => *exit,
                Err(error) => refused(error),
            };
            checks(&work.file.display().to_string(), outcome);
            (exit, headline(outcome), built_json(work.file, outcome, exit, &work.folder))
        }
    };
    if as_json {
        print_json(&value, false);
    } else {
        print_result(&format!("{:<5} {:<widest$}  {words}\n", exit.word(), work.name));
    }
    exit
}

fn headline(outcome: &Outcome) -> String {
    let height = |key: &str| {
        outcome.result["table"][key].as_f64().map_or("-".to_owned(), |mm| Quantity::length(mm).text(outcome.unit))
    };
    let of = |v: Verdict| outcome.checks.iter().filter(|c| c.verdict == v).count();
    let (watch, stop) = (of(Verdict::Watch), of(Verdict::Stop));
    let verdict = match (watch, stop) {
        (0, 0) => format!("all {} checks ok", outcome.checks.len()),
        _ => format!("{watch} checks to watch, {stop} stop"),
    };
    format!("table: tip {}, tail {}; {verdict}", height("tip_height_mm"), height("tail_height_mm"))
}
