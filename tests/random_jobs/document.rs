//! Random job documents as TOML text, over all that a table can be built of.

use std::fmt::Write as _;

/// Random numbers from 0 to 1 that are used up one by one. The first choice of every list is the plainest, so that a
/// failing case shrinks toward a plain document.
pub(crate) struct Dice<'a> {
    values: &'a [f64],
    next: usize,
}

/// Numbers that a document uses at most.
pub(crate) const DICE: usize = 200;

impl<'a> Dice<'a> {
    pub(crate) fn new(values: &'a [f64]) -> Self {
        Self { values, next: 0 }
    }

    fn roll(&mut self) -> f64 {
        let value = self.values[self.next % self.values.len()];
        self.next += 1;
        value
    }

    fn within(&mut self, from: f64, to: f64) -> f64 {
        // A thousandth is as fine as a shop writes.
        ((from + (to - from) * self.roll()) * 1e3).round() / 1e3
    }

    fn count(&mut self, from: usize, to: usize) -> usize {
        from + (self.roll() * (to - from + 1) as f64) as usize
    }

    fn one<T: Copy>(&mut self, of: &[T]) -> T {
        of[self.count(0, of.len() - 1)]
    }

    /// True once in so many times.
    fn one_in(&mut self, times: f64) -> bool {
        self.roll() > 1.0 - 1.0 / times
    }
}

/// A document that names no files.
pub(crate) fn document(dice: &mut Dice<'_>) -> String {
    let mut text = String::from("title = \"Random\"\n");
    if dice.one_in(5.0) {
        // Bare lengths would be inches; all that is written below has its unit.
        text += "units = \"in\"\ninch_fraction = 32\n";
    }
    let length = dice.within(500.0, 2200.0);
    let width = dice.within(80.0, 600.0);
    let overhang = dice.within(20.0, 160.0);
    let along = if dice.one_in(4.0) { "length_along = \"straight\"\n" } else { "" };
    let _ = write!(text, "[board]\nlength = \"{length} mm\"\nwidth = \"{width} mm\"\n{along}");
    if dice.one_in(4.0) {
        let _ = write!(text, "overhang_tip = \"{overhang} mm\"\noverhang_tail = \"{} mm\"\n", dice.within(20.0, 160.0));
    } else {
        let _ = writeln!(text, "overhang = \"{overhang} mm\"");
    }
    rocker(dice, &mut text, length);
    layers(dice, &mut text, length);
    pressing(dice, &mut text, length, width);
    let cutter = dice.one(&[0.0, 6.0, 8.0, 3.0]);
    table(dice, &mut text, cutter, length, width);
    files(dice, &mut text, cutter);
    text += "[forecast]\n";
    let _ = writeln!(text, "draws = {}", if dice.one_in(12.0) { 100 } else { 0 });
    // Stations of an outline lie along the base.
    if along.is_empty() && dice.one_in(2.0) {
        outline(dice, &mut text, length, width);
    }
    let text = side_by_side(dice, &text, width);
    let text = bought(dice, text);
    machine(dice, text)
}

/// Sometimes a machine with a bed, or a saw, that may be too small.
fn machine(dice: &mut Dice<'_>, mut text: String) -> String {
    if dice.one_in(3.0) {
        let (long, wide) = (dice.within(700.0, 2600.0), dice.within(400.0, 1400.0));
        let _ = match dice.one_in(3.0) {
            true => write!(text, "[machine]\nlongest = \"{long} mm\"\nthroat = \"{} mm\"\n", 0.3 * wide),
            false => write!(text, "[machine]\nbed_length = \"{long} mm\"\nbed_width = \"{wide} mm\"\n"),
        };
    }
    text
}

