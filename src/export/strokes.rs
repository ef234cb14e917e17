//! Text as single lines, for machines that follow lines and know no letters.
//!
//! The letters are our own drawing, on a grid of 4 by 6 with straight strokes, so that a scriber lifts seldom and a
//! number is read at 3 mm height: zero is slashed, one has a foot, capitals only.

use kurbo::{Point, Vec2};

use crate::drawing::{Contour, Drawing, Operation, Shape, Text, TextAnchor, Vertex, Work};

/// Grid units from one letter's left edge to the next one's.
const ADVANCE: f64 = 6.0;
/// Grid units of a letter's width.
const WIDTH: f64 = 4.0;
/// Grid units of a capital's height.
const HEIGHT: f64 = 6.0;

/// The drawing with every text to be marked turned into lines to be marked; notes stay text.
#[must_use]
pub fn with_stroke_text(drawing: &Drawing) -> Drawing {
    let mut drawn = drawing.clone();
    for part in &mut drawn.parts {
        part.works = part
            .works
            .drain(..)
            .flat_map(|work| match &work.shape {
                Shape::Text(text) if work.operation == Operation::Mark => {
                    let lines = stroke_text(text).into_iter();
                    lines.map(|c| Work { operation: Operation::Mark, shape: Shape::Contour(c) }).collect()
                }
                _ => vec![work],
            })
            .collect();
    }
    drawn
}

/// The lines that make up a text. A character without strokes of its own becomes a crossed box, which cannot be taken
/// for a letter; [`lacks_strokes`] tells beforehand.
pub fn stroke_text(text: &Text) -> Vec<Contour> {
    let letters: Vec<char> = capitals(&text.content).collect();
    let scale = text.height_mm / HEIGHT;
    let length = (letters.len() as f64 * ADVANCE - (ADVANCE - WIDTH)).max(0.0) * scale;
    let begin = match text.anchor {
        TextAnchor::Start => 0.0,
        TextAnchor::Middle => -0.5 * length,
        TextAnchor::End => -length,
    };
    let along = Vec2::from_angle(text.angle_rad);
    let up = Vec2::new(-along.y, along.x);
    let place = |x: f64, y: f64| -> Point { text.at + along * (begin + x * scale) + up * (y * scale) };
    let mut lines = Vec::new();
    for (i, letter) in letters.iter().enumerate() {
        let left = i as f64 * ADVANCE;
        for stroke in glyph(*letter).unwrap_or(UNKNOWN).split_ascii_whitespace() {
            let vertices = spots(stroke).map(|(x, y)| Vertex::line(place(left + x, y))).collect();
            lines.extend(Contour::open(vertices).ok());
        }
    }
    lines
}

/// Characters of a text that have no strokes and would become crossed boxes.
pub fn lacks_strokes(text: &str) -> Vec<char> {
    let mut missing: Vec<char> = capitals(text).filter(|c| glyph(*c).is_none()).collect();
    missing.sort_unstable();
    missing.dedup();
    missing
}

fn capitals(text: &str) -> impl Iterator<Item = char> + '_ {
    text.chars().filter(|c| !c.is_control()).flat_map(char::to_uppercase)
}

/// Points of a stroke: pairs of characters for x and y, digits from 0, `a` for one below the base line.
fn spots(stroke: &str) -> impl Iterator<Item = (f64, f64)> + '_ {
    let unit = |b: u8| if b == b'a' { -1.0 } else { f64::from(b.saturating_sub(b'0')) };
    stroke.as_bytes().chunks_exact(2).map(move |xy| (unit(xy[0]), unit(xy[1])))
}

const UNKNOWN: &str = "0006464000 0046 0640";

