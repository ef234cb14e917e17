//! Runs one of the hottest paths a number of times, for `tests/readers/instructions.py` to count what one run takes:
//! `cargo run --release --example instructions forward 10`.
#![allow(clippy::print_stdout, reason = "prints what it computed, so that it is computed")]

use std::hint::black_box;

use overbend::curve::{DEFAULT_TOLERANCE_MM, Parallel, PlaneCurve, fit_arcs};
use overbend::forecast::{Model, Scene};
use overbend::press::{press, release};

#[path = "../benches/lake/mod.rs"]
mod lake;

use lake::{Lake, lake};

fn main() {
    let mut arguments = std::env::args().skip(1);
    let path = arguments.next().unwrap_or_default();
    let runs: usize = arguments.next().and_then(|n| n.parse().ok()).unwrap_or(1);
    let Lake { bent, laminate, setup, target, .. } = lake();
    // Each returns a figure, and prepares the same whatever the number of runs.
    let run: Box<dyn FnMut() -> f64> = match path.as_str() {
        "forward" => Box::new(|| {
            let pressed = press(black_box(&bent.surface), laminate, bent.blank, &setup.load);
            pressed.ok().and_then(|p| release(&p).ok()).map_or(0.0, |r| r.base.end_mm())
        }),
        "draw" => {
            let scene = Scene::designed(bent, &setup.load, target.anchor_mm);
            let Ok(model) = Model::new(&scene, laminate) else { return };
            let mut work = model.pressed().clone();
            let mut changes = laminate.unchanged();
            Box::new(move || {
                changes.iter_mut().for_each(|c| c.modulus_factor *= 1.001);
                let stack = laminate.changed(&changes, 1.0);
                model.end_heights_mm(black_box(&stack), &mut work).map_or(0.0, |h| h.1)
            })
        }
        "arcs" => {
            let curve = &bent.resting;
            let (from, to) = curve.range_mm();
            Box::new(move || {
                let Ok(below) = Parallel::new(black_box(curve), -4.2) else { return 0.0 };
                fit_arcs(&below, from, to, DEFAULT_TOLERANCE_MM).map_or(0.0, |p| p.deviation_mm)
            })
        }
        _ => {
            println!("usage: instructions forward|draw|arcs [RUNS]");
            return;
        }
    };
    let sum: f64 = std::iter::repeat_with(run).take(runs).sum();
    println!("{path}: {runs} runs, {sum}");
}