/// Sometimes prices, and skins of dry fabric.
fn bought(dice: &mut Dice<'_>, mut text: String) -> String {
    if dice.one_in(3.0) {
        text += "[prices]\ncurrency = \"EUR\"\n";
        for key in ["skin", "bolt", "nut", "washer", "screw", "film", "breather", "bag", "tape", "resin"] {
            if dice.one_in(2.0) {
                let _ = writeln!(text, "{key} = {}", dice.within(0.0, 40.0));
            }
        }
    }
    let skin = "material = \"glass fabric\"\nthickness = \"";
    if dice.one_in(3.0)
        && let Some(at) = text.find(skin)
    {
        let number = text[at + skin.len()..].split(' ').next().and_then(|mm| mm.parse::<f64>().ok());
        // Half of 1880 kg/m³ is fibre.
        let grams = 940.0 * number.unwrap_or(0.5);
        text.insert_str(at, &format!("fabric = {grams}\n"));
    }
    text
}

/// Sometimes with several boards on the table: not where it is curved across, nor where clamps or weights would have to press
/// the harder.
fn side_by_side(dice: &mut Dice<'_>, text: &str, width: f64) -> String {
    let presses = ["[pressing.vacuum]", "[pressing.press]"].iter().any(|way| text.contains(way));
    if !presses || text.contains("[table.concave]") || !dice.one_in(2.5) {
        return text.to_owned();
    }
    let count = dice.count(2, if width < 200.0 { 4 } else { 2 });
    let gap = if dice.one_in(2.0) { format!("gap = \"{} mm\"\n", dice.within(10.0, 80.0)) } else { String::new() };
    text.replacen("[board]\n", &format!("[board]\ncount = {count}\n{gap}"), 1)
}

/// Widths from tail to tip with round or cut ends, or both sides by themselves, and holes well inside.
fn outline(dice: &mut Dice<'_>, text: &mut String, length: f64, width: f64) {
    let half = 0.5 * length;
    let sides = dice.one_in(3.0);
    let count = dice.count(1, 5);
    let widest = dice.count(1, count);
    let whole = if sides { 0.5 * width } else { width };
    let narrow = |dice: &mut Dice<'_>| dice.within(0.55, 0.99) * whole;
    let ends = [0, 1].map(|_| if dice.one_in(2.0) { 0.0 } else { narrow(dice) });
    let mut points = vec![format!("[\"{} mm\", \"{} mm\"]", -half, ends[0])];
    for i in 1..=count {
        let s = -half + length * (i as f64 + dice.within(-0.3, 0.3)) / (count + 1) as f64;
        let w = if i == widest { whole } else { narrow(dice) };
        points.push(format!("[\"{s} mm\", \"{w} mm\"]"));
    }
    points.push(format!("[\"{half} mm\", \"{} mm\"]", ends[1]));
    let points = points.join(", ");
    let _ = match sides {
        true => write!(text, "[board.outline]\nleft = [{points}]\nright = [{points}]\n"),
        false => write!(text, "[board.outline]\npoints = [{points}]\n"),
    };
    if dice.one_in(3.0) {
        let _ = writeln!(text, "template = \"{} mm\"", dice.one(&[0.0, 9.0]));
    }
    for i in 0..dice.count(0, 4) {
        let station = length * (0.1 * i as f64 - 0.2);
        let side = dice.within(-0.15, 0.15) * width;
        let _ = write!(
            text,
            "[[board.holes]]\nstation = \"{station} mm\"\nside = \"{side} mm\"\ndiameter = \"{} mm\"\n",
            dice.within(4.0, 12.0)
        );
    }
}

