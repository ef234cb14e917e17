//! Bars that lie, one below the other, each under its words.

use kurbo::Point;

use super::text;
use crate::drawing::{Ink, LabelStyle, Picture, TextAnchor};

/// A bar.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::draft) struct Bar {
    /// What it stands for.
    pub(in crate::draft) name: String,
    /// Its figure as it is read.
    pub(in crate::draft) figure: String,
    /// How much of the whole width it fills; more than 1 runs over the limit.
    pub(in crate::draft) share: f64,
    /// How it is drawn.
    pub(in crate::draft) ink: Ink,
}

/// Height of a bar, page pixels.
const THICK: f64 = 10.0;
/// Height from one bar to the next, page pixels.
const PITCH: f64 = text::LINE + THICK + 12.0;

/// The bars at a width in page pixels. With `limit` a line stands where the share is 1 and its words above it.
pub(in crate::draft) fn bars(bars: &[Bar], limit: Option<&str>, width: f64) -> Picture {
    let head = if limit.is_some() { text::LINE + 8.0 } else { 2.0 };
    let mut picture = Picture::new(width, head + PITCH * bars.len() as f64 + 4.0);
    let most = bars.iter().map(|b| b.share).fold(1.0, f64::max);
    let full = (width - 14.0) / most;
    for (i, bar) in bars.iter().enumerate() {
        let top = picture.height - head - PITCH * i as f64;
        let room = width - text::width(&bar.figure) - 16.0;
        let base = top - 12.0;
        let name = text::fitted(&bar.name, room);
        picture.label(Point::new(2.0, base), TextAnchor::Start, LabelStyle::Plain, name);
        picture.label(Point::new(width - 4.0, base), TextAnchor::End, LabelStyle::Quiet, bar.figure.clone());
        let low = base - 6.0 - THICK;
        picture.rect(Ink::BarRest, Point::new(2.0, low), Point::new(2.0 + full, low + THICK));
        let reach = (bar.share * full).max(0.5);
        picture.rect(bar.ink, Point::new(2.0, low), Point::new(2.0 + reach, low + THICK));
    }
    if let Some(words) = limit {
        let x = 2.0 + full;
        for i in 0..bars.len() {
            let low = picture.height - head - PITCH * i as f64 - 12.0 - 6.0 - THICK;
            picture.line(Ink::Limit, [Point::new(x, low - 3.0), Point::new(x, low + THICK + 3.0)]);
        }
        let at = Point::new((x + 4.0).min(width - 4.0), picture.height - text::LINE + 4.0);
        picture.label(at, TextAnchor::End, LabelStyle::Quiet, words);
    }
    picture
}
