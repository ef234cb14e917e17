//! What must hold of everything that is built.

use std::collections::{BTreeMap, BTreeSet};

use overbend::finding::Verdict;
use overbend::job::{Below, Frame, Hold, Job, Layer, LengthAlong, Thickness};
use overbend::run::{Outcome, OutputFile};
use serde_json::Value;

use crate::shapes::{Line, Work, of_dxf, of_pdf, of_svg, words_of_dxf};

type Held = Result<(), String>;

pub(crate) fn hold(job: &Job, outcome: &Outcome) -> Held {
    let files = Files(&outcome.files);
    for file in &outcome.files {
        no_number_is_missing(file)?;
    }
    for check in &outcome.checks {
        if check.si().is_some_and(|(value, limit, _)| !(value.is_finite() && limit.is_finite())) {
            return Err(format!("a check without its numbers: {check:?}"));
        }
        if let Some(held) = check.held
            && held.is_kept() != (check.verdict == Verdict::Ok)
        {
            return Err(format!("a verdict that its limit does not bear out: {check:?}"));
        }
        if check.verdict != Verdict::Ok && check.remedy.is_empty() {
            return Err(format!("a check that does not help: {check:?}"));
        }
    }
    let result: Value = serde_json::from_slice(files.bytes("result.json")?).map_err(|e| e.to_string())?;
    released_is_the_target(job, outcome, &result)?;
    spacers_and_ribs_fill_the_width(job, &result)?;
    what_is_used_up_fits_the_table(job, &result)?;
    boards_lie_side_by_side(job, &result)?;
    the_shopping_list_adds_up(job, &result)?;
    let mut drawn = Vec::new();
    for file in &outcome.files {
        let Some(name) = file.name.strip_suffix(".dxf") else { continue };
        let svg = of_svg(files.bytes(&format!("{name}.svg"))?);
        dxf_and_svg_agree(name, &of_dxf(&file.bytes), &svg)?;
        outlines_are_sound(name, &svg)?;
        words_stand_clear(name, &file.bytes)?;
        if name.starts_with("sheet-") {
            parts_lie_on_their_sheet(name, &svg, &result)?;
            stretches_fit_the_bed(job, name, &svg, &result)?;
        } else {
            drawn.push((name.to_owned(), svg.clone()));
        }
        if name == "ribs" {
            ribs_fit_their_stock(job, &svg)?;
            stations_lie_on_the_ribs(job, &svg, files.bytes("stations.csv")?)?;
            stations_are_marked(job, &svg, files.bytes("stations.csv")?)?;
        }
    }
    rails_are_as_high_as_their_plies(job, &files, &drawn)?;
    patterns_agree(job, &files, &drawn)
}

struct Files<'f>(&'f [OutputFile]);

impl Files<'_> {
    fn bytes(&self, name: &str) -> Result<&[u8], String> {
        let found = self.0.iter().find(|f| f.name == name);
        found.map(|f| &f.bytes[..]).ok_or_else(|| format!("{name} is not there"))
    }
}

/// Numbers that could not be computed show as one of these words in text.
fn no_number_is_missing(file: &OutputFile) -> Held {
    if file.name.ends_with(".pdf") {
        let (_, text) = of_pdf(&file.bytes);
        return whole_words(&file.name, &text);
    }
    if file.name.ends_with(".stl") {
        // Behind head and count each triangle has twelve numbers and two bytes.
        let numbers = file.bytes[84..].chunks(50).flat_map(|t| t[..48].chunks(4));
        let finite = numbers.map(|n| f32::from_le_bytes(n.try_into().unwrap())).all(f32::is_finite);
        return if finite { Ok(()) } else { Err(format!("{}: a number is missing", file.name)) };
    }
    whole_words(&file.name, std::str::from_utf8(&file.bytes).map_err(|e| format!("{}: {e}", file.name))?)
}

fn whole_words(name: &str, text: &str) -> Held {
    for (number, line) in text.lines().enumerate() {
        for word in line.split(|c: char| !(c.is_alphanumeric() || c == '/')) {
            if matches!(word, "NaN" | "nan" | "inf" | "Infinity" | "infinity" | "n/a") {
                return Err(format!("`{word}` in line {} of {name}: {line}", number + 1));
            }
        }
    }
    Ok(())
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or(f64::NAN)
}

