use super::*;
use crate::curve::Curvature;
use crate::job::{
    Below, Board, ClampPlaces, Fasteners, Layer, LengthAlong, Material, MaterialKind, ResinCure, SkinSheets,
};
use crate::table::{Setup, overbend, setup};

fn layer(thickness_mm: f64, modulus_mpa: f64) -> Layer {
    Layer::flat("layer", Material::of_modulus("given", MaterialKind::WoodAlong, modulus_mpa), thickness_mm)
}

fn board(overhang_mm: f64) -> Board {
    Board {
        length_mm: 1400.0,
        length_along: LengthAlong::Base,
        width_mm: 300.0,
        count: 1,
        gap_mm: Board::USUAL_GAP_MM,
        overhang_tip_mm: overhang_mm,
        overhang_tail_mm: overhang_mm,
        outline: None,
        holes: Vec::new(),
    }
}

fn bag(reading_mpa: f64, altitude_m: f64, below: Below) -> Pressing {
    let hold = Hold::Vacuum { reading_mpa: Some(reading_mpa), altitude_m, below };
    Pressing { hold, cure_above_room_k: 0.0, glue: None, moisture_in_use: None, resin: None }
}

fn skin(thickness_mm: f64) -> Skin<'static> {
    Skin { thickness_mm, sheets: SkinSheets::ONE, material: None }
}

fn build() -> Build<'static> {
    Build {
        skin: skin(4.0),
        edges: None,
        ribs_mm4: &[(0.0, 6.0 * 18.0 * 80.0 * 80.0 * 80.0 / 12.0)],
        ribs: None,
        clear_mm: Some(90.0),
        spacing_mm: 108.0,
        pitch_step_mm: 5.0,
        span: Span::Across,
        fasteners: Fasteners { pull_n: Fasteners::USUAL_PULL_N, pitch_mm: None },
    }
}

fn bent(radius_mm: f64, board: &Board, pressing: &Pressing) -> (Laminate, OverbentTable) {
    let laminate = Laminate::new(&[layer(0.8, 2e4), layer(4.0, 1e4), layer(4.0, 1e4), layer(0.8, 2e4)], 0.0).unwrap();
    let target = Curvature::constant(-700.0, 700.0, 1.0 / radius_mm).unwrap();
    let bent = overbend(&target, 0.0, &laminate, &setup(board, pressing, &laminate, 30.0)).unwrap();
    (laminate, bent)
}

fn found(radius_mm: f64, board: &Board, pressing: &Pressing, build: &Build<'_>) -> Vec<Finding> {
    let (laminate, bent) = bent(radius_mm, board, pressing);
    let carried = Carried::new(&bent, board, &pressing.hold, &laminate, build);
    checks(&bent, pressing, &laminate, build, &carried)
}

#[track_caller]
fn of<'f>(found: &'f [Finding], code: &str) -> &'f Finding {
    found.iter().find(|f| f.code.name == code).unwrap_or_else(|| panic!("{code} is not in {found:#?}"))
}

#[test]
fn an_overhang_that_is_too_short_is_told_with_its_end_and_the_length_that_it_needs() {
    let lengths = |tail_mm: f64, tip_mm: f64| {
        let board = Board { overhang_tip_mm: tip_mm, ..board(tail_mm) };
        let (_, bent) = bent(1500.0, &board, &bag(0.08, 0.0, Below::Vacuum));
        longer_ends(&bent).iter().map(|ends| ends.text(Default::default())).collect::<Vec<_>>()
    };
    let [tail, tip] = &lengths(10.0, 10.0)[..] else { panic!("{:?}", lengths(10.0, 10.0)) };
    assert!(tail.ends_with(" mm at the tail") && tip.ends_with(" mm at the tip"), "{tail}, {tip}");
    assert_eq!(lengths(10.0, 100.0), std::slice::from_ref(tail));
    assert_eq!(lengths(100.0, 100.0), [""; 0]);
}

