//! A table of ribs along the board: step by step from the surface to the parts.

use super::concave::Across;
use super::cross;
use super::demand::{Demand, Marks};
use super::layout;
use super::panels;
use super::record::Jig;
use super::rib::{self, BaseEdge, Rib, RibPiece, Shape};
use super::rods::{self, Edges, Rod, RodHole};
use super::split::{self, Cut, Plate};
use super::stations;
use super::tops::{lowest_of, raised, top_edge};
use super::windows;
use crate::codes;
use crate::curve::{Curve, Parallel, PlaneCurve};
use crate::drawing::Contour;
use crate::finding::{Fault, Faults, Finding};
use crate::job::{Relief, RibFrame, Table};

/// Reach of a joint along the rib to both sides, for the moment that it has to bear, mm.
const JOINT_REACH_MM: f64 = 50.0;

/// What the table is made to.
#[derive(Clone, Copy)]
struct Wanted<'a> {
    marks: &'a Marks,
    demand: &'a Demand,
    table: &'a Table,
    frame: &'a RibFrame,
}

/// Where the ribs stand and how high the surface over them lies.
struct Stand<'a> {
    /// The surface, raised so that the ribs have their lowest height.
    surface: &'a Curve,
    /// Places of the ribs across, mm.
    positions: Vec<f64>,
    /// Skin and film between the surface and the ribs, mm.
    depth_mm: f64,
    thickness_mm: f64,
    across: &'a Across,
}

impl Stand<'_> {
    /// Where across the flat top of the rib at `y_mm` meets the surface: at its lower face, so that the other does not stand
    /// proud.
    fn meets_mm(&self, y_mm: f64) -> f64 {
        let half = 0.5 * self.thickness_mm;
        let rise = |y: f64| self.across.rise_mm(self.across.deepest_mm(), y, self.depth_mm);
        let (inner, outer) = ((y_mm.abs() - half).max(0.0), y_mm.abs() + half);
        if rise(outer) < rise(inner) { outer } else { inner }
    }

    /// How much higher the rib at `y_mm` is than one in the middle, where the table is curved across the most, mm.
    fn rise_mm(&self, y_mm: f64) -> f64 {
        self.across.rise_mm(self.across.deepest_mm(), self.meets_mm(y_mm), self.depth_mm)
    }

    /// Places of the lowest and the highest rib, the first of equal ones, mm.
    fn lowest_and_highest_mm(&self) -> (f64, f64) {
        let first = self.positions.first().copied().unwrap_or_default();
        let rise = |y| self.rise_mm(y);
        self.positions.iter().fold((first, first), |(low, high), &y| {
            (if rise(y) < rise(low) { y } else { low }, if rise(y) > rise(high) { y } else { high })
        })
    }

    /// Top edge of the rib at `y_mm`.
    fn top(&self, y_mm: f64) -> Result<Parallel<'_>, Faults> {
        Ok(top_edge(self.surface, self.across, self.meets_mm(y_mm), self.depth_mm)?)
    }
}

/// The highest rib, which is drawn first to see whether it fits the stock.
struct Highest {
    rise_mm: f64,
    outline: Contour,
}

/// What is cut into all ribs alike.
struct Openings {
    rods: Vec<Rod>,
    hand_holes: Vec<Contour>,
    windows: Vec<RodHole>,
    /// Joints of the ribs of even and of odd index.
    cuts: [Vec<Cut>; 2],
}

