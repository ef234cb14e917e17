//! Numerical methods without a word of the trade: roots, quadrature, banded systems.

mod banded;
pub mod quadrature;
mod root;

pub use banded::{BandedCholesky, SymmetricBanded};
pub use root::{Root, RootError, find_root};
