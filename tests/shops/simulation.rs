//! Invented shops that press one board after the other and learn from each.

use overbend::calibrate::{EXPECTED_SCATTER, MeasuredFactor, OffTable, Prior, Sensitivities, fit_board, learn};
use overbend::curve::{Curvature, Curve, PlaneCurve, resting_pose};
use overbend::forecast::end_heights_mm;
use overbend::job::{
    ClosingIn, Datum, Layer, Material, MaterialKind, Origin, Reading, Readings, Share, Smoothing, Spread, StationsAlong,
};
use overbend::laminate::Laminate;
use overbend::numeric::Random;
use overbend::press::{Load, press_again, release};
use overbend::table::{OverbentTable, Setup, overbend};

/// Boards that each shop presses.
pub(crate) const BOARDS: usize = 6;

pub(crate) const HALF_MM: f64 = 670.0;
pub(crate) const TIP_MM: f64 = 45.0;
const READING_MM: f64 = 0.5;
/// Modulus of the core's wood in the catalogue.
const CATALOGUE_MPA: f64 = 10_890.0;
/// How near the program takes a designed table to be to its drawing, mm. These shops build theirs to the letter.
pub(crate) const TABLE_MM: f64 = 0.3;
/// Scatter of the core's modulus between batches and within one, and of the relaxation.
const BETWEEN: f64 = 0.20;
const WITHIN: f64 = 0.07;
const RELAXED: (f64, f64) = (0.0, 0.3);
/// Error of a sag test's modulus.
const SAG_TEST: f64 = 0.03;
/// What shops differ by before a board was measured, as the program takes it where a job says nothing.
const SHOPS: Share = Share { value: 1.0, sd: 0.3 };

/// Errors of the tip's height, mm, of one shop.
pub(crate) struct Errors {
    /// First board, table from catalogue values.
    pub(crate) catalogue: f64,
    /// First board, table from a sag test of the batch.
    pub(crate) sag_test: f64,
    /// The last board on a table from the factor that the batch really has: what its own wood makes, and no knowledge mends.
    pub(crate) known: f64,
    /// Boards after `catalogue`, each with what the shop learned until then: second board first.
    pub(crate) learned: [f64; BOARDS - 1],
    /// Whether the shop's band for the factor held the one that its batch has, after each of these boards but the last.
    pub(crate) held: [bool; BOARDS - 1],
}

fn stack(modulus_mpa: f64, cv: f64) -> Laminate {
    let skin = || Layer::flat("skin", Material::of_modulus("glass", MaterialKind::Laminate, 25_000.0), 0.8);
    let mut wood = Material::of_modulus("core", MaterialKind::WoodAlong, modulus_mpa);
    wood.modulus_mpa = Spread { value: modulus_mpa, cv };
    // Evenly spread over a range: the middle, and the range over the square root of 12.
    wood.relaxed = Share { value: 0.5 * (RELAXED.0 + RELAXED.1), sd: (RELAXED.1 - RELAXED.0) / 12.0_f64.sqrt() };
    Laminate::new(&[skin(), Layer::flat("core", wood, 8.0), skin()], 0.0).unwrap()
}

fn target(tip_mm: f64) -> Curvature {
    // The arc that is so high at its ends: height = R (1 - cos(l/R)), by Newton's steps on the curvature.
    let mut k = 2.0 * tip_mm / (HALF_MM * HALF_MM);
    for _ in 0..20 {
        k *= tip_mm / ((1.0 - (k * HALF_MM).cos()) / k);
    }
    Curvature::constant(-HALF_MM, HALF_MM, k).unwrap()
}

pub(crate) fn table(laminate: &Laminate, factor: f64, tip_mm: f64) -> OverbentTable {
    let setup = Setup { overhang_tail_mm: 80.0, overhang_tip_mm: 80.0, end_margin_mm: 40.0, load: Load::even(0.085) };
    overbend(&target(tip_mm), 0.0, &laminate.with_springback_factor(factor), &setup).unwrap()
}

