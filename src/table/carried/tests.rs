use super::*;
use crate::job::{Layer, LengthAlong, MaterialKind};
use crate::table::{Setup, overbend};

#[test]
fn supports_spread_by_the_checks_keep_the_sag_at_its_limit_and_the_skin_handy() {
    let mut layer = Material::of_modulus("given", MaterialKind::WoodAlong, 10_000.0);
    layer.cross_modulus_mpa = Some(500.0);
    let lying = Laminate::new(&[Layer::flat("layer", layer, 3.0)], 0.0).unwrap();
    let load = Load::even(0.085);
    let clear = |below, span| {
        let hold = Hold::Vacuum { reading_mpa: Some(0.085), altitude_m: 0.0, below };
        widest_clear_mm(&hold, &load, &lying, &skin(4.0, 1, false), span)
    };
    assert_eq!(clear(Below::Air, Span::Across), HANDLING_MM);
    // w s⁴/(384 E I) of sheet and stack side by side, across the grain and along it.
    for (span, stack_mpa) in [(Span::Across, 500.0), (Span::Along, 10_000.0)] {
        let stiffness = 3600.0 * 64.0 / 12.0 + stack_mpa * 27.0 / 12.0;
        let sag = 0.085 * clear(Below::Vacuum, span).powi(4) / (384.0 * stiffness);
        assert!((sag - SAG_MM.0).abs() < 1e-9, "{span:?}: {sag}");
    }
}

/// Six ribs, 18 mm thick and 80 mm high all along.
const RIBS_MM4: f64 = 6.0 * 18.0 * 80.0 * 80.0 * 80.0 / 12.0;

const BOARD: Board = Board {
    length_mm: 1400.0,
    length_along: LengthAlong::Base,
    width_mm: 300.0,
    count: 1,
    gap_mm: Board::USUAL_GAP_MM,
    overhang_tip_mm: 260.0,
    overhang_tail_mm: 260.0,
    outline: None,
    holes: Vec::new(),
};

fn stack() -> Laminate {
    let layer = |t: f64, e: f64| Layer::flat("layer", Material::of_modulus("given", MaterialKind::WoodAlong, e), t);
    Laminate::new(&[layer(0.8, 2e4), layer(4.0, 1e4), layer(4.0, 1e4), layer(0.8, 2e4)], 0.0).unwrap()
}

fn bag(below: Below) -> Hold {
    Hold::Vacuum { reading_mpa: Some(0.08), altitude_m: 0.0, below }
}

fn skin(thickness_mm: f64, count: usize, glued: bool) -> Skin<'static> {
    Skin { thickness_mm, sheets: SkinSheets { count, glued }, material: None }
}

/// Two sheets of half the thickness: a quarter of the moment that wants to straighten them, half the strain, and as stiff as
/// one sheet only where they are glued. Written out sheet by sheet.
#[test]
fn sheets_over_each_other_bend_as_each_by_itself_and_carry_as_one_where_they_are_glued() {
    let (one, screwed, glued) = (skin(6.0, 1, false), skin(6.0, 2, false), skin(6.0, 2, true));
    let single = |mm: f64| 4_000.0 * mm * mm * mm / 12.0;
    for (skin, sliding, carrying) in [
        (one, single(6.0), single(6.0)),
        (screwed, single(3.0) + single(3.0), single(3.0) + single(3.0)),
        (glued, single(3.0) + single(3.0), single(6.0)),
    ] {
        assert!((skin.sliding_n_mm(4_000.0) - sliding).abs() < 1e-9);
        assert!((skin.carrying_n_mm(4_000.0) - carrying).abs() < 1e-9);
    }
    assert_eq!([one, screwed, glued].map(|s| s.sheet_mm()), [6.0, 3.0, 3.0]);
    assert_eq!([one, screwed, glued].map(|s| s.springback_share()), [1.0, 1.0, 0.25]);
}

