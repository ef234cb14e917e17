//! The forward model, made quick enough for thousands of stacks on one table.
//!
//! How a stack lies depends on its wet stiffness over the pressure and on nothing else of its figures. So the contact is
//! solved for a ladder of stiffnesses once; each stack then takes what it needs from between two rungs, place by place,
//! and is released with its own sections. Sections, release and heights are computed anew for each stack.

use crate::curve::Curvature;
use crate::laminate::Laminate;
use crate::press::{BREAK_MISSED_MM, Load, PressError, Pressed, ReleasedEnd, Station, press_again, release_ends};
use crate::table::OverbentTable;

use super::heights::end_heights_mm;

/// A pressed stack and the board that it becomes.
#[derive(Debug, Clone, Copy)]
pub struct Scene<'a> {
    /// The expected stack on the table.
    pub pressed: &'a Pressed,
    /// What pushes it down.
    pub load: &'a Load,
    /// Finished ends (tail, tip) along the released face that lay on the table, mm.
    pub finished_mm: (f64, f64),
    /// Where the board rests on the floor, mm along the same face.
    pub anchor_mm: f64,
    /// Heights of tail and tip of the expected board, mm, where it lay on its deck and stands on its base. What other
    /// boards of that table differ from it is taken from their decks.
    pub on_deck: Option<(f64, f64)>,
}

impl<'a> Scene<'a> {
    /// The table that was designed for a board which rests at `anchor_mm` along its base.
    pub fn designed(table: &'a OverbentTable, load: &'a Load, anchor_mm: f64) -> Self {
        let face = |base_mm: f64| table.deck.as_ref().map_or(base_mm, |d| d.opposite(base_mm));
        let (tail, tip) = table.finished_base_mm;
        Self {
            pressed: &table.pressed,
            load,
            finished_mm: (face(tail), face(tip)),
            anchor_mm: face(anchor_mm),
            on_deck: table.deck.as_ref().map(|_| table.predicted_heights_mm()),
        }
    }
}

/// Ratio of neighbouring rungs of stiffness. The gaps of a stack that bridges grow in proportion to its stiffness, so
/// straight lines between rungs this close are off by a hundredth of the gaps' own effect.
const RATIO: f64 = 1.25;
/// Rungs to either side of the expected stack: from 0.41 to 2.44 of its stiffness, four standard deviations of wood.
const RUNGS: usize = 4;

/// A table, pressed on in advance.
#[derive(Debug, Clone)]
pub struct Model {
    laminate: Laminate,
    rungs: Vec<Pressed>,
    /// Wet stiffness of each rung over that of the expected stack.
    ladder: [f64; 2 * RUNGS + 1],
    /// For each node, whether the stack has another section on its other side.
    breaks: Vec<bool>,
    finished_mm: (f64, f64),
    anchor_mm: f64,
    upside_down: bool,
    /// What is added to the heights of tail and tip, mm.
    added_mm: (f64, f64),
}

impl Model {
    /// A model whose stacks all lie as the expected one does: good for small changes, and ready at once.
    pub(crate) fn lying_still(scene: &Scene<'_>, laminate: &Laminate) -> Self {
        let laminate = laminate.glued_under(scene.load.pressure_mpa);
        let breaks_mm = laminate.breaks_mm();
        // Nodes are put on breaks, and sections off them are smooth.
        let near = |s: &Station| breaks_mm.iter().any(|b| (b - s.blank_mm).abs() < BREAK_MISSED_MM);
        let mut model = Self {
            laminate,
            rungs: vec![scene.pressed.clone()],
            ladder: std::array::from_fn(stiffness_at),
            breaks: scene.pressed.stations.iter().map(near).collect(),
            finished_mm: scene.finished_mm,
            anchor_mm: scene.anchor_mm,
            upside_down: scene.on_deck.is_some(),
            added_mm: (0.0, 0.0),
        };
        if let Some((tail, tip)) = scene.on_deck
            && let Some(plain) = model.end_heights_mm(&model.laminate)
        {
            model.added_mm = (tail - plain.0, tip - plain.1);
        }
        model
    }

