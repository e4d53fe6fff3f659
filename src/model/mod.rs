//! Turns the trees of all files into one ledger: names bound, units known, nothing reckoned.
//!
//! The model never reads a file. What it cannot bind it reports and leaves unbound, so that
//! one unknown name costs one finding and the other lines still count.

mod build;
mod checked;
pub mod dispensary;
mod entries;
mod formula;
mod heads;
pub mod measure;
mod names;
pub mod person;
mod read;
mod records;
mod set;
mod settled;
pub mod taken;
pub mod topic;

use std::borrow::Borrow;
use std::collections::{HashMap, HashSet};
use std::sync::Arc;

use crate::code;
use crate::diagnostic::{Diagnostic, Severity};
use crate::quantity::unit::Settled;
use crate::quantity::{Currency, Decimal, Heap, Household, Spread};
use crate::source::Span;
use crate::syntax::tree::{Dose, Kind, Name, Numbers, Per, Preparation, Tree};

pub use build::Binding;
pub use dispensary::{Batch, Count, Lot, Pack, Price, Supply, Used, UsedPortion};
pub use measure::Portion;
pub use names::{Bound, Looked, Names};
pub use person::{Fact, Person};
pub use records::{weight, years};
pub use set::{Lesson, Set};
pub use taken::{Taken, TakenAmount};
pub use topic::{AgeTopic, FactKind, Topic};

/// Everything that the files say.
#[derive(Debug, Clone, Default)]
pub struct Ledger {
    /// Measures, scales and settled names.
    pub practice: Practice,
    /// The books and papers that figures come from.
    pub books: Arc<Vec<Book>>,
    /// Herbs and materials.
    pub substances: Vec<Arc<Substance>>,
    /// Blends and preparations.
    pub formulas: Vec<Arc<Formula>>,
    /// Deliveries.
    pub lots: Vec<Arc<Lot>>,
    /// Blends that were made or are planned.
    pub batches: Vec<Arc<Batch>>,
    /// What was handed out.
    pub supplies: Vec<Arc<Supply>>,
    /// What a teacher publishes.
    pub sets: Vec<Arc<Set>>,
    /// People, by case code.
    pub people: Arc<Vec<Person>>,
    /// What cautions are about: the ledger's own topics, then those built in.
    pub topics: Arc<Vec<Topic>>,
    /// What the names of topics that stand in the ledger mean, looked up once: places in `topics`.
    meant_topics: Arc<HashMap<String, Option<usize>>>,
    /// What the names mean.
    pub names: Arc<Names>,
}

/// What can't be reckoned with because something in it was refused.
///
/// A line that is refused may be the one that matters: an amount, a weighing, the size of a
/// spoon. So whatever holds an error has no figures, and what needs it has none either.
#[derive(Debug, Clone, Default)]
pub struct Faults {
    /// The practice.
    pub practice: bool,
    /// Herbs and materials: their own measures are not used.
    pub substances: HashSet<usize>,
    /// Formulas.
    pub formulas: HashSet<usize>,
}

/// Whether a file was left out, or an entry whose kind was not understood: it may be the practice,
/// and without it every spoon would be measured by a standard that nobody chose.
fn may_hide_a_practice<'a>(mut found: impl Iterator<Item = &'a Diagnostic>) -> bool {
    found.any(|one| {
        [
            code::UNREADABLE_FILE,
            code::NOT_UTF_8,
            code::FILE_TOO_LARGE,
            code::UNKNOWN_ENTRY,
        ]
        .contains(&one.code)
    })
}

