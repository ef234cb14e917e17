//! Characteristic values of a target curve.

use crate::curve::{Curvature, Curve, PlaneCurve, lowest_between};

/// Curvature below which the base is flat, 1/mm: a radius of 1 km rises an eighth of a millimetre over a metre, less than a
/// straightedge shows.
const FLAT_PER_MM: f64 = 1e-6;

/// Smallest extremum of curvature that is reported, as a share of the range of curvature (own choice): smaller ones are ripple
/// that no press reproduces and no straightedge shows. A wave of curvature with the half length L and
/// the range r is r L²/π² high from hollow to crest; 2 % of 1/500 mm over 100 mm make 0.04 mm. Less would name the rounding of
/// fitted boards; more would pass waves that a base shows.
const RIPPLE_SHARE: f64 = 0.02;

/// A local extremum of the curvature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Extremum {
    /// Where, mm from the middle.
    pub s_mm: f64,
    /// Curvature there, 1/mm.
    pub k_per_mm: f64,
}

/// Values of a target curve, with the board resting on the floor.
#[derive(Debug, Clone, PartialEq)]
pub struct Report {
    /// Length along the base, mm.
    pub base_length_mm: f64,
    /// Straight distance from tail to tip, mm.
    pub straight_mm: f64,
    /// Height of the tip above the lowest point, mm.
    pub tip_height_mm: f64,
    /// Height of the tail above the lowest point, mm.
    pub tail_height_mm: f64,
    /// First and last point of contact, mm from the middle; equal for a single one.
    pub contact_mm: (f64, f64),
    /// Length of the longest flat stretch, mm; zero without one.
    pub flat_length_mm: f64,
    /// Rise of the base at the tip, rad.
    pub tip_angle_rad: f64,
    /// Rise of the base at the tail, rad, seen outwards.
    pub tail_angle_rad: f64,
    /// The place of the tightest bend; `None` for a straight board.
    pub tightest: Option<Extremum>,
    /// Inflections between rocker and camber, mm from the middle.
    pub inflections_mm: Vec<f64>,
    /// Local extrema of curvature.
    pub extrema: Vec<Extremum>,
    /// Number of unintended extrema.
    pub bumps: usize,
}

impl Report {
    /// The values of a curve that rests at `anchor_mm`; `asked_extrema` extrema of its curvature are intended.
    pub(super) fn of(curve: &Curve, anchor_mm: f64, asked_extrema: usize) -> Self {
        let curvature = curve.curvature();
        let (from, to) = curve.range_mm();
        let (tail, tip) = (curve.at(from), curve.at(to));
        let extrema = extrema(curvature);
        let (low, high) = curvature.extremes();
        let tightest = if high.1 >= -low.1 { high } else { low };
        let longest = flats(curvature).into_iter().map(|(a, b)| b - a).fold(0.0, f64::max);
        Self {
            base_length_mm: to - from,
            straight_mm: tail.point.distance(tip.point),
            tip_height_mm: tip.point.y,
            tail_height_mm: tail.point.y,
            contact_mm: contact(curve, anchor_mm),
            flat_length_mm: longest,
            tip_angle_rad: tip.angle_rad,
            tail_angle_rad: -tail.angle_rad,
            tightest: (tightest.1.abs() > FLAT_PER_MM).then_some(Extremum { s_mm: tightest.0, k_per_mm: tightest.1 }),
            inflections_mm: inflections(curvature),
            bumps: extrema.len().saturating_sub(asked_extrema),
            extrema,
        }
    }

    /// Radius at the tightest bend, mm, negative for camber.
    pub fn tightest_radius_mm(&self) -> Option<f64> {
        self.tightest.map(|at| 1.0 / at.k_per_mm)
    }
}

/// Flat stretches (from, to), mm.
pub(super) fn flats(curvature: &Curvature) -> Vec<(f64, f64)> {
    let mut runs: Vec<(f64, f64)> = Vec::new();
    for p in curvature.pieces() {
        if p.k_start_per_mm.abs() > FLAT_PER_MM || p.k_end_per_mm.abs() > FLAT_PER_MM {
            continue;
        }
        match runs.last_mut() {
            Some(run) if run.1 == p.start_mm => run.1 = p.end_mm,
            _ => runs.push((p.start_mm, p.end_mm)),
        }
    }
    runs
}

fn contact(curve: &Curve, anchor_mm: f64) -> (f64, f64) {
    // Within a micrometre of the floor is contact: far above the rounding of the integrated curve.
    const TOUCHES_MM: f64 = 1e-3;
    let (from, to) = curve.range_mm();
    if curve.at(anchor_mm).point.y > TOUCHES_MM {
        return (lowest_between(curve, from, anchor_mm), lowest_between(curve, anchor_mm, to));
    }
    let flat = flats(curve.curvature()).into_iter().find(|&(a, b)| a <= anchor_mm && anchor_mm <= b);
    match flat {
        Some((a, b)) if curve.at(a).point.y < TOUCHES_MM && curve.at(b).point.y < TOUCHES_MM => (a, b),
        _ => (anchor_mm, anchor_mm),
    }
}

