use super::*;
use crate::curve::Piece;
use crate::job::{Layer, Material, MaterialKind, Thickness};
use crate::press::LineForce;
use crate::press::contact::Contact;
use crate::table::wanted::tests::section;

fn layer(thickness_mm: f64, modulus_mpa: f64) -> Layer {
    Layer::flat("layer", Material::of_modulus("given", MaterialKind::WoodAlong, modulus_mpa), thickness_mm)
}

/// Two glass skins on a core of two plies.
fn stack() -> Vec<Layer> {
    vec![layer(0.8, 18_600.0), layer(4.0, 10_890.0), layer(4.0, 10_890.0), layer(0.8, 18_600.0)]
}

fn setup(overhang_mm: f64) -> Setup {
    Setup { overhang_tail_mm: overhang_mm, overhang_tip_mm: overhang_mm, end_margin_mm: 30.0, load: Load::even(0.08) }
}

fn table(target: &Curvature, layers: &[Layer], setup: &Setup) -> OverbentTable {
    overbend(target, 0.0, &Laminate::new(layers, 0.0).unwrap(), setup).unwrap()
}

#[test]
fn an_arc_is_pressed_and_released_to_the_wanted_arc() {
    let target = Curvature::constant(-700.0, 700.0, 1.0 / 5000.0).unwrap();
    let t = table(&target, &stack(), &setup(150.0));
    assert!(t.error_mm < 0.001, "{} at {}", t.error_mm, t.error_at_mm);
}

#[test]
fn kicked_ends_and_a_tapered_core_come_out_as_wanted() {
    let target = Curvature::through(&[
        (-600.0, 1.0 / 600.0),
        (-520.0, 1.0 / 600.0),
        (-400.0, 0.0),
        (300.0, -0.0001),
        (420.0, 0.001),
        (600.0, 0.0025),
    ])
    .unwrap();
    let mut layers = stack();
    layers[1].thickness = Thickness::Tapered(vec![(-500.0, 1.5), (0.0, 5.0), (450.0, 1.8)]);
    let t = table(&target, &layers, &setup(150.0));
    assert!(t.error_mm < 0.01, "{} at {}", t.error_mm, t.error_at_mm);
}

#[test]
fn a_jump_of_curvature_leaves_something_over_and_says_so() {
    let p = |start_mm, end_mm, k| Piece { start_mm, end_mm, k_start_per_mm: k, k_end_per_mm: k };
    let target =
        Curvature::new(vec![p(-700.0, -300.0, 1.0 / 1500.0), p(-300.0, 300.0, 0.0), p(300.0, 700.0, 1.0 / 1200.0)])
            .unwrap();
    let t = table(&target, &stack(), &setup(150.0));
    // The stack bridges the jump: what is left over is real, and said.
    assert!(t.error_mm > 0.01 && t.error_mm < 0.05, "{} at {}", t.error_mm, t.error_at_mm);
}

#[test]
fn a_short_overhang_says_how_long_it_should_be_and_what_is_left_over() {
    let target = Curvature::constant(-700.0, 700.0, 1.0 / 1500.0).unwrap();
    let t = table(&target, &stack(), &setup(10.0));
    assert!(t.overhang_needed_mm.0 > 30.0 && t.error_mm > 0.01);
    let longer = table(&target, &stack(), &setup(t.overhang_needed_mm.0 + 0.1));
    assert!(longer.error_mm < 0.01, "{}", longer.error_mm);
}

#[test]
fn a_stack_of_one_piece_is_refused_with_what_would_help() {
    let target = Curvature::constant(-700.0, 700.0, 1.0 / 5000.0).unwrap();
    let one = Laminate::new(&[layer(9.0, 10_000.0)], 0.0).unwrap();
    let faults = overbend(&target, 0.0, &one, &setup(100.0)).unwrap_err();
    assert_eq!((faults[0].code.name, faults[0].path.as_str()), ("no-bend-stays", "layers"));
}
/// A short blank cannot hold the end's curvature. The table makes up for it further in.
#[test]
fn a_short_overhang_leaves_less_over_than_bending_to_the_blank_s_end_would() {
    let target = Curvature::through(&[(-600.0, 0.0), (300.0, 0.0), (420.0, 0.001), (600.0, 0.0025)]).unwrap();
    let laminate = Laminate::new(&stack(), 0.0).unwrap();
    let short = setup(40.0);
    let design = Design::new(&target, &laminate, (40.0, 40.0), &short.load).unwrap();
    let bent_to_the_end = tried(&design, &target, 0.0, &laminate, &short).unwrap();
    let best = overbend(&target, 0.0, &laminate, &short).unwrap();
    assert!(bent_to_the_end.error_mm > 0.5, "{}", bent_to_the_end.error_mm);
    assert!(best.error_mm < 0.1, "{} at {}", best.error_mm, best.error_at_mm);
    let gap = best.pressed.contact.gap_mm.iter().copied().fold(0.0, f64::max);
    assert!(gap < 0.005, "{gap}");
}

