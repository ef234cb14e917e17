//! Any bytes as a drawn profile: the first byte says whether as DXF or as SVG.
#![no_main]

use libfuzzer_sys::fuzz_target;
use overbend::rocker;
use overbend_fuzz::{sound, wanted};

fuzz_target!(|bytes: &[u8]| {
    let Some((first, rest)) = bytes.split_first() else { return };
    let name = if first % 2 == 0 { "p.dxf" } else { "p.svg" };
    let rocker = format!("[rocker.drawing]\nfile = \"{name}\"\nunits = \"mm\"\n");
    if let Ok(wanted) = wanted(&rocker, name, rest)
        && let Ok(target) = rocker::target(&wanted.rocker, &wanted.board)
    {
        sound(&target);
    }
});
