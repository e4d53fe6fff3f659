//! Measures what people wait for, each figure beside a baseline of the same run: `cargo bench`.
//!
//! The ledgers are made up anew for every run, in a folder that goes away with it. Figures are the
//! median and the slowest of a hundredth; a ratio says more than a time, for the baseline ran on
//! the same machine at the same hour.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::print_stdout,
    clippy::disallowed_methods,
    clippy::indexing_slicing,
    missing_docs,
    reason = "a benchmark fails by panicking, prints, and looks at the clock"
)]

mod book;
mod ledger;
mod published;
mod revisions;
mod saves;
mod stages;
mod typing;

use std::time::{Duration, Instant};

fn main() {
    // The test runner of cargo asks every benchmark for its list.
    if std::env::args().any(|argument| argument == "--list" || argument == "--test") {
        return;
    }
    let parts: [(&str, fn()); 6] = [
        ("stages", stages::run),
        ("saves", saves::run),
        ("revisions", revisions::run),
        ("typing", typing::run),
        ("book", book::run),
        ("published", published::run),
    ];
    let wanted = std::env::args()
        .skip(1)
        .find(|argument| !argument.starts_with('-'));
    for (name, run) in parts {
        if wanted
            .as_ref()
            .is_none_or(|wanted| name.contains(wanted.as_str()))
        {
            run();
        }
    }
}

/// The time that something takes, run so many times: its median and the slowest of a hundredth.
pub struct Times(Vec<Duration>);

impl Times {
    pub fn of(runs: usize, mut work: impl FnMut()) -> Self {
        let times: Vec<Duration> = (0..runs)
            .map(|_| {
                let begun = Instant::now();
                work();
                begun.elapsed()
            })
            .collect();
        Self::from(times)
    }

    pub fn median(&self) -> Duration {
        self.0[self.0.len() / 2]
    }

    pub fn slowest(&self) -> Duration {
        self.0[(self.0.len() * 99 / 100).min(self.0.len() - 1)]
    }
}

impl From<Vec<Duration>> for Times {
    fn from(mut times: Vec<Duration>) -> Self {
        times.sort();
        Self(times)
    }
}

/// One line of the report.
pub fn report(what: &str, times: &Times, baseline: Option<(&str, &Times)>) {
    let beside = baseline.map_or_else(String::new, |(name, other)| {
        let (own, theirs) = (
            times.median().as_micros().max(1),
            other.median().as_micros().max(1),
        );
        let hundredths = own * 100 / theirs;
        format!("  {}.{:02} × {name}", hundredths / 100, hundredths % 100)
    });
    println!(
        "{what:<58} {:>10} {:>10}{beside}",
        shown(times.median()),
        shown(times.slowest())
    );
}

fn shown(time: Duration) -> String {
    let micros = time.as_micros();
    format!("{}.{:02} ms", micros / 1000, micros % 1000 / 10)
}
