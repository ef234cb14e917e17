//! How a curve stands on the floor.

use kurbo::{Point, Vec2};

use super::plane::{Curve, PlaneCurve};
use super::pose::Pose;

/// A place counts as standing on the floor when it is no higher than this, mm: far below anything a shop can see, far
/// above the rounding of an integrated curve.
const CONTACT_MM: f64 = 1e-9;

/// The curve as it stands on the floor at its anchor: base lying down, lowest point at height 0, s = 0 at x = 0.
///
/// Where nothing lies lower than the anchor when its tangent is level, it stands there. Otherwise (the middle of a
/// camber, or a hump elsewhere that reaches further down) it stands on two places, one to each side of the anchor,
/// which come to the same height: the edge of the curve's lower convex hull that bridges the anchor.
pub fn resting_pose(curve: &Curve, anchor_mm: f64) -> Curve {
    let at = curve.at(anchor_mm);
    let mut posed = curve.posed(Pose::bringing(at.point, at.angle_rad, Point::ORIGIN));
    let (from, to) = posed.range_mm();
    // Each turn brings the two lowest places to one height and so only ever uncovers lower ones: the walk ends at the
    // hull's edge. It converges quadratically, as the places move with the turn but their heights only with its square.
    for _ in 0..100 {
        let (left, right) = (lowest_between(&posed, from, anchor_mm), lowest_between(&posed, anchor_mm, to));
        let (a, b) = (posed.at(left).point, posed.at(right).point);
        let anchor_height = posed.at(anchor_mm).point.y;
        if (a.y - b.y).abs() <= CONTACT_MM && (b.x - a.x > CONTACT_MM || anchor_height - a.y.min(b.y) <= CONTACT_MM) {
            break;
        }
        posed = posed.posed(Pose::bringing(a, (b - a).atan2(), Point::ORIGIN));
    }
    let lowest = posed.at(lowest_point(&posed)).point.y;
    let x0 = posed.at(0.0_f64.clamp(from, to)).point.x;
    posed.posed(Pose { turn_rad: 0.0, shift: Vec2::new(-x0, -lowest) })
}

/// Parameter of the lowest point of a posed curve, mm; the first of several at the same height.
pub(crate) fn lowest_point(curve: &Curve) -> f64 {
    let (from, to) = curve.range_mm();
    lowest_between(curve, from, to)
}

/// Parameter of the lowest point between two parameters, mm; the first of several at the same height.
///
/// Exact: the lowest place is one of the two ends or has a level tangent, and over a piece of linear curvature the
/// direction is a quadratic in arc length.
pub(crate) fn lowest_between(curve: &Curve, from_mm: f64, to_mm: f64) -> f64 {
    let mut best = (from_mm, curve.at(from_mm).point.y);
    let mut offer = |s: f64| {
        let height = curve.at(s).point.y;
        if height < best.1 {
            best = (s, height);
        }
    };
    for p in curve.curvature().pieces() {
        if p.end_mm <= from_mm || p.start_mm >= to_mm {
            continue;
        }
        let angle = curve.at(p.start_mm).angle_rad;
        let slope = (p.k_end_per_mm - p.k_start_per_mm) / p.length_mm();
        for u in quadratic_roots(0.5 * slope, p.k_start_per_mm, angle).into_iter().flatten() {
            let s = p.start_mm + u;
            if s > p.start_mm.max(from_mm) && s < p.end_mm.min(to_mm) {
                offer(s);
            }
        }
        offer(p.end_mm.min(to_mm));
    }
    best.0
}

/// Real roots of a u² + b u + c, without the loss of digits of the school formula.
fn quadratic_roots(a: f64, b: f64, c: f64) -> [Option<f64>; 2] {
    let q = b * b - 4.0 * a * c;
    if q < 0.0 {
        return [None, None];
    }
    let t = -0.5 * (b + q.sqrt().copysign(b));
    let root = |above: f64, below: f64| (below != 0.0).then(|| above / below);
    [root(c, t), root(t, a)]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::curve::{Curvature, Piece};

    #[test]
    fn a_rocker_stands_on_its_anchor() {
        let curve = Curve::new(Curvature::constant(-500.0, 500.0, 0.001).unwrap());
        let posed = resting_pose(&curve, 0.0);
        assert!((posed.at(500.0).point.y - 1000.0 * (1.0 - 0.5_f64.cos())).abs() < 1e-6);
        assert!(posed.at(0.0).point.y.abs() < 1e-9);
    }

    #[test]
    fn a_lopsided_camber_stands_on_two_points_of_one_height() {
        let p = |start_mm, end_mm, k| Piece { start_mm, end_mm, k_start_per_mm: k, k_end_per_mm: k };
        let curvature =
            Curvature::new(vec![p(-500.0, -300.0, 0.003), p(-300.0, 350.0, -0.0001), p(350.0, 500.0, 0.002)]).unwrap();
        let posed = resting_pose(&Curve::new(curvature), 0.0);
        let left = posed.at(lowest_between(&posed, -500.0, 0.0)).point.y;
        let right = posed.at(lowest_between(&posed, 0.0, 500.0)).point.y;
        assert!(left.abs() < 1e-6 && right.abs() < 1e-6, "{left} {right}");
        assert!(posed.at(0.0).point.y > 4.0);
    }
}
