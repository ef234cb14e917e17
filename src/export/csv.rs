//! Listings as comma-separated values (RFC 4180).

use super::names::one_line;
use crate::drawing::{Cell, Listing};

/// A listing with a head line as CSV bytes in UTF-8, lines ended by CR LF. The last column, `made_by`, carries `origin`
/// (program version and job hash): comments do not exist in CSV.
///
/// Text cells that a spreadsheet would run as a formula begin with an apostrophe, which spreadsheets take as the sign
/// of plain text (OWASP, CSV Injection). Figures are written as they are, provided that they are figures.
pub fn write_csv(listing: &Listing, origin: &str) -> Vec<u8> {
    let mut out = String::new();
    let mut line = |cells: &mut dyn Iterator<Item = String>| {
        out.push_str(&cells.collect::<Vec<_>>().join(","));
        out.push_str("\r\n");
    };
    line(&mut listing.columns.iter().map(|h| text(h)).chain(std::iter::once("made_by".to_owned())));
    for row in &listing.rows {
        let cells = row.iter().map(|cell| match cell {
            Cell::Text(words) => text(words),
            Cell::Number(..) => cell.shown(),
            Cell::Figure(figure) if figure.bytes().all(|b| b.is_ascii_digit() || b" -/.".contains(&b)) => {
                figure.clone()
            }
            // A figure that is none (a caller's mistake) is treated as text.
            Cell::Figure(words) => text(words),
        });
        line(&mut cells.chain(std::iter::once(text(origin))));
    }
    out.into_bytes()
}

fn text(words: &str) -> String {
    // Judged before tabs and line ends are taken out: what hides behind them must not come to stand first.
    // The full-width forms of the four signs count: some spreadsheets take them for the plain ones.
    let runs =
        |s: &str| s.starts_with(['=', '+', '-', '@', '\u{FF1D}', '\u{FF0B}', '\u{FF0D}', '\u{FF20}', '\t', '\r', '\n']);
    let plain = one_line(words);
    let guard = if runs(words) || runs(plain.trim_start()) { "'" } else { "" };
    let cell = format!("{guard}{plain}");
    if cell.contains([',', '"', '\'', ';']) { format!("\"{}\"", cell.replace('"', "\"\"")) } else { cell }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn written(cells: Vec<Cell>) -> String {
        let listing = Listing { rows: vec![cells], ..Listing::new("a", &["a"]) };
        let all = String::from_utf8(write_csv(&listing, "=job")).unwrap();
        all.strip_prefix("a,made_by\r\n").unwrap().replace(",\"'=job\"", "")
    }

    #[test]
    fn formulas_become_text_and_figures_stay() {
        for bad in [
            "=1+1",
            "+cmd",
            "-2+3",
            "@sum(a)",
            "\t=1",
            "\r=1",
            " =1",
            "\u{FF1D}1+1",
            " \u{FF0B}1",
            "\u{FF0D}1",
            "\u{FF20}a",
        ] {
            let line = written(vec![Cell::Text(bad.to_owned())]);
            assert!(line.starts_with("\"'"), "{bad:?} became {line:?}");
        }
        assert_eq!(written(vec![Cell::Number(-12.5, 1), Cell::Text("rib-1".into())]), "-12.5,rib-1\r\n");
        assert_eq!(written(vec![Cell::Figure("-3 7/8".into())]), "-3 7/8\r\n");
        assert_eq!(written(vec![Cell::Figure("=1".into())]), "\"'=1\"\r\n");
    }

    #[test]
    fn commas_and_quotes_are_quoted() {
        assert_eq!(written(vec![Cell::Text("18\" long, ash".into())]), "\"18\"\" long, ash\"\r\n");
    }
}