#[test]
fn a_gentle_board_on_a_stout_table_passes_every_check() {
    let all = found(5000.0, &board(100.0), &bag(0.085, 0.0, Below::Air), &build());
    assert!(all.len() >= 8 && all.iter().all(|f| f.verdict == Verdict::Ok && f.remedy.is_empty()), "{all:#?}");
}

#[test]
fn a_blank_too_short_is_told_what_it_needs() {
    let short = found(1500.0, &board(0.0), &bag(0.085, 0.0, Below::Air), &build());
    let check = of(&short, "blank-overhang");
    assert_eq!((check.verdict, check.si().unwrap().0.round()), (Verdict::Watch, 0.0));
    let needed = check.si().unwrap().1.ceil();
    let uneven = Board { overhang_tip_mm: 30.0, ..board(10.0) };
    let ends: Vec<f64> = found(1500.0, &uneven, &bag(0.085, 0.0, Below::Air), &build())
        .iter()
        .filter(|f| f.code.name == "blank-overhang")
        .map(|f| f.si().unwrap().0)
        .collect();
    assert!((ends[0] - 10.0).abs() < 0.1 && (ends[1] - 30.0).abs() < 0.1, "{ends:?}");
    let long = found(1500.0, &board(needed), &bag(0.085, 0.0, Below::Air), &build());
    assert_eq!(of(&long, "blank-overhang").verdict, Verdict::Ok);
}

#[test]
fn a_gauge_cannot_show_more_than_the_air_there_has() {
    let high = found(5000.0, &board(100.0), &bag(0.085, 2500.0, Below::Air), &build());
    let check = of(&high, "pressure-limit");
    assert_eq!(check.verdict, Verdict::Stop);
    assert!((check.si().unwrap().1 - 74.692).abs() < 0.001, "{}", check.si().unwrap().1);
    let near = found(5000.0, &board(100.0), &bag(0.072, 2500.0, Below::Air), &build());
    assert_eq!(of(&near, "pressure-limit").verdict, Verdict::Watch);
    // All that the air gives is asked for on purpose.
    let hold = Hold::Vacuum { reading_mpa: None, altitude_m: 2500.0, below: Below::Air };
    let all = found(5000.0, &board(100.0), &Pressing { hold, ..bag(0.085, 0.0, Below::Air) }, &build());
    assert_eq!(of(&all, "pressure-limit").verdict, Verdict::Ok);
}

#[test]
fn the_skin_carries_a_bag_only_where_no_air_presses_from_below() {
    let open = found(5000.0, &board(100.0), &bag(0.085, 0.0, Below::Air), &build());
    assert_eq!(of(&open, "skin-sag").si().unwrap().0, 0.0);
    let pumped = found(5000.0, &board(100.0), &bag(0.085, 0.0, Below::Vacuum), &build());
    // w s⁴/(384 E I) with E = 3.6 GPa and 4 mm, no crosswise figures of the stack.
    let expected = 0.085 * 90_f64.powi(4) / (384.0 * 3600.0 * 64.0 / 12.0);
    let check = of(&pumped, "skin-sag");
    assert!((check.si().unwrap().0 - expected).abs() < 1e-9 && check.verdict == Verdict::Stop, "{check:?}");
}

#[test]
fn a_skin_is_held_against_its_strain_or_against_the_published_radius() {
    let pressing = bag(0.085, 0.0, Below::Air);
    let thick = Build { skin: skin(6.5), ..build() };
    let plain = found(1000.0, &board(100.0), &pressing, &thick);
    let check = of(&plain, "skin-radius");
    assert_eq!((check.verdict, check.si().unwrap().1), (Verdict::Watch, 1524.0));
    let mut sheet = Material::of_modulus("sheet", MaterialKind::Sheet, 12_000.0);
    sheet.strain_limit = Some(0.002);
    let named = found(
        1000.0,
        &board(100.0),
        &pressing,
        &Build { skin: Skin { material: Some(&sheet), ..thick.skin }, ..thick },
    );
    let check = of(&named, "skin-strain");
    assert_eq!((check.verdict, check.si().unwrap().1), (Verdict::Stop, 0.2));
}

