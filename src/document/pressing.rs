//! `[pressing.*]`: how the stack is held on the table.

use serde::Deserialize;

use super::doubts;
use super::quantity::Quantity;
use super::reader::{LONGEST_MM, Range, Reader, nearest};
use crate::codes;
use crate::finding::Fault;
use crate::job::{Below, Board, Caul, ClampPlaces, Glue, Hold, Layer, MaterialKind, Pressing, ResinCure, Share};
use crate::units::{self, Dimension, phrase};

#[derive(Debug, Default, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default)]
pub(super) struct RawPressing {
    /// A vacuum bag.
    vacuum: Option<RawVacuum>,
    /// An upper form that matches the table.
    press: Option<RawPress>,
    /// Clamps along the blank.
    clamps: Option<RawClamps>,
    /// Weights spread evenly over the blank.
    weights: Option<RawWeights>,
    /// What the layers are glued with.
    ///
    /// Takes one of `epoxy`, `polyurethane`, `water-based`.
    glue: Option<Quantity>,
    /// Wet water-based glue on each glue line.
    ///
    /// Takes a mass per area from 0 to 2000 g/m2; `200` when left out.
    glue_spread: Option<Quantity>,
    /// Moisture that wood comes to where the board is used, beside its dry mass: a drier board closes in.
    ///
    /// Takes a ratio from 0 to 0.3.
    moisture_in_use: Option<Quantity>,
    /// How much warmer than the room it cures, in kelvins.
    ///
    /// Takes a temperature difference from -50 to 200 K; `0` when left out.
    cure_above_room: Option<Quantity>,
    /// Temperature of the glue lines while they cure.
    ///
    /// Takes a temperature from -30 to 250 °C.
    cure_temperature: Option<Quantity>,
    /// Coldest cure that the resin's sheet allows.
    ///
    /// Takes a temperature from -30 to 250 °C.
    resin_least: Option<Quantity>,
    /// Warmest cure that the resin's sheet allows.
    ///
    /// Takes a temperature from -30 to 250 °C.
    resin_most: Option<Quantity>,
}

#[derive(Debug, Default, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default)]
struct RawVacuum {
    /// What the gauge shows below the air outside.
    ///
    /// Takes a pressure from 5 to 101.325 kPa or `full`; must be given.
    pressure: Option<Quantity>,
    /// Height of the shop over the sea.
    ///
    /// Takes an altitude from -500 to 6000 m; `0 m` when left out.
    altitude: Option<Quantity>,
    /// What is under the table's skin: air on an open table, vacuum in a pumped box.
    ///
    /// Takes one of `air`, `vacuum`; `air` when left out.
    below: Option<Quantity>,
}

#[derive(Debug, Default, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default)]
struct RawPress {
    /// Pressure on the blank.
    ///
    /// Takes a pressure from 5 to 100000 kPa; must be given.
    pressure: Option<Quantity>,
}

#[derive(Debug, Default, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default)]
struct RawClamps {
    /// How many clamps, spread evenly through cauls.
    ///
    /// Takes a whole number from 2 to 1000.
    count: Option<Quantity>,
    /// Where clamps press, counted from the middle.
    ///
    /// Takes a list of lengths from -20000 to 20000 mm.
    stations: Option<Vec<Quantity>>,
    /// Force of each across the board.
    ///
    /// Takes a force over 0 up to 1000000 N; must be given.
    force: Option<Quantity>,
    /// Batten on the stack that bends with it.
    caul: Option<RawCaul>,
}

#[derive(Debug, Default, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default)]
struct RawCaul {
    /// Thickness of the batten.
    ///
    /// Takes a length over 0 up to 200 mm; must be given.
    thickness: Option<Quantity>,
    /// Modulus of the batten.
    ///
    /// Takes a modulus over 0 up to 400000 MPa; must be given.
    modulus: Option<Quantity>,
}

#[derive(Debug, Default, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default)]
struct RawWeights {
    /// Mass on the whole blank.
    ///
    /// Takes a force over 0 up to 1000000 N; must be given.
    mass: Option<Quantity>,
}

