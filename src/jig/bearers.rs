//! A jig built by hand: bearers across a base board, packed to height.

use kurbo::Point;

use super::concave::Across;
use super::cross::{height_over, place_at};
use super::demand::Demand;
use crate::codes;
use crate::curve::{LARGEST_RADIUS_MM, Parallel, PlaneCurve};
use crate::drawing::{Arc, Contour, ContourError, Vertex};
use crate::finding::{Fault, Finding, Held, Verdict};
use crate::job::Bearers;
use crate::units::{Phrase, Quantity, phrase};

/// A bearer across the table.
#[derive(Debug, Clone, PartialEq)]
pub struct Bearer {
    /// Number from the tail, 1 first.
    pub number: usize,
    /// Where its middle stands along the base board, mm from the middle of the table.
    pub x_mm: f64,
    /// Height of its top at its middle above the base board, as computed, mm.
    pub height_mm: f64,
    /// Bevel of its top, rad, positive when it rises toward the tip.
    pub bevel_rad: f64,
    /// Height to which it is cut at its middle, mm.
    pub cut_height_mm: f64,
    /// Packing under it, the thickest first, mm.
    pub packing_mm: Vec<f64>,
    /// Height with packing less the computed height, mm.
    pub error_mm: f64,
    /// Height of the blank that it is cut from, mm: its bevel is planed off what stands above the face line.
    pub blank_height_mm: f64,
    /// Its section at its middle when it is finished: (y, z) across the table, mm, without packing.
    pub outline: Contour,
    /// What is cut out of the stock: (y, z) across the table, mm, `blank_height_mm` high, without packing.
    pub blank: Contour,
    /// Where the bevelled top meets the lower one of its faces: an open line across that face, mm.
    pub face_line: Contour,
    /// Length across the table, mm.
    pub length_mm: f64,
    /// Thickness along the table, mm.
    pub thickness_mm: f64,
}

impl Bearer {
    /// Short name of ASCII letters, digits and hyphens.
    pub fn id(&self) -> String {
        format!("bearer-{}", self.number)
    }

    /// Whether its lower face, which carries the face line, looks to the tip.
    pub(crate) fn face_to_tip(&self) -> bool {
        self.bevel_rad < 0.0
    }
}

/// Maximum number of bearers of one table.
const MOST_BEARERS: usize = 300;
/// Maximum number of pieces of packing under one bearer: more would not lie still (common practice, no source).
const MOST_PACKING: usize = 4;
/// How much nearer one more piece of packing must bring a bearer, mm: finer than a skin shows.
const PIECE_WORTH_MM: f64 = 0.02;
/// Cut heights that are tried below the computed one, in steps.
const CUTS_TRIED: u32 = 6;

/// Bearers under the top edge of the skin's underside, from one end of the table to the other.
pub(super) fn bearers(
    wanted: &Bearers,
    top: &Parallel<'_>,
    demand: &Demand,
    depth_mm: f64,
    width_mm: f64,
) -> Result<Vec<Bearer>, Fault> {
    let wanted_pitch = wanted.pitch_mm.unwrap_or(demand.clear_mm.1 + wanted.thickness_mm);
    let (from, to) = top.range_mm();
    let half_thick = 0.5 * wanted.thickness_mm;
    let (tail, tip) = (top.at(from).point.x + half_thick, top.at(to).point.x - half_thick);
    let bays = ((tip - tail) / wanted_pitch).ceil().max(1.0) as usize;
    if bays >= MOST_BEARERS {
        return Err(Fault::new(
            codes::TOO_MANY,
            "table.bearers.pitch",
            format!("the table would have {} bearers.", bays + 1),
            format!("At most {MOST_BEARERS}: use a larger pitch."),
        ));
    }
    let pitch = (tip - tail) / bays as f64;
    if pitch < 1.2 * wanted.thickness_mm {
        return Err(codes::BEARERS_MEET.at(
            "table.bearers.pitch",
            phrase!(
                "bearers {} thick at a pitch of {} leave no room between them.",
                Quantity::exact(wanted.thickness_mm),
                Quantity::exact(pitch)
            ),
        ));
    }
    let skin = Underside { top, across: &demand.across, depth_mm, width_mm };
    (0..=bays).map(|i| bearer(wanted, &skin, i + 1, tail + pitch * i as f64)).collect()
}

