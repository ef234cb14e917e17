//! Ways of pressing from the document to the checks, and laws that contact must keep.

use std::fs;
use std::path::Path;

use overbend::curve::{Curvature, PlaneCurve};
use overbend::document::Document;
use overbend::finding::Verdict;
use overbend::job::{Layer, Material, MaterialKind};
use overbend::laminate::Laminate;
use overbend::press::contact::{Element, Strip, solve};
use overbend::press::{Blank, Load, Pressed, press, press_again, release};
use overbend::run::{self, Outcome};

/// The lake board of the examples, pressed in another way and with other words replaced.
fn pressed_by(words: &str, others: &[(&str, &str)]) -> Outcome {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/lake-board/job.toml");
    let mut text = fs::read_to_string(path).unwrap();
    for (from, to) in [("[pressing.vacuum]\npressure = \"85 kPa\"\n", words)].iter().chain(others) {
        assert!(text.contains(from), "{from} is not in the example");
        text = text.replace(from, to);
    }
    let document = Document::parse("job", &text).unwrap_or_else(|p| panic!("{p:#?}"));
    run::build(&document.job().unwrap_or_else(|p| panic!("{p:#?}"))).unwrap_or_else(|f| panic!("{f:#?}"))
}

fn verdict(outcome: &Outcome, code: &str) -> Option<Verdict> {
    outcome.checks.iter().filter(|c| c.code.name == code).map(|c| c.verdict).max()
}

fn result(outcome: &Outcome) -> serde_json::Value {
    let json = &outcome.files.iter().find(|f| f.name == "result.json").unwrap().bytes;
    serde_json::from_slice(json).unwrap()
}

#[test]
fn every_way_of_pressing_makes_a_table_whose_board_is_the_wanted_one() {
    let ways = [
        "[pressing.vacuum]\npressure = \"full\"\naltitude = 1500\n",
        "[pressing.vacuum]\npressure = \"22 inHg\"\nbelow = \"air\"\n",
        "[pressing.press]\npressure = \"3 bar\"\n",
        "[pressing.weights]\nmass = \"400 kg\"\n",
        "[pressing.clamps]\ncount = 20\nforce = \"2 kN\"\n",
        "[pressing.clamps]\nstations = [-700, -560, -420, -280, -140, 0, 140, 280, 420, 560, 700]\nforce = \"2 kN\"\n\
         caul = { thickness = 12, modulus = \"9 GPa\" }\n",
    ];
    for way in ways {
        let error = result(&pressed_by(way, &[]))["released"]["largest_error_mm"].as_f64().unwrap();
        assert!(error < 0.05, "{way}: {error} mm");
    }
}

#[test]
fn closing_force_is_pressure_on_the_whole_blank() {
    let outcome = pressed_by("[pressing.vacuum]\npressure = \"80 kPa\"\n", &[]);
    let found = result(&outcome)["pressed"].clone();
    // Blank of 1340 + 2 · 60 mm along the base and 400 mm wide; on the flat it is shorter by half its thickness times the
    // angle that it turns, below 2 mm.
    let expected = 0.080 * 400.0 * 1460.0;
    let force = found["closing_force_n"].as_f64().unwrap();
    assert!((force / expected - 1.0).abs() < 2e-3, "{force} is not {expected}");
    let pounds = found["closing_force_lbf"].as_f64().unwrap();
    assert!((force / pounds - 4.448_22).abs() < 1e-4);
    let points = found["points"].as_array().unwrap();
    assert!(points.len() > 50 && points.iter().all(|p| p["gap_mm"].as_f64().unwrap() >= 0.0));
}

#[test]
fn a_shop_in_the_mountains_is_told_that_its_gauge_shows_too_much() {
    let words = "[pressing.vacuum]\npressure = \"85 kPa\"\naltitude = 2500\n";
    let outcome = pressed_by(words, &[]);
    assert_eq!(verdict(&outcome, "pressure-limit"), Some(Verdict::Stop));
    assert!(outcome.stops());
    let accepted = pressed_by(words, &[("title =", "accept = [\"pressure-limit\"]\ntitle =")]);
    assert!(!accepted.stops());
    assert!(accepted.summary.contains("accepted by you"), "{}", accepted.summary);
    let pressure = result(&accepted)["pressed"]["pressure_kpa"].as_f64().unwrap();
    assert!((pressure - 74.692).abs() < 0.001, "{pressure}: a bag presses with no more than the air there");
}

#[test]
fn a_cold_shop_is_told_what_its_resin_needs() {
    let bag = "[pressing.vacuum]\npressure = \"85 kPa\"\n";
    let cold = [("glue = \"epoxy\"\n", "glue = \"epoxy\"\ncure_temperature = \"12 C\"\nresin_least = \"16 C\"\n")];
    assert_eq!(verdict(&pressed_by(bag, &cold), "cure-temperature"), Some(Verdict::Stop));
}

