//! Readings with gross mistakes among them: the mistakes are named and left out, and the tip stays where it is.
//!
//! `OVERBEND_CASES=200 cargo test --test library bad_readings` looks at more boards.

use overbend::curve::{Curvature, Curve, Piece, PlaneCurve, resting_pose};
use overbend::job::{Datum, Ends, LengthAlong, Origin, Reading, Readings, Smoothing, StationsAlong};
use overbend::rocker::Target;
use overbend::rocker::measured::{FitOptions, fit};

/// Boards of each shape in an ordinary run.
const CASES: u64 = 8;

/// Numbers from a fixed sequence (SplitMix64, and the polar form of Box and Muller).
struct Noise(u64);

impl Noise {
    fn unit(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
    }

    fn normal(&mut self) -> f64 {
        loop {
            let (u, v) = (2.0 * self.unit() - 1.0, 2.0 * self.unit() - 1.0);
            let square = u * u + v * v;
            if square > 0.0 && square < 1.0 {
                return u * (-2.0 * square.ln() / square).sqrt();
            }
        }
    }

    fn below(&mut self, count: usize) -> usize {
        (self.unit() * count as f64) as usize
    }
}

/// Boards of 1400 mm: all arc; flat with kicked ends that ease in; camber with unlike ends; flat with plain arcs.
fn shapes() -> [(&'static str, Curvature); 4] {
    let through = |nodes: &[(f64, f64)]| Curvature::through(nodes).unwrap();
    let piece = |start_mm, end_mm, k| Piece { start_mm, end_mm, k_start_per_mm: k, k_end_per_mm: k };
    let kicked = [(-700.0, 700.0), (-520.0, 900.0), (-400.0, f64::INFINITY), (400.0, f64::INFINITY), (520.0, 900.0)];
    let kicked: Vec<(f64, f64)> =
        kicked.iter().chain(&[(700.0, 700.0)]).map(|&(s, radius): &(f64, f64)| (s, 1.0 / radius)).collect();
    let camber =
        [(-700.0, 900.0), (-500.0, 900.0), (-350.0, -12500.0), (300.0, -12500.0), (450.0, 600.0), (700.0, 500.0)];
    let camber: Vec<(f64, f64)> = camber.iter().map(|&(s, radius): &(f64, f64)| (s, 1.0 / radius)).collect();
    let arcs = [piece(-700.0, -450.0, 1.0 / 800.0), piece(-450.0, 450.0, 0.0), piece(450.0, 700.0, 1.0 / 800.0)];
    [
        ("arc", Curvature::constant(-700.0, 700.0, 1.0 / 4000.0).unwrap()),
        ("kicked", through(&kicked)),
        ("camber", through(&camber)),
        ("jumps", Curvature::new(arcs.to_vec()).unwrap()),
    ]
}

/// Readings every 50 mm, those at tip and tail taken three times, up to one in ten of them 3 to 20 mm off.
fn read(curve: &Curve, error_mm: f64, noise: &mut Noise) -> (Readings, Vec<usize>) {
    let stations = (0..29).map(|i| 50.0 * f64::from(i)).chain([0.0, 1400.0, 0.0, 1400.0]);
    let mut readings: Vec<Reading> = stations
        .map(|station_mm| {
            let height_mm = curve.at(station_mm - 700.0).point.y + error_mm * noise.normal();
            Reading { station_mm, height_mm }
        })
        .collect();
    let mut bad = Vec::new();
    for _ in 0..1 + noise.below(3) {
        let at = noise.below(readings.len());
        if bad.contains(&at) {
            continue;
        }
        let size_mm = 3.0 + 17.0 * noise.unit();
        // No rule reads far below the floor that it stands on.
        let down = noise.unit() < 0.5 && readings[at].height_mm - size_mm > -4.0;
        readings[at].height_mm += if down { -size_mm } else { size_mm };
        bad.push(at);
    }
    let readings = Readings {
        readings,
        file: None,
        datum: Datum::Floor,
        along: StationsAlong::Base,
        origin: Origin::Tail,
        error_mm: None,
        smoothing: Smoothing::Likelihood,
        excluded: Vec::new(),
    };
    (readings, bad)
}

#[test]
fn bad_readings_are_named_and_leave_the_tip_where_it_is() {
    let cases = std::env::var("OVERBEND_CASES").ok().map_or(CASES, |c| c.parse().expect("OVERBEND_CASES is a number"));
    let options =
        FitOptions { length_mm: 1400.0, length_along: LengthAlong::Base, ends: Ends::Free, path: "measured".into() };
    for stated in [false, true] {
        let (mut bad_count, mut named_count, mut good_count, mut false_count) = (0, 0, 0, 0);
        for (shape, exact) in shapes() {
            let curve = resting_pose(&Curve::new(exact), 0.0);
            let mut square = 0.0;
            for case in 0..cases {
                let mut noise = Noise(case.wrapping_mul(977) + 11);
                let error_mm = if case % 2 == 0 { 0.3 } else { 0.5 };
                let (mut readings, bad) = read(&curve, error_mm, &mut noise);
                readings.error_mm = stated.then_some(error_mm);
                let fit = fit(&readings, &options).unwrap_or_else(|f| panic!("{shape} {case}: {f:?}"));
                let off = Target::of_fit(fit.clone()).tip_height_mm() - curve.at(700.0).point.y;
                square += off.powi(2) / cases as f64;
                for (i, row) in fit.rows.iter().enumerate() {
                    let named = usize::from(row.stands_out.is_some());
                    if bad.contains(&i) {
                        (named_count, bad_count) = (named_count + named, bad_count + 1);
                    } else {
                        (false_count, good_count) = (false_count + named, good_count + 1);
                    }
                }
            }
            println!("{shape}, error stated: {stated}: tip off by {:.3} mm rms", square.sqrt());
            assert!(square.sqrt() < 0.5, "{shape}, stated {stated}: tip off by {} mm", square.sqrt());
        }
        println!("named {named_count} of {bad_count}, false {false_count} of {good_count}");
        assert!(named_count as f64 > 0.95 * bad_count as f64, "named {named_count} of {bad_count}");
        assert!(100 * false_count < good_count, "false {false_count} of {good_count}");
    }
}
