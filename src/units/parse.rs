//! Text and bare numbers to quantities in the library's own units.

use std::fmt;

use super::{MM_PER_INCH, N_PER_LBF, PA_PER_INHG, PA_PER_PSI, STANDARD_GRAVITY};

/// The unit of bare lengths in a document and of lengths printed for its shop.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum LengthUnit {
    /// Millimetres.
    #[default]
    Millimetre,
    /// Inches, printed as fractions of at most this denominator.
    Inch {
        /// Finest division of the shop's rule: 8, 16, 32 or 64.
        denominator: u32,
    },
}

impl LengthUnit {
    /// Denominator of fractions of an inch, where the shop has not chosen one a sixty-fourth.
    pub(crate) fn denominator(self) -> u32 {
        match self {
            Self::Millimetre => 64,
            Self::Inch { denominator } => denominator,
        }
    }

    /// Millimetres in one of this unit.
    pub(crate) fn mm(self) -> f64 {
        match self {
            Self::Millimetre => 1.0,
            Self::Inch { .. } => MM_PER_INCH,
        }
    }
}

/// What a quantity measures; it decides which units may stand behind the number and what a bare number means.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Dimension {
    /// Millimetres inside; bare numbers are in the document's length unit.
    Length,
    /// Megapascals inside; bare numbers are kPa.
    Pressure,
    /// Megapascals inside; bare numbers are GPa.
    Modulus,
    /// Megapascals inside; bare numbers are MPa.
    Strength,
    /// Newtons inside; bare numbers are N. A mass is taken as its weight.
    Force,
    /// Newtons inside, as the weight of a mass; a number without its unit could mean either, so it is refused.
    Weight,
    /// Newtons per millimetre of width inside; bare numbers are N/mm.
    LineForce,
    /// Newton millimetres inside: bending stiffness per width; bare numbers are N mm.
    StripStiffness,
    /// Radians inside; bare numbers are degrees.
    Angle,
    /// Degrees Celsius inside; bare numbers are °C.
    Temperature,
    /// Kelvins inside, as a difference: `36 F` is 20 K; bare numbers are K.
    TemperatureDifference,
    /// A number without unit; `12 %` is 0.12.
    Ratio,
    /// Kilograms per cubic metre inside; bare numbers are kg/m³.
    Density,
    /// Grams per square metre inside; bare numbers are g/m².
    AreaMass,
    /// Per millimetre inside; bare numbers are per metre.
    Curvature,
    /// Per kelvin inside; bare numbers are millionths per kelvin.
    Expansion,
    /// Metres above the sea inside; bare numbers are m.
    Altitude,
    /// Hours inside; bare numbers are h.
    Time,
    /// Money for one piece, in whatever currency; a number without unit.
    Price,
    /// Money per metre inside; bare numbers are per m.
    PricePerLength,
    /// Money per square metre inside; bare numbers are per m².
    PricePerArea,
    /// Money per kilogram inside; bare numbers are per kg.
    PricePerMass,
}

/// Why a text is not the quantity that was asked for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum QuantityError {
    /// There is no number at the start of the text.
    NotANumber,
    /// The number is infinite or not a number.
    NotFinite,
    /// A fraction has zero below the line.
    ZeroDenominator,
    /// The unit is missing, unknown or of another kind; the second string lists those that would do.
    WrongUnit {
        /// What stood there; empty for nothing.
        found: String,
        /// The units that fit, as a phrase.
        expected: &'static str,
    },
}

impl fmt::Display for QuantityError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotANumber => f.write_str("it does not begin with a number"),
            Self::NotFinite => f.write_str("it is not a finite number"),
            Self::ZeroDenominator => f.write_str("it divides by zero"),
            Self::WrongUnit { found, expected } if found.is_empty() => write!(f, "it has no unit; use {expected}"),
            Self::WrongUnit { found, expected } => write!(f, "`{found}` is not a unit that fits; use {expected}"),
        }
    }
}

impl std::error::Error for QuantityError {}

