//! What is in a formula, and on which way it got there: taken, poured on, bought ready-made, or through another formula.

use std::borrow::Cow;
use std::collections::{BTreeSet, HashSet};

use super::trace::Step;
use super::{Amounts, Composition, Figures, How, LineFigure, Totals, adapt, alcohol, prepared, vehicle};
use crate::model::{Bound, Formula, Ledger, Looked};
use crate::source::Span;

/// How one thing gets into another.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Via {
    /// A line takes it.
    Taken,
    /// A step pours it on.
    Liquid,
    /// A step names it, and no line takes it.
    Prepared,
    /// A dose is taken in it.
    Vehicle,
    /// It is bought made of it.
    MadeOf,
    /// It holds alcohol, for which this entry speaks.
    Alcohol,
}

/// What something is in: a formula that was opened, or a thing that was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Inside {
    Formula(usize),
    Found(usize),
}

/// A formula that was opened.
struct Opened<'a> {
    formula: Cow<'a, Formula>,
    from: Option<(usize, Via, Span)>,
}

/// A herb or material that was found.
#[derive(Debug, Clone, Copy)]
struct Found {
    substance: usize,
    inside: Inside,
    via: Via,
    span: Option<Span>,
}

/// Something in a formula that holds alcohol, and of which no entry says what to be careful of.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unsaid {
    /// Its name as written, with its strength.
    pub name: String,
    /// Where it stands in the formula.
    pub span: Span,
    /// Its entry, if it has one.
    pub substance: Option<usize>,
}

/// All that is in a formula.
pub struct Within<'a> {
    formulas: Vec<Opened<'a>>,
    found: Vec<Found>,
    /// What holds alcohol without any entry that says so.
    pub unsaid: Vec<Unsaid>,
    /// The formulas that were opened, by their places in the ledger.
    opened: HashSet<usize>,
}

/// The herbs, materials and formulas that a formula leans on, by their places in the ledger.
#[derive(Debug, Clone, Default)]
pub struct Leanings {
    /// Herbs and materials.
    pub substances: Vec<usize>,
    /// Formulas, itself among them.
    pub formulas: Vec<usize>,
}

/// All that a formula leans on: nothing else in the ledger's herbs and formulas can change what it comes
/// to or what is found in it.
pub fn leanings(ledger: &Ledger, figures: &Figures, formula: usize) -> Leanings {
    let mut formulas: BTreeSet<usize> = ledger.all_needs(formula).into_iter().collect();
    let mut substances: BTreeSet<usize> = BTreeSet::new();
    for at in formulas.clone() {
        if let Some(one) = ledger.formulas.get(at) {
            substances.extend(one.taken.iter().filter_map(|taken| match taken.what {
                Bound::Substance(at) => Some(at),
                _ => None,
            }));
        }
    }
    if let Some(composition) = opened(ledger, figures, formula) {
        let all = within(ledger, figures, &composition);
        substances.extend(all.substances());
        formulas.extend(&all.opened);
    }
    Leanings {
        substances: substances.into_iter().collect(),
        formulas: formulas.into_iter().collect(),
    }
}

/// A formula as far as it can be read, without any figure: for one that has none. What it keeps of
/// the formulas that it adapts is in it.
pub fn bare(ledger: &Ledger, formula: usize) -> Option<Composition> {
    let mut whole = Formula::clone(ledger.formulas.get(formula)?);
    let mut seen = vec![formula];
    let mut next = whole.adapts.as_ref().and_then(|adapts| adapts.formula);
    while let Some(at) = next.filter(|at| !seen.contains(at)) {
        seen.push(at);
        let base = ledger.formulas.get(at)?;
        let mut kept = Formula::clone(base);
        kept.taken
            .retain(|taken| !whole.without.iter().any(|(_, bound)| *bound == taken.what));
        let further = base.without.clone();
        whole = adapt::merge(ledger, kept, &whole);
        whole.without.extend(further);
        next = base.adapts.as_ref().and_then(|adapts| adapts.formula);
    }
    let lines = whole
        .taken
        .iter()
        .map(|taken| LineFigure {
            taken: taken.clone(),
            amounts: Amounts::default(),
            how: How::Uncounted,
            share: None,
        })
        .collect();
    Some(Composition {
        formula: whole,
        lines,
        totals: Totals::default(),
    })
}

/// A formula with its figures; as far as it can be read, if it has none.
pub fn opened<'a>(ledger: &Ledger, figures: &'a Figures, formula: usize) -> Option<Cow<'a, Composition>> {
    match figures.of(formula) {
        Some(composition) => Some(Cow::Borrowed(composition)),
        None => bare(ledger, formula).map(Cow::Owned),
    }
}

