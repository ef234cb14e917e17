//! Which part of a pattern goes on which page.

use kurbo::{Point, Rect, Vec2};

use super::canvas::pieces;
use crate::drawing::{Operation, Part, Placement, Shape, Work, touches};

/// A part to be drawn once, and the parts that are cut alike.
pub(super) struct Pattern<'a> {
    /// The part that is drawn.
    pub(super) part: &'a Part,
    /// Its work in machining order.
    pub(super) works: Vec<&'a Work>,
    /// Titles of all parts that this pattern serves, the drawn one first.
    pub(super) titles: Vec<&'a str>,
    /// What it covers, mm.
    pub(super) bounds: Rect,
}

impl Pattern<'_> {
    /// Titles in one line.
    pub(super) fn title(&self) -> String {
        match self.titles.as_slice() {
            [] => String::new(),
            [one] => (*one).to_owned(),
            [first, others @ ..] => format!("{first}; the same for {}", others.join(", ")),
        }
    }
}

/// Corners that differ by less than this are the same, mm.
const SAME_MM: f64 = 1e-3;

/// Parts with the same cuts, holes and marked lines share a pattern, wherever they stand and whatever is written on them.
pub(super) fn patterns<'a>(parts: Vec<(&'a Part, Vec<&'a Work>)>) -> Vec<Pattern<'a>> {
    let mut found: Vec<Pattern<'a>> = Vec::new();
    for (part, works) in parts {
        let Some(bounds) = covered(&works) else { continue };
        if let Some(same) = found.iter_mut().find(|p| cut_alike(p.part, part)) {
            same.titles.push(&part.title);
        } else {
            found.push(Pattern { part, works, titles: vec![&part.title], bounds });
        }
    }
    found
}

fn covered(works: &[&Work]) -> Option<Rect> {
    let lines = pieces(works.iter().copied());
    lines.iter().map(|(a, b)| Rect::from_points(*a, *b)).reduce(|a, b| a.union(b))
}

fn cut_alike(a: &Part, b: &Part) -> bool {
    let cuts = |part: &Part| -> Vec<Work> {
        let cut = |w: &&Work| w.operation != Operation::Note && !matches!(w.shape, Shape::Text(_));
        let works: Vec<Work> = part.works.iter().filter(cut).cloned().collect();
        let bounds = works.iter().map(|w| w.shape.bounds()).reduce(|x, y| x.union(y)).unwrap_or(Rect::ZERO);
        let place = Placement::shift(-bounds.x0, -bounds.y0);
        works.into_iter().map(|w| Work { operation: w.operation, shape: w.shape.placed(&place) }).collect()
    };
    let (a, b) = (cuts(a), cuts(b));
    !a.is_empty() && a.len() == b.len() && a.iter().zip(&b).all(|(x, y)| x.operation == y.operation && same(x, y))
}

fn same(a: &Work, b: &Work) -> bool {
    match (&a.shape, &b.shape) {
        (Shape::Contour(a), Shape::Contour(b)) => {
            let (a, b) = (a.vertices(), b.vertices());
            let near = |(v, w): (&crate::drawing::Vertex, &crate::drawing::Vertex)| {
                v.point.distance(w.point) < SAME_MM && (v.bulge - w.bulge).abs() < 1e-6
            };
            a.len() == b.len() && a.iter().zip(b).all(near)
        }
        (Shape::Circle { center: a, radius_mm: ra }, Shape::Circle { center: b, radius_mm: rb }) => {
            a.distance(*b) < SAME_MM && (ra - rb).abs() < SAME_MM
        }
        _ => false,
    }
}

/// One page of a pattern.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Tile {
    /// Counted from the left, from 0.
    pub(super) column: usize,
    /// Counted from the bottom, from 0.
    pub(super) row: usize,
    /// What the page shows, in the pattern's coordinates, mm.
    pub(super) window: Rect,
}

/// A line that two neighbouring pages share.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct MatchLine {
    /// The number printed on both pages.
    pub(super) number: usize,
    /// Ends, in the pattern's coordinates.
    pub(super) ends: (Point, Point),
    /// The two pages: indices of tiles.
    pub(super) tiles: (usize, usize),
}

/// All pages of a pattern.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Tiling {
    /// Pages that carry something, row by row from the bottom, left to right.
    pub(super) tiles: Vec<Tile>,
    /// Lines between pages that are both there.
    pub(super) lines: Vec<MatchLine>,
}

/// Free strip around a pattern, mm.
const SPARE_MM: f64 = 2.0;

