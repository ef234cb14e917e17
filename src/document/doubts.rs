//! What is possible but looks like a slip: a length in the other unit, a modulus far from the material's own, plies that
//! were forgotten. Each warning names the likely cause.

use crate::codes;
use crate::finding::{Code, Held, Verdict};
use crate::job::{Board, CurvatureTable, Datum, Doubt, Layer, MaterialKind, Origin, Reading, Readings, Rocker};
use crate::units::{Dimension, MM_PER_CM, MM_PER_INCH, Phrase, Quantity as Shown, phrase, plain};

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
/// From this factor on a fabric and the thickness of its layer are taken not to belong together: fibre fractions by volume run
/// from 0.3 to 0.6.
const FABRIC_FACTOR: f64 = 2.0;
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

/// A slip at `path`: what it is about (behind the path), its value and limit, and what may have happened.
fn slip(
    code: &'static Code,
    path: &str,
    about: impl Into<Phrase>,
    (value, limit, of): (f64, f64, fn(f64) -> Shown),
    remedy: impl Into<Phrase>,
) -> Option<Doubt> {
    let held = if value < limit { Held::at_least(of(value), of(limit)) } else { Held::at_most(of(value), of(limit)) };
    let finding = code.check(phrase!("{}{}", path, about.into()), (Verdict::Watch, held)).with_remedy(remedy);
    Some(Doubt { path: path.to_owned(), finding })
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

/// A length outside of what its key usually has, mm, which another unit would bring inside.
pub(super) fn length(path: &str, length_mm: f64, (least_mm, most_mm): (f64, f64)) -> Option<Doubt> {
    // A thickness of nothing is said on purpose where it may be.
    let bound_mm = beyond(length_mm, (least_mm, most_mm)).filter(|_| length_mm > 0.0)?;
    let small = bound_mm == least_mm;
    let other = |factor: f64| if small { length_mm * factor } else { length_mm / factor };
    // Taken for another unit is a number of millimetres as it was typed, whatever the job's units are.
    let meant: Vec<Phrase> = [(MM_PER_INCH, "inches"), (MM_PER_CM, "centimetres")]
        .into_iter()
        .filter(|(factor, _)| (least_mm..=most_mm).contains(&other(*factor)))
        .map(|(factor, unit)| {
            let mm = other(factor);
            if small {
                phrase!("{} (the number in {})", Shown::fine(mm), unit)
            } else {
                phrase!("{} mm (taken for {})", plain(mm, 2), unit)
            }
        })
        .collect();
    if meant.is_empty() {
        return None;
    }
    let remedy = phrase!("Were {} meant? Write the unit behind the number.", Phrase::join(meant, " or "));
    slip(codes::UNIT_MISTAKEN, path, "", (length_mm, bound_mm, Shown::fine), remedy)
}

/// A board that is very narrow for its length.
pub(super) fn width(board: &Board) -> Option<Doubt> {
    let limit_mm = NARROWEST * board.length_mm;
    let wider_mm = board.width_mm * MM_PER_CM;
    if board.width_mm >= limit_mm || wider_mm >= board.length_mm {
        return None;
    }
    let remedy = phrase!("Were {} (centimetres) meant? Write the unit behind the number.", Shown::fine(wider_mm));
    let about = phrase!(", of a board of {}", Shown::fine(board.length_mm));
    slip(codes::UNIT_MISTAKEN, "board.width", about, (board.width_mm, limit_mm, Shown::fine), remedy)
}

/// A modulus that is far from that of the material it stands beside.
pub(super) fn modulus(path: &str, given_mpa: f64, name: &str, listed_mpa: f64) -> Option<Doubt> {
    let bound_mpa = beyond(given_mpa, (listed_mpa / MODULUS_FACTOR, listed_mpa * MODULUS_FACTOR))?;
    let about = phrase!(", where the catalogue has {} for {}", Shown::modulus(listed_mpa), name);
    let remedy = "Look at the decimal point and the unit (GPa, MPa, Mpsi), or name the material that it is.";
    slip(codes::MODULUS_UNUSUAL, path, about, (given_mpa, bound_mpa, Shown::modulus), remedy)
}

/// A modulus without a material that no layer has.
pub(super) fn bare_modulus(path: &str, given_mpa: f64) -> Option<Doubt> {
    let bound_mpa = beyond(given_mpa, USUAL_MODULUS_MPA)?;
    let remedy = if given_mpa < bound_mpa {
        let (wood, foam) = (Shown::modulus(10_000.0), Shown::modulus(30.0));
        phrase!("Were {} meant? A wood has about {}, a foam {} and more.", Shown::modulus(1e3 * given_mpa), wood, foam)
    } else {
        let carbon = Shown::modulus(700_000.0);
        phrase!("Were {} meant? The stiffest carbon has {}.", Shown::modulus(1e-3 * given_mpa), carbon)
    };
    slip(codes::MODULUS_UNUSUAL, path, "", (given_mpa, bound_mpa, Shown::modulus), remedy)
}

/// A part that relaxes beyond what a night can take; `kind` where the material is known.
pub(super) fn relaxed(path: &str, given: f64, kind: Option<MaterialKind>) -> Option<Doubt> {
    let most = if kind == Some(MaterialKind::Plastic) { MOST_RELAXED.1 } else { MOST_RELAXED.0 };
    let remedy = format!(
        "It is the part of the stress that is lost overnight, about 0.05 for wood. Was {} (a tenth) meant, or the part that is kept?",
        plain(0.1 * given, 3)
    );
    if given > most { slip(codes::MATERIAL_UNUSUAL, path, "", (given, most, Shown::share), remedy) } else { None }
}

/// An expansion that is off by powers of ten; `listed` is that of the material it stands beside.
pub(super) fn expansion(path: &str, given_per_k: f64, listed: Option<f64>) -> Option<Doubt> {
    // A small expansion says little about another small one.
    let listed = listed.map(f64::abs).filter(|l| *l > 2e-6);
    let size = given_per_k.abs();
    let bound = beyond(size, listed.map_or(USUAL_EXPANSION, |l| (l / 8.0, l * 8.0))).filter(|_| size > 0.0)?;
    let remedy = "A bare number is in millionths per kelvin: wood along the grain has 4, aluminium 24. Look at the power \
                  of ten.";
    let of = |per_k| Shown::of(Dimension::Expansion, per_k);
    slip(codes::MATERIAL_UNUSUAL, path, "", (size, bound, of), remedy)
}

/// A density that no material of its kind has; `kind` where the material is known.
pub(super) fn density(path: &str, given_kg_m3: f64, kind: Option<MaterialKind>) -> Option<Doubt> {
    let [wood, laminate, metal, plastic] = USUAL_DENSITY;
    let bounds = match kind {
        Some(MaterialKind::WoodAlong | MaterialKind::WoodAcross) => wood,
        Some(MaterialKind::Laminate) => laminate,
        Some(MaterialKind::Metal) => metal,
        Some(MaterialKind::Plastic | MaterialKind::Sheet) => plastic,
        None => (plastic.0, metal.1),
    };
    let bound = beyond(given_kg_m3, bounds)?;
    let remedy = "A bare number is in kg/m3: wood has 300 to 800. Look at the power of ten; g/cm3 can be written behind \
                  the number.";
    slip(codes::MATERIAL_UNUSUAL, path, "", (given_kg_m3, bound, Shown::density), remedy)
}

/// A layer of the list as it is written, for the slips of a whole stack.
#[derive(Debug)]
pub(super) struct Written {
    pub(super) path: String,
    /// Its plies, the lowest first; there is at least one.
    pub(super) plies: Vec<Layer>,
    pub(super) says_plies: bool,
}

impl Written {
    /// The same, as the entry of this number.
    pub(super) fn of_entry(mut self, entry: usize) -> Self {
        self.plies.iter_mut().for_each(|ply| ply.entry = entry);
        self
    }
}

/// Skins too thin to be laid, and a layer of wood so thick beside the rest that its plies were probably forgotten.
pub(super) fn stack(written: &[Written]) -> Vec<Doubt> {
    let thickest = |ply: &Layer| ply.thickness.thickest_mm();
    let whole_mm: f64 = written.iter().flat_map(|w| &w.plies).map(thickest).sum();
    let mut found = Vec::new();
    for (w, ply) in written.iter().filter_map(|w| Some((w, w.plies.first()?))) {
        let (mm, material) = (thickest(ply), &ply.material);
        let path = format!("{}.thickness", w.path);
        if material.kind == MaterialKind::Laminate && mm < THINNEST_SKIN_MM {
            let remedy = phrase!("Were {} meant? Look at the decimal point.", Shown::fine(MM_PER_CM * mm));
            found.extend(slip(codes::SKIN_THIN, &path, "", (mm, THINNEST_SKIN_MM, Shown::fine), remedy));
        }
        let wood =
            matches!(material.kind, MaterialKind::WoodAlong | MaterialKind::WoodAcross) && !material.source.is_empty();
        // Who lists plies one by one has not forgotten them.
        let alone = written.iter().filter(|o| o.plies[0].material.name == material.name).count() == 1;
        let limit_mm = (whole_mm - mm) / 3.0;
        if wood && alone && !w.says_plies && written.len() > 1 && mm > limit_mm {
            let about = phrase!(", one piece beside {} of other layers", Shown::fine(whole_mm - mm));
            let remedy = "If it is made of plies that slide while the glue is wet, say how many: plies = 2. If it is one \
                          piece, write plies = 1.";
            found.extend(slip(codes::PLIES_FORGOTTEN, &path, about, (mm, limit_mm, Shown::fine), remedy));
        }
        found.extend(fabric(&w.path, ply, mm));
    }
    found
}

/// A fabric that gives another thickness than the layer has: its mass with resin over the laminate's density.
fn fabric(path: &str, ply: &Layer, thickness_mm: f64) -> Option<Doubt> {
    let (fabric, material) = (ply.fabric?, &ply.material);
    // 1 g/m² over 1 kg/m³ is a millimetre.
    let laid_mm = fabric.dry_g_m2 / fabric.fibre_fraction / material.density_kg_m3?;
    let limit_mm = beyond(laid_mm, (thickness_mm / FABRIC_FACTOR, thickness_mm * FABRIC_FACTOR))?;
    let about = phrase!(", as thick as it comes out wetted out, beside a layer of {}", Shown::fine(thickness_mm));
    let remedy = "Give the dry mass of one ply, in g/m², and the thickness of one ply as it is laid.";
    slip(codes::FABRIC_UNUSUAL, &format!("{path}.fabric"), about, (laid_mm, limit_mm, Shown::fine), remedy)
}

/// Stations that a layer lists: the key, the end that they are counted from, and the stations as written, mm.
#[derive(Debug)]
pub(super) struct Listed {
    pub(super) path: String,
    pub(super) from: Origin,
    pub(super) stations_mm: Vec<f64>,
}

/// Tapers whose stations are counted from the other end than the rest, or from the middle as if from an end.
pub(super) fn tapers(listed: &[Listed], rocker: Option<&Rocker>, board: &Board) -> Vec<Doubt> {
    let of_rocker = match rocker {
        Some(Rocker::Measured { readings: Readings { origin, .. }, .. }) => Some(*origin),
        Some(Rocker::Curve(CurvatureTable { origin, .. })) => Some(*origin),
        _ => None,
    };
    let of_one = |Listed { path, from, stations_mm }: &Listed| {
        let (opposite, other) = match from {
            Origin::Tail => (Origin::Tip, "tip"),
            Origin::Tip => (Origin::Tail, "tail"),
            Origin::Middle => {
                let (low, high) =
                    stations_mm.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), s| (a.min(*s), b.max(*s)));
                let limit_mm = 0.6 * board.length_mm;
                if low < 0.0 || high <= limit_mm {
                    return None;
                }
                let remedy = "Stations are counted from the middle unless the layer says otherwise: add \
                              stations_from = \"tail\" or \"tip\".";
                return slip(
                    codes::STATIONS_DISAGREE,
                    path,
                    ", farthest station",
                    (high, limit_mm, Shown::fine),
                    remedy,
                );
            }
        };
        let against = listed.iter().map(|l| l.from).chain(of_rocker).filter(|o| *o == opposite).count();
        let with = listed.iter().filter(|l| l.from == *from).count();
        if against < with {
            return None;
        }
        let remedy =
            format!("Other stations of this document are counted from the {other}: look whether these are too.");
        let about = ", counted from the other end; lists that disagree";
        slip(codes::STATIONS_DISAGREE, path, about, (against as f64, 0.0, Shown::count), remedy)
    };
    listed.iter().filter_map(of_one).collect()
}

