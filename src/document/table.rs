//! `[table]`, `[table.ribs]`, `[table.rods]`: how the table is built.

use serde::Deserialize;

use super::quantity::Quantity;
use super::reader::{LONGEST_MM, Range, Reader};
use crate::finding::Fault;
use crate::job::{MOST_RIBS, RibLayout, Ribs, Rods, Table};
use crate::units::{Dimension, LengthUnit, MM_PER_INCH};

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct RawTable {
    skin: Option<Quantity>,
    film: Option<Quantity>,
    side_margin: Option<Quantity>,
    end_margin: Option<Quantity>,
    station_pitch: Option<Quantity>,
    ribs: Option<RawRibs>,
    rods: Option<RawRods>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
struct RawRibs {
    count: Option<Quantity>,
    pitch: Option<Quantity>,
    thickness: Option<Quantity>,
    lowest_height: Option<Quantity>,
    stock_length: Option<Quantity>,
    stock_width: Option<Quantity>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
struct RawRods {
    diameter: Option<Quantity>,
    hole: Option<Quantity>,
    count: Option<Quantity>,
    stations: Option<Vec<Quantity>>,
    height: Option<Quantity>,
    nut_allowance: Option<Quantity>,
}

/// Most rods of one table.
const MOST_RODS: usize = 100;
/// Medium clearance holes by nominal diameter, mm: ISO 273, medium series (M6 to M16).
const ISO_273_MEDIUM: [(f64, f64); 5] = [(6.0, 6.6), (8.0, 9.0), (10.0, 11.0), (12.0, 13.5), (16.0, 17.5)];
/// Normal clearance holes by nominal diameter, inch (ASME B18.2.8 normal fit, second-hand).
const INCH_NORMAL: [(f64, f64); 4] =
    [(0.25, 9.0 / 32.0), (5.0 / 16.0, 11.0 / 32.0), (0.375, 13.0 / 32.0), (0.5, 9.0 / 16.0)];

pub(super) fn check(reader: &mut Reader, raw: Option<RawTable>) -> Option<Table> {
    let Some(raw) = raw else {
        reader.missing("table", "Add a table [table] with skin and a table [table.ribs].");
        return None;
    };
    let length = Dimension::Length;
    let margin = Range::NotNegative(1000.0);
    let skin = reader.required(raw.skin.as_ref(), "table.skin", length, Range::NotNegative(100.0));
    let film = reader.optional(raw.film.as_ref(), "table.film", length, Range::NotNegative(20.0));
    let side = reader.optional(raw.side_margin.as_ref(), "table.side_margin", length, margin);
    let end = reader.optional(raw.end_margin.as_ref(), "table.end_margin", length, margin);
    let least_pitch = Range::Within(5.0, LONGEST_MM);
    let pitch = reader.optional(raw.station_pitch.as_ref(), "table.station_pitch", length, least_pitch);
    let ribs = ribs(reader, raw.ribs);
    let rods_wanted = raw.rods.is_some();
    let rods = raw.rods.and_then(|r| rods(reader, &r));
    if rods_wanted && rods.is_none() {
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
        film_mm: film.unwrap_or(0.0),
        side_margin_mm: side.unwrap_or(default_margin),
        end_margin_mm: end.unwrap_or(default_margin),
        ribs: ribs?,
        rods,
        station_pitch_mm: pitch.unwrap_or(default_pitch),
    })
}

fn ribs(reader: &mut Reader, raw: Option<RawRibs>) -> Option<Ribs> {
    let Some(raw) = raw else {
        reader.missing("table.ribs", "Add a table [table.ribs] with count or pitch, thickness and lowest_height.");
        return None;
    };
    let length = Dimension::Length;
    let choices = [("count", raw.count.is_some()), ("pitch", raw.pitch.is_some())];
    let layout = match reader.one_of("table.ribs", &choices, "how many ribs") {
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
            "too-many-choices",
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
                "impossible-geometry",
                "table.rods.hole",
                "the hole is smaller than the rod.",
                "Give the clearance hole, or take the key out for the standard one.",
            ));
            return None;
        }
        None => {
            reader.faults.push(Fault::new(
                "missing-key",
                "table.rods.diameter",
                "no standard clearance hole is known here for this diameter.",
                "Use M6, M8, M10, M12 or M16 (6 to 16 mm), 1/4, 5/16, 3/8 or 1/2 in, or give `hole` as well.",
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
            "too-many",
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

fn clearance_hole(diameter_mm: f64) -> Option<f64> {
    let same = |a: f64| (a - diameter_mm).abs() < 0.01;
    let metric = ISO_273_MEDIUM.iter().find(|(d, _)| same(*d)).map(|(_, hole)| *hole);
    metric.or_else(|| INCH_NORMAL.iter().find(|(d, _)| same(d * MM_PER_INCH)).map(|(_, hole)| hole * MM_PER_INCH))
}
