//! Arguments.

use std::ffi::OsStr;
use std::path::PathBuf;

use clap::builder::{PossibleValue, StringValueParser, TypedValueParser};
use clap::{Arg, Args, Parser, Subcommand, ValueEnum};
use overbend::document::STARTERS;

use crate::exit::EXIT_CODES;

/// Version, with the commit it was built from where that is known.
pub(crate) const VERSION: &str = env!("OVERBEND_VERSION");

/// Springback, the over-bent table, and everything to build it, for pressing laminated boards.
///
/// Results go to stdout, talk and problems to stderr. A document named `-` is read from stdin.
#[derive(Debug, Parser)]
#[command(name = "overbend", version = VERSION, max_term_width = 100, arg_required_else_help = true, after_help = EXIT_CODES)]
pub(crate) struct Arguments {
    #[command(flatten)]
    pub(crate) talk: Talk,
    #[command(subcommand)]
    pub(crate) command: Command,
}

/// How to talk.
#[derive(Debug, Clone, Copy, Default, Args)]
pub(crate) struct Talk {
    /// Say nothing but results and what is wrong.
    #[arg(short, long, global = true, conflicts_with = "verbose")]
    pub(crate) quiet: bool,
    /// Say more: how each check came out, which files were written, how long it took.
    #[arg(short, long, global = true)]
    pub(crate) verbose: bool,
    /// How problems and talk are said on stderr.
    #[arg(long, global = true, value_enum, value_name = "FORMAT", default_value_t = Format::Text)]
    pub(crate) message_format: Format,
}

/// How problems are said.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, ValueEnum)]
pub(crate) enum Format {
    /// For people: the faulty line with a caret under it.
    #[default]
    Text,
    /// For editors: one JSON object on each line.
    Json,
}

