//! Numerical methods without a word of the trade: roots, quadrature, banded systems, random numbers.

mod banded;
mod fingerprint;
pub mod quadrature;
mod random;
mod root;

pub use banded::{BandedCholesky, SymmetricBanded};
pub use fingerprint::fingerprint;
pub use random::Random;
pub use root::{Root, RootError, find_root};
