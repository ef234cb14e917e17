//! What to do, in order, with this job's numbers in the sentences.

use super::say::{Say, bagged};
use super::{bagging, cautions, details, parts, taper};
use crate::built::{Built, Design};
use crate::drawing::{Block, Figure, Step};
use crate::forecast::shown_after;
use crate::jig::{Bagging, LAND_MM, SheetSize, TAPE_WIDTH_MM};
use crate::job::{Board, ClampPlaces, Frame, Glue, Hold, Joint, LengthAlong, RibFrame};
use crate::stock::{Resin, SPREAD_G_M2};
use crate::table::Skin;
use crate::units::{LengthUnit, Quantity, counted, decimal, force, mass, pressure};

/// Total force that closes the stack over the finished width, N.
fn closing_n(built: &Built) -> f64 {
    built.design.closing_force_n()
}

pub(super) fn blocks(built: &Built, say: Say) -> Vec<Block> {
    let heading = |words: &str| Block::Heading(words.to_owned());
    let figure = |figure: Figure| Block::Figure(Box::new(figure));
    let mut blocks = vec![heading("Build the table"), Block::Steps(building(built, say))];
    blocks.extend(details::figures(built, say).into_iter().map(figure));
    blocks.push(Block::Blanks(vec!["Rib stock as measured", "Skin stock as measured", "Table built on"]));
    blocks.extend([heading("Cut the layers"), Block::Steps(cutting(built, say))]);
    blocks.extend(taper::blocks(built, say));
    blocks.extend([heading("Dry fit"), Block::Steps(dry_fit(built, say)), heading("Pressing day")]);
    blocks.extend(bagging::section(built, say).map(figure));
    blocks.push(Block::Steps(pressing(built, say)));
    let mut kept =
        vec!["Date", "Board", "Batch of wood", "Resin and hardener", "Mixing ratio", "Mixed at", "Closed at"];
    kept.extend(if bagged(built) {
        ["Gauge at closing", "Gauge after five minutes", "Gauge at release"].as_slice()
    } else {
        [].as_slice()
    });
    kept.extend(["Room temperature", "Room humidity", "Released at"]);
    blocks.push(Block::Blanks(kept));
    blocks.extend([heading("Release, measure, trim"), Block::Steps(release(built, say))]);
    blocks
}

fn step(head: &str, text: String) -> Step {
    Step::new(head, text)
}

/// Length and width of a sheet in words.
fn size(sheet: SheetSize, say: Say) -> String {
    format!("{} by {}", say.length(sheet.length_mm), say.length(sheet.width_mm))
}

/// How the pieces of ribs are joined, as their joint asks.
fn joining(frame: &RibFrame, say: Say) -> String {
    let flat = "Lay each rib flat on a bench with the base of all its pieces against one straight batten";
    match frame.split.as_ref().map(|s| s.joint) {
        Some(Joint::Plates { bolt_mm, .. }) => format!(
            "{flat}. Put a plate on each face over the joint, the plates of rib 1 marked 1, and bolt them with {} bolts, \
             washers and nuts through all eight holes. Tighten while the batten still touches all along. Nothing is \
             glued, so the rib comes apart again.",
            say.fine(bolt_mm)
        ),
        _ => format!("{flat}, glue in the keys, and let the glue set before you go on."),
    }
}

