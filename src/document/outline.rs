//! `[board.outline]` and `[[board.holes]]`: the board in plan.

use super::drawn::drawn_outline;
use super::inputs::Inputs;
use super::keys::Range::{UpTo, Within};
use super::reader::LONGEST_MM;
use super::section::Section;
use super::taper::ORIGINS;
use crate::codes;
use crate::job::{BoardHole, OutlineShape, PlanOutline};
use crate::units::{Dimension, Quantity, phrase};

/// Most stations of an outline: one each 20 mm of the longest board that people build.
const MOST_STATIONS: usize = 200;
/// Most holes.
pub(super) const MOST_HOLES: usize = 200;
/// Thickness of a trimming template where the document does not say: guides a bearing, and is cut by hand (common
/// practice, no source).
const TEMPLATE_MM: f64 = 6.0;

pub(super) fn outline(at: &mut Section<'_, '_>, inputs: &Inputs) -> Option<PlanOutline> {
    let pair = [(Dimension::Length, Within(-LONGEST_MM, LONGEST_MM)), (Dimension::Length, Within(0.0, LONGEST_MM))];
    let mut side = |key: &'static str, meaning: &'static str| {
        let shown = ("[[-600, 0], [-500, 120], [0, 110], [500, 120], [600, 0]]", meaning);
        let points = at.pairs(key, pair, (2, MOST_STATIONS), shown).optional();
        points.filter(|points| in_order(at, key, points))
    };
    let points = side("points", "Pairs of station and width, from tail to tip; a width of 0 makes a round end.");
    let left = side("left", "Pairs of station and distance of the left edge from the middle line, seen from the tail.");
    let right = side("right", "The same of the right edge.");
    let from = at.choice("stations_from", &ORIGINS, "Where these stations are counted from.");
    let meaning = "The outline drawn in a CAD program as one closed line.";
    let drawing = at.table("drawing", meaning, |at| drawn_outline(at, inputs)).optional();
    let blanks = [("rectangle", false), ("outline", true)];
    let meaning = "What is pressed: a rectangle that is trimmed afterwards, or layers cut to the outline before.";
    let shaped_blank = at.choice("blank", &blanks, meaning);
    let meaning = "Thickness of the sheet of the trimming template; 0 for no template.";
    let template_mm = at.length("template", Within(0.0, 50.0), meaning).or(TEMPLATE_MM);
    if at.has("left") != at.has("right") {
        let (given, other) = if at.has("left") { ("left", "right") } else { ("right", "left") };
        at.missing(other, format!("Give `{other}` as well as `{given}`, or `points` for a board alike on both sides."));
        return None;
    }
    let shape = match at.one_of(&["points", "left", "drawing"], "the outline")? {
        "points" => OutlineShape::Widths { points: points?, from },
        "left" => OutlineShape::Sides { left: left?, right: right?, from },
        _ => drawing?,
    };
    Some(PlanOutline { shape, shaped_blank, template_mm })
}

/// Whether stations grow, with a fault at the first that does not.
fn in_order(at: &mut Section<'_, '_>, key: &str, points: &[(f64, f64)]) -> bool {
    let Some(i) = points.windows(2).position(|w| w[1].0 <= w[0].0) else { return true };
    let message = phrase!(
        "station {} comes after {} but does not lie beyond it.",
        Quantity::exact(points[i + 1].0),
        Quantity::exact(points[i].0)
    );
    at.fault(codes::OUT_OF_ORDER, &format!("{key}[{}]", i + 1), message, "List stations in growing order, each once.");
    false
}

pub(super) fn hole(at: &mut Section<'_, '_>, _: usize) -> Option<BoardHole> {
    let name = at.text("name", "What the hole is for.").optional();
    let along = Within(-LONGEST_MM, LONGEST_MM);
    let station =
        at.length("station", along, "Place along the base from the middle, toward the tip positive.").required();
    let meaning = "Distance from the middle line, to the left positive, seen from the tail with the deck up.";
    let side_mm = at.length("side", along, meaning).or(0.0);
    let diameter = at.length("diameter", UpTo(500.0), "Diameter.").required();
    Some(BoardHole { name, station_mm: station?, side_mm, diameter_mm: diameter? })
}
