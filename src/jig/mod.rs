//! The jig: from the table's surface to ribs or bearers, rods, spacers, cross members, panels and stations.
//!
//! Table coordinates: x along the table's base with 0 under the middle of the board and + toward the tip, y across
//! with 0 in the middle of the width, z up from the flat base of the ribs.

mod bearers;
mod concave;
mod consumables;
mod cross;
mod layout;
mod net_section;
mod panels;
mod parts;
mod rib;
mod rods;
mod screws;
mod slots;
mod split;
mod stations;
mod windows;

pub use bearers::Bearer;
pub use concave::Across;
pub use consumables::{
    BAG_SLACK, Bagging, Consumables, FILM_BEYOND_MM, LAND_MM, PLEATS, SIDE_TRIM_MM, SheetSize, TAPE_WIDTH_MM,
};
pub use cross::CrossMember;
pub use layout::{Bay, Spacers};
pub use panels::Panel;
pub use parts::{Finish, FlatPart, PartKind};
pub use rib::{Rib, RibPiece};
pub use rods::{EDGE_DISTANCE, Rod, RodHole};
pub use split::Plate;
pub use stations::{Station, StationKind};

use kurbo::Vec2;

use crate::curve::{Curve, Parallel, PlaneCurve, Pose};
use crate::drawing::Contour;
use crate::finding::{Fault, Finding};
use crate::job::{Bearers, Frame, Relief, RibFrame, Table};
use rib::{BaseEdge, Shape};
use rods::Edges;
use split::Cut;

/// Places that are listed and marked.
#[derive(Debug, Clone, PartialEq)]
pub struct Marks {
    /// Ends of the finished board (tail, tip) along its base, mm from its middle.
    pub finished_base_mm: (f64, f64),
    /// Stations: place along the finished board's base (0 in its middle) and along the table's surface, mm.
    pub stations: Vec<(f64, f64)>,
}

/// What the table has to carry and how it is curved across.
#[derive(Debug, Clone, PartialEq)]
pub struct Demand {
    /// Width of the finished board, mm.
    pub board_width_mm: f64,
    /// The table's curve across.
    pub across: Across,
    /// Places along the table's surface (mm, in order) and the moment there with which the pressed stack bends the whole
    /// table, N mm.
    pub moments_n_mm: Vec<(f64, f64)>,
    /// Widest clear distance between the skin's supports (across the board, along it) that the checks of the pressing
    /// allow, mm.
    pub clear_mm: (f64, f64),
    /// Smallest strain limit of the layers, for the check of bending both ways at once.
    pub strain_limit: Option<f64>,
    /// Whether a box under the skin is pumped with the bag.
    pub pumped: bool,
}

/// Everything that is cut and threaded to make the table.
#[derive(Debug, Clone, PartialEq)]
pub struct Jig {
    /// Surface that the board lies on along the middle of the lowest rib or of the bearers, in table coordinates.
    pub surface: Curve,
    /// How far the surface was raised so that ribs or bearers have their lowest height over the base, mm.
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
    /// Listed and marked stations from tail to tip, on the middle line.
    pub stations: Vec<Station>,
    /// Checks of the jig itself.
    pub findings: Vec<Finding>,
}

/// Reach of a joint along the rib to both sides, for the moment that it has to bear, mm.
const JOINT_REACH_MM: f64 = 50.0;

/// Makes the jig under `surface`, a curve posed as the board is to lie.
///
/// # Errors
/// Faults with the document's paths: a top edge that folds, holes without room, parts that do not fit.
pub fn build(surface: &Curve, marks: &Marks, demand: &Demand, table: &Table) -> Result<Jig, Vec<Fault>> {
    let width_mm = demand.board_width_mm + 2.0 * table.side_margin_mm;
    let (_, (_, hollow)) = surface.curvature().extremes();
    let ((_, hump), _) = surface.curvature().extremes();
    let tightest = hollow.max(-hump);
    let mut findings: Vec<Finding> = demand
        .strain_limit
        .and_then(|limit| demand.across.stretch_finding(demand.board_width_mm, tightest, limit))
        .into_iter()
        .collect();
    let depth_mm = table.skin_mm + table.film_mm;
    let mut jig = match &table.frame {
        Frame::Ribs(frame) => of_ribs(surface, marks, demand, table, frame, width_mm, &mut findings)?,
        Frame::Bearers(bearers) => of_bearers(surface, marks, demand, depth_mm, bearers, width_mm)?,
    };
    jig.findings.splice(0..0, findings);
    Ok(jig)
}

