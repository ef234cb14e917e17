//! Jobs made in code alone are those of a document that says no more.

use overbend::document::Document;
use overbend::document::materials::Catalogue;
use overbend::job::{Bend, Board, Glue, Hold, Job, Layer, Pressing, RibLayout, Ribs, Rocker, Table};
use overbend::run;

const DOCUMENT: &str = r#"
title = "Plain board"
board = { length = 1300, width = 280 }
rocker.arc.height = 40
layers = [
    { name = "base", material = "birch, yellow", thickness = 2, thickness_error = 0 },
    { name = "core", material = "paulownia", thickness = 8, plies = 1, thickness_error = 0 },
]
files.paper = "none"
table = { skin = 6, ribs = { count = 3, thickness = 18, lowest_height = 60 } }

[pressing]
vacuum.pressure = "full"
"#;

fn from_code(pressing: Pressing) -> Job {
    let material = |name: &str| Catalogue::builtin().find(name).unwrap().clone();
    let layers =
        vec![Layer::flat("base", material("birch, yellow"), 2.0), Layer::flat("core", material("paulownia"), 8.0)];
    let table = Table::new(6.0, Ribs::new(RibLayout::Count(3), 18.0, 60.0));
    let rocker = Rocker::Arc(Bend::Height(40.0));
    Job::new("Plain board", Board::new(1300.0, 280.0), rocker, layers, pressing, table)
}

fn from_document(text: &str) -> Job {
    let job = Document::parse("plain.toml", text).unwrap().job().unwrap();
    Job { hash: String::new(), ..job }
}

#[test]
fn a_job_from_code_is_that_of_a_document_that_says_no_more() {
    assert_eq!(from_code(Pressing::new(Hold::FULL_VACUUM)), from_document(DOCUMENT));
    // What the glue and a warm cure do to the layers is the same, too.
    let glued = Pressing {
        glue: Some(Glue::WaterBased { spread_g_m2: 180.0 }),
        cure_above_room_k: 20.0,
        moisture_in_use: Some(0.08),
        ..Pressing::new(Hold::FULL_VACUUM)
    };
    let keys = "glue = \"water-based\"\nglue_spread = 180\ncure_above_room = 20\nmoisture_in_use = \"8 %\"\n";
    assert_eq!(from_code(glued), from_document(&format!("{DOCUMENT}{keys}")));
}

#[test]
fn a_job_from_code_is_built_and_its_faults_are_an_error() -> Result<(), Box<dyn std::error::Error>> {
    let files = run::build(&from_code(Pressing::new(Hold::FULL_VACUUM)))?.files;
    assert!(files.iter().any(|f| f.name == "ribs.dxf"));
    let bare = Job { layers: Vec::new(), ..from_code(Pressing::new(Hold::FULL_VACUUM)) };
    let faults = run::build(&bare).unwrap_err();
    assert!(faults[0].code == "no-layers", "{faults}");
    let error: Box<dyn std::error::Error> = faults.into();
    assert!(error.to_string().starts_with("layers [no-layers]: "), "{error}");
    Ok(())
}
