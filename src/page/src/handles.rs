//! What can be dragged in the picture, and what a drag writes into the document.

use overbend::curve::PlaneCurve;
use overbend::document::Document;
use overbend::job::{Bend, Board, Origin, Rocker, SegmentShape, Segments, Wanted};
use overbend::rocker::{self, Target};
use overbend::units::{LengthUnit, MM_PER_INCH, Quantity, plain};
use serde_json::{Value, json};

use crate::Opened;
use crate::edit::{Edit, Kind, apply, unit_at, value_at};

/// Shortest stretch that a drag leaves, mm.
const SHORTEST_MM: f64 = 10.0;
/// Lowest height that a drag gives an end, mm.
const LOWEST_MM: f64 = 0.5;
/// Largest radius that a drag writes, mm.
const FLATTEST_MM: f64 = 1e6;
/// Steps in which a bend is searched for a height, and how well it is met, mm. Heights are written to a tenth.
const SEARCH_STEPS: usize = 8;
const MET_MM: f64 = 0.01;

/// A place that can be dragged.
#[derive(Debug, Clone, PartialEq)]
struct Handle {
    name: String,
    /// What a screen reader says.
    label: String,
    /// Station along the base from the middle, mm.
    s_mm: f64,
    moves: Moves,
}

#[derive(Debug, Clone, PartialEq)]
enum Moves {
    /// Up and down: the height of an end, by the bend of part `part` or by the key of the height itself.
    Height { tip: bool, by: HeightKey },
    /// Along the board: the joint before part `after` of the list.
    Joint { after: usize },
    /// Up and down: the height of a reading.
    Reading { index: usize },
    /// Both ways, in the chart of curvature: a point of a listed curve.
    Point { index: usize },
}

#[derive(Debug, Clone, PartialEq)]
enum HeightKey {
    /// The bend of the whole board.
    Arc,
    /// The bend of one part.
    Part(usize),
    /// `tip_height` or `tail_height` of the segments.
    Stated,
}

/// The handles of a rocker, with their places on its curve.
pub(crate) fn listed(rocker: &Rocker, target: &Target, unit: LengthUnit) -> Value {
    let one = |h: Handle| {
        let at = target.curve.at(h.s_mm).point;
        if let (Moves::Point { index }, Rocker::Curve(curve)) = (&h.moves, rocker) {
            let k_per_mm = curve.points.get(*index).map_or(0.0, |p| p.1);
            return json!({
                "name": h.name,
                "label": h.label,
                "chart": true,
                "s": h.s_mm,
                "z": 1e3 * k_per_mm,
                "text": Quantity::curvature(k_per_mm).text(unit),
            });
        }
        let z_mm = match h.moves {
            Moves::Reading { index } => reading_height(rocker, index).unwrap_or(at.y),
            _ => at.y,
        };
        json!({
            "name": h.name,
            "label": h.label,
            "along": matches!(h.moves, Moves::Joint { .. }),
            "s": h.s_mm,
            "x": at.x,
            "z": z_mm,
            "text": match h.moves {
                Moves::Joint { .. } => Quantity::place(h.s_mm).text(unit),
                _ => Quantity::length(z_mm).text(unit),
            },
        })
    };
    handles(rocker, target).into_iter().map(one).collect()
}

/// The document with a handle moved; as it was where the handle cannot go there. `z_mm` is the curvature, 1/m, of a handle in
/// the chart of curvature.
pub(crate) fn drag(opened: &Opened, name: &str, s_mm: f64, z_mm: f64) -> String {
    let moved = || {
        let document = Document::parse(&opened.name, &opened.text).ok()?;
        let wanted = document.wanted_with(&opened.inputs()).ok()?;
        let target = rocker::target(&wanted.rocker, &wanted.board).ok()?;
        let handle = handles(&wanted.rocker, &target).into_iter().find(|h| h.name == name)?;
        let changes = match handle.moves {
            Moves::Height { tip, by } => vec![height(&wanted, tip, &by, z_mm.max(LOWEST_MM))?],
            Moves::Joint { after } => joint(&wanted, &target, after, s_mm)?,
            Moves::Point { index } => point(&opened.text, &wanted, &target, index, (s_mm, 1e-3 * z_mm))?,
            Moves::Reading { index } => vec![(format!("rocker.measured.readings[{index}][1]"), Amount::Length(z_mm))],
        };
        let edits: Vec<Edit> =
            changes.into_iter().map(|(path, amount)| amount.written(&opened.text, path, wanted.unit)).collect();
        apply(&opened.text, &edits).ok()
    };
    moved().unwrap_or_else(|| opened.text.clone())
}