/// The released curve of the result is the wanted one but for what the result says, and what it says is looked at.
fn released_is_the_target(_job: &Job, outcome: &Outcome, result: &Value) -> Held {
    let said_mm = number(&result["released"]["largest_error_mm"]);
    let points = |of: &str| -> Vec<[f64; 3]> {
        let rows = result[of]["points"].as_array().into_iter().flatten();
        rows.map(|p| ["s_mm", "x_mm", "z_mm"].map(|k| number(&p[k]))).collect()
    };
    let (target, released) = (points("target"), points("released"));
    if target.len() < 3 || released.len() < 3 {
        return Err("too few points of target or released board".to_owned());
    }
    let mut largest: f64 = 0.0;
    for p in &target {
        // The same place along the base, between two released points.
        let i = released.partition_point(|r| r[0] < p[0]).clamp(1, released.len() - 1);
        let (a, b) = (released[i - 1], released[i]);
        let t = if b[0] > a[0] { (p[0] - a[0]) / (b[0] - a[0]) } else { 0.0 };
        let (x, z) = (a[1] + (b[1] - a[1]) * t, a[2] + (b[2] - a[2]) * t);
        let apart = (x - p[1]).hypot(z - p[2]);
        largest = if apart.is_finite() { largest.max(apart) } else { f64::NAN };
    }
    // Chords between points 10 mm apart lie up to s²/(8 R) off a bend of radius R.
    if largest.is_nan() || largest > said_mm + 0.1 {
        return Err(format!("released and wanted are {largest} mm apart, {said_mm} mm is said"));
    }
    let check = outcome.checks.iter().find(|c| c.code.name == "left-over").ok_or("no check of what is left over")?;
    if said_mm > 0.3 && check.verdict == Verdict::Ok {
        return Err(format!("{said_mm} mm are left over without a word"));
    }
    Ok(())
}

fn spacers_and_ribs_fill_the_width(job: &Job, result: &Value) -> Held {
    let Frame::Ribs(frame) = &job.table.frame else { return Ok(()) };
    let width_mm = over_all_mm(job) + 2.0 * job.table.side_margin_mm;
    let thickness_mm = frame.ribs.thickness_mm;
    let places: Vec<f64> = result["ribs"].as_array().into_iter().flatten().map(|r| number(&r["y_mm"])).collect();
    let (Some(first), Some(last)) = (places.first(), places.last()) else { return Err("no ribs".to_owned()) };
    let over = last - first + thickness_mm;
    if (over - width_mm).abs() > 1e-3 {
        return Err(format!("ribs take {over} mm of a table of {width_mm} mm"));
    }
    if frame.rods.is_none() {
        return Ok(());
    }
    let bays = result["spacers"]["bays"].as_array().ok_or("no bays")?;
    let spacers: f64 = bays.iter().map(|b| number(&b["length_mm"])).sum();
    let sum = spacers + places.len() as f64 * thickness_mm;
    // Lengths are rounded to a millionth of a millimetre.
    if bays.len() + 1 != places.len() || (sum - width_mm).abs() > 1e-3 {
        return Err(format!("spacers and ribs add up to {sum} mm of a table of {width_mm} mm"));
    }
    if bays.iter().any(|b| number(&b["length_mm"]) < -1e-9) {
        return Err("a spacer shorter than nothing".to_owned());
    }
    Ok(())
}

/// From the outer edge of the first board to that of the last: boards and the gaps between them.
fn over_all_mm(job: &Job) -> f64 {
    let gaps = job.board.gap_mm * (job.board.count - 1) as f64;
    (0..job.board.count).map(|_| job.board.width_mm).sum::<f64>() + gaps
}

/// Boards lie a gap apart, the outer edges as far from the edges of the table as it is said, and all are pressed.
fn boards_lie_side_by_side(job: &Job, result: &Value) -> Held {
    let board = &job.board;
    let middles: Vec<f64> = match result["boards"]["middles_mm"].as_array() {
        Some(middles) => middles.iter().map(number).collect(),
        None => vec![0.0],
    };
    let half = 0.5 * board.width_mm;
    let apart = middles.windows(2).map(|w| (w[1] - half) - (w[0] + half));
    if middles.len() != board.count || apart.into_iter().any(|gap| (gap - board.gap_mm).abs() > 1e-3) {
        return Err(format!("{} boards at {middles:?}, {} mm apart", board.count, board.gap_mm));
    }
    let [first, last] = [middles[0] - half, middles[middles.len() - 1] + half];
    if (first + last).abs() > 1e-3 || (last - first - over_all_mm(job)).abs() > 1e-3 {
        return Err(format!("boards from {first} to {last} mm"));
    }
    // Clamps and weights add up to what is given; bags and presses push with one pressure on all blanks.
    let blanks_mm2 =
        (board.length_mm + board.overhang_tail_mm + board.overhang_tip_mm) * board.width_mm * board.count as f64;
    let even = matches!(job.pressing.hold, Hold::Vacuum { .. } | Hold::Press { .. });
    let expected_n = number(&result["pressed"]["pressure_kpa"]) * 1e-3 * blanks_mm2;
    let force_n = number(&result["pressed"]["closing_force_n"]);
    // Along a bend the flat blank is a little longer or shorter than the base.
    let close = force_n / expected_n > 0.9 && force_n / expected_n < 1.2;
    if even && board.length_along == LengthAlong::Base && !close {
        return Err(format!("{force_n} N close the stack, {expected_n} N press on {blanks_mm2} mm²"));
    }
    Ok(())
}

