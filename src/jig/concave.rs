//! The curve across the board.

use crate::codes;
use crate::finding::{Finding, Verdict};
use crate::job::{Concave, Lies};
use crate::laminate::Section;
use crate::numeric::Monotone;
use crate::units::{Phrase, Quantity, phrase};

/// Rise of the table's surface above its middle line, across the board; over-bent by the crosswise springback. A table
/// that carries the base of a hollow deck is hollow itself; one that carries the deck is a crown, whose rise is negative.
#[derive(Debug, Clone, PartialEq)]
pub struct Across {
    shape: AcrossShape,
    /// Part of the crosswise curvature that the board loses on release.
    pub springback_share: f64,
}

/// Part of a crosswise curvature that is taken to stay at least: a stack that keeps none cannot be over-bent.
const LEAST_KEPT: f64 = 0.05;
/// Smallest radius of a crown, mm: where a deep skin or a thick board leaves none.
const TIGHTEST_MM: f64 = 1.0;

#[derive(Debug, Clone, PartialEq)]
enum AcrossShape {
    Flat,
    /// Radius of the surface, mm; negative on a crown.
    Arc(f64),
    /// Rise over the distance from the middle.
    Smooth(Monotone),
}

impl Across {
    /// A table that is straight across.
    pub fn flat() -> Self {
        Self { shape: AcrossShape::Flat, springback_share: 0.0 }
    }

    /// The table for a wanted curve across the deck of a board of `width_mm`. `section` is the stack cut across, from the
    /// base up.
    ///
    /// An arc is over-bent in the curvature of the stack's neutral line. A profile is over-bent in height, which is the
    /// same while slopes across are small: at 1 in 20 the difference is below a four-hundredth of the springback.
    pub fn new(wanted: &Concave, width_mm: f64, section: &Section, lies: Lies) -> Self {
        let springback_share = section.springback_share();
        let kept = (1.0 - springback_share).max(LEAST_KEPT);
        let half = 0.5 * width_mm;
        let arc = |deck_mm: f64| {
            let over_neutral = section.thickness_mm - section.neutral_mm;
            let pressed = (deck_mm + over_neutral) * kept;
            AcrossShape::Arc(match lies {
                Lies::BaseDown => pressed + section.neutral_mm,
                Lies::DeckDown => -(pressed - over_neutral).max(TIGHTEST_MM),
            })
        };
        let shape = match wanted {
            Concave::Radius(r) => arc(*r),
            // Radius from half chord c and rise h: c²/(2h) + h/2.
            Concave::Rise(h) => arc(half * half / (2.0 * h) + 0.5 * h),
            Concave::Profile(points) => {
                let up = if lies == Lies::BaseDown { 1.0 } else { -1.0 };
                AcrossShape::Smooth(level_in_the_middle(points, up / kept))
            }
        };
        Self { shape, springback_share }
    }

    /// Rise at `y_mm` from the middle line of a curve that runs `below_mm` below the surface, mm.
    pub fn rise_mm(&self, y_mm: f64, below_mm: f64) -> f64 {
        let y = y_mm.abs();
        match &self.shape {
            AcrossShape::Flat => 0.0,
            AcrossShape::Arc(_) => {
                let r = self.radius_mm(below_mm).unwrap_or_default();
                if y >= r.abs() { r } else { r - r.signum() * (r * r - y * y).sqrt() }
            }
            AcrossShape::Smooth(curve) => curve.at(y)[0],
        }
    }

    /// Radius of a curve that runs `below_mm` below the surface, where that is an arc, mm; negative on a crown.
    pub fn radius_mm(&self, below_mm: f64) -> Option<f64> {
        match self.shape {
            AcrossShape::Arc(radius) if radius < 0.0 => Some((radius + below_mm).min(-TIGHTEST_MM)),
            AcrossShape::Arc(radius) => Some(radius + below_mm),
            AcrossShape::Flat | AcrossShape::Smooth(_) => None,
        }
    }

    /// Whether the table is straight across.
    pub(crate) fn is_flat(&self) -> bool {
        self.shape == AcrossShape::Flat
    }

