//! Where a part stands.

use kurbo::{Point, Vec2};

/// Where a part stands in a drawing: mirrored about the y axis if so said, then turned, then shifted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Placement {
    /// Whether x is mirrored first.
    pub mirrored: bool,
    /// Turn about the origin, rad.
    pub turn_rad: f64,
    /// Shift after the turn, mm.
    pub shift: Vec2,
}

impl Placement {
    /// A shift without turn.
    pub fn shift(x_mm: f64, y_mm: f64) -> Self {
        Self { mirrored: false, turn_rad: 0.0, shift: Vec2::new(x_mm, y_mm) }
    }

    /// The moved point.
    pub(crate) fn apply(&self, p: Point) -> Point {
        let x = if self.mirrored { -p.x } else { p.x };
        if self.turn_rad == 0.0 {
            return Point::new(x, p.y) + self.shift;
        }
        let t = Vec2::from_angle(self.turn_rad);
        Point::new(x * t.x - p.y * t.y, x * t.y + p.y * t.x) + self.shift
    }
}
