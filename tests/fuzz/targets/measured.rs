//! Any bytes as a file of readings: of a board, and of a table.
#![no_main]

use libfuzzer_sys::fuzz_target;
use overbend::document::table_from_heights;
use overbend::rocker;
use overbend::units::LengthUnit;
use overbend_fuzz::{sound, wanted};

fuzz_target!(|bytes: &[u8]| {
    if let Ok(wanted) = wanted("[rocker.measured]\nfile = \"b.csv\"\n", "b.csv", bytes) {
        // A fit of many readings takes its time and is not what is looked for here.
        if bytes.len() < 600
            && let Ok(target) = rocker::target(&wanted.rocker, &wanted.board)
        {
            sound(&target);
        }
    }
    if let Ok(text) = std::str::from_utf8(bytes) {
        match table_from_heights("t.csv", text, LengthUnit::Millimetre, None) {
            Ok(table) => assert!(table.length_mm > 0.0 && table.length_mm.is_finite()),
            Err(faults) => assert!(!faults.is_empty() && faults.iter().all(|f| !f.message().contains("NaN"))),
        }
    }
});
