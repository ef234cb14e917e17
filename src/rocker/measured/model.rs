//! Parameters of a board: its position, the curvature at the tail, and the steps of curvature from node to node.

use kurbo::{Point, Vec2};

use super::options::zero_of;
use crate::curve::{Curvature, Curve, PlaneCurve, Pose};
use crate::job::{Ends, Origin, StationsAlong};
use crate::numeric::quadrature::gauss5;
use crate::numeric::{SymmetricBanded, dot};

/// Minimum and maximum number of curvature steps. The weight controls the smoothness; the nodes only need to resolve the
/// integral. The time grows with the cube. At the maximum, a 1.5 m board has a node every 16 mm.
const STEPS: (usize, usize) = (48, 96);

/// Largest rotation of any point of the board in one round, rad. Half of it is safe but slower. Three times as much lets tips
/// swing past the vertical, where stations along the floor no longer exist.
const LARGEST_TURN_RAD: f64 = 0.4;

/// The parameters and their mesh.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Model {
    half_mm: f64,
    steps: usize,
    ends: Ends,
    /// Height at the middle, mm; direction there, rad; with free ends the curvature at the tail, 1/mm; then the steps
    /// of curvature, 1/mm (with ends that run out: their coordinates in the plane in which they sum to nothing).
    parameters: Vec<f64>,
}

/// Heights as a linear function of the parameters, near a curve.
#[derive(Debug, Clone)]
pub(super) struct Linear {
    /// Effect of the unpenalised parameters, one row per reading.
    pub(super) free: Vec<Vec<f64>>,
    /// Effect of the steps of curvature, one row per reading.
    pub(super) steps: Vec<Vec<f64>>,
    /// Heights that these rows, times the parameters, should give, mm.
    pub(super) wanted: Vec<f64>,
}

impl Model {
    pub(super) fn new(length_mm: f64, ends: Ends, readings: usize) -> Self {
        // An even count puts a node at the middle, where integration starts.
        let steps = (4 * readings).clamp(STEPS.0, STEPS.1) / 2 * 2;
        let mut model = Self { half_mm: 0.5 * length_mm, steps, ends, parameters: Vec::new() };
        model.parameters = vec![0.0; model.free_count() + model.step_count()];
        model
    }

    pub(super) fn parameters(&self) -> &[f64] {
        &self.parameters
    }

    /// Moves toward the given parameters, rotating no point of the board by more than [`LARGEST_TURN_RAD`], because the
    /// linearisation holds near the current curve only. Returns whether it got there.
    pub(super) fn go_toward(&mut self, parameters: &[f64]) -> bool {
        let present = self.curve();
        let mut wanted = self.clone();
        wanted.parameters.copy_from_slice(parameters);
        let curve = wanted.curve();
        let turn = |s: f64| (curve.at(s).angle_rad - present.at(s).angle_rad).abs();
        let share = LARGEST_TURN_RAD / self.nodes().map(turn).fold(0.0, f64::max);
        if share >= 1.0 {
            *self = wanted;
            return true;
        }
        self.parameters.iter_mut().zip(parameters).for_each(|(p, q)| *p += share * (q - *p));
        false
    }

    fn free_count(&self) -> usize {
        match self.ends {
            Ends::Free => 3,
            Ends::RunningOut => 2,
        }
    }

    fn step_count(&self) -> usize {
        match self.ends {
            Ends::Free => self.steps,
            Ends::RunningOut => self.steps - 1,
        }
    }

    pub(super) fn node_step_mm(&self) -> f64 {
        2.0 * self.half_mm / self.steps as f64
    }

    fn node(&self, j: usize) -> f64 {
        if j == self.steps { self.half_mm } else { -self.half_mm + self.node_step_mm() * j as f64 }
    }

