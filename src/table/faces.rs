//! The two faces of a board: a table that carries the deck is designed for the deck's curve.

use kurbo::Vec2;

use crate::curve::{Curvature, CurvatureError, Curve, Piece, PlaneCurve, parallel_curvature};
use crate::job::Layer;
use crate::numeric::{between, interpolated};

/// Step at which a face is followed, mm. A taper's edge, which has no curvature but a kink, is spread over two of them.
const STEP_MM: f64 = 2.0;
/// Half the length over which the slope of a taper is taken, mm: shorter than that no skin follows a kink.
const SLOPE_MM: f64 = 20.0;

/// The deck opposite a base: the true parallel where the board is even, with the slope of the taper where it is not.
///
/// Sections stand square on the base. `thickness` is asked in the base's length, which differs from the flat blank by less
/// than thickness times angle.
#[derive(Debug, Clone, PartialEq)]
pub struct OtherFace {
    /// Curvature of the deck over its own arc length, 0 opposite the 0 of the base, 1/mm.
    pub curvature: Curvature,
    base_mm: Vec<f64>,
    deck_mm: Vec<f64>,
    /// By how much the deck rises from the base at these places, rad.
    tilt_rad: Vec<f64>,
}

impl OtherFace {
    /// Follows the deck of a base.
    ///
    /// # Errors
    /// [`CurvatureError`] where the board is thicker than the base's radius.
    pub(crate) fn new(base: &Curvature, thickness: impl Fn(f64) -> f64) -> Result<Self, CurvatureError> {
        let curve = Curve::new(base.clone());
        let slope = |s: f64| (thickness(s + SLOPE_MM) - thickness(s - SLOPE_MM)) / (2.0 * SLOPE_MM);
        // Tilt and stretch of the deck at a place of the base: d/ds of point + t normal.
        let at = |s: f64, k: f64| {
            let (along, up) = (1.0 - k * thickness(s), slope(s));
            (libm::atan2(up, along), Vec2::new(along, up).hypot(), along)
        };
        let fine = base.refined(STEP_MM);
        let first = fine.pieces()[0];
        let mut face = Self {
            curvature: base.clone(),
            base_mm: vec![fine.start_mm()],
            deck_mm: vec![0.0],
            tilt_rad: vec![at(first.start_mm, first.k_start_per_mm).0],
        };
        let mut pieces = Vec::with_capacity(fine.pieces().len());
        for (i, p) in fine.pieces().iter().enumerate() {
            let (a, b) = (at(p.start_mm, p.k_start_per_mm), at(p.end_mm, p.k_end_per_mm));
            if a.2 <= 0.05 || b.2 <= 0.05 {
                return Err(CurvatureError::NotFinite(i));
            }
            let length = 0.5 * (a.1 + b.1) * p.length_mm();
            // The mean curvature is exact, the trend within the piece that of the base.
            let turned = curve.at(p.end_mm).angle_rad - curve.at(p.start_mm).angle_rad;
            let mean = (turned + b.0 - face.tilt_rad[i]) / length;
            pieces.push(trending(face.deck_mm[i], length, mean, 0.5 * (p.k_end_per_mm / b.2 - p.k_start_per_mm / a.2)));
            face.base_mm.push(p.end_mm);
            face.deck_mm.push(face.deck_mm[i] + length);
            face.tilt_rad.push(b.0);
        }
        let zero = between(&face.base_mm, &face.deck_mm, 0.0);
        face.deck_mm.iter_mut().for_each(|s| *s -= zero);
        face.curvature = from_zero(pieces, zero)?;
        Ok(face)
    }

    /// The place on the deck opposite a place of the base, mm.
    pub(crate) fn opposite(&self, base_mm: f64) -> f64 {
        between(&self.base_mm, &self.deck_mm, base_mm)
    }

    /// The base under another deck, which is to lie near to this one: the same sections stand between them, as thick and
    /// as tilted.
    ///
    /// # Errors
    /// [`CurvatureError`] where the board is thicker than the deck's radius.
    pub(crate) fn base_under(
        &self,
        deck: &Curvature,
        thickness: impl Fn(f64) -> f64,
    ) -> Result<Curvature, CurvatureError> {
        let curve = Curve::new(deck.clone());
        let at = |s: f64| {
            let base_mm = between(&self.deck_mm, &self.base_mm, s);
            (thickness(base_mm), interpolated(&self.base_mm, &self.tilt_rad, base_mm))
        };
        let fine = deck.refined(STEP_MM);
        let (mut base_mm, mut pieces) = (vec![0.0], Vec::with_capacity(fine.pieces().len()));
        for (i, p) in fine.pieces().iter().enumerate() {
            let ((a_mm, a_tilt), (b_mm, b_tilt)) = (at(p.start_mm), at(p.end_mm));
            // Along the section's square: d/ds of point - t normal, the normal turned back by the tilt.
            let turned = curve.at(p.end_mm).angle_rad - curve.at(p.start_mm).angle_rad - (b_tilt - a_tilt);
            let length = libm::cos(0.5 * (a_tilt + b_tilt)) * p.length_mm() + 0.5 * (a_mm + b_mm) * turned;
            if length <= 0.05 * p.length_mm() {
                return Err(CurvatureError::NotFinite(i));
            }
            let flatter = |k: f64, t: f64| parallel_curvature(k, -t);
            let trend = 0.5 * (flatter(p.k_end_per_mm, b_mm) - flatter(p.k_start_per_mm, a_mm));
            pieces.push(trending(base_mm[i], length, turned / length, trend));
            base_mm.push(base_mm[i] + length);
        }
        let deck_mm: Vec<f64> =
            fine.pieces().iter().map(|p| p.start_mm).chain(std::iter::once(fine.end_mm())).collect();
        from_zero(pieces, between(&deck_mm, &base_mm, 0.0))
    }
}

