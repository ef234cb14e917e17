//! The bend nearest to the wanted one that the load can hold down.
//!
//! What a free strip carries is a moment M(s) with M'' = q - p: the table pushes with q ≥ 0 where the load p pulls down,
//! and M and its slope vanish beyond the ends. Every such M can be pressed: on the table that has the strip's own shape. So the
//! best table is found among moments, without contact: the one whose released board is nearest to the target in the
//! sense of least squares of distance over the finished length, with a little weight on curvature that keeps it fair.

use crate::numeric::{Bound, InteriorPoint, QuadraticProgram, SymmetricBanded, Tolerance, index_of_min};
use crate::press::Load;

use super::design::Design;
use super::wanted::BentSpan;

/// Distance between the nodes at which moments are sought, mm; in between what is added to the wanted moment runs
/// straight. Cost goes with its inverse cube.
const NODE_STEP_MM: f64 = 16.0;
/// Part of the pressure that may be used. More leaves less over, less keeps the stack down where pressure or stiffness are
/// a little off.
const USED: f64 = 0.97;
/// Length over which curvature is traded for distance, mm: a curvature error counts as the distance that it makes over
/// this length. Shorter follows the target closer, with a table that is bent harder to make up for what cannot be held.
const FAIR_MM: f64 = 25.0;
/// Weight of the two places that hold the board against that of others: so much that they do not move.
const HOLD: f64 = 1e4;
/// Weight of uneven table pressure beyond the finished ends, mm⁵/MPa²: enough to choose among tables that are alike for
/// the board, too little to be felt in it.
const EVEN_PRESSURE: f64 = 1e-3;
/// Length that turns a turn of the whole board into a distance of the size of its shifts, mm.
const TURN_SCALE_MM: f64 = 500.0;

/// A node of the search.
#[derive(Debug, Clone, Copy)]
struct Node {
    /// Joint of the design before which it lies: the number of spans on its tail side.
    joint: usize,
    blank_mm: f64,
    /// Pushing down on the blank around it, N/mm, and how much of that is not left to the table, N/mm.
    load_n_per_mm: f64,
    spare_n_per_mm: f64,
    /// Wanted moment just before and just after it, N.
    wanted_n: [f64; 2],
    /// Released curvature for each moment, just before and just after it, 1/(N mm).
    released_per_n_mm: [f64; 2],
    /// Released direction there, rad, and place, mm.
    place_mm: (f64, f64),
    finished: bool,
}

/// The design with the moment that is nearest to the wanted one; `None` where no moment is found.
///
/// Distances count with the board held at `anchor_mm`, or as it fits best where it does not rest on one place.
pub(super) fn nearest(design: &Design, load: &Load, anchor_mm: Option<f64>) -> Option<Design> {
    let nodes = nodes(design, load);
    let moments = search(&nodes, anchor_mm)?;
    let mut spans = design.spans.clone();
    for (w, m) in nodes.windows(2).zip(moments.windows(2)) {
        let (from, to) = (w[0].blank_mm, w[1].blank_mm);
        // What is added runs straight between the nodes.
        let added = [m[0] - w[0].wanted_n[1], m[1] - w[1].wanted_n[0]];
        for span in &mut spans[w[0].joint..w[1].joint] {
            for (end, blank) in span.ends.iter_mut().zip(span.blank_mm) {
                let part = (blank - from) / (to - from);
                let moment = end.moment_n() + added[0] + (added[1] - added[0]) * part;
                *end = end.carrying(moment);
            }
        }
    }
    Some(Design { spans, ..design.clone() })
}

fn nodes(design: &Design, load: &Load) -> Vec<Node> {
    let spans = &design.spans;
    let joint_at = |joint: usize| if joint == 0 { spans[0].blank_mm[0] } else { spans[joint - 1].blank_mm[1] };
    let last = spans.len();
    let nearest = |blank_mm: f64| index_of_min((0..=last).map(|j| (joint_at(j) - blank_mm).abs()));
    let mut kept: Vec<usize> =
        vec![0, last, nearest(0.0), nearest(design.finished_mm.0), nearest(design.finished_mm.1)];
    kept.extend(load.forces.iter().map(|f| nearest(f.blank_mm)));
    // Jumps of the wanted moment.
    let largest = spans.iter().flat_map(|s| s.ends.map(|e| e.moment_n().abs())).fold(0.0, f64::max);
    kept.extend(
        (1..last).filter(|&j| (spans[j - 1].ends[1].moment_n() - spans[j].ends[0].moment_n()).abs() > 1e-3 * largest),
    );
    kept.sort_unstable();
    kept.dedup();
    // More in between, at joints of the design.
    let mut joints = vec![0];
    for w in kept.windows(2) {
        for joint in w[0] + 1..w[1] {
            let from = joint_at(joints[joints.len() - 1]);
            if joint_at(joint + 1) - from > NODE_STEP_MM {
                joints.push(joint);
            }
        }
        joints.push(w[1]);
    }
    let mut nodes: Vec<Node> = Vec::with_capacity(joints.len());
    for &joint in &joints {
        let (before, after) = (joint.checked_sub(1).map(|i| spans[i].ends[1]), spans.get(joint).map(|s| s.ends[0]));
        let sides = [before.or(after), after.or(before)];
        let blank_mm = joint_at(joint);
        nodes.push(Node {
            joint,
            blank_mm,
            load_n_per_mm: 0.0,
            spare_n_per_mm: 0.0,
            wanted_n: sides.map(|b| b.map_or(0.0, |b| b.moment_n())),
            released_per_n_mm: sides.map(|b| b.map_or(0.0, |b| b.section.stays() / b.stiffness_n_mm())),
            place_mm: (0.0, 0.0),
            finished: (design.finished_mm.0..=design.finished_mm.1).contains(&blank_mm),
        });
    }
    for i in 1..nodes.len() {
        let half = 0.5 * load.pressure_mpa * (nodes[i].blank_mm - nodes[i - 1].blank_mm);
        for j in [i - 1, i] {
            nodes[j].load_n_per_mm += half;
            nodes[j].spare_n_per_mm += (1.0 - USED) * half;
        }
    }
    for force in &load.forces {
        let node = index_of_min(nodes.iter().map(|n| (n.blank_mm - force.blank_mm).abs()));
        nodes[node].load_n_per_mm += force.force_n_per_mm;
    }
    place(&mut nodes, spans);
    nodes
}

