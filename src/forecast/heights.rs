//! How high the ends of a board stand.

use crate::curve::{Curvature, Piece};

/// A place on the board as it is integrated: position, direction, and the curvature of the pieces around it.
#[derive(Debug, Clone, Copy)]
struct Place {
    s_mm: f64,
    x_mm: f64,
    z_mm: f64,
    angle_rad: f64,
}

/// Abscissae of the two-point Gauss rule on [0, 1]. Over a piece of a grid its error is a 4320th of the fourth power of
/// the angle turned, times the length: far below a micrometre.
const GAUSS: [f64; 2] = [0.211_324_865_405_187_1, 0.788_675_134_594_812_9];

/// Turns that bring a board to rest on two places; it takes two or three.
const MOST_TURNS: usize = 30;
/// Difference in height of the two places a board stands on that counts as none, mm.
const LEVEL_MM: f64 = 1e-6;

/// Heights of tail and tip above the lowest place, mm, of the part `finished_mm` of a base that stands on the floor at
/// `anchor_mm`: level there or, where it would come down elsewhere, on one place to either side.
///
/// The same as [`crate::curve::resting_pose`] finds, but quick enough for thousands of boards: it looks at the joints of
/// pieces only and computes the lowest place between two of them as a parabola's vertex. Where an end or the anchor is no
/// number, neither are the heights.
pub fn end_heights_mm(base: &Curvature, finished_mm: (f64, f64), anchor_mm: f64) -> (f64, f64) {
    if ![finished_mm.0, finished_mm.1, anchor_mm].iter().all(|x| x.is_finite()) {
        return (f64::NAN, f64::NAN);
    }
    let pieces = finished_pieces(base, finished_mm, anchor_mm);
    let mut places = integrate(&pieces);
    let anchor = places.iter().position(|p| p.s_mm >= anchor_mm).unwrap_or(places.len() - 1);
    let tilt = places[anchor].angle_rad;
    turn(&mut places, -tilt);
    for _ in 0..MOST_TURNS {
        let (left, right) = (lowest(&places[..=anchor], &pieces), lowest(&places[anchor..], &pieces[anchor..]));
        if (left.1 - right.1).abs() <= LEVEL_MM {
            break;
        }
        turn(&mut places, -libm::atan2(right.1 - left.1, right.0 - left.0));
    }
    let floor = lowest(&places, &pieces).1;
    (places[0].z_mm - floor, places[places.len() - 1].z_mm - floor)
}

/// The pieces of the finished part, with the anchor as a joint of its own. Ends beyond the base go on with its end's
/// curvature, as curves do.
fn finished_pieces(base: &Curvature, (from, to): (f64, f64), anchor_mm: f64) -> Vec<Piece> {
    let mut pieces: Vec<Piece> = Vec::with_capacity(base.pieces().len() + 3);
    let mut add = |p: &Piece| {
        let (start, end) = (p.start_mm.max(from), p.end_mm.min(to));
        if start == p.start_mm && end == p.end_mm && !(start < anchor_mm && anchor_mm < end) {
            pieces.push(*p);
            return;
        }
        let cuts = [start, anchor_mm.clamp(start, end.max(start)), end];
        for w in cuts.windows(2).filter(|w| w[1] > w[0]) {
            pieces.push(Piece { start_mm: w[0], end_mm: w[1], k_start_per_mm: p.at(w[0]), k_end_per_mm: p.at(w[1]) });
        }
    };
    let level = |start_mm: f64, end_mm: f64, k: f64| Piece { start_mm, end_mm, k_start_per_mm: k, k_end_per_mm: k };
    if from < base.start_mm() {
        add(&level(from, base.start_mm().min(to), base.at(base.start_mm())));
    }
    base.pieces().iter().for_each(&mut add);
    if to > base.end_mm() {
        add(&level(base.end_mm().max(from), to, base.at(base.end_mm())));
    }
    pieces
}

fn integrate(pieces: &[Piece]) -> Vec<Place> {
    let mut at = Place { s_mm: pieces.first().map_or(0.0, |p| p.start_mm), x_mm: 0.0, z_mm: 0.0, angle_rad: 0.0 };
    let mut places = Vec::with_capacity(pieces.len() + 1);
    places.push(at);
    for p in pieces {
        let length = p.length_mm();
        let turned = |t: f64| length * t * (p.k_start_per_mm + 0.5 * t * (p.k_end_per_mm - p.k_start_per_mm));
        for t in GAUSS {
            let (sin, cos) = libm::sincos(at.angle_rad + turned(t));
            at.x_mm += 0.5 * length * cos;
            at.z_mm += 0.5 * length * sin;
        }
        at.angle_rad += turned(1.0);
        at.s_mm = p.end_mm;
        places.push(at);
    }
    places
}

