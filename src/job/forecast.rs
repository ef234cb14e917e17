//! How sure the job is of its figures.

use super::{Glue, Layer, Share};

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

impl Forecasting {
    /// Boards that are simulated where the shop does not say: the ends of the band are then known to a twentieth of its
    /// width.
    pub(crate) const USUAL_DRAWS: usize = 2000;
    /// Seed where the shop does not say.
    pub(crate) const USUAL_SEED: u64 = 1;
    /// Median springback of shops over that of the model, before a shop has measured a board.
    pub(crate) const EXPECTED_SPRINGBACK: f64 = 1.0;
    /// How far shops differ where the glue is epoxy (a guess: such glue lines do not creep at room temperature).
    const EPOXY_SD: f64 = 0.3;
    /// How far they differ where the glue is another one or not stated (a guess: trade reports of bent laminations, seen,
    /// give none, less than a half, 1 to 3, 1.45 and 1.8 to 4 times the elastic value, mostly of plain wood with glues that
    /// are not named).
    const OTHER_SD: f64 = 0.5;

    /// How far the springback of shops with this glue differs, one standard deviation, before a shop has measured a board.
    pub(crate) fn expected_sd(glue: Option<Glue>) -> f64 {
        if glue == Some(Glue::Epoxy) { Self::EPOXY_SD } else { Self::OTHER_SD }
    }

    /// What is expected of a shop with this glue that has measured no board.
    pub(crate) fn new(glue: Option<Glue>) -> Self {
        Self {
            draws: Self::USUAL_DRAWS,
            seed: Self::USUAL_SEED,
            springback: Share { value: Self::EXPECTED_SPRINGBACK, sd: Self::expected_sd(glue) },
            closing_in: ClosingIn::EXPECTED,
        }
    }
}
