//! Numerical methods without a word of the trade: roots, quadrature, banded systems, eigenvalues.

mod banded;
mod eigen;
mod fingerprint;
pub mod quadrature;
mod root;

pub use banded::{BandedCholesky, SymmetricBanded};
pub use eigen::{Eigen, symmetric_eigen};
pub use fingerprint::fingerprint;
pub use root::{Root, RootError, find_root};
