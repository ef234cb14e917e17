//! The table in the round, put together and taken apart, from the same parts that are cut.

use kurbo::Point;

use super::kinds::{Kind, KindOf};
use super::projection::{Place, View, hull};
use super::say::way_up;
use crate::built::Built;
use crate::curve::PlaneCurve;
use crate::draft::plot::text;
use crate::drawing::{Figure, Ink, LabelStyle, Picture, TextAnchor};
use crate::jig::{Jig, Plate};
use crate::table::middles_mm;

/// Corners of a round.
const ROUND: usize = 14;
/// Deviation of drawn arcs, mm.
const FLAT_MM: f64 = 0.6;
/// Places along the surface.
const ALONG: usize = 40;
/// Radius of the ring around a part's mark, page pixels.
const RING: f64 = 10.0;

/// A face: how it is drawn, and its corners.
type Face = (Ink, Vec<Point>, bool);

/// What is painted, the hindmost first, and where marks point.
struct Scene {
    view: View,
    faces: Vec<Face>,
    pointers: Vec<(String, Point)>,
}

pub(super) fn assembled(built: &Built, kinds: &[Kind]) -> Figure {
    let scene = Scene::of(built, kinds, 0.0, 0.0);
    Figure::of(
        "The table put together",
        "Seen from its tail end and from the left, without exaggeration. The line on the skin is the finished board. \
         Letters are those of the list of parts.",
        |width| (scene.picture(width), String::new()),
    )
}

pub(super) fn exploded(built: &Built, kinds: &[Kind]) -> Figure {
    let jig = &built.jig;
    let gap = if jig.ribs.len() > 1 { (0.55 * jig.width_mm / jig.ribs.len() as f64).min(120.0) } else { 0.0 };
    let high = jig.ribs.iter().map(|r| r.height_mm).chain(jig.bearers.iter().map(|b| b.height_mm)).fold(0.0, f64::max);
    let scene = Scene::of(built, kinds, gap, (0.9 * high).max(0.12 * jig.width_mm));
    Figure::of("The table taken apart", "The same parts drawn apart across the table; the skin is lifted.", |width| {
        (scene.picture(width), String::new())
    })
}

impl Scene {
    /// The table with `gap_mm` between neighbours across and the skin lifted by `lift_mm`.
    fn of(built: &Built, kinds: &[Kind], gap_mm: f64, lift_mm: f64) -> Self {
        let jig = &built.jig;
        let steepest = jig.surface.breaks_mm().iter().map(|s| jig.surface.at(*s).angle_rad.abs()).fold(0.0, f64::max);
        let mut scene = Self { view: View::over(steepest), faces: Vec::new(), pointers: Vec::new() };
        let spread = gap_mm * 2.0 * jig.ribs.len().saturating_sub(1) as f64;
        let mark = |of: KindOf| kinds.iter().find(|k| k.of == of).map(|k| k.letters.clone());
        scene.base_board(jig, spread, &mark);
        scene.end_panel(jig, false, spread);
        if jig.bearers.is_empty() {
            scene.ribs(built, &mark, gap_mm);
        } else {
            scene.bearers(jig, &mark);
        }
        // The skin covers what is put together, so it is as wide as that; taken apart it is shown as it is.
        scene.skin(built, lift_mm, mark(KindOf::Skin));
        scene.end_panel(jig, true, spread);
        scene.nuts(jig, spread, true, mark(KindOf::Nut));
        scene
    }

    fn face(&mut self, ink: Ink, places: impl IntoIterator<Item = Place>) {
        let points = places.into_iter().map(|p| self.view.at(p)).collect();
        self.faces.push((ink, points, true));
    }

    fn point_to(&mut self, mark: Option<String>, place: Place) {
        self.pointers.extend(mark.map(|m| (m, self.view.at(place))));
    }

    /// The three faces of an upright box that look to the reader.
    fn block(&mut self, (x0, x1): (f64, f64), (y0, y1): (f64, f64), (z0, z1): (f64, f64), inks: [Ink; 3]) {
        let [top, side, near] = inks;
        self.face(top, [(x0, y0, z1), (x1, y0, z1), (x1, y1, z1), (x0, y1, z1)]);
        self.face(side, [(x0, y0, z0), (x0, y0, z1), (x0, y1, z1), (x0, y1, z0)]);
        self.face(near, [(x0, y0, z0), (x1, y0, z0), (x1, y0, z1), (x0, y0, z1)]);
    }

