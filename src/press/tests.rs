use super::*;
use crate::close::close_rel;
use crate::job::{Layer, Material, MaterialKind};

/// Thin strips of one wood, `natural_per_mm` bent by themselves; the stack's own thickness hardly counts on a table of
/// these radii.
fn strips(count: usize, natural_per_mm: f64) -> Laminate {
    let mut layer = Layer::flat("strip", Material::of_modulus("given", MaterialKind::WoodAlong, 10_000.0), 1.0);
    layer.natural_curvature_per_mm = natural_per_mm;
    Laminate::new(&vec![layer; count], 0.0).unwrap()
}

fn table(half_mm: f64, k_per_mm: f64) -> Curvature {
    Curvature::through(&[(-half_mm, k_per_mm), (half_mm, k_per_mm)]).unwrap()
}

const BLANK: Blank = Blank { tail_mm: -300.0, tip_mm: 300.0 };

fn on_a_hump(laminate: &Laminate, load: &Load) -> Pressed {
    press(&table(400.0, -1e-3), laminate, BLANK, load).unwrap()
}

fn end_gap(laminate: &Laminate, load: &Load) -> f64 {
    end_gap_of(&on_a_hump(laminate, load))
}

fn end_gap_of(pressed: &Pressed) -> f64 {
    pressed.contact.gap_mm[pressed.stations.len() - 1]
}

/// B κ²/(2 p), own derivation, with B the sum over the strips and κ the turn of the flat blank.
#[test]
fn on_a_hump_the_end_of_a_stack_lifts_by_the_closed_form() {
    let (three, load) = (strips(3, 0.0), Load::even(0.001));
    let (stiffness, turn): (f64, f64) = (3.0 * 10_000.0 / 12.0, -1e-3 / (1.0 + 1e-3 * 1.5));
    close_rel(end_gap(&three, &load), stiffness * turn.powi(2) / (2.0 * 0.001), 2e-3);
}

/// A free end carries no moment: strips that were flat turn by nothing there, strips that were bent by themselves as they
/// were bent. On a tight hump the base's curvature is a tenth off that of the neutral line.
#[test]
fn a_free_end_over_a_hump_has_no_moment_in_the_stack() {
    for natural_per_mm in [0.0, 4e-3] {
        let laminate = strips(40, natural_per_mm);
        let pressed = press(&table(400.0, -5e-3), &laminate, BLANK, &Load::even(0.05)).unwrap();
        let turning = pressed.turning().unwrap();
        for (end_mm, gap_mm) in [(BLANK.tail_mm, pressed.contact.gap_mm[0]), (BLANK.tip_mm, end_gap_of(&pressed))] {
            assert!(gap_mm > 1.0, "{gap_mm}");
            assert!((turning.at(end_mm) - natural_per_mm).abs() < 1e-6, "{} {natural_per_mm}", turning.at(end_mm));
        }
    }
}

#[test]
fn a_caul_bends_with_the_stack_and_adds_its_stiffness() {
    let (one, three) = (strips(1, 0.0), strips(3, 0.0));
    let stiffness = three.section_at(0.0).wet_stiffness_n_mm;
    let under_caul = Load { caul_stiffness_n_mm: 3.0 * stiffness, ..Load::even(0.001) };
    close_rel(end_gap(&three, &under_caul), 4.0 * end_gap(&three, &Load::even(0.001)), 2e-3);
    // It has no place in the board: the pressed stack's sections are those without it.
    assert_eq!(on_a_hump(&one, &under_caul).sections[0][0], one.section_at(0.0));
}

#[test]
fn strips_bent_beforehand_need_bending_only_from_there() {
    let load = Load::even(0.001);
    let flat = end_gap(&strips(3, 0.0), &load);
    close_rel(end_gap(&strips(3, -0.5e-3), &load), 0.25 * flat, 5e-3);
    close_rel(end_gap(&strips(3, 1e-3), &load), 4.0 * flat, 5e-3);
    // With the table's curvature by themselves they lie down under next to nothing.
    let lying = on_a_hump(&strips(3, -1e-3 / (1.0 + 1.5e-3)), &Load::even(1e-6));
    assert!(lying.contact.gap_mm.iter().all(|gap| *gap < 1e-3), "{:?}", lying.contact.gap_mm);
}

#[test]
fn a_stack_that_lies_down_turns_by_the_base_curvature_over_its_stretch() {
    let (k, laminate) = (1e-3, strips(8, 0.0));
    let matched = Load { matched: true, ..Load::even(0.1) };
    let pressed = press(&table(400.0, k), &laminate, BLANK, &matched).unwrap();
    let turning = pressed.turning().unwrap();
    close_rel(turning.start_mm(), BLANK.tail_mm, 1e-12);
    close_rel(turning.end_mm(), BLANK.tip_mm, 1e-12);
    for s in [-300.0, -120.0, 0.0, 250.0] {
        close_rel(turning.at(s), k / (1.0 - 4.0 * k), 1e-12);
    }
    // The blank keeps its length 4 mm above the base, inside of the hollow: the table under it is that much longer.
    close_rel(pressed.stations[0].table_mm, BLANK.tail_mm / (1.0 - 4.0 * k), 1e-9);
}

