//! A sweep: keys of a document over ranges of values, and chosen results of every combination.

use std::fmt;
use std::num::NonZero;
use std::str::FromStr;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;

use super::{OutputFile, file};
use crate::built::{Progress, Variation, design};
use crate::document::{Document, Inputs, Problems, keys, value_in, with_values};
use crate::draft;
use crate::export::{SvgOptions, write_csv, write_svg};
use crate::finding::{Fault, nearest};
use crate::units::plain;

/// Most variations of one run.
pub const MOST_VARIATIONS: usize = 100_000;
/// Decimals of values as they are written into the document.
const DECIMALS: usize = 6;
/// Part of a step by which the last value may be beyond the range: sums of decimal steps are not exact.
const ROUNDING: f64 = 1e-6;

/// A key and the values that it takes.
///
/// ```
/// let vary: overbend::run::Vary = "pressing.vacuum.pressure=70..90/5 kPa".parse().unwrap();
/// assert_eq!((vary.count, vary.value(2)), (5, 80.0));
/// assert_eq!("height=60..40/5".parse::<overbend::run::Vary>().unwrap_err(),
///     "the range of `height=60..40/5` ends before it begins. Write the lower value first, such as 40..60/5.");
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Vary {
    /// The key. An entry of a list goes by its number, `layers[1].thickness`, or its name, `layers.core.thickness`.
    pub path: String,
    /// The first value.
    pub from: f64,
    /// What is added for each further value.
    pub step: f64,
    /// How many values there are.
    pub count: usize,
    /// Unit of the values; empty for bare numbers, whose unit is the document's.
    pub unit: String,
}

impl Vary {
    /// The value of this number, counted from 0.
    pub fn value(&self, i: usize) -> f64 {
        self.from + i as f64 * self.step
    }

    /// The key with the unit of its values.
    pub(crate) fn heading(&self) -> String {
        format!("{} {}", self.path, self.unit).trim_end().to_owned()
    }

    fn toml(&self, value: f64) -> String {
        let number = plain(value, DECIMALS);
        if self.unit.is_empty() { number } else { format!("\"{number} {}\"", self.unit) }
    }
}

impl FromStr for Vary {
    type Err = String;

    /// Reads `KEY=FROM..TO/STEP`, with a unit at the end where the values have one.
    fn from_str(text: &str) -> Result<Self, String> {
        let shape = "Write KEY=FROM..TO/STEP, such as rocker.arc.height=40..60/5.";
        let parts = || {
            let (path, range) = text.split_once('=')?;
            let (from, rest) = range.split_once("..")?;
            let (to, rest) = rest.split_once('/')?;
            let rest = rest.trim();
            let unit_at = rest.find(|c: char| !(c.is_ascii_digit() || c == '.')).unwrap_or(rest.len());
            let (step, unit) = rest.split_at(unit_at);
            let number = |text: &str| text.trim().parse::<f64>().ok().filter(|v| v.is_finite());
            Some((path.trim(), number(from)?, number(to)?, number(step)?, unit.trim()))
        };
        let in_text = |c: char| c.is_alphanumeric() || "/%° ".contains(c);
        let (path, from, to, step, unit) = parts()
            .filter(|(path, .., unit)| !path.is_empty() && unit.chars().all(in_text))
            .ok_or_else(|| format!("`{text}` is no range of a key. {shape}"))?;
        if to < from {
            let range = format!("{}..{}/{}", plain(to, DECIMALS), plain(from, DECIMALS), plain(step, DECIMALS));
            return Err(format!(
                "the range of `{text}` ends before it begins. Write the lower value first, such as {range}."
            ));
        }
        let steps = ((to - from) / step + ROUNDING).floor();
        // Every value must differ from its neighbours as it is written.
        if step < 10.0_f64.powi(-(DECIMALS as i32)) || steps >= MOST_VARIATIONS as f64 {
            return Err(format!(
                "the step of `{text}` is too small. Write a step that gives at most {MOST_VARIATIONS} values."
            ));
        }
        Ok(Self { path: path.to_owned(), from, step, count: steps as usize + 1, unit: unit.to_owned() })
    }
}

