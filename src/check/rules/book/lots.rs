//! Lots and batches that something is said to come from, and what is left of them.

use crate::book::{Amount, Holder, Moved, Origin, Taking, called, name_of};
use crate::check::Booked;
use crate::code;
use crate::diagnostic::Diagnostic;
use crate::model::Bound;
use crate::naming;
use crate::quantity::{Decimal, print};
use crate::source::Span;
use crate::syntax::day::Day;

/// Lots and batches that are unknown, of something else, not there yet, or past their best-before.
pub fn origins(booked: &Booked<'_>, report: &mut Vec<Diagnostic>) {
    let ledger = booked.ledger;
    for (batch, takings) in ledger.batches.iter().zip(&booked.book.inputs) {
        let names = batch
            .used
            .iter()
            .flat_map(|used| used.portions.iter().map(|portion| portion.from.as_ref()));
        for (taking, from) in takings.iter().zip(names) {
            let span = from.map_or(taking.span, |name| name.span);
            let said = from.map_or("", |name| name.text.as_str());
            report.extend(origin(booked, taking, (span, said), batch.day.first, "went in"));
        }
    }
    for (supply, taking) in ledger.supplies.iter().zip(&booked.book.supplies) {
        let (span, said) = match (&supply.from_batch, &supply.from_lot) {
            (Some(day), _) => (day.span, day.written()),
            (None, Some(lot)) => (lot.span, lot.text.clone()),
            (None, None) => {
                if supply.what != Bound::Unknown {
                    report.push(without_a_batch(supply.head, &supply.name.text));
                }
                continue;
            }
        };
        report.extend(origin(
            booked,
            taking,
            (span, &said),
            supply.day.first,
            "was handed out",
        ));
    }
}

fn without_a_batch(span: Span, name: &str) -> Diagnostic {
    Diagnostic::notice(
        code::SUPPLY_WITHOUT_A_BATCH,
        span,
        format!("nothing says from which batch of {name} this was handed out"),
    )
    .help("add `from batch   2026-11-03`, or `from lot   PM-114` for a herb as it came: without it nobody who got of a bad lot is found")
}

fn origin(
    booked: &Booked<'_>,
    taking: &Taking,
    (span, said): (Span, &str),
    on: Day,
    went: &str,
) -> Option<Diagnostic> {
    let name = name_of(booked.ledger, taking.what);
    match taking.origin {
        Origin::Unsaid => None,
        Origin::Unknown => Some(unknown(booked, taking.what, span, said)),
        Origin::Other(holder) => {
            let shelf = booked.book.shelf(holder)?;
            let other = name_of(booked.ledger, shelf.what);
            Some(
                Diagnostic::error(
                    code::LOT_OF_SOMETHING_ELSE,
                    span,
                    format!("`{said}` is a lot of {other}, and not of {name}"),
                )
                .related(head(booked, holder)?, "this lot is meant")
                .help("look at the jar: either the id is a slip, or another herb went in than was meant"),
            )
        }
        Origin::Shelf(holder) => {
            let shelf = booked.book.shelf(holder)?;
            early(booked, holder, span, on, went).or_else(|| {
                let last = shelf.best_before.filter(|last| *last < on)?;
                Some(
                    Diagnostic::warning(
                        code::PAST_ITS_BEST_BEFORE,
                        span,
                        format!(
                            "{} {went} on {on}, after its best-before of {last}",
                            called(booked.ledger, holder)
                        ),
                    )
                    .related(head(booked, holder)?, "it is declared here")
                    .help("take what is still good; if the date was wrong, mend it where it is declared"),
                )
            })
        }
    }
}

fn head(booked: &Booked<'_>, holder: Holder) -> Option<Span> {
    match holder {
        Holder::Lot(at) => booked.ledger.lots.get(at).map(|lot| lot.head),
        Holder::Batch(at) => booked.ledger.batches.get(at).map(|batch| batch.head),
    }
}

/// A lot or batch that is not declared.
fn unknown(booked: &Booked<'_>, what: Bound, span: Span, said: &str) -> Diagnostic {
    let ledger = booked.ledger;
    let name = name_of(ledger, what);
    let is_day = crate::syntax::day::read(said).is_some();
    if is_day {
        let days: Vec<String> = ledger
            .batches
            .iter()
            .filter(|batch| batch.what == what)
            .map(|batch| batch.day.written())
            .collect();
        let help = match (
            days.as_slice(),
            naming::nearest(said, days.iter().map(String::as_str)),
        ) {
            ([], _) => format!("add its entry, `batch {name} on {said}`, with what went in"),
            (_, Some(near)) => format!("did you mean `{near}`?"),
            (days, None) => {
                let newest: Vec<&str> = days.iter().rev().take(4).map(String::as_str).collect();
                format!("the book has batches of it on {}", newest.join(", "))
            }
        };
        return Diagnostic::error(
            code::UNKNOWN_BATCH,
            span,
            format!("there is no batch of {name} on {said}"),
        )
        .help(format!("{help}; a batch that is not in the book can't be traced"));
    }
    let ids = || {
        ledger
            .lots
            .iter()
            .filter(|lot| lot.what == what)
            .map(|lot| lot.id.text.as_str())
    };
    let finding = Diagnostic::error(
        code::UNKNOWN_LOT,
        span,
        format!("there is no lot `{said}` in this ledger"),
    );
    match naming::nearest(said, ids()) {
        Some(near) => finding
            .help(format!("did you mean `{near}`? a lot that is not in the book can't be traced"))
            .fix(format!("write `{near}`"), span, near),
        None => finding.help(format!(
            "add its entry, `lot {said} of {name}`, with the day on which it was received: what is not in the book can't be traced"
        )),
    }
}

