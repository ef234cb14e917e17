//! Prints an SVG of one rib for a rocker and a stack given in code: `cargo run --example custom_rib > rib.svg`.
#![allow(clippy::print_stdout, reason = "an example prints what it has made")]

use std::error::Error;

use overbend::built::design;
use overbend::document::Document;
use overbend::draft;
use overbend::export::{SvgOptions, write_svg};

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
    let design = design(&job).map_err(|f| f[0].to_string())?;
    let mut jig = design.jig().map_err(|f| f[0].to_string())?;
    jig.ribs.truncate(1);
    let parts = jig.rib_parts().iter().map(|part| draft::dressed(part, &jig)).collect();
    let drawing = draft::ribs(parts, &job.title, &draft::origin(&job.hash)).ok_or("a table without ribs")?;
    let svg = write_svg(&drawing, &SvgOptions::default())?;
    println!("{}", String::from_utf8(svg)?);
    Ok(())
}