#[test]
fn clamps_hold_what_lies_between_them_when_they_reach_beyond_the_ends() {
    let target = Curvature::constant(-500.0, 500.0, 1.0 / 4000.0).unwrap();
    let at = |s: i32| LineForce { blank_mm: f64::from(s), force_n_per_mm: 4.0 };
    let load = Load { forces: (-5..=5).map(|i| at(106 * i)).collect(), ..Load::even(5e-5) };
    let setup = Setup { load, ..setup(60.0) };
    let t = table(&target, &stack(), &setup);
    assert!(t.error_mm < 0.001, "{} at {}", t.error_mm, t.error_at_mm);
    let mut off = setup.clone();
    off.load.forces[10].blank_mm = 700.0;
    let faults = overbend(&target, 0.0, &Laminate::new(&stack(), 0.0).unwrap(), &off).unwrap_err();
    assert_eq!((faults[0].code.name, faults[0].path.as_str()), ("clamp-off-blank", "pressing.clamps.stations[10]"));
}

#[test]
fn a_matching_form_needs_no_overhang() {
    let target = Curvature::constant(-700.0, 700.0, 1.0 / 1500.0).unwrap();
    let matched = Setup { load: Load { matched: true, ..Load::even(0.08) }, ..setup(0.0) };
    let t = table(&target, &stack(), &matched);
    assert!(t.error_mm < 0.001 && t.overhang_needed_mm == (0.0, 0.0), "{}", t.error_mm);
}

#[test]
fn lengths_and_pressures_that_are_none_are_refused_with_their_keys() {
    let target = Curvature::constant(-700.0, 700.0, 1.0 / 5000.0).unwrap();
    let laminate = Laminate::new(&stack(), 0.0).unwrap();
    let refused = |setup: &Setup| {
        let faults = overbend(&target, 0.0, &laminate, setup).unwrap_err();
        faults.into_iter().map(|f| f.path).collect::<Vec<_>>()
    };
    let lengths =
        Setup { overhang_tail_mm: -1.0, overhang_tip_mm: f64::NAN, end_margin_mm: -0.1, load: Load::even(0.08) };
    assert_eq!(refused(&lengths), ["board.overhang_tail", "board.overhang_tip", "table.end_margin"]);
    for pressure in [0.0, -0.01, f64::INFINITY, f64::NAN] {
        assert_eq!(refused(&Setup { load: Load::even(pressure), ..setup(100.0) }), ["pressing.pressure"]);
    }
}

#[test]
fn without_a_margin_the_table_ends_with_the_blank() {
    let target = Curvature::constant(-700.0, 700.0, 1.0 / 5000.0).unwrap();
    let (with, without) = (setup(150.0), Setup { end_margin_mm: 0.0, ..setup(150.0) });
    let (with, without) = (table(&target, &stack(), &with), table(&target, &stack(), &without));
    assert!((with.surface.start_mm() + 30.0 - without.surface.start_mm()).abs() < 1e-9);
    assert!((with.surface.end_mm() - 30.0 - without.surface.end_mm()).abs() < 1e-9);
    let blank = &without.pressed.stations;
    assert!((blank[0].table_mm - without.surface.start_mm()).abs() < 1e-6, "{:?}", blank[0]);
}

#[test]
fn a_hump_so_tight_that_pressing_would_fold_the_stack_is_refused() {
    // A thick ply and a veneer spring back nearly whole: a radius of 30 mm would have to be pressed around a point
    // inside of the stack.
    let laminate = Laminate::new(&[layer(10.0, 10_000.0), layer(0.6, 10_000.0)], 0.0).unwrap();
    let hump = |radius_mm: f64| Curvature::constant(-20.0, 20.0, -1.0 / radius_mm).unwrap();
    let faults = overbend(&hump(30.0), 0.0, &laminate, &setup(0.0)).unwrap_err();
    assert_eq!(faults[0].code.name, too_tight(0.0).code.name, "{faults:?}");
}

