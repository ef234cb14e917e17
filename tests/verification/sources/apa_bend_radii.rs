//! How tight a plywood panel may be bent, as the catalogue's strain limits and the check of the table's skin have it.

use overbend::document::materials::Catalogue;
use overbend::table::plywood_radius_mm;

use super::Program;
use crate::bench::{Kind, Mark, Row, Source, Stated};

pub(crate) fn source(_: &Program) -> Source {
    // Panel, thickness of the nearest panel in the list, radius along and across the face grain.
    let panels = [
        ("birch plywood 6.5 mm", 6.4, "1524", Some("610")),
        ("birch plywood 9 mm", 9.5, "2438", Some("915")),
        ("birch plywood 12 mm", 12.7, "3658", Some("1829")),
        ("birch plywood 15 mm", 15.9, "4877", Some("2438")),
        ("birch plywood 18 mm", 19.1, "6096", Some("3658")),
    ];
    let mut rows = Vec::new();
    for (name, thickness_mm, along, across) in panels {
        let turned = format!("{name}, across");
        let names = [(name, Some(along), "along"), (turned.as_str(), across, "across")];
        for (name, printed, direction) in names {
            let Some(printed) = printed else { continue };
            let material = Catalogue::builtin().find(name).unwrap_or_else(|near| panic!("{name}: nearest {near:?}"));
            let radius: f64 = printed.parse().unwrap();
            rows.push(Row {
                quantity: format!("smallest radius of {thickness_mm} mm {direction} the face grain, mm"),
                stated: Stated::printed(printed),
                place: "minimum bend radii of dry panels",
                computed: thickness_mm / (2.0 * material.strain_limit.unwrap_or(f64::NAN)),
                allowed: 0.02 * radius,
                why: "the catalogue keeps the strain to two or three digits",
            });
        }
    }
    for (thickness_mm, across, along) in [
        (6.4, "610", "1524"),
        (7.9, "610", "1829"),
        (9.5, "915", "2438"),
        (12.7, "1829", "3658"),
        (15.9, "2438", "4877"),
        (19.1, "3658", "6096"),
    ] {
        let found = plywood_radius_mm(thickness_mm).unwrap_or((f64::NAN, f64::NAN));
        for (direction, printed, computed) in [("across", across, found.0), ("along", along, found.1)] {
            rows.push(Row {
                quantity: format!("radius that a skin of {thickness_mm} mm is held to {direction} the face grain, mm"),
                stated: Stated::printed(printed),
                place: "minimum bend radii of dry panels",
                computed,
                allowed: 0.51,
                why: "last digit printed",
            });
        }
    }
    Source {
        name: "apa_bend_radii",
        claim: "Table skins are not bent tighter than the panel trade allows",
        work: "APA, The Engineered Wood Association: minimum bend radii of plywood panels",
        mark: Mark::Seen,
        kind: Kind::Published,
        parameters: "Smallest radius = thickness / (2 × strain limit of the catalogue).",
        count: 22,
        rows,
    }
}