/// The skin's underside, which the bearers are to touch.
struct Underside<'a> {
    /// Along the table.
    top: &'a Parallel<'a>,
    across: &'a Across,
    /// Below the surface that the board lies on, mm.
    depth_mm: f64,
    width_mm: f64,
}

fn bearer(wanted: &Bearers, skin: &Underside<'_>, number: usize, x_mm: f64) -> Result<Bearer, Fault> {
    let &Underside { top, across, depth_mm, width_mm } = skin;
    let on = top.at(place_at(top, x_mm));
    let height_mm = on.point.y;
    let (cut_height_mm, packing_mm) = pack(height_mm, wanted.cut_step_mm, &wanted.packing_mm);
    if cut_height_mm < 0.5 * wanted.thickness_mm {
        return Err(codes::BEARER_TOO_LOW.at(
            "table.bearers.lowest_height",
            phrase!("bearer {} would be only {} high.", number, Quantity::exact(cut_height_mm)),
        ));
    }
    let error_mm = cut_height_mm + packing_mm.iter().sum::<f64>() - height_mm;
    let half = 0.5 * width_mm;
    let no_path = |e| {
        Fault::new(
            codes::IMPOSSIBLE_GEOMETRY,
            "table.concave",
            format!("a bearer's top cannot be drawn ({e})."),
            "Make the concave flatter.",
        )
    };
    let bevel_mm = 0.5 * wanted.thickness_mm * libm::tan(on.angle_rad).abs();
    // A hollow that varies along the table is another one at each face.
    let toward_high_mm = 0.5 * wanted.thickness_mm.copysign(on.angle_rad);
    let section = |toward_mm: f64, at_middle_mm: f64| {
        let place = place_at(top, x_mm + toward_mm);
        move |y: f64| at_middle_mm + across.rise_mm(place, y, depth_mm)
    };
    let high = crown(half, section(toward_high_mm, cut_height_mm + bevel_mm)).map_err(no_path)?;
    let middle = crown(half, section(0.0, cut_height_mm)).map_err(no_path)?;
    let face_line = crown(half, section(-toward_high_mm, cut_height_mm - bevel_mm)).map_err(no_path)?;
    let highest = high.bounds().y1;
    // A straight blank is ripped to the next step of the rule; a hollow or crowned one is sawn along its curve.
    let blank_height_mm =
        if across.is_flat() { (highest / wanted.cut_step_mm - 1e-9).ceil() * wanted.cut_step_mm } else { highest };
    let blank = section(toward_high_mm, blank_height_mm - highest + cut_height_mm + bevel_mm);
    let top = crown(half, blank).map_err(no_path)?;
    Ok(Bearer {
        number,
        x_mm,
        height_mm,
        bevel_rad: on.angle_rad,
        cut_height_mm,
        packing_mm,
        error_mm,
        blank_height_mm,
        outline: under(&middle).map_err(no_path)?,
        blank: under(&top).map_err(no_path)?,
        face_line,
        length_mm: width_mm,
        thickness_mm: wanted.thickness_mm,
    })
}

/// How far the flat bevels stand above the curve that the skin has to follow, for the bearer where that is most, mm.
///
/// A flat top touches the curve in its middle; over a hump its edges stand above it.
pub(super) fn proud_finding(bearers: &[Bearer], top: &Parallel<'_>) -> Option<Finding> {
    let proud = |b: &Bearer| {
        let at = |side: f64| {
            let x = b.x_mm + 0.5 * side * b.thickness_mm;
            b.height_mm + (x - b.x_mm) * libm::tan(b.bevel_rad) - height_over(top, x)
        };
        at(-1.0).max(at(1.0)).max(0.0)
    };
    let (worst, proud_mm) = bearers.iter().map(|b| (b, proud(b))).max_by(|a, b| a.1.total_cmp(&b.1))?;
    let verdict = if proud_mm > MOST_PROUD_MM { Verdict::Watch } else { Verdict::Ok };
    let remedy = match verdict {
        Verdict::Ok => Phrase::default(),
        _ => "Round the tops of the bearers to the curve, or use thinner bearers.".into(),
    };
    Some(
        codes::BEARER_PROUD
            .check(
                format!("flat bevel above the table's curve, bearer {}", worst.number),
                (verdict, Held::at_most(Quantity::fine(proud_mm), Quantity::fine(MOST_PROUD_MM))),
            )
            .with_remedy(remedy),
    )
}

