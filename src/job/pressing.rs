//! How the stack is held on the table.

use super::{Layer, MaterialKind, Share};

/// What is below the table's skin while a bag presses.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Below {
    /// The air of the shop: the bag is sealed to the skin, and the air presses from below as well.
    Air,
    /// The bag's own vacuum: a sealed box that is pumped, or a table in the bag as a whole. Nothing presses from below,
    /// and the skin carries the pressure between its ribs.
    Vacuum,
}

/// A batten or board between clamps and stack, as wide as the board.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Caul {
    /// Its thickness, mm.
    pub thickness_mm: f64,
    /// Its modulus along the board, MPa.
    pub modulus_mpa: f64,
}

/// Where clamps press.
#[derive(Debug, Clone, PartialEq)]
pub enum ClampPlaces {
    /// So many, spread evenly over the blank through cauls that make one pressure of them.
    Even(usize),
    /// At these stations, mm from the middle of the board, across its whole width.
    At(Vec<f64>),
}

/// What presses.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum Hold {
    /// A vacuum bag.
    Vacuum {
        /// What the gauge shows below the air outside, MPa; `None` for all that the air can give.
        reading_mpa: Option<f64>,
        /// Altitude of the shop above sea level, m.
        altitude_m: f64,
        /// What is below the table's skin.
        below: Below,
    },
    /// A press with an upper form that matches the table.
    Press {
        /// Pressure on the stack, MPa.
        pressure_mpa: f64,
    },
    /// Clamps.
    Clamps {
        /// Where they press.
        places: ClampPlaces,
        /// Force of each across the whole width, N.
        force_n: f64,
        /// What lies between them and the stack, where it is to be reckoned with.
        caul: Option<Caul>,
    },
    /// Weights spread evenly over the blank.
    Weights {
        /// What they weigh together, N.
        force_n: f64,
    },
}

/// At which temperatures the resin may cure, by its data sheet, °C.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ResinCure {
    /// Coldest.
    pub least_c: Option<f64>,
    /// Warmest.
    pub most_c: Option<f64>,
    /// Temperature of the glue lines while they cure.
    pub cure_c: f64,
}

/// What the layers are glued with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Glue {
    /// Epoxy, which brings no water.
    Epoxy,
    /// Polyurethane, which brings no water.
    Polyurethane,
    /// A water-based glue.
    WaterBased {
        /// Mass of wet glue on each glue line, g/m².
        spread_g_m2: f64,
    },
}

/// How the stack is held while the glue cures.
#[derive(Debug, Clone, PartialEq)]
pub struct Pressing {
    /// What presses.
    pub hold: Hold,
    /// Cure temperature above the room where the board is used, K.
    pub cure_above_room_k: f64,
    /// What the layers are glued with, where stated.
    pub glue: Option<Glue>,
    /// Moisture content that wood comes to where the board is used, as a part of its ovendry mass, where stated.
    pub moisture_in_use: Option<f64>,
    /// What the resin asks for, where stated.
    pub resin: Option<ResinCure>,
}

/// Wood that is 28 K warmer creeps two to three times as much (Wood Handbook, FPL-GTR-190, "Creep and Relaxation", seen).
const WARMER_K: f64 = 28.0;
const WARMER_TIMES: f64 = 2.5;
/// Most that a warm cure is taken to relax (our choice: beyond it the rule says nothing).
const MOST_RELAXED: f64 = 0.5;

impl Hold {
    /// A bag on an open table at sea level with all the vacuum that the air can give.
    pub const FULL_VACUUM: Self = Self::Vacuum { reading_mpa: None, altitude_m: 0.0, below: Below::Air };
}

impl Pressing {
    /// A cold cure under this hold, with nothing stated about the glue.
    pub fn new(hold: Hold) -> Self {
        Self { hold, cure_above_room_k: 0.0, glue: None, moisture_in_use: None, resin: None }
    }

    /// Gives layers what they take up of the glue, the moisture that they come to, and what a warm cure has relax more of wood
    /// whose entry does not say. Layers that were glued to each other before pressing have lost that glue's water.
    pub(crate) fn condition(&self, layers: &mut [Layer]) {
        let wood = |l: &Layer| matches!(l.material.kind, MaterialKind::WoodAlong | MaterialKind::WoodAcross);
        let warm = libm::pow(WARMER_TIMES, self.cure_above_room_k.max(0.0) / WARMER_K);
        for layer in layers.iter_mut() {
            layer.moisture_in_use = self.moisture_in_use;
            // A value without an error is one that the shop gave for its own material.
            if wood(layer) && !layer.relaxed_stated && layer.relaxed.sd > 0.0 {
                let Share { value, sd } = layer.relaxed;
                layer.relaxed = Share { value: (warm * value).min(MOST_RELAXED.max(value)), sd: warm * sd };
            }
        }
        let Some(Glue::WaterBased { spread_g_m2 }) = self.glue else { return };
        for i in 1..layers.len() {
            let (lower, upper) = (wood(&layers[i - 1]), wood(&layers[i]));
            let cured = layers[i].cured_group.is_some() && layers[i].cured_group == layers[i - 1].cured_group;
            if cured || !(lower || upper) {
                continue;
            }
            let each = spread_g_m2 / (f64::from(u8::from(lower)) + f64::from(u8::from(upper)));
            for (j, takes) in [(i - 1, lower), (i, upper)] {
                if takes {
                    layers[j].glue_g_m2 += each;
                }
            }
        }
    }
}
