//! `[rocker.*]`: the rocker that is wanted.

use serde::Deserialize;

use super::drawn::{self, RawDrawn};
use super::inputs::Inputs;
use super::measured::{self, RawMeasured};
use super::quantity::Quantity;
use super::reader::{LONGEST_MM, Range, Reader};
use crate::codes;
use crate::finding::Fault;
use crate::job::{Bend, CurvatureTable, Rocker, Segment, SegmentShape, Segments};
use crate::units::Dimension;

#[derive(Debug, Default, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default)]
pub(super) struct RawRocker {
    /// One curve from end to end.
    arc: Option<RawBend>,
    /// Parts from tail to tip, joined without a kink.
    segments: Option<RawSegments>,
    /// Curvature at stations, linear in between.
    curve: Option<RawCurve>,
    /// Heights read off a board.
    measured: Option<RawMeasured>,
    /// The base drawn in a CAD program.
    drawing: Option<RawDrawn>,
}

#[derive(Debug, Default, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default)]
struct RawBend {
    /// Length of a part along the base; the whole board takes its own.
    ///
    /// Takes a length over 0 up to 20000 mm; the rest of the board when left out of one part.
    length: Option<Quantity>,
    /// Radius of the base.
    ///
    /// Takes a length over 0 up to 100000000 mm or `solve`.
    radius: Option<Quantity>,
    /// Angle through which the base turns.
    ///
    /// Takes an angle over 0 up to 180 deg or `solve`.
    angle: Option<Quantity>,
    /// Height that the ends of a whole board, or the outer end of a part, gain.
    ///
    /// Takes a length over 0 up to 20000 mm.
    height: Option<Quantity>,
    /// Gap in the middle under a straightedge of length `chord`.
    ///
    /// Takes a length over 0 up to 20000 mm.
    rise: Option<Quantity>,
    /// Length of the straightedge that `rise` is measured under.
    ///
    /// Takes a length over 0 up to 20000 mm.
    chord: Option<Quantity>,
}

#[derive(Debug, Default, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default)]
struct RawSegments {
    /// The parts, each with exactly one of `flat`, `arc`, `camber`, `easing`.
    parts: Option<Vec<RawPart>>,
    /// The list runs from the middle outwards, and its first part spans the middle.
    ///
    /// Takes true or false; `false` when left out.
    mirrored: Option<Quantity>,
    /// Height of the tip that an arc with radius = "solve" is bent for.
    ///
    /// Takes a length from 0 to 20000 mm.
    tip_height: Option<Quantity>,
    /// Height of the tail that an arc with radius = "solve" is bent for.
    ///
    /// Takes a length from 0 to 20000 mm.
    tail_height: Option<Quantity>,
}

#[derive(Debug, Default, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default)]
struct RawPart {
    /// A straight stretch.
    flat: Option<RawStretch>,
    /// A stretch that bends the ends up.
    arc: Option<RawBend>,
    /// A stretch that bends the middle up.
    camber: Option<RawBend>,
    /// Curvature that runs evenly from its neighbour before to the one behind.
    easing: Option<RawEasing>,
}

#[derive(Debug, Default, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default)]
struct RawStretch {
    /// Length along the base.
    ///
    /// Takes a length over 0 up to 20000 mm; the rest of the board when left out of one part.
    length: Option<Quantity>,
}

#[derive(Debug, Default, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default)]
struct RawEasing {
    /// Length along the base.
    ///
    /// Takes a length over 0 up to 20000 mm; the rest of the board when left out of one part.
    length: Option<Quantity>,
    /// Radius at its beginning, negative for camber.
    ///
    /// Takes a length from -100000000 to 100000000 mm but not 0; that of the part before when left out.
    from_radius: Option<Quantity>,
    /// Radius at its end, negative for camber.
    ///
    /// Takes a length from -100000000 to 100000000 mm but not 0; that of the part behind when left out.
    to_radius: Option<Quantity>,
}

#[derive(Debug, Default, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default)]
struct RawCurve {
    /// Stations in growing order; two at one station make a jump.
    points: Option<Vec<RawPoint>>,
    /// Where stations are counted from.
    ///
    /// Takes one of `tail`, `middle`, `tip`; `tail` when left out.
    from: Option<Quantity>,
}

#[derive(Debug, Default, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default)]
struct RawPoint {
    /// Place along the base.
    ///
    /// Takes a length from -20000 to 20000 mm; must be given.
    station: Option<Quantity>,
    /// Curvature there, negative for camber.
    ///
    /// Takes a curvature from -1000 to 1000 1/m.
    curvature: Option<Quantity>,
    /// Radius there, negative for camber.
    ///
    /// Takes a length from -100000000 to 100000000 mm but not 0.
    radius: Option<Quantity>,
}

/// Most points of a listed curvature.
const MOST_POINTS: usize = 5000;
/// The word in the place of a radius or an angle that is to be found.
const SOLVE: &str = "solve";
/// Most segments of one rocker.
const MOST_SEGMENTS: usize = 200;
/// Largest radius that is told from a flat, mm: over 20 m of board it rises 0.5 mm only.
const LARGEST_RADIUS_MM: f64 = 1e8;

