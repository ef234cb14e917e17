//! Values with their dimension, and sentences that carry them: the only way of a number with a unit into text.

use std::f64::consts::PI;

use super::{Dimension, LengthUnit, MM_PER_INCH, N_PER_LBF, PA_PER_PSI, decimal, inch_fraction, plain};

/// Millimetres in a foot.
const MM_PER_FOOT: f64 = 12.0 * MM_PER_INCH;
/// Grams in an avoirdupois ounce, exact by definition.
const G_PER_OUNCE: f64 = 28.349_523_125;
/// Finest fraction of an inch by which a place is named; a place is looked for, not measured.
const PLACE_DENOMINATOR: u32 = 8;
/// Digits that count of any value.
const SIGNIFICANT: usize = 3;
/// Maximum number of decimals that tell two values apart: more than a value near 1 has.
const MOST_DECIMALS: usize = 17;
/// Smallest difference that is shown, mm: cut paths keep to no less.
const SEEN_MM: f64 = 0.01;
/// The same in inches: a thousandth.
const SEEN_INCH: f64 = 0.001;
/// From here on forces are shown in kN, N.
const KILO_FROM_N: f64 = 1000.0;

/// What a quantity measures, and how closely a shop reads it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Measure {
    Place,
    Length,
    Fine,
    Exact,
    Small,
    Within,
    Area,
    Surface,
    Pressure,
    Modulus,
    Strength,
    Force,
    LineForce,
    StripStiffness,
    Moment,
    Mass,
    Density,
    AreaMass,
    Angle,
    Temperature,
    TemperatureDifference,
    Curvature,
    Expansion,
    Altitude,
    Time,
    Share,
    Times,
    Count,
}

/// A value with what it measures. It becomes text in the units of a job only: [`Quantity::text`].
///
/// ```
/// use overbend::units::{LengthUnit, Quantity};
///
/// let pull = Quantity::force(222.4);
/// assert_eq!(pull.text(LengthUnit::Millimetre), "222 N");
/// assert_eq!(pull.text(LengthUnit::Inch { denominator: 64 }), "50 lbf");
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Quantity {
    value: f64,
    measure: Measure,
}

