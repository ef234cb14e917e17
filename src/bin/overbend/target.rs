//! `overbend target`.

use overbend::run;

use crate::args::Target;
use crate::build::{job_of, refused};
use crate::exit::Exit;
use crate::folder;
use crate::input::Opened;
use crate::report::{checks, print_json, print_message, print_result};

pub(crate) fn target(arguments: &Target) -> Exit {
    if let Some(output) = &arguments.output
        && let Err(error) = folder::check(output, arguments.force)
    {
        return refused(&error);
    }
    let opened = match Opened::read(&arguments.file) {
        Ok(opened) => opened,
        Err(failed) => return failed.print(),
    };
    let outcome = opened.with(|document, inputs| {
        let wanted = document.wanted_with(inputs)?;
        run::target(&wanted).map_err(|faults| document.problems(&faults))
    });
    let outcome = match outcome {
        Ok(outcome) => outcome,
        Err(failed) => return failed.print(),
    };
    if arguments.json {
        print_json(&outcome.result, true);
    } else {
        print_result(&outcome.summary);
    }
    checks(&arguments.file.display().to_string(), &outcome);
    let Some(output) = &arguments.output else { return Exit::Done };
    match folder::replace(output, &outcome.files, job_of(&outcome.result), arguments.force) {
        Ok(kept) => {
            print_message(&format!("\n{} files are in {}.\n", outcome.files.len(), output.display()));
            if let Some(kept) = kept {
                print_message(&format!("The old folder is now {}.\n", kept.display()));
            }
            Exit::Done
        }
        Err(error) => refused(&error),
    }
}
