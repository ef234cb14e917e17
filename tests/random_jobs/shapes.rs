//! Outlines as the files of a build hold them, read by others' readers where there are any.

use std::f64::consts::TAU;

use dxf::entities::EntityType;

/// A closed or open line of points, arcs cut into chords within a thousandth of a millimetre.
#[derive(Debug, Clone)]
pub(crate) struct Line {
    pub(crate) closed: bool,
    pub(crate) points: Vec<(f64, f64)>,
}

/// Largest distance of an arc from its chords, mm.
const CHORD_MM: f64 = 1e-3;

impl Line {
    /// Vertices with the bulge (tangent of a quarter of the sweep) of the piece that follows.
    pub(crate) fn of_bulges(vertices: &[(f64, f64, f64)], closed: bool) -> Self {
        let mut points = Vec::new();
        for (i, &(x, y, bulge)) in vertices.iter().enumerate() {
            points.push((x, y));
            let next = if i + 1 < vertices.len() { i + 1 } else { 0 };
            if bulge != 0.0 && (closed || next > 0) {
                arc(&mut points, (vertices[next].0, vertices[next].1), bulge);
            }
        }
        Self { closed, points }
    }

    pub(crate) fn circle(x: f64, y: f64, r: f64) -> Self {
        Self::of_bulges(&[(x - r, y, 1.0), (x + r, y, 1.0)], true)
    }

    /// Least x and y, largest x and y.
    pub(crate) fn bounds(&self) -> [f64; 4] {
        self.points.iter().fold([f64::INFINITY, f64::INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY], |b, p| {
            [b[0].min(p.0), b[1].min(p.1), b[2].max(p.0), b[3].max(p.1)]
        })
    }

    pub(crate) fn area(&self) -> f64 {
        let origin = self.points[0];
        let cross = |(a, b): ((f64, f64), (f64, f64))| {
            0.5 * ((a.0 - origin.0) * (b.1 - origin.1) - (b.0 - origin.0) * (a.1 - origin.1))
        };
        self.sides().into_iter().map(cross).sum::<f64>().abs()
    }

    pub(crate) fn sides(&self) -> Vec<((f64, f64), (f64, f64))> {
        let mut sides: Vec<_> = self.points.windows(2).map(|w| (w[0], w[1])).collect();
        if self.closed {
            sides.push((self.points[self.points.len() - 1], self.points[0]));
        }
        sides
    }

    /// Two sides that are no neighbours and cross or touch.
    pub(crate) fn crossing(&self) -> Option<((f64, f64), (f64, f64))> {
        let mut sides = self.sides();
        sides.retain(|(a, b)| a != b);
        let count = sides.len();
        let mut order: Vec<usize> = (0..count).collect();
        let left = |i: usize| sides[i].0.0.min(sides[i].1.0);
        order.sort_by(|a, b| left(*a).total_cmp(&left(*b)));
        for (n, &i) in order.iter().enumerate() {
            let right = sides[i].0.0.max(sides[i].1.0);
            for &j in order[n + 1..].iter().take_while(|j| left(**j) <= right) {
                let apart = i.abs_diff(j);
                if apart != 1 && apart != count - 1 && cross(sides[i], sides[j]) {
                    return Some((sides[i].0, sides[j].0));
                }
            }
        }
        None
    }

    /// Whether a point lies inside of a closed line (crossings of a ray).
    pub(crate) fn holds(&self, p: (f64, f64)) -> bool {
        let mut inside = false;
        for (a, b) in self.sides() {
            if (a.1 > p.1) != (b.1 > p.1) && p.0 < a.0 + (p.1 - a.1) / (b.1 - a.1) * (b.0 - a.0) {
                inside = !inside;
            }
        }
        inside
    }