fn build(skin_mm: f64, pitch_mm: Option<f64>) -> Build<'static> {
    Build {
        skin: skin(skin_mm, 1, false),
        edges: None,
        ribs_mm4: &[(0.0, RIBS_MM4)],
        ribs: None,
        clear_mm: Some(82.0),
        spacing_mm: 100.0,
        pitch_step_mm: 5.0,
        span: Span::Across,
        fasteners: Fasteners { pull_n: 250.0, pitch_mm },
    }
}

fn table(radius_mm: f64, load: Load) -> OverbentTable {
    let target = Curvature::constant(-700.0, 700.0, 1.0 / radius_mm).unwrap();
    let setup = Setup { overhang_tail_mm: 260.0, overhang_tip_mm: 260.0, end_margin_mm: 40.0, load };
    overbend(&target, 0.0, &stack(), &setup).unwrap()
}

fn carried(bent: &OverbentTable, hold: &Hold, build: &Build<'_>) -> Carried {
    Carried::new(bent, &BOARD, hold, &stack(), build)
}

#[test]
fn a_skin_bent_to_an_arc_pulls_its_last_fastener_but_one_by_moment_over_pitch() {
    // Closed form: the flat skin's moment E I k is held by a couple of two fasteners, E I k/pitch on each.
    let mut bent = table(5000.0, Load::even(0.08));
    bent.surface = Curvature::constant(-800.0, 800.0, 1.0 / 1000.0).unwrap();
    let loads = Loads { moments_n: Vec::new(), pressure_mpa: 0.0, ..Loads::of_stack(&bent, &bag(Below::Air)) };
    let found = fastening(
        &Loads { ends_mm: (-800.0, 800.0), ..loads }.with_skin(&bent.surface, &build(6.0, Some(80.0))),
        &build(6.0, Some(80.0)),
    );
    let expected = 3600.0 * 216.0 / 12.0 / 1000.0 / 80.0 * 100.0;
    assert!((found.pull_n.value - expected).abs() < 1e-6 * expected, "{found:?} is not {expected}");
    assert!(found.pull_n.table_mm.abs() > 719.0, "{found:?}");
}

#[test]
fn under_a_bag_the_air_lifts_the_skin_of_an_open_table_where_the_stack_runs_out_and_a_box_feels_no_pull() {
    let bent = table(1200.0, Load::even(0.02));
    let (open, sealed) = (bag(Below::Air), bag(Below::Vacuum));
    let (air, vacuum) = (carried(&bent, &open, &build(0.1, None)), carried(&bent, &sealed, &build(0.1, None)));
    assert_eq!((air.case, vacuum.case), (LoadCase::OpenBackedBag, LoadCase::SealedBox));
    // The run-out is designed for nine tenths of the pressure: that much of it is taken from the contact.
    let expected = 0.9 * 0.02 * 300.0;
    assert!((air.pull_n_per_mm.value / expected - 1.0).abs() < 0.02, "{:?} is not {expected}", air.pull_n_per_mm);
    assert!(vacuum.pull_n_per_mm.value < 1e-3 * expected, "{vacuum:?}");
    // In its middle the stack presses on a box with the whole pressure, on an open table with nothing.
    let middle = |hold: &Hold| Loads::of_stack(&bent, hold).force_n_per_mm(0.0, 50.0) / 50.0;
    assert!(middle(&open).abs() < 1e-6 && (middle(&sealed) - 0.02).abs() < 1e-6);
}

