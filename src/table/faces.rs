//! The two faces of a board: a table that carries the deck is designed for the deck's curve.

use kurbo::Vec2;

use super::OverbentTable;
use super::overbent::{between, largest_distance};
use crate::curve::{Curvature, CurvatureError, Curve, Piece, PlaneCurve, Sample, resting_pose};
use crate::job::Layer;
use crate::laminate::Laminate;

/// Step at which a face is followed, mm. A taper's edge, which has no curvature but a kink, is spread over two of them.
const STEP_MM: f64 = 2.0;
/// Half the length over which the slope of a taper is taken, mm: shorter than that no skin follows a kink.
const SLOPE_MM: f64 = 20.0;

/// The curve of the other face: the true parallel where the board is even, with the slope of the taper where it is not.
///
/// `side` is +1 from the base to the deck and -1 from the deck to the base; `thickness` is asked in the length of the
/// given face, which differs from the flat blank by less than thickness times angle.
#[derive(Debug, Clone, PartialEq)]
pub struct OtherFace {
    /// Curvature of the other face over its own arc length, 0 opposite the 0 of the given face, 1/mm.
    pub curvature: Curvature,
    given_mm: Vec<f64>,
    other_mm: Vec<f64>,
}

impl OtherFace {
    /// Follows the face `side` of the `given` one.
    ///
    /// # Errors
    /// [`CurvatureError`] where the board is thicker than the given face's radius on that side.
    pub fn new(given: &Curvature, thickness: impl Fn(f64) -> f64, side: f64) -> Result<Self, CurvatureError> {
        let curve = Curve::new(given.clone());
        let slope = |s: f64| (thickness(s + SLOPE_MM) - thickness(s - SLOPE_MM)) / (2.0 * SLOPE_MM);
        // Direction and stretch of the other face at a place of the given one: d/ds of point + side t normal.
        let at = |s: f64, k: f64, angle: f64| {
            let along = 1.0 - side * k * thickness(s);
            let up = side * slope(s);
            (angle + up.atan2(along), Vec2::new(along, up).hypot(), along)
        };
        let fine = given.refined(STEP_MM);
        let mut other_mm = vec![0.0];
        let mut pieces = Vec::with_capacity(fine.pieces().len());
        for (i, p) in fine.pieces().iter().enumerate() {
            let (from, to): (Sample, Sample) = (curve.at(p.start_mm), curve.at(p.end_mm));
            let (a, b) = (at(p.start_mm, p.k_start, from.angle_rad), at(p.end_mm, p.k_end, to.angle_rad));
            if a.2 <= 0.05 || b.2 <= 0.05 {
                return Err(CurvatureError::NotFinite(i));
            }
            let length = 0.5 * (a.1 + b.1) * p.length_mm();
            // The mean curvature is exact, the trend within the piece that of the given face.
            let mean = (b.0 - a.0) / length;
            let trend = 0.5 * (p.k_end / b.2 - p.k_start / a.2);
            let start_mm = other_mm[i];
            other_mm.push(start_mm + length);
            pieces.push(Piece { start_mm, end_mm: start_mm + length, k_start: mean - trend, k_end: mean + trend });
        }
        let given_mm: Vec<f64> =
            fine.pieces().iter().map(|p| p.start_mm).chain(std::iter::once(fine.end_mm())).collect();
        let zero = between(&given_mm, &other_mm, 0.0);
        other_mm.iter_mut().for_each(|s| *s -= zero);
        for (i, p) in pieces.iter_mut().enumerate() {
            (p.start_mm, p.end_mm) = (other_mm[i], other_mm[i + 1]);
        }
        Ok(Self { curvature: Curvature::new(pieces)?, given_mm, other_mm })
    }

    /// The place on the other face opposite a place of the given one, mm.
    pub fn opposite(&self, given_mm: f64) -> f64 {
        between(&self.given_mm, &self.other_mm, given_mm)
    }
}