    /// Whether two lines have a point in common.
    pub(crate) fn meets(&self, other: &Self) -> bool {
        let (a, b) = (self.bounds(), other.bounds());
        if a[0] > b[2] || b[0] > a[2] || a[1] > b[3] || b[1] > a[3] {
            return false;
        }
        let near = |s: &((f64, f64), (f64, f64)), c: [f64; 4]| {
            s.0.0.max(s.1.0) >= c[0] && s.0.0.min(s.1.0) <= c[2] && s.0.1.max(s.1.1) >= c[1] && s.0.1.min(s.1.1) <= c[3]
        };
        let mine: Vec<_> = self.sides().into_iter().filter(|s| near(s, b)).collect();
        let its: Vec<_> = other.sides().into_iter().filter(|s| near(s, a)).collect();
        mine.iter().any(|s| its.iter().any(|t| cross(*s, *t)))
    }

    /// Height of the highest place at `x`, if the line reaches there.
    pub(crate) fn top_at(&self, x: f64) -> Option<f64> {
        let over = |(a, b): ((f64, f64), (f64, f64))| {
            let (from, to) = if a.0 <= b.0 { (a, b) } else { (b, a) };
            if x < from.0 || x > to.0 {
                return None;
            }
            Some(if to.0 > from.0 {
                from.1 + (to.1 - from.1) * (x - from.0) / (to.0 - from.0)
            } else {
                from.1.max(to.1)
            })
        };
        self.sides().into_iter().filter_map(over).reduce(f64::max)
    }
}

fn cross(s: ((f64, f64), (f64, f64)), t: ((f64, f64), (f64, f64))) -> bool {
    let turn = |a: (f64, f64), b: (f64, f64), c: (f64, f64)| (b.0 - a.0) * (c.1 - a.1) - (b.1 - a.1) * (c.0 - a.0);
    let (a, b) = (turn(s.0, s.1, t.0), turn(s.0, s.1, t.1));
    let (c, d) = (turn(t.0, t.1, s.0), turn(t.0, t.1, s.1));
    ((a > 0.0) != (b > 0.0)) && ((c > 0.0) != (d > 0.0)) && a * b != 0.0 && c * d != 0.0
}

/// Adds the inner points of an arc from the last point to `to`.
fn arc(points: &mut Vec<(f64, f64)>, to: (f64, f64), bulge: f64) {
    let from = points[points.len() - 1];
    let (dx, dy) = (to.0 - from.0, to.1 - from.1);
    // Height of the middle over the chord, to the left, is chord / 2 · (1 - b²) / (2 b) back from the centre.
    let h = (1.0 - bulge * bulge) / (4.0 * bulge);
    let center = (0.5 * (from.0 + to.0) - h * dy, 0.5 * (from.1 + to.1) + h * dx);
    let sweep = 4.0 * bulge.atan();
    let r = (from.0 - center.0).hypot(from.1 - center.1);
    let start = (from.1 - center.1).atan2(from.0 - center.0);
    let step = 2.0 * (1.0 - (CHORD_MM / r).min(1.0)).acos();
    let count = (sweep.abs() / step.max(1e-9)).ceil().clamp(1.0, 4000.0) as usize;
    for i in 1..count {
        let angle = start + sweep * i as f64 / count as f64;
        points.push((center.0 + r * angle.cos(), center.1 + r * angle.sin()));
    }
}

/// A line with the layer or class that it is drawn on, and the part it belongs to where the file says.
#[derive(Debug, Clone)]
pub(crate) struct Work {
    pub(crate) part: String,
    pub(crate) layer: String,
    pub(crate) line: Line,
}

