//! Strokes put in order from tail to tip.

use std::collections::BTreeMap;
use std::f64::consts::{PI, TAU};

use kurbo::Point;

use super::found::PATH;
use super::stroke::Stroke;
use crate::codes;
use crate::finding::Fault;
use crate::units::{Phrase, Quantity, phrase};

/// Ends that coincide but for rounding, mm.
const SAME_MM: f64 = 1e-6;

/// Change of direction from one stroke to the next, rad.
pub(crate) fn kink(before: &Stroke, behind: &Stroke) -> f64 {
    (behind.start_rad() - before.end_rad() + PI).rem_euclid(TAU) - PI
}

/// The strokes in one line from its left end to its right one.
///
/// # Errors
/// Reports where the line branches, is open, runs back into itself, or is not one line.
pub(crate) fn joined(strokes: Vec<Stroke>, gap_mm: f64) -> Result<Vec<Stroke>, Fault> {
    let line = single(strokes, gap_mm)?;
    let (from, to) = (start(&line), end(&line));
    if from.distance(to) <= gap_mm.max(SAME_MM) {
        return Err(codes::DRAWING_CLOSED.at(PATH, "the drawn line runs back into itself."));
    }
    Ok(without_specks(if from.x <= to.x { line } else { reversed(line) }, gap_mm))
}

/// The strokes in one line, each going on where the one before ended; of a closed one, cut open somewhere.
///
/// Ends that coincide are joined first, so that a curve drawn in pieces shorter than `gap_mm` stays one line; then ends
/// within the gap. The time is that of sorting the ends.
///
/// # Errors
/// Reports where the line branches or is not one line.
pub(super) fn single(strokes: Vec<Stroke>, gap_mm: f64) -> Result<Vec<Stroke>, Fault> {
    let gap_mm = gap_mm.max(SAME_MM);
    let single = strokes.into_iter().filter(|s| s.length_mm() > SAME_MM).map(|s| vec![s]).collect();
    let runs = Ends::of(single, SAME_MM).runs();
    // What is shorter than a joint's gap is a speck.
    let runs: Vec<Vec<Stroke>> =
        runs.into_iter().filter(|run| run.iter().map(Stroke::length_mm).sum::<f64>() > gap_mm).collect();
    if runs.is_empty() {
        return Err(Fault::new(
            codes::DRAWING_EMPTY,
            PATH,
            "no line, arc, polyline or spline was found.",
            "Draw the wanted line on the layer or under the id that is named.",
        ));
    }
    let ends = Ends::of(runs, gap_mm);
    if let Some(branch) = ends.branch() {
        return Err(codes::DRAWING_BRANCHES.at(PATH, phrase!("more than two ends meet at {}.", shown(branch))));
    }
    let mut runs = ends.runs();
    let left_of = |run: &Vec<Stroke>| start(run).x.min(end(run).x);
    runs.sort_by(|a, b| left_of(a).total_cmp(&left_of(b)));
    let first = runs.remove(0);
    let at = if start(&first).x <= end(&first).x { end(&first) } else { start(&first) };
    // Where the next line is nearest, to show what is missing.
    let nearest = runs.iter().flat_map(|r| [start(r), end(r)]).map(|p| p.distance(at)).min_by(f64::total_cmp);
    let Some(nearest_mm) = nearest else { return Ok(first) };
    Err(codes::DRAWING_GAP.at(
        PATH,
        phrase!("the line ends at {}, and the next one begins {} away.", shown(at), Quantity::exact(nearest_mm)),
    ))
}

/// The line with strokes no longer than the gap made one with their neighbours: their directions are rounding.
fn without_specks(line: Vec<Stroke>, gap_mm: f64) -> Vec<Stroke> {
    let mut out: Vec<Stroke> = Vec::new();
    let mut from: Option<Point> = None;
    for stroke in line {
        if stroke.length_mm() > gap_mm {
            from = None;
            out.push(stroke);
            continue;
        }
        let start = *from.get_or_insert(stroke.start());
        if start.distance(stroke.end()) > gap_mm {
            out.push(Stroke::line(start, stroke.end()));
            from = None;
        }
    }
    out
}

