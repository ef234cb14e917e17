//! Numerical methods without a word of the trade: roots, quadrature, banded systems, quadratic programs.

mod banded;
mod fingerprint;
mod quadratic;
pub mod quadrature;
mod root;

pub use banded::{BandedCholesky, SymmetricBanded};
pub use fingerprint::fingerprint;
pub use quadratic::{Bound, InteriorPoint, Minimum, NotSolved, QuadraticProgram, Tolerance};
pub use root::{Root, RootError, find_root};
