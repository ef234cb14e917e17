//! The file in which a shop keeps its boards: one `[[board]]` for each, oldest first.
//!
//! Entries are only ever added behind what is there, as text: comments, order and spelling of the rest stay.

mod entry;

use toml::value::Datetime;

use super::inputs::Inputs;
use super::keys::Range::{self, UpTo, Within};
use super::measured::measured;
use super::problem::{Problem, Problems};
use super::reader::{LONGEST_MM, Reader};
use super::section::{self, Section};
use super::source::Source;
use crate::codes;
use crate::finding::Fault;
use crate::job::{
    EffectiveLayer, KeptBoard, Layer, MOST_HOURS, Material, MaterialKind, PressedAs, Share, Shop, Spread, Thickness,
};
use crate::units::{Dimension, LengthUnit};

/// Largest file of boards that is read, bytes: thousands of entries.
pub const LARGEST: usize = 50_000_000;
/// Most boards of one shop: hundreds of years of pressing.
const MOST_BOARDS: usize = 5000;
/// Thickest shim that is one, mm.
const THICKEST_SHIM_MM: f64 = 100.0;
/// Most shims that are listed.
const MOST_SHIMS: usize = 1000;
/// Most layers of one board, and most places of one list.
const MOST_LAYERS: usize = 100;
const MOST_PLACES: usize = 20_000;
/// Places along a board or a table, mm.
const ALONG: Range = Within(-LONGEST_MM, LONGEST_MM);

/// Reads a shop's file; bare numbers are millimetres.
///
/// # Errors
/// Everything that is wrong in it, with its places.
pub fn read(name: &str, text: &str) -> Result<Shop, Problems> {
    read_for(name, text, LengthUnit::Millimetre)
}

/// Reads it for a job in which bare lengths are in `unit`: so are the shop's shims, as on the command line.
fn read_for(name: &str, text: &str, unit: LengthUnit) -> Result<Shop, Problems> {
    let source = Source::parse(name, text, (LARGEST, "Begin a new file for the boards of this year."))?;
    let mut reader = Reader::default();
    let shop = section::read(&mut reader, String::new(), Some(source.tree.get_ref()), |at| shop(at, unit));
    match shop {
        Some(shop) if reader.faults.is_empty() => Ok(shop),
        _ => Err(source.problems(reader.into_faults(), unit)),
    }
}

fn shop(at: &mut Section<'_, '_>, unit: LengthUnit) -> Option<Shop> {
    let meaning = "Number of newer boards after which a board counts half.";
    let halve_after = at.quantity("halve_after", Dimension::Ratio, Within(0.5, 1000.0), meaning).optional();
    at.reader.unit = unit;
    let meaning = "Thicknesses of shim that the shop has.";
    let shims_mm = at.lengths("shims", UpTo(THICKEST_SHIM_MM), (0, MOST_SHIMS), meaning).optional();
    at.reader.unit = LengthUnit::Millimetre;
    let mut labels: Vec<String> = Vec::new();
    let boards = at.tables("board", (0, MOST_BOARDS), "A board that was measured.", |at, _| {
        let board = board(at)?;
        if labels.contains(&board.label) {
            let message = format!("there is a board called `{}` before this one.", board.label);
            at.fault(codes::BOARD_KEPT_ALREADY, "label", message, "Give each its own label.");
        }
        labels.push(board.label.clone());
        Some(board)
    });
    let boards = boards.optional().unwrap_or_default();
    Some(Shop { boards, halve_after, shims_mm: shims_mm.unwrap_or_default() })
}

/// The text with one more board behind it; what was there stays as it is.
///
/// # Errors
/// What is wrong with the text that is there, or with the result if it could not be read back.
pub fn with_board(name: &str, text: &str, board: &KeptBoard) -> Result<String, Problems> {
    let before = read(name, text)?;
    let gap = if text.is_empty() || text.ends_with("\n\n") {
        ""
    } else if text.ends_with('\n') {
        "\n"
    } else {
        "\n\n"
    };
    let longer = format!("{text}{gap}{}", entry::write(board));
    // What is wrong now was added just now: the text of the file does not reach there.
    let added = |p: Problem| Problem::at(name, text, text.len()..text.len(), p.fault);
    let after = read(name, &longer).map_err(|problems| problems.into_iter().map(added).collect::<Problems>())?;
    let kept = after.boards.len() == before.boards.len() + 1 && after.boards.starts_with(&before.boards);
    if !kept || (after.halve_after, &after.shims_mm) != (before.halve_after, &before.shims_mm) {
        let fault = Fault::new(
            codes::BOARD_NOT_ADDED,
            "",
            "the new board does not come to stand behind the others.",
            "Look at the last lines of the file.",
        );
        return Err(Problem::at(name, text, text.len()..text.len(), fault).into());
    }
    Ok(longer)
}

