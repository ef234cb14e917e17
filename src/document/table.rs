//! `[table]`: how the table is built.

use super::bearers::bearers;
use super::frame;
use super::keys::Range::{UpTo, Within};
use super::own_materials::Shelf;
use super::reader::LONGEST_MM;
use super::section::Section;
use crate::codes;
use crate::job::{Concave, Cutting, Fasteners, Frame, Lies, SkinSheets, Table};
use crate::units::{Dimension, LengthUnit, MM_PER_INCH, Quantity, phrase};

/// Most sheets of a skin.
const MOST_SHEETS: usize = 10;

// Long, because it is one list of keys.
pub(super) fn table(at: &mut Section<'_, '_>, shelf: &Shelf) -> Option<Table> {
    let meaning = "Thickness of the skin that the board lies on, all its sheets together; 0 for none.";
    let skin = at.length("skin", Within(0.0, 100.0), meaning).usual(0.4, 40.0).required();
    let meaning = "Sheets of equal thickness that the skin is made of, one bent over the other.";
    let count = at.count("skin_sheets", (1, MOST_SHEETS), meaning).or(1);
    let joined = [("screwed", false), ("glued", true)];
    let meaning = "What joins these sheets: the skin's screws alone, or glue that sets while they are bent.";
    let glued = at.choice("skin_joined", &joined, meaning);
    if at.has("skin_joined") && count == 1 {
        let remedy = "Say how many there are with `skin_sheets`, or take it out.";
        at.fault(codes::UNKNOWN_KEY, "skin_joined", "a skin of one sheet has nothing to join.", remedy);
    }
    let skin_name = at.text("skin_material", "Material of the skin, its figures along the board.").optional();
    let rib_name = at.text("rib_material", "Material of the ribs.").otherwise("as if of MDF");
    let meaning = "Thickness of release film and the like on the skin.";
    let film_mm = at.length("film", Within(0.0, 20.0), meaning).or(0.0);
    let margin = Within(0.0, 1000.0);
    let side_margin_mm =
        at.length("side_margin", margin, "Table beyond the board at each side.").or(Table::USUAL_MARGIN_MM);
    let end_margin_mm =
        at.length("end_margin", margin, "Table beyond the blank at each end.").or(Table::USUAL_MARGIN_MM);
    let meaning = "Spacing of the listed stations along the board.";
    let pitch = at.length("station_pitch", Within(5.0, LONGEST_MM), meaning).otherwise("100 mm, or 4 in,");
    let station_pitch_mm = pitch.unwrap_or(match at.reader.unit {
        LengthUnit::Millimetre => Table::USUAL_STATION_PITCH_MM,
        LengthUnit::Inch { .. } => 4.0 * MM_PER_INCH,
    });
    let sides = [("base down", Lies::BaseDown), ("deck down", Lies::DeckDown)];
    let lies = at.choice("board_lies", &sides, "How the board lies on the table.");
    let meaning = "Diameter of the router's cutter; 0 for a laser or a saw.";
    let cutter_mm = at.length("cutter", Within(0.0, 50.0), meaning).or(0.0);
    let meaning = "Hollow across the board, by exactly one of `radius`, `rise`, `profile`, `along`.";
    let concave = at.table("concave", meaning, concave).optional();
    let fasteners = at.settings("fasteners", "How the skin is fastened to its supports.", fasteners);
    let ribs = frame::ribs(at);
    let meaning = "Bearers across a base board, for a jig built by hand.";
    let bearers = at.table("bearers", meaning, bearers).optional();
    if at.one_of(&["ribs", "bearers"], "what carries the skin") == Some("bearers") {
        for key in ["rods", "cross_members", "box"].into_iter().filter(|k| at.has(k)).collect::<Vec<_>>() {
            let message = format!("`{key}` goes with ribs; this table has bearers.");
            at.fault(codes::TOO_MANY_CHOICES, key, message, "Take it out, or build the table with [table.ribs].");
        }
    }
    let skin_material = shelf.named(at, "skin_material", skin_name);
    let rib_material = shelf.named(at, "rib_material", rib_name);
    Some(Table {
        skin_mm: skin?,
        skin_sheets: SkinSheets { count, glued },
        skin_material: skin_material.ok()?,
        rib_material: rib_material.ok()?,
        film_mm,
        side_margin_mm,
        end_margin_mm,
        lies,
        concave,
        frame: ribs.map(|r| Frame::Ribs(Box::new(r))).or(bearers.map(Frame::Bearers))?,
        fasteners,
        cutting: Cutting { cutter_mm },
        station_pitch_mm,
    })
}

fn fasteners(at: &mut Section<'_, '_>) -> Fasteners {
    let pull = at.quantity("pull", Dimension::Force, UpTo(1e5), "Sustained pull allowed on one fastener.");
    let pull = pull.otherwise("a fifth of the withdrawal load of a 4 mm screw");
    let meaning = "Spacing of fasteners along their support.";
    let pitch_mm = at.length("pitch", Within(10.0, 1000.0), meaning).optional();
    Fasteners { pull_n: pull.unwrap_or(Fasteners::USUAL_PULL_N), pitch_mm }
}

fn concave(at: &mut Section<'_, '_>) -> Option<Concave> {
    let radius = at.length("radius", Within(100.0, 1e6), "Radius across.").optional();
    let rise = at.length("rise", UpTo(100.0), "Edges over the middle.").optional();
    let pair = [Within(0.0, 2000.0), Within(0.0, 100.0)].map(|range| (Dimension::Length, range));
    let shown = ("[[60, 0.5], [120, 2.5]]", "Pairs of distance from the middle and rise.");
    let profile = at.pairs("profile", pair, (2, 100), shown).optional();
    let pair = [Within(-LONGEST_MM, LONGEST_MM), Within(0.0, 100.0)].map(|range| (Dimension::Length, range));
    let shown = (
        "[[-250, 0], [-150, 3], [150, 3], [250, 0]]",
        "Pairs of station along the base from the middle and rise of the edges there, for a hollow that fades.",
    );
    let along = at.pairs("along", pair, (2, 100), shown).optional();
    match at.one_of(&["radius", "rise", "profile", "along"], "the curve across the board")? {
        "radius" => radius.map(Concave::Radius),
        "rise" => rise.map(Concave::Rise),
        "along" => {
            let points = along?;
            if let Some(i) = points.windows(2).position(|w| w[1].0 <= w[0].0) {
                let (station, before) = (Quantity::exact(points[i + 1].0), Quantity::exact(points[i].0));
                let message = phrase!("station {} does not lie beyond {}.", station, before);
                let remedy = "List stations in growing order, each once.";
                at.fault(codes::OUT_OF_ORDER, &format!("along[{}]", i + 1), message, remedy);
            } else if points.iter().all(|p| p.1 == 0.0) {
                let remedy = "Give the edges a rise somewhere, or leave [table.concave] out.";
                at.fault(codes::OUT_OF_RANGE, "along", "the hollow rises nowhere.", remedy);
            }
            Some(Concave::Along(points))
        }
        _ => {
            let points = profile?;
            let starts_flat = points.first().is_some_and(|p| p.0 > 0.0 || p.1 == 0.0);
            if !starts_flat || points.windows(2).any(|w| w[1].0 <= w[0].0 || w[1].1 < w[0].1) {
                let message =
                    "the distances of the profile must grow and its rises not fall, with no rise in the middle.";
                let remedy = "Write pairs of distance from the middle and rise: [[60, 0.5], [120, 2.5]].";
                at.fault(codes::OUT_OF_ORDER, "profile", message, remedy);
            }
            Some(Concave::Profile(points))
        }
    }
}
