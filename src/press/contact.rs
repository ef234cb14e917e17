//! Where a bendable strip, pushed on a rigid curved table, lies on it and where it lifts off.
//!
//! The strip is free at both ends. Its gap d(s) ≥ 0, normal to the table, makes ½ ∫ B (k + d″)² ds + ∫ p d ds smallest:
//! the bending energy of a strip that follows a table of curvature k except for the gap, and the work of the pressure.
//! Cubic elements with the gap and its slope as unknowns carry the bending exactly between nodes. Loads act at the
//! nodes, so a strip that lies down lies down exactly on any grid.

use std::fmt;

use crate::numeric::{Bound, InteriorPoint, QuadraticProgram, SymmetricBanded, Tolerance};

/// A stretch of the strip between two neighbouring nodes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Element {
    /// Bending stiffness at its two ends per mm of width, N mm; linear in between.
    pub stiffness_n_mm: [f64; 2],
    /// What the strip turns per length of the table when it lies on it, less what it turns by itself, at its two ends,
    /// 1/mm; linear in between. Neighbours need not agree: tables may have jumps of curvature at nodes.
    pub bend_per_mm: [f64; 2],
    /// Pressure on it, MPa.
    pub pressure_mpa: f64,
}

/// A strip over a table, cut into elements.
#[derive(Debug, Clone, PartialEq)]
pub struct Strip {
    /// Places of the nodes along the table, mm, strictly increasing.
    pub nodes_mm: Vec<f64>,
    /// The elements between them, one fewer.
    pub elements: Vec<Element>,
    /// Forces at the nodes on top of the pressure, per mm of width, N/mm; empty where there are none.
    pub forces_n_per_mm: Vec<f64>,
}

/// How the strip lies.
#[derive(Debug, Clone, PartialEq)]
pub struct Contact {
    /// Gap at the nodes, mm. Where the strip lies down it is a rounding error above zero.
    pub gap_mm: Vec<f64>,
    /// Slope of the gap at the nodes.
    pub slope: Vec<f64>,
    /// Second derivative of the gap at both ends of every element, 1/mm: the curvature that the table asks for and
    /// the strip does not take, with its sign turned.
    pub lift_per_mm: Vec<[f64; 2]>,
    /// Force of the table on the strip at every node per mm of width, N/mm.
    pub reaction_n_per_mm: Vec<f64>,
    /// Largest force left unbalanced, as a part of the mean load on a node.
    pub residual: f64,
    /// Product of gap and reaction, averaged over the nodes, N.
    pub complementarity_n: f64,
    /// Steps taken.
    pub iterations: usize,
}

/// Why no contact was found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ContactError {
    /// Nodes, elements and forces do not fit together, or are out of order (index of the node).
    Grid(usize),
    /// A stiffness is not positive or a value is not finite (index of the element).
    Element(usize),
    /// Nothing pushes the strip on the table.
    NoLoad,
    /// The steps were used up with this residual and complementarity.
    NotConverged {
        /// As in [`Contact::residual`].
        residual: f64,
        /// As in [`Contact::complementarity_n`].
        complementarity_n: f64,
    },
}

impl fmt::Display for ContactError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Grid(node) => write!(f, "node {node} is out of order"),
            Self::Element(element) => write!(f, "the stiffness of element {element} is not above zero"),
            Self::NoLoad => f.write_str("nothing pushes the stack on the table"),
            Self::NotConverged { .. } => f.write_str("the search for contact did not end"),
        }
    }
}

impl std::error::Error for ContactError {}

/// Complementarity at which it stops, as a part of mean node load times the size of the gaps to be expected: contact
/// is then known far better than a millionth of those gaps. A hundred times less costs about one step more.
const COMPLEMENTARITY: f64 = 1e-9;
/// Unbalanced force at which it stops, as a part of the mean node load.
const RESIDUAL: f64 = 1e-6;
/// Complementarity at which a search begins from a similar strip, as a part of mean node load times the size of gaps.
/// Less saves steps where the strips are nearly the same and costs some where contact has moved by several nodes.
const WARM: f64 = 1e-2;

