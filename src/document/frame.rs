//! What joins, eases and closes a table of ribs: cross members, split ribs, windows, feet, box panels.

use serde::Deserialize;

use super::holes::clearance_hole;
use super::quantity::Quantity;
use super::reader::{LONGEST_MM, Range, Reader, nearest};
use crate::codes;
use crate::finding::Fault;
use crate::job::{BoxPanels, CrossMembers, Feet, HandHoles, Joint, Lightening, Relief, Split};
use crate::units::Dimension;

/// Most members across.
const MOST_CROSS_MEMBERS: usize = 100;
/// Slots wider than their stock by this, mm, unless said (common practice, no source).
const DEFAULT_FIT_MM: f64 = 0.2;
/// Clear gap of a keyed joint, mm, unless said (common practice, no source).
const DEFAULT_GAP_MM: f64 = 0.15;
/// Bending stress of plywood and fibreboard at a joint, MPa, unless said: a quarter of fibreboard's 36 MPa (Wood Handbook
/// table 12-1, from memory), for a joint that is taken apart.
const DEFAULT_STRESS_MPA: f64 = 9.0;

#[derive(Debug, Default, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default)]
pub(super) struct RawCrossMembers {
    /// How many members, spread evenly.
    ///
    /// Takes a whole number from 1 to 100.
    count: Option<Quantity>,
    /// Where members go, along the table from its middle.
    ///
    /// Takes a list of lengths from -20000 to 20000 mm.
    stations: Option<Vec<Quantity>>,
    /// Thickness of their stock.
    ///
    /// Takes a length over 0 up to 100 mm; must be given.
    thickness: Option<Quantity>,
    /// Height of the members.
    ///
    /// Takes a length over 0 up to 1000 mm; must be given.
    height: Option<Quantity>,
    /// How much wider than the stock slots are.
    ///
    /// Takes a length from 0 to 5 mm; `0.2 mm` when left out.
    fit: Option<Quantity>,
    /// How corners of slots are eased for a round cutter.
    ///
    /// Takes one of `none`, `bone`, `tee`; `none` when left out.
    relief: Option<Quantity>,
}

impl RawCrossMembers {
    pub(super) fn check(&self, reader: &mut Reader) -> Option<CrossMembers> {
        let at = |key: &str| format!("table.cross_members.{key}");
        let length = Dimension::Length;
        let choices = [("count", self.count.is_some()), ("stations", self.stations.is_some())];
        let choice = reader.one_of("table.cross_members", &choices, "where the cross members stand")?;
        let (count, stations_mm) = if choice == "count" {
            (reader.count(self.count.as_ref(), &at("count"), 1, MOST_CROSS_MEMBERS)?, Vec::new())
        } else {
            let list = self.stations.as_deref().unwrap_or_default();
            if list.is_empty() || list.len() > MOST_CROSS_MEMBERS {
                reader.faults.push(Fault::new(
                    codes::OUT_OF_RANGE,
                    at("stations"),
                    format!("{} cross members are given.", list.len()),
                    format!("Give 1 to {MOST_CROSS_MEMBERS} places along the table."),
                ));
                return None;
            }
            let stations = reader.lengths(list, &at("stations"), Range::Within(-LONGEST_MM, LONGEST_MM))?;
            (stations.len(), stations)
        };
        let thickness = reader.required(self.thickness.as_ref(), &at("thickness"), length, Range::Positive(100.0));
        let height = reader.required(self.height.as_ref(), &at("height"), length, Range::Positive(1000.0));
        let fit = reader.optional(self.fit.as_ref(), &at("fit"), length, Range::NotNegative(5.0));
        let relief = match reader.text(self.relief.as_ref(), &at("relief")).as_deref() {
            None | Some("none") => Relief::None,
            Some("bone") => Relief::Bone,
            Some("tee") => Relief::Tee,
            Some(other) => {
                let hint = nearest(other, &["none", "bone", "tee"])
                    .map_or(String::new(), |n| format!(" Did you mean \"{n}\"?"));
                reader.faults.push(Fault::new(
                    codes::WRONG_CHOICE,
                    at("relief"),
                    format!("`{other}` is no way to ease a corner."),
                    format!("Write \"bone\", \"tee\" or \"none\".{hint}"),
                ));
                return None;
            }
        };
        Some(CrossMembers {
            stations_mm,
            count,
            thickness_mm: thickness?,
            height_mm: height?,
            fit_mm: fit.unwrap_or(DEFAULT_FIT_MM),
            relief,
        })
    }
}

