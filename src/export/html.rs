//! A page as HTML: one file with its style and pictures inside, without any script.

use std::fmt::Write;

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::names::one_line;
use crate::drawing::{Block, Cell, Figure, Ink, Item, LabelStyle, Listing, Page, Picture, Section, TextAnchor, Tone};
use crate::finding::ProblemText;
use crate::units::{plain, push_plain};

/// The style of the page.
const STYLE: &str = include_str!("../../templates/book.css");
/// What stands around the place for notices, so that a notice can be put into a page that was written before.
const NOTICE_FROM: &str = "<!--notice-->";
const NOTICE_TO: &str = "<!--/notice-->";

/// The page as one HTML file.
pub fn write_html(page: &Page) -> Vec<u8> {
    let mut figures = 0;
    let lead = blocks(&page.lead, &mut figures);
    let sections: Vec<Markup> = page.sections.iter().map(|s| section(s, &mut figures)).collect();
    let document = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                meta name="generator" content=(one_line(&page.origin));
                title { (page.title) " – " (page.kind) }
                // The one icon a page without network can have is none; saying so keeps browsers from asking for one.
                link rel="icon" href="data:,";
                style { (PreEscaped(STYLE)) }
            }
            body {
                (PreEscaped(NOTICE_FROM)) (PreEscaped(NOTICE_TO))
                div class="sheet" {
                    nav aria-label="Sections of this page" {
                        ul { @for s in &page.sections { li { a href={ "#" (s.id) } { (s.heading) } } } }
                    }
                    main {
                        header {
                            p class="kind" { (page.kind) ", " (page.origin) }
                            h1 { (page.title) }
                            (lead)
                        }
                        @for s in &sections { (s) }
                    }
                }
            }
        }
    };
    let mut bytes = document.into_string().into_bytes();
    bytes.push(b'\n');
    bytes
}

/// The same page with a notice at its head, in the place of any earlier notice; an empty list takes it away.
///
/// Returns `None` for bytes that are not a page of ours.
pub fn with_notice(page: &[u8], head: &str, problems: &[ProblemText]) -> Option<Vec<u8>> {
    let text = std::str::from_utf8(page).ok()?;
    let from = text.find(NOTICE_FROM)? + NOTICE_FROM.len();
    let to = from + text.get(from..)?.find(NOTICE_TO)?;
    let notice = if problems.is_empty() {
        String::new()
    } else {
        let markup = html! {
            div class="notice" role="alert" {
                p { strong { (head) } }
                ul { @for p in problems { li { (problem(p)) } } }
            }
        };
        markup.into_string()
    };
    Some([text.get(..from)?, &notice, text.get(to..)?].concat().into_bytes())
}

fn problem(shown: &ProblemText) -> Markup {
    html! {
        p { strong { (shown.sentence) } }
        @if !shown.place.is_empty() { p { (shown.place) } }
        @if !shown.marked.is_empty() {
            pre {
                @for line in &shown.marked {
                    // What is missing is marked by a blank.
                    (line.before) mark { (if line.fault.is_empty() { " " } else { &line.fault }) } (line.after) "\n"
                }
            }
        }
        p { (shown.remedy) " " @if !shown.code.is_empty() { small { "(" (shown.code) ")" } } }
    }
}

fn section(section: &Section, figures: &mut usize) -> Markup {
    html! {
        section aria-labelledby=(section.id) {
            h2 id=(section.id) { (section.heading) }
            (blocks(&section.blocks, figures))
        }
    }
}

fn blocks(blocks: &[Block], figures: &mut usize) -> Markup {
    let all: Vec<Markup> = blocks.iter().map(|b| block(b, figures)).collect();
    html! { @for b in &all { (b) } }
}

fn block(block: &Block, figures: &mut usize) -> Markup {
    match block {
        Block::Heading(words) => html! { h3 { (words) } },
        Block::Paragraph(words) => html! { p { (words) } },
        Block::Notice(tone, words) => html! { p class={ "verdict " (shade(*tone)) } { (words) } },
        Block::Facts(tone, head, facts) => html! {
            div class="facts" {
                p class={ "verdict " (shade(*tone)) } { (head) }
                dl { @for (name, value) in facts { dt { (name) } dd { (value) } } }
            }
        },
        Block::Folded(head, lines) => html! {
            details { summary { (head) } ul { @for line in lines { li { (line) } } } }
        },
        Block::Blanks(names) => html! {
            ul class="blanks" { @for name in names { li { span { (name) } span class="line" {} } } }
        },
        Block::Bullets(lines) => html! { ul { @for line in lines { li { (line) } } } },
        Block::Steps(steps) => html! {
            ol { @for step in steps { li {
                @if !step.caution.is_empty() { p class="caution" { strong { "Caution. " } (step.caution) } }
                strong { (step.head) } " " (step.text)
            } } }
        },
        Block::Table(listing) => table(listing, "table"),
        Block::Form(listing) => table(listing, "table form"),
        Block::File { name, words, text } => html! {
            p { a download=(name) href={ "data:text/csv;charset=utf-8," (percent_encoded(text)) } { (words) } }
        },
        Block::Figure(f) => figure(f, figures),
    }
}

