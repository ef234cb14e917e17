//! The square and the ruler by which a printed page is checked.

use kurbo::{Point, Rect, Vec2};

use super::canvas::{Canvas, GAUGE};
use crate::drawing::{TextAnchor, touches};
use crate::units::MM_PER_INCH;

/// Height of capitals beside square and ruler, mm.
const WORDS_MM: f64 = 2.5;
/// What ruler and words take up beside the ruler's line, mm.
const RULER_STRIP_MM: f64 = 8.0;
/// Places that are tried for the square along each side of the page.
const TRIES: usize = 13;

/// Which marks the ruler carries.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ruler {
    /// 300 mm with a mark every 5 mm.
    Millimetres,
    /// 12 inches with a mark every quarter.
    Inches,
}

impl Ruler {
    fn step_mm(self) -> f64 {
        match self {
            Self::Millimetres => 5.0,
            Self::Inches => 6.35,
        }
    }

    /// Steps of the whole ruler.
    fn steps(self) -> usize {
        match self {
            Self::Millimetres => 60,
            Self::Inches => 48,
        }
    }

    /// Side of the check square, mm: 100 mm or 4 inches.
    pub(crate) fn square_mm(self) -> f64 {
        match self {
            Self::Millimetres => 100.0,
            Self::Inches => 4.0 * MM_PER_INCH,
        }
    }

    fn square_words(self) -> &'static str {
        match self {
            Self::Millimetres => "check square: 100 mm x 100 mm",
            Self::Inches => "check square: 4 in x 4 in",
        }
    }

    fn length_mm(self) -> f64 {
        self.step_mm() * self.steps() as f64
    }

    /// Length of the mark at a step, mm, and its number if it carries one.
    fn mark(self, step: usize) -> (f64, Option<usize>) {
        match self {
            Self::Millimetres if step.is_multiple_of(10) => (4.0, Some(step * 5)),
            Self::Millimetres if step.is_multiple_of(2) => (2.5, None),
            Self::Millimetres => (1.5, None),
            Self::Inches if step.is_multiple_of(4) => (4.0, Some(step / 4)),
            Self::Inches if step.is_multiple_of(2) => (2.5, None),
            Self::Inches => (1.5, None),
        }
    }
}

/// Where square and ruler stand on a page.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Gauge {
    square: Option<Rect>,
    ruler: Option<Line>,
    marks: Ruler,
}

/// A ruler on a page: its marks stand to the left of its direction, numbers beyond them.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Line {
    begin: Point,
    along: Vec2,
    steps: usize,
}

impl Line {
    fn at(&self, ruler: Ruler, step: usize) -> Point {
        self.begin + self.along * (ruler.step_mm() * step as f64)
    }

    fn aside(&self) -> Vec2 {
        Vec2::new(-self.along.y, self.along.x)
    }

    /// Rectangles that hold the line, its marks and its numbers.
    fn boxes(&self, ruler: Ruler) -> impl Iterator<Item = Rect> + '_ {
        let size = Vec2::splat(0.5 * ruler.step_mm());
        (0..=self.steps).map(move |i| {
            let at = self.at(ruler, i);
            Rect::from_points(at, at + self.aside() * (RULER_STRIP_MM - 1.0)).inflate(size.x, size.y)
        })
    }
}

impl Gauge {
    /// Finds places for square and ruler that keep clear of `lines` (in page coordinates) and of each other; what has no
    /// such place is left out. On an empty page both have one, if it is as large as A4 or letter.
    pub(super) fn on(area: Rect, lines: &[(Point, Point)], marks: Ruler) -> Self {
        let clear = |boxes: &[Rect]| lines.iter().all(|l| boxes.iter().all(|b| !touches(*b, *l)));
        for line in rulers(area, marks) {
            let boxes: Vec<Rect> = line.boxes(marks).collect();
            if !clear(&boxes) {
                continue;
            }
            let square = quiet_corner(area, lines, &boxes, marks.square_mm());
            if square.is_some() {
                return Self { square, ruler: Some(line), marks };
            }
        }
        Self { square: quiet_corner(area, lines, &[], marks.square_mm()), ruler: None, marks }
    }

    pub(super) fn draw(&self, canvas: &mut Canvas) {
        canvas.pen(GAUGE);
        if let Some(square) = self.square {
            canvas.frame(square);
            let words = square.origin() + Vec2::new(2.0, square.height() - 2.0 - WORDS_MM);
            canvas.words(words, WORDS_MM, TextAnchor::Start, self.marks.square_words());
        }
        let Some(line) = self.ruler else { return };
        canvas.line(line.begin, line.at(self.marks, line.steps));
        for step in 0..=line.steps {
            let (mark, number) = self.marks.mark(step);
            let (at, aside) = (line.at(self.marks, step), line.aside());
            canvas.line(at, at + aside * mark);
            if let Some(number) = number {
                canvas.words(at + aside * mark + Vec2::new(0.0, 0.6), 1.8, TextAnchor::Middle, number.to_string());
            }
        }
    }
}