// Long, because it is one list of steps in the order of work.
fn building(built: &Built, say: Say) -> Vec<Step> {
    let Design { job, .. } = &built.design;
    let Built { jig, .. } = built;
    let mut steps = Vec::new();
    match &job.table.frame {
        Frame::Ribs(frame) => {
            steps.push(step(
                "Cut the ribs.",
                format!(
                    "{}, from the drawing file or the paper pattern. Measure the stock first: this schedule counts on \
                     {}. Transfer name, middle, stations and finished ends to every rib.",
                    parts::ribs_in_words(built),
                    say.fine(jig.rib_thickness_mm)
                ),
            ).with_caution(cautions::MACHINES));
            if jig.ribs.iter().any(|r| r.pieces.len() > 1) {
                steps.push(step("Join the pieces.", joining(frame, say)));
            }
            steps.push(step(
                "Stack and compare.",
                "Clamp all ribs of one shape in a pile, bases and middle marks flush. Where one stands proud, dress it \
                 to the others; do not dress all to the highest."
                    .to_owned(),
            ));
            if let Some(member) = jig.cross_members.first() {
                steps.push(step(
                    "Set the ribs on the cross members.",
                    format!(
                        "{} members of {} by {} go into the slots of the ribs. They must slide in by hand; ease a tight \
                         slot, do not hammer.",
                        jig.cross_members.len(),
                        say.length(member.length_mm),
                        say.length(member.height_mm)
                    ),
                ));
            }
            if !jig.rods.is_empty() {
                let schedule = &jig.spacers;
                let count: usize = schedule.bays.iter().map(|b| b.count).sum();
                steps.push(step(
                    "Thread the rods.",
                    format!(
                        "{} rods, each {} long, {count} spacers between the ribs as listed, a washer and a nut at each \
                         end. Tighten evenly, from the middle rods outwards.",
                        schedule.rod_count,
                        say.length(schedule.rod_length_mm)
                    ),
                ));
            }
            if frame.panels.is_some() {
                steps.push(step(
                    "Close the box.",
                    "Screw the panels on at the marks, in pilot holes, with the table standing on a flat floor. Plane the \
                     tops of the end panels to the slope of the ribs; trim the skin flush with them."
                        .to_owned(),
                ));
            }
        }
        Frame::Bearers(_) => {
            steps.push(step(
                "Mark the base board.",
                "Draw the middle line, the words TIP and TAIL, and both faces of each bearer square across, at its place \
                 from the middle as listed, with its number."
                    .to_owned(),
            ));
            steps.push(step(
                "Cut and bevel the bearers.",
                format!(
                    "{} bearers. Cut each blank to its listed height, mark the line on its lower face, and plane the bevel \
                     from the edge of the higher face down to that line. Write the number on each, and TIP on the face \
                     that looks there.",
                    jig.bearers.len()
                ),
            ).with_caution(cautions::MACHINES));
            steps.push(step(
                "Pack and screw.",
                "Lay the listed packing under each bearer over its whole length and screw through both ends."
                    .to_owned(),
            ));
        }
    }
    steps.push(step(
        "Check for wind.",
        format!(
            "Sight over two straight laths laid across at both ends, and measure both diagonals: {} long and {} wide \
             they are equal, {} each.",
            say.length(details::frame_length_mm(built)),
            say.length(jig.width_mm),
            say.length(details::diagonal_mm(built))
        ),
    ));
    let (skin, sheets) = (built.design.skin(), job.table.skin_sheets);
    steps.push(step(
        "Put on the skin.",
        format!(
            "{} {} along the curve and {} wide, {} thick{}. Begin in the middle and work toward the ends, a \
             screw every {}{}; countersink every screw and fill it flush.{}",
            if sheets.count == 1 { "One sheet".to_owned() } else { format!("{} sheets, each", sheets.count) },
            say.length(jig.surface.curvature().length_mm()),
            say.length(jig.width_mm),
            say.fine(skin.sheet_mm()),
            if sheets.count == 1 { "" } else { ", one over the other" },
            say.length(built.carried.fastening.pitch_mm),
            if sheets.count == 1 { "" } else { " through all of them into the supports" },
            glued_sheets(&skin)
        ),
    ));
    steps.push(step(
        "Measure the heights.",
        format!(
            "At every station, above the floor that the table stands on, against the list. {} at one station is felt in the \
             board; shim or plane before you seal the surface.",
            match say.unit {
                LengthUnit::Millimetre => "Half a millimetre",
                LengthUnit::Inch { .. } => "A sixty-fourth of an inch",
            }
        ),
    ));
    steps.extend(sealing(built, say));
    steps
}

/// What is said of sheets that are glued to each other.
fn glued_sheets(skin: &Skin<'_>) -> String {
    if skin.sheets.count == 1 || !skin.sheets.glued {
        return String::new();
    }
    format!(
        " Spread glue all over each sheet but the uppermost, and leave the screws in while it sets: glued, the skin keeps {} % \
         of its curve by itself, and its screws hold the rest.",
        decimal(100.0 * (1.0 - skin.springback_share()), 0)
    )
}

