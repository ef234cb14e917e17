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

/// Times that a camber is laid on its two supports until these stay the same.
const MOST_TURNS: usize = 30;

/// Heights of tail and tip over the lowest place, mm, of the part `finished_mm` of a base that stands on the floor at
/// `anchor_mm`: level there where it bends up, on one place to either side where it bends down.
///
/// The same as [`crate::curve::resting_pose`] finds, but quick enough for thousands of boards: it looks at the joints of
/// pieces only and computes the lowest place between two of them from the direction at the lower one.
pub fn end_heights_mm(base: &Curvature, finished_mm: (f64, f64), anchor_mm: f64) -> (f64, f64) {
    let mut pieces: Vec<Piece> = Vec::with_capacity(base.pieces().len() + 1);
    for p in base.pieces() {
        // Ends beyond the last piece go on with its curvature, as curves do.
        let first = p.start_mm == base.start_mm();
        let last = p.end_mm == base.end_mm();
        let from = if first { finished_mm.0 } else { p.start_mm.max(finished_mm.0) };
        let to = if last { finished_mm.1 } else { p.end_mm.min(finished_mm.1) };
        // The anchor becomes a joint of its own.
        let cuts = [from, anchor_mm.clamp(from, to.max(from)), to];
        for w in cuts.windows(2).filter(|w| w[1] > w[0]) {
            pieces.push(Piece { start_mm: w[0], end_mm: w[1], k_start: p.at(w[0]), k_end: p.at(w[1]) });
        }
    }
    let mut places = integrate(&pieces);
    let anchor = places.iter().position(|p| p.s_mm >= anchor_mm).unwrap_or(places.len() - 1);
    let tilt = places[anchor].angle_rad;
    turn(&mut places, -tilt);
    if base.at(anchor_mm) < 0.0 {
        for _ in 0..MOST_TURNS {
            let (left, right) = (lowest(&places[..=anchor], &pieces), lowest(&places[anchor..], &pieces[anchor..]));
            let tilt = (right.1 - left.1).atan2(right.0 - left.0);
            turn(&mut places, -tilt);
            if tilt.abs() < 1e-12 {
                break;
            }
        }
    }
    let floor = lowest(&places, &pieces).1;
    (places[0].z_mm - floor, places[places.len() - 1].z_mm - floor)
}

fn integrate(pieces: &[Piece]) -> Vec<Place> {
    let mut at = Place { s_mm: pieces.first().map_or(0.0, |p| p.start_mm), x_mm: 0.0, z_mm: 0.0, angle_rad: 0.0 };
    let mut places = Vec::with_capacity(pieces.len() + 1);
    places.push(at);
    for p in pieces {
        let length = p.length_mm();
        for t in GAUSS {
            let (sin, cos) = (at.angle_rad + p.turned_to(p.start_mm + t * length)).sin_cos();
            at.x_mm += 0.5 * length * cos;
            at.z_mm += 0.5 * length * sin;
        }
        at.angle_rad += p.turned_to(p.end_mm);
        at.s_mm = p.end_mm;
        places.push(at);
    }
    places
}

fn turn(places: &mut [Place], by_rad: f64) {
    let (sin, cos) = by_rad.sin_cos();
    for p in places {
        (p.x_mm, p.z_mm) = (p.x_mm * cos - p.z_mm * sin, p.x_mm * sin + p.z_mm * cos);
        p.angle_rad += by_rad;
    }
}

/// Position (x, z) of the lowest place, mm.
fn lowest(places: &[Place], pieces: &[Piece]) -> (f64, f64) {
    let mut best = (places[0].x_mm, places[0].z_mm);
    for (w, piece) in places.windows(2).zip(pieces) {
        if w[1].z_mm < best.1 {
            best = (w[1].x_mm, w[1].z_mm);
        }
        // Falling, then rising: the bottom lies between, a parabola's vertex beyond the first place.
        if w[0].angle_rad < 0.0 && w[1].angle_rad > 0.0 {
            let run = piece.length_mm() * w[0].angle_rad / (w[0].angle_rad - w[1].angle_rad);
            let z = w[0].z_mm + 0.5 * w[0].angle_rad * run;
            if z < best.1 {
                best = (w[0].x_mm + run, z);
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
    }

    #[test]
    fn a_finished_end_beyond_the_base_goes_on_with_its_arc() {
        // The base of a drawn board differs from the expected one by millimetres.
        let arc = Curvature::constant(-500.0, 500.0, 1e-3).unwrap();
        let (tail, tip) = end_heights_mm(&arc.refined(10.0), (-510.0, 510.0), 0.0);
        let expected = 1000.0 * (1.0 - 0.51_f64.cos());
        assert!((tail - expected).abs() < 1e-6 && (tip - expected).abs() < 1e-6, "{tail} {tip} {expected}");
    }
}