    /// Positions of the nodes, mm.
    pub(super) fn nodes(&self) -> impl Iterator<Item = f64> + '_ {
        (0..=self.steps).map(|j| self.node(j))
    }

    fn curvature_of(&self, parameters: &[f64]) -> Curvature {
        let (free, steps) = parameters.split_at(self.free_count());
        let mut k = if self.ends == Ends::Free { free[2] } else { 0.0 };
        let mut nodes = vec![(self.node(0), k)];
        for (j, step) in self.unfolded(steps).into_iter().enumerate() {
            k += step;
            nodes.push((self.node(j + 1), k));
        }
        Curvature::through(&nodes).expect("the mesh is in order and the parameters are finite")
    }

    /// The steps from their coordinates.
    fn unfolded(&self, steps: &[f64]) -> Vec<f64> {
        match self.ends {
            Ends::Free => steps.to_vec(),
            Ends::RunningOut => {
                let mut all = vec![0.0];
                all.extend(steps);
                householder_reflect(&mut all);
                all
            }
        }
    }

    /// Coordinates of a row of effects of the steps.
    fn folded(&self, mut effects: Vec<f64>) -> Vec<f64> {
        if self.ends == Ends::RunningOut {
            householder_reflect(&mut effects);
            effects.remove(0);
        }
        effects
    }

    pub(super) fn curvature(&self) -> Curvature {
        self.curvature_of(&self.parameters)
    }

    /// The same with one parameter perturbed, and the perturbation.
    pub(super) fn nudged(&self, j: usize) -> (Self, f64) {
        let step = 1e-7;
        let mut changed = self.clone();
        changed.parameters[j] += step;
        (changed, step)
    }

    /// The curve above the datum, its middle at x = 0.
    pub(super) fn curve(&self) -> Curve {
        let pose = Pose { turn_rad: self.parameters[1], shift: Vec2::new(0.0, self.parameters[0]) };
        Curve::new(self.curvature()).posed(pose)
    }

    /// Derivative of the heights at `places_mm` on the base with respect to the parameters.
    ///
    /// A change of curvature dk over du rotates everything beyond it about its position: the height at s changes by
    /// (x(s) - x(u)) dk du and x by -(z(s) - z(u)) dk du. Where the station is fixed along the datum, sliding along
    /// the curve is included.
    pub(super) fn linearised(
        &self,
        curve: &Curve,
        places_mm: &[f64],
        along: StationsAlong,
        origin: Origin,
        heights_mm: &[f64],
    ) -> Linear {
        let moments: Vec<[Moments; 2]> =
            (0..self.steps).map(|l| self.moments(curve, l, self.node(l), self.node(l + 1))).collect();
        let zero = self.effects(curve, zero_of(origin, self.half_mm), &moments);
        let mut linear = Linear { free: Vec::new(), steps: Vec::new(), wanted: Vec::new() };
        for (&s, &height) in places_mm.iter().zip(heights_mm) {
            let (mut rise, shift) = self.effects(curve, s, &moments);
            let at = curve.at(s);
            if along == StationsAlong::Datum {
                let slope = libm::tan(at.angle_rad);
                for ((rise, shift), zero) in rise.iter_mut().zip(&shift).zip(&zero.1) {
                    *rise -= slope * (shift - zero);
                }
            }
            let steps = self.folded(rise.split_off(self.free_count()));
            let now: f64 = rise.iter().chain(&steps).zip(&self.parameters).map(|(a, p)| a * p).sum();
            linear.wanted.push(height - at.point.y + now);
            linear.free.push(rise);
            linear.steps.push(steps);
        }
        linear
    }

    /// Effect of the parameters (steps unfolded) on height and x of the place `s_mm`.
    fn effects(&self, curve: &Curve, s_mm: f64, moments: &[[Moments; 2]]) -> (Vec<f64>, Vec<f64>) {
        let at = curve.at(s_mm).point;
        let middle = curve.at(0.0).point;
        // Effect of the curvature at each node, the base being swung from the middle outwards.
        let mut hats = vec![(0.0, 0.0); self.steps + 1];
        let half = self.steps / 2;
        let outwards: Vec<usize> = if s_mm >= 0.0 { (half..self.steps).collect() } else { (0..half).rev().collect() };
        for l in outwards {
            let (a, b) = (self.node(l), self.node(l + 1));
            let whole = if s_mm >= 0.0 { b <= s_mm } else { a >= s_mm };
            let touched = if s_mm >= 0.0 { a < s_mm } else { b > s_mm };
            if !touched {
                break;
            }
            let part = if whole {
                moments[l]
            } else if s_mm >= 0.0 {
                self.moments(curve, l, a, s_mm)
            } else {
                self.moments(curve, l, s_mm, b)
            };
            let sign = if s_mm >= 0.0 { 1.0 } else { -1.0 };
            for (side, m) in part.iter().enumerate() {
                hats[l + side].0 += sign * (at.x * m.length - m.of_place.x);
                hats[l + side].1 -= sign * (at.y * m.length - m.of_place.y);
            }
        }
        if s_mm.abs() > self.half_mm {
            // Beyond the end, the end curvature continues.
            let end = if s_mm > 0.0 { self.half_mm } else { -self.half_mm };
            let [x, y] = gauss5(end, s_mm, |s| {
                let at = curve.at(s).point;
                [at.x, at.y]
            });
            let node = if s_mm > 0.0 { self.steps } else { 0 };
            hats[node].0 += at.x * (s_mm - end) - x;
            hats[node].1 -= at.y * (s_mm - end) - y;
        }
        let arm = at - middle;
        let (mut rise, mut shift) = (vec![1.0, arm.x], vec![0.0, -arm.y]);
        // A step at node j adds to the curvature there and at all later nodes.
        let (mut rises, mut shifts) = (Vec::new(), Vec::new());
        let mut sum = (0.0, 0.0);
        for hat in hats.iter().rev() {
            sum = (sum.0 + hat.0, sum.1 + hat.1);
            rises.push(sum.0);
            shifts.push(sum.1);
        }
        rises.reverse();
        shifts.reverse();
        let skip = if self.ends == Ends::Free { 0 } else { 1 };
        rise.extend(&rises[skip..]);
        shift.extend(&shifts[skip..]);
        (rise, shift)
    }

    /// Integrals over a stretch of mesh piece `l` of the two node functions, and of place times them.
    fn moments(&self, curve: &Curve, l: usize, from: f64, to: f64) -> [Moments; 2] {
        let (a, b) = (self.node(l), self.node(l + 1));
        let falling = |s: f64| (b - s) / (b - a);
        let [x, y, x_falling, y_falling] = gauss5(from, to, |s| {
            let (at, falling) = (curve.at(s).point, falling(s));
            [at.x, at.y, at.x * falling, at.y * falling]
        });
        let length = 0.5 * (falling(from) + falling(to)) * (to - from);
        [
            Moments { length, of_place: Point::new(x_falling, y_falling) },
            Moments { length: to - from - length, of_place: Point::new(x - x_falling, y - y_falling) },
        ]
    }
}

