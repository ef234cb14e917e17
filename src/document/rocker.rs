//! `[rocker]`: the rocker that is wanted.

use super::drawn::drawn;
use super::inputs::Inputs;
use super::keys::Range::{NotZero, UpTo, Within};
use super::measured::{self, measured};
use super::reader::LONGEST_MM;
use super::section::Section;
use crate::codes;
use crate::job::{Bend, CurvatureTable, Rocker, Segment, SegmentShape, Segments};
use crate::units::Dimension;

/// Most points of a listed curvature.
const MOST_POINTS: usize = 5000;
/// The word in the place of a radius or an angle that is to be found.
const SOLVE: &str = "solve";
/// Most segments of one rocker.
const MOST_SEGMENTS: usize = 200;
/// Largest radius that is told from a flat, mm: over 20 m of board it rises 0.5 mm only.
const LARGEST_RADIUS_MM: f64 = 1e8;

/// Reads one of the ways to say a curve from end to end.
pub(super) fn rocker(at: &mut Section<'_, '_>, inputs: &Inputs) -> Option<Rocker> {
    let ways = [
        at.table("arc", "One curve from end to end.", |at| bend(at, 1.0).map(Rocker::Arc)).optional(),
        at.table("segments", "Parts from tail to tip, joined without a kink.", segments).optional(),
        at.table("curve", "Curvature at stations, linear in between.", curve).optional(),
        at.table("measured", "Heights read off a board.", |at| {
            let (readings, ends) = measured(at, inputs)?;
            Some(Rocker::Measured { readings, ends })
        })
        .optional(),
        at.table("drawing", "The base drawn in a CAD program.", |at| drawn(at, inputs).map(Rocker::Drawing)).optional(),
    ];
    at.one_of(&["arc", "segments", "curve", "measured", "drawing"], "the rocker")?;
    ways.into_iter().flatten().next()
}

fn segments(at: &mut Section<'_, '_>) -> Option<Rocker> {
    let meaning = "The parts, each with exactly one of `flat`, `arc`, `camber`, `easing`.";
    let parts = at.tables("parts", (1, MOST_SEGMENTS), meaning, |at, _| segment(at));
    let parts = parts.needed("List the parts from tail to tip: parts = [ { arc = { ... } }, { flat = { ... } } ].");
    let meaning = "The list runs from the middle outwards, and its first part spans the middle.";
    let mirrored = at.flag("mirrored", meaning).or(false);
    let height = Within(0.0, LONGEST_MM);
    let meaning = "Height of the tip that an arc with radius = \"solve\" is bent for.";
    let tip_height_mm = at.length("tip_height", height, meaning).optional();
    let meaning = "Height of the tail that an arc with radius = \"solve\" is bent for.";
    let tail_height_mm = at.length("tail_height", height, meaning).optional();
    Some(Rocker::Segments(Segments { parts: parts?, mirrored, tip_height_mm, tail_height_mm }))
}

fn segment(at: &mut Section<'_, '_>) -> Option<Segment> {
    let flat = at
        .table("flat", "A straight stretch.", |at| Some(Segment { length_mm: length(at), shape: SegmentShape::Flat }));
    let bent = |at: &mut Section<'_, '_>, sign| {
        let length_mm = length(at);
        Some(Segment { length_mm, shape: SegmentShape::Arc(bend(at, sign)?) })
    };
    let ways = [
        flat.optional(),
        at.table("arc", "A stretch that bends the ends up.", |at| bent(at, 1.0)).optional(),
        at.table("camber", "A stretch that bends the middle up.", |at| bent(at, -1.0)).optional(),
        at.table("easing", "Curvature that runs evenly from its neighbour before to the one behind.", easing)
            .optional(),
    ];
    at.one_of(&["flat", "arc", "camber", "easing"], "the kind of this part")?;
    ways.into_iter().flatten().next()
}

