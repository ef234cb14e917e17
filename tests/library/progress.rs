//! What is heard of long work while it goes on.

use std::sync::atomic::{AtomicUsize, Ordering};

use overbend::built::Progress;
use overbend::document::Document;
use overbend::run;

#[test]
fn a_check_reports_how_many_boards_are_simulated() {
    let document = Document::parse("job.toml", include_str!("../../examples/lake-board/job.toml")).unwrap();
    let most = AtomicUsize::new(0);
    let watch = |p: Progress| {
        if p.stage == "simulated boards" {
            assert_eq!(p.of, 2000);
            most.fetch_max(p.done, Ordering::Relaxed);
        }
    };
    run::check_watched(&document.job().unwrap(), &watch).unwrap();
    assert_eq!(most.into_inner(), 2000);
}
