//! Outlines moved to the waste side by half a kerf or by the cutter's radius.

use cavalier_contours::polyline::{BooleanOp, PlineOffsetOptions, PlineSource, PlineSourceMut, Polyline};
use kurbo::Point;

use super::ExportError;
use crate::drawing::{Contour, Drawing, Operation, Shape, Vertex, Work};

/// A drawing for a beam or cutter of some width that follows its lines with its middle.
#[derive(Debug, Clone, PartialEq)]
pub struct Offset {
    /// The drawing with its cuts moved; marks and notes stay.
    pub drawing: Drawing,
    /// Corners and necks that the cutter cannot get into.
    pub unreached: Vec<Unreached>,
}

/// Waste that stays along one outline because the cutter is too wide for corners, necks or reliefs.
#[derive(Debug, Clone, PartialEq)]
pub struct Unreached {
    /// The part's id.
    pub part: String,
    /// Which cut.
    pub operation: Operation,
    /// How much stays in each of the places, mm², the largest first.
    pub places_mm2: Vec<f64>,
}

/// Corners more open than this are left to the cutter's own round, as a share of what it leaves in a square corner,
/// (1 - pi/4) r²: a corner of 135 degrees leaves a tenth.
const OPEN_CORNER: f64 = 0.5;

/// Pieces of an offset outline shorter than this are taken out, mm. They stand where the outline's direction breaks by
/// less than a machine can follow; taking one out moves the path by less than its length.
const SHORTEST_MM: f64 = 0.01;

/// Moves every cut by `offset_mm` (half a kerf, or the cutter's radius) to its waste side: outlines grow, holes shrink.
///
/// Drilled holes shrink with the others where a `beam` cuts them; a drill makes them as wide as they are drawn.
///
/// Convex corners get arcs of that radius, so that the cutter stays at the material; reliefs wider than the cutter are
/// kept, and what is narrower is listed as unreached.
///
/// # Errors
/// [`ExportError::CutterTooWide`] when nothing of a hole is left, [`ExportError::OpenCut`] for an open cut.
pub fn offset_to_waste(drawing: &Drawing, offset_mm: f64, beam: bool) -> Result<Offset, ExportError> {
    let mut moved = Drawing { parts: Vec::new(), ..drawing.clone() };
    let mut unreached = Vec::new();
    for part in &drawing.parts {
        let mut works = Vec::with_capacity(part.works.len());
        for work in &part.works {
            let grow = match work.operation {
                Operation::CutOutside => true,
                Operation::CutInside => false,
                Operation::Drill if beam => false,
                Operation::Drill | Operation::Mark | Operation::Note => {
                    works.push(work.clone());
                    continue;
                }
            };
            let too_wide = || ExportError::CutterTooWide { part: part.id.clone(), diameter_mm: 2.0 * offset_mm };
            let put = |shape| Work { operation: work.operation, shape };
            match &work.shape {
                Shape::Text(_) => works.push(work.clone()),
                Shape::Circle { center, radius_mm } => {
                    let radius_mm = if grow { radius_mm + offset_mm } else { radius_mm - offset_mm };
                    if radius_mm <= 0.0 {
                        return Err(too_wide());
                    }
                    works.push(put(Shape::Circle { center: *center, radius_mm }));
                }
                Shape::Contour(contour) => {
                    if !contour.is_closed() {
                        return Err(ExportError::OpenCut { part: part.id.clone() });
                    }
                    let (outlines, places_mm2) = offset_outline(contour, if grow { offset_mm } else { -offset_mm });
                    if outlines.is_empty() {
                        return Err(too_wide());
                    }
                    if !places_mm2.is_empty() {
                        unreached.push(Unreached { part: part.id.clone(), operation: work.operation, places_mm2 });
                    }
                    works.extend(outlines.into_iter().map(|c| put(Shape::Contour(c))));
                }
            }
        }
        moved.parts.push(crate::drawing::Part { works, ..part.clone() });
    }
    Ok(Offset { drawing: moved, unreached })
}