/// Amounts are there and those that can be counted elsewhere agree; costs are sums of price times amount.
fn the_shopping_list_adds_up(job: &Job, result: &Value) -> Held {
    let shopping = &result["shopping"];
    let list = |key: &str| -> Vec<&Value> { shopping[key].as_array().into_iter().flatten().collect() };
    for (key, cost) in [("table", "table_cost"), ("boards", "boards_cost")] {
        let mut costs = Vec::new();
        for bought in list(key) {
            let amount = number(&bought["amount"]);
            if !(amount > 0.0 && amount.is_finite()) {
                return Err(format!("nothing is bought of {bought}"));
            }
            if let Some(price) = bought["price"].as_f64() {
                let of_one = number(&bought["cost"]);
                // Amounts are rounded to a millionth.
                if (of_one - price * amount).abs() > 1e-4 * (1.0 + of_one) {
                    return Err(format!("the cost is not price times amount: {bought}"));
                }
                costs.push(of_one);
            }
        }
        let (sum, said) = (costs.iter().sum::<f64>(), shopping[cost].as_f64());
        if costs.is_empty() != said.is_none() || said.is_some_and(|said| (said - sum).abs() > 1e-4 * (1.0 + sum)) {
            return Err(format!("{key} cost {said:?}, the sum is {sum}"));
        }
    }
    let each = shopping["board_cost"].as_f64().unwrap_or(0.0) * job.board.count as f64;
    if (each - shopping["boards_cost"].as_f64().unwrap_or(0.0)).abs() > 1e-4 * (1.0 + each) {
        return Err(format!("{} boards at {} each", job.board.count, shopping["board_cost"]));
    }
    let amount = |key: &str, item: &str| -> f64 {
        let of = list(key).into_iter().filter(|b| b["item"].as_str().is_some_and(|i| i.starts_with(item)));
        of.map(|b| number(&b["amount"])).sum()
    };
    let rods = number(&result["spacers"]["rod_count"]);
    let nuts = amount("table", "nut for rod");
    // Stretches of one sheet are bought once.
    let whole = |s: &Value| match s["set_up"]["sheet"].as_u64() {
        Some(sheet) => format!("{} {sheet}", s["stock"]),
        None => s["file"].to_string(),
    };
    let sheets: BTreeSet<String> = result["sheets"].as_array().into_iter().flatten().map(whole).collect();
    let sheets = sheets.len() as f64;
    if nuts != 2.0 * rods || amount("table", "washer for rod") != nuts || amount("table", "sheet") < sheets {
        return Err(format!("{nuts} nuts for {rods} rods, {sheets} sheets: {:?}", list("table")));
    }
    let film = &result["consumables"]["film"];
    let film_m2 = 2e-6 * number(&film["length_mm"]) * number(&film["width_mm"]);
    if (amount("boards", "release film") - film_m2).abs() > 1e-5 {
        return Err(format!("{film_m2} m² of film: {:?}", list("boards")));
    }
    // A patch stops short; all else is as long as the blank, which on the flat is about as long as the base.
    let blank = job.board.length_mm + job.board.overhang_tail_mm + job.board.overhang_tip_mm;
    let wide = (job.board.width_mm + 10.0) * job.board.count as f64;
    let wet = job.layers.iter().filter_map(|l| {
        let long = l.extent_mm.map_or(blank, |(from, to)| to - from);
        l.fabric.map(|f| f.dry_g_m2 * (1.0 / f.fibre_fraction - 1.0) * long * wide)
    });
    let (wet_kg, expected) = (amount("boards", "mixed resin to wet out"), 1e-9 * wet.sum::<f64>());
    if wet_kg < 0.85 * expected || wet_kg > 1.3 * expected {
        return Err(format!("{wet_kg} kg of resin wet out fabrics that take {expected} kg"));
    }
    Ok(())
}

