//! `[table]` and its parts: how the table is built.

use serde::Deserialize;

use super::bearers::{RawBearers, bearers};
use super::frame::{RawBox, RawCrossMembers, RawFeet, RawHandHoles, RawLightening, RawSplit};
use super::holes::clearance_hole;
use super::own_materials::Shelf;
use super::quantity::Quantity;
use super::reader::{LONGEST_MM, Range, Reader};
use crate::codes;
use crate::finding::Fault;
use crate::job::{Concave, Cutting, Fasteners, Frame, Lies, MOST_RIBS, RibFrame, RibLayout, Ribs, Rods, Table};
use crate::units::{Dimension, LengthUnit, MM_PER_INCH};

#[derive(Debug, Default, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default)]
pub(super) struct RawTable {
    /// Thickness of the sheet that the board lies on; 0 for none.
    ///
    /// Takes a length from 0 to 100 mm; must be given.
    skin: Option<Quantity>,
    /// Material of the skin, its figures along the board.
    ///
    /// Takes a text.
    skin_material: Option<Quantity>,
    /// Material of the ribs.
    ///
    /// Takes a text; as if of MDF when left out.
    rib_material: Option<Quantity>,
    /// Thickness of release film and the like on the skin.
    ///
    /// Takes a length from 0 to 20 mm; `0 mm` when left out.
    film: Option<Quantity>,
    /// Table beyond the board at each side.
    ///
    /// Takes a length from 0 to 1000 mm; `50 mm` when left out.
    side_margin: Option<Quantity>,
    /// Table beyond the blank at each end.
    ///
    /// Takes a length from 0 to 1000 mm; `50 mm` when left out.
    end_margin: Option<Quantity>,
    /// Distance of the listed stations along the board.
    ///
    /// Takes a length from 5 to 20000 mm; 100 mm, or 4 in, when left out.
    station_pitch: Option<Quantity>,
    /// How the board lies on the table.
    ///
    /// Takes one of `base down`, `deck down`; `base down` when left out.
    board_lies: Option<Quantity>,
    /// Diameter of the router's cutter; 0 for a laser or a saw.
    ///
    /// Takes a length from 0 to 50 mm; `0 mm` when left out.
    cutter: Option<Quantity>,
    /// Hollow across the board, by exactly one of `radius`, `rise`, `profile`.
    concave: Option<RawConcave>,
    /// How the skin is fastened to its supports.
    fasteners: Option<RawFasteners>,
    /// Ribs along the board.
    ribs: Option<RawRibs>,
    /// Threaded rods through all ribs with spacers between them.
    rods: Option<RawRods>,
    /// Members across, half-lapped with the ribs.
    cross_members: Option<RawCrossMembers>,
    /// Panels that close the table to a box.
    #[serde(rename = "box")]
    panels: Option<RawBox>,
    /// Bearers across a base board, for a jig built by hand.
    bearers: Option<RawBearers>,
}

#[derive(Debug, Default, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default)]
struct RawConcave {
    /// Radius across.
    ///
    /// Takes a length from 100 to 1000000 mm.
    radius: Option<Quantity>,
    /// Edges over the middle.
    ///
    /// Takes a length over 0 up to 100 mm.
    rise: Option<Quantity>,
    /// Pairs of distance from the middle and rise.
    ///
    /// Takes a list of pairs of a length from 0 to 2000 mm and a length from 0 to 100 mm.
    profile: Option<Vec<Vec<Quantity>>>,
}

#[derive(Debug, Default, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default)]
struct RawFasteners {
    /// Pull that one fastener bears for good.
    ///
    /// Takes a force over 0 up to 100000 N; a fifth of what tears out a 4 mm screw when left out.
    pull: Option<Quantity>,
    /// Distance of fasteners along their support.
    ///
    /// Takes a length from 10 to 1000 mm.
    pitch: Option<Quantity>,
}

#[derive(Debug, Default, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default)]
struct RawRibs {
    /// How many ribs.
    ///
    /// Takes a whole number from 2 to 500.
    count: Option<Quantity>,
    /// Largest distance of their centres.
    ///
    /// Takes a length from 5 to 2000 mm.
    pitch: Option<Quantity>,
    /// Thickness of the stock, as measured.
    ///
    /// Takes a length over 0 up to 200 mm; must be given.
    thickness: Option<Quantity>,
    /// Height of the ribs where the table is lowest.
    ///
    /// Takes a length over 0 up to 2000 mm; must be given.
    lowest_height: Option<Quantity>,
    /// Length that a rib must fit, where no sheets are listed.
    ///
    /// Takes a length over 0 up to 20000 mm.
    stock_length: Option<Quantity>,
    /// Width that a rib must fit, where no sheets are listed.
    ///
    /// Takes a length over 0 up to 20000 mm.
    stock_width: Option<Quantity>,
    /// Long ribs cut into pieces.
    split: Option<RawSplit>,
    /// Round windows in the ribs.
    lightening: Option<RawLightening>,
    /// Holes to carry the table by.
    hand_holes: Option<RawHandHoles>,
    /// The base edge raised between feet.
    feet: Option<RawFeet>,
}

