//! `[rocker.*]`: the rocker that is wanted.

use serde::Deserialize;

use super::quantity::Quantity;
use super::reader::{LONGEST_MM, Range, Reader};
use crate::finding::Fault;
use crate::job::{Bend, Rocker, Segment, SegmentShape, Segments};
use crate::units::Dimension;

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct RawRocker {
    arc: Option<RawBend>,
    segments: Option<RawSegments>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
struct RawBend {
    length: Option<Quantity>,
    radius: Option<Quantity>,
    angle: Option<Quantity>,
    height: Option<Quantity>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
struct RawSegments {
    parts: Option<Vec<RawPart>>,
    mirrored: Option<Quantity>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
struct RawPart {
    flat: Option<RawStretch>,
    arc: Option<RawBend>,
    camber: Option<RawBend>,
    easing: Option<RawStretch>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
struct RawStretch {
    length: Option<Quantity>,
}

/// Most segments of one rocker.
const MOST_SEGMENTS: usize = 200;
/// Largest radius that is told from a flat, mm: over 20 m of board it rises 0.5 mm only.
const LARGEST_RADIUS_MM: f64 = 1e8;

pub(super) fn check(reader: &mut Reader, raw: Option<RawRocker>) -> Option<Rocker> {
    let Some(raw) = raw else {
        reader.missing("rocker", "Add a table [rocker.arc] or [rocker.segments].");
        return None;
    };
    let choices = [("arc", raw.arc.is_some()), ("segments", raw.segments.is_some())];
    reader.one_of("rocker", &choices, "the rocker")?;
    if let Some(arc) = raw.arc {
        if arc.length.is_some() {
            reader.faults.push(Fault::new(
                "unknown-key",
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
            "too-many",
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
    Some(Rocker::Segments(Segments { parts, mirrored }))
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
        "easing" => SegmentShape::Easing,
        "arc" => SegmentShape::Arc(bend(reader, raw.arc.as_ref()?, &path, 1.0)?),
        _ => SegmentShape::Arc(bend(reader, raw.camber.as_ref()?, &path, -1.0)?),
    };
    (reader.faults.len() == wrong_before).then_some(Segment { length_mm, shape })
}

/// How much an arc bends; `sign` is -1 for a camber.
fn bend(reader: &mut Reader, raw: &RawBend, path: &str, sign: f64) -> Option<Bend> {
    let choices = [("height", raw.height.is_some()), ("radius", raw.radius.is_some()), ("angle", raw.angle.is_some())];
    let choice = reader.one_of(path, &choices, "how much it bends")?;
    let path = format!("{path}.{choice}");
    match choice {
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
