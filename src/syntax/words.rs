//! Which line words each kind of entry has, and what pattern each is followed by.

use super::tree::Kind;

/// What stands after a line word.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pattern {
    /// Nothing.
    Flag,
    /// Free words.
    Words,
    /// Names between commas.
    Names,
    /// What a measure weighs.
    Weighing,
    /// An amount.
    Quantity,
    /// A factor.
    Factor,
    /// A percentage.
    Percent,
    /// Weight per volume.
    Density,
    /// Money.
    Money,
    /// A strength.
    Strength,
    /// A dose.
    Dose,
    /// A greatest amount.
    Most,
    /// A topic, a colon and words.
    Caution,
    /// A list of ingredients.
    Take,
    /// A step of preparing.
    Preparation,
    /// Pieces.
    Divide,
    /// Another formula.
    Adapts,
    /// A day.
    Date,
    /// How much to make.
    Make,
    /// What went in.
    Used,
    /// An amount on a day.
    Counted,
    /// What is sold at once.
    Pack,
    /// An age.
    Age,
}

impl Pattern {
    /// Whether amounts stand after it and few words, none of which is `source`.
    pub fn is_measured(self) -> bool {
        matches!(
            self,
            Self::Weighing
                | Self::Quantity
                | Self::Density
                | Self::Strength
                | Self::Dose
                | Self::Most
                | Self::Preparation
                | Self::Money
        )
    }

    /// What the pattern looks like, for the help of a finding.
    pub fn example(self) -> &'static str {
        match self {
            Self::Flag => "nothing after it",
            Self::Words => "free words",
            Self::Names => "names with commas between them: `ginger, ginger root`",
            Self::Weighing => "`1.7 to 1.9 g`, `weighed 5.1, 5.4, 5.2 g` or `weighed 14.9 g for 5`",
            Self::Quantity => "an amount: `500 g`",
            Self::Factor => "`1.5 to 2.5 level spoons`",
            Self::Percent => "a percentage: `5%`",
            Self::Density => "`1.42 g per ml`",
            Self::Money => "`31.00 per kg`",
            Self::Strength => "`1:5 of sage leaf, 60%` or `96%`",
            Self::Dose => "`1 cup, up to 3 times a day, after meals`",
            Self::Most => "`3 g a day`, `1 g at once` or `14 days`, before it perhaps `age 6 to 12:`",
            Self::Caution => "a topic, a colon and what to mind: `reflux: may worsen heartburn`",
            Self::Take => "`thyme herb 100 g`, or a list of such lines below it",
            Self::Preparation => "`2 heaped teaspoons in 1 cup of boiling water for 10 minutes, covered`",
            Self::Divide => "`into filter bags of 2 g` or `into 24 powders`",
            Self::Adapts => "`chest tea` or `chest tea at 1/10`",
            Self::Date => "a date: `2026-11-03` or `2026-11`",
            Self::Make => "`500 g`, `60 cups`, `2 people for 14 days` or `3 jars of 80 g`",
            Self::Used => "lines such as `peppermint leaf  60 g from PM-114` below it",
            Self::Counted => "an amount and a day: `240 g on 2026-11-20`",
            Self::Pack => "what is sold at once: `250 g for 7.75 from the root seller`",
            Self::Age => "`34` or `8 months`",
        }
    }
}

/// One line word of one kind of entry.
#[derive(Debug, Clone, Copy)]
pub struct LineWord {
    /// The word or words.
    pub word: &'static str,
    /// What follows.
    pub pattern: Pattern,
    /// Whether it may stand more than once in an entry.
    pub repeats: bool,
}

const fn once(word: &'static str, pattern: Pattern) -> LineWord {
    LineWord {
        word,
        pattern,
        repeats: false,
    }
}

const fn many(word: &'static str, pattern: Pattern) -> LineWord {
    LineWord {
        word,
        pattern,
        repeats: true,
    }
}