/// A part of a sweep, for several machines: `3/10` is the third of ten.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SweepPart {
    number: usize,
    of: usize,
}

impl SweepPart {
    /// The whole sweep.
    pub const WHOLE: Self = Self { number: 1, of: 1 };

    /// The first variation of the part and the one behind its last.
    fn range(self, count: usize) -> (usize, usize) {
        let before = |parts: usize| (count as u128 * parts as u128 / self.of as u128) as usize;
        (before(self.number - 1), before(self.number))
    }
}

impl FromStr for SweepPart {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let numbers = text.split_once('/').and_then(|(n, of)| Some((n.parse().ok()?, of.parse().ok()?)));
        let part = numbers.map(|(number, of)| Self { number, of }).filter(|p| (1..=p.of).contains(&p.number));
        part.ok_or_else(|| format!("`{text}` is no part. Write its number and the number of parts, such as 3/10."))
    }
}

/// Variations of a document.
#[derive(Debug, Clone, PartialEq)]
pub struct Sweep {
    /// Title of the document.
    pub title: String,
    /// What was varied.
    pub vary: Vec<Vary>,
    /// The variations; the last key changes fastest.
    pub variations: Vec<Variation>,
    /// SHA-256 of the document that was varied, with its files.
    pub job_sha256: String,
}

/// Why there is no sweep.
#[derive(Debug, Clone)]
pub enum SweepError {
    /// What is to be varied is wrong, in a sentence with what to do.
    Vary(String),
    /// The document is wrong, or no variation of it gives a table: its text as far as it was varied, and the problems.
    Document(String, Problems),
}

impl fmt::Display for SweepError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Vary(sentence) => f.write_str(sentence),
            Self::Document(_, problems) => problems.iter().try_for_each(|p| writeln!(f, "{p}")),
        }
    }
}

impl std::error::Error for SweepError {}

/// Varies the keys of a document and designs the table of every combination on all cores, without a jig, a simulation or
/// files. A combination that gives no table keeps its place, with the reason. `watch` is called from worker threads.
///
/// # Errors
/// [`SweepError::Vary`] for a key that the document does not write and for too many combinations;
/// [`SweepError::Document`] where the document is wrong or no combination gives a table.
pub fn sweep(
    (name, text): (&str, &str),
    inputs: &Inputs,
    vary: &[Vary],
    part: SweepPart,
    watch: &(dyn Fn(Progress) + Sync),
) -> Result<Sweep, SweepError> {
    let wrong = |problems: Problems| SweepError::Document(text.to_owned(), problems);
    let document = Document::parse(name, text).map_err(wrong)?;
    let job = document.job_with(inputs).map_err(wrong)?;
    let paths = vary.iter().map(|v| written_path(text, &v.path)).collect::<Result<Vec<_>, _>>()?;
    let (from, to) = part.range(combinations(vary)?);
    if to - from > MOST_VARIATIONS {
        return Err(SweepError::Vary(format!(
            "{} variations are too many for one run; at most {MOST_VARIATIONS} are computed. Write larger steps, or \
             compute one part at a time, such as --part 1/10.",
            to - from
        )));
    }
    let changed = |i: usize| {
        let values = values(vary, from + i);
        let toml = paths.iter().zip(vary).zip(&values).map(|((path, v), value)| (path.clone(), v.toml(*value)));
        let text = with_values(text, &toml.collect::<Vec<_>>());
        (values, text)
    };
    let done = AtomicUsize::new(0);
    let variations = on_all_cores(to - from, &|i| {
        let (values, text) = changed(i);
        let figures = designed(name, &text, inputs).map_err(|p| reason(&p));
        watch(Progress { stage: "variations", done: done.fetch_add(1, Ordering::Relaxed) + 1, of: to - from });
        Variation { values, figures }
    });
    if !variations.is_empty() && variations.iter().all(|v| v.figures.is_err()) {
        let (_, text) = changed(0);
        let problems = designed(name, &text, inputs).err().unwrap_or_default();
        return Err(SweepError::Document(text, problems));
    }
    Ok(Sweep { title: job.title, vary: vary.to_vec(), variations, job_sha256: job.hash })
}

