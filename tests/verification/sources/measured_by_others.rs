//! What others measured on their pieces: coarse, and of unnamed glue and climate. It bounds the model and calibrates nothing.

use overbend::document::Document;
use overbend::job::{EffectiveLayer, Layer};
use overbend::laminate::Laminate;

use super::Program;
use crate::bench::{Kind, Mark, Row, Source, Stated};
use crate::program::layer;

/// Curvature of a piece of many plies with a water-based glue over that of its form, less one, in per cent.
fn gained_percent(program: &Program, plies: usize, ply_mm: f64, density_kg_m3: f64) -> f64 {
    let text = format!(
        "title = \"piece\"\nunits = \"mm\"\n[board]\nlength = 900\nwidth = 80\n[rocker.arc]\nheight = 60\n[[materials]]\nname = \"wood\"\n\
         kind = \"wood\"\nmodulus = \"10 GPa\"\ndensity = {density_kg_m3}\nrelaxed = 0\nsource = \"piece\"\n[[layers]]\nname = \"ply\"\n\
         material = \"wood\"\nthickness = {ply_mm}\nplies = {plies}\n[pressing]\nglue = \"water-based\"\n[pressing.clamps]\ncount = 8\n\
         force = \"1 kN\"\n[table]\nskin = 4\n[table.ribs]\npitch = 40\nthickness = 18\nlowest_height = 40\n"
    );
    let job = Document::parse("piece", &text).unwrap().job().unwrap();
    // The program's own layers, with what they lose through their thickness.
    let stack = Laminate::new(&job.layers, 0.0).unwrap();
    let layers: Vec<Layer> = stack.layers().iter().map(EffectiveLayer::to_plain).collect();
    100.0 * ((program.section)(&layers, 0.0).free_curvature(1.0) - 1.0)
}

/// Share of the pressed curvature that 8 equal plies lose.
fn lost(program: &Program, k_per_mm: f64) -> f64 {
    let plies = vec![layer(1.0, 14_000.0); 8];
    1.0 - (program.section)(&plies, 0.0).free_curvature(k_per_mm) / k_per_mm
}

pub(crate) fn source(program: &Program) -> Source {
    let row = |quantity: &str, stated: &str, place, computed, allowed, why| Row {
        quantity: quantity.to_owned(),
        stated: Stated::measured(stated),
        place,
        computed,
        allowed,
        why,
    };
    let half = "half of it: spread, moisture before and after, and density are not known";
    Source {
        name: "measured_by_others",
        claim: "Thin plies with water-based glue come out more bent than their form; the die's radius does not matter to springback",
        work: "question and answer in Fine Woodworking, 2008-07-01; a woodworkers' forum, \"glue-lam distortion\", 2013; \
               Sanne, Ahn-Ercan and Pfriem, Forests 11(7), 2020, 725, abstract",
        mark: Mark::Seen,
        kind: Kind::Measured,
        parameters: "200 g/m² of glue on each line, half of it water; mahogany of 550 kg/m³, poplar of 450 kg/m³, at 12 % before and \
                     after. No report says any of these; the second gives a range, of which the middle is taken.",
        count: 3,
        rows: vec![
            row(
                "about 40 plies of 1.59 mm mahogany, form R 406 mm, after two months: curvature gained, %",
                "2.4",
                "legs of 406 mm stood 51 mm closer",
                gained_percent(program, 40, 1.59, 550.0),
                1.2,
                half,
            ),
            row(
                "about 48 plies of 2.4 mm poplar, form R 343 to 457 mm, after a week: curvature gained, %",
                "1.85",
                "ends stood 12.7 mm in: 1.6 to 2.1 %",
                gained_percent(program, 48, 2.4, 450.0),
                1.0,
                half,
            ),
            row(
                "8 beech plies of 1 mm: springback share at a die of R 100 mm over that at R 1000 mm",
                "1.0",
                "the radius of the die: negligible",
                lost(program, 1.0 / 100.0) / lost(program, 1.0 / 1000.0),
                0.1,
                "a word, not a value: a tenth is taken for negligible",
            ),
        ],
    }
}
