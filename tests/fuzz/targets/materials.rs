//! Any bytes as a file of the shop's own materials.
#![no_main]

use libfuzzer_sys::fuzz_target;
use overbend::document::{Document, Inputs};
use overbend_fuzz::hold;

const JOB: &str = concat!("materials_file = \"m.toml\"\n", include_str!("../../../examples/lake-board/job.toml"));

fuzz_target!(|bytes: &[u8]| {
    let mut inputs = Inputs::default();
    inputs.add("m.toml", Ok(bytes.to_vec()));
    let document = Document::parse("job.toml", JOB).expect("the example is valid");
    if let Err(problems) = document.job_with(&inputs) {
        hold(JOB, &problems);
    }
});
