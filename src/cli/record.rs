//! `record`: takes what was weighed for a batch, and writes it into the ledger.

use std::io::{self, BufRead, IsTerminal};

use clap::Args;

use super::failure::Failure;
use super::terminal::{self, Terminal};
use super::{Arguments, Outcome, asked, report, weigh};
use crate::book::readings::{self, Reading};
use crate::book::size::{self, Sized};
use crate::book::{Holder, Unit, stock};
use crate::compute::batch::BatchLine;
use crate::diagnostic::Severity;
use crate::model::Batch;
use crate::quantity::Decimal;
use crate::quantity::print::digits;
use crate::syntax::tree::Name;
use crate::view::at_the_bench;
use crate::workspace::{self, Snapshot};

/// Takes what was weighed for a planned batch, and writes it into the ledger
///
/// One line a herb, in the order of the weighing sheet: a number, or `60 g from PM-114, 36.8 g from
/// PM-131`. They are typed one by one, or come from scales through a pipe; what scales print around
/// their number is passed over. All of it is written at once, or nothing; comments stay.
#[derive(Debug, Args)]
#[command(
    after_help = "Example, in the demo ledger, of what is asked for:\n\n  scruple record \"after-supper tea on 2026-12-01\" --show --in examples/low-barn\n\nWithout `--show` the readings are taken, and written into the ledger."
)]
pub struct Record {
    /// The batch: `FORMULA on DAY`
    #[arg(value_name = "BATCH")]
    batch: String,

    /// Show which readings are asked for, and write nothing
    #[arg(long)]
    show: bool,

    /// What came out
    #[arg(long, value_name = "AMOUNT")]
    yielded: Option<String>,

    /// Who weighed
    #[arg(long, value_name = "WHO")]
    weighed_by: Option<String>,

    /// Who checked
    #[arg(long, value_name = "WHO")]
    checked_by: Option<String>,

    /// Where a line names no lot, take those that the sheet proposes: first expiring first
    #[arg(long)]
    lots_as_proposed: bool,
}

impl Record {
    pub fn run(&self, arguments: &Arguments, terminal: &Terminal) -> Result<Outcome, Failure> {
        arguments.without_sarif()?;
        let root = arguments.root()?;
        let snapshot = Snapshot::read(&root);
        let at = asked::batch(&snapshot, &self.batch)?;
        let batch =
            snapshot.ledger.batches.get(at).ok_or_else(|| {
                Failure::new("there is no such batch", "`scruple stock` shows those there are")
            })?;
        if batch.is_made() {
            return Err(Failure::new(
                format!("the batch of {} has its record already", batch.called()),
                "nothing is written over; mend it by hand, so that the change stays in the history",
            ));
        }
        let reckoned = weigh::reckoned(&snapshot);
        let sized = size::of_batch(reckoned, &snapshot.book, at, batch)?;
        if self.show {
            terminal.document(&at_the_bench::asked_for(&batch.called(), &sized))?;
            return Ok(Outcome::Clean);
        }
        let lines = self.take(&snapshot, batch, &sized)?;
        let source = snapshot.sources.get(batch.span.file).ok_or_else(|| {
            Failure::new(
                "the file of this batch can't be found",
                "look whether it was moved",
            )
        })?;
        let text = self.put_in(&source.text, batch, &lines)?;
        let path = workspace::home(&root).join(&*source.path);
        let after = Snapshot::of_contents(workspace::contents(&root).into_iter().map(|(shown, content)| {
            if *shown == *source.path {
                (shown, Ok(text.clone().into_bytes()))
            } else {
                (shown, content)
            }
        }));
        let recorded = self.as_recorded(&after, lines.len())?;
        workspace::replace(&path, &source.text, &text).map_err(|error| {
            Failure::new(
                format!("`{}` can't be written: {error}", source.path),
                "nothing was changed; look at the file and try again",
            )
        })?;
        // What `check` says about the record is said at once: at the bench it can still be mended.
        let inside = |span: crate::source::Span| {
            span.file == recorded.file && (recorded.start..=recorded.end).contains(&span.start)
        };
        let found: Vec<_> = after.diagnostics.iter().filter(|one| inside(one.span)).collect();
        let grave = found.iter().any(|one| one.severity > Severity::Notice);
        terminal::safe_text(&report::print(found, &after.sources, &terminal.page))?;
        terminal::remark(&format!(
            "{} lines were written into {}",
            lines.len(),
            source.path
        ));
        Ok(if grave { Outcome::Findings } else { Outcome::Clean })
    }