    /// Presses the stack on the table at every rung of stiffness. `laminate` is the stack from the face that lies on
    /// the table on, as in `scene.pressed`.
    ///
    /// # Errors
    /// [`PressError`] of the pressing.
    pub fn new(scene: &Scene<'_>, laminate: &Laminate) -> Result<Self, PressError> {
        let scaled = |rung: usize| {
            let mut changes = laminate.unchanged();
            changes.iter_mut().for_each(|c| c.modulus_factor = stiffness_at(rung));
            laminate.changed(&changes, 1.0)
        };
        let mut rungs = vec![scene.pressed.clone(); 2 * RUNGS + 1];
        // From the middle outward, each from its neighbour.
        for step in 1..=RUNGS {
            rungs[RUNGS + step] = press_again(&rungs[RUNGS + step - 1], &scaled(RUNGS + step), scene.load)?;
            rungs[RUNGS - step] = press_again(&rungs[RUNGS - step + 1], &scaled(RUNGS - step), scene.load)?;
        }
        Ok(Self { rungs, ..Self::lying_still(scene, laminate) })
    }

    /// The expected stack.
    pub fn laminate(&self) -> &Laminate {
        &self.laminate
    }

    /// The expected stack as it lies.
    pub(crate) fn pressed(&self) -> &Pressed {
        &self.rungs[self.rungs.len() / 2]
    }

    /// Curvature of the face that lay on the table, after release of a stack of other figures, 1/mm over mm; `None`
    /// if it has a NaN. The stack is to be a change of [`Model::laminate`], which is glued under the
    /// table's pressure.
    pub(crate) fn released(&self, laminate: &Laminate) -> Option<Curvature> {
        let expected = self.pressed();
        let cut = |i: usize, end: usize, blank_mm: f64| {
            let section = laminate.section_at(blank_mm);
            (section, self.between_rungs(section.wet_stiffness_n_mm / expected.sections[i][end].wet_stiffness_n_mm))
        };
        let uniform = laminate.is_uniform();
        let mut here = cut(0, 0, expected.stations[0].blank_mm);
        let last = self.rungs.len() - 1;
        let mut end = |i: usize, end: usize| {
            if !uniform && (end == 1 || self.breaks[i]) {
                // Just inside the element, where a jump of the stack is on the right side.
                let (from, to) = (expected.stations[i].blank_mm, expected.stations[i + 1].blank_mm);
                let inside = if end == 0 { 1e-7 } else { 1.0 - 1e-7 };
                here = cut(i, end, from + inside * (to - from));
            }
            let (section, (rung, part)) = &here;
            let (low, high) = (&self.rungs[*rung], &self.rungs[(rung + 1).min(last)]);
            let mix = |a: f64, b: f64| a + part * (b - a);
            let base_per_mm = mix(low.base_per_mm[i][end], high.base_per_mm[i][end]);
            let gap_mm = mix(low.contact.gap_mm[i + end], high.contact.gap_mm[i + end]);
            ReleasedEnd::of(section, expected.table_per_mm[i][end], base_per_mm, gap_mm)
        };
        let ends = |i: usize| [end(i, 0), end(i, 1)];
        release_ends(&expected.stations, ends).ok().map(|r| r.base)
    }

    /// The rung below a stiffness (over the expected one) and how far it is to the next one, 0 to 1; beyond the ladder the last.
    fn between_rungs(&self, stiffer: f64) -> (usize, f64) {
        let rung = self.ladder[1..self.rungs.len().max(2) - 1].partition_point(|s| *s <= stiffer);
        let low = self.ladder[rung];
        (rung, ((stiffer - low) / (low * (RATIO - 1.0))).clamp(0.0, 1.0))
    }

    /// Heights of tail and tip of that board above its lowest place, mm.
    pub(crate) fn end_heights_mm(&self, laminate: &Laminate) -> Option<(f64, f64)> {
        let face = self.released(laminate)?;
        let face = if self.upside_down { face.upside_down() } else { face };
        let (tail, tip) = end_heights_mm(&face, self.finished_mm, self.anchor_mm);
        let heights = (tail + self.added_mm.0, tip + self.added_mm.1);
        (heights.0.is_finite() && heights.1.is_finite()).then_some(heights)
    }
}

