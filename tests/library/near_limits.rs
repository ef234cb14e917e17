//! Results near the edges of what the formulas take, beside closed forms; and beyond the edges, refused.

use crate::support::close_rel;
use overbend::curve::{Curvature, Curve, Parallel, Piece, fit_arcs};
use overbend::job::{Layer, Material, MaterialKind};
use overbend::laminate::{Laminate, Section};
use overbend::press::{Blank, Load, atmosphere_mpa, press};
use overbend::table::{OverbentTable, Setup, overbend, plywood_radius_mm};

fn layer(thickness_mm: f64, modulus_mpa: f64) -> Layer {
    Layer::flat("layer", Material::of_modulus("given", MaterialKind::WoodAlong, modulus_mpa), thickness_mm)
}

fn section(layers: &[(f64, f64)]) -> Section {
    let layers: Vec<Layer> = layers.iter().map(|&(t, e)| layer(t, e)).collect();
    Laminate::new(&layers, 0.0).unwrap().section_at(0.0)
}

fn matched(pressure_mpa: f64) -> Setup {
    Setup {
        overhang_tail_mm: 60.0,
        overhang_tip_mm: 60.0,
        end_margin_mm: 40.0,
        load: Load { matched: true, ..Load::even(pressure_mpa) },
    }
}

#[track_caller]
fn table(target: &Curvature, layers: &[Layer], setup: &Setup) -> OverbentTable {
    overbend(target, 0.0, &Laminate::new(layers, 0.0).unwrap(), setup).unwrap_or_else(|f| panic!("{f:#?}"))
}

/// Curvature of the table at a place of the base that is to have `k`, from its section: closed form.
fn table_per_mm(k: f64, s: &Section) -> f64 {
    let free = k / (1.0 - k * s.neutral_mm);
    let pressed = free / (1.0 - s.springback_share());
    pressed / (1.0 + pressed * s.neutral_mm)
}

#[test]
fn a_skin_of_a_micrometre_changes_springback_by_what_the_closed_form_says() {
    // One skin of thickness t and modulus E on a core of thickness h: neutral axis and stiffness written out.
    let (e, core, h) = (70_000.0, 10_000.0, 10.0);
    for t in [1e-6, 1e-3, 0.1] {
        let s = section(&[(t, e), (h, core)]);
        let neutral = (e * t * 0.5 * t + core * h * (t + 0.5 * h)) / (e * t + core * h);
        let bonded = e * t * (t * t / 12.0 + (neutral - 0.5 * t).powi(2))
            + core * h * (h * h / 12.0 + (t + 0.5 * h - neutral).powi(2));
        let wet = (e * t.powi(3) + core * h.powi(3)) / 12.0;
        close_rel(s.springback_share(), wet / bonded, 1e-13);
        close_rel(s.neutral_mm, neutral, 1e-13);
        // Its lever against the core's own axis is what the skin adds: 1 - S ≈ 3 (E t/E_c h) for thin skins.
        if t <= 1e-3 {
            close_rel(1.0 - s.springback_share(), 3.0 * e * t / (core * h), 5e-3);
        }
    }
}

#[test]
fn one_layer_keeps_nothing_and_is_refused_but_two_of_very_unlike_thickness_are_not() {
    let one = section(&[(9.0, 10_000.0)]);
    assert_eq!(one.springback_share(), 1.0);
    assert_eq!(one.pressed_curvature(1e-3), None);
    let relaxed = {
        let mut only = layer(9.0, 10_000.0);
        only.relaxed.value = 0.25;
        Laminate::new(&[only], 0.0).unwrap().section_at(0.0)
    };
    // One layer that relaxes by a quarter keeps a quarter of its bend.
    close_rel(relaxed.free_curvature(1e-3), 0.25e-3, 1e-12);
    // (t³ + h³)/(t + h)³ with h/t = 1000.
    let two = section(&[(0.009, 10_000.0), (9.0, 10_000.0)]);
    close_rel(two.springback_share(), (0.009_f64.powi(3) + 729.0) / 9.009_f64.powi(3), 1e-13);
    close_rel(two.free_curvature(two.pressed_curvature(1e-3).unwrap()), 1e-3, 1e-9);
}