/// All lines of a DXF file, by the crate's reader.
pub(crate) fn of_dxf(bytes: &[u8]) -> Vec<Work> {
    let mut bytes = bytes;
    let file = dxf::Drawing::load(&mut bytes).expect("the DXF file is read back");
    let line = |e: &dxf::entities::Entity| {
        let line = match &e.specific {
            EntityType::LwPolyline(p) => {
                let vertices: Vec<_> = p.vertices.iter().map(|v| (v.x, v.y, v.bulge)).collect();
                Line::of_bulges(&vertices, p.is_closed())
            }
            EntityType::Polyline(p) => {
                let vertices: Vec<_> = p.vertices().map(|v| (v.location.x, v.location.y, v.bulge)).collect();
                Line::of_bulges(&vertices, p.is_closed())
            }
            EntityType::Circle(c) => Line::circle(c.center.x, c.center.y, c.radius),
            EntityType::Line(l) => Line { closed: false, points: vec![(l.p1.x, l.p1.y), (l.p2.x, l.p2.y)] },
            EntityType::Text(_) => return None,
            other => panic!("an entity that nobody asked for: {other:?}"),
        };
        Some(Work { part: String::new(), layer: e.common.layer.clone(), line })
    };
    file.entities().filter_map(line).collect()
}

/// A text of a DXF file: its words and the box around its stroke letters, as they advance by their height.
pub(crate) struct Words {
    pub(crate) words: String,
    pub(crate) corners: [(f64, f64); 4],
}

/// All texts of a DXF file but the notes, by the crate's reader.
pub(crate) fn words_of_dxf(bytes: &[u8]) -> Vec<Words> {
    use dxf::enums::HorizontalTextJustification as Side;
    let mut bytes = bytes;
    let file = dxf::Drawing::load(&mut bytes).expect("the DXF file is read back");
    let words = |e: &dxf::entities::Entity| {
        let EntityType::Text(t) = &e.specific else { return None };
        if e.common.layer == "note" {
            return None;
        }
        let h = t.text_height;
        let length = (t.value.chars().count() as f64 - 1.0 / 3.0) * h;
        let (at, back) = match t.horizontal_text_justification {
            Side::Left => (&t.location, 0.0),
            Side::Center | Side::Middle => (&t.second_alignment_point, 0.5),
            _ => (&t.second_alignment_point, 1.0),
        };
        let (sin, cos) = t.rotation.to_radians().sin_cos();
        let place = |x: f64, y: f64| (at.x + x * cos - y * sin, at.y + x * sin + y * cos);
        let (from, to) = (-back * length, (1.0 - back) * length);
        let corners = [place(from, 0.0), place(to, 0.0), place(to, h), place(from, h)];
        Some(Words { words: t.value.clone(), corners })
    };
    file.entities().filter_map(words).collect()
}

/// All lines of an SVG file with their parts, y turned upward again.
pub(crate) fn of_svg(bytes: &[u8]) -> Vec<Work> {
    let text = std::str::from_utf8(bytes).expect("SVG is UTF-8");
    let tree = roxmltree::Document::parse(text).expect("the SVG file is XML");
    let mut works = Vec::new();
    for node in tree.descendants() {
        let line = match node.tag_name().name() {
            "path" => of_path(node.attribute("d").expect("a path has data")),
            "circle" => {
                let value = |name| node.attribute(name).and_then(|v| v.parse::<f64>().ok()).expect("a number");
                Line::circle(value("cx"), -value("cy"), value("r"))
            }
            _ => continue,
        };
        let operation = node.parent().expect("a shape lies in a group");
        let part = operation.parent().and_then(|p| p.attribute("id")).unwrap_or_default().to_owned();
        let layer = operation.attribute("class").unwrap_or_default().to_owned();
        works.push(Work { part, layer, line });
    }
    works
}