/// Film and breather end inside of the lands that the tape needs, and the bag is longer than the table's curve.
fn what_is_used_up_fits_the_table(job: &Job, result: &Value) -> Held {
    let used = &result["consumables"];
    let size = |of: &str| ["length_mm", "width_mm", "pieces"].map(|k| number(&used[of][k]));
    let film = size("film");
    if !(film[0] > 0.0 && film[1] > 0.0 && film[2] == 2.0) {
        return Err(format!("release film of {film:?}"));
    }
    let Hold::Vacuum { below, .. } = &job.pressing.hold else {
        let bagged = ["breather", "bag", "tape_mm", "land_mm"].iter().find(|k| !used[**k].is_null());
        return bagged.map_or(Ok(()), |k| Err(format!("{k} without a bag")));
    };
    // The curve's length from its points, as a tape would measure it; chords are a little shorter.
    let points = result["table"]["points"].as_array().ok_or("no table")?;
    let at = |p: &Value| (number(&p["x_mm"]), number(&p["z_mm"]));
    let chords = points.windows(2).map(|w| (at(&w[0]), at(&w[1])));
    let long: f64 = chords.map(|(a, b)| (b.0 - a.0).hypot(b.1 - a.1)).sum();
    let wide = over_all_mm(job) + 2.0 * job.table.side_margin_mm;
    let (land, tape) = (number(&used["land_mm"]), number(&used["tape_mm"]));
    let (breather, bag) = (size("breather"), size("bag"));
    for (name, sheet) in [("film", film), ("breather", breather)] {
        if sheet[0] > long + 0.5 - 2.0 * land || sheet[1] > wide + 1e-3 - 2.0 * land {
            return Err(format!("{name} of {sheet:?} lies on a land of {land} mm of a table of {long} by {wide} mm"));
        }
    }
    // Lengths are rounded to a millionth of a millimetre.
    if bag[0] < 1.1 * long - 1e-3 || bag[1] < 1.1 * wide - 1e-3 || !(bag[2] == 1.0 || bag[2] == 2.0) {
        return Err(format!("a bag of {bag:?} on a table of {long} by {wide} mm"));
    }
    if tape < 2.0 * (long + wide) || (*below == Below::Air && bag[2] != 1.0) {
        return Err(format!("{tape} mm of tape for bags of {bag:?}"));
    }
    // Where there is room, there is a land, and film beyond the blank.
    let (side, end) = (job.table.side_margin_mm - 5.0, job.table.end_margin_mm);
    if bag[2] == 1.0 && side.min(end) > 45.0 && (land < 30.0 - 1e-6 || film[1] < over_all_mm(job) + 30.0) {
        return Err(format!("a land of {land} mm and a film of {film:?} between margins of {side} and {end} mm"));
    }
    Ok(())
}

/// Files hold four decimals or more of a millimetre.
const ROUNDING_MM: f64 = 2e-3;

fn dxf_and_svg_agree(name: &str, dxf: &[Work], svg: &[Work]) -> Held {
    let sorted = |works: &[Work]| {
        let mut rows: Vec<(String, bool, [f64; 4], f64)> = works
            .iter()
            .map(|w| {
                let area = if w.line.closed { w.line.area() } else { 0.0 };
                (w.layer.clone(), w.line.closed, w.line.bounds(), area)
            })
            .collect();
        // A tenth of a millimetre keeps rounding from changing the order of all but near twins, which are compared below.
        let coarse = |r: &(String, bool, [f64; 4], f64)| (r.0.clone(), r.1, r.2.map(|x| (x * 10.0).round() as i64));
        rows.sort_by_key(coarse);
        rows
    };
    let (a, mut b) = (sorted(dxf), sorted(svg));
    if a.len() != b.len() {
        return Err(format!("{name}: {} lines in the DXF, {} in the SVG", a.len(), b.len()));
    }
    for row in a {
        let same = |other: &(String, bool, [f64; 4], f64)| {
            row.0 == other.0
                && row.1 == other.1
                && row.2.iter().zip(&other.2).all(|(x, y)| (x - y).abs() < ROUNDING_MM)
                && (row.3 - other.3).abs() < 1e-5 * row.3 + 0.05
        };
        match b.iter().position(same) {
            Some(i) => {
                b.remove(i);
            }
            None => return Err(format!("{name}: the DXF alone has {row:?}")),
        }
    }
    Ok(())
}

fn is_hole(layer: &str) -> bool {
    matches!(layer, "inside-cut" | "drill")
}

fn by_part(works: &[Work], of: impl Fn(&str) -> bool) -> BTreeMap<&str, Vec<&Line>> {
    let mut parts: BTreeMap<&str, Vec<&Line>> = BTreeMap::new();
    for work in works.iter().filter(|w| of(&w.layer)) {
        parts.entry(&work.part).or_default().push(&work.line);
    }
    parts
}