    /// Takes a reading for each line of the sheet that has a target.
    fn take(&self, snapshot: &Snapshot, batch: &Batch, sized: &Sized) -> Result<Vec<String>, Failure> {
        let wanted: Vec<&BatchLine> = sized
            .sheet
            .lines
            .iter()
            .filter(|line| line.target.is_some())
            .collect();
        let typed = io::stdin().is_terminal();
        let mut given = io::stdin().lock().lines();
        let mut lines = Vec::with_capacity(wanted.len());
        for line in &wanted {
            let unit = if line.grams.is_some() {
                Unit::Grams
            } else {
                Unit::Millilitres
            };
            let name = &line.figure.taken.name;
            let target = format!("{} {}", digits(line.target.unwrap_or_default()), unit.word());
            let readings = loop {
                if typed {
                    terminal::remark(&format!("{}: {target}", name.text));
                }
                let Some(text) = next(&mut given)? else {
                    return Err(Failure::new(
                        format!(
                            "there is no reading for {}, of which {target} was to be weighed",
                            name.text
                        ),
                        format!(
                            "{} readings are needed, one a line; nothing was written",
                            wanted.len()
                        ),
                    ));
                };
                match readings::read(&text, unit) {
                    Ok(readings) => break readings,
                    // Who types may try again; a pipe can't.
                    Err(refusal) if typed => {
                        terminal::remark(&format!("{}; {}", refusal.message, refusal.help));
                    }
                    Err(refusal) => return Err(refusal.into()),
                }
            };
            let readings = self.with_lots(snapshot, batch, line, readings, unit);
            lines.push(readings::written(&spelled(snapshot, name), &readings, unit));
        }
        if !typed && let Some(more) = next(&mut given)? {
            return Err(Failure::new(
                format!("there are more readings than herbs: `{}`", more.trim()),
                format!(
                    "{} readings are needed, one a line, in the order of the sheet; nothing was written",
                    wanted.len()
                ),
            ));
        }
        Ok(lines)
    }

    /// Where somebody says so, a reading without a lot is taken from the lots that are proposed for it.
    fn with_lots(
        &self,
        snapshot: &Snapshot,
        batch: &Batch,
        line: &BatchLine,
        readings: Vec<Reading>,
        unit: Unit,
    ) -> Vec<Reading> {
        let what = line.figure.taken.what;
        let [
            Reading {
                value, from: None, ..
            },
        ] = readings.as_slice()
        else {
            return readings;
        };
        if !self.lots_as_proposed || stock::is_tap_water(&snapshot.ledger, what) {
            return readings;
        }
        let proposal = stock::propose(&snapshot.book, what, unit, *value, batch.day.first);
        let id = |holder: &Holder| match holder {
            Holder::Lot(at) => snapshot.ledger.lots.get(*at).map(|lot| lot.id.text.clone()),
            Holder::Batch(at) => snapshot.ledger.batches.get(*at).map(|made| made.day.written()),
        };
        let named = |holder: &Holder, value: Decimal| Reading {
            digits: digits(value),
            value,
            from: id(holder),
        };
        match proposal.from.as_slice() {
            [(holder, amount)] if amount == value => readings
                .iter()
                .map(|reading| Reading {
                    from: id(holder),
                    ..reading.clone()
                })
                .collect(),
            // Where the shelves don't hold it, nothing is guessed.
            _ if !proposal.missing.is_zero() => readings,
            several => several
                .iter()
                .map(|(holder, amount)| named(holder, *amount))
                .collect(),
        }
    }

