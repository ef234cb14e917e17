//! How far the blank has to reach beyond the finished ends, and what a shorter one costs, found by pressing.
//!
//! For an even pressure the run-out that the table is designed with says the length. Clamps push at places, and what a
//! longer blank is worth depends on where its outermost clamps then stand; that is found by trying.

use crate::finding::Faults;
use crate::press::Load;

use super::{OverbentTable, Setup};

/// Overhangs that are tried, mm: closer steps where boards need them, none longer than shops like to trim off.
const TRIED_MM: [f64; 9] = [0.0, 15.0, 30.0, 45.0, 60.0, 90.0, 120.0, 180.0, 240.0];
/// How well a found overhang is known, mm.
const KNOWN_MM: f64 = 2.0;
/// Error that an overhang may leave over the least that any leaves, mm: nothing that a rule shows.
const WORTH_MM: f64 = 0.02;

/// What the blank's overhangs are worth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Overhangs {
    /// What the blank needs beyond the finished ends (tail, tip), mm.
    pub needed_mm: (f64, f64),
    /// Error that the present overhangs leave on the finished board over what those needed would, mm; zero where none is
    /// short.
    pub leaves_mm: f64,
}

/// What the overhangs of the setup are worth; `design` makes the table of another one.
pub fn overhangs(
    bent: &OverbentTable,
    setup: &Setup,
    design: impl Fn(&Setup) -> Result<OverbentTable, Faults>,
) -> Overhangs {
    let has_mm = (setup.overhang_tail_mm, setup.overhang_tip_mm);
    if setup.load.matched {
        return Overhangs { needed_mm: (0.0, 0.0), leaves_mm: 0.0 };
    }
    let error_mm =
        |overhangs_mm: (f64, f64)| design(&with(setup, overhangs_mm)).map_or(f64::INFINITY, |table| table.error_mm);
    let needed_mm = if setup.load.forces.is_empty() { bent.overhang_needed_mm } else { searched(&error_mm) };
    let short = has_mm.0 + KNOWN_MM < needed_mm.0 || has_mm.1 + KNOWN_MM < needed_mm.1;
    let enough = (has_mm.0.max(needed_mm.0), has_mm.1.max(needed_mm.1));
    let leaves_mm = if short { (bent.error_mm - error_mm(enough)).max(0.0) } else { 0.0 };
    Overhangs { needed_mm, leaves_mm }
}

/// The least overhangs (tail, tip) that leave hardly more error than the best of those tried.
fn searched(error_mm: &impl Fn((f64, f64)) -> f64) -> (f64, f64) {
    let both: Vec<f64> = TRIED_MM.iter().map(|x| error_mm((*x, *x))).collect();
    let least = both.iter().copied().fold(f64::INFINITY, f64::min);
    if !least.is_finite() {
        return (0.0, 0.0);
    }
    let enough = least + WORTH_MM;
    let Some(i) = both.iter().position(|e| *e <= enough) else { return (0.0, 0.0) };
    let far = TRIED_MM[i];
    // Each end by itself, halving between what does and what does not; the other end has enough meanwhile.
    let halved = |error_at: &dyn Fn(f64) -> f64| {
        if error_at(0.0) <= enough {
            return 0.0;
        }
        let (mut short, mut long) = (0.0, far);
        while long - short > KNOWN_MM {
            let middle = 0.5 * (short + long);
            if error_at(middle) <= enough { long = middle } else { short = middle }
        }
        long
    };
    (halved(&|x| error_mm((x, far))), halved(&|x| error_mm((far, x))))
}

