//! The modulus of the actual stock from how far a strip of it sags.

use crate::codes;
use crate::finding::{Fault, Faults};
use crate::job::{SagTest, Spread};
use crate::units::{Quantity, phrase};

/// Span over thickness below which the formula is not to be trusted: supports and shear then blur the sag.
const SHORTEST_SPAN: f64 = 10.0;
/// Sag over span above which the strip no longer bends as a straight beam: the formula is then off by about 1 %.
const DEEPEST_SAG: f64 = 0.08;
/// Standard errors of what a shop reads with ruler and kitchen scale (common practice, no source): span, mm.
const SPAN_ERROR_MM: f64 = 1.0;
/// Width, mm.
const WIDTH_ERROR_MM: f64 = 0.2;
/// Load, as a part of it.
const LOAD_ERROR: f64 = 0.01;

/// The result of a sag test.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SagModulus {
    /// Modulus in MPa with the scatter that the test's own readings leave.
    pub modulus_mpa: Spread,
    /// Part of the sag that the strip's own weight makes.
    pub own_weight_share: f64,
    /// Part of the sag that shear makes; zero where it was not to be taken out.
    pub shear_share: f64,
}

/// Modulus from a strip on two supports with a weight in its middle.
///
/// Sag under load F and own weight W over span L, I = b t³/12: d = F L³/(48 E I) + 5 W L³/(384 E I) (standard beam
/// tables, from memory); with shear, x = (E/G)(t/L)², the two terms grow by 1 + 1.2 x and 1 + 0.96 x (shear factor 6/5
/// of a rectangle, from memory). The scatter is that of the readings, by first-order propagation.
///
/// `path` is the key of the test, such as `layers[1].sag_test`.
///
/// # Errors
/// Readings that are not positive, a span too short for its thickness, a sag too deep for its span.
pub fn sag_modulus(test: &SagTest, path: &str) -> Result<SagModulus, Faults> {
    check(test, path)?;
    let SagTest { span_mm: l, load_n, sag_mm, width_mm, thickness_mm: t, strip_weight_n, .. } = *test;
    let second_moment_mm4 = width_mm * t.powi(3) / 12.0;
    let x = test.shear_ratio.unwrap_or(0.0) * (t / l).powi(2);
    let by_load = load_n * l.powi(3) / (48.0 * second_moment_mm4);
    let by_weight = 5.0 * strip_weight_n * l.powi(3) / (384.0 * second_moment_mm4);
    let bending = by_load + by_weight;
    let with_shear = by_load * (1.0 + 1.2 * x) + by_weight * (1.0 + 0.96 * x);
    let relative = [
        LOAD_ERROR * by_load / bending,
        3.0 * SPAN_ERROR_MM / l,
        WIDTH_ERROR_MM / width_mm,
        3.0 * test.thickness_error_mm / t,
        test.sag_error_mm / sag_mm,
    ];
    let cv = relative.iter().map(|r| r * r).sum::<f64>().sqrt();
    Ok(SagModulus {
        modulus_mpa: Spread { value: with_shear / sag_mm, cv },
        own_weight_share: by_weight / bending,
        shear_share: 1.0 - bending / with_shear,
    })
}

