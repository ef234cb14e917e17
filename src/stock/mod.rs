//! What the parts are cut from: sheets, and bars.

mod bars;
mod cutting;
mod layout;
mod list;
mod nest;

pub use bars::{BarCuts, Cuts};
pub use cutting::{CutBar, CuttingError, CuttingPlan, Piece, cut};
pub use layout::{Layout, Sheet, lay_out};
pub use list::{CutRow, cut_rows};
pub use nest::{Nest, NestedSheet, Placed, nest};
