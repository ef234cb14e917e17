//! Where a soft layer spoils the beam: it slides in shear, or the bag squeezes it.

use super::Laminate;
use super::section::{Section, Slice};
use crate::codes;
use crate::finding::{Finding, Held, Verdict};
use crate::job::{Layer, MaterialKind};
use crate::units::{Quantity, decimal, phrase};

/// How far a released end is not yet one beam, because a soft layer lets the layers on either side slide.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EndZone {
    /// Index of the soft layer, base first.
    pub layer: usize,
    /// Length over which sliding falls to a twentieth, mm.
    pub length_mm: f64,
    /// Shear modulus of the layer, MPa.
    pub shear_modulus_mpa: f64,
}

/// Number of decay lengths after which exp(-x) has fallen to a twentieth.
const DECAY_LENGTHS: f64 = 3.0;
/// Part of the board's length that may lie in an end zone beyond the overhang without a word: the rocker there is off
/// by up to the springback, so a fiftieth of the length costs far below a millimetre of tip.
const ZONE_SHARE: f64 = 0.02;
/// Change of curvature by the bag's squeeze from which it is worth a word.
const SQUEEZE_SHARE: f64 = 0.005;

impl Laminate {
    /// The longest end zone that any one layer makes at `s_mm`; `None` where no layer lies between others.
    ///
    /// Two beams joined by a layer of thickness h and shear modulus G slide by amounts that die out from a free end as
    /// exp(-x/l), 1/l² = (G/h) (d²/B + 1/A1 + 1/A2): d between the beams' neutral axes, B the bending stiffness of beams
    /// and layer each on its own, A the beams' axial stiffness (two-layer beam with elastic joint: Granholm 1949;
    /// Newmark, Siess and Viest 1951; from memory). Plane sections, and so all of this program's springback, hold away
    /// from the ends as long as the zones are short.
    pub(crate) fn end_zone_at(&self, s_mm: f64) -> Option<EndZone> {
        let slices = self.slices_at(s_mm);
        let zone = |layer: usize| {
            let soft = slices[layer];
            if soft.thickness_mm <= 0.0 {
                return None;
            }
            let (lower, upper) = (&slices[..layer], &slices[layer + 1..]);
            let axial = |part: &[Slice]| part.iter().map(|s| s.modulus_mpa * s.thickness_mm).sum::<f64>();
            // An outer layer has nothing on its other side that could slide.
            if axial(lower) <= 0.0 || axial(upper) <= 0.0 {
                return None;
            }
            let (a, own, b) = (Section::of(lower), Section::of(&[soft]), Section::of(upper));
            let bending = a.bonded_stiffness_n_mm + own.bonded_stiffness_n_mm + b.bonded_stiffness_n_mm;
            let apart = a.thickness_mm - a.neutral_mm + soft.thickness_mm + b.neutral_mm;
            let compliance = apart * apart / bending + 1.0 / axial(lower) + 1.0 / axial(upper);
            let shear_modulus_mpa = shear_modulus_mpa(&self.layers()[layer]);
            let length_mm = DECAY_LENGTHS / (shear_modulus_mpa / soft.thickness_mm * compliance).sqrt();
            Some(EndZone { layer, length_mm, shear_modulus_mpa })
        };
        (0..slices.len()).filter_map(zone).max_by(|x, y| x.length_mm.total_cmp(&y.length_mm))
    }

    /// Part of the curvature that the board lacks because pressure squeezed soft layers thinner while the glue set.
    ///
    /// Layers that slide keep the rest of their stiffness, by Steiner's theorem, from the distance of their axes.
    pub(crate) fn squeeze_at(&self, s_mm: f64, pressure_mpa: f64) -> f64 {
        let section = self.glued_under(pressure_mpa).section_at(s_mm);
        let apart = section.bonded_stiffness_n_mm - section.wet_stiffness_n_mm;
        if section.squeezed_stiffness_n_mm > 0.0 { section.squeezed_stiffness_n_mm / apart } else { 0.0 }
    }