fn check(test: &SagTest, path: &str) -> Result<(), Faults> {
    let mut faults = Faults::default();
    let (length, force) = (Quantity::exact as fn(f64) -> Quantity, Quantity::force as fn(f64) -> Quantity);
    let positive = [
        ("span", test.span_mm, length),
        ("load", test.load_n, force),
        ("sag", test.sag_mm, length),
        ("width", test.width_mm, length),
        ("thickness", test.thickness_mm, length),
    ];
    let not_negative = [
        ("strip_weight", test.strip_weight_n, force),
        ("shear_ratio", test.shear_ratio.unwrap_or(0.0), Quantity::times),
        ("sag_error", test.sag_error_mm, length),
        ("thickness_error", test.thickness_error_mm, length),
    ];
    let bad = |x: f64, least_allowed: bool| !x.is_finite() || x < 0.0 || (x == 0.0 && !least_allowed);
    let all = positive.iter().map(|p| (p, false)).chain(not_negative.iter().map(|p| (p, true)));
    for (&(key, value, make), zero_allowed) in all {
        if bad(value, zero_allowed) {
            let message = phrase!("`{}` of the sag test is {}.", key, make(value));
            let remedy = if zero_allowed { "Give zero or more." } else { "Give a value above zero." };
            faults.push(Fault::new(codes::SAG_TEST_READING, format!("{path}.{key}"), message, remedy));
        }
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    if test.span_mm < SHORTEST_SPAN * test.thickness_mm {
        faults.push(Fault::new(
            codes::SAG_TEST_SPAN,
            format!("{path}.span"),
            phrase!(
                "A span of {} is short for a strip {} thick.",
                Quantity::fine(test.span_mm),
                Quantity::exact(test.thickness_mm)
            ),
            phrase!("Use at least {}.", Quantity::fine(SHORTEST_SPAN * test.thickness_mm)),
        ));
    }
    if test.sag_mm > DEEPEST_SAG * test.span_mm {
        faults.push(Fault::new(
            codes::SAG_TEST_DEPTH,
            format!("{path}.sag"),
            phrase!(
                "A sag of {} is deep for a span of {}.",
                Quantity::exact(test.sag_mm),
                Quantity::fine(test.span_mm)
            ),
            phrase!("Use a lighter weight: at most {} of sag.", Quantity::fine(DEEPEST_SAG * test.span_mm)),
        ));
    }
    faults.or(())
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use crate::close::close_rel;

    /// A strip of 40 by 8 mm over 600 mm that a kilogram bends by 5 mm.
    pub(in crate::laminate) fn test() -> SagTest {
        SagTest {
            span_mm: 600.0,
            load_n: 9.806_65,
            sag_mm: 5.0,
            width_mm: 40.0,
            thickness_mm: 8.0,
            strip_weight_n: 0.0,
            shear_ratio: None,
            sag_error_mm: 0.1,
            thickness_error_mm: 0.05,
        }
    }

    #[test]
    fn the_plain_case_is_the_beam_formula() {
        let e = sag_modulus(&test(), "t").unwrap().modulus_mpa;
        // F L³/(48 I d), I = 40 · 512/12.
        close_rel(e.value, 9.806_65 * 2.16e8 / (48.0 * (40.0 * 512.0 / 12.0) * 5.0), 1e-14);
        let errors: [f64; 5] = [0.01, 3.0 / 600.0, 0.2 / 40.0, 0.15 / 8.0, 0.1 / 5.0];
        close_rel(e.cv, errors.iter().map(|x| x * x).sum::<f64>().sqrt(), 1e-14);
    }

    #[test]
    fn own_weight_counts_five_eighths_in_the_middle() {
        let mut with = test();
        with.strip_weight_n = 1.6;
        let mut alike = test();
        alike.load_n += 1.0;
        let (a, b) = (sag_modulus(&with, "t").unwrap(), sag_modulus(&alike, "t").unwrap());
        close_rel(a.modulus_mpa.value, b.modulus_mpa.value, 1e-14);
        close_rel(a.own_weight_share, 1.0 / 10.806_65, 1e-12);
    }

    /// Wood Handbook, footnote of Table 5-3b (second-hand): at a span of 14 depths the modulus without shear is about
    /// 10 % higher; E/G of wood is near 16 (Wood Handbook, chapter 5, from memory).
    #[test]
    fn shear_of_wood_at_a_span_of_fourteen_depths_is_about_a_tenth() {
        let mut short = test();
        short.span_mm = 14.0 * short.thickness_mm;
        short.sag_mm = 0.05;
        let without = sag_modulus(&short, "t").unwrap().modulus_mpa.value;
        short.shear_ratio = Some(16.0);
        let with = sag_modulus(&short, "t").unwrap();
        assert!((1.09..1.11).contains(&(with.modulus_mpa.value / without)), "{with:?}");
        close_rel(1.0 / (1.0 - with.shear_share), with.modulus_mpa.value / without, 1e-12);
    }

    #[test]
    fn readings_that_cannot_be_are_refused_with_the_key() {
        let mut bad = test();
        bad.sag_mm = 0.0;
        bad.width_mm = f64::NAN;
        let faults = sag_modulus(&bad, "layers[1].sag_test").unwrap_err();
        let paths: Vec<_> = faults.iter().map(|f| f.path.as_str()).collect();
        assert_eq!(paths, ["layers[1].sag_test.sag", "layers[1].sag_test.width"]);
        let mut deep = test();
        deep.sag_mm = 60.0;
        deep.span_mm = 70.0;
        let codes: Vec<_> = sag_modulus(&deep, "t").unwrap_err().iter().map(|f| f.code.name).collect();
        assert_eq!(codes, ["sag-test-span", "sag-test-depth"]);
    }

    #[test]
    fn readings_below_zero_are_refused_and_only_some_may_be_zero() {
        let zero_allowed =
            |faults: &[Fault]| faults.iter().map(|f| f.remedy() == "Give zero or more.").collect::<Vec<_>>();
        let mut bad = test();
        (bad.strip_weight_n, bad.shear_ratio, bad.sag_error_mm) = (-1.0, Some(-16.0), f64::INFINITY);
        (bad.span_mm, bad.load_n) = (-600.0, 0.0);
        let faults = sag_modulus(&bad, "t").unwrap_err();
        let paths: Vec<_> = faults.iter().map(|f| f.path.as_str()).collect();
        assert_eq!(paths, ["t.span", "t.load", "t.strip_weight", "t.shear_ratio", "t.sag_error"]);
        assert_eq!(zero_allowed(&faults), [false, false, true, true, true]);
        let mut sure = test();
        (sure.sag_error_mm, sure.thickness_error_mm) = (0.0, 0.0);
        assert!(sag_modulus(&sure, "t").is_ok());
    }
}
