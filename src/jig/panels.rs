//! End panels and base board.

use kurbo::{Point, Vec2};

use super::bearers::Bearer;
use super::bearers::{crown, under};
use super::rib::Rib;
use super::screws::Wood;
use crate::codes;
use crate::drawing::{Contour, ContourError, Vertex};
use crate::finding::{Fault, Finding, Held, Verdict};
use crate::job::{BoxPanels, RibFrame};
use crate::units::{Phrase, Quantity};

/// A panel with the places of its screws.
#[derive(Debug, Clone, PartialEq)]
pub struct Panel {
    /// Short name of ASCII letters, digits and hyphens.
    pub id: String,
    /// What the shop calls it.
    pub title: String,
    /// Outline, mm, with its middle line at 0 across: (across, up) for ends, (along, across) for the base.
    pub outline: Contour,
    /// Places of screws, to be marked, mm.
    pub screws: Vec<Point>,
    /// Lines to be marked, such as where bearers stand, mm.
    pub lines: Vec<Contour>,
    /// Words to be marked and the places that they are about, mm.
    pub labels: Vec<(Point, String)>,
    /// Thickness, mm.
    pub thickness_mm: f64,
}

/// Least distance of a screw from the end of what it holds, mm (common practice, no source).
const SCREW_EDGE_MM: f64 = 20.0;

/// Where the panels of a table of ribs stand.
pub(super) struct Box<'a> {
    /// The ribs.
    pub(super) ribs: &'a [Rib],
    /// End planes of all ribs, mm along the table.
    pub(super) ends: (f64, f64),
    /// Width over the outer ribs, mm.
    pub(super) width_mm: f64,
    /// Height of the ribs' tops at a place along (an end plane) and across the table, mm.
    pub(super) top_mm: &'a dyn Fn(f64, f64) -> f64,
}

/// The panels of a table of ribs. End panels follow the tops of the ribs.
pub(super) fn panels(wanted: &BoxPanels, table: &Box<'_>) -> Result<Vec<Panel>, Fault> {
    let half = 0.5 * table.width_mm;
    let mut panels = Vec::new();
    if let Some(thickness_mm) = wanted.end_thickness_mm {
        let (tail, tip) = table.ends;
        for (id, title, x, into) in [("end-tail", "Tail end panel", tail, 1.0), ("end-tip", "Tip end panel", tip, -1.0)]
        {
            let outline = crown(half, |y| (table.top_mm)(x, y)).and_then(|top| under(&top)).map_err(|e| no_size(&e))?;
            let screws = |rib: &Rib, wood: &Wood| -> Vec<Point> {
                let top = Point::new(x, (table.top_mm)(x, rib.y_mm));
                let rows = wood.screws(Point::new(x, 0.0), top, Vec2::new(into, 0.0), wanted.screw_pitch_mm);
                rows.into_iter().map(|p| Point::new(rib.y_mm, p.y)).collect()
            };
            panels.push(Panel {
                id: id.to_owned(),
                title: title.to_owned(),
                outline,
                screws: in_all(table.ribs, screws),
                lines: Vec::new(),
                labels: Vec::new(),
                thickness_mm,
            });
        }
    }
    if let Some(thickness_mm) = wanted.base_thickness_mm {
        let (tail, tip) = table.ends;
        let screws = |rib: &Rib, wood: &Wood| -> Vec<Point> {
            let (from, to) = (Point::new(tail, 0.0), Point::new(tip, 0.0));
            let along = wood.screws(from, to, Vec2::new(0.0, 1.0), wanted.screw_pitch_mm);
            along.into_iter().map(|p| Point::new(p.x, rib.y_mm)).collect()
        };
        panels.push(Panel {
            id: "base".to_owned(),
            title: "Base board".to_owned(),
            outline: rectangle(tail, -half, tip, half)?,
            screws: in_all(table.ribs, screws),
            lines: Vec::new(),
            labels: ends(tail, tip),
            thickness_mm,
        });
    }
    Ok(panels)
}

/// The screws of all ribs.
fn in_all(ribs: &[Rib], screws: impl Fn(&Rib, &Wood) -> Vec<Point>) -> Vec<Point> {
    ribs.iter().flat_map(|rib| screws(rib, &Wood::of(rib))).collect()
}

/// What lets air into a box that is to be pumped.
pub(super) fn leak_finding(frame: &RibFrame, ribs: &[Rib]) -> Finding {
    let panels = frame.panels.as_ref();
    let outer = [ribs.first(), ribs.last()].into_iter().flatten();
    let (mut windows, mut joints, mut rods) = (false, false, false);
    for rib in outer {
        windows |= !rib.windows.is_empty() || !rib.hand_holes.is_empty();
        joints |= rib.pieces.len() > 1;
        rods |= !rib.holes.is_empty();
    }
    let openings = [
        (panels.is_none_or(|p| p.end_thickness_mm.is_none()), "no end panels"),
        (panels.is_none_or(|p| p.base_thickness_mm.is_none()), "no base board"),
        (frame.feet.is_some(), "the gap between the feet"),
        (windows, "windows or hand holes in the outer ribs"),
        (joints, "joints in the outer ribs"),
        (rods, "rod holes in the outer ribs"),
    ];
    let open: Vec<&str> = openings.iter().filter(|o| o.0).map(|o| o.1).collect();
    let (verdict, remedy) = if open.is_empty() {
        (Verdict::Ok, Phrase::default())
    } else {
        (Verdict::Watch, format!("Close with panels, or seal with tape or sealant: {}.", open.join(", ")).into())
    };
    codes::BOX_LEAKS
        .check(
            "openings of a box that is to be pumped",
            (verdict, Held::at_most(Quantity::count(open.len() as f64), Quantity::count(0.0))),
        )
        .with_remedy(remedy)
}

