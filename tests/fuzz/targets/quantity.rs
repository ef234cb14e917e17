//! Any text as a quantity of any kind.
#![no_main]

use libfuzzer_sys::fuzz_target;
use overbend::units::{Dimension, LengthUnit, Quantity, parse_quantity};

const DIMENSIONS: [Dimension; 22] = [
    Dimension::Length,
    Dimension::Pressure,
    Dimension::Modulus,
    Dimension::Strength,
    Dimension::Force,
    Dimension::Weight,
    Dimension::LineForce,
    Dimension::StripStiffness,
    Dimension::Angle,
    Dimension::Temperature,
    Dimension::TemperatureDifference,
    Dimension::Ratio,
    Dimension::Density,
    Dimension::AreaMass,
    Dimension::Curvature,
    Dimension::Expansion,
    Dimension::Altitude,
    Dimension::Time,
    Dimension::Price,
    Dimension::PricePerLength,
    Dimension::PricePerArea,
    Dimension::PricePerMass,
];

fuzz_target!(|bytes: &[u8]| {
    let Some((first, rest)) = bytes.split_first() else { return };
    let Ok(text) = std::str::from_utf8(rest) else { return };
    let dimension = DIMENSIONS[usize::from(*first) % DIMENSIONS.len()];
    for bare in [LengthUnit::Millimetre, LengthUnit::Inch { denominator: 64 }] {
        if let Ok(value) = parse_quantity(text, dimension, bare) {
            assert!(value.is_finite(), "`{text}` is {value}");
            let shown = Quantity::of(dimension, value).text(bare);
            assert!(!shown.contains("n/a"), "{value} is shown as {shown}");
        }
    }
});
