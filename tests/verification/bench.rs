//! Rows of claims, the rules they keep, and the table that they become.

use crate::wrong::Trial;

/// What stands on the other side of a comparison.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Kind {
    /// Numbers that somebody printed.
    Published,
    /// Formulas, evaluated in the test beside the rows.
    ClosedForm,
    /// Results of a program that shares no line with this one, kept in `tests/independent/`.
    OtherProgram,
    /// What others measured on pieces of theirs: coarse, with conditions that are not known.
    Measured,
    /// What must come out the same however it is asked.
    Invariant,
}

impl Kind {
    pub(crate) fn words(self) -> &'static str {
        match self {
            Self::Published => "published numbers",
            Self::ClosedForm => "closed forms",
            Self::OtherProgram => "other programs",
            Self::Measured => "measured by others",
            Self::Invariant => "invariants",
        }
    }
}

/// How a source was looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Mark {
    /// In a public copy.
    Seen,
    /// In another work that quotes it.
    SecondHand,
    /// Not looked at; written down from memory.
    FromMemory,
    /// Derived or computed by us.
    Own,
}

impl Mark {
    fn words(self) -> &'static str {
        match self {
            Self::Seen => "seen",
            Self::SecondHand => "second-hand",
            Self::FromMemory => "from memory",
            Self::Own => "own",
        }
    }
}

/// The value on the other side, and how well it is known.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Stated {
    words: String,
    value: f64,
    half_unit: f64,
    kind: Kind,
}

impl Stated {
    /// A number as printed; its last digit says how well it is known. A fraction such as `3/64` is exact.
    pub(crate) fn printed(text: &str) -> Self {
        let (value, half_unit) = match text.split_once('/') {
            Some((over, under)) => (number(over) / number(under), 0.0),
            None => {
                let decimals = text.split_once('.').map_or(0, |(_, behind)| behind.len());
                (number(text), 0.5 * 10_f64.powi(-i32::try_from(decimals).unwrap()))
            }
        };
        Self { words: text.to_owned(), value, half_unit, kind: Kind::Published }
    }

    /// A printed number whose last digits are filled up with zeros: known to half of `unit`.
    pub(crate) fn rounded(text: &str, unit: f64) -> Self {
        Self { half_unit: 0.5 * unit, ..Self::printed(text) }
    }

    /// What others measured, as they printed it.
    pub(crate) fn measured(text: &str) -> Self {
        Self { kind: Kind::Measured, ..Self::printed(text) }
    }

    /// The value of a formula, evaluated here in double precision.
    pub(crate) fn formula(text: &str, value: f64) -> Self {
        Self { words: text.to_owned(), value, half_unit: 0.0, kind: Kind::ClosedForm }
    }

    /// The result of another program, known to `known_to` by its own refinement.
    pub(crate) fn found(value: f64, known_to: f64) -> Self {
        let words = decimals(value, known_to.max(1e-9 * value.abs()));
        Self { words, value, half_unit: known_to, kind: Kind::OtherProgram }
    }

    /// What the same program says when it is asked otherwise.
    pub(crate) fn same(value: f64) -> Self {
        Self { words: String::new(), value, half_unit: 0.0, kind: Kind::Invariant }
    }
}

fn number(text: &str) -> f64 {
    text.trim().parse().unwrap_or_else(|_| panic!("`{text}` is not a number"))
}

/// One claim.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Row {
    /// What is compared, with its unit.
    pub(crate) quantity: String,
    /// What the source says.
    pub(crate) stated: Stated,
    /// Where in the source.
    pub(crate) place: &'static str,
    /// What the program says.
    pub(crate) computed: f64,
    /// Largest difference allowed, in the unit of the quantity.
    pub(crate) allowed: f64,
    /// Why so much and no less.
    pub(crate) why: &'static str,
}

impl Row {
    fn error(&self) -> f64 {
        self.computed - self.stated.value
    }

    /// Whether the claim stands; NaN never does.
    pub(crate) fn stands(&self) -> bool {
        self.error().abs() <= self.allowed
    }

    fn cells(&self) -> [String; 7] {
        let stated = if self.stated.words.is_empty() || self.stated.kind == Kind::ClosedForm {
            let value = decimals(self.stated.value, self.allowed);
            if self.stated.words.is_empty() { value } else { format!("{} = {value}", self.stated.words) }
        } else {
            self.stated.words.clone()
        };
        // Differences that are rounding and nothing else are not the same on every machine.
        let error = if self.error().abs() < 0.01 * self.allowed {
            "< 1/100 of allowed".to_owned()
        } else {
            format!("{:.1e}", self.error())
        };
        [
            self.quantity.clone(),
            stated,
            self.place.to_owned(),
            decimals(self.computed, self.allowed),
            error,
            format!("{:.1e}", self.allowed),
            self.why.to_owned(),
        ]
    }
}

/// Digits down to a tenth of what is allowed.
fn decimals(value: f64, allowed: f64) -> String {
    let wanted = (1.0 - allowed.log10().ceil()).clamp(0.0, 10.0);
    let text = overbend::units::decimal(value, wanted as usize);
    if value != 0.0 && value.abs() < 1e-4 { format!("{value:.4e}") } else { text }
}

/// A source with its rows.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Source {
    /// Name of its file: author and year, or what it is about.
    pub(crate) name: &'static str,
    /// What is claimed.
    pub(crate) claim: &'static str,
    /// The work.
    pub(crate) work: &'static str,
    /// How it was looked at.
    pub(crate) mark: Mark,
    /// What its values are.
    pub(crate) kind: Kind,
    /// What was put in.
    pub(crate) parameters: &'static str,
    /// How many rows there must be.
    pub(crate) count: usize,
    /// The rows.
    pub(crate) rows: Vec<Row>,
}

