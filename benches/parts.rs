//! How long each part of a build of the lake board takes. Run with `cargo bench`.

use divan::counter::{BytesCount, ItemsCount};
use divan::{Bencher, black_box};
use overbend::built::{Design, design};
use overbend::curve::{Curve, DEFAULT_TOLERANCE_MM, Parallel, PlaneCurve, fit_arcs};
use overbend::document::{Document, Inputs};
use overbend::draft;
use overbend::drawing::Paper;
use overbend::export::{
    DxfOptions, RollOptions, SheetOptions, SvgOptions, write_csv, write_dxf, write_html, write_roll, write_sheets,
    write_svg,
};
use overbend::forecast::{Model, Scene, forecast_on};
use overbend::press::contact::{Element, Strip, solve};
use overbend::press::{press, release};
use overbend::run;
use overbend::table;

#[path = "lake/mod.rs"]
mod lake;

use lake::{Lake, TEXT, lake};

fn main() {
    divan::main();
}

mod a_document {
    use super::*;

    /// TOML to a checked job, the catalogue of materials read already.
    #[divan::bench]
    fn parse() -> usize {
        let document = Document::parse("job", TEXT).unwrap_or_else(|p| panic!("{p:?}"));
        document.job().map_or(0, |j| j.layers.len())
    }
}

/// What a moving hand waits for: from the text of each example to target, stack, table and the checks of these.
mod live_path {
    use super::*;

    /// Name, text, and the file that it names.
    pub(super) type Example = (&'static str, &'static str, Option<(&'static str, &'static [u8])>);

    const EXAMPLES: [Example; 7] = [
        ("lake-board", TEXT, None),
        ("street-deck", include_str!("../examples/street-deck/job.toml"), None),
        ("sled-runner", include_str!("../examples/sled-runner/job.toml"), None),
        ("lane-deck", include_str!("../examples/lane-deck/job.toml"), None),
        ("ridge-boards", include_str!("../examples/ridge-boards/job.toml"), None),
        (
            "river-board",
            include_str!("../examples/river-board/job.toml"),
            Some(("board.csv", include_bytes!("../examples/river-board/board.csv"))),
        ),
        (
            "hill-board",
            include_str!("../examples/hill-board/job.toml"),
            Some(("profile.dxf", include_bytes!("../examples/hill-board/profile.dxf"))),
        ),
    ];

    pub(super) fn example(name: &str) -> Example {
        EXAMPLES.into_iter().find(|e| e.0 == name).unwrap_or(EXAMPLES[0])
    }

    #[divan::bench(args = EXAMPLES.map(|e| e.0))]
    fn of(bencher: Bencher<'_, '_>, name: &str) {
        let (_, text, file) = example(name);
        let mut inputs = Inputs::default();
        if let Some((name, bytes)) = file {
            inputs.add(name, Ok(bytes.to_vec()));
        }
        bencher.bench_local(|| {
            let document = Document::parse("job", black_box(text)).unwrap_or_else(|p| panic!("{p:?}"));
            let job = document.job_with(&inputs).unwrap_or_else(|p| panic!("{p:?}"));
            design(&job).unwrap_or_else(|f| panic!("{f:?}")).quick_checks().len()
        });
    }
}

mod b_curve {
    use super::*;

    /// The table's curvature in pieces of 5 mm, integrated.
    #[divan::bench]
    fn integration(bencher: Bencher<'_, '_>) {
        let pieces = lake().built.design.table.surface.refined(5.0);
        let count = pieces.pieces().len();
        bencher.counter(ItemsCount::new(count)).bench_local(|| Curve::new(black_box(&pieces).clone()));
    }

    /// A thousand places on the parallel under the skin.
    #[divan::bench]
    fn parallel(bencher: Bencher<'_, '_>) {
        let curve = &lake().built.design.table.resting;
        let (from, to) = curve.range_mm();
        bencher.counter(ItemsCount::new(1001_usize)).bench_local(|| {
            let below = Parallel::new(curve, -4.2).unwrap_or_else(|e| panic!("{e:?}"));
            let at = |i: u32| below.at(from + (to - from) * f64::from(i) / 1000.0).point.y;
            (0..=1000).map(at).sum::<f64>()
        });
    }

    /// Arcs within 0.01 mm of it: a rib's top edge.
    #[divan::bench]
    fn arcs(bencher: Bencher<'_, '_>) {
        let curve = &lake().built.design.table.resting;
        let (from, to) = curve.range_mm();
        let below = Parallel::new(curve, -4.2).unwrap_or_else(|e| panic!("{e:?}"));
        bencher.bench_local(|| fit_arcs(&below, from, to, DEFAULT_TOLERANCE_MM));
    }
}

mod c_press {
    use super::*;

    /// A stack on an arc that it lifts off from at both ends, 200 elements.
    #[divan::bench]
    fn contact(bencher: Bencher<'_, '_>) {
        let element = Element { stiffness_n_mm: [5e5; 2], bend_per_mm: [1.0 / 1500.0; 2], pressure_mpa: 0.08 };
        let nodes_mm = (0..=200).map(|i| 7.0 * f64::from(i)).collect();
        let strip = Strip { nodes_mm, elements: vec![element; 200], forces_n_per_mm: Vec::new() };
        bencher.bench_local(|| solve(black_box(&strip), None));
    }