/// The lines and steps of a formula: with what it adapts filled in, copied only where that has to be
/// put together anew.
fn read<'a>(ledger: &'a Ledger, figures: &'a Figures, at: usize) -> Option<Cow<'a, Formula>> {
    if let Some(composition) = figures.of(at) {
        return Some(Cow::Borrowed(&composition.formula));
    }
    let formula = ledger.formulas.get(at)?;
    match formula.adapts {
        None => Some(Cow::Borrowed(formula)),
        Some(_) => bare(ledger, at).map(|bare| Cow::Owned(bare.formula)),
    }
}

/// Looks through a formula and all that is in it. Lines without a weight are in it all the same.
pub fn within<'a>(ledger: &'a Ledger, figures: &'a Figures, composition: &'a Composition) -> Within<'a> {
    let mut all = Within {
        formulas: vec![Opened {
            formula: Cow::Borrowed(&composition.formula),
            from: None,
        }],
        found: Vec::new(),
        unsaid: Vec::new(),
        opened: HashSet::new(),
    };
    let mut looked = 0;
    while let Some(open) = all.formulas.get(looked) {
        let mut held: Vec<(Bound, Via, Span)> = open
            .formula
            .taken
            .iter()
            .map(|taken| (taken.what, Via::Taken, taken.span))
            .collect();
        let mut nameless: Vec<Unsaid> = Vec::new();
        for stranger in prepared::strangers(ledger, &open.formula) {
            let span = stranger.name.span;
            held.extend(
                stranger
                    .meant
                    .into_iter()
                    .map(|bound| (bound, Via::Prepared, span)),
            );
        }
        for step in &open.formula.steps {
            for liquid in &step.preparation.media {
                match liquid.name.as_ref().and_then(|name| named(ledger, &name.text)) {
                    Some(bound) => held.push((bound, Via::Liquid, step.span)),
                    None if alcohol::is_liquor(liquid) => nameless.push(Unsaid {
                        name: alcohol::said(liquid),
                        span: step.span,
                        substance: None,
                    }),
                    None => {}
                }
            }
        }
        // How the formula itself is taken; what is in it is taken with it, whatever that one's doses say.
        let doses = if looked == 0 {
            open.formula.doses.as_slice()
        } else {
            &[]
        };
        for line in doses {
            for words in vehicle::vehicles(&line.dose) {
                let readings = vehicle::readings(&words);
                match readings.iter().find_map(|one| named(ledger, one)) {
                    // `in a cup of the tea` is the formula itself.
                    Some(bound) if is_itself(ledger, bound, &open.formula) => {}
                    Some(bound) => held.push((bound, Via::Vehicle, line.span)),
                    None => nameless.extend(vehicle::liquor(&readings).map(|one| Unsaid {
                        name: vehicle::bare(one),
                        span: line.span,
                        substance: None,
                    })),
                }
            }
        }
        let inside = Inside::Formula(looked);
        for (bound, via, span) in held {
            match bound {
                Bound::Substance(substance) => all.found.push(Found {
                    substance,
                    inside,
                    via,
                    span: Some(span),
                }),
                Bound::Formula(at) => {
                    if all.opened.insert(at)
                        && let Some(formula) = read(ledger, figures, at)
                    {
                        all.formulas.push(Opened {
                            formula,
                            from: Some((looked, via, span)),
                        });
                    }
                }
                Bound::Unknown => {}
            }
        }
        for one in nameless {
            match figures.alcohol.speaker {
                Some(substance) => all.found.push(Found {
                    substance,
                    inside,
                    via: Via::Alcohol,
                    span: Some(one.span),
                }),
                None => all.unsaid.push(one),
            }
        }
        looked += 1;
    }
    all.bought(ledger, figures);
    all
}

/// What a liquid's name means, its leading words left off one by one: `strong wine` is wine.
fn named(ledger: &Ledger, name: &str) -> Option<Bound> {
    let words: Vec<&str> = name.split(' ').collect();
    (0..words.len()).find_map(|from| match ledger.names.look(&words.get(from..)?.join(" ")) {
        Looked::Found(bound) => Some(bound),
        _ => None,
    })
}

fn is_itself(ledger: &Ledger, bound: Bound, formula: &Formula) -> bool {
    matches!(bound, Bound::Formula(at)
        if ledger.formulas.get(at).is_some_and(|other| other.name.span == formula.name.span))
}

