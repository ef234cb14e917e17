//! Arguments.

use std::ffi::OsStr;
use std::path::PathBuf;

use clap::builder::{PossibleValue, StringValueParser, TypedValueParser};
use clap::{Arg, Args, Parser, Subcommand, ValueEnum};
use overbend::document::STARTERS;

use crate::exit::EXIT_CODES;

/// Version, with the commit it was built from if known.
pub(crate) const VERSION: &str = env!("OVERBEND_VERSION");

/// Compute springback and the over-bent table for pressing laminated boards, and write the files to build it.
///
/// Results go to stdout, messages and problems to stderr. The file name `-` reads a document from stdin.
#[derive(Debug, Parser)]
#[command(name = "overbend", version = VERSION, max_term_width = 100, arg_required_else_help = true, after_help = EXIT_CODES)]
pub(crate) struct Arguments {
    #[command(flatten)]
    pub(crate) talk: Talk,
    #[command(subcommand)]
    pub(crate) command: Command,
}

/// Options for output.
#[derive(Debug, Clone, Copy, Default, Args)]
pub(crate) struct Talk {
    /// Print only results and problems.
    #[arg(short, long, global = true, help_heading = "Messages", conflicts_with = "verbose")]
    pub(crate) quiet: bool,
    /// Also print every check, every file written, and the time taken.
    #[arg(short, long, global = true, help_heading = "Messages")]
    pub(crate) verbose: bool,
    /// Format of problems and messages on stderr.
    #[arg(long, global = true, help_heading = "Messages", value_enum, value_name = "FORMAT", default_value_t = Format::Text)]
    pub(crate) message_format: Format,
}

/// Format of problems.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, ValueEnum)]
pub(crate) enum Format {
    /// For people: a sentence, the line with the fault marked, and what to do.
    #[default]
    Text,
    /// For editors: one JSON object a line.
    Json,
}