impl Dimension {
    /// The units that may be written, as a phrase for messages, the likeliest first.
    pub fn units(self) -> &'static str {
        match self {
            Self::Length => "mm, cm, m, in or ft",
            Self::Pressure => "kPa, Pa, MPa, mbar, bar, psi, inHg or atm",
            Self::Modulus => "GPa, MPa, psi, ksi or Mpsi",
            Self::Strength => "MPa, GPa, kPa, psi or ksi",
            Self::Force => "N, kN, lbf, kg or lb",
            Self::Weight => "kg, g, lb, N, kN or lbf",
            Self::LineForce => "N/mm, kN/m, N/m or lbf/in",
            Self::StripStiffness => "N mm, N m or lbf in",
            Self::Angle => "deg or rad",
            Self::Temperature => "°C, C or F",
            Self::TemperatureDifference => "K, °C, C or F",
            Self::Ratio => "a plain number or %",
            Self::Density => "kg/m3, g/cm3 or lb/ft3",
            Self::AreaMass => "g/m2 or oz/yd2",
            Self::Curvature => "1/m, 1/mm or 1/in",
            Self::Expansion => "1e-6/K",
            Self::Altitude => "m or ft",
            Self::Time => "h, min or days",
            Self::Price => "a plain number",
            Self::PricePerLength => "per m or per ft",
            Self::PricePerArea => "per m2 or per ft2",
            Self::PricePerMass => "per kg or per lb",
        }
    }

    /// What it is called in sentences, and the unit of a bare number or, where none is taken, the likeliest one; it is mm for
    /// lengths and none for ratios.
    fn name_and_unit(self) -> (&'static str, &'static str) {
        match self {
            Self::Length => ("length", "mm"),
            Self::Pressure => ("pressure", "kPa"),
            Self::Modulus => ("modulus", "GPa"),
            Self::Strength => ("strength", "MPa"),
            Self::Force => ("force", "N"),
            Self::Weight => ("weight", "kg"),
            Self::LineForce => ("force per width", "N/mm"),
            Self::StripStiffness => ("stiffness per width", "N mm"),
            Self::Angle => ("angle", "deg"),
            Self::Temperature => ("temperature", "°C"),
            Self::TemperatureDifference => ("temperature difference", "K"),
            Self::Ratio => ("ratio", ""),
            Self::Density => ("density", "kg/m3"),
            Self::AreaMass => ("mass per area", "g/m2"),
            Self::Curvature => ("curvature", "1/m"),
            Self::Expansion => ("expansion", "1e-6/K"),
            Self::Altitude => ("altitude", "m"),
            Self::Time => ("time", "h"),
            Self::Price => ("price", ""),
            Self::PricePerLength => ("price of a length", "per m"),
            Self::PricePerArea => ("price of an area", "per m2"),
            Self::PricePerMass => ("price of a mass", "per kg"),
        }
    }

    /// What it is called in sentences, such as `length`.
    pub fn name(self) -> &'static str {
        self.name_and_unit().0
    }

    /// The unit of a bare number in a document of millimetres, or the likeliest where none is taken; empty for ratios and prices
    /// of a piece.
    pub fn unit(self) -> &'static str {
        self.name_and_unit().1
    }

    /// Whether a number without a unit is taken.
    pub fn takes_bare(self) -> bool {
        self.scale("", LengthUnit::Millimetre).is_some()
    }

    /// A value in the library's own unit as a number in [`Dimension::unit`].
    pub fn to_bare(self, value: f64) -> f64 {
        let (factor, offset) = self.scale(self.unit(), LengthUnit::Millimetre).unwrap_or((1.0, 0.0));
        (value - offset) / factor
    }

    /// Factor and offset that take a number with `unit` to the library's own unit, or `None` if it does not fit.
    // Long, because it is one table of units.
    fn scale(self, unit: &str, bare: LengthUnit) -> Option<(f64, f64)> {
        const FOOT_MM: f64 = 12.0 * MM_PER_INCH;
        let factor = match self {
            Self::Length => match unit {
                "" => bare.mm(),
                "mm" => 1.0,
                "cm" => 10.0,
                "m" => 1000.0,
                "in" | "inch" | "inches" | "\"" => MM_PER_INCH,
                "ft" | "'" => FOOT_MM,
                _ => return None,
            },
            Self::Pressure => match unit {
                "" | "kPa" => 1e-3,
                "Pa" => 1e-6,
                "MPa" | "N/mm2" => 1.0,
                "mbar" | "hPa" => 1e-4,
                "bar" => 0.1,
                "psi" => PA_PER_PSI * 1e-6,
                "inHg" => PA_PER_INHG * 1e-6,
                "atm" => 0.101_325,
                _ => return None,
            },
            Self::Modulus => match unit {
                "" | "GPa" => 1e3,
                "MPa" | "N/mm2" => 1.0,
                "psi" => PA_PER_PSI * 1e-6,
                "ksi" => PA_PER_PSI * 1e-3,
                "Mpsi" => PA_PER_PSI,
                _ => return None,
            },
            Self::Strength => match unit {
                "" | "MPa" | "N/mm2" => 1.0,
                "GPa" => 1e3,
                "kPa" => 1e-3,
                "psi" => PA_PER_PSI * 1e-6,
                "ksi" => PA_PER_PSI * 1e-3,
                _ => return None,
            },
            Self::Weight if unit.is_empty() => return None,
            Self::Force | Self::Weight => match unit {
                "" | "N" => 1.0,
                "kN" => 1e3,
                "lbf" | "lb" => N_PER_LBF,
                "kg" | "kgf" => STANDARD_GRAVITY,
                "g" => 1e-3 * STANDARD_GRAVITY,
                _ => return None,
            },
            Self::LineForce => match unit {
                "" | "N/mm" | "kN/m" => 1.0,
                "N/m" => 1e-3,
                "lbf/in" => N_PER_LBF / MM_PER_INCH,
                _ => return None,
            },
            Self::StripStiffness => match unit {
                "" | "N mm" | "N*mm" | "Nmm" => 1.0,
                "N m" | "N*m" | "Nm" => 1e3,
                "lbf in" | "lbf*in" => N_PER_LBF * MM_PER_INCH,
                _ => return None,
            },
            Self::Angle => match unit {
                "" | "deg" | "°" => std::f64::consts::PI / 180.0,
                "rad" => 1.0,
                _ => return None,
            },
            Self::Temperature => match unit {
                "" | "C" | "°C" => 1.0,
                "F" | "°F" => return Some((5.0 / 9.0, -160.0 / 9.0)),
                _ => return None,
            },
            Self::TemperatureDifference => match unit {
                "" | "K" | "C" | "°C" => 1.0,
                "F" | "°F" => 5.0 / 9.0,
                _ => return None,
            },
            Self::Ratio => match unit {
                "" => 1.0,
                "%" => 0.01,
                _ => return None,
            },
            Self::Density => match unit {
                "" | "kg/m3" => 1.0,
                "g/cm3" => 1e3,
                "lb/ft3" => 0.453_592_37 / (FOOT_MM * FOOT_MM * FOOT_MM * 1e-9),
                _ => return None,
            },
            Self::AreaMass => match unit {
                "" | "g/m2" => 1.0,
                "oz/yd2" => 28.349_523_125 / (0.9144 * 0.9144),
                _ => return None,
            },
            Self::Curvature => match unit {
                "" | "1/m" => 1e-3,
                "1/mm" => 1.0,
                "1/in" => 1.0 / MM_PER_INCH,
                _ => return None,
            },
            Self::Expansion => match unit {
                "" | "1e-6/K" => 1e-6,
                _ => return None,
            },
            Self::Altitude => match unit {
                "" | "m" => 1.0,
                "ft" => 0.3048,
                _ => return None,
            },
            Self::Time => match unit {
                "" | "h" => 1.0,
                "min" => 1.0 / 60.0,
                "days" | "d" => 24.0,
                _ => return None,
            },
            Self::Price => match unit {
                "" => 1.0,
                _ => return None,
            },
            Self::PricePerLength => match unit {
                "" | "per m" => 1.0,
                "per ft" => 1e3 / FOOT_MM,
                _ => return None,
            },
            Self::PricePerArea => match unit {
                "" | "per m2" => 1.0,
                "per ft2" => 1e6 / (FOOT_MM * FOOT_MM),
                _ => return None,
            },
            Self::PricePerMass => match unit {
                "" | "per kg" => 1.0,
                "per lb" => 1.0 / 0.453_592_37,
                _ => return None,
            },
        };
        Some((factor, 0.0))
    }

    fn wrong_unit(self, found: &str) -> QuantityError {
        QuantityError::WrongUnit { found: found.to_owned(), expected: self.units() }
    }

    /// A bare number of the document in the library's own unit.
    ///
    /// # Errors
    /// [`QuantityError::NotFinite`] for infinities and not-a-number, [`QuantityError::WrongUnit`] where it needs a unit.
    pub fn from_bare(self, number: f64, bare: LengthUnit) -> Result<f64, QuantityError> {
        if !number.is_finite() {
            return Err(QuantityError::NotFinite);
        }
        let (factor, offset) = self.scale("", bare).ok_or_else(|| self.wrong_unit(""))?;
        Ok(number * factor + offset)
    }
}

