//! Checks of single values: kind, unit, range, default.

pub(super) use crate::finding::nearest;

use crate::codes;
use crate::finding::Fault;
use crate::job::{Doubt, LONGEST_TEXT};
use crate::units::{self, Dimension, LengthUnit, MM_PER_INCH, Phrase, QuantityError, parse_quantity, phrase};

use super::doubts;
use super::quantity::Quantity;

/// What values a key may have.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Range {
    /// Greater than zero and at most this, in the library's own unit.
    Positive(f64),
    /// Zero or more, at most this.
    NotNegative(f64),
    /// From the first to the second.
    Within(f64, f64),
}

/// Collects faults while values are checked.
#[derive(Debug)]
pub(super) struct Reader {
    /// Unit of bare lengths.
    pub(super) unit: LengthUnit,
    /// Faults found so far.
    pub(super) faults: Vec<Fault>,
    /// What may be right but looks like a slip.
    pub(super) doubts: Vec<Doubt>,
    /// Keys with lengths that stand as bare numbers.
    pub(super) bare_lengths: Vec<String>,
    spoiled: Vec<String>,
}

/// Longest length that any key takes, mm: a mistyped unit must not ask for a kilometre of table.
pub(super) const LONGEST_MM: f64 = 20_000.0;

impl Reader {
    pub(super) fn new(spoiled: Vec<String>) -> Self {
        Self { unit: LengthUnit::default(), faults: Vec::new(), doubts: Vec::new(), bare_lengths: Vec::new(), spoiled }
    }

    /// Records a missing key, unless it was there and already reported.
    pub(super) fn missing(&mut self, path: &str, remedy: &str) {
        let told = |s: &String| s == path || path.strip_prefix(s.as_str()).is_some_and(|r| r.starts_with(['.', '[']));
        if self.spoiled.iter().any(told) {
            return;
        }
        let key = path.rsplit('.').next().unwrap_or(path);
        self.faults.push(Fault::new(codes::MISSING_KEY, path, format!("`{key}` is missing."), remedy));
    }

    /// A value that must be there.
    pub(super) fn required(
        &mut self,
        value: Option<&Quantity>,
        path: &str,
        dimension: Dimension,
        range: Range,
    ) -> Option<f64> {
        if value.is_none() {
            let units = dimension.units();
            self.missing(path, &format!("Give it as a number or as a text with a unit ({units})."));
        }
        self.optional(value, path, dimension, range)
    }

    /// A value that may be left out; `None` also where it is wrong (and reported).
    pub(super) fn optional(
        &mut self,
        value: Option<&Quantity>,
        path: &str,
        dimension: Dimension,
        range: Range,
    ) -> Option<f64> {
        let key = path.rsplit('.').next().unwrap_or(path);
        if let (Some(Quantity::Number(_)), Dimension::Length) = (value, dimension) {
            self.bare_lengths.push(path.to_owned());
        }
        let parsed = match value? {
            Quantity::Number(n) => dimension.from_bare(*n, self.unit),
            Quantity::Text(t) => parse_quantity(t, dimension, self.unit),
            Quantity::Bool(_) => return self.wrong_kind(path, "true or false", dimension),
            Quantity::Other(what) => return self.wrong_kind(path, what, dimension),
        };
        let number = match parsed {
            Ok(number) => number,
            Err(error) => {
                let fault = match value {
                    Some(Quantity::Text(text)) => decimal_comma(key, path, text, dimension),
                    _ => None,
                };
                self.faults.push(fault.unwrap_or_else(|| quantity_fault(key, path, &error, dimension)));
                return None;
            }
        };
        if let Some((message, remedy)) = outside(key, number, range, dimension) {
            self.faults.push(Fault::new(codes::OUT_OF_RANGE, path, message, remedy));
            return None;
        }
        if dimension == Dimension::Length {
            doubts::length(self, path, number);
        }
        Some(number)
    }

    /// A list of lengths; `None` where one is wrong.
    pub(super) fn lengths(&mut self, list: &[Quantity], path: &str, range: Range) -> Option<Vec<f64>> {
        let read =
            |(i, q): (usize, &Quantity)| self.optional(Some(q), &format!("{path}[{i}]"), Dimension::Length, range);
        let values: Vec<Option<f64>> = list.iter().enumerate().map(read).collect();
        values.into_iter().collect()
    }

