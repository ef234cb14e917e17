//! Diagrams for a file of their own: lines over axes, with round figures along the sides.

use kurbo::{Point, Rect};

use crate::drawing::{Contour, Operation, Part, Shape, Text, TextAnchor, Vertex};
use crate::units::plain;

/// Size of a diagram's frame, mm, and the space between two of them.
const FRAME_MM: (f64, f64) = (240.0, 70.0);
const BETWEEN_MM: f64 = 24.0;
/// Height of capitals, mm.
const LETTERS_MM: f64 = 2.8;
/// Space for names of lines at the right of the frames, mm.
const NAMES_MM: f64 = 60.0;

/// A line of a diagram.
pub(super) struct Line {
    /// What it is; stands at its right end. Empty for none.
    pub(super) name: String,
    /// Its points.
    pub(super) points: Vec<(f64, f64)>,
}

impl Line {
    /// A line without a name.
    pub(super) fn plain(points: Vec<(f64, f64)>) -> Self {
        Self { name: String::new(), points }
    }
}

/// What a diagram shows.
pub(super) struct Diagram {
    /// Its id in the file.
    pub(super) id: &'static str,
    /// What is measured upwards, with its unit.
    pub(super) title: String,
    /// What is measured to the right, with its unit.
    pub(super) along: String,
    /// Whether 0 is always on the axis that points upwards.
    pub(super) from_zero: bool,
    /// Its lines.
    pub(super) lines: Vec<Line>,
    /// Single points.
    pub(super) dots: Vec<(f64, f64)>,
}

/// A page of diagrams, the first on top.
pub(super) fn page(title: &str, diagrams: &[Diagram]) -> Vec<Part> {
    // Texts do not count for the size of a page; a frame round everything does.
    let mut page = Part::new("page", title);
    let named = diagrams.iter().any(|d| d.lines.iter().any(|l| !l.name.is_empty()));
    let right = FRAME_MM.0 + if named { NAMES_MM } else { 10.0 };
    let step = FRAME_MM.1 + BETWEEN_MM;
    let frame = Rect::new(-22.0, -20.0, right, step * diagrams.len() as f64 - BETWEEN_MM + 12.0);
    let corners = [(frame.x0, frame.y0), (frame.x1, frame.y0), (frame.x1, frame.y1), (frame.x0, frame.y1)];
    if let Ok(outline) = Contour::polygon(corners.map(Point::from)) {
        page.add(Operation::Note, Shape::Contour(outline));
    }
    let mut parts = vec![page];
    for (below, diagram) in diagrams.iter().rev().enumerate() {
        parts.insert(1, diagram.part(step * below as f64));
    }
    parts
}

impl Diagram {
    /// The diagram with its frame's foot at `y0`.
    fn part(&self, y0: f64) -> Part {
        let (lines, dots) = (&self.lines, &self.dots);
        let mut part = Part::new(self.id, self.title.clone());
        let all = || lines.iter().flat_map(|l| &l.points).chain(dots);
        let range = |values: &mut dyn Iterator<Item = f64>| {
            let (a, b) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(v), b.max(v)));
            if b - a < 1e-9 { (a, a + 1.0) } else { (a, b) }
        };
        let across = range(&mut all().map(|p| p.0));
        let up = range(&mut all().map(|p| p.1).chain(self.from_zero.then_some(0.0)));
        let place = |(s, v): (f64, f64)| {
            let share = |v: f64, (a, b): (f64, f64)| (v - a) / (b - a);
            Point::new(FRAME_MM.0 * share(s, across), y0 + FRAME_MM.1 * share(v, up))
        };
        let mut stroke = |operation: Operation, mut points: Vec<Point>| {
            points.dedup();
            if let Ok(path) = Contour::open(points.into_iter().map(Vertex::line).collect()) {
                part.add(operation, Shape::Contour(path));
            }
        };
        for v in round_figures(up) {
            stroke(Operation::Note, vec![place((across.0, v)), place((across.1, v))]);
        }
        for s in round_figures(across) {
            let foot = place((s, up.0));
            stroke(Operation::Note, vec![foot, Point::new(foot.x, foot.y - 1.5)]);
        }
        for line in lines {
            stroke(Operation::Mark, line.points.iter().map(|&p| place(p)).collect());
        }
        for &dot in dots {
            part.add(Operation::Mark, Shape::Circle { center: place(dot), radius_mm: 0.8 });
        }
        let mut write = |at: Point, anchor: TextAnchor, content: String| {
            part.add(Operation::Note, Shape::Text(Text { at, height_mm: LETTERS_MM, angle_rad: 0.0, anchor, content }));
        };
        for v in round_figures(up) {
            let at = place((across.0, v));
            write(Point::new(-2.0, at.y - 0.5 * LETTERS_MM), TextAnchor::End, plain(v, 6));
        }
        for s in round_figures(across) {
            let at = place((s, up.0));
            write(Point::new(at.x, at.y - 2.0 - 1.5 * LETTERS_MM), TextAnchor::Middle, plain(s, 6));
        }
        write(Point::new(-16.0, y0 + FRAME_MM.1 + 4.0), TextAnchor::Start, self.title.clone());
        let below = Point::new(0.5 * FRAME_MM.0, y0 - 4.0 - 3.0 * LETTERS_MM);
        write(below, TextAnchor::Middle, self.along.clone());
        for (at, name) in names(lines, place) {
            write(Point::new(at.x + 2.0, at.y - 0.5 * LETTERS_MM), TextAnchor::Start, name);
        }
        part
    }
}

/// Names of lines at their right ends; one that would cover a name below it is left out.
fn names(lines: &[Line], place: impl Fn((f64, f64)) -> Point) -> Vec<(Point, String)> {
    let end = |l: &Line| Some((place(*l.points.last()?), l.name.clone())).filter(|e| !e.1.is_empty());
    let mut ends: Vec<(Point, String)> = lines.iter().filter_map(end).collect();
    ends.sort_by(|a, b| a.0.y.total_cmp(&b.0.y));
    let mut free_from = f64::NEG_INFINITY;
    ends.retain(|(at, _)| {
        let free = at.y >= free_from;
        if free {
            free_from = at.y + 1.4 * LETTERS_MM;
        }
        free
    });
    ends
}

/// Four to ten round figures in a range: multiples of 1, 2 or 5 times a power of ten.
fn round_figures((from, to): (f64, f64)) -> Vec<f64> {
    let rough = (to - from) / 8.0;
    let power = libm::pow(10.0, libm::log10(rough).floor());
    let step = [1.0, 2.0, 5.0, 10.0].into_iter().map(|m| m * power).find(|s| *s >= rough).unwrap_or(rough);
    let mut figures = Vec::new();
    let mut i = (from / step).ceil();
    while i * step <= to + 1e-9 * step {
        figures.push(i * step);
        i += 1.0;
    }
    figures
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_along_a_side_are_round_and_cover_it() {
        assert_eq!(round_figures((0.0, 47.3)), [0.0, 10.0, 20.0, 30.0, 40.0]);
        assert_eq!(round_figures((-670.0, 670.0)), [-600.0, -400.0, -200.0, 0.0, 200.0, 400.0, 600.0]);
    }
}