impl Faults {
    /// Finds what the errors lie in.
    pub fn of<'a>(ledger: &Ledger, found: impl Iterator<Item = &'a Diagnostic> + Clone) -> Self {
        let mut errors: Vec<Span> = found
            .clone()
            .filter(|one| one.severity == Severity::Error)
            .map(|one| one.span)
            .collect();
        errors.sort_unstable();
        let hit = |entry: Span| {
            let first = errors.partition_point(|error| (error.file, error.start) < (entry.file, entry.start));
            errors
                .get(first)
                .is_some_and(|error| error.file == entry.file && error.start <= entry.end)
        };
        let places = |entries: Vec<Option<Span>>| {
            entries
                .into_iter()
                .enumerate()
                .filter(|(_, entry)| entry.is_some_and(hit))
                .map(|(at, _)| at)
                .collect()
        };
        // A person of whom a fact was refused can't be checked against.
        let for_refused: HashSet<usize> = ledger
            .formulas
            .iter()
            .enumerate()
            .filter(|(_, formula)| ledger.person_of(formula).is_some_and(|person| person.refused))
            .map(|(at, _)| at)
            .collect();
        let formulas: HashSet<usize> = places(ledger.formulas.iter().map(|one| Some(one.entry)).collect());
        Self {
            practice: match ledger.practice.entry {
                Some(entry) => hit(entry),
                None => may_hide_a_practice(found),
            },
            substances: places(ledger.substances.iter().map(|one| one.entry).collect()),
            formulas: formulas.union(&for_refused).copied().collect(),
        }
    }
}

impl Ledger {
    /// The person that a formula is for, as its own line says.
    pub fn person_of(&self, formula: &Formula) -> Option<&Person> {
        let (_, at) = formula.person.as_ref()?;
        self.people.get((*at)?)
    }

    /// The topic with a name, the ledger's own before those built in; also by the words in which a
    /// caution is said rather than named, such as `not in pregnancy`.
    pub fn topic(&self, name: &str) -> Option<&Topic> {
        let place = match self.meant_topics.get(name) {
            Some(known) => *known,
            None => topic::place_of(&self.topics, name),
        };
        self.topics.get(place?)
    }

    /// Looks up what cautions or acceptances are about.
    fn look_up_topics<'a>(&mut self, names: impl Iterator<Item = &'a Name>) {
        for name in names {
            if !self.meant_topics.contains_key(&name.text) {
                let place = topic::place_of(&self.topics, &name.text);
                Arc::make_mut(&mut self.meant_topics).insert(name.text.clone(), place);
            }
        }
    }

    /// The formulas that a formula takes or adapts.
    pub fn needs(&self, formula: usize) -> Vec<usize> {
        let Some(formula) = self.formulas.get(formula) else {
            return Vec::new();
        };
        let adapted = formula.adapts.iter().filter_map(|adapts| adapts.formula);
        let taken = formula.taken.iter().filter_map(|taken| match taken.what {
            Bound::Formula(at) => Some(at),
            _ => None,
        });
        adapted.chain(taken).collect()
    }

    /// A formula and all that it takes or adapts, at any depth, itself first.
    pub fn all_needs(&self, formula: usize) -> Vec<usize> {
        let mut open = vec![formula];
        let mut known = HashSet::from([formula]);
        let mut looked = 0_usize;
        while let Some(at) = open.get(looked).copied() {
            looked = looked.saturating_add(1);
            open.extend(self.needs(at).into_iter().filter(|need| known.insert(*need)));
        }
        open
    }
}

/// Binds the trees of a ledger.
pub fn build<T: Borrow<Tree>>(trees: &[T]) -> (Ledger, Vec<Diagnostic>) {
    let trees: Vec<&Tree> = trees.iter().map(Borrow::borrow).collect();
    build::build(&trees)
}

/// What a stated value is, and where it is stated; nowhere for a standard's own value.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stated<T> {
    /// The value.
    pub value: T,
    /// The line that states it.
    pub span: Option<Span>,
}

