//! Any text as a quantity of any kind.
#![no_main]

use libfuzzer_sys::fuzz_target;
use overbend::units::{Dimension, LengthUnit, length, parse_quantity};

const DIMENSIONS: [Dimension; 14] = [
    Dimension::Length,
    Dimension::Pressure,
    Dimension::Modulus,
    Dimension::Strength,
    Dimension::Force,
    Dimension::Angle,
    Dimension::Temperature,
    Dimension::Ratio,
    Dimension::Density,
    Dimension::AreaMass,
    Dimension::Curvature,
    Dimension::Expansion,
    Dimension::Altitude,
    Dimension::Time,
];

fuzz_target!(|bytes: &[u8]| {
    let Some((first, rest)) = bytes.split_first() else { return };
    let Ok(text) = std::str::from_utf8(rest) else { return };
    let dimension = DIMENSIONS[usize::from(*first) % DIMENSIONS.len()];
    for bare in [LengthUnit::Millimetre, LengthUnit::Inch { denominator: 64 }] {
        if let Ok(value) = parse_quantity(text, dimension, bare) {
            assert!(value.is_finite(), "`{text}` is {value}");
            // What is printed can be read again.
            if dimension == Dimension::Length && value.abs() < 1e6 {
                let shown = length(value, bare);
                assert!(!shown.contains("n/a"), "{value} is shown as {shown}");
            }
        }
    }
});
