//! Clearance holes for threaded rods of inch sizes, as a job document gets them.

use super::Program;
use super::iso_273::hole_mm;
use crate::bench::{Kind, Mark, Row, Source, Stated};

pub(crate) fn source(_: &Program) -> Source {
    let row = |rod: &str, printed: &str| Row {
        quantity: format!("hole for {rod} in, in"),
        stated: Stated::printed(printed),
        place: "normal fit",
        computed: hole_mm(&format!("\"{rod} in\"")) / 25.4,
        allowed: 1e-9,
        why: "a fraction is exact",
    };
    Source {
        name: "asme_b18_2_8",
        claim: "Rods of inch sizes go through their own standard holes",
        work: "ASME B18.2.8, clearance holes for bolts, screws and studs",
        mark: Mark::SecondHand,
        kind: Kind::Published,
        parameters: "As for metric rods.",
        count: 4,
        rows: vec![row("1/4", "9/32"), row("5/16", "11/32"), row("3/8", "13/32"), row("1/2", "9/16")],
    }
}