/// The setup with other overhangs (tail, tip); the outermost clamps keep their distance from the blank's ends.
fn with(setup: &Setup, overhangs_mm: (f64, f64)) -> Setup {
    let mut forces = setup.load.forces.clone();
    forces.sort_by(|a, b| a.blank_mm.total_cmp(&b.blank_mm));
    if let Some(first) = forces.first_mut() {
        first.blank_mm -= overhangs_mm.0 - setup.overhang_tail_mm;
    }
    if let Some(last) = forces.last_mut() {
        last.blank_mm += overhangs_mm.1 - setup.overhang_tip_mm;
    }
    let load = Load { forces, ..setup.load.clone() };
    Setup { overhang_tail_mm: overhangs_mm.0, overhang_tip_mm: overhangs_mm.1, load, ..setup.clone() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::curve::Curvature;
    use crate::job::{Layer, Material, MaterialKind};
    use crate::laminate::Laminate;
    use crate::press::LineForce;
    use crate::table::overbend;

    fn stack() -> Laminate {
        let layer = |t: f64, e: f64| Layer::flat("layer", Material::of_modulus("given", MaterialKind::WoodAlong, e), t);
        Laminate::new(&[layer(0.8, 2e4), layer(4.0, 1e4), layer(4.0, 1e4), layer(0.8, 2e4)], 0.0).unwrap()
    }

    fn found(setup: &Setup, target: &Curvature) -> (OverbentTable, Overhangs) {
        let design = |setup: &Setup| overbend(target, 0.0, &stack(), setup);
        let bent = design(setup).unwrap();
        let found = overhangs(&bent, setup, design);
        (bent, found)
    }

    fn setup(overhang_mm: f64, load: Load) -> Setup {
        Setup { overhang_tail_mm: overhang_mm, overhang_tip_mm: overhang_mm, end_margin_mm: 30.0, load }
    }

    #[test]
    fn what_a_short_blank_leaves_is_gone_with_the_overhang_that_is_needed() {
        let target = Curvature::constant(-700.0, 700.0, 1.0 / 1200.0).unwrap();
        let (bent, short) = found(&setup(10.0, Load::even(0.05)), &target);
        assert!(short.leaves_mm > 0.01 && short.leaves_mm <= bent.error_mm, "{short:?} {}", bent.error_mm);
        let (_, long) = found(&setup(short.needed_mm.0 + 0.1, Load::even(0.05)), &target);
        assert_eq!(long.leaves_mm, 0.0);
    }

    #[test]
    fn clamps_are_told_the_overhang_that_pressing_finds_for_them() {
        let target = Curvature::constant(-500.0, 500.0, 1.0 / 2500.0).unwrap();
        let at = |s: f64| LineForce { blank_mm: s, force_n_per_mm: 3.0 };
        // Eleven clamps, the outermost 5 mm inside of the finished ends: what lies beyond is not held.
        let clamps = |overhang: f64| {
            let mut places: Vec<f64> = (-4..=4).map(|i| 100.0 * f64::from(i)).collect();
            places.extend([-495.0 - overhang, 495.0 + overhang]);
            setup(overhang, Load { forces: places.into_iter().map(at).collect(), ..Load::even(5e-5) })
        };
        let (bent, short) = found(&clamps(0.0), &target);
        assert!(short.needed_mm.0 > 5.0 && short.leaves_mm > 0.01, "{short:?} {}", bent.error_mm);
        assert!((short.needed_mm.0 - short.needed_mm.1).abs() <= 2.0 * KNOWN_MM, "{short:?}");
        let needed = short.needed_mm.0.max(short.needed_mm.1);
        let (long, enough) = found(&clamps(needed + KNOWN_MM), &target);
        assert!(enough.leaves_mm == 0.0 && long.error_mm < bent.error_mm, "{enough:?} {}", long.error_mm);
    }

    #[test]
    fn where_no_overhang_can_be_tried_none_is_asked_for() {
        assert_eq!(searched(&|_| f64::INFINITY), (0.0, 0.0));
        // An error that ends at 37 mm at the tail and at 12 mm at the tip is found at both ends.
        let error = |(tail, tip): (f64, f64)| if tail < 37.0 || tip < 12.0 { 1.0 } else { 0.0 };
        let (tail, tip) = searched(&error);
        assert!((37.0..=37.0 + KNOWN_MM).contains(&tail) && (12.0..=12.0 + KNOWN_MM).contains(&tip), "{tail} {tip}");
        assert_eq!(searched(&|_| 0.0), (0.0, 0.0));
    }

    #[test]
    fn a_blank_is_short_where_either_end_lacks_more_than_the_overhang_is_known_by() {
        let target = Curvature::constant(-300.0, 300.0, 1.0 / 3000.0).unwrap();
        let setup = setup(10.0, Load::even(0.05));
        let made = overbend(&target, 0.0, &stack(), &setup).unwrap();
        let leaves_mm = |needed_mm: (f64, f64)| {
            let bent = OverbentTable { overhang_needed_mm: needed_mm, error_mm: 0.75, ..made.clone() };
            let asked = std::cell::Cell::new(None);
            let found = overhangs(&bent, &setup, |other| {
                asked.set(Some((other.overhang_tail_mm, other.overhang_tip_mm)));
                Ok(OverbentTable { error_mm: 0.5, ..made.clone() })
            });
            assert_eq!(found.needed_mm, needed_mm);
            (found.leaves_mm, asked.get())
        };
        // It has 10 mm at each end. Up to 12 mm are not known from that, and more than enough is not short either.
        for enough in [(0.0, 0.0), (10.0, 10.0), (9.0, 9.0), (11.5, 11.5)] {
            assert_eq!(leaves_mm(enough), (0.0, None), "{enough:?}");
        }
        // One end that is short gets what it needs, the other keeps what it has.
        for (needed, longer) in [((12.5, 0.0), (12.5, 10.0)), ((5.0, 15.0), (10.0, 15.0)), ((90.0, 80.0), (90.0, 80.0))]
        {
            assert_eq!(leaves_mm(needed), (0.25, Some(longer)), "{needed:?}");
        }
    }

    #[test]
    fn clamps_near_the_ends_move_with_them_and_the_others_stay() {
        let at = |blank_mm: f64| LineForce { blank_mm, force_n_per_mm: 3.0 };
        let load = Load { forces: [200.0, -305.0, 0.0, 310.0].map(at).to_vec(), ..Load::even(5e-5) };
        let before = Setup { overhang_tail_mm: 10.0, overhang_tip_mm: 20.0, ..setup(0.0, load) };
        let after = with(&before, (50.0, 16.0));
        // Forty millimetres further out at the tail, four further in at the tip.
        let places: Vec<f64> = after.load.forces.iter().map(|f| f.blank_mm).collect();
        assert_eq!(places, [-345.0, 0.0, 200.0, 306.0]);
        assert_eq!((after.overhang_tail_mm, after.overhang_tip_mm), (50.0, 16.0));
    }
}