#[test]
fn a_force_at_the_tail_does_what_the_same_force_at_the_tip_does() {
    let load =
        |at_mm: f64| Load { forces: vec![LineForce { blank_mm: at_mm, force_n_per_mm: 0.02 }], ..Load::even(0.001) };
    let laminate = strips(3, 0.0);
    let (tail, tip) = (on_a_hump(&laminate, &load(BLANK.tail_mm)), on_a_hump(&laminate, &load(BLANK.tip_mm)));
    // The grids are not each other's mirror, so gaps agree to what a grid may be wrong by.
    let ends = |p: &Pressed| (p.contact.gap_mm[0], p.contact.gap_mm[p.contact.gap_mm.len() - 1]);
    let ((forced, free), (free_other, forced_other)) = (ends(&tail), ends(&tip));
    assert!((forced - forced_other).abs() < GAP_ERROR_MM && (free - free_other).abs() < GAP_ERROR_MM);
    // It is the whole force, and at that end alone.
    let pushed = |p: &Pressed| p.contact.reaction_n_per_mm.iter().sum::<f64>();
    let without = on_a_hump(&laminate, &Load::even(0.001));
    assert!((pushed(&tail) - pushed(&without) - 0.02).abs() < 1e-3, "{} {}", pushed(&tail), pushed(&without));
    assert!(tail.contact.gap_mm[0] < 0.5 * without.contact.gap_mm[0]);
}

#[test]
fn a_table_bent_around_a_point_inside_the_stack_is_refused_with_its_place() {
    let laminate = strips(20, 0.0);
    let folded = Curvature::through(&[(-400.0, 0.0), (100.0, 0.0), (200.0, 0.095), (400.0, 0.095)]).unwrap();
    match press(&folded, &laminate, BLANK, &Load::even(0.001)) {
        // There the curvature is within a tenth of 1/10 mm, the middle of the stack.
        Err(PressError::TooTight(at)) => assert!((100.0 + 100.0 * 0.09 / 0.095..=200.0).contains(&at), "{at}"),
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_load_that_is_none_is_refused() {
    for pressure_mpa in [0.0, -0.01, f64::NAN] {
        let refused = press(&table(400.0, 1e-3), &strips(2, 0.0), BLANK, &Load::even(pressure_mpa));
        assert!(matches!(refused, Err(PressError::Contact(_))), "{pressure_mpa}: {refused:?}");
    }
}

#[test]
fn one_piece_or_a_matching_form_leaves_no_void_between_layers() {
    let load = Load::even(0.001);
    let (one, two) = (strips(1, 0.0), strips(2, 0.0));
    let void = |laminate: &Laminate, load: &Load| {
        on_a_hump(laminate, load).largest_void(laminate, load, (-300.0, 300.0)).unwrap()
    };
    assert_eq!(void(&one, &load), None);
    assert_eq!(void(&two, &Load { matched: true, ..Load::even(0.001) }), None);
    assert!(void(&two, &load).is_some());
    // What presses the stack has to press its layers too.
    let pressed = on_a_hump(&two, &load);
    assert_eq!(pressed.largest_void(&two, &Load::even(0.0), (-300.0, 300.0)), Err(ContactError::NoLoad));
}

#[test]
fn an_element_beside_the_end_of_a_layer_has_the_section_of_its_own_side() {
    let wood = Material::of_modulus("given", MaterialKind::WoodAlong, 10_000.0);
    let layer = |thickness_mm: f64| Layer::flat("strip", wood.clone(), thickness_mm);
    let short = Layer { extent_mm: Some((-120.0, 90.0)), ..layer(3.0) };
    let laminate = Laminate::new(&[layer(1.0), short, layer(1.0)], 0.0).unwrap();
    let pressed = on_a_hump(&laminate, &Load::even(0.01));
    let mut seen = [0, 0];
    for (ends, sections) in pressed.stations.windows(2).zip(&pressed.sections) {
        let section = laminate.section_at(0.5 * (ends[0].blank_mm + ends[1].blank_mm));
        assert_eq!(sections, &[section; 2], "from {} to {} mm", ends[0].blank_mm, ends[1].blank_mm);
        seen[usize::from(section.thickness_mm > 2.5)] += 1;
    }
    assert!(seen[0] > 10 && seen[1] > 10, "{seen:?}");
    for end_mm in [-120.0, 90.0] {
        let missed = pressed.stations.iter().map(|s| (s.blank_mm - end_mm).abs()).fold(f64::INFINITY, f64::min);
        assert!(missed < 1e-6, "{end_mm}: {missed}");
    }
}

#[test]
fn a_base_held_over_a_hump_is_longer_than_the_hump() {
    let (k, gap_mm, laminate) = (1e-3, 2.0, strips(1, 0.0));
    let matched = Load { matched: true, ..Load::even(0.1) };
    let mut pressed = press(&table(400.0, -k), &laminate, BLANK, &matched).unwrap();
    let length = |pressed: &Pressed| {
        let base = release(pressed).unwrap().base;
        base.end_mm() - base.start_mm()
    };
    let lying = length(&pressed);
    pressed.contact.gap_mm.fill(gap_mm);
    close_rel(length(&pressed) / lying, 1.0 + k * gap_mm, 1e-9);
    // A gap that grows evenly from one end to the other counts with its mean.
    let (tail, tip) = (pressed.stations[0].table_mm, pressed.stations[pressed.stations.len() - 1].table_mm);
    for (gap, station) in pressed.contact.gap_mm.iter_mut().zip(&pressed.stations) {
        *gap = gap_mm * (station.table_mm - tail) / (tip - tail);
    }
    close_rel(length(&pressed) / lying, 1.0 + 0.5 * k * gap_mm, 1e-9);
}