/// The table under `surface`.
///
/// # Errors
/// As [`super::build`].
pub(super) fn on_ribs(
    surface: &Curve,
    (marks, demand): (&Marks, &Demand),
    table: &Table,
    frame: &RibFrame,
) -> Result<Jig, Faults> {
    let wanted = Wanted { marks, demand, table, frame };
    let (width_mm, depth_mm) = (demand.width_mm(table), table.skin_mm + table.film_mm);
    let positions = layout::positions(&frame.ribs, width_mm, demand.clear_mm.0)?;
    let across = &demand.across;
    let unraised = Stand { surface, positions, depth_mm, thickness_mm: frame.ribs.thickness_mm, across };
    let (low_mm, high_mm) = unraised.lowest_and_highest_mm();
    let raised_mm = frame.ribs.lowest_height_mm - lowest_of(surface, &unraised.top(low_mm)?);
    let lifted = raised(surface, raised_mm);
    let stand = Stand { surface: &lifted, ..unraised };

    // With concave the outer ribs are higher than the middle ones, or the other way round; all end in the same planes.
    let (top, highest) = (stand.top(low_mm)?, stand.top(high_mm)?);
    let ends = common_ends(&top, &highest);
    let slots = match &frame.cross_members {
        Some(wanted) => cross::rib_slots(wanted, table.cutting, &top)?,
        None => Vec::new(),
    };
    let base = BaseEdge::new(ends.0, ends.1, &slots, frame.feet);
    let relief = frame.cross_members.as_ref().map_or(Relief::None, |c| c.relief);
    let shape = Shape { base: &base, relief, cutter_mm: table.cutting.cutter_mm, ends };
    let edges = Edges { tail: ends.0, tip: ends.1, floor: base.floor_mm, top: &top, slots: &slots };
    let highest = Highest { rise_mm: stand.rise_mm(high_mm), outline: rib::profile(&highest, shape)? };
    let rods = rods(frame, &edges, &highest.outline)?;
    let openings = openings(wanted, rods, &edges, &base)?;
    let mut findings: Vec<Finding> = joints_checked(wanted, &stand, &top, &openings.cuts)?.into_iter().collect();

    let drawn = marks.stations.len() + openings.rods.len() + slots.len() + openings.windows.len();
    too_much_to_draw(stand.positions.len(), drawn)?;
    let ribs = ribs(wanted, &stand, (shape, &highest), &openings)?;
    findings.extend(frame.cross_members.as_ref().and_then(|wanted| cross::relief_finding(wanted, table.cutting)));
    let (panels, leak) = box_panels(wanted, &stand, ends, &ribs)?;
    findings.extend(leak);
    let thickness_mm = frame.ribs.thickness_mm;
    let rod_count = openings.rods.len();
    Ok(Jig {
        rib_thickness_mm: thickness_mm,
        spacers: layout::spacers(&stand.positions, thickness_mm, width_mm, frame.rods.as_ref(), rod_count),
        cross_members: match &frame.cross_members {
            Some(of) => cross::members(of, table.cutting, &slots, &stand.positions, thickness_mm, width_mm)?,
            None => Vec::new(),
        },
        plates: ribs.iter().flat_map(|r| plates(r.number, &openings.cuts[(r.number + 1) % 2])).collect(),
        ribs,
        rods: openings.rods,
        panels,
        findings,
        ..Jig::bare(lifted.clone(), raised_mm, depth_mm, width_mm, demand, stations::list(&lifted, &top, marks))
    })
}

/// Places of the rods; refuses ribs that do not fit their stock at the same time.
fn rods(frame: &RibFrame, edges: &Edges<'_>, highest: &Contour) -> Result<Vec<Rod>, Faults> {
    let mut faults = Faults::default();
    let rods = match &frame.rods {
        Some(wanted) => rods::place(wanted, &frame.ribs, edges).unwrap_or_else(|mut found| {
            faults.append(&mut found);
            Vec::new()
        }),
        None => Vec::new(),
    };
    faults.extend(rib::stock_faults(highest, frame));
    faults.or(rods)
}

/// Hand holes, joints and windows, each clear of what was placed before it.
fn openings(
    Wanted { marks, table, frame, .. }: Wanted<'_>,
    rods: Vec<Rod>,
    edges: &Edges<'_>,
    base: &BaseEdge,
) -> Result<Openings, Faults> {
    let mut taken: Vec<(f64, f64)> = Vec::new();
    taken.extend(rods.iter().map(|r| around(r.hole.center.x, r.hole.diameter_mm)));
    taken.extend(edges.slots.iter().map(|s| (s.x_mm - s.reach_mm, s.x_mm + s.reach_mm)));
    let hand_holes = match &frame.hand_holes {
        Some(wanted) => windows::hand_holes(wanted, edges, &mut taken)?,
        None => Vec::new(),
    };
    let marked: Vec<f64> = marks.stations.iter().map(|s| edges.top.at(s.1).point.x).collect();
    let cuts = joints(frame, table, edges, base, (&taken, &marked))?;
    // Windows are the same in all ribs, so they keep clear of the joints of both kinds.
    for cut in cuts.iter().flatten() {
        let plate_mm = cut.plate.as_ref().map_or(0.0, |p| p.0.bounds().width());
        let reach = 0.5 * cross::height_over(edges.top, cut.x_mm).max(plate_mm);
        taken.push((cut.x_mm - reach, cut.x_mm + reach));
    }
    let windows = frame.lightening.as_ref().map(|wanted| windows::lightening(wanted, edges, &taken));
    let hole = |(center, radius): (_, f64)| RodHole { center, diameter_mm: 2.0 * radius };
    let windows = windows.unwrap_or_default().into_iter().map(hole).collect();
    Ok(Openings { rods, hand_holes, windows, cuts })
}

/// Where even and odd ribs are split.
fn joints(
    frame: &RibFrame,
    table: &Table,
    edges: &Edges<'_>,
    base: &BaseEdge,
    (taken, marked): (&[(f64, f64)], &[f64]),
) -> Result<[Vec<Cut>; 2], Faults> {
    let Some(split) = &frame.split else { return Ok([Vec::new(), Vec::new()]) };
    let mut busy = taken.to_vec();
    busy.extend(base.standing(edges.tail, edges.tip));
    busy.extend(edges.slots.iter().map(|s| (s.x_mm - s.reach_mm, s.x_mm + s.reach_mm)));
    let room = split::Room { taken: &busy, marked };
    let cuts = |odd| split::cuts(split, table.cutting, edges, room, odd);
    Ok([cuts(false)?, cuts(true)?])
}

