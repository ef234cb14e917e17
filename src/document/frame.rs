//! What carries the table's skin, if not bearers: ribs with rods, cross members, joints, windows, feet and panels.

use super::keys::Range::{UpTo, Within};
use super::reader::LONGEST_MM;
use super::section::Section;
use crate::codes;
use crate::job::{
    BoxPanels, CrossMembers, Feet, HandHoles, Joint, Lightening, MOST_RIBS, Relief, RibFrame, RibLayout, Ribs, Rods,
    Split,
};
use crate::units::{Dimension, MM_PER_INCH};

/// Most members across.
const MOST_CROSS_MEMBERS: usize = 100;
/// Most rods of one table.
const MOST_RODS: usize = 100;
/// Slots wider than their stock by this, mm, unless said (common practice, no source).
const DEFAULT_FIT_MM: f64 = 0.2;
/// Clear gap of a keyed joint, mm, unless said (common practice, no source).
pub(super) const DEFAULT_GAP_MM: f64 = 0.15;
/// The key that limits the pieces of a rib, where a machine does not.
pub(super) const LONGEST_KEY: &str = "table.ribs.split.longest";
/// Bending stress of plywood and fibreboard at a joint, MPa, unless said: a quarter of fibreboard's 36 MPa (Wood Handbook
/// table 12-1, from memory), for a joint that is taken apart.
pub(super) const DEFAULT_STRESS_MPA: f64 = 9.0;
/// Medium clearance holes by nominal diameter, mm: ISO 273, medium series (M6 to M16).
const ISO_273_MEDIUM: [(f64, f64); 5] = [(6.0, 6.6), (8.0, 9.0), (10.0, 11.0), (12.0, 13.5), (16.0, 17.5)];
/// Normal clearance holes by nominal diameter, inch (ASME B18.2.8 normal fit, second-hand).
const INCH_NORMAL: [(f64, f64); 4] =
    [(0.25, 9.0 / 32.0), (5.0 / 16.0, 11.0 / 32.0), (0.375, 13.0 / 32.0), (0.5, 9.0 / 16.0)];

/// Reads what goes with ribs in `[table]`; `None` where there are no ribs or something is wrong.
pub(super) fn ribs(at: &mut Section<'_, '_>) -> Option<RibFrame> {
    let frame = at.table("ribs", "Ribs along the board.", rib_frame).optional();
    let meaning = "Threaded rods through all ribs with spacers between them.";
    let rods = at.table("rods", meaning, rods).optional();
    let meaning = "Members across, half-lapped with the ribs.";
    let cross_members = at.table("cross_members", meaning, cross_members).optional();
    let panels = at.table("box", "Panels that close the table to a box.", panels).optional();
    frame.map(|f| RibFrame { rods, cross_members, panels, ..f })
}

fn rib_frame(at: &mut Section<'_, '_>) -> Option<RibFrame> {
    let count = at.count("count", (2, MOST_RIBS), "How many ribs.").optional();
    let pitch = at.length("pitch", Within(5.0, 2000.0), "Largest centre-to-centre spacing.").usual(25.0, 800.0);
    let pitch = pitch.optional();
    let meaning = "Thickness of the stock, as measured.";
    let thickness = at.length("thickness", UpTo(200.0), meaning).usual(2.5, 80.0).required();
    let meaning = "Height of the ribs where the table is lowest.";
    let lowest = at.length("lowest_height", UpTo(2000.0), meaning).usual(12.0, 600.0).required();
    let meaning = "Length that a rib must fit, where no sheets are listed.";
    let stock_length_mm = at.length("stock_length", UpTo(LONGEST_MM), meaning).optional();
    let meaning = "Width that a rib must fit, where no sheets are listed.";
    let stock_width_mm = at.length("stock_width", UpTo(LONGEST_MM), meaning).optional();
    let split = at.table("split", "Long ribs cut into pieces.", split).optional();
    let lightening = at.table("lightening", "Round windows in the ribs.", lightening).optional();
    let hand_holes = at.table("hand_holes", "Holes to carry the table by.", hand_holes).optional();
    let feet = at.table("feet", "The base edge raised between feet.", feet).optional();
    let layout = match (at.has("count"), at.has("pitch")) {
        (false, false) => RibLayout::FromChecks,
        (true, false) => RibLayout::Count(count?),
        (false, true) => RibLayout::Pitch(pitch?),
        (true, true) => {
            at.one_of(&["count", "pitch"], "how many ribs");
            return None;
        }
    };
    let ribs = Ribs { layout, thickness_mm: thickness?, lowest_height_mm: lowest?, stock_length_mm, stock_width_mm };
    Some(RibFrame { ribs, rods: None, cross_members: None, split, lightening, hand_holes, feet, panels: None })
}

