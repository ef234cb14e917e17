//! Clearance holes for threaded rods, as a job document gets them.

use overbend::document::Document;
use overbend::job::Frame;

use super::Program;
use crate::bench::{Kind, Mark, Row, Source, Stated};

/// The hole that a document without `hole` gets, mm.
pub(super) fn hole_mm(diameter: &str) -> f64 {
    let text = format!(
        "title = \"t\"\nunits = \"mm\"\n[board]\nlength = 1600\nwidth = 50\n[rocker.arc]\nradius = 9000\n\
         [[layers]]\nmaterial = \"ash, white\"\nthickness = 4\nplies = 6\n\
         [pressing.clamps]\ncount = 14\nforce = 1500\n[table]\nskin = 3\n\
         [table.ribs]\ncount = 3\nthickness = 18\nlowest_height = 80\n[table.rods]\ndiameter = {diameter}\n"
    );
    let document = Document::parse("rods", &text).unwrap();
    let job = document.job().unwrap_or_else(|problems| panic!("{problems:#?}"));
    let Frame::Ribs(frame) = job.table.frame else { panic!("a table of ribs") };
    frame.rods.unwrap().hole_mm
}

pub(crate) fn source(_: &Program) -> Source {
    let row = |name: &str, diameter: &str, printed: &str| Row {
        quantity: format!("hole for {name}, mm"),
        stated: Stated::printed(printed),
        place: "medium series",
        computed: hole_mm(diameter),
        allowed: 0.06,
        why: "last digit printed",
    };
    Source {
        name: "iso_273",
        claim: "Rods go through standard clearance holes",
        work: "ISO 273, clearance holes for bolts and screws",
        mark: Mark::Seen,
        kind: Kind::Published,
        parameters: "A job document that gives the rod and leaves the hole to the program.",
        count: 5,
        rows: vec![
            row("M6", "6", "6.6"),
            row("M8", "8", "9.0"),
            row("M10", "10", "11.0"),
            row("M12", "12", "13.5"),
            row("M16", "16", "17.5"),
        ],
    }
}
