//! What would make a board spring back less, or its shape surer: each way with its effect, computed for this job.

use crate::job::{Layer, Share, Thickness};
use crate::laminate::Laminate;

use super::Quantity;
use super::inputs::{Input, inputs_of, stack_at};
use super::model::Model;

/// A figure as it is and as it would be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gain {
    /// As it is.
    pub before: f64,
    /// As it would be.
    pub after: f64,
}

/// What a way changes in the list of layers, where it names no other material.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Change {
    /// An entry of the list gets so many plies, each of its thickness times the factor.
    Plies {
        /// The entry, from 0.
        entry: usize,
        /// Its plies.
        plies: usize,
        /// Factor on the thickness of each.
        thickness_times: f64,
    },
    /// The outermost layers get their thickness times the factor.
    OuterThickness(f64),
}

/// One way to make it better.
#[derive(Debug, Clone, PartialEq)]
pub struct Advice {
    /// What to do.
    pub what: String,
    /// The same as a change of the layers.
    pub change: Option<Change>,
    /// Springback share in the middle of the board.
    pub springback_share: Gain,
    /// Width of the band that holds nine of ten boards, at the end that scatters more, mm.
    pub band_mm: Gain,
}

/// Error of a modulus after a sag test, as a part of it: what the readings of a careful test leave.
const SAG_TEST_CV: f64 = 0.03;
/// Standard error of the height of a board's end read with a straightedge and a ruler, mm (common practice, no source).
const READING_MM: f64 = 0.5;
/// How much thicker skins are tried.
const THICKER: f64 = 1.5;
/// How much stiffer skins are tried.
const STIFFER: f64 = 2.0;
/// Least part that springback or band must fall by for a way to be worth telling.
const WORTH_TELLING: f64 = 0.05;
/// Least fall of the springback share and of the band (mm) that is worth telling: what a tenth of a percent or of a
/// millimetre does not show is no help.
const LEAST_GAINS: (f64, f64) = (0.001, 0.1);
/// Width of the band from 5 % to 95 % in standard deviations of a normal distribution.
const BAND_IN_SD: f64 = 2.0 * 1.644_854;

/// Effects of the inputs on the height of one end, mm for one standard deviation of each.
fn effects(model: &Model, inputs: &[Input], factor: Share) -> Option<Vec<f64>> {
    let mut tips = Vec::with_capacity(inputs.len());
    let mut tails = Vec::with_capacity(inputs.len());
    for i in 0..inputs.len() {
        let at = |by: f64| {
            let mut z = vec![0.0; inputs.len()];
            z[i] = by;
            model.end_heights_mm(&stack_at(model.laminate(), inputs, factor, &z))
        };
        let (low, high) = (at(-1.0)?, at(1.0)?);
        tails.push(0.5 * (high.0 - low.0));
        tips.push(0.5 * (high.1 - low.1));
    }
    Some(if variance(&tips) >= variance(&tails) { tips } else { tails })
}

/// Width of the band that holds nine of ten boards at the end that scatters more, mm: the effects of one standard deviation
/// of each uncertain input, added as variances. Takes a few releases in place of a simulation. `None` where a changed stack
/// gives no board.
pub fn band_mm(model: &Model, factor: Share) -> Option<f64> {
    let inputs = inputs_of(model.laminate(), factor);
    Some(BAND_IN_SD * variance(&effects(model, &inputs, factor)?).sqrt())
}

fn variance(effects: &[f64]) -> f64 {
    effects.iter().map(|e| e * e).sum()
}