    /// A round bar across.
    fn bar(&mut self, center: Point, diameter_mm: f64, (y0, y1): (f64, f64)) {
        let ring = |y: f64| -> Vec<Place> {
            (0..ROUND)
                .map(|i| {
                    let angle = std::f64::consts::TAU * i as f64 / ROUND as f64;
                    let (sin, cos) = libm::sincos(angle);
                    (center.x + 0.5 * diameter_mm * cos, y, center.y + 0.5 * diameter_mm * sin)
                })
                .collect()
        };
        let body = ring(y0).into_iter().chain(ring(y1)).map(|p| self.view.at(p)).collect();
        self.faces.push((Ink::Metal, hull(body), true));
        self.face(Ink::Metal, ring(y0));
    }

    fn base_board(&mut self, jig: &Jig, spread: f64, mark: &dyn Fn(KindOf) -> Option<String>) {
        if let Some((i, board)) = jig.panels.iter().enumerate().find(|(_, p)| p.id == "base") {
            let b = board.outline.bounds();
            let inks = [Ink::FaceTop, Ink::FaceSide, Ink::FaceNear];
            let half = 0.5 * spread;
            self.block((b.x0, b.x1), (b.y0 - half, b.y1 + half), (-board.thickness_mm, 0.0), inks);
            let middle = -0.5 * board.thickness_mm;
            self.point_to(mark(KindOf::Panel(i)), (0.3 * b.x1, b.y0 - half, middle));
        }
    }

    /// The panel at the far end (the tip) or at the near one.
    fn end_panel(&mut self, jig: &Jig, near: bool, spread: f64) {
        let id = if near { "end-tail" } else { "end-tip" };
        let Some(panel) = jig.panels.iter().find(|p| p.id == id) else { return };
        let (from, to) = jig.surface.range_mm();
        let end = if near { rib_end(jig, from) } else { rib_end(jig, to) };
        let b = panel.outline.bounds();
        let (x0, x1) = if near { (end - panel.thickness_mm, end) } else { (end, end + panel.thickness_mm) };
        let inks = [Ink::FaceTop, Ink::FaceSide, Ink::FaceNear];
        self.block((x0, x1), (b.x0 - 0.5 * spread, b.x1 + 0.5 * spread), (b.y0, b.y1), inks);
    }

    fn ribs(&mut self, built: &Built, mark: &dyn Fn(KindOf) -> Option<String>, gap: f64) {
        let jig = &built.jig;
        let count = jig.ribs.len();
        let t = jig.rib_thickness_mm;
        // Shift across of the slab with this index: rib, bay, rib, bay, ...
        let shift = |slab: usize| gap * (slab as f64 - (count as f64 - 1.0));
        self.nuts(jig, gap * 2.0 * count.saturating_sub(1) as f64, false, None);
        for i in (0..count).rev() {
            let rib = &jig.ribs[i];
            if let (Some(next), true) = (jig.ribs.get(i + 1), i + 1 < count) {
                let bay = (rib.y_mm + 0.5 * t, next.y_mm - 0.5 * t);
                self.bay(jig, (bay.0 + shift(2 * i + 1), bay.1 + shift(2 * i + 1)), gap, i == 0, mark);
            }
            let y = rib.y_mm + shift(2 * i);
            let (y0, y1) = (y - 0.5 * t, y + 0.5 * t);
            let plates = || jig.plates.iter().filter(|p| p.rib == rib.number);
            for plate in plates() {
                self.plate(plate, (y1, y1 + t));
            }
            let top = |y: f64| -> Vec<Place> {
                let below = |s: f64| jig.across.rise_mm(s, rib.y_mm, jig.depth_mm) - jig.depth_mm;
                surface(jig, below).map(|p| (p.x, y, p.y)).collect()
            };
            let (near, far) = (top(y0), top(y1));
            self.face(Ink::FaceTop, near.iter().copied().chain(far.iter().rev().copied()));
            if let (Some(a), Some(b)) = (near.first(), far.first()) {
                self.face(Ink::FaceSide, [(a.0, y0, 0.0), *a, *b, (b.0, y1, 0.0)]);
            }
            self.face(Ink::FaceNear, rib.outline.flattened(FLAT_MM).iter().map(|p| (p.x, y0, p.y)));
            for window in rib.windows.iter().chain(&rib.holes) {
                let hole = round(window.center, window.diameter_mm);
                self.face(Ink::FaceSide, hole.iter().map(|p| (p.x, y0, p.y)));
            }
            for hole in &rib.hand_holes {
                self.face(Ink::FaceSide, hole.flattened(FLAT_MM).iter().map(|p| (p.x, y0, p.y)));
            }
            for member in &jig.cross_members {
                // Where a member crosses, its end fills the rib's slot.
                let (x0, x1) = (member.x_mm - 0.5 * member.thickness_mm, member.x_mm + 0.5 * member.thickness_mm);
                self.face(
                    Ink::FaceTop,
                    [(x0, y0, 0.0), (x1, y0, 0.0), (x1, y0, 0.5 * member.height_mm), (x0, y0, 0.5 * member.height_mm)],
                );
            }
            for plate in plates() {
                self.plate(plate, (y0 - t, y0));
                if i == 0 && plate.joint == 1 {
                    let middle = plate.outline.bounds().center();
                    self.point_to(mark(KindOf::Plate), (middle.x, y0 - t, middle.y));
                }
            }
            if i == 0 {
                let place = near.get(near.len() * 5 / 8).map_or((0.0, y0, 0.0), |p| (p.0, y0, 0.6 * p.2));
                self.point_to(mark(KindOf::Rib(0)), place);
            }
        }
    }