/// The released base of the real stack on a table.
fn pressed(table: &OverbentTable, nominal: &Laminate, modulus: f64, relaxed: f64) -> Curvature {
    let mut changes = nominal.unchanged();
    changes[1].modulus_factor = modulus;
    changes[1].relaxed = relaxed;
    let real = nominal.changed(&changes, 1.0);
    release(&press_again(&table.pressed, &real, &table.load).unwrap()).unwrap().base
}

/// Height of the tip of a released board, mm.
pub(crate) fn tip_mm(base: &Curvature) -> f64 {
    end_heights_mm(base, (-HALF_MM, HALF_MM), 0.0).1
}

fn error_mm(base: &Curvature) -> f64 {
    (tip_mm(base) - TIP_MM).abs()
}

pub(crate) fn read(base: &Curvature, random: &mut Random) -> Readings {
    let curve = resting_pose(&Curve::new(base.between(-HALF_MM, HALF_MM).unwrap()), 0.0);
    let reading = |i: u32| {
        let station_mm = 67.0 * f64::from(i);
        let height_mm = curve.at(station_mm - HALF_MM).point.y + READING_MM * random.normal();
        Reading { station_mm, height_mm }
    };
    Readings {
        readings: (0..=20).map(reading).collect(),
        datum: Datum::Floor,
        along: StationsAlong::Base,
        origin: Origin::Tail,
        error_mm: Some(READING_MM),
        file: None,
        smoothing: Smoothing::Likelihood,
        excluded: Vec::new(),
    }
}

/// How the cores of a shop's boards differ.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Core {
    /// Glued up from so many strips of the batch; one: in one piece.
    Strips(u32),
    /// In one piece, and the piece itself is sag-tested before it is pressed.
    Tested,
}

/// One shop: a batch of wood, an unknown relaxation, and boards one after the other.
fn shop(seed: u64, number: u64, core: Core) -> Errors {
    let mut random = Random::for_draw(seed, number);
    let log_normal = |random: &mut Random, cv: f64| (cv * random.normal() - 0.5 * cv * cv).exp();
    let batch = log_normal(&mut random, BETWEEN);
    let relaxed = RELAXED.0 + (RELAXED.1 - RELAXED.0) * random.uniform();
    let catalogue = stack(CATALOGUE_MPA, BETWEEN);
    let mut boards: Vec<(MeasuredFactor, Sensitivities)> = Vec::new();
    let mut found =
        Errors { catalogue: 0.0, sag_test: 0.0, known: 0.0, learned: [0.0; BOARDS - 1], held: [false; BOARDS - 1] };
    for i in 0..BOARDS {
        let strips = if let Core::Strips(n) = core { n } else { 1 };
        let strip = |_| log_normal(&mut random, WITHIN) / f64::from(strips);
        let modulus = batch * (0..strips).map(strip).sum::<f64>();
        let nominal = match core {
            Core::Strips(_) => catalogue.clone(),
            Core::Tested => stack(CATALOGUE_MPA * modulus * log_normal(&mut random, SAG_TEST), SAG_TEST),
        };
        // Moduli over the nominal one: of this core, and of what the shop's factor has to stand for.
        let over = |modulus: f64| modulus * CATALOGUE_MPA / nominal.layers()[1].material.modulus_mpa.value;
        let to_learn = if core == Core::Tested { 1.0 } else { over(batch) };
        let truth = share(&nominal, to_learn, relaxed) / nominal.section_at(0.0).springback_share();
        let sensitivities = Sensitivities::of(&nominal);
        let prior = Prior {
            factor: SHOPS.value,
            deviation: SHOPS.sd.hypot(sensitivities.shared_deviation()),
            scatter: EXPECTED_SCATTER,
            fixed_scatter: sensitivities.fixed_scatter(),
            closing_in: ClosingIn::EXPECTED.multiple,
        };
        // As the program takes boards of other stacks.
        let of = |(said, stack): &(MeasuredFactor, Sensitivities)| MeasuredFactor {
            unlike: stack.unlikeness(&sensitivities).deviation,
            ..*said
        };
        let learned = learn(&prior, &boards.iter().map(of).collect::<Vec<_>>());
        let factor = if boards.is_empty() { 1.0 } else { learned.factor };
        let built = table(&nominal, factor, TIP_MM);
        let base = pressed(&built, &nominal, over(modulus), relaxed);
        if i == 0 {
            found.catalogue = error_mm(&pressed(&table(&catalogue, 1.0, TIP_MM), &catalogue, modulus, relaxed));
            let tested = stack(CATALOGUE_MPA * batch * log_normal(&mut random, SAG_TEST), SAG_TEST);
            let ratio = CATALOGUE_MPA / tested.layers()[1].material.modulus_mpa.value;
            found.sag_test = error_mm(&pressed(&table(&tested, 1.0, TIP_MM), &tested, modulus * ratio, relaxed));
        } else {
            found.learned[i - 1] = error_mm(&base);
            if i == BOARDS - 1 {
                found.known = error_mm(&pressed(&table(&nominal, truth, TIP_MM), &nominal, over(modulus), relaxed));
            }
            found.held[i - 1] = (learned.p05..=learned.p95).contains(&truth);
        }
        let finished = (-HALF_MM, HALF_MM);
        let off = OffTable::new(&built.surface, &nominal, built.blank, &built.load, finished).unwrap();
        let one = fit_board(&off, &read(&base, &mut random), "readings").unwrap().on_table_within(&off, TABLE_MM);
        boards.push((
            MeasuredFactor {
                factor: one.factor,
                deviation: one.deviation,
                unlike: 0.0,
                scatter: EXPECTED_SCATTER,
                fixed_scatter: sensitivities.fixed_scatter().hypot(one.table_deviation),
                factor_per_closing_in: one.factor_per_closing_in,
                weight: 1.0,
            },
            sensitivities,
        ));
    }
    found
}

