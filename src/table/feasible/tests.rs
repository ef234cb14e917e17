use super::*;
use kurbo::Vec2;

use crate::press::{Blank, LineForce};
use crate::table::wanted::Bent;
use crate::table::wanted::tests::section;

const CAUL_N_MM: f64 = 1e4;

/// A strip of so many elements of 5 mm from `from_mm` on, with its turn (1/mm) and the part of it that is given back
/// between the places of each element.
fn strip(from_mm: f64, count: u32, bent: impl Fn(f64, f64) -> (f64, f64)) -> Vec<BentSpan> {
    let span = |i: u32| {
        let a = from_mm + 5.0 * f64::from(i);
        let end = |(turn_per_mm, springback)| Bent {
            turn_per_mm,
            section: section(3e4, 10.0, springback),
            caul_n_mm: CAUL_N_MM,
        };
        BentSpan { blank_mm: [a, a + 5.0], ends: [end(bent(a, a + 2.5)), end(bent(a + 5.0, a + 2.5))] }
    };
    (0..count).map(span).collect()
}

/// 120 mm of blank under 0.2 MPa and one force, with the wanted moments 200, 200.1 and 300 N, which jump at -25 and at
/// 30 mm.
fn jumping() -> Vec<Node> {
    let moment_n = |s: f64| match s {
        s if s < -25.0 => 200.0,
        s if s < 30.0 => 200.1,
        _ => 300.0,
    };
    // Stack and caul together have 40 000 N mm, and 10 N are in the layers.
    let spans = strip(-60.0, 24, |_, middle| ((moment_n(middle) + 10.0) / 4e4, if middle < 30.0 { 0.25 } else { 0.5 }));
    let design = Design {
        spans,
        finished_mm: (-50.0, 45.0),
        blank: Blank { tail_mm: -60.0, tip_mm: 60.0 },
        overhang_needed_mm: (0.0, 0.0),
    };
    let force = LineForce { blank_mm: 23.0, force_n_per_mm: 3.0 };
    nodes(&design, &Load { forces: vec![force], caul_stiffness_n_mm: CAUL_N_MM, ..Load::even(0.2) })
}

#[test]
fn nodes_lie_where_something_happens_and_at_most_sixteen_millimetres_apart() {
    // Ends, finished ends, the middle, the force (nearest to the joint at 25 mm) and the jump at 30 mm; that at -25 mm is
    // less than a thousandth of the largest moment. In between every third joint, as four are 20 mm apart.
    let found: Vec<f64> = jumping().iter().map(|n| n.blank_mm).collect();
    let expected = [-60.0, -50.0, -35.0, -20.0, -5.0, 0.0, 15.0, 25.0, 30.0, 45.0, 60.0];
    assert_eq!(found, expected);
    let finished = |s: f64| (-50.0..=45.0).contains(&s);
    assert!(jumping().iter().all(|n| n.finished == finished(n.blank_mm)));
}

#[test]
fn nodes_take_the_load_up_to_halfway_between_them_and_three_hundredths_of_the_pressure_stay_unused() {
    let nodes = jumping();
    let at = |s: f64| nodes.iter().find(|n| n.blank_mm == s).map(|n| (n.load_n_per_mm, n.spare_n_per_mm)).unwrap();
    let pressed_mm = [(-60.0, 5.0), (-50.0, 12.5), (15.0, 12.5), (25.0, 7.5), (30.0, 10.0), (45.0, 15.0), (60.0, 7.5)];
    for (s, length_mm) in pressed_mm {
        let force = if s == 25.0 { 3.0 } else { 0.0 };
        let (load, spare) = at(s);
        assert!((load - 0.2 * length_mm - force).abs() < 1e-12, "{s}: {load}");
        assert!((spare - 0.03 * 0.2 * length_mm).abs() < 1e-12, "{s}: {spare}");
    }
    let all: f64 = nodes.iter().map(|n| n.load_n_per_mm).sum();
    assert!((all - 0.2 * 120.0 - 3.0).abs() < 1e-12, "{all}");
}