fn handles(rocker: &Rocker, target: &Target) -> Vec<Handle> {
    let (tail_mm, tip_mm) = (target.curvature.start_mm(), target.curvature.end_mm());
    let end = |tip: bool, by: HeightKey| Handle {
        name: if tip { "tip" } else { "tail" }.to_owned(),
        label: if tip { "Tip height" } else { "Tail height" }.to_owned(),
        s_mm: if tip { tip_mm } else { tail_mm },
        moves: Moves::Height { tip, by },
    };
    match rocker {
        Rocker::Arc(_) => vec![end(false, HeightKey::Arc), end(true, HeightKey::Arc)],
        Rocker::Segments(segments) => {
            let bent = |part: usize| match segments.parts.get(part).map(|p| p.shape) {
                Some(SegmentShape::Arc(Bend::Solved)) | None => None,
                Some(SegmentShape::Arc(_)) => Some(HeightKey::Part(part)),
                Some(_) => None,
            };
            let last = segments.parts.len().saturating_sub(1);
            let first = if segments.mirrored { last } else { 0 };
            let stated = |height: Option<f64>| height.map(|_| HeightKey::Stated);
            let tip = stated(segments.tip_height_mm).or_else(|| bent(last));
            let tail = stated(segments.tail_height_mm).or_else(|| bent(first));
            let ends = [(false, tail), (true, tip)];
            let mut all: Vec<Handle> = ends.into_iter().filter_map(|(tip, by)| Some(end(tip, by?))).collect();
            all.extend(joints_mm(segments, target).into_iter().enumerate().map(|(i, s_mm)| Handle {
                name: format!("joint-{}", i + 1),
                label: format!("Joint between part {} and part {}", i + 1, i + 2),
                s_mm,
                moves: Moves::Joint { after: i + 1 },
            }));
            all
        }
        Rocker::Measured { readings, .. } if readings.file.is_none() => {
            let one = |(index, r): (usize, &overbend::job::Reading)| Handle {
                name: format!("reading-{}", index + 1),
                label: format!("Height of reading {}", index + 1),
                s_mm: from_middle(r.station_mm, readings.origin, target).clamp(tail_mm, tip_mm),
                moves: Moves::Reading { index },
            };
            readings.readings.iter().enumerate().map(one).collect()
        }
        Rocker::Curve(curve) => {
            let one = |(index, p): (usize, &(f64, f64))| Handle {
                name: format!("point-{}", index + 1),
                label: format!("Curvature of point {}", index + 1),
                s_mm: from_middle(p.0, curve.origin, target),
                moves: Moves::Point { index },
            };
            curve.points.iter().enumerate().map(one).collect()
        }
        _ => Vec::new(),
    }
}

/// A station as it is counted in the document, from the middle along the base, mm; and the other way round.
fn from_middle(station_mm: f64, origin: Origin, target: &Target) -> f64 {
    match origin {
        Origin::Tail => target.curvature.start_mm() + station_mm,
        Origin::Middle => station_mm,
        Origin::Tip => target.curvature.end_mm() - station_mm,
    }
}

fn counted(s_mm: f64, origin: Origin, target: &Target) -> f64 {
    match origin {
        Origin::Tail => s_mm - target.curvature.start_mm(),
        Origin::Middle => s_mm,
        Origin::Tip => target.curvature.end_mm() - s_mm,
    }
}

/// Station and curvature of a point of a listed curve that is moved. The first and the last keep their stations.
fn point(
    text: &str,
    wanted: &Wanted,
    target: &Target,
    index: usize,
    (s_mm, k_per_mm): (f64, f64),
) -> Option<Vec<(String, Amount)>> {
    let Rocker::Curve(curve) = &wanted.rocker else { return None };
    let path = format!("rocker.curve.points[{index}]");
    let by_radius = value_at(text, &format!("{path}.radius")).is_some();
    let bend = match by_radius {
        true => ("radius", Amount::Length((1.0 / k_per_mm).clamp(-FLATTEST_MM, FLATTEST_MM))),
        false => ("curvature", Amount::Curvature(k_per_mm)),
    };
    let mut changes = vec![(format!("{path}.{}", bend.0), bend.1)];
    if index > 0 && index + 1 < curve.points.len() {
        let station_mm = counted(s_mm, curve.origin, target).round();
        let (before, behind) = (curve.points[index - 1].0, curve.points[index + 1].0);
        if station_mm > before + SHORTEST_MM && station_mm < behind - SHORTEST_MM {
            changes.push((format!("{path}.station"), Amount::Length(station_mm)));
        }
    }
    Some(changes)
}

