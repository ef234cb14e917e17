//! Arguments.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand};

/// Springback, the over-bent table, and everything to build it, for pressing laminated boards.
#[derive(Debug, Parser)]
#[command(name = "overbend", version, max_term_width = 100, arg_required_else_help = true)]
pub(crate) struct Arguments {
    #[command(subcommand)]
    pub(crate) command: Command,
}

#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Compute the table for a job and write everything to build it.
    #[command(after_help = "Example:\n  overbend build examples/lake-board/job.toml -o out")]
    Build(Build),
    /// Do everything that build does, but write no files.
    #[command(after_help = "Example:\n  overbend check job.toml")]
    Check(Check),
    /// Build anew on every save of the job; errors appear at the head of the last good book.
    #[command(after_help = "Example:\n  overbend watch job.toml -o out")]
    Watch(Watch),
    /// Look at the wanted rocker alone: heights, radii, angles, and how readings are passed.
    #[command(after_help = "Example:\n  overbend target job.toml -o look")]
    Target(Target),
    /// Write a commented job document to begin from.
    #[command(after_help = "Example:\n  overbend new my-board --starter twin-tip")]
    New(New),
    /// Predict what comes off a table that is there already, and which of several stacks comes nearest.
    #[command(after_help = "Example:\n  overbend predict job.toml --table table.csv --json")]
    Predict(Predict),
    /// List the materials that layers can name, or explain one with the source of every figure.
    #[command(after_help = "Example:\n  overbend materials paulownia")]
    Materials(Materials),
}

#[derive(Debug, Args)]
pub(crate) struct Build {
    /// The job document.
    pub(crate) file: PathBuf,
    /// Folder for the files; made new, or replaced whole if an earlier run made it.
    #[arg(short, long, value_name = "FOLDER")]
    pub(crate) output: PathBuf,
    /// Write even where the folder holds other files; the old folder is kept under a new name.
    #[arg(long)]
    pub(crate) force: bool,
    /// Go on although this check says stop; may be given several times. Printed in every output.
    #[arg(long, value_name = "CODE")]
    pub(crate) accept: Vec<String>,
}

#[derive(Debug, Args)]
pub(crate) struct Check {
    /// The job document.
    pub(crate) file: PathBuf,
    /// Go on although this check says stop; may be given several times.
    #[arg(long, value_name = "CODE")]
    pub(crate) accept: Vec<String>,
}

#[derive(Debug, Args)]
pub(crate) struct Watch {
    /// The job document.
    pub(crate) file: PathBuf,
    /// Folder for the files; made new, or replaced whole if an earlier run made it.
    #[arg(short, long, value_name = "FOLDER")]
    pub(crate) output: PathBuf,
    /// Go on although this check says stop; may be given several times. Printed in every output.
    #[arg(long, value_name = "CODE")]
    pub(crate) accept: Vec<String>,
}

#[derive(Debug, Args)]
pub(crate) struct Target {
    /// The job document; only its title, board and rocker are read.
    pub(crate) file: PathBuf,
    /// Folder for a listing, a picture and the profile as DXF and SVG; made new, or replaced whole if an earlier run made it.
    #[arg(short, long, value_name = "FOLDER")]
    pub(crate) output: Option<PathBuf>,
    /// Write even where the folder holds other files; the old folder is kept under a new name.
    #[arg(long, requires = "output")]
    pub(crate) force: bool,
}

#[derive(Debug, Args)]
pub(crate) struct New {
    /// Name of the document; `.toml` is added where it is missing.
    pub(crate) name: PathBuf,
    /// What to begin from.
    #[arg(long, value_name = "KIND", default_value = "twin-tip")]
    pub(crate) starter: String,
}

#[derive(Debug, Args)]
pub(crate) struct Predict {
    /// The job document; its table [existing_table] is pressed on unless --table gives another.
    pub(crate) file: PathBuf,
    /// Heights read off a table: comma-separated stations along a straight line and heights over it.
    #[arg(long, value_name = "TABLE.csv")]
    pub(crate) table: Option<PathBuf>,
    /// Print all figures as JSON.
    #[arg(long)]
    pub(crate) json: bool,
}

#[derive(Debug, Args)]
pub(crate) struct Materials {
    /// Explain this one.
    pub(crate) name: Option<String>,
}