fn rods(at: &mut Section<'_, '_>) -> Option<Rods> {
    let meaning = "Diameter: M6, M8, M10, M12, M16, or 1/4, 5/16, 3/8, 1/2 in, unless `hole` is given.";
    let diameter = at.length("diameter", UpTo(60.0), meaning).required();
    let hole = at.length("hole", UpTo(80.0), "Diameter of the holes.").otherwise("the standard clearance");
    let count = at.count("count", (1, MOST_RODS), "How many rods, spread evenly.").or(3);
    let meaning = "Where rods go, along the table from its middle.";
    let stations = at.lengths("stations", Within(-LONGEST_MM, LONGEST_MM), (0, MOST_RODS), meaning).optional();
    let height = at.length("height", UpTo(2000.0), "Height of the holes over the table's base.");
    let height_mm = height.otherwise("half of the ribs' lowest height");
    let nut = at.length("nut_allowance", UpTo(300.0), "Rod beyond the outer ribs at each end.");
    let nut = nut.otherwise("two diameters");
    if at.has("count") && at.has("stations") {
        let remedy = "Keep `stations` to place them yourself, or `count` to have them placed.";
        at.fault(codes::TOO_MANY_CHOICES, "count", "the rods have both a count and stations.", remedy);
    }
    let diameter_mm = diameter?;
    let Some(hole_mm) = hole.or_else(|| clearance_hole(diameter_mm)) else {
        let message = "this is no standard diameter of a rod, so the size of its hole is unknown.";
        let remedy =
            "Use 6, 8, 10, 12 or 16 mm, \"1/4 in\", \"5/16 in\", \"3/8 in\" or \"1/2 in\", or give `hole` as well.";
        at.fault(codes::MISSING_KEY, "diameter", message, remedy);
        return None;
    };
    if hole_mm < diameter_mm {
        let remedy = "Give the clearance hole, or take the key out for the standard one.";
        at.fault(codes::IMPOSSIBLE_GEOMETRY, "hole", "the hole is smaller than the rod.", remedy);
        return None;
    }
    // Washer, nut and a little thread: two diameters (common practice, no source).
    let nut_allowance_mm = nut.unwrap_or(2.0 * diameter_mm);
    Some(Rods { diameter_mm, hole_mm, stations_mm: stations.unwrap_or_default(), count, height_mm, nut_allowance_mm })
}

/// The standard clearance hole of a rod or bolt, mm.
fn clearance_hole(diameter_mm: f64) -> Option<f64> {
    let same = |a: f64| (a - diameter_mm).abs() < 0.01;
    let metric = ISO_273_MEDIUM.iter().find(|(d, _)| same(*d)).map(|(_, hole)| *hole);
    metric.or_else(|| INCH_NORMAL.iter().find(|(d, _)| same(d * MM_PER_INCH)).map(|(_, hole)| hole * MM_PER_INCH))
}

fn cross_members(at: &mut Section<'_, '_>) -> Option<CrossMembers> {
    let count = at.count("count", (1, MOST_CROSS_MEMBERS), "How many members, spread evenly.").optional();
    let (along, meaning) = (Within(-LONGEST_MM, LONGEST_MM), "Where members go, along the table from its middle.");
    let stations = at.lengths("stations", along, (1, MOST_CROSS_MEMBERS), meaning).optional();
    let thickness = at.length("thickness", UpTo(100.0), "Thickness of their stock.").usual(2.5, 80.0).required();
    let height = at.length("height", UpTo(1000.0), "Height of the members.").required();
    let fit_mm = at.length("fit", Within(0.0, 5.0), "How much wider than the stock slots are.").or(DEFAULT_FIT_MM);
    let reliefs = [("none", Relief::None), ("bone", Relief::Bone), ("tee", Relief::Tee)];
    let relief = at.choice("relief", &reliefs, "How corners of slots are eased for a round cutter.");
    let (count, stations_mm) = match at.one_of(&["count", "stations"], "where the cross members stand")? {
        "count" => (count?, Vec::new()),
        _ => stations.map(|s| (s.len(), s))?,
    };
    Some(CrossMembers { stations_mm, count, thickness_mm: thickness?, height_mm: height?, fit_mm, relief })
}

