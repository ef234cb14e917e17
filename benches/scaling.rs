//! How the time grows with the work. Run with `cargo bench --bench scaling`.
//!
//! Each row is timed at several sizes; the exponent is the slope of a straight line through the logarithms of time and
//! size. Exponent 1 is ten times the time for ten times the work; 1.04 is eleven times.
#![allow(
    clippy::print_stdout,
    clippy::disallowed_methods,
    reason = "a program that reads the clock and prints what it measures"
)]

use std::hint::black_box;
use std::time::Instant;

use kurbo::Point;
use overbend::curve::{Curvature, Curve, DEFAULT_TOLERANCE_MM, Parallel, PlaneCurve, fit_arcs};
use overbend::document::{Document, Inputs};
use overbend::drawing::{Contour, Vertex};
use overbend::forecast::{Model, Scene, forecast_on};
use overbend::job::{Frame, RibLayout};
use overbend::run;
use overbend::stock::nest;

#[path = "lake/mod.rs"]
mod lake;
#[path = "sheet/mod.rs"]
mod sheet;

use lake::lake;
use sheet::plywood;

/// A size is run again until this much time has gone by, s; the quickest run counts, which other people's work on the
/// machine delays least.
const LONG_ENOUGH_S: f64 = 0.3;
/// Runs at least, if none takes so long that one must do.
const RUNS: usize = 3;

fn main() {
    println!(
        "{:<44} {:>8}  {:>10} {:>10} {:>10} {:>10}",
        "work", "exponent", "sizes and quickest times in ms", "", "", ""
    );
    row("ribs: build without sheets, bars and draws", &[5, 16, 50, 160, 500], ribs);
    row("stations: build without draws", &[10, 100, 1000], stations_listed);
    row("readings of a board: curve fitted", &[20, 200, 2000], readings_fitted);
    row("curve points: integrated", &[200, 2000, 20_000], integrated);
    row("curve points: parallel at every point", &[200, 2000, 20_000], parallel);
    row("curve points: arcs fitted", &[200, 2000, 20_000], arcs);
    row("draws on one core", &[100, 1000, 10_000, 100_000], |n| draws(n, 1));
    let cores = std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
    row(&format!("draws on {cores} cores"), &[100, 1000, 10_000, 100_000], |n| draws(n, cores));
    row("different parts on sheets", &[10, 30, 100, 300], different_parts);
    row("equal ribs on sheets", &[10, 30, 100, 300], equal_ribs);
}

/// Times one kind of work at its sizes. `work` prepares a size and returns what is timed.
fn row(name: &str, sizes: &[usize], work: impl Fn(usize) -> Box<dyn Fn()>) {
    let timed: Vec<(usize, f64)> = sizes.iter().map(|n| (*n, quickest_s(&*work(*n)))).collect();
    let cells: Vec<String> = timed.iter().map(|(n, s)| format!("{n}: {:.3}", 1e3 * s)).collect();
    println!("{name:<44} {:>8.2}  {}", exponent(&timed), cells.join("   "));
}

fn quickest_s(work: &dyn Fn()) -> f64 {
    let (begun, mut best, mut runs) = (Instant::now(), f64::INFINITY, 0);
    while runs < RUNS || begun.elapsed().as_secs_f64() < LONG_ENOUGH_S {
        let from = Instant::now();
        work();
        best = best.min(from.elapsed().as_secs_f64());
        runs += 1;
        if best > 5.0 {
            break;
        }
    }
    best
}

fn exponent(timed: &[(usize, f64)]) -> f64 {
    let points: Vec<(f64, f64)> = timed.iter().map(|(n, s)| ((*n as f64).ln(), s.ln())).collect();
    let count = points.len() as f64;
    let (mx, my) = (points.iter().map(|p| p.0).sum::<f64>() / count, points.iter().map(|p| p.1).sum::<f64>() / count);
    let (xy, xx) = points.iter().fold((0.0, 0.0), |(xy, xx), (x, y)| (xy + (x - mx) * (y - my), xx + (x - mx).powi(2)));
    xy / xx
}

fn ribs(count: usize) -> Box<dyn Fn()> {
    let mut job = lake::job(&lake::certain());
    job.stock.sheets.clear();
    (job.stock.spacer_bars, job.stock.rod_bars) = (None, None);
    if let Frame::Ribs(frame) = &mut job.table.frame {
        frame.ribs.layout = RibLayout::Count(count);
        frame.ribs.thickness_mm = 0.5;
    }
    Box::new(move || {
        black_box(run::build(&job).unwrap_or_else(|f| panic!("{f:?}")));
    })
}

