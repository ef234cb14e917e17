//! `overbend new`.

use std::fs::OpenOptions;
use std::io::{ErrorKind, Write};
use std::path::PathBuf;

use overbend::document::{STARTERS, Starter};

use crate::args::New;
use crate::exit::Exit;
use crate::report::{failure, tell};

pub(crate) fn create(new: &New) -> Exit {
    let Some(starter) = Starter::find(&new.starter) else {
        let names: Vec<&str> = STARTERS.iter().map(|s| s.name).collect();
        let hint = Starter::nearest(&new.starter).map_or(String::new(), |n| format!(" Did you mean {n}?"));
        failure(&format!("no starter is called {}.{hint} There are: {}.", new.starter, names.join(", ")));
        return Exit::Wrong;
    };
    let mut path: PathBuf = new.name.clone();
    if path.extension().is_none_or(|e| e != "toml") {
        let mut name = path.into_os_string();
        name.push(".toml");
        path = name.into();
    }
    let shown = path.display().to_string();
    let written = OpenOptions::new()
        .write(true)
        .create_new(true)
        .open(&path)
        .and_then(|mut file| file.write_all(starter.text.as_bytes()).and_then(|()| file.sync_all()));
    match written {
        Ok(()) => {
            tell(&format!("{shown} is written. Change it, then: overbend check {shown}\n"));
            Exit::Done
        }
        Err(e) if e.kind() == ErrorKind::AlreadyExists => {
            failure(&format!("{shown} is there already and stays as it is. Choose another name."));
            Exit::Wrong
        }
        Err(e) => {
            failure(&format!("{shown} cannot be written: {e}."));
            Exit::Disk
        }
    }
}
