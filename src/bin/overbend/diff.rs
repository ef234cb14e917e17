//! `overbend diff`.

use std::path::Path;
use std::time::Instant;

use overbend::finding::Fault;
use overbend::job::Job;
use overbend::run;
use overbend::units::{Dimension, LengthUnit, Quantity, parse_quantity};
use serde_json::{Value, json};

use crate::args::Diff;
use crate::build::compute_opened;
use crate::exit::Exit;
use crate::input::{Failed, Opened, STDIN, read_text_of};
use crate::report::{print_json, print_message, print_result};

/// Largest result that is read, bytes: a hundred times what a build writes.
const LARGEST_RESULT: usize = 50_000_000;

/// One side: its figures, and its job where it is a document.
struct Side {
    result: Value,
    job: Option<Job>,
}

pub(crate) fn diff(arguments: &Diff) -> Exit {
    match compared(arguments) {
        Ok(exit) => exit,
        Err(failed) => failed.print(),
    }
}

fn compared(arguments: &Diff) -> Result<Exit, Failed> {
    let within_of = |unit| arguments.within.as_deref().map(|text| within(text, unit)).transpose();
    // Before anything is computed: a bad number is bad in every unit.
    within_of(LengthUnit::default())?;
    if arguments.old == Path::new(STDIN) && arguments.new == Path::new(STDIN) {
        return Err(Failed::sentence(Exit::Wrong, "stdin can hold one document only; name a file for the other side."));
    }
    let (old, new) = (side(&arguments.old)?, side(&arguments.new)?);
    let found = run::difference(&old.result, &new.result).map_err(|why| Failed::sentence(Exit::Wrong, &why))?;
    let pressed = new.job.as_ref().and_then(|job| run::on_table_of(job, &old.result));
    if arguments.json {
        let mut json = found.json.clone();
        json["on_old_table"] = match &pressed {
            Some(Ok(p)) => {
                json!({ "released": p.json["released"], "forecast": p.json["forecast"], "checks": p.json["checks"] })
            }
            Some(Err(faults)) => json!({ "impossible": faults.iter().map(Fault::message).collect::<Vec<_>>() }),
            None => Value::Null,
        };
        print_json(&json, true);
    } else {
        print_result(&found.summary);
        match &pressed {
            Some(Ok(prediction)) => print_result(&format!("\nThe new stack on the old table:\n{}", prediction.summary)),
            Some(Err(faults)) => {
                for fault in faults {
                    print_result(&format!(
                        "\nThe new stack on the old table: {} {}\n",
                        fault.message(),
                        fault.remedy()
                    ));
                }
            }
            None => {}
        }
    }
    let Some(within_mm) = within_of(found.unit)? else { return Ok(Exit::Done) };
    let serves = found.surface_mm.is_some_and(|apart| apart <= within_mm);
    let within = Quantity::exact(within_mm).text(found.unit);
    print_message(&format!("The old table {} within {within}.\n", if serves { "serves" } else { "does not serve" }));
    Ok(if serves { Exit::Done } else { Exit::Stopped })
}

/// How far two surfaces may be apart, mm.
fn within(text: &str, unit: LengthUnit) -> Result<f64, Failed> {
    let length_mm = parse_quantity(text, Dimension::Length, unit).ok().filter(|mm| *mm >= 0.0);
    let units = Dimension::Length.units();
    length_mm.ok_or_else(|| {
        Failed::sentence(Exit::Wrong, &format!("`{text}` is not a length for --within. Write zero or more ({units})."))
    })
}

fn side(path: &Path) -> Result<Side, Failed> {
    let file = if path.is_dir() { path.join("result.json") } else { path.to_owned() };
    if file.extension().is_some_and(|e| e == "json") {
        let text = read_text_of(&file, LARGEST_RESULT).map_err(|message| Failed::sentence(Exit::Disk, &message))?;
        let result = serde_json::from_str(&text)
            .map_err(|e| Failed::sentence(Exit::Wrong, &format!("{} is not a build result: {e}.", file.display())))?;
        return Ok(Side { result, job: None });
    }
    // Read once: stdin cannot be read again.
    let opened = Opened::read(&file)?;
    let outcome = compute_opened(&opened, &[], Instant::now(), run::check_watched)?;
    let job = opened.with(|document, inputs| document.job_with(inputs))?;
    Ok(Side { result: outcome.result, job: Some(job) })
}
