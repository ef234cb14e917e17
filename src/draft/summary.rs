//! The short text that a build prints.

use std::fmt::Write as _;

use super::cutlist::stock_lines;
use super::learnt::{learnt_line, next_line};
use super::lines::{Line, looked_at};
use super::sure::{season_line, sure_lines};
use crate::built::{Built, Design};
use crate::job::{LengthAlong, Lies, Share};
use crate::laminate::Section;
use crate::table::OverbentTable;
use crate::units::{Quantity, decimal, force, length};

/// A share, or the range of shares along the board, in percent.
pub(super) fn share_words((least, most): (f64, f64)) -> String {
    let [least, most] = [least, most].map(|share| decimal(100.0 * share, 1));
    if least == most { format!("{most} %") } else { format!("{least} to {most} %, by station,") }
}

/// How much of the heights of tip and tail on the table the board loses, where one of them is raised.
pub(super) fn lost_words(bent: &OverbentTable) -> Option<String> {
    let (tail, tip) = bent.lost_shares();
    let percent = |share: f64| decimal(100.0 * share, 1);
    match (tip, tail) {
        (Some(tip), Some(tail)) => {
            Some(format!("the tip loses {} % of its height, the tail {} %", percent(tip), percent(tail)))
        }
        (Some(tip), None) => Some(format!("the tip loses {} % of its height", percent(tip))),
        (None, Some(tail)) => Some(format!("the tail loses {} % of its height", percent(tail))),
        (None, None) => None,
    }
}

/// What a builder wants to know first.
pub fn summary(built: &Built) -> String {
    let Design { job, target, laminate, table: bent, .. } = &built.design;
    let Built { carried, jig, checks, .. } = built;
    let say = |mm: f64| length(mm, job.unit);
    let show = |quantity: Quantity| quantity.text(job.unit);
    let mut out = String::new();
    let mut line = |label: &str, words: String| {
        // Writing to a String cannot fail.
        let _ = writeln!(out, "  {label:<10} {words}");
    };
    let along = match job.board.length_along {
        LengthAlong::Base => "along the base",
        LengthAlong::Straight => "straight from tip to tail",
    };
    line(
        "wanted",
        format!(
            "tip {} high, tail {}, over {} {along}",
            say(target.tip_height_mm()),
            say(target.tail_height_mm()),
            say(job.board.length_mm)
        ),
    );
    line(
        "stack",
        format!(
            "{} layers, {} thick; springs back {} of the curve it is pressed to{}",
            job.layers.len(),
            show(Quantity::fine(laminate.section_at(0.0).thickness_mm)),
            share_words(bent.share_range(laminate)),
            lost_words(bent).map_or(String::new(), |lost| format!("; {lost}"))
        ),
    );
    if let Some(words) = closing_in_words(&laminate.section_at(0.0), job.forecast.closing_in.multiple) {
        line("closing in", words);
    }
    let (tail, tip) = bent.table_heights_mm();
    line(
        "table",
        match job.table.lies {
            Lies::BaseDown => format!("tip {} high, tail {}, at the finished ends", say(tip), say(tail)),
            Lies::DeckDown => {
                format!(
                    "a hump for the deck: tip {} below its crown, tail {}, at the finished ends",
                    say(-tip),
                    say(-tail)
                )
            }
        },
    );
    let fastening = &carried.fastening;
    let gives = carried.gives_mm.map_or(String::new(), |(tail, tip)| {
        format!("; ends give {} under the stack", show(Quantity::small(tail.abs().max(tip.abs()))))
    });
    line(
        "carries",
        format!(
            "{} on the stack; {} at most pull on a fastener of the skin every {}{gives}",
            force(bent.closing_force_n(job.board.width_mm), job.unit),
            show(Quantity::force(fastening.pull_n.value)),
            say(fastening.pitch_mm)
        ),
    );
    line("released", format!("within {} of the wanted curve, in the model", show(Quantity::within(bent.error_mm))));
    for (label, words) in board_lines(built) {
        line(label, words);
    }
    let longest = |lengths: &mut dyn Iterator<Item = f64>| say(lengths.fold(0.0, f64::max));
    if !jig.ribs.is_empty() {
        let pieces: usize = jig.ribs.iter().map(|r| r.pieces.len()).sum();
        let split = if pieces > jig.ribs.len() { format!(" in {pieces} pieces") } else { String::new() };
        line(
            "ribs",
            format!(
                "{}{split} of {} stock; longest {}, highest {}",
                jig.ribs.len(),
                show(Quantity::fine(jig.rib_thickness_mm)),
                longest(&mut jig.ribs.iter().map(|r| r.length_mm)),
                longest(&mut jig.ribs.iter().map(|r| r.height_mm))
            ),
        );
    }
    if !jig.cross_members.is_empty() {
        let height = longest(&mut jig.cross_members.iter().map(|m| m.height_mm));
        line("members", format!("{} across, {height} high, half-lapped with the ribs", jig.cross_members.len()));
    }
    if !jig.bearers.is_empty() {
        let off = jig.bearers.iter().map(|b| b.error_mm.abs()).fold(0.0, f64::max);
        line(
            "bearers",
            format!(
                "{} across, {} long, highest {}; packed within {} of the computed height",
                jig.bearers.len(),
                say(jig.width_mm),
                longest(&mut jig.bearers.iter().map(|b| b.blank_height_mm)),
                show(Quantity::within(off))
            ),
        );
    }
    let schedule = &jig.spacers;
    if let Some(bay) = schedule.bays.first() {
        line(
            "spacers",
            format!(
                "{} of {}; {} rods of {}",
                schedule.bays.iter().map(|b| b.count).sum::<usize>(),
                say(bay.spacer_length_mm),
                schedule.rod_count,
                say(schedule.rod_length_mm)
            ),
        );
    }
    for (label, words) in stock_lines(&built.layout, job.unit) {
        line(label, words);
    }
    let head = format!("{}\n", job.title);
    head + &out + &looked_at(checks, &job.accepted, "look at this before cutting:", job.unit)
}

/// How sure the board is, and what the shop's boards say.
fn board_lines(built: &Built) -> Vec<Line> {
    let unit = built.design.job.unit;
    let mut lines = built.forecast.as_ref().map_or(Vec::new(), |f| sure_lines(f, &built.advice, unit));
    lines.extend(built.season_mm.map(|season| season_line(season, unit)));
    if let Some(known) = &built.design.known {
        lines.insert(0, learnt_line(&known.learnt, known.boards.len()));
        lines.extend(built.next_error_mm.map(|n| next_line(n, unit)));
    }
    lines
}

/// How far the stack closes in, where it does. `multiple` is that of the computed shrinkage.
pub(super) fn closing_in_words(section: &Section, multiple: Share) -> Option<String> {
    let percent = 100.0 * section.closes_in();
    (percent != 0.0).then(|| {
        let either = 100.0 * section.closes_in().abs() * multiple.sd / multiple.value.max(0.1);
        format!(
            "{} % more curve once the stack has shrunk through its thickness, give or take {} % (one standard deviation); let both \
             faces dry alike",
            decimal(percent, 1),
            decimal(either, 1)
        )
    })
}
