//! A line on the terminal that says how far the work has come; silent in a pipe.

use std::{
    io::{IsTerminal, Write, stderr},
    sync::Mutex,
    time::{Duration, Instant},
};

/// Work shorter than this shows nothing, and the line changes no more often.
const PAUSE: Duration = Duration::from_millis(200);

/// Shows the share of the work that is done on standard error.
#[derive(Debug)]
pub struct Progress {
    last: Option<Mutex<Last>>,
}

#[derive(Debug)]
struct Last {
    at: Instant,
    shown: bool,
}

impl Progress {
    /// Begins; shows nothing unless standard error is a terminal.
    pub fn new() -> Self {
        let last = stderr().is_terminal().then(|| Mutex::new(Last { at: Instant::now(), shown: false }));
        Self { last }
    }

    /// Told from any thread that `done` of `all` is done.
    pub fn tell(&self, done: u64, all: u64) {
        let Some(mut last) = self.last.as_ref().and_then(|last| last.try_lock().ok()) else { return };
        if last.at.elapsed() < PAUSE {
            return;
        }
        *last = Last { at: Instant::now(), shown: true };
        let percent = 100 * done.min(all) / all.max(1);
        let _ = write!(stderr(), "\r{percent:3} % of {all}");
    }
}

impl Drop for Progress {
    /// Wipes the line.
    fn drop(&mut self) {
        let shown = self.last.as_ref().and_then(|last| last.lock().ok()).is_some_and(|last| last.shown);
        if shown {
            let _ = write!(stderr(), "\r{:30}\r", "");
        }
    }
}
