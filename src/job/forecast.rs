//! How sure the job is of its figures.

use super::{Layer, Share};

/// How the boards that an uncertain stack may give are simulated.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Forecasting {
    /// Boards to simulate; 0 for none.
    pub draws: usize,
    /// Seed of the random numbers.
    pub seed: u64,
    /// Springback of the shop's boards over that of the model.
    pub springback: Share,
    /// How far stacks close in beside what is computed.
    pub closing_in: ClosingIn,
}

/// How far stacks close in beside what is computed, and how that goes with the springback factor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ClosingIn {
    /// Multiple of the computed shrinkage through the thickness.
    pub multiple: Share,
    /// Change of the springback factor per unit of that multiple: boards that were measured fix the two together better than
    /// each alone.
    pub factor_per_multiple: f64,
}

impl ClosingIn {
    /// Before a board was measured: as computed, half of it open (a guess: spread, moisture and the wood's swelling each
    /// differ by a third).
    pub const EXPECTED: Self = Self { multiple: Share { value: 1.0, sd: 0.5 }, factor_per_multiple: 0.0 };
}

/// Another stack that might be pressed on the table.
#[derive(Debug, Clone, PartialEq)]
pub struct Alternative {
    /// What the shop calls it.
    pub name: String,
    /// Layers from base to deck.
    pub layers: Vec<Layer>,
}
