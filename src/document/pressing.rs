//! `[pressing]`: how the stack is held on the table.

use super::doubts;
use super::keys::Range::{UpTo, Within};
use super::reader::LONGEST_MM;
use super::section::Section;
use crate::codes;
use crate::job::{Below, Board, Caul, ClampPlaces, Glue, Hold, Pressing, ResinCure};
use crate::units::{Dimension, Quantity, STANDARD_GRAVITY, phrase};

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
/// Largest weight, N: a hundred tonnes.
const LARGEST_WEIGHT_N: f64 = 1e5 * STANDARD_GRAVITY;

pub(super) fn pressing(at: &mut Section<'_, '_>) -> Option<Pressing> {
    let ways = [
        at.table("vacuum", "A vacuum bag.", vacuum).optional(),
        at.table("press", "An upper form that matches the table.", press).optional(),
        at.table("clamps", "Clamps along the blank.", clamps).optional(),
        at.table("weights", "Weights spread evenly over the blank.", |at| {
            let mass =
                at.quantity("mass", Dimension::Weight, UpTo(LARGEST_WEIGHT_N), "Total mass of the weights.").required();
            Some(Hold::Weights { force_n: mass? })
        })
        .optional(),
    ];
    let glue = glue(at);
    let meaning =
        "Moisture content of the wood in use, as a share of its dry mass: a board that dries closes in (springs in).";
    let moisture_in_use = at.quantity("moisture_in_use", Dimension::Ratio, Within(0.0, 0.3), meaning).optional();
    let difference = Dimension::TemperatureDifference;
    let meaning = "How much warmer than the room it cures, in kelvins.";
    let cure_above_room_k = at.quantity("cure_above_room", difference, Within(-50.0, 200.0), meaning).or(0.0);
    let mut temperature =
        |key, meaning| at.quantity(key, Dimension::Temperature, Within(-30.0, 250.0), meaning).optional();
    let cure_c = temperature("cure_temperature", "Temperature of the glue lines while they cure.");
    let least_c = temperature("resin_least", "Coldest cure that the resin's sheet allows.");
    let most_c = temperature("resin_most", "Warmest cure that the resin's sheet allows.");
    at.doubt(doubts::cure("pressing.cure_above_room", cure_above_room_k, cure_c));
    if least_c.zip(most_c).is_some_and(|(least, most)| least > most) {
        let remedy = "Give `resin_least` and `resin_most` as they stand on the resin's sheet.";
        let message = "the resin's warmest cure is colder than its coldest.";
        at.fault(codes::IMPOSSIBLE_GEOMETRY, "resin_most", message, remedy);
    }
    if !at.has("cure_temperature") && (at.has("resin_least") || at.has("resin_most")) {
        at.missing("cure_temperature", "Give the temperature of the glue lines while they cure.");
    }
    at.one_of(&["vacuum", "press", "clamps", "weights"], "what presses the stack")?;
    let resin = cure_c.map(|cure_c| ResinCure { least_c, most_c, cure_c });
    Some(Pressing { hold: ways.into_iter().flatten().next()?, cure_above_room_k, glue, moisture_in_use, resin })
}

/// Wet water-based glue on a glue line where the document does not say, g/m² (sheets of such glues ask for 150 to 250; from
/// memory).
const SPREAD_G_M2: f64 = 200.0;

fn glue(at: &mut Section<'_, '_>) -> Option<Glue> {
    let meaning = "Wet water-based glue on each glue line.";
    let spread_g_m2 = at.quantity("glue_spread", Dimension::AreaMass, Within(0.0, 2000.0), meaning).or(SPREAD_G_M2);
    let glues = [
        ("epoxy", Glue::Epoxy),
        ("polyurethane", Glue::Polyurethane),
        ("water-based", Glue::WaterBased { spread_g_m2 }),
    ];
    at.word("glue", &glues, "What the layers are glued with.").optional()
}

