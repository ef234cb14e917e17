//! How far the ends of a table give whose ribs are not of one height all along.

use overbend::laminate::Laminate;
use overbend::table::{OverbentTable, Setup, overbend};

use super::{Program, arc};
use crate::bench::{Kind, Mark, Row, Source, Stated};
use crate::program::{WIDTH_MM, layers, load};

/// Modulus of the ribs, MPa.
const RIBS_MPA: f64 = 9_000.0;
/// Second moments of all ribs where they are whole and over their feet, mm⁴.
const WHOLE_MM4: f64 = 5.0 * 18.0 * 60.0 * 60.0 * 60.0 / 12.0;
const RELIEVED_MM4: f64 = 5.0 * 18.0 * 40.0 * 40.0 * 40.0 / 12.0;

/// A table on which a matching form holds two plies of 4 mm on one radius all along: one moment all along.
fn held() -> (OverbentTable, Laminate) {
    let laminate = Laminate::new(&layers(&[(4.0, 10_000.0); 2]), 0.0).unwrap();
    let mut load = load(0.3);
    load.matched = true;
    let setup = Setup { overhang_tail_mm: 40.0, overhang_tip_mm: 40.0, end_margin_mm: 30.0, load };
    (overbend(&arc(600.0, 1.0 / 2500.0), 0.0, &laminate, &setup).unwrap(), laminate)
}

pub(crate) fn source(program: &Program) -> Source {
    let (bent, laminate) = held();
    let k = bent.surface.at(0.0);
    // Two plies bend by themselves; their joint lies 4 mm over the table.
    let moment = 2.0 * 10_000.0 * 4.0_f64.powi(3) / 12.0 * k / (1.0 - 4.0 * k) * WIDTH_MM;
    let length_mm = bent.finished_table_mm.1;
    let cantilever = |step_mm: f64, inner: f64, outer: f64| {
        let beyond = length_mm - step_mm;
        moment / (2.0 * RIBS_MPA) * ((length_mm * length_mm - beyond * beyond) / inner + beyond * beyond / outer)
    };
    let mut rows = Vec::new();
    for (words, step_mm, inner, outer) in [
        ("relieved as far as 400 mm, whole beyond", 400.0, RELIEVED_MM4, WHOLE_MM4),
        ("whole as far as 150 mm, relieved beyond", 150.0, WHOLE_MM4, RELIEVED_MM4),
        ("whole all along", 300.0, WHOLE_MM4, WHOLE_MM4),
    ] {
        // Along the table the step lies where the arc has that length.
        let x_mm = (k * step_mm).sin() / k;
        let ribs = [(-1000.0, outer), (-x_mm, inner), (x_mm, outer)];
        let stated = cantilever(step_mm, inner, outer);
        let (tail, tip) = (program.ends_give_mm)((&bent, &laminate), &ribs, RIBS_MPA);
        for (end, computed) in [("tail", tail), ("tip", tip)] {
            rows.push(Row {
                quantity: format!("what the {end} of ribs gives that are {words}, mm"),
                stated: Stated::formula("M (L² - (L-a)²)/(2 E I) + M (L-a)²/(2 E I')", stated),
                place: "non-prismatic beams, by superposition",
                computed,
                allowed: 2e-3 * stated,
                why: "the step lies within a millimetre",
            });
        }
    }
    Source {
        name: "stepped_rib",
        claim: "The ends of a table give as a beam of its ribs' own sections",
        work: "J. M. Gere, Mechanics of Materials, 6th ed. (2004), section 9.7: deflections of non-prismatic beams",
        mark: Mark::FromMemory,
        kind: Kind::ClosedForm,
        parameters: "Five ribs of 18 mm and 9 GPa, 60 mm high, 40 mm over their feet; two plies of 4 mm and 10 GPa, 250 mm wide, \
                     pressed for a radius of 2500 mm over 600 mm to each side.",
        count: 6,
        rows,
    }
}