/// The base board under bearers: where each stands, its number, and a screw mark near each of its ends.
pub(super) fn base(tail: f64, tip: f64, width_mm: f64, thickness_mm: f64, bearers: &[Bearer]) -> Result<Panel, Fault> {
    let half = 0.5 * width_mm;
    let inner = (half - SCREW_EDGE_MM).max(0.5 * half);
    let screws = bearers.iter().flat_map(|b| [Point::new(b.x_mm, -inner), Point::new(b.x_mm, inner)]).collect();
    let faces = bearers.iter().flat_map(|b| [b.x_mm - 0.5 * b.thickness_mm, b.x_mm + 0.5 * b.thickness_mm]);
    let across = |x: f64| {
        Contour::open(vec![Vertex::line(Point::new(x, -half)), Vertex::line(Point::new(x, half))])
            .map_err(|e| no_size(&e))
    };
    let mut labels = ends(tail, tip);
    labels.extend(bearers.iter().map(|b| (Point::new(b.x_mm, 0.0), b.number.to_string())));
    Ok(Panel {
        id: "base".to_owned(),
        title: "Base board".to_owned(),
        outline: rectangle(tail, -half, tip, half)?,
        screws,
        // A face flush with the board's end needs no line.
        lines: faces.filter(|x| *x > tail + 1.0 && *x < tip - 1.0).map(across).collect::<Result<_, _>>()?,
        labels,
        thickness_mm,
    })
}

/// Which end of a base board is which.
fn ends(tail: f64, tip: f64) -> Vec<(Point, String)> {
    vec![(Point::new(tail, 0.0), "TAIL".to_owned()), (Point::new(tip, 0.0), "TIP".to_owned())]
}

fn no_size(error: &ContourError) -> Fault {
    Fault::new(
        codes::IMPOSSIBLE_GEOMETRY,
        "table",
        format!("a panel has no size ({error})."),
        "Make the table longer, wider or higher.",
    )
}

fn rectangle(x0: f64, y0: f64, x1: f64, y1: f64) -> Result<Contour, Fault> {
    Contour::polygon([Point::new(x0, y0), Point::new(x1, y0), Point::new(x1, y1), Point::new(x0, y1)])
        .map_err(|e| no_size(&e))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::jig::RibPiece;

    /// A rib of 1000 by 90 mm with a slot in the middle of its base and feet of 40 mm at its ends.
    fn rib(y_mm: f64) -> Rib {
        let corners = [
            (-500.0, 0.0),
            (-460.0, 0.0),
            (-454.0, 6.0),
            (-9.0, 6.0),
            (-9.0, 30.0),
            (9.0, 30.0),
            (9.0, 6.0),
            (454.0, 6.0),
            (460.0, 0.0),
            (500.0, 0.0),
            (500.0, 90.0),
            (-500.0, 90.0),
        ];
        let outline = Contour::polygon(corners.map(Point::from)).unwrap();
        Rib {
            number: 1,
            y_mm,
            pieces: vec![RibPiece { outline: outline.clone(), top_mm: (-500.0, 500.0) }],
            outline,
            holes: Vec::new(),
            bolts: Vec::new(),
            windows: Vec::new(),
            hand_holes: Vec::new(),
            stations: Vec::new(),
            floor_mm: 6.0,
            length_mm: 1000.0,
            height_mm: 90.0,
        }
    }

    fn made(end_thickness_mm: Option<f64>, base_thickness_mm: Option<f64>) -> Vec<Panel> {
        let wanted = BoxPanels { end_thickness_mm, base_thickness_mm, screw_pitch_mm: 100.0 };
        let ribs = [rib(-50.0), rib(50.0)];
        let top = |_: f64, y: f64| 90.0 + 0.001 * y * y;
        panels(&wanted, &Box { ribs: &ribs, ends: (-500.0, 500.0), width_mm: 118.0, top_mm: &top }).unwrap()
    }

    #[test]
    fn only_the_panels_that_are_wanted_are_made() {
        let ids = |panels: Vec<Panel>| panels.into_iter().map(|p| p.id).collect::<Vec<_>>();
        assert_eq!(ids(made(Some(12.0), None)), ["end-tail", "end-tip"]);
        assert_eq!(ids(made(None, Some(9.0))), ["base"]);
        assert_eq!(made(None, None), []);
    }

    #[test]
    fn screws_stand_only_in_the_feet_and_clear_of_every_edge() {
        let base = &made(None, Some(9.0))[0];
        assert!(!base.screws.is_empty());
        for screw in &base.screws {
            assert!((470.0..=490.0).contains(&screw.x.abs()) && screw.y.abs() == 50.0, "{screw:?}");
        }
        for end in made(Some(12.0), None) {
            let rows: Vec<f64> = end.screws.iter().filter(|p| p.x < 0.0).map(|p| p.y).collect();
            assert!(rows.len() == 2 && rows.iter().all(|z| (10.0..=80.0).contains(z)), "{rows:?}");
        }
    }

    #[test]
    fn end_panels_follow_the_tops_of_the_ribs() {
        let end = &made(Some(12.0), None)[0];
        let top = |y: f64| end.outline.flattened(1e-4).into_iter().filter(move |p| (p.x - y).abs() < 2.0).map(|p| p.y);
        assert!((top(59.0).fold(0.0, f64::max) - 93.481).abs() < 0.2);
        assert!((end.outline.bounds().height() - (90.0 + 0.001 * 59.0 * 59.0)).abs() < 1e-9);
    }
}