/// How the table is made ready for the bag.
fn sealing(built: &Built, say: Say) -> Option<Step> {
    let bagging = built.consumables.bagging?;
    if bagging.around_table {
        return Some(step(
            "Round off what the bag touches.",
            format!(
                "The whole table lies in the bag: break all edges and corners of table and frame, and cover bolts and \
                 screw heads. The two sheets of the bag are sealed to each other with {} of tape.",
                say.length(bagging.tape_mm)
            ),
        ));
    }
    let tail = built.jig.stations.first().map_or(0.0, |s| s.surface.x);
    let seal = step(
        "Seal the surface and keep a clean land.",
        format!(
            "Coat the skin so that it holds vacuum. Leave a land of {} along all four edges, clean and without film or wax, \
             for the sealant tape; the tape runs {} around. The blank lies inside of it, with the finished tail at {} \
             from the middle.",
            say.length(bagging.land_mm),
            say.length(bagging.tape_mm),
            say.length(tail.abs())
        ),
    );
    Some(match land_caution(bagging.land_mm, say) {
        Some(words) => seal.with_caution(words),
        None => seal,
    })
}

/// What is wrong with a land that is narrower than a good one.
fn land_caution(land_mm: f64, say: Say) -> Option<String> {
    let (land, tape) = (say.length(land_mm), say.length(TAPE_WIDTH_MM));
    if land_mm < TAPE_WIDTH_MM {
        Some(format!(
            "The land is {land} wide, tape of {tape} does not lie on it. Make the table's margins wider, or put the whole \
             table into a bag that is sealed to itself."
        ))
    } else if land_mm < LAND_MM {
        Some(format!(
            "The land is {land} wide; {} are usual. Lay the tape straight; it sticks at once.",
            say.length(LAND_MM)
        ))
    } else {
        None
    }
}

fn cutting(built: &Built, say: Say) -> Vec<Step> {
    let Design { job, .. } = &built.design;
    let blank = built.consumables.blank;
    let (long, wide) = (say.length(blank.length_mm), say.length(blank.width_mm));
    let mut steps = vec![step(
        "Cut every layer to the blank.",
        format!(
            "{} plies{}, each {long} long and {wide} wide before trimming: the finished width and {} at each side, the \
             finished length and {} beyond the tip and {} beyond the tail. Mark the middle of each on both edges.",
            job.layers.len(),
            if job.board.count > 1 { format!(" for each of {} boards", job.board.count) } else { String::new() },
            say.length(Board::SIDE_TRIM_MM),
            say.length(job.board.overhang_tip_mm),
            say.length(job.board.overhang_tail_mm)
        ),
    )
    .with_caution(cautions::MACHINES)];
    let mut seen: Vec<&str> = Vec::new();
    let mut words = Vec::new();
    for layer in &job.layers {
        if !seen.contains(&layer.name.as_str()) {
            seen.push(&layer.name);
            let count = job.layers.iter().filter(|l| l.name == layer.name).count();
            let plies = if count > 1 { format!("{count} plies") } else { "one ply".to_owned() };
            let stops = layer.extent_mm.map_or(String::new(), |(from, to)| {
                let ends = [from, to].map(|s| say.length(s));
                format!(", only from {} to {} from the middle (toward the tip positive)", ends[0], ends[1])
            });
            words.push(format!("{}: {plies} of {}{stops}", layer.name, layer.material.name));
        }
    }
    steps.push(step("From base to deck these are:", format!("{}.", words.join("; "))));
    steps.push(step(
        "Recess the hardware.",
        "Inserts and binding plates sit flush with the face of their layer or below it, and their threads are plugged \
         before any resin is near; a proud edge cuts the bag or prints through the skin."
            .to_owned(),
    ));
    steps
}

fn dry_fit(built: &Built, say: Say) -> Vec<Step> {
    let mut steps = vec![step(
        "Press once without resin.",
        format!(
            "Lay the whole stack on the table with middle on middle and press it with {}. Every layer must lie down over \
             the finished length; slide a feeler under the edges and compare with the figure of the gap.",
            pressed_with(built, say)
        ),
    )
    .with_caution(format!("{} {}", cautions::of_hold(&built.design.job.pressing.hold), cautions::BENT))];
    if bagged(built) {
        steps.push(step(
            "Test for leaks.",
            "Close the bag over the dry stack, draw it down, close the valve, and watch the gauge for five minutes \
             (common practice, no source). If the needle moves visibly, there is a leak: find it now, before any resin is mixed. On pressing day \
             the same test is done again before the resin gels."
                .to_owned(),
        ));
    }
    steps
}

fn clamp_count(places: &ClampPlaces) -> usize {
    match places {
        ClampPlaces::Even(count) => *count,
        ClampPlaces::At(stations) => stations.len(),
    }
}