/// A made-up pressed stack of four elements, of which no two figures are alike.
fn made_up() -> OverbentTable {
    let stations = [(-30.0, -31.0), (-10.0, -10.5), (4.0, 4.2), (20.0, 21.0), (50.0, 52.0)]
        .map(|(table_mm, blank_mm)| Station { table_mm, blank_mm });
    let contact = Contact {
        gap_mm: vec![0.5, 0.1, 0.3, 0.2, 0.9],
        slope: vec![0.0; 5],
        lift_per_mm: vec![[0.0; 2]; 4],
        reaction_n_per_mm: vec![1.0, 3.4, 0.0, 2.3, 3.0],
        residual: 0.0,
        complementarity_n: 0.0,
        iterations: 1,
    };
    let curve = |from: f64, to: f64, k: f64| Curve::new(Curvature::constant(from, to, k).unwrap());
    OverbentTable {
        surface: Curvature::constant(-60.0, 80.0, 0.005).unwrap(),
        crown_mm: 0.0,
        resting: resting_pose(&curve(-60.0, 80.0, 0.005), 0.0),
        finished_table_mm: (-10.0, 20.0),
        finished_base_mm: (-10.4, 20.6),
        blank: Blank { tail_mm: -31.0, tip_mm: 52.0 },
        overhang_needed_mm: (0.0, 0.0),
        overhang_leaves_mm: 0.0,
        load: Load {
            forces: [(-5.0, 3.0), (15.0, 4.5)]
                .map(|(blank_mm, force_n_per_mm)| LineForce { blank_mm, force_n_per_mm })
                .to_vec(),
            caul_stiffness_n_mm: 200.0,
            ..Load::even(0.08)
        },
        pressed: Pressed {
            stations: stations.to_vec(),
            sections: vec![[section(1000.0, 2.0, 0.2); 2]; 4],
            table_per_mm: [1.0, 3.0, 5.0, 7.0].map(|k| [k, k + 1.0]).to_vec(),
            base_per_mm: [0.01, 0.03, 0.05, 0.07].map(|k| [k, k + 0.01]).to_vec(),
            contact,
            gap_error_mm: 0.0,
        },
        released: Released {
            base: Curvature::constant(-31.2, 51.5, 0.0).unwrap(),
            base_mm: vec![-31.2, -10.4, 4.1, 20.6, 51.5],
        },
        wanted: curve(-10.4, 20.6, 0.0),
        predicted: resting_pose(&curve(-40.0, 70.0, 0.004), 10.0),
        error_mm: 0.25,
        error_at_mm: 0.0,
        deck: None,
    }
}

#[test]
fn the_largest_gap_is_sought_under_the_finished_length_alone_and_adds_to_the_error() {
    let table = made_up();
    // Wider gaps lie beyond -10 and 20 mm.
    assert_eq!(table.largest_gap_mm(), (0.3, 4.0));
    assert!((table.left_over_mm() - 0.55).abs() < 1e-12);
    let further = OverbentTable { finished_table_mm: (-30.0, 20.0), ..table };
    assert_eq!(further.largest_gap_mm(), (0.5, -30.0));
}

#[test]
fn a_force_of_the_table_is_told_as_pressure_over_half_the_way_to_its_neighbours() {
    let profile = made_up().profile();
    // 1 N/mm over 10 mm, 3.4 over 17, 2.3 over 23 and 3 over 15.
    let expected = [0.1, 0.2, 0.0, 0.1, 0.2];
    assert_eq!(profile.len(), expected.len());
    for (point, mpa) in profile.iter().zip(expected) {
        assert!((point.contact_mpa - mpa).abs() < 1e-12, "{point:?} {mpa}");
    }
    // At a jump of curvature the side toward the tip, at the tip's end what is there.
    let curvatures: Vec<(f64, f64)> = profile.iter().map(|p| (p.table_per_mm, p.pressed_per_mm)).collect();
    assert_eq!(curvatures, [(1.0, 0.01), (3.0, 0.03), (5.0, 0.05), (7.0, 0.07), (8.0, 0.08)]);
    let places: Vec<(f64, f64, f64)> = profile.iter().map(|p| (p.face_mm, p.table_mm, p.gap_mm)).collect();
    assert_eq!(places[3], (20.6, 20.0, 0.2));
}