fn reading_height(rocker: &Rocker, index: usize) -> Option<f64> {
    match rocker {
        Rocker::Measured { readings, .. } => readings.readings.get(index).map(|r| r.height_mm),
        _ => None,
    }
}

/// Stations of the joints between parts; of a mirrored list those toward the tip. Lengths that were left out come from the
/// curvature, whose pieces begin where parts do.
fn joints_mm(segments: &Segments, target: &Target) -> Vec<f64> {
    let (tail_mm, tip_mm) = (target.curvature.start_mm(), target.curvature.end_mm());
    let whole_mm = if segments.mirrored { tip_mm } else { tip_mm - tail_mm };
    let half = |i: usize| if segments.mirrored && i == 0 { 0.5 } else { 1.0 };
    let given: f64 = segments.parts.iter().enumerate().filter_map(|(i, p)| Some(half(i) * p.length_mm?)).sum();
    let mut s_mm = if segments.mirrored { 0.0 } else { tail_mm };
    let mut joints = Vec::new();
    for (i, part) in segments.parts.iter().enumerate() {
        s_mm += part.length_mm.map_or(whole_mm - given, |length| half(i) * length);
        joints.push(s_mm);
    }
    joints.pop();
    joints
}

/// A value that is written in the unit of the one before it.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Amount {
    Length(f64),
    AngleDeg(f64),
    /// 1/mm; written in 1/m.
    Curvature(f64),
}

impl Amount {
    fn written(self, text: &str, path: String, bare: LengthUnit) -> Edit {
        let unit = unit_at(text, &path);
        let value = match (self, unit) {
            (Self::Curvature(per_mm), None) => plain(1e3 * per_mm, 3),
            (Self::Curvature(per_mm), Some(_)) => format!("{} 1/m", plain(1e3 * per_mm, 3)),
            (Self::AngleDeg(degrees), None) => plain(degrees, 2),
            (Self::AngleDeg(degrees), Some(_)) => format!("{} deg", plain(degrees, 2)),
            (Self::Length(mm), None) if matches!(bare, LengthUnit::Millimetre) => plain(mm, 1),
            (Self::Length(mm), None) => plain(mm / MM_PER_INCH, 2),
            (Self::Length(mm), Some(unit)) => match unit.as_str() {
                "in" | "inch" | "inches" => format!("{} in", plain(mm / MM_PER_INCH, 2)),
                "cm" => format!("{} cm", plain(mm / 10.0, 2)),
                "m" => format!("{} m", plain(mm / 1000.0, 4)),
                _ => format!("{} mm", plain(mm, 1)),
            },
        };
        Edit::Set { path, value, kind: Kind::Quantity }
    }
}

/// What gives an end a height of `z_mm`.
fn height(wanted: &Wanted, tip: bool, by: &HeightKey, z_mm: f64) -> Option<(String, Amount)> {
    if *by == HeightKey::Stated {
        let key = if tip { "tip_height" } else { "tail_height" };
        return Some((format!("rocker.segments.{key}"), Amount::Length(z_mm)));
    }
    let (table, bend) = match (by, &wanted.rocker) {
        (HeightKey::Arc, Rocker::Arc(bend)) => ("rocker.arc".to_owned(), *bend),
        (HeightKey::Part(part), Rocker::Segments(segments)) => {
            let SegmentShape::Arc(bend) = segments.parts.get(*part)?.shape else { return None };
            let kind = if scalar(bend)? < 0.0 { "camber" } else { "arc" };
            (format!("rocker.segments.parts[{part}].{kind}"), bend)
        }
        _ => return None,
    };
    let reached = |value: f64| {
        let changed = with_bend(&wanted.rocker, by, with_scalar(bend, value))?;
        height_of(&changed, &wanted.board, tip)
    };
    let value = searched(scalar(bend)?, matches!(bend, Bend::Radius(_)), z_mm, reached)?.abs();
    let (key, amount) = match bend {
        Bend::Height(_) => ("height", Amount::Length(value)),
        Bend::Radius(_) => ("radius", Amount::Length(value)),
        Bend::Angle(_) => ("angle", Amount::AngleDeg(value.to_degrees())),
        Bend::Rise { .. } => ("rise", Amount::Length(value)),
        Bend::Solved => return None,
    };
    Some((format!("{table}.{key}"), amount))
}

fn scalar(bend: Bend) -> Option<f64> {
    match bend {
        Bend::Radius(v) | Bend::Angle(v) | Bend::Height(v) | Bend::Rise { rise_mm: v, .. } => Some(v),
        Bend::Solved => None,
    }
}

