//! Details of the table at a larger scale: joints of ribs, half-laps, a bearer, and sighting for wind.

use kurbo::{Point, Rect};

use super::first;
use super::say::Say;
use super::sketch::{clipped, dimension, level, upright};
use crate::built::Built;
use crate::draft::plot::text;
use crate::drawing::{Contour, Figure, Ink, LabelStyle, Picture, TextAnchor};
use crate::jig::{Bearer, Rib};
use crate::job::{CrossMembers, Frame, Joint, Split};
use crate::units::decimal;

/// Deviation of drawn arcs, mm.
const FLAT_MM: f64 = 0.05;
/// Greatest height of a detail, page pixels.
const HIGH: f64 = 200.0;
/// Height of a row with a dimension, page pixels.
const ROW: f64 = 26.0;

/// The details that this table has.
pub(super) fn figures(built: &Built, say: Say) -> Vec<Figure> {
    let mut figures = Vec::new();
    match &built.design.job.table.frame {
        Frame::Ribs(frame) => {
            let split = built.jig.ribs.iter().find(|r| r.pieces.len() > 1);
            figures.extend(frame.split.zip(split).map(|(split, rib)| joint(built, split, rib, say)));
            figures.extend(frame.cross_members.as_ref().and_then(|c| half_lap(built, c, say)));
        }
        Frame::Bearers(_) => {
            let steepest = built.jig.bearers.iter().max_by(|a, b| a.bevel_rad.abs().total_cmp(&b.bevel_rad.abs()));
            figures.extend(steepest.map(|b| bearer(built, b, say)));
        }
    }
    figures.push(wind(built, say));
    figures
}

/// A window onto table coordinates in a picture.
struct Window {
    seen: Rect,
    scale: f64,
    origin: Point,
}

impl Window {
    /// The window with its lower left corner at `origin`, as large as `width` and `high` page pixels allow.
    fn new(seen: Rect, origin: Point, width: f64, high: f64) -> Self {
        let scale = (width / seen.width().max(1e-9)).min(high / seen.height().max(1e-9));
        Self { seen, scale, origin }
    }

    fn at(&self, p: Point) -> Point {
        self.origin + (p - self.seen.origin()) * self.scale
    }

    fn high(&self) -> f64 {
        self.seen.height() * self.scale
    }

    fn area(&self, picture: &mut Picture, ink: Ink, contour: &Contour) {
        let points = clipped(&contour.flattened(FLAT_MM), self.seen);
        if points.len() > 2 {
            picture.area(ink, points.into_iter().map(|p| self.at(p)));
        }
    }
}

/// The first joint of a split rib.
fn joint(built: &Built, split: Split, rib: &Rib, say: Say) -> Figure {
    let (first, second) = (rib.pieces[0].outline.bounds(), rib.pieces[1].outline.bounds());
    let x_mm = 0.5 * (first.x1 + second.x0);
    let plate = built.jig.plates.iter().find(|p| p.rib == rib.number && p.joint == 1);
    let reach = plate.map_or(first.x1 - second.x0, |p| p.outline.bounds().width()).max(0.5 * first.height());
    let top = rib.stations.iter().min_by(|a, b| (a.rib_top.x - x_mm).abs().total_cmp(&(b.rib_top.x - x_mm).abs()));
    let high_mm = 1.25 * top.map_or(first.height(), |s| s.rib_top.y);
    let seen = Rect::new(x_mm - reach, 0.0, x_mm + reach, high_mm);
    let words = match split.joint {
        Joint::Key { gap_mm } => format!(
            "The key of one piece drops into the socket of the other; {} are clear all along the joint. Glue it flat on the \
             bench.",
            say.fine(gap_mm)
        ),
        Joint::Plates { length_mm, bolt_mm, hole_mm } => format!(
            "A plate of {} on each face, bolts of {} in holes of {}.",
            say.length(length_mm),
            say.fine(bolt_mm),
            say.fine(hole_mm)
        ),
    };
    let title = format!("Joint of rib {}, {} from the middle", rib.number, say.length(x_mm));
    Figure::of(title, words, |width| {
        let below = ROW + 8.0;
        let window = Window::new(seen, Point::new(4.0, below), width - 8.0, HIGH);
        let mut picture = Picture::new(width, below + window.high() + 8.0);
        window.area(&mut picture, Ink::FaceNear, &rib.pieces[0].outline);
        window.area(&mut picture, Ink::FaceSide, &rib.pieces[1].outline);
        let (mut from, mut to) = (second.x0.min(first.x1), first.x1.max(second.x0));
        if let Some(plate) = plate {
            let outline = plate.outline.flattened(FLAT_MM);
            picture.area(Ink::Edge, outline.into_iter().map(|p| window.at(p)));
            for (center, diameter_mm) in &plate.holes {
                picture.circle(Ink::Edge, window.at(*center), 0.5 * diameter_mm * window.scale);
            }
            (from, to) = (plate.outline.bounds().x0, plate.outline.bounds().x1);
        }
        let on = |x: f64| window.at(Point::new(x, 0.0)).x;
        level(&mut picture, (on(from), on(to)), 8.0, &say.length(to - from));
        (picture, String::new())
    })
}

