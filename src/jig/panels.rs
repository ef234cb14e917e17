//! End panels and base board.

use kurbo::Point;

use super::Bearer;
use crate::drawing::Contour;
use crate::finding::Fault;
use crate::job::BoxPanels;

/// A rectangular panel with the places of its screws.
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
    /// Thickness, mm.
    pub thickness_mm: f64,
}

/// Least distance of a screw from the end of what it holds, mm (common practice, no source).
const SCREW_EDGE_MM: f64 = 20.0;

/// The panels of a table of ribs at `ribs_at` across, between `tail` and `tip` along, whose ends are at least
/// `end_heights` high.
pub(super) fn panels(
    wanted: &BoxPanels,
    ribs_at: &[f64],
    (tail, tip): (f64, f64),
    end_heights: (f64, f64),
    width_mm: f64,
) -> Result<Vec<Panel>, Fault> {
    let half = 0.5 * width_mm;
    let mut panels = Vec::new();
    if let Some(thickness_mm) = wanted.end_thickness_mm {
        for (id, title, height) in
            [("end-tail", "Tail end panel", end_heights.0), ("end-tip", "Tip end panel", end_heights.1)]
        {
            let rows = rows(0.0, height, wanted.screw_pitch_mm);
            let screws = ribs_at.iter().flat_map(|y| rows.iter().map(|z| Point::new(*y, *z))).collect();
            panels.push(Panel {
                id: id.to_owned(),
                title: title.to_owned(),
                outline: rectangle(-half, 0.0, half, height)?,
                screws,
                thickness_mm,
            });
        }
    }
    if let Some(thickness_mm) = wanted.base_thickness_mm {
        let along = rows(tail, tip, wanted.screw_pitch_mm);
        let screws = ribs_at.iter().flat_map(|y| along.iter().map(|x| Point::new(*x, *y))).collect();
        panels.push(Panel {
            id: "base".to_owned(),
            title: "Base board".to_owned(),
            outline: rectangle(tail, -half, tip, half)?,
            screws,
            thickness_mm,
        });
    }
    Ok(panels)
}

/// The base board under bearers, with a screw mark near each end of every bearer.
pub(super) fn base(tail: f64, tip: f64, width_mm: f64, thickness_mm: f64, bearers: &[Bearer]) -> Result<Panel, Fault> {
    let half = 0.5 * width_mm;
    let inner = (half - SCREW_EDGE_MM).max(0.5 * half);
    let screws = bearers.iter().flat_map(|b| [Point::new(b.x_mm, -inner), Point::new(b.x_mm, inner)]).collect();
    Ok(Panel {
        id: "base".to_owned(),
        title: "Base board".to_owned(),
        outline: rectangle(tail, -half, tip, half)?,
        screws,
        thickness_mm,
    })
}

fn rectangle(x0: f64, y0: f64, x1: f64, y1: f64) -> Result<Contour, Fault> {
    Contour::polygon([Point::new(x0, y0), Point::new(x1, y0), Point::new(x1, y1), Point::new(x0, y1)]).map_err(|e| {
        Fault::new(
            "impossible-geometry",
            "table",
            format!("a panel has no size ({e:?})."),
            "Make the table longer, wider or higher.",
        )
    })
}

/// Evenly spread places between two ends, no further apart than `pitch`, the outer ones clear of the ends.
fn rows(from: f64, to: f64, pitch: f64) -> Vec<f64> {
    let (a, b) = (from + SCREW_EDGE_MM, to - SCREW_EDGE_MM);
    if b <= a {
        return vec![0.5 * (from + to)];
    }
    let count = ((b - a) / pitch).ceil().max(1.0) as usize;
    (0..=count).map(|i| a + (b - a) * i as f64 / count as f64).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn made(end_thickness_mm: Option<f64>, base_thickness_mm: Option<f64>, heights: (f64, f64)) -> Vec<Panel> {
        let wanted = BoxPanels { end_thickness_mm, base_thickness_mm, screw_pitch_mm: 100.0 };
        panels(&wanted, &[-50.0, 50.0], (-500.0, 500.0), heights, 118.0).unwrap()
    }

    #[test]
    fn only_the_panels_that_are_wanted_are_made() {
        let ids = |panels: Vec<Panel>| panels.into_iter().map(|p| p.id).collect::<Vec<_>>();
        assert_eq!(ids(made(Some(12.0), None, (90.0, 90.0))), ["end-tail", "end-tip"]);
        assert_eq!(ids(made(None, Some(9.0), (90.0, 90.0))), ["base"]);
        assert_eq!(made(None, None, (90.0, 90.0)), []);
    }

    #[test]
    fn a_low_panel_has_one_row_of_screws_in_its_middle() {
        let ends = made(Some(12.0), None, (30.0, 240.0));
        let points = |of: &[(f64, f64)]| of.iter().copied().map(Point::from).collect::<Vec<_>>();
        assert_eq!(ends[0].screws, points(&[(-50.0, 15.0), (50.0, 15.0)]));
        // Between 20 mm from both ends no row is further from the next than the pitch.
        let left = ends[1].screws.iter().filter(|p| p.x < 0.0).map(|p| p.y).collect::<Vec<_>>();
        assert_eq!(left, [20.0, 120.0, 220.0]);
    }

    #[test]
    fn a_panel_of_no_height_is_refused() {
        let wanted = BoxPanels { end_thickness_mm: Some(12.0), base_thickness_mm: None, screw_pitch_mm: 100.0 };
        let fault = panels(&wanted, &[0.0], (-500.0, 500.0), (0.0, 90.0), 118.0).unwrap_err();
        assert_eq!((fault.code, fault.path.as_str()), ("impossible-geometry", "table"));
        assert!(fault.message.starts_with("a panel has no size"), "{fault:?}");
    }
}
