//! Any bytes as a job document: checked, and its rocker made.
#![no_main]

use libfuzzer_sys::fuzz_target;
use overbend::document::Document;
use overbend::rocker;
use overbend_fuzz::{hold, sound};

fuzz_target!(|bytes: &[u8]| {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    let document = match Document::parse("job.toml", text) {
        Ok(document) => document,
        Err(problems) => return hold(text, &problems),
    };
    assert!(document.inputs().iter().all(|name| name.len() <= text.len()));
    let job = match document.job() {
        Ok(job) => job,
        Err(problems) => return hold(text, &problems),
    };
    assert!(
        job.doubts
            .iter()
            .all(|d| d.finding.si().is_none_or(|(value, limit, _)| value.is_finite() && limit.is_finite())),
        "{:?}",
        job.doubts
    );
    match rocker::target(&job.rocker, &job.board) {
        Ok(target) => sound(&target),
        Err(faults) => hold(text, &document.problems(&faults)),
    }
});
