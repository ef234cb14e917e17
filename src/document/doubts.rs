//! What is possible but looks like a slip: a length in the other unit, a modulus far from the material's own.

use super::reader::Reader;
use crate::finding::{Finding, Held, Verdict};
use crate::units::{MM_PER_INCH, Quantity, phrase};

const PRACTICE: &str = "common practice, no source";

/// Lengths that boards, stacks and tables usually have, mm, by the end of their key's path. They are wide: what lies
/// outside of them is told only where the other unit would bring it inside.
const USUAL_MM: [(&str, f64, f64); 17] = [
    ("board.length", 250.0, 6000.0),
    ("board.width", 30.0, 1200.0),
    ("layers[].thickness", 0.05, 60.0),
    ("layers[].sag_test.span", 150.0, 3000.0),
    ("layers[].sag_test.width", 8.0, 300.0),
    ("layers[].sag_test.thickness", 0.5, 60.0),
    ("existing_table.length", 250.0, 8000.0),
    ("table.skin", 0.4, 40.0),
    ("table.ribs.pitch", 25.0, 800.0),
    ("table.ribs.thickness", 2.5, 80.0),
    ("table.ribs.lowest_height", 12.0, 600.0),
    ("table.cross_members.thickness", 2.5, 80.0),
    ("table.bearers.pitch", 25.0, 800.0),
    ("table.bearers.thickness", 8.0, 150.0),
    ("table.bearers.lowest_height", 8.0, 400.0),
    ("stock[].length", 200.0, 8000.0),
    ("stock[].thickness", 2.5, 80.0),
];

/// From this factor on a modulus looks like a slip of the decimal point or of the unit (a ksi is 6.9 MPa); half of it
/// is within what woods and fabrics of one name have.
const MODULUS_FACTOR: f64 = 5.0;

/// Notes a length that is unusual for its key and usual in the other unit.
pub(super) fn length(reader: &mut Reader, path: &str, length_mm: f64) {
    let plain_path = without_indices(path);
    let of_key = |(end, ..): &&(&str, f64, f64)| {
        plain_path.strip_suffix(end).is_some_and(|before| before.is_empty() || before.ends_with('.'))
    };
    let Some(&(_, least_mm, most_mm)) = USUAL_MM.iter().find(of_key) else { return };
    // A thickness of nothing is said on purpose where it may be.
    if length_mm <= 0.0 || (least_mm..=most_mm).contains(&length_mm) {
        return;
    }
    let (small, other_mm) =
        if length_mm < least_mm { (true, length_mm * MM_PER_INCH) } else { (false, length_mm / MM_PER_INCH) };
    if !(least_mm..=most_mm).contains(&other_mm) {
        return;
    }
    let (meant, taken) = if small { ("inches", "millimetres") } else { ("millimetres", "inches") };
    reader.doubts.push(Finding {
        code: "unit-mistaken",
        subject: phrase!("{}; {} would be usual", path, Quantity::fine(other_mm)),
        held: Some(if small {
            Held::at_least(Quantity::fine(length_mm), Quantity::fine(least_mm))
        } else {
            Held::at_most(Quantity::fine(length_mm), Quantity::fine(most_mm))
        }),
        verdict: Verdict::Watch,
        source: PRACTICE,
        remedy: phrase!("Were {} meant and taken for {}? Write the unit behind the number.", meant, taken),
    });
}

/// Notes a modulus that is far from that of the material it stands beside.
pub(super) fn modulus(reader: &mut Reader, path: &str, given_mpa: f64, name: &str, listed_mpa: f64) {
    let factor = given_mpa / listed_mpa;
    if (1.0 / MODULUS_FACTOR..=MODULUS_FACTOR).contains(&factor) {
        return;
    }
    reader.doubts.push(Finding {
        code: "modulus-unusual",
        subject: phrase!("{}, beside the {} of {}", path, Quantity::modulus(listed_mpa), name),
        held: Some(if factor > 1.0 {
            Held::at_most(Quantity::modulus(given_mpa), Quantity::modulus(listed_mpa * MODULUS_FACTOR))
        } else {
            Held::at_least(Quantity::modulus(given_mpa), Quantity::modulus(listed_mpa / MODULUS_FACTOR))
        }),
        verdict: Verdict::Watch,
        source: PRACTICE,
        remedy: "Look at the decimal point and the unit (GPa, MPa, Mpsi), or name the material that it is.".into(),
    });
}

/// `layers[2].thickness` as `layers[].thickness`.
fn without_indices(path: &str) -> String {
    let mut parts = path.split('[');
    let first = parts.next().unwrap_or_default().to_owned();
    parts.fold(first, |sum, part| sum + "[]" + part.split_once(']').map_or("", |(_, rest)| rest))
}