#[test]
fn what_closes_the_press_is_pressure_times_blank_and_the_forces_over_the_width() {
    // 0.08 MPa over 83 mm, and 7.5 N/mm.
    assert!((made_up().closing_force_n(300.0) - 300.0 * (6.64 + 7.5)).abs() < 1e-9);
}

#[test]
fn the_pressed_moment_is_that_of_wet_stack_and_caul_at_the_neutral_line_s_curvature() {
    let moments = made_up().moments_n();
    assert_eq!(moments.iter().map(|m| m.0).collect::<Vec<_>>(), [-30.0, -10.0, -10.0, 4.0, 4.0, 20.0, 20.0, 50.0]);
    // The neutral line lies 4 mm over a base of radius 1/k, so its own radius is 1/k - 4 mm.
    for ((_, moment), k) in moments.iter().zip([0.01, 0.02, 0.03, 0.04, 0.05, 0.06, 0.07, 0.08]) {
        let radius_mm: f64 = 1.0 / k - 4.0;
        assert!((moment - (1200.0 / radius_mm - 2.0)).abs() < 1e-9, "{k}: {moment}");
    }
}

#[test]
fn ends_of_an_arc_stand_up_by_its_versine() {
    let versine = |s: f64, radius_mm: f64| radius_mm * (1.0 - (s / radius_mm).cos());
    let close = |found: (f64, f64), expected: (f64, f64)| {
        assert!((found.0 - expected.0).abs() < 1e-9 && (found.1 - expected.1).abs() < 1e-9, "{found:?} {expected:?}");
    };
    let table = OverbentTable { finished_table_mm: (-30.0, 50.0), ..made_up() };
    close(table.table_heights_mm(), (versine(30.0, 200.0), versine(50.0, 200.0)));
    // The predicted board stands at 10 mm, which is 50 mm from its tail and 60 mm from its tip.
    close(table.predicted_heights_mm(), (versine(50.0, 250.0), versine(60.0, 250.0)));
    // The ends of a hump lie below the place that carries the anchor, whose tangent is level with the board on its base.
    let hump = Curvature::constant(-60.0, 60.0, -0.005).unwrap();
    let deck = OtherFace::new(&Curvature::constant(-10.0, 10.0, 0.0).unwrap(), |_| 8.0).unwrap();
    let table = OverbentTable { surface: hump, crown_mm: 10.0, deck: Some(deck), ..table };
    close(table.table_heights_mm(), (-versine(40.0, 200.0), -versine(40.0, 200.0)));
    // What such a board loses is that of the face on the hump, on which the anchor is 10.2875 mm from the middle.
    let released = Released { base: Curvature::constant(-31.2, 51.5, -0.004).unwrap(), ..table.released.clone() };
    let (tail, tip) = OverbentTable { released, ..table }.lost_shares();
    let lost = |face_mm: f64| 1.0 - versine(face_mm, 250.0) / versine(40.0, 200.0);
    close((tail.unwrap(), tip.unwrap()), (lost(41.4875), lost(41.2125)));
}

#[test]
fn a_place_on_the_released_base_is_sought_where_the_stack_lay_on_the_table() {
    let table = made_up();
    // A node, halfway between two, and 3 mm beyond the last.
    for (base_mm, table_mm, blank_mm) in [(20.6, 20.0, 21.0), (12.35, 12.0, 12.6), (54.5, 53.0, 55.0)] {
        let found = (table.table_at_base(base_mm), table.blank_at_base(base_mm));
        assert!((found.0 - table_mm).abs() < 1e-9 && (found.1 - blank_mm).abs() < 1e-9, "{base_mm}: {found:?}");
    }
    // On the deck of a board that is 8 mm thick a place lies further in, by 8 mm above the base's radius of 100 mm.
    let base = Curvature::constant(-40.0, 40.0, 0.01).unwrap();
    let lying = OverbentTable { deck: Some(OtherFace::new(&base, |_| 8.0).unwrap()), ..table };
    assert!((lying.table_at_base(12.35 / 0.92) - 12.0).abs() < 1e-9);
}

#[test]
fn places_between_listed_ones_lie_in_proportion_and_beyond_them_lengths_run_on() {
    let at = |x: f64| between(&[-10.0, 0.0, 30.0], &[-20.0, 1.0, 61.0], x);
    let expected = [(-14.0, -24.0), (-10.0, -20.0), (-5.0, -9.5), (0.0, 1.0), (15.0, 31.0), (30.0, 61.0), (35.0, 66.0)];
    for (x, y) in expected {
        assert!((at(x) - y).abs() < 1e-12, "{x}: {} is not {y}", at(x));
    }
}

