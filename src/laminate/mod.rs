//! The stack as a strip: stiffness wet and bonded, what it keeps of the bend on release, strain while it is bent.
//!
//! Per millimetre of width throughout. Heights are measured up from the base. Curvature k > 0 is rocker, so the strain
//! at a height `y` above a neutral axis is `-k y`: the base is stretched, the deck is compressed.

mod change;
mod changed;
mod closing;
mod doubts;
mod moisture;
mod residual;
mod sag;
mod section;
mod soft;
mod stack;
mod strain;

pub use change::Change;
pub(crate) use doubts::MOST_SPRINGBACK;
pub use residual::LayerStress;
pub use sag::{SagModulus, sag_modulus};
pub use section::Section;
pub use soft::EndZone;
pub use stack::Laminate;
pub(crate) use stack::thickness_at;
pub use strain::LayerStrain;
