//! What is possible but looks like a slip: a length in the other unit, a modulus far from the material's own, plies that
//! were forgotten. Each warning names the likely cause.

use super::quantity::Quantity;
use super::reader::Reader;
use crate::codes;
use crate::finding::{Code, Held, Verdict};
use crate::job::{Board, CurvatureTable, Datum, Doubt, Layer, MaterialKind, Origin, Readings, Rocker, Thickness};
use crate::units::{Dimension, MM_PER_INCH, Phrase, Quantity as Shown, phrase, plain};

/// Lengths that boards, stacks and tables usually have, mm, by the end of their key's path. They are wide: what lies
/// outside is reported only where another unit would bring it inside.
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
/// Millimetres in a centimetre; also what a digit too few or too many makes.
const MM_PER_CM: f64 = 10.0;
/// Narrowest board, as a part of its length: long narrow skis have a twenty-fifth.
const NARROWEST: f64 = 0.035;
/// From this factor on a modulus looks like a slip of the decimal point or of the unit (a ksi is 6.9 MPa); half of it
/// is within what woods and fabrics of one name have.
const MODULUS_FACTOR: f64 = 5.0;
/// Moduli that layers have, MPa: from the softest foams that are laid into boards to the stiffest carbon.
const USUAL_MODULUS_MPA: (f64, f64) = (15.0, 700e3);
/// Largest part of its stress that wood, laminate or metal loses overnight, and that plastic does.
const MOST_RELAXED: (f64, f64) = (0.4, 0.7);
/// Thermal expansions that layers have, 1/K: the size of the smallest that is not 0, and the largest.
const USUAL_EXPANSION: (f64, f64) = (0.05e-6, 300e-6);
/// Densities by kind, kg/m³: wood, laminate, metal, and plastic or sheets with their foams.
const USUAL_DENSITY: [(f64, f64); 4] = [(60.0, 1400.0), (700.0, 2700.0), (1500.0, 12_000.0), (15.0, 2500.0)];
/// Thinnest skin that is laid, mm: a light glass fabric has 0.1 mm.
const THINNEST_SKIN_MM: f64 = 0.1;
/// Lowest pressure that a bag is usually pumped to, and an upper form pressed with, MPa.
const LEAST_VACUUM_MPA: f64 = 0.035;
const LEAST_PRESS_MPA: f64 = 0.05;
/// One standard atmosphere, inch of mercury and pound per square inch, MPa.
const ATMOSPHERE_MPA: f64 = 0.101_325;
const INHG_MPA: f64 = 0.003_386_389;
const PSI_MPA: f64 = 0.006_894_757;
/// Highest shop that is believed without a second look, m, and lowest height in metres that anybody bothers to write.
const HIGHEST_M: f64 = 3000.0;
const LEAST_ALTITUDE_M: f64 = 10.0;
/// Warmest cure over the room that boards usually get, K, and rooms that people glue in, °C.
const MOST_WARMER_K: f64 = 60.0;
const ROOM_C: (f64, f64) = (5.0, 40.0);
/// Widest cut that is a kerf: saws have 3 mm, lasers a tenth of that; wider ones are routers'.
const WIDEST_KERF_MM: f64 = 4.0;
/// Rise in the middle of readings between low ends, over the board's length, that no camber has.
const MOST_CAMBER: f64 = 0.01;

/// Makes a number a quantity of its kind.
type Measured = fn(f64) -> Shown;

/// Notes a slip at `path`: what it is about (behind the path), its value and limit, and what may have happened.
fn note(
    code: &'static Code,
    reader: &mut Reader,
    (path, about): (&str, Phrase),
    (value, limit, of): (f64, f64, Measured),
    remedy: impl Into<Phrase>,
) {
    let held = if value < limit { Held::at_least(of(value), of(limit)) } else { Held::at_most(of(value), of(limit)) };
    let finding = code.check(phrase!("{}{}", path, about), (Verdict::Watch, held)).with_remedy(remedy.into());
    reader.doubts.push(Doubt { path: path.to_owned(), finding });
}

fn expansion_of(per_k: f64) -> Shown {
    Shown::of(Dimension::Expansion, per_k)
}