#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Compute the table for a job, or for several, and write everything to build it.
    ///
    /// One document gives the folder that -o names. Several documents give one folder each inside of it, named after
    /// the documents (or after their folders, where all documents have one name); they are worked on side by side,
    /// each is reported in one line, and the run fails with a count when one of them fails.
    #[command(after_help = "Examples:\n  overbend build examples/lake-board/job.toml -o out\n  \
        overbend build boards/*.toml -o tables\n  generate | overbend build - -o out --json")]
    Build(Build),
    /// Do everything that build does, but write no files.
    #[command(
        after_help = "Examples:\n  overbend check job.toml\n  overbend check job.toml --json | jq .table.tip_height_mm\n  \
        overbend check - --message-format json < job.toml"
    )]
    Check(Check),
    /// Build anew on every save of the job; errors appear at the head of the last good book.
    #[command(after_help = "Example:\n  overbend watch job.toml -o out")]
    Watch(Watch),
    /// Look at the wanted rocker alone: heights, radii, angles, and how readings are passed.
    #[command(after_help = "Example:\n  overbend target job.toml -o look")]
    Target(Target),
    /// Write a commented job document to begin from.
    #[command(after_help = "Examples:\n  overbend new\n  overbend new my-board --starter twin-tip")]
    New(New),
    /// Predict what comes off a table that is there already, and which of several stacks comes nearest.
    #[command(after_help = "Example:\n  overbend predict job.toml --as-built table.csv --json")]
    Predict(Predict),
    /// Say what changes from one job or result to another: whether an old table still serves.
    ///
    /// Each side is a job document, a folder of a build, or a result.json. Where the second is a document, its stack is
    /// also pressed on the first one's table.
    #[command(
        after_help = "Examples:\n  overbend diff old-table new-job.toml\n  overbend diff a.toml b.toml --within 0.5"
    )]
    Diff(Diff),
    /// Tell what a check or a mistake means, how its figure is computed, its source, and what to do.
    #[command(after_help = "Examples:\n  overbend explain layer-strain\n  overbend explain")]
    Explain(Explain),
    /// Learn from a measured board: its springback, what the shop knows with it, and shims for the table.
    #[command(
        after_help = "Example:\n  overbend calibrate job.toml measured.csv --label \"first board\" --date 2026-03-01"
    )]
    Calibrate(Box<Calibrate>),
    /// Say what turns a table that is there into the one that is wanted now: shims, station by station.
    #[command(after_help = "Example:\n  overbend shims job.toml --as-built table.csv --shim 0.3 --shim 0.8 -o look")]
    Shims(Shims),
    /// Print the JSON Schema of the job document, for editors.
    #[command(after_help = "Example:\n  overbend schema > job.schema.json")]
    Schema,
    /// Print completions for a shell.
    #[command(after_help = "Examples:\n  overbend completions bash > /etc/bash_completion.d/overbend\n  \
        overbend completions fish > ~/.config/fish/completions/overbend.fish")]
    Completions(Completions),
    /// Write the manual pages: of overbend, and of each of its commands.
    #[command(after_help = "Examples:\n  overbend man | man -l -\n  overbend man -o /usr/local/share/man/man1")]
    Man(Man),
    /// List the materials that layers can name, or explain one with the source of every figure.
    #[command(after_help = "Example:\n  overbend materials paulownia")]
    Materials(Materials),
}

#[derive(Debug, Args)]
pub(crate) struct Build {
    /// The job documents; - reads one from stdin.
    #[arg(required = true, value_name = "FILE")]
    pub(crate) files: Vec<PathBuf>,
    /// Folder for the files; made new, or replaced whole if an earlier run made it.
    #[arg(short, long, value_name = "FOLDER")]
    pub(crate) output: PathBuf,
    /// Write even where the folder holds other files; the old folder is kept under a new name.
    #[arg(long)]
    pub(crate) force: bool,
    /// Go on although this check says stop; may be given several times. Printed in every output.
    #[arg(long, value_name = "CODE")]
    pub(crate) accept: Vec<String>,
    /// Print one line of JSON for each document: how it ended, its folder, files and checks.
    #[arg(long)]
    pub(crate) json: bool,
}

#[derive(Debug, Args)]
pub(crate) struct Check {
    /// The job document; - reads it from stdin.
    pub(crate) file: PathBuf,
    /// Go on although this check says stop; may be given several times.
    #[arg(long, value_name = "CODE")]
    pub(crate) accept: Vec<String>,
    /// Print all figures as JSON, as they stand in result.json.
    #[arg(long)]
    pub(crate) json: bool,
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
    /// Print one line of JSON for each build: how it ended, its folder, files and checks.
    #[arg(long)]
    pub(crate) json: bool,
}

#[derive(Debug, Args)]
pub(crate) struct Target {
    /// The job document, or - for stdin; only its title, board and rocker are read.
    pub(crate) file: PathBuf,
    /// Folder for a listing, a picture and the profile as DXF and SVG; made new, or replaced whole if an earlier run made it.
    #[arg(short, long, value_name = "FOLDER")]
    pub(crate) output: Option<PathBuf>,
    /// Write even where the folder holds other files; the old folder is kept under a new name.
    #[arg(long, requires = "output")]
    pub(crate) force: bool,
    /// Print all figures as JSON.
    #[arg(long)]
    pub(crate) json: bool,
}

#[derive(Debug, Args)]
pub(crate) struct New {
    /// Name of the document; `.toml` is added where it is missing. Without it a few questions are asked, on a terminal.
    pub(crate) name: Option<PathBuf>,
    /// What to begin from: twin-tip, runner or deck; twin-tip where it is not given.
    #[arg(long, value_name = "KIND", value_parser = StarterName, hide_possible_values = true)]
    pub(crate) starter: Option<String>,
}

/// Offers the names of the starters to completions, and leaves a mistyped one to be answered with the nearest.
#[derive(Debug, Clone)]
struct StarterName;

impl TypedValueParser for StarterName {
    type Value = String;

    fn parse_ref(&self, command: &clap::Command, arg: Option<&Arg>, value: &OsStr) -> Result<String, clap::Error> {
        StringValueParser::new().parse_ref(command, arg, value)
    }

    fn possible_values(&self) -> Option<Box<dyn Iterator<Item = PossibleValue> + '_>> {
        Some(Box::new(STARTERS.iter().map(|s| PossibleValue::new(s.name))))
    }
}

#[derive(Debug, Args)]
pub(crate) struct Predict {
    /// The job document, or - for stdin; its table [existing_table] is pressed on unless --as-built gives another.
    pub(crate) file: PathBuf,
    /// Heights read off the table as it was built: comma-separated stations along a straight line and heights over it.
    #[arg(long, value_name = "TABLE.csv")]
    pub(crate) as_built: Option<PathBuf>,
    /// Station of --as-built at which the middle of the board lies; 0 where stations go below it, else halfway.
    #[arg(long, value_name = "STATION", requires = "as_built", allow_hyphen_values = true)]
    pub(crate) middle: Option<String>,
    /// Print all figures as JSON.
    #[arg(long)]
    pub(crate) json: bool,
}

#[derive(Debug, Args)]
pub(crate) struct Materials {
    /// Explain this one.
    pub(crate) name: Option<String>,
    /// Print all figures as JSON.
    #[arg(long)]
    pub(crate) json: bool,
}

#[derive(Debug, Args)]
pub(crate) struct Explain {
    /// The code that stands beside the message; without one all codes are listed.
    pub(crate) code: Option<String>,
    /// Print as JSON.
    #[arg(long)]
    pub(crate) json: bool,
}

#[derive(Debug, Args)]
pub(crate) struct Calibrate {
    /// The job document that the board was pressed for; its key `shop` names the file that keeps the boards.
    pub(crate) file: PathBuf,
    /// Heights read off the released board: comma-separated stations and heights.
    #[arg(value_name = "MEASURED.csv")]
    pub(crate) measured: PathBuf,
    /// What the board is called; numbered where it is not given.
    #[arg(long)]
    pub(crate) label: Option<String>,
    /// When it was measured, year-month-day.
    #[arg(long)]
    pub(crate) date: Option<String>,
    /// How long after release it was read, in hours or with a unit (`10 min`); a day where it is not given.
    #[arg(long, value_name = "TIME")]
    pub(crate) hours: Option<String>,
    /// What else is to be remembered: temperature, hours on the table.
    #[arg(long)]
    pub(crate) remark: Option<String>,
    /// The table as it was built: heights read off it, in stations straight along it and heights over a straight line.
    #[arg(long, value_name = "TABLE.csv", conflicts_with_all = ["same_table", "again"])]
    pub(crate) as_built: Option<PathBuf>,
    /// Station of --as-built at which the middle of the board lay; 0 where stations go below it, else halfway.
    #[arg(long, value_name = "STATION", requires = "as_built", allow_hyphen_values = true)]
    pub(crate) middle: Option<String>,
    /// The table is the one of the last board of this job, unchanged.
    #[arg(long, conflicts_with = "again")]
    pub(crate) same_table: bool,
    /// The table is the one that this job designs with all boards so far, built anew.
    #[arg(long, conflicts_with_all = ["as_built", "same_table", "again"])]
    pub(crate) new_table: bool,
    /// Learn from the board even where no springback explains it.
    #[arg(long)]
    pub(crate) learn_anyway: bool,
    /// These are later readings of the board that is kept under this name; they count in place of its earlier ones.
    #[arg(long, value_name = "LABEL")]
    pub(crate) again: Option<String>,
    /// What the heights were read from.
    #[arg(long, value_parser = ["floor", "straightedge"], default_value = "floor")]
    pub(crate) datum: String,
    /// Along what the stations were read.
    #[arg(long, value_parser = ["base", "datum"], default_value = "base")]
    pub(crate) along: String,
    /// Where stations are counted from: what the file's heading says, or the tail, where it is not given.
    #[arg(long, value_parser = ["tail", "middle", "tip"])]
    pub(crate) from: Option<String>,
    /// How far two readings of one height usually differ (standard deviation); found from the readings where it is not given.
    #[arg(long, value_name = "LENGTH")]
    pub(crate) error: Option<String>,
    #[command(flatten)]
    pub(crate) shimming: Shimming,
    /// Say everything, keep nothing.
    #[arg(long)]
    pub(crate) dry_run: bool,
    /// Print all figures as JSON.
    #[arg(long)]
    pub(crate) json: bool,
    /// Folder for shims.csv, calibration.json and a page of both; made new, or replaced whole if an earlier run made it.
    #[arg(short, long, value_name = "FOLDER")]
    pub(crate) output: Option<PathBuf>,
    /// Write even where the folder holds other files; the old folder is kept under a new name.
    #[arg(long, requires = "output")]
    pub(crate) force: bool,
}

#[derive(Debug, Args)]
pub(crate) struct Shimming {
    /// A thickness of shim that the shop has; may be given several times. Without it, `shims` of the shop's file, else common ones.
    #[arg(long, value_name = "THICKNESS")]
    pub(crate) shim: Vec<String>,
    /// Wood may be planed off the table too.
    #[arg(long)]
    pub(crate) plane: bool,
}

#[derive(Debug, Args)]
pub(crate) struct Shims {
    /// The job document; its table [existing_table] is corrected, else the one of the shop's last board of this job.
    pub(crate) file: PathBuf,
    /// The table as it was built: heights read off it, in stations straight along it and heights over a straight line.
    #[arg(long, value_name = "TABLE.csv")]
    pub(crate) as_built: Option<PathBuf>,
    /// Station of --as-built at which the middle of the board lies; 0 where stations go below it, else halfway.
    #[arg(long, value_name = "STATION", requires = "as_built", allow_hyphen_values = true)]
    pub(crate) middle: Option<String>,
    #[command(flatten)]
    pub(crate) shimming: Shimming,
    /// Print all figures as JSON.
    #[arg(long)]
    pub(crate) json: bool,
    /// Folder for shims.csv, shims.json and a page; made new, or replaced whole if an earlier run made it.
    #[arg(short, long, value_name = "FOLDER")]
    pub(crate) output: Option<PathBuf>,
    /// Write even where the folder holds other files; the old folder is kept under a new name.
    #[arg(long, requires = "output")]
    pub(crate) force: bool,
}

#[derive(Debug, Args)]
pub(crate) struct Completions {
    /// The shell.
    #[arg(value_enum)]
    pub(crate) shell: Shell,
}

/// Shells that completions are made for.
#[derive(Debug, Clone, Copy, ValueEnum)]
pub(crate) enum Shell {
    /// Bourne again shell.
    Bash,
    /// Z shell.
    Zsh,
    /// Friendly interactive shell.
    Fish,
    /// PowerShell.
    Powershell,
    /// Elvish.
    Elvish,
}

#[derive(Debug, Args)]
pub(crate) struct Man {
    /// Folder for one page of each command; without it the page of overbend itself is printed.
    #[arg(short, long, value_name = "FOLDER")]
    pub(crate) output: Option<PathBuf>,
}

#[derive(Debug, Args)]
pub(crate) struct Diff {
    /// What there is: a job document, - for one from stdin, a folder of a build, or a result.json.
    pub(crate) old: PathBuf,
    /// What is wanted now, in the same forms.
    pub(crate) new: PathBuf,
    /// End with 1 when the surfaces of the tables differ by more than this: "1/64 in", or a number in the unit of NEW.
    #[arg(long, value_name = "LENGTH")]
    pub(crate) within: Option<String>,
    /// Print as JSON.
    #[arg(long)]
    pub(crate) json: bool,
}
