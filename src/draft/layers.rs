//! The layers with their figures: what they are of, how hard they are bent, what stays in them.

use serde_json::{Value, json};

use super::json::figure;
use crate::laminate::{Laminate, LayerStrain, LayerStress};

/// Distance of the places at which a stack that is not the same all along is listed, mm.
const STEP_MM: f64 = 50.0;

/// The key `stack.along` of `result.json`: sections from `from_mm` to `to_mm` on the flat blank, just one where the
/// stack is the same all along.
pub(super) fn along_json(laminate: &Laminate, from_mm: f64, to_mm: f64) -> Value {
    let mut places = vec![0.0];
    if !laminate.is_uniform() {
        let steps = ((to_mm - from_mm) / STEP_MM).ceil().clamp(1.0, 1e4) as u32;
        places = (0..=steps).map(|i| from_mm + (to_mm - from_mm) * f64::from(i) / f64::from(steps)).collect();
    }
    let row = |s_mm: f64| {
        let section = laminate.section_at(s_mm);
        let across = laminate.crosswise_at(s_mm).map(|c| figure(c.springback_share()));
        json!({
            "s_mm": figure(s_mm),
            "thickness_mm": figure(section.thickness_mm),
            "neutral_mm": figure(section.neutral_mm),
            "springback_share": figure(section.springback_share()),
            "springback_share_across": across,
            "thermal_curvature_per_m": figure(1e3 * section.thermal_curvature_per_mm),
        })
    };
    places.into_iter().map(row).collect()
}

/// The key `stack.layers` of `result.json`. `stresses` are those at the place `tightest_mm` after release.
pub(super) fn layers_json(laminate: &Laminate, strains: &[LayerStrain], stresses: &[LayerStress]) -> Value {
    let rows = laminate.layers().iter().enumerate().map(|(i, layer)| {
        let material = &layer.material;
        let strain = strains.iter().find(|s| s.layer == i);
        let stress = stresses.iter().find(|s| s.layer == i);
        json!({
            "name": layer.name,
            "material": material.name,
            "modulus_mpa": figure(material.modulus_mpa.value),
            "modulus_cv": figure(material.modulus_mpa.cv),
            "modulus_source": material.source,
            "relaxed_share": figure(layer.relaxed.value),
            "strain": strain.map(|s| figure(s.strain)),
            "strain_at_mm": strain.map(|s| figure(s.s_mm)),
            "strain_limit": material.strain_limit.map(figure),
            "stress_left_lower_mpa": stress.map(|s| figure(s.lower_mpa)),
            "stress_left_upper_mpa": stress.map(|s| figure(s.upper_mpa)),
        })
    });
    rows.collect()
}