#[test]
fn line_loads_of_every_case_add_up_to_what_presses() {
    // Statics: what the table carries is what pushes, less what pushes back from below.
    let clamps = Hold::Clamps {
        places: crate::job::ClampPlaces::At(vec![-690.0, -230.0, 230.0, 690.0]),
        force_n: 2000.0,
        caul: None,
    };
    let forces = [-690.0, -230.0, 230.0, 690.0]
        .map(|blank_mm| crate::press::LineForce { blank_mm, force_n_per_mm: 2000.0 / 300.0 });
    let held = Load { forces: forces.to_vec(), ..Load::even(5e-5) };
    let cases = [
        (bag(Below::Air), Load::even(0.08), 0.0),
        (bag(Below::Vacuum), Load::even(0.08), 1.0),
        (Hold::Press { pressure_mpa: 0.3 }, Load { matched: true, ..Load::even(0.3) }, 1.0),
        (Hold::Weights { force_n: 100.0 }, Load::even(2e-4), 1.0),
        (clamps, held, 1.0),
    ];
    for (hold, load, part) in cases {
        let bent = table(4000.0, load);
        let loads = Loads::of_stack(&bent, &hold);
        let pitch = 50.0;
        let sum: f64 = (-60..=60).map(|i| loads.force_n_per_mm(f64::from(i) * pitch, pitch)).sum();
        let ends = (bent.pressed.stations[0], bent.pressed.stations[bent.pressed.stations.len() - 1]);
        let pressed = bent.load.pressure_mpa * (ends.1.table_mm - ends.0.table_mm);
        let expected = part * (pressed + bent.load.forces.iter().map(|f| f.force_n_per_mm).sum::<f64>());
        assert!((sum - expected).abs() < 1e-6 * expected.max(1.0), "{hold:?}: {sum} is not {expected}");
    }
}

#[test]
fn the_pitch_that_is_found_keeps_the_pull_and_a_wider_one_does_not() {
    let bent = table(600.0, Load::even(0.01));
    let hold = bag(Below::Air);
    let with =
        |pull_n: f64, pitch_mm: Option<f64>| Build { fasteners: Fasteners { pull_n, pitch_mm }, ..build(4.0, None) };
    let widest = carried(&bent, &hold, &with(1e4, None)).fastening;
    assert_eq!((widest.pitch_mm, widest.widest_mm), (150.0, Some(150.0)));
    let allowed = 0.8 * widest.pull_n.value;
    let found = carried(&bent, &hold, &with(allowed, None)).fastening;
    let pitch = found.widest_mm.unwrap();
    assert!(pitch < 150.0 && found.pull_n.value <= allowed && !found.stated, "{found:?}");
    let wider = carried(&bent, &hold, &with(allowed, Some(pitch + 5.0))).fastening;
    assert!(wider.pull_n.value > allowed && wider.stated && wider.widest_mm == Some(pitch), "{wider:?}");
}

/// Loads without a stack on them, on a table from -100 to 120 mm.
fn none() -> Loads {
    Loads { moments_n: Vec::new(), skin: None, pressure_mpa: 0.0, forces: Vec::new(), ends_mm: (-100.0, 120.0) }
}

#[track_caller]
fn near(found: f64, expected: f64) {
    assert!((found - expected).abs() < 1e-9, "{found} is not {expected}");
}

#[track_caller]
fn peaks(loads: &Loads, pitch_mm: f64, sign: f64, value: f64, table_mm: f64) {
    let found = loads.largest(pitch_mm, sign);
    assert!((found.value - value).abs() < 1e-4 * value, "{found:?} is not {value}");
    assert!((found.table_mm - table_mm).abs() < 1e-4 * pitch_mm, "{found:?} is not at {table_mm}");
}

#[test]
fn supports_and_ways_of_pressing_have_names_of_their_own() {
    assert_ne!(Span::Across.supports(), Span::Along.supports());
    use LoadCase::{Clamps, MatchingForm, OpenBackedBag, SealedBox, Weights};
    let mut names = [OpenBackedBag, SealedBox, MatchingForm, Clamps, Weights].map(LoadCase::words);
    names.sort_unstable();
    assert!(names.windows(2).all(|w| w[0] != w[1] && !w[0].is_empty()), "{names:?}");
}

#[test]
fn moments_of_stack_and_skin_add_up_and_end_with_them() {
    let skin = Some((50.0, Curvature::constant(-100.0, 120.0, 0.002).unwrap()));
    let loads = Loads { moments_n: vec![(-40.0, 1.0), (60.0, 3.0)], skin, ..none() };
    near(loads.moment_n(10.0), 2.0 + 0.1);
    near(loads.moment_n(80.0), 0.1);
    near(loads.moment_n(130.0), 0.0);
}