#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Compute the table for one or more jobs and write all files.
    ///
    /// One document is built into the folder given by -o. Several documents are built in parallel, each into its own
    /// folder inside it and reported on one line. The folders are named after the documents, or after the documents'
    /// folders if all documents have the same name. If any document fails, the command fails.
    #[command(after_help = "Examples:\n  overbend build examples/lake-board/job.toml -o out\n  \
        overbend build boards/*.toml -o tables\n  generate | overbend build - -o out --json")]
    Build(Build),
    /// Run a build without writing files.
    #[command(
        after_help = "Examples:\n  overbend check job.toml\n  overbend check job.toml --json | jq .table.tip_height_mm\n  \
        overbend check - --message-format json < job.toml"
    )]
    Check(Check),
    /// Rebuild on every save; problems appear at the top of the last good book.
    #[command(after_help = "Example:\n  overbend watch job.toml -o out")]
    Watch(Watch),
    /// Show the wanted rocker alone: heights, angles, radii, and how well it fits readings.
    #[command(after_help = "Example:\n  overbend target job.toml -o look")]
    Target(Target),
    /// Write a commented starter document.
    #[command(after_help = "Examples:\n  overbend new\n  overbend new my-board --starter twin-tip")]
    New(New),
    /// Predict the board that comes off an existing table, and the best of several stacks.
    #[command(after_help = "Example:\n  overbend predict job.toml --as-built table.csv --json")]
    Predict(Predict),
    /// Compare two jobs or results: does the old table still serve?
    ///
    /// Each side is a job document, the folder of a build, or a result.json. If the second side is a document, its stack
    /// is also pressed on the table of the first.
    #[command(
        after_help = "Examples:\n  overbend diff old-table new-job.toml\n  overbend diff a.toml b.toml --within 0.5"
    )]
    Diff(Diff),
    /// Vary keys of a job and list the results of every combination.
    ///
    /// Each line holds the values of the keys, tip and tail on the table and of the predicted board, springback, the width
    /// of the band that holds 9 boards in 10, and the worst check that needs no jig. Nothing is simulated.
    #[command(after_help = "Examples:\n  overbend sweep job.toml --vary rocker.arc.height=40..60/5 > sweep.csv\n  \
        overbend sweep job.toml --vary layers.core.thickness=3..6/0.5 --vary \"pressing.vacuum.pressure=70..90/10 kPa\" -o sweep")]
    Sweep(Sweep),
    /// Explain a check or problem: meaning, computation, source, and what to do.
    #[command(after_help = "Examples:\n  overbend explain layer-strain\n  overbend explain")]
    Explain(Explain),
    /// Learn your shop's springback from a measured board, and compute shims for the table.
    #[command(
        after_help = "Example:\n  overbend calibrate job.toml measured.csv --label \"first board\" --date 2026-03-01"
    )]
    Calibrate(Box<Calibrate>),
    /// Compute the shims that correct an existing table, station by station.
    #[command(after_help = "Example:\n  overbend shims job.toml --as-built table.csv --shim 0.3 --shim 0.8 -o look")]
    Shims(Shims),
    /// Print the JSON Schema of job documents, for editors.
    #[command(after_help = "Example:\n  overbend schema > job.schema.json")]
    Schema,
    /// Print shell completions.
    #[command(after_help = "Examples:\n  overbend completions bash > /etc/bash_completion.d/overbend\n  \
        overbend completions fish > ~/.config/fish/completions/overbend.fish")]
    Completions(Completions),
    /// Write the manual pages of overbend and of each command.
    #[command(after_help = "Examples:\n  overbend man | man -l -\n  overbend man -o /usr/local/share/man/man1")]
    Man(Man),
    /// List the materials, or show one with the source of every value.
    #[command(after_help = "Example:\n  overbend materials paulownia")]
    Materials(Materials),
}

#[derive(Debug, Args)]
pub(crate) struct Build {
    /// Job documents; - reads one from stdin.
    #[arg(required = true, value_name = "FILE")]
    pub(crate) files: Vec<PathBuf>,
    /// Folder for the files. It is created, or replaced if an earlier run made it.
    #[arg(short, long, value_name = "FOLDER")]
    pub(crate) output: PathBuf,
    /// Write even if the folder holds other files; the old folder is renamed and kept.
    #[arg(long)]
    pub(crate) force: bool,
    /// Build although this check says stop; repeatable. Every output states it.
    #[arg(long, value_name = "CODE")]
    pub(crate) accept: Vec<String>,
    /// Print one line of JSON per document: outcome, folder, files and checks.
    #[arg(long)]
    pub(crate) json: bool,
}

#[derive(Debug, Args)]
pub(crate) struct Check {
    /// Job document; - reads stdin.
    pub(crate) file: PathBuf,
    /// Continue although this check says stop; repeatable.
    #[arg(long, value_name = "CODE")]
    pub(crate) accept: Vec<String>,
    /// Print all values as JSON, as in result.json.
    #[arg(long)]
    pub(crate) json: bool,
}

#[derive(Debug, Args)]
pub(crate) struct Watch {
    /// Job document.
    pub(crate) file: PathBuf,
    /// Folder for the files. It is created, or replaced if an earlier run made it.
    #[arg(short, long, value_name = "FOLDER")]
    pub(crate) output: PathBuf,
    /// Build although this check says stop; repeatable. Every output states it.
    #[arg(long, value_name = "CODE")]
    pub(crate) accept: Vec<String>,
    /// Print one line of JSON per build: outcome, folder, files and checks.
    #[arg(long)]
    pub(crate) json: bool,
}

#[derive(Debug, Args)]
pub(crate) struct Target {
    /// Job document, or - for stdin; only title, board and rocker are read.
    pub(crate) file: PathBuf,
    /// Folder for a listing, a picture and the profile as DXF and SVG. It is created, or replaced if an earlier run made it.
    #[arg(short, long, value_name = "FOLDER")]
    pub(crate) output: Option<PathBuf>,
    /// Write even if the folder holds other files; the old folder is renamed and kept.
    #[arg(long, requires = "output")]
    pub(crate) force: bool,
    /// Print all values as JSON.
    #[arg(long)]
    pub(crate) json: bool,
}

#[derive(Debug, Args)]
pub(crate) struct New {
    /// Name of the document; `.toml` is added if missing. Without a name, a terminal asks a few questions.
    pub(crate) name: Option<PathBuf>,
    /// Starter, by its name or a word for what you build, such as `ski`. Default: twin-tip.
    #[arg(long, value_name = "KIND", value_parser = StarterName)]
    pub(crate) starter: Option<String>,
}

/// Offers the starters to help and completions. A mistyped name is answered later, with the nearest one.
#[derive(Debug, Clone)]
struct StarterName;

impl TypedValueParser for StarterName {
    type Value = String;

    fn parse_ref(&self, command: &clap::Command, arg: Option<&Arg>, value: &OsStr) -> Result<String, clap::Error> {
        StringValueParser::new().parse_ref(command, arg, value)
    }

    fn possible_values(&self) -> Option<Box<dyn Iterator<Item = PossibleValue> + '_>> {
        Some(Box::new(STARTERS.iter().map(|s| PossibleValue::new(s.name).help(s.what))))
    }
}

#[derive(Debug, Args)]
pub(crate) struct Predict {
    /// Job document, or - for stdin; describes the table in [existing_table] unless --as-built is given.
    pub(crate) file: PathBuf,
    /// Measured table: lines of station and height, along and above a straight line.
    #[arg(long, value_name = "TABLE.csv")]
    pub(crate) as_built: Option<PathBuf>,
    /// Station of --as-built under the middle of the board. Default: 0 if there are negative stations, else halfway.
    #[arg(long, value_name = "STATION", requires = "as_built", allow_hyphen_values = true)]
    pub(crate) middle: Option<String>,
    /// Print all values as JSON.
    #[arg(long)]
    pub(crate) json: bool,
}

#[derive(Debug, Args)]
pub(crate) struct Materials {
    /// Material to show.
    pub(crate) name: Option<String>,
    /// Print all values as JSON.
    #[arg(long)]
    pub(crate) json: bool,
}

#[derive(Debug, Args)]
pub(crate) struct Sweep {
    /// Job document, or - for stdin.
    pub(crate) file: PathBuf,
    /// Key with first value, last value, step and, unless the values are bare numbers, their unit; repeatable. Entries of
    /// lists go by their number (layers[1].thickness) or name (layers.core.thickness).
    #[arg(long, required = true, value_name = "KEY=FROM..TO/STEP")]
    pub(crate) vary: Vec<String>,
    /// Compute one part of the combinations, such as 3/10, so that several machines can share them.
    #[arg(long, value_name = "NUMBER/PARTS", default_value = "1/1", hide_default_value = true)]
    pub(crate) part: String,
    /// Folder for sweep.csv and a chart; without it, the listing goes to stdout. It is created, or replaced if an earlier
    /// run made it.
    #[arg(short, long, value_name = "FOLDER")]
    pub(crate) output: Option<PathBuf>,
    /// Write even if the folder holds other files; the old folder is renamed and kept.
    #[arg(long, requires = "output")]
    pub(crate) force: bool,
}

#[derive(Debug, Args)]
pub(crate) struct Explain {
    /// Code of the message; without it, all codes are listed.
    pub(crate) code: Option<String>,
    /// Print JSON.
    #[arg(long)]
    pub(crate) json: bool,
}

#[derive(Debug, Args)]
pub(crate) struct Calibrate {
    /// Job document of the board; its key `shop` names the file of boards.
    pub(crate) file: PathBuf,
    /// Measured board: lines of station and height.
    #[arg(value_name = "MEASURED.csv")]
    pub(crate) measured: PathBuf,
    /// Name of the board; numbered by default.
    #[arg(long)]
    pub(crate) label: Option<String>,
    /// Date of the measurement, year-month-day.
    #[arg(long)]
    pub(crate) date: Option<String>,
    /// Time of the readings after release, in hours or with a unit (`10 min`). Default: a day.
    #[arg(long, value_name = "TIME")]
    pub(crate) hours: Option<String>,
    /// A note to keep with it: temperature, hours on the table.
    #[arg(long)]
    pub(crate) remark: Option<String>,
    /// Measured table: lines of station and height, along and above a straight line.
    #[arg(long, value_name = "TABLE.csv", conflicts_with_all = ["same_table", "again"])]
    pub(crate) as_built: Option<PathBuf>,
    /// Station of --as-built under the middle of the board. Default: 0 if there are negative stations, else halfway.
    #[arg(long, value_name = "STATION", requires = "as_built", allow_hyphen_values = true)]
    pub(crate) middle: Option<String>,
    /// The board was pressed on the same table as the last board of this job.
    #[arg(long, conflicts_with = "again")]
    pub(crate) same_table: bool,
    /// The board was pressed on a new table, built as this job now designs it.
    #[arg(long, conflicts_with_all = ["as_built", "same_table", "again"])]
    pub(crate) new_table: bool,
    /// Learn from the board even if springback does not explain it.
    #[arg(long)]
    pub(crate) learn_anyway: bool,
    /// New readings of a stored board; they replace its earlier ones.
    #[arg(long, value_name = "LABEL")]
    pub(crate) again: Option<String>,
    /// Datum of the heights.
    #[arg(long, value_parser = ["floor", "straightedge"], default_value = "floor")]
    pub(crate) datum: String,
    /// What the stations were measured along.
    #[arg(long, value_parser = ["base", "datum"], default_value = "base")]
    pub(crate) along: String,
    /// Where stations are counted from. Default: as the file's heading states, else the tail.
    #[arg(long, value_parser = ["tail", "middle", "tip"])]
    pub(crate) from: Option<String>,
    /// Standard error of a reading. Default: estimated from the readings.
    #[arg(long, value_name = "LENGTH")]
    pub(crate) error: Option<String>,
    #[command(flatten)]
    pub(crate) shimming: Shimming,
    /// Report, but store nothing.
    #[arg(long)]
    pub(crate) dry_run: bool,
    /// Print all values as JSON.
    #[arg(long)]
    pub(crate) json: bool,
    /// Folder for shims.csv, calibration.json and a page. It is created, or replaced if an earlier run made it.
    #[arg(short, long, value_name = "FOLDER")]
    pub(crate) output: Option<PathBuf>,
    /// Write even if the folder holds other files; the old folder is renamed and kept.
    #[arg(long, requires = "output")]
    pub(crate) force: bool,
}

#[derive(Debug, Args)]
pub(crate) struct Shimming {
    /// Shim thickness at hand; repeatable. Default: `shims` in the shop's file, else common ones.
    #[arg(long, value_name = "THICKNESS")]
    pub(crate) shim: Vec<String>,
    /// Allow planing the table as well.
    #[arg(long)]
    pub(crate) plane: bool,
}

#[derive(Debug, Args)]
pub(crate) struct Shims {
    /// Job document. Corrects the table in [existing_table], else that of the last board of this job.
    pub(crate) file: PathBuf,
    /// Measured table: lines of station and height, along and above a straight line.
    #[arg(long, value_name = "TABLE.csv")]
    pub(crate) as_built: Option<PathBuf>,
    /// Station of --as-built under the middle of the board. Default: 0 if there are negative stations, else halfway.
    #[arg(long, value_name = "STATION", requires = "as_built", allow_hyphen_values = true)]
    pub(crate) middle: Option<String>,
    #[command(flatten)]
    pub(crate) shimming: Shimming,
    /// Print all values as JSON.
    #[arg(long)]
    pub(crate) json: bool,
    /// Folder for shims.csv, shims.json and a page. It is created, or replaced if an earlier run made it.
    #[arg(short, long, value_name = "FOLDER")]
    pub(crate) output: Option<PathBuf>,
    /// Write even if the folder holds other files; the old folder is renamed and kept.
    #[arg(long, requires = "output")]
    pub(crate) force: bool,
}

#[derive(Debug, Args)]
pub(crate) struct Completions {
    /// Shell.
    #[arg(value_enum)]
    pub(crate) shell: Shell,
}

/// Shells with completions.
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
    /// Folder for one page per command; without it, the page of overbend is printed.
    #[arg(short, long, value_name = "FOLDER")]
    pub(crate) output: Option<PathBuf>,
}

#[derive(Debug, Args)]
pub(crate) struct Diff {
    /// The old side: a job document, - for stdin, the folder of a build, or a result.json.
    pub(crate) old: PathBuf,
    /// The new side, in the same forms.
    pub(crate) new: PathBuf,
    /// Exit with 1 if the table surfaces differ by more than this: "1/64 in", or a number in the unit of NEW.
    #[arg(long, value_name = "LENGTH")]
    pub(crate) within: Option<String>,
    /// Print JSON.
    #[arg(long)]
    pub(crate) json: bool,
}