fn rocker(dice: &mut Dice<'_>, text: &mut String, length: f64) {
    match dice.count(0, 5) {
        0 => {
            let bend = match dice.count(0, 3) {
                0 => format!("height = \"{} mm\"", dice.within(0.003, 0.06) * length),
                1 => format!("radius = \"{} mm\"", dice.within(1.2, 9.0) * length),
                2 => format!("angle = {}", dice.within(4.0, 40.0)),
                _ => format!("rise = \"{} mm\"\nchord = \"{} mm\"", dice.within(2.0, 14.0), 0.5 * length),
            };
            let _ = write!(text, "[rocker.arc]\n{bend}\n");
        }
        1 => {
            // Kicked ends with easings, flat or cambered between.
            let ease = dice.within(0.04, 0.1) * length;
            let (tail, tip) = (dice.within(0.1, 0.22) * length, dice.within(0.1, 0.22) * length);
            let (r1, r2) = (dice.within(300.0, 2500.0), dice.within(300.0, 2500.0));
            let middle = if dice.one_in(3.0) {
                format!("{{ camber = {{ height = \"{} mm\" }} }}", dice.within(0.5, 6.0))
            } else {
                "{ flat = { } }".to_owned()
            };
            let easing = format!("{{ easing = {{ length = \"{ease} mm\" }} }}");
            let _ = write!(
                text,
                "[rocker.segments]\nparts = [\n {{ arc = {{ length = \"{tail} mm\", radius = \"{r1} mm\" }} }},\n {easing},\n \
                 {middle},\n {easing},\n {{ arc = {{ length = \"{tip} mm\", radius = \"{r2} mm\" }} }},\n]\n"
            );
        }
        2 => {
            // One end only, or mirrored, or solved for a height; sometimes with a jump of curvature.
            let kick = dice.within(0.12, 0.3) * length;
            let ease = if dice.one_in(4.0) {
                String::new()
            } else {
                format!("{{ easing = {{ length = \"{} mm\" }} }}, ", dice.within(0.05, 0.12) * length)
            };
            let h = dice.within(0.04, 0.3) * kick;
            let _ = match dice.count(0, 2) {
                0 => write!(
                    text,
                    "[rocker.segments]\nparts = [ {{ flat = {{ }} }}, {ease}{{ arc = {{ length = \"{kick} mm\", height = \"{h} mm\" }} }} ]\n"
                ),
                1 => write!(
                    text,
                    "[rocker.segments]\nmirrored = true\nparts = [ {{ flat = {{ length = \"{} mm\" }} }}, {ease}{{ arc = {{ height = \"{h} mm\" }} }} ]\n",
                    0.4 * length
                ),
                _ => write!(
                    text,
                    "[rocker.segments]\ntip_height = \"{h} mm\"\nparts = [ {{ flat = {{ }} }}, {ease}{{ arc = {{ length = \"{kick} mm\", radius = \"solve\" }} }} ]\n"
                ),
            };
        }
        3 => {
            let from = dice.one(&["middle", "tail", "tip"]);
            let start = if from == "middle" { -0.5 * length } else { 0.0 };
            let count = dice.count(2, 8);
            let base = dice.within(-0.1, 0.5);
            let rows: Vec<String> = (0..=count)
                .map(|i| {
                    let s = start + length * i as f64 / count as f64;
                    format!("{{ station = \"{s} mm\", curvature = {} }}", base + dice.within(-0.15, 0.3))
                })
                .collect();
            let _ = write!(text, "[rocker.curve]\nfrom = \"{from}\"\npoints = [ {} ]\n", rows.join(", "));
        }
        4 => {
            // Read off an arc with a kick, with an error of some tenths.
            let count = dice.count(12, 30);
            let radius = dice.within(1.5, 6.0) * length;
            let error = dice.within(0.0, 0.4);
            let rows: Vec<String> = (0..=count)
                .map(|i| {
                    let s = length * i as f64 / count as f64;
                    let z = (s - 0.5 * length).powi(2) / (2.0 * radius) + error * dice.within(0.0, 1.0);
                    format!("[\"{s} mm\", \"{z} mm\"]")
                })
                .collect();
            let ends = if dice.one_in(3.0) { "ends = \"run-out\"\n" } else { "" };
            let said = if dice.one_in(2.0) { "error = \"0.3 mm\"\n" } else { "" };
            let datum = if dice.one_in(3.0) { "datum = \"straightedge\"\nalong = \"datum\"\n" } else { "" };
            let _ = write!(text, "[rocker.measured]\n{ends}{said}{datum}readings = [ {} ]\n", rows.join(", "));
        }
        // A straight board.
        _ => {
            let _ = write!(text, "[rocker.segments]\nparts = [ {{ flat = {{ }} }} ]\n");
        }
    }
}

