//! Names from a document made safe for file names, ids and single lines of text.

/// Longest file stem, characters: what is left of the common limit of 255 bytes is for folders' and endings' sake.
const LONGEST_STEM: usize = 60;

/// A file name without its ending, of lower-case ASCII letters, digits and single hyphens: never a path, never empty,
/// never a name that a system keeps for itself.
pub fn file_stem(name: &str) -> String {
    let mut stem = String::new();
    for c in name.chars() {
        if c.is_ascii_alphanumeric() {
            stem.push(c.to_ascii_lowercase());
        } else if !stem.is_empty() && !stem.ends_with('-') {
            stem.push('-');
        }
        if stem.len() >= LONGEST_STEM {
            break;
        }
    }
    let stem = stem.trim_end_matches('-');
    // Device names of Windows, with or without an ending: Microsoft, Naming Files, Paths, and Namespaces.
    let numbered = |s: &str| {
        s.len() == 4 && (s.starts_with("com") || s.starts_with("lpt")) && s.ends_with(|c: char| c.is_ascii_digit())
    };
    match stem {
        "" => "unnamed".to_owned(),
        "con" | "prn" | "aux" | "nul" => format!("{stem}-file"),
        s if numbered(s) => format!("{s}-file"),
        s => s.to_owned(),
    }
}

/// Ids for names, in order: each a [`file_stem`], and those that come again numbered from 2.
pub(crate) fn unique_ids<'a>(names: impl IntoIterator<Item = &'a str>) -> Vec<String> {
    let mut ids: Vec<String> = Vec::new();
    for name in names {
        let stem = file_stem(name);
        let free = |id: &String| !ids.contains(id);
        let numbered = (2_usize..).map(|n| format!("{stem}-{n}"));
        let id = std::iter::once(stem.clone()).chain(numbered).find(free).unwrap_or(stem);
        ids.push(id);
    }
    ids
}

/// Text without control characters: they break lines of DXF and are not allowed in XML 1.0 (section 2.2).
pub(super) fn one_line(text: &str) -> String {
    let allowed = |c: &char| !c.is_control() && !matches!(*c, '\u{2028}' | '\u{2029}' | '\u{fffe}' | '\u{ffff}');
    text.chars().map(|c| if c == '\n' || c == '\t' { ' ' } else { c }).filter(allowed).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_never_become_paths() {
        for name in ["../../etc/passwd", "C:\\x", "a/b", "~", ".", "..", "", "\u{202e}gnp.exe", "-rf", "a\0b"] {
            let stem = file_stem(name);
            assert!(!stem.is_empty() && !stem.starts_with('-'), "{name:?} became {stem:?}");
            assert!(stem.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-'), "{stem:?}");
        }
        assert_eq!(file_stem("Rib 3, left"), "rib-3-left");
        assert_eq!(file_stem("COM1"), "com1-file");
        assert_eq!(file_stem(&"long ".repeat(100)).len(), 59);
    }

    #[test]
    fn ids_stay_apart() {
        assert_eq!(unique_ids(["Rib", "rib", "RIB!", "rib 2"]), ["rib", "rib-2", "rib-3", "rib-2-2"]);
    }

    #[test]
    fn control_characters_are_taken_out() {
        assert_eq!(one_line("a\nb\u{0}\u{1b}[31mc\u{7f}\u{85}"), "a b[31mc");
    }
}
