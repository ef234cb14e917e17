//! Pictures to be looked at on a page: lines, areas and labels in page pixels, each with what it stands for.
//!
//! x runs to the right and y up from the lower left corner. What things look like is decided where they are written,
//! so that light, dark and paper can each have their own colours.

use kurbo::Point;

use super::TextAnchor;

/// What a line or an area stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Ink {
    /// Axes and ticks.
    Axis,
    /// Grid lines.
    Grid,
    /// What is wanted.
    Wanted,
    /// The table.
    Table,
    /// What is pressed on it.
    Pressed,
    /// What comes off it.
    Released,
    /// A limit.
    Limit,
    /// A place that is pointed out.
    Place,
    /// Where nine of ten come out.
    Band,
    /// An area under a line.
    Area,
    /// A bar.
    Bar,
    /// A bar that needs a look.
    BarWatch,
    /// A bar beyond its limit.
    BarStop,
    /// The empty rest of a bar.
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
    /// A face that looks to the reader.
    FaceNear,
    /// A face that looks up.
    FaceTop,
    /// A face that looks to the side.
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
    /// Lines that lead from a number to its part.
    Leader,
    /// The ring around a part's number.
    Ring,
}

/// How a label is set.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LabelStyle {
    /// As running text.
    Plain,
    /// Less prominent: ticks and units.
    Quiet,
    /// More prominent.
    Strong,
}

/// Something in a picture.
#[derive(Debug, Clone, PartialEq)]
pub enum Item {
    /// A line through points, or the outline of an area.
    Path {
        /// What it stands for.
        ink: Ink,
        /// Its corners.
        points: Vec<Point>,
        /// Whether the last corner leads back to the first.
        closed: bool,
    },
    /// A circle.
    Circle {
        /// What it stands for.
        ink: Ink,
        /// Its centre.
        center: Point,
        /// Its radius.
        radius: f64,
    },
    /// A line of words on its base line.
    Label {
        /// Where its anchor stands.
        at: Point,
        /// Which point stands there.
        anchor: TextAnchor,
        /// How it is set.
        style: LabelStyle,
        /// What it says.
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
    /// Its items, the hindmost first.
    pub items: Vec<Item>,
}

impl Picture {
    /// An empty picture.
    pub fn new(width: f64, height: f64) -> Self {
        Self { width, height, items: Vec::new() }
    }

    /// Adds a line through points.
    pub fn line(&mut self, ink: Ink, points: impl IntoIterator<Item = Point>) {
        self.items.push(Item::Path { ink, points: points.into_iter().collect(), closed: false });
    }

    /// Adds an area.
    pub fn area(&mut self, ink: Ink, points: impl IntoIterator<Item = Point>) {
        self.items.push(Item::Path { ink, points: points.into_iter().collect(), closed: true });
    }

    /// Adds an upright rectangle between two corners.
    pub fn rect(&mut self, ink: Ink, a: Point, b: Point) {
        self.area(ink, [a, Point::new(b.x, a.y), b, Point::new(a.x, b.y)]);
    }

    /// Adds a circle.
    pub fn circle(&mut self, ink: Ink, center: Point, radius: f64) {
        self.items.push(Item::Circle { ink, center, radius });
    }

    /// Adds words.
    pub fn label(&mut self, at: Point, anchor: TextAnchor, style: LabelStyle, words: impl Into<String>) {
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