/// One standard atmosphere, MPa (ISO 2533, 101 325 Pa): the most that a bag can press anywhere.
const ATMOSPHERE_MPA: f64 = 0.101_325;
/// Least pressure of a bag, a press or clamps, MPa: a twentieth of an atmosphere closes no glue line (common practice, no
/// source), and a bare number in bar is below it.
const LEAST_MPA: f64 = 0.005;
/// Least pressure of weights, MPa: ten kilograms on a square metre.
const LEAST_WEIGHTS_MPA: f64 = 1e-4;
/// Highest shop, m: above the highest town, and within the lowest layer of the standard atmosphere.
const HIGHEST_M: f64 = 6000.0;
/// Most clamps of one board.
const MOST_CLAMPS: usize = 1000;
/// Largest force, N.
const LARGEST_N: f64 = 1e6;

pub(super) fn check(reader: &mut Reader, raw: Option<RawPressing>) -> Option<Pressing> {
    let Some(raw) = raw else {
        reader.missing(
            "pressing",
            "Add one of the tables [pressing.vacuum], [pressing.press], [pressing.clamps] or [pressing.weights].",
        );
        return None;
    };
    let curing = Range::Within(-30.0, 250.0);
    let warm = Range::Within(-50.0, 200.0);
    let difference = Dimension::TemperatureDifference;
    let warm = reader.optional(raw.cure_above_room.as_ref(), "pressing.cure_above_room", difference, warm);
    let glue = glue(reader, &raw);
    let moisture = Range::Within(0.0, 0.3);
    let path = "pressing.moisture_in_use";
    let moisture_in_use = reader.optional(raw.moisture_in_use.as_ref(), path, Dimension::Ratio, moisture);
    let resin = resin(reader, &raw, curing);
    if let Some(above_k) = warm {
        let cure_c = resin.flatten().map(|r| r.cure_c);
        doubts::cure(reader, "pressing.cure_above_room", above_k, cure_c);
    }
    let choices = [
        ("vacuum", raw.vacuum.is_some()),
        ("press", raw.press.is_some()),
        ("clamps", raw.clamps.is_some()),
        ("weights", raw.weights.is_some()),
    ];
    let hold = match reader.one_of("pressing", &choices, "what presses the stack")? {
        "vacuum" => vacuum(reader, &raw.vacuum?),
        "press" => {
            let path = "pressing.press.pressure";
            let pressure = raw.press?.pressure;
            let range = Range::Within(LEAST_MPA, 100.0);
            let read = reader.required(pressure.as_ref(), path, Dimension::Pressure, range);
            if let Some(pressure_mpa) = read {
                doubts::pressure(reader, path, pressure.as_ref(), pressure_mpa, false);
            }
            read.map(|pressure_mpa| Hold::Press { pressure_mpa })
        }
        "clamps" => clamps(reader, &raw.clamps?),
        _ => {
            let mass = raw.weights?.mass;
            reader
                .required(mass.as_ref(), "pressing.weights.mass", Dimension::Force, Range::Positive(LARGEST_N))
                .map(|force_n| Hold::Weights { force_n })
        }
    };
    Some(Pressing { hold: hold?, cure_above_room_k: warm.unwrap_or(0.0), glue, moisture_in_use, resin: resin? })
}

/// Gives layers what they take up of the glue, the moisture that they come to, and what a warm cure has relax more of wood
/// whose entry does not say. Layers that were glued to each other before pressing have lost that glue's water.
pub(super) fn condition(layers: &mut [Layer], pressing: &Pressing) {
    let wood = |l: &Layer| matches!(l.material.kind, MaterialKind::WoodAlong | MaterialKind::WoodAcross);
    let warm = WARMER_TIMES.powf(pressing.cure_above_room_k.max(0.0) / WARMER_K);
    for layer in layers.iter_mut() {
        layer.moisture_in_use = pressing.moisture_in_use;
        // A value without an error is one that the shop gave for its own material.
        if wood(layer) && !layer.relaxed_stated && layer.relaxed.sd > 0.0 {
            let Share { value, sd } = layer.relaxed;
            layer.relaxed = Share { value: (warm * value).min(MOST_RELAXED.max(value)), sd: warm * sd };
        }
    }
    let Some(Glue::WaterBased { spread_g_m2 }) = pressing.glue else { return };
    for i in 1..layers.len() {
        let (lower, upper) = (wood(&layers[i - 1]), wood(&layers[i]));
        let cured = layers[i].cured_group.is_some() && layers[i].cured_group == layers[i - 1].cured_group;
        if cured || !(lower || upper) {
            continue;
        }
        let each = spread_g_m2 / (f64::from(u8::from(lower)) + f64::from(u8::from(upper)));
        for (j, takes) in [(i - 1, lower), (i, upper)] {
            if takes {
                layers[j].glue_g_m2 += each;
            }
        }
    }
}