    /// A whole number from `least` to `most`.
    pub(super) fn count(&mut self, value: Option<&Quantity>, path: &str, least: usize, most: usize) -> Option<usize> {
        let key = path.rsplit('.').next().unwrap_or(path);
        match value? {
            Quantity::Number(n) if n.fract() == 0.0 && *n >= least as f64 && *n <= most as f64 => Some(*n as usize),
            _ => {
                self.faults.push(Fault::new(
                    codes::OUT_OF_RANGE,
                    path,
                    format!("`{key}` is no whole number from {least} to {most}."),
                    format!("Write a whole number from {least} to {most}, without unit and quotes."),
                ));
                None
            }
        }
    }

    /// A text.
    pub(super) fn text(&mut self, value: Option<&Quantity>, path: &str) -> Option<String> {
        match value? {
            Quantity::Text(t) if !t.trim().is_empty() && t.chars().count() <= LONGEST_TEXT => Some(t.trim().to_owned()),
            _ => {
                let key = path.rsplit('.').next().unwrap_or(path);
                self.faults.push(Fault::new(
                    codes::WRONG_KIND,
                    path,
                    format!("`{key}` must be a text of 1 to {LONGEST_TEXT} characters."),
                    format!("Write it in double quotes: {key} = \"...\"."),
                ));
                None
            }
        }
    }

    /// A text, or a whole number taken as text.
    pub(super) fn text_or_number(&mut self, value: Option<&Quantity>, path: &str) -> Option<String> {
        match value? {
            Quantity::Number(n) => Some(n.to_string()),
            other => self.text(Some(other), path),
        }
    }

    /// `true` or `false`, with a default.
    pub(super) fn flag(&mut self, value: Option<&Quantity>, path: &str, default: bool) -> bool {
        match value {
            None => default,
            Some(Quantity::Bool(b)) => *b,
            Some(_) => {
                let key = path.rsplit('.').next().unwrap_or(path);
                self.faults.push(Fault::new(
                    codes::WRONG_KIND,
                    path,
                    format!("`{key}` must be true or false."),
                    format!("Write {key} = true or {key} = false, without quotes."),
                ));
                default
            }
        }
    }

    /// One of a few words, with a default. A choice with an empty name stands for a key that is left out only.
    pub(super) fn choice<T: Copy>(
        &mut self,
        value: Option<&Quantity>,
        path: &str,
        choices: &[(&str, T)],
        default: T,
    ) -> T {
        let Some(typed) = self.text(value, path) else { return default };
        if let Some(found) = choices.iter().find(|c| c.0 == typed) {
            return found.1;
        }
        let known: Vec<&str> = choices.iter().map(|c| c.0).filter(|c| !c.is_empty()).collect();
        let hint = nearest(&typed, &known).map_or(String::new(), |n| format!(" Did you mean \"{n}\"?"));
        let key = path.rsplit('.').next().unwrap_or(path);
        self.faults.push(Fault::new(
            codes::WRONG_CHOICE,
            path,
            format!("`{typed}` is no choice for `{key}`."),
            format!("Write one of \"{}\".{hint}", known.join("\", \"")),
        ));
        default
    }

    /// The one choice that is given among several keys, or a fault that lists them.
    pub(super) fn one_of<'k>(&mut self, path: &str, choices: &[(&'k str, bool)], what: &str) -> Option<&'k str> {
        let given: Vec<&str> = choices.iter().filter(|c| c.1).map(|c| c.0).collect();
        if let [only] = given[..] {
            return Some(only);
        }
        let names = choices.iter().map(|c| format!("`{}`", c.0)).collect::<Vec<_>>().join(", ");
        if given.is_empty() {
            let spoiled = |s: &String| s == path || s.starts_with(&format!("{path}."));
            if !self.spoiled.iter().any(spoiled) {
                self.faults.push(Fault::new(
                    codes::MISSING_KEY,
                    path,
                    format!("{what} is not given."),
                    format!("Give one of {names}."),
                ));
            }
        } else {
            let both = given.join("` and `");
            self.faults.push(Fault::new(
                codes::TOO_MANY_CHOICES,
                format!("{path}.{}", given[1]),
                format!("{what} is given more than once: `{both}`."),
                format!("Keep one of {names}."),
            ));
        }
        None
    }

    fn wrong_kind(&mut self, path: &str, found: &str, dimension: Dimension) -> Option<f64> {
        let key = path.rsplit('.').next().unwrap_or(path);
        self.faults.push(Fault::new(
            codes::WRONG_KIND,
            path,
            format!("`{key}` must be a number or a text with a unit, not {found}."),
            format!("Units that fit: {}.", dimension.units()),
        ));
        None
    }
}

