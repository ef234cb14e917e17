//! Convex quadratic programs with a banded matrix and short linear bounds.

use super::{SymmetricBanded, max_abs};

/// A bound: the sum of `coefficients[j] * x[first + j]` is at least `least`. Coefficients beyond the last unknown must
/// be zero.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Bound {
    /// Index of the first unknown.
    pub first: usize,
    /// Coefficients of that unknown and the next two.
    pub coefficients: [f64; 3],
    /// Lower bound of the sum.
    pub least: f64,
}

impl Bound {
    fn sum(&self, x: &[f64]) -> f64 {
        let [a, b, c] = self.coefficients;
        let mut sum = a * x[self.first];
        if b != 0.0 {
            sum += b * x[self.first + 1];
        }
        if c != 0.0 {
            sum += c * x[self.first + 2];
        }
        sum
    }

    fn spread(&self, force: f64, out: &mut [f64]) {
        for (j, c) in self.coefficients.into_iter().enumerate() {
            if c != 0.0 {
                out[self.first + j] += c * force;
            }
        }
    }

    fn stiffen(&self, weight: f64, matrix: &mut SymmetricBanded) {
        for (j, c) in self.coefficients.into_iter().enumerate() {
            if c != 0.0 {
                for (i, d) in self.coefficients[..=j].iter().enumerate() {
                    if *d != 0.0 {
                        matrix.add(self.first + j, self.first + i, weight * c * d);
                    }
                }
            }
        }
    }
}

/// Minimise ½ xᵀ H x + gᵀ x subject to bounds. H must be positive semidefinite, and positive definite on the null space of the
/// active bounds.
#[derive(Debug, Clone, Copy)]
pub(crate) struct QuadraticProgram<'a> {
    /// H.
    pub matrix: &'a SymmetricBanded,
    /// g.
    pub gradient: &'a [f64],
    /// The bounds.
    pub bounds: &'a [Bound],
}

/// A primal-dual point: unknowns, slacks and multipliers.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct InteriorPoint {
    /// The unknowns.
    pub x: Vec<f64>,
    /// Slack of every bound; positive.
    pub slack: Vec<f64>,
    /// Multiplier of every bound (the contact force if bounds are gaps); positive.
    pub multiplier: Vec<f64>,
}

/// Convergence tolerances.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Tolerance {
    /// Mean product of slack and multiplier (duality gap).
    pub complementarity: f64,
    /// Largest component of the gradient of the Lagrangian.
    pub residual: f64,
    /// Largest primal residual: a bound's sum less bound and slack.
    pub violation: f64,
}

/// A solution with its residuals and step count.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Minimum {
    /// The solution.
    pub point: InteriorPoint,
    /// The residuals reached.
    pub reached: Tolerance,
    /// Steps taken.
    pub iterations: usize,
}

/// The step limit was reached, or the matrix was not positive definite.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct NotSolved {
    /// The residuals reached.
    pub reached: Tolerance,
    /// Steps taken.
    pub iterations: usize,
}

/// Step limit; well-scaled programs need 8 to 25.
const MOST_STEPS: usize = 100;
/// Fraction of the distance to the nearest bound that a step covers.
const STEP_BACK: f64 = 0.995;