/// How far the heights that can be cut and packed differ from the table's, for the bearer where that is most.
pub(super) fn height_finding(bearers: &[Bearer]) -> Option<Finding> {
    let worst = bearers.iter().max_by(|a, b| a.error_mm.abs().total_cmp(&b.error_mm.abs()))?;
    let subject = format!("bearer {} beside its height on the table", worst.number);
    Some(codes::BEARER_HEIGHT.check(subject, Verdict::over(worst.error_mm.abs(), HEIGHT_ERROR_MM, Quantity::fine)))
}

/// Height errors of a bearer to watch and to stop at, mm: nobody and everybody measures them with a straightedge (common
/// practice, no source).
const HEIGHT_ERROR_MM: (f64, f64) = (0.25, 1.5);

/// How far a flat bevel may stand above the curve before the skin shows it, mm (common practice, no source).
const MOST_PROUD_MM: f64 = 0.2;

/// The outline below a top edge that runs from right to left: upright ends and a flat base at 0.
pub(super) fn under(top: &Contour) -> Result<Contour, ContourError> {
    let edge = top.vertices();
    let (right, left) = (edge[0].point.x, edge[edge.len() - 1].point.x);
    let mut vertices = vec![Vertex::line(Point::new(left, 0.0)), Vertex::line(Point::new(right, 0.0))];
    vertices.extend_from_slice(edge);
    Contour::closed(vertices)
}

/// How far points may lie off one arc before a top edge takes several, mm: rounding only.
const SAME_ARC_MM: f64 = 1e-6;

/// A top edge across the table from `half` to `-half`, through the heights that `height_at` gives: one line or arc where
/// that is all there is, else arcs through points every few millimetres.
pub(super) fn crown(half: f64, height_at: impl Fn(f64) -> f64) -> Result<Contour, ContourError> {
    let at = |y: f64| Point::new(y, height_at(y));
    let count = (2.0 * half / ARC_MM).ceil().max(4.0) as usize;
    let place = |i: usize| half - 2.0 * half * i as f64 / count as f64;
    let through = |from: Point, middle: Point, to: Point| {
        // Bulge of the arc through three points: twice its sagitta over its chord, positive to the right of the way.
        let chord = to - from;
        let sagitta = chord.cross(middle - from) / chord.hypot();
        // What is flatter than any arc that is cut is a line; rounding makes arcs of it that reach to the moon.
        let flat = sagitta.abs() < chord.hypot2() / (8.0 * LARGEST_RADIUS_MM);
        Vertex { point: from, bulge: if flat { 0.0 } else { -2.0 * sagitta / chord.hypot() } }
    };
    let whole = through(at(half), at(0.0), at(-half));
    let off = |p: Point| match Arc::from_bulge(whole.point, whole.bulge, at(-half)) {
        Some(arc) => (p.distance(arc.center) - arc.radius_mm).abs(),
        None => (p.y - whole.point.y).abs(),
    };
    if (0..=count).all(|i| off(at(place(i))) < SAME_ARC_MM) {
        return Contour::open(vec![whole, Vertex::line(at(-half))]);
    }
    let mut vertices = Vec::with_capacity(count + 1);
    for i in 0..count {
        let (a, b) = (place(i), place(i + 1));
        vertices.push(through(at(a), at(0.5 * (a + b)), at(b)));
    }
    vertices.push(Vertex::line(at(-half)));
    Contour::open(vertices)
}

/// Length of the arcs that a concave is drawn with, mm: on a radius of half a metre they leave it by less than 0.001 mm.
const ARC_MM: f64 = 12.0;

