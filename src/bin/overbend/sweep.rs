//! `overbend sweep`.

use overbend::run::{self, Sweep, SweepError, SweepPart, Vary};

use crate::args;
use crate::build::refused;
use crate::exit::Exit;
use crate::folder;
use crate::input::{Failed, Opened};
use crate::progress::Bar;
use crate::report::{print_message, print_result};

pub(crate) fn sweep(arguments: &args::Sweep) -> Exit {
    if let Some(output) = &arguments.output
        && let Err(error) = folder::check(output, arguments.force)
    {
        return refused(&error);
    }
    let swept = match swept(arguments) {
        Ok(swept) => swept,
        Err(failed) => return failed.print(),
    };
    let Some(output) = &arguments.output else {
        print_result(&String::from_utf8_lossy(&swept.csv()));
        return Exit::Done;
    };
    let files = swept.files();
    match folder::replace(output, &files, &swept.job_sha256, arguments.force) {
        Ok(kept) => {
            let (count, shown) = (swept.variations.len(), output.display());
            print_message(&format!("{count} variations are in {shown}.\n"));
            if let Some(kept) = kept {
                print_message(&format!("The old folder is now {}.\n", kept.display()));
            }
            Exit::Done
        }
        Err(error) => refused(&error),
    }
}

fn swept(arguments: &args::Sweep) -> Result<Sweep, Failed> {
    let sentence = |words: String| Failed::sentence(Exit::Wrong, &words);
    let vary = arguments.vary.iter().map(|v| v.parse()).collect::<Result<Vec<Vary>, _>>().map_err(sentence)?;
    let part: SweepPart = arguments.part.parse().map_err(sentence)?;
    let opened = Opened::read(&arguments.file)?;
    let bar = Bar::begin(opened.name());
    let document = (opened.name(), opened.text());
    let swept = opened.with(|_, inputs| Ok(run::sweep(document, inputs, &vary, part, &|p| bar.update(p))))?;
    swept.map_err(|error| match error {
        SweepError::Vary(words) => sentence(words),
        SweepError::Document(text, problems) => Failed::Problems { text, problems },
    })
}
