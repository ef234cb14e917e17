//! The neutral model behind every exporter: parts made of contours, holes, marks and texts, each with its operation, and
//! listings. Millimetres; x to the right (toward the tip), y up.

mod contour;
mod listing;
mod mesh;
mod page;
mod paper;
mod part;
mod picture;
mod placement;
mod placer;
mod touch;

pub use contour::{Arc, Contour, ContourError, Vertex};
pub use listing::{Cell, Listing};
pub use mesh::Mesh;
pub use page::{Block, Figure, Page, Section, Step, Tone};
pub use paper::Paper;
pub use part::{Drawing, Operation, Part, Shape, Text, TextAnchor, Work};
pub use picture::{Ink, Item, LabelStyle, Picture};
pub use placement::Placement;
pub use placer::Placer;
pub(crate) use touch::{distance_mm, is_inside, sides, touches};