#[test]
fn a_board_under_clamps_is_nearest_to_the_wanted_one_where_it_is_held_at_its_anchor() {
    // It stands off its middle, and error is what both curves differ by as they stand there.
    let target = Curvature::constant(-500.0, 500.0, 1.0 / 1500.0).unwrap();
    let forces = (-4..=4).map(|i| LineForce { blank_mm: 120.0 * f64::from(i), force_n_per_mm: 4.0 }).collect();
    let setup = Setup { load: Load { forces, ..Load::even(5e-5) }, ..setup(150.0) };
    let laminate = Laminate::new(&stack(), 0.0).unwrap();
    let held = overbend(&target, 150.0, &laminate, &setup).unwrap();
    let design = Design::new(&target, &laminate, (150.0, 150.0), &setup.load).unwrap();
    let as_it_fits = feasible::nearest(&design, &setup.load, None).unwrap();
    let as_it_fits = tried(&as_it_fits, &target, 150.0, &laminate, &setup).unwrap();
    assert!(held.error_mm < 0.5 * as_it_fits.error_mm, "{} {}", held.error_mm, as_it_fits.error_mm);
}

#[test]
fn a_table_that_leaves_less_than_can_be_seen_stays_as_the_board_asks_for_it() {
    // Seven hundredths of the overhang are missing: a bend that can be held all along would leave still less.
    let target = Curvature::constant(-500.0, 500.0, 1.0 / 1500.0).unwrap();
    let (short, laminate) = (setup(46.0), Laminate::new(&stack(), 0.0).unwrap());
    let design = Design::new(&target, &laminate, (46.0, 46.0), &short.load).unwrap();
    let asked = tried(&design, &target, 0.0, &laminate, &short).unwrap();
    let held = feasible::nearest(&design, &short.load, Some(0.0)).unwrap();
    let held = tried(&held, &target, 0.0, &laminate, &short).unwrap();
    assert!(held.left_over_mm() < asked.left_over_mm() && asked.error_mm < WORTH_MM, "{}", asked.error_mm);
    assert_eq!(overbend(&target, 0.0, &laminate, &short).unwrap(), asked);
}

#[test]
fn a_table_that_leaves_more_over_is_not_taken_for_being_held_down_all_along() {
    // Curvature up and down every 20 mm is more than moments between nodes can follow.
    let zigzag: Vec<(f64, f64)> =
        (-25..=25).map(|i| (20.0 * f64::from(i), if i % 2 == 0 { 5e-4 } else { -5e-4 })).collect();
    let target = Curvature::through(&zigzag).unwrap();
    let (even, laminate) = (setup(150.0), Laminate::new(&stack(), 0.0).unwrap());
    let design = Design::new(&target, &laminate, (150.0, 150.0), &even.load).unwrap();
    let asked = tried(&design, &target, 0.0, &laminate, &even).unwrap();
    assert!(asked.left_over_mm() > 10.0 * WORTH_MM);
    assert!(overbend(&target, 0.0, &laminate, &even).unwrap().left_over_mm() <= asked.left_over_mm());
}

/// Full vacuum on 10 mm of foam of 60 MPa between thin faces: the board loses p/E t/(t + face) of its curvature as the foam
/// swells, and the table carries that much more.
#[test]
fn a_table_for_a_soft_core_is_bent_more_by_what_the_bag_squeezes() {
    let target = Curvature::constant(-500.0, 500.0, 1.0 / 4000.0).unwrap();
    let tip_mm = |through_mpa: Option<f64>| {
        let mut core = layer(10.0, 60.0);
        core.material.through_modulus_mpa = through_mpa;
        let laminate = Laminate::new(&[layer(0.8, 70_000.0), core, layer(0.8, 70_000.0)], 0.0).unwrap();
        let setup = Setup { load: Load::even(0.101_325), ..setup(120.0) };
        let bent = overbend(&target, 0.0, &laminate, &setup).unwrap();
        assert!(bent.error_mm < 0.01, "{}", bent.error_mm);
        bent.table_heights_mm().1
    };
    let more = tip_mm(Some(60.0)) / tip_mm(None) - 1.0;
    let expected = 0.101_325 / 60.0 * 10.0 / 10.8;
    assert!((more / expected - 1.0).abs() < 0.02, "{more} {expected}");
}
