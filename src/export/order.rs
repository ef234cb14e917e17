//! What every drawing format writes, in the order in which a machine does it.

use std::collections::BTreeMap;

use super::ExportError;
use crate::drawing::{Drawing, Operation, Part, Shape, Work};

/// Parts with their work in machining order; work that is in the drawing twice comes once, and an outline of two lines
/// there and back (which encloses nothing) not at all.
///
/// # Errors
/// [`ExportError::Empty`] without parts, [`ExportError::OpenCut`] for a cut along an open path.
pub(super) fn in_machining_order(drawing: &Drawing) -> Result<Vec<(&Part, Vec<&Work>)>, ExportError> {
    if drawing.parts.is_empty() {
        return Err(ExportError::Empty);
    }
    // By place: large drawings have a hundred thousand works, and only those that begin at one place can be equal.
    let mut seen: BTreeMap<(u64, u64), Vec<&Work>> = BTreeMap::new();
    let mut parts = Vec::with_capacity(drawing.parts.len());
    for part in &drawing.parts {
        let mut works = Vec::with_capacity(part.works.len());
        for work in part.in_order() {
            if let Shape::Contour(contour) = &work.shape {
                let cut = matches!(work.operation, Operation::CutInside | Operation::CutOutside);
                if cut && !contour.is_closed() {
                    return Err(ExportError::OpenCut { part: part.id.clone() });
                }
                let vertices = contour.vertices();
                if contour.is_closed() && vertices.len() == 2 && vertices.iter().all(|v| v.bulge == 0.0) {
                    continue;
                }
            }
            let there = seen.entry(place(&work.shape)).or_default();
            if !there.contains(&work) {
                there.push(work);
                works.push(work);
            }
        }
        parts.push((part, works));
    }
    Ok(parts)
}

/// Where a shape begins, as bits; equal for equal shapes.
fn place(shape: &Shape) -> (u64, u64) {
    let at = match shape {
        Shape::Contour(contour) => contour.vertices()[0].point,
        Shape::Circle { center, .. } => *center,
        Shape::Text(text) => text.at,
    };
    // Minus zero is equal to zero and has other bits.
    ((at.x + 0.0).to_bits(), (at.y + 0.0).to_bits())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawing::{Contour, Vertex};
    use kurbo::Point;

    fn square() -> Shape {
        let corners = [(0.0, 0.0), (9.0, 0.0), (9.0, 9.0), (0.0, 9.0)];
        Shape::Contour(Contour::polygon(corners.map(Point::from)).unwrap())
    }

    fn drawing(works: &[(Operation, Shape)]) -> Drawing {
        let mut part = Part::new("rib-1", "Rib 1");
        works.iter().for_each(|(operation, shape)| part.add(*operation, shape.clone()));
        Drawing { title: "t".into(), origin: "o".into(), parts: vec![part] }
    }

    #[test]
    fn doubled_work_is_written_once_and_outlines_come_last() {
        let d = drawing(&[
            (Operation::CutOutside, square()),
            (Operation::CutOutside, square()),
            (Operation::Drill, Shape::Circle { center: Point::new(4.0, 4.0), radius_mm: 1.0 }),
        ]);
        let order = in_machining_order(&d).unwrap();
        let operations: Vec<_> = order[0].1.iter().map(|w| w.operation).collect();
        assert_eq!(operations, [Operation::Drill, Operation::CutOutside]);
    }

    #[test]
    fn open_cuts_and_empty_drawings_are_refused() {
        let ends = [Point::new(0.0, 0.0), Point::new(1.0, 0.0)].map(Vertex::line);
        let open = Shape::Contour(Contour::open(ends.to_vec()).unwrap());
        let refused = drawing(&[(Operation::CutInside, open.clone())]);
        assert_eq!(in_machining_order(&refused), Err(ExportError::OpenCut { part: "rib-1".into() }));
        assert!(in_machining_order(&drawing(&[(Operation::Mark, open)])).is_ok());
        let empty = Drawing { parts: vec![], ..drawing(&[]) };
        assert_eq!(in_machining_order(&empty), Err(ExportError::Empty));
    }
}
