//! Stacks that are possible but look like a slip.

use super::Laminate;
use super::stack::thickness_at;
use crate::codes;
use crate::finding::{Finding, Held, Verdict};
use crate::job::{EffectiveLayer, Layer, MaterialKind};
use crate::units::{Quantity, phrase};

/// Springback beyond which a table is hardly ever built: the board then keeps less than it gives back, and what it
/// keeps is as uncertain as the whole (common practice, no source).
pub(crate) const MOST_SPRINGBACK: f64 = 0.6;
/// From this factor on a sag test looks misread: half of it is within what woods of one name have.
const MODULUS_FACTOR: f64 = 5.0;

impl Laminate {
    /// What is to be looked at twice: springback beyond 60 % anywhere along `board_mm`, skins thicker than their core,
    /// and sag tests far from the modulus of the material in `given`, the layers that this stack was made of.
    pub(crate) fn doubts(&self, given: &[Layer], board_mm: (f64, f64)) -> Vec<Finding> {
        let mut found: Vec<Finding> = self.springback_doubt(board_mm).into_iter().collect();
        found.extend(self.skins_doubt());
        found.extend(self.sag_test_doubts(given));
        found
    }

    fn springback_doubt(&self, (from_mm, to_mm): (f64, f64)) -> Option<Finding> {
        let breaks = self.breaks_mm().into_iter().filter(|s| (from_mm..to_mm).contains(s));
        let share = |s_mm: f64| (self.section_at(s_mm).springback_share(), s_mm);
        let places = [0.0, from_mm, to_mm].into_iter().chain(breaks).map(share);
        let (most, at_mm) = places.max_by(|a, b| a.0.total_cmp(&b.0))?;
        (most > MOST_SPRINGBACK).then(|| {
            codes::SPRINGBACK_LARGE.check(
                phrase!("springback of the stack, {} from the middle", Quantity::place(at_mm)),
                (Verdict::Watch, Held::at_most(Quantity::share(most), Quantity::share(MOST_SPRINGBACK))),
            )
        })
    }

    /// Skins are outer layers of laminate or metal over another material.
    fn skins_doubt(&self) -> Option<Finding> {
        let (base, deck) = (self.layers().first()?, self.layers().last()?);
        let is_skin = |l: &EffectiveLayer| matches!(l.material.kind, MaterialKind::Laminate | MaterialKind::Metal);
        let core = |l: &&EffectiveLayer| !is_skin(l);
        if !is_skin(base) || !is_skin(deck) {
            return None;
        }
        let sum = |layers: &mut dyn Iterator<Item = &EffectiveLayer>| layers.map(|l| thickness_at(l, 0.0)).sum::<f64>();
        let core_mm = sum(&mut self.layers().iter().filter(core));
        let skins_mm = sum(&mut self.layers().iter().filter(|l| is_skin(l)));
        (core_mm > 0.0 && skins_mm > core_mm).then(|| {
            codes::SKINS_OVER_CORE.check(
                phrase!("skins together, over a core of {}", Quantity::fine(core_mm)),
                (Verdict::Watch, Held::at_most(Quantity::fine(skins_mm), Quantity::fine(core_mm))),
            )
        })
    }

    fn sag_test_doubts(&self, given: &[Layer]) -> Vec<Finding> {
        let doubt = |(tested, given): (&EffectiveLayer, &Layer)| {
            given.sag_test?;
            let (found_mpa, listed_mpa) = (tested.material.modulus_mpa.value, given.material.modulus_mpa.value);
            let factor = found_mpa / listed_mpa;
            let usual = 1.0 / MODULUS_FACTOR..=MODULUS_FACTOR;
            // Without a name there is nothing to compare with.
            if usual.contains(&factor) || given.material.source.is_empty() {
                return None;
            }
            Some(codes::MODULUS_UNUSUAL.check(
                phrase!(
                    "modulus of {} by its sag test, where the catalogue has {} for {}",
                    &given.name,
                    Quantity::modulus(listed_mpa),
                    &given.material.name
                ),
                (
                    Verdict::Watch,
                    if factor > 1.0 {
                        Held::at_most(Quantity::modulus(found_mpa), Quantity::modulus(listed_mpa * MODULUS_FACTOR))
                    } else {
                        Held::at_least(Quantity::modulus(found_mpa), Quantity::modulus(listed_mpa / MODULUS_FACTOR))
                    },
                ),
            ))
        };
        let mut found: Vec<Finding> = self.layers().iter().zip(given).filter_map(doubt).collect();
        // Plies of one entry are reported once.
        found.dedup();
        found
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::{Material, SagTest, Thickness};
    use crate::laminate::sag::tests::test;

    fn layer(kind: MaterialKind, thickness_mm: f64, modulus_mpa: f64) -> Layer {
        let mut material = Material::of_modulus("given", kind, modulus_mpa);
        material.source = "a table".to_owned();
        Layer::flat("layer", material, thickness_mm)
    }

    /// Two plies of wood of 10 GPa, of which a strip sagged by so much.
    fn tested(sag_mm: f64) -> [Layer; 2] {
        let mut ply = layer(MaterialKind::WoodAlong, 4.0, 10e3);
        ply.sag_test = Some(SagTest { sag_mm, ..test() });
        [ply.clone(), ply]
    }

    fn codes(layers: &[Layer]) -> Vec<&'static str> {
        let found = Laminate::new(layers, 0.0).unwrap().doubts(layers, (-600.0, 600.0));
        assert!(found.iter().all(|f| f.verdict == Verdict::Watch && !f.remedy.is_empty()));
        found.iter().map(|f| f.code.name).collect()
    }

