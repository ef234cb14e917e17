//! Any bytes as a job document, built to files: slow, so large jobs and simulations are left out.
#![no_main]

use libfuzzer_sys::fuzz_target;
use overbend::document::Document;
use overbend::run;
use overbend_fuzz::hold;

fuzz_target!(|bytes: &[u8]| {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    let Ok(document) = Document::parse("job.toml", text) else { return };
    let Ok(mut job) = document.job() else { return };
    if job.board.length_mm > 3000.0 || job.layers.len() > 30 {
        return;
    }
    job.forecast.draws = 0;
    match run::build(&job) {
        Ok(outcome) => {
            for check in &outcome.checks {
                assert!(check.si().is_none_or(|(value, limit, _)| value.is_finite() && limit.is_finite()), "{check:?}");
            }
            for file in outcome.files.iter().filter(|f| !f.name.ends_with(".pdf")) {
                let written = std::str::from_utf8(&file.bytes).expect("files are text");
                assert!(!written.contains("NaN"), "{} holds NaN", file.name);
            }
        }
        Err(faults) => hold(text, &document.problems(&faults)),
    }
});