impl Strip {
    pub(super) fn check(&self) -> Result<(), ContactError> {
        let n = self.nodes_mm.len();
        if n < 2
            || self.elements.len() + 1 != n
            || !(self.forces_n_per_mm.is_empty() || self.forces_n_per_mm.len() == n)
        {
            return Err(ContactError::Grid(0));
        }
        for (i, w) in self.nodes_mm.windows(2).enumerate() {
            if !(w[1] > w[0] && w[0].is_finite() && w[1].is_finite()) {
                return Err(ContactError::Grid(i));
            }
        }
        for (i, e) in self.elements.iter().enumerate() {
            let positive = e.stiffness_n_mm.iter().all(|b| b.is_finite() && *b > 0.0);
            if !(positive && e.bend_per_mm.iter().all(|k| k.is_finite()) && e.pressure_mpa.is_finite()) {
                return Err(ContactError::Element(i));
            }
        }
        match self.forces_n_per_mm.iter().position(|f| !f.is_finite()) {
            Some(i) => Err(ContactError::Grid(i)),
            None => Ok(()),
        }
    }

    fn length_mm(&self, element: usize) -> f64 {
        self.nodes_mm[element + 1] - self.nodes_mm[element]
    }

    /// Load on every node per mm of width, N/mm: half of the pressure on each neighbouring element, and the forces.
    pub(super) fn loads(&self) -> Vec<f64> {
        let mut load = vec![0.0; self.nodes_mm.len()];
        for (i, e) in self.elements.iter().enumerate() {
            let half = 0.5 * e.pressure_mpa * self.length_mm(i);
            load[i] += half;
            load[i + 1] += half;
        }
        for (sum, force) in load.iter_mut().zip(&self.forces_n_per_mm) {
            *sum += force;
        }
        load
    }
}

/// Abscissae of the two-point Gauss rule on [0, 1], weights one half: exact for a linear stiffness.
const GAUSS: [f64; 2] = [0.211_324_865_405_187_1, 0.788_675_134_594_812_9];

/// Second derivatives of the four shape functions (gap and slope at either end) at `t` in an element of `length`.
fn bending(t: f64, length: f64) -> [f64; 4] {
    let (a, b) = (6.0 * (2.0 * t - 1.0) / (length * length), 1.0 / length);
    [a, (6.0 * t - 4.0) * b, -a, (6.0 * t - 2.0) * b]
}

fn linear(ends: [f64; 2], t: f64) -> f64 {
    ends[0] + (ends[1] - ends[0]) * t
}

/// The stiffness of the strip; unknowns are gap and slope of each node in turn.
pub(super) fn stiffness(strip: &Strip) -> SymmetricBanded {
    let mut matrix = SymmetricBanded::zeros(2 * strip.nodes_mm.len(), 3);
    for (i, e) in strip.elements.iter().enumerate() {
        let length = strip.length_mm(i);
        for t in GAUSS {
            let weight = 0.5 * length * linear(e.stiffness_n_mm, t);
            let shape = bending(t, length);
            for row in 0..4 {
                for column in 0..=row {
                    matrix.add(2 * i + row, 2 * i + column, weight * shape[row] * shape[column]);
                }
            }
        }
    }
    matrix
}

/// Derivative of the energy of a strip whose gap is zero: its loads, and the forces with which it resists the table's
/// curvature.
pub(super) fn gradient(strip: &Strip, loads: &[f64]) -> Vec<f64> {
    let mut out = vec![0.0; 2 * loads.len()];
    for (i, load) in loads.iter().enumerate() {
        out[2 * i] = *load;
    }
    for (i, e) in strip.elements.iter().enumerate() {
        let length = strip.length_mm(i);
        for t in GAUSS {
            let moment = linear(e.stiffness_n_mm, t) * linear(e.bend_per_mm, t);
            for (j, shape) in bending(t, length).into_iter().enumerate() {
                out[2 * i + j] += 0.5 * length * moment * shape;
            }
        }
    }
    out
}