macro_rules! measures {
    ($pattern:expr; $($more:expr),* $(,)?) => {
        &[
            once("pinch", $pattern), once("teaspoon", $pattern), once("dessertspoon", $pattern),
            once("tablespoon", $pattern), once("handful", $pattern), once("wineglass", $pattern),
            once("teacup", $pattern), once("cup", $pattern),
            $($more),*
        ]
    };
}

macro_rules! weighings {
    ($($more:expr),* $(,)?) => {
        measures![
            Pattern::Weighing;
            once("level teaspoon", Pattern::Weighing), once("rounded teaspoon", Pattern::Weighing), once("heaped teaspoon", Pattern::Weighing),
            once("level dessertspoon", Pattern::Weighing), once("rounded dessertspoon", Pattern::Weighing), once("heaped dessertspoon", Pattern::Weighing),
            once("level tablespoon", Pattern::Weighing), once("rounded tablespoon", Pattern::Weighing), once("heaped tablespoon", Pattern::Weighing),
            once("level cup", Pattern::Weighing), once("rounded cup", Pattern::Weighing), once("heaped cup", Pattern::Weighing),
            $($more),*
        ]
    };
}

macro_rules! materia {
    () => {
        weighings![
            once("latin", Pattern::Words),
            many("also", Pattern::Names),
            once("part", Pattern::Names),
            once("family", Pattern::Words),
            once("drop", Pattern::Weighing),
            once("density", Pattern::Density),
            once("strength", Pattern::Strength),
            many("dose", Pattern::Dose),
            many("most", Pattern::Most),
            many("infuse", Pattern::Preparation),
            many("decoct", Pattern::Preparation),
            many("macerate", Pattern::Preparation),
            many("percolate", Pattern::Preparation),
            once("nature", Pattern::Names),
            once("taste", Pattern::Names),
            many("mind", Pattern::Caution),
            many("consult", Pattern::Caution),
            many("avoid", Pattern::Caution),
            many("price", Pattern::Money),
            many("pack", Pattern::Pack),
            once("minimum", Pattern::Quantity),
            many("instead", Pattern::Names),
            once("keep", Pattern::Words),
            once("for", Pattern::Words),
            many("source", Pattern::Names),
            many("note", Pattern::Words),
        ]
    };
}

const PRACTICE: &[LineWord] = measures![
    Pattern::Quantity;
    once("rounded", Pattern::Factor), once("heaped", Pattern::Factor),
    once("measures", Pattern::Words), once("ounce", Pattern::Words), once("dram", Pattern::Words),
    once("scales", Pattern::Quantity), once("cylinder", Pattern::Quantity), once("error", Pattern::Percent),
    once("loss", Pattern::Percent), once("mark-up", Pattern::Percent), once("margin", Pattern::Percent),
    once("money", Pattern::Words), once("address", Pattern::Words),
    once("children", Pattern::Words), once("totals", Pattern::Words), many("note", Pattern::Words),
];

const SOURCE: &[LineWord] = &[
    once("title", Pattern::Words),
    many("author", Pattern::Words),
    once("year", Pattern::Words),
    many("reference", Pattern::Words),
    once("from memory", Pattern::Flag),
    many("note", Pattern::Words),
];

const HERB: &[LineWord] = materia![];

const FORMULA: &[LineWord] = weighings![
    once("for", Pattern::Words),
    once("adapts", Pattern::Adapts),
    once("person", Pattern::Names),
    once("take", Pattern::Take),
    once("one part", Pattern::Quantity),
    once("makes", Pattern::Quantity),
    many("mix", Pattern::Words),
    many("infuse", Pattern::Preparation),
    many("decoct", Pattern::Preparation),
    many("macerate", Pattern::Preparation),
    many("percolate", Pattern::Preparation),
    many("syrup", Pattern::Preparation),
    many("then", Pattern::Words),
    once("divide", Pattern::Divide),
    many("dose", Pattern::Dose),
    once("sign", Pattern::Words),
    once("given", Pattern::Words),
    once("keep", Pattern::Words),
    many("accept", Pattern::Caution),
    many("source", Pattern::Names),
    many("note", Pattern::Words),
];