impl Source {
    /// Everything that is wrong with the source, in words.
    pub(crate) fn complaints(&self) -> Vec<String> {
        let mut found = Vec::new();
        if self.rows.len() != self.count {
            found.push(format!("{}: {} rows, not {}", self.name, self.rows.len(), self.count));
        }
        for row in &self.rows {
            let at = format!("{}, {}", self.name, row.quantity);
            if !row.stands() {
                let (a, b) = (row.computed, row.stated.value);
                found.push(format!("{at}: {a} is not {b} within {:e} (off by {:e})", row.allowed, row.error()));
            }
            if row.stated.kind != self.kind {
                let (a, b) = (row.stated.kind.words(), self.kind.words());
                found.push(format!("{at}: a row of {a} among {b}"));
            }
            if row.stated.half_unit >= row.allowed {
                let half = row.stated.half_unit;
                found.push(format!("{at}: known to {half:e} only, which does not bear out {:e}", row.allowed));
            }
            if row.why.is_empty() || row.place.is_empty() {
                found.push(format!("{at}: no place, or no reason for what is allowed"));
            }
        }
        found
    }

    /// How many rows do not stand.
    pub(crate) fn fallen(&self) -> usize {
        self.rows.iter().filter(|r| !r.stands()).count()
    }

    /// The rows for the terminal.
    pub(crate) fn listing(&self) -> String {
        let mut out = format!("{} ({}, {})\n", self.name, self.kind.words(), self.mark.words());
        for row in &self.rows {
            let verdict = if row.stands() { "stands" } else { "FALLS" };
            out.push_str(&format!("  {verdict}  {}\n", row.cells().join(" | ")));
        }
        out
    }
}

const HEAD: &str = "\
# What the program says, beside what others say

Written by `cargo test --test verification`, which fails when a row does not stand or when this page is not what it
writes.

- Allowed errors are absolute, in the unit of the quantity, each with its reason. Half a unit of the last printed digit is
  always smaller than what is allowed; a printed fraction is exact.
- Kinds are not mixed within a source: published numbers, closed forms (evaluated beside the rows), other programs (scripts
  and results in `tests/independent/`), values that others measured on pieces of theirs, invariants. Our own earlier numbers prove nothing and are not here.
- Marks: *seen* in a public copy; *second-hand*, in a work that quotes it; *from memory*, to be checked before leaning on it;
  *own*, derived or computed by us.
- Rows that fail when a formula is made wrong on purpose are counted at the end.
";

/// The page.
pub(crate) fn table(sources: &[Source], trials: &[Trial]) -> String {
    let rows: usize = sources.iter().map(|s| s.rows.len()).sum();
    let mut out = format!("{HEAD}\n{rows} rows from {} sources.\n", sources.len());
    for kind in [Kind::Published, Kind::ClosedForm, Kind::OtherProgram, Kind::Measured, Kind::Invariant] {
        let words = kind.words();
        out.push_str(&format!("\n## {}{}\n", words[..1].to_uppercase(), &words[1..]));
        for s in sources.iter().filter(|s| s.kind == kind) {
            out.push_str(&format!("\n### {}\n\n", s.claim));
            out.push_str(&format!("Source: {} ({}). File `{}.rs`.\n\n", s.work, s.mark.words(), s.name));
            out.push_str(&format!("{}\n\n", s.parameters));
            out.push_str("| quantity | source says | where | computed | error | allowed | why |\n");
            out.push_str("|---|---|---|---|---|---|---|\n");
            for row in &s.rows {
                out.push_str(&format!("| {} |\n", row.cells().join(" | ")));
            }
        }
    }
    out.push_str("\n## Wrong on purpose\n\n");
    out.push_str("Each formula is made wrong in one way, and the rows of a source are computed again.\n\n");
    out.push_str("| made wrong | source | rows that fail |\n|---|---|---|\n");
    for trial in trials {
        out.push_str(&format!("{}\n", trial.line()));
    }
    out
}

#[test]
fn a_row_falls_on_nan_on_coarse_digits_and_on_a_mixed_kind() {
    let row =
        |stated, computed, allowed| Row { quantity: "q".to_owned(), stated, place: "p", computed, allowed, why: "w" };
    let source = |row, count| Source {
        name: "n",
        claim: "c",
        work: "w",
        mark: Mark::Own,
        kind: Kind::Published,
        parameters: "p",
        count,
        rows: vec![row],
    };
    let complaints = |row| source(row, 1).complaints().len();
    assert_eq!(complaints(row(Stated::printed("0.30172"), 0.301_724, 1e-5)), 0);
    assert_eq!(complaints(row(Stated::printed("0.30172"), 0.3018, 1e-5)), 1);
    assert_eq!(complaints(row(Stated::printed("0.30172"), f64::NAN, 1e-5)), 1);
    assert_eq!(complaints(row(Stated::printed("0.30172"), 0.30172, 4e-6)), 1);
    assert_eq!(complaints(row(Stated::rounded("7620", 10.0), 7621.0, 5.0)), 1);
    assert_eq!(complaints(row(Stated::printed("3/64"), 0.046_875, 1e-12)), 0);
    assert_eq!(complaints(row(Stated::formula("f", 1.0), 1.0, 1e-5)), 1);
    assert_eq!(source(row(Stated::printed("1.0"), 1.0, 0.1), 2).complaints().len(), 1);
}