/// The practice: what its measures hold and what its scales can do.
#[derive(Debug, Clone)]
pub struct Practice {
    /// Its whole entry.
    pub entry: Option<Span>,
    /// Its name, if it says one.
    pub name: Option<String>,
    /// Its address, for labels.
    pub address: Option<String>,
    /// What household measures hold, in millilitres.
    pub volumes: Vec<(Household, Stated<Spread>)>,
    /// How many level measures a heap is.
    pub heaps: Vec<(Heap, Stated<Spread>)>,
    /// Which old measures are meant.
    pub settled: Settled,
    /// The smallest step of the scales, in grams.
    pub scales: Stated<Decimal>,
    /// The smallest step of the measuring cylinder, in millilitres.
    pub cylinder: Stated<Decimal>,
    /// The largest weighing error accepted, in percent.
    pub error: Stated<Decimal>,
    /// The largest loss of a batch accepted, in percent of what went in.
    pub loss: Stated<Decimal>,
    /// What is added to the cost, or kept of the price, where the practice says so.
    pub gain: Option<Stated<Gain>>,
    /// The money that costs are in, where the practice says so.
    pub money: Option<Currency>,
    /// The rule by which a child's dose is worked out, where the practice asks for one.
    pub children: Option<(ChildRule, Span)>,
    /// Where the texts with the totals of each file are kept, where the practice says so.
    pub totals: Option<TotalsPlace>,
}

impl Default for Practice {
    fn default() -> Self {
        let unstated = |value| Stated { value, span: None };
        Self {
            entry: None,
            name: None,
            address: None,
            volumes: Vec::new(),
            heaps: Vec::new(),
            settled: Settled::default(),
            // Common practice, no source: kitchen scales of 0.1 g, and five in a hundred.
            scales: unstated(Decimal::new(1, 1)),
            cylinder: unstated(Decimal::new(1, 1)),
            error: unstated(Decimal::new(5, 0)),
            loss: unstated(Decimal::new(5, 0)),
            gain: None,
            money: None,
            children: None,
            totals: None,
        }
    }
}

/// How a price is made from a cost.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Gain {
    /// So many percent of the cost are added to it.
    MarkUp(Decimal),
    /// So many percent of the price are kept; below a hundred.
    Margin(Decimal),
}

/// Where the texts with the totals of each file are kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum TotalsPlace {
    /// Beside the file that they are made from.
    Beside,
    /// In one folder below the ledger's own, with forward slashes and without one at its end; the
    /// folders of the files stand again in it.
    Folder(String),
    /// None are kept.
    Nowhere,
}

/// A published rule for a child's share of an adult's dose.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ChildRule {
    /// Age / (age + 12).
    Young,
    /// Weight in pounds / 150.
    Clark,
    /// Age at the next birthday / 24.
    Cowling,
    /// Age in months / 150.
    Fried,
}

impl Practice {
    /// What a household measure holds: as the practice says, else as the metric standard says.
    pub fn volume(&self, measure: Household) -> Option<Stated<Spread>> {
        self.volumes
            .iter()
            .find(|(stated, _)| *stated == measure)
            .map(|(_, volume)| *volume)
            .or_else(|| {
                Some(Stated {
                    value: Spread::exact(measure.metric_millilitres()?),
                    span: None,
                })
            })
    }

    /// How many level measures a heap is, if the practice says.
    pub fn heap(&self, heap: Heap) -> Option<Stated<Spread>> {
        self.heaps
            .iter()
            .find(|(stated, _)| *stated == heap)
            .map(|(_, factor)| *factor)
    }
}

/// A book or paper.
#[derive(Debug, Clone)]
pub struct Book {
    /// The short name by which lines cite it.
    pub name: Name,
    /// Title, author, year and reference, in that order, as far as they are said.
    pub citation: String,
    /// Whether its figures were written from memory.
    pub from_memory: bool,
    /// Its entry.
    pub span: Span,
}

/// A measure that something may be weighed by.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Measure {
    /// A household measure.
    Household(Heap, Household),
    /// A piece, by its folded name.
    Piece(String),
}

