//! Strain of each layer while it is bent on the table.

use crate::codes;
use crate::curve::Curvature;
use crate::finding::{Finding, Verdict};
use crate::job::EffectiveLayer;
use crate::units::{Phrase, Quantity, phrase};

use super::Laminate;
use super::section::{Moments, groups};

/// The hardest that a layer is bent anywhere along the board.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LayerStrain {
    /// Index of the layer, base first.
    pub layer: usize,
    /// Largest strain of its faces, without sign.
    pub strain: f64,
    /// Where, mm from the middle.
    pub s_mm: f64,
    /// The strain it may see, where known.
    pub limit: Option<f64>,
}

/// Share of the limit from which a bend is worth a second look.
///
/// The glued laminated timber limits of 1/100 (hardwood) and 1/125 (softwood) of the radius per lamination (NDS, from
/// memory) are strains of 0.5 % and 0.4 %, about 0.6 of what clear wood of the usual species bears (modulus of rupture
/// over modulus of elasticity, Wood Handbook tables 5-3b and 5-5b, second-hand).
const WATCH_SHARE: f64 = 0.6;

/// Distance between places looked at, mm: strain runs smoothly between a board's stations, so this only sets how well
/// the place of the peak is named.
const STEP_MM: f64 = 5.0;

impl Laminate {
    /// The largest strain of each layer when the stack lies at the curvature `pressed` before the glue has set.
    ///
    /// Layers that slide freely bend about their own middle, `t k / 2`; a cured group bends about its own neutral axis.
    pub(crate) fn strains(&self, pressed: &Curvature) -> Vec<LayerStrain> {
        let start = |(layer, l): (usize, &EffectiveLayer)| LayerStrain {
            layer,
            strain: 0.0,
            s_mm: pressed.start_mm(),
            limit: l.material.strain_limit,
        };
        let mut worst: Vec<LayerStrain> = self.layers().iter().enumerate().map(start).collect();
        let mut look = |s_mm: f64, k_per_mm: f64| {
            let slices = self.slices_at(s_mm);
            let mut layer = 0;
            for group in groups(&slices) {
                let bend = (k_per_mm - group[0].natural_curvature_per_mm).abs();
                let neutral_mm = Moments::of(group, |s| s.modulus_mpa).neutral_mm;
                let mut bottom = 0.0;
                for slice in group {
                    let top = bottom + slice.thickness_mm;
                    let strain = bend * (top - neutral_mm).abs().max((bottom - neutral_mm).abs());
                    if slice.thickness_mm > 0.0 && strain > worst[layer].strain {
                        worst[layer].strain = strain;
                        worst[layer].s_mm = s_mm;
                    }
                    bottom = top;
                    layer += 1;
                }
            }
        };
        for piece in pressed.refined(STEP_MM).pieces() {
            look(piece.start_mm, piece.k_start_per_mm);
            look(piece.end_mm, piece.k_end_per_mm);
        }
        for s in self.breaks_mm().into_iter().filter(|s| (pressed.start_mm()..=pressed.end_mm()).contains(s)) {
            look(s, pressed.at(s));
        }
        worst
    }

    /// Those strains as checks against the limits of the materials; layers without a known limit are left out. `which` says
    /// which line along the board has this curvature: nothing for all of it.
    pub(crate) fn strain_findings(&self, pressed: &Curvature, which: &'static str) -> Vec<Finding> {
        let finding = |worst: LayerStrain| {
            let limit = worst.limit?;
            let name = &self.layers()[worst.layer].name;
            let (verdict, held) = Verdict::over(worst.strain, (WATCH_SHARE * limit, limit), Quantity::share);
            let remedy = match verdict {
                Verdict::Stop => {
                    let thinner = (worst.strain / limit).ceil().max(2.0);
                    phrase!("Split {} into {} thinner layers, or bend it less.", name, Quantity::count(thinner))
                }
                Verdict::Watch => {
                    phrase!("Pick {} without knots or runout, or split it into thinner layers.", name)
                }
                Verdict::Ok => Phrase::default(),
            };
            Some(
                codes::LAYER_STRAIN
                    .check(
                        phrase!("strain of {}, {} from the middle{}", name, Quantity::place(worst.s_mm), which),
                        (verdict, held),
                    )
                    .with_remedy(remedy),
            )
        };
        let mut findings: Vec<Finding> = self.strains(pressed).into_iter().filter_map(finding).collect();
        // Plies of one kind are reported once.
        findings.dedup();
        findings
    }