/// Values of curvature in order of arc length: both sides of every joint.
fn nodes(curvature: &Curvature) -> impl Iterator<Item = (f64, f64)> + '_ {
    curvature.pieces().iter().flat_map(|p| [(p.start_mm, p.k_start_per_mm), (p.end_mm, p.k_end_per_mm)])
}

/// Extrema of curvature inside the board that are larger than ripple. A plateau is one extremum, at its middle.
pub(super) fn extrema(curvature: &Curvature) -> Vec<Extremum> {
    let (low, high) = curvature.extremes();
    let ripple = (RIPPLE_SHARE * (high.1 - low.1)).max(FLAT_PER_MM);
    let mut found = Vec::new();
    let first = (curvature.start_mm(), curvature.pieces()[0].k_start_per_mm);
    // Highest and lowest plateau since the last extremum, and the current direction if known.
    let (mut top, mut bottom) = (Plateau::at(first), Plateau::at(first));
    let mut rising: Option<bool> = None;
    for node in nodes(curvature) {
        top.follow(node, node.1 > top.k);
        bottom.follow(node, node.1 < bottom.k);
        if rising != Some(false) && top.k - node.1 > ripple {
            if rising == Some(true) {
                found.push(top.middle());
            }
            rising = Some(false);
            bottom = Plateau::at(node);
        } else if rising != Some(true) && node.1 - bottom.k > ripple {
            if rising == Some(false) {
                found.push(bottom.middle());
            }
            rising = Some(true);
            top = Plateau::at(node);
        }
    }
    found
}

struct Plateau {
    from: f64,
    to: f64,
    k: f64,
}

impl Plateau {
    fn at((s, k): (f64, f64)) -> Self {
        Self { from: s, to: s, k }
    }

    fn follow(&mut self, node: (f64, f64), beyond: bool) {
        if beyond {
            *self = Self::at(node);
        } else if node.1 == self.k {
            self.to = node.0;
        }
    }

    fn middle(&self) -> Extremum {
        Extremum { s_mm: 0.5 * (self.from + self.to), k_per_mm: self.k }
    }
}