/// Wood that is 28 K warmer creeps two to three times as much (Wood Handbook, FPL-GTR-190, "Creep and Relaxation", seen).
const WARMER_K: f64 = 28.0;
const WARMER_TIMES: f64 = 2.5;
/// Most that a warm cure is taken to relax (our choice: beyond it the rule says nothing).
const MOST_RELAXED: f64 = 0.5;

/// Glues by the words that stand in documents.
const GLUES: [&str; 3] = ["epoxy", "polyurethane", "water-based"];
/// Wet water-based glue on a glue line where the document does not say, g/m² (sheets of such glues ask for 150 to 250; from
/// memory).
const SPREAD_G_M2: f64 = 200.0;

fn glue(reader: &mut Reader, raw: &RawPressing) -> Option<Glue> {
    let spread = Range::Within(0.0, 2000.0);
    let spread = reader.optional(raw.glue_spread.as_ref(), "pressing.glue_spread", Dimension::AreaMass, spread);
    let name = reader.text(Some(raw.glue.as_ref()?), "pressing.glue")?;
    match name.as_str() {
        "epoxy" => Some(Glue::Epoxy),
        "polyurethane" => Some(Glue::Polyurethane),
        "water-based" => Some(Glue::WaterBased { spread_g_m2: spread.unwrap_or(SPREAD_G_M2) }),
        other => {
            let hint = nearest(other, &GLUES).map_or(String::new(), |n| format!(" Did you mean \"{n}\"?"));
            reader.faults.push(Fault::new(
                codes::WRONG_CHOICE,
                "pressing.glue",
                format!("`{other}` is not a kind of glue."),
                format!("Write \"epoxy\", \"polyurethane\" or \"water-based\".{hint}"),
            ));
            None
        }
    }
}

/// Refuses clamps and weights whose mean pressure on the blank presses nothing.
pub(super) fn bound(reader: &mut Reader, pressing: &Pressing, board: &Board) {
    let blank_mm2 = board.width_mm * (board.length_mm + board.overhang_tip_mm + board.overhang_tail_mm);
    let (path, what, force_n, least_mpa) = match &pressing.hold {
        Hold::Clamps { places, force_n, .. } => {
            let count = match places {
                ClampPlaces::Even(count) => *count,
                ClampPlaces::At(stations) => stations.len(),
            };
            ("pressing.clamps.force", "the clamps press together", force_n * count as f64, LEAST_MPA)
        }
        Hold::Weights { force_n } => ("pressing.weights.mass", "the weights press", *force_n, LEAST_WEIGHTS_MPA),
        Hold::Vacuum { .. } | Hold::Press { .. } => return,
    };
    if force_n / blank_mm2 >= least_mpa {
        return;
    }
    let (mean, least) = (units::Quantity::pressure(force_n / blank_mm2), units::Quantity::pressure(least_mpa));
    let message = phrase!("{} with {} on the mean, which holds nothing down.", what, mean.against(least));
    let remedy = phrase!(
        "At least {}, {} on this blank: was another unit meant (N, kN, kg, lb)? Write it behind the number.",
        least.against(mean),
        units::Quantity::force(least_mpa * blank_mm2)
    );
    reader.faults.push(Fault::new(codes::PRESSURE_TOO_LOW, path, message, remedy));
}

/// `Some(None)` where nothing is said about the resin, `None` where it is wrong.
fn resin(reader: &mut Reader, raw: &RawPressing, range: Range) -> Option<Option<ResinCure>> {
    let before = reader.faults.len();
    let mut read =
        |value: &Option<Quantity>, path: &str| reader.optional(value.as_ref(), path, Dimension::Temperature, range);
    let cure = read(&raw.cure_temperature, "pressing.cure_temperature");
    let least_c = read(&raw.resin_least, "pressing.resin_least");
    let most_c = read(&raw.resin_most, "pressing.resin_most");
    if reader.faults.len() > before {
        return None;
    }
    if let (Some(least), Some(most)) = (least_c, most_c)
        && least > most
    {
        reader.faults.push(Fault::new(
            codes::IMPOSSIBLE_GEOMETRY,
            "pressing.resin_most",
            "the resin's warmest cure is colder than its coldest.",
            "Give `resin_least` and `resin_most` as they stand on the resin's sheet.",
        ));
        return None;
    }
    match cure {
        Some(cure_c) => Some(Some(ResinCure { least_c, most_c, cure_c })),
        None if least_c.is_some() || most_c.is_some() => {
            reader.missing("pressing.cure_temperature", "Give the temperature of the glue lines while they cure.");
            None
        }
        None => Some(None),
    }
}