fn outlines_are_sound(name: &str, works: &[Work]) -> Held {
    let outlines = by_part(works, |l| l == "outside-cut");
    let holes = by_part(works, is_hole);
    for (part, lines) in &outlines {
        let [outline] = lines[..] else { return Err(format!("{name}, {part}: {} outlines", lines.len())) };
        sound(outline).map_err(|e| format!("{name}, {part}: the outline {e}"))?;
        let inside: Vec<&Line> = holes.get(part).cloned().unwrap_or_default();
        for (i, hole) in inside.iter().enumerate() {
            sound(hole).map_err(|e| format!("{name}, {part}: a hole {e}"))?;
            if !hole.points.iter().all(|p| outline.holds(*p)) || hole.meets(outline) {
                return Err(format!("{name}, {part}: the hole {:?} is not inside", hole.bounds()));
            }
            if let Some(other) = inside[i + 1..].iter().find(|o| o.meets(hole) || o.holds(hole.points[0])) {
                return Err(format!("{name}, {part}: holes {:?} and {:?} meet", hole.bounds(), other.bounds()));
            }
        }
    }
    // Dowels stand in the sheet, not in a part.
    if let Some(part) = holes.keys().find(|p| !outlines.contains_key(*p) && **p != "dowels") {
        return Err(format!("{name}, {part}: holes without an outline"));
    }
    Ok(())
}

fn sound(line: &Line) -> Held {
    if !line.closed || line.points.len() < 3 || line.points.iter().any(|p| !(p.0.is_finite() && p.1.is_finite())) {
        return Err("is not closed".to_owned());
    }
    if let Some(at) = line.crossing() {
        return Err(format!("crosses itself at {at:?}"));
    }
    if line.area() < 1.0 { Err("holds nothing".to_owned()) } else { Ok(()) }
}

/// No text lies across a cut, a hole, a mark or another text.
fn words_stand_clear(name: &str, dxf: &[u8]) -> Held {
    let words = words_of_dxf(dxf);
    let boxes: Vec<Line> = words.iter().map(|w| Line { closed: true, points: w.corners.to_vec() }).collect();
    let lines = of_dxf(dxf);
    for (i, (text, frame)) in words.iter().zip(&boxes).enumerate() {
        let across = |w: &&Work| {
            w.layer != "note" && (frame.meets(&w.line) || w.line.points.first().is_some_and(|p| frame.holds(*p)))
        };
        if let Some(line) = lines.iter().find(across) {
            return Err(format!("{name}: `{}` lies across {:?} of {}", text.words, line.line.bounds(), line.layer));
        }
        let other = boxes[i + 1..].iter().position(|o| o.meets(frame) || o.holds(frame.points[0]));
        if let Some(j) = other {
            return Err(format!("{name}: `{}` lies across `{}`", text.words, words[i + 1 + j].words));
        }
    }
    Ok(())
}

/// Each pair of planing rails is as high as the ply at its thickest on the bed, and all plies that taper have one.
fn rails_are_as_high_as_their_plies(job: &Job, files: &Files<'_>, drawn: &[(String, Vec<Work>)]) -> Held {
    let tapered: Vec<&Layer> = job.layers.iter().filter(|l| matches!(l.thickness, Thickness::Tapered(_))).collect();
    let Ok(listing) = files.bytes("tapers.csv") else {
        return if tapered.is_empty() { Ok(()) } else { Err("tapered layers without tapers.csv".to_owned()) };
    };
    let listing = std::str::from_utf8(listing).map_err(|e| e.to_string())?;
    let mut plies = BTreeSet::new();
    let mut highest: BTreeMap<&str, f64> = BTreeMap::new();
    for row in listing.lines().skip(1).filter(|r| !r.starts_with('#')) {
        let cells: Vec<&str> = row.split(',').collect();
        let thickness: f64 = cells[5].parse().map_err(|_| format!("`{}` in {row}", cells[5]))?;
        plies.extend(cells[2].split(' '));
        let most = highest.entry(cells[0]).or_default();
        *most = most.max(thickness);
    }
    if plies.len() != tapered.len() {
        return Err(format!("{} plies taper, and rails are there for {plies:?}", tapered.len()));
    }
    let moved = job.files.cut_width_mm.unwrap_or(0.0);
    let (_, members) = drawn.iter().find(|d| d.0 == "members").ok_or("tapers without members")?;
    let outlines = by_part(members, |l| l == "outside-cut");
    for (number, thickness) in highest {
        for side in ["left", "right"] {
            let part = format!("planing-{number}-{side}");
            let [_, low, _, high] = outlines.get(part.as_str()).ok_or_else(|| format!("no part {part}"))?[0].bounds();
            // Thicknesses are listed to a hundredth.
            if (high - low - moved - 18.0 - thickness).abs() > 0.01 {
                return Err(format!("{part} is {} high for a ply of {thickness} mm", high - low));
            }
        }
    }
    Ok(())
}

