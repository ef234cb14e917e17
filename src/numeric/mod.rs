<<<<<<< HEAD
//! Numerical methods without a word of the trade: roots, quadrature, banded systems, quadratic programs, eigenvalues,
//! random numbers.

mod banded;
mod eigen;
=======
//! Numerical methods without a word of the trade: roots, quadrature, banded systems, chance.

mod banded;
mod chance;
>>>>>>> 6ad414f (Cut pieces off bars with the least stock, and prove it)
mod fingerprint;
mod quadratic;
pub mod quadrature;
mod random;
mod root;

pub use banded::{BandedCholesky, SymmetricBanded};
<<<<<<< HEAD
pub use eigen::{Eigen, symmetric_eigen};
=======
pub use chance::Chance;
>>>>>>> 6ad414f (Cut pieces off bars with the least stock, and prove it)
pub use fingerprint::fingerprint;
pub use quadratic::{Bound, InteriorPoint, Minimum, NotSolved, QuadraticProgram, Tolerance};
pub use random::Random;
pub use root::{Root, RootError, find_root};
