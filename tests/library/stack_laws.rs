//! Laws that the stack's mechanics keep for any stack.

use overbend::job::{Layer, Material, MaterialKind, Share};
use overbend::laminate::{Laminate, Section};
use proptest::prelude::*;

/// Thickness, modulus, relaxed share, expansion, natural curvature.
type Figures = (f64, f64, f64, f64, f64);

fn stacks() -> impl Strategy<Value = Vec<Figures>> {
    let layer = (0.2..15.0_f64, 200.0..140_000.0_f64, 0.0..0.5_f64, -1e-6..3e-5_f64, -5e-4..5e-4_f64);
    prop::collection::vec(layer, 1..9)
}

fn layers(figures: &[Figures]) -> Vec<Layer> {
    let layer = |&(thickness_mm, modulus_mpa, relaxed, expansion, natural): &Figures| {
        let mut material = Material::of_modulus("given", MaterialKind::WoodAlong, modulus_mpa);
        material.expansion_per_k = Some(expansion);
        let mut layer = Layer::flat("layer", material, thickness_mm);
        layer.relaxed = Share { value: relaxed, sd: 0.0 };
        layer.natural_curvature_per_mm = natural;
        layer
    };
    figures.iter().map(layer).collect()
}

fn section(layers: &[Layer], warm_k: f64) -> Section {
    Laminate::new(layers, warm_k).unwrap().section_at(0.0)
}

fn flat(figures: &[Figures]) -> Vec<Layer> {
    layers(&figures.iter().map(|f| (f.0, f.1, 0.0, f.3, 0.0)).collect::<Vec<_>>())
}

fn near(a: f64, b: f64, scale: f64) -> Result<(), TestCaseError> {
    prop_assert!((a - b).abs() <= 1e-10 * scale.abs().max(f64::MIN_POSITIVE), "{} is not {}", a, b);
    Ok(())
}

proptest! {
    #[test]
    fn turning_a_stack_over_mirrors_what_comes_off(figures in stacks(), k in -2e-3..2e-3_f64) {
        let up = layers(&figures);
        let mut down: Vec<Layer> = up.iter().rev().cloned().collect();
        down.iter_mut().for_each(|l| l.natural_curvature_per_mm = -l.natural_curvature_per_mm);
        let (a, b) = (section(&up, 25.0), section(&down, 25.0));
        near(a.free_curvature(k), -b.free_curvature(-k), 1e-3)?;
        near(a.neutral_mm, b.thickness_mm - b.neutral_mm, a.thickness_mm)?;
        near(a.wet_stiffness_n_mm, b.wet_stiffness_n_mm, a.wet_stiffness_n_mm)?;
    }

    #[test]
    fn splitting_a_layer_that_was_cured_changes_nothing(figures in stacks(), at in 0.05..0.95_f64, which in 0..8usize, k in -2e-3..2e-3_f64) {
        let whole = layers(&figures);
        let i = which % whole.len();
        let mut lower = whole[i].clone();
        lower.cured_group = Some(1);
        let mut upper = lower.clone();
        let t = figures[i].0;
        lower.thickness = overbend::job::Thickness::Constant(t * at);
        upper.thickness = overbend::job::Thickness::Constant(t * (1.0 - at));
        let mut split = whole.clone();
        split.splice(i..=i, [lower, upper]);
        let (a, b) = (section(&whole, 25.0), section(&split, 25.0));
        near(a.free_curvature(k), b.free_curvature(k), 1e-3)?;
        near(a.wet_stiffness_n_mm, b.wet_stiffness_n_mm, a.wet_stiffness_n_mm)?;
        near(a.bonded_stiffness_n_mm, b.bonded_stiffness_n_mm, a.bonded_stiffness_n_mm)?;
    }

    #[test]
    fn scaling_all_moduli_changes_no_share(figures in stacks(), by in 0.1..10.0_f64, k in -2e-3..2e-3_f64) {
        let scaled: Vec<Figures> = figures.iter().map(|f| (f.0, f.1 * by, f.2, f.3, f.4)).collect();
        let (a, b) = (section(&layers(&figures), 25.0), section(&layers(&scaled), 25.0));
        near(a.springback_share(), b.springback_share(), 1.0)?;
        near(a.free_curvature(k), b.free_curvature(k), 1e-3)?;
        near(a.bonded_stiffness_n_mm * by, b.bonded_stiffness_n_mm, b.bonded_stiffness_n_mm)?;
    }

    #[test]
    fn scaling_all_thicknesses_scales_stiffness_by_the_cube_and_leaves_the_share(figures in stacks(), by in 0.2..5.0_f64) {
        let scaled: Vec<Figures> = figures.iter().map(|f| (f.0 * by, f.1, f.2, f.3, f.4)).collect();
        let (a, b) = (section(&layers(&figures), 0.0), section(&layers(&scaled), 0.0));
        near(a.springback_share(), b.springback_share(), 1.0)?;
        near(a.wet_stiffness_n_mm * by.powi(3), b.wet_stiffness_n_mm, b.wet_stiffness_n_mm)?;
        near(a.bonded_stiffness_n_mm * by.powi(3), b.bonded_stiffness_n_mm, b.bonded_stiffness_n_mm)?;
        near(a.neutral_mm * by, b.neutral_mm, b.thickness_mm)?;
    }

    #[test]
    fn flat_layers_give_back_a_share_between_nothing_and_all(figures in stacks()) {
        let share = section(&flat(&figures), 0.0).springback_share();
        prop_assert!(share > 0.0 && share <= 1.0 + 1e-12, "{}", share);
        if figures.len() == 1 {
            near(share, 1.0, 1.0)?;
        } else {
            prop_assert!(share < 1.0, "{}", share);
        }
    }

    #[test]
    fn pressing_for_a_curvature_and_releasing_gives_it_back(figures in stacks(), k in -2e-3..2e-3_f64) {
        let s = section(&layers(&figures), 25.0);
        if let Some(pressed) = s.pressed_curvature(k) {
            near(s.free_curvature(pressed), k, pressed.abs().max(1e-3))?;
        } else {
            prop_assert!(s.springback_share() > 1.0 - 1e-5);
        }
    }

    #[test]
    fn what_stays_in_the_layers_balances(figures in stacks(), k in -2e-3..2e-3_f64) {
        let stack = layers(&figures);
        let stresses = Laminate::new(&stack, 25.0).unwrap().residual_stresses(0.0, k);
        let (mut force, mut moment, mut bottom, mut scale) = (0.0, 0.0, 0.0, 0.0);
        for (s, f) in stresses.iter().zip(&figures) {
            let (mean, lean) = (0.5 * (s.lower_mpa + s.upper_mpa), s.upper_mpa - s.lower_mpa);
            force += mean * f.0;
            moment += mean * f.0 * (bottom + 0.5 * f.0) + lean * f.0 * f.0 / 12.0;
            bottom += f.0;
            scale += (s.lower_mpa.abs() + s.upper_mpa.abs()) * f.0;
        }
        prop_assert!(force.abs() <= 1e-9 * scale.max(1.0), "{} of {}", force, scale);
        prop_assert!(moment.abs() <= 1e-9 * scale.max(1.0) * bottom, "{} of {}", moment, scale);
    }
}