/// What was taken before it was there.
fn early(booked: &Booked<'_>, holder: Holder, span: Span, on: Day, went: &str) -> Option<Diagnostic> {
    let (message, help) = match holder {
        Holder::Lot(at) => {
            let lot = booked.ledger.lots.get(at)?;
            match lot.received {
                Some(received) if received.first <= on => return None,
                Some(received) => (
                    format!(
                        "lot {} {went} on {on} and was received on {}",
                        lot.id.text,
                        received.written()
                    ),
                    "one of the two days is a slip",
                ),
                None => (
                    format!(
                        "lot {} {went} on {on}, and nothing says that it was received",
                        lot.id.text
                    ),
                    "add `received   2026-09-14` to the lot; a lot without it is still on its way",
                ),
            }
        }
        Holder::Batch(at) => {
            let batch = booked.ledger.batches.get(at)?;
            if !batch.is_made() {
                (
                    format!("the batch of {} is planned, and not made yet", batch.called()),
                    "write down what was `used` for it and what it `yielded`",
                )
            } else if batch.day.first > on {
                (
                    format!("{} {went} on {on}, before it was made", batch.called()),
                    "one of the two days is a slip",
                )
            } else {
                return None;
            }
        }
    };
    Some(
        Diagnostic::error(code::NOT_YET_RECEIVED, span, message)
            .related(head(booked, holder)?, "it is declared here")
            .help(help),
    )
}

/// Shelves from which more was taken than there was, and counts that are far from the book.
pub fn shelves(booked: &Booked<'_>, report: &mut Vec<Diagnostic>) {
    for shelf in booked.book.shelves() {
        let (Some(unit), Some(came_in)) = (shelf.unit, shelf.came_in()) else {
            continue;
        };
        let written = |value: Decimal| Amount { unit, value }.written();
        let name = match shelf.holder {
            Holder::Lot(_) => format!("lot {}", called(booked.ledger, shelf.holder)),
            Holder::Batch(_) => format!("the batch of {}", called(booked.ledger, shelf.holder)),
        };
        let first = shelf
            .movements
            .iter()
            .position(|one| matches!(one.moved, Moved::Received | Moved::Made))
            .unwrap_or(0);
        let here = shelf.movements.get(first..).unwrap_or_default();
        // What went out before anything was there has been reported line by line.
        let short = here.iter().find(|one| one.left < Decimal::ZERO);
        if let Some(short) = short {
            let wanted = Decimal::ZERO.checked_sub(short.change).unwrap_or_default();
            let before = short.left.checked_add(wanted).unwrap_or_default();
            let finding = Diagnostic::error(
                code::MORE_THAN_THERE_WAS,
                short.span,
                format!(
                    "this takes {} from {name}, of which {} was left",
                    written(wanted),
                    written(before.max(Decimal::ZERO)),
                ),
            )
            .help("look for a slip in an amount or an id, or for what came in and was not written down");
            report.push(match here.first() {
                Some(came) => finding.related(came.span, format!("{} came in", written(came_in.value))),
                None => finding,
            });
        }
        for movement in here {
            report.extend(count_off(booked, &name, came_in, movement));
        }
    }
}

/// A count that is further from the book than losses explain.
fn count_off(
    booked: &Booked<'_>,
    name: &str,
    came_in: Amount,
    movement: &crate::book::Movement,
) -> Option<Diagnostic> {
    if movement.moved != Moved::Counted || movement.change.is_zero() {
        return None;
    }
    let accepted = &booked.ledger.practice.loss;
    let off =
        crate::book::weighing::error_percent(came_in.value, came_in.value.checked_add(movement.change)?)
            .ok()?;
    if off.abs() <= accepted.value {
        return None;
    }
    let expected = movement.left.checked_sub(movement.change)?;
    let unit = came_in.unit;
    let written = |value: Decimal| Amount { unit, value }.written();
    let (difference, word) = if movement.change < Decimal::ZERO {
        (movement.change.abs(), "missing")
    } else {
        (movement.change, "too much")
    };
    Some(
        Diagnostic::warning(
            code::COUNT_OFF_THE_BOOK,
            movement.span,
            format!(
                "by the book {} of {name} should be there: {} is {word}, {} % of what came in",
                written(expected),
                written(difference),
                print::short(off.abs(), 1),
            ),
        )
        .help(format!(
            "look for a use, a supply or a spill that was not written down; up to {} % is accepted, see `loss` in the practice",
            print::digits(accepted.value)
        )),
    )
}