fn with_scalar(bend: Bend, value: f64) -> Bend {
    match bend {
        Bend::Radius(_) => Bend::Radius(value),
        Bend::Angle(_) => Bend::Angle(value),
        Bend::Height(_) => Bend::Height(value),
        Bend::Rise { chord_mm, .. } => Bend::Rise { rise_mm: value, chord_mm },
        Bend::Solved => Bend::Solved,
    }
}

fn with_bend(rocker: &Rocker, by: &HeightKey, bend: Bend) -> Option<Rocker> {
    let mut changed = rocker.clone();
    match (by, &mut changed) {
        (HeightKey::Arc, Rocker::Arc(old)) => *old = bend,
        (HeightKey::Part(part), Rocker::Segments(s)) => s.parts.get_mut(*part)?.shape = SegmentShape::Arc(bend),
        _ => return None,
    }
    Some(changed)
}

fn height_of(rocker: &Rocker, board: &Board, tip: bool) -> Option<f64> {
    let target = rocker::target(rocker, board).ok()?;
    Some(if tip { target.tip_height_mm() } else { target.tail_height_mm() })
}

/// The value near `start` at which `reached` is `wanted_mm`, by the secant method on the value, or on its inverse where a
/// height falls as a radius grows.
fn searched(start: f64, inverse: bool, wanted_mm: f64, reached: impl Fn(f64) -> Option<f64>) -> Option<f64> {
    let value = |x: f64| if inverse { 1.0 / x } else { x };
    let mut a = value(start);
    let mut height_a = reached(start)?;
    // A first guess as if height went with the bend; where there is no height yet, a little more bend.
    let mut b = if height_a > LOWEST_MM { a * (wanted_mm / height_a).clamp(0.5, 2.0) } else { a * 1.05 };
    for _ in 0..SEARCH_STEPS {
        let height_b = reached(value(b))?;
        if (height_b - wanted_mm).abs() < MET_MM || height_b == height_a {
            break;
        }
        let next = b + (wanted_mm - height_b) * (b - a) / (height_b - height_a);
        // The sign of a bend is what its key says.
        let next = if next * a > 0.0 { next } else { 0.5 * b };
        (a, height_a, b) = (b, height_b, next);
    }
    Some(value(b))
}

