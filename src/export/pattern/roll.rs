//! Patterns on one long page for a roll of paper.

use kurbo::{Point, Rect, Vec2};

use super::canvas::{Canvas, MARK, headline, pieces};
use super::file::File;
use super::gauge::{Gauge, Ruler};
use super::tiles::{Pattern, patterns};
use super::{PatternFile, correction, within};
use crate::drawing::{Drawing, TextAnchor};
use crate::export::ExportError;
use crate::export::order::in_machining_order;

/// What a page for a roll is to be like.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RollOptions {
    /// Width of the roll, mm.
    pub width_mm: f64,
    /// Strip along every edge that the plotter cannot print, mm.
    pub margin_mm: f64,
    /// What the check square measured on a print without correction, along and across the roll, mm; where it was
    /// measured.
    pub printed_square_mm: Option<(f64, f64)>,
    /// The ruler's marks.
    pub ruler: Ruler,
}

impl RollOptions {
    /// A roll with the usual margin of 10 mm.
    pub fn on(width_mm: f64) -> Self {
        Self { width_mm, margin_mm: 10.0, printed_square_mm: None, ruler: Ruler::Millimetres }
    }
}

/// Clear space between patterns, mm.
const GAP_MM: f64 = 6.0;
/// What square and ruler take up at the beginning of the roll, along it and across it, mm.
const GAUGE_MM: (f64, f64) = (320.0, 114.0);
/// Longest page, mm: more paper than a roll holds.
const LONGEST_MM: f64 = 200_000.0;

/// All parts as patterns in full size on one page, laid along the roll from its beginning, with the check square and the
/// ruler first. A page longer than 5080 mm declares a larger user unit (PDF 1.6).
///
/// # Errors
/// As [`super::write_sheets`]; a part wider than the roll is a [`ExportError::Setting`].
pub fn write_roll(drawing: &Drawing, options: &RollOptions) -> Result<PatternFile, ExportError> {
    let found = patterns(in_machining_order(drawing)?);
    let scale = correction(options.printed_square_mm, options.ruler)?;
    within("margin", options.margin_mm, (0.0, 50.0))?;
    let tallest = found.iter().map(|p| p.bounds.height()).fold(options.ruler.square_mm() + 10.0, f64::max);
    within("roll width", options.width_mm, (tallest * scale.1 + 2.0 * options.margin_mm, 5_000.0))?;
    let width_mm = (options.width_mm - 2.0 * options.margin_mm) / scale.1;
    let corners = laid(&found, width_mm);
    let ends = found.iter().zip(&corners).map(|(p, c)| c.x + p.bounds.width());
    let length_mm = ends.fold(GAUGE_MM.0, f64::max);
    within("roll length", length_mm, (0.0, LONGEST_MM))?;
    let mut file = File::new(drawing);
    for (i, pattern) in found.iter().enumerate() {
        let mut canvas = Canvas::new();
        pattern.works.iter().for_each(|work| canvas.work(work));
        file.form(format!("P{i}"), pattern.bounds.inflate(10.0, 10.0), canvas);
    }
    let margins = 2.0 * options.margin_mm;
    file.page(length_mm * scale.0 + margins, options.width_mm, |canvas| {
        canvas.within(scale, Vec2::new(options.margin_mm, options.margin_mm), |c| {
            let lines: Vec<(Point, Point)> = found
                .iter()
                .zip(&corners)
                .flat_map(|(p, corner)| {
                    let shift = *corner - p.bounds.origin();
                    pieces(p.works.iter().copied()).into_iter().map(move |(a, b)| (a + shift, b + shift))
                })
                .collect();
            Gauge::on(Rect::new(0.0, 0.0, GAUGE_MM.0, width_mm.min(GAUGE_MM.1)), &lines, options.ruler).draw(c);
            c.pen(MARK);
            c.words(
                Point::new(options.ruler.square_mm() + 4.0 + GAP_MM, 20.0),
                2.4,
                TextAnchor::Start,
                headline(drawing, 1, 1),
            );
            for (i, (pattern, corner)) in found.iter().zip(&corners).enumerate() {
                c.within((1.0, 1.0), *corner - pattern.bounds.origin(), |c| c.form(format!("P{i}").as_bytes()));
            }
        });
    });
    Ok(file.finish())
}

/// Lower left corners of patterns: stacked across the roll, then on along it. Beside the gauge at the beginning only what
/// fits above it.
fn laid(found: &[Pattern<'_>], width_mm: f64) -> Vec<Point> {
    let mut corners = Vec::with_capacity(found.len());
    let (mut x, mut y, mut longest) = (0.0, GAUGE_MM.1 + GAP_MM, GAUGE_MM.0);
    for pattern in found {
        if y + pattern.bounds.height() > width_mm {
            x += longest + GAP_MM;
            y = 0.0;
            longest = 0.0;
        }
        corners.push(Point::new(x, y));
        y += pattern.bounds.height() + GAP_MM;
        longest = longest.max(pattern.bounds.width());
    }
    corners
}