impl Sweep {
    /// The variations as CSV, a row each.
    pub fn csv(&self) -> Vec<u8> {
        write_csv(&draft::sweep_rows(&self.headings(), &self.variations), &draft::origin(&self.job_sha256))
    }

    /// `sweep.csv` and `sweep.svg`, the design chart.
    pub fn files(&self) -> Vec<OutputFile> {
        let picture =
            draft::sweep_picture(&self.title, &self.headings(), &self.variations, &draft::origin(&self.job_sha256));
        let mut files = vec![file("sweep.csv", self.csv())];
        files.extend(write_svg(&picture, &SvgOptions::default()).ok().map(|svg| file("sweep.svg", svg)));
        files
    }

    fn headings(&self) -> Vec<String> {
        self.vary.iter().map(Vary::heading).collect()
    }
}

/// The path with entries of lists by their numbers, if the document writes a single value there.
fn written_path(text: &str, path: &str) -> Result<String, SweepError> {
    let mut numbered = String::new();
    for step in path.split('.') {
        let key = if numbered.is_empty() { step.to_owned() } else { format!("{numbered}.{step}") };
        let quoted = format!("\"{step}\"");
        let named = |i: &usize| value_in(text, &format!("{numbered}[{i}].name"));
        let entries: Vec<usize> = (0..).take_while(|i| value_in(text, &format!("{numbered}[{i}]")).is_some()).collect();
        let of_name: Vec<&usize> = entries.iter().filter(|i| named(i) == Some(&quoted)).collect();
        numbered = match of_name[..] {
            [] => key,
            [i] => format!("{numbered}[{i}]"),
            [first, ..] => {
                return Err(SweepError::Vary(format!(
                    "several entries of `{numbered}` have the name `{step}`. Write the number of one, such as \
                     {numbered}[{first}]."
                )));
            }
        };
    }
    match value_in(text, &numbered) {
        Some(value) if !value.starts_with(['[', '{']) && !value.is_empty() => Ok(numbered),
        Some(_) => {
            Err(SweepError::Vary(format!("`{path}` is a table or a list. Name a key with a single value in it.")))
        }
        None => Err(SweepError::Vary(format!(
            "the document does not write the key `{path}`.{} Write it into the document with any value that it takes.",
            meant(&numbered)
        ))),
    }
}

/// The key that a mistyped one is likely to mean.
fn meant(numbered: &str) -> String {
    let any_entry = |path: &str| {
        let (before, after) = (path.find('['), path.rfind(']'));
        before.zip(after).map_or(path.to_owned(), |(a, b)| format!("{}[]{}", &path[..a], &path[b + 1..]))
    };
    let typed = any_entry(numbered);
    let known = keys();
    let paths: Vec<&str> = known.iter().map(|k| k.path.as_str()).collect();
    let meant = nearest(&typed, &paths).filter(|_| !paths.contains(&typed.as_str()));
    meant.map_or(String::new(), |n| format!(" Did you mean `{n}`?"))
}

fn combinations(vary: &[Vary]) -> Result<usize, SweepError> {
    let count = vary.iter().try_fold(1_usize, |n, v| n.checked_mul(v.count));
    count.ok_or_else(|| SweepError::Vary("more variations than can be counted. Write larger steps.".to_owned()))
}

/// The values of one combination; the last key changes fastest.
fn values(vary: &[Vary], number: usize) -> Vec<f64> {
    let mut rest = number;
    let mut values: Vec<f64> = Vec::with_capacity(vary.len());
    for v in vary.iter().rev() {
        values.push(v.value(rest % v.count));
        rest /= v.count;
    }
    values.reverse();
    values
}

fn designed(name: &str, text: &str, inputs: &Inputs) -> Result<crate::built::Figures, Problems> {
    let document = Document::parse(name, text)?;
    let job = document.job_with(inputs)?;
    design(&job).map(|d| d.figures()).map_err(|faults| document.problems(&faults))
}

fn reason(problems: &Problems) -> String {
    problems.first().map(|p| &p.fault).map_or(String::new(), Fault::message)
}