/// A pressure so low that another unit was probably meant; `bare` is the number as typed without one, `bag` for a vacuum.
pub(super) fn pressure(path: &str, bare: Option<f64>, pressure_mpa: f64, bag: bool) -> Option<Doubt> {
    let least_mpa = if bag { LEAST_VACUUM_MPA } else { LEAST_PRESS_MPA };
    if pressure_mpa >= least_mpa {
        return None;
    }
    let mut causes: Vec<Phrase> = Vec::new();
    if let Some(n) = bare {
        let usual = |mpa: &f64| *mpa >= least_mpa && (!bag || *mpa <= ATMOSPHERE_MPA);
        let units = [("inHg", INHG_MPA), ("psi", PSI_MPA), ("bar", 0.1)];
        for (unit, in_mpa) in if bag { &units[..] } else { &units[1..] } {
            if let Some(mpa) = Some(n * in_mpa).filter(usual) {
                causes.push(phrase!("{} {} ({})", plain(n, 3), *unit, Shown::pressure(mpa)));
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
    slip(codes::PRESSURE_UNUSUAL, path, "", (pressure_mpa, least_mpa, Shown::pressure), remedy)
}

/// An altitude, typed without a unit, that was probably meant in kilometres or feet.
pub(super) fn altitude(path: &str, bare: Option<f64>) -> Option<Doubt> {
    let altitude_m = bare?;
    let (limit_m, remedy) = if altitude_m > 0.0 && altitude_m < LEAST_ALTITUDE_M {
        let meant = plain(1e3 * altitude_m, 0);
        (LEAST_ALTITUDE_M, format!("A bare number is in metres: were {meant} m (kilometres) meant?"))
    } else if altitude_m > HIGHEST_M {
        let feet = plain(altitude_m, 0);
        (HIGHEST_M, format!("A bare number is in metres: were {feet} ft meant? Then write \"{feet} ft\"."))
    } else {
        return None;
    };
    slip(codes::UNIT_MISTAKEN, path, "", (altitude_m, limit_m, Shown::altitude), remedy)
}

/// A warmth over the room that was probably meant as the temperature itself.
pub(super) fn cure(path: &str, above_k: f64, cure_c: Option<f64>) -> Option<Doubt> {
    let remedy = format!(
        "It is how much warmer than the room the glue cures: 40 for 60 °C in a room of 20 °C. Was the cure's own \
         temperature given? Then it is {}.",
        plain(above_k - 20.0, 1)
    );
    if above_k > MOST_WARMER_K {
        return slip(codes::CURE_UNUSUAL, path, "", (above_k, MOST_WARMER_K, Shown::temperature_difference), remedy);
    }
    let room_c = cure_c.filter(|_| above_k > 0.0)? - above_k;
    let about = ", the room that it makes with cure_temperature";
    slip(codes::CURE_UNUSUAL, path, about, (room_c, beyond(room_c, ROOM_C)?, Shown::temperature), remedy)
}

/// Readings over the floor of which the board does not stand on it, or is bent as no board is.
pub(super) fn readings(path: &str, readings: &Readings, board: &Board) -> Option<Doubt> {
    if readings.datum != Datum::Floor {
        return None;
    }
    let counts = |(i, _): &(usize, &Reading)| !readings.excluded.contains(i);
    let used: Vec<f64> = readings.readings.iter().enumerate().filter(counts).map(|(_, r)| r.height_mm).collect();
    let [first, .., last] = used[..] else { return None };
    let (low, high) = used.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), h| (a.min(*h), b.max(*h)));
    let limit_mm = (0.2 * (high - low)).max(3.0);
    let camber_mm = MOST_CAMBER * board.length_mm;
    let (about, value_mm, limit_mm) = if low > limit_mm {
        (", lowest height above the floor", low, limit_mm)
    } else if first.max(last) < 0.15 * high && high > camber_mm {
        (", height of the middle while both ends touch the floor", high, camber_mm)
    } else {
        return None;
    };
    let remedy = "Were they read from a straightedge? Then write datum = \"straightedge\"; readings that go down from it \
                  are negative.";
    slip(codes::DATUM_MISTAKEN, path, about, (value_mm, limit_mm, Shown::fine), remedy)
}

/// A kerf that only a router's cutter has.
pub(super) fn kerf(path: &str, kerf_mm: f64) -> Option<Doubt> {
    let remedy = phrase!(
        "Is it the diameter of a router's cutter? Then write table.cutter = \"{}\" and files.cutter_path = true.",
        Shown::fine(kerf_mm)
    );
    let held = (kerf_mm, WIDEST_KERF_MM, Shown::fine as fn(f64) -> Shown);
    if kerf_mm > WIDEST_KERF_MM { slip(codes::KERF_UNUSUAL, path, "", held, remedy) } else { None }
}