/// Every station that lies on a piece of a rib has a tick there, from the top edge down.
fn stations_are_marked(job: &Job, works: &[Work], listing: &[u8]) -> Held {
    // With concave each rib has its own places; they are marked by the same rule.
    if job.table.concave.is_some() {
        return Ok(());
    }
    let listing = std::str::from_utf8(listing).map_err(|e| e.to_string())?;
    let heading: Vec<&str> = listing.lines().next().unwrap_or_default().split(',').collect();
    let column = |name: &str| heading.iter().position(|h| *h == name).ok_or_else(|| format!("no column {name}"));
    let (at, slope) = (column("all_ribs_at_mm")?, column("slope_deg")?);
    let moved = 0.5 * job.files.cut_width_mm.unwrap_or(0.0);
    let marks = by_part(works, |l| l == "mark");
    let mut ribs: BTreeMap<&str, Vec<(&str, &Line)>> = BTreeMap::new();
    for (part, lines) in by_part(works, |l| l == "outside-cut") {
        ribs.entry(part.trim_end_matches(|c: char| c.is_ascii_lowercase())).or_default().push((part, lines[0]));
    }
    for row in listing.lines().skip(1).filter(|r| !r.starts_with('#')) {
        let cells: Vec<&str> = row.split(',').collect();
        let read = |i: usize| cells[i].parse::<f64>().map_err(|_| format!("`{}` in {row}", cells[i]));
        let (x, lean) = (read(at)?, read(slope)?.to_radians().cos());
        for (rib, pieces) in &ribs {
            let ticked = pieces.iter().any(|(part, line)| {
                let Some(top) = line.top_at(x) else { return false };
                let near = |p: &(f64, f64)| (p.0 - x).abs() < 0.02 && (p.1 - top).abs() < 0.05 + 1.5 * moved / lean;
                marks.get(part).into_iter().flatten().any(|m| m.points.iter().any(near))
            });
            if !ticked {
                return Err(format!("the station at {x} mm is not marked on {rib}"));
            }
        }
    }
    Ok(())
}

fn ribs_fit_their_stock(job: &Job, works: &[Work]) -> Held {
    let Frame::Ribs(frame) = &job.table.frame else { return Ok(()) };
    // Cuts that are moved to the waste side may reach beyond by half the cut.
    let moved = job.files.cut_width_mm.unwrap_or(0.0);
    for (part, lines) in by_part(works, |l| l == "outside-cut") {
        let b = lines[0].bounds();
        let (long, high) = (b[2] - b[0] - moved, b[3] - b[1] - moved);
        let ribs = &frame.ribs;
        let fits = |size: f64, most: Option<f64>| most.is_none_or(|m| size <= m + ROUNDING_MM);
        if !(fits(long, ribs.stock_length_mm) && fits(high, ribs.stock_width_mm)) {
            return Err(format!("{part} of {long} mm by {high} mm does not fit its stock"));
        }
        if let Some(split) = &frame.split
            && long > split.longest_mm + ROUNDING_MM
        {
            return Err(format!("{part} is {long} mm long, {} mm are the most", split.longest_mm));
        }
    }
    Ok(())
}

/// On its sheet each part keeps clear of the margin, and no part meets another.
fn parts_lie_on_their_sheet(name: &str, works: &[Work], result: &Value) -> Held {
    let sheets = result["sheets"].as_array().ok_or("no sheets in the result")?;
    let sheet = sheets.iter().find(|s| s["file"] == *name).ok_or_else(|| format!("{name} is not in the result"))?;
    let [length, width, margin] = ["length_mm", "width_mm", "margin_mm"].map(|k| number(&sheet[k]));
    let parts = by_part(works, |l| l == "outside-cut");
    let parts: Vec<(&str, &Line)> = parts.into_iter().map(|(p, lines)| (p, lines[0])).collect();
    for (i, (part, line)) in parts.iter().enumerate() {
        let b = line.bounds();
        // Moved cuts lie in the gap and in the margin.
        let low = margin - 6.0;
        if b[0] < low || b[1] < low || b[2] > length - low || b[3] > width - low {
            return Err(format!("{name}: {part} at {b:?} leaves the sheet of {length} mm by {width} mm"));
        }
        let meets = |(_, other): &&(&str, &Line)| {
            line.meets(other) || other.holds(line.points[0]) || line.holds(other.points[0])
        };
        if let Some((other, _)) = parts[i + 1..].iter().find(meets) {
            return Err(format!("{name}: {part} and {other} meet"));
        }
    }
    Ok(())
}

