//! Prints an SVG of one rib for a rocker and a stack given in code: `cargo run --example custom_rib > rib.svg`.
#![allow(clippy::print_stdout, reason = "an example prints what it has made")]

use std::error::Error;

use overbend::document::Document;
use overbend::draft;
use overbend::export::{SvgOptions, write_svg};
use overbend::jig::{self, Across, Demand, Marks};
use overbend::laminate::Laminate;
use overbend::{rocker, table};

/// What a rib needs to know, as a document: any other way to make a `Job` does as well.
const JOB: &str = r#"
title = "Bench slat"
[board]
length = 900
width = 60
[rocker.arc]
radius = 2500
[[layers]]
modulus = "11 GPa"
thickness = 3
plies = 3
[pressing.clamps]
count = 10
force = "1 kN"
[table]
skin = 0
[table.ribs]
count = 2
thickness = 18
lowest_height = 80
"#;

fn main() -> Result<(), Box<dyn Error>> {
    let document = Document::parse("slat", JOB).map_err(|p| p[0].to_string())?;
    let job = document.job().map_err(|p| p[0].to_string())?;
    // The flow, step by step: wanted curve, stack, over-bent table, parts.
    let target = rocker::target(&job.rocker, &job.board).map_err(|f| f[0].to_string())?;
    let laminate = Laminate::new(&job.layers, 0.0).map_err(|f| f[0].to_string())?;
    let setup = table::setup(&job.board, &job.pressing, &laminate, job.table.end_margin_mm);
    let bent = table::overbend(&target.curvature, target.anchor_mm, &laminate, &setup).map_err(|f| f[0].to_string())?;
    let marks = Marks { finished_base_mm: bent.finished_base_mm, stations: Vec::new() };
    let demand = Demand {
        board_width_mm: job.board.width_mm,
        across: Across::flat(),
        moments_n_mm: Vec::new(),
        clear_mm: (100.0, 100.0),
        strain_limit: None,
        pumped: false,
    };
    let mut jig = jig::build(&bent.resting, &marks, &demand, &job.table).map_err(|f| f[0].to_string())?;
    jig.ribs.truncate(1);
    let drawing = draft::ribs(&jig, &job.title, &draft::origin(&job.hash));
    let svg = write_svg(&drawing, &SvgOptions::default())?;
    println!("{}", String::from_utf8(svg)?);
    Ok(())
}
