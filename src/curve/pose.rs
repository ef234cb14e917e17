//! How a curve stands on the floor.

use kurbo::{Point, Vec2};

use super::{Curve, PlaneCurve};

/// A rigid motion of the plane: turn about the origin, then shift.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pose {
    /// Turn, rad, counter-clockwise.
    pub turn_rad: f64,
    /// Shift after the turn, mm.
    pub shift: Vec2,
}

impl Pose {
    /// The motion that brings `point` with direction `angle_rad` to `to`, pointing along x.
    pub fn bringing(point: Point, angle_rad: f64, to: Point) -> Self {
        let turned = Vec2::from_angle(-angle_rad);
        let p = point.to_vec2();
        let moved = Vec2::new(p.x * turned.x - p.y * turned.y, p.x * turned.y + p.y * turned.x);
        Self { turn_rad: -angle_rad, shift: to.to_vec2() - moved }
    }

    /// The moved point.
    pub fn apply(&self, point: Point) -> Point {
        let t = Vec2::from_angle(self.turn_rad);
        Point::new(point.x * t.x - point.y * t.y, point.x * t.y + point.y * t.x) + self.shift
    }
}

/// Step at which the resting place is searched, mm: a board's floor contact is not known better than this.
const SEARCH_STEP_MM: f64 = 1.0;

/// The curve as it stands on the floor at its anchor: base lying down, lowest point at height 0, s = 0 at x = 0.
///
/// Where the curve at `anchor_mm` is the lowest around, its tangent there becomes level. Where it hangs free (the
/// middle of a camber), the two places that carry it there, one to each side, come to the same height.
pub fn resting_pose(curve: &Curve, anchor_mm: f64) -> Curve {
    let level = |c: &Curve, s: f64| {
        let at = c.at(s);
        c.posed(Pose::bringing(at.point, at.angle_rad, Point::ORIGIN))
    };
    let mut posed = level(curve, anchor_mm);
    if posed.at(anchor_mm).k_per_mm < 0.0 {
        // Walk to the two supports: the lowest places to each side of the anchor, refined until the chord is level.
        for _ in 0..50 {
            let left = lowest_between(&posed, posed.range_mm().0, anchor_mm);
            let right = lowest_between(&posed, anchor_mm, posed.range_mm().1);
            let (a, b) = (posed.at(left).point, posed.at(right).point);
            let tilt = (b - a).atan2();
            posed = posed.posed(Pose::bringing(a, tilt, Point::ORIGIN));
            if tilt.abs() < 1e-12 {
                break;
            }
        }
    }
    let lowest = posed.at(lowest_point(&posed)).point.y;
    let (from, to) = posed.range_mm();
    let x0 = posed.at(0.0_f64.clamp(from, to)).point.x;
    posed.posed(Pose { turn_rad: 0.0, shift: Vec2::new(-x0, -lowest) })
}

/// Parameter of the lowest point of a posed curve, mm.
pub fn lowest_point(curve: &Curve) -> f64 {
    let (from, to) = curve.range_mm();
    lowest_between(curve, from, to)
}

fn lowest_between(curve: &Curve, from: f64, to: f64) -> f64 {
    let count = ((to - from) / SEARCH_STEP_MM).ceil().max(2.0) as usize;
    let place = |i: usize| from + (to - from) * i as f64 / count as f64;
    let height = |s: f64| curve.at(s).point.y;
    let best = (0..=count).map(place).min_by(|a, b| height(*a).total_cmp(&height(*b))).unwrap_or(from);
    // Golden-section search around the best step.
    let step = (to - from) / count as f64;
    let (mut a, mut b) = ((best - step).max(from), (best + step).min(to));
    const GOLDEN: f64 = 0.618_033_988_749_894_9;
    for _ in 0..60 {
        let (c, d) = (b - GOLDEN * (b - a), a + GOLDEN * (b - a));
        if height(c) <= height(d) { b = d } else { a = c }
    }
    0.5 * (a + b)
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
        let p = |start_mm, end_mm, k| Piece { start_mm, end_mm, k_start: k, k_end: k };
        let curvature =
            Curvature::new(vec![p(-500.0, -300.0, 0.003), p(-300.0, 350.0, -0.0001), p(350.0, 500.0, 0.002)]).unwrap();
        let posed = resting_pose(&Curve::new(curvature), 0.0);
        let left = posed.at(lowest_between(&posed, -500.0, 0.0)).point.y;
        let right = posed.at(lowest_between(&posed, 0.0, 500.0)).point.y;
        assert!(left.abs() < 1e-6 && right.abs() < 1e-6, "{left} {right}");
        assert!(posed.at(0.0).point.y > 4.0);
    }
}
