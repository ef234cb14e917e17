//! Stress that stays in the layers of the released board.

use super::Laminate;
use super::section::{Moments, Section, groups, sinking};

/// Stress along the board at the two faces of a layer, MPa, tension positive.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LayerStress {
    /// Index of the layer, base first.
    pub layer: usize,
    /// At its lower face.
    pub lower_mpa: f64,
    /// At its upper face.
    pub upper_mpa: f64,
}

impl Laminate {
    /// Stresses at `s_mm` after release of the stack that was pressed to `k_pressed_per_mm`.
    ///
    /// What a layer kept of the bend (with the shop's factor), what swelling after the squeeze and the release as one beam
    /// add, and what cooling adds. They balance: neither force nor moment is left on the section.
    pub fn residual_stresses(&self, s_mm: f64, k_pressed_per_mm: f64) -> Vec<LayerStress> {
        let slices = self.slices_at(s_mm);
        let section = self.with_factor(Section::of(&slices));
        let stretch = |part: &[_], modulus: fn(&super::section::Slice) -> f64| {
            let sum = |f: &dyn Fn(&super::section::Slice) -> f64| part.iter().map(f).sum::<f64>();
            let force = sum(&|s| modulus(s) * s.thickness_mm);
            if force > 0.0 { sum(&|s| modulus(s) * s.thickness_mm * s.shrinkage) / force } else { 0.0 }
        };
        let shrinkage = stretch(&slices, |s| s.modulus_mpa);
        let release_per_mm = section.springback_per_mm(k_pressed_per_mm);
        let (force, sunk) = sinking(&slices)
            .fold((0.0, 0.0), |sum, g| (sum.0 + g.axial_n_per_mm, sum.1 + g.axial_n_per_mm * g.sunk_mm));
        let mean_sunk_mm = sunk / force;
        let mut stresses = Vec::with_capacity(slices.len());
        let mut bottom = 0.0;
        for (group, sinking) in groups(&slices).zip(sinking(&slices)) {
            let swollen = k_pressed_per_mm * (mean_sunk_mm - sinking.sunk_mm);
            let own_neutral = bottom + Moments::of(group, |s| s.kept_modulus_mpa).neutral_mm;
            let swelling = stretch(group, |s| s.kept_modulus_mpa);
            let bend = k_pressed_per_mm - group[0].natural_curvature_per_mm;
            for slice in group {
                let at = |z: f64| {
                    let pressed = slice.kept_modulus_mpa * (swelling - slice.shrinkage - bend * (z - own_neutral));
                    let arm = z - section.neutral_mm;
                    let cooled = slice.shrinkage - shrinkage - section.thermal_curvature_per_mm * arm;
                    self.springback_factor() * pressed + slice.modulus_mpa * (release_per_mm * arm + swollen + cooled)
                };
                let top = bottom + slice.thickness_mm;
                stresses.push(LayerStress { layer: stresses.len(), lower_mpa: at(bottom), upper_mpa: at(top) });
                bottom = top;
            }
        }
        stresses
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::{Layer, Material, MaterialKind, Share};

    fn layer(thickness_mm: f64, modulus_mpa: f64, expansion_per_k: f64) -> Layer {
        let mut material = Material::of_modulus("given", MaterialKind::WoodAlong, modulus_mpa);
        material.expansion_per_k = Some(expansion_per_k);
        Layer::flat("layer", material, thickness_mm)
    }

    /// Two equal layers of modulus E and thickness t, pressed to k: each keeps -E k y about its own middle, the release
    /// by k/4 adds E k z/4 about the joint: at the base -E k (-t/2) + E k/4 (-t) = E k t/4, at the joint ±E k t/2.
    #[test]
    fn two_equal_layers_keep_the_stresses_found_by_hand() {
        let stack = Laminate::new(&[layer(4.0, 10_000.0, 0.0), layer(4.0, 10_000.0, 0.0)], 0.0).unwrap();
        let found = stack.residual_stresses(0.0, 1e-3);
        let expected = [(10.0, -20.0), (20.0, -10.0)];
        for (f, (lower, upper)) in found.iter().zip(expected) {
            assert!((f.lower_mpa - lower).abs() < 1e-12 && (f.upper_mpa - upper).abs() < 1e-12, "{f:?}");
        }
    }

    /// Two equal layers of modulus E, the lower one shrinking by d more: with the joint's strain -d/2 and the curvature
    /// 3 d/(4 t) that leave neither force nor moment, the joint keeps ±E d/2 and the outer faces ∓E d/4.
    #[test]
    fn two_layers_that_shrink_unlike_keep_the_stresses_found_by_hand() {
        let stack = Laminate::new(&[layer(4.0, 10_000.0, 2e-5), layer(4.0, 10_000.0, 0.0)], 50.0).unwrap();
        let found = stack.residual_stresses(0.0, 0.0);
        for (f, (lower, upper)) in found.iter().zip([(-2.5, 5.0), (-5.0, 2.5)]) {
            assert!((f.lower_mpa - lower).abs() < 1e-12 && (f.upper_mpa - upper).abs() < 1e-12, "{f:?}");
        }
    }

    #[test]
    fn stresses_balance_whatever_the_stack() {
        let mut layers = [
            layer(0.8, 18_600.0, 9e-6),
            layer(5.0, 10_890.0, 4e-6),
            layer(3.0, 4_380.0, 4e-6),
            layer(1.2, 70_000.0, 24e-6),
            layer(0.6, 40_000.0, 6e-6),
        ];
        layers[1].relaxed = Share { value: 0.2, sd: 0.0 };
        layers[1].cured_group = Some(0);
        layers[2].cured_group = Some(0);
        layers[4].natural_curvature_per_mm = 5e-4;
        layers[2].material.through_modulus_mpa = Some(40.0);
        let stack = Laminate::new(&layers, 30.0).unwrap().with_springback_factor(0.6).glued_under(0.8);
        let (mut force, mut moment, mut bottom, mut largest) = (0.0, 0.0, 0.0, 0.0_f64);
        for s in stack.residual_stresses(0.0, 1.3e-3) {
            let t = match layers[s.layer].thickness {
                crate::job::Thickness::Constant(t) => t,
                crate::job::Thickness::Tapered(_) => unreachable!("constant"),
            };
            force += 0.5 * (s.lower_mpa + s.upper_mpa) * t;
            moment += 0.5 * (s.lower_mpa + s.upper_mpa) * t * (bottom + 0.5 * t);
            moment += (s.upper_mpa - s.lower_mpa) * t * t / 12.0;
            bottom += t;
            largest = largest.max(s.lower_mpa.abs());
        }
        assert!(largest > 5.0 && force.abs() < 1e-10 && moment.abs() < 1e-9, "{largest} {force} {moment}");
    }
    /// Without cooling all stress comes from what the layers keep, which is what the factor is on.
    #[test]
    fn stresses_follow_the_shops_factor() {
        let stack = Laminate::new(&[layer(0.8, 18_600.0, 0.0), layer(8.0, 10_890.0, 0.0)], 0.0).unwrap();
        let (all, third) = (stack.residual_stresses(0.0, 1e-3), stack.with_springback_factor(0.3));
        for (a, b) in all.iter().zip(third.residual_stresses(0.0, 1e-3)) {
            assert!((b.lower_mpa - 0.3 * a.lower_mpa).abs() < 1e-12, "{a:?} {b:?}");
            assert!((b.upper_mpa - 0.3 * a.upper_mpa).abs() < 1e-12, "{a:?} {b:?}");
        }
    }
}
