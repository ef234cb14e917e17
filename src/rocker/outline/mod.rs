//! The wanted board in plan.
//!
//! x runs along the base from its middle toward the tip, y to the left seen from the tail with the deck up.

mod edge;

use kurbo::{Line, Point, Rect};

use crate::codes;
use crate::curve::{DEFAULT_TOLERANCE_MM, PlaneCurve, fit_arcs};
use crate::drawing::{Contour, Vertex, distance_mm, is_inside};
use crate::drawn::{in_table, ring};
use crate::finding::{Fault, Faults};
use crate::job::{Board, BoardHole, Origin, OutlineShape, Stations};
use crate::units::{Quantity, phrase};
use edge::Edge;

/// How far an outline may miss the board's ends or its width, mm: what a tape shows.
const SIZE_MM: f64 = 0.5;
/// Distance of the places at which widths are compared, mm.
const STEP_MM: f64 = 2.0;
/// Depth of a waist on each side from which it is called a sidecut, mm: less is a straight edge.
const LEAST_SIDECUT_MM: f64 = 0.5;
/// Radius from which an edge is called straight, mm: over a metre it is 1 mm off a line.
const STRAIGHT_MM: f64 = 125_000.0;
/// How far the lines that stand for an edge may lie off it, mm.
const FLAT_MM: f64 = 2e-4;
/// Times that a stretch between two points of an edge may be halved for lines to follow it: to a ten-thousandth of its length.
const MOST_HALVINGS: u32 = 14;

/// The outline of a board, with its holes.
#[derive(Debug, Clone, PartialEq)]
pub struct Outline {
    /// Holes through the board.
    pub holes: Vec<BoardHole>,
    shape: Shape,
    /// The edge in short lines, walked counter-clockwise.
    lines: Contour,
}

/// The edge, as it is described.
#[derive(Debug, Clone, PartialEq)]
enum Shape {
    /// Both edges from tail to tip; the left one where it is not the right one's mirror image.
    Edges { right: Box<Edge>, left: Option<Box<Edge>> },
    /// Lines and arcs, walked counter-clockwise.
    Contour(Contour),
}

/// The waist of a board.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sidecut {
    /// Station of the waist, mm.
    pub waist_mm: f64,
    /// Stations of the widest places toward tail and tip, mm.
    pub widest_mm: (f64, f64),
    /// How much half of the width at the waist lies inside of the line between the two, mm.
    pub depth_mm: f64,
    /// Radius of the circle through the edge at these three stations, both sides taken together, mm.
    pub radius_mm: f64,
}

/// The outline that a board is to have between the ends of its base; none where neither outline nor holes are wanted.
///
/// # Errors
/// Every fault of the description, with the path of its key.
pub fn outline(board: &Board, ends_mm: (f64, f64)) -> Result<Option<Outline>, Faults> {
    let half_mm = 0.5 * board.width_mm;
    let shape = match board.outline.as_ref().map(|o| &o.shape) {
        None if board.holes.is_empty() => return Ok(None),
        None => {
            let (tail, tip) = ends_mm;
            let corners = [(tail, -half_mm), (tip, -half_mm), (tip, half_mm), (tail, half_mm)];
            Shape::Contour(Contour::polygon(corners.map(Point::from)).map_err(|_| no_width("board.width"))?)
        }
        Some(OutlineShape::Widths { points, from }) => {
            let points = stations(points, *from, 0.5, ends_mm, "points")?;
            Shape::Edges { right: Box::new(Edge::new(&points, -1.0)), left: None }
        }
        Some(OutlineShape::Sides { left, right, from }) => {
            let left = stations(left, *from, 1.0, ends_mm, "left")?;
            let right = stations(right, *from, 1.0, ends_mm, "right")?;
            let [right, left] = [(right, -1.0), (left, 1.0)].map(|(points, side)| Box::new(Edge::new(&points, side)));
            Shape::Edges { right, left: Some(left) }
        }
        Some(OutlineShape::Drawn { lines, tip }) => {
            Shape::Contour(ring(lines, *tip, ends_mm).map_err(|fault| in_table(fault, "board.outline.drawing"))?)
        }
    };
    let made = Outline::new(shape, board.holes.clone())?;
    let mut faults: Faults =
        board.outline.as_ref().and_then(|_| made.width_fault(board.width_mm)).into_iter().collect();
    faults.extend(made.hole_faults());
    faults.or(Some(made))
}