/// The fault of a number whose decimals stand behind a comma, where a point makes it a quantity.
fn decimal_comma(key: &str, path: &str, text: &str, dimension: Dimension) -> Option<Fault> {
    let with_point = text.replacen(',', ".", 1);
    let meant = text.contains(',') && parse_quantity(&with_point, dimension, LengthUnit::default()).is_ok();
    meant.then(|| {
        let message = format!("`{key}` is \"{text}\": a comma is not read as a decimal point.");
        Fault::new(codes::DECIMAL_COMMA, path, message, format!("Write {key} = \"{}\".", with_point.trim()))
    })
}

fn quantity_fault(key: &str, path: &str, error: &QuantityError, dimension: Dimension) -> Fault {
    let units = dimension.units();
    match error {
        QuantityError::NotANumber => Fault::new(
            codes::NOT_A_NUMBER,
            path,
            format!("`{key}` does not begin with a number."),
            format!("Write a number with a unit that fits ({units}); fractions as \"3 7/8 in\"."),
        ),
        QuantityError::NotFinite => Fault::new(
            codes::NOT_FINITE,
            path,
            format!("`{key}` is infinite or not a number."),
            format!("Write an ordinary number ({units})."),
        ),
        QuantityError::ZeroDenominator => Fault::new(
            codes::NOT_A_NUMBER,
            path,
            format!("the fraction in `{key}` has zero below the line."),
            "Write a fraction such as 3/16.",
        ),
        QuantityError::WrongUnit { found, expected } => Fault::new(
            codes::WRONG_UNIT,
            path,
            format!("`{found}` is no unit that fits `{key}`."),
            format!("Units that fit: {expected}."),
        ),
    }
}

/// What is wrong with a number outside its range, and what would be right.
fn outside(key: &str, number: f64, range: Range, dimension: Dimension) -> Option<(Phrase, Phrase)> {
    let typed = |x: f64| units::Quantity::of(dimension, x);
    let value = |bound: f64| phrase!("`{}` is {}.", key, typed(number).against(typed(bound)));
    let too_large = |most: f64| {
        // The same figure in millimetres, if it was written with inches or metres by mistake; as it was typed.
        let meant = [MM_PER_INCH, 1000.0].map(|factor| number / factor).into_iter().find(|mm| *mm <= most);
        let hint = match meant.filter(|_| dimension == Dimension::Length) {
            Some(mm) => phrase!(" Check the unit (mm, in or m): was \"{} mm\" meant?", units::plain(mm, 3)),
            None if dimension == Dimension::Length => " Check the unit (mm, in or m).".into(),
            None => Phrase::default(),
        };
        let (number, most) = (typed(number), typed(most));
        let message = phrase!("`{}` is {}, which is too large.", key, number.against(most));
        Some((message, phrase!("At most {}.{}", most.against(number), hint)))
    };
    match range {
        Range::Positive(_) if number <= 0.0 => Some((value(0.0), "It must be greater than zero.".into())),
        Range::NotNegative(_) if number < 0.0 => Some((value(0.0), "It must not be negative.".into())),
        Range::Positive(most) | Range::NotNegative(most) if number > most => too_large(most),
        Range::Within(least, most) if !(least..=most).contains(&number) => {
            let hint = bar_meant(number, range).filter(|_| dimension == Dimension::Pressure).unwrap_or_default();
            let remedy = phrase!("It must be from {} to {}.{}", typed(least), typed(most), hint);
            Some((value(if number < least { least } else { most }), remedy))
        }
        _ => None,
    }
}

/// What a pressure would be if its number were in bar.
fn bar_meant(pressure_mpa: f64, range: Range) -> Option<String> {
    let Range::Within(least, most) = range else { return None };
    let bar = 1e3 * pressure_mpa;
    (pressure_mpa < least && (least..=most).contains(&(MPA_PER_BAR * bar)))
        .then(|| format!(" A bare number is in kPa: if {0} bar were meant, write \"{0} bar\".", units::plain(bar, 3)))
}

/// One bar, MPa.
const MPA_PER_BAR: f64 = 0.1;