/// Ways that make a difference, the one that narrows the band or lowers the springback most first.
///
/// `design` makes table and model for other layers, and says nothing where that cannot be. Bands are computed from the
/// effects of one standard deviation of each input, before and after alike.
pub fn advice(
    layers: &[Layer],
    factor: Share,
    model: &Model,
    mut design: impl FnMut(&[Layer]) -> Option<Model>,
) -> Vec<Advice> {
    let all = inputs_of(model.laminate(), factor);
    let Some(effects_now) = effects(model, &all, factor) else { return Vec::new() };
    let band = |variance: f64| BAND_IN_SD * variance.max(0.0).sqrt();
    let share = |l: &Laminate| l.section_at(0.0).springback_share();
    let (band_now, share_now) = (band(variance(&effects_now)), share(model.laminate()));
    let mut found: Vec<Advice> = Vec::new();
    let mut tell = |(what, change): (String, Option<Change>), share_after: f64, band_after: f64| {
        found.push(Advice {
            what,
            change,
            springback_share: Gain { before: share_now, after: share_after },
            band_mm: Gain { before: band_now, after: band_after },
        });
    };
    for (what, change, changed) in other_stacks(layers) {
        let Some(other) = design(&changed) else { continue };
        let inputs = inputs_of(other.laminate(), factor);
        let Some(effects) = effects(&other, &inputs, factor) else { continue };
        tell((what, change), share(other.laminate()), band(variance(&effects)));
    }
    if let Some((what, after)) = sag_test(&all, &effects_now) {
        tell((what, None), share_now, band(after));
    }
    if let Some((what, after)) = first_board(&all, &effects_now) {
        tell((what, None), share_now, band(after));
    }
    let gain = |g: Gain, least: f64| if g.before - g.after >= least { 1.0 - g.after / g.before } else { 0.0 };
    let best = |a: &Advice| gain(a.band_mm, LEAST_GAINS.1).max(gain(a.springback_share, LEAST_GAINS.0));
    found.retain(|a| best(a) > WORTH_TELLING);
    found.sort_by(|a, b| best(b).total_cmp(&best(a)));
    found
}

/// A way in words, as a change, and the layers after it.
type OtherStack = (String, Option<Change>, Vec<Layer>);

/// Stacks that keep more of their bend.
fn other_stacks(layers: &[Layer]) -> Vec<OtherStack> {
    let mut stacks = Vec::new();
    if let Some(split) = split(layers) {
        stacks.push(split);
    }
    let [base, .., deck] = layers else { return stacks };
    // A stack of one wood has no skins.
    if layers.len() > 2 && base.material.name == layers[1].material.name && deck.material.name == base.material.name {
        return stacks;
    }
    let last = layers.len() - 1;
    let skins = |change: &dyn Fn(&mut Layer)| {
        let mut changed = layers.to_vec();
        change(&mut changed[0]);
        change(&mut changed[last]);
        changed
    };
    let thicker = skins(&|l| match &mut l.thickness {
        Thickness::Constant(t) => *t *= THICKER,
        Thickness::Tapered(stations) => stations.iter_mut().for_each(|s| s.1 *= THICKER),
    });
    let change = Some(Change::OuterThickness(THICKER));
    stacks.push(("outer layers 1.5 times as thick".to_owned(), change, thicker));
    let stiffer = skins(&|l| l.material.modulus_mpa.value *= STIFFER);
    if layers[0].sag_test.is_none() && layers[last].sag_test.is_none() {
        stacks.push(("outer layers of a material twice as stiff".to_owned(), None, stiffer));
    }
    stacks
}

/// The stack with its stiffest loose entry in one ply more (two instead of one).
fn split(layers: &[Layer]) -> Option<OtherStack> {
    let own = |l: &Layer| {
        let t = match &l.thickness {
            Thickness::Constant(t) => *t,
            Thickness::Tapered(stations) => stations.iter().map(|s| s.1).fold(0.0, f64::max),
        };
        l.material.modulus_mpa.value * t.powi(3)
    };
    // Plies of an entry that do not all taper cannot be made one more alike.
    let alike = |l: &Layer| layers.iter().filter(|o| o.entry == l.entry).all(|o| o.thickness == l.thickness);
    let loose = layers.iter().filter(|l| l.cured_group.is_none() && alike(l));
    let stiffest = loose.max_by(|a, b| own(a).total_cmp(&own(b)))?;
    let first = layers.iter().position(|l| l.entry == stiffest.entry)?;
    let plies = layers.iter().filter(|l| l.entry == stiffest.entry).count();
    let more = plies + 1;
    let thinner = plies as f64 / more as f64;
    let mut ply = stiffest.clone();
    match &mut ply.thickness {
        Thickness::Constant(t) => *t *= thinner,
        Thickness::Tapered(stations) => stations.iter_mut().for_each(|s| s.1 *= thinner),
    }
    let before = layers[..first].iter().cloned();
    let changed = before.chain(vec![ply; more]).chain(layers[first + plies..].iter().cloned()).collect();
    let was = if plies == 1 { "one piece".to_owned() } else { format!("{plies} plies") };
    let change = Change::Plies { entry: stiffest.entry, plies: more, thickness_times: thinner };
    Some((format!("{} of {more} plies instead of {was}, same thickness", stiffest.name), Some(change), changed))
}