impl QuadraticProgram<'_> {
    /// Solves by a primal-dual interior-point method with predictor and corrector (Mehrotra, SIAM J. Optimization 2
    /// (1992) 575, from memory): one banded factor and two solves in each of a bounded number of steps.
    ///
    /// `start` needs only positive slacks and multipliers; magnitudes near those of the solution save steps.
    ///
    /// # Errors
    /// [`NotSolved`] at the step limit or if a factorisation fails.
    pub(crate) fn solve(&self, start: InteriorPoint, tolerance: Tolerance) -> Result<Minimum, NotSolved> {
        let mut at = start;
        let count = self.bounds.len();
        let mut reached = Tolerance { complementarity: f64::NAN, residual: f64::NAN, violation: f64::NAN };
        let mut missing = vec![0.0; count];
        let mut system = self.matrix.clone();
        let mut factor = None;
        let mut second_order = vec![0.0; count];
        let (mut predictor, mut corrector) = (Step::new(self), Step::new(self));
        for iterations in 0..MOST_STEPS {
            let mut gradient = self.matrix.times(&at.x);
            for (sum, g) in gradient.iter_mut().zip(self.gradient) {
                *sum += g;
            }
            for (i, bound) in self.bounds.iter().enumerate() {
                bound.spread(-at.multiplier[i], &mut gradient);
                missing[i] = bound.sum(&at.x) - bound.least - at.slack[i];
            }
            reached = Tolerance {
                complementarity: mean_product(&at.slack, &at.multiplier),
                residual: max_abs(gradient.iter().copied()),
                violation: max_abs(missing.iter().copied()),
            };
            let within = reached.complementarity <= tolerance.complementarity
                && reached.residual <= tolerance.residual
                && reached.violation <= tolerance.violation;
            if within {
                return Ok(Minimum { point: at, reached, iterations });
            }
            system.clone_from(self.matrix);
            for (i, bound) in self.bounds.iter().enumerate() {
                bound.stiffen(at.multiplier[i] / at.slack[i], &mut system);
            }
            let Some(factored) = system.factor_into(factor.take()) else {
                return Err(NotSolved { reached, iterations });
            };
            second_order.fill(0.0);
            predictor.find(self, &at, &gradient, &missing, 0.0, &second_order, &factored);
            let far = predictor.room(&at);
            let after = (0..count)
                .map(|i| (at.slack[i] + far * predictor.slack[i]) * (at.multiplier[i] + far * predictor.multiplier[i]))
                .sum::<f64>()
                / count as f64;
            for (i, product) in second_order.iter_mut().enumerate() {
                *product = predictor.slack[i] * predictor.multiplier[i];
            }
            let center = reached.complementarity * (after / reached.complementarity).powi(3);
            corrector.find(self, &at, &gradient, &missing, center, &second_order, &factored);
            let far = (STEP_BACK * corrector.room(&at)).min(1.0);
            factor = Some(factored);
            advance(&mut at.x, &corrector.x, far);
            advance(&mut at.slack, &corrector.slack, far);
            advance(&mut at.multiplier, &corrector.multiplier, far);
        }
        Err(NotSolved { reached, iterations: MOST_STEPS })
    }
}

/// A Newton step.
struct Step {
    x: Vec<f64>,
    slack: Vec<f64>,
    multiplier: Vec<f64>,
}

impl Step {
    fn new(program: &QuadraticProgram<'_>) -> Self {
        let bounds = vec![0.0; program.bounds.len()];
        Self { x: vec![0.0; program.gradient.len()], slack: bounds.clone(), multiplier: bounds }
    }

    #[expect(clippy::too_many_arguments, reason = "the parts of one linear system, used in two places")]
    fn find(
        &mut self,
        program: &QuadraticProgram<'_>,
        at: &InteriorPoint,
        gradient: &[f64],
        missing: &[f64],
        center: f64,
        second_order: &[f64],
        factor: &super::BandedCholesky,
    ) {
        for (step, g) in self.x.iter_mut().zip(gradient) {
            *step = -g;
        }
        for (i, bound) in program.bounds.iter().enumerate() {
            let (slack, multiplier) = (at.slack[i], at.multiplier[i]);
            let force = (center - second_order[i] - multiplier * missing[i]) / slack - multiplier;
            bound.spread(force, &mut self.x);
        }
        factor.solve(&mut self.x);
        for (i, bound) in program.bounds.iter().enumerate() {
            let (slack, multiplier) = (at.slack[i], at.multiplier[i]);
            self.slack[i] = bound.sum(&self.x) + missing[i];
            self.multiplier[i] = (center - second_order[i] - multiplier * self.slack[i]) / slack - multiplier;
        }
    }