/// The class of a tone.
fn shade(tone: Tone) -> &'static str {
    match tone {
        Tone::Good => "good",
        Tone::Look => "look",
        Tone::Stop => "stop",
    }
}

fn table(listing: &Listing, class: &str) -> Markup {
    let words = |cell: &Cell| matches!(cell, Cell::Text(_));
    // Figures are set to the right; a column of words to the left with its heading.
    let left: Vec<bool> =
        (0..listing.columns.len()).map(|i| listing.rows.iter().all(|r| r.get(i).is_none_or(words))).collect();
    let class_of = |i: usize| if left.get(i).copied().unwrap_or(true) { "words" } else { "figures" };
    html! {
        div class=(class) {
            table {
                caption { (listing.title) }
                thead { tr {
                    @for (i, c) in listing.columns.iter().enumerate() { th scope="col" class=(class_of(i)) { (c) } }
                } }
                tbody {
                    @for row in &listing.rows { tr {
                        @for (i, cell) in row.iter().enumerate() {
                            @if i == 0 {
                                th scope="row" class=(class_of(i)) data-heading=[listing.columns.first()] { (cell.shown()) }
                            }
                            // On a phone a row becomes a card, and its cells show the headings of their columns.
                            @else {
                                td class=(class_of(i)) data-heading=[listing.columns.get(i)] { (cell.shown()) }
                            }
                        }
                    } }
                }
            }
        }
    }
}

/// A text as part of an address: all but letters, digits and the unreserved marks as bytes (RFC 3986, section 2).
fn percent_encoded(text: &str) -> String {
    let mut out = String::new();
    for byte in text.bytes() {
        if byte.is_ascii_alphanumeric() || b"-._~".contains(&byte) {
            out.push(char::from(byte));
        } else {
            let _ = write!(out, "%{byte:02X}");
        }
    }
    out
}

fn figure(figure: &Figure, figures: &mut usize) -> Markup {
    *figures += 1;
    let n = *figures;
    html! {
        figure {
            @for (class, (drawn, note)) in [("wide", &figure.wide), ("narrow", &figure.narrow)] {
                div class=(class) {
                    (picture(drawn, &figure.title, &figure.description, &format!("figure-{n}-{class}")))
                    @if !note.is_empty() { p class="note" { (note) } }
                }
            }
            figcaption { strong { "Figure " (n) ". " (figure.title) ". " } (figure.description) }
        }
    }
}

fn picture(picture: &Picture, title: &str, description: &str, id: &str) -> Markup {
    html! {
        svg xmlns="http://www.w3.org/2000/svg" role="img" aria-labelledby={ (id) "-t " (id) "-d" }
            viewBox={ "0 0 " (px(picture.width)) " " (px(picture.height)) }
            width=(px(picture.width)) height=(px(picture.height)) {
            title id={ (id) "-t" } { (title) }
            desc id={ (id) "-d" } { (description) }
            @for item in &picture.items { (drawn(item, picture.height)) }
        }
    }
}

fn drawn(item: &Item, height: f64) -> Markup {
    match item {
        Item::Path { ink, points, closed } => html! { path class=(class(*ink)) d=(path(points, *closed, height)) {} },
        Item::Circle { ink, center, radius } => html! {
            circle class=(class(*ink)) cx=(px(center.x)) cy=(px(height - center.y)) r=(px(*radius)) {}
        },
        Item::Label { at, anchor, style, words } => {
            let style = match style {
                LabelStyle::Plain => "plain",
                LabelStyle::Quiet => "quiet",
                LabelStyle::Strong => "strong",
            };
            let anchor = match anchor {
                TextAnchor::Start => "start",
                TextAnchor::Middle => "middle",
                TextAnchor::End => "end",
            };
            html! {
                text class=(style) text-anchor=(anchor) x=(px(at.x)) y=(px(height - at.y)) { (one_line(words)) }
            }
        }
    }
}

/// Corners as path data, y turned to point down, a hundredth of a pixel fine; corners that fall together are left out.
fn path(points: &[kurbo::Point], closed: bool, height: f64) -> String {
    let mut d = String::new();
    let mut last = 0;
    for p in points {
        let from = d.len();
        d.push(if from == 0 { 'M' } else { 'L' });
        push_plain(&mut d, p.x, DECIMALS);
        d.push(' ');
        push_plain(&mut d, height - p.y, DECIMALS);
        if from > 0 && d[from + 1..] == d[last + 1..from] {
            d.truncate(from);
        } else {
            last = from;
        }
    }
    if closed {
        d.push('Z');
    }
    d
}

/// Decimals of a length in page pixels.
const DECIMALS: usize = 2;

/// A length in page pixels.
fn px(value: f64) -> String {
    plain(value, DECIMALS)
}

