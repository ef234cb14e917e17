//! `[forecast]`: how the boards that an uncertain stack may give are simulated.

use super::keys::Range::Within;
use super::section::Section;
use crate::codes;
use crate::job::{Board, ClosingIn, Forecasting, Glue, Share};
use crate::units::{Dimension, plain};

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

pub(super) fn forecast(at: &mut Section<'_, '_>, glue: Option<Glue>) -> Forecasting {
    let meaning = "Boards that are simulated: 0 for none, otherwise enough to find a band from.";
    let draws = at.count_or_zero("draws", (FEWEST_DRAWS, MOST_DRAWS), meaning).or(DRAWS);
    let meaning = "Number that the draws begin with: the same one gives the same boards.";
    let seed = at.count("seed", (0, 1_000_000_000), meaning).or(1) as u64;
    let meaning = "Springback of your boards over the model's.";
    let value = at.quantity("springback", Dimension::Ratio, Within(0.0, 3.0), meaning).or(EXPECTED);
    let meaning = "How far that may be off, one standard deviation.";
    let sd = at.quantity("springback_error", Dimension::Ratio, Within(0.0, 1.0), meaning);
    let sd = sd.otherwise("`0.3` with epoxy and `0.5` otherwise");
    let sd = sd.unwrap_or(if glue == Some(Glue::Epoxy) { EPOXY_SD } else { OTHER_SD });
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
