//! Tables: checks, stations, spacers and rods, bearers, and the form for measured heights.

use super::say::Say;
use crate::built::Built;
use crate::curve::PlaneCurve;
use crate::drawing::{Block, Cell, Listing, Tone};
use crate::finding::{Finding, Verdict};
use crate::jig::StationKind;
use crate::units::{LengthUnit, counted, decimal, plain};

pub(super) fn checks(built: &Built) -> Vec<Block> {
    let mut blocks = vec![Block::Paragraph(
        "Each check compares a value of this job with a limit. `ok` needs nothing, `watch` asks for a look before you \
         cut, `stop` keeps the files from being written unless the shop overrides the check by its name."
            .replace('`', ""),
    )];
    let accepted = |c: &Finding| built.design.job.accepted.iter().any(|a| a == c.code.name);
    for check in built.checks.iter().filter(|c| accepted(c)) {
        let subject = check.subject.text(built.design.job.unit);
        let words = format!("Override: the shop accepts {} ({subject}), which says {}.", check.code, check.verdict);
        blocks.push(Block::Notice(Tone::Look, words));
    }
    let unit = built.design.job.unit;
    // The worst first; equal ones as they were found.
    let mut sorted: Vec<&Finding> = built.checks.iter().collect();
    sorted.sort_by_key(|c| std::cmp::Reverse(c.verdict));
    blocks.extend(sorted.iter().filter(|c| c.verdict != Verdict::Ok).map(|c| in_full(c, accepted(c), unit)));
    let quiet: Vec<String> = sorted
        .iter()
        .filter(|c| c.verdict == Verdict::Ok)
        .map(|c| {
            let held = c
                .held
                .map(|h| h.words(unit))
                .map_or_else(String::new, |(value, limit)| format!(" {value} (limit: {limit});"));
            let overridden = if accepted(c) { " (ok, overridden)" } else { "" };
            format!("{}: {}{overridden}:{held} {}", c.code, c.subject.text(unit), c.code.source)
        })
        .collect();
    if !quiet.is_empty() {
        blocks.push(Block::Folded(format!("{} ok", counted(quiet.len(), "check")), quiet));
    }
    if sorted.is_empty() {
        blocks.push(Block::Paragraph("No check applied to this job.".to_owned()));
    }
    blocks
}

/// A check that does not say ok, with all that is known of it.
fn in_full(check: &Finding, accepted: bool, unit: LengthUnit) -> Block {
    let tone = if check.verdict == Verdict::Stop { Tone::Stop } else { Tone::Look };
    let overridden = if accepted { ", overridden" } else { "" };
    let mut facts = Vec::new();
    if let Some((value, limit)) = check.held.map(|h| h.words(unit)) {
        facts.extend([("value", value), ("limit", limit)]);
    }
    facts.push(("source of the limit", check.code.source.to_owned()));
    if !check.remedy.is_empty() {
        facts.push(("what to do", check.remedy.text(unit)));
    }
    let head = format!("{}{overridden}: {} [{}]", check.verdict, check.subject.text(unit), check.code);
    Block::Facts(tone, head, facts)
}

fn mark(kind: StationKind) -> &'static str {
    match kind {
        StationKind::Plain => "",
        StationKind::Middle => "middle",
        StationKind::TailEnd => "tail end",
        StationKind::TipEnd => "tip end",
    }
}