/// The lever rule: a load goes to the two supports beside it, the nearer the more.
#[test]
fn supports_share_forces_and_pressure_by_the_lever_rule() {
    let loads = Loads { forces: vec![(30.0, 5.0)], ..none() };
    near(loads.force_n_per_mm(20.0, 50.0), 0.8 * 5.0);
    near(loads.force_n_per_mm(70.0, 50.0), 0.2 * 5.0);
    near(loads.force_n_per_mm(90.0, 50.0), 0.0);
    // Pressure over the blank, from -40 to 60 mm: a support under its middle carries a pitch of it, one under its end half.
    let loads = Loads { moments_n: vec![(-40.0, 0.0), (60.0, 0.0)], pressure_mpa: 0.02, ..none() };
    near(loads.force_n_per_mm(10.0, 40.0), 0.02 * 40.0);
    near(loads.force_n_per_mm(60.0, 40.0), 0.02 * 20.0);
    near(loads.force_n_per_mm(-40.0, 40.0), 0.02 * 20.0);
    near(loads.force_n_per_mm(80.0, 40.0), 0.02 * 40.0 * 0.125);
    near(loads.force_n_per_mm(110.0, 40.0), 0.0);
}

#[test]
fn the_largest_force_is_found_where_it_is() {
    // Under a force that stands off the steps.
    peaks(&Loads { forces: vec![(33.3, 5.0), (-61.7, 4.0)], ..none() }, 20.0, 1.0, 5.0, 33.3);
    // A skin bent the most at 35 mm, less by 1e-5/mm to both sides, pulls there by twice its slope.
    let bent = Curvature::through(&[(-100.0, 0.0), (-65.0, 0.0), (35.0, 1e-3), (120.0, 1.5e-4)]).unwrap();
    peaks(&Loads { skin: Some((1e4, bent)), ..none() }, 40.0, -1.0, 1e4 * 2e-5, 35.0);
    // A moment that jumps to M at 33 mm and fades over 40 mm pulls by 2 M/pitch just beyond the jump, and its mirror
    // image just before.
    let node = |s: f64, before: f64, after: f64| [(s, before), (s, after)];
    let fading = [node(-93.0, 0.0, 0.0), node(33.0, 0.0, 2.0), node(73.0, 0.0, 0.0)].concat();
    peaks(&Loads { moments_n: fading, ..none() }, 50.0, -1.0, 2.0 * 2.0 / 50.0, 33.0);
    let growing = [node(-57.0, 0.0, 0.0), node(-17.0, 2.0, 0.0), node(113.0, 0.0, 0.0)].concat();
    peaks(&Loads { moments_n: growing, ..none() }, 50.0, -1.0, 2.0 * 2.0 / 50.0, -17.0);
    // A skin that is bent the most at its end, and not 40 mm from there, pulls by 2 M/pitch just inside.
    for (bent, end_mm) in [
        (vec![(-100.0, 1e-3), (-60.0, 0.0), (120.0, 0.0)], -100.0),
        (vec![(-100.0, 0.0), (80.0, 0.0), (120.0, 1e-3)], 120.0),
    ] {
        let skin = Some((1e4, Curvature::through(&bent).unwrap()));
        peaks(&Loads { skin, ..none() }, 50.0, -1.0, 2.0 * 1e4 * 1e-3 / 50.0, end_mm);
    }
}