/// A sag test of the material whose modulus matters most.
fn sag_test(inputs: &[Input], effects: &[f64]) -> Option<(String, f64)> {
    let moduli = inputs.iter().zip(effects).filter(|(i, _)| i.quantity == Quantity::Modulus && i.sd > SAG_TEST_CV);
    let (input, effect) = moduli.max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))?;
    let left = effect * SAG_TEST_CV / input.sd;
    Some((format!("sag-test a strip of {}", input.of), variance(effects) - effect * effect + left * left))
}

/// The advice to measure a board, which a shop that has done so needs no more.
pub(crate) const FIRST_BOARD: &str = "press and measure a first board, then calibrate with it";

/// What is left for the next board once one has been measured: the springback factor and what relaxes stay the same
/// from board to board, moduli and thicknesses are those of the next batch (normal distributions, conditioned).
fn first_board(inputs: &[Input], effects: &[f64]) -> Option<(String, f64)> {
    let stays = |i: &Input| matches!(i.quantity, Quantity::SpringbackFactor | Quantity::Relaxation);
    let shared: f64 = inputs.iter().zip(effects).filter(|(i, _)| stays(i)).map(|(_, e)| e * e).sum();
    if shared <= 0.0 {
        return None;
    }
    let whole = variance(effects);
    Some((FIRST_BOARD.to_owned(), whole - shared * shared / (whole + READING_MM * READING_MM)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::curve::Curvature;
    use crate::forecast::{Scene, forecast};
    use crate::job::{Material, MaterialKind, SagTest};
    use crate::press::{Blank, Load, press};
    use crate::table::{Setup, overbend};

    fn layer(entry: usize, name: &str, thickness_mm: f64, modulus_mpa: f64, cv: f64) -> Layer {
        let mut material = Material::of_modulus(name, MaterialKind::WoodAlong, modulus_mpa);
        material.modulus_mpa.cv = cv;
        Layer { entry, ..Layer::flat(name, material, thickness_mm) }
    }

    fn model(layers: &[Layer]) -> Option<Model> {
        let laminate = Laminate::new(layers, 0.0).ok()?;
        let load = Load::even(0.08);
        let setup = Setup { overhang_tail_mm: 60.0, overhang_tip_mm: 60.0, end_margin_mm: 30.0, load: load.clone() };
        let target = Curvature::constant(-650.0, 650.0, 2e-4).unwrap();
        let table = overbend(&target, 0.0, &laminate, &setup).ok()?;
        Model::new(&Scene::designed(&table, &load, 0.0), &laminate).ok()
    }

    fn sandwich() -> Vec<Layer> {
        vec![
            layer(0, "skin", 0.8, 18_600.0, 0.08),
            layer(1, "core", 10.0, 10_890.0, 0.22),
            layer(2, "skin", 0.8, 18_600.0, 0.08),
        ]
    }

    /// The springback shares are those of the same stacks by hand: 0.8 @ 18.6 / 10 @ 10.89 / 0.8 @ 18.6 against two
    /// plies of 5 mm, 0.12857 (our own evaluation of the formula outside this program).
    #[test]
    fn splitting_a_thick_core_comes_first_and_with_its_computed_effect() {
        let layers = sandwich();
        let found = advice(&layers, Share { value: 1.0, sd: 0.3 }, &model(&layers).unwrap(), model);
        let split = &found[0];
        assert_eq!(split.what, "core of 2 plies instead of one piece, same thickness");
        assert_eq!(split.change, Some(Change::Plies { entry: 1, plies: 2, thickness_times: 0.5 }));
        assert!((split.springback_share.after - 0.12857).abs() < 5e-6, "{split:?}");
        assert!(split.springback_share.before > 0.4 && split.band_mm.after < 0.5 * split.band_mm.before, "{split:?}");
        let whats: Vec<&str> = found.iter().map(|a| a.what.as_str()).collect();
        for what in ["sag-test a strip of core", FIRST_BOARD] {
            assert!(whats.contains(&what), "{whats:?}");
        }
    }

    #[test]
    fn the_sag_test_narrows_the_band_by_as_much_as_a_simulation_with_it_says() {
        let layers = sandwich();
        let factor = Share { value: 1.0, sd: 0.05 };
        let before = model(&layers).unwrap();
        let found = advice(&layers, factor, &before, model);
        let told = found.iter().find(|a| a.what == "sag-test a strip of core").unwrap();
        let mut tested_layers = layers.clone();
        tested_layers[1].material.modulus_mpa.cv = SAG_TEST_CV;
        let width = |m: &Model| {
            let f = forecast(m, factor, 4000, 9).unwrap();
            f.tip_mm.p95 - f.tip_mm.p05
        };
        let (wide, narrow) = (width(&before), width(&model(&tested_layers).unwrap()));
        assert!((told.band_mm.before / wide - 1.0).abs() < 0.08, "{told:?} {wide}");
        assert!((told.band_mm.after / narrow - 1.0).abs() < 0.08, "{told:?} {narrow}");
    }

    #[test]
    fn a_stack_of_equal_plies_gets_one_ply_more() {
        let layers = vec![layer(0, "ply", 4.0, 10_000.0, 0.22); 3];
        let found = advice(&layers, Share { value: 1.0, sd: 0.3 }, &model(&layers).unwrap(), model);
        let split = found.iter().find(|a| a.what == "ply of 4 plies instead of 3 plies, same thickness").unwrap();
        assert!((split.springback_share.before - 1.0 / 9.0).abs() < 1e-12);
        assert!((split.springback_share.after - 1.0 / 16.0).abs() < 1e-12);
        assert!(!found.iter().any(|a| a.what.contains("outer")), "{found:?}");
    }

    fn whats(advice: &[Advice]) -> Vec<&str> {
        advice.iter().map(|a| a.what.as_str()).collect()
    }

    /// A stack that folds as it cools: one of two equal layers shrinks by more than 4/3.
    fn folding() -> Model {
        let mut layers = [layer(0, "ply", 4.0, 10_000.0, 0.1), layer(1, "ply", 4.0, 10_000.0, 0.1)];
        layers[0].material.expansion_per_k = Some(0.0);
        layers[1].material.expansion_per_k = Some(-0.2);
        let laminate = Laminate::new(&layers, 10.0).unwrap();
        let (load, flat) = (Load::even(0.08), Curvature::constant(-800.0, 800.0, 0.0).unwrap());
        let pressed = press(&flat, &laminate, Blank { tail_mm: -710.0, tip_mm: 710.0 }, &load).unwrap();
        let finished_mm = (-650.0, 650.0);
        let scene = Scene { pressed: &pressed, load: &load, finished_mm, anchor_mm: 0.0, on_deck: None };
        Model::lying_still(&scene, &laminate)
    }

    #[test]
    fn a_board_that_would_fold_gets_no_advice() {
        let layers = sandwich();
        assert_eq!(advice(&layers, Share { value: 1.0, sd: 0.3 }, &folding(), model), []);
    }

    /// What stays are the ways that leave the stack as it is.
    #[test]
    fn stacks_that_no_table_makes_or_that_would_fold_are_not_advised() {
        let layers = sandwich();
        let factor = Share { value: 1.0, sd: 0.3 };
        let now = model(&layers).unwrap();
        let expected = ["sag-test a strip of core", FIRST_BOARD];
        let mut none = advice(&layers, factor, &now, |_| None);
        let mut fold = advice(&layers, factor, &now, |_| Some(folding()));
        for found in [&mut none, &mut fold] {
            found.sort_by_key(|a| a.what == FIRST_BOARD);
            assert_eq!(whats(found), expected);
        }
    }

    #[test]
    fn only_loose_layers_are_split_and_only_skins_without_a_sag_test_called_too_soft() {
        let told = |layers: &[Layer]| other_stacks(layers).into_iter().map(|s| s.0).collect::<Vec<_>>();
        let split = "core of 2 plies instead of one piece, same thickness";
        let thicker = "outer layers 1.5 times as thick";
        let stiffer = "outer layers of a material twice as stiff";
        assert_eq!(told(&sandwich()), [split, thicker, stiffer]);
        let mut glued = sandwich();
        glued.iter_mut().for_each(|l| l.cured_group = Some(0));
        assert_eq!(told(&glued), [thicker, stiffer]);
        let test = SagTest {
            span_mm: 300.0,
            load_n: 5.0,
            sag_mm: 4.0,
            width_mm: 30.0,
            thickness_mm: 0.8,
            strip_weight_n: 0.0,
            shear_ratio: None,
            sag_error_mm: 0.1,
            thickness_error_mm: 0.0,
        };
        for skin in [0, 2] {
            let mut tested = sandwich();
            tested[skin].sag_test = Some(test);
            assert_eq!(told(&tested), [split, thicker]);
        }
        assert_eq!(told(&sandwich()[1..2]), [split]);
        assert!(told(&[]).is_empty());
    }

    /// Half as thick again, and twice as stiff: what the words say is what is computed.
    #[test]
    fn other_stacks_change_both_skins_and_nothing_else() {
        let mut layers = sandwich();
        layers[2].thickness = Thickness::Tapered(vec![(-300.0, 0.6), (0.0, 1.0)]);
        let [_, (_, _, thicker), (_, _, stiffer)] = &other_stacks(&layers)[..] else { panic!("{layers:?}") };
        let constant = |l: &Layer| match l.thickness {
            Thickness::Constant(t) => t,
            Thickness::Tapered(_) => f64::NAN,
        };
        assert!((constant(&thicker[0]) - 1.2).abs() < 1e-12);
        let Thickness::Tapered(stations) = &thicker[2].thickness else { panic!("{thicker:?}") };
        assert!((stations[0].1 - 0.9).abs() < 1e-12 && (stations[1].1 - 1.5).abs() < 1e-12);
        let moduli: Vec<f64> = stiffer.iter().map(|l| l.material.modulus_mpa.value).collect();
        assert_eq!(moduli, [37_200.0, 10_890.0, 37_200.0]);
        assert_eq!((&thicker[1], &stiffer[1]), (&layers[1], &layers[1]));
    }

    #[test]
    fn splitting_a_tapered_core_divides_its_taper() {
        let mut layers = sandwich();
        let taper = vec![(-650.0, 4.0), (0.0, 10.0), (650.0, 4.0)];
        layers[1].thickness = Thickness::Tapered(taper.clone());
        let (what, _, changed) = split(&layers).unwrap();
        assert_eq!(what, "core of 2 plies instead of one piece, same thickness");
        let plies: Vec<_> = changed.iter().filter(|l| l.name == "core").collect();
        assert_eq!(plies.len(), 2);
        for ply in plies {
            let Thickness::Tapered(stations) = &ply.thickness else { panic!("{:?}", ply.thickness) };
            for (of_ply, of_core) in stations.iter().zip(&taper) {
                assert_eq!(*of_ply, (of_core.0, 0.5 * of_core.1));
            }
        }
    }

    #[test]
    fn what_changes_nothing_that_is_printed_is_no_advice() {
        // Twenty thin plies give back so little that one more ply changes 0.02 %.
        let layers: Vec<Layer> = (0..20).map(|_| layer(0, "ply", 0.5, 10_890.0, 0.0)).collect();
        let found = advice(&layers, Share { value: 1.0, sd: 0.0 }, &model(&layers).unwrap(), model);
        assert_eq!(found, Vec::new());
        let share = |layers: &[Layer]| model(layers).unwrap().laminate().section_at(0.0).springback_share();
        let (_, _, one_more) = split(&layers).unwrap();
        let gain = share(&layers) - share(&one_more);
        assert!(gain > 0.0 && gain < LEAST_GAINS.0, "{gain}");
    }
}