#[test]
fn a_straight_board_takes_a_straight_table_under_every_load() {
    let layers = [layer(0.8, 25_000.0), layer(8.0, 5_000.0), layer(0.8, 25_000.0)];
    let target = Curvature::constant(-700.0, 700.0, 0.0).unwrap();
    for load in [Load::even(0.085), Load { matched: true, ..Load::even(0.3) }] {
        let t = table(&target, &layers, &Setup { load, ..matched(0.1) });
        let ((_, low), (_, high)) = t.surface.extremes();
        assert!(low.abs() < 1e-15 && high.abs() < 1e-15, "{low} {high}");
        assert!(t.error_mm < 1e-9 && t.largest_gap_mm().0 < 1e-6, "{} {}", t.error_mm, t.largest_gap_mm().0);
    }
}

#[test]
fn where_the_curvature_changes_its_sign_the_table_follows_the_closed_form_through_nothing() {
    let layers = [layer(0.8, 25_000.0), layer(8.0, 5_000.0), layer(1.2, 40_000.0)];
    let s = Laminate::new(&layers, 0.0).unwrap().section_at(0.0);
    let k = 1.0 / 900.0;
    let target = Curvature::through(&[(-600.0, -k), (600.0, k)]).unwrap();
    let t = table(&target, &layers, &matched(0.2));
    for base_mm in [-590.0, -300.0, -1.0, 0.0, 1.0, 299.0, 588.0] {
        let found = t.surface.at(t.table_at_base(base_mm));
        let expected = table_per_mm(k * base_mm / 600.0, &s);
        assert!((found - expected).abs() < 2e-4 * k, "{base_mm}: {found} is not {expected}");
    }
    assert!(t.error_mm < 1e-3, "{}", t.error_mm);
}

#[test]
fn stiff_pieces_at_the_ends_spring_back_by_their_own_share() {
    // A thick piece of stiff wood under tip and tail: two sections with shares of their own, each by the closed form.
    let reach = 300.0;
    let piece = |from: f64, to: f64| {
        let mut l = layer(6.0, 14_000.0);
        l.extent_mm = Some((from, to));
        l
    };
    let layers =
        [layer(0.8, 25_000.0), piece(-900.0, -reach), piece(reach, 900.0), layer(3.0, 9_000.0), layer(0.8, 25_000.0)];
    let stack = Laminate::new(&layers, 0.0).unwrap();
    let by_hand = |pairs: &[(f64, f64)]| section(pairs).springback_share();
    let (ends, middle) = (stack.section_at(500.0), stack.section_at(0.0));
    close_rel(ends.springback_share(), by_hand(&[(0.8, 25e3), (6.0, 14e3), (3.0, 9e3), (0.8, 25e3)]), 1e-12);
    close_rel(middle.springback_share(), by_hand(&[(0.8, 25e3), (3.0, 9e3), (0.8, 25e3)]), 1e-12);
    assert!(ends.springback_share() > 1.2 * middle.springback_share());
    let k = 1.0 / 4000.0;
    let target = Curvature::constant(-700.0, 700.0, k).unwrap();
    let t = table(&target, &layers, &matched(0.2));
    for (base_mm, s) in
        [(-600.0, ends), (-310.0, ends), (-290.0, middle), (0.0, middle), (290.0, middle), (600.0, ends)]
    {
        let found = t.surface.at(t.table_at_base(base_mm));
        let expected = table_per_mm(k, &s);
        assert!((found / expected - 1.0).abs() < 1e-3, "{base_mm}: {found} is not {expected}");
    }
    // The section jumps within an element of 5 mm; half of it is pressed for the other share, seen at 400 mm from there.
    let jump = (ends.springback_share() - middle.springback_share()) / (1.0 - ends.springback_share());
    let bound_mm = jump * k * 2.5 * 400.0;
    assert!(t.error_mm < bound_mm && bound_mm < 0.1, "{} {bound_mm}", t.error_mm);
}

