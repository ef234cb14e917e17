//! The lake board of the examples, taken apart for benches.

use std::sync::OnceLock;

use overbend::built::{Built, compute};
use overbend::document::Document;
use overbend::draft;
use overbend::drawing::Drawing;
use overbend::job::Job;

/// The document.
pub(crate) const TEXT: &str = include_str!("../../examples/lake-board/job.toml");

/// What a build passes through.
#[allow(dead_code, reason = "each program that includes this uses its part")]
pub(crate) struct Lake {
    pub(crate) built: Built,
    pub(crate) ribs: Drawing,
}

/// The job of a document that names no files.
pub(crate) fn job(text: &str) -> Job {
    let document = Document::parse("job", text).unwrap_or_else(|p| panic!("{p:#?}"));
    document.job().unwrap_or_else(|p| panic!("{p:#?}"))
}

/// The lake board without simulated boards.
#[allow(dead_code, reason = "each program that includes this uses its part")]
pub(crate) fn certain() -> String {
    format!("{TEXT}\n[forecast]\ndraws = 0\n")
}

/// The lake board, computed once.
#[allow(dead_code, reason = "each program that includes this uses its part")]
pub(crate) fn lake() -> &'static Lake {
    static LAKE: OnceLock<Lake> = OnceLock::new();
    LAKE.get_or_init(|| {
        let built = compute(&job(&certain())).unwrap_or_else(|f| panic!("{f:?}"));
        let jig = &built.jig;
        let parts = jig.rib_parts().iter().map(|part| draft::dressed(part, jig)).collect();
        let ribs = draft::ribs(parts, &built.design.job.title, "bench").unwrap_or_else(|| panic!("no ribs"));
        Lake { built, ribs }
    })
}
