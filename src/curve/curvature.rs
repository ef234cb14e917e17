//! Piecewise linear curvature over arc length.

use std::fmt;

/// An interval of arc length with linear curvature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Piece {
    /// Where it begins, mm.
    pub start_mm: f64,
    /// Where it ends, mm; always greater than `start_mm`.
    pub end_mm: f64,
    /// Curvature at its beginning, 1/mm.
    pub k_start_per_mm: f64,
    /// Curvature at its end, 1/mm.
    pub k_end_per_mm: f64,
}

impl Piece {
    /// Length along the curve, mm.
    #[inline]
    pub fn length_mm(&self) -> f64 {
        self.end_mm - self.start_mm
    }

    /// Curvature at `s_mm`, 1/mm (extended linearly outside the piece).
    #[inline]
    pub fn at(&self, s_mm: f64) -> f64 {
        self.k_start_per_mm + (self.k_end_per_mm - self.k_start_per_mm) * (s_mm - self.start_mm) / self.length_mm()
    }

    /// Angle turned from the beginning to `s_mm`, rad.
    #[inline]
    pub(crate) fn turned_to(&self, s_mm: f64) -> f64 {
        0.5 * (self.k_start_per_mm + self.at(s_mm)) * (s_mm - self.start_mm)
    }
}

/// Why pieces do not form a curvature function.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum CurvatureError {
    /// There are no pieces.
    Empty,
    /// A value is not finite (index of the piece).
    NotFinite(usize),
    /// A piece is empty or reversed, or does not start at the end of the previous one (index of the piece).
    OutOfOrder(usize),
}

impl fmt::Display for CurvatureError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Empty => f.write_str("there are no pieces"),
            Self::NotFinite(piece) => write!(f, "piece {piece} is not finite"),
            Self::OutOfOrder(piece) => write!(f, "piece {piece} does not begin where the one before it ends"),
        }
    }
}

impl std::error::Error for CurvatureError {}

/// Curvature as a function of arc length: contiguous linear pieces; the value may jump between them.
#[derive(Debug, Clone, PartialEq)]
pub struct Curvature {
    pieces: Vec<Piece>,
}

/// Caps the subdivision of a piece, so that a tiny step cannot exhaust memory.
pub const MOST_PARTS: usize = 100_000;

impl Curvature {
    /// A curvature function from its pieces, in order of arc length.
    ///
    /// # Errors
    /// Reports the piece that is not finite, out of order or detached.
    pub fn new(pieces: Vec<Piece>) -> Result<Self, CurvatureError> {
        if pieces.is_empty() {
            return Err(CurvatureError::Empty);
        }
        for (i, p) in pieces.iter().enumerate() {
            if ![p.start_mm, p.end_mm, p.k_start_per_mm, p.k_end_per_mm].iter().all(|x| x.is_finite()) {
                return Err(CurvatureError::NotFinite(i));
            }
            if p.end_mm <= p.start_mm || (i > 0 && pieces[i - 1].end_mm != p.start_mm) {
                return Err(CurvatureError::OutOfOrder(i));
            }
        }
        Ok(Self { pieces })
    }

    /// Linear interpolation between at least two nodes (s in mm, k in 1/mm), s strictly increasing.
    ///
    /// # Errors
    /// As [`Curvature::new`].
    pub fn through(nodes: &[(f64, f64)]) -> Result<Self, CurvatureError> {
        let pieces = nodes
            .windows(2)
            .map(|w| Piece { start_mm: w[0].0, end_mm: w[1].0, k_start_per_mm: w[0].1, k_end_per_mm: w[1].1 })
            .collect();
        Self::new(pieces)
    }

    /// Constant curvature from `start_mm` to `end_mm`.
    ///
    /// # Errors
    /// As [`Curvature::new`].
    pub fn constant(start_mm: f64, end_mm: f64, k_per_mm: f64) -> Result<Self, CurvatureError> {
        Self::new(vec![Piece { start_mm, end_mm, k_start_per_mm: k_per_mm, k_end_per_mm: k_per_mm }])
    }

    /// The same curve seen upside down.
    #[must_use]
    pub(crate) fn upside_down(&self) -> Self {
        let flip = |p: &Piece| Piece { k_start_per_mm: -p.k_start_per_mm, k_end_per_mm: -p.k_end_per_mm, ..*p };
        Self { pieces: self.pieces.iter().map(flip).collect() }
    }

    /// The pieces, in order of arc length.
    pub fn pieces(&self) -> &[Piece] {
        &self.pieces
    }

    /// Where the curve begins, mm.
    pub fn start_mm(&self) -> f64 {
        self.pieces[0].start_mm
    }

    /// Where the curve ends, mm.
    pub fn end_mm(&self) -> f64 {
        self.pieces[self.pieces.len() - 1].end_mm
    }

    /// Length along the curve, mm.
    pub fn length_mm(&self) -> f64 {
        self.end_mm() - self.start_mm()
    }