/// Lays pages of `width_mm` by `height_mm` over a pattern so that neighbours overlap by `overlap_mm`. Pages on which
/// nothing would stand are left out. Match lines are numbered from `first_number`.
pub(super) fn tiling(
    pattern: &Pattern<'_>,
    width_mm: f64,
    height_mm: f64,
    overlap_mm: f64,
    first_number: usize,
) -> Tiling {
    let bounds = pattern.bounds.inflate(SPARE_MM, SPARE_MM);
    let lines = pieces(pattern.works.iter().copied());
    let across = Steps::over(bounds.x0, bounds.x1, width_mm, overlap_mm);
    let up = Steps::over(bounds.y0, bounds.y1, height_mm, overlap_mm);
    let mut tiles = Vec::new();
    for row in 0..up.count {
        for column in 0..across.count {
            // A page is judged by what lies inside its match lines: the rest is on its neighbours too.
            let own = Rect::new(across.line(column), up.line(row), across.line(column + 1), up.line(row + 1));
            if lines.iter().any(|l| touches(own, *l)) {
                let corner = Point::new(across.begin(column), up.begin(row));
                let window = Rect::from_points(corner, corner + Vec2::new(width_mm, height_mm));
                tiles.push(Tile { column, row, window });
            }
        }
    }
    let mut shared = Vec::new();
    for (i, a) in tiles.iter().enumerate() {
        let (r, c) = (a.row, a.column);
        for (j, b) in tiles.iter().enumerate() {
            let ends = if (b.row, b.column) == (r, c + 1) {
                let x = across.line(c + 1);
                (Point::new(x, a.window.y0), Point::new(x, a.window.y1))
            } else if (b.row, b.column) == (r + 1, c) {
                let y = up.line(r + 1);
                (Point::new(a.window.x0, y), Point::new(a.window.x1, y))
            } else {
                continue;
            };
            shared.push(MatchLine { number: first_number + shared.len(), ends, tiles: (i, j) });
        }
    }
    Tiling { tiles, lines: shared }
}

/// Pages along one direction.
struct Steps {
    from: f64,
    size: f64,
    step: f64,
    count: usize,
    overlap: f64,
}

impl Steps {
    fn over(low: f64, high: f64, size: f64, overlap: f64) -> Self {
        let step = size - overlap;
        let count = ((high - low - overlap) / step).ceil().max(1.0);
        // What is left over is shared out to both ends.
        let from = low - 0.5 * (count * step + overlap - (high - low));
        Self { from, size, step, count: count as usize, overlap }
    }

    fn begin(&self, i: usize) -> f64 {
        self.from + self.step * i as f64
    }

    /// The match line before page `i`; before the first and after the last the outer edge.
    fn line(&self, i: usize) -> f64 {
        match i {
            0 => self.from,
            i if i >= self.count => self.begin(self.count - 1) + self.size,
            i => self.begin(i) + 0.5 * self.overlap,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawing::{Contour, Text, TextAnchor};

    fn part(id: &str, x: f64, width: f64, height: f64) -> Part {
        let mut part = Part::new(id, id.to_uppercase());
        let corners = [(x, 0.0), (x + width, 0.0), (x + width, height), (x, height)];
        let outline = Contour::polygon(corners.map(Point::from)).unwrap();
        part.add(Operation::CutOutside, Shape::Contour(outline));
        let text = Text {
            at: Point::new(x + 9.0, 4.0),
            height_mm: 5.0,
            angle_rad: 0.0,
            anchor: TextAnchor::Start,
            content: id.into(),
        };
        part.add(Operation::Mark, Shape::Text(text));
        part
    }

    fn of(parts: &[Part]) -> Vec<Pattern<'_>> {
        patterns(parts.iter().map(|p| (p, p.in_order())).collect())
    }

    #[test]
    fn parts_cut_alike_share_a_pattern() {
        let parts = [part("a", 0.0, 300.0, 80.0), part("b", 700.0, 300.0, 80.0), part("c", 0.0, 300.0, 90.0)];
        let found = of(&parts);
        assert_eq!(found.len(), 2);
        assert_eq!(found[0].title(), "A; the same for B");
    }

    #[test]
    fn pages_cover_the_pattern_and_overlap_at_match_lines() {
        let parts = [part("a", 0.0, 1400.0, 120.0)];
        let tiles = tiling(&of(&parts)[0], 277.0, 182.0, 12.0, 5);
        assert_eq!(tiles.tiles.len(), 6);
        for (w, line) in tiles.tiles.windows(2).zip(&tiles.lines) {
            assert!((w[0].window.x1 - w[1].window.x0 - 12.0).abs() < 1e-9);
            assert!((line.ends.0.x - w[0].window.x1 + 6.0).abs() < 1e-9 && line.ends.0.x == line.ends.1.x);
        }
        assert_eq!(tiles.lines.iter().map(|l| l.number).collect::<Vec<_>>(), [5, 6, 7, 8, 9]);
        assert!(tiles.tiles[0].window.x0 <= -SPARE_MM && tiles.tiles[5].window.x1 >= 1400.0 + SPARE_MM);
    }

    #[test]
    fn pages_with_nothing_on_them_are_left_out() {
        // A frame of 900 by 900 on pages of 200: the inner pages are empty, and no match line leads to them.
        let mut frame = part("a", 0.0, 900.0, 900.0);
        frame.works.truncate(1);
        let parts = [frame];
        let tiles = tiling(&of(&parts)[0], 200.0, 200.0, 10.0, 1);
        assert_eq!(tiles.tiles.len(), 16);
        assert_eq!(tiles.lines.len(), 16);
        assert!(tiles.tiles.iter().all(|t| t.row == 0 || t.column == 0 || t.row == 4 || t.column == 4));
    }
}
