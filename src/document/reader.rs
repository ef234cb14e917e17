//! Checks of single values: kind, unit, range.

pub(super) use crate::finding::nearest;

use toml::de::DeValue;

use super::keys::{Key, Range};
use super::problem::{Problem, Problems};
use crate::codes;
use crate::finding::{Code, Fault, Faults};
use crate::job::{Doubt, LONGEST_TEXT};
use crate::units::{
    Dimension, LengthUnit, MM_PER_INCH, Phrase, Quantity, QuantityError, parse_quantity, phrase, plain,
};

/// What is noted while a document is read.
#[derive(Debug, Default)]
pub(super) struct Reader {
    /// Unit of bare lengths.
    pub(super) unit: LengthUnit,
    /// Faults found so far.
    pub(super) faults: Faults,
    /// What may be right but looks like a slip.
    pub(super) doubts: Vec<Doubt>,
    /// Keys with lengths that stand as bare numbers.
    pub(super) bare_lengths: Vec<String>,
    /// Files that the document names: key and name.
    pub(super) files: Vec<(String, String)>,
    /// Keys reported as wrong, and those that were probably meant by mistyped ones.
    pub(super) spoiled: Vec<String>,
    /// The keys that were asked for, where they are to be listed.
    pub(super) listing: Option<Vec<Key>>,
}

/// Longest length that any key takes, mm: a mistyped unit must not ask for a kilometre of table.
pub(super) const LONGEST_MM: f64 = 20_000.0;
/// Thickest layer, mm.
pub(super) const THICKEST_MM: f64 = 300.0;

/// The last name in a path.
pub(super) fn last_of(path: &str) -> &str {
    path.rsplit('.').next().unwrap_or(path)
}

/// What messages call a value: by its own word, or by its key.
fn called((path, word): (&str, Option<&str>)) -> String {
    word.map_or_else(|| format!("`{}`", last_of(path)), |word| format!("the {word}"))
}

/// How many there are of something, such as `1 value` or `3 values`.
pub(super) fn counted(count: usize, one: &str, more: &str) -> String {
    if count == 1 { format!("1 {one}") } else { format!("{count} {more}") }
}

/// A number as it is written, if it is one.
pub(super) fn number_of(value: &DeValue<'_>) -> Option<f64> {
    match value {
        // Exact up to 2^53; beyond it every range refuses the value anyway.
        DeValue::Integer(i) => {
            i64::from_str_radix(i.as_str(), i.radix()).map(|n| n as f64).ok().or_else(|| i.as_str().parse().ok())
        }
        DeValue::Float(f) => f.as_str().parse().ok(),
        _ => None,
    }
}

/// A key's meaning as part of another sentence.
pub(super) fn inside_sentence(meaning: &str) -> String {
    let mut letters = meaning.trim_end_matches('.').chars();
    match letters.next() {
        // "SVG" and "DXF" stay as they are.
        Some(first) if !letters.as_str().starts_with(char::is_uppercase) => {
            first.to_lowercase().chain(letters).collect()
        }
        _ => meaning.trim_end_matches('.').to_owned(),
    }
}

/// What a value is, in words.
pub(super) fn words_of(value: &DeValue<'_>) -> String {
    match value {
        DeValue::String(text) => format!("the text \"{text}\""),
        DeValue::Integer(number) => format!("the number {number}"),
        DeValue::Float(number) => format!("the number {number}"),
        DeValue::Boolean(flag) => flag.to_string(),
        DeValue::Datetime(_) => "a date".to_owned(),
        DeValue::Array(_) => "a list".to_owned(),
        DeValue::Table(_) => "a table".to_owned(),
    }
}

impl Reader {
    /// Records a fault.
    pub(super) fn fault(
        &mut self,
        code: &'static Code,
        path: &str,
        message: impl Into<Phrase>,
        remedy: impl Into<Phrase>,
    ) {
        self.faults.push(Fault::new(code, path, message, remedy));
    }

    /// Tells what is wrong in a file at the key of the document that names it.
    pub(super) fn fault_in_file(&mut self, path: &str, problems: Problems) {
        for Problem { file, line, fault, .. } in problems {
            self.fault(fault.code, path, phrase!("line {} of {}: {}", line, file, fault.message), fault.remedy);
        }
    }

    /// The faults, without those keys that are missing because their name or table is wrong, which is reported already.
    pub(super) fn into_faults(self) -> Faults {
        let inside = |outer: &str, inner: &str| {
            inner.strip_prefix(outer).is_some_and(|rest| rest.is_empty() || rest.starts_with(['.', '[']))
        };
        let reported = |f: &Fault| self.spoiled.iter().any(|s| inside(s, &f.path) || inside(&f.path, s));
        self.faults.into_iter().filter(|f| f.code != codes::MISSING_KEY || !reported(f)).collect()
    }