#[derive(Debug, Default, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default)]
pub(super) struct RawSplit {
    /// Longest piece.
    ///
    /// Takes a length from 200 to 20000 mm; must be given.
    longest: Option<Quantity>,
    /// Bending stress that the stock bears at a joint.
    ///
    /// Takes a strength over 0 up to 500 MPa; `9 MPa` when left out.
    stress: Option<Quantity>,
    /// A key in a socket.
    key: Option<RawKey>,
    /// Plates with four bolts.
    plates: Option<RawPlates>,
}

#[derive(Debug, Default, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default)]
struct RawKey {
    /// Clear gap of the key in its socket.
    ///
    /// Takes a length from 0 to 2 mm; `0.15 mm` when left out.
    gap: Option<Quantity>,
}

#[derive(Debug, Default, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default)]
struct RawPlates {
    /// Length of a plate.
    ///
    /// Takes a length from 60 to 1000 mm; `200 mm` when left out.
    length: Option<Quantity>,
    /// Diameter of its bolts.
    ///
    /// Takes a length from 3 to 20 mm; `8 mm` when left out.
    bolt: Option<Quantity>,
}

impl RawSplit {
    pub(super) fn check(&self, reader: &mut Reader) -> Option<Split> {
        let path = "table.ribs.split";
        let length = Dimension::Length;
        let longest = reader.required(
            self.longest.as_ref(),
            &format!("{path}.longest"),
            length,
            Range::Within(200.0, LONGEST_MM),
        );
        let stress = reader.optional(
            self.stress.as_ref(),
            &format!("{path}.stress"),
            Dimension::Strength,
            Range::Positive(500.0),
        );
        let choices = [("key", self.key.is_some()), ("plates", self.plates.is_some())];
        let choice = reader.one_of(path, &choices, "how the pieces are joined")?;
        let joint = if choice == "key" {
            let gap = self.key.as_ref().and_then(|k| k.gap.as_ref());
            let gap = reader.optional(gap, &format!("{path}.key.gap"), length, Range::NotNegative(2.0));
            Joint::Key { gap_mm: gap.unwrap_or(DEFAULT_GAP_MM) }
        } else {
            let plates = self.plates.as_ref()?;
            let long = reader.optional(
                plates.length.as_ref(),
                &format!("{path}.plates.length"),
                length,
                Range::Within(60.0, 1000.0),
            );
            let bolt =
                reader.optional(plates.bolt.as_ref(), &format!("{path}.plates.bolt"), length, Range::Within(3.0, 20.0));
            let bolt_mm = bolt.unwrap_or(8.0);
            let Some(hole_mm) = clearance_hole(bolt_mm) else {
                reader.faults.push(Fault::new(
                    codes::MISSING_KEY,
                    format!("{path}.plates.bolt"),
                    "no standard clearance hole is known here for this bolt.",
                    "Use M6, M8, M10, M12 or M16, or \"1/4 in\", \"5/16 in\", \"3/8 in\" or \"1/2 in\".",
                ));
                return None;
            };
            Joint::Plates { length_mm: long.unwrap_or(200.0), bolt_mm, hole_mm }
        };
        Some(Split { longest_mm: longest?, joint, stress_mpa: stress.unwrap_or(DEFAULT_STRESS_MPA) })
    }
}

#[derive(Debug, Default, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default)]
pub(super) struct RawLightening {
    /// Least material left all round.
    ///
    /// Takes a length from 5 to 500 mm; must be given.
    wall: Option<Quantity>,
    /// Largest window.
    ///
    /// Takes a length from 10 to 1000 mm; `120 mm` when left out.
    largest: Option<Quantity>,
}

