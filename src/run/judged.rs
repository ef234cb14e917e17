//! Whether a measured board is one to learn from, and what is to be asked about it.

use crate::calibrate::{BoardFactor, NINE_IN_TEN, OffTable, ShareAt, boards, explained_mirrored, fit_board};
use crate::codes;
use crate::finding::{Fault, Finding, Held, Verdict};
use crate::job::{Job, KeptBoard, Origin, PressedAs, Readings, StationsAlong};
use crate::laminate::Laminate;
use crate::rocker::measured::Fit;
use crate::units::{Phrase, Quantity, decimal, phrase};

/// Deviations of the next board's factor beyond which it is asked whether a board came off the last table, and beyond which
/// it is unlikely off a new one: of honest boards one in three and one in twenty (normal distribution).
const ODD: f64 = 1.0;
const UNLIKELY: f64 = 2.0;

/// What was read off a board.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct ReadOff {
    /// The curve through the readings.
    pub(super) through: Fit,
    /// Its factor.
    pub(super) found: BoardFactor,
    /// Its shares along it, from all readings that do not stand out.
    pub(super) shares: Vec<ShareAt>,
    /// Springback when it was read over that of a day after release.
    pub(super) shown: f64,
}

/// What is thought of a board.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Judged {
    /// Whether it is kept without being learned from.
    pub(super) left_out: bool,
    /// Whether one factor explains it.
    pub(super) explained: bool,
    /// Why, and which readings to look at.
    pub(super) checks: Vec<Finding>,
}

/// Judges a board by what is left over and, where nobody said which table it came off, by the last one that it may have
/// come off.
pub(super) fn board(job: &Job, before: &Job, board: &KeptBoard, read: &ReadOff, table_unstated: bool) -> Judged {
    let mut checks = read.through.findings.clone();
    checks.extend(wild(board, read));
    let explained = explained(board, &read.found);
    let asks = table_unstated.then(|| same_table(job, before, board, &read.found)).flatten();
    let unanswered = asks.as_ref().is_some_and(|(_, unlikely)| *unlikely);
    let is_explained = explained.verdict == Verdict::Ok;
    checks.push(explained);
    checks.extend(asks.map(|(finding, _)| finding));
    Judged { left_out: !is_explained || unanswered, explained: is_explained, checks }
}

/// Whether one factor explains the board.
fn explained(board: &KeptBoard, found: &BoardFactor) -> Finding {
    let table_error_mm = boards::table_error_mm(&board.pressed);
    let (left_mm, most_mm) = (found.left_over_mm(), found.most_left_over_mm(table_error_mm));
    let ok = left_mm <= most_mm;
    let remedy = if ok {
        Phrase::default()
    } else {
        let other_end = off(&board.pressed, board.hours_after_release)
            .and_then(|off| explained_mirrored(&off, &board.readings, table_error_mm));
        let what = match other_end {
            Some(mm) => {
                phrase!(
                    "Counted from the other end they fit within {}: {}",
                    Quantity::fine(mm),
                    turned(&board.readings)
                )
            }
            None => "Check that board, table and job belong together, and how the readings were taken.".into(),
        };
        phrase!("{} The board is not learned from unless --learn-anyway is said.", what)
    };
    codes::BOARD_UNEXPLAINED
        .check(
            "readings beside the board that comes nearest to them",
            (
                if ok { Verdict::Ok } else { Verdict::Watch },
                Held::at_most(Quantity::fine(left_mm), Quantity::fine(most_mm)),
            ),
        )
        .with_remedy(remedy)
}

/// How readings from the other end are to be said.
fn turned(readings: &Readings) -> &'static str {
    match readings.origin {
        Origin::Tail => "say --from tip.",
        Origin::Tip => "say --from tail.",
        Origin::Middle => "turn the signs of their stations.",
    }
}

/// The fault of a board that no factor makes, with a word about the other end where that would do.
pub(super) fn mirrored_instead(mut fault: Fault, off: &OffTable, readings: &Readings) -> Fault {
    if [codes::BOARD_NOT_OF_TABLE, codes::CALIBRATION_NOT_SETTLED].contains(&fault.code)
        && let Some(mm) = explained_mirrored(off, readings, 0.0)
    {
        fault.remedy = phrase!(
            "Counted from the other end the readings fit within {}: {} {}",
            Quantity::fine(mm),
            turned(readings),
            std::mem::take(&mut fault.remedy)
        );
    }
    fault
}