fn stations_listed(count: usize) -> Box<dyn Fn()> {
    let mut job = lake::job(&lake::certain());
    job.table.station_pitch_mm = job.board.length_mm / count as f64;
    Box::new(move || {
        black_box(run::build(&job).unwrap_or_else(|f| panic!("{f:?}")));
    })
}

/// A kicked board read at so many stations, with errors that the fit must smooth.
fn readings_fitted(count: usize) -> Box<dyn Fn()> {
    let at = |i: usize| {
        let x = 1400.0 * i as f64 / (count - 1) as f64;
        let kick = (x - 900.0).max(0.0);
        format!("[{x:.3}, {:.3}]", 4e-7 * kick * kick * kick + 0.3 * (7.0 * i as f64).sin().abs())
    };
    let readings = (0..count).map(at).collect::<Vec<_>>().join(", ");
    let text =
        format!("title = \"Read\"\n[board]\nlength = 1400\nwidth = 300\n[rocker.measured]\nreadings = [{readings}]\n");
    let document = Document::parse("read.toml", &text).unwrap_or_else(|p| panic!("{p:?}"));
    let wanted = document.wanted_with(&Inputs::default()).unwrap_or_else(|p| panic!("{p:?}"));
    Box::new(move || {
        black_box(run::target(&wanted).unwrap_or_else(|f| panic!("{f:?}")));
    })
}

/// Curvature that swings five times along a board.
fn swinging(points: usize) -> Curvature {
    let last = (points - 1) as f64;
    let at = |i: usize| (1400.0 * (i as f64 / last - 0.5), 2e-4 + 2e-4 * (31.4 * i as f64 / last).sin());
    Curvature::through(&(0..points).map(at).collect::<Vec<_>>()).unwrap_or_else(|e| panic!("{e:?}"))
}

fn integrated(points: usize) -> Box<dyn Fn()> {
    let curvature = swinging(points);
    Box::new(move || {
        black_box(Curve::new(curvature.clone()));
    })
}

fn parallel(points: usize) -> Box<dyn Fn()> {
    let curve = Curve::new(swinging(points));
    Box::new(move || {
        let below = Parallel::new(&curve, -4.2).unwrap_or_else(|e| panic!("{e:?}"));
        let heights = curve.breaks_mm().into_iter().map(|s| below.at(s).point.y);
        black_box(heights.sum::<f64>());
    })
}

fn arcs(points: usize) -> Box<dyn Fn()> {
    let curve = Curve::new(swinging(points));
    Box::new(move || {
        let (from, to) = curve.range_mm();
        black_box(fit_arcs(&curve, from, to, DEFAULT_TOLERANCE_MM).unwrap_or_else(|e| panic!("{e:?}")));
    })
}

fn draws(count: usize, threads: usize) -> Box<dyn Fn()> {
    let lake = lake();
    let scene =
        Scene::designed(&lake.built.design.table, &lake.built.design.setup.load, lake.built.design.target.anchor_mm);
    let model = Model::new(&scene, &lake.built.design.laminate).unwrap_or_else(|e| panic!("{e:?}"));
    let factor = lake.built.design.job.forecast.springback;
    Box::new(move || {
        black_box(forecast_on(&model, factor, count, 1, threads, &|_| ()));
    })
}

fn different_parts(count: usize) -> Box<dyn Fn()> {
    nested((0..count).map(|i| rib(300.0 + ((i * 7919) % 1009) as f64)).collect())
}

fn equal_ribs(count: usize) -> Box<dyn Fn()> {
    nested(vec![rib(1400.0); count])
}

fn nested(parts: Vec<Contour>) -> Box<dyn Fn()> {
    let (stock, rules) = plywood();
    Box::new(move || {
        black_box(nest(&parts.iter().collect::<Vec<_>>(), &stock, &rules));
    })
}

/// A rib with a hollow top.
fn rib(length_mm: f64) -> Contour {
    let corners = [(0.0, 0.0, 0.0), (length_mm, 0.0, 0.0), (length_mm, 110.0, -0.06), (0.0, 110.0, 0.0)];
    let vertex = |(x, y, bulge)| Vertex { point: Point::new(x, y), bulge };
    Contour::closed(corners.map(vertex).to_vec()).unwrap_or_else(|e| panic!("{e:?}"))
}