/// A piece of a mean curvature that changes by twice the trend.
fn trending(start_mm: f64, length_mm: f64, mean: f64, trend: f64) -> Piece {
    Piece { start_mm, end_mm: start_mm + length_mm, k_start_per_mm: mean - trend, k_end_per_mm: mean + trend }
}

/// The pieces with their lengths counted from a place.
fn from_zero(mut pieces: Vec<Piece>, zero_mm: f64) -> Result<Curvature, CurvatureError> {
    let mut from_mm = pieces.first().map_or(0.0, |p| p.start_mm - zero_mm);
    for p in &mut pieces {
        let end_mm = p.end_mm - zero_mm;
        (p.start_mm, p.end_mm) = (from_mm, end_mm);
        from_mm = end_mm;
    }
    Curvature::new(pieces)
}

/// The layers of a board that lies on its deck: the deck's first, each bent the other way.
pub fn turned_over(layers: &[Layer]) -> Vec<Layer> {
    let turn = |l: &Layer| Layer { natural_curvature_per_mm: -l.natural_curvature_per_mm, ..l.clone() };
    layers.iter().rev().map(turn).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::{Material, MaterialKind};

    #[test]
    fn the_deck_of_an_even_board_is_the_true_parallel_and_back() {
        let base = Curvature::constant(-500.0, 500.0, 1.0 / 800.0).unwrap();
        let deck = OtherFace::new(&base, |_| 12.0).unwrap();
        assert!((deck.curvature.at(100.0) - 1.0 / 788.0).abs() < 1e-12);
        assert!((deck.curvature.length_mm() - 1000.0 * 788.0 / 800.0).abs() < 1e-9);
        let back = deck.base_under(&deck.curvature, |_| 12.0).unwrap();
        assert!((back.length_mm() - 1000.0).abs() < 1e-9);
        assert!((back.at(-300.0) - 1.0 / 800.0).abs() < 1e-12);
    }

    #[test]
    fn a_tapered_boards_deck_lies_its_thickness_over_the_base() {
        let base = Curvature::through(&[(-400.0, 0.001), (0.0, 0.0), (400.0, 0.002)]).unwrap();
        let thickness = |s: f64| 12.0 - 6.0 * (s / 500.0).powi(2);
        let deck = OtherFace::new(&base, thickness).unwrap();
        let curve = Curve::new(base.clone());
        let other = Curve::new(deck.curvature.clone());
        // Both poses agree opposite the middle: over it by the thickness there, and level as the taper is there.
        for s in [-380.0, -120.0, 0.0, 250.0, 390.0] {
            let on = curve.at(s);
            let expected = on.point + on.normal() * thickness(s);
            let found = other.at(deck.opposite(s)).point + Vec2::new(0.0, 12.0);
            assert!(found.distance(expected) < 0.01, "{s}: {found:?} is not {expected:?}");
        }
        // And back: the base under the deck is the base, as long as it was.
        let back = deck.base_under(&deck.curvature, thickness).unwrap();
        assert!((back.start_mm() + 400.0).abs() < 1e-3 && (back.end_mm() - 400.0).abs() < 1e-3, "{back:?}");
        let back = Curve::new(back);
        for s in [-390.0, -120.0, 0.0, 250.0, 390.0] {
            assert!(back.at(s).point.distance(curve.at(s).point) < 1e-3, "{s}");
        }
    }

    #[test]
    fn a_board_thicker_than_its_radius_has_no_other_face() {
        let thick = |from_mm: f64, to_mm: f64| {
            OtherFace::new(&Curvature::through(&[(0.0, from_mm), (100.0, to_mm)]).unwrap(), |_| 12.0)
        };
        // 12 mm over a radius of 12 mm, at either end of a piece.
        for (k_start_per_mm, k_end_per_mm) in [(0.0, 1.0 / 12.0), (1.0 / 12.0, 0.0)] {
            assert!(
                matches!(thick(k_start_per_mm, k_end_per_mm), Err(CurvatureError::NotFinite(_))),
                "{k_start_per_mm} {k_end_per_mm}"
            );
        }
        assert!(thick(0.0, 1.0 / 13.0).is_ok() && thick(1.0 / 13.0, 0.0).is_ok());
        // A hump has its other face further out, whatever its radius.
        assert!(thick(-0.5, -0.5).is_ok());
    }

    #[test]
    fn a_stack_turned_over_has_its_deck_below_and_bends_by_itself_the_other_way() {
        let layer = |name: &str, k: f64| {
            let wood = Material::of_modulus("given", MaterialKind::WoodAlong, 10_000.0);
            Layer { natural_curvature_per_mm: k, ..Layer::flat(name, wood, 3.0) }
        };
        let layers = [layer("base", 1e-3), layer("deck", -2e-3)];
        assert_eq!(turned_over(&layers), [layer("deck", 2e-3), layer("base", -1e-3)]);
        assert_eq!(turned_over(&turned_over(&layers)), layers);
    }
}
