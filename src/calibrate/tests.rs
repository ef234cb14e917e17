//! Boards off invented tables as they are read, and the places and shares that the readings tell.

use kurbo::Vec2;

use super::*;
use crate::curve::{Curvature, Curve, Piece, PlaneCurve, Pose};
use crate::job::{
    Datum, Ends, Layer, LengthAlong, Material, MaterialKind, Origin, Reading, Readings, Smoothing, StationsAlong,
};
use crate::laminate::Laminate;
use crate::numeric::Random;
use crate::press::{Blank, Load};
use crate::rocker::measured::{Fit, FitOptions, fit};

pub(super) const HALF_MM: f64 = 650.0;

fn layer(thickness_mm: f64, modulus_mpa: f64) -> Layer {
    Layer::flat("layer", Material::of_modulus("given", MaterialKind::WoodAlong, modulus_mpa), thickness_mm)
}

/// A core in one piece between thin skins: it gives back a good third.
fn stack() -> Laminate {
    Laminate::new(&[layer(0.8, 25_000.0), layer(8.0, 10_890.0), layer(0.8, 25_000.0)], 0.0).unwrap()
}

/// The share that it gives back.
pub(super) fn share() -> f64 {
    stack().section_at(0.0).springback_share()
}

/// Twenty plies of 1 mm, which give back a four-hundredth.
pub(super) fn off_table_of_thin_plies() -> OffTable {
    let plies = Laminate::new(&vec![layer(1.0, 10_890.0); 20], 0.0).unwrap();
    let table = Curvature::constant(-800.0, 800.0, 3.2e-4).unwrap();
    let blank = Blank { tail_mm: -720.0, tip_mm: 720.0 };
    OffTable::new(&table, &plies, blank, &Load::even(0.08), (-HALF_MM, HALF_MM)).unwrap()
}

/// Off a table of this curvature over its own length.
fn off(table: &Curvature, pressure_mpa: f64) -> OffTable {
    let blank = Blank { tail_mm: -720.0, tip_mm: 720.0 };
    OffTable::new(table, &stack(), blank, &Load::even(pressure_mpa), (-HALF_MM, HALF_MM)).unwrap()
}

pub(super) fn on_arc(k_per_mm: f64) -> OffTable {
    off(&Curvature::constant(-800.0, 800.0, k_per_mm).unwrap(), 0.08)
}

pub(super) fn off_table() -> OffTable {
    on_arc(3.2e-4)
}

