//! Units as people write them.

use overbend::units::{Dimension, LengthUnit, parse_quantity};

use super::Program;
use crate::bench::{Kind, Mark, Row, Source, Stated};

pub(crate) fn source(_: &Program) -> Source {
    let row = |text: &str, dimension, scale: f64, unit: &str, printed: &str, allowed| Row {
        quantity: format!("{text}, {unit}"),
        stated: Stated::printed(printed),
        place: "appendix B.8",
        computed: scale * parse_quantity(text, dimension, LengthUnit::Millimetre).unwrap(),
        allowed,
        why: "last digit printed",
    };
    Source {
        name: "nist_sp811",
        claim: "Quantities are read in the units that shops use",
        work: "NIST Special Publication 811, Guide for the Use of the International System of Units",
        mark: Mark::FromMemory,
        kind: Kind::Published,
        parameters: "Texts as they may stand in a job document.",
        count: 8,
        rows: vec![
            row("1 psi", Dimension::Pressure, 1e6, "Pa", "6894.757", 6e-4),
            row("1 inHg", Dimension::Pressure, 1e6, "Pa", "3386.389", 6e-4),
            row("1 atm", Dimension::Pressure, 1e6, "Pa", "101325", 0.6),
            row("1 lbf", Dimension::Force, 1.0, "N", "4.448222", 6e-7),
            row("1 kg", Dimension::Force, 1.0, "N (kilogram-force)", "9.80665", 6e-6),
            row("1 ft", Dimension::Length, 1.0, "mm", "304.8", 0.06),
            row("1 lb/ft3", Dimension::Density, 1.0, "kg/m³", "16.01846", 6e-6),
            row("1 oz/yd2", Dimension::AreaMass, 1.0, "g/m²", "33.90575", 6e-6),
        ],
    }
}