fn turn(places: &mut [Place], by_rad: f64) {
    let (sin, cos) = libm::sincos(by_rad);
    for p in places {
        (p.x_mm, p.z_mm) = (p.x_mm * cos - p.z_mm * sin, p.x_mm * sin + p.z_mm * cos);
        p.angle_rad += by_rad;
    }
}

/// Position (x, z) of the lowest place, mm; of several the first.
fn lowest(places: &[Place], pieces: &[Piece]) -> (f64, f64) {
    let mut best = (places[0].x_mm, places[0].z_mm);
    for i in 1..places.len() {
        let (from, to, piece) = (&places[i - 1], &places[i], &pieces[i - 1]);
        if to.z_mm < best.1 {
            best = (to.x_mm, to.z_mm);
        }
        // Falling, then rising: the bottom lies between, a parabola's vertex beyond the first place.
        if from.angle_rad < 0.0 && to.angle_rad > 0.0 {
            let run = piece.length_mm() * from.angle_rad / (from.angle_rad - to.angle_rad);
            let z = from.z_mm + 0.5 * from.angle_rad * run;
            if z < best.1 {
                best = (from.x_mm + run, z);
            }
        }
    }
    best
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::curve::{Curve, PlaneCurve, resting_pose};

    #[track_caller]
    fn as_resting(base: &Curvature, anchor_mm: f64) {
        let (from, to) = (base.start_mm() + 30.0, base.end_mm() - 20.0);
        let posed = resting_pose(&Curve::new(base.between(from, to).unwrap()), anchor_mm);
        let (tail, tip) = end_heights_mm(base, (from, to), anchor_mm);
        let expected = (posed.at(from).point.y, posed.at(to).point.y);
        assert!((tail - expected.0).abs() < 2e-3 && (tip - expected.1).abs() < 2e-3, "{tail} {tip} {expected:?}");
    }

    #[test]
    fn rockers_and_cambers_stand_as_their_resting_pose() {
        let arc = Curvature::constant(-700.0, 700.0, 1e-3).unwrap().refined(10.0);
        as_resting(&arc, 0.0);
        as_resting(&arc, 33.0);
        let kicked = Curvature::through(&[(-600.0, 2e-3), (-400.0, 0.0), (300.0, 0.0), (600.0, 3e-3)]).unwrap();
        as_resting(&kicked.refined(7.0), -50.0);
        let camber =
            Curvature::through(&[(-600.0, 3e-3), (-450.0, 2e-3), (-300.0, -2e-4), (350.0, -2e-4), (600.0, 3e-3)]);
        as_resting(&camber.unwrap().refined(7.0), 0.0);
        // A flat beside a camber, with noise: whether the flat bends up or down by nothing must not matter.
        for noise in [-1e-12, 0.0, 1e-12] {
            let p = |start_mm, end_mm, k| Piece { start_mm, end_mm, k_start_per_mm: k, k_end_per_mm: k };
            let pieces =
                vec![p(-400.0, -290.0, 3e-3), p(-290.0, 240.0, -1e-4), p(240.0, 280.0, noise), p(280.0, 400.0, 3e-3)];
            as_resting(&Curvature::new(pieces).unwrap().refined(7.0), 254.0);
        }
    }

    #[test]
    fn a_finished_end_beyond_the_base_goes_on_with_its_arc() {
        // The base of a drawn board differs from the expected one by millimetres.
        let arc = Curvature::constant(-500.0, 500.0, 1e-3).unwrap();
        let (tail, tip) = end_heights_mm(&arc.refined(10.0), (-510.0, 510.0), 0.0);
        let expected = 1000.0 * (1.0 - 0.51_f64.cos());
        assert!((tail - expected).abs() < 1e-6 && (tip - expected).abs() < 1e-6, "{tail} {tip} {expected}");
    }

    /// An arc that turns four radians to each side of the anchor goes round its circle and past the bottom there: level, its ends
    /// stand as much over the bottom as the circle rises from four radians on.
    #[test]
    fn a_hoop_that_passes_its_own_bottom_stays_level_at_its_anchor() {
        let hoop = Curvature::constant(-400.0, 400.0, -1e-2).unwrap().refined(1.0);
        let (tail, tip) = end_heights_mm(&hoop, (-400.0, 400.0), 0.0);
        let expected = 100.0 * (1.0 + 4.0_f64.cos());
        assert!((tail - expected).abs() < 1e-3 && (tip - expected).abs() < 1e-3, "{tail} {tip} {expected}");
    }

    #[test]
    fn no_number_in_no_number_out() {
        let arc = Curvature::constant(-500.0, 500.0, 1e-3).unwrap();
        for none in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
            for (finished, anchor) in [((none, 400.0), 0.0), ((-400.0, none), 0.0), ((-400.0, 400.0), none)] {
                let (tail, tip) = end_heights_mm(&arc, finished, anchor);
                assert!(tail.is_nan() && tip.is_nan(), "{finished:?} {anchor}");
            }
        }
    }
}
