//! How much a full vacuum presses, by how high the shop lies.

use overbend::press::atmosphere_mpa;

use super::Program;
use crate::bench::{Kind, Mark, Row, Source, Stated};

pub(crate) fn source(_: &Program) -> Source {
    let printed = [
        (0.0, "101325"),
        (500.0, "95461"),
        (1000.0, "89876"),
        (1500.0, "84560"),
        (2000.0, "79501"),
        (2500.0, "74692"),
        (3000.0, "70121"),
    ];
    let row = |(altitude_m, printed): (f64, &str)| Row {
        quantity: format!("pressure of the air {altitude_m} m over the sea, Pa"),
        stated: Stated::printed(printed),
        place: "table of pressures by geometric altitude",
        computed: 1e6 * atmosphere_mpa(altitude_m),
        allowed: 1.0,
        why: "last digit printed",
    };
    Source {
        name: "iso_2533",
        claim: "A bag never presses with more than the air outside",
        work: "ISO 2533, standard atmosphere",
        mark: Mark::Seen,
        kind: Kind::Published,
        parameters: "Up to the height of the highest shops; the weather's 3 % are not in it.",
        count: 7,
        rows: printed.into_iter().map(row).collect(),
    }
}
