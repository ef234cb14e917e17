//! Rigid motions of the plane.

use kurbo::{Point, Vec2};

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
    pub(crate) fn bringing(point: Point, angle_rad: f64, to: Point) -> Self {
        let turned = Vec2::from_angle(-angle_rad);
        let p = point.to_vec2();
        let moved = Vec2::new(p.x * turned.x - p.y * turned.y, p.x * turned.y + p.y * turned.x);
        Self { turn_rad: -angle_rad, shift: to.to_vec2() - moved }
    }

    /// The moved point.
    pub(crate) fn apply(&self, point: Point) -> Point {
        let t = Vec2::from_angle(self.turn_rad);
        Point::new(point.x * t.x - point.y * t.y, point.x * t.y + point.y * t.x) + self.shift
    }
}
