//! True parallel curves.

use super::{Curve, PlaneCurve, Sample};
use crate::numeric::Monotone;

/// Length of the parallel of a curve over that of the curve, where the curve has curvature k and the parallel lies at the
/// distance `d` along its normal: 1 - k d.
#[inline]
pub(crate) fn parallel_stretch(k_per_mm: f64, distance_mm: f64) -> f64 {
    1.0 - k_per_mm * distance_mm
}

/// Curvature of that parallel, 1/mm: k/(1 - k d) (do Carmo, Differential Geometry of Curves and Surfaces, section 1-5,
/// exercise on parallel curves, from memory).
#[inline]
pub(crate) fn parallel_curvature(k_per_mm: f64, distance_mm: f64) -> f64 {
    k_per_mm / parallel_stretch(k_per_mm, distance_mm)
}

/// The parallel of a curve at a distance along its normal, which may vary; positive distances lie to the left (above).
#[derive(Debug, Clone, PartialEq)]
pub struct Parallel<'a> {
    curve: &'a Curve,
    distance_mm: f64,
    /// What the distance gains along the curve, mm over mm.
    gains: Option<Monotone>,
}

/// Places between two knots of a distance at which a fold is looked for.
const FOLD_LOOKS: u32 = 8;

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
        Ok(Self { curve, distance_mm, gains: None })
    }

    /// The curve at `distance_mm` and what `gains` adds to it at each place of `curve`.
    ///
    /// # Errors
    /// As [`Parallel::new`].
    pub(crate) fn varying(curve: &'a Curve, distance_mm: f64, gains: Monotone) -> Result<Self, ParallelFolds> {
        let made = Self { curve, distance_mm, gains: Some(gains) };
        for w in made.breaks_mm().windows(2) {
            for i in 0..=FOLD_LOOKS {
                let s_mm = w[0] + (w[1] - w[0]) * f64::from(i) / f64::from(FOLD_LOOKS);
                let k = made.curve.curvature().at(s_mm);
                let distance_mm = made.distance_at(s_mm)[0];
                let room = parallel_stretch(k, distance_mm);
                if room.is_nan() || room <= 1e-6 {
                    return Err(ParallelFolds { s_mm, radius_mm: 1.0 / k.abs(), distance_mm });
                }
            }
        }
        Ok(made)
    }

    /// Whether its distance varies.
    pub(crate) fn varies(&self) -> bool {
        self.gains.is_some()
    }

    /// Distance at a place of the curve with its first and second derivative.
    fn distance_at(&self, s_mm: f64) -> [f64; 3] {
        let [more, slope, second] = self.gains.as_ref().map_or([0.0; 3], |gains| gains.at(s_mm));
        [self.distance_mm + more, slope, second]
    }
}

impl PlaneCurve for Parallel<'_> {
    fn range_mm(&self) -> (f64, f64) {
        self.curve.range_mm()
    }

    fn at(&self, s_mm: f64) -> Sample {
        let on = self.curve.at(s_mm);
        if self.gains.is_none() {
            let k_per_mm = parallel_curvature(on.k_per_mm, self.distance_mm);
            return Sample { point: on.point + on.normal() * self.distance_mm, k_per_mm, ..on };
        }
        // The point c + n d moves by t (1 - k d) + n d', and that by -t (k' d + 2 k d') + n (k (1 - k d) + d''), as t' = k n
        // and n' = -k t.
        let [distance, slope, second] = self.distance_at(s_mm);
        let curvature = self.curve.curvature();
        let piece = curvature.pieces()[curvature.index_at(s_mm)];
        let (from, to) = self.range_mm();
        let k_slope = if (from..=to).contains(&s_mm) {
            (piece.k_end_per_mm - piece.k_start_per_mm) / piece.length_mm()
        } else {
            0.0
        };
        let (along, up) = (parallel_stretch(on.k_per_mm, distance), slope);
        let (more_along, more_up) = (-k_slope * distance - 2.0 * on.k_per_mm * slope, on.k_per_mm * along + second);
        Sample {
            point: on.point + on.normal() * distance,
            angle_rad: on.angle_rad + libm::atan2(up, along),
            k_per_mm: (along * more_up - up * more_along) / libm::hypot(along, up).powi(3),
            ..on
        }
    }

    fn breaks_mm(&self) -> Vec<f64> {
        let mut breaks = self.curve.breaks_mm();
        if let Some(gains) = &self.gains {
            let (from, to) = self.range_mm();
            breaks.extend(gains.places().filter(|s| *s > from && *s < to));
            breaks.sort_by(f64::total_cmp);
            breaks.dedup();
        }
        breaks
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
    fn directions_and_curvature_of_a_varying_parallel_are_those_of_its_points() {
        let curve = Curve::new(Curvature::through(&[(-300.0, 1.0 / 900.0), (0.0, 0.0), (300.0, 1.0 / 400.0)]).unwrap());
        let gains =
            Monotone::through(&[(-200.0, 0.0), (-50.0, 6.0), (100.0, 6.0), (220.0, 1.0)], (Some(0.0), Some(0.0)));
        let top = Parallel::varying(&curve, -4.0, gains).unwrap();
        assert_eq!(top.breaks_mm(), [-300.0, -200.0, -50.0, 0.0, 100.0, 220.0, 300.0]);
        for s in [-290.0, -190.0, -120.0, -60.0, 30.0, 150.0, 210.0, 260.0] {
            let step = 1e-3;
            let (a, on, b) = (top.at(s - step), top.at(s), top.at(s + step));
            let chord = b.point - a.point;
            assert!((chord.atan2() - on.angle_rad).abs() < 1e-7, "{s}: {} {}", chord.atan2(), on.angle_rad);
            let turned = (b.angle_rad - a.angle_rad) / chord.hypot();
            assert!((turned - on.k_per_mm).abs() < 1e-7, "{s}: {turned} {}", on.k_per_mm);
        }
        let folds = Monotone::through(&[(0.0, 0.0), (300.0, 500.0)], (Some(0.0), Some(0.0)));
        assert!(Parallel::varying(&curve, 0.0, folds).is_err());
    }

    #[test]
    fn a_tight_hump_folds_and_says_where() {
        let curve = Curve::new(Curvature::through(&[(0.0, 0.0), (100.0, -0.1)]).unwrap());
        let folds = Parallel::new(&curve, -12.0).unwrap_err();
        assert_eq!((folds.s_mm, folds.radius_mm), (100.0, 10.0));
    }
}
