//! One board as text.

use std::fmt::Write as _;

use crate::job::{Datum, KeptBoard, Layer, Origin, StationsAlong, Thickness};
use crate::units::plain;

/// Decimals of lengths: a thousandth of what is measured.
const LENGTH_DECIMALS: usize = 4;
/// Decimals of ratios and of curvatures in 1/m: a billionth of a metre's bend is nothing.
const FINE_DECIMALS: usize = 9;
/// Pairs in a line of the file.
const PAIRS_IN_LINE: usize = 8;

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
    if let Some(label) = &board.again_of {
        line("again_of", quoted(label));
    }
    line("job", quoted(&board.job_hash));
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
    line("table", pairs(&pressed.table, 1e3, FINE_DECIMALS));
    if !pressed.table_heights_mm.is_empty() {
        line("table_heights", pairs(&pressed.table_heights_mm, 1.0, LENGTH_DECIMALS));
    }
    for layer in &pressed.layers {
        out.push_str(&ply(layer));
    }
    out.push_str(&measured(board));
    out
}

fn ply(layer: &Layer) -> String {
    let mut out = "\n[[board.layers]]\n".to_owned();
    let mut line = |key: &str, value: String| {
        let _ = writeln!(out, "{key} = {value}");
    };
    let fine = |value: f64| plain(value, FINE_DECIMALS);
    let material = &layer.material;
    line("name", quoted(&layer.name));
    line("material", quoted(&material.name));
    line("modulus", quoted(&format!("{} MPa", plain(material.modulus_mpa.value, LENGTH_DECIMALS))));
    line("modulus_cv", fine(material.modulus_mpa.cv));
    line("relaxed", fine(layer.relaxed.value));
    line("relaxed_error", fine(layer.relaxed.sd));
    if let Some(expansion) = material.expansion_per_k {
        line("expansion", fine(1e6 * expansion));
    }
    match &layer.thickness {
        Thickness::Constant(t) => line("thickness", plain(*t, LENGTH_DECIMALS)),
        Thickness::Tapered(stations) => line("taper", pairs(stations, 1.0, LENGTH_DECIMALS)),
    }
    line("thickness_error", fine(layer.thickness_sd_mm));
    if let Some((from, to)) = layer.extent_mm {
        line("from", plain(from, LENGTH_DECIMALS));
        line("to", plain(to, LENGTH_DECIMALS));
    }
    if let Some(group) = layer.cured_group {
        line("cured_group", group.to_string());
    }
    if layer.natural_curvature_per_mm != 0.0 {
        line("natural_curvature", fine(1e3 * layer.natural_curvature_per_mm));
    }
    out
}

fn measured(board: &KeptBoard) -> String {
    let mut out = "\n[board.measured]\n".to_owned();
    let mut line = |key: &str, value: String| {
        let _ = writeln!(out, "{key} = {value}");
    };
    let readings = &board.readings;
    let word = |word: &str| quoted(word);
    line("datum", word(if readings.datum == Datum::Floor { "floor" } else { "straightedge" }));
    line("along", word(if readings.along == StationsAlong::Base { "base" } else { "datum" }));
    let from = match readings.origin {
        Origin::Tail => "tail",
        Origin::Middle => "middle",
        Origin::Tip => "tip",
    };
    line("from", word(from));
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
    let lines: Vec<String> = list
        .chunks(PAIRS_IN_LINE)
        .map(|chunk| {
            let pair =
                |(a, b): &(f64, f64)| format!("[{}, {}]", plain(*a, LENGTH_DECIMALS), plain(scale * b, decimals));
            chunk.iter().map(pair).collect::<Vec<_>>().join(", ")
        })
        .collect();
    format!("[\n  {},\n]", lines.join(",\n  "))
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
