//! Curvature integrated to points and directions.

use kurbo::{Point, Vec2};

use super::{Curvature, MOST_PARTS, Pose};
use crate::numeric::quadrature::{gauss5, gauss10};

/// A point on a curve with direction and curvature. `point.x` runs along the table toward the tip, `point.y` is the height z.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sample {
    /// The curve's parameter, mm: arc length of the curve itself or, for a parallel curve, of the curve it follows.
    pub s_mm: f64,
    /// Position, mm; x along, y up (the z of the documents).
    pub point: Point,
    /// Direction of travel against the x axis, rad, counter-clockwise.
    pub angle_rad: f64,
    /// Curvature of this curve, 1/mm.
    pub k_per_mm: f64,
}

impl Sample {
    /// Unit vector in the direction of travel.
    pub(crate) fn tangent(&self) -> Vec2 {
        Vec2::from_angle(self.angle_rad)
    }

    /// Unit vector to the left of travel: up for a board that lies flat.
    pub fn normal(&self) -> Vec2 {
        let t = self.tangent();
        Vec2::new(-t.y, t.x)
    }
}

/// A smooth plane curve that can be evaluated anywhere.
pub trait PlaneCurve {
    /// First and last parameter, mm.
    fn range_mm(&self) -> (f64, f64);
    /// Evaluates the curve at a parameter; beyond the ends it continues with the end curvature.
    fn at(&self, s_mm: f64) -> Sample;
    /// Parameters between which the curvature is smooth, ends included: jumps of curvature lie only here.
    fn breaks_mm(&self) -> Vec<f64>;
}

/// A curve integrated from its curvature: position and direction are stored at the start of every piece and exact in between.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    curvature: Curvature,
    starts: Vec<(Point, f64)>,
}

/// Largest angle covered by one ten-point rule; its error is then below 1e-16 of the length.
const ANGLE_PER_RULE: f64 = 0.5;
/// The same for a five-point rule, the curvature being linear. Most pieces of a board turn by less.
const ANGLE_OF_FIVE_POINTS: f64 = 0.02;

impl Curve {
    /// Integrates `curvature`. The point s = 0, or the end nearest to it, is at the origin and points along x.
    pub fn new(curvature: Curvature) -> Self {
        let mut starts = Vec::with_capacity(curvature.pieces().len());
        let (mut point, mut angle) = (Point::ORIGIN, 0.0);
        for (i, p) in curvature.pieces().iter().enumerate() {
            starts.push((point, angle));
            let before = point;
            (point, angle) = advance(&curvature, i, point, angle, p.end_mm);
            // Rounding grows with the distance from the origin at both ends.
            let rounded = 1e-12 * (1.0 + point.to_vec2().hypot());
            debug_assert!(
                point.distance(before) <= p.length_mm() * (1.0 + 1e-9) + rounded || point.is_nan(),
                "a chord longer than its arc: {p:?} from {before:?} to {point:?}"
            );
        }
        let curve = Self { curvature, starts };
        let (from, to) = curve.range_mm();
        let zero = curve.at(0.0_f64.clamp(from, to));
        curve.posed(Pose::bringing(zero.point, zero.angle_rad, Point::ORIGIN))
    }

    /// The curvature it was made from.
    pub fn curvature(&self) -> &Curvature {
        &self.curvature
    }

    /// The same curve, moved.
    #[must_use]
    pub(crate) fn posed(&self, pose: Pose) -> Self {
        let starts = self.starts.iter().map(|&(p, a)| (pose.apply(p), a + pose.turn_rad)).collect();
        Self { curvature: self.curvature.clone(), starts }
    }

    /// Points at steps of at most `step_mm` (positive), including both ends and all piece boundaries; at most [`MOST_PARTS`]
    /// per piece.
    pub fn samples(&self, step_mm: f64) -> Vec<Sample> {
        let breaks = self.breaks_mm();
        let mut out = vec![self.at(breaks[0])];
        for w in breaks.windows(2) {
            let count = (((w[1] - w[0]) / step_mm).ceil().max(1.0) as usize).min(MOST_PARTS);
            out.extend((1..=count).map(|i| self.at(w[0] + (w[1] - w[0]) * i as f64 / count as f64)));
        }
        out
    }
}

