//! The jig as it is built.

use super::bearers::Bearer;
use super::concave::Across;
use super::cross::CrossMember;
use super::demand::Demand;
use super::layout::Spacers;
use super::panels::Panel;
use super::planing::PlaningRails;
use super::rib::Rib;
use super::rods::Rod;
use super::split::Plate;
use super::stations::Station;
use super::template::Template;
use crate::curve::Curve;
use crate::finding::Finding;

/// Everything that is cut and threaded to make the table.
#[derive(Debug, Clone, PartialEq)]
pub struct Jig {
    /// Surface that the board lies on along the middle of the lowest rib or of the bearers, in table coordinates.
    pub surface: Curve,
    /// How far the surface was raised so that ribs or bearers have their lowest height above the base, mm.
    pub raised_mm: f64,
    /// Skin and film between the surface and the tops below it, mm.
    pub depth_mm: f64,
    /// Width over the outer ribs or of the bearers, mm.
    pub width_mm: f64,
    /// Curve across the table.
    pub across: Across,
    /// Thickness of the ribs, mm; 0 without ribs.
    pub rib_thickness_mm: f64,
    /// Ribs from the left (y < 0) to the right, seen from the tail.
    pub ribs: Vec<Rib>,
    /// Rods through all ribs.
    pub rods: Vec<Rod>,
    /// Spacers between the ribs, none without rods.
    pub spacers: Spacers,
    /// Members across, half-lapped with the ribs.
    pub cross_members: Vec<CrossMember>,
    /// Plates over the joints of split ribs.
    pub plates: Vec<Plate>,
    /// Box panels.
    pub panels: Vec<Panel>,
    /// Bearers of a jig built by hand.
    pub bearers: Vec<Bearer>,
    /// Rails for planing tapered layers; cut from the stock of ribs or bearers.
    pub planing_rails: Vec<PlaningRails>,
    /// Template that the board is trimmed along, where its outline is given.
    pub template: Option<Template>,
    /// Listed and marked stations from tail to tip, on the middle line.
    pub stations: Vec<Station>,
    /// Checks of the jig itself.
    pub findings: Vec<Finding>,
}

impl Jig {
    /// A table of which only the surface is known.
    pub(super) fn bare(
        surface: Curve,
        raised_mm: f64,
        depth_mm: f64,
        width_mm: f64,
        demand: &Demand,
        stations: Vec<Station>,
    ) -> Self {
        Self {
            surface,
            raised_mm,
            depth_mm,
            width_mm,
            across: demand.across.clone(),
            rib_thickness_mm: 0.0,
            ribs: Vec::new(),
            rods: Vec::new(),
            spacers: Spacers::default(),
            cross_members: Vec::new(),
            plates: Vec::new(),
            panels: Vec::new(),
            bearers: Vec::new(),
            planing_rails: Vec::new(),
            template: None,
            stations,
            findings: Vec::new(),
        }
    }
}