impl Within<'_> {
    /// What is bought ready-made is what it was made of, too; and what holds alcohol without saying
    /// what that asks for is as spirit is.
    fn bought(&mut self, ledger: &Ledger, figures: &Figures) {
        let mut looked = 0;
        while let Some(one) = self.found.get(looked).copied() {
            let at = looked;
            looked += 1;
            let Some(substance) = ledger.substances.get(one.substance) else {
                continue;
            };
            let inside = Inside::Found(at);
            if let Some(herb) = substance.made_of
                && !self
                    .found
                    .iter()
                    .any(|known| known.substance == herb && known.inside == inside)
                && !self.is_in(at, herb)
            {
                self.found.push(Found {
                    substance: herb,
                    inside,
                    via: Via::MadeOf,
                    span: substance.span,
                });
            }
            if !figures.alcohol.is_unsaid(one.substance) {
                continue;
            }
            match figures.alcohol.speaker {
                Some(speaker) if speaker != one.substance => self.found.push(Found {
                    substance: speaker,
                    inside,
                    via: Via::Alcohol,
                    span: substance.span,
                }),
                Some(_) => {}
                None => {
                    let span = self.place_of(at).or(substance.span);
                    if let Some(span) = span
                        && !self
                            .unsaid
                            .iter()
                            .any(|known| known.substance == Some(one.substance))
                    {
                        self.unsaid.push(Unsaid {
                            name: substance.name.clone(),
                            span,
                            substance: Some(one.substance),
                        });
                    }
                }
            }
        }
    }

    /// Whether something stands on the way to what was found: things made of each other end here.
    fn is_in(&self, found: usize, substance: usize) -> bool {
        let mut at = Some(found);
        while let Some(one) = at.and_then(|at| self.found.get(at)) {
            if one.substance == substance {
                return true;
            }
            at = match one.inside {
                Inside::Found(outer) => Some(outer),
                Inside::Formula(_) => None,
            };
        }
        false
    }

    /// The line of the outermost formula through which something found came in.
    fn place_of(&self, found: usize) -> Option<Span> {
        let mut one = self.found.get(found)?;
        while let Inside::Found(outer) = one.inside {
            one = self.found.get(outer)?;
        }
        let Inside::Formula(mut formula) = one.inside else {
            return None;
        };
        let mut span = one.span;
        while let Some((outer, _, at)) = self.formulas.get(formula)?.from {
            formula = outer;
            span = Some(at);
        }
        span
    }

    /// The line of the formula itself through which a herb or material comes in.
    pub fn line_of(&self, substance: usize) -> Option<Span> {
        let places = || {
            (0..self.found.len())
                .filter(|at| self.found.get(*at).is_some_and(|one| one.substance == substance))
        };
        let direct = places().find(|at| {
            self.found
                .get(*at)
                .is_some_and(|one| one.inside == Inside::Formula(0))
        });
        self.place_of(direct.or_else(|| places().next())?)
    }

    /// The herbs and materials, by their place in the ledger, each once.
    pub fn substances(&self) -> Vec<usize> {
        let mut places: Vec<usize> = self.found.iter().map(|one| one.substance).collect();
        places.sort_unstable();
        places.dedup();
        places
    }

    /// Every way on which something is in the formula, from the outside in.
    pub fn ways(&self, ledger: &Ledger, substance: usize) -> Vec<Vec<Step>> {
        self.found
            .iter()
            .filter(|one| one.substance == substance)
            .map(|one| self.way(ledger, *one))
            .collect()
    }

    fn way(&self, ledger: &Ledger, found: Found) -> Vec<Step> {
        let name = |at: usize| ledger.substances.get(at).map_or("", |one| one.name.as_str());
        let mut steps = Vec::new();
        let mut one = found;
        let mut formula = loop {
            let inner = name(one.substance).to_owned();
            match one.inside {
                Inside::Formula(at) => {
                    let outer = self.name_of(at);
                    steps.push(step(one.via, &outer, &inner, one.span));
                    break at;
                }
                Inside::Found(at) => {
                    let Some(outer) = self.found.get(at).copied() else {
                        break 0;
                    };
                    steps.push(step(one.via, name(outer.substance), &inner, one.span));
                    one = outer;
                }
            }
        };
        while let Some((outer, via, span)) = self.formulas.get(formula).and_then(|open| open.from) {
            steps.push(step(
                via,
                &self.name_of(outer),
                &self.name_of(formula),
                Some(span),
            ));
            formula = outer;
        }
        steps.reverse();
        steps
    }

    fn name_of(&self, formula: usize) -> String {
        self.formulas
            .get(formula)
            .map(|open| open.formula.name.text.clone())
            .unwrap_or_default()
    }
}

fn step(via: Via, outer: &str, inner: &str, span: Option<Span>) -> Step {
    let says = match via {
        Via::Taken => format!("{outer} takes {inner}"),
        Via::Liquid => format!("{outer} is prepared in {inner}"),
        Via::Prepared => format!("a step of {outer} prepares {inner}, which it does not take"),
        Via::Vehicle => format!("a dose of {outer} is taken in {inner}"),
        Via::MadeOf => format!("{outer} is bought ready-made of {inner}"),
        Via::Alcohol => format!("{outer} holds alcohol, and what that asks for is said of {inner}"),
    };
    Step {
        says,
        span,
        book: None,
    }
}