/// `work` of every number below `count`, in their order.
fn on_all_cores<T: Send>(count: usize, work: &(dyn Fn(usize) -> T + Sync)) -> Vec<T> {
    let cores = thread::available_parallelism().map_or(1, NonZero::get);
    // WebAssembly has no threads.
    if cores == 1 || count < 2 {
        return (0..count).map(work).collect();
    }
    let next = AtomicUsize::new(0);
    let worker = || {
        let numbers = std::iter::repeat_with(|| next.fetch_add(1, Ordering::Relaxed)).take_while(|i| *i < count);
        numbers.map(|i| (i, work(i))).collect::<Vec<(usize, T)>>()
    };
    let mut all: Vec<(usize, T)> = thread::scope(|scope| {
        let workers: Vec<_> = (0..cores.min(count)).map(|_| scope.spawn(worker)).collect();
        let joined = workers.into_iter().map(|w| w.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic)));
        joined.flatten().collect()
    });
    all.sort_by_key(|(i, _)| *i);
    all.into_iter().map(|(_, made)| made).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn vary(text: &str) -> Vary {
        text.parse().unwrap()
    }

    #[test]
    fn ranges_hold_both_ends_and_steps_do_not_add_up_errors() {
        let v = vary("a.b=0.1..0.7/0.1");
        assert_eq!((v.count, v.toml(v.value(6)).as_str()), (7, "0.7"));
        assert_eq!(vary("a=6..10/3").count, 2);
        assert_eq!(vary("a=6..6/1").count, 1);
        let v = vary("a=-10..10/2.5 deg");
        assert_eq!((v.unit.as_str(), v.toml(v.value(1)).as_str()), ("deg", "\"-7.5 deg\""));
    }

    #[test]
    fn what_is_no_range_is_refused() {
        for text in ["", "a", "a=", "a=1..2", "a=1/2", "=1..2/1", "a=x..2/1", "a=1..inf/1", "a=1..2/1 \"", "a=1..2/-1"]
        {
            assert!(text.parse::<Vary>().unwrap_err().contains("is no range of a key"), "{text}");
        }
        for text in ["a=1..2/0", "a=0..1/0.0000001", "a=0..1000000/0.001"] {
            assert!(text.parse::<Vary>().unwrap_err().contains("too small"), "{text}");
        }
    }

    #[test]
    fn parts_cover_the_whole_once() {
        for (count, of) in [(10, 3), (7, 10), (100_001, 7), (0, 2)] {
            let parts: Vec<_> = (1..=of).map(|number| SweepPart { number, of }.range(count)).collect();
            assert_eq!((parts[0].0, parts[of - 1].1), (0, count));
            assert!(parts.windows(2).all(|p| p[0].1 == p[1].0));
        }
        for text in ["", "3", "0/3", "4/3", "a/b", "1/0", "-1/3"] {
            assert!(text.parse::<SweepPart>().is_err(), "{text}");
        }
    }

    #[test]
    fn the_last_key_changes_fastest() {
        let two = [vary("a=1..2/1"), vary("b=5..7/1")];
        let all: Vec<Vec<f64>> = (0..6).map(|i| values(&two, i)).collect();
        assert_eq!(all[..4], [[1.0, 5.0], [1.0, 6.0], [1.0, 7.0], [2.0, 5.0]]);
    }

    #[test]
    fn names_stand_for_entries_of_lists() {
        let text = "[[layers]]\nname = \"base skin\"\nthickness = 1\n[[layers]]\nname = \"core\"\nthickness = 4\n";
        assert_eq!(written_path(text, "layers.base skin.thickness").unwrap(), "layers[0].thickness");
        assert_eq!(written_path(text, "layers[1].thickness").unwrap(), "layers[1].thickness");
        let said = |text: &str, path: &str| written_path(text, path).unwrap_err().to_string();
        assert!(said(text, "layers.deck.thickness").contains("does not write the key"));
        assert!(said(text, "layers").contains("is a table or a list"));
        assert!(said(text, "layers[0]").contains("is a table or a list"));
        let twice = text.replace("core", "base skin");
        assert!(said(&twice, "layers.base skin.thickness").contains("several entries of `layers`"));
    }
}