/// Files that the rocker is read from.
pub(super) fn files(raw: &RawRocker) -> Vec<String> {
    let measured = raw.measured.as_ref().and_then(measured::files);
    let drawn = raw.drawing.as_ref().and_then(drawn::files);
    let named = [measured, drawn].into_iter().flatten();
    named.filter_map(|q| if let Quantity::Text(name) = q { Some(name.trim().to_owned()) } else { None }).collect()
}

pub(super) fn check(reader: &mut Reader, raw: Option<RawRocker>, inputs: &Inputs) -> Option<Rocker> {
    let Some(raw) = raw else {
        reader.missing("rocker", "Add a table [rocker.arc] or [rocker.segments].");
        return None;
    };
    let choices = [
        ("arc", raw.arc.is_some()),
        ("segments", raw.segments.is_some()),
        ("curve", raw.curve.is_some()),
        ("measured", raw.measured.is_some()),
        ("drawing", raw.drawing.is_some()),
    ];
    reader.one_of("rocker", &choices, "the rocker")?;
    if let Some(curve) = &raw.curve {
        return self::curve(reader, curve).map(Rocker::Curve);
    }
    if let Some(measured) = &raw.measured {
        let (readings, ends) = measured::check(reader, measured, "rocker.measured", inputs)?;
        return Some(Rocker::Measured { readings, ends });
    }
    if let Some(drawing) = &raw.drawing {
        return drawn::check(reader, drawing, inputs).map(Rocker::Drawing);
    }
    if let Some(arc) = raw.arc {
        if arc.length.is_some() {
            reader.faults.push(Fault::new(
                codes::UNKNOWN_KEY,
                "rocker.arc.length",
                "the arc's length is the board's length.",
                "Take this key out and give the length in [board].",
            ));
        }
        return bend(reader, &arc, "rocker.arc", 1.0).map(Rocker::Arc);
    }
    segments(reader, raw.segments?)
}

fn segments(reader: &mut Reader, raw: RawSegments) -> Option<Rocker> {
    let path = "rocker.segments.parts";
    let parts = raw.parts.unwrap_or_default();
    if parts.is_empty() {
        reader.missing(path, "List the parts from tail to tip: parts = [ { arc = { ... } }, { flat = { ... } } ].");
        return None;
    }
    if parts.len() > MOST_SEGMENTS {
        reader.faults.push(Fault::new(
            codes::TOO_MANY,
            path,
            format!("{} parts are given.", parts.len()),
            format!("At most {MOST_SEGMENTS} are read."),
        ));
        return None;
    }
    let made: Vec<Option<Segment>> =
        parts.iter().enumerate().map(|(i, p)| segment(reader, p, &format!("{path}[{i}]"))).collect();
    let mirrored = reader.flag(raw.mirrored.as_ref(), "rocker.segments.mirrored", false);
    let parts = made.into_iter().collect::<Option<Vec<_>>>()?;
    let tip_height_mm = end(reader, raw.tip_height.as_ref(), "rocker.segments.tip_height");
    let tail_height_mm = end(reader, raw.tail_height.as_ref(), "rocker.segments.tail_height");
    Some(Rocker::Segments(Segments { parts, mirrored, tip_height_mm, tail_height_mm }))
}

/// The height that an end is to have.
fn end(reader: &mut Reader, value: Option<&Quantity>, path: &str) -> Option<f64> {
    reader.optional(value, path, Dimension::Length, Range::NotNegative(LONGEST_MM))
}

fn curve(reader: &mut Reader, raw: &RawCurve) -> Option<CurvatureTable> {
    let list = "rocker.curve.points";
    let origin = measured::origin(reader, raw.from.as_ref(), "rocker.curve.from");
    let points = raw.points.as_deref().unwrap_or_default();
    if points.is_empty() {
        reader.missing(list, "List points from end to end: points = [ { station = 0, radius = 900 }, ... ].");
        return None;
    }
    if points.len() > MOST_POINTS {
        reader.faults.push(Fault::new(
            codes::TOO_MANY,
            list,
            format!("{} points are given.", points.len()),
            format!("At most {MOST_POINTS} are read."),
        ));
        return None;
    }
    let made: Vec<Option<(f64, f64)>> =
        points.iter().enumerate().map(|(i, p)| point(reader, p, &format!("{list}[{i}]"))).collect();
    Some(CurvatureTable { points: made.into_iter().collect::<Option<_>>()?, origin })
}

/// Station, and curvature there given as such or by its radius.
fn point(reader: &mut Reader, raw: &RawPoint, path: &str) -> Option<(f64, f64)> {
    let along = Range::Within(-LONGEST_MM, LONGEST_MM);
    let station = reader.required(raw.station.as_ref(), &format!("{path}.station"), Dimension::Length, along);
    let choices = [("curvature", raw.curvature.is_some()), ("radius", raw.radius.is_some())];
    let choice = reader.one_of(path, &choices, "how much it bends here")?;
    let path = format!("{path}.{choice}");
    let curvature = if choice == "radius" {
        signed_radius(reader, raw.radius.as_ref(), &path).map(f64::recip)
    } else {
        reader.required(raw.curvature.as_ref(), &path, Dimension::Curvature, Range::Within(-1.0, 1.0))
    };
    Some((station?, curvature?))
}