fn no_width(path: &str) -> Fault {
    codes::OUTLINE_NO_WIDTH.at(path, "the board has no width there.")
}

/// Points from tail to tip, counted from the middle, with `share` of what is given as the distance from the middle line.
fn stations(
    points: &Stations,
    from: Origin,
    share: f64,
    (tail, tip): (f64, f64),
    key: &str,
) -> Result<Stations, Faults> {
    let path = |i: usize| format!("board.outline.{key}[{i}]");
    let to_middle = |s: f64| match from {
        Origin::Middle => s,
        Origin::Tail => tail + s,
        Origin::Tip => tip - s,
    };
    let last = points.len() - 1;
    let mut made: Vec<(f64, f64)> = points.iter().map(|(s, w)| (to_middle(*s), share * w)).collect();
    let (mut first_path, mut last_path) = (path(0), path(last));
    let inner = (1..last).find(|i| made[*i].1 <= 0.0);
    if from == Origin::Tip {
        made.reverse();
        std::mem::swap(&mut first_path, &mut last_path);
    }
    let ends = [(made[0].0, tail, first_path, "tail"), (made[last].0, tip, last_path, "tip")];
    let mut faults: Faults = ends
        .into_iter()
        .filter(|(found, end, ..)| (found - end).abs() > SIZE_MM)
        .map(|(found, end, path, name)| {
            let (found, end) = (Quantity::exact(found), Quantity::exact(end));
            codes::OUTLINE_ENDS.at(
                path,
                phrase!("the outline ends at {} and the board's {} at {}, from the middle.", found, name, end),
            )
        })
        .collect();
    faults.extend(inner.map(|i| no_width(&path(i))));
    if made.iter().all(|p| p.1 <= 0.0) {
        faults.push(no_width(&path(0)));
    }
    (made[0].0, made[last].0) = (tail, tip);
    // The ends are moved by what is allowed at most, and may come to lie beyond a neighbour.
    if faults.is_empty() && made.windows(2).any(|w| w[1].0 <= w[0].0) {
        faults.push(no_width(&path(0)));
    }
    faults.or(made)
}

impl Shape {
    /// Points along the edge, walked counter-clockwise, such that it is left by no more than `tolerance_mm`.
    fn flattened(&self, tolerance_mm: f64) -> Vec<Point> {
        let (right, left) = match self {
            Self::Contour(contour) => return contour.flattened(tolerance_mm),
            Self::Edges { right, left } => (right, left),
        };
        let mut points = lines_along(right, tolerance_mm);
        let mut back = left.as_ref().map_or_else(
            || points.iter().map(|p| Point::new(p.x, -p.y)).collect(),
            |left| lines_along(left, tolerance_mm),
        );
        back.reverse();
        points.extend(back);
        // Both edges begin and end on one point where an end is round.
        let same = |a: Point, b: Point| a.distance(b) < 0.01 * tolerance_mm;
        points.dedup_by(|a, b| same(*a, *b));
        points.truncate(points.len() - usize::from(same(points[0], points[points.len() - 1])));
        points
    }
}