impl RawLightening {
    pub(super) fn check(&self, reader: &mut Reader) -> Option<Lightening> {
        let path = "table.ribs.lightening";
        let length = Dimension::Length;
        let wall = reader.required(self.wall.as_ref(), &format!("{path}.wall"), length, Range::Within(5.0, 500.0));
        let largest =
            reader.optional(self.largest.as_ref(), &format!("{path}.largest"), length, Range::Within(10.0, 1000.0));
        Some(Lightening { wall_mm: wall?, largest_mm: largest.unwrap_or(120.0) })
    }
}

#[derive(Debug, Default, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default)]
pub(super) struct RawHandHoles {
    /// Length along the rib.
    ///
    /// Takes a length from 40 to 400 mm; `100 mm` when left out.
    length: Option<Quantity>,
    /// Height.
    ///
    /// Takes a length from 15 to 200 mm; `32 mm` when left out.
    height: Option<Quantity>,
    /// Middle of the hole from each end of the rib.
    ///
    /// Takes a length over 0 up to 20000 mm; must be given.
    from_end: Option<Quantity>,
}

impl RawHandHoles {
    pub(super) fn check(&self, reader: &mut Reader) -> Option<HandHoles> {
        let at = |key: &str| format!("table.ribs.hand_holes.{key}");
        let length = Dimension::Length;
        let long = reader.optional(self.length.as_ref(), &at("length"), length, Range::Within(40.0, 400.0));
        let high = reader.optional(self.height.as_ref(), &at("height"), length, Range::Within(15.0, 200.0));
        let from = reader.required(self.from_end.as_ref(), &at("from_end"), length, Range::Positive(LONGEST_MM));
        // A hand with a glove passes through 100 by 32 mm (common practice, no source).
        let (length_mm, height_mm) = (long.unwrap_or(100.0), high.unwrap_or(32.0));
        if height_mm >= length_mm {
            reader.faults.push(Fault::new(
                codes::IMPOSSIBLE_GEOMETRY,
                at("height"),
                "the hand hole is higher than long.",
                "Make its length along the rib the larger one.",
            ));
            return None;
        }
        Some(HandHoles { length_mm, height_mm, from_end_mm: from? })
    }
}

#[derive(Debug, Default, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default)]
pub(super) struct RawFeet {
    /// Length of each foot.
    ///
    /// Takes a length over 0 up to 1000 mm; must be given.
    length: Option<Quantity>,
    /// Height of the feet.
    ///
    /// Takes a length over 0 up to 500 mm; must be given.
    height: Option<Quantity>,
}

impl RawFeet {
    pub(super) fn check(&self, reader: &mut Reader) -> Option<Feet> {
        let at = |key: &str| format!("table.ribs.feet.{key}");
        let length = reader.required(self.length.as_ref(), &at("length"), Dimension::Length, Range::Positive(1000.0));
        let height = reader.required(self.height.as_ref(), &at("height"), Dimension::Length, Range::Positive(500.0));
        Some(Feet { length_mm: length?, height_mm: height? })
    }
}

#[derive(Debug, Default, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default)]
pub(super) struct RawBox {
    /// Thickness of the end panels.
    ///
    /// Takes a length over 0 up to 100 mm.
    ends: Option<Quantity>,
    /// Thickness of the base board.
    ///
    /// Takes a length over 0 up to 100 mm.
    base: Option<Quantity>,
    /// Largest distance of screws.
    ///
    /// Takes a length from 20 to 1000 mm; `150 mm` when left out.
    screw_pitch: Option<Quantity>,
}

impl RawBox {
    pub(super) fn check(&self, reader: &mut Reader) -> Option<BoxPanels> {
        let length = Dimension::Length;
        let stock = Range::Positive(100.0);
        let ends = reader.optional(self.ends.as_ref(), "table.box.ends", length, stock);
        let base = reader.optional(self.base.as_ref(), "table.box.base", length, stock);
        let pitch =
            reader.optional(self.screw_pitch.as_ref(), "table.box.screw_pitch", length, Range::Within(20.0, 1000.0));
        if self.ends.is_none() && self.base.is_none() {
            reader.missing(
                "table.box.ends",
                "Give the thickness of the end panels (ends), of the base board (base), or both.",
            );
            return None;
        }
        Some(BoxPanels { end_thickness_mm: ends, base_thickness_mm: base, screw_pitch_mm: pitch.unwrap_or(150.0) })
    }
}
