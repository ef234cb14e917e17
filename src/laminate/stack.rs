//! The whole stack along the board.

use std::sync::Arc;

use crate::codes;
use crate::finding::{Code, Faults};
use crate::job::{ClosingIn, EffectiveLayer, Layer, Stations, Thickness};
use crate::units::{Phrase, Quantity, phrase};

use super::change::{Change, LEAST_LEFT};
use super::closing::shrinks_through;
use super::moisture::at_moisture;
use super::sag::sag_modulus;
use super::section::{Section, Slice, group_stiffness, groups};

/// The stack of a board, checked and ready to be cut into sections.
#[derive(Debug, Clone)]
pub struct Laminate {
    layers: Arc<[EffectiveLayer]>,
    changes: Vec<Change>,
    springback_factor: f64,
    pressure_mpa: f64,
    closing_in: ClosingIn,
    cure_above_room_k: f64,
    /// The one section of a stack that is the same all along.
    uniform: Option<Section>,
}

impl Laminate {
    /// The stack of `layers`, base first, whose glue sets at `cure_above_room_k` kelvin above the room it is used in.
    ///
    /// ```
    /// use overbend::document::{Document, Starter, with_values};
    /// use overbend::laminate::Laminate;
    ///
    /// // Five equal laminations: the share that springs back is one over their number squared.
    /// let text = with_values(Starter::find("runner").unwrap().text, &[("layers[0].plies".into(), "5".into())]);
    /// let mut job = Document::parse("runner", &text).unwrap().job().unwrap();
    /// job.layers.iter_mut().for_each(|layer| layer.relaxed.value = 0.0);
    /// let section = Laminate::new(&job.layers, 0.0).unwrap().section_at(0.0);
    /// assert!((section.springback_share() - 1.0 / 25.0).abs() < 1e-12);
    /// ```
    ///
    /// # Errors
    /// All faults at once, with the key of the entry that the layer comes from: thickness, modulus, relaxation, extent, groups
    /// that do not lie together, expansion that a warm cure needs and nobody gave.
    pub fn new(layers: &[Layer], cure_above_room_k: f64) -> Result<Self, Faults> {
        let mut faults = Faults::default();
        if layers.is_empty() {
            faults.push(codes::NO_LAYERS.at("layers", "The stack has no layers."));
        }
        if !cure_above_room_k.is_finite() {
            faults
                .push(codes::CURE_TEMPERATURE.at("pressing.cure_above_room", "The cure temperature is not a number."));
        }
        for layer in layers {
            check_layer(layer, cure_above_room_k, &mut faults);
        }
        check_groups(layers, &mut faults);
        let layers: Vec<EffectiveLayer> = layers.iter().map(|l| effective(l, cure_above_room_k, &mut faults)).collect();
        let plain = Self {
            layers: layers.into(),
            changes: Vec::new(),
            springback_factor: 1.0,
            pressure_mpa: 0.0,
            closing_in: ClosingIn::EXPECTED,
            cure_above_room_k,
            uniform: None,
        };
        if faults.is_empty() {
            plain.check_no_gap(&mut faults);
        }
        if !faults.is_empty() {
            // Plies of one entry have the same faults.
            faults.dedup();
            return Err(faults);
        }
        let unchanged = plain.unchanged();
        Ok(plain.rebuilt(unchanged, 1.0))
    }

    /// The stack of layers that already are as they are in the press.
    ///
    /// # Errors
    /// As [`Self::new`].
    pub(crate) fn of_effective(layers: &[EffectiveLayer], cure_above_room_k: f64) -> Result<Self, Faults> {
        let plain: Vec<Layer> = layers.iter().map(EffectiveLayer::to_plain).collect();
        Self::new(&plain, cure_above_room_k)
    }

    /// The same layers with changes, one for each.
    pub(super) fn rebuilt(&self, changes: Vec<Change>, springback_factor: f64) -> Self {
        let mut laminate = Self { changes, springback_factor, uniform: None, ..self.clone() };
        if laminate.is_uniform() {
            laminate.uniform = Some(laminate.cut_at(0.0));
        }
        laminate
    }