/// Points along an edge such that it is left by no more than `tolerance_mm`.
fn lines_along(edge: &Edge, tolerance_mm: f64) -> Vec<Point> {
    let place = |s: f64| (s, edge.at(s).point);
    let stations = edge.breaks_mm();
    let mut from = place(stations[0]);
    let mut points = vec![from.1];
    for station in &stations[1..] {
        // The ends of what is still to be walked, the next one last.
        let mut ahead = vec![(place(*station), 0)];
        while let Some((to, halved)) = ahead.pop() {
            let middle = place(0.5 * (from.0 + to.0));
            let chord = to.1 - from.1;
            let off_mm = (middle.1 - from.1).cross(chord).abs() / chord.hypot().max(f64::MIN_POSITIVE);
            // A stretch that winds may meet its chord in the middle.
            if (halved < 3 || off_mm > tolerance_mm) && halved < MOST_HALVINGS {
                ahead.extend([(to, halved + 1), (middle, halved + 1)]);
            } else {
                points.push(to.1);
                from = to;
            }
        }
    }
    points
}

/// Lines and arcs along an edge from tail to tip.
fn arcs_along(edge: &Edge) -> Result<Vec<Vertex>, Fault> {
    let (from, to) = edge.range_mm();
    let path = fit_arcs(edge, from, to, DEFAULT_TOLERANCE_MM)
        .map_err(|_| codes::OUTLINE_TOO_SHARP.at("board.outline", "no arcs follow the edge."))?;
    Ok(path.nodes.into_iter().map(|n| Vertex { point: n.point, bulge: n.bulge }).collect())
}

/// The contour along both edges, each from tail to tip.
fn closed(right: Vec<Vertex>, left: &[Vertex]) -> Result<Contour, Fault> {
    // The left edge from tip to tail: each arc leaves from its other end.
    let turned =
        |i: usize| Vertex { bulge: i.checked_sub(1).map_or(0.0, |before| -left[before].bulge), point: left[i].point };
    let mut back: Vec<Vertex> = (0..left.len()).rev().map(turned).collect();
    let mut vertices = right;
    // A round end is the last point of one edge and the first of the other.
    let same = |a: &Vertex, b: &Vertex| a.point.distance(b.point) < FLAT_MM;
    if vertices.last().zip(back.first()).is_some_and(|(a, b)| same(a, b)) {
        vertices.pop();
    }
    if back.last().zip(vertices.first()).is_some_and(|(a, b)| same(a, b)) {
        back.pop();
    }
    vertices.extend(back);
    Contour::closed(vertices).map_err(|_| no_width("board.outline"))
}

impl Outline {
    fn new(shape: Shape, holes: Vec<BoardHole>) -> Result<Self, Fault> {
        let lines = Contour::polygon(shape.flattened(FLAT_MM)).map_err(|_| no_width("board.outline"))?;
        Ok(Self { holes, shape, lines })
    }

    /// What is known best of the edge without fitting arcs.
    fn drawn(&self) -> &Contour {
        match &self.shape {
            Shape::Contour(contour) => contour,
            Shape::Edges { .. } => &self.lines,
        }
    }

