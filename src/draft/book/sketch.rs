//! What sketches share: dimension lines with their words, and outlines cut down to a window.

use kurbo::{Point, Rect, Vec2};

use crate::draft::plot::text;
use crate::drawing::{Ink, LabelStyle, Picture, TextAnchor};

/// A dimension line with a short stroke at each end.
pub(super) fn dimension(picture: &mut Picture, a: Point, b: Point) {
    picture.line(Ink::Dimension, [a, b]);
    let along = (b - a).normalize();
    if along.x.is_finite() {
        let side = Vec2::new(-along.y, along.x) * 4.0;
        for end in [a, b] {
            picture.line(Ink::Dimension, [end - side, end + side]);
        }
    }
}

/// A level dimension at `y` with its words above it, kept inside of the picture.
pub(super) fn level(picture: &mut Picture, (from, to): (f64, f64), y: f64, words: &str) {
    dimension(picture, Point::new(from, y), Point::new(to, y));
    label_above(picture, Point::new(0.5 * (from + to), y + 5.0), words);
}

/// Words about a place, moved sideways where they would leave the picture.
pub(super) fn label_above(picture: &mut Picture, at: Point, words: &str) {
    let half = 0.5 * text::width(words) + 1.0;
    let x = at.x.clamp(half.min(0.5 * picture.width), (picture.width - half).max(0.5 * picture.width));
    picture.label(Point::new(x, at.y), TextAnchor::Middle, LabelStyle::Plain, words);
}

/// An upright dimension at `x` with its words to the right of it.
pub(super) fn upright(picture: &mut Picture, x: f64, (from, to): (f64, f64), words: &str) {
    dimension(picture, Point::new(x, from), Point::new(x, to));
    let at = Point::new(x + 7.0, 0.5 * (from + to) - 4.0);
    picture.label(at, TextAnchor::Start, LabelStyle::Plain, words);
}

/// The part of a closed outline inside of a window (Sutherland and Hodgman, Communications of the ACM 17 (1974) 32, from
/// memory): cut at one side after the other.
pub(super) fn clipped(points: &[Point], window: Rect) -> Vec<Point> {
    let sides: [fn(Point, Rect) -> f64; 4] =
        [|p, w| p.x - w.x0, |p, w| w.x1 - p.x, |p, w| p.y - w.y0, |p, w| w.y1 - p.y];
    let mut kept = points.to_vec();
    for inside in sides {
        let mut next = Vec::with_capacity(kept.len() + 2);
        for (i, b) in kept.iter().enumerate() {
            let a = kept[(i + kept.len() - 1) % kept.len()];
            let (da, db) = (inside(a, window), inside(*b, window));
            if (da < 0.0) != (db < 0.0) {
                next.push(a.lerp(*b, da / (da - db)));
            }
            if db >= 0.0 {
                next.push(*b);
            }
        }
        kept = next;
    }
    kept
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_outline_is_cut_at_its_window() {
        let square = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)].map(Point::from);
        let area = |points: &[Point]| {
            let pairs = points.iter().zip(points.iter().cycle().skip(1));
            pairs.map(|(a, b)| 0.5 * a.to_vec2().cross(b.to_vec2())).sum::<f64>()
        };
        assert_eq!(area(&clipped(&square, Rect::new(2.0, 3.0, 7.0, 20.0))), 35.0);
        assert_eq!(area(&clipped(&square, Rect::new(-1.0, -1.0, 11.0, 11.0))), 100.0);
        assert!(clipped(&square, Rect::new(20.0, 0.0, 30.0, 10.0)).is_empty());
    }
}
