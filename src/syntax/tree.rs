//! What was written: entries and their lines, every piece with its place in the text.
//!
//! The tree knows no units, binds no names and keeps what it does not understand.

use crate::quantity::Number;
use crate::source::{FileId, Span};

/// A file cut into entries.
#[derive(Debug, Clone)]
pub struct Tree {
    /// Which file it is.
    pub file: FileId,
    /// The entries, in the order of the text.
    pub entries: Vec<Entry>,
    /// Every comment, from its `#` to the end of its line.
    pub comments: Vec<Span>,
}

/// What an entry is about; the first word in the first column.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Kind {
    /// Who keeps the ledger, and its measures and scales.
    Practice,
    /// A book or paper that figures come from.
    Source,
    /// A dried herb.
    Herb,
    /// Anything taken that is no herb.
    Material,
    /// A blend or preparation.
    Formula,
    /// A case code.
    Person,
    /// A blend really made, or planned.
    Batch,
    /// A delivery of one herb.
    Lot,
    /// What was handed out.
    Supply,
    /// What a teacher publishes.
    Set,
    /// What cautions are about, and whom they concern.
    Topic,
}

impl Kind {
    /// All kinds, in the order in which they are taught.
    pub const ALL: [Self; 11] = [
        Self::Practice,
        Self::Source,
        Self::Herb,
        Self::Material,
        Self::Formula,
        Self::Person,
        Self::Batch,
        Self::Lot,
        Self::Supply,
        Self::Set,
        Self::Topic,
    ];

    /// The word that opens the entry.
    pub fn word(self) -> &'static str {
        match self {
            Self::Practice => "practice",
            Self::Source => "source",
            Self::Herb => "herb",
            Self::Material => "material",
            Self::Formula => "formula",
            Self::Person => "person",
            Self::Batch => "batch",
            Self::Lot => "lot",
            Self::Supply => "supply",
            Self::Set => "set",
            Self::Topic => "topic",
        }
    }
}

/// A name or a run of free words, with runs of blanks folded to one and quotes taken off.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Name {
    /// What it says.
    pub text: String,
    /// Where it stands, quotes included.
    pub span: Span,
}

/// A date as precisely as it was written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Date {
    /// The first day that it may mean.
    pub first: jiff::civil::Date,
    /// Whether only the month was written.
    pub month_only: bool,
    /// Where it stands.
    pub span: Span,
}

/// One entry.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// What it is about.
    pub kind: Kind,
    /// Where the kind's word stands.
    pub kind_span: Span,
    /// Its name; a practice may have none. For a lot: of what.
    pub name: Option<Name>,
    /// The id of a lot.
    pub id: Option<Name>,
    /// The day of a batch or a supply.
    pub date: Option<Date>,
    /// The first line as a whole.
    pub head: Span,
    /// Its lines.
    pub lines: Vec<Line>,
    /// From the first letter to the last.
    pub span: Span,
}

/// One line of an entry.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    /// The line word as the language writes it; for a piece of a herb's own, the piece.
    pub word: Name,
    /// What the line says.
    pub body: Body,
    /// The declared source at the line's end.
    pub source: Option<Name>,
    /// The whole line, with what goes on below it.
    pub span: Span,
}

/// What a line says, by its pattern.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Body {
    /// Nothing: the word alone says it.
    Flag,
    /// Free words, kept and not understood.
    Words(Name),
    /// Names between commas.
    Names(Vec<Name>),
    /// What a measure weighs.
    Weighing(Weighing),
    /// An amount.
    Quantity(Quantity),
    /// A factor, perhaps a range of factors.
    Factor(Numbers),
    /// A percentage.
    Percent(Number),
    /// Weight per volume.
    Density(Quantity, Name),
    /// Money, perhaps per a quantity.
    Money(Money),
    /// The strength of a bought preparation, as written.
    Strength(Name),
    /// How much at a time, and how often.
    Dose(Box<Dose>),
    /// A greatest amount, and the ages that it is for, as a dose has them.
    Most(Quantity, Per, Option<(Numbers, bool)>),
    /// A caution's topic and what it says.
    Caution(Name, Option<Name>),
    /// What is taken, and how many lines of the list were refused.
    Take(Vec<Ingredient>, usize),
    /// One step of preparing.
    Preparation(Box<Preparation>),
    /// Pieces that the whole is divided into: a size for each, or how many of them.
    Divide(Divide),
    /// The formula that this one adapts, and the part of each amount that is taken.
    Adapts(Name, Option<Number>),
    /// A day or a month.
    Date(Date),
    /// How much to make.
    Make(Make),
    /// What went into a batch, and how many lines of the list were refused.
    Used(Vec<UsedLine>, usize),
    /// An amount that was there, or went away, on a day.
    Counted(Counted),
    /// What is sold at once.
    Pack(Pack),
    /// An age with its unit; years, if none stands.
    Age(Number, Option<Name>),
    /// A line that holds a slip; the finding has been made.
    Broken,
}

/// A number or a range of numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Numbers {
    /// The only or the lower one.
    pub low: Number,
    /// The upper one.
    pub high: Option<Number>,
    /// Where they stand.
    pub span: Span,
}

/// A number and the words of its measure.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Term {
    /// How many.
    pub number: Number,
    /// Of what, as written; nothing in `8 to 10 g` before the `to`.
    pub unit: Option<Name>,
    /// Where it stands.
    pub span: Span,
}

/// An amount: terms that add up, or a range between two such sums.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Quantity {
    /// The only or the lower amount.
    pub low: Vec<Term>,
    /// The upper amount of a range.
    pub high: Option<Vec<Term>>,
    /// Where it stands.
    pub span: Span,
}

