//! Intersection of lines and rectangles.

use kurbo::{Point, Rect};

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
