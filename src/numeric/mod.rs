//! Numerical methods without a word of the trade: roots, quadrature, banded systems.

mod banded;
mod fingerprint;
pub mod quadrature;
mod root;

pub use banded::{BandedCholesky, SymmetricBanded};
pub use fingerprint::fingerprint;
pub use root::{Root, RootError, find_root};
