//! What comes off a table, how sure that is, and what would make it surer.
//!
//! The stack's figures are uncertain: moduli scatter from batch to batch, a planer is set a little off, wood relaxes more
//! or less, and shops see more or less springback than the model. Each draw of a simulation takes one possible stack
//! through pressing and release.

mod advice;
mod band;
mod heights;
mod inputs;
mod model;
mod season;

pub(crate) use advice::FIRST_BOARD;
pub use advice::{Advice, Change, Gain, advice, band_mm};
pub(crate) use band::forecast_watched;
pub use band::{Band, Forecast, InputShare, forecast, forecast_on};
pub use heights::end_heights_mm;
pub(crate) use inputs::inputs_of;
pub use inputs::{Input, Quantity};
pub use model::{Model, Scene};
pub(crate) use season::{READ_AFTER_H, after_a_season_mm, shown_after};