/// Where a square of this side stands that no line and no box reaches.
fn quiet_corner(area: Rect, lines: &[(Point, Point)], boxes: &[Rect], side_mm: f64) -> Option<Rect> {
    let room = area.size().to_vec2() - Vec2::splat(side_mm);
    let share = |i: usize| i as f64 / (TRIES - 1) as f64;
    let corners = (0..TRIES * TRIES).map(|i| Vec2::new(room.x * share(i % TRIES), room.y * share(i / TRIES)));
    let squares = corners.map(|c| Rect::from_origin_size(area.origin() + c, (side_mm, side_mm)));
    let free = |square: &Rect| {
        let around = square.inflate(1.0, 1.0);
        boxes.iter().all(|b| b.intersect(around).is_zero_area()) && lines.iter().all(|l| !touches(around, *l))
    };
    squares.into_iter().find(free)
}

/// Places of a ruler: along the lower edge where that is long enough, else along the left one, else from corner to
/// corner, as much of it as fits.
fn rulers(area: Rect, ruler: Ruler) -> Vec<Line> {
    let (length, steps) = (ruler.length_mm(), ruler.steps());
    let (right, up) = (Vec2::new(1.0, 0.0), Vec2::new(0.0, 1.0));
    let mut places = Vec::new();
    if area.width() >= length + 2.0 {
        let x = area.x0 + 0.5 * (area.width() - length);
        places.extend([area.y0 + 0.5, area.y1 - RULER_STRIP_MM].map(|y| Line {
            begin: Point::new(x, y),
            along: right,
            steps,
        }));
    }
    if area.height() >= length + 2.0 {
        let y = area.y0 + 0.5 * (area.height() - length);
        places.extend([area.x0 + RULER_STRIP_MM, area.x1 - 0.5].map(|x| Line {
            begin: Point::new(x, y),
            along: up,
            steps,
        }));
    }
    if places.is_empty() {
        // Marks and numbers must stay on the page at both ends; twelve inches then just fit on letter paper.
        let diagonal = Vec2::new(area.width(), area.height());
        let usable = diagonal.hypot() - 1.5 * RULER_STRIP_MM;
        let steps = ((usable / ruler.step_mm()) as usize).min(steps);
        let along = diagonal.normalize();
        let begin = area.center() - along * (0.5 * ruler.step_mm() * steps as f64);
        places.push(Line { begin, along, steps });
    }
    places
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn square_and_ruler_stand_clear_of_the_drawing_or_are_left_out() {
        let area = Rect::new(0.0, 0.0, 277.0, 180.0);
        let band = |ys: &[f64]| -> Vec<(Point, Point)> {
            ys.iter().map(|y| (Point::new(0.0, *y), Point::new(277.0, *y))).collect()
        };
        let gauge = Gauge::on(area, &band(&[10.0, 40.0]), Ruler::Millimetres);
        assert!(gauge.square.unwrap().y0 > 41.0 && gauge.ruler.is_none(), "{gauge:?}");
        let full = Gauge::on(area, &band(&[10.0, 60.0, 120.0, 170.0]), Ruler::Millimetres);
        assert_eq!((full.square, full.ruler), (None, None));
    }

    #[test]
    fn an_empty_page_carries_both_clear_of_each_other() {
        for (wide, high) in [(190.0, 268.0), (277.0, 181.0), (195.9, 250.4), (259.4, 186.9), (574.0, 812.0)] {
            for marks in [Ruler::Millimetres, Ruler::Inches] {
                let area = Rect::new(0.0, 0.0, wide, high);
                let gauge = Gauge::on(area, &[], marks);
                let (square, ruler) = (gauge.square.unwrap(), gauge.ruler.unwrap_or_else(|| panic!("{wide} x {high}")));
                let (from, to) = (ruler.begin, ruler.at(marks, ruler.steps));
                assert!(!touches(square.inflate(1.0, 1.0), (from, to)), "{wide} x {high}: {gauge:?}");
                let beyond = ruler.aside() * 6.0;
                assert!(!touches(square, (from + beyond, to + beyond)), "{wide} x {high}: {gauge:?}");
            }
        }
    }

    #[test]
    fn rulers_are_as_long_as_they_say() {
        assert!((Ruler::Millimetres.length_mm() - 300.0).abs() < 1e-12);
        assert!((Ruler::Inches.length_mm() - 304.8).abs() < 1e-9);
        assert!((Ruler::Inches.square_mm() - 101.6).abs() < 1e-12);
        assert_eq!(Ruler::Inches.mark(48), (4.0, Some(12)));
        assert_eq!(Ruler::Millimetres.mark(60), (4.0, Some(300)));
    }
}
