//! What is uncertain about a stack.

use crate::job::Share;
use crate::laminate::{Change, Laminate};

/// Which figure of a stack an input is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Quantity {
    /// Modulus along the board.
    Modulus,
    /// Thickness.
    Thickness,
    /// What relaxes of the bending stress overnight.
    Relaxation,
    /// Springback of the shop's boards over that of the model.
    SpringbackFactor,
    /// Closing in over what is computed.
    ClosingIn,
}

/// An uncertain figure, one for all layers that share it.
#[derive(Debug, Clone, PartialEq)]
pub struct Input {
    /// Which figure.
    pub quantity: Quantity,
    /// What it belongs to, in the builder's words: a material, or layers by name; empty for the springback factor.
    pub of: String,
    /// Indices of the layers, base first; empty for the springback factor.
    pub layers: Vec<usize>,
    /// The expected figure: a factor of 1 for moduli, 0 mm added for thicknesses, the share that relaxes, the factor.
    pub expected: f64,
    /// Its standard deviation, in the same measure.
    pub sd: f64,
}

impl Input {
    /// The words that name it in every output.
    pub fn name(&self) -> String {
        match self.quantity {
            Quantity::Modulus => format!("modulus of {}", self.of),
            Quantity::Thickness => format!("thickness of {}", self.of),
            Quantity::Relaxation => format!("relaxation of {}", self.of),
            Quantity::SpringbackFactor => "your shop's springback".to_owned(),
            Quantity::ClosingIn => "closing in".to_owned(),
        }
    }

    /// The figure at a standard normal number: log-normal for moduli (with the expected mean) and for the springback factor
    /// (with the expected median), so that they stay above zero and reach further upwards; normal for the others, kept within
    /// what is possible.
    fn at(&self, z: f64) -> f64 {
        match self.quantity {
            Quantity::Modulus => {
                let variance = libm::log(1.0 + self.sd * self.sd);
                libm::exp(variance.sqrt() * z - 0.5 * variance)
            }
            Quantity::Thickness => self.sd * z,
            Quantity::ClosingIn => (self.expected + self.sd * z).max(0.0),
            Quantity::Relaxation => (self.expected + self.sd * z).clamp(0.0, 1.0),
            Quantity::SpringbackFactor if self.expected > 0.0 => {
                self.expected * libm::exp(libm::log1p((self.sd / self.expected).powi(2)).sqrt() * z)
            }
            Quantity::SpringbackFactor => (self.sd * z).max(0.0),
        }
    }
}

/// All that is uncertain about a stack.
///
/// Layers of one material come from one batch and share its modulus (unless a sag test says otherwise for one of them)
/// and what relaxes; layers of one entry of the document or of one material and tolerance share the setting of the
/// machine that thicknessed them.
pub(crate) fn inputs_of(laminate: &Laminate, factor: Share) -> Vec<Input> {
    let mut found: Vec<Input> = Vec::new();
    let layers = laminate.layers();
    let mut add = |quantity, of: &str, layer: usize, expected: f64, sd: f64, alike: &dyn Fn(usize) -> bool| {
        if sd > 0.0 {
            let same = |i: &&mut Input| i.quantity == quantity && i.layers.iter().any(|l| alike(*l));
            match found.iter_mut().find(same) {
                Some(input) => input.layers.push(layer),
                None => found.push(Input { quantity, of: of.to_owned(), layers: vec![layer], expected, sd }),
            }
        }
    };
    for (i, layer) in layers.iter().enumerate() {
        let material = &layer.material;
        let batch = |j: usize| layers[j].material == *material && layers[j].sag_test == layer.sag_test;
        add(Quantity::Modulus, &material.name, i, 1.0, material.modulus_mpa.cv, &batch);
        let machine = |j: usize| {
            layers[j].material.name == material.name
                && layers[j].thickness == layer.thickness
                && layers[j].thickness_sd_mm == layer.thickness_sd_mm
        };
        add(Quantity::Thickness, &layer.name, i, 0.0, layer.thickness_sd_mm, &machine);
        let kind = |j: usize| layers[j].material.name == material.name && layers[j].relaxed == layer.relaxed;
        add(Quantity::Relaxation, &material.name, i, layer.relaxed.value, layer.relaxed.sd, &kind);
    }
    for input in found.iter_mut().filter(|i| i.quantity == Quantity::Thickness) {
        let mut names: Vec<&str> = input.layers.iter().map(|l| layers[*l].name.as_str()).collect();
        names.dedup();
        input.of = names.join(" and ");
    }
    if factor.sd > 0.0 {
        let quantity = Quantity::SpringbackFactor;
        found.push(Input { quantity, of: String::new(), layers: Vec::new(), expected: factor.value, sd: factor.sd });
    }
    let Share { value, sd } = laminate.closing_in().multiple;
    if sd > 0.0 && laminate.is_closing_in() {
        let quantity = Quantity::ClosingIn;
        found.push(Input { quantity, of: String::new(), layers: Vec::new(), expected: value, sd });
    }
    found
}

