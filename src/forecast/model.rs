//! The forward model, made quick enough for thousands of stacks on one table.
//!
//! How a stack lies depends on its wet stiffness over the pressure and on nothing else of its figures. So the contact is
//! solved for a ladder of stiffnesses once; each stack then takes what it needs from between two rungs, place by place,
//! and is released with its own sections. Sections, release and heights are computed anew for each stack.

use crate::curve::Curvature;
use crate::laminate::Laminate;
use crate::press::{Blank, Load, PressError, Pressed, press, press_again, release};

use super::heights::end_heights_mm;

/// A table and what lies on it.
#[derive(Debug, Clone, Copy)]
pub struct Scene<'a> {
    /// Curvature of the table's surface over its arc length, 0 in the middle of the board, 1/mm.
    pub surface: &'a Curvature,
    /// The blank on the flat.
    pub blank: Blank,
    /// What pushes it down.
    pub load: &'a Load,
    /// Finished ends (tail, tip) along the base of the board, mm.
    pub finished_base_mm: (f64, f64),
    /// Where the board rests on the floor, mm along its base.
    pub anchor_mm: f64,
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
    finished_base_mm: (f64, f64),
    anchor_mm: f64,
}

impl Model {
    /// Presses the stack on the table at every rung of stiffness.
    ///
    /// # Errors
    /// [`PressError`] of the pressing.
    pub fn new(scene: &Scene<'_>, laminate: &Laminate) -> Result<Self, PressError> {
        let mut rungs: Vec<Pressed> = Vec::with_capacity(2 * RUNGS + 1);
        for rung in 0..=2 * RUNGS {
            // A stack that is stiffer than expected lies as the expected one under less pressure.
            let stiffer = RATIO.powf(rung as f64 - RUNGS as f64);
            let load = Load { pressure_mpa: scene.load.pressure_mpa / stiffer, ..scene.load.clone() };
            // All rungs on one grid, so that they can be compared node by node.
            rungs.push(match rungs.last() {
                None => press(scene.surface, laminate, scene.blank, &load)?,
                Some(before) => press_again(before, laminate, &load)?,
            });
        }
        let (finished_base_mm, anchor_mm) = (scene.finished_base_mm, scene.anchor_mm);
        Ok(Self { laminate: laminate.clone(), rungs, finished_base_mm, anchor_mm })
    }

    /// The expected stack.
    pub fn laminate(&self) -> &Laminate {
        &self.laminate
    }

    /// The expected stack as it lies.
    pub fn pressed(&self) -> &Pressed {
        &self.rungs[RUNGS]
    }

    /// Base curvature of the board that a stack of other figures gives on this table, 1/mm over mm; `None` where it has
    /// a number that is none.
    ///
    /// `work` is a copy of [`Model::pressed`] that is written over, so that many stacks need no new memory.
    pub fn released(&self, laminate: &Laminate, work: &mut Pressed) -> Option<Curvature> {
        let uniform = laminate.is_uniform().then(|| laminate.section_at(0.0));
        for i in 0..work.sections.len() {
            let (from, to) = (self.pressed().stations[i].blank_mm, self.pressed().stations[i + 1].blank_mm);
            for end in 0..2 {
                // Just inside the element, where a jump of the stack is on the right side.
                let inside = if end == 0 { 1e-7 } else { 1.0 - 1e-7 };
                let section = uniform.unwrap_or_else(|| laminate.section_at(from + inside * (to - from)));
                let stiffer = section.wet_stiffness_n_mm / self.pressed().sections[i][end].wet_stiffness_n_mm;
                let (rung, part) = between_rungs(stiffer);
                let (low, high) = (&self.rungs[rung], &self.rungs[rung + 1]);
                let mix = |a: f64, b: f64| a + part * (b - a);
                work.sections[i][end] = section;
                work.base_per_mm[i][end] = mix(low.base_per_mm[i][end], high.base_per_mm[i][end]);
                work.contact.gap_mm[i + end] = mix(low.contact.gap_mm[i + end], high.contact.gap_mm[i + end]);
            }
        }
        release(work).ok().map(|r| r.base)
    }

    /// Heights of tail and tip of that board over its lowest place, mm.
    pub fn end_heights_mm(&self, laminate: &Laminate, work: &mut Pressed) -> Option<(f64, f64)> {
        let base = self.released(laminate, work)?;
        let heights = end_heights_mm(&base, self.finished_base_mm, self.anchor_mm);
        (heights.0.is_finite() && heights.1.is_finite()).then_some(heights)
    }
}

/// The rung below a stiffness and how far it is to the next one, 0 to 1; beyond the ladder the last rung.
fn between_rungs(stiffer: f64) -> (usize, f64) {
    let at = (stiffer.ln() / RATIO.ln() + RUNGS as f64).clamp(0.0, 2.0 * RUNGS as f64);
    let rung = (at.floor() as usize).min(2 * RUNGS - 1);
    let low = RATIO.powf(rung as f64 - RUNGS as f64);
    (rung, ((stiffer - low) / (low * (RATIO - 1.0))).clamp(0.0, 1.0))
}
