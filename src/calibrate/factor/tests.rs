use super::*;
use crate::calibrate::{Cause, shares_along};
use crate::curve::{Curvature, Piece};
use crate::job::{Datum, Ends, Layer, LengthAlong, Material, MaterialKind, Origin, Reading, Smoothing};
use crate::laminate::Laminate;
use crate::numeric::Random;
use crate::press::{Blank, Load};
use crate::rocker::measured::{FitOptions, fit};
use proptest::prelude::*;

const HALF_MM: f64 = 650.0;

fn layer(thickness_mm: f64, modulus_mpa: f64) -> Layer {
    Layer::flat("layer", Material::of_modulus("given", MaterialKind::WoodAlong, modulus_mpa), thickness_mm)
}

/// A core in one piece between thin skins: it gives back a good third.
fn stack() -> Laminate {
    Laminate::new(&[layer(0.8, 25_000.0), layer(8.0, 10_890.0), layer(0.8, 25_000.0)], 0.0).unwrap()
}

fn off_table() -> OffTable {
    let table = Curvature::constant(-800.0, 800.0, 3.2e-4).unwrap();
    let blank = Blank { tail_mm: -720.0, tip_mm: 720.0 };
    OffTable::new(&table, &stack(), blank, &Load::even(0.08), (-HALF_MM, HALF_MM)).unwrap()
}

/// Readings of a curve that lies tilted and a little off the floor, from the tail on.
fn read(curve: &Curve, error_mm: f64, seed: u64) -> Readings {
    let mut random = Random::new(seed);
    let lying = curve.posed(Pose { turn_rad: 0.004, shift: Vec2::new(0.0, 3.0) });
    let reading = |i: u32| {
        let station_mm = 65.0 * f64::from(i);
        let height_mm = lying.at(station_mm - HALF_MM).point.y + error_mm * random.normal();
        Reading { station_mm, height_mm }
    };
    Readings {
        readings: (0..=20).map(reading).collect(),
        datum: Datum::Straightedge,
        along: StationsAlong::Base,
        origin: Origin::Tail,
        error_mm: Some(error_mm.max(0.1)),
        file: None,
        smoothing: Smoothing::Likelihood,
        excluded: Vec::new(),
    }
}

#[test]
fn exact_readings_give_the_factor_back_at_any_height_and_tilt() {
    let off = off_table();
    for factor in [0.0, 0.4, 1.0, 1.6] {
        let found = fit_board(&off, &read(&off.base(factor).unwrap(), 0.0, 1), "readings").unwrap();
        assert!((found.factor - factor).abs() < 1e-4, "{} is not {factor}", found.factor);
        assert!(found.is_explained() && found.misfit < 1e-3, "{}", found.misfit);
    }
}

#[test]
fn stations_along_a_rule_and_from_the_tip_give_the_same_factor() {
    let off = off_table();
    let curve = off.base(0.7).unwrap().posed(Pose { turn_rad: 0.003, shift: Vec2::new(0.0, 2.0) });
    let tip = curve.at(HALF_MM).point;
    let reading = |i: u32| {
        let on = curve.at(HALF_MM - 65.0 * f64::from(i)).point;
        Reading { station_mm: tip.x - on.x, height_mm: on.y }
    };
    let readings = Readings {
        readings: (0..=20).map(reading).collect(),
        along: StationsAlong::Datum,
        origin: Origin::Tip,
        ..read(&curve, 0.0, 1)
    };
    let found = fit_board(&off, &readings, "readings").unwrap();
    assert!((found.factor - 0.7).abs() < 1e-3, "{}", found.factor);
}

/// Over 200 sets of readings the factors must scatter as the stated deviation says, and nine in ten bands hold the truth.
#[test]
fn the_band_is_as_wide_as_readings_scatter() {
    let off = off_table();
    let curve = off.base(0.8).unwrap();
    let (mut inside, mut square, mut deviation, mut named) = (0, 0.0, 0.0, 0);
    let sets = 200;
    for seed in 0..sets {
        let found = fit_board(&off, &read(&curve, 0.5, 100 + seed), "readings").unwrap();
        let (low, high) = found.band();
        inside += u32::from((low..=high).contains(&0.8));
        square += (found.factor - 0.8).powi(2) / sets as f64;
        deviation += found.deviation / sets as f64;
        named += u32::from(found.local.is_some());
    }
    let share = f64::from(inside) / sets as f64;
    assert!((share - 0.9).abs() < 0.08, "{share}");
    let ratio = square.sqrt() / deviation;
    assert!((0.8..1.2).contains(&ratio), "{ratio}");
    assert!(named <= 4, "{named} honest boards of {sets} were called uneven");
}