/// Wet stiffness of a rung over that of the expected stack.
fn stiffness_at(rung: usize) -> f64 {
    libm::pow(RATIO, rung as f64 - RUNGS as f64)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::{Layer, Lies, Material, MaterialKind, Share, Thickness};
    use crate::press::{Blank, press, release};
    use crate::table::{Setup, overbend, overbend_lying, turned_over};

    fn layer(thickness_mm: f64, modulus_mpa: f64) -> Layer {
        Layer::flat("layer", Material::of_modulus("given", MaterialKind::WoodAlong, modulus_mpa), thickness_mm)
    }

    fn table(target: &Curvature, laminate: &Laminate) -> (OverbentTable, Load) {
        let load = Load::even(0.08);
        let setup = Setup { overhang_tail_mm: 60.0, overhang_tip_mm: 60.0, end_margin_mm: 30.0, load: load.clone() };
        (overbend(target, 0.0, laminate, &setup).unwrap(), load)
    }

    /// Against the whole pressing and release of each stack; the wet stiffness spans the ladder.
    #[test]
    fn stacks_between_the_rungs_come_out_as_if_pressed_themselves() {
        let kicked = Curvature::through(&[
            (-650.0, 2e-3),
            (-500.0, 1.5e-3),
            (-350.0, 0.0),
            (350.0, 0.0),
            (500.0, 1.5e-3),
            (650.0, 2.5e-3),
        ]);
        let mut tapered = layer(5.0, 10_890.0);
        tapered.thickness = Thickness::Tapered(vec![(-500.0, 2.0), (0.0, 5.0), (500.0, 2.5)]);
        let stacks = [
            [layer(0.8, 25_000.0), layer(4.0, 10_890.0), layer(4.0, 10_890.0), layer(0.8, 25_000.0)],
            [layer(0.8, 25_000.0), tapered, layer(2.0, 10_890.0), layer(1.1, 40_000.0)],
        ];
        let targets = [Curvature::constant(-650.0, 650.0, 2e-4).unwrap(), kicked.unwrap()];
        let mut largest = 0.0_f64;
        for (layers, target) in stacks.iter().zip(&targets) {
            let laminate = Laminate::new(layers, 0.0).unwrap();
            let (table, load) = table(target, &laminate);
            let scene = Scene::designed(&table, &load, 0.0);
            let model = Model::new(&scene, &laminate).unwrap();
            for (wood, thicker, factor) in
                [(0.5, 0.0, 1.0), (0.8, -0.1, 0.7), (1.0, 0.0, 1.0), (1.3, 0.1, 1.4), (1.9, 0.05, 1.0)]
            {
                let mut changes = laminate.unchanged();
                for c in &mut changes[1..3] {
                    c.modulus_factor = wood;
                    c.thickness_mm = thicker;
                }
                let stack = laminate.changed(&changes, factor);
                let quick = model.end_heights_mm(&stack).unwrap();
                let pressed = press(&table.surface, &stack, table.blank, &load).unwrap();
                let whole = end_heights_mm(&release(&pressed).unwrap().base, scene.finished_mm, 0.0);
                largest = largest.max((quick.0 - whole.0).abs()).max((quick.1 - whole.1).abs());
            }
        }
        assert!(largest < 0.02, "{largest} mm");
    }

    #[test]
    fn the_expected_stack_comes_out_as_the_table_predicts() {
        let mut layers = [layer(0.8, 25_000.0), layer(4.0, 10_890.0), layer(4.0, 10_890.0), layer(0.8, 25_000.0)];
        layers[1].relaxed = Share { value: 0.1, sd: 0.0 };
        let laminate = Laminate::new(&layers, 0.0).unwrap();
        let (table, load) = table(&Curvature::constant(-650.0, 650.0, 2e-4).unwrap(), &laminate);
        let model = Model::new(&Scene::designed(&table, &load, 0.0), &laminate).unwrap();
        let found = model.end_heights_mm(&laminate).unwrap();
        let expected = table.predicted_heights_mm();
        assert!((found.0 - expected.0).abs() < 1e-4 && (found.1 - expected.1).abs() < 1e-4, "{found:?} {expected:?}");
    }

    #[test]
    fn a_board_that_lay_on_its_deck_scatters_as_one_that_lay_on_its_base() {
        let layers = [layer(0.8, 25_000.0), layer(4.0, 10_890.0), layer(4.0, 10_890.0), layer(0.8, 25_000.0)];
        let laminate = Laminate::new(&layers, 0.0).unwrap();
        let lying = Laminate::new(&turned_over(&layers), 0.0).unwrap();
        let target = Curvature::constant(-650.0, 650.0, -2e-4).unwrap();
        let load = Load::even(0.08);
        let setup = Setup { overhang_tail_mm: 60.0, overhang_tip_mm: 60.0, end_margin_mm: 30.0, load: load.clone() };
        let on_base = overbend_lying(&target, 0.0, &laminate, &laminate, &setup, Lies::BaseDown).unwrap();
        let on_deck = overbend_lying(&target, 0.0, &laminate, &lying, &setup, Lies::DeckDown).unwrap();
        let heights = |table: &OverbentTable, stack: &Laminate| {
            let model = Model::new(&Scene::designed(table, &load, 0.0), stack).unwrap();
            let weaker = stack.with_springback_factor(0.5);
            let found = |l: &Laminate| model.end_heights_mm(l).unwrap().1;
            (found(stack), found(&weaker) - found(stack))
        };
        let (a, b) = (heights(&on_base, &laminate), heights(&on_deck, &lying));
        assert!((a.0 - b.0).abs() < 0.01 && (a.1 - b.1).abs() < 0.01 * a.1.abs().max(1.0), "{a:?} {b:?}");
    }

    /// Two equal layers of which one shrinks by d curl to 3 d/2 over the thickness t of both; their neutral line is t/2 high, so
    /// that the face on the table is left without length where d exceeds 4/3.
    #[test]
    fn a_stack_that_folds_as_it_cools_has_no_heights_on_either_face() {
        let cooled = |expansion_per_k: f64| {
            let mut layers = [layer(4.0, 10_000.0), layer(4.0, 10_000.0)];
            layers[0].material.expansion_per_k = Some(0.0);
            layers[1].material.expansion_per_k = Some(-expansion_per_k);
            Laminate::new(&layers, 10.0).unwrap()
        };
        let (load, blank) = (Load::even(0.08), Blank { tail_mm: -710.0, tip_mm: 710.0 });
        let flat = Curvature::constant(-800.0, 800.0, 0.0).unwrap();
        for on_deck in [None, Some((3.0, 4.0))] {
            let heights = |stack: Laminate| {
                let pressed = press(&flat, &stack, blank, &load).unwrap();
                let scene =
                    Scene { pressed: &pressed, load: &load, finished_mm: (-100.0, 100.0), anchor_mm: 0.0, on_deck };
                let model = Model::lying_still(&scene, &stack);
                model.end_heights_mm(&stack)
            };
            assert_eq!(heights(cooled(0.134)), None);
            let stands = heights(cooled(0.132)).unwrap();
            assert!(on_deck.is_none_or(|d| (stands.0 - d.0).abs() + (stands.1 - d.1).abs() < 1e-9), "{stands:?}");
        }
    }

    #[test]
    fn a_board_whose_anchor_is_no_number_has_no_heights() {
        let laminate = Laminate::new(&[layer(4.0, 10_000.0), layer(4.0, 10_000.0)], 0.0).unwrap();
        let (table, load) = table(&Curvature::constant(-650.0, 650.0, 2e-4).unwrap(), &laminate);
        let model = Model::lying_still(&Scene::designed(&table, &load, f64::NAN), &laminate);
        assert_eq!(model.end_heights_mm(&laminate), None);
    }
}
