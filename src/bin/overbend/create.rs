//! `overbend new`.

use std::io::{ErrorKind, IsTerminal, stderr, stdin};
use std::path::{Path, PathBuf};

use overbend::document::{STARTERS, Starter};

use crate::args::New;
use crate::exit::Exit;
use crate::folder::write_one;
use crate::questions;
use crate::report::{failure, print_message};

/// What is begun from where nothing is said.
const USUAL: &str = "twin-tip";

pub(crate) fn create(new: &New) -> Exit {
    let named = new.starter.as_deref().unwrap_or(USUAL);
    let Some(starter) = Starter::find(named) else {
        let all: Vec<String> = STARTERS.iter().map(|s| format!("{} ({})", s.name, s.what)).collect();
        let hint = Starter::nearest(named).map_or(String::new(), |n| format!(" Did you mean {n}?"));
        failure(&format!("there is no starter {named}.{hint} Starters: {}.", all.join("; ")));
        return Exit::Wrong;
    };
    if let Some(name) = &new.name {
        return write(name, starter.text);
    }
    if !stdin().is_terminal() {
        failure(
            "name the document, as in `overbend new my-board`. On a terminal, `overbend new` asks a few questions.",
        );
        return Exit::Wrong;
    }
    match questions::ask(new.starter.as_deref(), &mut stdin().lock(), &mut stderr()) {
        Ok(answered) => write(Path::new(&answered.name), &answered.text),
        Err(e) => {
            failure(&format!("the questions were not all answered: {e}. Nothing was written."));
            Exit::Wrong
        }
    }
}

fn write(name: &Path, text: &str) -> Exit {
    let mut path: PathBuf = name.to_owned();
    if path.extension().is_none_or(|e| e != "toml") {
        let mut name = path.into_os_string();
        name.push(".toml");
        path = name.into();
    }
    let shown = path.display().to_string();
    match write_one(&path, text.as_bytes()) {
        Ok(()) => {
            print_message(&format!("{shown} is written. Edit it, then run: overbend check {shown}\n"));
            Exit::Done
        }
        Err(e) if e.kind() == ErrorKind::AlreadyExists => {
            failure(&format!("{shown} exists already and was left unchanged. Choose another name."));
            Exit::Wrong
        }
        Err(e) => {
            failure(&format!("{shown} cannot be written: {e}."));
            Exit::Disk
        }
    }
}