/// The outline grown by `grow_mm` (shrunk if negative), and the areas that growing and shrinking back does not restore.
fn offset_outline(contour: &Contour, grow_mm: f64) -> (Vec<Contour>, Vec<f64>) {
    let mut line = Polyline::new_closed();
    for v in contour.vertices() {
        line.add(v.point.x, v.point.y, v.bulge);
    }
    if contour.signed_area_mm2() < 0.0 {
        line.invert_direction_mut();
    }
    // Positive offsets of the crate go to the left: inward on a counter-clockwise outline.
    let options = PlineOffsetOptions { handle_self_intersects: true, ..PlineOffsetOptions::default() };
    let grown = line.parallel_offset_opt(-grow_mm, &options);
    let back: Vec<Polyline> = grown.iter().flat_map(|g| g.parallel_offset_opt(grow_mm, &options)).collect();
    let outlines = grown.iter().filter_map(cleaned).collect();
    let least = OPEN_CORNER * (1.0 - std::f64::consts::FRAC_PI_4) * grow_mm * grow_mm;
    let mut places = left_over(&line, &back, grow_mm > 0.0);
    places.retain(|area| *area > least);
    places.sort_by(|a, b| b.total_cmp(a));
    (outlines, places)
}

/// Areas between an outline and what became of it when it was grown and shrunk back, place by place.
fn left_over(line: &Polyline, back: &[Polyline], grew: bool) -> Vec<f64> {
    let total = (back.iter().map(PlineSource::area).sum::<f64>() - line.area()).abs();
    if let [only] = back {
        let (large, small) = if grew { (only, line) } else { (line, only) };
        let apart = large.boolean(small, BooleanOp::Not);
        let places: Vec<f64> = apart.pos_plines.iter().map(|p| p.pline.area().abs()).collect();
        // Outlines that run along each other are the hardest thing to tell apart: believed when the sum is right.
        if (places.iter().sum::<f64>() - total).abs() < 0.01 * total.max(1e-3) {
            return places;
        }
    }
    vec![total]
}