fn layers(dice: &mut Dice<'_>, text: &mut String, length: f64) {
    let core = dice.one(&["paulownia", "ash, white", "maple, sugar", "balsa", "yellow-poplar"]);
    let skin = dice.one(&["glass fabric", "carbon fabric"]);
    let plies = dice.count(2, 6);
    let thickness = dice.within(1.0, 5.0) / (plies as f64).sqrt();
    let equal = dice.one_in(3.0);
    let layer = |text: &mut String, name: &str, material: &str, more: &str| {
        let _ = write!(text, "[[layers]]\nname = \"{name}\"\nmaterial = \"{material}\"\n{more}\n");
    };
    let skin_mm = dice.within(0.2, 1.2);
    if !equal {
        layer(text, "base skin", skin, &format!("thickness = \"{skin_mm} mm\""));
    }
    let mut more = format!("plies = {plies}\n");
    if dice.one_in(4.0) {
        let (end, middle) = (0.6 * thickness, thickness);
        let _ = write!(
            more,
            "taper = [[\"-{0} mm\", \"{end} mm\"], [\"0 mm\", \"{middle} mm\"], [\"{0} mm\", \"{end} mm\"]]",
            0.4 * length
        );
        if dice.one_in(2.0) {
            let (key, times) = if dice.one_in(2.0) { ("all plies", plies as f64) } else { ("each ply", 1.0) };
            more = more.replace(&format!("\"{end} mm\""), &format!("\"{} mm\"", times * end));
            more = more.replace(&format!("\"{middle} mm\""), &format!("\"{} mm\"", times * middle));
            let _ = write!(
                more,
                "\ntaper_of = \"{key}\"\ntapered_plies = [{}, {plies}]\nthickness = \"{} mm\"",
                dice.count(1, plies - 1),
                0.5 * end
            );
        }
    } else {
        let _ = write!(more, "thickness = \"{thickness} mm\"");
    }
    if dice.one_in(4.0) {
        let _ = write!(more, "\nrelaxed = {}", dice.within(0.0, 0.3));
    }
    if dice.one_in(5.0) {
        let _ = write!(more, "\nnatural_curvature = {}", dice.within(-0.3, 0.3));
    }
    layer(text, "core", core, &more);
    if dice.one_in(6.0) {
        let reach = 0.2 * length;
        layer(text, "patch", skin, &format!("thickness = \"0.4 mm\"\nfrom = \"-{reach} mm\"\nto = \"{reach} mm\""));
    }
    if !equal {
        layer(text, "deck skin", skin, &format!("thickness = \"{} mm\"", dice.within(0.2, 1.2)));
    }
}

fn pressing(dice: &mut Dice<'_>, text: &mut String, length: f64, width: f64) {
    // Clamps press with 5 kPa on the mean at least; overhangs are 160 mm at most.
    let least_kn = |count: usize| (5.1e-6 * width * (length + 320.0) / count as f64).max(0.5);
    match dice.count(0, 6) {
        0 | 1 => {
            let below = dice.one(&["air", "vacuum"]);
            let altitude = dice.one(&[0.0, 1200.0]);
            let _ = write!(
                text,
                "[pressing.vacuum]\npressure = \"{} kPa\"\naltitude = {altitude}\nbelow = \"{below}\"\n",
                dice.within(40.0, 84.0)
            );
        }
        2 => *text += "[pressing.vacuum]\npressure = \"full\"\n",
        3 => {
            let _ = write!(text, "[pressing.press]\npressure = \"{} bar\"\n", dice.within(0.5, 6.0));
        }
        4 => {
            let count = dice.count(8, 40);
            let force = dice.within(least_kn(count), 5.0);
            let _ = write!(text, "[pressing.clamps]\ncount = {count}\nforce = \"{force} kN\"\n");
            if dice.one_in(2.0) {
                let _ =
                    writeln!(text, "caul = {{ thickness = \"{} mm\", modulus = \"9 GPa\" }}", dice.within(3.0, 18.0));
            }
        }
        5 => {
            let count = dice.count(6, 16);
            let places: Vec<String> =
                (0..=count).map(|i| format!("\"{} mm\"", length * (i as f64 / count as f64 - 0.5))).collect();
            let _ = write!(
                text,
                "[pressing.clamps]\nstations = [{}]\nforce = \"{} kN\"\ncaul = {{ thickness = \"9 mm\", modulus = \"9 GPa\" }}\n",
                places.join(", "),
                dice.within(least_kn(count + 1), 5.0)
            );
        }
        _ => {
            let _ = write!(text, "[pressing.weights]\nmass = \"{} kg\"\n", dice.within(100.0, 900.0));
        }
    }
    if dice.one_in(6.0) {
        let _ = write!(text, "[pressing]\ncure_above_room = {}\n", dice.within(0.0, 40.0));
    }
}