    /// A plate over the joint of a rib, on one of its faces.
    fn plate(&mut self, plate: &Plate, (y0, y1): (f64, f64)) {
        let corners = plate.outline.flattened(FLAT_MM);
        let body = corners.iter().flat_map(|p| [(p.x, y0, p.y), (p.x, y1, p.y)]).map(|p| self.view.at(p)).collect();
        self.faces.push((Ink::FaceTop, hull(body), true));
        self.face(Ink::FaceNear, corners.iter().map(|p| (p.x, y0, p.y)));
        for (center, diameter_mm) in &plate.holes {
            self.face(Ink::FaceSide, round(*center, *diameter_mm).iter().map(|p| (p.x, y0, p.y)));
        }
    }

    /// What stands between two ribs: members and, on the rods, spacers.
    fn bay(&mut self, jig: &Jig, bay: (f64, f64), gap: f64, first: bool, mark: &dyn Fn(KindOf) -> Option<String>) {
        // Along the table nothing overlaps; the far end comes first.
        let mut things: Vec<(f64, usize)> = jig.rods.iter().enumerate().map(|(i, r)| (r.hole.center.x, i)).collect();
        things.extend(jig.cross_members.iter().enumerate().map(|(i, m)| (m.x_mm, jig.rods.len() + i)));
        things.sort_by(|a, b| b.0.total_cmp(&a.0));
        for (_, index) in things {
            if let Some(rod) = jig.rods.get(index) {
                let (d, c) = (jig.spacers.rod_diameter_mm, rod.hole.center);
                if gap > 0.0 {
                    self.bar(c, d, (bay.1, bay.1 + gap));
                }
                self.bar(c, 2.0 * d, bay);
                if gap > 0.0 {
                    self.bar(c, d, (bay.0 - gap, bay.0));
                }
                if first && index == 0 && gap > 0.0 {
                    self.point_to(mark(KindOf::Spacer), (c.x, 0.5 * (bay.0 + bay.1), c.y + d));
                    self.point_to(mark(KindOf::Rod), (c.x, bay.0 - 0.5 * gap, c.y));
                }
            } else if let Some(member) = jig.cross_members.get(index - jig.rods.len()) {
                let half = 0.5 * member.thickness_mm;
                let across = (bay.0 - gap, bay.1 + gap);
                let inks = [Ink::FaceTop, Ink::FaceSide, Ink::FaceNear];
                self.block((member.x_mm - half, member.x_mm + half), across, (0.0, member.height_mm), inks);
                if first && member.number == 1 && gap > 0.0 {
                    let middle = 0.5 * (across.0 + across.1);
                    self.point_to(mark(KindOf::Cross), (member.x_mm - half, middle, 0.6 * member.height_mm));
                }
            }
        }
    }

