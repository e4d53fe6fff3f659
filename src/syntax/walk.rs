//! Turns a tree into its pieces, one after the other, each with its place in the text.

use super::tree::{
    Amount, AmountKind, Body, Counted, Divide, Dose, Entry, Frequency, Ingredient, Line, Liquid, Make, Money,
    Name, Numbers, Preparation, Quantity, Subject, Term, UsedLine, Weighing,
};
use crate::quantity::Decimal;
use crate::source::Span;

/// One piece of a tree. All pieces may be changed, so that trees can be compared without their places.
#[derive(Debug)]
pub enum Piece<'a> {
    /// The word that opens an entry or a line.
    Opens(&'a mut Span),
    /// A name, a date or free words: they are the writer's own.
    Own(&'a mut Span),
    /// The declared source at a line's end.
    Source(&'a mut Span),
    /// The words of a measure, and how many of it there are.
    Measure(&'a mut Name, Decimal),
    /// Numbers with their measures; free words may hold them.
    Amount(&'a mut Span),
    /// The place of something larger, whose pieces come too.
    Whole(&'a mut Span),
}

type Visit<'v> = dyn FnMut(Piece<'_>) + 'v;

/// Visits every piece of an entry.
pub fn entry(entry: &mut Entry, visit: &mut Visit<'_>) {
    visit(Piece::Whole(&mut entry.span));
    visit(Piece::Whole(&mut entry.head));
    visit(Piece::Opens(&mut entry.kind_span));
    for name in entry.name.iter_mut().chain(&mut entry.id) {
        own(name, visit);
    }
    if let Some(date) = &mut entry.date {
        visit(Piece::Own(&mut date.span));
    }
    for one in &mut entry.lines {
        line(one, visit);
    }
}

fn line(line: &mut Line, visit: &mut Visit<'_>) {
    visit(Piece::Whole(&mut line.span));
    visit(Piece::Opens(&mut line.word.span));
    if let Some(source) = &mut line.source {
        visit(Piece::Source(&mut source.span));
    }
    match &mut line.body {
        Body::Flag | Body::Percent(_) | Body::Broken => {}
        Body::Words(name) | Body::Strength(name) | Body::Adapts(name, _) => own(name, visit),
        Body::Names(names) => names.iter_mut().for_each(|name| own(name, visit)),
        Body::Weighing(Weighing::Stated(amount))
        | Body::Quantity(amount)
        | Body::Divide(Divide::Counted(amount)) => quantity(amount, visit),
        Body::Most(amount, _, ages) => {
            if let Some((ages, _)) = ages {
                numbers(ages, visit);
            }
            quantity(amount, visit);
        }
        Body::Weighing(Weighing::Weighed(list)) => {
            for weighed in list {
                term(&mut weighed.term, visit);
            }
        }
        Body::Factor(found) => numbers(found, visit),
        Body::Density(amount, per) => {
            quantity(amount, visit);
            visit(Piece::Measure(per, Decimal::ONE));
        }
        Body::Money(found) => money(found, visit),
        Body::Counted(Counted { amount, day, notes }) => {
            quantity(amount, visit);
            visit(Piece::Own(&mut day.span));
            for note in notes {
                own(note, visit);
            }
        }
        Body::Pack(pack) => {
            quantity(&mut pack.amount, visit);
            if let Some(price) = &mut pack.money {
                money(price, visit);
            }
            maybe_own(pack.seller.as_mut(), visit);
        }
        Body::Dose(found) => dose(found, visit),
        Body::Caution(topic, words) => {
            own(topic, visit);
            maybe_own(words.as_mut(), visit);
        }
        Body::Take(list, _) => list.iter_mut().for_each(|one| ingredient(one, visit)),
        Body::Preparation(step) => preparation(step, visit),
        Body::Divide(Divide::Sized(piece, amount)) => {
            own(piece, visit);
            quantity(amount, visit);
        }
        Body::Date(date) => visit(Piece::Own(&mut date.span)),
        Body::Make(found) => make(found, visit),
        Body::Used(list, _) => list.iter_mut().for_each(|one| used(one, visit)),
        Body::Age(number, unit) => {
            if let Some(unit) = unit {
                visit(Piece::Measure(unit, number.value));
            }
        }
    }
}

fn own(name: &mut Name, visit: &mut Visit<'_>) {
    visit(Piece::Own(&mut name.span));
}

fn maybe_own(name: Option<&mut Name>, visit: &mut Visit<'_>) {
    if let Some(name) = name {
        own(name, visit);
    }
}

fn term(term: &mut Term, visit: &mut Visit<'_>) {
    visit(Piece::Amount(&mut term.span));
    if let Some(unit) = &mut term.unit {
        visit(Piece::Measure(unit, term.number.value));
    }
}

fn quantity(quantity: &mut Quantity, visit: &mut Visit<'_>) {
    visit(Piece::Amount(&mut quantity.span));
    for one in quantity.low.iter_mut().chain(quantity.high.iter_mut().flatten()) {
        term(one, visit);
    }
}

fn maybe(amount: Option<&mut Quantity>, visit: &mut Visit<'_>) {
    if let Some(amount) = amount {
        quantity(amount, visit);
    }
}

fn money(money: &mut Money, visit: &mut Visit<'_>) {
    visit(Piece::Whole(&mut money.span));
    maybe_own(money.currency.as_mut(), visit);
    maybe(money.per.as_mut(), visit);
}

fn numbers(numbers: &mut Numbers, visit: &mut Visit<'_>) {
    visit(Piece::Amount(&mut numbers.span));
}

fn ingredient(ingredient: &mut Ingredient, visit: &mut Visit<'_>) {
    visit(Piece::Whole(&mut ingredient.span));
    for name in ingredient.names.iter_mut().chain(&mut ingredient.processing) {
        own(name, visit);
    }
    maybe_own(ingredient.role.as_mut(), visit);
    if let Some(source) = &mut ingredient.source {
        visit(Piece::Source(&mut source.span));
    }
    if let Some(Amount { kind, span, .. }) = &mut ingredient.amount {
        visit(Piece::Whole(span));
        match kind {
            AmountKind::Quantity(amount)
            | AmountKind::About(amount)
            | AmountKind::EnoughTo(amount)
            | AmountKind::Enough(Some(amount)) => quantity(amount, visit),
            AmountKind::EqualParts | AmountKind::Shares(_) | AmountKind::Enough(None) => {}
        }
    }
}

fn used(used: &mut UsedLine, visit: &mut Visit<'_>) {
    visit(Piece::Whole(&mut used.span));
    own(&mut used.name, visit);
    for (amount, lot) in &mut used.portions {
        quantity(amount, visit);
        maybe_own(lot.as_mut(), visit);
    }
    used.notes.iter_mut().for_each(|note| own(note, visit));
}

fn dose(dose: &mut Dose, visit: &mut Visit<'_>) {
    visit(Piece::Whole(&mut dose.span));
    if let Some((ages, _)) = &mut dose.age {
        numbers(ages, visit);
    }
    quantity(&mut dose.amount, visit);
    maybe(dose.vehicle.as_mut(), visit);
    match &mut dose.frequency {
        Some(Frequency::TimesADay(times, _)) => visit(Piece::Whole(&mut times.span)),
        Some(Frequency::Every(amount)) => quantity(amount, visit),
        None => {}
    }
    maybe(dose.apart.as_mut(), visit);
    maybe(dose.lasting.as_mut(), visit);
    dose.clauses.iter_mut().for_each(|clause| own(clause, visit));
}

fn preparation(step: &mut Preparation, visit: &mut Visit<'_>) {
    visit(Piece::Whole(&mut step.span));
    match &mut step.subject {
        Subject::All | Subject::Ratio(..) => {}
        Subject::Amount(amount, of) => {
            quantity(amount, visit);
            maybe_own(of.as_mut(), visit);
        }
        Subject::Things(names) => names.iter_mut().for_each(|name| own(name, visit)),
    }
    for Liquid { amount, name, .. } in &mut step.media {
        maybe(amount.as_mut(), visit);
        maybe_own(name.as_mut(), visit);
    }
    maybe(step.lasting.as_mut(), visit);
    maybe(step.heat.as_mut(), visit);
    maybe(step.down_to.as_mut(), visit);
    step.clauses.iter_mut().for_each(|clause| own(clause, visit));
}

fn make(make: &mut Make, visit: &mut Visit<'_>) {
    match make {
        Make::AllStock | Make::People { .. } | Make::Times(_) => {}
        Make::Vessels { vessel, each, .. } => {
            own(vessel, visit);
            quantity(each, visit);
        }
        Make::Quantity(amount) => quantity(amount, visit),
    }
}
