//! Turns the ledger into figures: what each line of each formula weighs, with its spread.
//!
//! Formulas are reckoned in an order in which every formula comes after those that it takes or
//! adapts. A formula with a fault has no figures; the others are reckoned all the same.

pub mod accept;
mod adapt;
pub mod alcohol;
pub mod batch;
mod blend;
mod blend_spoon;
pub mod caution;
pub mod child;
mod compose;
mod drawn;
pub mod intake;
pub mod make;
mod measure;
mod order;
mod prepared;
pub mod reason;
pub mod settling;
mod shares;
mod sizing;
mod spoon;
pub mod trace;
mod vehicle;
pub mod within;

use std::borrow::Cow;
use std::collections::{HashMap, HashSet};
use std::sync::Arc;

use crate::diagnostic::Diagnostic;
use crate::model::{Bound, Faults, Formula, Ledger, Portion, Stated, Taken};
use crate::parallel;
use crate::quantity::{Decimal, Household, Spread};
use crate::source::Span;
use trace::{Step, Trace};

pub use measure::amount_of;

pub use blend::{AsNeeded, Held, as_needed, contents, held};
pub use drawn::is_drawn_out;

/// The figures of a whole ledger.
#[derive(Debug, Clone, Default)]
pub struct Figures {
    /// One for each formula, in the order of the ledger; nothing for a formula with a fault.
    pub formulas: Vec<Option<Arc<Composition>>>,
    /// What holds alcohol.
    pub(crate) alcohol: Arc<alcohol::Alcohol>,
}

impl Figures {
    /// The figures of one formula.
    pub fn of(&self, formula: usize) -> Option<&Composition> {
        self.formulas.get(formula)?.as_deref()
    }
}

impl Figures {
    /// Whether the same entry says what alcohol asks for, wherever alcohol has no word of its own.
    pub fn alcohol_is_said_alike(&self, other: &Self) -> bool {
        self.alcohol.speaker == other.alcohol.speaker
    }
}

/// How an amount was arrived at.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum How {
    /// Written as a weight.
    Weighed,
    /// By the spoon, the pinch or the handful.
    Spooned,
    /// By the piece.
    Counted,
    /// Written as a volume.
    Measured,
    /// From parts or a percentage.
    Shared,
    /// What is missing to a total.
    WorkedOut,
    /// An estimate.
    Judged,
    /// Enough by judgement, kept out of every total.
    Uncounted,
    /// Made up to the mark: fills up to a volume that can't be worked out from weights.
    ToTheMark,
}

impl How {
    /// What people read.
    pub fn words(self) -> &'static str {
        match self {
            Self::Weighed => "weighed",
            Self::Spooned => "spooned",
            Self::Counted => "counted",
            Self::Measured => "measured",
            Self::Shared => "shared out",
            Self::WorkedOut => "worked out",
            Self::Judged => "by judgement",
            Self::Uncounted => "as needed",
            Self::ToTheMark => "up to the mark",
        }
    }
}

/// What a line comes to; an amount may be known in grams, in millilitres, in both, or only in parts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Amounts {
    /// In grams.
    pub grams: Option<Spread>,
    /// In millilitres.
    pub millilitres: Option<Spread>,
    /// In parts (or percent) of a formula that has no size of its own.
    pub parts: Option<Spread>,
}

/// One line of a formula with its figures.
#[derive(Debug, Clone)]
pub struct LineFigure {
    /// The line.
    pub taken: Taken,
    /// What it comes to at the formula's own size.
    pub amounts: Amounts,
    /// How that was arrived at.
    pub how: How,
    /// Its share of the total in percent, where all lines are alike.
    pub share: Option<Decimal>,
}

/// What a formula comes to at its own size.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Totals {
    /// The sum of all lines that are known in grams.
    pub grams: Option<Spread>,
    /// The sum of all lines that are known in millilitres only.
    pub millilitres: Option<Spread>,
    /// The sum of the parts of a formula without a size.
    pub parts: Option<Spread>,
    /// The volume that it is made up to or yields, in millilitres.
    pub volume: Option<Spread>,
    /// What a preparation yields in grams, where that is said.
    pub finished: Option<Spread>,
}

/// A formula with everything that it adapts filled in, and its figures.
#[derive(Debug, Clone)]
pub struct Composition {
    /// The formula as it stands after adapting.
    pub formula: Formula,
    /// Its lines in the order written, those of the adapted formula first.
    pub lines: Vec<LineFigure>,
    /// Its totals.
    pub totals: Totals,
}

impl Composition {
    /// Whether every line that counts is known in grams.
    pub fn is_all_grams(&self) -> bool {
        self.lines
            .iter()
            .all(|line| line.amounts.grams.is_some() || line.how == How::Uncounted)
            && self.totals.grams.is_some()
    }

    /// Whether it has no size of its own.
    pub fn is_unsized(&self) -> bool {
        self.totals.parts.is_some()
    }
}

/// Reckons those formulas that are wanted; what they take or adapt must be wanted, too.
pub fn some(
    ledger: &Ledger,
    faults: &Faults,
    is_wanted: impl Fn(usize) -> bool,
) -> (Figures, Vec<Diagnostic>) {
    let reckoned = reckon(ledger, faults, is_wanted, None);
    let found = reckoned.found().cloned().collect();
    (reckoned.figures, found)
}

/// The figures of a ledger, and what was found while they were reckoned.
#[derive(Debug, Clone, Default)]
pub struct Reckoned {
    /// The figures.
    pub figures: Figures,
    /// What was found in each formula.
    of_formulas: Vec<Arc<[Diagnostic]>>,
    order: Arc<order::Order>,
}

