//! Whether layers part where the stack lifts off.
//!
//! Under a bag the gap below a stack is as empty as the bag: nothing presses a layer to the others there but its own
//! stiffness. Strips one upon the other, only the uppermost under the load, show how far each parts from the next; glue
//! then bridges the gap or leaves a void.

use crate::curve::parallel_curvature;
use crate::laminate::Laminate;
use crate::numeric::{Bound, InteriorPoint, QuadraticProgram, SymmetricBanded, Tolerance, index_of_min};

use super::contact::{self, ContactError, Element, Strip};
use super::grid::inside;
use super::{Load, Pressed};

/// Mean product of gap and force at which the search ends, as a part of load times gap scale.
const COMPLEMENTARITY: f64 = 1e-7;
/// Maximum number of strips: cost goes with the cube of their number. What lies above the last is taken as one with it, under the
/// load; parting begins at the lowest layers, which nothing presses.
const MOST_STRIPS: usize = 8;
/// Stiffness of a strip where its layer has stopped short, as a part of the whole stack's: enough to keep it in the
/// system, too little to be felt.
const ABSENT: f64 = 1e-4;

/// The widest gap between two layers.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Void {
    /// How wide it is, mm.
    pub gap_mm: f64,
    /// Where, mm along the table.
    pub table_mm: f64,
    /// Number of the layer or cured group below it, from the table up, counted from 0.
    pub above: usize,
}

impl Pressed {
    /// Largest distance between any two neighbouring layers or cured groups between two places along the table; `None` for
    /// a stack of one piece or one that a matching form holds.
    ///
    /// # Errors
    /// [`ContactError`] where the search does not end.
    pub(crate) fn largest_void(
        &self,
        laminate: &Laminate,
        load: &Load,
        between_mm: (f64, f64),
    ) -> Result<Option<Void>, ContactError> {
        if load.matched || laminate.sliding_at(self.stations[0].blank_mm).len() < 2 {
            return Ok(None);
        }
        let (strips, present) = self.strips(laminate, load);
        let heights = lay(&strips)?;
        let mut widest = Void { gap_mm: 0.0, table_mm: 0.0, above: 0 };
        for (i, station) in self.stations.iter().enumerate() {
            if !(between_mm.0..=between_mm.1).contains(&station.table_mm) {
                continue;
            }
            let here: Vec<usize> = (0..strips.len()).filter(|&body| present[body][i]).collect();
            for pair in here.windows(2) {
                let gap_mm = heights[pair[1]][i] - heights[pair[0]][i];
                if gap_mm > widest.gap_mm {
                    widest = Void { gap_mm, table_mm: station.table_mm, above: pair[0] };
                }
            }
        }
        Ok(Some(widest))
    }

    /// A strip for each layer or cured group, the load on the uppermost, and for each strip whether it is there at each
    /// node.
    fn strips(&self, laminate: &Laminate, load: &Load) -> (Vec<Strip>, Vec<Vec<bool>>) {
        let nodes_mm: Vec<f64> = self.stations.iter().map(|s| s.table_mm).collect();
        let count = laminate.sliding_at(self.stations[0].blank_mm).len().min(MOST_STRIPS);
        let mut strips =
            vec![Strip { nodes_mm: nodes_mm.clone(), elements: Vec::new(), forces_n_per_mm: Vec::new() }; count];
        let breaks_mm = laminate.breaks_mm();
        let mut present = vec![vec![true; nodes_mm.len()]; count];
        for (i, sections) in self.sections.iter().enumerate() {
            let (from, to) = (self.stations[i].blank_mm, self.stations[i + 1].blank_mm);
            // Of every strip at both ends of the element: stiffness, and bend on the table.
            let mut ends = vec![[(0.0, 0.0); 2]; count];
            for (j, at) in
                [inside(from, to - from, &breaks_mm), inside(to, from - to, &breaks_mm)].into_iter().enumerate()
            {
                let turn = parallel_curvature(self.table_per_mm[i][j], sections[j].neutral_mm);
                let groups = laminate.sliding_at(at);
                let whole: f64 = groups.iter().map(|g| g.0).sum();
                for (body, end) in ends.iter_mut().enumerate() {
                    let top = body + 1 == count;
                    let of = if top { &groups[body..] } else { &groups[body..=body] };
                    let own: f64 = of.iter().map(|g| g.0).sum();
                    present[body][i + j] &= own > 0.0;
                    let more = if top { load.caul_stiffness_n_mm } else { 0.0 };
                    let stiffness = own.max(ABSENT * whole) + more;
                    end[j] = (stiffness, turn - of.iter().map(|g| g.1).sum::<f64>() / stiffness);
                }
            }
            for (body, (strip, e)) in strips.iter_mut().zip(ends).enumerate() {
                strip.elements.push(Element {
                    stiffness_n_mm: [e[0].0, e[1].0],
                    bend_per_mm: [e[0].1, e[1].1],
                    pressure_mpa: if body + 1 == count { load.pressure_mpa } else { 0.0 },
                });
            }
        }
        if let (Some(top), false) = (strips.last_mut(), load.forces.is_empty()) {
            top.forces_n_per_mm = vec![0.0; nodes_mm.len()];
            for force in &load.forces {
                let node = index_of_min(self.stations.iter().map(|s| (s.blank_mm - force.blank_mm).abs()));
                top.forces_n_per_mm[node] += force.force_n_per_mm;
            }
        }
        (strips, present)
    }
}