/// Second derivative of the gap at both ends of an element, from gaps and slopes; written with differences, so that
/// short elements lose no digits.
fn lift(x: &[f64], element: usize, length: f64) -> [f64; 2] {
    let at = &x[2 * element..2 * element + 4];
    let chord = (at[2] - at[0]) / length;
    let (from, to) = (at[1] - chord, at[3] - chord);
    [(-4.0 * from - 2.0 * to) / length, (2.0 * from + 4.0 * to) / length]
}

impl Contact {
    /// A start for the search on the same grid with elements cut in half: between two nodes the strip is the cubic that its
    /// elements are, and a new node takes half of what its neighbours carry.
    pub(super) fn on_halves(&self, nodes_mm: &[f64], halved_mm: &[f64]) -> Self {
        let mut finer = Self { gap_mm: Vec::new(), slope: Vec::new(), reaction_n_per_mm: Vec::new(), ..self.clone() };
        for place_mm in halved_mm {
            let i = nodes_mm.partition_point(|n| n <= place_mm) - 1;
            let (mut gap, mut slope, mut reaction) = (self.gap_mm[i], self.slope[i], self.reaction_n_per_mm[i]);
            if *place_mm > nodes_mm[i] {
                let (length, next) = (nodes_mm[i + 1] - nodes_mm[i], (self.gap_mm[i + 1], self.slope[i + 1]));
                let middle = 0.5 * (gap + next.0) + 0.125 * length * (slope - next.1);
                slope = 1.5 * (next.0 - gap) / length - 0.25 * (slope + next.1);
                gap = middle.max(0.0);
                reaction = 0.5 * reaction.min(self.reaction_n_per_mm[i + 1]);
            }
            finer.gap_mm.push(gap);
            finer.slope.push(slope);
            finer.reaction_n_per_mm.push(reaction);
        }
        finer
    }
}

/// Finds how the strip lies. `start` is the contact of a similar strip on the same grid, which saves steps.
///
/// # Errors
/// [`ContactError`]: an impossible strip, or no convergence within a bounded number of steps.
pub fn solve(strip: &Strip, start: Option<&Contact>) -> Result<Contact, ContactError> {
    strip.check()?;
    let loads = strip.loads();
    let n = loads.len();
    let mean_load = loads.iter().sum::<f64>() / n as f64;
    if mean_load.is_nan() || mean_load <= 0.0 {
        return Err(ContactError::NoLoad);
    }
    let gap_scale = gap_scale(strip, mean_load);
    let bound = |i| Bound { first: 2 * i, coefficients: [1.0, 0.0, 0.0], least: 0.0 };
    let matrix = stiffness(strip);
    let program = QuadraticProgram {
        matrix: &matrix,
        gradient: &gradient(strip, &loads),
        bounds: &(0..n).map(bound).collect::<Vec<_>>(),
    };
    let tolerance = Tolerance {
        complementarity: COMPLEMENTARITY * mean_load * gap_scale,
        residual: RESIDUAL * mean_load + rounding_n(&matrix, gap_scale),
        violation: RESIDUAL * gap_scale,
    };
    let begin = begin(&loads, mean_load, gap_scale, start.filter(|c| c.gap_mm.len() == n));
    let found = program.solve(begin, tolerance).map_err(|e| ContactError::NotConverged {
        residual: e.reached.residual / mean_load,
        complementarity_n: e.reached.complementarity,
    })?;
    let x = &found.point.x;
    // The method keeps inside its bounds: no strip in the table, no table that pulls.
    debug_assert!(x.iter().step_by(2).all(|gap| *gap >= -1e-3 * gap_scale.max(1e-6)), "a strip in the table");
    debug_assert!(found.point.multiplier.iter().all(|force| *force >= 0.0), "a table that pulls");
    Ok(Contact {
        gap_mm: x.iter().step_by(2).copied().collect(),
        slope: x.iter().skip(1).step_by(2).copied().collect(),
        lift_per_mm: (0..strip.elements.len()).map(|i| lift(x, i, strip.length_mm(i))).collect(),
        reaction_n_per_mm: found.point.multiplier,
        residual: found.reached.residual / mean_load,
        complementarity_n: found.reached.complementarity,
        iterations: found.iterations,
    })
}