fn advance(curvature: &Curvature, index: usize, from: Point, angle: f64, to_mm: f64) -> (Point, f64) {
    let piece = &curvature.pieces()[index];
    let length = to_mm - piece.start_mm;
    let steepest = piece.k_start_per_mm.abs().max(piece.at(to_mm).abs());
    let direction = |s: f64| {
        let (sin, cos) = libm::sincos(angle + piece.turned_to(s));
        [cos, sin]
    };
    let turn = steepest * length.abs();
    if turn <= ANGLE_OF_FIVE_POINTS {
        let [dx, dz] = gauss5(piece.start_mm, to_mm, direction);
        return (from + Vec2::new(dx, dz), angle + piece.turned_to(to_mm));
    }
    let rules = (turn / ANGLE_PER_RULE).ceil().clamp(1.0, 1e6);
    let mut at = from;
    let mut rule = 0.0;
    while rule < rules {
        let (a, b) = (piece.start_mm + length * rule / rules, piece.start_mm + length * (rule + 1.0) / rules);
        let [dx, dz] = gauss10(a, b, direction);
        at += Vec2::new(dx, dz);
        rule += 1.0;
    }
    (at, angle + piece.turned_to(to_mm))
}

impl PlaneCurve for Curve {
    fn range_mm(&self) -> (f64, f64) {
        (self.curvature.start_mm(), self.curvature.end_mm())
    }

    fn at(&self, s_mm: f64) -> Sample {
        let (from, to) = self.range_mm();
        let inside = s_mm.clamp(from, to);
        let index = self.curvature.index_at(inside);
        let (start, angle) = self.starts[index];
        let (point, angle_rad) = advance(&self.curvature, index, start, angle, inside);
        let k_per_mm = self.curvature.at(inside);
        if inside == s_mm {
            return Sample { s_mm, point, angle_rad, k_per_mm };
        }
        // Beyond an end: an arc of the end curvature.
        let beyond = s_mm - inside;
        let turned = k_per_mm * beyond;
        let chord = if turned.abs() < 1e-9 { beyond } else { 2.0 * libm::sin(0.5 * turned) / k_per_mm };
        let step = Vec2::from_angle(angle_rad + 0.5 * turned) * chord;
        Sample { s_mm, point: point + step, angle_rad: angle_rad + turned, k_per_mm }
    }

    fn breaks_mm(&self) -> Vec<f64> {
        let pieces = self.curvature.pieces();
        pieces.iter().map(|p| p.start_mm).chain(std::iter::once(self.curvature.end_mm())).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::close::close_abs;

    #[test]
    fn constant_curvature_is_an_exact_arc() {
        // Closed form: x = sin(k s)/k, z = (1 - cos(k s))/k.
        let k = 1.0 / 400.0;
        let curve = Curve::new(Curvature::constant(-700.0, 700.0, k).unwrap());
        for s in [-700.0, -123.4, 0.0, 55.0, 700.0, 750.0] {
            let at = curve.at(s);
            close_abs(at.point.x, (k * s).sin() / k, 1e-10);
            close_abs(at.point.y, (1.0 - (k * s).cos()) / k, 1e-10);
            close_abs(at.angle_rad, k * s, 1e-14);
        }
    }

    #[test]
    fn linear_curvature_is_a_clothoid() {
        // Fresnel integrals C(1) = 0.7798934, S(1) = 0.4382591: Abramowitz and Stegun, Table 7.7 (argument pi t^2/2).
        let scale = 500.0;
        let k_end_per_mm = std::f64::consts::PI / scale;
        let curve = Curve::new(Curvature::through(&[(0.0, 0.0), (scale, k_end_per_mm)]).unwrap());
        let end = curve.at(scale).point;
        close_abs(end.x / scale, 0.779_893_4, 5e-8);
        close_abs(end.y / scale, 0.438_259_1, 5e-8);
    }

    #[test]
    fn many_pieces_agree_with_one() {
        let whole = Curvature::through(&[(-300.0, -0.001), (500.0, 0.004)]).unwrap();
        let (one, many) = (Curve::new(whole.clone()), Curve::new(whole.refined(1.3)));
        for s in [-300.0, -10.0, 499.0] {
            assert!(one.at(s).point.distance(many.at(s).point) < 1e-9);
        }
    }

    #[test]
    fn samples_share_out_each_piece_in_as_few_steps_as_do() {
        let pieces = Curvature::through(&[(0.0, 1e-3), (100.0, 2e-3), (145.0, 0.0)]).unwrap();
        let curve = Curve::new(pieces);
        let places: Vec<f64> = curve.samples(10.0).iter().map(|s| s.s_mm).collect();
        let expected: Vec<f64> =
            (0..=10).map(|i| f64::from(i) * 10.0).chain((1..=5).map(|i| 100.0 + 9.0 * f64::from(i))).collect();
        assert_eq!(places, expected);
        assert!(curve.samples(10.0).iter().all(|s| s.point == curve.at(s.s_mm).point));
    }
}
