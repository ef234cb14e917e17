//! `[forecast]`: how the boards that an uncertain stack may give are simulated.

use serde::Deserialize;

use super::quantity::Quantity;
use super::reader::{Range, Reader};
use crate::codes;
use crate::finding::Fault;
use crate::job::{Board, ClosingIn, Forecasting, Glue, Share};
use crate::units::{Dimension, plain};

#[derive(Debug, Default, Deserialize)]
#[cfg_attr(feature = "schema", derive(schemars::JsonSchema))]
#[serde(deny_unknown_fields, default)]
pub(super) struct RawForecast {
    /// Boards that are simulated; 0 for none.
    ///
    /// Takes a whole number from 100 to 200000, or 0; `2000` when left out.
    draws: Option<Quantity>,
    /// Number that the draws begin with: the same one gives the same boards.
    ///
    /// Takes a whole number from 0 to 1000000000; `1` when left out.
    seed: Option<Quantity>,
    /// Springback of your boards over the model's.
    ///
    /// Takes a ratio from 0 to 3; `1` when left out.
    springback: Option<Quantity>,
    /// How far that may be off, one standard deviation.
    ///
    /// Takes a ratio from 0 to 1; `0.3` with epoxy and `0.5` otherwise when left out.
    springback_error: Option<Quantity>,
}

/// Boards that are simulated where the document does not say: the ends of the band are then known to a twentieth of
/// its width.
const DRAWS: usize = 2000;
/// Fewest boards that a band can be told from.
const FEWEST_DRAWS: usize = 100;
/// Most boards: a hundred times what a band needs.
const MOST_DRAWS: usize = 200_000;
/// Most work of a simulation: boards times layers times metres of blank, over all stacks. A million takes about two
/// minutes on one core of 2026; a usual job has some ten thousand.
const MOST_WORK: f64 = 1e6;
/// Median springback of shops over that of the model, before a shop has measured a board.
const EXPECTED: f64 = 1.0;
/// How far shops differ where the glue is epoxy (a guess: such glue lines do not creep at room temperature).
const EPOXY_SD: f64 = 0.3;
/// How far they differ where the glue is another one or not stated (a guess: trade reports of bent laminations, seen, give none,
/// less than a half, 1 to 3, 1.45 and 1.8 to 4 times the elastic value, mostly of plain wood with glues that are not named).
const OTHER_SD: f64 = 0.5;

pub(super) fn check(reader: &mut Reader, raw: Option<RawForecast>, glue: Option<Glue>) -> Forecasting {
    let raw = raw.unwrap_or_default();
    let count = |reader: &mut Reader, value: &Option<Quantity>, path: &str, least: usize, most: usize, usual: usize| {
        value.as_ref().and_then(|v| reader.count(Some(v), path, least, most)).unwrap_or(usual)
    };
    let draws = match raw.draws {
        // Zero switches the simulation off.
        Some(Quantity::Number(0.0)) => 0,
        Some(Quantity::Number(n)) if n.fract() == 0.0 && (1.0..FEWEST_DRAWS as f64).contains(&n) => {
            let message = format!("`draws` is {n}; too few boards to find a band from.");
            let remedy = format!("Write 0 for none, or a whole number from {FEWEST_DRAWS} to {MOST_DRAWS}.");
            reader.faults.push(Fault::new(codes::OUT_OF_RANGE, "forecast.draws", message, remedy));
            DRAWS
        }
        _ => count(reader, &raw.draws, "forecast.draws", FEWEST_DRAWS, MOST_DRAWS, DRAWS),
    };
    let seed = count(reader, &raw.seed, "forecast.seed", 0, 1_000_000_000, 1);
    let mut share = |value: &Option<Quantity>, path: &str, range: Range| {
        reader.optional(value.as_ref(), path, Dimension::Ratio, range)
    };
    let value = share(&raw.springback, "forecast.springback", Range::Within(0.0, 3.0)).unwrap_or(EXPECTED);
    let sd = share(&raw.springback_error, "forecast.springback_error", Range::Within(0.0, 1.0))
        .unwrap_or(if glue == Some(Glue::Epoxy) { EPOXY_SD } else { OTHER_SD });
    Forecasting { draws, seed: seed as u64, springback: Share { value, sd }, closing_in: ClosingIn::EXPECTED }
}

/// Refuses a simulation that would not end: `layers` are those of all stacks together.
pub(super) fn bound(reader: &mut Reader, forecast: &Forecasting, layers: usize, board: &Board) {
    let blank_m = 1e-3 * (board.length_mm + board.overhang_tip_mm + board.overhang_tail_mm);
    let work_of_one = layers as f64 * blank_m;
    if forecast.draws as f64 * work_of_one <= MOST_WORK {
        return;
    }
    let most = ((MOST_WORK / work_of_one / 100.0).floor() * 100.0).max(FEWEST_DRAWS as f64);
    if forecast.draws as f64 <= most {
        return;
    }
    reader.faults.push(Fault::new(
        codes::TOO_MANY,
        "forecast.draws",
        format!("{} boards of {layers} layers and {} m are too many to simulate.", forecast.draws, plain(blank_m, 1)),
        format!("Simulate at most {most} boards of this size: draws = {most}."),
    ));
}