/// Integral of a node function, and of the place on the curve times it.
#[derive(Debug, Clone, Copy)]
struct Moments {
    length: f64,
    of_place: Point,
}

/// Householder reflection that exchanges (1, 1, ... 1)/sqrt(n) and the first axis.
fn householder_reflect(x: &mut [f64]) {
    let n = x.len() as f64;
    let even = 1.0 / n.sqrt();
    // v = u - e1 with u the even vector; |v|² = 2 - 2 u1.
    let square = 2.0 - 2.0 * even;
    let along = (even * x.iter().sum::<f64>() - x[0]) * 2.0 / square;
    for value in x.iter_mut() {
        *value -= along * even;
    }
    x[0] += along;
}

impl Linear {
    fn rows(&self) -> Vec<Vec<f64>> {
        self.free.iter().zip(&self.steps).map(|(a, b)| [&a[..], &b[..]].concat()).collect()
    }

    /// Information matrix of all parameters, for readings of unit error and steps penalised with `weight`.
    pub(super) fn information(&self, weight: f64) -> SymmetricBanded {
        let (free, steps) = (self.free[0].len(), self.steps[0].len());
        let mut information = SymmetricBanded::zeros(free + steps, free + steps - 1);
        for i in free..free + steps {
            information.add(i, i, weight);
        }
        self.add_information(&mut information, 1.0);
        information
    }

    /// Right-hand side of the normal equations: gradient of the heights to fit.
    pub(super) fn pull(&self) -> Vec<f64> {
        let mut pull = vec![0.0; self.free[0].len() + self.steps[0].len()];
        self.add_pull(&mut pull, 1.0);
        pull
    }

    /// Adds these heights to a problem, each with weight `share`.
    pub(super) fn add_to(&self, information: &mut SymmetricBanded, pull: &mut [f64], share: f64) {
        self.add_information(information, share);
        self.add_pull(pull, share);
    }

    fn add_information(&self, information: &mut SymmetricBanded, share: f64) {
        let rows = self.rows();
        let columns: Vec<Vec<f64>> =
            (0..rows.first().map_or(0, Vec::len)).map(|j| rows.iter().map(|row| row[j]).collect()).collect();
        for (i, a) in columns.iter().enumerate() {
            for (j, b) in columns[..=i].iter().enumerate() {
                information.add(i, j, share * dot(a, b));
            }
        }
    }