/// The class that the style knows an ink by.
fn class(ink: Ink) -> &'static str {
    match ink {
        Ink::Axis => "axis",
        Ink::Grid => "grid",
        Ink::Wanted => "wanted",
        Ink::Table => "tabled",
        Ink::Pressed => "pressed",
        Ink::Released => "released",
        Ink::Limit => "limit",
        Ink::Place => "place",
        Ink::Band => "band",
        Ink::Area => "area",
        Ink::Bar => "bar",
        Ink::BarWatch => "bar-watch",
        Ink::BarStop => "bar-stop",
        Ink::BarRest => "bar-rest",
        Ink::Edge => "edge",
        Ink::Mark => "mark",
        Ink::Dimension => "dimension",
        Ink::Wood => "wood",
        Ink::Laminate => "laminate",
        Ink::Other => "other",
        Ink::FaceNear => "face-near",
        Ink::FaceTop => "face-top",
        Ink::FaceSide => "face-side",
        Ink::SkinTop => "skin-top",
        Ink::SkinEdge => "skin-edge",
        Ink::Metal => "metal",
        Ink::Film => "film",
        Ink::Breather => "breather",
        Ink::Bag => "bag",
        Ink::Tape => "tape",
        Ink::Leader => "leader",
        Ink::Ring => "ring",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawing::Step;
    use crate::finding::MarkedLine;

    fn page() -> Page {
        Page {
            title: "<b>Board</b> & co".to_owned(),
            kind: "build book".to_owned(),
            origin: "program 1".to_owned(),
            lead: vec![Block::Paragraph("</p><script>alert(1)</script>".to_owned())],
            sections: vec![Section {
                id: "one",
                heading: "One".to_owned(),
                blocks: vec![Block::Table(Listing {
                    rows: vec![vec![Cell::text("a"), Cell::Number(1.5, 1)]],
                    ..Listing::new("Rows", &["what", "figure"])
                })],
            }],
        }
    }

    #[test]
    fn words_never_become_markup() {
        let text = String::from_utf8(write_html(&page())).unwrap();
        assert!(!text.contains("<script") && !text.contains("<b>"), "{text}");
        assert!(text.contains("&lt;script&gt;") && text.contains("&lt;b&gt;Board&lt;/b&gt; &amp; co"));
    }

    #[test]
    fn a_row_of_a_card_says_what_its_cells_are_and_a_caution_stands_before_its_step() {
        let mut page = page();
        let step = Step::new("Saw.", "Along the line.").with_caution("No <gloves>.");
        page.sections[0].blocks.extend([
            Block::Steps(vec![step]),
            Block::Folded("2 checks ok".to_owned(), vec!["one".to_owned(), "two".to_owned()]),
            Block::Blanks(vec!["Date"]),
            Block::Facts(Tone::Look, "watch".to_owned(), vec![("value", "3 mm".to_owned())]),
        ]);
        let text = String::from_utf8(write_html(&page)).unwrap();
        assert!(text.contains("<td class=\"figures\" data-heading=\"figure\">1.5</td>"), "{text}");
        let (caution, head) = (text.find("No &lt;gloves&gt;.").unwrap(), text.find("<strong>Saw.</strong>").unwrap());
        assert!(caution < head);
        assert!(text.contains("<details><summary>2 checks ok</summary><ul><li>one</li><li>two</li></ul></details>"));
        assert!(text.contains("<li><span>Date</span><span class=\"line\"></span></li>"));
        assert!(text.contains("<p class=\"verdict look\">watch</p><dl><dt>value</dt><dd>3 mm</dd></dl>"));
    }

    #[test]
    fn a_notice_can_be_put_in_and_taken_away() {
        let plain = write_html(&page());
        let mut problem = ProblemText {
            sentence: "`<no>` is not a unit.".to_owned(),
            place: "board.toml, line 3, `units`".to_owned(),
            marked: vec![MarkedLine::new("units = \"<no>\"", 8..14)],
            remedy: "Write mm or in.".to_owned(),
            code: "wrong-choice",
        };
        let noticed = with_notice(&plain, "Not built", &[problem.clone()]).unwrap();
        let text = String::from_utf8(noticed.clone()).unwrap();
        assert!(text.contains("role=\"alert\"") && text.contains("<strong>`&lt;no&gt;` is not a unit.</strong>"));
        assert!(text.contains("<pre>units = <mark>&quot;&lt;no&gt;&quot;</mark>\n</pre>"), "{text}");
        assert!(text.contains("<small>(wrong-choice)</small>"));
        problem.marked.clear();
        let again = with_notice(&noticed, "Not built", &[problem]).unwrap();
        assert_eq!(String::from_utf8(again.clone()).unwrap().matches("role=\"alert\"").count(), 1);
        assert_eq!(with_notice(&again, "", &[]).unwrap(), plain);
        assert_eq!(with_notice(b"something else", "x", &[]), None);
    }
}
