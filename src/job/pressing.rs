//! How the stack is held on the table.

/// What presses.
#[derive(Debug, Clone, PartialEq)]
pub enum Hold {
    /// A vacuum bag; difference of pressure across it, MPa.
    Vacuum {
        /// Pressure on the stack, MPa.
        pressure_mpa: f64,
    },
    /// Clamps through a caul that spreads them evenly over the blank.
    Clamps {
        /// Number of clamps along the blank.
        count: usize,
        /// Force of each, N.
        force_n: f64,
    },
}

/// How the stack is held while the glue cures.
#[derive(Debug, Clone, PartialEq)]
pub struct Pressing {
    /// What presses.
    pub hold: Hold,
    /// Cure temperature above the room where the board is used, K.
    pub cure_above_room_k: f64,
}
