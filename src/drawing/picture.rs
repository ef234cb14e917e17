//! Pictures on a page: lines, areas and labels in page pixels, each with its meaning.
//!
//! x to the right, y up, from the lower left corner. The exporter chooses the appearance, so that light, dark and paper can
//! have their own colours.

use kurbo::Point;

use super::TextAnchor;

/// Meaning of a line or area.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Ink {
    /// Axes and ticks.
    Axis,
    /// Grid lines.
    Grid,
    /// The target.
    Wanted,
    /// The table.
    Table,
    /// The pressed board.
    Pressed,
    /// The released board.
    Released,
    /// A limit.
    Limit,
    /// A marked position.
    Place,
    /// Band that holds nine of ten boards.
    Band,
    /// An area under a line.
    Area,
    /// A bar.
    Bar,
    /// A bar with the verdict watch.
    BarWatch,
    /// A bar with the verdict stop.
    BarStop,
    /// The unfilled part of a bar.
    BarRest,
    /// The edge of a part.
    Edge,
    /// A mark on a part.
    Mark,
    /// Dimension lines.
    Dimension,
    /// Wood in a section.
    Wood,
    /// Fibre laminate in a section.
    Laminate,
    /// Other material in a section.
    Other,
    /// A front face.
    FaceNear,
    /// A top face.
    FaceTop,
    /// A side face.
    FaceSide,
    /// The table's skin, from above.
    SkinTop,
    /// The table's skin, at its edges.
    SkinEdge,
    /// Rods, nuts and spacers.
    Metal,
    /// Release film in a section.
    Film,
    /// Breather in a section.
    Breather,
    /// The bag in a section.
    Bag,
    /// Sealant tape in a section.
    Tape,
    /// Leader lines.
    Leader,
    /// The ring around a part's number.
    Ring,
}

/// Style of a label.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LabelStyle {
    /// Body text.
    Plain,
    /// Less prominent: ticks and units.
    Quiet,
    /// More prominent.
    Strong,
}

/// An item of a picture.
#[derive(Debug, Clone, PartialEq)]
pub enum Item {
    /// A line through points, or the outline of an area.
    Path {
        /// Meaning.
        ink: Ink,
        /// Its corners.
        points: Vec<Point>,
        /// Whether it is closed.
        closed: bool,
    },
    /// A circle.
    Circle {
        /// Meaning.
        ink: Ink,
        /// Its centre.
        center: Point,
        /// Its radius.
        radius: f64,
    },
    /// A line of text.
    Label {
        /// Position of its anchor.
        at: Point,
        /// Anchor.
        anchor: TextAnchor,
        /// Style.
        style: LabelStyle,
        /// Text.
        words: String,
    },
}

/// A picture of a fixed size in page pixels.
#[derive(Debug, Clone, PartialEq)]
pub struct Picture {
    /// Width.
    pub width: f64,
    /// Height.
    pub height: f64,
    /// Items, back to front.
    pub items: Vec<Item>,
}

impl Picture {
    /// An empty picture.
    pub(crate) fn new(width: f64, height: f64) -> Self {
        Self { width, height, items: Vec::new() }
    }

    /// Adds a line through points.
    pub(crate) fn line(&mut self, ink: Ink, points: impl IntoIterator<Item = Point>) {
        self.items.push(Item::Path { ink, points: points.into_iter().collect(), closed: false });
    }

    /// Adds an area.
    pub(crate) fn area(&mut self, ink: Ink, points: impl IntoIterator<Item = Point>) {
        self.items.push(Item::Path { ink, points: points.into_iter().collect(), closed: true });
    }

    /// Adds an axis-aligned rectangle between two corners.
    pub(crate) fn rect(&mut self, ink: Ink, a: Point, b: Point) {
        self.area(ink, [a, Point::new(b.x, a.y), b, Point::new(a.x, b.y)]);
    }

    /// Adds a circle.
    pub(crate) fn circle(&mut self, ink: Ink, center: Point, radius: f64) {
        self.items.push(Item::Circle { ink, center, radius });
    }

    /// Adds a text.
    pub(crate) fn label(&mut self, at: Point, anchor: TextAnchor, style: LabelStyle, words: impl Into<String>) {
        self.items.push(Item::Label { at, anchor, style, words: words.into() });
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_added_lies_over_what_was_there() {
        let (a, b) = (Point::new(1.0, 2.0), Point::new(4.0, 8.0));
        let mut picture = Picture::new(100.0, 50.0);
        picture.line(Ink::Leader, [a, b]);
        picture.rect(Ink::Metal, a, b);
        picture.circle(Ink::Ring, b, 3.0);
        picture.label(a, TextAnchor::Middle, LabelStyle::Quiet, "words");
        let corners = vec![a, Point::new(4.0, 2.0), b, Point::new(1.0, 8.0)];
        let words = "words".to_owned();
        assert_eq!(
            picture.items,
            [
                Item::Path { ink: Ink::Leader, points: vec![a, b], closed: false },
                Item::Path { ink: Ink::Metal, points: corners, closed: true },
                Item::Circle { ink: Ink::Ring, center: b, radius: 3.0 },
                Item::Label { at: a, anchor: TextAnchor::Middle, style: LabelStyle::Quiet, words },
            ]
        );
    }
}