fn pressed_with(built: &Built, say: Say) -> String {
    match &built.design.job.pressing.hold {
        Hold::Vacuum { .. } => format!("{} of vacuum", pressure(built.design.table.load.pressure_mpa, say.unit)),
        Hold::Press { pressure_mpa } => format!("{} between matching forms", pressure(*pressure_mpa, say.unit)),
        Hold::Clamps { places, force_n, .. } => {
            format!("{} clamps of {} each over a caul", clamp_count(places), force(*force_n, say.unit))
        }
        Hold::Weights { force_n } => format!("weights of {} together", force(*force_n, say.unit)),
    }
}

// Long, because it is one list of steps in the order of work.
fn pressing(built: &Built, say: Say) -> Vec<Step> {
    let Design { job, .. } = &built.design;
    let mut steps = vec![
        step(
            "Lay everything out before you mix.",
            "Gloves, brushes or spreader, wiping cloths, films cut, pump running, valve and trap in place, a second pair \
             of hands. Read the data sheet of the resin for the time from mixing to gel at the temperature of your room."
                .to_owned(),
        ),
        step(
            "Cut the release film.",
            format!(
                "Two pieces, {}: one under the stack and one over it.",
                size(built.consumables.film, say)
            ),
        ),
    ];
    steps.extend(built.consumables.bagging.map(|bagging| bag_step(&bagging, say)));
    steps.push(step("Mix the resin.", resin_words(built, say)).with_caution(cautions::RESIN));
    steps.push(step(
        "Lay up.",
        format!(
            "Film, then the layers in order with resin on one face of every joint, middle marks together, then film. Pin or \
             tape the stack in the middle only: the layers must be free to slide on each other toward both ends.{}",
            beside_each_other(&job.board, say)
        ),
    ));
    let close = match &job.pressing.hold {
        Hold::Vacuum { .. } => step(
            "Close the bag and draw it down.",
            format!(
                "Bring the vacuum up slowly to {} while you push the stack down from the middle toward the ends. The \
                 closing force over the finished width is then {}. Test for leaks at once, before the resin gels, and watch \
                 that the bag bridges nowhere.",
                pressure(built.design.table.load.pressure_mpa, say.unit),
                force(closing_n(built), say.unit)
            ),
        ),
        Hold::Press { pressure_mpa } => step(
            "Close the press.",
            format!(
                "Bring the upper form down evenly to {}, together {} over the finished width. Keep hands out from between the \
                 forms.",
                pressure(*pressure_mpa, say.unit),
                force(closing_n(built), say.unit)
            ),
        ),
        Hold::Clamps { places, force_n, .. } => step(
            "Clamp from the middle outwards.",
            format!(
                "{} clamps of {} each over a caul, together {}. Tighten in two rounds, so that the layers can slide.",
                clamp_count(places),
                force(*force_n, say.unit),
                force(clamp_count(places) as f64 * force_n, say.unit)
            ),
        ),
        Hold::Weights { .. } => step(
            "Load from the middle outwards.",
            format!(
                "Spread the weights evenly over the blank, together {}. Secure them against sliding down the slopes.",
                force(closing_n(built), say.unit)
            ),
        ),
    };
    steps.push(close.with_caution(cautions::of_hold(&job.pressing.hold)));
    let warm = if job.pressing.cure_above_room_k > 0.0 {
        let difference = say.show(Quantity::temperature_difference(job.pressing.cure_above_room_k));
        format!(" This job counts on a cure {difference} above the room.")
    } else {
        String::new()
    };
    steps.push(step(
        "Leave it.",
        format!(
            "As long as the data sheet of your resin says for your temperature; no other time is given here.{warm}"
        ),
    ));
    steps
}