fn vacuum(reader: &mut Reader, raw: &RawVacuum) -> Option<Hold> {
    let path = "pressing.vacuum.pressure";
    let full = matches!(&raw.pressure, Some(Quantity::Text(t)) if t.trim() == "full");
    let range = Range::Within(LEAST_MPA, ATMOSPHERE_MPA);
    let reading =
        if full { None } else { Some(reader.required(raw.pressure.as_ref(), path, Dimension::Pressure, range)) };
    if let Some(read_mpa) = reading.flatten() {
        doubts::pressure(reader, path, raw.pressure.as_ref(), read_mpa, true);
    }
    let sea = Range::Within(-500.0, HIGHEST_M);
    let altitude = match raw.altitude {
        None => Some(0.0),
        Some(_) => reader.optional(raw.altitude.as_ref(), "pressing.vacuum.altitude", Dimension::Altitude, sea),
    };
    if let Some(altitude_m) = altitude {
        doubts::altitude(reader, "pressing.vacuum.altitude", raw.altitude.as_ref(), altitude_m);
    }
    let below = match &raw.below {
        None => Some(Below::Air),
        Some(_) => match reader.text(raw.below.as_ref(), "pressing.vacuum.below").as_deref() {
            Some("air") => Some(Below::Air),
            Some("vacuum") => Some(Below::Vacuum),
            Some(other) => {
                let near = nearest(other, &["air", "vacuum"]);
                let hint = near.map_or(String::new(), |n| format!(" Did you mean \"{n}\"?"));
                reader.faults.push(Fault::new(
                    codes::WRONG_CHOICE,
                    "pressing.vacuum.below",
                    format!("`{other}` is not what can be below the table's skin."),
                    format!(
                        "Write \"air\" for a table that is open below, or \"vacuum\" for one that is pumped.{hint}"
                    ),
                ));
                None
            }
            None => None,
        },
    };
    let reading_mpa = match reading {
        None => None,
        Some(read) => Some(read?),
    };
    Some(Hold::Vacuum { reading_mpa, altitude_m: altitude?, below: below? })
}

fn clamps(reader: &mut Reader, raw: &RawClamps) -> Option<Hold> {
    let choices = [("count", raw.count.is_some()), ("stations", raw.stations.is_some())];
    let places = match (reader.one_of("pressing.clamps", &choices, "where clamps press"), &raw.stations) {
        (Some("stations"), Some(list)) => stations(reader, list).map(ClampPlaces::At),
        (Some(_), _) => {
            reader.count(raw.count.as_ref(), "pressing.clamps.count", 2, MOST_CLAMPS).map(ClampPlaces::Even)
        }
        (None, _) => None,
    };
    let force =
        reader.required(raw.force.as_ref(), "pressing.clamps.force", Dimension::Force, Range::Positive(LARGEST_N));
    let caul = match &raw.caul {
        None => Some(None),
        Some(caul) => {
            let path = "pressing.clamps.caul.thickness";
            let thick = reader.required(caul.thickness.as_ref(), path, Dimension::Length, Range::Positive(200.0));
            let path = "pressing.clamps.caul.modulus";
            let modulus = reader.required(caul.modulus.as_ref(), path, Dimension::Modulus, Range::Positive(4e5));
            thick.zip(modulus).map(|(thickness_mm, modulus_mpa)| Some(Caul { thickness_mm, modulus_mpa }))
        }
    };
    Some(Hold::Clamps { places: places?, force_n: force?, caul: caul? })
}

fn stations(reader: &mut Reader, list: &[Quantity]) -> Option<Vec<f64>> {
    if list.len() < 2 || list.len() > MOST_CLAMPS {
        reader.faults.push(Fault::new(
            codes::OUT_OF_RANGE,
            "pressing.clamps.stations",
            format!("{} clamps are listed.", list.len()),
            format!("List 2 to {MOST_CLAMPS} stations along the board, from its middle."),
        ));
        return None;
    }
    let range = Range::Within(-LONGEST_MM, LONGEST_MM);
    let read = |(i, q): (usize, &Quantity)| {
        reader.optional(Some(q), &format!("pressing.clamps.stations[{i}]"), Dimension::Length, range)
    };
    list.iter().enumerate().map(read).collect()
}
