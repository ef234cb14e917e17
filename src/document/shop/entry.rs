//! One board as text.

use std::fmt::Write as _;

use crate::job::{Datum, EffectiveLayer, KeptBoard, Origin, StationsAlong, Thickness};
use crate::units::plain;

/// Decimals of lengths: a thousandth of what is measured.
const LENGTH_DECIMALS: usize = 4;
/// Decimals of ratios and of curvatures in 1/m: a billionth of a metre's bend is nothing.
const FINE_DECIMALS: usize = 9;
/// Pairs in a line of the file.
const PAIRS_IN_LINE: usize = 10;

/// The entry of a board, ended by a line's end.
pub(super) fn write(board: &KeptBoard) -> String {
    let mut out = "[[board]]\n".to_owned();
    let mut line = |key: &str, value: String| {
        // Writing to a String cannot fail.
        let _ = writeln!(out, "{key} = {value}");
    };
    let length = |mm: f64| plain(mm, LENGTH_DECIMALS);
    let ends = |(a, b): (f64, f64)| format!("[{}, {}]", length(a), length(b));
    let pressed = &board.pressed;
    line("label", quoted(&board.label));
    if let Some(date) = &board.date {
        line("date", quoted(date));
    }
    if let Some(remark) = &board.remark {
        line("remark", quoted(remark));
    }
    if board.left_out {
        line("left_out", "true".to_owned());
    }
    if let Some(hours) = board.hours_after_release {
        line("hours_after_release", plain(hours, FINE_DECIMALS));
    }
    if let Some(label) = &board.again_of {
        line("again_of", quoted(label));
    }
    line("job", quoted(&board.job_hash));
    if !board.job_title.is_empty() {
        line("job_title", quoted(&board.job_title));
    }
    line("finished", ends(pressed.finished_mm));
    line("blank", ends(pressed.blank_mm));
    line("pressure", quoted(&format!("{} kPa", plain(1e3 * pressed.pressure_mpa, FINE_DECIMALS))));
    if !pressed.forces.is_empty() {
        line("forces", pairs(&pressed.forces, 1.0, FINE_DECIMALS));
    }
    if pressed.caul_stiffness_n_mm > 0.0 {
        line("caul_stiffness", plain(pressed.caul_stiffness_n_mm, LENGTH_DECIMALS));
    }
    if pressed.matched {
        line("matching_form", "true".to_owned());
    }
    if pressed.cure_above_room_k != 0.0 {
        line("cure_above_room", plain(pressed.cure_above_room_k, LENGTH_DECIMALS));
    }
    // Places along the table in mm, curvature in 1/m.
    if !pressed.table_id.is_empty() {
        line("table_id", quoted(&pressed.table_id));
    }
    line("table", pairs(&pressed.table, 1e3, FINE_DECIMALS));
    if !pressed.table_heights_mm.is_empty() {
        line("table_heights", pairs(&pressed.table_heights_mm, 1.0, LENGTH_DECIMALS));
    }
    line("layers", format!("[\n{}]", layers(&pressed.layers)));
    out.push_str(&measured(board));
    out
}

/// One line for each layer, or for several plies of one entry that lie on each other.
fn layers(layers: &[EffectiveLayer]) -> String {
    let alike = |a: &EffectiveLayer, b: &EffectiveLayer| a.entry == b.entry && ply(a, 1) == ply(b, 1);
    layers.chunk_by(alike).map(|plies| format!("  {{ {} }},\n", ply(&plies[0], plies.len()))).collect()
}