    /// The text with the record below the last line of the batch, indented as that is.
    fn put_in(&self, text: &str, batch: &Batch, lines: &[String]) -> Result<String, Failure> {
        let entry = text
            .get(batch.span.first_byte()..batch.span.end_byte())
            .unwrap_or_default();
        let indent: String = entry
            .lines()
            .nth(1)
            .map(|line| {
                line.chars()
                    .take_while(|letter| matches!(letter, ' ' | '\t'))
                    .collect()
            })
            .filter(|indent: &String| !indent.is_empty())
            .unwrap_or_else(|| "  ".to_owned());
        let end = text
            .get(batch.span.end_byte()..)
            .and_then(|rest| rest.find('\n'))
            .map_or(text.len(), |at| {
                batch.span.end_byte().saturating_add(at).saturating_add(1)
            });
        let ending = if text.contains("\r\n") { "\r\n" } else { "\n" };
        let (before, after) = text
            .split_at_checked(end)
            .ok_or_else(|| Failure::new("the batch can't be found in its file", "run `scruple check`"))?;
        let mut out = String::with_capacity(text.len().saturating_add(400));
        out.push_str(before);
        if !before.ends_with('\n') {
            out.push_str(ending);
        }
        let mut push = |line: &str| {
            out.push_str(line);
            out.push_str(ending);
        };
        push(&format!("{indent}used"));
        for line in lines {
            push(&format!("{indent}{indent}{line}"));
        }
        for (word, said) in [
            ("yielded", &self.yielded),
            ("weighed by", &self.weighed_by),
            ("checked by", &self.checked_by),
        ] {
            if let Some(said) = said {
                if said.contains(['\n', '\r', '#']) || said.trim().is_empty() {
                    return Err(Failure::new(
                        format!("`{word}` takes a few words"),
                        "write them without `#` and on one line",
                    ));
                }
                push(&format!("{indent}{word:<12} {}", said.trim()));
            }
        }
        out.push_str(after);
        Ok(out)
    }

    /// The batch as it will be read, if it says just what was recorded.
    fn as_recorded(&self, after: &Snapshot, lines: usize) -> Result<crate::source::Span, Failure> {
        let at = asked::batch(after, &self.batch)?;
        let batch = after.ledger.batches.get(at);
        batch
            .filter(|batch| {
                !batch.refused
                    && batch.used.len() == lines
                    && batch.yielded.is_some() == self.yielded.is_some()
                    && batch.weighed_by.as_deref() == self.weighed_by.as_deref().map(str::trim)
                    && batch.checked_by.as_deref() == self.checked_by.as_deref().map(str::trim)
            })
            .map(|batch| batch.span)
            .ok_or_else(|| {
                Failure::new(
                    "what was given would not be read as it was meant, so nothing was written",
                    "look at `--yielded`, which takes an amount such as \"298.2 g\", and at the ids of lots",
                )
            })
    }
}

/// The next line that says anything.
fn next(given: &mut impl Iterator<Item = io::Result<String>>) -> Result<Option<String>, Failure> {
    for line in given {
        let line = line.map_err(|error| {
            Failure::new(
                format!("the readings can't be read: {error}"),
                "they are lines of text, one a herb",
            )
        })?;
        if !line.trim().is_empty() {
            return Ok(Some(line));
        }
    }
    Ok(None)
}

/// A name as the formula writes it, in quotes where it needs them.
fn spelled(snapshot: &Snapshot, name: &Name) -> String {
    let written = snapshot.sources.text(name.span).trim();
    if written.starts_with('"') {
        written.to_owned()
    } else {
        name.text.clone()
    }
}
