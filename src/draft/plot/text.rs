//! How wide words come out, near enough to keep them apart.

/// Size of labels, page pixels.
pub(in crate::draft) const SIZE: f64 = 12.0;
/// Height of a line of labels, page pixels.
pub(in crate::draft) const LINE: f64 = 16.0;

/// Width of words as a label, page pixels: a little more than Helvetica's and Arial's widths (rounded from their metrics,
/// from memory), so that their many likenesses fit too.
pub(in crate::draft) fn width(words: &str) -> f64 {
    let em: f64 = words
        .chars()
        .map(|c| match c {
            'i' | 'j' | 'l' | '.' | ',' | ':' | ';' | '|' | '\'' => 0.28,
            ' ' | 't' | 'f' | 'r' | '(' | ')' | '/' | '-' => 0.36,
            'm' | 'w' | 'M' | 'W' | '%' => 0.92,
            'A'..='Z' => 0.72,
            _ => 0.58,
        })
        .sum();
    em * SIZE * 1.04
}

/// The words cut so that they are no wider than `most`, with a mark that something is left out.
pub(in crate::draft) fn fitted(words: &str, most: f64) -> String {
    if width(words) <= most {
        return words.to_owned();
    }
    let mut short = words.to_owned();
    while !short.is_empty() && width(&short) + 0.9 * SIZE > most {
        short.pop();
    }
    format!("{}…", short.trim_end())
}

/// Moves places that are wanted in increasing order apart, so that neighbours keep their distance and all stay between
/// `from` and `to` where there is room.
pub(in crate::draft) fn spread(wanted: &[f64], apart: f64, from: f64, to: f64) -> Vec<f64> {
    let mut places = wanted.to_vec();
    let mut least = from;
    for place in &mut places {
        *place = place.max(least);
        least = *place + apart;
    }
    let mut most = to;
    for place in places.iter_mut().rev() {
        *place = place.min(most);
        most = *place - apart;
    }
    places
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn crowded_labels_move_apart_and_stay_inside() {
        let places = spread(&[5.0, 6.0, 7.0, 95.0, 99.0], 10.0, 0.0, 100.0);
        assert_eq!(places, [5.0, 15.0, 25.0, 90.0, 100.0]);
    }

    #[test]
    fn long_words_are_cut_with_a_mark() {
        let short = fitted("a very long name of a layer", 60.0);
        assert!(short.ends_with('…') && width(&short) <= 62.0, "{short}");
        assert_eq!(fitted("core", 60.0), "core");
    }
}