    /// Index of the piece that holds `s_mm`; at a joint the later piece; clamped to the ends.
    #[inline]
    pub(crate) fn index_at(&self, s_mm: f64) -> usize {
        self.pieces.partition_point(|p| p.end_mm <= s_mm).min(self.pieces.len() - 1)
    }

    /// Curvature at `s_mm`, 1/mm; at a jump the value of the later piece; beyond an end the end's value.
    pub fn at(&self, s_mm: f64) -> f64 {
        let s = s_mm.clamp(self.start_mm(), self.end_mm());
        self.pieces[self.index_at(s)].at(s)
    }

    /// Angle turned over the whole length, rad.
    pub fn total_angle(&self) -> f64 {
        self.pieces.iter().map(|p| p.turned_to(p.end_mm)).sum()
    }

    /// Minimum and maximum curvature with their positions: ((s, k), (s, k)).
    pub fn extremes(&self) -> ((f64, f64), (f64, f64)) {
        let first = &self.pieces[0];
        let mut low = (first.start_mm, first.k_start_per_mm);
        let mut high = low;
        for p in &self.pieces {
            for (s, k) in [(p.start_mm, p.k_start_per_mm), (p.end_mm, p.k_end_per_mm)] {
                if k < low.1 {
                    low = (s, k);
                }
                if k > high.1 {
                    high = (s, k);
                }
            }
        }
        (low, high)
    }

    /// The mirrored curve, tip and tail exchanged: s becomes -s, k stays.
    #[must_use]
    pub fn reversed(&self) -> Self {
        let flip = |p: &Piece| Piece {
            start_mm: -p.end_mm,
            end_mm: -p.start_mm,
            k_start_per_mm: p.k_end_per_mm,
            k_end_per_mm: p.k_start_per_mm,
        };
        Self { pieces: self.pieces.iter().rev().map(flip).collect() }
    }

    /// The same function with every piece split to at most `longest_mm` (positive), but into no more than [`MOST_PARTS`]
    /// parts.
    #[must_use]
    pub fn refined(&self, longest_mm: f64) -> Self {
        let mut pieces = Vec::new();
        for p in &self.pieces {
            let count = (p.length_mm() / longest_mm).ceil().max(1.0).min(MOST_PARTS as f64);
            let at = |i: f64| if i >= count { p.end_mm } else { p.start_mm + p.length_mm() * i / count };
            let mut i = 0.0;
            while i < count {
                let (a, b) = (at(i), at(i + 1.0));
                pieces.push(Piece { start_mm: a, end_mm: b, k_start_per_mm: p.at(a), k_end_per_mm: p.at(b) });
                i += 1.0;
            }
        }
        Self { pieces }
    }

    /// The part between `from_mm` and `to_mm`, clamped to the ends.
    ///
    /// # Errors
    /// [`CurvatureError::Empty`] if nothing is left.
    pub fn between(&self, from_mm: f64, to_mm: f64) -> Result<Self, CurvatureError> {
        let mut pieces = Vec::new();
        for p in &self.pieces {
            let (a, b) = (p.start_mm.max(from_mm), p.end_mm.min(to_mm));
            if b > a {
                pieces.push(Piece { start_mm: a, end_mm: b, k_start_per_mm: p.at(a), k_end_per_mm: p.at(b) });
            }
        }
        Self::new(pieces)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn jump() -> Curvature {
        let piece =
            |start_mm, end_mm, k_start_per_mm, k_end_per_mm| Piece { start_mm, end_mm, k_start_per_mm, k_end_per_mm };
        Curvature::new(vec![piece(-10.0, 0.0, 0.001, 0.001), piece(0.0, 20.0, 0.0, 0.004)]).unwrap()
    }

    #[test]
    fn a_jump_takes_the_later_piece_and_ends_are_clamped() {
        let c = jump();
        assert_eq!(c.at(-1e-9), 0.001);
        assert_eq!(c.at(0.0), 0.0);
        assert_eq!(c.at(99.0), 0.004);
        assert_eq!(c.length_mm(), 30.0);
    }

    #[test]
    fn refining_and_reversing_keep_the_angle() {
        let c = jump();
        let angle = 0.01 + 0.04;
        assert!((c.total_angle() - angle).abs() < 1e-15);
        assert!((c.refined(0.7).total_angle() - angle).abs() < 1e-14);
        assert_eq!(c.reversed().reversed(), c);
        assert!((c.reversed().at(-20.0) - 0.004).abs() < 1e-18);
    }

    #[test]
    fn pieces_out_of_order_are_refused() {
        assert_eq!(Curvature::through(&[(0.0, 0.0), (0.0, 1.0)]), Err(CurvatureError::OutOfOrder(0)));
        assert_eq!(Curvature::through(&[(0.0, f64::NAN), (1.0, 1.0)]), Err(CurvatureError::NotFinite(0)));
        assert_eq!(Curvature::through(&[(0.0, 0.0)]), Err(CurvatureError::Empty));
    }
}
