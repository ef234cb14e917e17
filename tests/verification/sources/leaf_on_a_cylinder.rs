//! A leaf drawn down on a cylinder by forces at its ends.

use overbend::press::contact::{self, Element, Strip};

use super::Program;
use crate::bench::{Kind, Mark, Row, Source, Stated};

pub(crate) fn source(_: &Program) -> Source {
    // 200 GPa, 20 x 1 mm, R 500 mm, 5 N at 200 mm from where it is held level.
    let (stiffness, radius, force, length) = (200_000.0 / 12.0, 500.0, 5.0 / 20.0, 200.0_f64);
    let count = 400;
    let step = 2.0 * length / f64::from(count);
    let nodes_mm: Vec<f64> = (0..=count).map(|i| f64::from(i) * step - length).collect();
    let element = Element { stiffness_n_mm: [stiffness; 2], bend_per_mm: [-1.0 / radius; 2], pressure_mpa: 0.0 };
    let mut forces_n_per_mm = vec![0.0; nodes_mm.len()];
    // Nodes without any load would leave the middle undecided between touching and not.
    let last = nodes_mm.len() - 1;
    forces_n_per_mm[0] = force;
    forces_n_per_mm[last] = force;
    let strip = Strip { nodes_mm, elements: vec![element; count as usize], forces_n_per_mm };
    let found = contact::solve(&strip, None).unwrap();
    let free = stiffness / (force * radius);
    let sinks = length * length / (2.0 * radius) - stiffness.powi(2) / (6.0 * force.powi(2) * radius.powi(3));
    // All that the cylinder carries, it carries where the leaf leaves it.
    let on_right = || (0..=last).filter(|i| strip.nodes_mm[*i] > 0.0);
    let carried: f64 = on_right().map(|i| found.reaction_n_per_mm[i]).sum();
    let moment: f64 = on_right().map(|i| found.reaction_n_per_mm[i] * (length - strip.nodes_mm[i])).sum();
    let row = |quantity: &str, text: &str, value: f64, computed: f64, allowed: f64, why| Row {
        quantity: quantity.to_owned(),
        stated: Stated::formula(text, value),
        place: "beam with its curvature given over the part that lies",
        computed,
        allowed,
        why,
    };
    Source {
        name: "leaf_on_a_cylinder",
        claim: "Single forces draw a leaf down only part of the way",
        work: "standard result for a leaf on a cylindrical former, from the moment E I/R at the last contact",
        mark: Mark::Own,
        kind: Kind::ClosedForm,
        parameters: "Steel 200 GPa, 20 x 1 mm, cylinder of 500 mm, 5 N at 200 mm on both sides of the middle.",
        count: 3,
        rows: vec![
            row("free length, mm", "E I/(P R)", free, moment / carried, 0.01, "elements of 1 mm, squared"),
            row(
                "way of the end from the tangent, mm",
                "l²/(2R) - (E I)²/(6 P² R³)",
                sinks,
                length * length / (2.0 * radius) - found.gap_mm[last],
                1e-3,
                "elements of 1 mm, squared",
            ),
            row("force of the cylinder, N/mm", "P/b", force, carried, 1e-5, "balance of forces"),
        ],
    }
}