    /// The same stack glued under a pressure, which squeezes soft layers while the glue sets; without one it is squeezed by
    /// none.
    ///
    /// Layers whose modulus through the thickness is not known count as rigid.
    #[must_use]
    pub(crate) fn glued_under(&self, pressure_mpa: f64) -> Self {
        Self { pressure_mpa, ..self.clone() }.rebuilt(self.changes.clone(), self.springback_factor)
    }

    /// The stack with what is known of how far it closes in.
    #[must_use]
    pub fn with_closing_in(&self, closing_in: ClosingIn) -> Self {
        Self { closing_in, ..self.clone() }.rebuilt(self.changes.clone(), self.springback_factor)
    }

    /// What is known of how far the stack closes in.
    pub fn closing_in(&self) -> ClosingIn {
        self.closing_in
    }

    /// Factor on what the stack springs back.
    pub(crate) fn springback_factor(&self) -> f64 {
        self.springback_factor
    }

    /// Whether any layer shrinks through its thickness after the glue has set.
    pub(crate) fn is_closing_in(&self) -> bool {
        self.layers.iter().any(|l| l.shrinks_through.unwrap_or(0.0) != 0.0)
    }

    /// What differs from the job, for each layer.
    pub(super) fn changes(&self) -> &[Change] {
        &self.changes
    }

    /// The layers, base first, with their moduli in the press.
    pub fn layers(&self) -> &[EffectiveLayer] {
        &self.layers
    }

    /// Thickness of a layer (its place in [`Laminate::layers`]) at `s_mm`, mm; zero where it has stopped short and for a
    /// place that no layer has.
    pub(crate) fn layer_thickness_mm(&self, index: usize, s_mm: f64) -> f64 {
        self.layers.get(index).map_or(0.0, |layer| thickness_at(layer, s_mm))
    }

    /// Whether the stack is the same all along.
    pub(crate) fn is_uniform(&self) -> bool {
        self.layers.iter().all(|l| matches!(l.thickness, Thickness::Constant(_)) && l.extent_mm.is_none())
    }

    /// The section at `s_mm` from the board's middle.
    pub fn section_at(&self, s_mm: f64) -> Section {
        self.uniform.unwrap_or_else(|| self.cut_at(s_mm))
    }

    /// The section across the board at `s_mm`, for concave: each layer with its cross modulus and, as a board is pressed
    /// across by the same glue at the same time, with what relaxes of it along. Without cooling, as expansion across
    /// is not known; `None` where a layer's cross modulus is not.
    pub(crate) fn crosswise_at(&self, s_mm: f64) -> Option<Section> {
        let mut slices = self.slices_at(s_mm);
        for (slice, layer) in slices.iter_mut().zip(self.layers.iter()) {
            let factor = layer.material.cross_modulus_mpa? / layer.material.modulus_mpa.value;
            slice.modulus_mpa *= factor;
            slice.kept_modulus_mpa *= factor;
            slice.shrinkage = 0.0;
            slice.shrinks_through = 0.0;
            slice.natural_curvature_per_mm = 0.0;
        }
        Some(self.with_factor(Section::of(&slices)))
    }

    fn cut_at(&self, s_mm: f64) -> Section {
        self.with_factor(Section::of(&self.slices_at(s_mm)))
    }

    /// The section with the shop's factor on what its layers keep, closing in as the shop's stacks do.
    pub(super) fn with_factor(&self, section: Section) -> Section {
        section.with_factor(self.springback_factor, self.closing_in.multiple.value)
    }

    /// Of every layer or cured group that slides by itself, from the base up, at `s_mm` from the board's middle: its wet
    /// stiffness, N·mm, and the moment that it lacks because it was bent beforehand, N. Groups that have stopped short
    /// have no stiffness.
    pub(crate) fn sliding_at(&self, s_mm: f64) -> Vec<(f64, f64)> {
        let slices = self.slices_at(s_mm);
        groups(&slices).map(|group| group_stiffness(group, |s| s.modulus_mpa)).collect()
    }

