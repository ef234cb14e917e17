//! Page contents in millimetres.

use std::collections::BTreeSet;

use kurbo::{Point, Rect, Vec2};
use pdf_writer::{Content, Name, Str};

use super::super::names::one_line;
use super::super::strokes::{lacks_strokes, stroke_text};
use super::lettering::{CAPITALS, coded, width};
use crate::drawing::{Arc, Contour, Drawing, Operation, Shape, Text, TextAnchor, Work};

/// The name of the font in every page's resources.
pub(super) const FONT: Name<'static> = Name(b"F1");

/// Largest sweep of one Bezier segment, rad: the arc is then met within 4e-7 of its radius (the error of the usual
/// cubic falls with the sixth power of the sweep, from 2.7e-4 at a right angle).
const SWEEP_PER_CURVE: f64 = std::f64::consts::PI / 6.0;

/// How a line is drawn.
#[derive(Debug, Clone, Copy)]
pub(super) struct Pen {
    /// Width, mm.
    pub(super) width_mm: f32,
    /// 0 black to 1 white.
    pub(super) gray: f32,
    /// Dash and gap, mm, if any.
    pub(super) dash_mm: Option<f32>,
}

/// Lines to cut along.
pub(super) const CUT: Pen = Pen { width_mm: 0.25, gray: 0.0, dash_mm: None };
/// Lines and words to be copied onto the part.
pub(super) const MARK: Pen = Pen { width_mm: 0.18, gray: 0.25, dash_mm: None };
/// Lines along which pages are matched.
pub(super) const MATCH: Pen = Pen { width_mm: 0.13, gray: 0.35, dash_mm: Some(4.0) };
/// Square and ruler, light enough to lie under the drawing.
pub(super) const GAUGE: Pen = Pen { width_mm: 0.13, gray: 0.5, dash_mm: None };

/// Contents under construction, in the units that the surrounding transform makes millimetres.
pub(super) struct Canvas {
    content: Content,
    /// Characters that neither the font nor the strokes have.
    pub(super) missing: BTreeSet<char>,
}

impl Canvas {
    pub(super) fn new() -> Self {
        Self { content: Content::new(), missing: BTreeSet::new() }
    }

    pub(super) fn finish(self) -> (Vec<u8>, BTreeSet<char>) {
        (self.content.finish().to_vec(), self.missing)
    }

    /// Draws `inner` with x and y scaled and shifted, then goes back.
    pub(super) fn within(&mut self, scale: (f64, f64), shift: Vec2, inner: impl FnOnce(&mut Self)) {
        self.content.save_state();
        self.content.transform([scale.0 as f32, 0.0, 0.0, scale.1 as f32, shift.x as f32, shift.y as f32]);
        inner(self);
        self.content.restore_state();
    }

    /// Lets nothing outside `window` be drawn until the state is restored.
    pub(super) fn clip(&mut self, window: Rect) {
        self.rectangle(window);
        self.content.clip_nonzero();
        self.content.end_path();
    }

    /// Draws a form of the page's resources.
    pub(super) fn form(&mut self, name: &[u8]) {
        self.content.x_object(Name(name));
    }

    pub(super) fn pen(&mut self, pen: Pen) {
        self.content.set_line_width(pen.width_mm).set_stroke_gray(pen.gray).set_fill_gray(pen.gray);
        let dash = pen.dash_mm.map_or_else(Vec::new, |d| vec![d, 0.5 * d]);
        self.content.set_dash_pattern(dash, 0.0);
    }

    pub(super) fn line(&mut self, a: Point, b: Point) {
        self.move_to(a);
        self.line_to(b);
        self.content.stroke();
    }

    pub(super) fn frame(&mut self, r: Rect) {
        self.rectangle(r);
        self.content.stroke();
    }

    pub(super) fn contour(&mut self, contour: &Contour) {
        self.move_to(contour.vertices()[0].point);
        for (a, bulge, b) in contour.segments() {
            match Arc::from_bulge(a, bulge, b) {
                Some(arc) => self.arc(&arc),
                None => self.line_to(b),
            }
        }
        if contour.is_closed() {
            self.content.close_path();
        }
        self.content.stroke();
    }

    pub(super) fn circle(&mut self, center: Point, radius_mm: f64) {
        let arc = Arc { center, radius_mm, start_rad: 0.0, sweep_rad: std::f64::consts::TAU };
        self.move_to(arc.at(0.0));
        self.arc(&arc);
        self.content.close_path();
        self.content.stroke();
    }