fn cleaned(line: &Polyline) -> Option<Contour> {
    let mut vertices: Vec<Vertex> = Vec::with_capacity(line.vertex_count());
    for v in line.iter_vertexes() {
        let vertex = Vertex { point: Point::new(v.x, v.y), bulge: v.bulge };
        match vertices.last_mut() {
            // The short piece goes; what led to its beginning leads to its end, and its end goes on as before.
            Some(last) if last.point.distance(vertex.point) < SHORTEST_MM => *last = vertex,
            _ => vertices.push(vertex),
        }
    }
    while vertices.len() > 2 && vertices[0].point.distance(vertices[vertices.len() - 1].point) < SHORTEST_MM {
        vertices.pop();
    }
    Contour::closed(vertices).ok()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawing::Part;
    use std::f64::consts::PI;

    fn outline(corners: &[(f64, f64, f64)]) -> Contour {
        Contour::closed(corners.iter().map(|&(x, y, bulge)| Vertex { point: Point::new(x, y), bulge }).collect())
            .unwrap()
    }

    fn moved(operation: Operation, shape: Shape, offset_mm: f64) -> Result<Offset, ExportError> {
        let mut part = Part::new("rib-1", "Rib 1");
        part.add(operation, shape);
        offset_to_waste(&Drawing { title: "t".into(), origin: "o".into(), parts: vec![part] }, offset_mm, false)
    }

    #[track_caller]
    fn area(offset: &Offset) -> f64 {
        let contour = |w: &Work| match &w.shape {
            Shape::Contour(c) => c.signed_area_mm2().abs(),
            Shape::Circle { radius_mm, .. } => PI * radius_mm * radius_mm,
            Shape::Text(_) => 0.0,
        };
        offset.drawing.parts[0].works.iter().map(contour).sum()
    }

    const RECTANGLE: [(f64, f64, f64); 4] = [(0.0, 0.0, 0.0), (300.0, 0.0, 0.0), (300.0, 80.0, 0.0), (0.0, 80.0, 0.0)];

    #[test]
    fn an_outline_grows_by_perimeter_and_circle() {
        // Steiner's formula for convex outlines: A + P d + pi d²; both ways round.
        for contour in [outline(&RECTANGLE), outline(&RECTANGLE).reversed()] {
            let offset = moved(Operation::CutOutside, Shape::Contour(contour), 3.0).unwrap();
            assert!((area(&offset) - (24_000.0 + 760.0 * 3.0 + PI * 9.0)).abs() < 1e-6);
            assert!(offset.unreached.is_empty());
        }
    }

    #[test]
    fn a_hole_shrinks_and_its_corners_stay_unreached() {
        let offset = moved(Operation::CutInside, Shape::Contour(outline(&RECTANGLE)), 3.0).unwrap();
        assert!((area(&offset) - 294.0 * 74.0).abs() < 1e-6);
        // A cutter of radius r leaves (4 - pi) r² in four square corners.
        let places = &offset.unreached[0].places_mm2;
        assert_eq!(places.len(), 4);
        assert!(places.iter().all(|a| (a - (1.0 - PI / 4.0) * 9.0).abs() < 1e-6), "{places:?}");
        let round = moved(Operation::CutInside, Shape::Circle { center: Point::ORIGIN, radius_mm: 5.0 }, 3.0).unwrap();
        assert!((area(&round) - PI * 4.0).abs() < 1e-9);
    }

    #[test]
    fn a_relief_as_wide_as_the_cutter_is_kept() {
        // A slot of 20 x 50 whose corners are drilled out by half circles of radius 3.2 that end in the walls and pass
        // through the corner points.
        let d = 3.2 * 2.0_f64.sqrt();
        let slot = [
            (d, 0.0, 0.0),
            (20.0 - d, 0.0, 1.0),
            (20.0, d, 0.0),
            (20.0, 50.0 - d, 1.0),
            (20.0 - d, 50.0, 0.0),
            (d, 50.0, 1.0),
            (0.0, 50.0 - d, 0.0),
            (0.0, d, 1.0),
        ];
        let fits = moved(Operation::CutInside, Shape::Contour(outline(&slot)), 3.0).unwrap();
        assert!(fits.unreached.is_empty(), "{:?}", fits.unreached);
        let wide = moved(Operation::CutInside, Shape::Contour(outline(&slot)), 4.0).unwrap();
        assert!(wide.unreached[0].places_mm2[0] > 1.0);
    }

    #[test]
    fn breaks_of_direction_leave_no_splinters() {
        let mut corners: Vec<(f64, f64, f64)> = RECTANGLE.to_vec();
        corners.insert(3, (150.0, 80.05, 0.0));
        let offset = moved(Operation::CutOutside, Shape::Contour(outline(&corners)), 3.0).unwrap();
        let Shape::Contour(c) = &offset.drawing.parts[0].works[0].shape else { panic!() };
        assert!(c.segments().all(|(a, _, b)| a.distance(b) > 1.0), "{c:?}");
        assert!((c.bounds().y1 - 83.05).abs() < 0.002);
    }

    #[test]
    fn marks_and_drills_stay_and_narrow_holes_are_refused() {
        let circle = Shape::Circle { center: Point::ORIGIN, radius_mm: 2.0 };
        for operation in [Operation::Drill, Operation::Mark] {
            let kept = moved(operation, circle.clone(), 3.0).unwrap();
            assert_eq!(kept.drawing.parts[0].works[0].shape, circle);
        }
        let refused = ExportError::CutterTooWide { part: "rib-1".into(), diameter_mm: 6.0 };
        assert_eq!(moved(Operation::CutInside, circle, 3.0), Err(refused.clone()));
        let slit = outline(&[(0.0, 0.0, 0.0), (90.0, 0.0, 0.0), (90.0, 5.0, 0.0), (0.0, 5.0, 0.0)]);
        assert_eq!(moved(Operation::CutInside, Shape::Contour(slit), 3.0), Err(refused));
    }

    #[test]
    fn a_beam_shrinks_drilled_holes_by_half_its_kerf_all_round() {
        let mut part = Part::new("rib-1", "Rib 1");
        part.add(Operation::Drill, Shape::Circle { center: Point::new(3.0, 4.0), radius_mm: 5.0 });
        let drawing = Drawing { title: "t".into(), origin: "o".into(), parts: vec![part] };
        for (beam, radius_mm) in [(true, 4.9), (false, 5.0)] {
            let moved = offset_to_waste(&drawing, 0.1, beam).unwrap().drawing;
            let expected = Shape::Circle { center: Point::new(3.0, 4.0), radius_mm };
            assert_eq!(moved.parts[0].works[0].shape, expected);
        }
    }
}