/// Strokes of a character, strokes apart by blanks; the blank itself has none.
// Long, because it is one alphabet.
fn glyph(c: char) -> Option<&'static str> {
    Some(match c {
        ' ' | '\u{a0}' => "",
        'A' => "0004264440 0242",
        'B' => "000636454433 033342413000",
        'C' => "4536160501103041",
        'D' => "00062644422000",
        'E' => "46060040 0333",
        'F' => "460600 0333",
        'G' => "45361605011030414323",
        'H' => "0006 4046 0343",
        'I' => "2026 1030 1636",
        'J' => "4641301001",
        'K' => "0006 4602 1340",
        'L' => "060040",
        'M' => "0006234640",
        'N' => "00064046",
        'O' => "100105163645413010",
        'P' => "00063645443303",
        'Q' => "100105163645413010 2240",
        'R' => "00063645443303 2340",
        'S' => "453616050413334241301001",
        'T' => "0646 2620",
        'U' => "060110304146",
        'V' => "062046",
        'W' => "0610243046",
        'X' => "0046 0640",
        'Y' => "062346 2320",
        'Z' => "06460040",
        '0' => "100105163645413010 1234",
        '1' => "152620 1030",
        '2' => "05163645440040",
        '3' => "05163645443313 334241301001",
        '4' => "30360242",
        '5' => "460603334241301001",
        '6' => "453616050110304142331302",
        '7' => "064610",
        '8' => "13040516364544331302011030414233",
        '9' => "011030414536160504133344",
        '.' => "1121201011",
        ',' => "211a",
        ':' => "2122 2425",
        ';' => "2425 211a",
        '-' | '\u{2010}' | '\u{2011}' | '\u{2012}' | '\u{2013}' | '\u{2212}' => "1333",
        '\u{2014}' => "0343",
        '+' => "0343 2125",
        '/' => "0046",
        '\\' => "0640",
        '(' => "36252130",
        ')' => "16252110",
        '[' => "36161030",
        ']' => "16363010",
        '=' => "0242 0444",
        '\'' | '\u{2019}' | '\u{2032}' => "2624",
        '"' | '\u{2033}' => "1614 3634",
        '°' => "1526352415",
        '±' => "0444 2226 0141",
        '⌀' | 'Ø' => "100105163645413010 0046",
        '#' => "1016 3036 0242 0444",
        '%' => "0046 0506161505 3031414030",
        '*' => "2125 1432 1234",
        '?' => "05163645442322 2021",
        '!' => "2622 2021",
        '<' => "450341",
        '>' => "054301",
        '_' => "0040",
        '|' => "2a27",
        '~' => "03143243",
        '^' => "142634",
        '`' => "1625",
        '{' => "36252413222130",
        '}' => "16252433222110",
        '$' => "453616050413334241301001 2a27",
        '@' => "33221223333242454636160501103041",
        '×' => "0145 0541",
        '&' => "4005162502102042",
        '→' => "0343 254321",
        '←' => "4303 250321",
        '↑' => "2026 042644",
        '↓' => "2620 022042",
        'À' => "0004264440 0242 1827",
        'Á' => "0004264440 0242 2738",
        'Â' => "0004264440 0242 172837",
        'Ã' => "0004264440 0242 07182738",
        'Ä' => "0004264440 0242 0708 4748",
        'Å' => "0004264440 0242 2617283726",
        'Ç' => "4536160501103041 202a1a",
        'È' => "46060040 0333 1827",
        'É' => "46060040 0333 2738",
        'Ê' => "46060040 0333 172837",
        'Ë' => "46060040 0333 0708 4748",
        'Í' => "2026 1030 1636 2738",
        'Ï' => "2026 1030 1636 1718 3738",
        'Ñ' => "00064046 07182738",
        'Ó' => "100105163645413010 2738",
        'Ô' => "100105163645413010 172837",
        'Õ' => "100105163645413010 07182738",
        'Ö' => "100105163645413010 0708 4748",
        'Ù' => "060110304146 1827",
        'Ú' => "060110304146 2738",
        'Û' => "060110304146 172837",
        'Ü' => "060110304146 0708 4748",
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    fn text(content: &str, anchor: TextAnchor, angle_rad: f64) -> Text {
        Text { at: Point::new(100.0, 50.0), height_mm: 12.0, angle_rad, anchor, content: content.to_owned() }
    }

    #[test]
    fn every_capital_digit_and_common_sign_has_strokes_of_its_own() {
        let all =
            "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789.,:;-+/\\()[]='\"°±⌀#%*?!<>_×&|~^`{}$@→←↑↓ÀÁÂÃÄÅÇÈÉÊËÍÏÑÓÔÕÖÙÚÛÜ";
        assert_eq!(lacks_strokes(all), []);
        let drawn: BTreeSet<&str> = all.chars().map(|c| glyph(c).unwrap()).collect();
        assert_eq!(drawn.len(), all.chars().count(), "two characters look alike");
        for strokes in drawn {
            assert!(!strokes.is_empty());
            for stroke in strokes.split_ascii_whitespace() {
                assert!(stroke.len() >= 4 && stroke.len() % 2 == 0, "{stroke}");
                assert!(stroke.bytes().all(|b| matches!(b, b'0'..=b'8' | b'a')), "{stroke}");
                let places: Vec<_> = spots(stroke).collect();
                assert!(places.iter().all(|(x, _)| (0.0..=WIDTH).contains(x)), "{stroke}");
                assert!(places.windows(2).all(|w| w[0] != w[1]), "{stroke} stands still");
            }
        }
    }

    #[test]
    fn the_height_is_that_of_capitals_and_anchors_are_kept() {
        for (anchor, left, right) in
            [(TextAnchor::Start, 100.0, 132.0), (TextAnchor::Middle, 84.0, 116.0), (TextAnchor::End, 68.0, 100.0)]
        {
            let lines = stroke_text(&text("HHH", anchor, 0.0));
            let bounds = lines.iter().map(Contour::bounds).reduce(|a, b| a.union(b)).unwrap();
            assert_eq!((bounds.x0, bounds.x1, bounds.y0, bounds.y1), (left, right, 50.0, 62.0));
        }
        let upright = stroke_text(&text("L", TextAnchor::Start, std::f64::consts::FRAC_PI_2));
        assert!((upright[0].bounds().x0 - 88.0).abs() < 1e-9 && (upright[0].bounds().y1 - 58.0).abs() < 1e-9);
    }

    #[test]
    fn small_letters_are_drawn_as_capitals_and_unknown_ones_as_crossed_boxes() {
        let drawn = |words: &str| stroke_text(&text(words, TextAnchor::Start, 0.0));
        assert_eq!(drawn("rib é"), drawn("RIB É"));
        assert_eq!(drawn("木").len(), 3);
        assert_eq!(lacks_strokes("木 rib 木"), ['木']);
        assert!(drawn("").is_empty() && drawn(" \n").is_empty());
    }

    #[test]
    fn only_marks_are_redrawn() {
        let mut part = crate::drawing::Part::new("a", "A");
        part.add(Operation::Mark, Shape::Text(text("L", TextAnchor::Start, 0.0)));
        part.add(Operation::Note, Shape::Text(text("L", TextAnchor::Start, 0.0)));
        let drawn = with_stroke_text(&Drawing { title: "t".into(), origin: "o".into(), parts: vec![part] });
        assert!(matches!(drawn.parts[0].works[0].shape, Shape::Contour(_)));
        assert!(matches!(drawn.parts[0].works[1].shape, Shape::Text(_)));
    }
}