    /// A number, bare or with its unit; `None` where it is wrong, which is then reported.
    pub(super) fn quantity(
        &mut self,
        value: &DeValue<'_>,
        path: &str,
        dimension: Dimension,
        range: Range,
    ) -> Option<f64> {
        match (number_of(value), value) {
            (Some(number), _) => {
                if dimension == Dimension::Length {
                    self.bare_lengths.push(path.to_owned());
                }
                self.within(dimension.from_bare(number, self.unit), (path, None), dimension, range)
            }
            (_, DeValue::String(text)) => self.written(text, (path, None), dimension, range),
            _ => {
                let number = if dimension.takes_bare() { "a number or " } else { "" };
                let (name, is) = (last_of(path), words_of(value));
                let message = format!("`{name}` must be {number}a text with a unit, not {is}.");
                self.fault(codes::WRONG_KIND, path, message, format!("Units that fit: {}.", dimension.units()));
                None
            }
        }
    }

    /// A number in a text; messages call it by its word or, without one, by its key.
    pub(super) fn written(
        &mut self,
        text: &str,
        of: (&str, Option<&str>),
        dimension: Dimension,
        range: Range,
    ) -> Option<f64> {
        let parsed = parse_quantity(text, dimension, self.unit);
        if parsed.is_err()
            && let Some(fault) = decimal_comma(of, text, dimension)
        {
            self.faults.push(fault);
            return None;
        }
        self.within(parsed, of, dimension, range)
    }

    fn within(
        &mut self,
        parsed: Result<f64, QuantityError>,
        of: (&str, Option<&str>),
        dimension: Dimension,
        range: Range,
    ) -> Option<f64> {
        match parsed {
            Ok(number) if range.holds(number) => return Some(number),
            Ok(number) => {
                let (message, remedy) = outside(&called(of), number, range, dimension);
                self.fault(codes::OUT_OF_RANGE, of.0, message, remedy);
            }
            Err(error) => self.faults.push(quantity_fault(of, &error, dimension)),
        }
        None
    }

    /// A whole number from `least` to `most`, or 0 where that is taken too.
    pub(super) fn count(
        &mut self,
        value: &DeValue<'_>,
        path: &str,
        (least, most): (usize, usize),
        or_zero: bool,
    ) -> Option<usize> {
        let number = number_of(value).filter(|n| n.fract() == 0.0 && *n >= 0.0 && *n <= most as f64);
        if let Some(n) = number.map(|n| n as usize).filter(|n| *n >= least || (or_zero && *n == 0)) {
            return Some(n);
        }
        let or_zero = if or_zero { ", or 0 for none" } else { "" };
        self.fault(
            codes::OUT_OF_RANGE,
            path,
            format!("`{}` is not a whole number from {least} to {most}{or_zero}.", last_of(path)),
            format!("Write a whole number from {least} to {most}{or_zero}, without unit and quotes."),
        );
        None
    }

    /// A text.
    pub(super) fn text(&mut self, value: &DeValue<'_>, path: &str) -> Option<String> {
        let text = value.as_str().map(str::trim).filter(|t| !t.is_empty() && t.chars().count() <= LONGEST_TEXT);
        if text.is_none() {
            let key = last_of(path);
            let message = format!("`{key}` must be a text of 1 to {LONGEST_TEXT} characters.");
            self.fault(codes::WRONG_KIND, path, message, format!("Write it in double quotes: {key} = \"...\"."));
        }
        text.map(str::to_owned)
    }

    /// `true` or `false`.
    pub(super) fn flag(&mut self, value: &DeValue<'_>, path: &str) -> Option<bool> {
        if value.as_bool().is_none() {
            let key = last_of(path);
            let remedy = format!("Write {key} = true or {key} = false, without quotes.");
            self.fault(codes::WRONG_KIND, path, format!("`{key}` must be true or false."), remedy);
        }
        value.as_bool()
    }

    /// Tells that a word is none of those that a key takes; `quote` stands around each.
    pub(super) fn wrong_choice(&mut self, path: &str, (typed, known): (&str, &[&str]), quote: &str) {
        let hint = nearest(typed, known).map_or(String::new(), |n| format!(" Did you mean {quote}{n}{quote}?"));
        let list = known.iter().map(|k| format!("{quote}{k}{quote}")).collect::<Vec<_>>().join(", ");
        let message = format!("`{}` cannot be `{typed}`.", last_of(path));
        self.fault(codes::WRONG_CHOICE, path, message, format!("Write one of {list}.{hint}"));
    }