#[test]
fn where_no_pitch_keeps_the_pull_the_one_that_pulls_least_is_told() {
    let build = |span: Span| Build { span, fasteners: Fasteners { pull_n: 0.001, pitch_mm: None }, ..build(4.0, None) };
    // Air that lifts the skin pulls by pressure, pitch and spacing: nearer is better, for ribs as for bearers.
    let lifted = Loads { moments_n: vec![(-400.0, 0.0), (400.0, 0.0)], pressure_mpa: -0.01, ..none() };
    for span in [Span::Across, Span::Along] {
        let found = fastening(&lifted, &build(span));
        assert_eq!((found.widest_mm, found.pitch_mm), (None, NARROWEST_PITCH_MM), "{span:?}");
        near(found.pull_n.value, 0.01 * NARROWEST_PITCH_MM * 100.0);
    }
    // A skin bent to an arc pulls by its moment over the pitch: further apart is better.
    let skin = Some((1e4, Curvature::constant(-400.0, 400.0, 1e-3).unwrap()));
    let found = fastening(&Loads { skin, ends_mm: (-400.0, 400.0), ..none() }, &build(Span::Across));
    assert_eq!((found.widest_mm, found.pitch_mm), (None, WIDEST_PITCH_MM));
}

#[test]
fn the_widest_span_of_the_skin_sags_by_the_limit() {
    let sealed = bag(Below::Vacuum);
    let found = carried(&table(4000.0, Load::even(0.08)), &sealed, &build(4.0, None)).sag.unwrap();
    near(found.sag_mm * (found.widest_mm / found.clear_mm).powi(4), SAG_MM.0);
    assert_eq!(found.clear_mm, 82.0);
}

fn gives(bent: &OverbentTable, build: &Build<'_>) -> Option<(f64, f64)> {
    gives_mm(bent, &Loads::of_stack(bent, &bag(Below::Air)), &BOARD, build)
}

/// Closed form for one moment all along: M w L²/(2 E I) of every end, as far as it is from the middle.
#[test]
fn both_ends_of_the_table_give_way_under_a_moment_that_is_the_same_all_along() {
    let pressed = Load { matched: true, ..Load::even(0.3) };
    let mut bent = table(900.0, pressed);
    bent.finished_table_mm = (-500.0, 650.0);
    let (_, moment) = bent.moments_n()[0];
    assert!(bent.moments_n().iter().all(|(_, m)| (m / moment - 1.0).abs() < 1e-9));
    let (tail, tip) = gives(&bent, &build(4.0, None)).unwrap();
    let flexibility = moment * BOARD.width_mm / (3600.0 * RIBS_MM4);
    near(tail / (flexibility * 500_f64.powi(2) / 2.0), 1.0);
    near(tip / (flexibility * 650_f64.powi(2) / 2.0), 1.0);
}

/// Two parts of a beam bent by one moment M turn by M/(E I) of their own: the end goes down by M a (L - a/2)/(E I) for the
/// inner part of length a and by M (L - a)²/(2 E I) for the outer one.
#[test]
fn a_rib_that_is_lower_between_its_feet_gives_by_its_own_section_there() {
    let mut bent = table(900.0, Load { matched: true, ..Load::even(0.3) });
    bent.finished_table_mm = (-500.0, 650.0);
    let (_, moment) = bent.moments_n()[0];
    // The table's x is less than the length along it; the step lies at 300 mm along it.
    let x_mm = bent.resting.at(300.0).point.x;
    let ribs = [(-900.0, RIBS_MM4), (x_mm, 8.0 * RIBS_MM4)];
    let found = gives(&bent, &Build { ribs_mm4: &ribs, ..build(4.0, None) }).unwrap();
    let per_n = moment * BOARD.width_mm / (3600.0 * RIBS_MM4);
    assert!((found.0 / (per_n * 500_f64.powi(2) / 2.0) - 1.0).abs() < 1e-6, "{found:?}");
    let tip = per_n * (300.0 * (650.0 - 150.0) + 350_f64.powi(2) / 2.0 / 8.0);
    assert!((found.1 / tip - 1.0).abs() < 2e-3, "{found:?} {tip}");
    // A cut that leaves nothing is no table.
    assert_eq!(gives(&bent, &Build { ribs_mm4: &[(-900.0, RIBS_MM4), (100.0, 0.0)], ..build(4.0, None) }), None);
    assert_eq!(gives(&bent, &Build { ribs_mm4: &[], ..build(4.0, None) }), None);
}
