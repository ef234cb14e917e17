//! How a table has to ease out beyond the finished board so that the blank, which is free at its end, lies down on it.
//!
//! A strip under pressure p that lies on a table of curvature k(x) carries the moment M = B k and presses on the table
//! with q = p + M″. At a free end M = 0, and the table can only push. So M has to run from the finished end, with its
//! value M₀ and its outward slope m there, to zero with M″ ≥ -p, without a kink that would pull, and end with a slope
//! that does not pull either. The shortest such run is a parabola; with m = 0 it is the table k (2u - u²) of length
//! sqrt(2 B k/p), u counted inward from the blank's end (own derivation).

/// Shortest run from a moment at the finished end to a free end.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct RunOut {
    /// Its length along the blank, mm.
    pub(super) length_mm: f64,
    moment_n: f64,
    slope_n_per_mm: f64,
    pressure_mpa: f64,
}

impl RunOut {
    /// From the moment (N, per mm of width) and its outward slope at the finished end, under a pressure.
    pub(super) fn new(moment_n: f64, slope_n_per_mm: f64, pressure_mpa: f64) -> Self {
        let (m, p) = (slope_n_per_mm, pressure_mpa);
        let under_root = m * m + 2.0 * p * moment_n;
        if moment_n < 0.0 && (under_root < 0.0 || m < 0.0) {
            // A hump that the pressure bends: the parabola that ends level, steeper at its beginning than the board.
            let length_mm = (-2.0 * moment_n / p).sqrt();
            return Self { length_mm, moment_n, slope_n_per_mm: p * length_mm, pressure_mpa };
        }
        let length_mm = (m + under_root.max(0.0).sqrt()) / p;
        Self { length_mm, moment_n, slope_n_per_mm: m, pressure_mpa }
    }

    /// Moment at `x_mm` beyond the finished end, N; zero beyond the run-out.
    pub(super) fn moment_n(&self, x_mm: f64) -> f64 {
        if x_mm >= self.length_mm {
            return 0.0;
        }
        self.moment_n + x_mm * (self.slope_n_per_mm - 0.5 * self.pressure_mpa * x_mm)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_level_moment_runs_out_over_the_length_of_the_closed_form() {
        let (b, k, p) = (465e3, 0.001, 0.08);
        for sign in [1.0, -1.0] {
            let run = RunOut::new(sign * b * k, 0.0, p);
            assert!((run.length_mm - (2.0 * b * k / p).sqrt()).abs() < 1e-9);
            assert!(run.moment_n(run.length_mm - 1e-9).abs() < 1e-6);
            assert!((run.moment_n(0.0) - sign * b * k).abs() < 1e-9);
        }
    }

    #[test]
    fn a_rising_moment_runs_on_and_never_kinks_so_that_the_table_would_have_to_pull() {
        let run = RunOut::new(400.0, 3.0, 0.08);
        assert!((run.moment_n(1e-3) - 400.0) / 1e-3 > 2.99);
        assert!(run.length_mm > (2.0 * 400.0 / 0.08_f64).sqrt());
        assert!(run.moment_n(run.length_mm - 1e-6).abs() < 1e-4);
    }

    #[test]
    fn nothing_to_run_out_takes_no_length() {
        assert_eq!(RunOut::new(0.0, 0.0, 0.08).length_mm, 0.0);
        assert_eq!(RunOut::new(0.0, -1.0, 0.08).length_mm, 0.0);
    }
}