    #[test]
    fn springback_beyond_sixty_percent_is_told_at_its_place() {
        let (skin, core) = (layer(MaterialKind::Laminate, 0.3, 20e3), layer(MaterialKind::WoodAlong, 9.0, 12e3));
        assert_eq!(codes(&[skin.clone(), core.clone(), skin.clone()]), ["springback-large"]);
        let halves = [
            skin.clone(),
            layer(MaterialKind::WoodAlong, 4.5, 12e3),
            layer(MaterialKind::WoodAlong, 4.5, 12e3),
            skin.clone(),
        ];
        assert_eq!(codes(&halves), [""; 0]);
        // Thick at the tail only.
        let mut tapered = core;
        tapered.thickness = Thickness::Tapered(vec![(-600.0, 9.0), (0.0, 2.0), (600.0, 2.0)]);
        let stack = [skin.clone(), tapered, skin];
        let found = Laminate::new(&stack, 0.0).unwrap().doubts(&stack, (-600.0, 600.0));
        assert!(found.len() == 1 && found[0].subject.text(Default::default()).contains("-600 mm"), "{found:#?}");
    }

    #[test]
    fn skins_thicker_than_their_core_are_told_but_equal_laminations_are_not() {
        let skin = |t| layer(MaterialKind::Laminate, t, 20e3);
        let core = |t| layer(MaterialKind::WoodAlong, t, 12e3);
        assert_eq!(codes(&[skin(3.0), core(4.0), skin(1.5)]), ["skins-over-core"]);
        assert_eq!(codes(&[skin(1.5), core(2.5), core(2.5), skin(1.5)]), [""; 0]);
        assert_eq!(codes(&vec![core(2.0); 7]), [""; 0]);
        assert_eq!(codes(&[skin(2.0), skin(2.0), skin(2.0)]), [""; 0]);
    }

    #[test]
    fn a_sag_test_misread_by_a_factor_is_told() {
        let tested = |sag_mm: f64| codes(&tested(sag_mm));
        // F L³/(48 I d) is 12.9 GPa at 2 mm, 3.2 GPa at 8 mm.
        assert_eq!(tested(8.0), [""; 0]);
        assert_eq!(tested(2.0), [""; 0]);
        assert_eq!(tested(0.2), ["modulus-unusual"]);
        assert_eq!(tested(25.0), ["modulus-unusual"]);
    }

    #[test]
    fn a_skin_on_one_side_only_is_no_skin_over_a_core() {
        let (skin, core) = (layer(MaterialKind::Laminate, 3.0, 20e3), layer(MaterialKind::WoodAlong, 2.0, 12e3));
        let both = [skin.clone(), core.clone(), skin.clone()];
        assert_eq!(codes(&both), ["skins-over-core"]);
        let thick = Layer { thickness: Thickness::Constant(5.0), ..skin.clone() };
        for one_sided in [[thick.clone(), core.clone(), core.clone()], [core.clone(), core.clone(), thick]] {
            assert_eq!(codes(&one_sided), [""; 0]);
        }
        let foil = layer(MaterialKind::Metal, 3.0, 70e3);
        assert_eq!(codes(&[foil.clone(), core, foil]), ["skins-over-core"]);
    }

    #[test]
    fn a_sag_test_of_wood_without_a_name_has_nothing_to_be_compared_with() {
        let mut layers = tested(0.2);
        assert_eq!(codes(&layers), ["modulus-unusual"]);
        for layer in &mut layers {
            layer.material.source.clear();
        }
        assert_eq!(codes(&layers), [""; 0]);
    }

    #[test]
    fn doubts_show_figure_and_limit_in_the_unit_that_they_name() {
        let shown = |layers: &[Layer]| {
            let found = Laminate::new(layers, 0.0).unwrap().doubts(layers, (-600.0, 600.0)).remove(0);
            found.si().unwrap()
        };
        // Plies of 9 mm and 1 mm of one wood give back (9³ + 1³)/10³.
        let (value, limit, unit) = shown(&[9.0, 1.0].map(|t| layer(MaterialKind::WoodAlong, t, 12e3)));
        assert!((value - 73.0).abs() < 1e-9 && limit == 60.0 && unit == "%", "{value} {limit} {unit}");
        // F L³/(48 I d) with I = 40 · 8³/12, beside five times and a fifth of 10 GPa.
        let gpa = |sag_mm: f64| 9.806_65 * 2.16e8 / (48.0 * 40.0 * 512.0 / 12.0 * sag_mm) * 1e-3;
        for (sag_mm, limit_gpa) in [(0.2, 50.0), (20.0, 2.0)] {
            let (value, limit, unit) = shown(&tested(sag_mm));
            assert!((value / gpa(sag_mm) - 1.0).abs() < 1e-12 && (limit - limit_gpa).abs() < 1e-9, "{value} {limit}");
            assert_eq!(unit, "GPa");
        }
    }
}
