//! `overbend predict`.

use overbend::document::table_from_heights;
use overbend::finding::Fault;
use overbend::run;

use crate::args::Predict;
use crate::exit::Exit;
use crate::input::{Opened, read_text};
use crate::report::{failure, say, say_json};

pub(crate) fn predict(arguments: &Predict) -> Exit {
    let heights = match &arguments.as_built {
        None => None,
        Some(path) => match read_text(path) {
            Ok(text) => Some((path.display().to_string(), text)),
            Err(message) => {
                failure(&message);
                return Exit::Disk;
            }
        },
    };
    let done = Opened::read(&arguments.file).and_then(|opened| {
        opened.with(|document, inputs| {
            let mut job = document.job_with(inputs)?;
            if let Some((name, text)) = &heights {
                match table_from_heights(name, text, job.unit) {
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
                say_json(&prediction.json, true);
            } else {
                say(&prediction.summary);
            }
            Exit::Done
        }
        Ok(Err(faults)) => {
            for fault in faults {
                failure(&format!("{} {}", fault.message, fault.remedy));
            }
            Exit::Wrong
        }
        Err(failed) => failed.tell(),
    }
}

fn of_the_table(fault: &Fault) -> bool {
    fault.path.starts_with("existing_table")
}
