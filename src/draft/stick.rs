//! A story stick: a strip as long as the table with a tick at every station, for those who build by hand.

use kurbo::{Point, Vec2};

use super::ribs::{NOTE_MM, stroke};
use crate::built::Built;
use crate::curve::PlaneCurve;
use crate::drawing::{Contour, Drawing, Operation, Part, Placer, Shape};
use crate::jig::{Bearer, Station};
use crate::units::{LengthUnit, Quantity};

/// Name of the strip, which paper is glued on although it is a plain rectangle.
pub(crate) const STICK_ID: &str = "story-stick";
/// Width of the strip, mm: a batten that most shops have.
const WIDE_MM: f64 = 40.0;
/// Length of a tick from the upper edge, mm.
const TICK_MM: f64 = 14.0;
/// How far from its line a word may move along the strip, mm.
const REACH_MM: f64 = 24.0;

/// A place on the stick.
struct Tick {
    name: String,
    x_mm: f64,
    height_mm: f64,
}

/// The stick: its x is that of the table, its ends are the table's. At each bearer, or at each station of a table of ribs,
/// stand its number, the height under the skin, and by how much that is higher than at the one before. `None` where there
/// is nothing to mark.
pub(crate) fn stick(built: &Built) -> Option<Drawing> {
    let (jig, job) = (&built.jig, &built.design.job);
    let ticks: Vec<Tick> = if jig.bearers.is_empty() {
        let tick = |s: &Station| Tick { name: s.number.to_string(), x_mm: s.rib_top.x, height_mm: s.rib_top.y };
        jig.stations.iter().map(tick).collect()
    } else {
        let tick = |b: &Bearer| Tick { name: b.number.to_string(), x_mm: b.x_mm, height_mm: b.height_mm };
        jig.bearers.iter().map(tick).collect()
    };
    let (from, to) = jig.surface.range_mm();
    let (from, to) = (jig.surface.at(from).point.x, jig.surface.at(to).point.x);
    let corners = [(from, 0.0), (to, 0.0), (to, WIDE_MM), (from, WIDE_MM)].map(Point::from);
    let mut part = Part::new(STICK_ID, "Story stick");
    part.add(Operation::CutOutside, Shape::Contour(Contour::polygon(corners).ok()?));
    for tick in &ticks {
        // A bearer may end flush with the table.
        let x = tick.x_mm.clamp(from + 1.0, to - 1.0);
        stroke(&mut part, Point::new(x, WIDE_MM - 0.1 * TICK_MM), Point::new(x, WIDE_MM - TICK_MM));
    }
    let mut placer = Placer::of(&part);
    let mut before: Option<f64> = None;
    for tick in &ticks {
        let words = [tick.name.clone(), height(tick.height_mm, job.unit), step(before, tick.height_mm, job.unit)];
        for (line, words) in words.iter().enumerate().filter(|w| !w.1.is_empty()) {
            let near = Point::new(tick.x_mm, WIDE_MM - TICK_MM - 1.6 * NOTE_MM * (line as f64 + 0.5));
            placer.write(&mut part, words, NOTE_MM, near, REACH_MM);
        }
        before = Some(tick.height_mm);
    }
    for (x, words) in [(from, "TAIL"), (to, "TIP")] {
        placer.write(&mut part, words, NOTE_MM, Point::new(x, WIDE_MM) - Vec2::new(0.0, NOTE_MM), 3.0 * REACH_MM);
    }
    let origin = super::origin(&job.hash);
    Some(Drawing { title: format!("{}: story stick", job.title), origin, parts: vec![part] })
}

fn height(mm: f64, unit: LengthUnit) -> String {
    Quantity::length(mm).text(unit)
}

/// How much higher than the one before, with its sign.
fn step(before: Option<f64>, mm: f64, unit: LengthUnit) -> String {
    let Some(before) = before else { return String::new() };
    let words = Quantity::length((mm - before).abs()).text(unit);
    let sign = match words == Quantity::length(0.0).text(unit) {
        true => "",
        false if mm > before => "+",
        false => "-",
    };
    format!("{sign}{words}")
}