/// Path data of moves, lines, arcs of circles and closing.
fn of_path(data: &str) -> Line {
    let mut words = data.split([' ', ',']).filter(|w| !w.is_empty());
    let mut vertices: Vec<(f64, f64, f64)> = Vec::new();
    let mut closed = false;
    while let Some(word) = words.next() {
        let (command, rest) = word.split_at(1);
        let mut number = |first: Option<&str>| -> f64 {
            first.or_else(|| words.next()).and_then(|w| w.parse().ok()).unwrap_or_else(|| panic!("no number in {data}"))
        };
        match command {
            "M" | "L" => {
                let (x, y) = (number(Some(rest)), -number(None));
                vertices.push((x, y, 0.0));
            }
            "A" => {
                let r = number(Some(rest));
                let (_, _, large, sweep) = (number(None), number(None), number(None), number(None));
                let (x, y) = (number(None), -number(None));
                let last = vertices.last_mut().expect("an arc begins somewhere");
                let chord = (x - last.0).hypot(y - last.1);
                let half = (0.5 * chord / r).min(1.0).asin();
                let angle = if large == 1.0 { TAU - 2.0 * half } else { 2.0 * half };
                // Sweep flag 1 turns clockwise to the eye once y points up.
                last.2 = (0.25 * angle).tan() * if sweep == 1.0 { -1.0 } else { 1.0 };
                vertices.push((x, y, 0.0));
            }
            "Z" => closed = true,
            other => panic!("`{other}` in path data {data}"),
        }
    }
    let near = |a: (f64, f64, f64), b: (f64, f64, f64)| (a.0 - b.0).hypot(a.1 - b.1) < 1e-9;
    if closed && vertices.len() > 1 && near(vertices[0], vertices[vertices.len() - 1]) {
        vertices.pop();
    }
    Line::of_bulges(&vertices, closed)
}

/// Closed lines of each form (a pattern in the coordinates of its drawing) of a PDF file, and all text of its contents.
pub(crate) fn of_pdf(bytes: &[u8]) -> (Vec<Vec<Line>>, String) {
    let (mut lines, mut all) = (Vec::new(), String::new());
    let mut at = 0;
    let find = |from: usize, mark: &[u8]| bytes[from..].windows(mark.len()).position(|w| w == mark).map(|i| from + i);
    while let Some(start) = find(at, b"\nstream\n") {
        let head_from = bytes[..start].windows(4).rposition(|w| w == b" obj").expect("a stream is an object");
        let head = String::from_utf8_lossy(&bytes[head_from..start]).into_owned();
        let end = find(start, b"\nendstream").expect("a stream ends");
        let packed = &bytes[start + 8..end];
        at = end;
        let Ok(contents) = miniz_oxide::inflate::decompress_to_vec_zlib(packed) else {
            panic!("a stream is not deflated: {head}");
        };
        let contents = String::from_utf8_lossy(&contents).into_owned();
        if head.contains("/Form") {
            lines.push(closed_lines(&contents));
        }
        all += &contents;
        all.push('\n');
    }
    (lines, all)
}

fn closed_lines(contents: &str) -> Vec<Line> {
    let (mut found, mut points) = (Vec::new(), Vec::<(f64, f64)>::new());
    let mut stack: Vec<f64> = Vec::new();
    for word in contents.split_ascii_whitespace() {
        if let Ok(number) = word.parse::<f64>() {
            stack.push(number);
            continue;
        }
        match (word, &stack[..]) {
            ("m", [x, y]) => points = vec![(*x, *y)],
            ("l", [x, y]) => points.push((*x, *y)),
            ("c", [x1, y1, x2, y2, x3, y3]) => {
                let from = points[points.len() - 1];
                // Chords of a millimetre, or sixteen: within a thousandth of the usual radii.
                let count = ((x3 - from.0).hypot(y3 - from.1).ceil()).clamp(48.0, 4000.0) as usize;
                for i in 1..=count {
                    let t = i as f64 / count as f64;
                    let u = 1.0 - t;
                    let mix = |a: f64, b: f64, c: f64, d: f64| {
                        u * u * u * a + 3.0 * u * u * t * b + 3.0 * u * t * t * c + t * t * t * d
                    };
                    points.push((mix(from.0, *x1, *x2, *x3), mix(from.1, *y1, *y2, *y3)));
                }
            }
            ("h", []) => found.push(Line { closed: true, points: points.clone() }),
            _ => {}
        }
        stack.clear();
    }
    found
}