// Long, because it is one table with its columns.
pub(super) fn heights(built: &Built, say: Say) -> Vec<Block> {
    let jig = &built.jig;
    let mut blocks = vec![Block::Paragraph(
        "Stations are counted from the tail. Their place on the board runs along its base from the middle, toward the \
         tip positive; their place along the table is measured flat on the bench. Heights are above the flat underside \
         of the table's frame. The top under the skin stands square below the surface, so its place differs a little."
            .to_owned(),
    )];
    let mut stations = Listing::new(
        "Stations",
        &[
            "station",
            "mark",
            "on the board",
            "along the table",
            "surface height",
            "top under skin, at",
            if jig.bearers.is_empty() { "rib height" } else { "height under skin" },
            "slope",
        ],
    );
    for s in &jig.stations {
        let mut row = vec![Cell::count(s.number), Cell::text(mark(s.kind))];
        let lengths = [s.board_mm, s.surface.x, s.surface.y, s.rib_top.x, s.rib_top.y];
        row.extend(lengths.map(|mm| Cell::Figure(say.length(mm))));
        row.push(Cell::Figure(format!("{}°", decimal(s.slope_rad.to_degrees(), 2))));
        stations.rows.push(row);
    }
    blocks.push(Block::Table(stations));
    let schedule = &jig.spacers;
    if !schedule.bays.is_empty() || schedule.rod_count > 0 {
        let mut listing = Listing::new("Spacers and rods", &["piece", "where", "count", "length"]);
        for bay in &schedule.bays {
            listing.rows.push(vec![
                Cell::text("spacer"),
                Cell::text(format!("between rib {} and rib {}", bay.left_rib, bay.left_rib + 1)),
                Cell::count(bay.count),
                Cell::Figure(say.length(bay.spacer_length_mm)),
            ]);
        }
        if schedule.rod_count > 0 {
            listing.rows.push(vec![
                Cell::text(format!("rod, {}", say.fine(schedule.rod_diameter_mm))),
                Cell::text("through all ribs, with room for nuts"),
                Cell::count(schedule.rod_count),
                Cell::Figure(say.length(schedule.rod_length_mm)),
            ]);
        }
        blocks.push(Block::Table(listing));
    }
    if !jig.bearers.is_empty() {
        let mut listing = Listing::new(
            "Bearers and packing",
            &[
                "bearer",
                "from the middle",
                "height of its top",
                "blank",
                "cut to",
                "packing under it",
                "left over",
                "bevel",
            ],
        );
        for b in &jig.bearers {
            let packing: Vec<String> = b.packing_mm.iter().map(|p| say.fine(*p)).collect();
            listing.rows.push(vec![
                Cell::count(b.number),
                Cell::Figure(say.length(b.x_mm)),
                Cell::Figure(say.length(b.height_mm)),
                Cell::Figure(say.length(b.blank_height_mm)),
                Cell::Figure(say.length(b.cut_height_mm)),
                Cell::text(if packing.is_empty() { "none".to_owned() } else { packing.join(" + ") }),
                Cell::Figure(say.fine(b.error_mm)),
                Cell::Figure(format!("{}°", decimal(b.bevel_rad.to_degrees(), 2))),
            ]);
        }
        blocks.push(Block::Table(listing));
    }
    blocks
}

pub(super) fn measuring(built: &Built, say: Say) -> Vec<Block> {
    let mut form = Listing::new(
        "Heights of the base above the floor",
        &["station", "on the board", "expected", "at release", "one day later"],
    );
    for s in &built.jig.stations {
        let expected = built.design.table.predicted.at(s.board_mm).point.y;
        form.rows.push(vec![
            Cell::text(match mark(s.kind) {
                "" => s.number.to_string(),
                mark => format!("{} {mark}", s.number),
            }),
            Cell::Figure(say.length(s.board_mm)),
            Cell::Figure(say.length(expected)),
            Cell::text(""),
            Cell::text(""),
        ]);
    }
    vec![
        Block::Paragraph(format!(
            "Lay the board on a flat floor, base down, with nothing on it, and read the height of its base at every \
             station, to the {}. The stations run along the base from the \
             middle, toward the tip positive. Read once at release and again a day later: soft glue lines and moist \
             wood still move. What these readings say about the shop's own springback makes the next table better.",
            match say.unit {
                LengthUnit::Millimetre => "half millimetre",
                LengthUnit::Inch { .. } => "sixty-fourth of an inch",
            }
        )),
        Block::Form(form),
        Block::Paragraph(
            "The same form as a file: save it, write the heights into it with any spreadsheet or editor, leave empty what \
             was not read, and give it to `overbend calibrate` as it is. Its heading says where stations are counted from and in \
             which unit; where both columns are filled in, the later heights count."
                .to_owned(),
        ),
        Block::File { name: "heights.csv", words: "Save the form as heights.csv".to_owned(), text: form_file(built, say) },
        Block::Blanks(vec!["Board", "Read by", "At release, on", "One day later, on", "Room humidity"]),
    ]
}

/// The form as a file that `overbend calibrate` reads once heights are written into it.
fn form_file(built: &Built, say: Say) -> String {
    let unit = say.name();
    let mut text =
        format!("station_from_middle_{unit},expected_{unit},height_at_release_{unit},height_a_day_later_{unit}\n");
    let (from, to) = built.design.table.predicted.range_mm();
    // Stations of the overhangs are not on the finished board.
    for s in built.jig.stations.iter().filter(|s| (from..=to).contains(&s.board_mm)) {
        let expected = built.design.table.predicted.at(s.board_mm).point.y;
        text.push_str(&format!("{},{},,\n", plain(say.on_axis(s.board_mm), 3), plain(say.on_axis(expected), 2)));
    }
    text
}
