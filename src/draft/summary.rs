//! The short text that a build prints.

use std::fmt::Write as _;

use super::cutlist::stock_lines;
use super::learned::{learned_line, next_line};
use super::lines::{Line, looked_at, push_lines};
use super::shopping::cost_line;
use super::uncertainty::{season_line, uncertainty_lines};
use crate::built::{Built, Design};
use crate::job::{LengthAlong, Lies, Share};
use crate::laminate::Section;
use crate::rocker::Outline;
use crate::table::{OverbentTable, width_over_all_mm};
use crate::units::{LengthUnit, Quantity, decimal, force, length};

/// A share, or the range of shares along the board, in percent.
pub(super) fn share_words((least, most): (f64, f64)) -> String {
    let [least, most] = [least, most].map(|share| decimal(100.0 * share, 1));
    if least == most { format!("{most} %") } else { format!("{least} to {most} %, depending on the station,") }
}

/// How much of the heights of tip and tail on the table the board loses, where one of them is raised.
pub(super) fn lost_words(bent: &OverbentTable) -> Option<String> {
    let (tail, tip) = bent.lost_shares();
    let verb = |share: f64| if share < 0.0 { "gains" } else { "loses" };
    let percent = |share: f64| decimal(100.0 * share.abs(), 1);
    let whole = |end: &str, share: f64| format!("the {end} {} {} % of its height", verb(share), percent(share));
    match (tip, tail) {
        (Some(tip), Some(tail)) => {
            let other = if verb(tip) == verb(tail) { String::new() } else { format!("{} ", verb(tail)) };
            Some(format!("{}, the tail {other}{} %", whole("tip", tip), percent(tail)))
        }
        (Some(tip), None) => Some(whole("tip", tip)),
        (None, Some(tail)) => Some(whole("tail", tail)),
        (None, None) => None,
    }
}

/// What a builder wants to know first: what to build, how sure the board is, and what to watch.
pub fn summary(built: &Built) -> String {
    let job = &built.design.job;
    let mut out = format!("{}\n", job.title);
    for (heading, lines) in
        [("to build", to_build(built)), ("board to expect", to_expect(built)), ("loads", loads(built))]
    {
        // Writing to a String cannot fail.
        let _ = writeln!(out, "\n{heading}");
        push_lines(&mut out, &lines);
    }
    out + &looked_at(&built.checks, &job.accepted, "look at this before cutting:", job.unit)
}

/// The table and its parts.
fn to_build(built: &Built) -> Vec<Line> {
    let Design { job, table: bent, .. } = &built.design;
    let jig = &built.jig;
    let say = |mm: f64| length(mm, job.unit);
    let show = |quantity: Quantity| quantity.text(job.unit);
    let (tail, tip) = bent.table_heights_mm();
    let table = match job.table.lies {
        Lies::BaseDown => format!("tip {}, tail {} high at the finished ends", say(tip), say(tail)),
        Lies::DeckDown => {
            format!("a hump for the deck; tip {}, tail {} below its crown, at the finished ends", say(-tip), say(-tail))
        }
    };
    let mut lines = vec![("table", table)];
    let longest = |lengths: &mut dyn Iterator<Item = f64>| say(lengths.fold(0.0, f64::max));
    if !jig.ribs.is_empty() {
        let pieces: usize = jig.ribs.iter().map(|r| r.pieces.len()).sum();
        let split = if pieces > jig.ribs.len() { format!(" in {pieces} pieces") } else { String::new() };
        let words = format!(
            "{}{split} of {} stock; longest {}, highest {}",
            jig.ribs.len(),
            show(Quantity::fine(jig.rib_thickness_mm)),
            longest(&mut jig.ribs.iter().map(|r| r.length_mm)),
            longest(&mut jig.ribs.iter().map(|r| r.height_mm))
        );
        lines.push(("ribs", words));
    }
    if !jig.cross_members.is_empty() {
        let height = longest(&mut jig.cross_members.iter().map(|m| m.height_mm));
        lines
            .push(("members", format!("{} across, {height} high, half-lapped with the ribs", jig.cross_members.len())));
    }
    if !jig.bearers.is_empty() {
        let off = jig.bearers.iter().map(|b| b.error_mm.abs()).fold(0.0, f64::max);
        let words = format!(
            "{} across, {} long, highest {}; packed within {}",
            jig.bearers.len(),
            say(jig.width_mm),
            longest(&mut jig.bearers.iter().map(|b| b.blank_height_mm)),
            show(Quantity::within(off))
        );
        lines.push(("bearers", words));
    }
    let schedule = &jig.spacers;
    if let Some(bay) = schedule.bays.first() {
        let words = format!(
            "{} of {}; {} rods of {}",
            schedule.bays.iter().map(|b| b.count).sum::<usize>(),
            say(bay.spacer_length_mm),
            schedule.rod_count,
            say(schedule.rod_length_mm)
        );
        lines.push(("spacers", words));
    }
    lines.extend(stock_lines(&built.layout, job.unit));
    lines.extend(cost_line(built));
    lines
}