    /// Tells that a value is of another shape than `wanted`.
    pub(super) fn wrong_shape(&mut self, value: &DeValue<'_>, path: &str, wanted: &str) {
        let message = format!("`{}` is {}, and {wanted} belongs there.", last_of(path), words_of(value));
        let remedy = "Look at a starter document (`overbend new`) for the shape of this key.";
        self.fault(codes::WRONG_SHAPE, path, message, remedy);
        self.spoiled.push(path.to_owned());
    }
}

/// The fault of a number whose decimals stand behind a comma, where a point makes it a quantity.
fn decimal_comma(of: (&str, Option<&str>), text: &str, dimension: Dimension) -> Option<Fault> {
    let with_point = text.replacen(',', ".", 1);
    let meant = text.contains(',') && parse_quantity(&with_point, dimension, LengthUnit::default()).is_ok();
    meant.then(|| {
        let message = format!("{} is \"{text}\": a comma is not read as a decimal point.", called(of));
        Fault::new(codes::DECIMAL_COMMA, of.0, message, format!("Write \"{}\".", with_point.trim()))
    })
}

fn quantity_fault(of: (&str, Option<&str>), error: &QuantityError, dimension: Dimension) -> Fault {
    let (path, name) = (of.0, called(of));
    let units = dimension.units();
    match error {
        QuantityError::NotANumber => Fault::new(
            codes::NOT_A_NUMBER,
            path,
            format!("{name} does not begin with a number."),
            format!("Write a number with a unit that fits ({units}); fractions as \"3 7/8 in\"."),
        ),
        QuantityError::NotFinite => Fault::new(
            codes::NOT_FINITE,
            path,
            format!("{name} is infinite or not a number."),
            format!("Write an ordinary number ({units})."),
        ),
        QuantityError::ZeroDenominator => Fault::new(
            codes::NOT_A_NUMBER,
            path,
            format!("the fraction in {name} has zero below the line."),
            "Write a fraction such as 3/16.",
        ),
        QuantityError::WrongUnit { found, expected } if found.is_empty() => Fault::new(
            codes::WRONG_UNIT,
            path,
            format!("{name} has no unit."),
            format!("Write it behind the number ({expected}), as in \"40 {}\".", dimension.unit()),
        ),
        QuantityError::WrongUnit { found, expected } => Fault::new(
            codes::WRONG_UNIT,
            path,
            format!("`{found}` is not a unit for {name}."),
            format!("Units that fit: {expected}."),
        ),
    }
}

/// What is wrong with a number outside its range, and what would be right.
fn outside(name: &str, number: f64, range: Range, dimension: Dimension) -> (Phrase, Phrase) {
    let (least, most) = range.ends();
    let [typed, least_typed, most_typed] = [number, least, most].map(|x| Quantity::of(dimension, x));
    let is = |bound| phrase!("{} is {}.", name, typed.against(bound));
    match range {
        Range::NotZero(_) if number == 0.0 => (
            phrase!("{} is 0.", name),
            "Give a radius, negative for camber; for a straight place give curvature = 0.".into(),
        ),
        Range::UpTo(_) if number <= 0.0 => (is(least_typed), "It must be greater than zero.".into()),
        Range::UpTo(_) | Range::Within(0.0, _) if number > most => {
            // The same figure in millimetres, if it was written with inches or metres by mistake; as it was typed.
            let meant = [MM_PER_INCH, 1000.0].map(|factor| number / factor).into_iter().find(|mm| *mm <= most);
            let hint = match meant.filter(|_| dimension == Dimension::Length) {
                Some(mm) => phrase!(" Check the unit (mm, in or m): was \"{} mm\" meant?", plain(mm, 3)),
                None if dimension == Dimension::Length => " Check the unit (mm, in or m).".into(),
                None => Phrase::default(),
            };
            let message = phrase!("{} is {}, which is too large.", name, typed.against(most_typed));
            (message, phrase!("At most {}.{}", most_typed.against(typed), hint))
        }
        _ => {
            let hint = bar_meant(number, range).filter(|_| dimension == Dimension::Pressure).unwrap_or_default();
            let remedy =
                phrase!("It must be from {} to {}.{}", least_typed.against(typed), most_typed.against(typed), hint);
            (is(if number < least { least_typed } else { most_typed }), remedy)
        }
    }
}

/// What a pressure would be if its number were in bar.
fn bar_meant(pressure_mpa: f64, range: Range) -> Option<String> {
    let Range::Within(least, most) = range else { return None };
    let bar = 1e3 * pressure_mpa;
    (pressure_mpa < least && (least..=most).contains(&(MPA_PER_BAR * bar)))
        .then(|| format!(" A bare number is in kPa: if {0} bar were meant, write \"{0} bar\".", plain(bar, 3)))
}

/// One bar, MPa.
const MPA_PER_BAR: f64 = 0.1;
