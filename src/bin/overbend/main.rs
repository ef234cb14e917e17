//! The command line: arguments, disk, terminal and exit codes. All computing is the library's.
#![allow(clippy::disallowed_methods, reason = "this is the one place that touches disk and environment")]

mod args;
mod build;
mod calibrate;
mod create;
mod exit;
mod folder;
mod input;
mod materials;
mod predict;
mod report;
mod shims;
mod shop_file;
mod target;
mod watch;

use std::process::ExitCode;

use clap::Parser;

use args::{Arguments, Command};

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    let outcome = match &arguments.command {
        Command::Build(build) => build::build(build),
        Command::Check(check) => build::check(check),
        Command::Watch(watch) => watch::watch(watch),
        Command::Target(wanted) => target::target(wanted),
        Command::New(new) => create::create(new),
        Command::Predict(wanted) => predict::predict(wanted),
        Command::Calibrate(wanted) => calibrate::calibrate(wanted),
        Command::Shims(wanted) => shims::shims(wanted),
        Command::Materials(wanted) => materials::materials(wanted),
    };
    outcome.into()
}