impl Reckoned {
    /// What was found.
    pub fn found(&self) -> impl Iterator<Item = &Diagnostic> + Clone {
        let of_formulas = self.of_formulas.iter().flat_map(|found| found.iter());
        self.order.found.iter().chain(of_formulas)
    }
}

/// What was reckoned of an earlier ledger, of which parts are still right.
#[derive(Clone, Copy)]
pub struct Earlier<'a> {
    /// That ledger; its formulas have the same places.
    pub ledger: &'a Ledger,
    /// What it came to.
    pub reckoned: &'a Reckoned,
    /// Whether a formula, all that it leans on and their faults are the same as they were.
    pub is_kept: &'a dyn Fn(usize) -> bool,
}

/// Reckons those formulas that are wanted and not kept from earlier; what they take or adapt must be
/// wanted, too.
pub fn reckon(
    ledger: &Ledger,
    faults: &Faults,
    is_wanted: impl Fn(usize) -> bool,
    earlier: Option<Earlier<'_>>,
) -> Reckoned {
    let order = match earlier {
        Some(earlier) if earlier.reckoned.order.holds_for(earlier.ledger, ledger) => {
            Arc::clone(&earlier.reckoned.order)
        }
        _ => Arc::new(order::order(ledger)),
    };
    let mut done: Vec<Option<Arc<Composition>>> = vec![None; ledger.formulas.len()];
    let mut found: Vec<Arc<[Diagnostic]>> = vec![Arc::default(); ledger.formulas.len()];
    let (mut alone, mut others) = (Vec::new(), Vec::new());
    for at in order.sequence.iter().copied() {
        if order.broken.contains(&at) || faults.practice || !is_wanted(at) {
            continue;
        }
        if let Some(earlier) = earlier.filter(|earlier| (earlier.is_kept)(at)) {
            let known = earlier.reckoned;
            put(&mut done, at, known.figures.formulas.get(at).cloned().flatten());
            put(
                &mut found,
                at,
                known.of_formulas.get(at).cloned().unwrap_or_default(),
            );
        } else if order.stands_alone(at) {
            alone.push(at);
        } else {
            others.push(at);
        }
    }
    let mut reckoner = Reckoner::new(ledger);
    reckoner.faults = Some(faults);
    let apart = parallel::map(&alone, |at| {
        let mut reckoner = Reckoner {
            faults: Some(faults),
            ..Reckoner::new(ledger)
        };
        (reckoner.or_withheld(*at), reckoner.diagnostics)
    });
    for (at, (composition, own)) in alone.into_iter().zip(apart) {
        put(&mut done, at, composition);
        put(&mut found, at, own.into());
    }
    reckoner.done = done.into();
    for at in others {
        let composition = reckoner.or_withheld(at);
        put(reckoner.done.to_mut(), at, composition);
        put(&mut found, at, std::mem::take(&mut reckoner.diagnostics).into());
    }
    Reckoned {
        figures: Figures {
            formulas: reckoner.done.into_owned(),
            alcohol: Arc::new(alcohol::Alcohol::of(ledger)),
        },
        of_formulas: found,
        order,
    }
}

fn put<T>(slots: &mut [T], at: usize, value: T) {
    if let Some(slot) = slots.get_mut(at) {
        *slot = value;
    }
}

/// Reckons one formula again and keeps the working of each of its lines.
pub fn working(ledger: &Ledger, figures: &Figures, formula: usize) -> Vec<Vec<Step>> {
    let mut reckoner = Reckoner::new(ledger);
    reckoner.done = figures.formulas.as_slice().into();
    let mut trace = Trace::recording();
    reckoner.formula(formula, &mut trace);
    trace.lines
}

/// Everything that reckoning one formula needs to know.
pub(crate) struct Reckoner<'a> {
    pub(crate) ledger: &'a Ledger,
    pub(crate) done: Cow<'a, [Option<Arc<Composition>>]>,
    pub(crate) diagnostics: Vec<Diagnostic>,
    faults: Option<&'a Faults>,
    /// Spoons of blends that were worked out: a blend may stand in many.
    blends: HashMap<(usize, Household), Spread>,
    /// Those of them whose working has been told.
    told: HashSet<(usize, Household)>,
}

impl<'a> Reckoner<'a> {
    fn new(ledger: &'a Ledger) -> Self {
        Self {
            ledger,
            done: Cow::Borrowed(&[]),
            diagnostics: Vec::new(),
            faults: None,
            blends: HashMap::new(),
            told: HashSet::new(),
        }
    }

    /// The figures of a formula; none of a faulty one, which is looked over for what else is wrong with it.
    fn or_withheld(&mut self, at: usize) -> Option<Arc<Composition>> {
        let withheld = self.faults.is_some_and(|faults| faults.formulas.contains(&at));
        let composition = self.formula(at, &mut Trace::silent());
        composition.filter(|_| !withheld).map(Arc::new)
    }

    /// Whether something has an error of its own, so that its measures are not used.
    pub(crate) fn is_faulty(&self, what: Bound) -> bool {
        match what {
            Bound::Substance(at) => self.faults.is_some_and(|faults| faults.substances.contains(&at)),
            Bound::Formula(_) | Bound::Unknown => false,
        }
    }

    /// A reckoner that reads figures which are there already.
    pub(crate) fn over(ledger: &'a Ledger, figures: &'a Figures, faults: &'a Faults) -> Self {
        Self {
            faults: Some(faults),
            done: figures.formulas.as_slice().into(),
            ..Self::new(ledger)
        }
    }
}

/// A volume in millilitres, if a stated portion is one.
pub(crate) fn volume_of(stated: Option<&Stated<Portion>>) -> Option<(Spread, Option<Span>)> {
    match stated {
        Some(Stated {
            value: Portion::Millilitres(volume),
            span,
        }) => Some((*volume, *span)),
        _ => None,
    }
}