    /// Longest step, at most 1, that keeps slacks and multipliers positive.
    fn room(&self, at: &InteriorPoint) -> f64 {
        let slacks = at.slack.iter().zip(&self.slack);
        slacks
            .chain(at.multiplier.iter().zip(&self.multiplier))
            .fold(1.0, |most, (v, dv)| if *dv < 0.0 { most.min(-v / dv) } else { most })
    }
}

fn advance(values: &mut [f64], step: &[f64], far: f64) {
    for (v, dv) in values.iter_mut().zip(step) {
        *v += far * dv;
    }
}

fn mean_product(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum::<f64>() / a.len() as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_nearest_point_of_a_wedge_is_found() {
        // Nearest point to (2, 1) with x0 ≤ 1 and x0 + x1 ≤ 1.5: (1, 0.5), multipliers 0.5 and 0.5.
        let mut matrix = SymmetricBanded::zeros(2, 1);
        matrix.add(0, 0, 1.0);
        matrix.add(1, 1, 1.0);
        let bounds = [
            Bound { first: 0, coefficients: [-1.0, 0.0, 0.0], least: -1.0 },
            Bound { first: 0, coefficients: [-1.0, -1.0, 0.0], least: -1.5 },
        ];
        let program = QuadraticProgram { matrix: &matrix, gradient: &[-2.0, -1.0], bounds: &bounds };
        let start = InteriorPoint { x: vec![0.0; 2], slack: vec![1.0; 2], multiplier: vec![1.0; 2] };
        let tolerance = Tolerance { complementarity: 1e-12, residual: 1e-12, violation: 1e-12 };
        let found = program.solve(start, tolerance).unwrap();
        for (x, expected) in found.point.x.iter().zip([1.0, 0.5]) {
            assert!((x - expected).abs() < 1e-9, "{found:?}");
        }
        for (y, expected) in found.point.multiplier.iter().zip([0.5, 0.5]) {
            assert!((y - expected).abs() < 1e-9, "{found:?}");
        }
    }

    #[test]
    fn bounds_that_contradict_each_other_are_not_solved() {
        let mut matrix = SymmetricBanded::zeros(1, 0);
        matrix.add(0, 0, 1.0);
        let bounds = [
            Bound { first: 0, coefficients: [1.0, 0.0, 0.0], least: 1.0 },
            Bound { first: 0, coefficients: [-1.0, 0.0, 0.0], least: 1.0 },
        ];
        let program = QuadraticProgram { matrix: &matrix, gradient: &[0.0], bounds: &bounds };
        let start = InteriorPoint { x: vec![0.0], slack: vec![1.0; 2], multiplier: vec![1.0; 2] };
        let tolerance = Tolerance { complementarity: 1e-12, residual: 1e-12, violation: 1e-12 };
        assert!(program.solve(start, tolerance).is_err());
    }

    /// Closed form: the nearest point of a half space a·x >= b to the origin is a b/|a|², with the multiplier b/|a|².
    #[test]
    fn a_bound_on_three_unknowns_is_met_square_on() {
        let mut matrix = SymmetricBanded::zeros(3, 2);
        (0..3).for_each(|i| matrix.add(i, i, 1.0));
        let bounds = [Bound { first: 0, coefficients: [2.0, 1.0, -3.0], least: 7.0 }];
        let program = QuadraticProgram { matrix: &matrix, gradient: &[0.0; 3], bounds: &bounds };
        let start = InteriorPoint { x: vec![0.0; 3], slack: vec![1.0], multiplier: vec![1.0] };
        let tolerance = Tolerance { complementarity: 1e-12, residual: 1e-12, violation: 1e-12 };
        let found = program.solve(start, tolerance).unwrap();
        for (x, expected) in found.point.x.iter().zip([1.0, 0.5, -1.5]) {
            assert!((x - expected).abs() < 1e-9, "{found:?}");
        }
        assert!((found.point.multiplier[0] - 0.5).abs() < 1e-9, "{found:?}");
        assert!(found.iterations < 10, "{found:?}");
    }
}