#[test]
fn advice_on_a_skin_that_is_bent_too_far_names_as_many_sheets_as_do() {
    let mut sheet = Material::of_modulus("sheet", MaterialKind::Sheet, 12_000.0);
    sheet.strain_limit = Some(0.005);
    let of_sheets = |count: usize, material| {
        let sheets = SkinSheets { count, glued: false };
        let skin = Skin { thickness_mm: 6.0, sheets, material };
        // A radius of 400 mm; six tenths of the strain limit are met by 2.4 mm, the radius across the grain by 4.2 mm.
        skin_bend(&with_surface(2.5e-3, 2.5e-3), &Build { skin, ..build() }).unwrap()
    };
    let named = of_sheets(1, Some(&sheet));
    assert_eq!(named.verdict, Verdict::Stop);
    let words = named.remedy.text(Default::default());
    assert!(words.ends_with("or bend 3 sheets of 2 mm over each other (`table.skin_sheets` = 3)."), "{words}");
    let followed = of_sheets(3, Some(&sheet));
    assert_eq!(followed.verdict, Verdict::Ok);
    assert!((followed.si().unwrap().0 - 100.0 * 0.5 * 2.0 * 2.5e-3).abs() < 1e-12, "{followed:?}");
    // The radius of the listed panel along its grain, 1524 mm at 6.4 mm, asks for 1.68 mm.
    let words = of_sheets(1, None).remedy.text(Default::default());
    assert!(words.contains("bend 4 sheets of 1.5 mm"), "{words}");
    assert_eq!(of_sheets(4, None).verdict, Verdict::Ok);
}

#[test]
fn a_cure_outside_of_what_the_resin_allows_stops() {
    let mut pressing = bag(0.085, 0.0, Below::Air);
    for (cure_c, verdict) in [(14.0, Verdict::Stop), (20.0, Verdict::Ok), (55.0, Verdict::Stop)] {
        pressing.resin = Some(ResinCure { least_c: Some(16.0), most_c: Some(50.0), cure_c });
        let all = found(5000.0, &board(100.0), &pressing, &build());
        let worst = all.iter().filter(|f| f.code.name == "cure-temperature").map(|f| f.verdict).max();
        assert_eq!(worst, Some(verdict), "{cure_c}");
    }
}

#[test]
fn a_weak_table_gives_back_its_curve() {
    // Closed form for one moment all along: sink of the end M w L²/(2 E I).
    let weak = Build { ribs_mm4: &[(0.0, 1e5)], ..build() };
    let all = found(5000.0, &board(100.0), &bag(0.085, 0.0, Below::Air), &weak);
    let check = of(&all, "table-stiffness");
    let moment = (2.0 * (1e4 * 64.0 + 2e4 * 0.512) / 12.0) / (5000.0 * (1.0 - 0.113));
    let expected = moment * 300.0 * 700_f64.powi(2) / (2.0 * 3600.0 * 1e5);
    assert!((check.si().unwrap().0 / expected - 1.0).abs() < 0.05, "{} is not {expected}", check.si().unwrap().0);
    assert_eq!(check.verdict, Verdict::Stop);
}

