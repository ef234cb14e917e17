//! A strip under pressure on a rigid form: where it lies and where it lifts off.

use overbend::press::contact::{self, Contact, Element, Strip};

use super::Program;
use crate::bench::{Kind, Mark, Row, Source, Stated};

/// Stiffness (N mm), pressure (MPa) and curvature (1/mm) of the strip.
const B: f64 = 90_000.0;
const P: f64 = 0.08;
const K: f64 = 1.0 / 800.0;
/// Elements over the lifted length; the odd fifth keeps the contact off a node.
const ELEMENTS: f64 = 100.2;

/// A strip of three lifted lengths on a form of the given curvature over the distance from its tip.
fn lie(length_mm: f64, bend: impl Fn(f64) -> f64) -> (Strip, Contact) {
    let step = length_mm / ELEMENTS;
    let count = (3.0 * ELEMENTS) as usize;
    let nodes_mm: Vec<f64> = (0..=count).map(|i| i as f64 * step).collect();
    let end = nodes_mm[count];
    let elements = nodes_mm
        .windows(2)
        .map(|w| Element { stiffness_n_mm: [B; 2], bend_per_mm: [bend(end - w[0]), bend(end - w[1])], pressure_mpa: P })
        .collect();
    let strip = Strip { nodes_mm, elements, forces_n_per_mm: Vec::new() };
    let contact = contact::solve(&strip, None).unwrap();
    (strip, contact)
}

/// Length from the tip to the nearest place in the inner half that carries load.
fn lifted_mm(strip: &Strip, contact: &Contact) -> f64 {
    let last = strip.nodes_mm.len() - 1;
    let step = strip.nodes_mm[1];
    let carries = |i: &usize| contact.reaction_n_per_mm[*i] > 0.5 * P * step;
    let inner = (0..last).rev().find(carries).unwrap();
    strip.nodes_mm[last] - strip.nodes_mm[inner]
}

pub(crate) fn source(_: &Program) -> Source {
    let row = |quantity: &str, text: &str, value: f64, computed: f64, allowed: f64, why| Row {
        quantity: quantity.to_owned(),
        stated: Stated::formula(text, value),
        place: "statics of the lifted part",
        computed,
        allowed,
        why,
    };
    let grid = "finite elements, squared; the rest falls with it";
    let one = "one element";

    let hump = (2.0 * B * K / P).sqrt();
    let (strip, on_hump) = lie(hump, |_| -K);
    let last = strip.nodes_mm.len() - 1;
    let middle = last / 2;
    let carried: f64 = on_hump.reaction_n_per_mm[middle + 1..].iter().sum();
    let below = strip.nodes_mm[last] - hump - 0.5 * (strip.nodes_mm[middle] + strip.nodes_mm[middle + 1]);
    let end_gap = B * K * K / (2.0 * P);
    let mut rows = vec![
        row("hump: length that lifts, mm", "√(2 B k/p)", hump, lifted_mm(&strip, &on_hump), 1.1 * hump / ELEMENTS, one),
        row("hump: gap at the end, mm", "B k²/(2 p)", end_gap, on_hump.gap_mm[last], 1e-4 * end_gap, grid),
        row(
            "hump: line force where it lifts, N/mm",
            "p l",
            P * hump,
            carried - P * below,
            1e-5 * P * hump,
            "balance of forces on nodes",
        ),
    ];

    let hollow = 2.0 * (B * K / P).sqrt();
    let (strip, in_hollow) = lie(hollow, |_| K);
    let last = strip.nodes_mm.len() - 1;
    let (place, gap) = in_hollow.gap_mm.iter().enumerate().skip(last / 2).max_by(|a, b| a.1.total_cmp(b.1)).unwrap();
    let largest = 9.0 / 128.0 * B * K * K / P;
    let at = strip.nodes_mm[place] - (strip.nodes_mm[last] - hollow);
    let end_force = in_hollow.reaction_n_per_mm[last] - 0.5 * P * strip.nodes_mm[1];
    rows.extend([
        row(
            "hollow: length that is bridged, mm",
            "2 √(B k/p)",
            hollow,
            // The node at the very end carries the end's force.
            lifted_mm(&strip, &in_hollow),
            1.1 * hollow / ELEMENTS,
            one,
        ),
        row("hollow: largest gap, mm", "(9/128) B k²/p", largest, *gap, 1e-4 * largest, grid),
        row(
            "hollow: its distance from the inner contact, mm",
            "3 l/4",
            0.75 * hollow,
            at,
            1.1 * hollow / ELEMENTS,
            one,
        ),
        row(
            "hollow: force at the end, N/mm",
            "3 p l/4",
            0.75 * P * hollow,
            end_force + 0.5 * P * strip.nodes_mm[1],
            1e-4 * 0.75 * P * hollow,
            grid,
        ),
    ]);

    let ease = |length: f64| {
        move |from_tip: f64| {
            let u = (from_tip / length).min(1.0);
            K * u * (2.0 - u)
        }
    };
    let gap_of = |length: f64| {
        let (strip, contact) = lie(hump, ease(length));
        let inner = strip.nodes_mm.len() / 2;
        contact.gap_mm[inner..].iter().copied().fold(0.0, f64::max)
    };
    rows.push(row(
        "run-out k(2u - u²) over √(2 B k/p): largest gap, mm",
        "0",
        0.0,
        gap_of(hump * 1.001),
        1e-5,
        "pieces of linear curvature",
    ));
    let short = gap_of(0.7 * hump);
    rows.push(row(
        "a run-out of 0.7 of that length lifts (1 = by more than 0.001 mm)",
        "1",
        1.0,
        f64::from(u8::from(short > 1e-3)),
        0.5,
        "yes or no",
    ));
    Source {
        name: "strip_on_a_form",
        claim: "Where a stack lies on the table and where it lifts off",
        work: "own derivation: beam under even pressure, free end, touching with B k at the last contact",
        mark: Mark::Own,
        kind: Kind::ClosedForm,
        parameters: "B = 90 000 N mm²/mm, p = 0.08 MPa, radius 800 mm, 100 elements over the lifted length.",
        count: 9,
        rows,
    }
}
