//! From what is wanted to the target curve, without a stack or a table.

use super::{Outcome, file};
use crate::built::stations;
use crate::codes;
use crate::draft;
use crate::export::{DxfOptions, ExportError, SvgOptions, write_csv, write_dxf, write_svg};
use crate::finding::Faults;
use crate::job::Wanted;
use crate::rocker;
use crate::units::{LengthUnit, MM_PER_INCH, Phrase, phrase};

/// Distance of the stations in words, and of those in the listing, mm: round in the shop's unit.
fn pitches_mm(unit: LengthUnit) -> (f64, f64) {
    match unit {
        LengthUnit::Millimetre => (100.0, 10.0),
        LengthUnit::Inch { .. } => (4.0 * MM_PER_INCH, 0.5 * MM_PER_INCH),
    }
}

/// The target curve in words, and its files: stations, picture, profile and, for a board that was read, the readings.
///
/// # Errors
/// Faults with the paths of the keys at fault, where the rocker is impossible.
pub fn target(wanted: &Wanted) -> Result<Outcome, Faults> {
    targeted(wanted).map_err(|faults| faults.in_units(wanted.unit))
}

fn targeted(wanted: &Wanted) -> Result<Outcome, Faults> {
    let target = rocker::target(&wanted.rocker, &wanted.board)?;
    let checks = target.findings();
    let origin = draft::origin(&wanted.hash);
    let denominator = wanted.unit.denominator();
    let (words_pitch_mm, rows_pitch_mm) = pitches_mm(wanted.unit);
    let undrawn = |why: Phrase| {
        let message = phrase!("the profile cannot be drawn: {}.", why);
        codes::PROFILE_NOT_DRAWN.at("rocker", message)
    };
    let written = |bytes: Result<Vec<u8>, ExportError>| bytes.map_err(|e| undrawn(e.phrase()));
    let rows = draft::target_rows(&target, &stations(&target.curve, rows_pitch_mm), denominator);
    let picture = draft::target_picture(wanted, &target, &origin);
    let profile = draft::profile(wanted, &target, &origin).map_err(|e| undrawn(e.to_string().into()))?;
    let mut files = vec![
        file("target.csv", write_csv(&rows, &origin)),
        file("target.svg", written(write_svg(&picture, &SvgOptions::default()))?),
        file("profile.dxf", written(write_dxf(&profile, &DxfOptions::default()))?),
        file("profile.svg", written(write_svg(&profile, &SvgOptions::default()))?),
    ];
    if let Some(fit) = &target.fit {
        files.push(file("readings.csv", write_csv(&draft::reading_rows(fit), &origin)));
    }
    let places = stations(&target.curve, words_pitch_mm);
    let summary = draft::target_words(wanted, &target, &places, &checks);
    let result = draft::target_json(wanted, &target, &checks, &origin);
    Ok(Outcome { summary, checks, unit: wanted.unit, accepted: Vec::new(), result, files })
}