/// Values from here on overflow in some unit that they may be shown in; nothing in a shop comes near.
const LARGEST: f64 = 1e280;

/// Reads `12`, `12.5 mm`, `1/2 in`, `3 7/8 in`, `3-7/8"`, `14.7 psi`, `10.9 GPa`, `-0.5 %`.
///
/// Returns the value in the library's own unit of `dimension`. `bare` is the document's length unit.
///
/// ```
/// use overbend::units::{Dimension, LengthUnit, parse_quantity};
///
/// let length_mm = parse_quantity("3 7/8 in", Dimension::Length, LengthUnit::Millimetre).unwrap();
/// assert!((length_mm - 98.425).abs() < 1e-9);
/// assert!(parse_quantity("3 psi", Dimension::Length, LengthUnit::Millimetre).is_err());
/// ```
///
/// # Errors
/// Reports whether the number or the unit is at fault, with the units that would fit.
pub fn parse_quantity(text: &str, dimension: Dimension, bare: LengthUnit) -> Result<f64, QuantityError> {
    let text = text.trim();
    let number_end = text.char_indices().find(|&(at, c)| !is_number_char(text, at, c)).map_or(text.len(), |(at, _)| at);
    let (mut number, mut unit) = text.split_at(number_end);
    if dimension == Dimension::Curvature || dimension == Dimension::Expansion {
        // Their units begin with a digit ("1/m"), so the number ends at the first space.
        let cut = text.find(char::is_whitespace).unwrap_or(text.len());
        (number, unit) = text.split_at(cut);
    }
    let value = parse_number(number.trim())?;
    let unit = unit.trim();
    let (factor, offset) = dimension.scale(unit, bare).ok_or_else(|| dimension.wrong_unit(unit))?;
    let result = value * factor + offset;
    // What another unit could not hold either counts as not finite.
    if result.abs() < LARGEST { Ok(result) } else { Err(QuantityError::NotFinite) }
}

