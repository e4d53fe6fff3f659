//! Looks over a ledger for what is written correctly and is still likely to be a mistake, or wrong for a person.
//!
//! Each rule is one file in `rules/`.

mod rules;

use std::borrow::Cow;

use crate::book::DayBook;
use crate::compute::batch::Refusal;
use crate::compute::intake::{self, Intake};
use crate::compute::within::{opened, within};
use crate::compute::{Composition, Figures};
use crate::diagnostic::Diagnostic;
use crate::model::{Bound, Faults, Formula, Ledger, Person};
use crate::source::Span;

/// What rules look at.
pub struct Scope<'a> {
    /// Names and lines.
    pub ledger: &'a Ledger,
    /// What they come to.
    pub figures: &'a Figures,
    /// Whom every formula is looked at for; else each for the person it is made for, if any.
    pub person: Option<&'a Person>,
    /// The one formula that is asked about, if only one is.
    pub(self) only: Option<usize>,
    /// What each dose line of each formula gives, in the order of the ledger, first the line that
    /// counts for the person; nothing where it can't be told, or where no dose for the mouth is written.
    intakes: Vec<Vec<Intake>>,
    /// Dose lines that can't be reckoned: of which formula, where, and why.
    unreckoned: Vec<(usize, Span, Refusal)>,
}

/// What rules of the dispensary's book look at.
pub struct Booked<'a> {
    /// Names and lines.
    pub ledger: &'a Ledger,
    /// What formulas come to.
    pub figures: &'a Figures,
    /// What has no figures.
    pub faults: &'a Faults,
    /// What moved.
    pub book: &'a DayBook,
}

impl<'a> Scope<'a> {
    fn new(
        ledger: &'a Ledger,
        figures: &'a Figures,
        faults: &'a Faults,
        person: Option<&'a Person>,
        only: Option<usize>,
    ) -> Self {
        let mut scope = Self {
            ledger,
            figures,
            person,
            only,
            intakes: Vec::new(),
            unreckoned: Vec::new(),
        };
        let mut unreckoned = Vec::new();
        scope.intakes = (0..ledger.formulas.len())
            .map(|at| {
                let Some(formula) = figures.of(at).map(|composition| &composition.formula) else {
                    return Vec::new();
                };
                if formula.doses.is_empty() || only.is_some_and(|only| only != at) {
                    return Vec::new();
                }
                let years = scope.person_of(formula).and_then(|person| person.years);
                let lines = intake::every_line(ledger, faults, figures, at, years).unwrap_or_default();
                lines
                    .into_iter()
                    .filter_map(|line| match line.intake {
                        Ok(intake) => Some(intake).filter(|intake| intake.given.is_none()),
                        Err(refusal) => {
                            unreckoned.push((at, line.line, refusal));
                            None
                        }
                    })
                    .collect()
            })
            .collect();
        scope.unreckoned = unreckoned;
        scope
    }

    /// The person that a formula is looked at for.
    fn person_of(&self, formula: &Formula) -> Option<&'a Person> {
        self.person.or_else(|| self.ledger.person_of(formula))
    }

    /// Every formula that has figures.
    fn formulas(&self) -> impl Iterator<Item = &'a Composition> {
        let only = self.only;
        self.figures
            .formulas
            .iter()
            .enumerate()
            .filter(move |(at, _)| only.is_none_or(|only| only == *at))
            .filter_map(|(_, composition)| composition.as_ref())
    }

    /// Every formula, those without figures as far as they can be read.
    fn readable(&self) -> impl Iterator<Item = Cow<'a, Composition>> {
        let only = self.only;
        (0..self.ledger.formulas.len())
            .filter(move |at| only.is_none_or(|only| only == *at))
            .filter_map(|at| opened(self.ledger, self.figures, at))
    }

    /// Every formula with those dose lines of it that could be reckoned. What is drawn out into a
    /// liquid is left out: a published dose of the herb says nothing about it.
    fn dosed(&self) -> impl Iterator<Item = (&'a Composition, Vec<&Intake>)> {
        self.figures
            .formulas
            .iter()
            .zip(&self.intakes)
            .filter_map(|(composition, intakes)| {
                let compared: Vec<&Intake> = intakes.iter().filter(|intake| !intake.drawn_out).collect();
                Some((composition.as_ref()?, compared))
            })
            .filter(|(_, intakes)| !intakes.is_empty())
    }

    /// Every dose line that could be reckoned, also of what is drawn out.
    fn directed(&self) -> impl Iterator<Item = (&'a Composition, &Intake)> {
        self.figures
            .formulas
            .iter()
            .zip(&self.intakes)
            .filter_map(|(composition, intakes)| Some((composition.as_ref()?, intakes)))
            .flat_map(|(composition, intakes)| intakes.iter().map(move |intake| (composition, intake)))
    }

    /// The line of a formula through which a herb comes in, be it through another formula.
    fn line_of(&self, composition: &Composition, substance: usize) -> Span {
        let lines = || composition.lines.iter();
        let itself = lines().find(|line| line.taken.what == Bound::Substance(substance));
        itself.map_or_else(
            || {
                let place = within(self.ledger, self.figures, composition).line_of(substance);
                let named = lines().find(|line| Some(line.taken.span) == place);
                // A step that is kept of an adapted formula stands in that one's entry.
                let entry = composition.formula.entry;
                let own = place.filter(|span| {
                    span.file == entry.file && (entry.start..=entry.end).contains(&span.start)
                });
                named
                    .map(|line| line.taken.name.span)
                    .or(own)
                    .unwrap_or(composition.formula.head)
            },
            |line| line.taken.name.span,
        )
    }

    fn herb(&self, place: usize) -> &'a str {
        self.ledger
            .substances
            .get(place)
            .map_or("", |substance| substance.name.as_str())
    }
}

/// Runs every rule; with a person, every formula is looked at for them.
pub fn run(
    ledger: &Ledger,
    figures: &Figures,
    faults: &Faults,
    book: &DayBook,
    person: Option<&Person>,
) -> Vec<Diagnostic> {
    let scope = Scope::new(ledger, figures, faults, person, None);
    let mut diagnostics = rules::of_the_book(&Booked {
        ledger,
        figures,
        faults,
        book,
    });
    for rule in rules::OF_THE_LEDGER.iter().chain(rules::OF_A_FORMULA) {
        rule(&scope, &mut diagnostics);
    }
    diagnostics
}

/// Runs the rules that look at one formula at a time, over this one.
pub fn formula(
    ledger: &Ledger,
    figures: &Figures,
    faults: &Faults,
    person: Option<&Person>,
    formula: usize,
) -> Vec<Diagnostic> {
    let scope = Scope::new(ledger, figures, faults, person, Some(formula));
    let mut diagnostics = Vec::new();
    for rule in rules::OF_A_FORMULA {
        rule(&scope, &mut diagnostics);
    }
    diagnostics
}