#[test]
fn a_node_knows_what_each_side_wants_and_what_a_newton_changes_in_the_released_board() {
    for node in jumping() {
        let side = |after: f64| if node.blank_mm + after < 30.0 { 0.75 / 4e4 } else { 0.5 / 4e4 };
        // Of the turn that a moment makes in stack and caul, the board keeps what it does not spring back.
        for (found, expected) in node.released_per_n_mm.iter().zip([side(-1.0), side(1.0)]) {
            assert!((found - expected).abs() < 1e-18, "{}: {found} {expected}", node.blank_mm);
        }
    }
    let jump = jumping().into_iter().find(|n| n.blank_mm == 30.0).unwrap();
    assert!((jump.wanted_n[0] - 200.1).abs() < 1e-9 && (jump.wanted_n[1] - 300.0).abs() < 1e-9, "{:?}", jump.wanted_n);
}

/// A node of the finished board that asks for nothing.
fn node(blank_mm: f64) -> Node {
    Node {
        joint: 0,
        blank_mm,
        load_n_per_mm: 0.0,
        spare_n_per_mm: 0.0,
        wanted_n: [0.0; 2],
        released_per_n_mm: [0.0; 2],
        place_mm: (0.0, 0.0),
        finished: true,
    }
}

#[test]
fn nodes_are_placed_along_the_released_board() {
    // A clothoid of curvature a s: its coordinates are Fresnel's integrals, here by their power series.
    let a = 2e-5_f64;
    // Half of the turn is given back.
    let spans = strip(0.0, 40, |s, _| (2.0 * a * s, 0.5));
    let mut nodes: Vec<Node> = [0, 10, 26, 40].map(|joint| Node { joint, ..node(5.0 * joint as f64) }).to_vec();
    place(&mut nodes, &spans);
    for n in nodes {
        let (s, b) = (n.blank_mm, 0.5 * a * n.blank_mm.powi(2));
        let x = s * (1.0 - b.powi(2) / 10.0 + b.powi(4) / 216.0 - b.powi(6) / 9360.0);
        let z = s * (b / 3.0 - b.powi(3) / 42.0 + b.powi(5) / 1320.0);
        let (found_x, found_z) = n.place_mm;
        assert!((found_x - x).abs() < 0.01 && (found_z - z).abs() < 0.01, "{s}: {:?} is not {x} {z}", n.place_mm);
    }
}

#[test]
fn the_table_pushes_with_the_load_and_the_kink_of_the_moment() {
    let nodes: Vec<Node> = [(0.0, 2.0), (4.0, 7.0), (14.0, 15.0), (34.0, 10.0)]
        .map(|(s, load)| Node { load_n_per_mm: load, spare_n_per_mm: 0.25, ..node(s) })
        .to_vec();
    // Moments 0, 8, 20 and 0 N have the slopes 2, 1.2 and -1 N/mm. Shifts and turn of the board, the last three
    // unknowns, push nothing.
    let x = [8.0, 20.0, 1e6, 1e6, 1e6];
    for (i, kink) in [2.0, -0.8, -2.2, 1.0].into_iter().enumerate() {
        let bound = push(&nodes, i, 2);
        let sum: f64 = bound.coefficients.iter().zip(&x[bound.first..]).map(|(c, x)| c * x).sum();
        assert!((sum - kink).abs() < 1e-12, "{i}: {sum}");
        assert_eq!(bound.least, 0.25 - nodes[i].load_n_per_mm);
    }
}

#[test]
fn a_moment_in_the_middle_goes_as_far_as_the_load_carries_it_and_no_further_than_wanted() {
    // Three nodes 10 mm apart under 0.2 MPa. A moment m takes 2 m/10 from the push in the middle (2 N/mm), and -m
    // takes m/10 from that at the ends (1 N/mm each): with 97 % of it, 9.7 N either way.
    let found = |wanted: f64| {
        let nodes = [(0.0, 1.0, 0.0), (10.0, 2.0, wanted), (20.0, 1.0, 0.0)].map(|(s, load, wanted)| Node {
            load_n_per_mm: load,
            spare_n_per_mm: 0.03 * load,
            wanted_n: [wanted; 2],
            released_per_n_mm: [1e-3; 2],
            place_mm: (s, 0.0),
            ..node(s)
        });
        search(&nodes, None).unwrap()
    };
    for (wanted, held) in [(5.0, 5.0), (-7.0, -7.0), (9.0, 9.0), (40.0, 9.7), (-40.0, -9.7)] {
        let moments = found(wanted);
        assert!(moments[0] == 0.0 && moments[2] == 0.0, "{moments:?}");
        assert!((moments[1] - held).abs() < 1e-3, "{wanted}: {moments:?}");
    }
}