/// What one measure of something weighs.
#[derive(Debug, Clone)]
pub struct Weight {
    /// Of which measure.
    pub measure: Measure,
    /// In grams.
    pub grams: Spread,
    /// How many weighings stand behind it; none if it is stated.
    pub weighings: usize,
    /// The line that says so.
    pub span: Span,
    /// The book that the line cites.
    pub book: Option<usize>,
}

/// A herb or a material.
#[derive(Debug, Clone)]
pub struct Substance {
    /// Herb or material.
    pub kind: Kind,
    /// Its name as declared.
    pub name: String,
    /// Where it is declared; nowhere for water, which everyone knows.
    pub span: Option<Span>,
    /// Its whole entry.
    pub entry: Option<Span>,
    /// The botanical name.
    pub latin: Option<String>,
    /// The plant family.
    pub family: Option<String>,
    /// Its other names.
    pub also: Vec<String>,
    /// How it tastes, as written.
    pub taste: Vec<String>,
    /// What it is used for.
    pub purpose: Option<String>,
    /// How it keeps.
    pub keep: Option<String>,
    /// What it does by tradition: `warming`, `drying`.
    pub nature: Vec<String>,
    /// Whether the entry as a whole cites a source.
    pub cited: bool,
    /// What it was made of, as its `strength` says.
    pub made_of: Option<usize>,
    /// Whether its `strength` is a percentage.
    pub in_percent: bool,
    /// Published doses.
    pub doses: Vec<PublishedDose>,
    /// Published greatest amounts.
    pub mosts: Vec<PublishedMost>,
    /// How it is published to be prepared.
    pub steps: Vec<Step>,
    /// The parts it consists of: `rhizome`, `cut`.
    pub parts: Vec<String>,
    /// What its measures weigh.
    pub weights: Vec<Weight>,
    /// What a drop holds, in millilitres.
    pub drop: Option<Stated<Spread>>,
    /// Grams per millilitre.
    pub density: Option<Stated<Spread>>,
    /// What to be careful of.
    pub cautions: Vec<Caution>,
    /// What it costs by the price list, in the order written.
    pub prices: Vec<Price>,
    /// What it is sold in, in the order written.
    pub packs: Vec<Pack>,
    /// How much of it there should always be.
    pub minimum: Option<Stated<Portion>>,
    /// What may be taken in its place, if a person decides so.
    pub instead: Vec<(Name, Bound)>,
}

impl Substance {
    /// One of which only the name is known.
    fn empty(kind: Kind, name: &str) -> Self {
        Self {
            kind,
            name: name.to_owned(),
            span: None,
            entry: None,
            latin: None,
            family: None,
            also: Vec::new(),
            taste: Vec::new(),
            purpose: None,
            keep: None,
            nature: Vec::new(),
            cited: false,
            made_of: None,
            in_percent: false,
            doses: Vec::new(),
            mosts: Vec::new(),
            steps: Vec::new(),
            parts: Vec::new(),
            weights: Vec::new(),
            drop: None,
            density: None,
            cautions: Vec::new(),
            prices: Vec::new(),
            packs: Vec::new(),
            minimum: None,
            instead: Vec::new(),
        }
    }

    /// Whether it is petals, which go in last.
    pub fn is_petals(&self) -> bool {
        let petal = |word: &str| word.to_lowercase().starts_with("petal");
        self.parts.iter().any(|part| part.split(' ').any(petal)) || self.name.split(' ').any(petal)
    }
}

/// A published dose of a herb.
#[derive(Debug, Clone)]
pub struct PublishedDose {
    /// What the line says.
    pub dose: Dose,
    /// The line.
    pub span: Span,
    /// Whether the line cites anything, declared or not.
    pub cited: bool,
    /// The book that the line cites.
    pub book: Option<usize>,
}