/// Readings of a curve that lies tilted and a little off the floor, from the tail on.
pub(super) fn read(curve: &Curve, error_mm: f64, seed: u64) -> Readings {
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

/// A board of this curvature but over one place.
fn differing(k: f64, (a, b): (f64, f64), within: f64) -> Curve {
    let piece = |start_mm: f64, end_mm: f64, k: f64| Piece { start_mm, end_mm, k_start_per_mm: k, k_end_per_mm: k };
    let pieces = vec![piece(-HALF_MM, a, k), piece(a, b, within), piece(b, HALF_MM, k)];
    Curve::new(Curvature::new(pieces).unwrap())
}

/// A board that is flat over 120 mm, as where a layer is not bonded and gives all back.
#[test]
fn a_dry_spot_is_found_where_it_is() {
    let off = off_table();
    let k = off.base(0.9).unwrap().curvature().at(300.0);
    let (a, b) = (240.0, 360.0);
    let angle = -k * (b - a);
    let found = fit_board(&off, &read(&differing(k, (a, b), 0.0), 0.15, 5), "readings").unwrap();
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
    for (a, b, within, cause) in [(480.0, 600.0, 0.0, Cause::LiftOff), (0.0, 120.0, 2.0 * k, Cause::Thickness)] {
        let curve = differing(k, (a, b), within);
        let local = fit_board(&off, &read(&curve, 0.1, 5), "readings").unwrap().local.unwrap();
        assert_eq!(local.cause, cause, "{local:?}");
        assert!((local.s_mm - 0.5 * (a + b)).abs() < 100.0, "{local:?}");
    }
}

/// With height, tilt, factor and the place itself free, five readings hold one figure that could speak against chance.
#[test]
fn six_readings_name_a_place_and_five_do_not() {
    let off = off_table();
    let k = off.base(0.9).unwrap().curvature().at(300.0);
    let all = read(&differing(k, (-20.0, 20.0), 2.0 * k), 0.0, 1);
    let named = |all: &Readings, stations: &[usize]| {
        let readings = stations.iter().map(|i| all.readings[*i]).collect();
        fit_board(&off, &Readings { readings, ..all.clone() }, "readings").unwrap().local
    };
    let local = named(&all, &[0, 4, 8, 12, 16, 20]).unwrap();
    assert!(local.s_mm.abs() < 60.0 && (local.angle_rad / (40.0 * k) - 1.0).abs() < 0.02, "{local:?}");
    let all = read(&differing(k, (-310.0, -190.0), 3.0 * k), 0.0, 1);
    assert_eq!(named(&all, &[0, 2, 4, 18, 20]), None);
}

/// Nothing is read from the middle to the tip: no bend there moves a reading, so none can be looked for.
#[test]
fn a_place_is_found_on_the_half_that_was_read() {
    let off = off_table();
    let k = off.base(0.9).unwrap().curvature().at(300.0);
    let mut readings = read(&differing(k, (-360.0, -240.0), 0.0), 0.1, 5);
    readings.readings.truncate(13);
    let local = fit_board(&off, &readings, "readings").unwrap().local.unwrap();
    assert!((local.s_mm + 300.0).abs() < 100.0, "{local:?}");
}

/// A table that is flat but for its ends, where a board that bends in its middle cannot have that from springback.
#[test]
fn a_bend_where_the_table_is_flat_is_no_springback() {
    let piece = |start_mm: f64, end_mm: f64, k: f64| Piece { start_mm, end_mm, k_start_per_mm: k, k_end_per_mm: k };
    let table = vec![piece(-800.0, -390.0, 6e-4), piece(-390.0, 390.0, 0.0), piece(390.0, 800.0, 6e-4)];
    let off = off(&Curvature::new(table).unwrap(), 0.08);
    let base = off.base(0.9).unwrap().curvature().refined(20.0);
    for more in [3e-4, -3e-4] {
        let mut pieces = Vec::new();
        for p in base.pieces() {
            let added = if p.start_mm >= -61.0 && p.end_mm <= 61.0 { more } else { 0.0 };
            pieces.push(Piece { k_start_per_mm: p.k_start_per_mm + added, k_end_per_mm: p.k_end_per_mm + added, ..*p });
        }
        let bent = Curve::new(Curvature::new(pieces).unwrap());
        let local = fit_board(&off, &read(&bent, 0.1, 5), "readings").unwrap().local.unwrap();
        assert!(local.s_mm.abs() < 100.0 && local.angle_rad * more > 0.0, "{local:?}");
        assert_eq!(local.cause, Cause::Thickness);
    }
}

/// A dip of the table that the stack spans: what the board is flatter by there it never had.
#[test]
fn a_flatter_place_where_the_stack_spans_the_table_is_called_lift_off() {
    let table = [(-800.0, 3e-4), (100.0, 3e-4), (200.0, 4e-3), (300.0, 3e-4), (800.0, 3e-4)];
    let off = off(&Curvature::through(&table).unwrap(), 0.02);
    let pressed = off.pressed();
    let gap = pressed.stations.iter().zip(&pressed.contact.gap_mm).filter(|(s, _)| (s.blank_mm - 200.0).abs() < 60.0);
    assert!(gap.map(|(_, g)| *g).fold(0.0, f64::max) > 0.2);
    let base = off.base(0.9).unwrap().curvature().refined(20.0);
    let pieces = base.pieces().iter().map(|p| {
        let flat = p.start_mm >= 140.0 && p.end_mm <= 260.0;
        let part = if flat { 0.3 } else { 1.0 };
        Piece { k_start_per_mm: part * p.k_start_per_mm, k_end_per_mm: part * p.k_end_per_mm, ..*p }
    });
    let flatter = Curve::new(Curvature::new(pieces.collect()).unwrap());
    let local = fit_board(&off, &read(&flatter, 0.1, 5), "readings").unwrap().local.unwrap();
    assert!((local.s_mm - 200.0).abs() < 100.0 && local.angle_rad < 0.0, "{local:?}");
    assert_eq!(local.cause, Cause::LiftOff);
}

fn through(readings: &Readings) -> Fit {
    let options = FitOptions {
        length_mm: 2.0 * HALF_MM,
        length_along: LengthAlong::Base,
        ends: Ends::Free,
        path: "readings".to_owned(),
    };
    fit(readings, &options).unwrap()
}

#[test]
fn the_shares_along_the_board_are_those_that_it_gave_back() {
    let off = off_table();
    let shares = shares_along(&off, &through(&read(&off.base(0.6).unwrap(), 0.2, 9)), 5);
    assert_eq!(shares.len(), 5);
    let expected = stack().section_at(0.0).springback_share();
    for s in shares {
        assert!((s.predicted - expected).abs() < 2e-3, "{s:?} {expected}");
        assert!((s.measured - 0.6 * expected).abs() < 4.0 * s.deviation + 2e-3, "{s:?} {expected}");
    }
}

/// Three of five places lie on the flat between the kicks.
#[test]
fn places_that_were_pressed_nearly_flat_tell_no_share() {
    let piece = |start_mm: f64, end_mm: f64, k: f64| Piece { start_mm, end_mm, k_start_per_mm: k, k_end_per_mm: k };
    let table = vec![piece(-800.0, -390.0, 6e-4), piece(-390.0, 390.0, 0.0), piece(390.0, 800.0, 6e-4)];
    let off = off(&Curvature::new(table).unwrap(), 0.08);
    let shares = shares_along(&off, &through(&read(&off.base(1.0).unwrap(), 0.1, 9)), 5);
    let places: Vec<f64> = shares.iter().map(|s| s.s_mm).collect();
    assert_eq!(places, [-520.0, 520.0]);
    assert!(shares.iter().all(|s| (s.predicted - share()).abs() < 2e-3), "{shares:?}");
}

/// Two equal layers of which one shrinks by d curl to 3 d/2 over the thickness t of both; their neutral line is t/2 high, so
/// that the base is left without length where d exceeds 4/3.
#[test]
fn a_stack_that_folds_as_it_cools_tells_no_share() {
    let cooled = |expansion_per_k: f64| {
        let [mut base, mut deck] = [layer(4.0, 10_000.0), layer(4.0, 10_000.0)];
        base.material.expansion_per_k = Some(0.0);
        deck.material.expansion_per_k = Some(-expansion_per_k);
        let stack = Laminate::new(&[base, deck], 10.0).unwrap();
        let table = Curvature::constant(-800.0, 800.0, 3.2e-4).unwrap();
        let blank = Blank { tail_mm: -720.0, tip_mm: 720.0 };
        OffTable::new(&table, &stack, blank, &Load::even(0.08), (-HALF_MM, HALF_MM)).unwrap()
    };
    let fit = through(&read(&off_table().base(1.0).unwrap(), 0.1, 9));
    assert_ne!(shares_along(&cooled(0.13), &fit, 5), []);
    assert_eq!(shares_along(&cooled(0.14), &fit, 5), []);
}
