//! How far one stack's boards speak for another stack.

use crate::forecast::{Input, Quantity, inputs_of};
use crate::job::{ClosingIn, Share};
use crate::laminate::{Change, Laminate};

/// How a stack's springback share depends on what is uncertain about its layers.
#[derive(Debug, Clone, PartialEq)]
pub struct Sensitivities {
    /// Share in the middle of the board.
    share: f64,
    /// How much lower the springback factor seems when the stack closes in as computed.
    factor_per_closing_in: f64,
    /// Each input with the change of the share's logarithm for one standard deviation of it.
    inputs: Vec<(Key, f64)>,
}

/// What makes an input the same in two stacks: the same figure of the same material.
#[derive(Debug, Clone, PartialEq)]
struct Key {
    quantity: Quantity,
    of: String,
    /// Expected modulus of its layers, MPa, where that is what is uncertain: woods given by their modulus alone may share a name.
    modulus_mpa: f64,
}

impl Key {
    /// Whether both mean the same; moduli of kept boards are rounded.
    fn is(&self, other: &Self) -> bool {
        let near = (self.modulus_mpa - other.modulus_mpa).abs() <= 1e-4 * self.modulus_mpa;
        self.quantity == other.quantity && self.of == other.of && near
    }
}

/// Scatter of the factor that stays between two stacks of which one gives back e times the other, beyond what their
/// materials make: glue lines, creep and contact do not act on all stacks alike (our choice, no source).
const UNLIKE: f64 = 0.15;
/// Scatter of the factor from board to board, as a part of it, that is expected before the shop's own is known (our choice: shops'
/// boards scatter by 0.02 to 0.10). It is that of every stack: what the materials' entries say is how batches and their lists
/// differ, which the shop's factor takes up, and a typed modulus is that of one piece of wood.
pub const EXPECTED_SCATTER: f64 = 0.045;
/// Scatter of closing in from board to board, as a part of it: spread and moisture of one shop (our choice, no source).
const CLOSING_SCATTER: f64 = 0.1;

/// How much less two stacks say about each other than about themselves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TransferError {
    /// Standard deviation of the ratio of their factors.
    pub deviation: f64,
}

impl Sensitivities {
    /// Works them out in the middle of the board, one input at a time.
    pub fn of(laminate: &Laminate) -> Self {
        let plain = laminate.with_springback_factor(1.0).with_closing_in(ClosingIn::EXPECTED);
        let share_of = |changes: &[Change]| plain.changed(changes, 1.0).section_at(0.0).springback_share();
        let share = share_of(&plain.unchanged());
        let sensitivity = |input: &Input| {
            let at = |sign: f64| {
                let mut changes = plain.unchanged();
                for layer in &input.layers {
                    let change = &mut changes[*layer];
                    match input.quantity {
                        Quantity::Modulus => change.modulus_factor = 1.0 + sign * input.sd.min(0.9),
                        Quantity::Thickness => change.thickness_mm = sign * input.sd,
                        Quantity::Relaxation => change.relaxed = (input.expected + sign * input.sd).clamp(0.0, 0.99),
                        Quantity::SpringbackFactor | Quantity::ClosingIn => {}
                    }
                }
                libm::log(share_of(&changes).max(f64::MIN_POSITIVE))
            };
            0.5 * (at(1.0) - at(-1.0))
        };
        let key = |input: &Input| Key {
            quantity: input.quantity,
            of: match (input.quantity, input.layers.first()) {
                (Quantity::Thickness, _) | (_, None) => input.of.clone(),
                (_, Some(layer)) => plain.layers()[*layer].material.name.clone(),
            },
            modulus_mpa: match (input.quantity, input.layers.first()) {
                (Quantity::Modulus, Some(layer)) => plain.layers()[*layer].material.modulus_mpa.value,
                // Stock of one name relaxes alike, whatever a sag test said of its modulus.
                _ => 0.0,
            },
        };
        let all = inputs_of(&plain, Share::NONE).into_iter().filter(|i| i.quantity != Quantity::ClosingIn);
        let factor_per_closing_in = plain.section_at(0.0).factor_per_closing_in();
        Self { share, factor_per_closing_in, inputs: all.map(|i| (key(&i), sensitivity(&i))).collect() }
    }

    /// Standard deviation that the factor has, relative, before a board was measured, from the layers alone: what boards
    /// of one shop share (moduli of a batch, relaxation).
    pub fn shared_deviation(&self) -> f64 {
        let shared = self.inputs.iter().filter(|(key, _)| key.quantity != Quantity::Thickness);
        shared.map(|(_, g)| g * g).sum::<f64>().sqrt()
    }