/// The cut height and the packing that come nearest to a height; of equal ones those with the fewest pieces.
fn pack(height: f64, step: f64, sizes: &[f64]) -> (f64, Vec<f64>) {
    let nearest = (height / step).floor() * step;
    let mut best = ((height / step).round() * step, Vec::new());
    let worth = |cut: f64, packing: &[f64]| {
        (cut + packing.iter().sum::<f64>() - height).abs() + PIECE_WORTH_MM * packing.len() as f64
    };
    for i in 0..CUTS_TRIED {
        let cut = nearest - step * f64::from(i);
        if cut <= 0.0 {
            break;
        }
        let packing = fill(height - cut, sizes);
        if worth(cut, &packing) < worth(best.0, &best.1) - 1e-9 {
            best = (cut, packing);
        }
    }
    best
}

/// The few sizes (each as often as wanted) whose sum comes nearest to `rest`.
fn fill(rest: f64, sizes: &[f64]) -> Vec<f64> {
    fn search(rest: f64, sizes: &[f64], taken: &mut Vec<f64>, best: &mut (f64, Vec<f64>)) {
        let error = rest.abs();
        if error < best.0 - 1e-9 || ((error - best.0).abs() <= 1e-9 && taken.len() < best.1.len()) {
            *best = (error, taken.clone());
        }
        if taken.len() == MOST_PACKING || rest <= 0.0 {
            return;
        }
        for (i, size) in sizes.iter().enumerate() {
            taken.push(*size);
            search(rest - size, &sizes[i..], taken, best);
            taken.pop();
        }
    }
    let mut best = (rest.abs(), Vec::new());
    search(rest, sizes, &mut Vec::new(), &mut best);
    best.1
}

#[cfg(test)]
mod tests {
    use super::super::concave::tests::section;
    use super::*;
    use crate::job::{Concave, Lies};

    #[test]
    fn packing_comes_as_near_as_its_sizes_allow() {
        let (cut, packing) = pack(61.73, 1.0, &[3.0, 2.0, 1.0, 0.5]);
        let sum: f64 = cut + packing.iter().sum::<f64>();
        assert!((sum - 61.73).abs() <= 0.25 + 1e-9, "{cut} {packing:?}");
        let (cut, packing) = pack(61.73, 1.0, &[0.5, 0.2, 0.1]);
        assert!((cut + packing.iter().sum::<f64>() - 61.73).abs() <= 0.0301, "{cut} {packing:?}");
        assert_eq!(pack(61.7, 1.0, &[]), (62.0, Vec::new()));
    }

    #[test]
    fn few_pieces_are_preferred_to_many() {
        assert_eq!(fill(3.0, &[3.0, 1.0, 0.5]), vec![3.0]);
        assert_eq!(fill(3.5, &[3.0, 1.0, 0.5]), vec![3.0, 0.5]);
        // Found after 4 + 1 + 1, which comes as near.
        assert_eq!(fill(6.0, &[4.0, 3.0, 1.0]), vec![3.0, 3.0]);
    }

    #[test]
    fn no_bearer_is_cut_to_nothing_for_its_packing() {
        // A packing of 0.7 mm alone would meet the height.
        assert_eq!(pack(0.7, 1.0, &[0.7]), (1.0, Vec::new()));
        assert_eq!(pack(1.7, 1.0, &[0.7]), (1.0, vec![0.7]));
    }

    #[test]
    fn a_concave_top_is_met_by_its_arcs() {
        let profile = vec![(40.0, 0.0), (80.0, 1.0), (120.0, 4.0)];
        let hollow = Concave::Profile(profile);
        for (wanted, arcs, lies) in [
            (Concave::Radius(500.0), 1, Lies::BaseDown),
            (Concave::Radius(500.0), 1, Lies::DeckDown),
            (hollow.clone(), 25, Lies::BaseDown),
            (hollow, 25, Lies::DeckDown),
        ] {
            let across = Across::new(&wanted, 240.0, &section(0.0, 0.0), lies);
            let top = crown(150.0, |y| 60.0 + across.rise_mm(0.0, y, 6.0)).unwrap();
            assert_eq!(top.vertices().len(), arcs + 1);
            for p in top.flattened(1e-4) {
                let expected = 60.0 + across.rise_mm(0.0, p.x, 6.0);
                assert!((p.y - expected).abs() < 5e-3, "{p:?} is not at {expected}");
            }
        }
        assert_eq!(crown(150.0, |_| 60.0).unwrap().vertices().len(), 2);
    }
}
