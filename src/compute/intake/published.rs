//! Gathers the bounds that a ledger states for a herb, for whom they are asked: the strictest of several.

use crate::compute::batch::Refusal;
use crate::compute::make::{Ages, Planner, is_childs, times_a_day};
use crate::compute::measure::Use;
use crate::compute::trace::Trace;
use crate::model::{Bound, Ledger, Portion, PublishedDose, PublishedMost, Substance};
use crate::quantity::rounding::quotient;
use crate::quantity::{Decimal, Overflow, Spread};
use crate::source::Span;
use crate::syntax::tree::{Dose, Name, Per};

/// For whom a dose is held against what is published.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Whom {
    /// Nobody in particular, so a grown-up.
    Anyone,
    /// Somebody of so many years.
    Years(Decimal),
    /// Everybody of these ages.
    Ages(Ages),
}

/// The bounds that are published for a herb, in grams.
#[derive(Debug, Clone, Default)]
pub struct Published {
    /// The least single dose, and the line that says so.
    pub least_at_once: Option<(Decimal, Span)>,
    /// The greatest single dose.
    pub most_at_once: Option<(Decimal, Span)>,
    /// The most of a day.
    pub most_a_day: Option<(Decimal, Span)>,
    /// The longest use, in days.
    pub most_days: Option<(Decimal, Span)>,
    /// The books behind these bounds.
    pub books: Vec<usize>,
    /// Whether it is a child who is asked about, and what is shown is for grown-ups: nothing is
    /// published for the child's age.
    pub for_adults: bool,
    /// The lines of which the figures were written from memory.
    remembered: Vec<Span>,
    /// The lines that are for grown-ups, where it is a child who is asked about.
    for_grown_ups: Vec<Span>,
}

impl Published {
    /// Whether the figure of a line was written from memory.
    pub fn is_from_memory(&self, line: Span) -> bool {
        self.remembered.contains(&line)
    }

    /// Whether a child is asked about, and a line is for grown-ups.
    pub fn is_for_grown_ups(&self, line: Span) -> bool {
        self.for_grown_ups.contains(&line)
    }

    /// Whether amounts are published, and none of them for the age that is asked about.
    fn is_only_for_grown_ups(&self) -> bool {
        let mut amounts = [self.least_at_once, self.most_at_once, self.most_a_day]
            .into_iter()
            .flatten()
            .peekable();
        amounts.peek().is_some() && amounts.all(|(_, line)| self.is_for_grown_ups(line))
    }

    /// Whether nothing about amounts is published.
    pub fn is_silent(&self) -> bool {
        self.least_at_once.is_none() && self.most_at_once.is_none() && self.most_a_day.is_none()
    }

    /// Keeps the smaller of two bounds; of two alike the one that was read rather than remembered.
    fn keep(&self, bound: Option<(Decimal, Span)>, value: Decimal, line: Span) -> Option<(Decimal, Span)> {
        match bound {
            Some((known, _)) if known < value => bound,
            Some((known, own))
                if known == value && (!self.is_from_memory(own) || self.is_from_memory(line)) =>
            {
                bound
            }
            _ => Some((value, line)),
        }
    }
}

/// The bounds that the ledger states for a herb. Of several books the strictest counts for a most.
///
/// A child takes what is published for the age; else the adult's figures stand, and are marked. A line
/// that counts for several ages is held against what is published for each of them.
pub(super) fn published(
    planner: &mut Planner<'_>,
    ledger: &Ledger,
    place: usize,
    whom: Whom,
) -> Result<Published, Refusal> {
    let mut bounds = Published::default();
    let Some(substance) = ledger.substances.get(place) else {
        return Ok(bounds);
    };
    let from_memory = |book: Option<usize>| {
        book.and_then(|book| ledger.books.get(book))
            .is_some_and(|book| book.from_memory)
    };
    let Chosen {
        lines,
        for_the_age,
        childs,
    } = chosen(substance, whom);
    let mut stated_day = None;
    if childs && !for_the_age {
        bounds.for_grown_ups.extend(lines.iter().map(|line| line.span));
    }
    for line in lines {
        let portion = planner.portion(&line.dose.amount)?;
        let Some(amount) = grams(planner, place, &substance.name, &portion, line.span) else {
            continue;
        };
        if from_memory(line.book) {
            bounds.remembered.push(line.span);
        }
        bounds.least_at_once = bounds.keep(bounds.least_at_once, amount.low, line.span);
        bounds.most_at_once = bounds.keep(bounds.most_at_once, amount.high, line.span);
        // `every 4 hours` is six times a day, as in a formula.
        if let Ok(times) = times_a_day(&line.dose, planner) {
            let day = amount.high.checked_mul(times).ok_or(Overflow)?;
            bounds.most_a_day = bounds.keep(bounds.most_a_day, day, line.span);
        }
        bounds.books.extend(line.book);
    }
    let mut is_stated_for_the_age = for_the_age;
    for most in mosts(substance, whom) {
        let is_amount = !matches!(most.portion, Portion::Minutes(_));
        // What names no age is the adult's, where no dose is for the age either.
        let is_for_grown_ups = match Ages::written(most.ages.as_ref()) {
            Some(ages) => !ages.begin_with_children(),
            None => is_amount && !for_the_age,
        };
        if childs && is_for_grown_ups {
            bounds.for_grown_ups.push(most.span);
        }
        is_stated_for_the_age |= most.ages.is_some() && !is_for_grown_ups;
        if from_memory(most.book) {
            bounds.remembered.push(most.span);
        }
        if let Portion::Minutes(minutes) = &most.portion {
            let days = quotient(minutes.high, Decimal::from(1440_u32))?;
            bounds.most_days = bounds.keep(bounds.most_days, days, most.span);
        } else {
            let Some(amount) = grams(planner, place, &substance.name, &most.portion, most.span) else {
                continue;
            };
            match most.per {
                Per::Day => stated_day = bounds.keep(stated_day, amount.high, most.span),
                Per::Dose => {
                    bounds.most_at_once = bounds.keep(bounds.most_at_once, amount.high, most.span);
                }
                Per::Unsaid => continue,
            }
        }
        bounds.books.extend(most.book);
    }
    // Where single dose and times come to something else, the stated most of the day rules.
    // What is stated for a child's age is not loosened by what is stated for adults.
    bounds.most_a_day = match (stated_day, bounds.most_a_day) {
        (Some(stated), Some(derived)) if is_stated_for_the_age => {
            Some(if derived.0 < stated.0 { derived } else { stated })
        }
        (stated, derived) => stated.or(derived),
    };
    bounds.for_adults = childs && bounds.is_only_for_grown_ups();
    bounds.books.sort_unstable();
    bounds.books.dedup();
    Ok(bounds)
}

