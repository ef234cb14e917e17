//! Curves over axes, as pictures.
//!
//! A module of our own because the pictures' colours must follow the page (light, dark, paper) and their text must stay
//! as large on a phone as on paper: charting crates write fixed colours and sizes, and the lightest well-kept one
//! (plotters) brings a drawing backend of its own for what is two hundred lines here.

pub(super) mod bars;
pub(super) mod text;
mod ticks;

use kurbo::Point;

use crate::drawing::{Ink, LabelStyle, Picture, TextAnchor};

pub(super) use ticks::Count;

/// An axis.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Axis {
    /// What it measures, with its unit.
    pub(super) label: String,
    /// First and last value that must be on it.
    pub(super) range: (f64, f64),
    /// How it counts.
    pub(super) count: Count,
}

/// A line over the axes.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Series {
    /// What it is; stands in the key. Empty for none.
    pub(super) name: String,
    /// How it is drawn.
    pub(super) ink: Ink,
    /// Its points.
    pub(super) points: Vec<(f64, f64)>,
}

/// What is drawn.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Chart {
    /// To the right.
    pub(super) x: Axis,
    /// Up.
    pub(super) y: Axis,
    /// Lines, the hindmost first.
    pub(super) series: Vec<Series>,
    /// Upright lines at places along x with a word at their head.
    pub(super) places: Vec<(f64, String)>,
    /// Upright bars at a place along x, from one value to another.
    pub(super) bands: Vec<(f64, f64, f64)>,
}

/// How high the field of the chart is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Height {
    /// This many page pixels.
    Fixed(f64),
    /// To the scale of x, exaggerated by a round number; no more than this many page pixels.
    ToScale(f64),
}

/// Exaggerations that can be pictured.
const EXAGGERATIONS: [f64; 9] = [1.0, 2.0, 3.0, 4.0, 5.0, 8.0, 10.0, 15.0, 20.0];
/// Least width for a tick's figure, page pixels.
const TICK_ROOM: f64 = 58.0;
/// Space at the right of the field, page pixels.
const RIGHT: f64 = 14.0;
/// Width of the lines in the key, page pixels.
const KEY_LINE: f64 = 22.0;

impl Chart {
    /// The picture at a width in page pixels, and by how much heights are exaggerated (1 where that has no meaning).
    // Long, because it draws one picture from back to front.
    pub(super) fn draw(&self, width: f64, height: Height) -> (Picture, f64) {
        let (x0, x1) = widened(self.x.range);
        let (y0, y1) = widened(self.y.range);
        // Widths depend on the ticks and the ticks on the height; both in one pass over a first guess.
        let guess = ticks::ticks(y0, y1, 5, self.y.count);
        let widest = guess.iter().map(|t| text::width(&t.1)).fold(0.0, f64::max);
        let left = (widest + 14.0).max(34.0);
        let field = width - left - RIGHT;
        let (high, exaggeration) = match height {
            Height::Fixed(high) => (high, 1.0),
            Height::ToScale(most) => {
                let natural = (y1 - y0) * field / (x1 - x0);
                let fits = EXAGGERATIONS.iter().rev().find(|e| *e * natural <= most);
                let exaggeration = fits.copied().unwrap_or(1.0);
                (exaggeration * natural, exaggeration)
            }
        };
        let key = self.key(width - 2.0);
        let rows = key.iter().map(|k| k.0 + 1).max().unwrap_or(0);
        let head = if self.places.is_empty() { 8.0 } else { text::LINE + 6.0 };
        let below = 2.0 * text::LINE + 12.0;
        let above = rows as f64 * (text::LINE + 2.0) + text::LINE + 6.0 + head;
        let mut picture = Picture::new(width, (below + high + above).ceil());
        let at = |x: f64, y: f64| Point::new(left + (x - x0) / (x1 - x0) * field, below + (y - y0) / (y1 - y0) * high);

        let most_y = ((high / 26.0) as usize).clamp(2, 6);
        for (value, words) in ticks::ticks(y0, y1, most_y, self.y.count) {
            let (a, b) = (at(x0, value), at(x1, value));
            picture.line(Ink::Grid, [a, b]);
            picture.label(Point::new(a.x - 6.0, a.y - 4.0), TextAnchor::End, LabelStyle::Quiet, words);
        }
        let most_x = ((field / TICK_ROOM) as usize).clamp(3, 9);
        for (value, words) in ticks::ticks(x0, x1, most_x, self.x.count) {
            let foot = at(value, y0);
            picture.line(Ink::Axis, [foot, Point::new(foot.x, foot.y - 4.0)]);
            picture.label(Point::new(foot.x, foot.y - 16.0), TextAnchor::Middle, LabelStyle::Quiet, words);
        }
        picture.line(Ink::Axis, [at(x0, y0), at(x1, y0)]);
        picture.label(Point::new(left + 0.5 * field, 5.0), TextAnchor::Middle, LabelStyle::Plain, self.x.label.clone());
        let top = below + high + head;
        picture.label(Point::new(2.0, top + 6.0), TextAnchor::Start, LabelStyle::Plain, self.y.label.clone());

        let heads: Vec<f64> = self.places.iter().map(|p| at(p.0, y0).x).collect();
        for ((_, words), x) in self.places.iter().zip(&heads) {
            picture.line(Ink::Place, [Point::new(*x, below), Point::new(*x, below + high + 5.0)]);
            let half = 0.5 * text::width(words);
            let x = x.clamp(half + 1.0, width - half - 1.0);
            picture.label(Point::new(x, below + high + 9.0), TextAnchor::Middle, LabelStyle::Quiet, words.clone());
        }
        for (x, low, high) in &self.bands {
            let (a, b) = (at(*x, *low), at(*x, *high));
            picture.rect(Ink::Band, Point::new(a.x - 3.0, a.y), Point::new(b.x + 3.0, b.y));
        }
        for series in &self.series {
            picture.line(series.ink, series.points.iter().map(|p| at(p.0, p.1)));
        }
        for (row, x, series) in key {
            let y = picture.height - (row as f64 + 1.0) * (text::LINE + 2.0) + 5.0;
            picture.line(series.ink, [Point::new(x, y + 4.0), Point::new(x + KEY_LINE, y + 4.0)]);
            let words = Point::new(x + KEY_LINE + 6.0, y);
            picture.label(words, TextAnchor::Start, LabelStyle::Plain, series.name.clone());
        }
        (picture, exaggeration)
    }

    /// Row and place of every entry of the key.
    fn key(&self, width: f64) -> Vec<(usize, f64, &Series)> {
        let (mut row, mut x) = (0, 2.0);
        let mut out = Vec::new();
        for series in self.series.iter().filter(|s| !s.name.is_empty()) {
            let needs = KEY_LINE + 6.0 + text::width(&series.name) + 16.0;
            if x > 2.0 && x + needs > width {
                row += 1;
                x = 2.0;
            }
            out.push((row, x, series));
            x += needs;
        }
        out
    }
}

/// A range that has some width.
fn widened((from, to): (f64, f64)) -> (f64, f64) {
    if to - from > 1e-9 { (from, to) } else { (from, from + 1.0) }
}