/// The length of a part.
fn length(at: &mut Section<'_, '_>) -> Option<f64> {
    let meaning = "Length of the part along the base; one part may go without.";
    at.length("length", UpTo(LONGEST_MM), meaning).otherwise("the rest of the board")
}

fn easing(at: &mut Section<'_, '_>) -> Option<Segment> {
    let length_mm = length(at);
    let radius = NotZero(LARGEST_RADIUS_MM);
    let from = at.length("from_radius", radius, "Radius at its beginning, negative for camber.");
    let from_radius_mm = from.otherwise("that of the part before");
    let to = at.length("to_radius", radius, "Radius at its end, negative for camber.");
    let to_radius_mm = to.otherwise("that of the part behind");
    Some(Segment { length_mm, shape: SegmentShape::Easing { from_radius_mm, to_radius_mm } })
}

/// How much a curve bends; `sign` is -1 for a camber.
fn bend(at: &mut Section<'_, '_>, sign: f64) -> Option<Bend> {
    // A camber is not solved for.
    let mut turn = |key, dimension, range, meaning| match sign > 0.0 {
        true => at.quantity_or(key, SOLVE, (dimension, range), meaning).optional(),
        false => at.quantity(key, dimension, range, meaning).optional().map(Some),
    };
    let radius = turn("radius", Dimension::Length, UpTo(LARGEST_RADIUS_MM), "Radius of the base.");
    let angle = turn("angle", Dimension::Angle, UpTo(std::f64::consts::PI), "Angle through which the base turns.");
    let long = UpTo(LONGEST_MM);
    let meaning = "Height that the ends of a whole board, or the outer end of a part, gain.";
    let height = at.length("height", long, meaning).optional();
    let rise = at.length("rise", long, "Gap in the middle under a straightedge of length `chord`.").optional();
    let chord = at.length("chord", long, "Length of the straightedge that `rise` is measured under.").optional();
    let choice = at.one_of(&["height", "radius", "angle", "rise"], "how much it bends")?;
    if choice != "rise" && at.has("chord") {
        let remedy = "Give the rise over this chord, or take the chord out.";
        at.fault(codes::UNKNOWN_KEY, "chord", "a chord goes with a rise.", remedy);
    }
    if choice == "rise" && !at.has("chord") {
        let remedy = "`rise` is the gap under a straightedge of length `chord`: give `chord` as well, or write \
                      `height` for what the whole part rises.";
        at.missing("chord", remedy);
    }
    Some(match choice {
        "rise" => Bend::Rise { rise_mm: sign * rise?, chord_mm: chord? },
        "height" => Bend::Height(sign * height?),
        "radius" => radius?.map_or(Bend::Solved, |radius| Bend::Radius(sign * radius)),
        _ => angle?.map_or(Bend::Solved, |angle| Bend::Angle(sign * angle)),
    })
}

fn curve(at: &mut Section<'_, '_>) -> Option<Rocker> {
    let meaning = "Stations in growing order; two at one station make a jump.";
    let points = at.tables("points", (1, MOST_POINTS), meaning, |at, _| point(at));
    let points = points.needed("List points from end to end: points = [ { station = 0, radius = 900 }, ... ].");
    let origin = at.choice("from", &measured::ORIGINS, "Where stations are counted from.");
    Some(Rocker::Curve(CurvatureTable { points: points?, origin }))
}

/// Station, and curvature there given as such or by its radius.
fn point(at: &mut Section<'_, '_>) -> Option<(f64, f64)> {
    let station = at.length("station", Within(-LONGEST_MM, LONGEST_MM), "Place along the base.").required();
    let meaning = "Curvature there, negative for camber.";
    let curvature = at.quantity("curvature", Dimension::Curvature, Within(-1.0, 1.0), meaning).optional();
    let meaning = "Radius there, negative for camber.";
    let radius = at.length("radius", NotZero(LARGEST_RADIUS_MM), meaning).optional();
    at.one_of(&["curvature", "radius"], "how much it bends here")?;
    Some((station?, curvature.or(radius.map(f64::recip))?))
}