/// A table of ribs along the board.
fn of_ribs(
    surface: &Curve,
    marks: &Marks,
    demand: &Demand,
    table: &Table,
    frame: &RibFrame,
    width_mm: f64,
    findings: &mut Vec<Finding>,
) -> Result<Jig, Vec<Fault>> {
    let depth_mm = table.skin_mm + table.film_mm;
    let positions = layout::positions(&frame.ribs, width_mm, demand.clear_mm.0).map_err(|f| vec![f])?;
    let rise = |y: f64| demand.across.rise_mm(y, depth_mm);
    let lowest_rise = positions.iter().map(|y| rise(*y)).fold(f64::INFINITY, f64::min);
    let raised_mm = frame.ribs.lowest_height_mm - lowest_top(surface, lowest_rise - depth_mm).map_err(|f| vec![f])?;
    let lifted = surface.posed(Pose { turn_rad: 0.0, shift: Vec2::new(0.0, raised_mm) });
    let top = parallel(&lifted, lowest_rise - depth_mm).map_err(|f| vec![f])?;
    // With concave the outer ribs are higher than the middle ones, or the other way round; all end in the same planes.
    let highest_rise = positions.iter().map(|y| rise(*y)).fold(f64::NEG_INFINITY, f64::max);
    let highest = parallel(&lifted, highest_rise - depth_mm).map_err(|f| vec![f])?;
    let ends = common_ends(&top, &highest);
    let (tail, tip) = ends;
    let cutting = table.cutting;

    let slots = match &frame.cross_members {
        Some(wanted) => cross::rib_slots(wanted, cutting, &top)?,
        None => Vec::new(),
    };
    let base = BaseEdge::new(tail, tip, &slots, frame.feet);
    let edges = Edges { tail, tip, floor: base.floor_mm, top: &top, slots: &slots };
    let mut faults = Vec::new();
    let rods = match &frame.rods {
        Some(wanted) => rods::place(wanted, &frame.ribs, &edges).unwrap_or_else(|mut found| {
            faults.append(&mut found);
            Vec::new()
        }),
        None => Vec::new(),
    };
    let shape = Shape {
        base: &base,
        relief: frame.cross_members.as_ref().map_or(Relief::None, |c| c.relief),
        cutter_mm: cutting.cutter_mm,
        ends,
    };
    let highest = rib::profile(&highest, shape).map_err(|f| vec![f])?;
    faults.extend(rib::stock_faults(&highest, frame));
    if !faults.is_empty() {
        return Err(faults);
    }

    let mut taken: Vec<(f64, f64)> = Vec::new();
    taken.extend(rods.iter().map(|r| around(r.hole.center.x, r.hole.diameter_mm)));
    taken.extend(slots.iter().map(|s| (s.x_mm - s.reach_mm, s.x_mm + s.reach_mm)));
    let hand_holes = match &frame.hand_holes {
        Some(wanted) => windows::hand_holes(wanted, &edges, &mut taken).map_err(|f| vec![f])?,
        None => Vec::new(),
    };
    let marked: Vec<f64> = marks.stations.iter().map(|s| top.at(s.1).point.x).collect();
    let (cuts_even, cuts_odd) = joints(frame, table, &edges, &base, &taken, &marked)?;
    if let Some(split) = &frame.split {
        split::plate_room(split, frame.ribs.thickness_mm, &positions, [&cuts_even, &cuts_odd]).map_err(|f| vec![f])?;
        // The largest moment within a hand's breadth, as the joint is not a point.
        let moment = |x: f64| {
            let (a, b) = (cross::place_at(&top, x - JOINT_REACH_MM), cross::place_at(&top, x + JOINT_REACH_MM));
            let near = demand.moments_n_mm.iter().filter(|m| m.0 >= a && m.0 <= b).map(|m| m.1.abs());
            near.fold(0.0, f64::max) / positions.len() as f64
        };
        let all: Vec<Cut> = cuts_even.iter().chain(&cuts_odd).cloned().collect();
        findings.extend(split::joint_finding(&all, split, frame.ribs.thickness_mm, moment));
    }
    // Windows are the same in all ribs, so they keep clear of the joints of both kinds.
    for cut in cuts_even.iter().chain(&cuts_odd) {
        let reach =
            0.5 * cross::height_over(&top, cut.x_mm).max(cut.plate.as_ref().map_or(0.0, |p| p.0.bounds().width()));
        taken.push((cut.x_mm - reach, cut.x_mm + reach));
    }
    let windows: Vec<RodHole> = frame
        .lightening
        .as_ref()
        .map(|wanted| windows::lightening(wanted, &edges, &taken))
        .unwrap_or_default()
        .into_iter()
        .map(|(center, radius)| RodHole { center, diameter_mm: 2.0 * radius })
        .collect();

    too_much_to_draw(positions.len(), marks.stations.len() + rods.len() + slots.len() + windows.len())?;
    let mut ribs: Vec<Rib> = Vec::with_capacity(positions.len());
    for (i, y) in positions.iter().enumerate() {
        let cuts = if i % 2 == 0 { &cuts_even } else { &cuts_odd };
        // Ribs of one shape are drawn once.
        let twin = ribs
            .iter()
            .rev()
            .find(|r| (rise(r.y_mm) - rise(*y)).abs() < 1e-9 && (cuts.is_empty() || r.number % 2 == (i + 1) % 2));
        let rib = match twin {
            Some(twin) => Rib { number: i + 1, y_mm: *y, ..twin.clone() },
            None => {
                let own = parallel(&lifted, rise(*y) - depth_mm).map_err(|f| vec![f])?;
                let outline = if rise(*y) == highest_rise {
                    highest.clone()
                } else {
                    rib::profile(&own, shape).map_err(|f| vec![f])?
                };
                let bounds = outline.bounds();
                Rib {
                    number: i + 1,
                    y_mm: *y,
                    pieces: pieces(&own, shape, cuts, &outline).map_err(|f| vec![f])?,
                    outline,
                    holes: rods.iter().map(|r| r.hole).collect(),
                    bolts: cuts
                        .iter()
                        .flat_map(|c| &c.bolts)
                        .map(|(center, d)| RodHole { center: *center, diameter_mm: *d })
                        .collect(),
                    windows: windows.clone(),
                    hand_holes: hand_holes.clone(),
                    stations: stations::list(&lifted, &own, marks),
                    floor_mm: base.floor_mm,
                    length_mm: bounds.width(),
                    height_mm: bounds.height(),
                }
            }
        };
        ribs.push(rib);
    }
    let cross_members = match &frame.cross_members {
        Some(wanted) => cross::members(wanted, cutting, &slots, &positions, frame.ribs.thickness_mm, width_mm)
            .map_err(|f| vec![f])?,
        None => Vec::new(),
    };
    let plates =
        ribs.iter().flat_map(|r| plates(r.number, if r.number % 2 == 1 { &cuts_even } else { &cuts_odd })).collect();
    findings.extend(frame.cross_members.as_ref().and_then(|wanted| cross::relief_finding(wanted, cutting)));
    let panels = match &frame.panels {
        Some(wanted) => {
            let top_mm = |x: f64, y: f64| {
                // A top that folds has no height; the panel is then refused.
                parallel(&lifted, rise(y) - depth_mm).map_or(f64::NAN, |own| cross::height_over(&own, x))
            };
            if demand.pumped {
                findings.push(panels::leak_finding(frame, &ribs));
            }
            let table = panels::Box { ribs: &ribs, ends, width_mm, top_mm: &top_mm };
            panels::panels(wanted, &table).map_err(|f| vec![f])?
        }
        None => Vec::new(),
    };
    let spacers = layout::spacers(&positions, frame.ribs.thickness_mm, width_mm, frame.rods.as_ref(), rods.len());
    let stations = stations::list(&lifted, &top, marks);
    Ok(Jig {
        rib_thickness_mm: frame.ribs.thickness_mm,
        ribs,
        rods,
        spacers,
        cross_members,
        plates,
        panels,
        ..Jig::bare(lifted, raised_mm, depth_mm, width_mm, demand, stations)
    })
}

