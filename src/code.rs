//! Names every kind of finding, each with the page that explains it.

/// The name of a kind of finding: a short hyphened phrase that states the problem.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Code {
    name: &'static str,
    page: &'static str,
}

impl Code {
    /// The phrase, such as `spoon-without-weight`.
    pub fn name(self) -> &'static str {
        self.name
    }

    /// The page in Markdown: what it reports, why it matters, an example, the example mended.
    pub fn page(self) -> &'static str {
        self.page
    }

    /// The code with this name.
    pub fn named(name: &str) -> Option<Self> {
        ALL.iter().copied().find(|code| code.name == name)
    }
}

impl std::fmt::Display for Code {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.name)
    }
}

macro_rules! codes {
    ($($constant:ident = $name:literal;)*) => {
        $(
            #[doc = concat!("See `grammar/findings/", $name, ".md`.")]
            pub const $constant: Code = Code {
                name: $name,
                page: include_str!(concat!("../grammar/findings/", $name, ".md")),
            };
        )*
        /// Every code, in the order of the list in `grammar/findings.md`.
        pub const ALL: &[Code] = &[$($constant),*];
    };
}

codes! {
    // Reading files.
    UNREADABLE_FILE = "unreadable-file";
    NOT_UTF_8 = "not-utf-8";
    FILE_TOO_LARGE = "file-too-large";
    STALE_TOTALS = "stale-totals";
    LABEL_TOO_SMALL = "label-too-small";
    SET_HOLDS_A_PERSONS = "set-holds-a-persons";
    LINE_TOO_LONG = "line-too-long";
    HIDDEN_CHARACTER = "hidden-character";
    LOOK_ALIKE_LETTERS = "look-alike-letters";
    // The shape of entries and lines.
    UNKNOWN_ENTRY = "unknown-entry";
    MERGE_CONFLICT_MARKS = "merge-conflict-marks";
    MERGED_AND_NOT_LOOKED_AT = "merged-and-not-looked-at";
    ENTRY_WITHOUT_A_NAME = "entry-without-a-name";
    LINE_OUTSIDE_AN_ENTRY = "line-outside-an-entry";
    UNKNOWN_LINE_WORD = "unknown-line-word";
    LINE_NOT_UNDERSTOOD = "line-not-understood";
    LINE_WITHOUT_AN_AMOUNT = "line-without-an-amount";
    SWALLOWED_LINE = "swallowed-line";
    MIXED_INDENTATION = "mixed-indentation";
    UNCLOSED_QUOTE = "unclosed-quote";
    SAID_TWICE = "said-twice";
    // Numbers and dates.
    COMMA_IN_A_NUMBER = "comma-in-a-number";
    NAKED_DECIMAL_POINT = "naked-decimal-point";
    HYPHENATED_FRACTION = "hyphenated-fraction";
    ROMAN_NUMBER = "roman-number";
    NUMBER_NOT_UNDERSTOOD = "number-not-understood";
    NUMBER_TOO_LONG = "number-too-long";
    RANGE_NOT_RISING = "range-not-rising";
    SLASHED_DATE = "slashed-date";
    IMPOSSIBLE_DATE = "impossible-date";
    // Measures.
    SPOON_LETTER = "spoon-letter";
    ERROR_PRONE_UNIT = "error-prone-unit";
    UNKNOWN_UNIT = "unknown-unit";
    UNCLEAR_OLD_MEASURE = "unclear-old-measure";
    OUNCE_IN_A_BOOK = "ounce-in-a-book";
    WRONG_SORT_OF_MEASURE = "wrong-sort-of-measure";
    // Names.
    UNKNOWN_NAME = "unknown-name";
    AMBIGUOUS_NAME = "ambiguous-name";
    NAME_TAKEN_TWICE = "name-taken-twice";
    SOURCE_NOT_DECLARED = "source-not-declared";
    SECOND_PRACTICE = "second-practice";
    TWO_NAMES_ONE_AMOUNT = "two-names-one-amount";
    UNUSED_WITHOUT = "unused-without";
    CIRCLE_OF_FORMULAS = "circle-of-formulas";
    NESTED_TOO_DEEP = "nested-too-deep";
    SAME_LINE_TWICE = "same-line-twice";
    LISTED_TWICE = "listed-twice";
    HERB_UNDER_TWO_NAMES = "herb-under-two-names";
    REPLACES_SEVERAL_LINES = "replaces-several-lines";
    // Reckoning.
    NOTHING_TAKEN = "nothing-taken";
    PREPARED_BUT_NOT_TAKEN = "prepared-but-not-taken";
    ZERO_AMOUNT = "zero-amount";
    SPOON_WITHOUT_WEIGHT = "spoon-without-weight";
    PIECE_WITHOUT_WEIGHT = "piece-without-weight";
    HEAP_WITHOUT_SIZE = "heap-without-size";
    SPOON_FROM_ANOTHER_SPOON = "spoon-from-another-spoon";
    SPOONS_DISAGREE = "spoons-disagree";
    PART_SIZE_UNUSED = "part-size-unused";
    PARTS_NEED_A_SIZE = "parts-need-a-size";
    PARTS_BESIDE_PERCENT = "parts-beside-percent";
    PERCENT_OFF = "percent-off";
    PERCENT_BY_PRINTING = "percent-by-printing";
    ENOUGH_TWICE = "enough-twice";
    ENOUGH_IS_NEGATIVE = "enough-is-negative";
    MAKE_UP_TO_THE_MARK = "make-up-to-the-mark";
    MAKES_DISAGREES = "makes-disagrees";
    LIQUID_WITHOUT_MAKES = "liquid-without-makes";
    ABSURD_SIZE = "absurd-size";
    NUMBER_OVERFLOW = "number-overflow";
    BELOW_LEAST_WEIGHABLE = "below-least-weighable";
    // Doses.
    OVER_THE_DAILY_MOST = "over-the-daily-most";
    ABOVE_THE_MOST_AT_ONCE = "above-the-most-at-once";
    BELOW_THE_LEAST_DOSE = "below-the-least-dose";
    DOSE_NOT_SURE = "dose-not-sure";
    ADULT_FIGURES_FOR_A_CHILD = "adult-figures-for-a-child";
    STEEPS_TOO_SHORT = "steeps-too-short";
    STEEPS_TOO_LONG = "steeps-too-long";
    TIMES_AND_HOURS_DISAGREE = "times-and-hours-disagree";
    TAKEN_TOO_LONG = "taken-too-long";
    FIGURE_WITHOUT_A_SOURCE = "figure-without-a-source";
    // Cautions and people.
    NOT_FOR_ANYONE = "not-for-anyone";
    NOT_FOR_THIS_PERSON = "not-for-this-person";
    ASK_FIRST_FOR_THIS_PERSON = "ask-first-for-this-person";
    MIND_FOR_THIS_PERSON = "mind-for-this-person";
    ACCEPTANCE_NOT_TAKEN_OVER = "acceptance-not-taken-over";
    ACCEPTED_WITHOUT_A_REASON = "accepted-without-a-reason";
    NOTHING_TO_ACCEPT = "nothing-to-accept";
    SAME_EFFECT_TWICE = "same-effect-twice";
    AGAINST_THE_NATURE = "against-the-nature";
    ALCOHOL_WITHOUT_CAUTIONS = "alcohol-without-cautions";
    CAUTION_BESIDE_ITS_TOPIC = "caution-beside-its-topic";
    UNKNOWN_TOPIC = "unknown-topic";
    UNKNOWN_FACT = "unknown-fact";
    UNKNOWN_FAMILY = "unknown-family";
    LOOKS_LIKE_A_NAME = "looks-like-a-name";
    // The dispensary's book.
    UNKNOWN_LOT = "unknown-lot";
    LOT_OF_SOMETHING_ELSE = "lot-of-something-else";
    NOT_YET_RECEIVED = "not-yet-received";
    PAST_ITS_BEST_BEFORE = "past-its-best-before";
    MORE_THAN_THERE_WAS = "more-than-there-was";
    COUNT_OFF_THE_BOOK = "count-off-the-book";
    WEIGHED_OFF_TARGET = "weighed-off-target";
    NOT_WHAT_THE_FORMULA_TAKES = "not-what-the-formula-takes";
    YIELD_OUT_OF_BOUNDS = "yield-out-of-bounds";
    BEST_BEFORE_TOO_LATE = "best-before-too-late";
    BATCH_WITHOUT_LOTS = "batch-without-lots";
    UNKNOWN_BATCH = "unknown-batch";
    SUPPLY_WITHOUT_A_BATCH = "supply-without-a-batch";
    ANOTHER_MONEY = "another-money";
}