fn vacuum(at: &mut Section<'_, '_>) -> Option<Hold> {
    let range = (Dimension::Pressure, Within(LEAST_MPA, ATMOSPHERE_MPA));
    let meaning = "What the gauge shows below the air outside.";
    let units = Dimension::Pressure.units();
    let remedy = format!("Give it as a number or as a text with a unit ({units}), or as \"full\".");
    let reading = at.quantity_or("pressure", "full", range, meaning).needed(remedy);
    let meaning = "Altitude of the shop above sea level.";
    let altitude_m = at.quantity("altitude", Dimension::Altitude, Within(-500.0, HIGHEST_M), meaning).or(0.0);
    let below = [("air", Below::Air), ("vacuum", Below::Vacuum)];
    let meaning = "What is under the table's skin: air on an open table, vacuum in an evacuated box.";
    let below = at.choice("below", &below, meaning);
    at.doubt(doubts::altitude(&at.path_of("altitude"), at.bare("altitude")));
    let reading_mpa = reading?;
    at.doubt(reading_mpa.and_then(|mpa| doubts::pressure(&at.path_of("pressure"), at.bare("pressure"), mpa, true)));
    Some(Hold::Vacuum { reading_mpa, altitude_m, below })
}

fn press(at: &mut Section<'_, '_>) -> Option<Hold> {
    let range = Within(LEAST_MPA, 100.0);
    let pressure_mpa = at.quantity("pressure", Dimension::Pressure, range, "Pressure on the blank.").required()?;
    at.doubt(doubts::pressure(&at.path_of("pressure"), at.bare("pressure"), pressure_mpa, false));
    Some(Hold::Press { pressure_mpa })
}

fn clamps(at: &mut Section<'_, '_>) -> Option<Hold> {
    let count = at.count("count", (2, MOST_CLAMPS), "How many clamps, spread evenly through cauls.").optional();
    let along = Within(-LONGEST_MM, LONGEST_MM);
    let meaning = "Where clamps press, counted from the middle.";
    let stations = at.lengths("stations", along, (2, MOST_CLAMPS), meaning).optional();
    let meaning = "Force of each across the board.";
    let force = at.quantity("force", Dimension::Force, UpTo(LARGEST_N), meaning).required();
    let caul = at.table("caul", "Batten on the stack that bends with it.", |at| {
        let thickness = at.length("thickness", UpTo(200.0), "Thickness of the batten.").required();
        let modulus = at.quantity("modulus", Dimension::Modulus, UpTo(4e5), "Modulus of the batten.").required();
        Some(Caul { thickness_mm: thickness?, modulus_mpa: modulus? })
    });
    let caul = caul.optional();
    let places = match at.one_of(&["count", "stations"], "where clamps press")? {
        "count" => ClampPlaces::Even(count?),
        _ => ClampPlaces::At(stations?),
    };
    Some(Hold::Clamps { places, force_n: force?, caul })
}

/// Refuses clamps and weights whose mean pressure on the blank presses nothing, or whose pressure depends on its outline.
pub(super) fn bound(at: &mut Section<'_, '_>, pressing: &Pressing, board: &Board) {
    let blank_mm2 =
        board.count as f64 * board.width_mm * (board.length_mm + board.overhang_tip_mm + board.overhang_tail_mm);
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
    if board.outline.as_ref().is_some_and(|o| o.shaped_blank) {
        let message = "the pressure of clamps and weights is worked out over a rectangular blank.";
        let remedy = "Write blank = \"rectangle\", or give the pressure on the stack under [pressing.press].";
        at.fault(codes::SHAPED_BLANK, path, message, remedy);
    }
    if force_n / blank_mm2 >= least_mpa {
        return;
    }
    let (mean, least) = (Quantity::pressure(force_n / blank_mm2), Quantity::pressure(least_mpa));
    let message = phrase!("{} with a mean of {}, which holds nothing down.", what, mean.against(least));
    let remedy = phrase!(
        "At least {}, {} on this blank: was another unit meant (N, kN, kg, lb)? Write it behind the number.",
        least.against(mean),
        Quantity::force(least_mpa * blank_mm2)
    );
    at.fault(codes::PRESSURE_TOO_LOW, path, message, remedy);
}