/// How much resin or glue is mixed, and how.
fn resin_words(built: &Built, say: Say) -> String {
    let job = &built.design.job;
    let Resin { glue_lines, area_m2, glue_g, wetting_g } = built.shopping.resin;
    let (what, spread, source) = match job.pressing.glue {
        Some(Glue::WaterBased { spread_g_m2 }) => {
            ("glue", say.show(Quantity::area_mass(spread_g_m2)), "the job's glue_spread".to_owned())
        }
        _ => {
            let spread = [SPREAD_G_M2.0, SPREAD_G_M2.1].map(|g| say.show(Quantity::area_mass(g))).join(" to ");
            ("mixed resin", spread, "from memory; your resin's data sheet takes precedence".to_owned())
        }
    };
    let mut masses = vec![mass(glue_g.0, say.unit), mass(glue_g.1, say.unit)];
    masses.dedup();
    let wetting = if wetting_g > 0.0 {
        format!("Dry fabric takes {} more to be wetted out.", mass(wetting_g, say.unit))
    } else {
        "Dry fabric that has to be wetted out takes more and is not counted here.".to_owned()
    };
    format!(
        "{} of {} each{} take {} of {what} in all, if {spread} are spread on a glue line ({source}). \
         {wetting} Mix in flat trays and in batches: resin in a deep pot overheats on its own.",
        counted(glue_lines, "glue line"),
        say.show(Quantity::surface(area_m2)),
        if job.board.count > 1 { ", all boards together," } else { "" },
        masses.join(" to ")
    )
}

/// How several boards lie on one table; nothing for one.
fn beside_each_other(board: &Board, say: Say) -> String {
    if board.count == 1 {
        return String::new();
    }
    let between = board.gap_mm - 2.0 * Board::SIDE_TRIM_MM;
    let apart =
        if between > 0.0 { format!("{} between their blanks", say.length(between)) } else { "edge to edge".to_owned() };
    format!(
        " Lay {} stacks side by side, {apart}, their middle lines parallel to that of the table; no glue may run from one to the \
         next.",
        board.count
    )
}

/// Breather and bag, cut to size.
fn bag_step(bagging: &Bagging, say: Say) -> Step {
    let breather = size(bagging.breather, say);
    let bag = size(bagging.bag, say);
    let slack = "a tenth of slack in both directions so that it follows the curve without bridging";
    let text = if bagging.around_table {
        format!(
            "Breather {breather}, with a strip of it to the valve. Bag film: two pieces of {bag}, {slack}, and {} of seam \
             on every side.",
            say.length(LAND_MM)
        )
    } else {
        format!("Breather {breather}, with a strip of it to the valve. Bag film {bag}, {slack}.")
    };
    step("Cut breather and bag.", text)
}

fn release(built: &Built, say: Say) -> Vec<Step> {
    let Design { job, table: bent, .. } = &built.design;
    let heights = bent.predicted_heights_mm();
    let length = match job.board.length_along {
        LengthAlong::Base => "along the base",
        LengthAlong::Straight => "straight from tip to tail",
    };
    vec![
        step(
            "Copy the finished ends.",
            "Before you take it off, carry the marks of the finished ends and of the middle from the table to the edges \
             of the blank."
                .to_owned(),
        ),
        step(
            "Release in steps.",
            "Let the pressure go slowly, stand clear of the ends, and lift the board off from one end.".to_owned(),
        )
        .with_caution(cautions::BENT),
        step(
            "Measure before you trim.",
            format!(
                "Put the board on a flat floor and fill in the form below. Expected: tip {} and tail {} at the finished \
                 ends.",
                say.length(heights.1),
                say.length(heights.0)
            ),
        ),
        step(
            "Trim back to the finished ends.",
            format!(
                "{} come off at the tip and {} at the tail; {} {length} and {} wide remain. The stack's free ends carry \
                 no bend, so what comes off is straighter than the board.",
                say.length(job.board.overhang_tip_mm),
                say.length(job.board.overhang_tail_mm),
                say.length(job.board.length_mm),
                say.length(job.board.width_mm)
            ),
        )
        .with_caution(cautions::MACHINES),
        step("Measure again after a day.", read_when(built, say)),
    ]
}

/// Hours after release at which a hasty shop reads: five minutes.
const EARLY_H: f64 = 1.0 / 12.0;

/// When the board is to be read, and what comes of it later.
fn read_when(built: &Built, say: Say) -> String {
    match built.season_mm {
        Some((tail, tip)) => format!(
            "In the last column of the form. Its core goes on relaxing under the skins: after 100 days expect the tip at about {} \
             and the tail at about {}.",
            say.length(tip),
            say.length(tail)
        ),
        None => {
            let early = shown_after(&built.design.laminate, EARLY_H);
            let when = "In the last column of the form; calibrate with those readings";
            if early < 1.0 {
                let part = Quantity::share(early).text(say.unit);
                format!(
                    "{when}. Minutes after release plain wood shows about {part} of the springback that it shows after a day."
                )
            } else {
                format!("{when}.")
            }
        }
    }
}
