//! Batches beside their formulas: what went in, what came out, and until when it is good.

use crate::book::size::Reckoned;
use crate::book::weighing::{self, Weighed};
use crate::book::{Amount, Holder, Origin, called, limits, name_of, stock};
use crate::check::Booked;
use crate::code;
use crate::diagnostic::Diagnostic;
use crate::model::{Batch, Bound};
use crate::quantity::{Decimal, print};

/// What went in without a word from which lot; said once for each batch.
pub fn without_lots(booked: &Booked<'_>, report: &mut Vec<Diagnostic>) {
    let ledger = booked.ledger;
    for (batch, takings) in ledger.batches.iter().zip(&booked.book.inputs) {
        let mut names: Vec<&str> = Vec::new();
        let mut first = None;
        let said = batch
            .used
            .iter()
            .flat_map(|used| used.portions.iter().map(move |portion| (used, portion)));
        for (taking, (used, portion)) in takings.iter().zip(said) {
            if taking.origin != Origin::Unsaid
                || portion.from.is_some()
                || taking.what == Bound::Unknown
                || stock::is_tap_water(ledger, taking.what)
            {
                continue;
            }
            first = first.or(Some(used.span));
            if !names.contains(&used.name.text.as_str()) {
                names.push(&used.name.text);
            }
        }
        if let Some(span) = first {
            report.push(
                Diagnostic::notice(
                    code::BATCH_WITHOUT_LOTS,
                    span,
                    format!("nothing says from which lot this came: {}", names.join(", ")),
                )
                .help("write it behind the amount, `60 g from PM-114`: without it a bad lot can't be followed to those who got of it"),
            );
        }
    }
}

/// What was weighed, beside what the formula asks for; and what came out.
pub fn beside_formulas(booked: &Booked<'_>, report: &mut Vec<Diagnostic>) {
    let reckoned = Reckoned {
        ledger: booked.ledger,
        faults: booked.faults,
        figures: booked.figures,
    };
    for (at, batch) in booked.ledger.batches.iter().enumerate() {
        if batch.used_span.is_some()
            && let Ok(compared) = weighing::compare(reckoned, booked.book, at, batch)
        {
            for line in compared.lines.iter().filter(|line| line.is_off) {
                report.push(off_target(booked, line));
            }
            differs(booked, batch, &compared, report);
        }
        if let Some(found) = weighing::yielded(reckoned, booked.book, at, batch).filter(|found| found.is_off)
            && let Some(span) = batch.yielded.as_ref().and_then(|stated| stated.span)
        {
            let practice = &booked.ledger.practice;
            let message = if found.loss_percent < Decimal::ZERO {
                format!(
                    "{} came out of {}: more than went in",
                    found.came_out.written(),
                    found.went_in.written()
                )
            } else {
                format!(
                    "{} came out of {}: {} % was lost, and {} % is accepted",
                    found.came_out.written(),
                    found.went_in.written(),
                    print::short(found.loss_percent, 1),
                    print::digits(practice.loss.value)
                )
            };
            report.push(
                Diagnostic::warning(code::YIELD_OUT_OF_BOUNDS, span, message).help(
                    "look for a slip in one of the weights; if it was spilled, say so in a `note`, and the practice may accept more with `loss   8%`",
                ),
            );
        }
    }
}

fn off_target(booked: &Booked<'_>, line: &Weighed) -> Diagnostic {
    let name = name_of(booked.ledger, line.what);
    let used = Amount {
        unit: line.unit,
        value: line.used,
    };
    let more = if line.error_percent < Decimal::ZERO {
        "less"
    } else {
        "more"
    };
    Diagnostic::warning(
        code::WEIGHED_OFF_TARGET,
        line.span,
        format!(
            "{} of {name} went in, and {} was to: {} % {more}",
            used.written(),
            print::spread(&line.intended, 3, line.unit.word()),
            print::short(line.error_percent.abs(), 1)
        ),
    )
    .help(format!(
        "weigh again what can be weighed again; this practice accepts {} %, and what else is in a dose changes with it",
        print::digits(booked.ledger.practice.error.value)
    ))
}

/// Something else went in than the formula takes.
fn differs(booked: &Booked<'_>, batch: &Batch, compared: &weighing::Compared, report: &mut Vec<Diagnostic>) {
    let ledger = booked.ledger;
    let formula = match batch.what {
        Bound::Formula(at) => ledger.formulas.get(at),
        _ => None,
    };
    let help = "if it was meant so, write a formula that `adapts` this one and make a batch of that: doses and cautions are those of the formula";
    let finding = |span, message: String| {
        let finding = Diagnostic::warning(code::NOT_WHAT_THE_FORMULA_TAKES, span, message);
        match formula {
            Some(formula) => finding.related(formula.head, "the formula"),
            None => finding,
        }
    };
    for (what, span) in &compared.added {
        let name = name_of(ledger, *what);
        let in_place = compared.missing.iter().find(|missing| match missing {
            Bound::Substance(at) => ledger
                .substances
                .get(*at)
                .is_some_and(|one| one.instead.iter().any(|(_, other)| other == what)),
            _ => false,
        });
        let message = match in_place {
            Some(missing) => format!(
                "{name} went in in place of {}, as the ledger allows: {} does not take it",
                name_of(ledger, *missing),
                batch.name.text
            ),
            None => format!("{name} went in, and {} does not take it", batch.name.text),
        };
        report.push(finding(*span, message).help(help));
    }
    if let (false, Some(span)) = (compared.missing.is_empty(), batch.used_span) {
        let names: Vec<&str> = compared
            .missing
            .iter()
            .map(|what| name_of(ledger, *what))
            .collect();
        report.push(
            finding(
                span,
                format!("{} takes {}, and none went in", batch.name.text, names.join(", ")),
            )
            .help(help),
        );
    }
}

/// A batch that says it is good for longer than what is in it.
pub fn best_before(booked: &Booked<'_>, report: &mut Vec<Diagnostic>) {
    for (at, batch) in booked.ledger.batches.iter().enumerate() {
        let Some(said) = batch.best_before else { continue };
        let (_, inside) = limits(booked.ledger, booked.figures, booked.book, at, batch);
        let Some((holder, last)) = inside.filter(|(_, last)| *last < said.last()) else {
            continue;
        };
        let head = match holder {
            Holder::Lot(at) => booked.ledger.lots.get(at).map(|lot| lot.head),
            Holder::Batch(at) => booked.ledger.batches.get(at).map(|batch| batch.head),
        };
        let finding = Diagnostic::warning(
            code::BEST_BEFORE_TOO_LATE,
            said.span,
            format!(
                "{}, which went in, is good up to {last} only",
                called(booked.ledger, holder)
            ),
        )
        .help(format!(
            "a blend is no better than what is in it: write `best before   {last}`, or leave the line out, and the earliest day is taken"
        ));
        report.push(match head {
            Some(head) => finding.related(head, "it is declared here"),
            None => finding,
        });
    }
}