/// What measures weigh.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Weighing {
    /// One amount or a range.
    Stated(Quantity),
    /// Own weighings: each an amount for so many measures at once.
    Weighed(Vec<Weighed>),
}

/// One weighing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Weighed {
    /// What the scales said; the unit may stand only at the end of the list.
    pub term: Term,
    /// How many measures lay on the scales.
    pub count: Option<Number>,
}

/// Money as written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Money {
    /// How much.
    pub number: Number,
    /// An ISO 4217 code or a symbol.
    pub currency: Option<Name>,
    /// What it buys.
    pub per: Option<Quantity>,
    /// Where it stands.
    pub span: Span,
}

/// What lay on the shelf at the end of a day, or was thrown away on it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Counted {
    /// How much.
    pub amount: Quantity,
    /// On which day.
    pub day: Date,
    /// Notes in free words.
    pub notes: Vec<Name>,
}

/// What a seller sells at once.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pack {
    /// How much.
    pub amount: Quantity,
    /// What it costs.
    pub money: Option<Money>,
    /// Who sells it.
    pub seller: Option<Name>,
}

/// One line under `take`: one or more names that share an amount.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ingredient {
    /// `without` these.
    pub without: bool,
    /// The names.
    pub names: Vec<Name>,
    /// A strength before the name.
    pub strength: Option<Number>,
    /// The amount.
    pub amount: Option<Amount>,
    /// Processing in free words.
    pub processing: Vec<Name>,
    /// The role, after `as`.
    pub role: Option<Name>,
    /// Where the line comes from.
    pub source: Option<Name>,
    /// The whole line.
    pub span: Span,
}

/// An ingredient's amount.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Amount {
    /// Whether it stands after `of each`.
    pub each: bool,
    /// What it says.
    pub kind: AmountKind,
    /// `, or q.s.` follows.
    pub or_enough: bool,
    /// Where it stands.
    pub span: Span,
}

/// The ways of saying an amount.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum AmountKind {
    /// So much.
    Quantity(Quantity),
    /// About so much.
    About(Quantity),
    /// One part each.
    EqualParts,
    /// Parts in the order of the names.
    Shares(Vec<Number>),
    /// What is missing to a total.
    EnoughTo(Quantity),
    /// Enough, by judgement, perhaps with an estimate.
    Enough(Option<Quantity>),
}

/// One line under `used`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct UsedLine {
    /// Of what.
    pub name: Name,
    /// How much from which lot.
    pub portions: Vec<(Quantity, Option<Name>)>,
    /// Notes in free words.
    pub notes: Vec<Name>,
    /// The whole line.
    pub span: Span,
}

/// What a greatest amount is counted over.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Per {
    /// A day.
    Day,
    /// One dose.
    Dose,
    /// Not said: a length of use.
    Unsaid,
}

/// Pieces.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Divide {
    /// `filter bags of 2 g`.
    Sized(Name, Quantity),
    /// `24 powders`.
    Counted(Quantity),
}

/// How often.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Frequency {
    /// So many times a day; the flag says `up to`.
    TimesADay(Numbers, bool),
    /// Every so many hours.
    Every(Quantity),
}

/// A dose.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Dose {
    /// The ages it is for; the flag says `under`.
    pub age: Option<(Numbers, bool)>,
    /// How much at a time.
    pub amount: Quantity,
    /// In how much of something.
    pub vehicle: Option<Quantity>,
    /// How often.
    pub frequency: Option<Frequency>,
    /// `every 2 hours` beside a number of times a day: then it is the least time between two.
    pub apart: Option<Quantity>,
    /// For how long.
    pub lasting: Option<Quantity>,
    /// What else is said.
    pub clauses: Vec<Name>,
    /// Where it stands.
    pub span: Span,
}

/// One step of preparing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Preparation {
    /// What is prepared.
    pub subject: Subject,
    /// In or with what.
    pub media: Vec<Liquid>,
    /// For how long.
    pub lasting: Option<Quantity>,
    /// At which temperature.
    pub heat: Option<Quantity>,
    /// Boiled down to this.
    pub down_to: Option<Quantity>,
    /// What else is said.
    pub clauses: Vec<Name>,
    /// Where it stands.
    pub span: Span,
}

/// What a step prepares.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Subject {
    /// All that was taken.
    All,
    /// Solid to liquid; the flag says by weight.
    Ratio(Vec<Number>, bool),
    /// An amount of the blend, or of a named thing.
    Amount(Quantity, Option<Name>),
    /// Named things, `it`, `the rest`, `the roots`.
    Things(Vec<Name>),
}

/// A liquid that something is prepared in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Liquid {
    /// How much.
    pub amount: Option<Quantity>,
    /// Its strength in percent by volume, or by weight where the flag says so.
    pub strength: Option<(Number, bool)>,
    /// What it is; nothing in `in 150 ml`.
    pub name: Option<Name>,
}

/// How much to make.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Make {
    /// As much as there is stock for.
    AllStock,
    /// For so many people, for so many days.
    People {
        /// How many people.
        people: Number,
        /// How many days.
        days: Number,
    },
    /// So many vessels of a size.
    Vessels {
        /// How many.
        count: Number,
        /// Jars, bags.
        vessel: Name,
        /// What one holds.
        each: Quantity,
    },
    /// The formula's own size so many times over.
    Times(Number),
    /// An amount, cups, doses or pieces.
    Quantity(Quantity),
}