impl Jig {
    /// A table of which only the surface is known.
    fn bare(
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
            stations,
            findings: Vec::new(),
        }
    }
}

/// Most ticks, holes, slots and windows on all ribs together: some hundred times what a large table has, and still
/// drawings of a few megabytes.
const MOST_DRAWN: usize = 50_000;

/// Refuses a table whose drawings nobody could open.
fn too_much_to_draw(ribs: usize, on_each: usize) -> Result<(), Vec<Fault>> {
    if ribs * on_each <= MOST_DRAWN {
        return Ok(());
    }
    Err(vec![Fault::new(
        "too-many",
        "table.station_pitch",
        format!("{ribs} ribs with {on_each} stations, holes, slots and windows on each are more than anyone cuts."),
        format!("At most {MOST_DRAWN} together: use fewer ribs, stations further apart, or larger windows."),
    )])
}

/// Where even and odd ribs are split.
fn joints(
    frame: &RibFrame,
    table: &Table,
    edges: &Edges<'_>,
    base: &BaseEdge,
    taken: &[(f64, f64)],
    marked: &[f64],
) -> Result<(Vec<Cut>, Vec<Cut>), Vec<Fault>> {
    let Some(split) = &frame.split else { return Ok((Vec::new(), Vec::new())) };
    let mut busy = taken.to_vec();
    busy.extend(base.standing(edges.tail, edges.tip));
    busy.extend(edges.slots.iter().map(|s| (s.x_mm - s.reach_mm, s.x_mm + s.reach_mm)));
    let room = split::Room { taken: &busy, marked };
    let cuts = |odd| split::cuts(split, table.cutting, edges, room, odd).map_err(|f| vec![f]);
    Ok((cuts(false)?, cuts(true)?))
}