    /// Nuts and rod ends beyond the outer ribs, at the far side or at the near one.
    fn nuts(&mut self, jig: &Jig, spread: f64, near: bool, mark: Option<String>) {
        let schedule = &jig.spacers;
        let beyond = 0.5 * (schedule.rod_length_mm - jig.width_mm);
        if jig.rods.is_empty() || beyond <= 0.0 {
            return;
        }
        let edge = 0.5 * (jig.width_mm + spread);
        let d = schedule.rod_diameter_mm;
        for rod in jig.rods.iter().rev() {
            let c = rod.hole.center;
            if near {
                self.bar(c, 1.9 * d, (-edge - 0.55 * beyond, -edge));
                self.bar(c, d, (-edge - beyond, -edge - 0.55 * beyond));
            } else {
                self.bar(c, d, (edge + 0.55 * beyond, edge + beyond));
                self.bar(c, 1.9 * d, (edge, edge + 0.55 * beyond));
            }
        }
        if let Some(rod) = jig.rods.first() {
            self.point_to(mark, (rod.hole.center.x, -edge - 0.5 * beyond, rod.hole.center.y));
        }
    }

    fn bearers(&mut self, jig: &Jig, mark: &dyn Fn(KindOf) -> Option<String>) {
        for bearer in jig.bearers.iter().rev() {
            let packing: f64 = bearer.packing_mm.iter().sum();
            let half = 0.5 * bearer.thickness_mm;
            let (x0, x1) = (bearer.x_mm - half, bearer.x_mm + half);
            let b = bearer.outline.bounds();
            if packing > 0.0 {
                self.block((x0, x1), (b.x0, b.x1), (0.0, packing), [Ink::SkinEdge, Ink::SkinEdge, Ink::SkinEdge]);
            }
            let rise = half * libm::tan(bearer.bevel_rad);
            let outline = bearer.outline.flattened(FLAT_MM);
            // Corners of the upper edge are moved by the bevel, those of the lower one stay.
            let at = |p: &Point, x: f64, by: f64| (x, p.x, packing + if p.y > 1e-6 { p.y + by } else { p.y });
            let upper: Vec<Point> = outline.iter().filter(|p| p.y > 1e-6).copied().collect();
            let near = upper.iter().map(|p| at(p, x0, -rise));
            let top: Vec<Place> = near.chain(upper.iter().rev().map(|p| at(p, x1, rise))).collect();
            self.face(Ink::FaceTop, top);
            let side: Vec<Place> = outline.iter().map(|p| at(p, x0, -rise)).collect();
            self.face(Ink::FaceSide, side);
            let edge = upper.iter().map(|p| (p.x, p.y)).fold((0.0, 0.0), |a, p| if p.0 < a.0 { p } else { a });
            self.face(
                Ink::FaceNear,
                [
                    (x0, b.x0, packing),
                    (x1, b.x0, packing),
                    (x1, b.x0, packing + edge.1 + rise),
                    (x0, b.x0, packing + edge.1 - rise),
                ],
            );
            if bearer.number == 1 {
                self.point_to(mark(KindOf::Bearer), (x0, 0.2 * b.x0, packing + 0.5 * edge.1));
            }
        }
    }

    fn skin(&mut self, built: &Built, lift: f64, mark: Option<String>) {
        let jig = &built.jig;
        let half = 0.5 * jig.width_mm;
        // Straight across one strip will do; a table curved across is laid in strips, the far ones first.
        let strips = if jig.across.is_flat() { 1 } else { 12 };
        let at = |i: usize| half - 2.0 * half * i as f64 / strips as f64;
        let chain = |y: f64, below: f64| -> Vec<Place> {
            surface(jig, |s| jig.across.rise_mm(s, y, 0.0) - below).map(|p| (p.x, y, p.y + lift)).collect()
        };
        for i in 0..strips {
            let (far, near) = (chain(at(i), 0.0), chain(at(i + 1), 0.0));
            self.face(Ink::SkinTop, near.iter().copied().chain(far.iter().rev().copied()));
            let (low_far, low_near) = (chain(at(i), jig.depth_mm), chain(at(i + 1), jig.depth_mm));
            if let (Some(a), Some(b), Some(c), Some(d)) = (near.first(), far.first(), low_far.first(), low_near.first())
            {
                self.face(Ink::SkinEdge, [*a, *b, *c, *d]);
            }
        }
        let (top, low) = (chain(-half, 0.0), chain(-half, jig.depth_mm));
        self.face(Ink::SkinEdge, top.iter().copied().chain(low.iter().rev().copied()));
        // The finished boards on it.
        let (from, to) = built.design.table.finished_table_mm;
        let half_mm = 0.5 * built.design.job.board.width_mm;
        let (tail, tip) = built.design.table.finished_base_mm;
        // Seen with the left of the board at negative y; turned over with a board that lies on its deck.
        let up = way_up(built);
        let edges = |i: usize| {
            let s = tail + (tip - tail) * i as f64 / ALONG as f64;
            let (left, right) = built.design.outline.as_ref().map_or((half_mm, -half_mm), |o| o.edges_mm(s));
            if up > 0.0 { (-left, -right) } else { (right, left) }
        };
        let place = |i: usize, y: f64| -> Place {
            let p = jig.surface.at(from + (to - from) * i as f64 / ALONG as f64);
            let p = p.point + p.normal() * jig.across.rise_mm(p.s_mm, y, 0.0);
            (p.x, y, p.y + lift)
        };
        for middle in middles_mm(&built.design.job.board) {
            let there = (0..=ALONG).map(|i| place(i, middle + edges(i).0));
            let back = (0..=ALONG).rev().map(|i| place(i, middle + edges(i).1));
            let points = there.chain(back).map(|p| self.view.at(p)).collect();
            self.faces.push((Ink::Mark, points, true));
        }
        let place = jig.surface.at(0.7 * to).point;
        self.point_to(mark, (place.x, 0.8 * half, place.y + lift));
    }

