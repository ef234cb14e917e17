//! Places of screws: only where there is wood all round them.

use kurbo::{Line, Point, Vec2};

use super::rib::Rib;
use crate::drawing::{distance_mm, is_inside, sides};

/// Wood that a screw goes into, mm (common practice, no source).
const BITE_MM: f64 = 30.0;
/// Wood between a screw's middle and any edge, joint or hole, mm (common practice, no source).
const EDGE_MM: f64 = 10.0;
/// Distance of the places that are tried, mm.
const STEP_MM: f64 = 2.0;
/// Depths at which the wood around a screw is looked at, as shares of its bite.
const DEPTHS: [f64; 5] = [0.02, 0.15, 0.33, 0.66, 1.0];

/// The wood of one rib.
pub(super) struct Wood {
    rings: Vec<Vec<Point>>,
}

impl Wood {
    pub(super) fn of(rib: &Rib) -> Self {
        let holes = rib.holes.iter().chain(&rib.bolts).chain(&rib.windows);
        let round = |center: Point, radius: f64| -> Vec<Point> {
            let at = |i: i32| center + Vec2::from_angle(f64::from(i) * std::f64::consts::TAU / 32.0) * radius;
            (0..32).map(at).collect()
        };
        let mut rings: Vec<Vec<Point>> = rib.pieces.iter().map(|p| p.outline.flattened(0.05)).collect();
        rings.extend(rib.hand_holes.iter().map(|h| h.flattened(0.05)));
        rings.extend(holes.map(|h| round(h.center, 0.5 * h.diameter_mm)));
        Self { rings }
    }

    /// Whether a screw at a place of an edge, driven in the direction `into` (of length 1), has wood all round.
    pub(super) fn takes(&self, at: Point, into: Vec2) -> bool {
        let along = Vec2::new(-into.y, into.x) * EDGE_MM;
        let under = at + into * (DEPTHS[0] * BITE_MM);
        let beside = [under + along, under - along].iter().all(|p| is_inside(*p, self.sides()));
        beside
            && DEPTHS.iter().map(|share| share * BITE_MM).all(|depth| {
                let p = at + into * depth;
                // A hair less than the depth: the edge that the screw goes in by is that far away.
                is_inside(p, self.sides()) && distance_mm(p, self.sides()) >= (0.99 * depth).min(EDGE_MM)
            })
    }

    /// Places between two points of an edge, no further apart than `pitch_mm` where the wood goes on between them.
    pub(super) fn screws(&self, from: Point, to: Point, into: Vec2, pitch_mm: f64) -> Vec<Point> {
        let steps = ((to - from).hypot() / STEP_MM).ceil().max(1.0) as usize;
        let at = |i: usize| from.lerp(to, i as f64 / steps as f64);
        let good: Vec<usize> = (0..=steps).filter(|i| self.takes(at(*i), into)).collect();
        let mut places = Vec::new();
        for stretch in good.chunk_by(|a, b| a + 1 == *b) {
            let (a, b) = (at(stretch[0]), at(stretch[stretch.len() - 1]));
            let length = (b - a).hypot();
            if length < 2.0 * EDGE_MM {
                places.push(a.midpoint(b));
                continue;
            }
            let count = (length / pitch_mm).ceil().max(1.0) as usize;
            places.extend((0..=count).map(|i| a.lerp(b, i as f64 / count as f64)));
        }
        places
    }

    fn sides(&self) -> impl Iterator<Item = Line> + '_ {
        self.rings.iter().flat_map(|ring| sides(ring))
    }
}
