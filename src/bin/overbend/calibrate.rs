//! `overbend calibrate`.

use overbend::built::Shimming;
use overbend::codes;
use overbend::document::{Problem, board_readings, shop, table_from_heights};
use overbend::finding::{Fault, Faults};
use overbend::job::{Datum, ExistingTable, Job, Origin, Readings, Smoothing, StationsAlong};
use overbend::run::{self, Calibration, Measured, OutputFile, PressedOn};
use overbend::units::{Dimension, QuantityError, parse_quantity};

use crate::args::{self, Calibrate};
use crate::build::{job_of, refused};
use crate::exit::Exit;
use crate::folder;
use crate::input::{Opened, is_absent, read_text, read_text_of};
use crate::report::{failure, print_json, print_message, print_result, problems};
use crate::shop_file::Held;

/// A file that the arguments name.
pub(crate) struct Named {
    pub(crate) name: String,
    pub(crate) text: String,
}

pub(crate) fn calibrate(arguments: &Calibrate) -> Exit {
    match calibrated(arguments) {
        Ok(()) => Exit::Done,
        Err(exit) => exit,
    }
}

fn calibrated(arguments: &Calibrate) -> Result<(), Exit> {
    if let Some(date) = arguments.date.as_deref().filter(|d| !shop::is_date(d)) {
        failure(&format!("`{date}` is not a date. Write year-month-day: --date 2026-03-01."));
        return Err(Exit::Wrong);
    }
    if let Some(output) = &arguments.output {
        folder::check(output, arguments.force).map_err(|e| refused(&e))?;
    }
    let board = named(&arguments.measured)?;
    let table = arguments.as_built.as_deref().map(named).transpose()?;
    let opened = Opened::read(&arguments.file).map_err(|f| f.print())?;
    let path = opened.shop_file()?;
    // Held from before the boards are read until the new one is written: no other run's board gets lost in between.
    let held = match &path {
        Some(path) if !arguments.dry_run => Some(Held::wait(path).map_err(|e| {
            failure(&format!("{} cannot be written to: {e}. Nothing was stored.", path.display()));
            Exit::Disk
        })?),
        _ => None,
    };
    let done = opened.with(|document, inputs| {
        let job = document.job_with(inputs)?;
        let measured = match measured(arguments, &job, &board, table.as_ref()) {
            Ok(measured) => measured,
            Err(faults) => return Ok(Err(faults)),
        };
        match run::calibrate(&job, &measured) {
            Ok(calibration) => Ok(Ok(calibration)),
            // What is wrong with files and arguments has no place in the document.
            Err(faults) if faults.iter().all(|f| of_the_arguments(f, table.is_some())) => Ok(Err(faults)),
            Err(faults) => Err(document.problems(&faults)),
        }
    });
    let calibration = done.map_err(|f| f.print())?.map_err(|faults| report_faults(&faults))?;
    if arguments.json {
        print_json(&calibration.json, true);
    } else {
        print_result(&calibration.summary);
    }
    match (&held, &path) {
        (Some(held), Some(path)) => {
            keep(held, path, &calibration)?;
            let used = if calibration.board.left_out { "but not learned from" } else { "and used by the next build" };
            print_message(&format!("\nThe board is stored in {} {used}.\n", path.display()));
        }
        (None, Some(_)) => print_message("\nDry run: nothing was stored.\n"),
        _ => print_message(
            "\nNothing was stored: the document names no file for boards. Add the key shop = \"shop.toml\".\n",
        ),
    }
    if let Some(output) = &arguments.output {
        write(output, &calibration.files, job_of(&calibration.json), arguments.force)?;
    }
    Ok(())
}

/// Writes files into a folder and says so.
pub(crate) fn write(output: &std::path::Path, files: &[OutputFile], job: &str, force: bool) -> Result<(), Exit> {
    let kept = folder::replace(output, files, job, force).map_err(|e| refused(&e))?;
    print_message(&format!("{} files are in {}.\n", files.len(), output.display()));
    if let Some(kept) = kept {
        print_message(&format!("The old folder is now {}.\n", kept.display()));
    }
    Ok(())
}

fn keep(held: &Held, path: &std::path::Path, calibration: &Calibration) -> Result<(), Exit> {
    let before = if is_absent(path) {
        String::new()
    } else {
        read_text_of(path, shop::LARGEST).map_err(|message| {
            failure(&message);
            Exit::Disk
        })?
    };
    let name = path.display().to_string();
    let longer = shop::with_board(&name, &before, &calibration.board).map_err(|found| {
        problems(&before, &found);
        Exit::Wrong
    })?;
    held.replace(&longer).map_err(|e| {
        failure(&format!("{name} cannot be written: {e}. The file is unchanged."));
        Exit::Disk
    })
}