    /// Names of the uppermost layers of these groups, from the base up.
    pub(crate) fn sliding_names(&self) -> Vec<&str> {
        let mut below = 0;
        let slices = self.slices_at(0.0);
        let top = |group: &[Slice]| {
            below += group.len();
            self.layers[below - 1].name.as_str()
        };
        groups(&slices).map(top).collect()
    }

    /// Places where a taper bends or a layer stops, mm from the middle, in order: sections are smooth between them.
    pub(crate) fn breaks_mm(&self) -> Vec<f64> {
        let mut breaks: Vec<f64> = self
            .layers
            .iter()
            .flat_map(|l| {
                let taper: &[(f64, f64)] = match &l.thickness {
                    Thickness::Constant(_) => &[],
                    Thickness::Tapered(stations) => stations,
                };
                taper.iter().map(|(s, _)| *s).chain(l.extent_mm.into_iter().flat_map(|(a, b)| [a, b]))
            })
            .collect();
        breaks.sort_by(f64::total_cmp);
        breaks.dedup();
        breaks
    }

    /// The layers as cut at `s_mm`, base first.
    pub(super) fn slices_at(&self, s_mm: f64) -> Vec<Slice> {
        let slice = |(i, layer): (usize, &EffectiveLayer)| {
            // Not there yet while the layers themselves are being checked.
            let change = self.changes.get(i);
            let modulus_mpa = layer.material.modulus_mpa.value * change.map_or(1.0, |c| c.modulus_factor);
            let relaxed = change.map_or(layer.relaxed.value, |c| c.relaxed);
            let thickness_mm = thickness_at(layer, s_mm);
            let changed_mm = thickness_mm + change.map_or(0.0, |c| c.thickness_mm);
            let below = i.checked_sub(1).map(|j| &self.layers[j]);
            Slice {
                // Where a layer has stopped there is none to change.
                thickness_mm: if thickness_mm > 0.0 { changed_mm.max(LEAST_LEFT * thickness_mm) } else { 0.0 },
                modulus_mpa,
                kept_modulus_mpa: modulus_mpa * (1.0 - relaxed),
                squeeze: layer.material.through_modulus_mpa.map_or(0.0, |through| self.pressure_mpa / through),
                shrinkage: layer.material.expansion_per_k.unwrap_or(0.0) * self.cure_above_room_k,
                shrinks_through: layer.shrinks_through.unwrap_or(0.0),
                natural_curvature_per_mm: layer.natural_curvature_per_mm,
                slides_on_lower: !below
                    .is_some_and(|b| layer.cured_group.is_some() && b.cured_group == layer.cured_group),
            }
        };
        self.layers.iter().enumerate().map(slice).collect()
    }

    /// Layers that stop short must leave something of the stack everywhere.
    fn check_no_gap(&self, faults: &mut Faults) {
        // Where every layer ends somewhere, none is left before the first place where one begins.
        let begins = self.layers.iter().map(|l| l.extent_mm.map(|(from, _)| from)).collect::<Option<Vec<f64>>>();
        let Some(begins) = begins else { return };
        let place = begins.into_iter().fold(f64::INFINITY, f64::min) - 1.0;
        faults.push(
            codes::STACK_GAP
                .at("layers", phrase!("No layer reaches the place {} from the middle.", Quantity::exact(place))),
        );
    }
}

/// The layer with the moduli of its moisture or its sag test, and with what it loses through its thickness.
fn effective(layer: &Layer, cure_above_room_k: f64, faults: &mut Faults) -> EffectiveLayer {
    let mut layer = layer.clone();
    layer.shrinks_through = layer.shrinks_through.or_else(|| Some(shrinks_through(&layer, cure_above_room_k)));
    if let Some(moisture) = layer.moisture {
        match at_moisture(&layer.material, moisture) {
            Some(material) => layer.material = material,
            None => faults.push(codes::MOISTURE_UNKNOWN.at(
                format!("layers[{}].moisture", layer.entry),
                format!("how the modulus of {} depends on its moisture is not known.", layer.material.name),
            )),
        }
    }
    if let Some(test) = &layer.sag_test {
        match sag_modulus(test, &format!("layers[{}].sag_test", layer.entry)) {
            Ok(found) => layer.material.modulus_mpa = found.modulus_mpa,
            Err(more) => faults.extend(more),
        }
    }
    EffectiveLayer::with_moduli_of(layer)
}

