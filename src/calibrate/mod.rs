//! What boards show about the springback of a shop, and what an existing table would need.
//!
//! A shop has one factor on the moments that its layers keep: it stands for moduli and relaxation that differ from what
//! was taken for them, and acts through [`crate::laminate::Section`], never on a height. [`fit_board`] finds the factor
//! of one board, [`learn`] the result of all boards, [`shims`] how to turn one table into another.

mod along;
pub(crate) mod boards;
mod explained;
mod factor;
mod local;
mod off_table;
mod read_row;
mod shims;
mod shop;
mod stacks;
mod surface;

pub use along::ShareAt;
pub(crate) use along::shares_along;
pub use boards::{Known, LearnedBoard, PredictedHeights};
pub(crate) use explained::explained_mirrored;
pub use explained::mirrored;
pub(crate) use factor::NINE_IN_TEN;
pub use factor::{BoardFactor, fit_board};
pub use local::{Cause, Local};
pub use off_table::OffTable;
pub use read_row::ReadRow;
pub(crate) use shims::surfaces_apart;
pub use shims::{OutOfReach, Shim, ShimOptions, ShimSchedule, shims};
pub use shop::{Learned, MeasuredFactor, Prior, learn};
pub use stacks::{EXPECTED_SCATTER, Sensitivities, TransferError};
pub(crate) use surface::surface_through;
pub use surface::table_id;
pub(crate) use surface::{surface_nodes, thinned_nodes};

#[cfg(test)]
mod tests;