/// The same curve seen upside down.
pub fn upside_down(curvature: &Curvature) -> Result<Curvature, CurvatureError> {
    let flip = |p: &Piece| Piece { k_start: -p.k_start, k_end: -p.k_end, ..*p };
    Curvature::new(curvature.pieces().iter().map(flip).collect())
}

/// The layers of a board that lies on its deck: the deck's first, each bent the other way.
pub fn turned_over(layers: &[Layer]) -> Vec<Layer> {
    let turn = |l: &Layer| Layer { natural_curvature_per_mm: -l.natural_curvature_per_mm, ..l.clone() };
    layers.iter().rev().map(turn).collect()
}

impl OverbentTable {
    /// A table that was designed for the deck, with its board turned back on its base: `target` is the wanted base.
    ///
    /// # Errors
    /// [`CurvatureError`] where the released deck is tighter than the board is thick.
    pub fn of_deck(
        self,
        target: &Curvature,
        anchor_mm: f64,
        laminate: &Laminate,
        deck: OtherFace,
    ) -> Result<Self, CurvatureError> {
        let upright = upside_down(self.predicted.curvature())?;
        let base = OtherFace::new(&upright, |s| laminate.section_at(s).thickness_mm, -1.0)?;
        let wanted = resting_pose(&Curve::new(target.clone()), anchor_mm);
        let predicted = resting_pose(&Curve::new(base.curvature), anchor_mm);
        let (error_mm, error_at_mm) = largest_distance(&wanted, &predicted);
        let finished_base_mm = (target.start_mm(), target.end_mm());
        Ok(Self { finished_base_mm, wanted, predicted, error_mm, error_at_mm, deck: Some(deck), ..self })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::{Material, MaterialKind};

    #[test]
    fn the_deck_of_an_even_board_is_the_true_parallel_and_back() {
        let base = Curvature::constant(-500.0, 500.0, 1.0 / 800.0).unwrap();
        let deck = OtherFace::new(&base, |_| 12.0, 1.0).unwrap();
        assert!((deck.curvature.at(100.0) - 1.0 / 788.0).abs() < 1e-12);
        assert!((deck.curvature.length_mm() - 1000.0 * 788.0 / 800.0).abs() < 1e-9);
        let back = OtherFace::new(&deck.curvature, |_| 12.0, -1.0).unwrap();
        assert!((back.curvature.length_mm() - 1000.0).abs() < 1e-9);
        assert!((back.curvature.at(-300.0) - 1.0 / 800.0).abs() < 1e-12);
    }

    #[test]
    fn a_tapered_boards_deck_lies_its_thickness_over_the_base() {
        let base = Curvature::through(&[(-400.0, 0.001), (0.0, 0.0), (400.0, 0.002)]).unwrap();
        let thickness = |s: f64| 12.0 - 6.0 * (s / 500.0).powi(2);
        let deck = OtherFace::new(&base, thickness, 1.0).unwrap();
        let curve = Curve::new(base);
        let other = Curve::new(deck.curvature.clone());
        // Both poses agree opposite the middle: over it by the thickness there, and level as the taper is there.
        for s in [-380.0, -120.0, 0.0, 250.0, 390.0] {
            let on = curve.at(s);
            let expected = on.point + on.normal() * thickness(s);
            let found = other.at(deck.opposite(s)).point + Vec2::new(0.0, 12.0);
            assert!(found.distance(expected) < 0.01, "{s}: {found:?} is not {expected:?}");
        }
    }

    #[test]
    fn a_board_thicker_than_its_radius_has_no_other_face() {
        let thick = |from_mm: f64, to_mm: f64| {
            OtherFace::new(&Curvature::through(&[(0.0, from_mm), (100.0, to_mm)]).unwrap(), |_| 12.0, 1.0)
        };
        // 12 mm over a radius of 12 mm, at either end of a piece.
        for (k_start, k_end) in [(0.0, 1.0 / 12.0), (1.0 / 12.0, 0.0)] {
            assert!(matches!(thick(k_start, k_end), Err(CurvatureError::NotFinite(_))), "{k_start} {k_end}");
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