fn table(dice: &mut Dice<'_>, text: &mut String, cutter: f64, length: f64, width: f64) {
    let side = dice.within(0.0, 80.0);
    let thickness = dice.within(9.0, 25.0);
    let lies = if dice.one_in(4.0) { "board_lies = \"deck down\"\n" } else { "" };
    let sheets = match dice.count(0, 5) {
        0 => "skin_sheets = 2\n",
        1 => "skin_sheets = 3\nskin_joined = \"glued\"\n",
        _ => "",
    };
    let _ = write!(
        text,
        "[table]\n{sheets}skin = \"{} mm\"\nfilm = \"{} mm\"\nside_margin = \"{side} mm\"\nend_margin = \"{} mm\"\n\
         station_pitch = \"{} mm\"\ncutter = \"{cutter} mm\"\n{lies}",
        dice.one(&[4.0, 3.0, 0.0, 6.5]),
        dice.one(&[0.0, 0.2]),
        dice.within(0.0, 60.0),
        dice.within(40.0, 150.0),
    );
    if dice.one_in(3.0) {
        let _ = match dice.count(0, 3) {
            3 => {
                let (rise, to, fade) = (dice.within(0.5, 5.0), dice.within(0.1, 0.25), dice.within(0.1, 0.2));
                let stations = [(-to - fade, 0.0), (-to, rise), (to, 0.8 * rise), (to + fade, 0.0)];
                let pair = |(s, r): (f64, f64)| format!("[\"{} mm\", \"{r} mm\"]", s * length);
                writeln!(text, "[table.concave]\nalong = [{}]", stations.map(pair).join(", "))
            }
            0 => writeln!(text, "[table.concave]\nrise = \"{} mm\"", dice.within(0.5, 6.0)),
            1 => writeln!(text, "[table.concave]\nradius = \"{} mm\"", dice.within(3.0, 12.0) * width),
            _ => writeln!(
                text,
                "[table.concave]\nprofile = [[\"{} mm\", 0], [\"{} mm\", \"{} mm\"]]",
                0.2 * width,
                0.5 * width,
                dice.within(0.5, 5.0)
            ),
        };
    }
    if dice.one_in(5.0) {
        let pitch =
            if dice.one_in(2.0) { format!("pitch = \"{} mm\"\n", dice.within(60.0, 200.0)) } else { String::new() };
        let _ = write!(
            text,
            "[table.bearers]\n{pitch}thickness = \"{} mm\"\nlowest_height = \"{} mm\"\ncut_step = \"{} mm\"\npacking = \
             [\"1 mm\", \"0.5 mm\", \"0.2 mm\"]\n",
            dice.within(18.0, 40.0),
            dice.within(40.0, 90.0),
            dice.within(1.0, 5.0)
        );
    } else {
        ribs(dice, text, thickness, length, width + 2.0 * side);
    }
}

