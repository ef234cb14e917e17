//! A progress bar on a terminal, shown after half a second.

use std::io::Write;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Condvar, Mutex, PoisonError};
use std::thread::{self, JoinHandle};
use std::time::Duration;

use overbend::built::Progress;

use crate::report::someone_watches;

/// Shorter work shows no bar.
const PATIENCE: Duration = Duration::from_millis(500);
/// Time between two updates of the bar.
const TICK: Duration = Duration::from_millis(100);
/// Width of the bar, characters.
const WIDTH: usize = 30;
/// Only one bar at a time: of several documents, the first one shows it.
static SHOWN: AtomicBool = AtomicBool::new(false);

/// A bar on stderr, erased on drop. Empty where stderr is not a terminal or another bar is showing.
pub(crate) struct Bar {
    inner: Option<Inner>,
}

struct Inner {
    state: Arc<State>,
    painter: Option<JoinHandle<()>>,
}

struct State {
    now: Mutex<(Option<Progress>, bool)>,
    ended: Condvar,
}

impl Bar {
    /// Starts the wait before the bar appears.
    pub(crate) fn begin(what: &str) -> Self {
        if !someone_watches() || SHOWN.swap(true, Ordering::AcqRel) {
            return Self { inner: None };
        }
        let state = Arc::new(State { now: Mutex::new((None, false)), ended: Condvar::new() });
        let (seen, what) = (Arc::clone(&state), what.to_owned());
        let painter = thread::spawn(move || paint(&seen, &what));
        Self { inner: Some(Inner { state, painter: Some(painter) }) }
    }

    /// Updates the progress.
    pub(crate) fn update(&self, progress: Progress) {
        if let Some(inner) = &self.inner {
            let mut now = inner.state.now.lock().unwrap_or_else(PoisonError::into_inner);
            // Threads report in any order; the bar never moves back within a stage.
            let back = now.0.is_some_and(|p| p.stage == progress.stage && p.done > progress.done);
            if !back {
                now.0 = Some(progress);
            }
        }
    }
}

impl Drop for Bar {
    fn drop(&mut self) {
        let Some(inner) = &mut self.inner else { return };
        inner.state.now.lock().unwrap_or_else(PoisonError::into_inner).1 = true;
        inner.state.ended.notify_all();
        if let Some(painter) = inner.painter.take() {
            // A painter that failed has painted nothing that matters.
            let _ = painter.join();
        }
        SHOWN.store(false, Ordering::Release);
    }
}

fn paint(state: &State, what: &str) {
    let mut wait = PATIENCE;
    let mut painted = false;
    let mut now = state.now.lock().unwrap_or_else(PoisonError::into_inner);
    loop {
        now = state.ended.wait_timeout_while(now, wait, |n| !n.1).unwrap_or_else(PoisonError::into_inner).0;
        if now.1 {
            break;
        }
        write(&format!("\r\x1b[K{}", picture(what, now.0)));
        painted = true;
        wait = TICK;
    }
    if painted {
        write("\r\x1b[K");
    }
}

fn picture(what: &str, progress: Option<Progress>) -> String {
    let Some(p) = progress else { return format!("{what}: computing table and pressing") };
    let full = WIDTH * p.done.min(p.of) / p.of.max(1);
    format!("{what}: [{}{}] {} {}/{}", "=".repeat(full), " ".repeat(WIDTH - full), p.stage, p.done.min(p.of), p.of)
}

fn write(text: &str) {
    let mut out = std::io::stderr().lock();
    // If stderr fails, nobody is watching.
    let _ = out.write_all(text.as_bytes()).and_then(|()| out.flush());
}