/// Puts the nodes where the released board has them, well enough for the arms of small turns.
fn place(nodes: &mut [Node], spans: &[BentSpan]) {
    let (mut angle, mut x, mut z) = (0.0_f64, 0.0, 0.0);
    let mut joint = 0;
    for node in nodes.iter_mut() {
        for span in &spans[joint..node.joint] {
            let free = span.ends.map(|e| e.section.free_curvature(e.turn_per_mm));
            let turn = 0.5 * (free[0] + free[1]) * span.length_mm();
            x += span.length_mm() * libm::cos(angle + 0.5 * turn);
            z += span.length_mm() * libm::sin(angle + 0.5 * turn);
            angle += turn;
        }
        joint = node.joint;
        node.place_mm = (x, z);
    }
}

/// A change of turn: the moment that makes it (none at the ends), how much for each N, its constant part, and the
/// place about which it turns all that lies beyond.
type Turn = (Option<usize>, f64, f64, (f64, f64));

/// Moments at all nodes, those at the ends zero.
// Long, because it sets up one quadratic program, whose rows share their unknowns.
fn search(nodes: &[Node], anchor_mm: Option<f64>) -> Option<Vec<f64>> {
    let held = anchor_mm.map(|a| 1 + index_of_min(nodes.iter().skip(1).map(|n| (n.blank_mm - a).abs())));
    let count = nodes.len();
    // Unknowns: the moments at the inner nodes, then shift along, shift up and turn of the whole board.
    let inner = count.checked_sub(2).filter(|n| *n > 0)?;
    let unknowns = inner + 3;
    let column = |node: usize| node.checked_sub(1).filter(|c| *c < inner);
    let mut objective = Objective::new(unknowns);
    let middle = nodes.iter().position(|n| n.finished)?;
    // Change of place by change of turn between the first finished node and each other, summed up from the elements.
    // Each entry: the unknown, the part of the turn, its arm's origin; a constant part for what is wanted.
    let mut turns: Vec<Turn> = Vec::new();
    for i in middle..count {
        if !nodes[i].finished {
            break;
        }
        if i > middle {
            let (a, b) = (&nodes[i - 1], &nodes[i]);
            let half = 0.5 * (b.blank_mm - a.blank_mm);
            for (node, side, n) in [(i - 1, 1, a), (i, 0, b)] {
                let per_moment = half * n.released_per_n_mm[side];
                turns.push((column(node), per_moment, -per_moment * n.wanted_n[side], n.place_mm));
                let mut fair = objective.row();
                let c = n.released_per_n_mm[side];
                if let Some(j) = column(node) {
                    fair.0[j] = c;
                }
                fair.1 = -c * n.wanted_n[side];
                objective.add(&fair, half * FAIR_MM.powi(4));
            }
        }
        let at = nodes[i].place_mm;
        let (mut along, mut up) = (objective.row(), objective.row());
        for (unknown, per_moment, constant, from) in &turns {
            let arm = (at.0 - from.0, at.1 - from.1);
            if let Some(j) = unknown {
                along.0[*j] -= per_moment * arm.1;
                up.0[*j] += per_moment * arm.0;
            }
            along.1 -= constant * arm.1;
            up.1 += constant * arm.0;
        }
        along.0[inner] = 1.0;
        up.0[inner + 1] = 1.0;
        along.0[inner + 2] = -at.1 / TURN_SCALE_MM;
        up.0[inner + 2] = at.0 / TURN_SCALE_MM;
        let before = if i > middle { nodes[i].blank_mm - nodes[i - 1].blank_mm } else { 0.0 };
        let after = nodes.get(i + 1).filter(|n| n.finished).map_or(0.0, |n| n.blank_mm - nodes[i].blank_mm);
        // Two neighbours hold place and direction.
        let hold = if held.is_some_and(|h| i == h || i + 1 == h) { HOLD } else { 1.0 };
        objective.add(&along, hold * 0.5 * (before + after));
        objective.add(&up, hold * 0.5 * (before + after));
    }
    let bounds: Vec<Bound> = (0..count).map(|i| push(nodes, i, inner)).collect();
    for (i, bound) in bounds.iter().enumerate().filter(|(i, _)| !nodes[*i].finished) {
        let width = 0.5 * (nodes[(i + 1).min(count - 1)].blank_mm - nodes[i.saturating_sub(1)].blank_mm);
        let mut uneven = objective.row();
        for (j, c) in bound.coefficients.into_iter().enumerate().filter(|(_, c)| *c != 0.0) {
            uneven.0[bound.first + j] = c / width;
        }
        objective.add(&uneven, EVEN_PRESSURE * width);
    }
    objective.solve(&bounds, nodes)
}

