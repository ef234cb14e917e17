//! A part as lowest and highest point over each place along it.

use kurbo::Point;

use crate::drawing::Contour;

/// Arcs are flattened within this, mm, and what they may bulge beyond is added to every distance.
const FLAT_MM: f64 = 0.02;

/// Lengths count in this, mm, so that the last bit of a sine, which differs from machine to machine, decides nothing.
const GRAIN_MM: f64 = 1e-4;

/// A length in whole grains.
fn in_grains(length_mm: f64) -> f64 {
    (length_mm / GRAIN_MM).round() * GRAIN_MM
}

/// Lowest and highest point of a part over columns of one width. The part's box begins at 0 along and at 0 up.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Profile {
    /// Length of the part, mm.
    pub(super) length_mm: f64,
    /// Height of the part, mm.
    pub(super) height_mm: f64,
    /// Columns that the gap reaches beyond the part's beginning.
    pub(super) before: usize,
    /// Lowest point of the part widened by the gap, from `before` columns ahead of its beginning; infinite where there
    /// is nothing.
    pub(super) low: Vec<f64>,
    /// Highest point of the part itself, from its beginning.
    pub(super) high: Vec<f64>,
}

impl Profile {
    /// The profile of an outline; nothing of it reaches beyond what is said, arcs included.
    pub(super) fn new(outline: &Contour, gap_mm: f64, step_mm: f64) -> Self {
        let bounds = outline.bounds();
        let corner = bounds.origin().to_vec2();
        let points: Vec<Point> = outline.flattened(FLAT_MM).iter().map(|p| *p - corner).collect();
        // This outline and the one below may both bulge, and lengths are rounded.
        let reach = gap_mm + 2.0 * FLAT_MM + 2.0 * GRAIN_MM;
        let before = (reach / step_mm).ceil() as usize;
        let columns = (bounds.width() / step_mm).ceil().max(1.0) as usize;
        let mut low = vec![f64::INFINITY; columns + 2 * before];
        let mut high = vec![f64::NEG_INFINITY; columns];
        for (i, a) in points.iter().enumerate() {
            let b = points[(i + 1) % points.len()];
            let (a, b) = if a.x <= b.x { (*a, b) } else { (b, *a) };
            let lowest_at = if a.y <= b.y { a.x } else { b.x };
            let column = |x: f64| (x / step_mm).floor() as i64;
            // One more on each side than touched: an edge on a column's border belongs to both.
            for c in column(a.x - reach) - 1..=column(b.x + reach) + 1 {
                let (from, to) = (c as f64 * step_mm, (c + 1) as f64 * step_mm);
                if let Some(cell) = usize::try_from(c + before as i64).ok().and_then(|i| low.get_mut(i)) {
                    // The lower side is convex: lowest under the lower end, or at the border nearest to it.
                    for x in [lowest_at.clamp(from, to), from.max(a.x - reach), to.min(b.x + reach)] {
                        *cell = cell.min(lower_side(a, b, reach, x));
                    }
                }
                if let Some(cell) = usize::try_from(c).ok().and_then(|i| high.get_mut(i)) {
                    let (from, to) = (from.max(a.x), to.min(b.x));
                    if from <= to {
                        *cell = cell.max(on(a, b, from).max(on(a, b, to)) + FLAT_MM);
                    }
                }
            }
        }
        low.iter_mut().chain(&mut high).for_each(|l| *l = in_grains(*l));
        Self { length_mm: in_grains(bounds.width()), height_mm: in_grains(bounds.height()), before, low, high }
    }
}

/// Height of the segment over a place within it.
fn on(a: Point, b: Point, x: f64) -> f64 {
    if b.x - a.x < 1e-12 { a.y.max(b.y) } else { a.y + (b.y - a.y) * (x - a.x) / (b.x - a.x) }
}

/// Lowest height over `x` of everything within `reach` of the segment from `a` to `b`, `a` left of `b`.
fn lower_side(a: Point, b: Point, reach: f64, x: f64) -> f64 {
    let around = |p: Point| {
        let beside = (x - p.x).abs();
        if beside > reach { f64::INFINITY } else { p.y - (reach * reach - beside * beside).sqrt() }
    };
    let mut lowest = around(a).min(around(b));
    let along = b - a;
    if along.x > 1e-12 {
        let length = along.hypot();
        // The parallel below, touched where the normal downwards meets it.
        let t = (x - a.x - reach * along.y / length) / along.x;
        if (0.0..=1.0).contains(&t) {
            lowest = lowest.min(a.y + t * along.y - reach * along.x / length);
        }
    }
    lowest
}
