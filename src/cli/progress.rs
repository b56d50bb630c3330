//! A bar on standard error for runs that take their time: at a terminal only, after a second only.
//!
//! In a pipe and with `--json` nothing is ever shown.

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::io::IsTerminal;
use std::sync::mpsc::{RecvTimeoutError, Sender, channel};
use std::thread::JoinHandle;
use std::time::Duration;

/// How long a run goes on before its bar appears.
const DELAY: Duration = Duration::from_secs(1);
/// How often the bar is drawn while a part is under way.
const TICK: Duration = Duration::from_millis(200);

/// Progress over a known number of parts; gone without a trace when it is dropped.
pub(crate) struct Progress(Option<Shown>);

struct Shown {
    bar: ProgressBar,
    /// Dropped to stop the wait.
    stop: Option<Sender<()>>,
    waits: Option<JoinHandle<()>>,
}

impl Progress {
    /// A bar over `parts` parts; none when `quiet` or when standard error is no terminal.
    pub(crate) fn over(parts: usize, quiet: bool) -> Self {
        Self::with_template(parts as u64, quiet, "{elapsed_precise} [{bar:30}] {pos}/{len} {msg}")
    }

    /// A bar over a count that is told as it stands, with the time that is left.
    pub(crate) fn counting(count: u64, quiet: bool) -> Self {
        Self::with_template(count, quiet, "{elapsed_precise} [{bar:30}] {pos}/{len} cases, {eta} left")
    }

    fn with_template(parts: u64, quiet: bool, template: &str) -> Self {
        if quiet || !std::io::stderr().is_terminal() {
            return Self(None);
        }
        let bar = ProgressBar::with_draw_target(Some(parts), ProgressDrawTarget::hidden());
        if let Ok(style) = ProgressStyle::with_template(template) {
            bar.set_style(style.progress_chars("=> "));
        }
        let (stop, stopped) = channel::<()>();
        let shown = bar.clone();
        // A part may take long, so the bar must not wait for the next one to appear.
        let waits = std::thread::spawn(move || {
            if stopped.recv_timeout(DELAY) == Err(RecvTimeoutError::Timeout) {
                shown.set_draw_target(ProgressDrawTarget::stderr());
                shown.enable_steady_tick(TICK);
            }
        });
        Self(Some(Shown { bar, stop: Some(stop), waits: Some(waits) }))
    }

    /// Says what is under way.
    pub(crate) fn at(&self, what: impl FnOnce() -> String) {
        if let Some(s) = &self.0 {
            s.bar.set_message(what());
        }
    }

    /// One part is done.
    pub(crate) fn done(&self) {
        if let Some(s) = &self.0 {
            s.bar.inc(1);
        }
    }

    /// So many are done.
    pub(crate) fn stands_at(&self, count: u64) {
        if let Some(s) = &self.0 {
            s.bar.set_position(count);
        }
    }

    /// Takes the bar off the screen while `f` prints.
    pub(crate) fn aside<R>(&self, f: impl FnOnce() -> R) -> R {
        match &self.0 {
            Some(s) => s.bar.suspend(f),
            None => f(),
        }
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        if let Some(mut s) = self.0.take() {
            drop(s.stop.take());
            if let Some(waits) = s.waits.take() {
                let _ = waits.join();
            }
            s.bar.finish_and_clear();
        }
    }
}