/// A radius, negative for camber.
fn signed_radius(reader: &mut Reader, value: Option<&Quantity>, path: &str) -> Option<f64> {
    let range = Range::Within(-LARGEST_RADIUS_MM, LARGEST_RADIUS_MM);
    let radius = reader.optional(value, path, Dimension::Length, range)?;
    if radius == 0.0 {
        reader.faults.push(Fault::new(
            codes::OUT_OF_RANGE,
            path,
            "`radius` is 0.",
            "Give a radius, negative for camber; for a straight place give curvature = 0.",
        ));
        return None;
    }
    Some(radius)
}

fn segment(reader: &mut Reader, raw: &RawPart, path: &str) -> Option<Segment> {
    let choices = [
        ("flat", raw.flat.is_some()),
        ("arc", raw.arc.is_some()),
        ("camber", raw.camber.is_some()),
        ("easing", raw.easing.is_some()),
    ];
    let choice = reader.one_of(path, &choices, "the kind of this part")?;
    let path = format!("{path}.{choice}");
    let length = match choice {
        "flat" => raw.flat.as_ref()?.length.as_ref(),
        "easing" => raw.easing.as_ref()?.length.as_ref(),
        "arc" => raw.arc.as_ref()?.length.as_ref(),
        _ => raw.camber.as_ref()?.length.as_ref(),
    };
    let wrong_before = reader.faults.len();
    let length_mm = reader.optional(length, &format!("{path}.length"), Dimension::Length, Range::Positive(LONGEST_MM));
    let shape = match choice {
        "flat" => SegmentShape::Flat,
        "easing" => {
            let easing = raw.easing.as_ref()?;
            SegmentShape::Easing {
                from_radius_mm: signed_radius(reader, easing.from_radius.as_ref(), &format!("{path}.from_radius")),
                to_radius_mm: signed_radius(reader, easing.to_radius.as_ref(), &format!("{path}.to_radius")),
            }
        }
        "arc" => SegmentShape::Arc(bend(reader, raw.arc.as_ref()?, &path, 1.0)?),
        _ => SegmentShape::Arc(bend(reader, raw.camber.as_ref()?, &path, -1.0)?),
    };
    (reader.faults.len() == wrong_before).then_some(Segment { length_mm, shape })
}

/// How much an arc bends; `sign` is -1 for a camber.
fn bend(reader: &mut Reader, raw: &RawBend, path: &str, sign: f64) -> Option<Bend> {
    let choices = [
        ("height", raw.height.is_some()),
        ("radius", raw.radius.is_some()),
        ("angle", raw.angle.is_some()),
        ("rise", raw.rise.is_some()),
    ];
    let choice = reader.one_of(path, &choices, "how much it bends")?;
    let chord_path = format!("{path}.chord");
    if choice != "rise" && raw.chord.is_some() {
        reader.faults.push(Fault::new(
            codes::UNKNOWN_KEY,
            &chord_path,
            "a chord goes with a rise.",
            "Give the rise over this chord, or take the chord out.",
        ));
    }
    let path = format!("{path}.{choice}");
    let solve = |q: &Option<Quantity>| matches!(q, Some(Quantity::Text(t)) if t.trim() == SOLVE);
    if sign > 0.0 && (solve(&raw.radius) || solve(&raw.angle)) {
        return Some(Bend::Solved);
    }
    match choice {
        "rise" => {
            let range = Range::Positive(LONGEST_MM);
            if raw.chord.is_none() {
                let remedy = "`rise` is the gap under a straightedge of length `chord`: give `chord` as well, or write \
                              `height` for what the whole part rises.";
                reader.missing(&chord_path, remedy);
                return None;
            }
            let rise = reader.required(raw.rise.as_ref(), &path, Dimension::Length, range);
            let chord_mm = reader.required(raw.chord.as_ref(), &chord_path, Dimension::Length, range)?;
            Some(Bend::Rise { rise_mm: sign * rise?, chord_mm })
        }
        "height" => {
            let h = reader.required(raw.height.as_ref(), &path, Dimension::Length, Range::Positive(LONGEST_MM))?;
            Some(Bend::Height(sign * h))
        }
        "radius" => {
            let range = Range::Positive(LARGEST_RADIUS_MM);
            Some(Bend::Radius(sign * reader.required(raw.radius.as_ref(), &path, Dimension::Length, range)?))
        }
        _ => {
            let half_turn = Range::Positive(std::f64::consts::PI);
            Some(Bend::Angle(sign * reader.required(raw.angle.as_ref(), &path, Dimension::Angle, half_turn)?))
        }
    }
}
