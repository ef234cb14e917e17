//! Tests of the program, run as its users run it.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::disallowed_methods,
    clippy::print_stdout,
    reason = "tests read files and stop at the first surprise"
)]

#[path = "../support/mod.rs"]
mod support;

mod book;
mod calibrate;
mod cli;
mod diff;
mod explain;
#[cfg(target_os = "linux")]
mod faults;
#[cfg(unix)]
mod folder;
#[cfg(unix)]
mod guide;
#[cfg(unix)]
mod help;
mod learning;
mod materials;
mod predict;
mod schema;
mod sweep;
mod talk;
#[cfg(target_os = "linux")]
mod terminal;