/// The finished board, how sure it is, and what the shop's boards say.
fn to_expect(built: &Built) -> Vec<Line> {
    let Design { job, target, laminate, table: bent, known, .. } = &built.design;
    let say = |mm: f64| length(mm, job.unit);
    let show = |quantity: Quantity| quantity.text(job.unit);
    let along = match job.board.length_along {
        LengthAlong::Base => "along the base",
        LengthAlong::Straight => "straight from tip to tail",
    };
    let [tip, tail, long] = [target.tip_height_mm(), target.tail_height_mm(), job.board.length_mm].map(say);
    let thickness = show(Quantity::fine(laminate.section_at(0.0).thickness_mm));
    let lost = lost_words(bent).map_or(String::new(), |lost| format!("; {lost}"));
    let mut lines = Vec::new();
    if job.board.count > 1 {
        let over_all = say(width_over_all_mm(&job.board));
        let words = format!("{} side by side, {} apart, {over_all} over all", job.board.count, say(job.board.gap_mm));
        lines.push(("boards", words));
    }
    lines.extend([
        ("wanted", format!("tip {tip}, tail {tail} high; {long} {along}")),
        ("predicted", format!("within {} of the wanted curve", show(Quantity::within(bent.error_mm)))),
        ("stack", format!("{} plies, {thickness} thick", job.layers.len())),
        ("springback", format!("{} of the table's curve{lost}", share_words(bent.share_range(laminate)))),
    ]);
    lines.extend(built.design.outline.as_ref().map(|o| ("outline", outline_words(o, job.unit))));
    lines.extend(
        closing_in_words(&laminate.section_at(0.0), job.forecast.closing_in.multiple).map(|w| ("closing in", w)),
    );
    lines.extend(known.as_ref().map(|k| learned_line(&k.learned, k.boards.len())));
    lines.extend(built.forecast.iter().flat_map(|f| uncertainty_lines(f, &built.advice, job.unit)));
    lines.extend(built.season_mm.map(|season| season_line(season, job.unit)));
    if known.is_some() {
        lines.extend(built.next_error_mm.map(|n| next_line(n, job.unit)));
    }
    lines
}

/// Size and waist of an outline.
fn outline_words(outline: &Outline, unit: LengthUnit) -> String {
    let say = |mm: f64| length(mm, unit);
    let area = Quantity::surface(1e-6 * outline.area_mm2()).text(unit);
    let waist = outline.sidecut().map_or(String::new(), |s| {
        format!(", {} wide at the waist, sidecut radius {}", say(outline.width_mm(s.waist_mm)), say(s.radius_mm))
    });
    format!("{area}, {} wide{waist}", say(outline.widest_mm().1))
}

/// Loads on the table.
fn loads(built: &Built) -> Vec<Line> {
    let job = &built.design.job;
    let fastening = &built.carried.fastening;
    let show = |quantity: Quantity| quantity.text(job.unit);
    let mut lines = vec![
        ("pressing", format!("{} over the finished width", force(built.design.closing_force_n(), job.unit))),
        (
            "fasteners",
            format!(
                "{} pull on each at most, {} apart",
                show(Quantity::force(fastening.pull_n.value)),
                length(fastening.pitch_mm, job.unit)
            ),
        ),
    ];
    if let Some((tail, tip)) = built.carried.gives_mm {
        let most = show(Quantity::small(tail.abs().max(tip.abs())));
        lines.push(("give", format!("{most} at the ends of the table under the bent stack")));
    }
    lines
}

/// How far the stack closes in, where it does. `multiple` is that of the computed shrinkage.
pub(super) fn closing_in_words(section: &Section, multiple: Share) -> Option<String> {
    let percent = 100.0 * section.closes_in();
    (percent != 0.0).then(|| {
        let either = 100.0 * section.closes_in().abs() * multiple.sd / multiple.value.max(0.1);
        format!(
            "{} % more curve as the stack shrinks through its thickness (standard error {} %); let both faces dry alike",
            decimal(percent, 1),
            decimal(either, 1)
        )
    })
}
