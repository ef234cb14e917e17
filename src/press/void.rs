//! Whether the layer on the table and what lies on it part where the stack lifts off.
//!
//! Under a bag the gap below a stack is as empty as the bag: nothing presses the lowest layer to the others there but its
//! own stiffness. Two strips one upon the other, the upper under the load, the lower between it and the table, show how
//! far they part; glue then bridges the gap or leaves a void.

use crate::laminate::Laminate;
use crate::numeric::{Bound, InteriorPoint, QuadraticProgram, SymmetricBanded, Tolerance};

use super::contact::{self, ContactError, Element, Strip};
use super::{Load, Pressed};

/// Mean product of gap and force at which the search ends, as a part of load times gap scale.
const COMPLEMENTARITY: f64 = 1e-7;

impl Pressed {
    /// Largest distance between the lowest layer and what lies on it between two places along the table, and where it
    /// is, mm; `None` for a stack of one piece or one that a matching form holds.
    ///
    /// # Errors
    /// [`ContactError`] where the search does not end.
    pub fn largest_void_mm(
        &self,
        laminate: &Laminate,
        load: &Load,
        between_mm: (f64, f64),
    ) -> Result<Option<(f64, f64)>, ContactError> {
        if load.matched || laminate.sliding_at(self.stations[0].blank_mm).len() < 2 {
            return Ok(None);
        }
        let strips = self.two_strips(laminate, load);
        let gaps = lay_two(&strips)?;
        let inside =
            self.stations.iter().zip(gaps).filter(|(s, _)| (between_mm.0..=between_mm.1).contains(&s.table_mm));
        let widest = inside.fold((0.0, 0.0), |most, (s, gap)| if gap > most.0 { (gap, s.table_mm) } else { most });
        Ok(Some(widest))
    }

    /// The lowest group of layers without load, and the others with it.
    fn two_strips(&self, laminate: &Laminate, load: &Load) -> [Strip; 2] {
        let nodes_mm: Vec<f64> = self.stations.iter().map(|s| s.table_mm).collect();
        let mut forces_n_per_mm = vec![0.0; nodes_mm.len()];
        for force in &load.forces {
            let off = |i: &usize| (self.stations[*i].blank_mm - force.blank_mm).abs();
            if let Some(node) = (0..nodes_mm.len()).min_by(|a, b| off(a).total_cmp(&off(b))) {
                forces_n_per_mm[node] += force.force_n_per_mm;
            }
        }
        let (mut lower, mut upper) = (Vec::new(), Vec::new());
        for (i, sections) in self.sections.iter().enumerate() {
            let (from, to) = (self.stations[i].blank_mm, self.stations[i + 1].blank_mm);
            let mut ends = [[(0.0, 0.0); 2]; 2];
            for (j, part) in [1e-7, 1.0 - 1e-7].into_iter().enumerate() {
                let turn = self.table_per_mm[i][j] / (1.0 - self.table_per_mm[i][j] * sections[j].neutral_mm);
                let groups = laminate.sliding_at(from + part * (to - from));
                let sum = |groups: &[(f64, f64)], more: f64| {
                    let stiffness = groups.iter().map(|g| g.0).sum::<f64>() + more;
                    (stiffness, turn - groups.iter().map(|g| g.1).sum::<f64>() / stiffness)
                };
                ends[0][j] = sum(&groups[..1], 0.0);
                ends[1][j] = sum(&groups[1..], load.caul_stiffness_n_mm);
            }
            let element = |e: [(f64, f64); 2], pressure_mpa: f64| Element {
                stiffness_n_mm: [e[0].0, e[1].0],
                bend_per_mm: [e[0].1, e[1].1],
                pressure_mpa,
            };
            lower.push(element(ends[0], 0.0));
            upper.push(element(ends[1], load.pressure_mpa));
        }
        [
            Strip { nodes_mm: nodes_mm.clone(), elements: lower, forces_n_per_mm: Vec::new() },
            Strip { nodes_mm, elements: upper, forces_n_per_mm },
        ]
    }
}

/// How far two strips part at every node. Unknowns are gap and slope of the lower and of the upper strip at each node.
fn lay_two(strips: &[Strip; 2]) -> Result<Vec<f64>, ContactError> {
    let n = strips[0].nodes_mm.len();
    let mut matrix = SymmetricBanded::zeros(4 * n, 5);
    let mut gradient = vec![0.0; 4 * n];
    let mut load = 0.0;
    let mut scale: f64 = 0.0;
    for (body, strip) in strips.iter().enumerate() {
        strip.check()?;
        let place = |i: usize| 4 * (i / 2) + 2 * body + i % 2;
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
    for strip in strips {
        scale = scale.max(contact::gap_scale(strip, load));
    }
    let bounds: Vec<Bound> = (0..n)
        .flat_map(|i| {
            let on_table = Bound { first: 4 * i, coefficients: [1.0, 0.0, 0.0], least: 0.0 };
            [on_table, Bound { coefficients: [-1.0, 0.0, 1.0], ..on_table }]
        })
        .collect();
    let mut x = vec![0.0; 4 * n];
    for i in 0..n {
        (x[4 * i], x[4 * i + 2]) = (scale, 2.0 * scale);
    }
    let start = InteriorPoint { x, slack: vec![scale; 2 * n], multiplier: vec![load; 2 * n] };
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
    Ok((0..n).map(|i| (found.point.x[4 * i + 2] - found.point.x[4 * i]).max(0.0)).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn strips(lower: f64, upper: f64, k: f64) -> [Strip; 2] {
        let strip = |stiffness: f64, pressure_mpa: f64| Strip {
            nodes_mm: (0..=120).map(|i| f64::from(i) / 120.0).collect(),
            elements: vec![Element { stiffness_n_mm: [stiffness; 2], bend_per_mm: [k; 2], pressure_mpa }; 120],
            forces_n_per_mm: Vec::new(),
        };
        [strip(lower, 0.0), strip(upper, 1.0)]
    }

    #[test]
    fn alike_layers_stay_together_in_a_hollow_and_their_gap_is_that_of_both() {
        // Two strips of half the stiffness in one hollow: the stack lifts by (9/128) B k²/p as a whole, as the lower one is
        // no softer than the upper and follows it up.
        let gaps = lay_two(&strips(0.5, 0.5, 0.05)).unwrap();
        let widest = gaps.iter().copied().fold(0.0, f64::max);
        assert!(widest < 0.05 * 9.0 / 128.0 * 0.05_f64.powi(2), "{widest}");
    }

    #[test]
    fn a_lower_layer_without_stiffness_of_its_own_parts_by_no_more_than_the_stack_lifts() {
        let alone = contact::solve(&strips(1e-6, 1.0, 0.05)[1], None).unwrap();
        let lift = alone.gap_mm.iter().copied().fold(0.0, f64::max);
        let gaps = lay_two(&strips(1e-6, 1.0, 0.05)).unwrap();
        let widest = gaps.iter().copied().fold(0.0, f64::max);
        println!("{widest} {lift}");
        assert!(widest <= 1.001 * lift, "{widest} {lift}");
    }
}