/// The stack at one standard normal number for each input.
pub(super) fn stack_at(laminate: &Laminate, inputs: &[Input], factor: Share, z: &[f64]) -> Laminate {
    let mut changes: Vec<Change> = laminate.unchanged();
    let mut springback_factor = factor.value;
    let mut closing_in = laminate.closing_in();
    for (input, z) in inputs.iter().zip(z) {
        let figure = input.at(*z);
        let mut each = |set: fn(&mut Change, f64)| input.layers.iter().for_each(|l| set(&mut changes[*l], figure));
        match input.quantity {
            Quantity::Modulus => each(|c, x| c.modulus_factor = x),
            Quantity::Thickness => each(|c, x| c.thickness_mm = x),
            Quantity::Relaxation => each(|c, x| c.relaxed = x),
            Quantity::SpringbackFactor => springback_factor = figure,
            Quantity::ClosingIn => closing_in.multiple.value = figure,
        }
    }
    if closing_in == laminate.closing_in() {
        return laminate.changed(&changes, springback_factor);
    }
    let more = closing_in.multiple.value - laminate.closing_in().multiple.value;
    let springback_factor = (springback_factor + closing_in.factor_per_multiple * more).max(0.0);
    laminate.with_closing_in(closing_in).changed(&changes, springback_factor)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::{Layer, Material, MaterialKind, Spread};
    use crate::laminate::Section;

    fn layer(name: &str, material: &str, thickness_mm: f64) -> Layer {
        let mut m = Material::of_modulus(material, MaterialKind::WoodAlong, 10_000.0);
        m.modulus_mpa = Spread { value: 10_000.0, cv: 0.2 };
        m.relaxed = Share { value: 0.05, sd: 0.02 };
        let mut layer = Layer::flat(name, m, thickness_mm);
        layer.thickness_sd_mm = 0.1;
        layer
    }

    #[test]
    fn layers_of_one_batch_and_machine_share_an_input() {
        let layers = [
            layer("base skin", "glass", 0.8),
            layer("core", "poplar", 4.0),
            layer("core", "poplar", 4.0),
            layer("stringer", "poplar", 3.0),
            layer("deck skin", "glass", 0.8),
        ];
        let laminate = Laminate::new(&layers, 0.0).unwrap();
        let found = inputs_of(&laminate, Share { value: 1.0, sd: 0.3 });
        let names: Vec<String> = found.iter().map(Input::name).collect();
        let expected = [
            "modulus of glass",
            "thickness of base skin and deck skin",
            "relaxation of glass",
            "modulus of poplar",
            "thickness of core",
            "relaxation of poplar",
            "thickness of stringer",
            "your shop's springback",
        ];
        assert_eq!(names, expected);
        assert_eq!(found[3].layers, [1, 2, 3]);
    }

    #[test]
    fn moduli_keep_their_mean_and_scatter() {
        let input = Input { quantity: Quantity::Modulus, of: String::new(), layers: vec![0], expected: 1.0, sd: 0.22 };
        let (n, mut mean, mut square) = (20_000, 0.0, 0.0);
        let mut random = crate::numeric::Random::new(1);
        for _ in 0..n {
            let x = input.at(random.normal());
            mean += x / f64::from(n);
            square += x * x / f64::from(n);
        }
        assert!((mean - 1.0).abs() < 0.006, "{mean}");
        assert!(((square - mean * mean).sqrt() - 0.22).abs() < 0.006, "{square}");
    }

    /// Each input at one standard deviation and a half changes its own layers by its own measure; relaxation ends at 0 and 1.
    #[test]
    fn a_draw_changes_what_its_inputs_stand_for() {
        let layers = [layer("skin", "glass", 0.8), layer("core", "poplar", 4.0), layer("skin", "glass", 0.8)];
        let laminate = Laminate::new(&layers, 0.0).unwrap();
        let factor = Share { value: 1.0, sd: 0.3 };
        let all = inputs_of(&laminate, factor);
        let at = |quantity: Quantity, of: &str, z: f64| {
            let drawn: Vec<f64> =
                all.iter().map(|i| if i.quantity == quantity && i.of == of { z } else { 0.0 }).collect();
            stack_at(&laminate, &all, factor, &drawn).section_at(0.0)
        };
        let made_of = |change: fn(&mut [Change]), factor: f64| {
            let mut changes = laminate.unchanged();
            // The log-normal modulus has its mean at 1, so that its median is below.
            changes.iter_mut().for_each(|c| c.modulus_factor = 1.0 / 1.04_f64.sqrt());
            change(&mut changes);
            laminate.changed(&changes, factor).section_at(0.0)
        };
        let close = |a: Section, b: Section| {
            let near = |x: f64, y: f64| (x - y).abs() <= 1e-12 * y.abs();
            assert!(near(a.thickness_mm, b.thickness_mm), "{a:?} {b:?}");
            assert!(near(a.bonded_stiffness_n_mm, b.bonded_stiffness_n_mm), "{a:?} {b:?}");
            assert!(near(a.kept_stiffness_n_mm, b.kept_stiffness_n_mm), "{a:?} {b:?}");
        };
        let modulus = made_of(|c| c[1].modulus_factor *= (1.5 * 1.04_f64.ln().sqrt()).exp(), 1.0);
        close(at(Quantity::Modulus, "poplar", 1.5), modulus);
        let skins = made_of(|c| [0, 2].iter().for_each(|i| c[*i].thickness_mm = -0.15), 1.0);
        close(at(Quantity::Thickness, "skin", -1.5), skins);
        close(at(Quantity::Relaxation, "poplar", 1.5), made_of(|c| c[1].relaxed = 0.08, 1.0));
        close(at(Quantity::Relaxation, "poplar", -3.0), made_of(|c| c[1].relaxed = 0.0, 1.0));
        close(at(Quantity::SpringbackFactor, "", 1.5), made_of(|_| (), (1.5 * 1.09_f64.ln().sqrt()).exp()));
    }
}