    /// One press and release at default accuracy.
    #[divan::bench]
    fn forward(bencher: Bencher<'_, '_>) {
        let Design { laminate, setup, table: bent, .. } = &lake().built.design;
        bencher.bench_local(|| press(&bent.surface, laminate, bent.blank, &setup.load).map(|p| release(&p)));
    }

    /// The table for a wanted curve, with the pressing and release that checks it.
    #[divan::bench]
    fn inverse(bencher: Bencher<'_, '_>) {
        let Design { target, laminate, setup, .. } = &lake().built.design;
        bencher.bench_local(|| table::overbend(&target.curvature, target.anchor_mm, laminate, setup));
    }
}

mod d_forecast {
    use super::*;

    fn scene(lake: &Lake) -> Scene<'_> {
        Scene::designed(&lake.built.design.table, &lake.built.design.setup.load, lake.built.design.target.anchor_mm)
    }

    /// The contact solved for a ladder of stiffnesses, once for all draws.
    #[divan::bench]
    fn ladder(bencher: Bencher<'_, '_>) {
        let scene = scene(lake());
        bencher.bench_local(|| Model::new(&scene, &lake().built.design.laminate));
    }

    /// 2000 boards on one core and on all: the time of one is a 2000th.
    #[divan::bench(args = [1, cores()])]
    fn draws_of_2000(bencher: Bencher<'_, '_>, threads: usize) {
        let lake = lake();
        let model = Model::new(&scene(lake), &lake.built.design.laminate).unwrap_or_else(|e| panic!("{e:?}"));
        let factor = lake.built.design.job.forecast.springback;
        bencher
            .counter(ItemsCount::new(2000_usize))
            .bench_local(|| forecast_on(&model, factor, 2000, 1, threads, &|_| ()));
    }

    fn cores() -> usize {
        std::thread::available_parallelism().map_or(1, std::num::NonZero::get)
    }
}

mod e_export {
    use super::*;

    #[divan::bench]
    fn dxf(bencher: Bencher<'_, '_>) {
        let write = || write_dxf(&lake().ribs, &DxfOptions::default()).map_or(0, |b| b.len());
        bencher.counter(BytesCount::new(write())).bench_local(write);
    }

    #[divan::bench]
    fn svg(bencher: Bencher<'_, '_>) {
        let write = || write_svg(&lake().ribs, &SvgOptions::default()).map_or(0, |b| b.len());
        bencher.counter(BytesCount::new(write())).bench_local(write);
    }

    #[divan::bench]
    fn pattern_sheets(bencher: Bencher<'_, '_>) {
        let options = SheetOptions::on(Paper { width_mm: 210.0, height_mm: 297.0 });
        let write = || write_sheets(&lake().ribs, &options).map_or(0, |p| p.bytes.len());
        bencher.counter(BytesCount::new(write())).bench_local(write);
    }

    #[divan::bench]
    fn pattern_roll(bencher: Bencher<'_, '_>) {
        let write = || write_roll(&lake().ribs, &RollOptions::on(914.0)).map_or(0, |p| p.bytes.len());
        bencher.counter(BytesCount::new(write())).bench_local(write);
    }

    #[divan::bench]
    fn csv(bencher: Bencher<'_, '_>) {
        let write = || write_csv(&draft::stations(&lake().built.jig, 0), "bench").len();
        bencher.counter(BytesCount::new(write())).bench_local(write);
    }

    /// The figures, made and written.
    #[divan::bench]
    fn json(bencher: Bencher<'_, '_>) {
        let write = || serde_json::to_vec_pretty(&draft::result(&lake().built)).map_or(0, |b| b.len());
        bencher.counter(BytesCount::new(write())).bench_local(write);
    }

    /// The build book, drawn and written.
    #[divan::bench]
    fn book(bencher: Bencher<'_, '_>) {
        let write = || write_html(&draft::book(&lake().built)).len();
        bencher.counter(BytesCount::new(write())).bench_local(write);
    }
}

mod f_whole {
    use super::*;

    /// From text to table and jig.
    #[divan::bench(args = ["lake-board", "street-deck", "sled-runner"])]
    fn live_with_jig(bencher: Bencher<'_, '_>, name: &str) {
        let (_, text, _) = live_path::example(name);
        bencher.bench_local(|| design(&lake::job(text)).and_then(|d| d.jig()).map_or(0, |j| j.ribs.len()));
    }

    /// From text to all files, 2000 simulated boards.
    #[divan::bench]
    fn build() -> usize {
        run::build(&lake::job(TEXT)).map_or(0, |o| o.files.len())
    }

    /// The same without simulated boards.
    #[divan::bench]
    fn build_without_draws(bencher: Bencher<'_, '_>) {
        let text = lake::certain();
        bencher.bench_local(|| run::build(&lake::job(&text)).map_or(0, |o| o.files.len()));
    }

    /// A board held by clamps: its overhangs are searched for by pressing.
    #[divan::bench]
    fn build_with_clamps(bencher: Bencher<'_, '_>) {
        let text = include_str!("../examples/sled-runner/job.toml");
        bencher.bench_local(|| run::build(&lake::job(text)).map_or(0, |o| o.files.len()));
    }
}