#[test]
fn a_curve_as_tight_as_the_stack_is_thick_is_refused_and_a_little_less_is_not() {
    let layers = [layer(2.0, 10_000.0), layer(2.0, 10_000.0)];
    let stack = Laminate::new(&layers, 0.0).unwrap();
    let of = |radius_mm: f64| {
        let target = Curvature::constant(-10.0, 10.0, 1.0 / radius_mm).unwrap();
        overbend(
            &target,
            0.0,
            &stack,
            &Setup { overhang_tail_mm: 2.0, overhang_tip_mm: 2.0, end_margin_mm: 1.0, ..matched(0.2) },
        )
    };
    // The neutral line of a hollow base of radius R lies 2 mm nearer its centre.
    assert_eq!(of(2.1).unwrap_err()[0].code.name, "too-tight");
    let t = of(20.0).unwrap();
    close_rel(t.surface.at(0.0), table_per_mm(1.0 / 20.0, &stack.section_at(0.0)), 1e-6);
}

#[test]
fn what_is_no_number_or_no_load_is_refused() {
    let curvature = Curvature::constant(-700.0, 700.0, 1.0 / 2000.0).unwrap();
    let stack = Laminate::new(&[layer(3.0, 1e4), layer(3.0, 1e4)], 0.0).unwrap();
    let blank = Blank { tail_mm: -600.0, tip_mm: 600.0 };
    for pressure_mpa in [f64::NAN, f64::INFINITY, -0.1, 0.0] {
        for matched in [false, true] {
            let load = Load { matched, ..Load::even(pressure_mpa) };
            let none = pressure_mpa == 0.0 && matched;
            assert!(press(&curvature, &stack, blank, &load).is_err() || none, "{load:?}");
        }
        let setup = matched(pressure_mpa);
        assert!(overbend(&curvature, 0.0, &stack, &setup).is_err());
    }
    for (tail_mm, tip_mm) in [(f64::NAN, 600.0), (-600.0, f64::INFINITY), (600.0, -600.0), (0.0, 0.0), (-600.0, 900.0)]
    {
        assert!(press(&curvature, &stack, Blank { tail_mm, tip_mm }, &Load::even(0.08)).is_err());
    }
    let piece = |start_mm, end_mm, k| Piece { start_mm, end_mm, k_start_per_mm: k, k_end_per_mm: k };
    for bad in [piece(0.0, 0.0, 0.0), piece(1.0, 0.0, 0.0), piece(0.0, f64::NAN, 0.0), piece(0.0, 1.0, f64::INFINITY)] {
        assert!(Curvature::new(vec![bad]).is_err());
    }
    assert!(Curvature::new(Vec::new()).is_err());
    assert!(curvature.between(100.0, -100.0).is_err());
    let curve = Curve::new(curvature);
    for distance_mm in [f64::NAN, 2000.0, f64::INFINITY] {
        assert!(Parallel::new(&curve, distance_mm).is_err(), "{distance_mm}");
    }
    for (from, to, tolerance) in [(0.0, 0.0, 0.01), (0.0, f64::NAN, 0.01), (0.0, 100.0, 0.0), (0.0, 100.0, f64::NAN)] {
        assert!(fit_arcs(&curve, from, to, tolerance).is_err());
    }
    for altitude_m in [f64::NAN, -6000.0, 12_000.0, f64::INFINITY] {
        assert!(atmosphere_mpa(altitude_m).is_nan());
    }
    for thickness_mm in [f64::NAN, 0.0, -3.0, 25.0] {
        assert_eq!(plywood_radius_mm(thickness_mm), None);
    }
    for modulus_mpa in [f64::NAN, 0.0, -1.0, f64::INFINITY] {
        assert!(Laminate::new(&[layer(1.0, modulus_mpa)], 0.0).is_err());
        assert!(Laminate::new(&[layer(modulus_mpa, 1.0)], 0.0).is_err());
    }
}

#[test]
fn steps_of_nothing_take_no_endless_memory() {
    let curvature = Curvature::constant(0.0, 1.0, 1e-3).unwrap();
    for step_mm in [0.0, -1.0, f64::NAN, 1e-300] {
        assert!(curvature.refined(step_mm).pieces().len() <= 100_000);
        assert!(Curve::new(curvature.clone()).samples(step_mm).len() <= 100_001);
    }
}