fn split(at: &mut Section<'_, '_>) -> Option<Split> {
    let longest = at.length("longest", Within(200.0, LONGEST_MM), "Longest piece.").otherwise("what the machine takes");
    let meaning = "Bending stress that the stock bears at a joint.";
    let stress_mpa = at.quantity("stress", Dimension::Strength, UpTo(500.0), meaning).or(DEFAULT_STRESS_MPA);
    let key = at.table("key", "A key in a socket.", |at| {
        let meaning = "Clear gap of the key in its socket.";
        Some(Joint::Key { gap_mm: at.length("gap", Within(0.0, 2.0), meaning).or(DEFAULT_GAP_MM) })
    });
    let key = key.optional();
    let plates = at.table("plates", "Plates with four bolts.", plates).optional();
    at.one_of(&["key", "plates"], "how the pieces are joined")?;
    if at.has("longest") && longest.is_none() {
        return None;
    }
    let longest_mm = longest.unwrap_or(f64::INFINITY);
    Some(Split { longest_mm, longest_key: LONGEST_KEY, joint: key.or(plates)?, stress_mpa })
}

fn plates(at: &mut Section<'_, '_>) -> Option<Joint> {
    let length_mm = at.length("length", Within(60.0, 1000.0), "Length of a plate.").or(200.0);
    let bolt_mm = at.length("bolt", Within(3.0, 20.0), "Diameter of its bolts.").or(8.0);
    let Some(hole_mm) = clearance_hole(bolt_mm) else {
        let remedy = "Use 6, 8, 10, 12 or 16 mm, or \"1/4 in\", \"5/16 in\", \"3/8 in\" or \"1/2 in\".";
        at.fault(
            codes::MISSING_KEY,
            "bolt",
            "this is no standard diameter of a bolt, so the size of its hole is unknown.",
            remedy,
        );
        return None;
    };
    Some(Joint::Plates { length_mm, bolt_mm, hole_mm })
}

fn lightening(at: &mut Section<'_, '_>) -> Option<Lightening> {
    let wall = at.length("wall", Within(5.0, 500.0), "Least material left all round.").required();
    let largest_mm = at.length("largest", Within(10.0, 1000.0), "Largest window.").or(120.0);
    Some(Lightening { wall_mm: wall?, largest_mm })
}

fn hand_holes(at: &mut Section<'_, '_>) -> Option<HandHoles> {
    // A hand with a glove passes through 100 by 32 mm (common practice, no source).
    let length_mm = at.length("length", Within(40.0, 400.0), "Length along the rib.").or(100.0);
    let height_mm = at.length("height", Within(15.0, 200.0), "Height.").or(32.0);
    let meaning = "Middle of the hole from each end of the rib.";
    let from_end = at.length("from_end", UpTo(LONGEST_MM), meaning).required();
    if height_mm >= length_mm {
        let remedy = "Make its length along the rib the larger one.";
        at.fault(codes::IMPOSSIBLE_GEOMETRY, "height", "the hand hole is higher than long.", remedy);
        return None;
    }
    Some(HandHoles { length_mm, height_mm, from_end_mm: from_end? })
}

fn feet(at: &mut Section<'_, '_>) -> Option<Feet> {
    let length = at.length("length", UpTo(1000.0), "Length of each foot.").required();
    let height = at.length("height", UpTo(500.0), "Height of the feet.").required();
    Some(Feet { length_mm: length?, height_mm: height? })
}

fn panels(at: &mut Section<'_, '_>) -> Option<BoxPanels> {
    let end_thickness_mm = at.length("ends", UpTo(100.0), "Thickness of the end panels.").optional();
    let base_thickness_mm = at.length("base", UpTo(100.0), "Thickness of the base board.").optional();
    let screw_pitch_mm = at.length("screw_pitch", Within(20.0, 1000.0), "Largest distance of screws.").or(150.0);
    if !at.has("ends") && !at.has("base") {
        at.missing("ends", "Give the thickness of the end panels (ends), of the base board (base), or both.");
        return None;
    }
    Some(BoxPanels { end_thickness_mm, base_thickness_mm, screw_pitch_mm })
}
