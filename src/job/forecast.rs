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
}

/// Another stack that might be pressed on the table.
#[derive(Debug, Clone, PartialEq)]
pub struct Alternative {
    /// What the shop calls it.
    pub name: String,
    /// Layers from base to deck.
    pub layers: Vec<Layer>,
}