/// Thickness of a layer at `s_mm`, mm; zero where it has stopped short.
pub(crate) fn thickness_at(layer: &Layer, s_mm: f64) -> f64 {
    if layer.extent_mm.is_some_and(|(from, to)| s_mm < from || s_mm > to) {
        return 0.0;
    }
    match &layer.thickness {
        Thickness::Constant(t) => *t,
        Thickness::Tapered(stations) => between_stations(stations, s_mm),
    }
}

fn between_stations(stations: &Stations, s_mm: f64) -> f64 {
    let next = stations.partition_point(|(s, _)| *s <= s_mm);
    match (next.checked_sub(1).map(|i| stations[i]), stations.get(next)) {
        (Some((s0, t0)), Some((s1, t1))) => t0 + (t1 - t0) * (s_mm - s0) / (s1 - s0),
        (Some((_, t)), None) | (None, Some(&(_, t))) => t,
        (None, None) => 0.0,
    }
}

fn check_layer(layer: &Layer, cure_above_room_k: f64, faults: &mut Faults) {
    let at = |key: &str| format!("layers[{}].{key}", layer.entry);
    let name = &layer.name;
    let mut fault = |code: &'static Code, key: &str, message: Phrase| faults.push(code.at(at(key), message));
    let positive = |x: f64| x.is_finite() && x > 0.0;
    match &layer.thickness {
        Thickness::Constant(t) if !positive(*t) => {
            fault(codes::LAYER_THICKNESS, "thickness", phrase!("{} is {} thick.", name, Quantity::exact(*t)));
        }
        Thickness::Tapered(stations) if stations.is_empty() => {
            fault(codes::LAYER_TAPER, "thickness", phrase!("{} has no stations.", name));
        }
        Thickness::Tapered(stations) => {
            if let Some((s, t)) = stations.iter().find(|(s, t)| !s.is_finite() || !positive(*t)) {
                let message = phrase!("{} is {} thick at station {}.", name, Quantity::exact(*t), Quantity::exact(*s));
                fault(codes::LAYER_THICKNESS, "thickness", message);
            } else if let Some(w) = stations.windows(2).find(|w| w[1].0 <= w[0].0) {
                let message = phrase!(
                    "Station {} of {} follows station {}.",
                    Quantity::exact(w[1].0),
                    name,
                    Quantity::exact(w[0].0)
                );
                fault(codes::LAYER_TAPER, "thickness", message);
            }
        }
        Thickness::Constant(_) => {}
    }
    if !positive(layer.material.modulus_mpa.value) {
        let message = phrase!("The modulus of {} is {}.", name, Quantity::modulus(layer.material.modulus_mpa.value));
        fault(codes::LAYER_MODULUS, "modulus", message);
    }
    if !(0.0..=1.0).contains(&layer.relaxed.value) {
        let message = phrase!("{} relaxes by {} of its stress.", name, Quantity::times(layer.relaxed.value));
        fault(codes::LAYER_RELAXED, "relaxed", message);
    }
    if !layer.natural_curvature_per_mm.is_finite() {
        let message = phrase!("The natural curvature of {} is not a number.", name);
        fault(codes::LAYER_NATURAL_CURVATURE, "natural_curvature", message);
    }
    if let Some((from, to)) = layer.extent_mm.filter(|(from, to)| !(from.is_finite() && to.is_finite() && from < to)) {
        let message = phrase!("{} reaches from {} to {}.", name, Quantity::exact(from), Quantity::exact(to));
        fault(codes::LAYER_EXTENT, "from", message);
    }
    match layer.material.expansion_per_k {
        None if cure_above_room_k != 0.0 => {
            let warmer = Quantity::temperature_difference(cure_above_room_k);
            let message = phrase!("The cure is {} above the room, but the expansion of {} is not known.", warmer, name);
            fault(codes::LAYER_EXPANSION, "expansion", message);
        }
        Some(a) if !a.is_finite() => {
            fault(codes::LAYER_EXPANSION, "expansion", phrase!("The expansion of {} is not a number.", name));
        }
        _ => {}
    }
}