/// The springback share of a stack whose core differs from what is taken for it.
fn share(nominal: &Laminate, modulus: f64, relaxed: f64) -> f64 {
    let mut changes = nominal.unchanged();
    changes[1].modulus_factor = modulus;
    changes[1].relaxed = relaxed;
    nominal.changed(&changes, 1.0).section_at(0.0).springback_share()
}

/// Figures over many shops: what 95 of 100 tips keep within, mm, and how often the band held, first and last.
pub(crate) struct Figures {
    /// First board from catalogue values.
    pub(crate) catalogue: f64,
    /// First board with a sag test.
    pub(crate) sag_test: f64,
    /// Last board where the factor is known for certain.
    pub(crate) known: f64,
    /// Second board on.
    pub(crate) learned: [f64; BOARDS - 1],
    /// Share of shops whose band held their factor before the second board, and before the last.
    pub(crate) held: (f64, f64),
}

/// Simulates shops on all processors.
pub(crate) fn figures(seed: u64, shops: u64, core: Core) -> Figures {
    let threads = std::thread::available_parallelism().map_or(1, std::num::NonZero::get) as u64;
    let all: Vec<Errors> = std::thread::scope(|scope| {
        let part =
            |t: u64| scope.spawn(move || (t..shops).step_by(threads as usize).map(|n| shop(seed, n, core)).collect());
        let parts: Vec<std::thread::ScopedJoinHandle<'_, Vec<Errors>>> = (0..threads).map(part).collect();
        parts.into_iter().flat_map(|p| p.join().unwrap()).collect()
    });
    let p95 = |of: &dyn Fn(&Errors) -> f64| {
        let mut errors: Vec<f64> = all.iter().map(of).collect();
        errors.sort_by(f64::total_cmp);
        errors[((0.95 * (errors.len() - 1) as f64).round()) as usize]
    };
    let held = |i: usize| all.iter().filter(|e| e.held[i]).count() as f64 / all.len() as f64;
    Figures {
        catalogue: p95(&|e| e.catalogue),
        sag_test: p95(&|e| e.sag_test),
        known: p95(&|e| e.known),
        learned: std::array::from_fn(|i| p95(&|e| e.learned[i])),
        held: (held(0), held(BOARDS - 2)),
    }
}