    /// The check for bending both ways at once: a place that rises above the middle line while the line itself is bent
    /// must stretch or shrink by rise times curvature, which no bending of thin layers gives. The whole width shares a
    /// stretch that leaves no force along, so what counts is the rise over its mean.
    pub(crate) fn stretch_finding(&self, width_mm: f64, largest_k_per_mm: f64, strain_limit: f64) -> Option<Finding> {
        if self.is_flat() {
            return None;
        }
        let edge = self.rise_mm(0.5 * width_mm, 0.0);
        const LOOKS: u32 = 64;
        let at = |i: u32| self.rise_mm(0.5 * width_mm * (f64::from(i) + 0.5) / f64::from(LOOKS), 0.0);
        let mean = (0..LOOKS).map(at).sum::<f64>() / f64::from(LOOKS);
        let strain = (edge - mean).abs().max(mean.abs()) * largest_k_per_mm.abs();
        // A tenth of what the layers bear is shared out unseen; a half of it wrinkles skins (common practice, no source).
        let (verdict, held) = Verdict::over(strain, (0.1 * strain_limit, 0.5 * strain_limit), Quantity::share);
        let remedy = if verdict == Verdict::Ok {
            Phrase::default()
        } else {
            phrase!(
                "The edges lie {} off the middle where the board is bent most: flatten the concave there, or ease the \
                 rocker.",
                Quantity::length(edge.abs())
            )
        };
        Some(codes::DOUBLE_CURVATURE.check("bending along and across at once", (verdict, held)).with_remedy(remedy))
    }
}

/// A curve through points from the middle outwards, level in the middle itself.
fn level_in_the_middle(points: &[(f64, f64)], factor: f64) -> Monotone {
    let mut p: Vec<(f64, f64)> = points.iter().map(|(y, rise)| (*y, rise * factor)).collect();
    if p[0].0 > 0.0 {
        p.insert(0, (0.0, 0.0));
    }
    Monotone::through(&p, (Some(0.0), None))
}

#[cfg(test)]
pub(in crate::jig) mod tests {
    use super::*;

    /// A stack of this thickness whose neutral line lies four tenths up and that loses this share.
    pub(in crate::jig) fn section(thickness_mm: f64, springback_share: f64) -> Section {
        Section {
            thickness_mm,
            neutral_mm: 0.4 * thickness_mm,
            wet_stiffness_n_mm: 1.0,
            natural_moment_n: 0.0,
            bonded_stiffness_n_mm: 1.0,
            kept_stiffness_n_mm: springback_share,
            kept_offset_n: 0.0,
            squeezed_stiffness_n_mm: 0.0,
            thermal_curvature_per_mm: 0.0,
            closed_in: 1.0,
            kept_lever: 1.0,
        }
    }

    fn across(wanted: Concave, thickness_mm: f64, springback_share: f64) -> Across {
        Across::new(&wanted, 240.0, &section(thickness_mm, springback_share), Lies::BaseDown)
    }

    /// Radius of the deck, worked out by itself: pressed with its face on an arc and released, where the neutral line
    /// keeps (1 - S) of its curvature. Both ways of lying must give the board that is wanted.
    #[test]
    fn a_board_pressed_on_either_face_comes_off_with_the_same_hollow_deck() {
        let (thickness, share, deck): (f64, f64, f64) = (12.0, 0.2, 900.0);
        let stack = section(thickness, share);
        let table = |lies| Across::new(&Concave::Radius(deck), 240.0, &stack, lies).radius_mm(0.0).unwrap();
        // The hollow carries the base: neutral line 4.8 mm nearer to the centre above.
        let (hollow, crown) = (table(Lies::BaseDown), table(Lies::DeckDown));
        assert!(hollow > 0.0 && crown < 0.0);
        let from_base = (hollow - 4.8) / (1.0 - share) - 7.2;
        assert!((from_base - deck).abs() < 1e-9, "{from_base}");
        // The crown carries the deck: its centre is below, and the neutral line 7.2 mm further from it.
        let from_deck = (-crown + 7.2) / (1.0 - share) - 7.2;
        assert!((from_deck - deck).abs() < 1e-9, "{from_deck}");
    }