pub(super) fn start(run: &[Stroke]) -> Point {
    run.first().map_or(Point::ORIGIN, Stroke::start)
}

pub(super) fn end(run: &[Stroke]) -> Point {
    run.last().map_or(Point::ORIGIN, Stroke::end)
}

fn reversed(run: Vec<Stroke>) -> Vec<Stroke> {
    run.iter().rev().map(Stroke::reversed).collect()
}

/// Runs of strokes whose ends are looked up by their place.
struct Ends {
    runs: Vec<Vec<Stroke>>,
    near_mm: f64,
    /// Ends (number of the run, whether it is its last point) by the cell that they lie in; ends of one cell are near each
    /// other, so that more than three need not be kept to know of a branch.
    cells: BTreeMap<(i64, i64), Vec<(usize, bool)>>,
}

impl Ends {
    fn of(runs: Vec<Vec<Stroke>>, near_mm: f64) -> Self {
        let mut ends = Self { runs, near_mm, cells: BTreeMap::new() };
        for i in 0..ends.runs.len() {
            for last in [false, true] {
                let cell = ends.cell(ends.point((i, last)));
                let inside = ends.cells.entry(cell).or_default();
                if inside.len() < 3 {
                    inside.push((i, last));
                }
            }
        }
        ends
    }

    fn point(&self, (i, last): (usize, bool)) -> Point {
        if last { end(&self.runs[i]) } else { start(&self.runs[i]) }
    }

    /// Cells are half as wide as ends may be apart.
    fn cell(&self, p: Point) -> (i64, i64) {
        let index = |x: f64| (2.0 * x / self.near_mm).floor() as i64;
        (index(p.x), index(p.y))
    }

    /// Ends near another one.
    fn near(&self, of: (usize, bool)) -> impl Iterator<Item = (usize, bool)> + '_ {
        let at = self.point(of);
        let (column, row) = self.cell(at);
        let around = move |c: i64| c.saturating_sub(2)..=c.saturating_add(2);
        around(column)
            .flat_map(move |c| around(row).map(move |r| (c, r)))
            .filter_map(|cell| self.cells.get(&cell))
            .flatten()
            .copied()
            .filter(move |&other| other != of && self.point(other).distance(at) <= self.near_mm)
    }

    /// The one other end that an end meets; none where it is loose or several meet.
    fn partner(&self, of: (usize, bool)) -> Option<(usize, bool)> {
        let mut near = self.near(of);
        let partner = near.next()?;
        let alone = near.next().is_none() && self.near(partner).nth(1).is_none();
        alone.then_some(partner)
    }

    /// A place where more than two ends meet.
    fn branch(&self) -> Option<Point> {
        let ends = (0..self.runs.len()).flat_map(|i| [(i, false), (i, true)]);
        ends.into_iter().find(|&end| self.near(end).nth(1).is_some()).map(|end| self.point(end))
    }

    /// The runs, joined where exactly two ends meet. A ring is cut open where it is first met.
    fn runs(self) -> Vec<Vec<Stroke>> {
        let partners: Vec<[Option<(usize, bool)>; 2]> =
            (0..self.runs.len()).map(|i| [self.partner((i, false)), self.partner((i, true))]).collect();
        let mut left: Vec<Option<Vec<Stroke>>> = self.runs.into_iter().map(Some).collect();
        let loose = (0..left.len()).flat_map(|i| [(i, false), (i, true)]);
        let (loose, rest): (Vec<_>, Vec<_>) = loose.partition(|&(i, last)| partners[i][usize::from(last)].is_none());
        let mut out = Vec::new();
        for (first, last) in loose.into_iter().chain(rest) {
            let mut line = Vec::new();
            let mut next = Some((first, last));
            while let Some((i, from_last)) = next {
                let Some(run) = left[i].take() else { break };
                line.extend(if from_last { reversed(run) } else { run });
                next = partners[i][usize::from(!from_last)];
            }
            if !line.is_empty() {
                out.push(line);
            }
        }
        out
    }
}

fn shown(p: Point) -> Phrase {
    phrase!("({}, {})", Quantity::exact(p.x), Quantity::exact(p.y))
}