/// The contact of a strip that is held on the table everywhere: no gap, and the load goes straight through.
pub fn held(strip: &Strip) -> Contact {
    let n = strip.nodes_mm.len();
    Contact {
        gap_mm: vec![0.0; n],
        slope: vec![0.0; n],
        lift_per_mm: vec![[0.0; 2]; strip.elements.len()],
        reaction_n_per_mm: strip.loads(),
        residual: 0.0,
        complementarity_n: 0.0,
        iterations: 0,
    }
}

/// Forces that the last bit of a gap makes in the stiffest element, N/mm: a residual cannot be told from less.
pub(super) fn rounding_n(matrix: &SymmetricBanded, gap_scale: f64) -> f64 {
    let stiffest = (0..matrix.size()).step_by(2).map(|i| matrix.get(i, i)).fold(0.0, f64::max);
    8.0 * f64::EPSILON * stiffest * gap_scale
}

/// The size of gaps to be expected, B k²/p, but never less than a billionth of the strip's length.
pub(super) fn gap_scale(strip: &Strip, mean_load: f64) -> f64 {
    let span = strip.nodes_mm[strip.nodes_mm.len() - 1] - strip.nodes_mm[0];
    let pressure = mean_load * strip.nodes_mm.len() as f64 / span;
    let worst = strip.elements.iter().flat_map(|e| (0..2).map(|i| e.stiffness_n_mm[i] * e.bend_per_mm[i].powi(2)));
    (worst.fold(0.0, f64::max) / pressure).clamp(1e-9 * span, span)
}

