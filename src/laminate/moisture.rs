//! Wood that is drier or wetter than the catalogue's.

use crate::job::{Drying, Material};

/// Moisture content of the catalogue's figures, as a part of the ovendry mass.
const CATALOGUE: f64 = 0.12;

impl Drying {
    /// A property at a moisture content over that at 12 %: (P12/Pg)^((12 - M)/(Mp - 12)), and that of green wood above Mp.
    /// Wood Handbook, FPL-GTR-282, 2021, equation 5-3 (second-hand).
    pub fn factor_at(&self, moisture: f64) -> f64 {
        libm::pow(self.stiffer, (CATALOGUE - moisture.min(self.point)) / (self.point - CATALOGUE))
    }
}

/// The material at a moisture content; `None` where it is not known how its modulus depends on it.
///
/// The moduli across, through and in shear are taken to change in the same ratio as that along the grain (own assumption:
/// the Handbook prints no green values of them).
pub(super) fn at_moisture(material: &Material, moisture: f64) -> Option<Material> {
    let factor = material.drying?.factor_at(moisture);
    let mut changed = material.clone();
    changed.modulus_mpa.value *= factor;
    for modulus in [&mut changed.cross_modulus_mpa, &mut changed.through_modulus_mpa, &mut changed.shear_modulus_mpa]
        .into_iter()
        .flatten()
    {
        *modulus *= factor;
    }
    changed.source = format!("{}, at {:.1} % moisture content by equation 5-3", material.source, 100.0 * moisture);
    Some(changed)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::MaterialKind;

    #[test]
    fn all_moduli_change_alike_and_wood_without_green_figures_not_at_all() {
        let mut wood = Material::of_modulus("wood", MaterialKind::WoodAlong, 10_000.0);
        (wood.cross_modulus_mpa, wood.through_modulus_mpa, wood.shear_modulus_mpa) =
            (Some(500.0), Some(700.0), Some(600.0));
        assert_eq!(at_moisture(&wood, 0.08), None);
        wood.drying = Some(Drying { stiffer: 1.3, point: 0.25 });
        let dry = at_moisture(&wood, 0.08).unwrap();
        // Equation 5-3 by hand: 1.3^((12 - 8) / (25 - 12)).
        let factor = 1.084_07;
        assert!((dry.modulus_mpa.value - 10_000.0 * factor).abs() < 0.1, "{}", dry.modulus_mpa.value);
        for (found, before) in
            [(dry.cross_modulus_mpa, 500.0), (dry.through_modulus_mpa, 700.0), (dry.shear_modulus_mpa, 600.0)]
        {
            assert!((found.unwrap() - before * factor).abs() < 0.01, "{found:?}");
        }
        assert!(dry.source.contains("at 8.0 % moisture content"), "{}", dry.source);
    }

    #[test]
    fn green_wood_is_green_above_the_point_and_the_catalogue_s_is_at_twelve_percent() {
        let drying = Drying { stiffer: 1.3, point: 0.25 };
        assert_eq!(drying.factor_at(0.12), 1.0);
        for wet in [0.25, 0.4] {
            assert!((drying.factor_at(wet) * 1.3 - 1.0).abs() < 1e-12);
        }
        assert!(drying.factor_at(0.06) > 1.1);
    }
}
