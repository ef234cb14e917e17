//! The wanted rocker, as the shop said it.

use super::{DrawnProfile, Ends, Origin, Readings};

/// One way to say a target curve.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum Rocker {
    /// One arc from end to end.
    Arc(Bend),
    /// Flats, arcs and easings, one behind the other.
    Segments(Segments),
    /// Curvature at stations.
    Curve(CurvatureTable),
    /// Heights read off a board.
    Measured {
        /// What was read.
        readings: Readings,
        /// What the curvature does at the ends.
        ends: Ends,
    },
    /// A profile drawn in a CAD program.
    Drawing(DrawnProfile),
}

/// How much an arc bends. Positive values bring the ends up (rocker), negative ones bring the middle up (camber);
/// the document writes an arc with a negative bend as `camber`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Bend {
    /// Radius at the base, mm.
    Radius(f64),
    /// Angle turned over its length, rad.
    Angle(f64),
    /// Height gained over its length while the board rests, mm. For an arc that holds the place where the board
    /// rests, and for a camber, the height of its ends above its middle.
    Height(f64),
    /// Rise over a chord, mm, as a straightedge of that length shows it anywhere on the arc.
    Rise {
        /// Rise of the middle (negative) or of the ends (positive) over the chord, mm.
        rise_mm: f64,
        /// Length of the chord, mm.
        chord_mm: f64,
    },
    /// Whatever gives tip or tail the height that the segments ask for.
    Solved,
}

/// Stretches of the base that join without a kink.
#[derive(Debug, Clone, PartialEq)]
pub struct Segments {
    /// The stretches: from tail to tip or, where `mirrored`, from the middle outwards.
    pub parts: Vec<Segment>,
    /// The board is alike at tip and tail: the first part spans the middle and is given by its whole length, the
    /// others lie on both sides of it.
    pub mirrored: bool,
    /// Height that the tip is to have above the lowest point, mm; one arc is then [`Bend::Solved`].
    pub tip_height_mm: Option<f64>,
    /// Height that the tail is to have above the lowest point, mm; likewise.
    pub tail_height_mm: Option<f64>,
}

/// A stretch of the base.
#[derive(Debug, Clone, PartialEq)]
pub struct Segment {
    /// Length along the base, mm; `None` takes what the others leave.
    pub length_mm: Option<f64>,
    /// Its shape.
    pub shape: SegmentShape,
}

/// The shape of a stretch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SegmentShape {
    /// Straight.
    Flat,
    /// Of one curvature.
    Arc(Bend),
    /// Curvature that runs linearly from that of the neighbour before to that of the neighbour behind; at an end of the
    /// board it runs out to none. A radius of its own, mm, takes the neighbour's place; negative for camber.
    Easing {
        /// Radius where it begins: toward the tail or, in a mirrored list, toward the middle.
        from_radius_mm: Option<f64>,
        /// Radius where it ends: toward the tip or, in a mirrored list, outwards.
        to_radius_mm: Option<f64>,
    },
}

/// Curvature at stations along the base, linear in between.
#[derive(Debug, Clone, PartialEq)]
pub struct CurvatureTable {
    /// Station, mm, and curvature, 1/mm, stations growing. Two rows at one station make a jump.
    pub points: Vec<(f64, f64)>,
    /// Where the stations are counted from.
    pub origin: Origin,
}