#[test]
fn a_kick_without_overhang_is_told_what_blank_it_needs() {
    let outcome = pressed_by(
        "[pressing.vacuum]\npressure = \"85 kPa\"\n",
        &[
            ("overhang = 60 ", "overhang = 0 "),
            (
                "[rocker.arc]\nheight = 45",
                "[rocker.segments]\nparts = [ { flat = { } }, { arc = { length = 200, radius = 500 } } ]\n#",
            ),
        ],
    );
    assert_eq!(verdict(&outcome, "blank-overhang"), Some(Verdict::Watch), "{}", outcome.summary);
    assert!(result(&outcome)["released"]["largest_error_mm"].as_f64().unwrap() > 0.01, "{}", outcome.summary);
}

/// A strip of stiffness `b` under pressure `p` on an arc of curvature `k`, from its middle to its end.
fn arc(b: f64, k: f64, p: f64, length: f64) -> Strip {
    let element = Element { stiffness_n_mm: [b; 2], bend_per_mm: [k; 2], pressure_mpa: p };
    Strip {
        nodes_mm: (0..=200).map(|i| length * f64::from(i) / 200.0).collect(),
        elements: vec![element; 200],
        forces_n_per_mm: Vec::new(),
    }
}

#[test]
fn gaps_scale_as_b_k_squared_over_p_where_lengths_scale_as_the_root_of_b_k_over_p() {
    for sign in [1.0, -1.0] {
        let base = solve(&arc(1.0, sign * 0.05, 1.0, 1.0), None).unwrap();
        let (b, k, p): (f64, f64, f64) = (465e3, 1.0 / 700.0, 0.083);
        let scale = b * k * k / p / (0.05 * 0.05);
        let other = solve(&arc(b, sign * k, p, (b * k / p / 0.05).sqrt()), None).unwrap();
        let largest = base.gap_mm.iter().copied().fold(0.0, f64::max) * scale;
        for (a, c) in base.gap_mm.iter().zip(&other.gap_mm) {
            assert!((a * scale - c).abs() < 1e-6 * largest, "{} {c}", a * scale);
        }
    }
}

/// Leaf clamped tangent to a cylinder, force P at its end: free length EI/(P R), deflection l²/(2R) - (EI)²/(6 P² R³)
/// (own derivation). 200 GPa, 20 by 1 mm, R 500 mm, P 5 N, l 200 mm: 133.333 mm and 34.0741 mm.
#[test]
fn a_leaf_wraps_a_cylinder_as_the_closed_form_says() {
    let (stiffness, radius, force, length) = (200e3 * 20.0 / 12.0, 500.0, 5.0, 200.0);
    let count = 800_usize;
    // Both halves, so that the middle is clamped by symmetry; a whiff of pressure only settles the search.
    let element = Element { stiffness_n_mm: [stiffness; 2], bend_per_mm: [-1.0 / radius; 2], pressure_mpa: 1e-7 };
    let mut forces_n_per_mm = vec![0.0; count + 1];
    (forces_n_per_mm[0], forces_n_per_mm[count]) = (force, force);
    let strip = Strip {
        nodes_mm: (0..=count).map(|i| length * (2.0 * i as f64 / count as f64 - 1.0)).collect(),
        elements: vec![element; count],
        forces_n_per_mm,
    };
    let contact = solve(&strip, None).unwrap();
    let deflection = length * length / (2.0 * radius) - contact.gap_mm[count];
    assert!((deflection - 34.0741).abs() < 0.002, "{deflection}");
    let last = contact.gap_mm.iter().rposition(|gap| *gap < 1e-6).unwrap();
    let free = length - strip.nodes_mm[last];
    assert!((free - 133.333).abs() < 1.0, "{free}");
}