/// Which of a herb's dose lines count for somebody.
struct Chosen<'a> {
    lines: Vec<&'a PublishedDose>,
    /// Whether some of them are for the very age.
    for_the_age: bool,
    /// Whether it is a child's age.
    childs: bool,
}

fn chosen(substance: &Substance, whom: Whom) -> Chosen<'_> {
    let those = |fits: &dyn Fn(&Dose) -> bool| -> Vec<&PublishedDose> {
        substance.doses.iter().filter(|line| fits(&line.dose)).collect()
    };
    let mut grown_up = those(&|dose| dose.age.is_none());
    if grown_up.is_empty() {
        grown_up = those(&|dose| Ages::of(dose).is_some_and(Ages::reach_grown_ups));
    }
    let (own, covered, childs) = match whom {
        Whom::Anyone => (Vec::new(), false, false),
        Whom::Years(years) => {
            let own = those(&|dose| Ages::of(dose).is_some_and(|ages| ages.hold(years)));
            (own, true, is_childs(years))
        }
        Whom::Ages(wanted) => {
            let own = those(&|dose| Ages::of(dose).is_some_and(|ages| ages.meet(wanted)));
            // Of the youngest nothing may be said: then the adult's figures are an upper limit at least.
            let covered = own
                .iter()
                .any(|line| Ages::of(&line.dose).is_some_and(|ages| ages.hold(wanted.from)));
            (own, covered, wanted.begin_with_children())
        }
    };
    let for_the_age = !own.is_empty();
    let lines = match (for_the_age, covered) {
        (true, true) => own,
        (true, false) => own.into_iter().chain(grown_up).collect(),
        (false, _) => grown_up,
    };
    Chosen {
        lines,
        for_the_age,
        childs,
    }
}

/// Which of a herb's mosts count for somebody: those for no age in particular, and beside them those for
/// the age. Where neither speaks of a day, of a dose or of a length, what is stated for grown-ups is an
/// upper limit at least.
fn mosts(substance: &Substance, whom: Whom) -> impl Iterator<Item = &PublishedMost> {
    let is_for = move |most: &PublishedMost| match (Ages::written(most.ages.as_ref()), whom) {
        (None, _) => true,
        (Some(ages), Whom::Anyone) => ages.hold_grown_ups(),
        (Some(ages), Whom::Years(years)) => ages.hold(years),
        (Some(ages), Whom::Ages(wanted)) => ages.meet(wanted),
    };
    let is_adults =
        |most: &PublishedMost| Ages::written(most.ages.as_ref()).is_some_and(Ages::reach_grown_ups);
    let same = |a: &PublishedMost, b: &PublishedMost| {
        a.per == b.per && matches!(a.portion, Portion::Minutes(_)) == matches!(b.portion, Portion::Minutes(_))
    };
    let all = || substance.mosts.iter();
    all().filter(move |most| {
        is_for(most) || (is_adults(most) && !all().any(|other| same(other, most) && is_for(other)))
    })
}

/// A published amount in grams; nothing where the herb has no weight for its measure.
fn grams(
    planner: &mut Planner<'_>,
    place: usize,
    name: &str,
    portion: &Portion,
    span: Span,
) -> Option<Spread> {
    let name = Name {
        text: name.to_owned(),
        span,
    };
    let of = Use {
        name: &name,
        what: Bound::Substance(place),
        span,
        line: 0,
    };
    planner
        .reckoner()
        .amounts(&of, portion, &mut Trace::silent())
        .ok()
        .and_then(|(amounts, _)| amounts.grams)
}