/// Heights over the table of every strip at every node. Unknowns are gap and slope of each strip in turn at each node.
fn lay(strips: &[Strip]) -> Result<Vec<Vec<f64>>, ContactError> {
    let (n, count) = (strips[0].nodes_mm.len(), strips.len());
    let per_node = 2 * count;
    let mut matrix = SymmetricBanded::zeros(per_node * n, per_node + 1);
    let mut gradient = vec![0.0; per_node * n];
    let mut load = 0.0;
    for (body, strip) in strips.iter().enumerate() {
        strip.check()?;
        let place = |i: usize| per_node * (i / 2) + 2 * body + i % 2;
        let own = contact::stiffness(strip);
        for row in 0..2 * n {
            for column in row.saturating_sub(3)..=row {
                let value = own.get(row, column);
                if value != 0.0 {
                    matrix.add(place(row), place(column), value);
                }
            }
        }
        let loads = strip.loads();
        load += loads.iter().sum::<f64>() / n as f64;
        for (i, g) in contact::gradient(strip, &loads).into_iter().enumerate() {
            gradient[place(i)] = g;
        }
    }
    if load.is_nan() || load <= 0.0 {
        return Err(ContactError::NoLoad);
    }
    let scale = strips.iter().map(|strip| contact::gap_scale(strip, load)).fold(0.0, f64::max);
    let on_lower = |i: usize, body: usize| match body {
        0 => Bound { first: per_node * i, coefficients: [1.0, 0.0, 0.0], least: 0.0 },
        _ => Bound { first: per_node * i + 2 * (body - 1), coefficients: [-1.0, 0.0, 1.0], least: 0.0 },
    };
    let bounds: Vec<Bound> = (0..n).flat_map(|i| (0..count).map(move |body| on_lower(i, body))).collect();
    let mut x = vec![0.0; per_node * n];
    for (at, gap) in x.iter_mut().step_by(2).enumerate() {
        *gap = scale * (at % count + 1) as f64;
    }
    let start = InteriorPoint { x, slack: vec![scale; count * n], multiplier: vec![load; count * n] };
    let tolerance = Tolerance {
        complementarity: COMPLEMENTARITY * load * scale,
        residual: 1e-6 * load + contact::rounding_n(&matrix, scale),
        violation: 1e-6 * scale,
    };
    let program = QuadraticProgram { matrix: &matrix, gradient: &gradient, bounds: &bounds };
    let found = program.solve(start, tolerance).map_err(|e| ContactError::NotConverged {
        residual: e.reached.residual / load,
        complementarity_n: e.reached.complementarity,
    })?;
    let heights = |body: usize| (0..n).map(|i| found.point.x[per_node * i + 2 * body]).collect();
    Ok((0..count).map(heights).collect())
}

#[cfg(test)]
mod tests;
