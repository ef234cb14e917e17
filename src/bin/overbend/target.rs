//! `overbend target`.

use overbend::run;

use crate::args::Target;
use crate::build::refused;
use crate::exit::Exit;
use crate::folder;
use crate::input::Opened;
use crate::report::{say, tell};

pub(crate) fn target(arguments: &Target) -> Exit {
    if let Some(output) = &arguments.output
        && let Err(error) = folder::check(output, arguments.force)
    {
        return refused(&error);
    }
    let opened = match Opened::read(&arguments.file) {
        Ok(opened) => opened,
        Err(failed) => return failed.exit,
    };
    let outcome = opened.with(|document, inputs| {
        let wanted = document.wanted_with(inputs)?;
        run::target(&wanted).map_err(|faults| document.problems(&faults))
    });
    let outcome = match outcome {
        Ok(outcome) => outcome,
        Err(failed) => return failed.exit,
    };
    say(&outcome.summary);
    let Some(output) = &arguments.output else { return Exit::Done };
    match folder::replace(output, &outcome.files, arguments.force) {
        Ok(kept) => {
            say(&format!("\n{} files are in {}.\n", outcome.files.len(), output.display()));
            if let Some(kept) = kept {
                tell(&format!("The folder that was there before is kept as {}.\n", kept.display()));
            }
            Exit::Done
        }
        Err(error) => refused(&error),
    }
}
