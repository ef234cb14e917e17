//! What the fuzz targets have in common: small documents around the file that is fuzzed, and what must hold of problems.

use overbend::document::{Document, Inputs, Problem, Problems};
use overbend::job::Wanted;

/// A board whose rocker is said by `rocker`, with one file handed over.
pub fn wanted(rocker: &str, name: &str, bytes: &[u8]) -> Result<Wanted, Problems> {
    let text = format!("title = \"Fuzz\"\n[board]\nlength = 1200\nwidth = 250\n{rocker}");
    let mut inputs = Inputs::default();
    inputs.add(name, Ok(bytes.to_vec()));
    let document = Document::parse("job.toml", &text).expect("the document around the file is valid");
    let wanted = document.wanted_with(&inputs);
    if let Err(problems) = &wanted {
        hold(&text, problems);
    }
    wanted
}

/// Problems point into the document, say something and say what would be right.
pub fn hold(text: &str, problems: &[Problem]) {
    assert!(!problems.is_empty(), "refused without a reason");
    for p in problems {
        assert!(p.span.start <= p.span.end && p.span.end <= text.len(), "{p} points outside");
        assert!(text.is_char_boundary(p.span.start) && text.is_char_boundary(p.span.end), "{p} cuts a character");
        assert!(p.line >= 1 && p.column >= 1 && !p.fault.message().is_empty(), "{p}");
        assert!(!p.fault.message().contains("NaN"), "{p}");
    }
}

/// A target's curve is made of numbers.
pub fn sound(target: &overbend::rocker::Target) {
    for piece in target.curvature.pieces() {
        assert!(
            [piece.start_mm, piece.end_mm, piece.k_start_per_mm, piece.k_end_per_mm].iter().all(|x| x.is_finite()),
            "{piece:?}"
        );
    }
    assert!(target.tip_height_mm().is_finite() && target.tail_height_mm().is_finite());
}
