//! How the table is built.

use super::{Material, Stations};

/// Maximum number of ribs of one table.
pub(crate) const MOST_RIBS: usize = 500;

/// How many ribs and where.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum RibLayout {
    /// This many, spread evenly.
    Count(usize),
    /// As few as keep their centres no further apart than this, mm.
    Pitch(f64),
    /// As few as keep the skin between them from sagging so that it shows.
    FromChecks,
}

/// Ribs along the board.
#[derive(Debug, Clone, PartialEq)]
pub struct Ribs {
    /// How many.
    pub layout: RibLayout,
    /// Thickness of the stock as measured, mm.
    pub thickness_mm: f64,
    /// Height of the lowest place of a rib's top above the table's base, mm.
    pub lowest_height_mm: f64,
    /// Length of the stock a rib must fit, mm, if given.
    pub stock_length_mm: Option<f64>,
    /// Width of the stock a rib must fit, mm, if given.
    pub stock_width_mm: Option<f64>,
}

/// Threaded rods through all ribs.
#[derive(Debug, Clone, PartialEq)]
pub struct Rods {
    /// Nominal diameter, mm.
    pub diameter_mm: f64,
    /// Hole through the ribs, mm.
    pub hole_mm: f64,
    /// Places along the table from its middle, mm; empty where the tool is to choose `count` of them.
    pub stations_mm: Vec<f64>,
    /// How many rods when the tool chooses.
    pub count: usize,
    /// Height of the holes above the table's base, mm; `None` for the middle of the lowest place.
    pub height_mm: Option<f64>,
    /// Rod beyond the outer ribs at each end for washer and nut, mm.
    pub nut_allowance_mm: f64,
}

/// How the corners of slots are eased so that a round cutter can make them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Relief {
    /// Sharp corners, as a laser cuts them.
    None,
    /// A round through the corner, on its diagonal.
    Bone,
    /// A round into the wall only, so that the slot's floor keeps its width.
    Tee,
}

/// Members across the table, half-lapped with the ribs.
#[derive(Debug, Clone, PartialEq)]
pub struct CrossMembers {
    /// Places along the table from its middle, mm; empty where the tool is to spread `count` of them.
    pub stations_mm: Vec<f64>,
    /// How many when the tool spreads them.
    pub count: usize,
    /// Thickness of their stock as measured, mm.
    pub thickness_mm: f64,
    /// Their height, mm.
    pub height_mm: f64,
    /// Slots are wider than the stock in them by this, mm.
    pub fit_mm: f64,
    /// How slot corners are eased.
    pub relief: Relief,
}

/// The tools that parts are cut with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cutting {
    /// Diameter of the cutter, mm; 0 for a laser or a saw.
    pub cutter_mm: f64,
}

/// How the halves of a split rib are joined.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum Joint {
    /// A key of the one half in a socket of the other.
    Key {
        /// Clear gap all along the joint, mm.
        gap_mm: f64,
    },
    /// A straight butt with a plate on each face, bolted.
    Plates {
        /// Length of the plates along the rib, mm.
        length_mm: f64,
        /// Nominal diameter of the bolts, mm.
        bolt_mm: f64,
        /// Hole for a bolt, mm.
        hole_mm: f64,
    },
}

/// Ribs in shorter pieces.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Split {
    /// Longest piece, mm.
    pub longest_mm: f64,
    /// The key that limits it.
    pub longest_key: &'static str,
    /// How the pieces are joined.
    pub joint: Joint,
    /// Bending stress that the rib stock may bear at the joint, MPa.
    pub stress_mpa: f64,
}

/// Windows in the ribs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lightening {
    /// Least material between a window and any edge, hole or slot, mm.
    pub wall_mm: f64,
    /// Largest diameter, mm.
    pub largest_mm: f64,
}

/// Holes to carry the table by.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HandHoles {
    /// Length of the hole along the rib, mm.
    pub length_mm: f64,
    /// Height of the hole, mm.
    pub height_mm: f64,
    /// Distance of its middle from each end of the rib, mm.
    pub from_end_mm: f64,
}

/// The base edge relieved so that the rib stands on feet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Feet {
    /// Length of each foot, mm.
    pub length_mm: f64,
    /// How far the edge between the feet is raised, mm.
    pub height_mm: f64,
}

/// Ends and base that close the table to a box.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BoxPanels {
    /// Thickness of the end panels, mm; `None` without end panels.
    pub end_thickness_mm: Option<f64>,
    /// Thickness of the base board, mm; `None` without a base board.
    pub base_thickness_mm: Option<f64>,
    /// Largest distance between screws, mm.
    pub screw_pitch_mm: f64,
}

/// Bearers across the table on a base board: a jig built by hand.
#[derive(Debug, Clone, PartialEq)]
pub struct Bearers {
    /// Largest distance between bearers, mm; `None` for what keeps the skin between them from sagging so that it shows.
    pub pitch_mm: Option<f64>,
    /// Thickness of a bearer along the table, mm.
    pub thickness_mm: f64,
    /// Height of the lowest bearer's top above the base board, mm.
    pub lowest_height_mm: f64,
    /// Bearers are cut to multiples of this height; packing makes up the rest, mm.
    pub cut_step_mm: f64,
    /// Thicknesses of packing that the shop has, mm.
    pub packing_mm: Vec<f64>,
    /// Thickness of the base board, mm.
    pub base_thickness_mm: f64,
}