/// The half-lap of a rib and a cross member, both cut away around it.
fn half_lap(built: &Built, wanted: &CrossMembers, say: Say) -> Option<Figure> {
    let jig = &built.jig;
    let member = jig.cross_members.get(jig.cross_members.len() / 2)?;
    let rib = jig.ribs.get(jig.ribs.len() / 2)?;
    // Both slots reach half of the member's height and half of the fit.
    let depth_mm = 0.5 * (wanted.height_mm + wanted.fit_mm);
    let slots = [wanted.thickness_mm + wanted.fit_mm, jig.rib_thickness_mm + wanted.fit_mm];
    let high_mm = 1.2 * wanted.height_mm;
    let around = |x: f64, slot: f64| Rect::new(x - 1.6 * slot, -0.02 * high_mm, x + 1.6 * slot, high_mm);
    let windows = [around(member.x_mm, slots[0]), around(rib.y_mm, slots[1])];
    let title = "Half-lap of ribs and cross members";
    let words = format!(
        "Left the slot from below in a rib, right the slot from above in a cross member. Both are {} deep; {} of play is \
         counted in.",
        say.fine(depth_mm),
        say.fine(wanted.fit_mm)
    );
    Some(Figure::of(title, words, |width| {
        let each = 0.5 * width - 14.0;
        let below = ROW + 8.0;
        let sides: Vec<Window> = windows
            .iter()
            .enumerate()
            .map(|(i, seen)| Window::new(*seen, Point::new(6.0 + i as f64 * (each + 16.0), below), each, HIGH))
            .collect();
        let high = sides.iter().map(Window::high).fold(0.0, f64::max);
        let mut picture = Picture::new(width, below + high + text::LINE + 10.0);
        let pieces = || rib.pieces.iter().map(|p| &p.outline);
        let piece = pieces().find(|p| p.bounds().x0 <= member.x_mm && p.bounds().x1 >= member.x_mm);
        sides[0].area(&mut picture, Ink::FaceNear, piece.unwrap_or(&rib.outline));
        sides[1].area(&mut picture, Ink::FaceSide, &member.outline);
        let middles = [member.x_mm, rib.y_mm];
        for ((window, slot), (middle, name)) in
            sides.iter().zip(slots).zip(middles.into_iter().zip(["rib", "cross member"]))
        {
            let on = |x: f64| window.at(Point::new(x, 0.0)).x;
            level(&mut picture, (on(middle - 0.5 * slot), on(middle + 0.5 * slot)), 8.0, &say.fine(slot));
            let head = Point::new(on(middle), below + high + 8.0);
            picture.label(head, TextAnchor::Middle, LabelStyle::Strong, name);
        }
        (picture, String::new())
    }))
}

/// A bearer seen from the left with its bevel, its packing and the skin.
fn bearer(built: &Built, bearer: &Bearer, say: Say) -> Figure {
    let packing_mm: f64 = bearer.packing_mm.iter().sum();
    let half = 0.5 * bearer.thickness_mm;
    let rise = half * libm::tan(bearer.bevel_rad);
    let (low, high) = (bearer.cut_height_mm - rise, bearer.cut_height_mm + rise);
    let skin_mm = built.design.job.table.skin_mm;
    let seen =
        Rect::new(-1.9 * half, -0.25 * bearer.thickness_mm, 1.9 * half, packing_mm + low.max(high) + 2.0 * skin_mm);
    let packed = if bearer.packing_mm.is_empty() {
        "It stands on the base board without packing.".to_owned()
    } else {
        let pieces: Vec<String> = bearer.packing_mm.iter().map(|p| say.fine(*p)).collect();
        format!("Under it lies packing of {}.", pieces.join(" + "))
    };
    let words = format!(
        "Seen from the left, the tip to the right: the steepest one. Its top is planed to a bevel of {}° out of a blank {} \
         high. {packed}",
        decimal(bearer.bevel_rad.to_degrees().abs(), 1),
        say.length(bearer.blank_height_mm)
    );
    let title = format!("Bearer {}, {} from the middle", bearer.number, say.length(bearer.x_mm));
    Figure::of(title, words, |width| {
        let below = ROW + 8.0;
        let window = Window::new(seen, Point::new(0.5 * width - 0.27 * width, below), 0.54 * width, HIGH);
        let mut picture = Picture::new(width, below + window.high() + text::LINE + 12.0);
        let at = |x: f64, z: f64| window.at(Point::new(x, z));
        picture.rect(Ink::FaceSide, at(seen.x0, seen.y0), at(seen.x1, 0.0));
        if packing_mm > 0.0 {
            picture.rect(Ink::SkinEdge, at(-half, 0.0), at(half, packing_mm));
        }
        let corners = [(-half, 0.0), (half, 0.0), (half, high), (-half, low)];
        picture.area(Ink::FaceNear, corners.map(|(x, z)| at(x, packing_mm + z)));
        let slope = libm::tan(bearer.bevel_rad);
        let edge = |x: f64, up: f64| at(x, packing_mm + bearer.cut_height_mm + x * slope + up);
        if skin_mm > 0.0 {
            let reach = 1.6 * half;
            picture
                .area(Ink::SkinTop, [edge(-reach, 0.0), edge(reach, 0.0), edge(reach, skin_mm), edge(-reach, skin_mm)]);
        }
        level(&mut picture, (at(-half, 0.0).x, at(half, 0.0).x), 8.0, &say.length(bearer.thickness_mm));
        let right = at(seen.x1, 0.0).x + 6.0;
        upright(&mut picture, right, (at(0.0, packing_mm).y, at(0.0, packing_mm + high).y), &say.length(high));
        let left = at(seen.x0, 0.0).x - 6.0;
        let (foot, top) = (at(0.0, packing_mm).y, at(0.0, packing_mm + low).y);
        dimension(&mut picture, Point::new(left, foot), Point::new(left, top));
        let beside = Point::new(left - 7.0, 0.5 * (foot + top) - 4.0);
        picture.label(beside, TextAnchor::End, LabelStyle::Plain, say.length(low));
        (picture, String::new())
    })
}