#[test]
fn weights_beyond_an_atmosphere_and_clamps_beyond_what_wood_bears_are_told() {
    let even = |count: usize, force_n: f64| Hold::Clamps { places: ClampPlaces::Even(count), force_n, caul: None };
    let at = |force_n: f64| {
        let places = ClampPlaces::At((-7..=7).map(|i| f64::from(100 * i)).collect());
        Hold::Clamps { places, force_n, caul: None }
    };
    // The blank has 1600 mm by 300 mm.
    for (hold, told) in [
        (Hold::Weights { force_n: 40e3 }, false),
        (Hold::Weights { force_n: 60e3 }, true),
        (Hold::Press { pressure_mpa: 0.3 }, false),
        (Hold::Press { pressure_mpa: 3.0 }, true),
        (even(20, 4e3), false),
        (even(20, 80e3), true),
        (at(4e3), false),
        (at(80e3), true),
    ] {
        let pressing = Pressing { hold, ..bag(0.08, 0.0, Below::Air) };
        let all = found(5000.0, &board(100.0), &pressing, &build());
        let check = all.iter().find(|f| f.code.name == "pressure-unusual");
        assert_eq!(check.map(|c| c.verdict), told.then_some(Verdict::Watch), "{pressing:?}");
        let Some(check) = check else { continue };
        let (kpa, most) = match &pressing.hold {
            Hold::Weights { force_n } => (1e3 * force_n / (1600.0 * 300.0), 101.325),
            Hold::Press { pressure_mpa } => (1e3 * pressure_mpa, 1e3 * MOST_GLUING_MPA),
            Hold::Clamps { places: ClampPlaces::Even(count), force_n, .. } => {
                (1e3 * *count as f64 * force_n / (1600.0 * 300.0), 1e3 * MOST_GLUING_MPA)
            }
            // The flat blank is a little shorter than the base of the board.
            _ => (1e3 * 15.0 * 80e3 / (1600.0 * 300.0), 1e3 * MOST_GLUING_MPA),
        };
        assert!(
            (check.si().unwrap().0 / kpa - 1.0).abs() < 2e-3 && (check.si().unwrap().1 - most).abs() < 1e-9,
            "{check:?}"
        );
    }
}

#[test]
fn a_row_of_clamps_holds_the_board_and_knows_no_vacuum() {
    let places = ClampPlaces::At((-7..=7).map(|i| f64::from(100 * i)).collect());
    let hold = Hold::Clamps { places, force_n: 1500.0, caul: None };
    let all = found(5000.0, &board(60.0), &Pressing { hold, ..bag(0.08, 0.0, Below::Air) }, &build());
    assert!(all.iter().all(|f| f.code.name != "pressure-limit"));
    assert_eq!(of(&all, "left-over").verdict, Verdict::Ok);
}

#[test]
fn screws_at_a_stated_pitch_that_pull_out_stop_and_those_to_be_chosen_only_warn() {
    let mut weak = build();
    weak.fasteners.pull_n = 1.0;
    let told = |build: &Build<'_>| {
        of(&found(1200.0, &board(260.0), &bag(0.085, 0.0, Below::Air), build), "fastener-pull").clone()
    };
    let open = told(&weak);
    assert!(
        open.si().unwrap().0 > open.si().unwrap().1
            && open.verdict == Verdict::Watch
            && open.remedy.text(Default::default()).contains("Glue"),
        "{open:?}"
    );
    weak.fasteners.pitch_mm = Some(80.0);
    let stated = told(&weak);
    assert!(stated.si().unwrap().0 > TORN && stated.verdict == Verdict::Stop, "{stated:?}");
    // Twice the pull that a fastener is good for is the most that it may be asked for a while.
    weak.fasteners.pull_n = 1.01 * stated.si().unwrap().0 / TORN;
    assert_eq!(told(&weak).verdict, Verdict::Watch);
    weak.fasteners.pull_n = 1.01 * stated.si().unwrap().0;
    assert_eq!(told(&weak).verdict, Verdict::Ok);
}

#[test]
fn plywood_thinner_than_listed_bends_to_the_same_strain_and_thicker_counts_as_the_next_listed() {
    for (thickness_mm, radii) in [
        (6.4, Some((610.0, 1524.0))),
        (3.2, Some((305.0, 762.0))),
        (6.5, Some((610.0, 1524.0))),
        (7.0, Some((610.0, 1829.0))),
        (9.0, Some((915.0, 2438.0))),
        (19.0, Some((3658.0, 6096.0))),
        (19.3, None),
        (0.0, None),
        (f64::NAN, None),
    ] {
        assert_eq!(plywood_radius_mm(thickness_mm), radii, "{thickness_mm}");
    }
}