    /// The scene at a width, its parts' marks in a row above and one below.
    fn picture(&self, width: f64) -> Picture {
        let all = || self.faces.iter().flat_map(|f| &f.1);
        let (x0, x1) = all().map(|p| p.x).fold((f64::INFINITY, f64::NEG_INFINITY), |r, v| (r.0.min(v), r.1.max(v)));
        let (y0, y1) = all().map(|p| p.y).fold((f64::INFINITY, f64::NEG_INFINITY), |r, v| (r.0.min(v), r.1.max(v)));
        let scale = (width - 8.0) / (x1 - x0).max(1.0);
        let margin = 2.0 * RING + 14.0;
        let mut picture = Picture::new(width, ((y1 - y0) * scale + 2.0 * margin).ceil());
        let at = |p: &Point| Point::new(4.0 + (p.x - x0) * scale, margin + (p.y - y0) * scale);
        for (ink, points, closed) in &self.faces {
            let points = points.iter().map(at);
            if *closed { picture.area(*ink, points) } else { picture.line(*ink, points) }
        }
        let middle = 0.5 * picture.height;
        let mut pointers: Vec<(&String, Point)> = self.pointers.iter().map(|(m, p)| (m, at(p))).collect();
        pointers.sort_by(|a, b| a.1.x.total_cmp(&b.1.x));
        for upper in [true, false] {
            let row: Vec<_> = pointers.iter().filter(|p| (p.1.y > middle) == upper).collect();
            let wanted: Vec<f64> = row.iter().map(|p| p.1.x).collect();
            let places = text::spread(&wanted, 2.0 * RING + 6.0, RING + 1.0, width - RING - 1.0);
            let y = if upper { picture.height - RING - 1.0 } else { RING + 1.0 };
            for ((mark, target), x) in row.iter().zip(places) {
                let from = Point::new(x, if upper { y - RING } else { y + RING });
                picture.line(Ink::Leader, [from, *target]);
                picture.circle(Ink::Leader, *target, 1.6);
                picture.circle(Ink::Ring, Point::new(x, y), RING);
                let at = Point::new(x, y - 4.2);
                picture.label(at, TextAnchor::Middle, LabelStyle::Strong, mark.to_string());
            }
        }
        picture
    }
}

/// Points along the table's surface moved square to it by what `by_mm` makes of their places, from the tail.
fn surface<'j>(jig: &'j Jig, by_mm: impl Fn(f64) -> f64 + 'j) -> impl Iterator<Item = Point> + 'j {
    let (from, to) = jig.surface.range_mm();
    (0..=ALONG).map(move |i| {
        let at = jig.surface.at(from + (to - from) * i as f64 / ALONG as f64);
        at.point + at.normal() * by_mm(at.s_mm)
    })
}

/// Where the ribs end at an end of the surface, mm along the table.
fn rib_end(jig: &Jig, s: f64) -> f64 {
    let at = jig.surface.at(s);
    (at.point - at.normal() * jig.depth_mm).x
}

fn round(center: Point, diameter_mm: f64) -> Vec<Point> {
    (0..ROUND)
        .map(|i| {
            center + kurbo::Vec2::from_angle(std::f64::consts::TAU * i as f64 / ROUND as f64) * (0.5 * diameter_mm)
        })
        .collect()
}