/// The bound that `value` is beyond, if it is beyond one.
fn beyond(value: f64, (least, most): (f64, f64)) -> Option<f64> {
    if value < least {
        Some(least)
    } else if value > most {
        Some(most)
    } else {
        None
    }
}

/// Notes a length that is unusual for its key and usual in another unit.
pub(super) fn length(reader: &mut Reader, path: &str, length_mm: f64) {
    let plain_path = without_indices(path);
    let of_key = |(end, ..): &&(&str, f64, f64)| {
        plain_path.strip_suffix(end).is_some_and(|before| before.is_empty() || before.ends_with('.'))
    };
    let Some(&(_, least_mm, most_mm)) = USUAL_MM.iter().find(of_key) else { return };
    // A thickness of nothing is said on purpose where it may be.
    let Some(bound_mm) = beyond(length_mm, (least_mm, most_mm)).filter(|_| length_mm > 0.0) else { return };
    let small = bound_mm == least_mm;
    let other = |factor: f64| if small { length_mm * factor } else { length_mm / factor };
    // Taken for another unit is a number of millimetres as it was typed, whatever the job's units are.
    let meant: Vec<Phrase> = [(MM_PER_INCH, "inches"), (MM_PER_CM, "centimetres")]
        .into_iter()
        .filter(|(factor, _)| (least_mm..=most_mm).contains(&other(*factor)))
        .map(|(factor, unit)| {
            let mm = other(factor);
            if small {
                phrase!("{} (written in {})", Shown::fine(mm), unit)
            } else {
                phrase!("{} mm (taken for {})", plain(mm, 2), unit)
            }
        })
        .collect();
    if !meant.is_empty() {
        let remedy = phrase!("Were {} meant? Write the unit behind the number.", Phrase::join(meant, " or "));
        note(codes::UNIT_MISTAKEN, reader, (path, Phrase::default()), (length_mm, bound_mm, Shown::fine), remedy);
    }
}

/// Notes a board that is very narrow for its length.
pub(super) fn width(reader: &mut Reader, board: &Board) {
    let share = board.width_mm / board.length_mm;
    let wider_mm = board.width_mm * MM_PER_CM;
    if share < NARROWEST && wider_mm < board.length_mm {
        let remedy = phrase!("Were {} (centimetres) meant? Write the unit behind the number.", Shown::fine(wider_mm));
        let about = phrase!(", of a board of {}", Shown::fine(board.length_mm));
        let limit_mm = NARROWEST * board.length_mm;
        note(codes::UNIT_MISTAKEN, reader, ("board.width", about), (board.width_mm, limit_mm, Shown::fine), remedy);
    }
}

/// Notes a modulus that is far from that of the material it stands beside.
pub(super) fn modulus(reader: &mut Reader, path: &str, given_mpa: f64, name: &str, listed_mpa: f64) {
    let bounds = (listed_mpa / MODULUS_FACTOR, listed_mpa * MODULUS_FACTOR);
    let Some(bound_mpa) = beyond(given_mpa, bounds) else { return };
    let about = phrase!(", beside the {} of {}", Shown::modulus(listed_mpa), name);
    let remedy = "Look at the decimal point and the unit (GPa, MPa, Mpsi), or name the material that it is.".to_owned();
    note(codes::MODULUS_UNUSUAL, reader, (path, about), (given_mpa, bound_mpa, Shown::modulus), remedy);
}

/// Notes a modulus without a material that no layer has.
pub(super) fn bare_modulus(reader: &mut Reader, path: &str, given_mpa: f64) {
    let Some(bound_mpa) = beyond(given_mpa, USUAL_MODULUS_MPA) else { return };
    let remedy = if given_mpa < bound_mpa {
        let (wood, foam) = (Shown::modulus(10_000.0), Shown::modulus(30.0));
        phrase!("Were {} meant? A wood has about {}, a foam {} and more.", Shown::modulus(1e3 * given_mpa), wood, foam)
    } else {
        let carbon = Shown::modulus(700_000.0);
        phrase!("Were {} meant? The stiffest carbon has {}.", Shown::modulus(1e-3 * given_mpa), carbon)
    };
    note(codes::MODULUS_UNUSUAL, reader, (path, Phrase::default()), (given_mpa, bound_mpa, Shown::modulus), remedy);
}