#[test]
fn one_bad_reading_moves_the_factor_little() {
    let off = off_table();
    let mut readings = read(&off.base(0.8).unwrap(), 0.3, 3);
    let before = fit_board(&off, &readings, "readings").unwrap();
    readings.readings[14].height_mm += 10.0;
    let after = fit_board(&off, &readings, "readings").unwrap();
    assert!((after.factor - before.factor).abs() < 0.5 * before.deviation, "{} {}", before.factor, after.factor);
    assert!(after.rows[14].weight < 0.02 && after.local.is_none(), "{:?}", after.local);
}

/// A board that is flat over 120 mm, as where a layer is not bonded and gives all back.
#[test]
fn a_dry_spot_is_found_where_it_is() {
    let off = off_table();
    let curve = off.base(0.9).unwrap();
    let (a, b) = (240.0, 360.0);
    let k = curve.curvature().at(300.0);
    let angle = -k * (b - a);
    let piece = |start_mm: f64, end_mm: f64, k: f64| Piece { start_mm, end_mm, k_start: k, k_end: k };
    let dry = Curvature::new(vec![piece(-HALF_MM, a, k), piece(a, b, 0.0), piece(b, HALF_MM, k)]).unwrap();
    let found = fit_board(&off, &read(&Curve::new(dry), 0.15, 5), "readings").unwrap();
    let local = found.local.unwrap();
    assert!(!found.is_explained() && (local.s_mm - 300.0).abs() < 100.0, "{local:?}");
    assert!((local.angle_rad - angle).abs() < 4.0 * local.deviation_rad, "{local:?} {angle}");
    assert_eq!(local.cause, Cause::DrySpot);
}

/// Flat over 120 mm next to an end, where a stack first leaves its table; and bent twice as much in the middle, which no
/// springback does.
#[test]
fn a_flat_end_is_called_lift_off_and_a_place_that_is_bent_more_thickness() {
    let off = off_table();
    let k = off.base(0.9).unwrap().curvature().at(300.0);
    let piece = |start_mm: f64, end_mm: f64, k: f64| Piece { start_mm, end_mm, k_start: k, k_end: k };
    for (a, b, within, cause) in [(480.0, 600.0, 0.0, Cause::LiftOff), (0.0, 120.0, 2.0 * k, Cause::Thickness)] {
        let pieces = vec![piece(-HALF_MM, a, k), piece(a, b, within), piece(b, HALF_MM, k)];
        let curve = Curve::new(Curvature::new(pieces).unwrap());
        let local = fit_board(&off, &read(&curve, 0.1, 5), "readings").unwrap().local.unwrap();
        assert_eq!(local.cause, cause, "{local:?}");
        assert!((local.s_mm - 0.5 * (a + b)).abs() < 100.0, "{local:?}");
    }
}

#[test]
fn the_shares_along_the_board_are_those_that_it_gave_back() {
    let off = off_table();
    let readings = read(&off.base(0.6).unwrap(), 0.2, 9);
    let options = FitOptions {
        length_mm: 2.0 * HALF_MM,
        length_along: LengthAlong::Base,
        ends: Ends::Free,
        path: "readings".to_owned(),
    };
    let shares = shares_along(&off, &fit(&readings, &options).unwrap(), 5);
    assert_eq!(shares.len(), 5);
    let expected = stack().section_at(0.0).springback_share();
    for s in shares {
        assert!((s.predicted - expected).abs() < 2e-3, "{s:?} {expected}");
        assert!((s.measured - 0.6 * expected).abs() < 4.0 * s.deviation + 2e-3, "{s:?} {expected}");
    }
}

#[test]
fn what_teaches_nothing_is_refused() {
    let flat = Curvature::constant(-800.0, 800.0, 0.0).unwrap();
    let blank = Blank { tail_mm: -720.0, tip_mm: 720.0 };
    let off = OffTable::new(&flat, &stack(), blank, &Load::even(0.08), (-HALF_MM, HALF_MM)).unwrap();
    let fault = fit_board(&off, &read(&off.base(1.0).unwrap(), 0.3, 1), "readings").unwrap_err();
    assert!(["springback-not-seen", "board-not-of-table"].contains(&fault.code), "{fault}");
    let mut few = read(&off_table().base(1.0).unwrap(), 0.3, 1);
    few.readings.truncate(3);
    assert_eq!(fit_board(&off_table(), &few, "readings").unwrap_err().code, "readings-too-few");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]
    /// Mirrored readings from the other end say the same of an even table.
    #[test]
    fn tip_and_tail_may_change_places(factor in 0.1..1.8_f64, seed in 0..1000_u64) {
        let off = off_table();
        let readings = read(&off.base(factor).unwrap(), 0.3, seed);
        let mirrored = Readings { origin: Origin::Tip, ..readings.clone() };
        let (a, b) = (fit_board(&off, &readings, "r").unwrap(), fit_board(&off, &mirrored, "r").unwrap());
        prop_assert!((a.factor - b.factor).abs() < 1e-3 * (1.0 + a.deviation));
        prop_assert!((a.factor - factor).abs() < 6.0 * a.deviation);
    }
}