fn is_number_char(text: &str, at: usize, c: char) -> bool {
    if c.is_ascii_digit() || matches!(c, '.' | '+' | '-' | '/' | ' ' | '_') {
        return true;
    }
    // An exponent counts only where digits go on behind it, so that "2 e" is a bad unit and not a bad number.
    let after = text[at + c.len_utf8()..].trim_start_matches(['+', '-']);
    let before = text[..at].chars().next_back().is_some_and(|b| b.is_ascii_digit() || b == '.');
    matches!(c, 'e' | 'E') && before && after.starts_with(|d: char| d.is_ascii_digit())
}

/// A decimal, a fraction, or a whole number followed by a fraction (blank or hyphen between).
fn parse_number(text: &str) -> Result<f64, QuantityError> {
    let (negative, body) = match text.strip_prefix('-') {
        Some(rest) => (true, rest.trim_start()),
        None => (false, text.strip_prefix('+').unwrap_or(text).trim_start()),
    };
    let value = match body.split_once('/') {
        None => decimal_number(body)?,
        Some((above, below)) => {
            let (whole, numerator) = match above.trim().rsplit_once([' ', '-']) {
                Some((whole, numerator)) => (whole_number(whole.trim())?, whole_number(numerator)?),
                None => (0.0, whole_number(above.trim())?),
            };
            let denominator = whole_number(below.trim())?;
            if denominator == 0.0 {
                return Err(QuantityError::ZeroDenominator);
            }
            whole + numerator / denominator
        }
    };
    if !value.is_finite() {
        return Err(QuantityError::NotFinite);
    }
    Ok(if negative { -value } else { value })
}

fn decimal_number(text: &str) -> Result<f64, QuantityError> {
    let starts_well = text.starts_with(|c: char| c.is_ascii_digit() || c == '.');
    if !starts_well {
        return Err(QuantityError::NotANumber);
    }
    text.parse().map_err(|_| QuantityError::NotANumber)
}

fn whole_number(text: &str) -> Result<f64, QuantityError> {
    let digits_only = !text.is_empty() && text.len() <= 9 && text.bytes().all(|b| b.is_ascii_digit());
    if !digits_only {
        return Err(QuantityError::NotANumber);
    }
    text.parse().map_err(|_| QuantityError::NotANumber)
}

#[cfg(test)]
mod tests {
    use super::*;

    const MM: LengthUnit = LengthUnit::Millimetre;
    const INCH: LengthUnit = LengthUnit::Inch { denominator: 64 };