/// Where the search begins: a strip that floats at the size of the gaps, or the contact of a similar strip moved off
/// the bounds, where the method can move again.
fn begin(loads: &[f64], mean_load: f64, gap_scale: f64, start: Option<&Contact>) -> InteriorPoint {
    let n = loads.len();
    let Some(contact) = start else {
        let mut x = vec![0.0; 2 * n];
        x.iter_mut().step_by(2).for_each(|gap| *gap = gap_scale);
        let multiplier = loads.iter().map(|load| load.max(0.1 * mean_load)).collect();
        return InteriorPoint { x, slack: vec![gap_scale; n], multiplier };
    };
    let mut at = InteriorPoint { x: vec![0.0; 2 * n], slack: vec![0.0; n], multiplier: vec![0.0; n] };
    for i in 0..n {
        let (gap, reaction) = (contact.gap_mm[i] / gap_scale, contact.reaction_n_per_mm[i] / mean_load);
        let larger = gap.max(reaction).max(WARM.sqrt());
        let smaller = WARM / larger;
        let (gap, reaction) = if gap > reaction { (larger, smaller) } else { (smaller, larger) };
        at.slack[i] = gap * gap_scale;
        at.multiplier[i] = reaction * mean_load;
        at.x[2 * i] = at.slack[i];
        at.x[2 * i + 1] = contact.slope[i];
    }
    at
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A strip of stiffness 1 under pressure 1 on an arc of curvature `k`, of `count` elements.
    fn arc(k: f64, step: f64, count: usize) -> Strip {
        let element = Element { stiffness_n_mm: [1.0; 2], bend_per_mm: [k; 2], pressure_mpa: 1.0 };
        Strip {
            nodes_mm: (0..=count).map(|i| i as f64 * step).collect(),
            elements: vec![element; count],
            forces_n_per_mm: Vec::new(),
        }
    }

    #[track_caller]
    fn orders_above(errors: &[f64], least: f64) {
        for w in errors.windows(2) {
            let order = (w[0] / w[1]).log2();
            assert!(order > least, "order {order} from errors {errors:?}");
        }
    }

    /// Strip on a hump, its end free: lift-off length sqrt(2 B k/p), end gap B k²/(2 p), line reaction p l at the last
    /// contact (statics of a beam whose moment at the last contact is B k; own derivation).
    #[test]
    fn on_a_hump_the_end_lifts_as_the_closed_form_says() {
        let (k, gap): (f64, f64) = (0.05, 0.001_25);
        let length = (2.0 * k).sqrt();
        let (mut gap_errors, mut line_errors) = (Vec::new(), Vec::new());
        // So many elements to the lifted length: it ends at the same place within an element on every grid.
        for elements in [8.7, 16.7, 32.7] {
            let strip = arc(-k, length / elements, 3 * elements as usize);
            let contact = solve(&strip, None).unwrap();
            let last = strip.nodes_mm.len() - 1;
            gap_errors.push((contact.gap_mm[last] / gap - 1.0).abs());
            // The line reaction is what the nodes around the last contact carry beyond the pressure on them: all that
            // pushes from the middle of the strip on, less the pressure there, is the lifted part.
            let middle = last / 2;
            let carried: f64 = contact.reaction_n_per_mm[middle + 1..].iter().sum();
            let pressed_below =
                strip.nodes_mm[last] - length - 0.5 * (strip.nodes_mm[middle] + strip.nodes_mm[middle + 1]);
            line_errors.push(((carried - pressed_below) / length - 1.0).abs());
        }
        orders_above(&gap_errors, 1.8);
        assert!(gap_errors[2] < 1e-3 && line_errors[2] < 1e-6, "{gap_errors:?} {line_errors:?}");
    }

    /// Strip in a hollow, its end touching: bridged length 2 sqrt(B k/p), largest gap (9/128) B k²/p at three quarters of
    /// it from the inner contact, end reaction 3 p l/4 (own derivation).
    #[test]
    fn in_a_hollow_the_end_bridges_as_the_closed_form_says() {
        let (k, gap): (f64, f64) = (0.05, 9.0 / 128.0 * 0.05 * 0.05);
        let length = 2.0 * k.sqrt();
        let (mut gap_errors, mut end_errors) = (Vec::new(), Vec::new());
        // So many elements to the bridged length: it ends at the same place within an element on every grid.
        for elements in [8.37, 16.37, 32.37] {
            let strip = arc(k, length / elements, 3 * elements as usize);
            let contact = solve(&strip, None).unwrap();
            let last = strip.nodes_mm.len() - 1;
            let largest = contact.gap_mm.iter().copied().fold(0.0, f64::max);
            gap_errors.push((largest / gap - 1.0).abs());
            end_errors.push((contact.reaction_n_per_mm[last] / (0.75 * length) - 1.0).abs());
        }
        orders_above(&gap_errors, 1.8);
        orders_above(&end_errors, 1.8);
        assert!(gap_errors[2] < 2e-3 && end_errors[2] < 5e-4, "{gap_errors:?} {end_errors:?}");
    }

    #[test]
    fn a_strip_on_a_table_that_eases_out_lies_down_on_any_grid() {
        // Run-out k (2u - u²) over sqrt(2 B k/p), a little longer than needed, on a grid of uneven elements.
        let k: f64 = 0.05;
        let run = (2.2 * k).sqrt();
        let nodes_mm: Vec<f64> = (0..=60).map(|i| (f64::from(i) / 60.0).powf(1.3)).collect();
        let bend = |s: f64| {
            let u = ((1.0 - s) / run).min(1.0);
            k * u * (2.0 - u)
        };
        let element =
            |w: &[f64]| Element { stiffness_n_mm: [1.0; 2], bend_per_mm: [bend(w[0]), bend(w[1])], pressure_mpa: 1.0 };
        let elements = nodes_mm.windows(2).map(element).collect();
        let contact = solve(&Strip { nodes_mm, elements, forces_n_per_mm: Vec::new() }, None).unwrap();
        let from_middle = contact.gap_mm.iter().zip(0..).filter(|(_, i)| *i > 30).map(|(g, _)| *g);
        let largest = from_middle.fold(0.0, f64::max);
        assert!(largest < 1e-6, "{largest}");
    }

    #[test]
    fn a_similar_strip_starts_warm_and_ends_the_same() {
        let first = solve(&arc(-0.05, 0.02, 60), None).unwrap();
        let cold = solve(&arc(-0.051, 0.02, 60), None).unwrap();
        let warm = solve(&arc(-0.051, 0.02, 60), Some(&first)).unwrap();
        assert!(warm.iterations < cold.iterations, "{} {}", warm.iterations, cold.iterations);
        for (a, b) in cold.gap_mm.iter().zip(&warm.gap_mm) {
            assert!((a - b).abs() < 1e-8, "{a} {b}");
        }
    }

    #[test]
    fn a_finer_grid_starts_from_the_coarser_one_and_ends_the_same() {
        let (coarse, fine) = (arc(-0.05, 0.04, 30), arc(-0.05, 0.02, 60));
        let first = solve(&coarse, None).unwrap();
        let start = first.on_halves(&coarse.nodes_mm, &fine.nodes_mm);
        let (cold, warm) = (solve(&fine, None).unwrap(), solve(&fine, Some(&start)).unwrap());
        assert!(warm.iterations < cold.iterations, "{} {}", warm.iterations, cold.iterations);
        for i in 0..fine.nodes_mm.len() {
            assert!((cold.gap_mm[i] - warm.gap_mm[i]).abs() < 1e-8, "{i}");
            // What it starts from is near already.
            assert!((start.gap_mm[i] - cold.gap_mm[i]).abs() < 1e-4, "{i}: {} {}", start.gap_mm[i], cold.gap_mm[i]);
        }
    }

    #[test]
    fn impossible_strips_are_refused() {
        let mut strip = arc(0.05, 0.1, 10);
        strip.elements[3].stiffness_n_mm[1] = 0.0;
        assert_eq!(solve(&strip, None), Err(ContactError::Element(3)));
        let mut strip = arc(0.05, 0.1, 10);
        strip.nodes_mm[4] = strip.nodes_mm[5];
        assert_eq!(solve(&strip, None), Err(ContactError::Grid(4)));
        let mut strip = arc(0.05, 0.1, 10);
        strip.elements.iter_mut().for_each(|e| e.pressure_mpa = 0.0);
        assert_eq!(solve(&strip, None), Err(ContactError::NoLoad));
    }

    /// Stiffness and load together give the same gaps to the last bit, and forces in proportion; what is left of the
    /// residual is a part of the load.
    #[test]
    fn a_thousand_times_stiffer_and_pressed_as_much_harder_is_the_same() {
        let soft = arc(-0.05, 0.02, 60);
        for by in [1024.0, 1.0 / 1024.0] {
            let mut scaled = soft.clone();
            for element in &mut scaled.elements {
                element.stiffness_n_mm = element.stiffness_n_mm.map(|b| by * b);
                element.pressure_mpa *= by;
            }
            let (a, b) = (solve(&soft, None).unwrap(), solve(&scaled, None).unwrap());
            assert_eq!((&a.gap_mm, &a.slope, a.iterations), (&b.gap_mm, &b.slope, b.iterations));
            assert_eq!(a.reaction_n_per_mm.iter().map(|r| by * r).collect::<Vec<_>>(), b.reaction_n_per_mm);
            assert_eq!(a.residual, b.residual);
        }
    }
}