    #[test]
    fn a_table_for_the_deck_is_a_crown() {
        let profile = vec![(40.0, 0.0), (80.0, 1.0), (120.0, 4.0)];
        for wanted in [Concave::Rise(3.0), Concave::Radius(900.0), Concave::Profile(profile)] {
            let crown = Across::new(&wanted, 240.0, &section(0.0, 0.2), Lies::DeckDown);
            let hollow = Across::new(&wanted, 240.0, &section(0.0, 0.2), Lies::BaseDown);
            for y in [-120.0, -70.0, 0.0, 50.0, 120.0] {
                let (down, up) = (crown.rise_mm(y, 0.0), hollow.rise_mm(y, 0.0));
                assert!((down + up).abs() < 1e-12 && up >= 0.0, "{wanted:?} at {y}: {down} {up}");
            }
            assert!(crown.rise_mm(120.0, 0.0) < -2.0);
            let strain = |a: &Across| a.stretch_finding(240.0, 1.0 / 600.0, 0.01).unwrap().si().unwrap().0;
            assert!((strain(&crown) - strain(&hollow)).abs() < 1e-9);
        }
        // Below its surface a crown is tighter.
        let crown = Across::new(&Concave::Radius(1000.0), 240.0, &section(0.0, 0.0), Lies::DeckDown);
        let below = (988.0_f64 * 988.0 - 14_400.0).sqrt() - 988.0;
        assert!((crown.rise_mm(120.0, 12.0) - below).abs() < 1e-9);
    }

    #[test]
    fn an_arc_across_strains_its_edges_by_two_thirds_of_rise_times_curvature() {
        // The mean of y² over the half width is a third of its largest value.
        let across = across(Concave::Rise(3.0), 0.0, 0.0);
        let finding = across.stretch_finding(240.0, 1.0 / 600.0, 0.01).unwrap();
        assert!(
            (finding.si().unwrap().0 / 100.0 - 2.0 / 3.0 * 3.0 / 600.0).abs() < 1e-5,
            "{}",
            finding.si().unwrap().0
        );
        assert_eq!(finding.verdict, Verdict::Watch);
    }

    #[test]
    fn a_rise_is_met_at_the_edge_and_over_bent_by_the_springback() {
        let exact = across(Concave::Rise(3.0), 0.0, 0.0);
        assert!((exact.rise_mm(120.0, 0.0) - 3.0).abs() < 1e-9);
        assert!((exact.rise_mm(-120.0, 0.0) - 3.0).abs() < 1e-9);
        let over = across(Concave::Rise(3.0), 0.0, 0.25);
        // Curvature grows by 1/(1 - 0.25); the rise of so flat an arc by nearly as much.
        assert!((over.rise_mm(120.0, 0.0) / 4.0 - 1.0).abs() < 1e-3);
    }

    #[test]
    fn a_curve_below_the_surface_is_flatter() {
        let across = across(Concave::Radius(1000.0), 0.0, 0.0);
        let below = 1012.0 - (1012.0_f64 * 1012.0 - 14_400.0).sqrt();
        assert!((across.rise_mm(120.0, 12.0) - below).abs() < 1e-9);
    }

    #[test]
    fn beyond_its_radius_an_arc_rises_no_further() {
        let across = across(Concave::Radius(100.0), 0.0, 0.0);
        assert_eq!([100.0, 110.0, -150.0].map(|y| across.rise_mm(y, 0.0)), [100.0; 3]);
        assert!(across.rise_mm(99.0, 0.0) < 100.0);
    }

    #[test]
    fn a_profile_may_begin_in_the_middle_itself() {
        let given = [(0.0, 0.0), (60.0, 1.0), (120.0, 4.0)];
        let of = |points: &[(f64, f64)]| across(Concave::Profile(points.to_vec()), 0.0, 0.0);
        let (with, without) = (of(&given), of(&given[1..]));
        assert_eq!(with, without);
        assert_eq!((with.rise_mm(0.0, 0.0), with.rise_mm(60.0, 0.0)), (0.0, 1.0));
    }

    #[test]
    fn a_profile_goes_through_its_points_without_overshoot() {
        let points = vec![(40.0, 0.0), (80.0, 1.0), (120.0, 4.0)];
        let across = across(Concave::Profile(points.clone()), 0.0, 0.0);
        for (y, rise) in points {
            assert!((across.rise_mm(y, 0.0) - rise).abs() < 1e-12);
        }
        let mut before = 0.0;
        for i in 0..=240 {
            let now = across.rise_mm(0.5 * f64::from(i), 0.0);
            assert!(now >= before - 1e-12, "falls at {i}");
            before = now;
        }
    }
}