/// Notes a part that relaxes beyond what a night can take; `kind` where the material is known.
pub(super) fn relaxed(reader: &mut Reader, path: &str, given: f64, kind: Option<MaterialKind>) {
    let most = if kind == Some(MaterialKind::Plastic) { MOST_RELAXED.1 } else { MOST_RELAXED.0 };
    if given > most {
        let remedy = format!(
            "It is the part of the stress that is lost overnight, about 0.05 for wood. Was {} (a tenth) meant, or the part that is kept?",
            plain(0.1 * given, 3)
        );
        note(codes::MATERIAL_UNUSUAL, reader, (path, Phrase::default()), (given, most, Shown::share), remedy);
    }
}

/// Notes an expansion that is off by powers of ten; `listed` is that of the material it stands beside.
pub(super) fn expansion(reader: &mut Reader, path: &str, given_per_k: f64, listed: Option<f64>) {
    // A small expansion says little about another small one.
    let listed = listed.map(f64::abs).filter(|l| *l > 2e-6);
    let bounds = listed.map_or(USUAL_EXPANSION, |l| (l / 8.0, l * 8.0));
    let size = given_per_k.abs();
    let Some(bound) = beyond(size, bounds).filter(|_| size > 0.0) else { return };
    let remedy =
        "A bare number is in millionths per kelvin: wood along the grain has 4, aluminium 24. Look at the power \
                  of ten."
            .to_owned();
    note(codes::MATERIAL_UNUSUAL, reader, (path, Phrase::default()), (size, bound, expansion_of), remedy);
}

/// Notes a density that no material of its kind has; `kind` where the material is known.
pub(super) fn density(reader: &mut Reader, path: &str, given_kg_m3: f64, kind: Option<MaterialKind>) {
    let [wood, laminate, metal, plastic] = USUAL_DENSITY;
    let bounds = match kind {
        Some(MaterialKind::WoodAlong | MaterialKind::WoodAcross) => wood,
        Some(MaterialKind::Laminate) => laminate,
        Some(MaterialKind::Metal) => metal,
        Some(MaterialKind::Plastic | MaterialKind::Sheet) => plastic,
        None => (plastic.0, metal.1),
    };
    let Some(bound) = beyond(given_kg_m3, bounds) else { return };
    let remedy =
        "A bare number is in kg/m3: wood has 300 to 800. Look at the power of ten; g/cm3 can be written behind \
                  the number."
            .to_owned();
    note(codes::MATERIAL_UNUSUAL, reader, (path, Phrase::default()), (given_kg_m3, bound, Shown::density), remedy);
}

/// A layer of the list as it is written, for the slips of a whole stack.
pub(super) struct Written<'l> {
    pub(super) path: String,
    pub(super) layer: &'l Layer,
    pub(super) plies: usize,
    pub(super) says_plies: bool,
}

