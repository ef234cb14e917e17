//! The build book as a file: what a builder needs stands in it, and nothing that runs or asks a network.
//! How it looks is judged in a browser by `tests/readers/book.py`.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};

use overbend::document::Document;
use overbend::run;
use tempfile::TempDir;

fn job(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples").join(name).join("job.toml");
    fs::read_to_string(path).unwrap()
}

fn built(text: &str) -> (String, serde_json::Value) {
    let document = Document::parse("job", text).unwrap_or_else(|p| panic!("{p:#?}"));
    let job = document.job().unwrap_or_else(|p| panic!("{p:#?}"));
    let outcome = run::build(&job).unwrap_or_else(|f| panic!("{f:#?}"));
    let file = |name: &str| outcome.files.iter().find(|f| f.name == name).unwrap().bytes.clone();
    let book = String::from_utf8(file("book.html")).unwrap();
    (book, serde_json::from_slice(&file("result.json")).unwrap())
}

/// The page's words without its marks and pictures' styles, white space squeezed.
fn words(html: &str) -> String {
    let body = &html[html.find("<body").unwrap()..];
    let mut out = String::new();
    let mut inside = false;
    for c in body.chars() {
        match c {
            '<' => inside = true,
            '>' => {
                inside = false;
                out.push(' ');
            }
            c if !inside => out.push(c),
            _ => {}
        }
    }
    out.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn the_book_needs_no_script_and_no_network() {
    for name in ["lake-board", "sled-runner", "street-deck"] {
        let (book, _) = built(&job(name));
        for never in ["<script", "javascript:", "onload=", "onclick=", "<iframe", "@import", "url(", "src="] {
            assert!(!book.contains(never), "{name}: {never}");
        }
        let addresses = book.matches("http://").count() + book.matches("https://").count();
        assert_eq!(addresses, book.matches("http://www.w3.org/2000/svg").count(), "{name}: an address");
    }
}

#[test]
fn figures_come_in_two_sizes_with_titles_and_descriptions() {
    let (book, _) = built(&job("lake-board"));
    let figures = book.matches("<figure>").count();
    assert!(figures >= 8, "{figures} figures");
    assert_eq!(book.matches("<svg").count(), 2 * figures);
    assert_eq!(book.matches("<desc id=").count(), 2 * figures);
    assert_eq!(book.matches("role=\"img\"").count(), 2 * figures);
}

#[test]
fn the_numbers_of_the_result_stand_in_the_sentences() {
    let (book, result) = built(&job("lake-board"));
    let said = words(&book);
    let mm = |value: &serde_json::Value| format!("{:.1} mm", value.as_f64().unwrap());
    let table = &result["table"];
    assert!(said.contains(&format!("rises to {} under the finished tip", mm(&table["tip_height_mm"]))), "{said}");
    let share = format!("springs back by {:.1} %", 100.0 * result["stack"]["springback_share"].as_f64().unwrap());
    assert!(said.contains(&share), "{share}");
    // The blank has 1340 mm and twice 60 mm along its base, which the bend of 0.2 1/m stretches by a thousandth over the
    // neutral axis 4.8 mm above it: 1458.6 mm on the flat. With 400 mm and twice 5 mm to trim that is 0.598 m²; three
    // glue lines at 150 and 250 g/m² take 269 g and 449 g.
    let steps = &said[said.find("Cut the layers").unwrap()..];
    assert!(steps.contains("410.0 mm wide before trimming"), "{steps}");
    assert!(steps.contains("3 glue lines of 0.598 m² each take 269 g to 449 g"), "{steps}");
    // 85 kPa on 1458.6 mm by the finished 400 mm is 49.6 kN, the figure of result.json.
    assert!(steps.contains("closing force over the finished width is then 49.6 kN"), "{steps}");
    let force = result["pressed"]["closing_force_n"].as_f64().unwrap();
    assert!((force / 1e3 - 0.085 * 400.0 * 1.4586).abs() < 0.01, "{force}");
}

#[test]
fn the_form_has_the_stations_of_the_listing() {
    let (book, _) = built(&job("street-deck"));
    let form = &book[book.find("Heights of the base above the floor").unwrap()..];
    let form = &form[..form.find("</table>").unwrap()];
    let listed = &book[book.find(">Stations</caption>").unwrap()..];
    let listed = &listed[..listed.find("</table>").unwrap()];
    assert_eq!(form.matches("<tr>").count(), listed.matches("<tr>").count());
    assert_eq!(form.matches("\"></td>").count(), 2 * (form.matches("<tr>").count() - 1));
}

#[test]
fn cautions_defer_to_codes_and_overrides_are_in_plain_sight() {
    let plain = job("lake-board");
    let (book, _) = built(&plain);
    assert!(words(&book).contains("Local regulations and the advice of qualified professionals come before anything"));
    assert!(!words(&book).contains("Overridden by the shop"));
    let (book, _) = built(&format!("accept = [\"layer-strain\"]\n{plain}"));
    let said = words(&book);
    let first = &said[..said.find("Before you cut Each").unwrap()];
    assert!(first.contains("Overridden by the shop, by name: layer-strain."), "{first}");
    assert!(said.contains("ok, overridden"), "{said}");
}

#[test]
fn film_and_bag_of_the_result_stand_in_the_steps() {
    let (book, result) = built(&job("lake-board"));
    let said = words(&book);
    let used = &result["consumables"];
    let mm = |value: &serde_json::Value| format!("{:.1} mm", value.as_f64().unwrap());
    let size = |of: &str| format!("{} by {}", mm(&used[of]["length_mm"]), mm(&used[of]["width_mm"]));
    assert!(said.contains(&format!("Two pieces, {}: one under the stack", size("film"))), "{used}");
    assert!(said.contains(&format!("Bag film {}, a tenth of slack", size("bag"))), "{used}");
    assert!(said.contains(&format!("Leave a land of {}", mm(&used["land_mm"]))), "{used}");
    // 520 mm of table, a land on both sides.
    assert!(used["film"]["width_mm"].as_f64().unwrap() <= 520.0 - 2.0 * used["land_mm"].as_f64().unwrap() + 1e-6);
}

#[test]
fn cautions_stand_before_their_steps_and_lines_to_write_on_where_something_is_written() {
    for (name, hold) in [("lake-board", "ten tonnes on a square metre"), ("sled-runner", "Clamps store force")] {
        let said = words(&built(&job(name)).0);
        let at = |what: &str, from: &str| {
            let start = said.find(from).unwrap_or_else(|| panic!("{name}: {from}"));
            start + said[start..].find(what).unwrap_or_else(|| panic!("{name}: {what} behind {from}"))
        };
        let steps = "Build the table";
        assert!(at("no gloves at the blade", steps) < at("Cut the ribs.", steps), "{name}");
        assert!(at("nitrile gloves", "Pressing day") < at("Mix the resin.", "Pressing day"), "{name}");
        assert!(at(hold, "Dry fit") < at("Press once without resin.", "Dry fit"), "{name}");
        assert!(at("stores energy", "Release, measure") < at("Release in steps.", "Release, measure"), "{name}");
        for line in ["Batch of wood", "Resin and hardener", "Released at"] {
            at(line, "Pressing day");
        }
        assert_eq!(said.contains("Gauge after five minutes"), name == "lake-board");
        assert!(!said.contains("____"), "{name}");
    }
}

#[test]
fn checks_that_are_not_ok_stand_in_full_and_the_others_are_folded() {
    let (book, result) = built(&job("lake-board").replace("lowest_height = 60", "lowest_height = 40"));
    let checks = result["checks"].as_array().unwrap();
    let (ok, not): (Vec<_>, Vec<_>) = checks.iter().partition(|c| c["verdict"] == "ok");
    assert!(!ok.is_empty() && !not.is_empty(), "{checks:#?}");
    assert_eq!(book.matches("<div class=\"facts\">").count(), not.len());
    let folded = &book[book.find("<details>").unwrap()..book.find("</details>").unwrap()];
    assert!(folded.contains(&format!("{} checks ok", ok.len())), "{folded}");
    assert_eq!(folded.matches("<li>").count(), ok.len());
    for check in not {
        assert!(book.contains(&format!("[{}]", check["code"].as_str().unwrap())), "{check}");
    }
}

const TAPERED: &str = "thickness = 4\nplies = 2";
const TAPER: &str = "taper = [[-670, 1.5], [0, 4], [670, 2]]\nplies = 2";

#[test]
fn a_tapered_core_has_its_curve_its_stations_and_its_planing_rails() {
    let text = job("lake-board").replace(TAPERED, TAPER);
    let (book, _) = built(&text);
    let said = words(&book);
    assert!(said.contains("Thickness of core along the board, plies 1 and 2"), "{said}");
    let listed = &book[book.find(">Thickness of core, plies 1 and 2</caption>").unwrap()..];
    let listed = &listed[..listed.find("</table>").unwrap()];
    // Half of the way from 1.5 to 4 mm at the station 335 mm behind the middle would be 2.75; at -300 mm it is 2.88.
    let row = listed.split("<tr>").find(|r| r.contains(">-300.0 mm<")).unwrap();
    assert!(row.contains(">2.88 mm<"), "{row}");
    let document = Document::parse("job", &text).unwrap();
    let outcome = run::build(&document.job().unwrap()).unwrap();
    let svg = outcome.files.iter().find(|f| f.name == "members.svg").unwrap();
    let svg = String::from_utf8(svg.bytes.clone()).unwrap();
    assert!(svg.contains("planing-1") && svg.contains("PLANING RAIL 1"), "{svg}");
    assert!(!built(&job("lake-board")).0.contains("laning rail"));
}

#[test]
fn every_table_has_the_details_that_it_is_built_with() {
    let has = |book: &str, title: &str| book.contains(&format!(". {title}"));
    let (lake, sled, deck) = (built(&job("lake-board")).0, built(&job("sled-runner")).0, built(&job("street-deck")).0);
    for (book, bag, joint, lap, bearer) in
        [(&lake, true, false, false, false), (&sled, false, true, true, false), (&deck, true, false, false, true)]
    {
        assert_eq!(has(book, "Table, films, stack and bag"), bag);
        assert_eq!(has(book, "Joint of rib"), joint);
        assert_eq!(has(book, "Half-lap of ribs"), lap);
        assert_eq!(book.contains("Seen from the left, the tip to the right"), bearer);
        assert!(has(book, "Checking for wind"));
    }
}

#[test]
fn a_title_and_a_layers_name_stay_words() {
    let text = job("lake-board").replace("title = \"Lake board\"", "title = \"<i>Board</i> & \\\"co\\\"\"").replace(
        "name = \"core\"",
        "name = \"<script>alert(1)</script> a name far too long for any label of a figure\"",
    );
    let (book, _) = built(&text);
    assert!(!book.contains("<script") && !book.contains("<i>"));
    assert!(book.contains("&lt;i&gt;Board&lt;/i&gt; &amp; &quot;co&quot;"));
}

/// Ends what it started, whatever happens.
struct Started(Child);

impl Drop for Started {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

/// Waits until the book says something; the bound is there to end a broken run, not to measure.
fn book_that(out: &Path, says: impl Fn(&str) -> bool) -> String {
    let path: PathBuf = out.join("book.html");
    for _ in 0..1200 {
        if let Some(text) = fs::read_to_string(&path).ok().filter(|t| says(t)) {
            return text;
        }
        std::thread::sleep(std::time::Duration::from_millis(50));
    }
    panic!("the book never said it");
}

#[test]
fn watching_rebuilds_on_a_save_and_shows_errors_in_the_last_good_book() {
    let dir = TempDir::new().unwrap();
    let (file, out) = (dir.path().join("job.toml"), dir.path().join("out"));
    let good = job("lake-board");
    fs::write(&file, &good).unwrap();
    let child = Command::new(assert_cmd::cargo::cargo_bin("overbend"))
        .args(["watch", file.to_str().unwrap(), "-o", out.to_str().unwrap()])
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let _started = Started(child);
    let first = book_that(&out, |b| b.contains("<h1>Lake board</h1>"));
    assert!(!first.contains("role=\"alert\""));

    fs::write(&file, good.replace("width = 400", "width = \"broad\"")).unwrap();
    let book = book_that(&out, |b| b.contains("role=\"alert\""));
    assert!(
        book.contains("<h1>Lake board</h1>") && book.contains("job.toml, line 8, `width`"),
        "the last good book with the place"
    );
    assert!(out.join("ribs.dxf").exists());

    fs::write(&file, good.replace("Lake board", "Pond board")).unwrap();
    let again = book_that(&out, |b| b.contains("<h1>Pond board</h1>"));
    assert!(!again.contains("role=\"alert\""));
}

/// What the open book answers to a path.
fn asked(host: &str, path: &str) -> String {
    use std::io::{Read, Write};
    let mut stream = std::net::TcpStream::connect(host).unwrap();
    stream.write_all(format!("GET {path} HTTP/1.1\r\nHost: {host}\r\n\r\n").as_bytes()).unwrap();
    let mut answer = String::new();
    stream.read_to_string(&mut answer).unwrap();
    answer
}

#[test]
fn the_open_book_changes_with_every_save_and_is_told_to_who_knows_its_path_alone() {
    use std::io::{BufRead, BufReader};
    let dir = TempDir::new().unwrap();
    let (file, out) = (dir.path().join("job.toml"), dir.path().join("out"));
    fs::write(&file, job("lake-board")).unwrap();
    let mut child = Command::new(assert_cmd::cargo::cargo_bin("overbend"))
        .args(["watch", file.to_str().unwrap(), "-o", out.to_str().unwrap()])
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut talk = BufReader::new(child.stderr.take().unwrap()).lines();
    let _started = Started(child);
    let address = talk.find_map(|l| l.unwrap().split_once("http://").map(|(_, rest)| rest.to_owned())).unwrap();
    // What it says later must not stop it.
    std::thread::spawn(move || talk.for_each(drop));
    let address = address.split(' ').next().unwrap();
    let (host, path) = address.split_at(address.find('/').unwrap());
    assert!(host.starts_with("127.0.0.1:") && path.len() == 34 && path.ends_with('/'), "{address}");
    let page_that = |says: &str| {
        for _ in 0..1200 {
            let page = asked(host, path);
            if page.contains(says) {
                return page;
            }
            std::thread::sleep(std::time::Duration::from_millis(50));
        }
        panic!("the open book never said {says}");
    };
    let first = page_that("<h1>Lake board</h1>");
    assert!(first.starts_with("HTTP/1.1 200 OK") && first.contains("Content-Security-Policy: default-src 'none'"));
    let built = |page: &str| -> u128 {
        page.split("data-built=\"").nth(1).unwrap().split('"').next().unwrap().parse().unwrap()
    };
    assert!(asked(host, &format!("{path}built")).ends_with(&built(&first).to_string()));
    assert!(asked(host, "/").starts_with("HTTP/1.1 404") && asked(host, "/book.html").starts_with("HTTP/1.1 404"));
    fs::write(&file, job("lake-board").replace("width = 400", "width = \"broad\"")).unwrap();
    let book = page_that("role=\"alert\"");
    assert!(built(&book) > built(&first));
    // The file in the folder stays without a script.
    assert!(!fs::read_to_string(out.join("book.html")).unwrap().contains("<script"));
}

#[test]
fn watching_advises_only_what_it_has() {
    let dir = TempDir::new().unwrap();
    let (file, out) = (dir.path().join("job.toml"), dir.path().join("out"));
    fs::write(&file, job("lake-board")).unwrap();
    fs::create_dir(&out).unwrap();
    fs::write(out.join("ours.txt"), "by hand").unwrap();
    let mut watch = Command::new(assert_cmd::cargo::cargo_bin("overbend"));
    let output = watch.args(["watch", file.to_str().unwrap(), "-o", out.to_str().unwrap()]).output().unwrap();
    let said = String::from_utf8(output.stderr).unwrap();
    assert!(said.contains("ours.txt") && !said.contains("--force"), "{said}");
}

#[test]
fn watching_sees_a_save_of_a_file_that_the_job_names() {
    let dir = TempDir::new().unwrap();
    let from = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/river-board");
    for entry in fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        if entry.file_type().unwrap().is_file() {
            fs::copy(entry.path(), dir.path().join(entry.file_name())).unwrap();
        }
    }
    let (file, out, readings) = (dir.path().join("job.toml"), dir.path().join("out"), dir.path().join("board.csv"));
    let text = fs::read_to_string(&readings).unwrap();
    let child = Command::new(assert_cmd::cargo::cargo_bin("overbend"))
        .args(["watch", file.to_str().unwrap(), "-o", out.to_str().unwrap()])
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let _started = Started(child);
    book_that(&out, |b| !b.contains("role=\"alert\""));
    fs::write(&readings, "station,height\n0,tall\n").unwrap();
    let book = book_that(&out, |b| b.contains("role=\"alert\""));
    assert!(book.contains("tall"), "the last good book says what is wrong in the file");
    fs::write(&readings, text).unwrap();
    book_that(&out, |b| !b.contains("role=\"alert\""));
}