const PERSON: &[LineWord] = &[
    once("age", Pattern::Age),
    once("weight", Pattern::Quantity),
    many("is", Pattern::Names),
    many("takes", Pattern::Names),
    many("allergic", Pattern::Names),
    once("nature", Pattern::Names),
    many("note", Pattern::Words),
];

const BATCH: &[LineWord] = &[
    once("make", Pattern::Make),
    once("used", Pattern::Used),
    once("yielded", Pattern::Quantity),
    once("weighed by", Pattern::Words),
    once("checked by", Pattern::Words),
    once("best before", Pattern::Date),
    many("counted", Pattern::Counted),
    many("discarded", Pattern::Counted),
    many("note", Pattern::Words),
];

const LOT: &[LineWord] = &[
    once("received", Pattern::Date),
    once("amount", Pattern::Quantity),
    once("cost", Pattern::Money),
    once("best before", Pattern::Date),
    once("supplier", Pattern::Words),
    many("counted", Pattern::Counted),
    many("discarded", Pattern::Counted),
    many("note", Pattern::Words),
];

const SUPPLY: &[LineWord] = &[
    once("amount", Pattern::Quantity),
    once("from batch", Pattern::Date),
    once("from lot", Pattern::Names),
    once("to person", Pattern::Names),
    many("note", Pattern::Words),
];

const TOPIC: &[LineWord] = &[
    many("also", Pattern::Names),
    many("when", Pattern::Names),
    once("effect", Pattern::Words),
    many("note", Pattern::Words),
];

const SET: &[LineWord] = &[
    once("title", Pattern::Words),
    once("for", Pattern::Words),
    many("holds", Pattern::Names),
    many("lesson", Pattern::Words),
    many("note", Pattern::Words),
];

impl Kind {
    /// The line words of this kind of entry.
    pub fn line_words(self) -> &'static [LineWord] {
        match self {
            Self::Practice => PRACTICE,
            Self::Source => SOURCE,
            Self::Herb | Self::Material => HERB,
            Self::Formula => FORMULA,
            Self::Person => PERSON,
            Self::Batch => BATCH,
            Self::Lot => LOT,
            Self::Supply => SUPPLY,
            Self::Set => SET,
            Self::Topic => TOPIC,
        }
    }

    /// Whether an unknown line word may be a piece of the entry's own, such as `slice 2 g`.
    pub fn has_pieces(self) -> bool {
        matches!(self, Self::Herb | Self::Material | Self::Formula)
    }
}

/// The longest line word that a line begins with, and how many bytes of the line it takes.
pub fn find(kind: Kind, line: &str) -> Option<(&'static LineWord, usize)> {
    kind.line_words()
        .iter()
        .filter_map(|word| Some((word, opens_with(line, word.word)?)))
        .max_by_key(|(_, taken)| *taken)
}

/// Where a word of the language stands in a text, case aside, also inside of other words.
pub fn places_of(text: &str, word: &'static str) -> impl DoubleEndedIterator<Item = usize> {
    text.as_bytes()
        .windows(word.len())
        .enumerate()
        .filter(|(_, letters)| letters.eq_ignore_ascii_case(word.as_bytes()))
        .map(|(at, _)| at)
}

/// How many bytes `phrase` takes at the start of `line`, case and the width of gaps aside.
pub fn opens_with(line: &str, phrase: &str) -> Option<usize> {
    let mut rest = line;
    for (position, word) in phrase.split(' ').enumerate() {
        if position > 0 {
            rest = rest.trim_start_matches([' ', '\t', '\u{a0}']);
        }
        let head = rest.get(..word.len())?;
        if !head.eq_ignore_ascii_case(word) {
            return None;
        }
        rest = rest.get(word.len()..)?;
        if !(rest.is_empty() || rest.starts_with([' ', '\t', '\u{a0}', '\n', '\r'])) {
            return None;
        }
    }
    Some(line.len().saturating_sub(rest.len()))
}
