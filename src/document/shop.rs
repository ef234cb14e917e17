//! The file in which a shop keeps its boards: one `[[board]]` for each, oldest first.
//!
//! Entries are only ever added behind what is there, as text: comments, order and spelling of the rest stay.

mod entry;

use serde::Deserialize;
use toml::de::DeTable;

use super::inputs::Inputs;
use super::measured::{self, RawMeasured};
use super::places;
use super::problem::Problem;
use super::quantity::Quantity;
use super::reader::{LONGEST_MM, Range, Reader};
use crate::codes;
use crate::finding::Fault;
use crate::job::{
    EffectiveLayer, KeptBoard, Layer, MOST_HOURS, Material, MaterialKind, PressedAs, Share, Shop, Spread, Thickness,
};
use crate::units::{Dimension, LengthUnit, phrase};

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
struct RawShop {
    halve_after: Option<Quantity>,
    shims: Option<Vec<Quantity>>,
    board: Option<Vec<RawKept>>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
struct RawKept {
    label: Option<Quantity>,
    date: Option<Quantity>,
    remark: Option<Quantity>,
    hours_after_release: Option<Quantity>,
    left_out: Option<Quantity>,
    again_of: Option<Quantity>,
    job: Option<Quantity>,
    job_title: Option<Quantity>,
    table_id: Option<Quantity>,
    finished: Option<Vec<Quantity>>,
    blank: Option<Vec<Quantity>>,
    pressure: Option<Quantity>,
    forces: Option<Vec<Vec<Quantity>>>,
    caul_stiffness: Option<Quantity>,
    matching_form: Option<Quantity>,
    cure_above_room: Option<Quantity>,
    table: Option<Vec<Vec<Quantity>>>,
    table_heights: Option<Vec<Vec<Quantity>>>,
    layers: Option<Vec<RawPly>>,
    measured: Option<RawMeasured>,
}

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
struct RawPly {
    name: Option<Quantity>,
    plies: Option<Quantity>,
    material: Option<Quantity>,
    modulus: Option<Quantity>,
    modulus_cv: Option<Quantity>,
    relaxed: Option<Quantity>,
    relaxed_error: Option<Quantity>,
    expansion: Option<Quantity>,
    thickness: Option<Quantity>,
    thickness_error: Option<Quantity>,
    taper: Option<Vec<Vec<Quantity>>>,
    from: Option<Quantity>,
    to: Option<Quantity>,
    cured_group: Option<Quantity>,
    natural_curvature: Option<Quantity>,
    shrinks_through: Option<Quantity>,
}

/// Largest file of boards that is read, bytes: thousands of entries.
pub const LARGEST: usize = 50_000_000;
/// Most boards of one shop: hundreds of years of pressing.
const MOST_BOARDS: usize = 5000;
/// Thickest shim that is one, mm.
const THICKEST_SHIM_MM: f64 = 100.0;
/// Most layers of one board, and most places of one list.
const MOST_LAYERS: usize = 100;
const MOST_PLACES: usize = 20_000;

/// Reads a shop's file; bare numbers are millimetres.
///
/// # Errors
/// Everything that is wrong in it, with its places.
pub fn read(name: &str, text: &str) -> Result<Shop, Vec<Problem>> {
    read_for(name, text, LengthUnit::Millimetre)
}

/// Reads it for a job in which bare lengths are in `unit`: so are the shop's shims, as on the command line.
fn read_for(name: &str, text: &str, unit: LengthUnit) -> Result<Shop, Vec<Problem>> {
    if text.len() > LARGEST {
        let message = format!("the file has {} bytes; {LARGEST} are the most that are read.", text.len());
        let fault = Fault::new(codes::DOCUMENT_TOO_LARGE, "", message, "Begin a new file for the boards of this year.");
        return Err(vec![Problem::at(name, text, 0..0, fault)]);
    }
    let (tree, errors) = DeTable::parse_recoverable(text);
    if !errors.is_empty() {
        let located = |e: &toml::de::Error| {
            let message = format!("this is not valid TOML: {}.", e.message().trim_end_matches('.'));
            let fault = Fault::new(codes::SYNTAX, "", message, "Mend it by hand; nothing is written to a broken file.");
            Problem::at(name, text, e.span().unwrap_or(0..0), fault)
        };
        return Err(errors.iter().map(located).collect());
    }
    let controls = places::control_characters(&tree);
    if !controls.is_empty() {
        return Err(controls.into_iter().map(|(span, fault)| Problem::at(name, text, span, fault)).collect());
    }
    let (raw, mut faults, spoiled) = places::extract::<RawShop>(&tree);
    let mut reader = Reader::new(spoiled);
    let halve = Range::Within(0.5, 1000.0);
    let halve_after = reader.optional(raw.halve_after.as_ref(), "halve_after", Dimension::Ratio, halve);
    reader.unit = unit;
    let shims_mm = raw.shims.as_deref().map(|s| reader.lengths(s, "shims", Range::Positive(THICKEST_SHIM_MM)));
    reader.unit = LengthUnit::Millimetre;
    let raw_boards = raw.board.unwrap_or_default();
    if raw_boards.len() > MOST_BOARDS {
        let message = format!("{} boards are kept.", raw_boards.len());
        reader.faults.push(Fault::new(codes::TOO_MANY, "board", message, format!("At most {MOST_BOARDS} are read.")));
    }
    let boards: Vec<Option<KeptBoard>> =
        raw_boards.into_iter().take(MOST_BOARDS).enumerate().map(|(i, b)| board(&mut reader, b, i)).collect();
    for (i, board) in boards.iter().enumerate() {
        let Some(board) = board else { continue };
        if boards[..i].iter().flatten().any(|b| b.label == board.label) {
            let message = format!("there is a board called `{}` before this one.", board.label);
            let fault =
                Fault::new(codes::BOARD_KEPT_ALREADY, format!("board[{i}].label"), message, "Give each its own label.");
            reader.faults.push(fault);
        }
    }
    faults.append(&mut reader.faults);
    let boards: Option<Vec<KeptBoard>> = boards.into_iter().collect();
    match boards {
        Some(boards) if faults.is_empty() => {
            Ok(Shop { boards, halve_after, shims_mm: shims_mm.flatten().unwrap_or_default() })
        }
        _ => {
            let mut problems: Vec<Problem> = faults
                .into_iter()
                .map(|f| f.in_units(unit))
                .map(|f| Problem::at(name, text, places::span_of(&tree, &f.path, f.code == "unknown-key"), f))
                .collect();
            problems.sort_by_key(|p| (p.span.start, p.span.end));
            Err(problems)
        }
    }
}

/// The text with one more board behind it; what was there stays as it is.
///
/// # Errors
/// What is wrong with the text that is there, or with the result if it could not be read back.
pub fn with_board(name: &str, text: &str, board: &KeptBoard) -> Result<String, Vec<Problem>> {
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
    let after = read(name, &longer).map_err(|problems| {
        let added = |p: Problem| Problem::at(name, text, text.len()..text.len(), p.fault);
        problems.into_iter().map(added).collect::<Vec<_>>()
    })?;
    let kept = after.boards.len() == before.boards.len() + 1 && after.boards.starts_with(&before.boards);
    if !kept || (after.halve_after, &after.shims_mm) != (before.halve_after, &before.shims_mm) {
        let fault = codes::BOARD_NOT_ADDED.at("", "the new board does not come to stand behind the others.");
        return Err(vec![Problem::at(name, text, text.len()..text.len(), fault)]);
    }
    Ok(longer)
}

/// The shop's file that a job names; what is wrong in it is told at the job's key.
pub(super) fn named(reader: &mut Reader, name: &str, inputs: &Inputs, path: &str) -> Option<Shop> {
    let text = inputs.text(reader, name, path)?;
    match read_for(name, text, reader.unit) {
        Ok(shop) => Some(shop),
        Err(problems) => {
            for p in problems {
                let message = phrase!("line {} of {}: {}", p.line, name, p.fault.message);
                reader.faults.push(Fault::new(p.fault.code, path, message, p.fault.remedy));
            }
            None
        }
    }
}

fn board(reader: &mut Reader, raw: RawKept, i: usize) -> Option<KeptBoard> {
    let before = reader.faults.len();
    let path = |key: &str| format!("board[{i}].{key}");
    if raw.label.is_none() {
        reader.missing(&path("label"), "Give the board a name.");
    }
    let label = reader.text(raw.label.as_ref(), &path("label"));
    let date = reader.text(raw.date.as_ref(), &path("date"));
    if let Some(date) = date.as_deref().filter(|d| !is_date(d)) {
        let message = format!("`{date}` is no date.");
        reader.faults.push(codes::NO_DATE.at(path("date"), message));
    }
    let remark = reader.text(raw.remark.as_ref(), &path("remark"));
    let hours = Range::NotNegative(MOST_HOURS);
    let hours_path = path("hours_after_release");
    let hours = reader.optional(raw.hours_after_release.as_ref(), &hours_path, Dimension::Time, hours);
    let left_out = reader.flag(raw.left_out.as_ref(), &path("left_out"), false);
    let again_of = reader.text(raw.again_of.as_ref(), &path("again_of"));
    let job_hash = reader.text(raw.job.as_ref(), &path("job")).unwrap_or_default();
    let job_title = reader.text(raw.job_title.as_ref(), &path("job_title")).unwrap_or_default();
    let table_id = reader.text(raw.table_id.as_ref(), &path("table_id")).unwrap_or_default();
    let finished_mm = ends(reader, raw.finished.as_deref(), &path("finished"));
    let blank_mm = ends(reader, raw.blank.as_deref(), &path("blank"));
    let pressure_mpa =
        reader.required(raw.pressure.as_ref(), &path("pressure"), Dimension::Pressure, Range::NotNegative(100.0));
    let forces = pairs(reader, raw.forces.as_deref(), &path("forces"), Dimension::LineForce);
    let caul = Range::NotNegative(1e12);
    let stiffness = Dimension::StripStiffness;
    let caul = reader.optional(raw.caul_stiffness.as_ref(), &path("caul_stiffness"), stiffness, caul);
    let matched = reader.flag(raw.matching_form.as_ref(), &path("matching_form"), false);
    let warm = Range::Within(-100.0, 300.0);
    let difference = Dimension::TemperatureDifference;
    let cure = reader.optional(raw.cure_above_room.as_ref(), &path("cure_above_room"), difference, warm);
    if raw.table.is_none() {
        reader.missing(&path("table"), "Give the table's curvature: pairs of place in mm and curvature in 1/m.");
    }
    let table = pairs(reader, raw.table.as_deref(), &path("table"), Dimension::Curvature);
    if let Some(table) = &table
        && (table.windows(2).any(|w| w[1].0 < w[0].0) || table.first().map(|t| t.0) >= table.last().map(|t| t.0))
    {
        let remedy = "List places along the table in growing order, two for a jump.";
        reader.faults.push(Fault::new(
            codes::TABLE_UNSORTED,
            path("table"),
            "the table does not go from end to end.",
            remedy,
        ));
    }
    let table_heights_mm = pairs(reader, raw.table_heights.as_deref(), &path("table_heights"), Dimension::Length);
    let raw_layers = raw.layers.unwrap_or_default();
    if raw_layers.is_empty() {
        let remedy = format!("List 1 to {MOST_LAYERS} layers from base to deck as [[board.layers]].");
        reader.missing(&path("layers"), &remedy);
    } else if raw_layers.len() > MOST_LAYERS {
        let message = format!("the stack has {} layers.", raw_layers.len());
        reader.faults.push(Fault::new(
            codes::TOO_MANY,
            path("layers"),
            message,
            format!("At most {MOST_LAYERS} are read."),
        ));
    }
    let mut layers: Vec<Option<EffectiveLayer>> = Vec::new();
    for (j, raw) in raw_layers.iter().take(MOST_LAYERS).enumerate() {
        let entry = format!("board[{i}].layers[{j}]");
        let plies = reader.count(raw.plies.as_ref(), &format!("{entry}.plies"), 1, MOST_LAYERS).unwrap_or(1);
        let ply = layer(reader, raw, j, &entry);
        layers.extend(std::iter::repeat_n(ply, plies));
    }
    if layers.len() > MOST_LAYERS {
        let message = format!("{} layers are listed.", layers.len());
        reader.faults.push(Fault::new(
            codes::TOO_MANY,
            path("layers"),
            message,
            format!("At most {MOST_LAYERS} are read."),
        ));
    }
    if raw.measured.is_none() {
        reader.missing(&path("measured"), "Give the readings in a table [board.measured].");
    }
    let readings = raw.measured.and_then(|m| measured::check(reader, &m, &path("measured"), &Inputs::default()));
    let layers: Option<Vec<EffectiveLayer>> = layers.into_iter().collect();
    if reader.faults.len() > before {
        return None;
    }
    Some(KeptBoard {
        label: label?,
        date,
        remark,
        hours_after_release: hours,
        left_out,
        again_of,
        job_hash,
        job_title,
        pressed: PressedAs {
            layers: layers?,
            cure_above_room_k: cure.unwrap_or(0.0),
            table: table?,
            table_id,
            table_heights_mm: table_heights_mm?,
            blank_mm: blank_mm?,
            finished_mm: finished_mm?,
            pressure_mpa: pressure_mpa?,
            forces: forces?,
            caul_stiffness_n_mm: caul.unwrap_or(0.0),
            matched,
        },
        readings: readings?.0,
    })
}

/// Year-month-day of a day that exists (Gregorian calendar).
pub fn is_date(text: &str) -> bool {
    let shape: String = text.chars().map(|c| if c.is_ascii_digit() { '0' } else { c }).collect();
    let number = |range: std::ops::Range<usize>| text.get(range).and_then(|t| t.parse::<u32>().ok()).unwrap_or(0);
    let (year, month) = (number(0..4), number(5..7));
    let days = match month {
        2 if year % 4 == 0 && (year % 100 != 0 || year % 400 == 0) => 29,
        2 => 28,
        4 | 6 | 9 | 11 => 30,
        _ => 31,
    };
    shape == "0000-00-00" && (1..=12).contains(&month) && (1..=days).contains(&number(8..10))
}

fn ends(reader: &mut Reader, list: Option<&[Quantity]>, path: &str) -> Option<(f64, f64)> {
    let Some(list) = list else {
        reader.missing(path, "Give the ends of tail and tip, mm from the middle: [-670, 670].");
        return None;
    };
    let values = reader.lengths(list, path, Range::Within(-LONGEST_MM, LONGEST_MM))?;
    match values[..] {
        [tail, tip] if tail < 0.0 && tip > 0.0 => Some((tail, tip)),
        _ => {
            let remedy = "Give tail and tip, mm from the middle: [-670, 670].";
            reader.faults.push(Fault::new(codes::WRONG_SHAPE, path, "these are no ends of a board.", remedy));
            None
        }
    }
}

/// Pairs of a place and a value; empty where the key is left out.
fn pairs(
    reader: &mut Reader,
    list: Option<&[Vec<Quantity>]>,
    path: &str,
    dimension: Dimension,
) -> Option<Vec<(f64, f64)>> {
    let list = list.unwrap_or_default();
    if list.len() > MOST_PLACES {
        let message = format!("{} places are given.", list.len());
        reader.faults.push(Fault::new(codes::TOO_MANY, path, message, format!("At most {MOST_PLACES} are read.")));
        return None;
    }
    let mut found = Vec::with_capacity(list.len());
    for (i, pair) in list.iter().enumerate() {
        let at = format!("{path}[{i}]");
        let [place, value] = &pair[..] else {
            let message = format!("a pair has two numbers, not {}.", pair.len());
            reader.faults.push(Fault::new(codes::WRONG_SHAPE, at, message, "Write [place, value]."));
            continue;
        };
        let within = Range::Within(-LONGEST_MM, LONGEST_MM);
        let place = reader.optional(Some(place), &format!("{at}[0]"), Dimension::Length, within);
        let value = reader.optional(Some(value), &format!("{at}[1]"), dimension, Range::Within(-1e6, 1e6));
        found.extend(place.zip(value));
    }
    (found.len() == list.len()).then_some(found)
}

fn layer(reader: &mut Reader, raw: &RawPly, number: usize, entry: &str) -> Option<EffectiveLayer> {
    let path = |key: &str| format!("{entry}.{key}");
    let name = reader.text(raw.name.as_ref(), &path("name"));
    let material = reader.text(raw.material.as_ref(), &path("material"));
    let modulus = reader.required(raw.modulus.as_ref(), &path("modulus"), Dimension::Modulus, Range::Positive(1e7));
    let ratio = |reader: &mut Reader, value: &Option<Quantity>, key: &str, most: f64| {
        reader.optional(value.as_ref(), &path(key), Dimension::Ratio, Range::NotNegative(most)).unwrap_or(0.0)
    };
    let cv = ratio(reader, &raw.modulus_cv, "modulus_cv", 1.0);
    let relaxed = Share {
        value: ratio(reader, &raw.relaxed, "relaxed", 1.0),
        sd: ratio(reader, &raw.relaxed_error, "relaxed_error", 1.0),
    };
    let small = Range::Within(-1.0, 1.0);
    let expansion = reader.optional(raw.expansion.as_ref(), &path("expansion"), Dimension::Expansion, small);
    let error = Range::NotNegative(100.0);
    let error = reader.optional(raw.thickness_error.as_ref(), &path("thickness_error"), Dimension::Length, error);
    let thickness = match &raw.taper {
        Some(taper) => pairs(reader, Some(taper), &path("taper"), Dimension::Length).map(Thickness::Tapered),
        None => reader
            .required(raw.thickness.as_ref(), &path("thickness"), Dimension::Length, Range::Positive(LONGEST_MM))
            .map(Thickness::Constant),
    };
    let place = Range::Within(-LONGEST_MM, LONGEST_MM);
    let from = reader.optional(raw.from.as_ref(), &path("from"), Dimension::Length, place);
    let to = reader.optional(raw.to.as_ref(), &path("to"), Dimension::Length, place);
    let group = raw.cured_group.as_ref().and_then(|g| reader.count(Some(g), &path("cured_group"), 1, MOST_LAYERS));
    let natural = Range::Within(-0.1, 0.1);
    let natural =
        reader.optional(raw.natural_curvature.as_ref(), &path("natural_curvature"), Dimension::Curvature, natural);
    let shrinks = Range::Within(-1.0, 1.0);
    let shrinks = reader.optional(raw.shrinks_through.as_ref(), &path("shrinks_through"), Dimension::Ratio, shrinks);
    let modulus_mpa = Spread { value: modulus?, cv };
    let material_name = material.unwrap_or_else(|| "as given".to_owned());
    let material = Material {
        modulus_mpa,
        expansion_per_k: expansion,
        relaxed,
        ..Material::of_modulus(material_name.clone(), MaterialKind::WoodAlong, modulus_mpa.value)
    };
    let mut layer = Layer::flat(name.unwrap_or(material_name), material, 1.0);
    layer.entry = number;
    layer.thickness = thickness?;
    layer.thickness_sd_mm = error.unwrap_or(0.0);
    layer.extent_mm = from.zip(to);
    layer.cured_group = group;
    layer.natural_curvature_per_mm = natural.unwrap_or(0.0);
    layer.shrinks_through = Some(shrinks.unwrap_or(0.0));
    Some(EffectiveLayer::with_moduli_of(layer))
}

#[cfg(test)]
mod tests;
