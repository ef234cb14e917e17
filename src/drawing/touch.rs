//! Where points and lines lie beside rectangles and closed polygons.

use kurbo::{Line, ParamCurveNearest, Point, Rect};

/// The sides of a closed polygon.
pub(crate) fn sides(ring: &[Point]) -> impl Iterator<Item = Line> + '_ {
    ring.iter().zip(ring.iter().cycle().skip(1)).map(|(a, b)| Line::new(*a, *b))
}

/// Whether a point lies inside an odd number of closed polygons (crossings of a ray).
pub(crate) fn is_inside(p: Point, sides: impl Iterator<Item = Line>) -> bool {
    let crossed = sides.filter(|Line { p0: a, p1: b }| {
        (a.y > p.y) != (b.y > p.y) && p.x < a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x)
    });
    crossed.count() % 2 == 1
}

/// Distance of a point from the nearest of the lines, mm.
pub(crate) fn distance_mm(p: Point, lines: impl Iterator<Item = Line>) -> f64 {
    lines.map(|l| l.nearest(p, 1e-9).distance_sq).fold(f64::INFINITY, f64::min).sqrt()
}

/// Whether a segment intersects a rectangle (Liang and Barsky, 1984).
pub(crate) fn touches(window: Rect, (a, b): (Point, Point)) -> bool {
    // Most segments are far away.
    if a.x.min(b.x) > window.x1 || a.x.max(b.x) < window.x0 || a.y.min(b.y) > window.y1 || a.y.max(b.y) < window.y0 {
        return false;
    }
    let d = b - a;
    let (mut enter, mut leave) = (0.0_f64, 1.0_f64);
    for (step, room) in
        [(-d.x, a.x - window.x0), (d.x, window.x1 - a.x), (-d.y, a.y - window.y0), (d.y, window.y1 - a.y)]
    {
        if step == 0.0 {
            if room < 0.0 {
                return false;
            }
        } else if step < 0.0 {
            enter = enter.max(room / step);
        } else {
            leave = leave.min(room / step);
        }
    }
    enter <= leave
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_touches_a_window_it_crosses_without_ending_there() {
        let window = Rect::new(0.0, 0.0, 10.0, 10.0);
        let at = |x: f64, y: f64| Point::new(x, y);
        assert!(touches(window, (at(-5.0, 5.0), at(15.0, 6.0))));
        assert!(touches(window, (at(4.0, 4.0), at(4.0, 4.0))));
        assert!(!touches(window, (at(-5.0, 9.0), at(1.0, 16.0))));
        assert!(!touches(window, (at(-5.0, 11.0), at(15.0, 11.0))));
    }
}