fn pieces(top: &Parallel<'_>, shape: Shape<'_>, cuts: &[Cut], whole: &Contour) -> Result<Vec<RibPiece>, Fault> {
    if cuts.is_empty() {
        return Ok(vec![RibPiece { outline: whole.clone(), top_mm: shape.ends }]);
    }
    (0..=cuts.len()).map(|i| rib::piece(top, shape, i.checked_sub(1).map(|j| &cuts[j]), cuts.get(i))).collect()
}

/// The planes in which the lowest and the highest of the ribs both still have a top, mm along the table.
fn common_ends(lowest: &Parallel<'_>, highest: &Parallel<'_>) -> (f64, f64) {
    let (from, to) = lowest.range_mm();
    let x = |s: f64| (lowest.at(s).point.x, highest.at(s).point.x);
    let (tail, tip) = (x(from), x(to));
    (tail.0.max(tail.1), tip.0.min(tip.1))
}

fn plates(rib: usize, cuts: &[Cut]) -> Vec<Plate> {
    let plate = |(i, cut): (usize, &Cut)| {
        let (outline, holes) = cut.plate.clone()?;
        Some(Plate { rib, joint: i + 1, outline, holes, count: 2 })
    };
    cuts.iter().enumerate().filter_map(plate).collect()
}

fn around(x: f64, diameter: f64) -> (f64, f64) {
    (x - 0.5 * diameter, x + 0.5 * diameter)
}

/// A jig of bearers on a base board.
fn of_bearers(
    surface: &Curve,
    marks: &Marks,
    demand: &Demand,
    depth_mm: f64,
    wanted: &Bearers,
    width_mm: f64,
) -> Result<Jig, Vec<Fault>> {
    // A crown is lowest at its edges.
    let edge_mm = demand.across.rise_mm(0.5 * width_mm, depth_mm).min(0.0);
    let lowest_mm = lowest_top(surface, -depth_mm).map_err(|f| vec![f])? + edge_mm;
    let raised_mm = wanted.lowest_height_mm - lowest_mm;
    let lifted = surface.posed(Pose { turn_rad: 0.0, shift: Vec2::new(0.0, raised_mm) });
    let top = parallel(&lifted, -depth_mm).map_err(|f| vec![f])?;
    rib::steepness(&top).map_err(|f| vec![f])?;
    let bearers = bearers::bearers(wanted, &top, demand, depth_mm, width_mm).map_err(|f| vec![f])?;
    let (from, to) = top.range_mm();
    let base = panels::base(top.at(from).point.x, top.at(to).point.x, width_mm, wanted.base_thickness_mm, &bearers)
        .map_err(|f| vec![f])?;
    let stations = stations::list(&lifted, &top, marks);
    let findings = bearers::proud_finding(&bearers, &top).into_iter().collect();
    Ok(Jig {
        panels: vec![base],
        bearers,
        findings,
        ..Jig::bare(lifted, raised_mm, depth_mm, width_mm, demand, stations)
    })
}

fn parallel(surface: &Curve, distance_mm: f64) -> Result<Parallel<'_>, Fault> {
    Parallel::new(surface, distance_mm).map_err(|folds| rib::fold_fault(&folds, "table.skin"))
}

/// Height of the lowest place of the curve at `distance_mm` from `surface`, mm.
fn lowest_top(surface: &Curve, distance_mm: f64) -> Result<f64, Fault> {
    let top = parallel(surface, distance_mm)?;
    // The lowest place of a parallel lies where the curve itself is lowest, or at an end.
    let (from, to) = top.range_mm();
    let places = [crate::curve::lowest_point(surface), from, to];
    Ok(places.iter().map(|s| top.at(*s).point.y).fold(f64::INFINITY, f64::min))
}
