//! Numerical methods, independent of the application: roots, quadrature, banded systems, quadratic programs,
//! eigenvalues, vectors, random numbers.

mod banded;
mod eigen;
mod extreme;
mod fingerprint;
mod interpolation;
mod quadratic;
pub mod quadrature;
mod random;
mod root;
mod vectors;

pub use banded::{BandedCholesky, SymmetricBanded};
pub(crate) use eigen::symmetric_eigen;
pub use extreme::robust_std_dev;
pub(crate) use extreme::{index_of_min, max_abs};
pub use fingerprint::fingerprint;
pub(crate) use interpolation::thinned;
pub use interpolation::{Monotone, between, interpolated};
pub use quadratic::{Bound, InteriorPoint, Minimum, NotSolved, QuadraticProgram, Tolerance};
pub use random::Random;
pub(crate) use random::normal_distribution;
pub use root::{Root, RootError, find_root};
pub(crate) use vectors::{add_combination, dot};