/// A curved board of unlike elements whose short tail cannot be held down; beyond its tip the blank is long. Stiffness
/// and load are so large that uneven pressure beyond the ends counts.
fn hard() -> Vec<Node> {
    let places = [-80.0, -70.0, -60.0, -45.0, -20.0, 0.0, 25.0, 45.0, 60.0, 75.0, 100.0, 120.0, 150.0, 170.0];
    let mut nodes: Vec<Node> = places.map(node).to_vec();
    for (i, n) in nodes.iter_mut().enumerate() {
        let s = n.blank_mm;
        let radius_mm = 150.0;
        n.place_mm = (30.0 + radius_mm * (s / radius_mm).sin(), radius_mm * (1.0 - (s / radius_mm).cos()) - 7.0);
        n.wanted_n = [if s <= 25.0 { 12_800.0 } else { 9600.0 }, if s < 25.0 { 12_800.0 } else { 9600.0 }];
        let give = 6e-8 * (1.0 + 0.1 * i as f64);
        n.released_per_n_mm = [give, 1.3 * give];
        n.finished = (-60.0..=60.0).contains(&s);
        let reach = places[(i + 1).min(13)] - places[i.saturating_sub(1)];
        n.load_n_per_mm = 0.5 * 9.6 * reach;
        n.spare_n_per_mm = 0.03 * n.load_n_per_mm;
    }
    nodes
}

fn kink(nodes: &[Node], moments: &[f64], i: usize) -> f64 {
    let slope = |a: usize| (moments[a + 1] - moments[a]) / (nodes[a + 1].blank_mm - nodes[a].blank_mm);
    let after = if i + 1 < nodes.len() { slope(i) } else { 0.0 };
    after - if i > 0 { slope(i - 1) } else { 0.0 }
}

/// What is to be least, summed up directly: squares of distance over the finished length, with the board laid on the
/// wanted one as it fits best (two `held` nodes weigh more), squares of curvature, and of uneven pressure beyond.
fn measure(nodes: &[Node], moments: &[f64], held: &[usize]) -> f64 {
    let finished: Vec<usize> = (0..nodes.len()).filter(|i| nodes[*i].finished).collect();
    let width = |i: usize, from: usize, to: usize| {
        0.5 * (nodes[(i + 1).min(to)].blank_mm - nodes[i.saturating_sub(1).max(from)].blank_mm)
    };
    let (from, to) = (finished[0], finished[finished.len() - 1]);
    let place = |i: usize| Vec2::from(nodes[i].place_mm);
    let mut sum = 0.0;
    // How far every finished node has moved, with the first kept: each turn before it swings it.
    let mut moved = vec![Vec2::ZERO];
    let mut turns: Vec<(f64, Vec2)> = Vec::new();
    for i in from + 1..=to {
        let half = 0.5 * (nodes[i].blank_mm - nodes[i - 1].blank_mm);
        for (at, side) in [(i - 1, 1), (i, 0)] {
            let bend = nodes[at].released_per_n_mm[side] * (moments[at] - nodes[at].wanted_n[side]);
            turns.push((half * bend, place(at)));
            sum += half * (FAIR_MM.powi(2) * bend).powi(2);
        }
        moved.push(turns.iter().fold(Vec2::ZERO, |sum, (turn, about)| sum + *turn * left_of(place(i) - *about)));
    }
    // The best shift brings the middles together, the best turn then takes out the mean turn.
    let weight = |i: &usize| width(*i, from, to) * if held.contains(i) { HOLD } else { 1.0 };
    let all: f64 = finished.iter().map(weight).sum();
    let middle = finished.iter().fold(Vec2::ZERO, |sum, i| sum + weight(i) / all * place(*i));
    let shift = finished.iter().zip(&moved).fold(Vec2::ZERO, |sum, (i, d)| sum + weight(i) / all * *d);
    let turned = finished.iter().zip(&moved).map(|(i, d)| weight(i) * left_of(place(*i) - middle).dot(*d - shift));
    let turn = turned.sum::<f64>() / finished.iter().map(|i| weight(i) * (place(*i) - middle).hypot2()).sum::<f64>();
    for (i, d) in finished.iter().zip(&moved) {
        sum += weight(i) * (*d - shift - turn * left_of(place(*i) - middle)).hypot2();
    }
    let last = nodes.len() - 1;
    for i in (0..=last).filter(|i| !nodes[*i].finished) {
        sum += EVEN_PRESSURE * kink(nodes, moments, i).powi(2) / width(i, 0, last);
    }
    sum
}

