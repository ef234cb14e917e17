//! What the parts are cut from: sheets, and bars.

mod bars;
mod cutting;
mod layout;
mod list;
mod machine;
mod nest;
mod set_ups;
mod shopping;

pub use bars::{BarCuts, Cuts};
pub use cutting::{CutBar, CuttingError, CuttingPlan, Piece, cut};
pub use layout::{Layout, Sheet};
pub(crate) use layout::{lay_out, stock_sheets};
pub use list::CutRow;
pub(crate) use list::cut_rows;
pub use nest::{Nest, NestedSheet, Placed, nest};
pub use set_ups::SetUp;
pub(crate) use shopping::SPREAD_G_M2;
pub use shopping::{Amount, Cost, Purchase, Resin, Shopping, Used};