/// Whether plates have room between the ribs, and whether the joints bear what bends them.
fn joints_checked(
    Wanted { demand, frame, .. }: Wanted<'_>,
    stand: &Stand<'_>,
    top: &Parallel<'_>,
    cuts: &[Vec<Cut>; 2],
) -> Result<Option<Finding>, Faults> {
    let Some(split) = &frame.split else { return Ok(None) };
    let thickness_mm = frame.ribs.thickness_mm;
    split::plate_room(split, thickness_mm, &stand.positions, [&cuts[0], &cuts[1]])?;
    // The largest moment within a hand's breadth, as the joint is not a point.
    let moment = |x: f64| {
        let (a, b) = (cross::place_at(top, x - JOINT_REACH_MM), cross::place_at(top, x + JOINT_REACH_MM));
        let near = demand.moments_n_mm.iter().filter(|m| m.0 >= a && m.0 <= b).map(|m| m.1.abs());
        near.fold(0.0, f64::max) / stand.positions.len() as f64
    };
    Ok(split::joint_finding(&cuts.concat(), split, thickness_mm, moment))
}

/// The ribs; those of one shape are worked out once.
fn ribs(
    wanted: Wanted<'_>,
    stand: &Stand<'_>,
    shape: (Shape<'_>, &Highest),
    openings: &Openings,
) -> Result<Vec<Rib>, Faults> {
    let mut ribs: Vec<Rib> = Vec::with_capacity(stand.positions.len());
    for (i, y) in stand.positions.iter().enumerate() {
        let number = i + 1;
        let cuts = &openings.cuts[i % 2];
        let alike = |r: &&Rib| {
            let same_rise = (stand.rise_mm(r.y_mm) - stand.rise_mm(*y)).abs() < 1e-9;
            same_rise && (cuts.is_empty() || r.number % 2 == number % 2)
        };
        let rib = match ribs.iter().rev().find(alike) {
            Some(twin) => Rib { number, y_mm: *y, ..twin.clone() },
            None => rib(wanted, stand, shape, openings, number)?,
        };
        ribs.push(rib);
    }
    Ok(ribs)
}

fn rib(
    wanted: Wanted<'_>,
    stand: &Stand<'_>,
    (shape, highest): (Shape<'_>, &Highest),
    openings: &Openings,
    number: usize,
) -> Result<Rib, Faults> {
    let y_mm = stand.positions[number - 1];
    let cuts = &openings.cuts[(number + 1) % 2];
    let top = stand.top(y_mm)?;
    let outline =
        if stand.rise_mm(y_mm) == highest.rise_mm { highest.outline.clone() } else { rib::profile(&top, shape)? };
    let bounds = outline.bounds();
    let bolts = cuts.iter().flat_map(|c| &c.bolts);
    Ok(Rib {
        number,
        y_mm,
        pieces: pieces(&top, shape, cuts, &outline)?,
        outline,
        holes: openings.rods.iter().map(|r| r.hole).collect(),
        bolts: bolts.map(|(center, d)| RodHole { center: *center, diameter_mm: *d }).collect(),
        windows: openings.windows.clone(),
        hand_holes: openings.hand_holes.clone(),
        stations: stations::list(stand.surface, &top, wanted.marks),
        floor_mm: shape.base.floor_mm,
        length_mm: bounds.width(),
        height_mm: bounds.height(),
    })
}

/// Panels of a box, and whether one that is pumped would leak.
fn box_panels(
    Wanted { demand, table, frame, .. }: Wanted<'_>,
    stand: &Stand<'_>,
    ends: (f64, f64),
    ribs: &[Rib],
) -> Result<(Vec<panels::Panel>, Option<Finding>), Faults> {
    let Some(wanted) = &frame.panels else { return Ok((Vec::new(), None)) };
    let top_mm = |x: f64, y: f64| {
        // A top that folds has no height; the panel is then refused.
        stand.top(y).map_or(f64::NAN, |own| cross::height_over(&own, x))
    };
    let leak = demand.pumped.then(|| panels::leak_finding(frame, ribs));
    let of = panels::Box { ribs, ends, width_mm: demand.width_mm(table), top_mm: &top_mm };
    Ok((panels::panels(wanted, &of)?, leak))
}

/// Maximum number of ticks, holes, slots and windows on all ribs together: some hundred times what a large table has, and still
/// drawings of a few megabytes.
const MOST_DRAWN: usize = 50_000;

/// Refuses a table whose drawings nobody could open.
fn too_much_to_draw(ribs: usize, on_each: usize) -> Result<(), Faults> {
    if ribs * on_each <= MOST_DRAWN {
        return Ok(());
    }
    Err(Fault::new(
        codes::TOO_MANY,
        "table.station_pitch",
        format!("{ribs} ribs with {on_each} stations, holes, slots and windows on each are more than anyone cuts."),
        format!("At most {MOST_DRAWN} together: use fewer ribs, stations further apart, or larger windows."),
    )
    .into())
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
