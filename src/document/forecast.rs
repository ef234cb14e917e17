//! `[forecast]`: how the boards that an uncertain stack may give are simulated.

use super::keys::Range::Within;
use super::section::Section;
use crate::codes;
use crate::job::{Board, ClosingIn, Forecasting, Glue, Share};
use crate::units::{Dimension, plain};

/// Fewest boards that a band can be told from.
const FEWEST_DRAWS: usize = 100;
/// Most boards: a hundred times what a band needs.
const MOST_DRAWS: usize = 200_000;
/// Most work of a simulation: boards times layers times metres of blank, over all stacks. A million takes about two
/// minutes on one core of 2026; a usual job has some ten thousand.
const MOST_WORK: f64 = 1e6;
pub(super) fn forecast(at: &mut Section<'_, '_>, glue: Option<Glue>) -> Forecasting {
    let meaning = "Boards that are simulated: 0 for none, otherwise enough to find a band from.";
    let draws = at.count_or_zero("draws", (FEWEST_DRAWS, MOST_DRAWS), meaning).or(Forecasting::USUAL_DRAWS);
    let meaning = "Number that the draws begin with: the same one gives the same boards.";
    let seed = at.count("seed", (0, 1_000_000_000), meaning).or(Forecasting::USUAL_SEED as usize) as u64;
    let meaning = "Springback of your boards over the model's.";
    let value =
        at.quantity("springback", Dimension::Ratio, Within(0.0, 3.0), meaning).or(Forecasting::EXPECTED_SPRINGBACK);
    let meaning = "How far that may be off, one standard deviation.";
    let sd = at.quantity("springback_error", Dimension::Ratio, Within(0.0, 1.0), meaning);
    let sd = sd.otherwise("`0.3` with epoxy and `0.5` otherwise");
    let sd = sd.unwrap_or(Forecasting::expected_sd(glue));
    Forecasting { draws, seed, springback: Share { value, sd }, closing_in: ClosingIn::EXPECTED }
}

/// Refuses a simulation that would not end: `layers` are those of all stacks together.
pub(super) fn bound(at: &mut Section<'_, '_>, forecast: &Forecasting, layers: usize, board: &Board) {
    let blank_m = 1e-3 * (board.length_mm + board.overhang_tip_mm + board.overhang_tail_mm);
    let work_of_one = layers as f64 * blank_m;
    let most = ((MOST_WORK / work_of_one / 100.0).floor() * 100.0).max(FEWEST_DRAWS as f64);
    if forecast.draws as f64 * work_of_one <= MOST_WORK || forecast.draws as f64 <= most {
        return;
    }
    let draws = forecast.draws;
    let message = format!("{draws} boards of {layers} layers and {} m are too many to simulate.", plain(blank_m, 1));
    let remedy = format!("Simulate at most {most} boards of this size: draws = {most}.");
    at.fault(codes::TOO_MANY, "forecast.draws", message, remedy);
}
