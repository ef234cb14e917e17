//! True parallel curves.

use super::{Curve, PlaneCurve, Sample};

/// Length of the parallel of a curve over that of the curve, where the curve has curvature k and the parallel lies at the
/// distance `d` along its normal: 1 - k d.
pub(crate) fn parallel_stretch(k_per_mm: f64, distance_mm: f64) -> f64 {
    1.0 - k_per_mm * distance_mm
}

/// Curvature of that parallel, 1/mm: k/(1 - k d) (do Carmo, Differential Geometry of Curves and Surfaces, section 1-5,
/// exercise on parallel curves, from memory).
pub(crate) fn parallel_curvature(k_per_mm: f64, distance_mm: f64) -> f64 {
    k_per_mm / parallel_stretch(k_per_mm, distance_mm)
}

/// The parallel of a curve at a distance along its normal; positive distances lie to the left (above).
#[derive(Debug, Clone, PartialEq)]
pub struct Parallel<'a> {
    curve: &'a Curve,
    distance_mm: f64,
}

/// The parallel would fold over: the distance exceeds the curve's radius on that side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ParallelFolds {
    /// Position on the curve, mm.
    pub s_mm: f64,
    /// The curve's radius there, mm.
    pub radius_mm: f64,
    /// The requested distance, mm.
    pub distance_mm: f64,
}

impl<'a> Parallel<'a> {
    /// The parallel of `curve` at `distance_mm`.
    ///
    /// # Errors
    /// [`ParallelFolds`] with the position where the distance exceeds the radius, or the first position where the distance
    /// is NaN.
    pub fn new(curve: &'a Curve, distance_mm: f64) -> Result<Self, ParallelFolds> {
        for p in curve.curvature().pieces() {
            for (s_mm, k) in [(p.start_mm, p.k_start_per_mm), (p.end_mm, p.k_end_per_mm)] {
                let room = parallel_stretch(k, distance_mm);
                if room.is_nan() || room <= 1e-6 {
                    return Err(ParallelFolds { s_mm, radius_mm: 1.0 / k.abs(), distance_mm });
                }
            }
        }
        Ok(Self { curve, distance_mm })
    }
}

impl PlaneCurve for Parallel<'_> {
    fn range_mm(&self) -> (f64, f64) {
        self.curve.range_mm()
    }

    fn at(&self, s_mm: f64) -> Sample {
        let on = self.curve.at(s_mm);
        let k_per_mm = parallel_curvature(on.k_per_mm, self.distance_mm);
        Sample { point: on.point + on.normal() * self.distance_mm, k_per_mm, ..on }
    }

    fn breaks_mm(&self) -> Vec<f64> {
        self.curve.breaks_mm()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::curve::Curvature;

    #[test]
    fn the_parallel_of_a_circle_is_a_circle() {
        let curve = Curve::new(Curvature::constant(0.0, 300.0, 1.0 / 200.0).unwrap());
        let below = Parallel::new(&curve, -12.0).unwrap();
        for s in [0.0, 150.0, 300.0] {
            let at = below.at(s);
            assert!((at.point.distance(kurbo::Point::new(0.0, 200.0)) - 212.0).abs() < 1e-9);
            assert!((at.k_per_mm - 1.0 / 212.0).abs() < 1e-15);
        }
        assert_eq!((below.range_mm(), below.breaks_mm()), ((0.0, 300.0), vec![0.0, 300.0]));
    }

    #[test]
    fn a_tight_hump_folds_and_says_where() {
        let curve = Curve::new(Curvature::through(&[(0.0, 0.0), (100.0, -0.1)]).unwrap());
        let folds = Parallel::new(&curve, -12.0).unwrap_err();
        assert_eq!((folds.s_mm, folds.radius_mm), (100.0, 10.0));
    }
}