/// Notes skins too thin to be laid, and a layer of wood so thick beside the rest that its plies were probably forgotten.
pub(super) fn stack(reader: &mut Reader, written: &[Written<'_>]) {
    let thickest = |layer: &Layer| match &layer.thickness {
        Thickness::Constant(t) => *t,
        Thickness::Tapered(stations) => stations.iter().map(|s| s.1).fold(0.0, f64::max),
    };
    let whole_mm: f64 = written.iter().map(|w| w.plies as f64 * thickest(w.layer)).sum();
    for w in written {
        let (mm, material) = (thickest(w.layer), &w.layer.material);
        let path = format!("{}.thickness", w.path);
        if material.kind == MaterialKind::Laminate && mm < THINNEST_SKIN_MM {
            let remedy = phrase!("Were {} meant? Look at the decimal point.", Shown::fine(MM_PER_CM * mm));
            note(codes::SKIN_THIN, reader, (&path, Phrase::default()), (mm, THINNEST_SKIN_MM, Shown::fine), remedy);
        }
        let wood =
            matches!(material.kind, MaterialKind::WoodAlong | MaterialKind::WoodAcross) && !material.source.is_empty();
        // Who lists plies one by one has not forgotten them.
        let alone = written.iter().filter(|o| o.layer.material.name == material.name).count() == 1;
        let limit_mm = (whole_mm - mm) / 3.0;
        if wood && alone && !w.says_plies && written.len() > 1 && mm > limit_mm {
            let about = phrase!(", one piece beside {} of other layers", Shown::fine(whole_mm - mm));
            let remedy =
                "If it is made of plies that slide while the glue is wet, say how many: plies = 2. If it is one \
                          piece, write plies = 1."
                    .to_owned();
            note(codes::PLIES_FORGOTTEN, reader, (&path, about), (mm, limit_mm, Shown::fine), remedy);
        }
    }
}

/// Notes tapers whose stations are counted from the other end than the rest, or from the middle as if from an end.
/// `counted` holds, for each layer with stations, its path, the end it names, and the stations as written, mm.
pub(super) fn tapers(
    reader: &mut Reader,
    counted: &[(String, Option<Origin>, Vec<f64>)],
    rocker: Option<&Rocker>,
    board: &Board,
) {
    let of_rocker = match rocker {
        Some(Rocker::Measured { readings: Readings { origin, .. }, .. }) => Some(*origin),
        Some(Rocker::Curve(CurvatureTable { origin, .. })) => Some(*origin),
        _ => None,
    };
    for (path, from, stations_mm) in counted {
        let opposite = match from {
            Some(Origin::Tail) => Origin::Tip,
            Some(Origin::Tip) => Origin::Tail,
            _ => {
                let (low, high) =
                    stations_mm.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), s| (a.min(*s), b.max(*s)));
                let limit_mm = 0.6 * board.length_mm;
                if low >= 0.0 && high > limit_mm {
                    let remedy = "Stations are counted from the middle unless the layer says otherwise: add \
                                  stations_from = \"tail\" or \"tip\"."
                        .to_owned();
                    note(
                        codes::STATIONS_DISAGREE,
                        reader,
                        (path, ", farthest station".into()),
                        (high, limit_mm, Shown::fine),
                        remedy,
                    );
                }
                continue;
            }
        };
        let others = counted.iter().filter_map(|c| c.1).chain(of_rocker);
        let against = others.filter(|o| *o == opposite).count();
        let with = counted.iter().filter(|c| c.1 == *from).count();
        if against >= with {
            let remedy = format!(
                "Other stations of this document are counted from the {}: look whether these are too.",
                if opposite == Origin::Tail { "tail" } else { "tip" }
            );
            let about = Phrase::from(", counted from the other end; lists that disagree");
            note(codes::STATIONS_DISAGREE, reader, (path, about), (against as f64, 0.0, Shown::count), remedy);
        }
    }
}

/// Notes a pressure so low that another unit was probably meant; `bag` for a vacuum.
pub(super) fn pressure(reader: &mut Reader, path: &str, value: Option<&Quantity>, pressure_mpa: f64, bag: bool) {
    let least_mpa = if bag { LEAST_VACUUM_MPA } else { LEAST_PRESS_MPA };
    if pressure_mpa >= least_mpa {
        return;
    }
    let mut causes: Vec<Phrase> = Vec::new();
    if let Some(Quantity::Number(n)) = value {
        let usual = |mpa: &f64| *mpa >= least_mpa && (!bag || *mpa <= ATMOSPHERE_MPA);
        let units = [("inHg", INHG_MPA), ("psi", PSI_MPA), ("bar", 0.1)];
        let units = if bag { &units[..] } else { &units[1..] };
        for (unit, in_mpa) in units {
            if let Some(mpa) = Some(n * in_mpa).filter(usual) {
                causes.push(phrase!("{} {} ({})", plain(*n, 3), *unit, Shown::pressure(mpa)));
            }
        }
    }
    if bag {
        causes.push(phrase!(
            "the absolute pressure in the bag (the gauge then shows {})",
            Shown::pressure(ATMOSPHERE_MPA - pressure_mpa)
        ));
    }
    let remedy = if causes.is_empty() {
        "Look at the gauge and its unit.".into()
    } else {
        let give =
            if bag { "Give what the gauge shows below the air outside, with its unit." } else { "Write the unit." };
        phrase!("Was it {}? {}", Phrase::join(causes, ", or "), give)
    };
    note(
        codes::PRESSURE_UNUSUAL,
        reader,
        (path, Phrase::default()),
        (pressure_mpa, least_mpa, Shown::pressure),
        remedy,
    );
}