#[derive(Debug, Default, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default)]
struct RawRods {
    /// Diameter: M6, M8, M10, M12, M16, or 1/4, 5/16, 3/8, 1/2 in, unless `hole` is given.
    ///
    /// Takes a length over 0 up to 60 mm; must be given.
    diameter: Option<Quantity>,
    /// Diameter of the holes.
    ///
    /// Takes a length over 0 up to 80 mm; the standard clearance when left out.
    hole: Option<Quantity>,
    /// How many rods, spread evenly.
    ///
    /// Takes a whole number from 1 to 100; `3` when left out.
    count: Option<Quantity>,
    /// Where rods go, along the table from its middle.
    ///
    /// Takes a list of lengths from -20000 to 20000 mm.
    stations: Option<Vec<Quantity>>,
    /// Height of the holes over the table's base.
    ///
    /// Takes a length over 0 up to 2000 mm; half of the ribs' lowest height when left out.
    height: Option<Quantity>,
    /// Rod beyond the outer ribs at each end.
    ///
    /// Takes a length over 0 up to 300 mm; two diameters when left out.
    nut_allowance: Option<Quantity>,
}

/// Most rods of one table.
const MOST_RODS: usize = 100;
pub(super) fn check(reader: &mut Reader, raw: Option<RawTable>, shelf: &Shelf) -> Option<Table> {
    let Some(raw) = raw else {
        reader.missing("table", "Add a table [table] with skin and a table [table.ribs] or [table.bearers].");
        return None;
    };
    let length = Dimension::Length;
    let margin = Range::NotNegative(1000.0);
    let skin = reader.required(raw.skin.as_ref(), "table.skin", length, Range::NotNegative(100.0));
    let mut material = |value: &Option<Quantity>, path: &str| {
        let Some(wanted) = reader.text(value.as_ref(), path) else {
            return value.is_none().then_some(None);
        };
        shelf.find(reader, &wanted, path).map(Some)
    };
    let skin_material = material(&raw.skin_material, "table.skin_material");
    let rib_material = material(&raw.rib_material, "table.rib_material");
    let film = reader.optional(raw.film.as_ref(), "table.film", length, Range::NotNegative(20.0));
    let side = reader.optional(raw.side_margin.as_ref(), "table.side_margin", length, margin);
    let end = reader.optional(raw.end_margin.as_ref(), "table.end_margin", length, margin);
    let least_pitch = Range::Within(5.0, LONGEST_MM);
    let pitch = reader.optional(raw.station_pitch.as_ref(), "table.station_pitch", length, least_pitch);
    let cutter = reader.optional(raw.cutter.as_ref(), "table.cutter", length, Range::NotNegative(50.0));
    let lies = match reader.text(raw.board_lies.as_ref(), "table.board_lies").as_deref() {
        None | Some("base down") => Lies::BaseDown,
        Some("deck down") => Lies::DeckDown,
        Some(other) => {
            reader.faults.push(Fault::new(
                codes::WRONG_CHOICE,
                "table.board_lies",
                format!("`{other}` is no way to lay the board."),
                "Write \"base down\" or \"deck down\".",
            ));
            Lies::BaseDown
        }
    };
    let concave_wanted = raw.concave.is_some();
    let concave = raw.concave.as_ref().and_then(|c| concave(reader, c));
    let fasteners = fasteners(reader, &raw.fasteners.unwrap_or_default());
    let frame = frame(reader, raw.ribs, raw.rods, raw.cross_members, raw.panels, raw.bearers);
    if concave_wanted && concave.is_none() {
        return None;
    }
    // Tape of 12 to 25 mm and room to work: common practice, no source.
    let default_margin = 50.0;
    let default_pitch = match reader.unit {
        LengthUnit::Millimetre => 100.0,
        LengthUnit::Inch { .. } => 4.0 * MM_PER_INCH,
    };
    Some(Table {
        skin_mm: skin?,
        skin_material: skin_material?,
        rib_material: rib_material?,
        film_mm: film.unwrap_or(0.0),
        side_margin_mm: side.unwrap_or(default_margin),
        end_margin_mm: end.unwrap_or(default_margin),
        lies,
        concave,
        frame: frame?,
        fasteners,
        cutting: Cutting { cutter_mm: cutter.unwrap_or(0.0) },
        station_pitch_mm: pitch.unwrap_or(default_pitch),
    })
}

