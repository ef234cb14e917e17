//! The jig: from the table's surface to ribs or bearers, rods, spacers, cross members, panels and stations.
//!
//! Table coordinates: x along the table's base with 0 under the middle of the board and + toward the tip, y across
//! with 0 in the middle of the width, z up from the flat base of the ribs.

mod bearer_table;
mod bearers;
mod concave;
mod consumables;
mod cross;
mod demand;
mod layout;
mod net_section;
mod panels;
mod parts;
mod planing;
mod record;
mod rib;
mod rib_table;
mod rods;
mod screws;
mod slots;
mod solid;
mod split;
mod stations;
mod template;
mod tops;
mod windows;

pub use bearers::Bearer;
pub use concave::Across;
pub(crate) use consumables::{BAG_SLACK, FILM_BEYOND_MM, LAND_MM, PLEATS, TAPE_WIDTH_MM};
pub use consumables::{Bagging, Consumables, SheetSize};
pub use cross::CrossMember;
pub use demand::{Demand, Marks};
pub use layout::{Bay, Spacers};
pub use panels::Panel;
pub use parts::{Finish, FlatPart, PartKind};
pub use planing::PlaningRails;
pub(crate) use planing::{BED_MM, planing_rails};
pub use record::Jig;
pub use rib::{Rib, RibPiece};
pub(crate) use rods::EDGE_DISTANCE;
pub use rods::{Rod, RodHole};
pub use split::Plate;
pub use stations::{Station, StationKind};
pub use template::Template;

use crate::curve::Curve;
use crate::finding::Faults;
use crate::job::{Frame, Table};

/// Makes the jig under `surface`, a curve posed as the board is to lie.
///
/// # Errors
/// Faults with the document's paths: a top edge that folds, holes without room, parts that do not fit.
pub fn build(surface: &Curve, marks: &Marks, demand: &Demand, table: &Table) -> Result<Jig, Faults> {
    let both_ways = |limit| demand.across.both_ways_finding(demand.boards_width_mm, surface.curvature(), limit);
    let stretch = demand.strain_limit.and_then(both_ways);
    let mut jig = match &table.frame {
        Frame::Ribs(frame) => rib_table::on_ribs(surface, (marks, demand), table, frame)?,
        Frame::Bearers(bearers) => bearer_table::on_bearers(surface, (marks, demand), table, bearers)?,
    };
    jig.findings.splice(0..0, stretch);
    Ok(jig)
}