/// The shop's file that a job names; what is wrong in it is reported at the job's key.
pub(super) fn named(reader: &mut Reader, name: &str, inputs: &Inputs, path: &str) -> Option<Shop> {
    let text = inputs.text(reader, name, path)?;
    read_for(name, text, reader.unit).map_err(|problems| reader.fault_in_file(path, problems)).ok()
}

fn board(at: &mut Section<'_, '_>) -> Option<KeptBoard> {
    let label = at.text("label", "Its name.").needed("Give the board a name.");
    let date = at.text("date", "When it was measured.").optional();
    if let Some(date) = date.as_deref().filter(|d| !is_date(d)) {
        at.fault(codes::NO_DATE, "date", format!("`{date}` is not a date."), "Write year-month-day: \"2026-03-01\".");
    }
    let remark = at.text("remark", "What else is to be remembered.").optional();
    let meaning = "Hours from release to the readings.";
    let hours = at.quantity("hours_after_release", Dimension::Time, Within(0.0, MOST_HOURS), meaning).optional();
    let left_out = at.flag("left_out", "It is kept and not learnt from.").or(false);
    let again_of = at.text("again_of", "Label of the board whose later readings these are.").optional();
    let job_hash = at.text("job", "The job's hash.").optional().unwrap_or_default();
    let job_title = at.text("job_title", "The job's title.").optional().unwrap_or_default();
    let pressed = pressed(at);
    let readings = at.table("measured", "Readings after release.", |at| measured(at, &Inputs::default()));
    let readings = readings.needed("Give the readings in a table [board.measured].");
    let (pressed, (readings, _)) = pressed.zip(readings)?;
    Some(KeptBoard {
        label: label?,
        date,
        remark,
        hours_after_release: hours,
        left_out,
        again_of,
        job_hash,
        job_title,
        pressed,
        readings,
    })
}

fn pressed(at: &mut Section<'_, '_>) -> Option<PressedAs> {
    let table_id = at.text("table_id", "Name of the table's surface.").optional().unwrap_or_default();
    let finished_mm = ends(at, "finished", "Ends of the finished board.");
    let blank_mm = ends(at, "blank", "Ends of the blank.");
    let meaning = "Pressure all over the blank.";
    let pressure = at.quantity("pressure", Dimension::Pressure, Within(0.0, 100.0), meaning).required();
    let forces = pairs(at, "forces", Dimension::LineForce, "Places of clamps and forces per width.");
    let stiffness = Dimension::StripStiffness;
    let meaning = "Bending stiffness of a caul.";
    let caul_stiffness_n_mm = at.quantity("caul_stiffness", stiffness, Within(0.0, 1e12), meaning).or(0.0);
    let matched = at.flag("matching_form", "A matching form held it down everywhere.").or(false);
    let (difference, meaning) = (Dimension::TemperatureDifference, "How much warmer than the room the glue set.");
    let cure_above_room_k = at.quantity("cure_above_room", difference, Within(-100.0, 300.0), meaning).or(0.0);
    let table = pairs(at, "table", Dimension::Curvature, "Places along the table and its curvature.");
    if !at.has("table") {
        at.missing("table", "Give the table's curvature: pairs of place in mm and curvature in 1/m.");
    } else if let Some(table) = &table
        && (table.windows(2).any(|w| w[1].0 < w[0].0) || table.first().map(|t| t.0) >= table.last().map(|t| t.0))
    {
        let remedy = "List places along the table in growing order, two for a jump.";
        at.fault(codes::TABLE_UNSORTED, "table", "the table does not go from end to end.", remedy);
    }
    let table_heights_mm = pairs(at, "table_heights", Dimension::Length, "Heights that the table was measured with.");
    let layers = at.tables("layers", (1, MOST_LAYERS), "The stack from base to deck.", layer);
    let layers = layers.needed(format!("List 1 to {MOST_LAYERS} layers from base to deck as [[board.layers]]."))?;
    let count: usize = layers.iter().map(|(_, plies)| plies).sum();
    if count > MOST_LAYERS {
        let remedy = format!("At most {MOST_LAYERS} are read.");
        at.fault(codes::TOO_MANY, "layers", format!("the stack has {count} layers."), remedy);
        return None;
    }
    Some(PressedAs {
        layers: layers.into_iter().flat_map(|(layer, plies)| std::iter::repeat_n(layer, plies)).collect(),
        cure_above_room_k,
        table: table?,
        table_id,
        table_heights_mm: table_heights_mm.unwrap_or_default(),
        blank_mm: blank_mm?,
        finished_mm: finished_mm?,
        pressure_mpa: pressure?,
        forces: forces.unwrap_or_default(),
        caul_stiffness_n_mm,
        matched,
    })
}

