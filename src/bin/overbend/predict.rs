//! `overbend predict`.

use overbend::document::Document;
use overbend::run;

use crate::args::Predict;
use crate::exit::Exit;
use crate::input::read_text;
use crate::report::{failure, problems, say};

pub(crate) fn predict(arguments: &Predict) -> Exit {
    let text = match read_text(&arguments.file) {
        Ok(text) => text,
        Err(message) => {
            failure(&message);
            return Exit::Disk;
        }
    };
    let name = arguments.file.display().to_string();
    let done = Document::parse(&name, &text).and_then(|document| {
        let job = document.job()?;
        run::predict(&job).map_err(|faults| document.problems(&faults))
    });
    match done {
        Ok(prediction) if arguments.json => {
            say(&format!("{:#}\n", prediction.json));
            Exit::Done
        }
        Ok(prediction) => {
            say(&prediction.summary);
            Exit::Done
        }
        Err(found) => {
            problems(&text, &found);
            Exit::Wrong
        }
    }
}