/// Curve across the deck of the wanted board, hollow side up whichever face lies on the table.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum Concave {
    /// An arc of this radius, mm.
    Radius(f64),
    /// An arc that rises by `rise_mm` from the middle to each edge of the board.
    Rise(f64),
    /// Rises above the middle (distance from the middle, rise), mm, joined smoothly; beyond the last, straight on.
    Profile(Stations),
    /// Arcs that rise from the middle to each edge of the board by so much at stations along the board (station from the
    /// middle of its base toward the tip, rise), mm; smooth between stations, and as at the last one beyond it.
    Along(Stations),
}

/// What fastens the skin to ribs or bearers.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fasteners {
    /// Pull that one screw or staple is to bear for good, N.
    pub pull_n: f64,
    /// Distance between them along a rib, or across on a bearer, mm; `None` for what the pull allows.
    pub pitch_mm: Option<f64>,
}

impl Fasteners {
    /// Pull that is allowed where the shop states none, N: a fifth of what tears out a wood screw of 4 mm that sits 20 mm
    /// deep in stock of specific gravity 0.4, 108.25 G² D L = 1386 N (Wood Handbook, chapter 8, from memory), less a tenth.
    pub(crate) const USUAL_PULL_N: f64 = 250.0;
}

/// How a table's skin is made up.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SkinSheets {
    /// How many equal sheets lie on each other; at least 1.
    pub count: usize,
    /// Whether they are glued to each other on the table; otherwise screws alone hold them together.
    pub glued: bool,
}

impl SkinSheets {
    /// One sheet.
    pub const ONE: Self = Self { count: 1, glued: false };
}

/// What carries the table's skin.
#[derive(Debug, Clone, PartialEq)]
pub enum Frame {
    /// Ribs along the board.
    Ribs(Box<RibFrame>),
    /// Bearers across it.
    Bearers(Bearers),
}

/// Ribs along the board with everything that joins them.
#[derive(Debug, Clone, PartialEq)]
pub struct RibFrame {
    /// The ribs.
    pub ribs: Ribs,
    /// Rods through the ribs, where used.
    pub rods: Option<Rods>,
    /// Members across, where used.
    pub cross_members: Option<CrossMembers>,
    /// Pieces of ribs, where they are split.
    pub split: Option<Split>,
    /// Windows, where wanted.
    pub lightening: Option<Lightening>,
    /// Hand holes, where wanted.
    pub hand_holes: Option<HandHoles>,
    /// Feet, where wanted.
    pub feet: Option<Feet>,
    /// Box panels, where wanted.
    pub panels: Option<BoxPanels>,
}

/// Which side of the board lies on the table.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lies {
    /// The base: a hollow table for a rocker.
    BaseDown,
    /// The deck: a humped table for a rocker.
    DeckDown,
}

/// The table.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// Thickness of the skin that the board lies on, all its sheets together, mm.
    pub skin_mm: f64,
    /// What sheets it is made of.
    pub skin_sheets: SkinSheets,
    /// What the skin is, its figures those along the board, where stated.
    pub skin_material: Option<Material>,
    /// What the ribs are, where stated.
    pub rib_material: Option<Material>,
    /// Release film and other sheets on the skin, mm.
    pub film_mm: f64,
    /// Table beyond the board's width at each side, mm.
    pub side_margin_mm: f64,
    /// Table beyond the blank at each end, mm.
    pub end_margin_mm: f64,
    /// Which side of the board lies on it.
    pub lies: Lies,
    /// Curve across, where wanted.
    pub concave: Option<Concave>,
    /// What carries the skin.
    pub frame: Frame,
    /// What fastens the skin to it.
    pub fasteners: Fasteners,
    /// The tools that parts are cut with.
    pub cutting: Cutting,
    /// Distance between the stations that are listed and marked, mm.
    pub station_pitch_mm: f64,
}

impl Ribs {
    /// Ribs of stock this thick, this high where the table is lowest, mm, from stock of any size.
    pub fn new(layout: RibLayout, thickness_mm: f64, lowest_height_mm: f64) -> Self {
        Self { layout, thickness_mm, lowest_height_mm, stock_length_mm: None, stock_width_mm: None }
    }
}

impl From<Ribs> for Frame {
    /// Ribs alone, each in one piece and without openings.
    fn from(ribs: Ribs) -> Self {
        Self::Ribs(Box::new(RibFrame {
            ribs,
            rods: None,
            cross_members: None,
            split: None,
            lightening: None,
            hand_holes: None,
            feet: None,
            panels: None,
        }))
    }
}

impl Table {
    /// Table beyond board and blank where the shop does not say, mm: tape of 12 to 25 mm and room to work (common practice,
    /// no source).
    pub(crate) const USUAL_MARGIN_MM: f64 = 50.0;
    /// Distance between stations where a metric shop does not say, mm.
    pub(crate) const USUAL_STATION_PITCH_MM: f64 = 100.0;

    /// A table with a skin of this thickness, mm, on a frame; the board lies on its base, and the rest is usual.
    pub fn new(skin_mm: f64, frame: impl Into<Frame>) -> Self {
        Self {
            skin_mm,
            skin_sheets: SkinSheets::ONE,
            skin_material: None,
            rib_material: None,
            film_mm: 0.0,
            side_margin_mm: Self::USUAL_MARGIN_MM,
            end_margin_mm: Self::USUAL_MARGIN_MM,
            lies: Lies::BaseDown,
            concave: None,
            frame: frame.into(),
            fasteners: Fasteners { pull_n: Fasteners::USUAL_PULL_N, pitch_mm: None },
            cutting: Cutting { cutter_mm: 0.0 },
            station_pitch_mm: Self::USUAL_STATION_PITCH_MM,
        }
    }
}