    /// The check of the layer that a curvature across strains the most of what its material bears; none where no limit is
    /// known.
    pub(crate) fn across_finding(&self, across_per_mm: f64) -> Option<Finding> {
        let strain = |l: &EffectiveLayer| 0.5 * l.thickness.thickest_mm() * across_per_mm.abs();
        let limited = self.layers().iter().filter_map(|l| Some((l, strain(l), l.material.strain_limit?)));
        let (layer, strain, limit) = limited.max_by(|a, b| (a.1 / a.2).total_cmp(&(b.1 / b.2)))?;
        let held = Verdict::over(strain, (WATCH_SHARE * limit, limit), Quantity::share);
        Some(codes::ACROSS_STRAIN.check(phrase!("{}, across the board", &layer.name), held))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::{Layer, Material, MaterialKind, Thickness};

    fn layer(thickness_mm: f64, strain_limit: Option<f64>) -> Layer {
        let mut material = Material::of_modulus("given", MaterialKind::WoodAlong, 10_000.0);
        material.strain_limit = strain_limit;
        Layer::flat("layer", material, thickness_mm)
    }

    #[test]
    fn loose_layers_bend_about_their_own_middle_and_cured_ones_together() {
        let mut layers = [layer(1.0, None), layer(4.0, Some(0.01)), layer(4.0, Some(0.005)), layer(2.0, Some(0.002))];
        for l in &mut layers[1..3] {
            l.cured_group = Some(0);
        }
        layers[3].natural_curvature_per_mm = -1e-3;
        let pressed = Curvature::through(&[(-400.0, 0.0), (0.0, 1e-3), (400.0, -1.2e-3)]).unwrap();
        let stack = Laminate::new(&layers, 0.0).unwrap();
        let worst = stack.strains(&pressed);
        let found: Vec<_> = worst.iter().map(|w| (w.strain, w.s_mm)).collect();
        let expected = [(0.6e-3, 400.0), (4.8e-3, 400.0), (4.8e-3, 400.0), (2.0e-3, 0.0)];
        for ((strain, s), (strain_expected, s_expected)) in found.into_iter().zip(expected) {
            assert!((strain - strain_expected).abs() < 1e-15 && s == s_expected, "{strain} at {s}");
        }
        let verdicts: Vec<_> = stack.strain_findings(&pressed, "").iter().map(|f| f.verdict).collect();
        assert_eq!(verdicts, [Verdict::Ok, Verdict::Watch, Verdict::Watch]);
    }

    #[test]
    fn the_worst_place_of_a_taper_may_lie_inside_a_piece() {
        let mut core = layer(1.0, Some(0.001));
        core.thickness = Thickness::Tapered(vec![(0.0, 8.0), (400.0, 2.0)]);
        let pressed = Curvature::through(&[(0.0, 0.0), (400.0, 1e-3)]).unwrap();
        // t k / 2 with t = 8 - 6u, k = 1e-3 u peaks at u = 2/3.
        let worst = Laminate::new(&[core], 0.0).unwrap().strains(&pressed)[0];
        assert!((worst.strain - 0.5e-3 * 4.0 * 2.0 / 3.0).abs() < 1e-7, "{worst:?}");
        assert!((worst.s_mm - 800.0 / 3.0).abs() <= STEP_MM, "{worst:?}");
    }

    #[test]
    fn a_layer_bent_beyond_its_limit_stops_and_says_how_many_thinner_ones_would_do() {
        // 6 mm at 1e-3 1/mm: 0.3 % strain.
        let bent = Curvature::through(&[(-400.0, 1e-3), (400.0, 1e-3)]).unwrap();
        let judged = |limit: f64| {
            let found = Laminate::new(&[layer(6.0, Some(limit))], 0.0).unwrap().strain_findings(&bent, "");
            (found[0].verdict, found[0].remedy.text(Default::default()))
        };
        let (verdict, remedy) = judged(0.001_1);
        assert!(verdict == Verdict::Stop && remedy.contains("into 3 thinner layers"), "{remedy}");
        let (verdict, remedy) = judged(0.002_9);
        assert!(verdict == Verdict::Stop && remedy.contains("into 2 thinner layers"), "{remedy}");
        assert_eq!(judged(0.003_1).0, Verdict::Watch);
        assert_eq!(judged(0.01), (Verdict::Ok, String::new()));
        let shown = Laminate::new(&[layer(6.0, Some(0.004))], 0.0).unwrap().strain_findings(&bent, "").remove(0);
        // Watched from six tenths of 0.4 %, and that is what is shown.
        let (value, limit, unit) = shown.si().unwrap();
        assert!((value - 0.3).abs() < 1e-12 && (limit - 0.24).abs() < 1e-12 && unit == "%", "{shown:?}");
    }

    #[test]
    fn layers_cured_together_strain_most_at_the_face_that_is_farthest_from_their_neutral_axis() {
        // Three of one modulus, 2, 1 and 3 mm: their axis lies at 3 mm, on the upper face of the middle one.
        let mut layers = [layer(2.0, None), layer(1.0, None), layer(3.0, None)];
        for l in &mut layers {
            l.cured_group = Some(0);
        }
        let bent = Curvature::through(&[(-400.0, 1e-3), (400.0, 1e-3)]).unwrap();
        let strains: Vec<f64> = Laminate::new(&layers, 0.0).unwrap().strains(&bent).iter().map(|w| w.strain).collect();
        assert_eq!(strains.len(), 3);
        for (found, expected) in strains.iter().zip([3e-3, 1e-3, 3e-3]) {
            assert!((found - expected).abs() < 1e-15, "{strains:?}");
        }
    }
}