/// Lengths of the parts beside a joint that is moved to `s_mm`.
fn joint(wanted: &Wanted, target: &Target, after: usize, s_mm: f64) -> Option<Vec<(String, Amount)>> {
    let Rocker::Segments(segments) = &wanted.rocker else { return None };
    let joints = joints_mm(segments, target);
    let (tail_mm, tip_mm) = (target.curvature.start_mm(), target.curvature.end_mm());
    let first_mm = if segments.mirrored { 0.0 } else { tail_mm };
    let before_mm = if after >= 2 { joints[after - 2] } else { first_mm };
    let behind_mm = joints.get(after).copied().unwrap_or(tip_mm);
    if behind_mm - before_mm < 2.0 * SHORTEST_MM {
        return None;
    }
    // Places that are read are whole millimetres.
    let s_mm = s_mm.clamp(before_mm + SHORTEST_MM, behind_mm - SHORTEST_MM).round();
    let whole = if segments.mirrored && after == 1 { 2.0 } else { 1.0 };
    let lengths = [(after - 1, whole * (s_mm - before_mm)), (after, behind_mm - s_mm)];
    let changed = lengths.into_iter().filter_map(|(part, length_mm)| {
        let segment = segments.parts.get(part)?;
        segment.length_mm?;
        let kind = match segment.shape {
            SegmentShape::Flat => "flat",
            SegmentShape::Easing { .. } => "easing",
            SegmentShape::Arc(bend) if scalar(bend).is_some_and(|v| v < 0.0) => "camber",
            SegmentShape::Arc(_) => "arc",
        };
        Some((format!("rocker.segments.parts[{part}].{kind}.length"), Amount::Length(length_mm)))
    });
    Some(changed.collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use overbend::document::STARTERS;

    fn opened(text: &str) -> Opened {
        Opened { name: "job.toml".into(), text: text.into(), inputs: serde_json::Map::new() }
    }

    fn heights(text: &str) -> (f64, f64) {
        let wanted = Document::parse("job.toml", text).unwrap().wanted_with(&Default::default()).unwrap();
        let target = rocker::target(&wanted.rocker, &wanted.board).unwrap();
        (target.tail_height_mm(), target.tip_height_mm())
    }

    fn with_rocker(rocker: &str) -> String {
        format!("title = \"Board\"\n[board]\nlength = 1400\nwidth = 400\noverhang = 60\n{rocker}")
    }

    #[test]
    fn an_end_goes_where_it_is_dragged_whatever_the_bend_is_given_by() {
        for bend in ["height = 50", "radius = 4000", "angle = 15", "rise = 6\nchord = 400", "height = \"2 in\""] {
            let text = with_rocker(&format!("[rocker.arc]\n{bend} # kept\n"));
            for z_mm in [30.0, 47.3, 92.0] {
                let dragged = drag(&opened(&text), "tip", 0.0, z_mm);
                let (tail_mm, tip_mm) = heights(&dragged);
                // A tenth of a millimetre of height or rise, a hundredth of an inch or of a degree is what is written.
                assert!((tip_mm - z_mm).abs() < 0.7 && (tail_mm - z_mm).abs() < 0.7, "{bend} {z_mm} {tip_mm}");
                assert!(dragged.contains("# kept"), "{dragged}");
            }
        }
    }

    #[test]
    fn an_end_of_segments_goes_where_it_is_dragged() {
        let parts = "parts = [{ arc = { length = 250, radius = 900 } }, { flat = {} }, { arc = { length = 300, height = 60 } }]";
        let text = with_rocker(&format!("[rocker.segments]\n{parts}\n"));
        for (handle, z_mm) in [("tip", 70.0), ("tail", 25.0)] {
            let (tail_mm, tip_mm) = heights(&drag(&opened(&text), handle, 0.0, z_mm));
            let reached = if handle == "tip" { tip_mm } else { tail_mm };
            assert!((reached - z_mm).abs() < 0.1, "{handle} {reached}");
        }
    }

    #[test]
    fn a_joint_moves_and_the_board_stays_as_long() {
        let parts = "parts = [{ arc = { length = 250, height = 50 } }, { flat = {} }, { arc = { length = \"10 in\", height = 60 } }]";
        let text = with_rocker(&format!("[rocker.segments]\n{parts}\n"));
        let first = drag(&opened(&text), "joint-1", -400.0, 0.0);
        assert!(first.contains("length = 300, height = 50"), "{first}");
        let second = drag(&opened(&text), "joint-2", 420.0, 0.0);
        assert!(second.contains("length = \"11.02 in\", height = 60"), "{second}");
        heights(&second);
    }

    #[test]
    fn a_reading_goes_where_it_is_dragged() {
        let readings = "readings = [[0, 50], [350, 12.5], [700, 0], [1050, 12.5], [1400, \"2 in\"]] # read\n";
        let text = with_rocker(&format!("[rocker.measured]\n{readings}"));
        let moved = drag(&opened(&text), "reading-2", 0.0, 14.26);
        assert!(moved.contains("[350, 14.3], [700, 0]"), "{moved}");
        let moved = drag(&opened(&text), "reading-5", 0.0, 25.4);
        assert!(moved.contains("[1400, \"1 in\"]] # read"), "{moved}");
    }

    #[test]
    fn a_point_of_a_listed_curve_goes_where_it_is_dragged() {
        let points = "points = [\n  { station = 0, radius = 900 },\n  { station = 700, curvature = 0.1 }, # flat\n  { station = 1400, radius = 900 },\n]";
        let text = with_rocker(&format!("[rocker.curve]\n{points}\n"));
        let moved = drag(&opened(&text), "point-2", 100.4, 0.25);
        assert!(moved.contains("{ station = 800, curvature = 0.25 }, # flat"), "{moved}");
        let end = drag(&opened(&text), "point-3", 0.0, 2.0);
        assert!(end.contains("{ station = 1400, radius = 500 },"), "{end}");
    }

    #[test]
    fn a_handle_that_is_not_there_or_a_document_that_is_wrong_changes_nothing() {
        let text = with_rocker("[rocker.arc]\nheight = 50\n");
        assert_eq!(drag(&opened(&text), "joint-3", 0.0, 0.0), text);
        assert_eq!(drag(&opened("title = "), "tip", 0.0, 10.0), "title = ");
    }

    #[test]
    fn every_starter_has_handles() {
        for starter in STARTERS {
            let wanted = Document::parse("s", starter.text).unwrap().wanted_with(&Default::default()).unwrap();
            let target = rocker::target(&wanted.rocker, &wanted.board).unwrap();
            let handles = listed(&wanted.rocker, &target, wanted.unit);
            assert!(handles.as_array().unwrap().len() >= 2, "{}: {handles}", starter.name);
        }
    }
}
