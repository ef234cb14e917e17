//! `overbend predict`.

use overbend::finding::Fault;
use overbend::run;

use crate::args::Predict;
use crate::calibrate::{as_built, named, report_faults};
use crate::exit::Exit;
use crate::input::Opened;
use crate::report::{print_json, print_result};

pub(crate) fn predict(arguments: &Predict) -> Exit {
    let heights = match arguments.as_built.as_deref().map(named).transpose() {
        Ok(heights) => heights,
        Err(exit) => return exit,
    };
    let done = Opened::read(&arguments.file).and_then(|opened| {
        opened.with(|document, inputs| {
            let mut job = document.job_with(inputs)?;
            if let Some(table) = &heights {
                match as_built(table, arguments.middle.as_deref(), &job) {
                    Ok(table) => job.existing_table = Some(table),
                    Err(faults) => return Ok(Err(faults)),
                }
            }
            match run::predict(&job) {
                Ok(prediction) => Ok(Ok(prediction)),
                // What is wrong with heights from a file has no place in the document.
                Err(faults) if heights.is_some() && faults.iter().all(of_the_table) => Ok(Err(faults)),
                Err(faults) => Err(document.problems(&faults)),
            }
        })
    });
    match done {
        Ok(Ok(prediction)) => {
            if arguments.json {
                print_json(&prediction.json, true);
            } else {
                print_result(&prediction.summary);
            }
            Exit::Done
        }
        Ok(Err(faults)) => report_faults(&faults),
        Err(failed) => failed.print(),
    }
}

fn of_the_table(fault: &Fault) -> bool {
    fault.path.starts_with("existing_table")
}