    /// One piece of work; drill holes get a cross at their centre for the punch.
    pub(super) fn work(&mut self, work: &Work) {
        let cut = matches!(work.operation, Operation::CutInside | Operation::CutOutside | Operation::Drill);
        self.pen(if cut { CUT } else { MARK });
        match &work.shape {
            Shape::Contour(c) => self.contour(c),
            Shape::Circle { center, radius_mm } => {
                self.circle(*center, *radius_mm);
                if work.operation == Operation::Drill {
                    let arm = radius_mm + 2.0;
                    self.line(*center - Vec2::new(arm, 0.0), *center + Vec2::new(arm, 0.0));
                    self.line(*center - Vec2::new(0.0, arm), *center + Vec2::new(0.0, arm));
                }
            }
            Shape::Text(text) => self.text(text),
        }
    }

    /// Words in the standard font, or in strokes where a character is not in it.
    pub(super) fn text(&mut self, text: &Text) {
        let line = one_line(&text.content);
        let Some(codes) = coded(&line) else {
            self.missing.extend(lacks_strokes(&line));
            for c in stroke_text(text) {
                self.contour(&c);
            }
            return;
        };
        let size = text.height_mm / CAPITALS;
        let back = match text.anchor {
            TextAnchor::Start => 0.0,
            TextAnchor::Middle => 0.5,
            TextAnchor::End => 1.0,
        };
        let along = Vec2::from_angle(text.angle_rad);
        let at = text.at - along * (back * width(&codes) * size);
        let (cos, sin) = (along.x as f32, along.y as f32);
        self.content.begin_text();
        self.content.set_font(FONT, size as f32);
        self.content.set_text_matrix([cos, sin, -sin, cos, at.x as f32, at.y as f32]);
        self.content.show(Str(&codes));
        self.content.end_text();
    }

    /// Level words in the pen's grey.
    pub(super) fn words(&mut self, at: Point, height_mm: f64, anchor: TextAnchor, content: impl Into<String>) {
        self.text(&Text { at, height_mm, angle_rad: 0.0, anchor, content: content.into() });
    }

    fn arc(&mut self, arc: &Arc) {
        let count = (arc.sweep_rad.abs() / SWEEP_PER_CURVE).ceil().max(1.0);
        let step = arc.sweep_rad / count;
        // Handles of the usual cubic: 4/3 tan(step/4) of the radius.
        let handle = 4.0 / 3.0 * libm::tan(0.25 * step) * arc.radius_mm;
        let tangent = |angle: f64| Vec2::new(-libm::sin(angle), libm::cos(angle)) * handle;
        let mut i = 0.0;
        while i < count {
            let (from, to) = (arc.at(i / count), arc.at((i + 1.0) / count));
            let out = from + tangent(arc.start_rad + step * i);
            let into = to - tangent(arc.start_rad + step * (i + 1.0));
            self.content.cubic_to(out.x as f32, out.y as f32, into.x as f32, into.y as f32, to.x as f32, to.y as f32);
            i += 1.0;
        }
    }

    fn rectangle(&mut self, r: Rect) {
        self.content.rect(r.x0 as f32, r.y0 as f32, r.width() as f32, r.height() as f32);
    }

    fn move_to(&mut self, p: Point) {
        self.content.move_to(p.x as f32, p.y as f32);
    }

    fn line_to(&mut self, p: Point) {
        self.content.line_to(p.x as f32, p.y as f32);
    }
}

/// Straight pieces of everything in a part, within a tenth of a millimetre; texts as the box around them.
pub(super) fn pieces<'a>(works: impl IntoIterator<Item = &'a Work>) -> Vec<(Point, Point)> {
    let mut found = Vec::new();
    for work in works {
        match &work.shape {
            Shape::Contour(c) => {
                let points = c.flattened(0.1);
                found.extend(points.windows(2).map(|w| (w[0], w[1])));
                if c.is_closed() {
                    found.push((points[points.len() - 1], points[0]));
                }
            }
            Shape::Circle { center, radius_mm } => {
                let at = |i: i32| *center + Vec2::from_angle(f64::from(i) * std::f64::consts::TAU / 48.0) * *radius_mm;
                found.extend((0..48).map(|i| (at(i), at(i + 1))));
            }
            Shape::Text(text) => {
                let length = coded(&text.content).map_or(text.content.len() as f64, |c| width(&c) / CAPITALS);
                let along = Vec2::from_angle(text.angle_rad) * (length * text.height_mm);
                let begin = match text.anchor {
                    TextAnchor::Start => text.at,
                    TextAnchor::Middle => text.at - along * 0.5,
                    TextAnchor::End => text.at - along,
                };
                let up = Vec2::from_angle(text.angle_rad + std::f64::consts::FRAC_PI_2) * text.height_mm;
                let corners = [begin, begin + along, begin + along + up, begin + up];
                found.extend((0..4).map(|i| (corners[i], corners[(i + 1) % 4])));
            }
        }
    }
    found
}

/// A line about the drawing for the head of a page.
pub(super) fn headline(drawing: &Drawing, page: usize, pages: usize) -> String {
    format!("{} | page {page} of {pages} | {}", drawing.title, drawing.origin)
}