fn ribs(dice: &mut Dice<'_>, text: &mut String, thickness: f64, length: f64, width: f64) {
    let lowest = dice.within(60.0, 140.0);
    let layout = match dice.count(0, 2) {
        0 => format!("count = {}\n", dice.count(2, (width / thickness / 2.0).clamp(2.0, 9.0) as usize)),
        1 => format!("pitch = \"{} mm\"\n", dice.within(2.2 * thickness, 250.0)),
        _ => String::new(),
    };
    let _ = write!(text, "[table.ribs]\n{layout}thickness = \"{thickness} mm\"\nlowest_height = \"{lowest} mm\"\n");
    if dice.one_in(5.0) {
        let _ = write!(text, "stock_length = \"2500 mm\"\nstock_width = \"{} mm\"\n", dice.within(200.0, 600.0));
    }
    if dice.one_in(3.0) {
        let joint = if dice.one_in(2.0) {
            format!("plates = {{ length = \"{} mm\", bolt = \"8 mm\" }}", dice.within(120.0, 260.0))
        } else {
            format!("key = {{ gap = \"{} mm\" }}", dice.within(0.0, 0.4))
        };
        let _ = write!(text, "[table.ribs.split]\nlongest = \"{} mm\"\n{joint}\n", dice.within(0.45, 0.9) * length);
    }
    if dice.one_in(4.0) {
        let _ = write!(
            text,
            "[table.ribs.lightening]\nwall = \"{} mm\"\nlargest = \"{} mm\"\n",
            dice.within(10.0, 25.0),
            dice.within(20.0, 80.0)
        );
    }
    if dice.one_in(5.0) {
        let _ = write!(
            text,
            "[table.ribs.hand_holes]\nfrom_end = \"{} mm\"\nlength = \"90 mm\"\nheight = \"26 mm\"\n",
            dice.within(120.0, 0.3 * length)
        );
    }
    if dice.one_in(4.0) {
        let _ = write!(
            text,
            "[table.ribs.feet]\nlength = \"{} mm\"\nheight = \"{} mm\"\n",
            dice.within(30.0, 80.0),
            dice.within(3.0, 12.0)
        );
    }
    if dice.one_in(3.0) {
        let relief = dice.one(&["none", "bone", "tee"]);
        let _ = write!(
            text,
            "[table.cross_members]\ncount = {}\nthickness = \"{thickness} mm\"\nheight = \"{} mm\"\nrelief = \"{relief}\"\n",
            dice.count(2, 5),
            dice.within(30.0, 60.0)
        );
    }
    if dice.one_in(5.0) {
        *text += "[table.box]\nends = \"12 mm\"\nbase = \"12 mm\"\n";
    }
    if !dice.one_in(3.0) {
        let _ = write!(
            text,
            "[table.rods]\ndiameter = \"{} mm\"\ncount = {}\n",
            dice.one(&[10.0, 8.0, 12.0]),
            dice.count(2, 6)
        );
        if dice.one_in(3.0) {
            *text += "[bars.spacers]\nstock = [{ length = \"2400 mm\" }, { length = \"1000 mm\", quantity = 2 }]\nkerf = \"3 mm\"\n";
            *text += "[bars.rods]\nstock = [{ length = \"3000 mm\" }]\n";
        }
    }
    if dice.one_in(2.5) {
        let _ = write!(
            text,
            "[[stock]]\nname = \"sheet\"\nlength = \"2500 mm\"\nwidth = \"1250 mm\"\nthickness = \"{thickness} mm\"\n"
        );
        let grain = dice.one(&["along", "free"]);
        let mirror = dice.one_in(3.0);
        let _ = write!(
            text,
            "[nesting]\nmargin = \"{} mm\"\ngrain = \"{grain}\"\nmirror = {mirror}\n",
            dice.within(0.0, 20.0)
        );
    }
}

fn files(dice: &mut Dice<'_>, text: &mut String, cutter: f64) {
    *text += "[files]\nroll = \"5000 mm\"\n";
    let paper = dice.one(&["none", "a4", "a3", "letter"]);
    let _ = writeln!(text, "paper = \"{paper}\"");
    if dice.one_in(4.0) {
        *text += "dxf = \"r12\"\n";
    }
    if dice.one_in(5.0) {
        if cutter > 0.0 && dice.one_in(2.0) {
            *text += "cutter_path = true\n";
        } else {
            let _ = writeln!(text, "kerf = \"{} mm\"", dice.within(0.1, 0.4));
        }
    }
    if dice.one_in(6.0) {
        *text += "stroke_text = true\n";
    }
    if dice.one_in(3.0) {
        *text += "story_stick = true\ntable_solid = true\n";
    }
}
