//! Wood at 12 % moisture content, as the catalogue has it.

use overbend::document::materials::Catalogue;

use super::Program;
use crate::bench::{Kind, Mark, Row, Source, Stated};

/// Name in the catalogue, modulus of elasticity in GPa and modulus of rupture in MPa. The tables print Mpsi and psi; these
/// are their metric figures.
const WOODS: [(&str, &str, &str); 19] = [
    ("yellow-poplar", "10.89", "69.6"),
    ("aspen, quaking", "8.14", "57.9"),
    ("aspen, bigtooth", "9.86", "62.7"),
    ("balsam poplar", "7.58", "46.9"),
    ("cottonwood, black", "8.76", "58.6"),
    ("cottonwood, eastern", "9.45", "58.6"),
    ("ash, white", "12.00", "103.0"),
    ("maple, sugar", "12.62", "108.9"),
    ("oak, northern red", "12.55", "98.6"),
    ("oak, white", "12.27", "104.8"),
    ("birch, yellow", "13.86", "114.5"),
    ("birch, paper", "10.96", "84.8"),
    ("beech, American", "11.86", "102.7"),
    ("redcedar, western", "7.65", "51.7"),
    ("spruce, Sitka", "10.82", "70.3"),
    ("basswood, American", "10.07", "60.0"),
    ("Douglas-fir, coast", "13.44", "85.5"),
    ("cherry, black", "10.27", "84.8"),
    ("balsa", "3.38", "21.6"),
];

/// The tables' modulus is that of a beam with its shear; bending alone is about this much stiffer (footnote).
const WITHOUT_SHEAR: f64 = 1.10;

pub(crate) fn source(program: &Program) -> Source {
    let mut rows = Vec::new();
    for (name, modulus_gpa, strength_mpa) in WOODS {
        let material = Catalogue::builtin().find(name).unwrap_or_else(|near| panic!("{name}: nearest {near:?}"));
        let printed_mpa = material.modulus_mpa.value / WITHOUT_SHEAR;
        rows.push(Row {
            quantity: format!("{name}: modulus of elasticity of a beam, GPa"),
            stated: Stated::printed(modulus_gpa),
            place: "Tables 5-3b, 5-5b",
            computed: printed_mpa / 1000.0,
            allowed: 0.006,
            why: "last digit printed",
        });
        rows.push(Row {
            quantity: format!("{name}: modulus of rupture, MPa"),
            stated: Stated::printed(strength_mpa),
            place: "Tables 5-3b, 5-5b",
            computed: material.strain_limit.unwrap_or(f64::NAN) * printed_mpa,
            allowed: 0.06,
            why: "last digit printed",
        });
    }
    // White ash: modulus of rupture at 12 %, green, and its moisture point.
    let (dry_kpa, green_kpa, point) = (103_000.0, 66_000.0, 0.24);
    rows.push(Row {
        quantity: "white ash at 8 % moisture content: modulus of rupture, kPa".to_owned(),
        stated: Stated::printed("119500"),
        place: "equation 5-3, example",
        computed: dry_kpa * (program.drier)(dry_kpa / green_kpa, point, 0.08),
        allowed: 60.0,
        why: "printed to four digits",
    });
    Source {
        name: "wood_handbook_2021",
        claim: "The catalogue's woods are those of the Wood Handbook",
        work: "Wood Handbook, Forest Products Laboratory, FPL-GTR-282, 2021",
        mark: Mark::SecondHand,
        kind: Kind::Published,
        parameters: "The catalogue's modulus is for bending alone, 1.10 times that of the tables (their footnote); its strain \
                     limit is modulus of rupture over modulus of elasticity, both as printed.",
        count: 39,
        rows,
    }
}