fn check_groups(layers: &[Layer], faults: &mut Faults) {
    for (i, layer) in layers.iter().enumerate() {
        let Some(group) = layer.cured_group else { continue };
        let Some(first) = layers[..i].iter().position(|l| l.cured_group == Some(group)) else { continue };
        if let Some(between) = layers[first..i].iter().find(|l| l.cured_group != Some(group)) {
            faults.push(codes::GROUP_APART.at(
                format!("layers[{}].cured_group", layer.entry),
                format!("{} lies between layers that are said to be glued to each other already.", between.name),
            ));
        }
        if layer.natural_curvature_per_mm != layers[first].natural_curvature_per_mm {
            faults.push(codes::GROUP_NATURAL_CURVATURE.at(
                format!("layers[{}].natural_curvature", layer.entry),
                format!(
                    "{} and {} are glued to each other but differ in natural curvature.",
                    layers[first].name, layer.name
                ),
            ));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::close::close_abs;
    use crate::job::{Material, MaterialKind, Share};

    fn layer(thickness_mm: f64, modulus_mpa: f64) -> Layer {
        Layer::flat("layer", Material::of_modulus("given", MaterialKind::WoodAlong, modulus_mpa), thickness_mm)
    }

    fn section(layers: &[Layer]) -> Section {
        Laminate::new(layers, 0.0).unwrap().section_at(0.0)
    }

    fn share(pairs: &[(f64, f64)]) -> f64 {
        section(&pairs.iter().map(|&(t, e)| layer(t, 1000.0 * e)).collect::<Vec<_>>()).springback_share()
    }

    #[test]
    fn equal_loose_layers_give_back_one_over_their_number_squared() {
        for n in 1..=23_u32 {
            close_abs(share(&vec![(1.7, 9.3); n as usize]), 1.0 / f64::from(n * n), 1e-13);
        }
    }

    /// Our own evaluation of the formula outside this program; five digits.
    #[test]
    fn unequal_layers_give_back_what_the_formula_gives_by_hand() {
        close_abs(share(&[(0.8, 18.6), (9.0, 11.98), (0.8, 18.6)]), 0.50514, 5e-6);
        close_abs(share(&[(1.0, 40.0), (10.0, 10.89), (1.0, 40.0)]), 0.27418, 5e-6);
        close_abs(share(&[(0.6, 135.0), (8.0, 4.38), (0.6, 135.0)]), 0.06016, 5e-6);
        close_abs(share(&[(0.8, 18.6), (5.0, 10.89), (5.0, 10.89), (0.8, 18.6)]), 0.12857, 5e-6);
    }

    /// Gere, Mechanics of Materials, example 6-2 (from memory, recomputed): aluminium faces on a plastic core.
    #[test]
    fn a_symmetric_sandwich_matches_gere_6_2() {
        let s = section(&[layer(5.0, 72_000.0), layer(150.0, 800.0), layer(5.0, 72_000.0)]);
        close_abs(200.0 * s.bonded_stiffness_n_mm * 1e-6, 910_200.0, 50.0);
        let curvature = 3.0e6 / (200.0 * s.bonded_stiffness_n_mm);
        close_abs(72_000.0 * curvature * 80.0, 19.0, 0.05);
        close_abs(800.0 * curvature * 75.0, 0.198, 0.0005);
        // Allen, Analysis and Design of Structural Sandwich Panels, 1969 (from memory): Ef t d²/2 + Ef t³/6 + Ec c³/12.
        let allen = 72_000.0 * (5.0 * 155.0_f64.powi(2) / 2.0 + 125.0 / 6.0) + 800.0 * 150.0_f64.powi(3) / 12.0;
        close_abs(s.bonded_stiffness_n_mm / allen, 1.0, 1e-13);
        close_abs(s.neutral_mm, 80.0, 1e-12);
    }

    /// Gere, Mechanics of Materials, example 6-1 (from memory, recomputed), in inches, kips and ksi: 4 x 6 in of wood on
    /// 4 x 0.5 in of steel under 60 kip in.
    #[test]
    fn an_unsymmetric_beam_matches_gere_6_1() {
        let s = section(&[layer(0.5, 30_000.0), layer(6.0, 1_500.0)]);
        close_abs(6.5 - s.neutral_mm, 5.031, 0.0005);
        let psi = |modulus: f64, height: f64| {
            1000.0 * modulus * (s.neutral_mm - height) * (60.0 / 4.0) / s.bonded_stiffness_n_mm
        };
        close_abs(psi(1_500.0, 6.5), -1310.0, 5.0);
        close_abs(psi(1_500.0, 0.5), 251.0, 0.5);
        close_abs(psi(30_000.0, 0.0), 7620.0, 5.0);
        close_abs(psi(30_000.0, 0.5), 5030.0, 5.0);
    }

    /// Timoshenko, Analysis of Bi-Metal Thermostats, J. Opt. Soc. Am. 11 (1925) 233, equation 4. Cooling makes the
    /// layer that expands more the shorter one: with it on the deck, the ends come up.
    #[test]
    fn a_warm_cure_bows_two_layers_as_timoshenko_1925_says() {
        let cases = [
            (1.0, 1.0, 1.5),
            (1.0, 10.0, 0.995_851),
            (1.0, 0.1, 0.995_851),
            (2.0, 1.0, 1.333_333),
            (5.0, 1.0, 0.833_333),
            (0.5, 0.1, 0.481_928),
        ];
        for (m, n, expected) in cases {
            let thickness = 3.0;
            let of = |t: f64, e: f64, a: f64| {
                let mut l = layer(t, e);
                l.material.expansion_per_k = Some(a);
                l
            };
            let base = of(thickness * m / (1.0 + m), 70_000.0 * n, 4e-6);
            let deck = of(thickness / (1.0 + m), 70_000.0, 24e-6);
            let warm = |layers: &[Layer]| Laminate::new(layers, 35.0).unwrap().section_at(0.0).thermal_curvature_per_mm;
            let scale = thickness / (20e-6 * 35.0);
            close_abs(warm(&[base.clone(), deck.clone()]) * scale, expected, 1e-6);
            close_abs(warm(&[deck, base]) * scale, -expected, 1e-6);
        }
    }

    #[test]
    fn a_strip_that_was_cured_before_comes_back_from_a_warm_press_as_it_was() {
        let mut layers = [layer(1.0, 70_000.0), layer(2.0, 10_000.0)];
        for (l, a) in layers.iter_mut().zip([24e-6, 4e-6]) {
            l.material.expansion_per_k = Some(a);
            l.cured_group = Some(1);
            l.natural_curvature_per_mm = 2e-4;
        }
        let s = Laminate::new(&layers, 40.0).unwrap().section_at(0.0);
        assert!(s.thermal_curvature_per_mm.abs() > 1e-5);
        close_abs(s.free_curvature(1e-3), 2e-4, 1e-15);
        assert_eq!(s.pressed_curvature(1e-3), None);
    }

    #[test]
    fn splitting_a_cured_layer_changes_nothing() {
        let whole = section(&[layer(0.8, 18_600.0), layer(9.0, 11_980.0), layer(0.8, 18_600.0)]);
        let mut parts = [layer(4.0, 11_980.0), layer(2.0, 11_980.0), layer(3.0, 11_980.0)];
        for p in &mut parts {
            p.cured_group = Some(7);
        }
        let [a, b, c] = parts;
        let split = section(&[layer(0.8, 18_600.0), a, b, c, layer(0.8, 18_600.0)]);
        close_abs(split.wet_stiffness_n_mm / whole.wet_stiffness_n_mm, 1.0, 1e-13);
        close_abs(split.bonded_stiffness_n_mm / whole.bonded_stiffness_n_mm, 1.0, 1e-13);
        close_abs(split.springback_share(), whole.springback_share(), 1e-13);
    }

    #[test]
    fn pressing_for_a_free_curvature_and_releasing_gives_it_back() {
        let mut layers = [layer(0.8, 18_600.0), layer(9.0, 11_980.0), layer(1.4, 40_000.0)];
        layers[1].natural_curvature_per_mm = 3e-4;
        layers[1].relaxed = Share { value: 0.1, sd: 0.0 };
        for (l, a) in layers.iter_mut().zip([9e-6, 4e-6, 6e-6]) {
            l.shrinks_through = Some(0.0);
            l.material.expansion_per_k = Some(a);
        }
        let s = Laminate::new(&layers, 20.0).unwrap().section_at(0.0);
        for k in [-1e-3, 0.0, 2.2e-3] {
            close_abs(s.free_curvature(s.pressed_curvature(k).unwrap()), k, 1e-17);
        }
        // By hand: k - (sum of E I (k - k0)(1 - r)) / B + kT, with r and k0 on the core alone.
        let ei = [18_600.0 * 0.512, 11_980.0 * 729.0, 40_000.0 * 2.744].map(|x: f64| x / 12.0);
        let k = 2e-3;
        let kept = ei[0] * k + 0.9 * ei[1] * (k - 3e-4) + ei[2] * k;
        close_abs(s.free_curvature(k), k - kept / s.bonded_stiffness_n_mm + s.thermal_curvature_per_mm, 1e-17);
    }

    #[test]
    fn across_the_board_each_layer_bends_with_its_cross_modulus() {
        let mut layers = [layer(0.8, 25_000.0), layer(8.0, 12_000.0), layer(0.8, 25_000.0)];
        layers[1].relaxed = Share { value: 0.2, sd: 0.0 };
        assert_eq!(Laminate::new(&layers, 0.0).unwrap().crosswise_at(0.0), None);
        for (l, e) in layers.iter_mut().zip([20_000.0, 500.0, 20_000.0]) {
            l.material.cross_modulus_mpa = Some(e);
        }
        let mut turned = [layer(0.8, 20_000.0), layer(8.0, 500.0), layer(0.8, 20_000.0)];
        turned[1].relaxed = layers[1].relaxed;
        let across = Laminate::new(&layers, 0.0).unwrap().crosswise_at(0.0).unwrap();
        let expected = section(&turned);
        close_abs(across.springback_share(), expected.springback_share(), 1e-13);
        close_abs(across.bonded_stiffness_n_mm / expected.bonded_stiffness_n_mm, 1.0, 1e-13);
    }

    #[test]
    fn tapers_run_straight_between_stations_and_layers_may_stop_short() {
        let mut core = layer(1.0, 10_000.0);
        core.thickness = Thickness::Tapered(vec![(-500.0, 2.0), (-100.0, 8.0), (100.0, 8.0), (600.0, 3.0)]);
        let mut patch = layer(0.5, 40_000.0);
        patch.extent_mm = Some((-50.0, 250.0));
        let stack = Laminate::new(&[core, patch], 0.0).unwrap();
        assert!(!stack.is_uniform());
        for (s, t) in [(-900.0, 2.0), (-300.0, 5.0), (0.0, 8.5), (225.0, 7.25), (350.0, 5.5), (900.0, 3.0)] {
            close_abs(stack.section_at(s).thickness_mm, t, 1e-12);
        }
        close_abs(stack.section_at(-300.0).springback_share(), 1.0, 1e-14);
        assert_eq!(stack.breaks_mm(), [-500.0, -100.0, -50.0, 100.0, 250.0, 600.0]);
    }

    #[test]
    fn faults_name_the_layer_and_the_key() {
        let mut layers = vec![layer(0.8, 18_600.0), layer(0.0, 11_980.0), layer(1.0, f64::NAN), layer(1.0, 1.0)];
        for (i, l) in layers.iter_mut().enumerate() {
            l.entry = i;
        }
        layers[0].cured_group = Some(1);
        layers[2].relaxed.value = 1.5;
        layers[3].cured_group = Some(1);
        layers[3].natural_curvature_per_mm = 1e-3;
        let faults = Laminate::new(&layers, 10.0).unwrap_err();
        let found: Vec<_> = faults.iter().map(|f| (f.code.name, f.path.as_str())).collect();
        let expected = [
            ("layer-expansion", "layers[0].expansion"),
            ("layer-thickness", "layers[1].thickness"),
            ("layer-expansion", "layers[1].expansion"),
            ("layer-modulus", "layers[2].modulus"),
            ("layer-relaxed", "layers[2].relaxed"),
            ("layer-expansion", "layers[2].expansion"),
            ("layer-expansion", "layers[3].expansion"),
            ("group-apart", "layers[3].cured_group"),
            ("group-natural-curvature", "layers[3].natural_curvature"),
        ];
        assert_eq!(found, expected);
        assert_eq!(Laminate::new(&[], 0.0).unwrap_err()[0].path, "layers");
        let mut short = layer(1.0, 1.0);
        short.extent_mm = Some((-10.0, 10.0));
        assert_eq!(Laminate::new(&[short], 0.0).unwrap_err()[0].code.name, "stack-gap");
    }

    #[test]
    fn layers_and_cured_groups_slide_each_with_its_stiffness_and_what_it_lacks() {
        let mut layers = [layer(1.0, 12_000.0), layer(2.0, 9_000.0), layer(1.0, 9_000.0), layer(2.0, 6_000.0)];
        for (l, name) in layers.iter_mut().zip(["base", "lower", "upper", "deck"]) {
            name.clone_into(&mut l.name);
        }
        for l in &mut layers[1..3] {
            (l.cured_group, l.natural_curvature_per_mm) = (Some(0), 2e-4);
        }
        let stack = Laminate::new(&layers, 0.0).unwrap();
        assert_eq!(stack.sliding_names(), ["base", "upper", "deck"]);
        // E t³/12, and that times the curvature that the group has by itself.
        let expected = [(1_000.0, 0.0), (9_000.0 * 27.0 / 12.0, 9_000.0 * 27.0 / 12.0 * 2e-4), (4_000.0, 0.0)];
        let found = stack.sliding_at(0.0);
        assert_eq!(found.len(), 3);
        for ((stiffness, lacks), (e_stiffness, e_lacks)) in found.iter().zip(expected) {
            close_abs(*stiffness, e_stiffness, 1e-9);
            close_abs(*lacks, e_lacks, 1e-12);
        }
        let section = stack.section_at(0.0);
        close_abs(section.wet_stiffness_n_mm, found.iter().map(|f| f.0).sum(), 1e-9);
        close_abs(section.natural_moment_n, found.iter().map(|f| f.1).sum(), 1e-12);
    }

    #[test]
    fn where_every_layer_ends_somewhere_the_stack_has_a_gap_before_the_first() {
        let reaching = |extents: &[Option<(f64, f64)>]| {
            let layers: Vec<Layer> = extents.iter().map(|e| Layer { extent_mm: *e, ..layer(1.0, 10_000.0) }).collect();
            Laminate::new(&layers, 0.0).map(|_| ()).map_err(|f| f[0].message())
        };
        let gap = reaching(&[Some((-20.0, 100.0)), Some((-70.0, 300.0))]).unwrap_err();
        assert_eq!(gap, "No layer reaches the place -71 mm from the middle.");
        assert_eq!(reaching(&[Some((-20.0, 100.0)), None, Some((200.0, 300.0))]), Ok(()));
    }
}
