//! Closing in: a bent stack that shrinks through its thickness after its glue has set bends more, at kept lengths.
//!
//! The water of a glue swells the plies while they are held and leaves when they are free; a warm cure does the same to resin.
//! A fibre that has become as long as the bend wants it at its height then lies nearer to the neutral axis, and a shorter arm
//! takes a tighter bend to the same length: uniform shrinkage by e makes k into k / (1 - e) (spring-in of curved laminates,
//! Nelson and Cairns 1989, from memory; layered stacks: derived here, held against finite elements in
//! `tests/independent/closing_in.py`).

use crate::job::{Layer, MaterialKind, Thickness};

/// Part of a wet water-based glue that is water (half to six tenths on the sheets of such glues; from memory).
const WATER_SHARE: f64 = 0.5;
/// Moisture content of wood where the document does not say, and the one above which it does not swell any more (Wood
/// Handbook, chapter 4: 12 % in a dry room, fibre saturation near 28 %; from memory).
const AS_LAID: f64 = 0.12;
const SATURATED: f64 = 0.28;
/// Swelling across the grain per unit of moisture content: 0.19 % per %, a radial value; tangential ones are near 0.3 (Wood
/// Handbook, chapter 4, shrinkage from green over the moisture at fibre saturation; from memory).
const SWELLING: f64 = 0.19;
/// Density of wood of which none is known, kg/m³ (our choice: between poplar and ash).
const DENSITY_KG_M3: f64 = 500.0;
/// Thermal expansion through the thickness, 1/K: of laminates as across a unidirectional glass laminate (35e-6, published
/// property table), of wood across the grain (from memory).
const LAMINATE_PER_K: f64 = 35e-6;
const WOOD_PER_K: f64 = 30e-6;

/// Part of its thickness that a layer loses after the glue has set, with the moisture that the document gives.
pub(super) fn shrinks_through(layer: &Layer, cure_above_room_k: f64) -> f64 {
    let wood = matches!(layer.material.kind, MaterialKind::WoodAlong | MaterialKind::WoodAcross);
    if !wood {
        let laminate = layer.material.kind == MaterialKind::Laminate;
        return if laminate { LAMINATE_PER_K * cure_above_room_k } else { 0.0 };
    }
    let mean_mm = match &layer.thickness {
        Thickness::Constant(t) => *t,
        Thickness::Tapered(stations) => stations.iter().map(|s| s.1).sum::<f64>() / stations.len() as f64,
    };
    // kg/m³ times mm are g/m².
    let dry_g_m2 = layer.material.density_kg_m3.unwrap_or(DENSITY_KG_M3) / (1.0 + AS_LAID) * mean_mm;
    let laid = layer.moisture.unwrap_or(AS_LAID);
    let wetted = (laid + WATER_SHARE * layer.glue_g_m2 / dry_g_m2).min(SATURATED.max(laid));
    SWELLING * (wetted - layer.moisture_in_use.unwrap_or(laid)) + WOOD_PER_K * cure_above_room_k
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Material;
    use crate::laminate::Laminate;

    fn ply(thickness_mm: f64, shrinks: f64) -> Layer {
        let mut layer =
            Layer::flat("ply", Material::of_modulus("given", MaterialKind::WoodAlong, 10_890.0), thickness_mm);
        layer.shrinks_through = Some(shrinks);
        layer
    }

    /// By hand: 220 g/m² on 1.23 mm of beech, half of it water, over 1.23 x 700 / 1.12 g/m² of dry wood: 14.3 %.
    #[test]
    fn the_water_of_the_glue_swells_thin_plies_and_leaves_no_more_than_the_wood_can_hold() {
        let mut layer = ply(1.23, 0.0);
        (layer.material.density_kg_m3, layer.glue_g_m2) = (Some(700.0), 220.0);
        let found = shrinks_through(&layer, 0.0);
        assert!((found - 0.19 * 0.143_1).abs() < 1e-4, "{found}");
        layer.glue_g_m2 = 1000.0;
        assert!((shrinks_through(&layer, 0.0) - 0.19 * 0.16).abs() < 1e-12);
        (layer.glue_g_m2, layer.moisture, layer.moisture_in_use) = (0.0, Some(0.10), Some(0.07));
        assert!((shrinks_through(&layer, 0.0) - 0.19 * 0.03).abs() < 1e-12);
        layer.material.kind = MaterialKind::Laminate;
        assert_eq!(shrinks_through(&layer, 20.0), 35e-6 * 20.0);
    }

    #[test]
    fn a_stack_that_shrinks_evenly_becomes_the_smaller_ring() {
        let stack = Laminate::new(&vec![ply(2.0, 0.02); 6], 0.0).unwrap().section_at(0.0);
        let plain = Laminate::new(&vec![ply(2.0, 0.0); 6], 0.0).unwrap().section_at(0.0);
        let k = 1.0 / 400.0;
        assert!((stack.free_curvature(k) - plain.free_curvature(k) / 0.98).abs() < 1e-15);
        assert!((stack.free_curvature(stack.pressed_curvature(k).unwrap()) - k).abs() < 1e-15);
        assert!((stack.closes_in() - (1.0 / 0.98 - 1.0)).abs() < 1e-12);
    }

    #[test]
    fn a_side_that_dries_alone_closes_in_by_half() {
        let side = [ply(2.5, 0.0), ply(2.5, 0.0), ply(2.5, 0.01), ply(2.5, 0.01)];
        let even = vec![ply(2.5, 0.01); 4];
        let closes = |layers: &[Layer]| Laminate::new(layers, 0.0).unwrap().section_at(0.0).closes_in();
        assert!((closes(&side) / closes(&even) - 0.5).abs() < 5e-3, "{} {}", closes(&side), closes(&even));
    }
}
