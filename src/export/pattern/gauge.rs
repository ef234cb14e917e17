//! The square and the ruler by which a printed page is checked.

use kurbo::{Point, Rect, Vec2};

use super::canvas::{Canvas, GAUGE, touches};
use crate::drawing::TextAnchor;
use crate::units::MM_PER_INCH;

/// Height of capitals beside square and ruler, mm.
const WORDS_MM: f64 = 2.5;
/// What ruler and words take up beside the ruler's line, mm.
const RULER_STRIP_MM: f64 = 8.0;
/// Places that are tried for the square along each side of the page.
const TRIES: usize = 9;

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
    pub fn square_mm(self) -> f64 {
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

/// Draws the square where it crosses the fewest of `lines` (in page coordinates), and the ruler: along the lower edge
/// where that is long enough, else along the left one, else from corner to corner, else as much of it as fits.
pub(super) fn draw(canvas: &mut Canvas, area: Rect, lines: &[(Point, Point)], ruler: Ruler) {
    canvas.pen(GAUGE);
    let side_mm = ruler.square_mm();
    let corner = quiet_corner(area, lines, side_mm);
    canvas.frame(Rect::from_origin_size(corner, (side_mm, side_mm)));
    let words = corner + Vec2::new(2.0, side_mm - 2.0 - WORDS_MM);
    canvas.words(words, WORDS_MM, TextAnchor::Start, ruler.square_words());
    draw_ruler(canvas, area, ruler);
}

fn quiet_corner(area: Rect, lines: &[(Point, Point)], side_mm: f64) -> Point {
    // Clear of a ruler along the lower or left edge where the page is large enough for that.
    let spare = (area.width().min(area.height()) - side_mm).clamp(0.0, RULER_STRIP_MM);
    let room = Vec2::new(area.width() - side_mm - spare, area.height() - side_mm - spare);
    let mut best = (usize::MAX, area.origin());
    for row in 0..TRIES {
        for column in 0..TRIES {
            let share = |i: usize| i as f64 / (TRIES - 1) as f64;
            let corner = area.origin() + Vec2::new(spare + room.x * share(column), spare + room.y * share(row));
            let around = Rect::from_origin_size(corner, (side_mm, side_mm)).inflate(1.0, 1.0);
            // No more are counted than would make it worse.
            let crossed = lines.iter().filter(|l| touches(around, **l)).take(best.0).count();
            if crossed < best.0 {
                best = (crossed, corner);
            }
            if crossed == 0 {
                return corner;
            }
        }
    }
    best.1
}

fn draw_ruler(canvas: &mut Canvas, area: Rect, ruler: Ruler) {
    let length = ruler.length_mm();
    // Marks stand to the left of the ruler's direction, figures beyond them.
    let (begin, along, steps) = if area.width() >= length + 2.0 {
        (area.origin() + Vec2::new(0.5 * (area.width() - length), 0.5), Vec2::new(1.0, 0.0), ruler.steps())
    } else if area.height() >= length + 2.0 {
        let begin = Point::new(area.x0 + RULER_STRIP_MM, area.y0 + 0.5 * (area.height() - length));
        (begin, Vec2::new(0.0, 1.0), ruler.steps())
    } else {
        let diagonal = Vec2::new(area.width(), area.height());
        // Marks and figures must stay on the page at both ends; twelve inches then just fit on letter paper.
        let usable = diagonal.hypot() - 1.5 * RULER_STRIP_MM;
        let steps = ((usable / ruler.step_mm()) as usize).min(ruler.steps());
        let along = diagonal.normalize();
        (area.center() - along * (0.5 * ruler.step_mm() * steps as f64), along, steps)
    };
    let aside = Vec2::new(-along.y, along.x);
    let at = |step: usize| begin + along * (ruler.step_mm() * step as f64);
    canvas.line(at(0), at(steps));
    for step in 0..=steps {
        let (mark, number) = ruler.mark(step);
        canvas.line(at(step), at(step) + aside * mark);
        if let Some(number) = number {
            canvas.words(at(step) + aside * mark + Vec2::new(0.0, 0.6), 1.8, TextAnchor::Middle, number.to_string());
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_square_avoids_the_drawing() {
        let area = Rect::new(0.0, 0.0, 277.0, 180.0);
        let band: Vec<(Point, Point)> =
            [10.0, 40.0].iter().map(|y| (Point::new(0.0, *y), Point::new(277.0, *y))).collect();
        assert!(quiet_corner(area, &band, 100.0).y > 40.0);
        assert!(quiet_corner(area, &[], 100.0).y < 10.0);
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