/// Notes a height over the sea that was probably meant in kilometres or feet.
pub(super) fn altitude(reader: &mut Reader, path: &str, value: Option<&Quantity>, altitude_m: f64) {
    let bare = matches!(value, Some(Quantity::Number(_)));
    if bare && altitude_m > 0.0 && altitude_m < LEAST_ALTITUDE_M {
        let remedy = format!("A bare number is in metres: were {} m (kilometres) meant?", plain(1e3 * altitude_m, 0));
        note(
            codes::UNIT_MISTAKEN,
            reader,
            (path, Phrase::default()),
            (altitude_m, LEAST_ALTITUDE_M, Shown::altitude),
            remedy,
        );
    } else if bare && altitude_m > HIGHEST_M {
        let remedy = format!(
            "A bare number is in metres: were {} ft meant? Then write \"{} ft\".",
            plain(altitude_m, 0),
            plain(altitude_m, 0)
        );
        note(codes::UNIT_MISTAKEN, reader, (path, Phrase::default()), (altitude_m, HIGHEST_M, Shown::altitude), remedy);
    }
}

/// Notes a warmth over the room that was probably meant as the temperature itself.
pub(super) fn cure(reader: &mut Reader, path: &str, above_k: f64, cure_c: Option<f64>) {
    let remedy = |room: f64| {
        format!(
            "It is how much warmer than the room the glue cures: 40 for 60 °C in a room of 20 °C. Was the cure's own \
             temperature given? Then it is {}.",
            plain(room, 1)
        )
    };
    if above_k > MOST_WARMER_K {
        note(
            codes::CURE_UNUSUAL,
            reader,
            (path, Phrase::default()),
            (above_k, MOST_WARMER_K, Shown::temperature_difference),
            remedy(above_k - 20.0),
        );
    } else if let Some((room_c, bound)) = cure_c.map(|c| c - above_k).and_then(|c| Some((c, beyond(c, ROOM_C)?)))
        && above_k > 0.0
    {
        let about = Phrase::from(", the room that it makes with cure_temperature");
        note(codes::CURE_UNUSUAL, reader, (path, about), (room_c, bound, Shown::temperature), remedy(above_k - 20.0));
    }
}

/// Notes readings over the floor of which the board does not stand on it, or is bent as no board is.
pub(super) fn readings(reader: &mut Reader, path: &str, readings: &Readings, board: &Board) {
    if readings.datum != Datum::Floor {
        return;
    }
    let used: Vec<f64> = readings
        .readings
        .iter()
        .enumerate()
        .filter(|(i, _)| !readings.excluded.contains(i))
        .map(|(_, r)| r.height_mm)
        .collect();
    let [first, .., last] = used[..] else { return };
    let (low, high) = used.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), h| (a.min(*h), b.max(*h)));
    let remedy =
        "Were they read from a straightedge? Then write datum = \"straightedge\"; readings that go down from it \
                  are negative."
            .to_owned();
    let limit_mm = (0.2 * (high - low)).max(3.0);
    if low > limit_mm {
        note(
            codes::DATUM_MISTAKEN,
            reader,
            (path, ", lowest over the floor".into()),
            (low, limit_mm, Shown::fine),
            remedy,
        );
    } else if first.max(last) < 0.15 * high && high > MOST_CAMBER * board.length_mm {
        let about = Phrase::from(", height of the middle while both ends touch the floor");
        note(codes::DATUM_MISTAKEN, reader, (path, about), (high, MOST_CAMBER * board.length_mm, Shown::fine), remedy);
    }
}

/// Notes a kerf that only a router's cutter has.
pub(super) fn kerf(reader: &mut Reader, path: &str, kerf_mm: f64) {
    if kerf_mm > WIDEST_KERF_MM {
        let remedy = phrase!(
            "Is it the diameter of a router's cutter? Then write table.cutter = \"{}\" and files.cutter_path = true.",
            Shown::fine(kerf_mm)
        );
        note(codes::KERF_UNUSUAL, reader, (path, Phrase::default()), (kerf_mm, WIDEST_KERF_MM, Shown::fine), remedy);
    }
}

/// `layers[2].thickness` as `layers[].thickness`.
fn without_indices(path: &str) -> String {
    let mut parts = path.split('[');
    let first = parts.next().unwrap_or_default().to_owned();
    parts.fold(first, |sum, part| sum + "[]" + part.split_once(']').map_or("", |(_, rest)| rest))
}
