//! Numerical methods, independent of the application: roots, quadrature, banded systems, quadratic programs,
//! eigenvalues, vectors, random numbers.

mod banded;
mod eigen;
mod extreme;
mod fingerprint;
mod interpolation;
mod quadratic;
pub(crate) mod quadrature;
mod random;
mod root;
mod vectors;

pub(crate) use banded::{BandedCholesky, SymmetricBanded};
pub(crate) use eigen::symmetric_eigen;
pub use extreme::robust_std_dev;
pub(crate) use extreme::{index_of_min, max_abs};
pub use fingerprint::fingerprint;
pub(crate) use interpolation::thinned;
pub(crate) use interpolation::{Monotone, between, interpolated};
pub(crate) use quadratic::{Bound, InteriorPoint, QuadraticProgram, Tolerance};
pub use random::Random;
pub(crate) use random::normal_distribution;
pub(crate) use root::find_root;
pub(crate) use vectors::{add_combination, dot};