fn off(pressed: &PressedAs, hours_after_release: Option<f64>) -> Option<OffTable> {
    let laminate = Laminate::of_effective(&pressed.layers, pressed.cure_above_room_k).ok()?;
    boards::off_table(pressed, &laminate, hours_after_release).ok()
}

/// Asks whether the board came off the table of the last board of its job: where its readings, off that table, give the
/// factor that the last board had, and off the new table another one. Says too whether that other one is so unlikely, or the
/// readings so much the same, that the board is not to be learned from before that is answered.
fn same_table(job: &Job, before: &Job, board: &KeptBoard, found: &BoardFactor) -> Option<(Finding, bool)> {
    let last = boards::last_of(job)?;
    if boards::id_of(&last.pressed) == boards::id_of(&board.pressed) {
        return None;
    }
    let springback = before.forecast.springback;
    let unlikely = (found.factor - springback.value).abs() / libm::hypot(found.deviation, springback.sd);
    let there = PressedAs { table: last.pressed.table.clone(), ..board.pressed.clone() };
    let (off_there, off_last) =
        (off(&there, board.hours_after_release)?, off(&last.pressed, last.hours_after_release)?);
    let of = |off: &OffTable, readings: &Readings| {
        let found = fit_board(off, readings, "").ok()?;
        Some(found.on_table_within(off, boards::table_error_mm(&there)))
    };
    let (new, old) = (of(&off_there, &board.readings)?, of(&off_last, &last.readings)?);
    let apart = (new.factor - old.factor).abs() / libm::hypot(new.deviation, old.deviation);
    let fits_there = new.left_over_mm() <= new.most_left_over_mm(boards::table_error_mm(&there));
    if unlikely < ODD || apart > NINE_IN_TEN || !fits_there {
        return None;
    }
    let unanswered = unlikely > UNLIKELY || board.readings.readings == last.readings.readings;
    let learned = if unanswered { " Until then the board is not learned from." } else { "" };
    let finding = codes::BOARD_OF_LAST_TABLE.verdict(format!(
            "springback factor {} if the board came from the newly designed table, {} standard deviations from what was \
             expected; {} if it came from the table of `{}`, whose own board had {}",
            decimal(found.factor, 2),
            decimal(unlikely, 1),
            decimal(new.factor, 2),
            last.label,
            decimal(old.factor, 2)
        )
        , Verdict::Watch).with_remedy(format!(
            "Was it pressed on the same table as that board? Say --same-table, or --new-table if the table was built \
             anew.{learned}"
        )
        );
    Some((finding, unanswered))
}

/// Readings that the model does not find near, where the curve through all of them did not name them.
fn wild(board: &KeptBoard, read: &ReadOff) -> Vec<Finding> {
    let named: Vec<f64> = read.through.rows.iter().filter(|r| r.stands_out.is_some()).map(|r| r.station_mm).collect();
    let numbers = used(&board.readings);
    let finding = |row: usize| {
        let (r, number) = (read.found.rows[row], numbers.get(row)?);
        let along = if board.readings.along == StationsAlong::Base { "" } else { " along the rule" };
        (!named.contains(&r.station_mm)).then(|| {
            codes::READING_OFF_BOARD
                .check(
                    phrase!("reading {} at station {}{}", number + 1, Quantity::place(r.station_mm), along),
                    (
                        Verdict::Watch,
                        Held::at_most(Quantity::fine(r.residual_mm().abs()), Quantity::fine(read.found.error_mm)),
                    ),
                )
                .with_remedy(phrase!(
                    "{} was read where that board is at {}. Read it again, or take it out.",
                    Quantity::fine(r.height_mm),
                    Quantity::fine(r.explained_mm)
                ))
        })
    };
    read.found.wild_rows().into_iter().filter_map(finding).collect()
}

/// Numbers of the readings that are used, from 0.
fn used(readings: &Readings) -> Vec<usize> {
    (0..readings.readings.len()).filter(|i| !readings.excluded.contains(i)).collect()
}

/// Numbers of the readings, from 0, that stand out from a curve through all of them or from the model.
pub(super) fn standing_out(readings: &Readings, through: &Fit, found: &BoardFactor) -> Vec<usize> {
    let of_curve = through.rows.iter().enumerate().filter(|(_, r)| r.stands_out.is_some()).map(|(i, _)| i);
    let numbers = used(readings);
    let of_model = found.wild_rows().into_iter().filter_map(|row| numbers.get(row).copied());
    let mut all: Vec<usize> = of_curve.chain(of_model).collect();
    all.sort_unstable();
    all.dedup();
    all
}