    /// The short lines of the edge, walked counter-clockwise.
    fn sides(&self) -> impl Iterator<Item = Line> + '_ {
        self.lines.segments().map(|(a, _, b)| Line::new(a, b))
    }

    /// The edge in lines and arcs, walked counter-clockwise. Fitting arcs takes longer than all else here, so only what is cut
    /// asks for them.
    ///
    /// # Errors
    /// A fault where the edge bends too sharply for arcs.
    pub(crate) fn contour(&self) -> Result<Contour, Fault> {
        let (right, left) = match &self.shape {
            Shape::Contour(contour) => return Ok(contour.clone()),
            Shape::Edges { right, left } => (arcs_along(right)?, left),
        };
        let mirrored = |v: &Vertex| Vertex { point: Point::new(v.point.x, -v.point.y), bulge: -v.bulge };
        let left = left.as_ref().map_or_else(|| Ok(right.iter().map(mirrored).collect()), |left| arcs_along(left))?;
        closed(right, &left)
    }

    /// Points along the edge, walked counter-clockwise, such that it is left by no more than `tolerance_mm`.
    pub(crate) fn flattened(&self, tolerance_mm: f64) -> Vec<Point> {
        self.shape.flattened(tolerance_mm)
    }

    /// The smallest rectangle around the board.
    pub(crate) fn bounds(&self) -> Rect {
        self.drawn().bounds()
    }

    /// Distance of the outermost edges from the middle line at a station (left, right, each positive to the left), mm;
    /// those of the nearest end beyond the ends.
    pub(crate) fn edges_mm(&self, s_mm: f64) -> (f64, f64) {
        if let Shape::Edges { right, left } = &self.shape {
            return (left.as_ref().unwrap_or(right).reach_mm(s_mm), -right.reach_mm(s_mm));
        }
        let (tail, tip) = self.ends_mm();
        let s = s_mm.clamp(tail, tip);
        let crossed = self.sides().filter(|Line { p0: a, p1: b }| a.x.min(b.x) <= s && s <= a.x.max(b.x)).flat_map(
            |Line { p0: a, p1: b }| {
                if a.x == b.x { [a.y, b.y] } else { [a.y + (s - a.x) / (b.x - a.x) * (b.y - a.y); 2] }
            },
        );
        let (low, high) = crossed.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), y| (l.min(y), h.max(y)));
        (high, low)
    }

    /// Width at a station, mm.
    pub fn width_mm(&self, s_mm: f64) -> f64 {
        let (left, right) = self.edges_mm(s_mm);
        left - right
    }

    /// Ends (tail, tip) along the base, mm from its middle.
    pub(crate) fn ends_mm(&self) -> (f64, f64) {
        let bounds = self.bounds();
        (bounds.x0, bounds.x1)
    }

    /// Area of one face, holes taken off, mm².
    pub(crate) fn area_mm2(&self) -> f64 {
        let bored = |h: &BoardHole| 0.25 * std::f64::consts::PI * h.diameter_mm * h.diameter_mm;
        self.drawn().signed_area_mm2().abs() - self.holes.iter().map(bored).sum::<f64>()
    }

    /// Stations at which widths are compared, with the width there, mm.
    fn widths(&self) -> Vec<(f64, f64)> {
        let (tail, tip) = self.ends_mm();
        let count = ((tip - tail) / STEP_MM).ceil().max(1.0) as usize;
        let even = (0..=count).map(|i| tail + (tip - tail) * i as f64 / count as f64);
        let corners = match &self.shape {
            Shape::Contour(contour) => contour.vertices().iter().map(|v| v.point.x).collect(),
            Shape::Edges { right, left } => {
                [Some(right), left.as_ref()].into_iter().flatten().flat_map(|edge| edge.breaks_mm()).collect::<Vec<_>>()
            }
        };
        let mut places: Vec<f64> = even.chain(corners).collect();
        places.sort_by(f64::total_cmp);
        places.into_iter().map(|s| (s, self.width_mm(s))).collect()
    }

    /// The waist between two wider places, where there is one: its depth and radius where it is deepest against the straight
    /// line between them, its place where it is narrowest.
    pub(crate) fn sidecut(&self) -> Option<Sidecut> {
        let widths = self.widths();
        let widest =
            |of: &[(f64, f64)]| of.iter().copied().fold((0.0, 0.0), |most, w| if w.1 > most.1 { w } else { most });
        let mut toward_tip: Vec<(f64, f64)> = widths.clone();
        for i in (0..toward_tip.len().saturating_sub(1)).rev() {
            if toward_tip[i].1 < toward_tip[i + 1].1 {
                toward_tip[i] = toward_tip[i + 1];
            }
        }
        let mut deepest: Option<Sidecut> = None;
        let mut tail = widest(&widths[..1]);
        for (at, tip) in widths.iter().zip(&toward_tip) {
            tail = if at.1 > tail.1 { *at } else { tail };
            if !(tail.0 < at.0 && at.0 < tip.0) {
                continue;
            }
            let share = (at.0 - tail.0) / (tip.0 - tail.0);
            let depth_mm = 0.5 * (tail.1 + share * (tip.1 - tail.1) - at.1);
            if depth_mm >= deepest.map_or(LEAST_SIDECUT_MM, |d| d.depth_mm) {
                let points = [tail, *at, *tip].map(|(s, w)| Point::new(s, 0.5 * w));
                let radius_mm = circle_radius_mm(points);
                deepest = Some(Sidecut { waist_mm: at.0, widest_mm: (tail.0, tip.0), depth_mm, radius_mm });
            }
        }
        deepest.map(|found| Sidecut { waist_mm: narrowest_mm(&widths, found.widest_mm), ..found })
    }

    /// Radius of the circle through the edge at three stations, both sides taken together, mm: positive where the edge is
    /// hollow as at a waist, negative where it is round, `None` where it is straight.
    pub(crate) fn edge_radius_mm(&self, before_mm: f64, s_mm: f64, after_mm: f64) -> Option<f64> {
        let radius_mm = circle_radius_mm([before_mm, s_mm, after_mm].map(|s| Point::new(s, 0.5 * self.width_mm(s))));
        (radius_mm.abs() < STRAIGHT_MM).then_some(radius_mm)
    }

    /// Widest place and the width there, mm.
    pub(crate) fn widest_mm(&self) -> (f64, f64) {
        self.widths().into_iter().fold((0.0, 0.0), |most, w| if w.1 > most.1 { w } else { most })
    }

    fn width_fault(&self, width_mm: f64) -> Option<Fault> {
        let (at, widest) = self.widest_mm();
        ((widest - width_mm).abs() > SIZE_MM).then(|| {
            codes::OUTLINE_WIDTH.at(
                "board.outline",
                phrase!(
                    "the outline is {} wide where it is widest, at station {}, and the board is {} wide.",
                    Quantity::exact(widest),
                    Quantity::place(at),
                    Quantity::exact(width_mm)
                ),
            )
        })
    }

    /// Holes that do not lie inside of the outline, or meet another.
    fn hole_faults(&self) -> Vec<Fault> {
        let mut faults = Vec::new();
        for (i, hole) in self.holes.iter().enumerate() {
            let center = Point::new(hole.station_mm, hole.side_mm);
            let path = format!("board.holes[{i}]");
            let wood_mm = distance_mm(center, self.sides()) - 0.5 * hole.diameter_mm;
            if !is_inside(center, self.sides()) || wood_mm <= 0.0 {
                faults.push(codes::BOARD_HOLE_OUTSIDE.at(path, "the hole does not lie inside the board's outline."));
                continue;
            }
            let meets = |other: &&BoardHole| {
                let apart = center.distance(Point::new(other.station_mm, other.side_mm));
                apart <= 0.5 * (hole.diameter_mm + other.diameter_mm)
            };
            if self.holes[..i].iter().any(|other| meets(&other)) {
                faults.push(codes::BOARD_HOLES_MEET.at(path, "the hole meets one that is listed before it."));
            }
        }
        faults
    }
}

/// Where a board is narrowest between two places, mm; the middle of the narrowest stretch.
fn narrowest_mm(widths: &[(f64, f64)], (from, to): (f64, f64)) -> f64 {
    let inside = || widths.iter().filter(|w| w.0 > from && w.0 < to);
    let least = inside().map(|w| w.1).fold(f64::INFINITY, f64::min);
    let narrow = inside().filter(|w| w.1 - least < 1e-6).map(|w| w.0);
    let (first, last) = narrow.fold((to, from), |(first, last), s| (s.min(first), s.max(last)));
    0.5 * (first + last)
}

/// Radius of the circle through three points, mm, positive where they turn to the left: product of the sides over four times
/// the area.
fn circle_radius_mm([a, b, c]: [Point; 3]) -> f64 {
    a.distance(b) * b.distance(c) * c.distance(a) / (2.0 * (b - a).cross(c - a))
}

#[cfg(test)]
mod tests;
