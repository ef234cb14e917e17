//! `overbend shims`.

use overbend::finding::Fault;
use overbend::run;

use crate::args::Shims;
use crate::build::{job_of, refused};
use crate::calibrate::{as_built, named, report_faults, shimming, write};
use crate::exit::Exit;
use crate::folder;
use crate::input::Opened;
use crate::report::{print_json, print_result};

pub(crate) fn shims(arguments: &Shims) -> Exit {
    match corrected(arguments) {
        Ok(()) => Exit::Done,
        Err(exit) => exit,
    }
}

fn corrected(arguments: &Shims) -> Result<(), Exit> {
    if let Some(output) = &arguments.output {
        folder::check(output, arguments.force).map_err(|e| refused(&e))?;
    }
    let table = arguments.as_built.as_deref().map(named).transpose()?;
    let done = Opened::read(&arguments.file).and_then(|opened| {
        opened.with(|document, inputs| {
            let mut job = document.job_with(inputs)?;
            let wishes = match shimming(&arguments.shimming, &job) {
                Ok(wishes) => wishes,
                Err(faults) => return Ok(Err(faults)),
            };
            if let Some(table) = &table {
                match as_built(table, arguments.middle.as_deref(), &job) {
                    Ok(table) => job.existing_table = Some(table),
                    Err(faults) => return Ok(Err(faults)),
                }
            }
            match run::shim(&job, &wishes) {
                Ok(shimmed) => Ok(Ok(shimmed)),
                // What is wrong with heights from a file has no place in the document.
                Err(faults) if table.is_some() && faults.iter().all(of_the_table) => Ok(Err(faults)),
                Err(faults) => Err(document.problems(&faults)),
            }
        })
    });
    let shimmed = done.map_err(|f| f.print())?.map_err(|faults| report_faults(&faults))?;
    if arguments.json {
        print_json(&shimmed.json, true);
    } else {
        print_result(&shimmed.summary);
    }
    if let Some(output) = &arguments.output {
        write(output, &shimmed.files, job_of(&shimmed.json), arguments.force)?;
    }
    Ok(())
}

fn of_the_table(fault: &Fault) -> bool {
    fault.path.starts_with("existing_table")
}