/// Sign changes of the curvature; across a flat, its middle.
fn inflections(curvature: &Curvature) -> Vec<f64> {
    let mut found = Vec::new();
    let mut last: Option<(f64, f64)> = None;
    // First and last flat place since then.
    let mut flat: Option<(f64, f64)> = None;
    for (s, k) in nodes(curvature) {
        if k.abs() <= FLAT_PER_MM {
            flat = Some((flat.map_or(s, |(first, _)| first), s));
            continue;
        }
        if let Some((s0, k0)) = last
            && (k0 < 0.0) != (k < 0.0)
        {
            // Without a flat both values belong to one linear piece, or to the two sides of a joint.
            found.push(flat.map_or(s0 + (s - s0) * k0 / (k0 - k), |(a, b)| 0.5 * (a + b)));
        }
        (last, flat) = (Some((s, k)), None);
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_wave_in_the_curvature_is_found_where_it_turns() {
        let wavy = Curvature::through(&[
            (-600.0, 0.002),
            (-200.0, 0.0),
            (200.0, 0.0),
            (300.0, 0.001),
            (400.0, 0.0005),
            (600.0, 0.002),
        ])
        .unwrap();
        let places: Vec<f64> = extrema(&wavy).iter().map(|e| e.s_mm).collect();
        assert_eq!(places, [0.0, 300.0, 400.0]);
        assert_eq!(flats(&wavy), [(-200.0, 200.0)]);
    }

    #[test]
    fn a_flat_that_stands_tilted_touches_at_its_lower_end_only() {
        let flat = Curve::new(Curvature::constant(-500.0, 500.0, 0.0).unwrap());
        let contact = |turn_rad: f64, anchor_mm: f64| {
            let shift = kurbo::Vec2::new(0.0, 500.0 * turn_rad.abs().sin());
            Report::of(&flat.posed(crate::curve::Pose { turn_rad, shift }), anchor_mm, 0).contact_mm
        };
        assert_eq!(contact(0.0, 0.0), (-500.0, 500.0));
        assert_eq!(contact(0.01, -500.0), (-500.0, -500.0));
        assert_eq!(contact(-0.01, 500.0), (500.0, 500.0));
    }

    #[test]
    fn ripple_is_no_extremum() {
        let ripple = Curvature::through(&[(0.0, 0.001), (10.0, 0.00101), (20.0, 0.001), (100.0, 0.002)]).unwrap();
        assert_eq!(extrema(&ripple), []);
    }

    #[test]
    fn camber_between_rockers_has_two_inflections() {
        let k = Curvature::through(&[(-500.0, 0.004), (-300.0, -0.004), (300.0, -0.004), (500.0, 0.004)]).unwrap();
        assert_eq!(inflections(&k), [-400.0, 400.0]);
    }

    #[test]
    fn an_inflection_is_where_the_curvature_is_zero_or_jumps_over_it_or_in_the_middle_of_a_flat() {
        let inflection = |nodes: &[(f64, f64)]| inflections(&Curvature::through(nodes).unwrap());
        // Within one piece among several.
        assert_eq!(inflection(&[(-300.0, -2e-3), (-100.0, -1e-3), (100.0, 3e-3), (400.0, 1e-3)]), [-50.0]);
        // At a node, with another slope to each side.
        assert_eq!(inflection(&[(-100.0, -1e-3), (0.0, 0.0), (200.0, 2e-3)]), [0.0]);
        // In the middle of a flat between ramps of different length.
        assert_eq!(inflection(&[(-300.0, 1e-3), (10.0, 0.0), (90.0, 0.0), (150.0, -2e-3)]), [50.0]);
        // A flat between two stretches that are bent the same way is none.
        assert_eq!(inflection(&[(-300.0, 1e-3), (10.0, 0.0), (90.0, 0.0), (150.0, 2e-3)]), [0.0; 0]);
        let piece = |start_mm, end_mm, k| crate::curve::Piece { start_mm, end_mm, k_start_per_mm: k, k_end_per_mm: k };
        let jump = Curvature::new(vec![piece(-200.0, 70.0, 1e-3), piece(70.0, 300.0, -2e-3)]).unwrap();
        assert_eq!(inflections(&jump), [70.0]);
    }

    #[test]
    fn the_tightest_bend_may_be_a_camber() {
        let report = |k_tail: f64, k_tip: f64| {
            let curvature = Curvature::through(&[(-400.0, k_tail), (500.0, k_tip)]).unwrap();
            Report::of(&Curve::new(curvature), 0.0, 0)
        };
        let camber = report(-2e-3, 1e-3);
        assert_eq!((camber.tightest_radius_mm(), camber.base_length_mm), (Some(-500.0), 900.0));
        assert_eq!(report(1e-3, 2e-3).tightest_radius_mm(), Some(500.0));
        // Of two that are as tight as each other the rocker counts.
        assert_eq!(report(-1e-3, 1e-3).tightest_radius_mm(), Some(1000.0));
        assert_eq!(report(0.0, 0.0).tightest_radius_mm(), None);
    }

    #[test]
    fn flats_that_touch_are_one_and_the_board_rests_on_that_of_its_anchor() {
        let piece = |start_mm, end_mm, k_start_per_mm, k_end_per_mm| crate::curve::Piece {
            start_mm,
            end_mm,
            k_start_per_mm,
            k_end_per_mm,
        };
        let curvature = Curvature::new(vec![
            piece(-500.0, -400.0, 0.0, 0.0),
            piece(-400.0, -100.0, 1e-3, 1e-3),
            piece(-100.0, 20.0, 0.0, 0.0),
            piece(20.0, 60.0, 0.0, 0.0),
            piece(60.0, 300.0, 1e-3, 1e-3),
        ])
        .unwrap();
        assert_eq!(flats(&curvature), [(-500.0, -400.0), (-100.0, 60.0)]);
        let curve = crate::curve::resting_pose(&Curve::new(curvature), 10.0);
        assert_eq!(Report::of(&curve, 10.0, 0).contact_mm, (-100.0, 60.0));
    }

    #[test]
    fn a_plateau_turns_round_in_its_middle_and_ripple_is_a_part_of_the_range() {
        let places = |nodes: &[(f64, f64)]| -> Vec<f64> {
            extrema(&Curvature::through(nodes).unwrap()).iter().map(|e| e.s_mm).collect()
        };
        assert_eq!(places(&[(0.0, 0.0), (100.0, 1e-3), (150.0, 1e-3), (200.0, 1e-3), (300.0, 0.0)]), [150.0]);
        assert_eq!(places(&[(0.0, 0.0), (100.0, -1e-3), (180.0, -1e-3), (300.0, 0.0)]), [140.0]);
        // From -0.001 to 0.001/mm a wave counts from 0.00004/mm on.
        let waving = |by: f64| places(&[(0.0, -1e-3), (100.0, by), (150.0, 0.0), (200.0, 1e-3)]);
        assert_eq!(waving(3e-5), [0.0; 0]);
        assert_eq!(waving(5e-5), [100.0, 150.0]);
    }
}