    fn add_pull(&self, pull: &mut [f64], share: f64) {
        for (row, wanted) in self.rows().iter().zip(&self.wanted) {
            pull.iter_mut().zip(row).for_each(|(p, a)| *p += share * a * wanted);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_linear_effects_are_the_slopes_of_the_curve_itself() {
        // Central differences of the integrated curve at a steep board, for stations along the base.
        for ends in [Ends::Free, Ends::RunningOut] {
            let mut model = Model::new(800.0, ends, 12);
            let count = model.parameters.len();
            let bent: Vec<f64> = (0..count).map(|j| 4e-5 * (j as f64 * 0.7).sin()).collect();
            model.parameters = bent;
            model.parameters[1] = 0.3;
            let curve = model.curve();
            let places = [-403.0, -133.0, 7.0, 250.0, 400.0, 403.0];
            let linear = model.linearised(&curve, &places, StationsAlong::Base, Origin::Tail, &[0.0; 6]);
            for j in 0..count {
                let step = if j < 2 { 1e-4 } else { 1e-8 };
                let moved = |by: f64| {
                    let mut other = model.clone();
                    other.parameters[j] += by;
                    other.curve()
                };
                let (up, down) = (moved(step), moved(-step));
                for (i, &s) in places.iter().enumerate() {
                    let slope = (up.at(s).point.y - down.at(s).point.y) / (2.0 * step);
                    let row: Vec<f64> = linear.free[i].iter().chain(&linear.steps[i]).copied().collect();
                    let scale = row.iter().fold(1.0_f64, |a, x| a.max(x.abs()));
                    assert!((row[j] - slope).abs() < 1e-6 * scale, "{ends:?} {j} {s}: {} is not {slope}", row[j]);
                }
            }
        }
    }

    #[test]
    fn the_linear_effects_along_the_datum_are_the_slopes_over_a_station_that_stays() {
        // Central differences again, each at the place that lies as far from the station's origin as before.
        for (ends, origin) in
            [(Ends::Free, Origin::Tail), (Ends::RunningOut, Origin::Middle), (Ends::Free, Origin::Tip)]
        {
            let mut model = Model::new(800.0, ends, 12);
            let count = model.parameters.len();
            model.parameters = (0..count).map(|j| 4e-5 * (j as f64 * 0.7).sin()).collect();
            model.parameters[1] = 0.3;
            let curve = model.curve();
            let places = [-402.0, -399.0, -133.0, 7.0, 250.0, 402.0];
            let zero = match origin {
                Origin::Tail => -400.0,
                Origin::Middle => 0.0,
                Origin::Tip => 400.0,
            };
            let linear = model.linearised(&curve, &places, StationsAlong::Datum, origin, &[0.0; 6]);
            for j in 0..count {
                let step = if j < 2 { 1e-4 } else { 1e-8 };
                let height = |by: f64, place: f64| {
                    let mut other = model.clone();
                    other.parameters[j] += by;
                    let moved = other.curve();
                    let x = moved.at(zero).point.x + curve.at(place).point.x - curve.at(zero).point.x;
                    let mut s = place;
                    for _ in 0..8 {
                        let at = moved.at(s);
                        s += (x - at.point.x) / at.angle_rad.cos();
                    }
                    moved.at(s).point.y
                };
                for (i, &s) in places.iter().enumerate() {
                    let slope = (height(step, s) - height(-step, s)) / (2.0 * step);
                    let row: Vec<f64> = linear.free[i].iter().chain(&linear.steps[i]).copied().collect();
                    let scale = row.iter().fold(1.0_f64, |a, x| a.max(x.abs()));
                    assert!((row[j] - slope).abs() < 1e-6 * scale, "{origin:?} {j} {s}: {} is not {slope}", row[j]);
                }
            }
        }
    }

    #[test]
    fn a_nudged_model_differs_in_one_parameter_by_what_is_said() {
        let model = Model::new(800.0, Ends::Free, 12);
        let (changed, step) = model.nudged(5);
        let differences: Vec<f64> = changed.parameters.iter().zip(&model.parameters).map(|(a, b)| a - b).collect();
        assert!(step > 0.0);
        for (j, difference) in differences.into_iter().enumerate() {
            assert_eq!(difference, if j == 5 { step } else { 0.0 }, "{j}");
        }
    }

    #[test]
    fn ends_that_run_out_have_no_curvature() {
        let mut model = Model::new(800.0, Ends::RunningOut, 12);
        let bent: Vec<f64> = (0..model.parameters.len()).map(|j| 1e-4 * (j as f64).cos()).collect();
        model.parameters = bent;
        assert_eq!(model.curvature().at(-400.0), 0.0);
        assert!(model.curvature().at(400.0).abs() < 1e-16);
        assert!(model.curvature().at(13.0).abs() > 1e-6);
    }
}