fn frame(
    reader: &mut Reader,
    raw_ribs: Option<RawRibs>,
    raw_rods: Option<RawRods>,
    cross: Option<RawCrossMembers>,
    panels: Option<RawBox>,
    raw_bearers: Option<RawBearers>,
) -> Option<Frame> {
    let choices = [("ribs", raw_ribs.is_some()), ("bearers", raw_bearers.is_some())];
    let choice = reader.one_of("table", &choices, "what carries the skin")?;
    if choice == "bearers" {
        let with_ribs = [("rods", raw_rods.is_some()), ("cross_members", cross.is_some()), ("box", panels.is_some())];
        for (key, _) in with_ribs.iter().filter(|(_, given)| *given) {
            reader.faults.push(Fault::new(
                codes::TOO_MANY_CHOICES,
                format!("table.{key}"),
                format!("`{key}` goes with ribs; this table has bearers."),
                "Take it out, or build the table with [table.ribs].",
            ));
        }
        return raw_bearers.and_then(|b| bearers(reader, &b)).map(Frame::Bearers);
    }
    let raw_ribs = raw_ribs?;
    let wrong_before = reader.faults.len();
    let ribs = ribs(reader, &raw_ribs);
    let rods = raw_rods.and_then(|r| rods(reader, &r));
    let cross_members = cross.and_then(|c| c.check(reader));
    let panels = panels.and_then(|b| b.check(reader));
    let split = raw_ribs.split.and_then(|s| s.check(reader));
    let lightening = raw_ribs.lightening.and_then(|l| l.check(reader));
    let hand_holes = raw_ribs.hand_holes.and_then(|h| h.check(reader));
    let feet = raw_ribs.feet.and_then(|f| f.check(reader));
    let frame = RibFrame { ribs: ribs?, rods, cross_members, split, lightening, hand_holes, feet, panels };
    // A part that was given wrongly is reported already and must not be left out silently.
    (reader.faults.len() == wrong_before).then_some(Frame::Ribs(Box::new(frame)))
}

fn fasteners(reader: &mut Reader, raw: &RawFasteners) -> Fasteners {
    let (pull, pitch) = ("table.fasteners.pull", "table.fasteners.pitch");
    Fasteners {
        pull_n: reader
            .optional(raw.pull.as_ref(), pull, Dimension::Force, Range::Positive(1e5))
            .unwrap_or(Fasteners::USUAL_PULL_N),
        pitch_mm: reader.optional(raw.pitch.as_ref(), pitch, Dimension::Length, Range::Within(10.0, 1000.0)),
    }
}

fn concave(reader: &mut Reader, raw: &RawConcave) -> Option<Concave> {
    let choices = [("radius", raw.radius.is_some()), ("rise", raw.rise.is_some()), ("profile", raw.profile.is_some())];
    match reader.one_of("table.concave", &choices, "the curve across the board")? {
        "radius" => {
            let range = Range::Within(100.0, 1e6);
            let path = "table.concave.radius";
            reader.required(raw.radius.as_ref(), path, Dimension::Length, range).map(Concave::Radius)
        }
        "rise" => {
            let range = Range::Positive(100.0);
            let path = "table.concave.rise";
            reader.required(raw.rise.as_ref(), path, Dimension::Length, range).map(Concave::Rise)
        }
        _ => profile(reader, raw.profile.as_deref().unwrap_or_default()),
    }
}

/// Pairs of distance from the middle and rise, both growing.
fn profile(reader: &mut Reader, pairs: &[Vec<Quantity>]) -> Option<Concave> {
    let path = "table.concave.profile";
    let mut points = Vec::new();
    for (i, pair) in pairs.iter().enumerate() {
        let [y, rise] = pair.as_slice() else {
            reader.faults.push(Fault::new(
                codes::WRONG_SHAPE,
                format!("{path}[{i}]"),
                "an entry is not a pair.",
                "Write pairs of distance from the middle and rise: [[60, 0.5], [120, 2.5]].",
            ));
            return None;
        };
        let range = Range::NotNegative(2000.0);
        let y = reader.required(Some(y), &format!("{path}[{i}][0]"), Dimension::Length, range);
        let rise =
            reader.required(Some(rise), &format!("{path}[{i}][1]"), Dimension::Length, Range::NotNegative(100.0));
        points.push((y?, rise?));
    }
    let starts_flat = points.first().is_some_and(|p| p.0 > 0.0 || p.1 == 0.0);
    let in_order = points.windows(2).all(|w| w[1].0 > w[0].0 && w[1].1 >= w[0].1);
    if points.len() < 2 || points.len() > 100 || !starts_flat || !in_order {
        reader.faults.push(codes::OUT_OF_ORDER.at(path, "the profile needs 2 to 100 pairs whose distances grow and whose rises do not fall, with no rise in the middle."));
        return None;
    }
    Some(Concave::Profile(points))
}