    /// Expected scatter of the factor that does not grow with it: that of closing in.
    pub fn fixed_scatter(&self) -> f64 {
        CLOSING_SCATTER * self.factor_per_closing_in
    }

    /// How far boards of this stack speak for another: what the two share of their materials falls out, as far as it
    /// moves both alike.
    pub fn unlikeness(&self, other: &Self) -> TransferError {
        let shared = |key: &Key| key.quantity != Quantity::Thickness;
        let in_other = |key: &Key| other.inputs.iter().find(|(k, _)| k.is(key)).map_or(0.0, |(_, g)| *g);
        let mine = self.inputs.iter().filter(|(k, _)| shared(k)).map(|(k, g)| (g - in_other(k)).powi(2));
        let absent = |key: &Key| !self.inputs.iter().any(|(k, _)| k.is(key));
        let others = other.inputs.iter().filter(|(k, _)| shared(k) && absent(k)).map(|(_, g)| g * g);
        let materials: f64 = mine.chain(others).sum();
        // Stacks that give nothing back are as far apart as any: `min` of NaN and the bound is the bound.
        let apart = libm::log(self.share / other.share).abs().min(2.0);
        TransferError { deviation: (materials + (UNLIKE * apart).powi(2)).sqrt() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::{Layer, Material, MaterialKind, Spread};

    fn layer(material: &str, thickness_mm: f64, modulus_mpa: f64, cv: f64) -> Layer {
        let mut m = Material::of_modulus(material, MaterialKind::WoodAlong, modulus_mpa);
        m.modulus_mpa = Spread { value: modulus_mpa, cv };
        Layer::flat(material, m, thickness_mm)
    }

    fn of(layers: &[Layer]) -> Sensitivities {
        Sensitivities::of(&Laminate::new(layers, 0.0).unwrap())
    }

    /// With layers of one wood alone the share does not depend on its modulus; with thin stiff skins round a soft core it
    /// follows the core's modulus over the skins'.
    #[test]
    fn moduli_matter_only_where_layers_differ() {
        let plies = of(&[layer("ash", 4.0, 12_000.0, 0.2), layer("ash", 4.0, 12_000.0, 0.2)]);
        assert!(plies.shared_deviation() < 1e-12, "{plies:?}");
        let skins = |core: f64| {
            of(&[layer("glass", 0.5, 30_000.0, 0.0), layer("core", 8.0, core, 0.2), layer("glass", 0.5, 30_000.0, 0.0)])
        };
        let (soft, stiff) = (skins(1_000.0).shared_deviation(), skins(12_000.0).shared_deviation());
        assert!(soft > 0.15 && soft < 0.21 && stiff < soft, "{soft} {stiff}");
    }

    #[test]
    fn a_stack_speaks_for_itself_and_less_for_others() {
        let thick = of(&[layer("glass", 0.8, 25_000.0, 0.08), layer("poplar", 8.0, 10_000.0, 0.2)]);
        let thin = of(&[layer("glass", 0.8, 25_000.0, 0.08), layer("poplar", 6.0, 10_000.0, 0.2)]);
        let ash = of(&[layer("glass", 0.8, 25_000.0, 0.08), layer("ash", 8.0, 10_000.0, 0.2)]);
        assert_eq!(thick.unlikeness(&thick).deviation, 0.0);
        let (near, far) = (thick.unlikeness(&thin).deviation, thick.unlikeness(&ash).deviation);
        assert!(near > 0.0 && near < far, "{near} {far}");
        assert!((thick.unlikeness(&thin).deviation - thin.unlikeness(&thick).deviation).abs() < 1e-12);
    }

    /// Where all relaxes nothing is given back, and no ratio of shares can be found: as unlike as stacks are taken to be, 0.15
    /// times two.
    #[test]
    fn a_stack_that_gives_nothing_back_is_as_unlike_as_any() {
        let mut still = [layer("ash", 4.0, 12_000.0, 0.0), layer("ash", 4.0, 12_000.0, 0.0)];
        let lively = of(&still);
        still.iter_mut().for_each(|l| l.relaxed.value = 1.0);
        let still = of(&still);
        for (a, b) in [(&still, &lively), (&lively, &still), (&still, &still)] {
            assert!((a.unlikeness(b).deviation - 0.3).abs() < 1e-12, "{a:?} {b:?}");
        }
    }
}