/// Length of what stands on the floor before the skin is on, mm: of the ribs, or of the base board under bearers.
pub(super) fn frame_length_mm(built: &Built) -> f64 {
    built.jig.ribs.first().map_or_else(|| first::table_length_mm(built), |rib| rib.length_mm)
}

/// Its diagonal, mm.
pub(super) fn diagonal_mm(built: &Built) -> f64 {
    libm::hypot(frame_length_mm(built), built.jig.width_mm)
}

/// The table from above with its diagonals, and what is seen over two laths.
fn wind(built: &Built, say: Say) -> Figure {
    let (long_mm, wide_mm) = (frame_length_mm(built), built.jig.width_mm);
    let words = "Above, the table from above: both diagonals are equal. Below, what you see from one end over two straight \
                 laths that lie across both ends: level with each other the table is true; at an angle, one end is twisted against \
                 the other. Pack the low corner until they are level.";
    Figure::of("Checking for wind", words, |width| {
        let scale = ((width - 110.0) / long_mm.max(1e-9)).min(150.0 / wide_mm.max(1e-9));
        let (long, wide) = (long_mm * scale, wide_mm * scale);
        let seen = 64.0;
        let below = seen + 2.0 * text::LINE + ROW;
        let mut picture = Picture::new(width, below + wide + 8.0);
        let (x0, x1) = (8.0, 8.0 + long);
        picture.rect(Ink::SkinTop, Point::new(x0, below), Point::new(x1, below + wide));
        picture.line(Ink::Dimension, [Point::new(x0, below), Point::new(x1, below + wide)]);
        picture.line(Ink::Dimension, [Point::new(x0, below + wide), Point::new(x1, below)]);
        for x in [x0 + 4.0, x1 - 12.0] {
            picture.rect(Ink::FaceSide, Point::new(x, below - 4.0), Point::new(x + 8.0, below + wide + 4.0));
        }
        let both = format!("{}, both diagonals {}", say.length(long_mm), say.length(diagonal_mm(built)));
        level(&mut picture, (x0, x1), below - ROW, &both);
        upright(&mut picture, x1 + 12.0, (below, below + wide), &say.length(wide_mm));
        let each = 0.5 * (width - 40.0);
        for (i, (name, twist)) in [("true", 0.0), ("in wind: twisted", 0.07)].into_iter().enumerate() {
            let from = Point::new(10.0 + i as f64 * (each + 20.0), text::LINE + 12.0);
            let lath = |y: f64, turn: f64| {
                let to = from + kurbo::Vec2::new(each, turn * each);
                let up = kurbo::Vec2::new(0.0, 7.0);
                [from, to]
                    .map(|p| p + kurbo::Vec2::new(0.0, y))
                    .into_iter()
                    .chain([to, from].map(|p| p + kurbo::Vec2::new(0.0, y) + up))
            };
            picture.area(Ink::FaceTop, lath(12.0, twist));
            picture.area(Ink::FaceSide, lath(4.0, 0.0));
            let middle = Point::new(from.x + 0.5 * each, 4.0);
            picture.label(middle, TextAnchor::Middle, LabelStyle::Plain, name);
        }
        (picture, String::new())
    })
}
