//! What several test programs need.

/// Readings along an arc of a board whose ends are 670 mm from its middle: a station from one end and a height in each
/// line, over `length_mm`, `rise_mm` high at the board's ends.
pub(crate) fn arc(length_mm: f64, rise_mm: f64) -> String {
    let line = |i: i32| {
        let x = length_mm * f64::from(i) / 14.0;
        format!("{x},{:.1}\n", rise_mm * ((x - 0.5 * length_mm) / 670.0).powi(2))
    };
    (0..=14).map(line).collect()
}