/// Large slopes: a cantilever with a load at its end, from its curvature over arc length. Mattiasson, Int. J. Numer. Meth.
/// Eng. 17 (1981), Table 1 (second-hand): P L²/EI, end down/L, end in/L.
#[test]
fn a_bent_cantilever_is_the_elastica_of_mattiasson_1981() {
    let table =
        [(1.0, 0.301_72, 0.056_43), (2.0, 0.493_46, 0.160_64), (5.0, 0.713_79, 0.387_63), (10.0, 0.810_61, 0.555_00)];
    for (load, down, inward) in table {
        let places: Vec<f64> = (0..=400).map(|i| f64::from(i) / 400.0).collect();
        let mut x: Vec<f64> = places.clone();
        let mut end = overbend::curve::Curve::new(Curvature::constant(0.0, 1.0, 0.0).unwrap());
        for _ in 0..400 {
            // The moment of the load bends every place; half of each correction keeps the steps from swinging.
            let through: Vec<(f64, f64)> = places.iter().zip(&x).map(|(s, at)| (*s, load * (x[400] - at))).collect();
            end = overbend::curve::Curve::new(Curvature::through(&through).unwrap());
            for (at, s) in x.iter_mut().zip(&places) {
                *at += 0.3 * (end.at(*s).point.x - *at);
            }
        }
        let tip = end.at(1.0).point;
        assert!((tip.y - down).abs() < 1.5e-5, "{load}: {} is not {down}", tip.y);
        assert!((1.0 - tip.x - inward).abs() < 1.5e-5, "{load}: {} is not {inward}", 1.0 - tip.x);
    }
}

fn laminate(thickness: f64) -> Laminate {
    let layer = |t: f64, e: f64| Layer::flat("layer", Material::of_modulus("given", MaterialKind::WoodAlong, e), t);
    Laminate::new(&[layer(0.8, 2e4), layer(thickness, 1e4), layer(0.8, 2e4)], 0.0).unwrap()
}

fn kicked() -> Curvature {
    Curvature::through(&[(-800.0, 0.0014), (-300.0, 0.0), (350.0, -0.0004), (500.0, 0.002), (800.0, 0.0018)]).unwrap()
}

fn on(table: &Curvature, pressure: f64) -> Pressed {
    press(table, &laminate(7.0), Blank { tail_mm: -700.0, tip_mm: 700.0 }, &Load::even(pressure)).unwrap()
}

#[test]
fn more_pressure_never_opens_the_widest_gap() {
    let widest = |p: f64| on(&kicked(), p).contact.gap_mm.into_iter().fold(0.0, f64::max);
    let gaps: Vec<f64> = [0.02, 0.03, 0.05, 0.08, 0.1, 0.3].into_iter().map(widest).collect();
    assert!(gaps[0] > 0.5, "{gaps:?}: too little to see");
    for w in gaps.windows(2) {
        assert!(w[1] <= w[0] + 0.002, "{gaps:?}");
    }
}

#[test]
fn the_mirrored_table_gives_the_mirrored_board() {
    let (there, back) = (on(&kicked(), 0.08), on(&kicked().reversed(), 0.08));
    let gap = |p: &Pressed, s: f64| {
        let i = p.stations.partition_point(|n| n.table_mm <= s).clamp(1, p.stations.len() - 1);
        let (a, b) = (p.stations[i - 1].table_mm, p.stations[i].table_mm);
        // Cubic between the nodes, as the strip bends.
        let (t, h) = ((s - a) / (b - a), b - a);
        let (gaps, slopes) = (&p.contact.gap_mm[i - 1..=i], &p.contact.slope[i - 1..=i]);
        (1.0 + 2.0 * t) * (1.0 - t).powi(2) * gaps[0]
            + t * (1.0 - t).powi(2) * h * slopes[0]
            + t * t * (3.0 - 2.0 * t) * gaps[1]
            - t * t * (1.0 - t) * h * slopes[1]
    };
    for s in (-69..=69).map(|i| 10.0 * f64::from(i)) {
        let (a, b) = (gap(&there, s), gap(&back, -s));
        assert!((a - b).abs() < 0.002, "{a} is not {b} at {s}: {:?} {:?}", there.gap_error_mm, back.gap_error_mm);
    }
    let angle = |p: &Pressed| release(p).unwrap().base.total_angle();
    assert!((angle(&there) - angle(&back)).abs() < 1e-5, "{} {}", angle(&there), angle(&back));
}

#[test]
fn pressing_again_on_known_nodes_is_pressing_anew() {
    let load = Load::even(0.08);
    let first = on(&kicked(), 0.08);
    let other = laminate(7.4);
    let again = press_again(&first, &other, &load).unwrap();
    let anew = press(&kicked(), &other, Blank { tail_mm: -700.0, tip_mm: 700.0 }, &load).unwrap();
    // The thicker stack's blank ends 0.1 mm elsewhere on the same nodes: compare what lies inside both, as far as the
    // bridge at the end lets them be alike.
    let angle = |p: &Pressed| release(p).unwrap().base.between(-650.0, 650.0).unwrap().total_angle();
    assert!((angle(&again) - angle(&anew)).abs() < 5e-5, "{} {}", angle(&again), angle(&anew));
    assert!(
        again.contact.iterations <= anew.contact.iterations,
        "{} {}",
        again.contact.iterations,
        anew.contact.iterations
    );
}