fn ribs(reader: &mut Reader, raw: &RawRibs) -> Option<Ribs> {
    let length = Dimension::Length;
    let choices = [("count", raw.count.is_some()), ("pitch", raw.pitch.is_some())];
    let spread = if raw.count.is_none() && raw.pitch.is_none() {
        Some("by the checks")
    } else {
        reader.one_of("table.ribs", &choices, "how many ribs")
    };
    let layout = match spread {
        Some("by the checks") => Some(RibLayout::FromChecks),
        Some("count") => reader.count(raw.count.as_ref(), "table.ribs.count", 2, MOST_RIBS).map(RibLayout::Count),
        Some(_) => {
            let range = Range::Within(5.0, 2000.0);
            reader.optional(raw.pitch.as_ref(), "table.ribs.pitch", length, range).map(RibLayout::Pitch)
        }
        None => None,
    };
    let thickness = reader.required(raw.thickness.as_ref(), "table.ribs.thickness", length, Range::Positive(200.0));
    let lowest =
        reader.required(raw.lowest_height.as_ref(), "table.ribs.lowest_height", length, Range::Positive(2000.0));
    let stock = Range::Positive(LONGEST_MM);
    let stock_length_mm = reader.optional(raw.stock_length.as_ref(), "table.ribs.stock_length", length, stock);
    let stock_width_mm = reader.optional(raw.stock_width.as_ref(), "table.ribs.stock_width", length, stock);
    Some(Ribs { layout: layout?, thickness_mm: thickness?, lowest_height_mm: lowest?, stock_length_mm, stock_width_mm })
}

fn rods(reader: &mut Reader, raw: &RawRods) -> Option<Rods> {
    let length = Dimension::Length;
    let diameter = reader.required(raw.diameter.as_ref(), "table.rods.diameter", length, Range::Positive(60.0));
    let hole = reader.optional(raw.hole.as_ref(), "table.rods.hole", length, Range::Positive(80.0));
    let stations = raw.stations.as_ref().map(|list| {
        let range = Range::Within(-LONGEST_MM, LONGEST_MM);
        let read =
            |(i, q): (usize, &Quantity)| reader.optional(Some(q), &format!("table.rods.stations[{i}]"), length, range);
        list.iter().enumerate().map(read).collect::<Option<Vec<f64>>>()
    });
    let count = match raw.count {
        None => Some(3),
        Some(_) => reader.count(raw.count.as_ref(), "table.rods.count", 1, MOST_RODS),
    };
    if raw.count.is_some() && raw.stations.is_some() {
        reader.faults.push(Fault::new(
            codes::TOO_MANY_CHOICES,
            "table.rods.count",
            "the rods have both a count and stations.",
            "Keep `stations` to place them yourself, or `count` to have them placed.",
        ));
    }
    let height = reader.optional(raw.height.as_ref(), "table.rods.height", length, Range::Positive(2000.0));
    let nut = reader.optional(raw.nut_allowance.as_ref(), "table.rods.nut_allowance", length, Range::Positive(300.0));
    let diameter = diameter?;
    let hole = match hole.or_else(|| clearance_hole(diameter)) {
        Some(hole) if hole >= diameter => hole,
        Some(_) => {
            reader.faults.push(Fault::new(
                codes::IMPOSSIBLE_GEOMETRY,
                "table.rods.hole",
                "the hole is smaller than the rod.",
                "Give the clearance hole, or take the key out for the standard one.",
            ));
            return None;
        }
        None => {
            reader.faults.push(Fault::new(
                codes::MISSING_KEY,
                "table.rods.diameter",
                "no standard clearance hole is known here for this diameter.",
                "Use M6, M8, M10, M12 or M16, \"1/4 in\", \"5/16 in\", \"3/8 in\" or \"1/2 in\", or give `hole` as well.",
            ));
            return None;
        }
    };
    let stations_mm = match stations {
        None => Vec::new(),
        Some(list) => list?,
    };
    if stations_mm.len() > MOST_RODS {
        reader.faults.push(Fault::new(
            codes::TOO_MANY,
            "table.rods.stations",
            format!("{} rods are given.", stations_mm.len()),
            format!("At most {MOST_RODS} are read."),
        ));
        return None;
    }
    // Washer, nut and a little thread: two diameters (common practice, no source).
    let nut_allowance_mm = nut.unwrap_or(2.0 * diameter);
    Some(Rods { diameter_mm: diameter, hole_mm: hole, stations_mm, count: count?, height_mm: height, nut_allowance_mm })
}