/// A sheet lies on the bed, and the dowels of a stretch keep clear of its parts.
fn stretches_fit_the_bed(job: &Job, name: &str, works: &[Work], result: &Value) -> Held {
    let Some((long, wide)) = job.machine.and_then(|m| m.bed_mm) else { return Ok(()) };
    let sheet = result["sheets"].as_array().and_then(|all| all.iter().find(|s| s["file"] == *name));
    let sheet = sheet.ok_or_else(|| format!("{name} is not in the result"))?;
    let [length, width] = ["length_mm", "width_mm"].map(|k| number(&sheet[k]));
    let fits = |l: f64, w: f64| length <= l + ROUNDING_MM && width <= w + ROUNDING_MM;
    if !(fits(long, wide) || fits(wide, long)) {
        return Err(format!("{name} of {length} by {width} mm lies on a bed of {long} by {wide} mm"));
    }
    let dowels: Vec<&Line> = works.iter().filter(|w| w.part == "dowels").map(|w| &w.line).collect();
    let listed: usize = ["holes", "stands_on"].map(|k| sheet["set_up"][k].as_array().map_or(0, Vec::len)).iter().sum();
    if dowels.len() != listed {
        return Err(format!("{name}: {} dowels are drawn, {listed} are listed", dowels.len()));
    }
    for (part, lines) in by_part(works, |l| l == "outside-cut") {
        let near = |dowel: &&&Line| dowel.meets(lines[0]) || lines[0].holds(dowel.points[0]);
        if let Some(dowel) = dowels.iter().find(near) {
            return Err(format!("{name}: the dowel {:?} stands in {part}", dowel.bounds()));
        }
    }
    Ok(())
}

/// The heights that are listed are those of the top edges of the ribs that the heading names.
fn stations_lie_on_the_ribs(job: &Job, works: &[Work], listing: &[u8]) -> Held {
    let listing = std::str::from_utf8(listing).map_err(|e| e.to_string())?;
    let mut rows = listing.lines();
    let heading: Vec<&str> = rows.next().unwrap_or_default().split(',').collect();
    let column = |name: &str| heading.iter().position(|h| *h == name).ok_or_else(|| format!("no column {name}"));
    let slope = column("slope_deg")?;
    // One pair of columns for each kind of rib.
    let tops: Vec<(&str, usize, usize)> = heading
        .iter()
        .filter_map(|h| h.strip_suffix("_at_mm"))
        .map(|of| Ok((of, column(&format!("{of}_at_mm"))?, column(&format!("{of}_height_mm"))?)))
        .collect::<Result<_, String>>()?;
    let moved = 0.5 * job.files.cut_width_mm.unwrap_or(0.0);
    let mut ribs: BTreeMap<String, Vec<(&Line, f64)>> = BTreeMap::new();
    let feet_mm = match &job.table.frame {
        Frame::Ribs(frame) => frame.feet.map_or(0.0, |f| f.height_mm),
        Frame::Bearers(_) => 0.0,
    };
    for (part, lines) in by_part(works, |l| l == "outside-cut") {
        let rib: String = part.trim_end_matches(|c: char| c.is_ascii_lowercase()).to_owned();
        // Parts stand one above the other; the base of each is its lowest place, but for pieces between the feet.
        let base = lines[0].bounds()[1] + moved;
        ribs.entry(rib).or_default().push((lines[0], base));
    }
    let joints: Vec<f64> = ribs.values().flatten().flat_map(|(line, _)| [line.bounds()[0], line.bounds()[2]]).collect();
    let mut compared = 0;
    for row in rows {
        let cells: Vec<&str> = row.split(',').collect();
        let read = |i: usize| cells[i].parse::<f64>().map_err(|_| format!("`{}` in {row}", cells[i]));
        for (of, at, height) in &tops {
            let (x, z) = (read(*at)?, read(*height)?);
            // Moved cuts lie square to the edge.
            let over = moved / read(slope)?.to_radians().cos();
            // At a joint a key reaches over, and a corner that is not cut to its end by a moved line is none.
            if joints.iter().any(|j| (j - x).abs() < 80.0) {
                continue;
            }
            let off = |pieces: &Vec<(&Line, f64)>| {
                let tops = pieces.iter().filter_map(|(line, base)| line.top_at(x).map(|top| top - base - over));
                tops.reduce(f64::max).map(|top| (top - z).abs().min((top + feet_mm - z).abs()))
            };
            let named = |rib: &str| *of == "all_ribs" || of.split('_').skip(1).any(|n| rib == format!("rib-{n}"));
            let offs: Vec<f64> = ribs.iter().filter(|(rib, _)| named(rib)).filter_map(|(_, p)| off(p)).collect();
            // Two decimals in the listing, the place on a slope too, and 0.01 mm that the cut may leave the curve; the
            // slope changes along a moved cut.
            let allowed = 0.03 + 0.02 * moved;
            if offs.iter().any(|w| *w > allowed) {
                return Err(format!("{of} at {x} mm is listed {z} mm high, the ribs are off by {offs:?}"));
            }
            compared += offs.len();
        }
    }
    let has_ribs = matches!(job.table.frame, Frame::Ribs(_));
    if has_ribs && compared == 0 && joints.len() < 3 * ribs.len() {
        return Err(format!("no listed height was compared with a rib: {heading:?}, {:?}", ribs.keys()));
    }
    Ok(())
}

