//! Clamps press with what they are screwed down to, in newtons.

use overbend::job::{Below, ClampPlaces, Hold, Pressing};
use overbend::units::{Dimension, LengthUnit, parse_quantity};

use super::Program;
use crate::bench::{Kind, Mark, Row, Source, Stated};

fn held(hold: Hold) -> Pressing {
    Pressing { hold, cure_above_room_k: 0.0, glue: None, moisture_in_use: None, resin: None }
}

pub(crate) fn source(program: &Program) -> Source {
    let row = |count: usize, force: &str, length_mm: f64, width_mm: f64, newtons: f64| {
        let force_n = parse_quantity(force, Dimension::Force, LengthUnit::Millimetre).unwrap();
        let pressing = held(Hold::Clamps { places: ClampPlaces::Even(count), force_n, caul: None });
        Row {
            quantity: format!("force of {count} clamps of {force} on {length_mm} x {width_mm} mm, N"),
            stated: Stated::formula("count × force", newtons),
            place: "balance of forces",
            computed: (program.force_on_blank_n)(&pressing, length_mm, width_mm),
            allowed: 1e-9 * newtons,
            why: "rounding",
        }
    };
    let bag = held(Hold::Vacuum { reading_mpa: Some(0.085), altitude_m: 0.0, below: Below::Air });
    let two_sided = held(Hold::Press { pressure_mpa: 0.3 });
    Source {
        name: "clamps",
        claim: "What presses the stack adds up to the forces that the shop gave",
        work: "balance of forces; pound-force by definition",
        mark: Mark::Own,
        kind: Kind::ClosedForm,
        parameters: "From the text in the document to the load on the strip.",
        count: 4,
        rows: vec![
            row(14, "1.5 kN", 1600.0, 50.0, 21_000.0),
            row(8, "200 lbf", 900.0, 210.0, 8.0 * 200.0 * 0.453_592_37 * 9.806_65),
            Row {
                quantity: "force of a bag at 85 kPa on 1400 x 420 mm, N".to_owned(),
                stated: Stated::formula("pressure × area", 0.085 * 1400.0 * 420.0),
                place: "balance of forces",
                computed: (program.force_on_blank_n)(&bag, 1400.0, 420.0),
                allowed: 1e-6,
                why: "rounding",
            },
            Row {
                quantity: "force of a press at 0.3 MPa on 900 x 210 mm, N".to_owned(),
                stated: Stated::formula("pressure × area", 0.3 * 900.0 * 210.0),
                place: "balance of forces",
                computed: (program.force_on_blank_n)(&two_sided, 900.0, 210.0),
                allowed: 1e-6,
                why: "rounding",
            },
        ],
    }
}
