//! What time does to a released board.
//!
//! Wood creeps by a power law: after t hours under a constant stress its strain has grown by the part `CREEP t^POWER` (Wood
//! Handbook, FPL-GTR-190, "Creep and Relaxation", seen: a power law of which about half recovers; 35 % after 100 days, and a
//! fourth root between the published powers of 0.2 and 0.33).

use super::model::{Model, Scene};
use crate::job::EffectiveLayer;
use crate::laminate::Laminate;

/// Creep of one hour, and the power of time: 35 % after 100 days.
const CREEP: f64 = 0.05;
const POWER: f64 = 0.25;
/// Hours that a board is held on its table where nobody says: a night (common practice, no source).
const HELD_H: f64 = 12.0;
/// Hours after which a board is told as after a season: 100 days.
const SEASON_H: f64 = 2400.0;

/// Hours after release that a board is read at where nobody says, and that tables are designed for: a day.
pub(crate) const READ_AFTER_H: f64 = 24.0;

/// How the layers of a stack creep.
enum Creep {
    /// All of them: what crept on the table comes back.
    All,
    /// Some, between others that hold them in their bend: they go on.
    Some,
    /// None.
    None,
}

fn creep(laminate: &Laminate) -> Creep {
    let creeps = |l: &EffectiveLayer| l.relaxed.value > 0.0;
    match laminate.layers().iter().filter(|l| creeps(l)).count() {
        0 => Creep::None,
        n if n == laminate.layers().len() => Creep::All,
        _ => Creep::Some,
    }
}

/// Springback so many hours after a night on the table over that of a day after it: 0.94 after five minutes for a stack of plain
/// wood, whose creep on the table comes back by superposition (Boltzmann's principle of linear viscoelasticity); 1.03 for a core
/// between stiff skins, which goes on relaxing. Layers that do not relax on the table do not creep after it.
pub(crate) fn shown_after(laminate: &Laminate, hours: f64) -> f64 {
    let hours = hours.max(0.0);
    let shown = |hours: f64| match creep(laminate) {
        Creep::All => 1.0 - CREEP * (libm::pow(HELD_H + hours, POWER) - libm::pow(hours, POWER)),
        Creep::Some => 1.0 / (1.0 + CREEP * libm::pow(HELD_H + hours, POWER)),
        Creep::None => 1.0,
    };
    shown(hours) / shown(READ_AFTER_H)
}

/// Heights of tail and tip, mm, of the board after 100 days; `None` for a stack that does not creep or whose layers all do, which
/// win back most of their creep within a day, and where no board comes out.
pub(crate) fn after_a_season_mm(scene: &Scene<'_>, laminate: &Laminate) -> Option<(f64, f64)> {
    if !matches!(creep(laminate), Creep::Some) {
        return None;
    }
    let later = shown_after(laminate, SEASON_H);
    let mut changes = laminate.changes_now();
    for (change, layer) in changes.iter_mut().zip(laminate.layers()) {
        if layer.relaxed.value > 0.0 {
            change.relaxed = 1.0 - (1.0 - change.relaxed) * later;
        }
    }
    let model = Model::lying_still(scene, laminate);
    let stack = laminate.changed(&changes, laminate.springback_factor());
    model.end_heights_mm(&stack)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::{Layer, Material, MaterialKind, Share};

    fn stack(relaxed: &[f64]) -> Laminate {
        let layer = |r: &f64| {
            let mut layer = Layer::flat("layer", Material::of_modulus("m", MaterialKind::WoodAlong, 1e4), 4.0);
            layer.relaxed = Share { value: *r, sd: 0.0 };
            layer
        };
        Laminate::new(&relaxed.iter().map(layer).collect::<Vec<_>>(), 0.0).unwrap()
    }

    /// Linear viscoelasticity of wood puts 0.89 to 0.97 of the elastic springback after five minutes and 0.97 to 0.995 after a
    /// day (computed from powers of 0.2 to 0.33 through 35 % after 100 days).

    #[test]
    fn plain_wood_comes_back_and_a_core_between_skins_goes_on() {
        assert!((CREEP * SEASON_H.powf(POWER) - 0.35).abs() < 2e-3);
        let minutes = |relaxed: &[f64]| shown_after(&stack(relaxed), 1.0 / 12.0);
        // By hand: 1 - 0.05 (12.083^0.25 - 0.0833^0.25) = 0.9337 after five minutes, 1 - 0.05 (36^0.25 - 24^0.25) = 0.9882 after a day.
        assert!((minutes(&[0.1, 0.1]) - 0.9337 / 0.9882).abs() < 2e-4);
        // 1 / (1 + 0.05 · 12.083^0.25) = 0.9147 and 1 / (1 + 0.05 · 36^0.25) = 0.8909.
        assert!((minutes(&[0.0, 0.1, 0.0]) - 0.9147 / 0.8909).abs() < 2e-4);
        assert_eq!((minutes(&[0.0, 0.0]), shown_after(&stack(&[0.1, 0.0]), READ_AFTER_H)), (1.0, 1.0));
        assert!(shown_after(&stack(&[0.0, 0.1]), SEASON_H) < 0.84);
    }
}
