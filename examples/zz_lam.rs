use overbend::document::Document;
use overbend::forecast::*;
use overbend::laminate::Laminate;
use std::time::Instant;
fn main() {
    let text = std::fs::read_to_string(std::env::args().nth(1).unwrap()).unwrap();
    let d = Document::parse("a", &text).unwrap();
    let job = d.job().unwrap();
    for _ in 0..3 {
        let t = Instant::now();
        let out = overbend::run::build(&job).unwrap();
        println!("build {:?}", t.elapsed());
        let _ = out;
        let t = Instant::now();
        let target = overbend::rocker::target(&job.rocker, &job.board).unwrap();
        println!("target {:?}", t.elapsed());
        let lam = Laminate::new(&job.layers, 0.0).unwrap();
        let setup = overbend::table::setup(&job.board, &job.pressing, job.table.end_margin_mm);
        let t = Instant::now();
        let bent = overbend::table::overbend(&target.curvature, target.anchor_mm, &lam, &setup).unwrap();
        println!("overbend {:?}", t.elapsed());
        let scene = Scene {
            surface: &bent.surface,
            blank: bent.blank,
            load: &setup.load,
            finished_base_mm: bent.finished_base_mm,
            anchor_mm: target.anchor_mm,
        };
        let t = Instant::now();
        let m = Model::new(&scene, &lam).unwrap();
        println!("model {:?} n={}", t.elapsed(), m.pressed().sections.len());
        let t = Instant::now();
        let f = forecast(&m, overbend::job::Share { value: 1.0, sd: 0.3 }, 2000, 1).unwrap();
        println!("forecast {:?} {:?} {:?}", t.elapsed(), f.tip_mm, f.springback_share);
        for s in &f.shares {
            println!("  {} {:.3}", s.input.name(), s.of_tip);
        }
    }
}