/// The vector turned to the left, as a small turn moves what lies there.
fn left_of(arm: Vec2) -> Vec2 {
    Vec2::new(-arm.y, arm.x)
}

#[test]
fn no_other_moment_that_the_load_can_hold_brings_the_board_nearer() {
    let nodes = hard();
    for (anchor_mm, held) in [(None, vec![]), (Some(28.0), vec![5, 6]), (Some(-44.0), vec![2, 3])] {
        let moments = search(&nodes, anchor_mm).unwrap();
        let left = |i: usize| nodes[i].load_n_per_mm + kink(&nodes, &moments, i) - nodes[i].spare_n_per_mm;
        let bound = |i: &usize| left(*i) < 1e-3 * nodes[*i].load_n_per_mm;
        assert!((0..nodes.len()).all(|i| left(i) > -1e-4 * nodes[i].load_n_per_mm));
        let (bound, free): (Vec<usize>, Vec<usize>) = (0..nodes.len()).partition(bound);
        assert!(!bound.is_empty() && free.len() > 5, "{bound:?} {free:?}");
        // How far to go, N, with a change of moments that rises from one node to a second and falls to a third.
        let step = |a: usize, b: usize, c: usize| {
            let along = |by_n: f64| {
                let s = |i: usize| nodes[i].blank_mm;
                let part = |i: usize| {
                    let (up, down) = ((s(i) - s(a)) / (s(b) - s(a)), (s(c) - s(i)) / (s(c) - s(b)));
                    up.min(down).max(0.0)
                };
                let changed: Vec<f64> = moments.iter().enumerate().map(|(i, m)| m + by_n * part(i)).collect();
                measure(&nodes, &changed, &held)
            };
            // A parabola, by three of its points.
            let (less, here, more) = (along(-3000.0), along(0.0), along(3000.0));
            1500.0 * (less - more) / (less + more - 2.0 * here)
        };
        // Where the table pushes anyway, moments may change both ways: neither is better, to a ten-thousandth.
        for w in free.windows(3) {
            let step = step(w[0], w[1], w[2]);
            assert!(step.abs() < 1.0, "{anchor_mm:?} {w:?}: {step}");
        }
        // Where it does not, more would be better but cannot be held.
        for k in bound {
            let before = free.iter().copied().filter(|i| *i < k).max().unwrap();
            let after = free.iter().copied().find(|i| *i > k).unwrap();
            let step = step(before, k, after);
            assert!(step > 10.0, "{anchor_mm:?} {k}: {step}");
        }
    }
}

#[test]
fn a_stiffer_stack_under_a_load_greater_by_as_much_is_bent_alike() {
    // Without a blank beyond the finished ends, whose pressure has a weight in units of its own.
    let finished = |times: f64| {
        let mut nodes: Vec<Node> = hard().into_iter().filter(|n| n.finished).collect();
        for n in &mut nodes {
            n.wanted_n = n.wanted_n.map(|m| m * times);
            n.released_per_n_mm = n.released_per_n_mm.map(|r| r / times);
            n.load_n_per_mm *= times;
            n.spare_n_per_mm *= times;
        }
        nodes
    };
    for anchor_mm in [None, Some(0.0)] {
        let one = search(&finished(1.0), anchor_mm).unwrap();
        for times in [1.0 / 32.0, 64.0] {
            let other = search(&finished(times), anchor_mm).unwrap();
            // What the search calls enough leaves some thousandths open.
            for (a, b) in one.iter().zip(&other) {
                assert!((b / times - a).abs() <= 4e-3 * a.abs(), "{anchor_mm:?} {times}: {one:?} {other:?}");
            }
        }
    }
}