/// Unit of a measure in one system: factor from the library's own unit, offset after it, and name.
struct Unit(f64, f64, &'static str);

macro_rules! constructors {
    ($($(#[$doc:meta])* $name:ident($argument:ident) -> $measure:ident;)*) => {
        impl Quantity {
            $($(#[$doc])*
            pub fn $name($argument: f64) -> Self {
                Self { value: $argument, measure: Measure::$measure }
            })*
        }
    };
}

constructors! {
    /// A place that somebody looks for, mm: to the whole millimetre or the eighth of an inch.
    place(mm) -> Place;
    /// A length that is measured with a rule, mm: to the tenth, or to the finest fraction of the shop's rule.
    length(mm) -> Length;
    /// A length to three digits, mm: thicknesses, gaps, errors.
    fine(mm) -> Fine;
    /// A length as a document gives it or has to give it, mm: to the hundredth of a millimetre, in inches to the
    /// ten-thousandth.
    exact(mm) -> Exact;
    /// A small difference, mm: below what a shop can measure it says just that.
    small(mm) -> Small;
    /// A bound on a small difference, mm: below what a shop can measure it is what a shop can.
    within(mm) -> Within;
    /// An area, mm².
    area(mm2) -> Area;
    /// A large area, m².
    surface(m2) -> Surface;
    /// A pressure, MPa.
    pressure(mpa) -> Pressure;
    /// A modulus of elasticity, MPa.
    modulus(mpa) -> Modulus;
    /// A stress, MPa.
    stress(mpa) -> Strength;
    /// A force, N.
    force(n) -> Force;
    /// A force per width or length, N/mm.
    line_force(n_per_mm) -> LineForce;
    /// A moment, N mm.
    moment(n_mm) -> Moment;
    /// A mass, g.
    mass(g) -> Mass;
    /// A mass per area, g/m².
    area_mass(g_per_m2) -> AreaMass;
    /// A density, kg/m³.
    density(kg_per_m3) -> Density;
    /// An angle, rad.
    angle(rad) -> Angle;
    /// A temperature, °C.
    temperature(celsius) -> Temperature;
    /// A difference of temperatures, K.
    temperature_difference(k) -> TemperatureDifference;
    /// A curvature, 1/mm.
    curvature(per_mm) -> Curvature;
    /// A height above the sea, m.
    altitude(m) -> Altitude;
    /// A part of a whole, shown in percent.
    share(ratio) -> Share;
    /// How many times as much.
    times(factor) -> Times;
    /// How many.
    count(number) -> Count;
}

impl Quantity {
    /// A value of the document's `dimension`, in the library's own unit.
    pub fn of(dimension: Dimension, value: f64) -> Self {
        let measure = match dimension {
            Dimension::Length => Measure::Fine,
            Dimension::Pressure => Measure::Pressure,
            Dimension::Modulus => Measure::Modulus,
            Dimension::Strength => Measure::Strength,
            Dimension::Force | Dimension::Weight => Measure::Force,
            Dimension::LineForce => Measure::LineForce,
            Dimension::StripStiffness => Measure::StripStiffness,
            Dimension::Angle => Measure::Angle,
            Dimension::Temperature => Measure::Temperature,
            Dimension::TemperatureDifference => Measure::TemperatureDifference,
            Dimension::Density => Measure::Density,
            Dimension::AreaMass => Measure::AreaMass,
            Dimension::Curvature => Measure::Curvature,
            Dimension::Altitude => Measure::Altitude,
            Dimension::Time => Measure::Time,
            Dimension::Expansion => Measure::Expansion,
            Dimension::Ratio
            | Dimension::Price
            | Dimension::PricePerLength
            | Dimension::PricePerArea
            | Dimension::PricePerMass => Measure::Times,
        };
        Self { value, measure }
    }

    /// The value in the unit of result files and that unit: mm, N, kPa, GPa, °C, K, %, whatever the job's units are.
    pub(crate) fn si(self) -> (f64, &'static str) {
        let Unit(factor, offset, name) = self.metric();
        (self.value * factor + offset, name)
    }

    fn metric(self) -> Unit {
        let (factor, name) = match self.measure {
            Measure::Place | Measure::Length | Measure::Fine | Measure::Exact | Measure::Small | Measure::Within => {
                (1.0, "mm")
            }
            Measure::Area => (1.0, "mm2"),
            Measure::Surface => (1.0, "m²"),
            Measure::Pressure => (1e3, "kPa"),
            Measure::Modulus => (1e-3, "GPa"),
            Measure::Strength => (1.0, "MPa"),
            Measure::Force => (1.0, "N"),
            Measure::LineForce => (1.0, "N/mm"),
            Measure::StripStiffness => (1.0, "N mm"),
            Measure::Moment => (1e-3, "N m"),
            Measure::Mass => (1.0, "g"),
            Measure::Density => (1.0, "kg/m3"),
            Measure::AreaMass => (1.0, "g/m²"),
            Measure::Angle => (180.0 / PI, "°"),
            Measure::Temperature => (1.0, "°C"),
            Measure::TemperatureDifference => (1.0, "K"),
            Measure::Curvature => (1e3, "1/m"),
            Measure::Expansion => (1e6, "1e-6/K"),
            Measure::Altitude => (1.0, "m"),
            Measure::Time => (1.0, "h"),
            Measure::Share => (100.0, "%"),
            Measure::Times | Measure::Count => (1.0, ""),
        };
        Unit(factor, 0.0, name)
    }

    fn inch(self) -> Unit {
        let (factor, name) = match self.measure {
            Measure::Place | Measure::Length | Measure::Fine | Measure::Exact | Measure::Small | Measure::Within => {
                (1.0 / MM_PER_INCH, "in")
            }
            Measure::Area => (1.0 / (MM_PER_INCH * MM_PER_INCH), "in2"),
            Measure::Surface => (1.0 / (0.3048 * 0.3048), "ft²"),
            Measure::Pressure | Measure::Strength => (1e6 / PA_PER_PSI, "psi"),
            Measure::Modulus => (1.0 / PA_PER_PSI, "Mpsi"),
            Measure::Force => (1.0 / N_PER_LBF, "lbf"),
            Measure::LineForce => (MM_PER_INCH / N_PER_LBF, "lbf/in"),
            Measure::StripStiffness => (1.0 / (MM_PER_INCH * N_PER_LBF), "lbf in"),
            Measure::Moment => (1.0 / (MM_PER_FOOT * N_PER_LBF), "lbf ft"),
            Measure::Mass => (1.0 / G_PER_OUNCE, "oz"),
            Measure::Density => (MM_PER_FOOT.powi(3) * 1e-9 / 0.453_592_37, "lb/ft3"),
            Measure::AreaMass => (0.9144 * 0.9144 / G_PER_OUNCE, "oz/yd²"),
            Measure::Temperature => return Unit(1.8, 32.0, "°F"),
            Measure::TemperatureDifference => (1.8, "°F"),
            Measure::Curvature => (MM_PER_INCH, "1/in"),
            Measure::Altitude => (1.0 / 0.3048, "ft"),
            Measure::Angle | Measure::Expansion | Measure::Time | Measure::Share | Measure::Times | Measure::Count => {
                return self.metric();
            }
        };
        Unit(factor, 0.0, name)
    }

    /// Unit of text, which takes kN for large forces.
    fn shown(self, unit: LengthUnit) -> Unit {
        match unit {
            LengthUnit::Millimetre if self.measure == Measure::Force && self.value.abs() >= KILO_FROM_N => {
                Unit(1e-3, 0.0, "kN")
            }
            LengthUnit::Millimetre => self.metric(),
            LengthUnit::Inch { .. } => self.inch(),
        }
    }

    /// The value with its unit, as people of these units read it: three significant digits, whole ones where a value has
    /// more. Places and lengths read with a rule are as close as the rule; nothing else reads as zero that is not.
    pub fn text(self, unit: LengthUnit) -> String {
        if !self.value.is_finite() {
            return "n/a".to_owned();
        }
        let seen_mm = match unit {
            LengthUnit::Millimetre => SEEN_MM,
            LengthUnit::Inch { .. } => SEEN_INCH * MM_PER_INCH,
        };
        match self.measure {
            Measure::Small if self.value.abs() < seen_mm => {
                return format!("less than {}", Self::small(seen_mm).text(unit));
            }
            Measure::Within => return Self::small(self.value.abs().max(seen_mm)).text(unit),
            _ => {}
        }
        let read = match (self.measure, unit) {
            (Measure::Place, LengthUnit::Millimetre) => Some(decimal(self.value, 0)),
            (Measure::Length, LengthUnit::Millimetre) => Some(decimal(self.value, 1)),
            (Measure::Place, LengthUnit::Inch { denominator }) => {
                Some(inch_fraction(self.value, denominator.min(PLACE_DENOMINATOR)))
            }
            (Measure::Length, LengthUnit::Inch { denominator }) => Some(inch_fraction(self.value, denominator)),
            _ => None,
        };
        let Unit(factor, offset, name) = self.shown(unit);
        match read {
            Some(number) => with_unit(&number, name),
            None => significant(self.value * factor + offset, self.least_decimals(unit), name),
        }
    }

    /// Decimals that the value has at least, zeros at its end not counted.
    fn least_decimals(self, unit: LengthUnit) -> usize {
        match (self.measure, unit) {
            (Measure::Exact, LengthUnit::Millimetre) => 2,
            (Measure::Exact, LengthUnit::Inch { .. }) => 4,
            _ => 0,
        }
    }

    /// This value for a sentence that holds it against another one: in one unit with it and told apart from it.
    pub(crate) fn against(self, other: Self) -> Part {
        Part::Against(self, other)
    }

    /// This value and the limit it is held against, in one unit and with as many digits as tell them apart.
    pub(crate) fn beside(self, limit: Self, unit: LengthUnit) -> (String, String) {
        // The larger one chooses between N and kN.
        let larger = if self.value.abs() > limit.value.abs() { self } else { limit };
        let Unit(factor, offset, name) = larger.shown(unit);
        let (value, bound) = (self.value * factor + offset, limit.value * factor + offset);
        let least = decimals(value).max(decimals(bound));
        let differ = |d: &usize| decimal(value, *d) != decimal(bound, *d);
        let enough = if self.value == limit.value { None } else { (least..=MOST_DECIMALS).find(differ) };
        let digits = enough.unwrap_or(least);
        let value = if is_shown(bound) && !is_shown(value) {
            significant(value, 0, name)
        } else {
            with_unit(&plain(value, digits), name)
        };
        (value, with_unit(&plain(bound, digits), name))
    }

    /// The value itself, in the library's own unit.
    pub fn value(self) -> f64 {
        self.value
    }
}

/// A length as people of the document's unit read it off a rule, with its unit: `45.0 mm` or `1 49/64 in`.
pub fn length(length_mm: f64, unit: LengthUnit) -> String {
    Quantity::length(length_mm).text(unit)
}

/// A pressure with its unit: `85 kPa` or `12.3 psi`.
pub fn pressure(pressure_mpa: f64, unit: LengthUnit) -> String {
    Quantity::pressure(pressure_mpa).text(unit)
}

/// A force with its unit: `310 N`, `49.6 kN` or `11151 lbf`.
pub fn force(force_n: f64, unit: LengthUnit) -> String {
    Quantity::force(force_n).text(unit)
}

/// A mass with its unit: `310 g` or `10.9 oz`.
pub fn mass(mass_g: f64, unit: LengthUnit) -> String {
    Quantity::mass(mass_g).text(unit)
}

/// Decimals that give a value its significant digits, as far as small ones count.
fn decimals(value: f64) -> usize {
    if value == 0.0 || !value.is_finite() {
        return 0;
    }
    let power = libm::log10(value.abs()).floor() as i32;
    (SIGNIFICANT as i32 - 1 - power).clamp(0, 2 * SIGNIFICANT as i32) as usize
}

/// Smallest value that is shown as itself; below it a value is "less than" that.
const SMALLEST_SHOWN: f64 = 1e-6;

/// Whether a value is not too small to be shown.
fn is_shown(value: f64) -> bool {
    value == 0.0 || value.abs() >= SMALLEST_SHOWN
}

fn significant(value: f64, least_decimals: usize, name: &str) -> String {
    if is_shown(value) {
        return with_unit(&plain(value, decimals(value).max(least_decimals)), name);
    }
    let bound = with_unit(&plain(SMALLEST_SHOWN, 2 * SIGNIFICANT), name);
    if value > 0.0 { format!("less than {bound}") } else { format!("less than {bound} below 0") }
}

fn with_unit(number: &str, name: &str) -> String {
    match name {
        "" => number.to_owned(),
        "°" => format!("{number}°"),
        _ => format!("{number} {name}"),
    }
}

/// A sentence whose values are typed. It becomes text only in the units of a job, so that no value can be printed in
/// the wrong ones.
///
/// Made by `phrase!("{} from the middle", Quantity::place(s_mm))` inside the library, or from a plain text.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Phrase(Vec<Part>);

/// A piece of a [`Phrase`].
#[derive(Debug, Clone, PartialEq)]
pub enum Part {
    /// Words.
    Text(String),
    /// A value.
    Quantity(Quantity),
    /// A value with as many digits as tell it apart from a second one.
    Against(Quantity, Quantity),
    /// A sentence in a sentence.
    Phrase(Phrase),
}

impl Phrase {
    /// `template` with its `{}` replaced by `parts`, one after the other.
    pub(crate) fn new(template: &str, parts: impl IntoIterator<Item = Part>) -> Self {
        let mut parts = parts.into_iter();
        let mut made = Vec::new();
        for (i, text) in template.split("{}").enumerate() {
            if i > 0 {
                made.extend(parts.next());
            }
            if !text.is_empty() {
                made.push(Part::Text(text.to_owned()));
            }
        }
        Self(made)
    }

    /// Phrases one after the other, with `between` them.
    pub(crate) fn join(phrases: impl IntoIterator<Item = Phrase>, between: &str) -> Self {
        let mut made = Vec::new();
        for phrase in phrases {
            if !made.is_empty() {
                made.push(Part::Text(between.to_owned()));
            }
            made.push(Part::Phrase(phrase));
        }
        Self(made)
    }

    /// Whether it says nothing.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// The sentence in the units of a job.
    pub fn text(&self, unit: LengthUnit) -> String {
        let part = |part: &Part| match part {
            Part::Text(text) => text.clone(),
            Part::Quantity(quantity) => quantity.text(unit),
            Part::Against(quantity, other) => quantity.beside(*other, unit).0,
            Part::Phrase(phrase) => phrase.text(unit),
        };
        self.0.iter().map(part).collect()
    }
}

impl From<&str> for Phrase {
    fn from(text: &str) -> Self {
        text.to_owned().into()
    }
}

impl From<String> for Phrase {
    fn from(text: String) -> Self {
        Self(if text.is_empty() { Vec::new() } else { vec![Part::Text(text)] })
    }
}

impl From<&str> for Part {
    fn from(text: &str) -> Self {
        Self::Text(text.to_owned())
    }
}

impl From<&String> for Part {
    fn from(text: &String) -> Self {
        Self::Text(text.clone())
    }
}

impl From<String> for Part {
    fn from(text: String) -> Self {
        Self::Text(text)
    }
}

impl From<usize> for Part {
    fn from(count: usize) -> Self {
        Self::Text(count.to_string())
    }
}

impl From<u32> for Part {
    fn from(count: u32) -> Self {
        Self::Text(count.to_string())
    }
}

impl From<Quantity> for Part {
    fn from(quantity: Quantity) -> Self {
        Self::Quantity(quantity)
    }
}

impl From<Phrase> for Part {
    fn from(phrase: Phrase) -> Self {
        Self::Phrase(phrase)
    }
}

/// A [`Phrase`] written like a format string, with `{}` for words, counts, quantities and phrases.
macro_rules! phrase {
    ($template:literal $(, $part:expr)* $(,)?) => {
        $crate::units::Phrase::new($template, [$($crate::units::Part::from($part)),*])
    };
}
pub(crate) use phrase;

#[cfg(test)]
mod tests {
    use super::*;

    const MM: LengthUnit = LengthUnit::Millimetre;
    const INCH: LengthUnit = LengthUnit::Inch { denominator: 64 };

    #[track_caller]
    fn reads(quantity: Quantity, metric: &str, inch: &str) {
        assert_eq!(quantity.text(MM), metric);
        assert_eq!(quantity.text(INCH), inch);
    }

    /// Inch values by hand: 1 in = 25.4 mm, 1 lbf = 4.448222 N, 1 psi = 6.894757 kPa.
    #[test]
    fn quantities_read_in_the_units_of_the_job() {
        reads(Quantity::place(317.5), "318 mm", "12 1/2 in");
        reads(Quantity::length(45.0), "45.0 mm", "1 49/64 in");
        reads(Quantity::fine(1.5875), "1.59 mm", "0.0625 in");
        reads(Quantity::pressure(0.082_737), "82.7 kPa", "12 psi");
        reads(Quantity::force(4448.222), "4.45 kN", "1000 lbf");
        reads(Quantity::force(0.3), "0.3 N", "0.0674 lbf");
        reads(Quantity::modulus(10_900.0), "10.9 GPa", "1.58 Mpsi");
        reads(Quantity::line_force(1.0), "1 N/mm", "5.71 lbf/in");
        reads(Quantity::moment(1.355_818e6), "1356 N m", "1000 lbf ft");
        reads(Quantity::temperature(20.0), "20 °C", "68 °F");
        reads(Quantity::temperature_difference(20.0), "20 K", "36 °F");
        reads(Quantity::angle(0.5 * PI), "90°", "90°");
        reads(Quantity::share(0.475), "47.5 %", "47.5 %");
        reads(Quantity::altitude(304.8), "305 m", "1000 ft");
        reads(Quantity::area_mass(200.0), "200 g/m²", "5.9 oz/yd²");
    }

    #[test]
    fn what_is_not_zero_never_reads_as_zero() {
        reads(Quantity::fine(3e-7), "less than 0.000001 mm", "less than 0.000001 in");
        reads(Quantity::fine(0.002), "0.002 mm", "0.000079 in");
        reads(Quantity::within(-3e-7), "0.01 mm", "0.001 in");
        reads(Quantity::within(0.5), "0.5 mm", "0.0197 in");
        reads(Quantity::small(3e-7), "less than 0.01 mm", "less than 0.001 in");
        reads(Quantity::fine(0.02), "0.02 mm", "0.000787 in");
        reads(Quantity::fine(0.0), "0 mm", "0 in");
        reads(Quantity::force(0.0), "0 N", "0 lbf");
        reads(Quantity::fine(-3e-7), "less than 0.000001 mm below 0", "less than 0.000001 in below 0");
        reads(Quantity::exact(1199.996), "1200 mm", "47.2439 in");
        reads(Quantity::exact(1199.503), "1199.5 mm", "47.2245 in");
        reads(Quantity::exact(0.0123), "0.0123 mm", "0.000484 in");
    }

    #[test]
    fn a_value_over_its_limit_never_reads_as_equal() {
        let beside = |a: f64, b: f64| Quantity::fine(a).beside(Quantity::fine(b), MM);
        assert_eq!(beside(0.050_04, 0.05), ("0.05004 mm".into(), "0.05 mm".into()));
        assert_eq!(beside(0.05, 0.05), ("0.05 mm".into(), "0.05 mm".into()));
        let mut random = 7_u64;
        for _ in 0..20_000 {
            random = random.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            let share = (random >> 11) as f64 / (1_u64 << 53) as f64;
            let limit = 10_f64.powf(8.0 * share - 3.0);
            let value = limit * (1.0 + 10_f64.powf(-1.0 - 9.0 * share));
            for unit in [MM, INCH] {
                let (a, b) = Quantity::fine(value).beside(Quantity::fine(limit), unit);
                let number = |text: &str| text.split(' ').next().unwrap().parse::<f64>().unwrap();
                assert!(number(&a) > number(&b), "{a} {b}");
            }
        }
    }

    #[test]
    fn phrases_keep_their_values_typed() {
        let made = phrase!("{} of {}, {} plies", "core", Quantity::fine(12.7), 3_usize);
        assert_eq!(made.text(MM), "core of 12.7 mm, 3 plies");
        assert_eq!(made.text(INCH), "core of 0.5 in, 3 plies");
        let joined = Phrase::join([made, "end".into()], "; ");
        assert_eq!(joined.text(INCH), "core of 0.5 in, 3 plies; end");
        let (value, limit) = (Quantity::fine(25.401), Quantity::fine(25.4));
        let apart = phrase!("{}, at most {}", value.against(limit), limit.against(value));
        assert_eq!(apart.text(INCH), "1.00004 in, at most 1 in");
        assert!(Phrase::from("").is_empty());
    }
}