    #[track_caller]
    fn reads(text: &str, dimension: Dimension, bare: LengthUnit, expected: f64) {
        let value = parse_quantity(text, dimension, bare).unwrap();
        assert!((value - expected).abs() <= 1e-12 * expected.abs().max(1.0), "{text}: {value} is not {expected}");
    }

    #[test]
    fn lengths_come_as_decimals_fractions_and_mixed_numbers() {
        reads("12", Dimension::Length, MM, 12.0);
        reads("12", Dimension::Length, INCH, 304.8);
        reads("12 mm", Dimension::Length, INCH, 12.0);
        reads("0.5 in", Dimension::Length, MM, 12.7);
        reads("1/2 in", Dimension::Length, MM, 12.7);
        reads("3 7/8 in", Dimension::Length, MM, 98.425);
        reads("3-7/8\"", Dimension::Length, MM, 98.425);
        reads("-1/16", Dimension::Length, INCH, -1.5875);
        reads("1.2e3mm", Dimension::Length, MM, 1200.0);
    }

    #[test]
    fn other_quantities_know_their_units() {
        reads("14.7 psi", Dimension::Pressure, MM, 14.7 * 0.006_894_757_293_168);
        reads("85 kPa", Dimension::Pressure, MM, 0.085);
        reads("25 inHg", Dimension::Pressure, MM, 0.084_659_725);
        reads("10.9 GPa", Dimension::Modulus, MM, 10_900.0);
        reads("1.58 Mpsi", Dimension::Modulus, MM, 1.58 * 6_894.757_293_168);
        reads("68 F", Dimension::Temperature, MM, 20.0);
        reads("36 F", Dimension::TemperatureDifference, MM, 20.0);
        reads("20 K", Dimension::TemperatureDifference, INCH, 20.0);
        reads("10 lbf/in", Dimension::LineForce, MM, 10.0 * 4.448_221_615_260_5 / 25.4);
        reads("1.2 N m", Dimension::StripStiffness, MM, 1200.0);
        reads("12 %", Dimension::Ratio, MM, 0.12);
        reads("3.50", Dimension::Price, MM, 3.5);
        reads("3.048 per ft", Dimension::PricePerLength, MM, 10.0);
        reads("0.9290304 per ft2", Dimension::PricePerArea, MM, 10.0);
        reads("4.5359237 per lb", Dimension::PricePerMass, MM, 10.0);
        reads("0.5 1/m", Dimension::Curvature, MM, 0.0005);
        reads("30 deg", Dimension::Angle, MM, std::f64::consts::FRAC_PI_6);
    }

    #[test]
    fn a_weight_needs_its_unit() {
        let weight = |text: &str| parse_quantity(text, Dimension::Weight, LengthUnit::Millimetre);
        assert_eq!(weight("40 kg"), Ok(40.0 * STANDARD_GRAVITY));
        assert!((weight("250 g").unwrap() - 0.25 * STANDARD_GRAVITY).abs() < 1e-12);
        assert_eq!(weight("40 N"), Ok(40.0));
        let missing = Err(QuantityError::WrongUnit { found: String::new(), expected: Dimension::Weight.units() });
        assert_eq!(weight("40"), missing);
        assert_eq!(Dimension::Weight.from_bare(40.0, LengthUnit::Millimetre), missing);
        assert!(!Dimension::Weight.takes_bare() && Dimension::Force.takes_bare());
    }

    #[test]
    fn what_is_no_quantity_is_refused_with_the_reason() {
        let wrong = |text, dimension| parse_quantity(text, dimension, MM).unwrap_err();
        assert_eq!(wrong("mm", Dimension::Length), QuantityError::NotANumber);
        assert_eq!(wrong("", Dimension::Length), QuantityError::NotANumber);
        assert_eq!(wrong("1/0 in", Dimension::Length), QuantityError::ZeroDenominator);
        assert_eq!(wrong("nan", Dimension::Length), QuantityError::NotANumber);
        assert_eq!(wrong("1e999 mm", Dimension::Length), QuantityError::NotFinite);
        assert!(matches!(wrong("3 kPa", Dimension::Length), QuantityError::WrongUnit { found, .. } if found == "kPa"));
        for (text, dimension) in [("5 %", Dimension::LineForce), ("5 %", Dimension::StripStiffness)] {
            assert!(matches!(wrong(text, dimension), QuantityError::WrongUnit { found, .. } if found == "%"));
        }
        assert!(matches!(wrong("3 mm", Dimension::Pressure), QuantityError::WrongUnit { found, .. } if found == "mm"));
    }
}