/// A layer's keys and values; what is left out is zero when it is read.
fn ply(layer: &EffectiveLayer, plies: usize) -> String {
    let fine = |value: f64| plain(value, FINE_DECIMALS);
    let length = |mm: f64| plain(mm, LENGTH_DECIMALS);
    let material = &layer.material;
    let mut keys = vec![("name", quoted(&layer.name))];
    let mut key = |name: &'static str, present: bool, value: String| {
        if present {
            keys.push((name, value));
        }
    };
    key("plies", plies > 1, plies.to_string());
    key("material", true, quoted(&material.name));
    key("modulus", true, quoted(&format!("{} MPa", length(material.modulus_mpa.value))));
    key("modulus_cv", material.modulus_mpa.cv != 0.0, fine(material.modulus_mpa.cv));
    key("relaxed", layer.relaxed.value != 0.0, fine(layer.relaxed.value));
    key("relaxed_error", layer.relaxed.sd != 0.0, fine(layer.relaxed.sd));
    key("expansion", material.expansion_per_k.is_some(), fine(1e6 * material.expansion_per_k.unwrap_or(0.0)));
    match &layer.thickness {
        Thickness::Constant(t) => key("thickness", true, length(*t)),
        Thickness::Tapered(stations) => key("taper", true, format!("[{}]", row(stations, 1.0, LENGTH_DECIMALS))),
    }
    key("thickness_error", layer.thickness_sd_mm != 0.0, fine(layer.thickness_sd_mm));
    if let Some((from, to)) = layer.extent_mm {
        key("from", true, length(from));
        key("to", true, length(to));
    }
    key("cured_group", layer.cured_group.is_some(), layer.cured_group.unwrap_or(0).to_string());
    let natural = layer.natural_curvature_per_mm;
    key("natural_curvature", natural != 0.0, fine(1e3 * natural));
    let shrinks = layer.shrinks_through.unwrap_or(0.0);
    key("shrinks_through", shrinks != 0.0, fine(shrinks));
    keys.into_iter().map(|(name, value)| format!("{name} = {value}")).collect::<Vec<_>>().join(", ")
}

/// The readings; what is usual is left out.
fn measured(board: &KeptBoard) -> String {
    let mut out = "\n[board.measured]\n".to_owned();
    let mut line = |key: &str, value: String| {
        let _ = writeln!(out, "{key} = {value}");
    };
    let readings = &board.readings;
    if readings.datum == Datum::Straightedge {
        line("datum", quoted("straightedge"));
    }
    if readings.along == StationsAlong::Datum {
        line("along", quoted("datum"));
    }
    match readings.origin {
        Origin::Tail => line("from", quoted("tail")),
        Origin::Middle => line("from", quoted("middle")),
        Origin::Tip => line("from", quoted("tip")),
    }
    if let Some(error) = readings.error_mm {
        line("error", plain(error, LENGTH_DECIMALS));
    }
    if !readings.excluded.is_empty() {
        // Readings are counted from 1 in documents.
        let numbers: Vec<String> = readings.excluded.iter().map(|n| (n + 1).to_string()).collect();
        line("exclude", format!("[{}]", numbers.join(", ")));
    }
    let list: Vec<(f64, f64)> = readings.readings.iter().map(|r| (r.station_mm, r.height_mm)).collect();
    line("readings", pairs(&list, 1.0, LENGTH_DECIMALS));
    out
}

/// Pairs, a few to a line; the second ones times `scale`.
fn pairs(list: &[(f64, f64)], scale: f64, decimals: usize) -> String {
    let lines: Vec<String> = list.chunks(PAIRS_IN_LINE).map(|chunk| row(chunk, scale, decimals)).collect();
    format!("[\n  {},\n]", lines.join(",\n  "))
}

/// Pairs in one line.
fn row(list: &[(f64, f64)], scale: f64, decimals: usize) -> String {
    let pair = |(a, b): &(f64, f64)| format!("[{}, {}]", plain(*a, LENGTH_DECIMALS), plain(scale * b, decimals));
    list.iter().map(pair).collect::<Vec<_>>().join(", ")
}

/// A text in quotes, with what TOML wants escaped.
fn quoted(text: &str) -> String {
    let mut out = "\"".to_owned();
    for c in text.chars() {
        match c {
            '"' | '\\' => out.extend(['\\', c]),
            c if c.is_control() => {
                let _ = write!(out, "\\u{:04X}", u32::from(c));
            }
            c => out.push(c),
        }
    }
    out.push('"');
    out
}