/// Width, height and area of the outline of a part, and of its holes with the distance of their corner from its own.
struct Cuts {
    outline: [f64; 3],
    holes: Vec<[f64; 5]>,
}

impl Cuts {
    /// Of all closed cuts of a part; the largest is its outline.
    fn of(lines: &[&Line]) -> Option<Self> {
        let size = |l: &Line| {
            let b = l.bounds();
            [b[2] - b[0], b[3] - b[1], l.area()]
        };
        let outline = lines.iter().max_by(|a, b| size(a)[0].total_cmp(&size(b)[0]))?;
        let corner = outline.bounds();
        let holes = lines.iter().filter(|l| !std::ptr::eq(**l, *outline)).map(|l| {
            let [wide, high, area] = size(l);
            [l.bounds()[0] - corner[0], l.bounds()[1] - corner[1], wide, high, area]
        });
        Some(Self { outline: size(outline), holes: holes.collect() })
    }

    fn is(&self, other: &Self) -> bool {
        // Single precision leaves some 1e-4 mm at 2 m, chords of arcs a thousandth along the rim.
        let length = |a: f64, b: f64| (a - b).abs() < 0.01;
        let area = |a: f64, b: f64, rim: f64| (a - b).abs() < 2e-3 * rim + 0.05;
        let (a, b) = (self.outline, other.outline);
        let hole = |h: &[f64; 5]| {
            other.holes.iter().any(|o| (0..4).all(|i| length(h[i], o[i])) && area(h[4], o[4], h[2] + h[3]))
        };
        length(a[0], b[0])
            && length(a[1], b[1])
            && area(a[2], b[2], a[0] + a[1])
            && self.holes.len() == other.holes.len()
            && self.holes.iter().all(hole)
    }
}

/// Each pattern on paper is a part of the drawings, and each part that is no plain rectangle has a pattern.
fn patterns_agree(job: &Job, files: &Files<'_>, drawn: &[(String, Vec<Work>)]) -> Held {
    // Paper shows nominal lines; where cuts are moved there is nothing to compare.
    let Ok(bytes) = files.bytes("patterns-roll.pdf") else { return Ok(()) };
    if job.files.cut_width_mm.is_some() {
        return Ok(());
    }
    let (forms, _) = of_pdf(bytes);
    let patterns: Vec<Cuts> = forms.iter().filter_map(|f| Cuts::of(&f.iter().collect::<Vec<_>>())).collect();
    let mut parts: Vec<(String, Cuts)> = Vec::new();
    for (name, works) in drawn {
        for (part, lines) in by_part(works, |l| l == "outside-cut" || is_hole(l)) {
            parts.extend(Cuts::of(&lines).map(|c| (format!("{name}, {part}"), c)));
        }
    }
    for pattern in &patterns {
        if !parts.iter().any(|(_, part)| pattern.is(part)) {
            return Err(format!("a pattern of {:?} with holes {:?} is no part", pattern.outline, pattern.holes));
        }
    }
    for (name, part) in &parts {
        let [wide, high, area] = part.outline;
        let rectangle = part.holes.is_empty() && (area - wide * high).abs() < 1e-6 * area;
        if !rectangle && !patterns.iter().any(|p| p.is(part)) {
            return Err(format!("{name} of {:?} has no pattern", part.outline));
        }
    }
    Ok(())
}