/// Whether a text is the year-month-day of a day that exists.
pub fn is_date(text: &str) -> bool {
    text.parse().is_ok_and(|date| matches!(date, Datetime { date: Some(_), time: None, offset: None }))
}

fn ends(at: &mut Section<'_, '_>, key: &'static str, meaning: &'static str) -> Option<(f64, f64)> {
    let remedy = "Give tail and tip, mm from the middle: [-670, 670].";
    let ends = at.lengths(key, ALONG, (2, 2), meaning).needed(remedy)?;
    if ends[0] < 0.0 && ends[1] > 0.0 {
        return Some((ends[0], ends[1]));
    }
    at.fault(codes::WRONG_SHAPE, key, "these are not the two ends of a board.", remedy);
    None
}

/// Pairs of a place and a value.
fn pairs(
    at: &mut Section<'_, '_>,
    key: &'static str,
    dimension: Dimension,
    meaning: &'static str,
) -> Option<Vec<(f64, f64)>> {
    let pair = [(Dimension::Length, ALONG), (dimension, Within(-1e6, 1e6))];
    at.pairs(key, pair, (0, MOST_PLACES), ("[[0, 1.5], [600, 2]]", meaning)).optional()
}

/// A layer, and how many there are of it.
fn layer(at: &mut Section<'_, '_>, number: usize) -> Option<(EffectiveLayer, usize)> {
    let name = at.text("name", "What the layer is called.").optional();
    let plies = at.count("plies", (1, MOST_LAYERS), "How many lie on each other.").or(1);
    let material_name = at.text("material", "Its material.").or("as given");
    let modulus = at.quantity("modulus", Dimension::Modulus, UpTo(1e7), "Modulus in the press.").required();
    let mut ratio = |key, meaning| at.quantity(key, Dimension::Ratio, Within(0.0, 1.0), meaning).or(0.0);
    let cv = ratio("modulus_cv", "How far the modulus scatters.");
    let relaxed = Share {
        value: ratio("relaxed", "Part of its bending stress that it loses while it is held."),
        sd: ratio("relaxed_error", "How far that part may be off."),
    };
    let expansion = at.quantity("expansion", Dimension::Expansion, Within(-1.0, 1.0), "Thermal expansion.");
    let expansion_per_k = expansion.optional();
    let thickness = at.length("thickness", UpTo(LONGEST_MM), "Its thickness.").optional();
    let taper = pairs(at, "taper", Dimension::Length, "Stations and thicknesses.");
    let error = at.length("thickness_error", Within(0.0, 100.0), "How far off the thickness may be.");
    let thickness_sd_mm = error.or(0.0);
    let from = at.length("from", ALONG, "Where it begins, if it stops short.").optional();
    let to = at.length("to", ALONG, "Where it ends.").optional();
    let meaning = "Layers with one number were glued to each other before.";
    let cured_group = at.count("cured_group", (1, MOST_LAYERS), meaning).optional();
    let meaning = "Curvature that it has by itself.";
    let natural = at.quantity("natural_curvature", Dimension::Curvature, Within(-0.1, 0.1), meaning).or(0.0);
    let meaning = "How much it shrinks through its thickness after the glue has set.";
    let shrinks = at.quantity("shrinks_through", Dimension::Ratio, Within(-1.0, 1.0), meaning).or(0.0);
    if !at.has("thickness") && !at.has("taper") {
        at.missing("thickness", format!("Give it in a unit of length ({}).", Dimension::Length.units()));
    }
    let modulus_mpa = Spread { value: modulus?, cv };
    let material = Material {
        modulus_mpa,
        expansion_per_k,
        relaxed,
        ..Material::of_modulus(material_name.clone(), MaterialKind::WoodAlong, modulus_mpa.value)
    };
    let mut layer = Layer::flat(name.unwrap_or(material_name), material, 1.0);
    layer.entry = number;
    layer.thickness = taper.map(Thickness::Tapered).or(thickness.map(Thickness::Constant))?;
    layer.thickness_sd_mm = thickness_sd_mm;
    layer.extent_mm = from.zip(to);
    layer.cured_group = cured_group;
    layer.natural_curvature_per_mm = natural;
    layer.shrinks_through = Some(shrinks);
    Some((EffectiveLayer::with_moduli_of(layer), plies))
}

#[cfg(test)]
mod tests;