/// The bound on the force of the table at node `i`: the load plus the kink of the moment is no pull.
fn push(nodes: &[Node], i: usize, inner: usize) -> Bound {
    let slope = |a: usize| 1.0 / (nodes[a + 1].blank_mm - nodes[a].blank_mm);
    let before = if i > 0 { slope(i - 1) } else { 0.0 };
    let after = if i + 1 < nodes.len() { slope(i) } else { 0.0 };
    // Weights of the moments at the nodes before, at and after; those of the end nodes are no unknowns.
    let weights = [(i.wrapping_sub(1), before), (i, -before - after), (i + 1, after)];
    let known = |node: usize| node.checked_sub(1).filter(|c| *c < inner && node < nodes.len());
    let mut bound = Bound { first: 0, coefficients: [0.0; 3], least: nodes[i].spare_n_per_mm - nodes[i].load_n_per_mm };
    let mut next = None;
    for (node, weight) in weights {
        if let Some(column) = known(node) {
            let first = *next.get_or_insert(column);
            bound.first = first;
            bound.coefficients[column - first] = weight;
        }
    }
    bound
}

/// A sum of squares of rows times unknowns plus constants.
struct Objective {
    unknowns: usize,
    matrix: Vec<f64>,
    gradient: Vec<f64>,
}

impl Objective {
    fn new(unknowns: usize) -> Self {
        Self { unknowns, matrix: vec![0.0; unknowns * unknowns], gradient: vec![0.0; unknowns] }
    }

    fn row(&self) -> (Vec<f64>, f64) {
        (vec![0.0; self.unknowns], 0.0)
    }

    fn add(&mut self, row: &(Vec<f64>, f64), weight: f64) {
        for (i, a) in row.0.iter().enumerate().filter(|(_, a)| **a != 0.0) {
            self.gradient[i] += weight * a * row.1;
            let out = &mut self.matrix[i * self.unknowns..i * self.unknowns + i + 1];
            for (sum, b) in out.iter_mut().zip(&row.0) {
                *sum += weight * a * b;
            }
        }
    }

    fn solve(&self, bounds: &[Bound], nodes: &[Node]) -> Option<Vec<f64>> {
        let n = self.unknowns;
        let mut matrix = SymmetricBanded::zeros(n, n - 1);
        // That of the moments alone: the board's shifts are weighed in another unit.
        let largest = (0..nodes.len() - 2).map(|i| self.matrix[i * n + i]).fold(0.0, f64::max);
        for i in 0..n {
            for j in 0..=i {
                matrix.add(i, j, self.matrix[i * n + j]);
            }
            // Moments that nothing asks for are not left to rounding.
            matrix.add(i, i, 1e-13 * largest);
        }
        let mean = nodes.iter().map(|n| n.load_n_per_mm).sum::<f64>() / nodes.len() as f64;
        let largest_n = nodes.iter().flat_map(|n| n.wanted_n).fold(0.0, |a: f64, b| a.max(b.abs())).max(1e-9);
        let mut x = vec![0.0; n];
        for (value, node) in x.iter_mut().zip(&nodes[1..nodes.len() - 1]) {
            *value = node.wanted_n[0];
        }
        let scale = self.gradient.iter().fold(0.0, |a: f64, b| a.max(b.abs())).max(1e-12);
        let start = InteriorPoint {
            x,
            slack: vec![mean; bounds.len()],
            multiplier: vec![scale * largest_n / mean / bounds.len() as f64; bounds.len()],
        };
        let tolerance = Tolerance {
            complementarity: ENOUGH_MM3 / bounds.len() as f64,
            residual: (ENOUGH_MM3 / largest_n).max(1e-12 * scale),
            violation: 1e-6 * mean,
        };
        let program = QuadraticProgram { matrix: &matrix, gradient: &self.gradient, bounds };
        let found = program.solve(start, tolerance).ok()?;
        let mut moments = vec![0.0];
        moments.extend_from_slice(&found.point.x[..nodes.len() - 2]);
        moments.push(0.0);
        Some(moments)
    }
}

/// Square of distance times length that is not worth another step, mm³: a thousandth of a millimetre over a metre.
const ENOUGH_MM3: f64 = 1e-3;

#[cfg(test)]
mod tests;
