//! The command line: arguments, disk, terminal and exit codes. All computing is the library's.
#![allow(clippy::disallowed_methods, reason = "this is the one place that touches disk and environment")]

mod args;
mod batch;
mod build;
mod calibrate;
mod create;
mod diff;
mod exit;
mod explain;
mod folder;
mod input;
mod manual;
mod materials;
mod predict;
mod progress;
mod questions;
mod report;
mod serve;
mod shims;
mod shop_file;
mod sweep;
mod target;
mod watch;

use std::process::ExitCode;

use clap::Parser;

use args::{Arguments, Command, Format, Talk};
use exit::Exit;

fn main() -> ExitCode {
    let arguments = match Arguments::try_parse() {
        Ok(arguments) => arguments,
        Err(error) => return unread(&error).into(),
    };
    report::set(arguments.talk);
    let exit = match &arguments.command {
        Command::Build(build) => build::build(build),
        Command::Check(check) => build::check(check),
        Command::Watch(watch) => watch::watch(watch),
        Command::Target(wanted) => target::target(wanted),
        Command::New(new) => create::create(new),
        Command::Predict(wanted) => predict::predict(wanted),
        Command::Diff(wanted) => diff::diff(wanted),
        Command::Sweep(wanted) => sweep::sweep(wanted),
        Command::Explain(wanted) => explain::explain(wanted),
        Command::Calibrate(wanted) => calibrate::calibrate(wanted),
        Command::Shims(wanted) => shims::shims(wanted),
        Command::Schema => manual::schema(),
        Command::Completions(wanted) => manual::completions(wanted),
        Command::Man(wanted) => manual::man(wanted),
        Command::Materials(wanted) => materials::materials(wanted),
    };
    report::end(exit).into()
}

/// Help and version are results; anything else is a mistake, told as the arguments ask for as far as they can be read.
fn unread(error: &clap::Error) -> Exit {
    if !error.use_stderr() {
        report::print_result(&error.render().to_string());
        return report::end(Exit::Done);
    }
    let words: Vec<String> = std::env::args().collect();
    let asked = |pair: &[String]| pair[0] == "--message-format" && pair[1] == "json";
    if words.iter().any(|w| w == "--message-format=json") || words.windows(2).any(asked) {
        report::set(Talk { message_format: Format::Json, ..Talk::default() });
        let text = error.render().to_string();
        report::failure(text.trim_end().trim_start_matches("error: "));
    } else {
        // Colour and width are its business; where stderr fails there is nobody left to be told.
        let _ = error.print();
    }
    Exit::Wrong
}