/// A table of a gentle board whose surface is then bent otherwise.
fn with_surface(k_tail: f64, k_tip: f64) -> OverbentTable {
    let laminate = Laminate::new(&[layer(4.0, 1e4), layer(4.0, 1e4)], 0.0).unwrap();
    let target = Curvature::constant(-700.0, 700.0, 1.0 / 5000.0).unwrap();
    let setup = setup(&board(100.0), &bag(0.085, 0.0, Below::Air), &laminate, 30.0);
    let surface = Curvature::through(&[(-800.0, k_tail), (800.0, k_tip)]).unwrap();
    OverbentTable { surface, ..overbend(&target, 0.0, &laminate, &setup).unwrap() }
}

#[test]
fn the_skin_is_judged_where_it_is_bent_the_most_whichever_way() {
    let mut sheet = Material::of_modulus("sheet", MaterialKind::Sheet, 12_000.0);
    sheet.strain_limit = Some(0.005);
    let named = Build { skin: Skin { material: Some(&sheet), ..skin(4.0) }, ..build() };
    // Half of 4 mm over a radius of 500 mm: 0.4 %, more than six tenths of 0.5 %.
    for (tail, tip, at) in [(-2e-3, 1e-3, "-800 mm"), (1e-3, 2e-3, "800 mm"), (-1e-3, -2e-3, "800 mm")] {
        let check = skin_bend(&with_surface(tail, tip), &named).unwrap();
        assert!(
            (check.si().unwrap().0 - 0.4).abs() < 1e-12 && check.subject.text(Default::default()).contains(at),
            "{check:?}"
        );
        assert_eq!((check.verdict, check.si().unwrap().1), (Verdict::Watch, 0.3));
    }
    for (k, verdict) in [(1e-3, Verdict::Ok), (1.6e-3, Verdict::Watch), (2.6e-3, Verdict::Stop)] {
        assert_eq!(skin_bend(&with_surface(k, k), &named).unwrap().verdict, verdict, "{k}");
    }
    // Of 4 mm plywood: 610 and 1524 mm times 4/6.4.
    for (radius_mm, verdict) in [(1000.0, Verdict::Ok), (900.0, Verdict::Watch), (370.0, Verdict::Stop)] {
        let k = 1.0 / radius_mm;
        assert_eq!(skin_bend(&with_surface(k, k), &build()).unwrap().verdict, verdict, "{radius_mm}");
    }
    assert_eq!(skin_bend(&with_surface(0.0, 0.0), &build()), None);
}

#[test]
fn a_gap_between_layers_is_told_with_the_layer_below_it() {
    let bent = |thickness_mm: f64, k: f64| Layer { natural_curvature_per_mm: k, ..layer(thickness_mm, 1e4) };
    // The lower layer is bent to a hump by itself, the upper one wants to be flat.
    let target = Curvature::constant(-700.0, 700.0, -1.0 / 1500.0).unwrap();
    let layers = [Layer { name: "base".to_owned(), ..bent(4.0, -1.0 / 1500.0) }, layer(8.0, 1e4)];
    let laminate = Laminate::new(&layers, 0.0).unwrap();
    let load = Load::even(0.002);
    let setup = Setup { overhang_tail_mm: 0.0, overhang_tip_mm: 0.0, end_margin_mm: 30.0, load: load.clone() };
    let table = overbend(&target, 0.0, &laminate, &setup).unwrap();
    let check = void(&table.pressed, table.finished_table_mm, &load, &laminate).unwrap();
    let widest = table.pressed.largest_void(&laminate, &load, table.finished_table_mm).unwrap().unwrap();
    assert_eq!((check.code.name, check.si().unwrap().0), ("glue-void", widest.gap_mm));
    assert!(widest.gap_mm > GAP_MM.1 && check.verdict == Verdict::Stop, "{check:?}");
    assert!(check.subject.text(Default::default()).contains("base, layer 1"), "{check:?}");
}
