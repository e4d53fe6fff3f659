//! Looks over a ledger for what is written correctly and is still likely to be a mistake, or wrong for a person.
//!
//! Each rule is one file in `rules/`.

mod rules;

use std::borrow::Cow;

use crate::book::DayBook;
use crate::compute::accept::is_in_entry;
use crate::compute::batch::Refusal;
use crate::compute::intake::{self, Intake};
use crate::compute::within::{opened, within};
use crate::compute::{Composition, Figures};
use crate::diagnostic::Diagnostic;
use crate::model::{Bound, Faults, Formula, Ledger, Person};
use crate::parallel;
use crate::source::Span;

/// What rules look at.
pub struct Scope<'a> {
    /// Names and lines.
    pub ledger: &'a Ledger,
    /// What they come to.
    pub figures: &'a Figures,
    /// Whom every formula is looked at for; else each for the person it is made for, if any.
    pub person: Option<&'a Person>,
    /// Whether somebody asks about this one formula: then what is worth knowing at the desk is said, too.
    pub(self) at_the_desk: bool,
    /// The formulas that are looked at, by their places in the ledger.
    looked_at: Vec<usize>,
    /// What each dose line of each of them gives, in the same order, first the line that
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
        looked_at: Vec<usize>,
    ) -> Self {
        let mut scope = Self {
            ledger,
            figures,
            person,
            at_the_desk: false,
            looked_at,
            intakes: Vec::new(),
            unreckoned: Vec::new(),
        };
        let mut unreckoned = Vec::new();
        scope.intakes = scope
            .looked_at
            .iter()
            .map(|at| {
                let Some(formula) = figures.of(*at).map(|composition| &composition.formula) else {
                    return Vec::new();
                };
                if formula.doses.is_empty() {
                    return Vec::new();
                }
                let years = scope.person_of(formula).and_then(|person| person.years);
                let lines = intake::every_line(ledger, faults, figures, *at, years).unwrap_or_default();
                lines
                    .into_iter()
                    .filter_map(|line| match line.intake {
                        Ok(intake) => Some(intake).filter(|intake| intake.given.is_none()),
                        Err(refusal) => {
                            unreckoned.push((*at, line.line, refusal));
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

    /// Every formula as it is written, whether it has figures or not.
    fn written(&self) -> impl Iterator<Item = &'a Formula> {
        self.looked_at
            .iter()
            .filter_map(|at| self.ledger.formulas.get(*at).map(AsRef::as_ref))
    }

    /// Every formula that has figures.
    fn formulas(&self) -> impl Iterator<Item = &'a Composition> {
        self.looked_at.iter().filter_map(|at| self.figures.of(*at))
    }

    /// Every formula, those without figures as far as they can be read.
    fn readable(&self) -> impl Iterator<Item = Cow<'a, Composition>> {
        self.looked_at
            .iter()
            .filter_map(|at| opened(self.ledger, self.figures, *at))
    }

    /// Every formula with those dose lines of it that could be reckoned. What is drawn out into a
    /// liquid is left out: a published dose of the herb says nothing about it.
    fn dosed(&self) -> impl Iterator<Item = (&'a Composition, Vec<&Intake>)> {
        self.looked_at
            .iter()
            .zip(&self.intakes)
            .filter_map(|(at, intakes)| {
                let compared: Vec<&Intake> = intakes.iter().filter(|intake| !intake.drawn_out).collect();
                Some((self.figures.of(*at)?, compared))
            })
            .filter(|(_, intakes)| !intakes.is_empty())
    }

    /// Every dose line that could be reckoned, also of what is drawn out.
    fn directed(&self) -> impl Iterator<Item = (&'a Composition, &Intake)> {
        self.looked_at
            .iter()
            .zip(&self.intakes)
            .filter_map(|(at, intakes)| Some((self.figures.of(*at)?, intakes)))
            .flat_map(|(composition, intakes)| intakes.iter().map(move |intake| (composition, intake)))
    }

    /// The line of a formula through which a herb comes in, be it through another formula. What is kept
    /// of an adapted formula stands in that one's entry, which says nothing of this one: then its head.
    fn line_of(&self, composition: &Composition, substance: usize) -> Span {
        let lines = || composition.lines.iter();
        let itself = lines().find(|line| line.taken.what == Bound::Substance(substance));
        let span = if let Some(line) = itself {
            Some(line.taken.name.span)
        } else {
            let place = within(self.ledger, self.figures, composition).line_of(substance);
            let named = lines().find(|line| Some(line.taken.span) == place);
            named.map(|line| line.taken.name.span).or(place)
        };
        span.map_or(composition.formula.head, |span| here(&composition.formula, span))
    }

    fn herb(&self, place: usize) -> &'a str {
        self.ledger
            .substances
            .get(place)
            .map_or("", |substance| substance.name.as_str())
    }
}

/// A place in a formula's own entry; for what is kept of an adapted formula its head.
fn here(formula: &Formula, span: Span) -> Span {
    if is_in_entry(formula, span) {
        span
    } else {
        formula.head
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
    let mut diagnostics = of_the_ledger(ledger, figures, faults);
    diagnostics.extend(of_the_book(ledger, figures, faults, book));
    let places: Vec<usize> = (0..ledger.formulas.len()).collect();
    for found in parallel::map(&places, |at| of_a_formula(ledger, figures, faults, person, *at)) {
        diagnostics.extend(found);
    }
    diagnostics
}

/// Runs the rules that look at the dispensary's book.
pub fn of_the_book(ledger: &Ledger, figures: &Figures, faults: &Faults, book: &DayBook) -> Vec<Diagnostic> {
    rules::of_the_book(&Booked {
        ledger,
        figures,
        faults,
        book,
    })
}

/// Runs the rules that look at herbs, people and topics.
pub fn of_the_ledger(ledger: &Ledger, figures: &Figures, faults: &Faults) -> Vec<Diagnostic> {
    let scope = Scope::new(ledger, figures, faults, None, Vec::new());
    found_by(&[rules::OF_THE_LEDGER], &scope)
}

/// Runs the rules that look at one formula at a time, over this one: what they find depends on
/// nothing but it, what is in it, its person, the practice and the topics.
pub fn of_a_formula(
    ledger: &Ledger,
    figures: &Figures,
    faults: &Faults,
    person: Option<&Person>,
    formula: usize,
) -> Vec<Diagnostic> {
    let scope = Scope::new(ledger, figures, faults, person, vec![formula]);
    found_by(&[rules::AS_WRITTEN, rules::OF_A_FORMULA], &scope)
}

/// Looks at one formula as somebody does who asks about its doses: more is said, and nothing of how it is written.
pub fn at_the_desk(
    ledger: &Ledger,
    figures: &Figures,
    faults: &Faults,
    person: Option<&Person>,
    formula: usize,
) -> Vec<Diagnostic> {
    let scope = Scope {
        at_the_desk: true,
        ..Scope::new(ledger, figures, faults, person, vec![formula])
    };
    found_by(&[rules::OF_A_FORMULA], &scope)
}

fn found_by(lists: &[&[rules::Rule]], scope: &Scope<'_>) -> Vec<Diagnostic> {
    let mut diagnostics = Vec::new();
    for rule in lists.iter().copied().flatten() {
        rule(scope, &mut diagnostics);
    }
    diagnostics
}
