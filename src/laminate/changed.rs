//! The same stack with other numbers.

use super::change::Change;
use super::stack::Laminate;

impl Laminate {
    /// For each layer the change that changes nothing.
    pub fn unchanged(&self) -> Vec<Change> {
        let none = |l: &crate::job::EffectiveLayer| Change {
            modulus_factor: 1.0,
            thickness_mm: 0.0,
            relaxed: l.relaxed.value,
        };
        self.layers().iter().map(none).collect()
    }

    /// For each layer the change that the stack has now.
    pub(crate) fn changes_now(&self) -> Vec<Change> {
        self.changes().to_vec()
    }

    /// The stack with one change for each layer (missing ones change nothing) and another springback factor.
    #[must_use]
    pub fn changed(&self, changes: &[Change], springback_factor: f64) -> Self {
        let mut all = self.unchanged();
        for (change, to) in all.iter_mut().zip(changes) {
            *change = *to;
        }
        self.rebuilt(all, springback_factor)
    }

    /// The stack with a factor on what it springs back: on the moment that it keeps of having been bent.
    #[must_use]
    pub fn with_springback_factor(&self, factor: f64) -> Self {
        self.rebuilt(self.changes().to_vec(), factor)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::{Layer, Material, MaterialKind, Share, Thickness};

    fn layer(thickness_mm: f64, modulus_mpa: f64) -> Layer {
        Layer::flat("layer", Material::of_modulus("given", MaterialKind::WoodAlong, modulus_mpa), thickness_mm)
    }

    #[test]
    fn a_changed_stack_is_the_stack_made_of_changed_layers() {
        let mut before = [layer(1.0, 20_000.0), layer(6.0, 10_000.0), layer(1.0, 20_000.0)];
        before[1].thickness = Thickness::Tapered(vec![(-400.0, 3.0), (0.0, 6.0)]);
        let mut after = before.clone();
        after[0].material.modulus_mpa.value = 24_000.0;
        after[1].thickness = Thickness::Tapered(vec![(-400.0, 2.5), (0.0, 5.5)]);
        after[1].relaxed = Share { value: 0.1, sd: 0.0 };
        let stack = Laminate::new(&before, 0.0).unwrap();
        let mut changes = stack.unchanged();
        changes[0].modulus_factor = 1.2;
        changes[1].thickness_mm = -0.5;
        changes[1].relaxed = 0.1;
        let expected = Laminate::new(&after, 0.0).unwrap();
        for s in [-300.0, 0.0] {
            assert_eq!(stack.changed(&changes, 1.0).section_at(s), expected.section_at(s));
        }
        // A factor on what springs back leaves the changes as they are.
        let (later, at_once) = (stack.changed(&changes, 1.0).with_springback_factor(0.7), stack.changed(&changes, 0.7));
        assert_eq!(later.section_at(-100.0), at_once.section_at(-100.0));
        assert_eq!(stack.changed(&stack.unchanged(), 1.0).section_at(-100.0), stack.section_at(-100.0));
    }

    #[test]
    fn the_springback_factor_scales_what_is_given_back_and_leaves_cooling_alone() {
        let mut layers = [layer(1.0, 20_000.0), layer(6.0, 10_000.0), layer(1.5, 20_000.0)];
        for (l, a) in layers.iter_mut().zip([9e-6, 4e-6, 6e-6]) {
            l.material.expansion_per_k = Some(a);
        }
        let stack = Laminate::new(&layers, 20.0).unwrap();
        let (one, half) = (stack.section_at(0.0), stack.with_springback_factor(0.5).section_at(0.0));
        let k = 1e-3;
        let given_back =
            |s: &crate::laminate::Section| s.closed_in * k + s.thermal_curvature_per_mm - s.free_curvature(k);
        assert!((given_back(&half) - 0.5 * given_back(&one)).abs() < 1e-18);
        assert_eq!(half.thermal_curvature_per_mm, one.thermal_curvature_per_mm);
        assert_eq!(half.wet_stiffness_n_mm, one.wet_stiffness_n_mm);
    }
}