    /// Checks of the soft layers at the middle of the board: `soft-layer-shear` and `bag-squeeze`.
    pub(crate) fn soft_findings(&self, board_length_mm: f64, overhang_mm: f64, pressure_mpa: f64) -> Vec<Finding> {
        let mut findings = Vec::new();
        if let Some(zone) = self.end_zone_at(0.0) {
            let limit_mm = overhang_mm + ZONE_SHARE * board_length_mm;
            let name = &self.layers()[zone.layer].name;
            let long = zone.length_mm > limit_mm;
            let needed_mpa = zone.shear_modulus_mpa * (zone.length_mm / limit_mm).powi(2);
            let stiffest = self.layers().iter().map(|l| l.material.modulus_mpa.value).fold(0.0, f64::max);
            let remedy = phrase!(
                "Beam theory is good from a shear modulus of {} of {} (1/{} of the stiffest layer's modulus); take a \
                 stiffer layer or a longer overhang.",
                Quantity::stress(needed_mpa),
                name,
                decimal(stiffest / needed_mpa, 0)
            );
            findings.push(
                codes::SOFT_LAYER_SHEAR
                    .check(
                        phrase!("end zone in which {} still slides", name),
                        (
                            if long { Verdict::Watch } else { Verdict::Ok },
                            Held::at_most(Quantity::fine(zone.length_mm), Quantity::fine(limit_mm)),
                        ),
                    )
                    .with_remedy(remedy),
            );
        }
        let squeeze = self.squeeze_at(0.0, pressure_mpa);
        if squeeze > 0.0 {
            let much = squeeze > SQUEEZE_SHARE;
            let remedy =
                "The table allows for it; press with less pressure, or give the core's measured `through_modulus`.";
            findings.push(
                codes::BAG_SQUEEZE
                    .check(
                        "curvature lost because pressure squeezes the stack",
                        (
                            if much { Verdict::Watch } else { Verdict::Ok },
                            Held::at_most(Quantity::share(squeeze), Quantity::share(SQUEEZE_SHARE)),
                        ),
                    )
                    .with_remedy(remedy),
            );
        }
        findings
    }
}

