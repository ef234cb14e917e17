//! The target curve, and what is to be looked at about it.

use kurbo::Vec2;

use super::measured::Fit;
use super::report::Report;
use crate::codes;
use crate::curve::{Curvature, Curve, PlaneCurve, Pose, lowest_point, resting_pose};
use crate::finding::{Finding, Held, Verdict};
use crate::units::{Phrase, Quantity, phrase};

/// The wanted rocker.
#[derive(Debug, Clone, PartialEq)]
pub struct Target {
    /// Curvature at the base of the finished board over its arc length, from -L/2 (tail) to +L/2 (tip).
    pub curvature: Curvature,
    /// The base as it rests on the floor: lowest point at height 0, s = 0 at x = 0.
    pub curve: Curve,
    /// Where the board rests (the place that decides how it stands), mm from its middle.
    pub anchor_mm: f64,
    /// What can be said about it.
    pub report: Report,
    /// The fit that it comes from, where it was read off a board.
    pub fit: Option<Fit>,
}

/// Turns of the curvature that a board may have without a bump where nobody asked for more: its tightest places near
/// tip and tail, and the place between them where it is least bent.
pub(super) const FAIR_EXTREMA: usize = 3;

/// Rise between the lowest and the highest place of the base that boards usually have, as a part of their length: from a
/// slight camber to a scoop (common practice, no source).
const USUAL_RISE: (f64, f64) = (0.002, 0.25);
/// The same for a board whose ends both stand higher than its middle: a rocker is seldom as slight as a camber.
const LEAST_ROCKER: f64 = 0.004;
/// Below this part of its length a board is straight.
const STRAIGHT_SHARE: f64 = 1e-6;

impl Target {
    /// The target made of `curvature`, resting at `anchor_mm`; `asked_extrema` of its curvature are meant and no bumps.
    pub(crate) fn new(curvature: Curvature, anchor_mm: f64, asked_extrema: usize) -> Self {
        let curve = resting_pose(&Curve::new(curvature), anchor_mm);
        Self::standing(curve, anchor_mm, asked_extrema)
    }

    /// The target whose curve stands tilted as given; only its lowest point is brought to height 0.
    pub(super) fn standing(curve: Curve, anchor_mm: f64, asked_extrema: usize) -> Self {
        let lowest = curve.at(lowest_point(&curve)).point.y;
        let curve = curve.posed(Pose { turn_rad: 0.0, shift: Vec2::new(-curve.at(0.0).point.x, -lowest) });
        let report = Report::of(&curve, anchor_mm, asked_extrema);
        Self { curvature: curve.curvature().clone(), curve, anchor_mm, report, fit: None }
    }

    /// The board that was read, standing as it was read.
    ///
    /// On the floor it lay as it rests, so its tilt is the one that was read: setting the fitted curve down anew would
    /// let the noise in a long flat tip it. Along a straightedge the tilt means nothing, and it is set down.
    pub fn of_fit(fit: Fit) -> Self {
        let anchor_mm = lowest_point(&fit.curve);
        let target = if fit.on_floor() {
            Self::standing(fit.curve.clone(), anchor_mm, FAIR_EXTREMA)
        } else {
            Self::new(fit.curvature.clone(), anchor_mm, FAIR_EXTREMA)
        };
        Self { fit: Some(fit), ..target }
    }

    /// What to look at before pressing: readings that stand out, bumps that nobody asked for.
    pub fn findings(&self) -> Vec<Finding> {
        let mut findings: Vec<Finding> = self.fit.iter().flat_map(|fit| fit.findings.iter().cloned()).collect();
        if self.report.bumps > 0 {
            let places = self.report.extrema.iter().map(|e| phrase!("{}", Quantity::place(e.s_mm)));
            let (turns, wanted) = (self.report.extrema.len(), self.report.extrema.len() - self.report.bumps);
            findings.push(codes::CURVATURE_BUMPS.check(
                phrase!("turns of the curvature, at {} from the middle", Phrase::join(places, ", ")),
                (Verdict::Watch, Held::at_most(Quantity::count(turns as f64), Quantity::count(wanted as f64))),
            ));
        }
        findings.extend(self.unusual_rise());
        findings
    }

    /// A board that is bent much less or much more than boards of its length are; one that is quite straight is meant so.
    fn unusual_rise(&self) -> Option<Finding> {
        let length_mm = self.curvature.length_mm();
        let heights = self.curve.samples(0.01 * length_mm).into_iter().map(|w| w.point.y);
        let (low, high) = heights.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), z| (a.min(z), b.max(z)));
        let share = (high - low) / length_mm;
        let middle_mm = self.curve.at(0.0).point.y;
        let rocker =
            middle_mm - low < 0.1 * (high - low) && self.tip_height_mm().min(self.tail_height_mm()) > middle_mm;
        let least = if rocker { LEAST_ROCKER } else { USUAL_RISE.0 };
        if share < STRAIGHT_SHARE || (least..=USUAL_RISE.1).contains(&share) {
            return None;
        }
        let other_mm = if share < least { 10.0 * (high - low) } else { 0.1 * (high - low) };
        Some(
            codes::ROCKER_UNUSUAL
                .check(
                    phrase!(
                        "rise of {} over a board of {}, as a part of its length",
                        Quantity::length(high - low),
                        Quantity::length(length_mm)
                    ),
                    (
                        Verdict::Watch,
                        if share > USUAL_RISE.1 {
                            Held::at_most(Quantity::share(share), Quantity::share(USUAL_RISE.1))
                        } else {
                            Held::at_least(Quantity::share(share), Quantity::share(least))
                        },
                    ),
                )
                .with_remedy(phrase!(
                    "Look at heights, radii and their units: were they in centimetres ({}), or in inches?",
                    Quantity::fine(other_mm)
                )),
        )
    }

    /// Height of the tip above the lowest point while the board rests, mm.
    pub fn tip_height_mm(&self) -> f64 {
        self.curve.at(self.curvature.end_mm()).point.y
    }

    /// Height of the tail above the lowest point while the board rests, mm.
    pub fn tail_height_mm(&self) -> f64 {
        self.curve.at(self.curvature.start_mm()).point.y
    }
}