/// A published greatest amount of a herb: of one dose, of a day, or a length of use.
#[derive(Debug, Clone)]
pub struct PublishedMost {
    /// How much.
    pub portion: Portion,
    /// Over what.
    pub per: Per,
    /// The ages that it is for, and whether they are those under the first; nothing for everybody.
    pub ages: Option<(Numbers, bool)>,
    /// The line.
    pub span: Span,
    /// Whether the line cites anything, declared or not.
    pub cited: bool,
    /// The book that the line cites.
    pub book: Option<usize>,
}

/// How strong a caution is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Level {
    /// Tell the person.
    Mind,
    /// Not without professional advice.
    Consult,
    /// Not to be taken.
    Avoid,
}

impl Level {
    /// The line word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Mind => "mind",
            Self::Consult => "consult",
            Self::Avoid => "avoid",
        }
    }
}

/// A caution of a herb.
#[derive(Debug, Clone)]
pub struct Caution {
    /// How strong.
    pub level: Level,
    /// About what.
    pub topic: Name,
    /// What is said about it.
    pub text: Option<String>,
    /// The line.
    pub span: Span,
    /// The book that the line cites.
    pub book: Option<usize>,
}

/// A blend or preparation.
#[derive(Debug, Clone)]
pub struct Formula {
    /// Its name as declared.
    pub name: Name,
    /// Its entry's first line.
    pub head: Span,
    /// Its whole entry.
    pub entry: Span,
    /// Whether a line of it was refused, so that nothing may be summed.
    pub refused: bool,
    /// The formula that it adapts.
    pub adapts: Option<Adapts>,
    /// What it takes, one name a line, `of each` split.
    pub taken: Vec<Taken>,
    /// What it leaves out of the formula that it adapts.
    pub without: Vec<(Name, Bound)>,
    /// The `take` line.
    pub take_span: Option<Span>,
    /// What one part weighs, in grams.
    pub one_part: Option<Stated<Spread>>,
    /// What it makes.
    pub makes: Option<Stated<Portion>>,
    /// What measures of the finished blend weigh.
    pub weights: Vec<Weight>,
    /// How it is mixed.
    pub mix: Vec<Name>,
    /// How it is prepared, in the order written.
    pub steps: Vec<Step>,
    /// What it is divided into.
    pub divide: Option<Pieces>,
    /// How much at a time and how often.
    pub doses: Vec<DoseLine>,
    /// What the person is told.
    pub sign: Option<String>,
    /// What it is for.
    pub purpose: Option<String>,
    /// How it is given, if not by mouth.
    pub given: Option<String>,
    /// How it keeps.
    pub keep: Option<String>,
    /// Cautions accepted, with the reason.
    pub accepts: Vec<(Name, Option<String>)>,
    /// The books that it comes from.
    pub books: Vec<usize>,
    /// The person it is made for.
    pub person: Option<(Name, Option<usize>)>,
}

/// The formula that another adapts.
#[derive(Debug, Clone)]
pub struct Adapts {
    /// As written.
    pub name: Name,
    /// Which formula, if it is known.
    pub formula: Option<usize>,
    /// The part of each amount that is taken.
    pub share: Decimal,
}

/// A step of preparing.
#[derive(Debug, Clone)]
pub struct Step {
    /// `infuse`, `decoct` and so on.
    pub word: &'static str,
    /// What the line says.
    pub preparation: Preparation,
    /// The whole line.
    pub span: Span,
}

/// What a formula is divided into.
#[derive(Debug, Clone)]
pub struct Pieces {
    /// Folded name of the piece, as written: `filter bags`.
    pub name: String,
    /// What one weighs in grams; or how many there are.
    pub size: PieceSize,
    /// The line.
    pub span: Span,
}

/// How big pieces are.
#[derive(Debug, Clone, Copy)]
pub enum PieceSize {
    /// Each of so many grams.
    Grams(Spread),
    /// The whole is divided into so many.
    Count(Decimal),
}

/// A dose as written, with its line.
#[derive(Debug, Clone)]
pub struct DoseLine {
    /// What the line says.
    pub dose: Dose,
    /// The whole line.
    pub span: Span,
}