pub(crate) fn named(path: &std::path::Path) -> Result<Named, Exit> {
    let text = read_text(path).map_err(|message| {
        failure(&message);
        Exit::Disk
    })?;
    Ok(Named { name: path.display().to_string(), text })
}

fn measured(arguments: &Calibrate, job: &Job, board: &Named, table: Option<&Named>) -> Result<Measured, Faults> {
    let how = Readings {
        readings: Vec::new(),
        file: None,
        datum: if arguments.datum == "floor" { Datum::Floor } else { Datum::Straightedge },
        along: if arguments.along == "base" { StationsAlong::Base } else { StationsAlong::Datum },
        origin: Origin::Tail,
        error_mm: arguments.error.as_deref().map(|e| length(job, e, "reading error")).transpose()?,
        smoothing: Smoothing::Likelihood,
        excluded: Vec::new(),
    };
    let from = arguments.from.as_deref().map(|from| match from {
        "tip" => Origin::Tip,
        "middle" => Origin::Middle,
        _ => Origin::Tail,
    });
    let table = match (table, &job.existing_table) {
        (Some(table), _) => PressedOn::Existing(as_built(table, arguments.middle.as_deref(), job)?),
        (None, _) if arguments.same_table => PressedOn::SameAsLast,
        (None, _) if arguments.again.is_some() => PressedOn::Again(arguments.again.clone().unwrap_or_default()),
        (None, _) if arguments.new_table => PressedOn::Designed,
        (None, Some(existing)) => PressedOn::Existing(existing.clone()),
        (None, None) => PressedOn::Unstated,
    };
    Ok(Measured {
        readings: board_readings(&board.name, &board.text, job.unit, from, how)
            .map_err(|faults| faults.in_units(job.unit))?,
        label: arguments.label.clone(),
        date: arguments.date.clone(),
        remark: arguments.remark.clone(),
        hours_after_release: arguments.hours.as_deref().map(|h| hours(job, h)).transpose()?,
        table,
        learn_anyway: arguments.learn_anyway,
        shimming: shimming(&arguments.shimming, job)?,
    })
}

/// How the shop wants to correct its table.
pub(crate) fn shimming(arguments: &args::Shimming, job: &Job) -> Result<Shimming, Faults> {
    let thicknesses = arguments.shim.iter().map(|t| length(job, t, "shim thickness"));
    Ok(Shimming { thicknesses_mm: thicknesses.collect::<Result<_, _>>()?, planing: arguments.plane })
}

/// A table from its heights; `middle` is the station at which the board's middle lies.
pub(crate) fn as_built(table: &Named, middle: Option<&str>, job: &Job) -> Result<ExistingTable, Faults> {
    let station = |text: &str| {
        parse_quantity(text, Dimension::Length, job.unit).map_err(|_| {
            let remedy = format!("Write a station of {} ({}).", table.name, Dimension::Length.units());
            codes::of_argument("existing_table", format!("`{text}` is not a station."), remedy)
        })
    };
    table_from_heights(&table.name, &table.text, job.unit, middle.map(station).transpose()?)
        .map_err(|faults| faults.in_units(job.unit))
}

fn hours(job: &Job, text: &str) -> Result<f64, Fault> {
    parse_quantity(text, Dimension::Time, job.unit).map_err(|_| {
        let remedy = format!("Write a time after --hours ({}).", Dimension::Time.units());
        codes::of_argument("measured", format!("`{text}` is not a time."), remedy)
    })
}

fn length(job: &Job, text: &str, what: &str) -> Result<f64, Fault> {
    let value = parse_quantity(text, Dimension::Length, job.unit);
    value.and_then(|v| if v > 0.0 { Ok(v) } else { Err(QuantityError::NotANumber) }).map_err(|_| {
        let remedy = format!("Write a length above zero ({}).", Dimension::Length.units());
        codes::of_argument("measured", format!("`{text}` is not a {what}."), remedy)
    })
}

/// Reports what is wrong with files and arguments.
pub(crate) fn report_faults(faults: &[Fault]) -> Exit {
    let placed: Vec<Problem> = faults.iter().filter_map(Problem::in_file).collect();
    if !placed.is_empty() {
        problems("", &placed);
    }
    for fault in faults.iter().filter(|f| f.place.is_none()) {
        failure(&format!("{} {}", fault.message(), fault.remedy()));
    }
    Exit::Wrong
}

fn of_the_arguments(fault: &Fault, as_built: bool) -> bool {
    let of = |key: &str| fault.path.starts_with(key);
    of("measured") || (as_built && of("existing_table")) || (of("shop") && fault.code != "kept-board")
}
