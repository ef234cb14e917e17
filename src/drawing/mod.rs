//! The one neutral drawing that feeds every exporter: parts made of contours, holes, marks and texts, each with its
//! operation; and the listings that stand beside it. Millimetres, x to the right (toward the tip), y up.

mod contour;
mod listing;
mod paper;
mod part;

pub use contour::{Arc, Contour, ContourError, Vertex};
pub use listing::{Cell, Listing};
pub use paper::Paper;
pub use part::{Drawing, Operation, Part, Placement, Shape, Text, TextAnchor, Work};