/// The layer's shear modulus, MPa, or an estimate from its modulus where it is not known.
///
/// Wood along the grain E/16 and across it E/2 (Wood Handbook, chapter 5, from memory); sheet goods as wood along;
/// laminates 4 GPa at most (resin-governed, from memory); isotropic stock E/2.6 (Poisson's ratio 0.3).
fn shear_modulus_mpa(layer: &Layer) -> f64 {
    let m = &layer.material;
    let estimate = match m.kind {
        MaterialKind::WoodAlong | MaterialKind::Sheet => m.modulus_mpa.value / 16.0,
        MaterialKind::WoodAcross => m.modulus_mpa.value / 2.0,
        MaterialKind::Laminate => (m.modulus_mpa.value / 2.6).min(4_000.0),
        MaterialKind::Metal | MaterialKind::Plastic => m.modulus_mpa.value / 2.6,
    };
    m.shear_modulus_mpa.unwrap_or(estimate)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Material;

    fn layer(thickness_mm: f64, modulus_mpa: f64, shear_mpa: f64, through_mpa: Option<f64>) -> Layer {
        let mut material = Material::of_modulus("given", MaterialKind::Plastic, modulus_mpa);
        material.shear_modulus_mpa = Some(shear_mpa);
        material.through_modulus_mpa = through_mpa;
        Layer::flat("layer", material, thickness_mm)
    }

    fn sandwich(shear_mpa: f64) -> Laminate {
        let face = || layer(0.8, 70_000.0, 4_000.0, None);
        Laminate::new(&[face(), layer(8.0, 60.0, shear_mpa, Some(40.0)), face()], 0.0).unwrap()
    }

    /// Written out for a symmetric sandwich, each part about its own axis.
    #[test]
    fn the_end_zone_of_a_foam_sandwich_is_a_few_thicknesses() {
        let zone = sandwich(20.0).end_zone_at(0.0).unwrap();
        let (bending, axial) = (2.0 * 70_000.0 * 0.512 / 12.0 + 60.0 * 512.0 / 12.0, 70_000.0 * 0.8);
        let by_hand = 3.0 / (20.0 / 8.0 * (8.8_f64.powi(2) / bending + 2.0 / axial)).sqrt();
        assert_eq!(zone.layer, 1);
        assert!((zone.length_mm / by_hand - 1.0).abs() < 1e-12, "{zone:?} {by_hand}");
        assert!((1.0..3.0).contains(&(zone.length_mm / 9.6)), "{zone:?}");
    }

    #[test]
    fn the_finding_says_from_which_shear_modulus_the_zone_is_short_enough() {
        let codes = |g: f64| sandwich(g).soft_findings(1000.0, 10.0, 0.0).remove(0);
        let soft = codes(1.0);
        assert_eq!(soft.verdict, Verdict::Watch);
        let needed = 1.0 * (soft.si().unwrap().0 / soft.si().unwrap().1).powi(2);
        assert_eq!(soft.si().unwrap().1, 10.0 + ZONE_SHARE * 1000.0);
        let said = format!(
            "from a shear modulus of {} of layer (1/{:.0} of",
            Quantity::stress(needed).text(Default::default()),
            70_000.0 / needed
        );
        assert!(
            needed > 5.0 && soft.remedy.text(Default::default()).contains(&said),
            "{said}: {}",
            soft.remedy.text(Default::default())
        );
        assert_eq!(codes(needed * 1.01).verdict, Verdict::Ok);
        assert_eq!(codes(needed * 0.99).verdict, Verdict::Watch);
    }

    #[test]
    fn squeeze_is_the_pressure_strain_of_the_core_over_the_distance_of_the_faces() {
        let squeeze = sandwich(20.0).squeeze_at(0.0, 0.09);
        assert!((squeeze - 0.09 / 40.0 * 8.0 / 8.8).abs() < 1e-3 * squeeze, "{squeeze}");
        let findings = sandwich(20.0).soft_findings(1000.0, 10.0, 0.2);
        assert_eq!((findings[1].code.name, findings[1].verdict), ("bag-squeeze", Verdict::Ok));
    }

    #[test]
    fn without_a_layer_between_others_there_is_no_end_zone() {
        let ply = || layer(9.0, 10_000.0, 700.0, None);
        assert_eq!(Laminate::new(&[ply()], 0.0).unwrap().end_zone_at(0.0), None);
        assert_eq!(Laminate::new(&[ply(), ply()], 0.0).unwrap().end_zone_at(0.0), None);
    }

    #[test]
    fn a_squeeze_of_more_than_the_share_is_to_be_watched() {
        let squeezed = |pressure_mpa: f64| {
            let found = sandwich(20.0).soft_findings(1000.0, 10.0, pressure_mpa);
            found.into_iter().find(|f| f.code.name == "bag-squeeze").unwrap()
        };
        let much = squeezed(2.0);
        assert_eq!(
            (much.si().unwrap().0, much.si().unwrap().1),
            (100.0 * sandwich(20.0).squeeze_at(0.0, 2.0), 100.0 * SQUEEZE_SHARE)
        );
        // The whole limit is reached at the pressure at which the part lost is that limit; the loss is in proportion.
        let at_limit = 2.0 * much.si().unwrap().1 / much.si().unwrap().0;
        assert_eq!(
            (squeezed(0.99 * at_limit).verdict, squeezed(1.01 * at_limit).verdict),
            (Verdict::Ok, Verdict::Watch)
        );
        assert!(
            squeezed(0.99 * at_limit).remedy.is_empty()
                && much.remedy.text(Default::default()).contains("less pressure")
        );
    }

    #[test]
    fn a_soft_layer_that_has_stopped_short_has_no_end_zone_there() {
        let face = layer(0.8, 70_000.0, 4_000.0, None);
        let mut core = layer(8.0, 60.0, 20.0, Some(40.0));
        core.extent_mm = Some((0.0, 300.0));
        let stack = Laminate::new(&[face.clone(), core, face], 0.0).unwrap();
        assert_eq!(stack.end_zone_at(-150.0), None);
        assert_eq!(stack.end_zone_at(200.0).map(|zone| zone.layer), Some(1));
    }

    #[test]
    fn one_piece_keeps_no_curvature_that_a_squeeze_could_take() {
        let foam = Laminate::new(&[layer(10.0, 60.0, 20.0, Some(40.0))], 0.0).unwrap();
        assert_eq!(foam.squeeze_at(0.0, 0.4), 0.0);
        assert!(foam.soft_findings(1000.0, 10.0, 0.4).is_empty());
    }

    /// Written out for three unlike layers that all give: heights z of their middles, sunk to z' under the pressure.
    #[test]
    fn squeeze_of_an_uneven_stack_is_the_moment_of_the_sunk_heights() {
        let layers = [
            layer(2.0, 900.0, 300.0, Some(100.0)),
            layer(8.0, 60.0, 20.0, Some(40.0)),
            layer(0.5, 3_000.0, 900.0, Some(200.0)),
        ];
        let p: f64 = 0.5;
        let (t, e) = ([2.0, 8.0, 0.5], [900.0, 60.0, 3_000.0]);
        let shrunk = [2.0 * p / 100.0, 8.0 * p / 40.0, 0.5 * p / 200.0];
        let z = [1.0, 6.0, 10.25];
        let sunk = [0.5 * shrunk[0], shrunk[0] + 0.5 * shrunk[1], shrunk[0] + shrunk[1] + 0.5 * shrunk[2]];
        let sum = |f: &dyn Fn(usize) -> f64| (0..3).map(|i| e[i] * t[i] * f(i)).sum::<f64>();
        let neutral = sum(&|i| z[i]) / sum(&|_| 1.0);
        let by_hand = sum(&|i| (z[i] - neutral) * sunk[i]) / sum(&|i| (z[i] - neutral) * z[i]);
        let found = Laminate::new(&layers, 0.0).unwrap().squeeze_at(0.0, p);
        assert!((found / by_hand - 1.0).abs() < 1e-12, "{found} is not {by_hand}");
    }

    #[test]
    fn a_shear_modulus_that_nobody_gave_is_a_share_of_the_modulus_by_kind() {
        let of = |kind: MaterialKind, modulus_mpa: f64| {
            shear_modulus_mpa(&Layer::flat("layer", Material::of_modulus("given", kind, modulus_mpa), 1.0))
        };
        assert_eq!(of(MaterialKind::WoodAlong, 12_800.0), 800.0);
        assert_eq!(of(MaterialKind::Sheet, 8_000.0), 500.0);
        assert_eq!(of(MaterialKind::WoodAcross, 700.0), 350.0);
        assert_eq!(of(MaterialKind::Laminate, 5_200.0), 2_000.0);
        assert_eq!(of(MaterialKind::Laminate, 135_000.0), 4_000.0);
        assert_eq!(of(MaterialKind::Metal, 70_200.0), 27_000.0);
        assert_eq!(of(MaterialKind::Plastic, 2_600.0), 1_000.0);
        assert_eq!(shear_modulus_mpa(&layer(1.0, 60.0, 23.0, None)), 23.0);
    }
    /// Two faces of 1 mm and 70 GPa on 8 mm of foam that gives by p/E = 1/100, pressed to k: with F the force that the faces
    /// keep, written out for thin faces, they are left at k less 0.08 mm of 9 mm.
    #[test]
    fn a_squeezed_sandwich_comes_off_flatter_by_the_moment_of_its_swelling() {
        let face = layer(1.0, 70_000.0, 4_000.0, None);
        let core = layer(8.0, 60.0, 20.0, Some(40.0));
        let plain = Laminate::new(&[face.clone(), core, face], 0.0).unwrap();
        let (rigid, soft) = (plain.section_at(0.0), plain.glued_under(0.4).section_at(0.0));
        let lost = rigid.free_curvature(1e-3) - soft.free_curvature(1e-3);
        let by_hand = 1e-3 * 2.0 * 70_000.0 * 4.5 * 0.04 / rigid.bonded_stiffness_n_mm;
        assert!((lost / by_hand - 1.0).abs() < 1e-9, "{lost} {by_hand}");
        assert!((lost / rigid.free_curvature(1e-3) / (0.08 / 9.0) - 1.0).abs() < 2e-3, "{lost}");
        assert!((soft.free_curvature(soft.pressed_curvature(2e-3).unwrap()) - 2e-3).abs() < 1e-16);
        // The shop's factor is on what the layers keep, and not on this.
        let half = plain.glued_under(0.4).with_springback_factor(0.5).section_at(0.0);
        assert_eq!(half.squeezed_stiffness_n_mm, soft.squeezed_stiffness_n_mm);
    }

    #[test]
    fn a_sandwich_that_had_cured_before_swells_to_what_it_was() {
        let face = layer(1.0, 70_000.0, 4_000.0, None);
        let mut layers = [face.clone(), layer(8.0, 60.0, 20.0, Some(40.0)), face];
        layers.iter_mut().for_each(|l| l.cured_group = Some(0));
        assert_eq!(Laminate::new(&layers, 0.0).unwrap().glued_under(0.4).section_at(0.0).squeezed_stiffness_n_mm, 0.0);
    }
}
