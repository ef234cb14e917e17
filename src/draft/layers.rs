//! The layers with their figures: what they are of, how hard they are bent, what stays in them.

use serde_json::{Value, json};

use super::result::figure;
use crate::laminate::{Laminate, LayerStrain, LayerStress};

/// The key `stack.layers` of `result.json`. `stresses` are those at the place `tightest_mm` after release.
pub fn layers_json(laminate: &Laminate, strains: &[LayerStrain], stresses: &[LayerStress]) -> Value {
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
