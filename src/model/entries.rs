//! Reads the lines of each kind of entry into the model.

use super::build::Builder;
use super::measure;
use super::{
    Adapts, Bound, Caution, ChildRule, DoseLine, Fact, FactKind, Formula, Level, Measure, Person, PieceSize,
    Pieces, Portion, PublishedDose, PublishedMost, Record, Stated, Step, Weight,
};
use crate::code;
use crate::diagnostic::Diagnostic;
use crate::naming;
use crate::quantity::unit::{self, Settled, System, Weights};
use crate::quantity::{Decimal, Heap, Household, Overflow, Spread, Unit};
use crate::source::Span;
use crate::syntax::tree::{
    Body, Divide, Dose, Entry, Frequency, Kind, Line, Liquid, Make, Name, Numbers, Per, Preparation,
    Quantity, Subject, Weighing,
};

type Found<T> = Result<T, Diagnostic>;

impl Formula {
    /// A formula that has a name and nothing else yet.
    pub(super) fn empty(name: Name, entry: &Entry) -> Self {
        Self {
            name,
            head: entry.head,
            entry: entry.span,
            refused: false,
            adapts: None,
            taken: Vec::new(),
            without: Vec::new(),
            take_span: None,
            one_part: None,
            makes: None,
            weights: Vec::new(),
            mix: Vec::new(),
            steps: Vec::new(),
            divide: None,
            doses: Vec::new(),
            sign: None,
            purpose: None,
            given: None,
            keep: None,
            accepts: Vec::new(),
            books: Vec::new(),
            person: None,
        }
    }
}

fn factor(numbers: &Numbers) -> Found<Spread> {
    match numbers.high {
        None => Ok(Spread::exact(numbers.low.value)),
        Some(high) => {
            Spread::between(numbers.low.value, high.value).map_err(|Overflow| measure::overflow(numbers.span))
        }
    }
}

/// The household measure that a line word names.
fn household(word: &str) -> Option<(Heap, Household)> {
    match unit::read(word, Settled::default()) {
        unit::Reading::Known(Unit::Household(heap, household)) => Some((heap, household)),
        _ => None,
    }
}

fn positive(value: Decimal, span: Span) -> Found<Decimal> {
    if value.is_zero() {
        return Err(
            Diagnostic::error(code::ZERO_AMOUNT, span, "this is zero").help("give a value above zero")
        );
    }
    Ok(value)
}

impl Builder<'_> {
    fn keep<T>(&mut self, read: Found<T>) -> Option<T> {
        read.map_err(|finding| self.diagnostics.push(finding)).ok()
    }

    pub(super) fn read_practice(&mut self, entry: &Entry) {
        self.ledger.practice.entry = Some(entry.span);
        self.ledger.practice.name = entry.name.as_ref().map(|name| name.text.clone());
        // What is settled must be known before any measure is read.
        for line in &entry.lines {
            if let Body::Words(words) = &line.body {
                let read = self.settle(&line.word.text, words);
                self.keep(read);
            }
        }
        for line in &entry.lines {
            let read = self.practice_line(line);
            self.keep(read);
        }
    }

    fn settle(&mut self, word: &str, words: &Name) -> Found<()> {
        let settled = &mut self.ledger.practice.settled;
        let said = words.text.to_lowercase();
        let weights = || match said.as_str() {
            "avoirdupois" => Ok(Some(Weights::Avoirdupois)),
            "apothecary" | "apothecaries'" => Ok(Some(Weights::Apothecary)),
            _ => Err(Diagnostic::error(
                code::LINE_NOT_UNDERSTOOD,
                words.span,
                format!("`{}` is no system of weights", words.text),
            )
            .help("write `avoirdupois` or `apothecary`")),
        };
        match word {
            "measures" => {
                settled.measures = match said.as_str() {
                    "imperial" => Some(System::Imperial),
                    "us" => Some(System::Us),
                    _ => {
                        return Err(Diagnostic::error(
                            code::LINE_NOT_UNDERSTOOD,
                            words.span,
                            format!("`{}` is no system of measures", words.text),
                        )
                        .help(
                            "write `imperial` or `US`: they say whose pint, fluid ounce and minim is meant",
                        ));
                    }
                }
            }
            "ounce" => settled.ounce = weights()?,
            "dram" => settled.dram = weights()?,
            "children" => {
                let rule = match said.strip_prefix("by ").unwrap_or(&said) {
                    "young" => ChildRule::Young,
                    "clark" => ChildRule::Clark,
                    "cowling" => ChildRule::Cowling,
                    "fried" => ChildRule::Fried,
                    _ => {
                        return Err(Diagnostic::error(
                            code::LINE_NOT_UNDERSTOOD,
                            words.span,
                            format!("`{}` is no rule for a child's dose", words.text),
                        )
                        .help("write `by Young`, `by Clark`, `by Cowling` or `by Fried`: they give different answers"));
                    }
                };
                self.ledger.practice.children = Some((rule, words.span));
            }
            _ => {}
        }
        Ok(())
    }

    fn practice_line(&mut self, line: &Line) -> Found<()> {
        let settled = self.ledger.practice.settled;
        let practice = &mut self.ledger.practice;
        let span = Some(line.span);
        match &line.body {
            Body::Quantity(quantity) => match line.word.text.as_str() {
                "scales" => {
                    let grams = measure::grams(quantity, settled).map_err(|finding| {
                        if finding.code == code::WRONG_SORT_OF_MEASURE {
                            finding.help("the step of the scales is a weight: `scales   0.1 g`")
                        } else {
                            finding
                        }
                    })?;
                    practice.scales = Stated {
                        value: positive(grams.nominal, quantity.span)?,
                        span,
                    };
                }
                "cylinder" => {
                    let volume = measure::millilitres(quantity, settled)?;
                    practice.cylinder = Stated {
                        value: positive(volume.nominal, quantity.span)?,
                        span,
                    };
                }
                word => {
                    if let Some((_, household)) = household(word) {
                        let value = measure::millilitres(quantity, settled)?;
                        positive(value.low, quantity.span)?;
                        practice.volumes.push((household, Stated { value, span }));
                    }
                }
            },
            Body::Factor(numbers) => {
                let heap = if line.word.text == "rounded" {
                    Heap::Rounded
                } else {
                    Heap::Heaped
                };
                let value = factor(numbers)?;
                positive(value.low, numbers.span)?;
                practice.heaps.push((heap, Stated { value, span }));
            }
            Body::Percent(number) => {
                practice.error = Stated {
                    value: positive(number.value, line.span).map_err(|finding| {
                        finding.help("no scales weigh without any error: `error   5%` is common")
                    })?,
                    span,
                };
            }
            _ => {}
        }
        Ok(())
    }

    pub(super) fn read_book(&mut self, place: usize, entry: &Entry) {
        let said = |word: &str| {
            entry
                .lines
                .iter()
                .filter(move |line| line.word.text == word)
                .filter_map(|line| match &line.body {
                    Body::Words(words) => Some(words.text.clone()),
                    _ => None,
                })
                .collect::<Vec<_>>()
        };
        let citation = ["author", "title", "year", "reference"]
            .into_iter()
            .flat_map(said)
            .collect::<Vec<_>>()
            .join(", ");
        let from_memory = entry.lines.iter().any(|line| matches!(line.body, Body::Flag));
        if let Some(book) = self.ledger.books.get_mut(place) {
            book.citation = citation;
            book.from_memory = from_memory;
        }
    }

    pub(super) fn declare_aliases(&mut self, place: usize, entry: &Entry) {
        for line in entry.lines.iter().filter(|line| line.word.text == "also") {
            if let Body::Names(names) = &line.body {
                for name in names {
                    self.declare_name(name, Bound::Substance(place));
                }
            }
        }
    }

    pub(super) fn read_substance(&mut self, place: usize, entry: &Entry) {
        let pieces = pieces_of(entry);
        for line in &entry.lines {
            let book = self.book(line.source.as_ref());
            let read = self.substance_line(place, line, book, &pieces);
            self.keep(read);
        }
    }

    fn substance_line(
        &mut self,
        place: usize,
        line: &Line,
        book: Option<usize>,
        pieces: &[String],
    ) -> Found<()> {
        let settled = self.ledger.practice.settled;
        let word = line.word.text.as_str();
        let mut drop = None;
        let mut density = None;
        match &line.body {
            Body::Weighing(Weighing::Stated(quantity)) if word == "drop" => {
                drop = Some(Stated {
                    value: measure::millilitres(quantity, settled)?,
                    span: Some(line.span),
                });
            }
            Body::Weighing(weighing) => {
                let weight = weight(line, weighing, settled, book)?;
                if let Some(substance) = self.ledger.substances.get_mut(place) {
                    substance.weights.push(weight);
                }
            }
            Body::Density(quantity, per) => {
                let grams = measure::grams(quantity, settled)?;
                let Unit::Fixed(fixed) = measure::unit(per, settled)? else {
                    return Err(wrong_density(per.span));
                };
                if fixed.dimension != unit::Dimension::Volume {
                    return Err(wrong_density(per.span));
                }
                let value = fixed
                    .to_base(Decimal::ONE)
                    .and_then(|volume| grams.proportion(Decimal::ONE, volume))
                    .map_err(|Overflow| measure::overflow(line.span))?;
                positive(value.low, line.span)?;
                density = Some(Stated {
                    value,
                    span: Some(line.span),
                });
            }
            Body::Money(money) => {
                if let Some(per) = &money.per {
                    measure::portion(per, settled)?;
                }
            }
            Body::Caution(topic, text) => self.caution(place, line, topic, text.as_ref(), book),
            Body::Names(names) if word == "source" => {
                for name in names {
                    self.book(Some(name));
                }
                if let Some(substance) = self.ledger.substances.get_mut(place) {
                    substance.cited = true;
                }
            }
            Body::Dose(dose) => {
                self.check_dose(dose, pieces)?;
                if let Some(substance) = self.ledger.substances.get_mut(place) {
                    substance.doses.push(PublishedDose {
                        dose: (**dose).clone(),
                        span: line.span,
                        cited: line.source.is_some(),
                        book,
                    });
                }
            }
            Body::Most(quantity, per) => {
                let portion = measure::portion(quantity, settled)?;
                match (*per, &portion) {
                    (Per::Unsaid, Portion::Minutes(_)) => {}
                    (Per::Unsaid, _) => {
                        return Err(Diagnostic::error(
                            code::LINE_NOT_UNDERSTOOD,
                            quantity.span,
                            "this does not say whether it is the most of a day or of one dose",
                        )
                        .help("write `most   3 g a day` or `most   1 g at once`"));
                    }
                    _ => taken_by(quantity, settled, pieces)?,
                }
                if let Some(substance) = self.ledger.substances.get_mut(place) {
                    substance.mosts.push(PublishedMost {
                        portion,
                        per: *per,
                        span: line.span,
                        cited: line.source.is_some(),
                        book,
                    });
                }
            }
            Body::Preparation(preparation) => {
                self.check_preparation(preparation, pieces)?;
                let step = step(word, preparation, line.span);
                if let Some(substance) = self.ledger.substances.get_mut(place) {
                    substance.steps.push(step);
                }
            }
            _ => {}
        }
        let made_of = match &line.body {
            Body::Strength(words) => self.made_of(words),
            _ => None,
        };
        if let Some(substance) = self.ledger.substances.get_mut(place) {
            match (&line.body, word) {
                (Body::Words(words), "latin") => substance.latin = Some(words.text.clone()),
                (Body::Strength(_), _) => substance.made_of = made_of,
                (Body::Words(words), "family") => substance.family = Some(words.text.clone()),
                (Body::Names(names), "nature") => {
                    substance.nature = names.iter().map(|name| naming::folded(&name.text)).collect();
                }
                (Body::Names(names), "part") => {
                    substance.parts = names.iter().map(|name| name.text.clone()).collect();
                }
                _ => {}
            }
            substance.drop = drop.or(substance.drop);
            substance.density = density.or(substance.density);
        }
        Ok(())
    }

    /// The herb in `1:5 of sage leaf, 60%`: its cautions hold for what is made of it. A herb that is
    /// not declared is no fault; a ledger need not know what it buys ready-made.
    fn made_of(&self, strength: &Name) -> Option<usize> {
        let (_, rest) = strength.text.split_once(" of ")?;
        let name = rest.split(',').next().unwrap_or(rest).trim();
        match self.ledger.names.look(name) {
            super::Looked::Found(Bound::Substance(at)) => Some(at),
            _ => None,
        }
    }

    fn caution(&mut self, place: usize, line: &Line, topic: &Name, text: Option<&Name>, book: Option<usize>) {
        let level = match line.word.text.as_str() {
            "avoid" => Level::Avoid,
            "consult" => Level::Consult,
            _ => Level::Mind,
        };
        if let Some(substance) = self.ledger.substances.get_mut(place) {
            substance.cautions.push(Caution {
                level,
                topic: topic.clone(),
                text: text.map(|words| words.text.clone()),
                span: line.span,
                book,
            });
        }
    }

    /// Every measure of a dose must be known, though doses are reckoned elsewhere.
    fn check_dose(&mut self, dose: &Dose, pieces: &[String]) -> Found<()> {
        let settled = self.ledger.practice.settled;
        taken_by(&dose.amount, settled, pieces)?;
        if let Some(vehicle) = &dose.vehicle {
            poured_by(vehicle, settled)?;
        }
        let every = match &dose.frequency {
            Some(Frequency::Every(quantity)) => Some(quantity),
            _ => None,
        };
        for time in [dose.lasting.as_ref(), every].into_iter().flatten() {
            lasts_by(time, settled)?;
        }
        Ok(())
    }

    /// Every measure of a step must be known. Temperatures have units of their own.
    fn check_preparation(&mut self, preparation: &Preparation, pieces: &[String]) -> Found<()> {
        let settled = self.ledger.practice.settled;
        if let Subject::Amount(quantity, of) = &preparation.subject {
            if of.is_some() {
                measure::portion(quantity, settled)?;
            } else {
                taken_by(quantity, settled, pieces)?;
            }
        }
        let poured = preparation
            .media
            .iter()
            .filter_map(|liquid: &Liquid| liquid.amount.as_ref());
        for quantity in poured.chain(&preparation.down_to) {
            poured_by(quantity, settled)?;
        }
        if let Some(lasting) = &preparation.lasting {
            lasts_by(lasting, settled)?;
        }
        Ok(())
    }

    pub(super) fn read_formula(&mut self, place: usize, entry: &Entry) {
        let Some(name) = entry.name.clone() else { return };
        let mut formula = Formula::empty(name, entry);
        let pieces = pieces_of(entry);
        let in_a_book = entry.lines.iter().any(|line| line.word.text == "source");
        for line in &entry.lines {
            let book = self.book(line.source.as_ref());
            let read = self.formula_line(&mut formula, line, book, in_a_book, &pieces);
            formula.refused |= self.keep(read).is_none() || matches!(line.body, Body::Broken);
        }
        if let Some(kept) = self.ledger.formulas.get_mut(place) {
            *kept = formula;
        }
    }

    fn formula_line(
        &mut self,
        formula: &mut Formula,
        line: &Line,
        book: Option<usize>,
        in_a_book: bool,
        pieces: &[String],
    ) -> Found<()> {
        let settled = self.ledger.practice.settled;
        let span = Some(line.span);
        let word = line.word.text.as_str();
        match &line.body {
            Body::Take(ingredients, refused) => {
                formula.refused |= *refused > 0;
                formula.take_span = Some(line.word.span);
                for ingredient in ingredients {
                    if ingredient.without {
                        for name in &ingredient.names {
                            let bound = self.bind(name);
                            formula.without.push((name.clone(), bound));
                        }
                    } else {
                        let taken = self.taken(ingredient, in_a_book);
                        formula.refused |= taken.is_empty();
                        formula.taken.extend(taken);
                    }
                }
            }
            Body::Adapts(name, share) => {
                formula.adapts = Some(self.adapts(name, share.map(|share| share.value))?);
            }
            Body::Quantity(quantity) if word == "one part" => {
                let value = measure::grams(quantity, settled)?;
                positive(value.low, quantity.span)?;
                formula.one_part = Some(Stated { value, span });
            }
            Body::Quantity(quantity) => {
                let value = measure::portion(quantity, settled)?;
                if value.is_zero() {
                    return Err(
                        Diagnostic::error(code::ZERO_AMOUNT, quantity.span, "this makes nothing")
                            .help("say what it makes: `makes 500 g`"),
                    );
                }
                formula.makes = Some(Stated { value, span });
            }
            Body::Weighing(weighing) => formula.weights.push(weight(line, weighing, settled, book)?),
            Body::Preparation(preparation) => {
                self.check_preparation(preparation, pieces)?;
                formula.steps.push(step(word, preparation, line.span));
            }
            Body::Dose(dose) => {
                self.check_dose(dose, pieces)?;
                formula.doses.push(DoseLine {
                    dose: (**dose).clone(),
                    span: line.span,
                });
            }
            Body::Divide(divide) => formula.divide = Some(divided(divide, line.span, settled)?),
            Body::Caution(topic, reason) => formula
                .accepts
                .push((topic.clone(), reason.as_ref().map(|words| words.text.clone()))),
            Body::Names(names) if word == "person" => {
                formula.person = names.first().map(|name| (name.clone(), self.person(name)));
            }
            Body::Names(names) if word == "source" => {
                for name in names {
                    formula.books.extend(self.book(Some(name)));
                }
            }
            Body::Words(words) => match word {
                "mix" => formula.mix.push(words.clone()),
                "sign" => formula.sign = Some(words.text.clone()),
                "for" => formula.purpose = Some(words.text.clone()),
                "given" => formula.given = Some(words.text.clone()),
                "keep" => formula.keep = Some(words.text.clone()),
                _ => {}
            },
            _ => {}
        }
        Ok(())
    }

    fn adapts(&mut self, name: &Name, share: Option<Decimal>) -> Found<Adapts> {
        let formula = match self.bind(name) {
            Bound::Formula(at) => Some(at),
            Bound::Unknown => None,
            Bound::Substance(_) => {
                return Err(Diagnostic::error(
                    code::UNKNOWN_NAME,
                    name.span,
                    format!("`{}` is no formula, so it can't be adapted", name.text),
                )
                .help("name the formula that this one changes"));
            }
        };
        let share = positive(share.unwrap_or(Decimal::ONE), name.span)?;
        Ok(Adapts {
            name: name.clone(),
            formula,
            share,
        })
    }

    /// The person with a case code; one that is not declared is reported.
    fn person(&mut self, code: &Name) -> Option<usize> {
        let key = naming::folded(&code.text);
        let found = self
            .ledger
            .people
            .iter()
            .position(|person| person.code.as_ref().is_some_and(|own| naming::folded(own) == key));
        if found.is_none() {
            self.diagnostics.push(
                Diagnostic::error(
                    code::UNKNOWN_NAME,
                    code.span,
                    format!("there is no person `{}` in this ledger", code.text),
                )
                .help(format!(
                    "add an entry `person {}` with what the checks need to know",
                    code.text
                )),
            );
        }
        found
    }

    pub(super) fn read_person(&mut self, entry: &Entry) {
        let Some(name) = &entry.name else { return };
        let mut person = Person {
            code: Some(name.text.clone()),
            span: Some(name.span),
            ..Person::default()
        };
        for line in &entry.lines {
            let read = self.person_line(&mut person, line);
            person.refused |= self.keep(read).is_none() || matches!(line.body, Body::Broken);
        }
        self.ledger.people.push(person);
    }

    fn person_line(&mut self, person: &mut Person, line: &Line) -> Found<()> {
        let settled = self.ledger.practice.settled;
        match &line.body {
            Body::Age(number, unit) => person.years = Some(years(number.value, unit.as_ref(), line.span)?),
            Body::Quantity(quantity) => {
                person.grams = Some(measure::grams(quantity, settled)?.nominal);
            }
            Body::Names(names) => match FactKind::named(&line.word.text) {
                Some(kind) => person.facts.extend(names.iter().map(|name| Fact {
                    kind,
                    words: name.text.clone(),
                    span: Some(name.span),
                })),
                None => {
                    person.nature = names.iter().map(|name| naming::folded(&name.text)).collect();
                    person.nature_lines = names
                        .iter()
                        .map(|name| (naming::folded(&name.text), name.span))
                        .collect();
                }
            },
            _ => {}
        }
        Ok(())
    }

    pub(super) fn read_record(&mut self, entry: &Entry) {
        let Some(name) = entry.name.clone() else { return };
        let mut names: Vec<&Name> = Vec::new();
        let mut make = None;
        let mut amounts: Vec<&Quantity> = Vec::new();
        match entry.kind {
            Kind::Batch | Kind::Supply | Kind::Lot => names.push(&name),
            _ => {}
        }
        for line in &entry.lines {
            self.book(line.source.as_ref());
            match &line.body {
                Body::Make(wanted) => {
                    make = Some(wanted.clone());
                    let amount = match wanted {
                        Make::Quantity(quantity) | Make::Vessels { each: quantity, .. } => Some(quantity),
                        Make::AllStock | Make::People { .. } | Make::Times(_) => None,
                    };
                    amounts.extend(amount);
                }
                Body::Used(used) => {
                    names.extend(used.iter().map(|used| &used.name));
                    amounts.extend(
                        used.iter()
                            .flat_map(|used| &used.portions)
                            .map(|(quantity, _)| quantity),
                    );
                }
                Body::Money(money) => amounts.extend(&money.per),
                Body::Names(held) if entry.kind == Kind::Set => names.extend(held),
                Body::Quantity(quantity) => amounts.push(quantity),
                _ => {}
            }
        }
        for quantity in amounts {
            let read = measure::portion(quantity, self.ledger.practice.settled);
            self.keep(read);
        }
        for used in names {
            self.bind(used);
        }
        self.record(Record {
            kind: entry.kind,
            name: name.clone(),
            id: entry.id.clone(),
            date: entry.date,
            make,
            span: entry.span,
        });
    }
}

/// An amount that is taken: a weight, a volume, a spoon, or a piece that the entry has.
fn taken_by(quantity: &Quantity, settled: Settled, pieces: &[String]) -> Found<()> {
    let piece = match measure::portion(quantity, settled)? {
        Portion::Pieces(_, piece) => piece,
        Portion::Parts(_) | Portion::Percent(..) | Portion::Minutes(_) => {
            return Err(Diagnostic::error(
                code::WRONG_SORT_OF_MEASURE,
                quantity.span,
                "nothing can be taken by this measure",
            )
            .help("write a weight, a volume, a spoon or a piece: `4 g`, `10 ml`, `2 teaspoons`, `2 filter bags`"));
        }
        _ => return Ok(()),
    };
    if pieces.iter().any(|own| naming::same_but_for_number(own, &piece)) {
        return Ok(());
    }
    let finding = Diagnostic::error(
        code::UNKNOWN_UNIT,
        quantity.span,
        format!("`{piece}` is no measure"),
    );
    Err(match unit::nearest(&piece) {
        Some(near) => finding.help(format!("did you mean `{near}`?")),
        None => finding.help(format!(
            "write a measure such as `g`, `ml` or `teaspoons`; a piece must be declared in the same entry: `divide   into {piece} of 2 g`"
        )),
    })
}

/// An amount of liquid.
fn poured_by(quantity: &Quantity, settled: Settled) -> Found<()> {
    match measure::portion(quantity, settled)? {
        // Water may be weighed, too.
        Portion::Millilitres(_) | Portion::Household(..) | Portion::Drops(_) | Portion::Grams(_) => Ok(()),
        _ => Err(Diagnostic::error(
            code::WRONG_SORT_OF_MEASURE,
            quantity.span,
            "this is no volume of a liquid",
        )
        .help("write `1 cup`, `250 ml` or `1 litre`")),
    }
}

/// A length of time.
fn lasts_by(quantity: &Quantity, settled: Settled) -> Found<()> {
    match measure::portion(quantity, settled)? {
        Portion::Minutes(_) => Ok(()),
        _ => Err(Diagnostic::error(
            code::WRONG_SORT_OF_MEASURE,
            quantity.span,
            "this is not a length of time",
        )
        .help("write how long: `for 10 to 15 minutes`, `for 14 days`")),
    }
}

fn step(word: &str, preparation: &Preparation, span: Span) -> Step {
    let word = ["infuse", "decoct", "macerate", "percolate", "syrup"]
        .into_iter()
        .find(|known| *known == word)
        .unwrap_or("then");
    Step {
        word,
        preparation: preparation.clone(),
        span,
    }
}

fn wrong_density(span: Span) -> Diagnostic {
    Diagnostic::error(
        code::WRONG_SORT_OF_MEASURE,
        span,
        "a density is a weight per volume",
    )
    .help("write `1.42 g per ml`")
}

fn weight(line: &Line, weighing: &Weighing, settled: Settled, book: Option<usize>) -> Found<Weight> {
    let (grams, weighings) = measure::weight(weighing, line.span, settled)?;
    positive(grams.low, line.span)?;
    let measure = match household(&line.word.text) {
        Some((heap, household)) => Measure::Household(heap, household),
        None => Measure::Piece(piece_name(&line.word)?),
    };
    Ok(Weight {
        measure,
        grams,
        weighings,
        span: line.span,
        book,
    })
}

/// An age in years.
pub fn years(number: Decimal, unit: Option<&Name>, span: Span) -> Found<Decimal> {
    let Some(unit) = unit else { return Ok(number) };
    let year = Decimal::from(525_960_u32);
    match measure::unit(unit, Settled::default())? {
        Unit::Fixed(fixed) if fixed.dimension == unit::Dimension::Time => fixed
            .to_base(number)
            .and_then(|minutes| crate::quantity::rounding::quotient(minutes, year))
            .map_err(|Overflow| measure::overflow(span)),
        _ => Err(Diagnostic::error(
            code::WRONG_SORT_OF_MEASURE,
            unit.span,
            "this is not a length of time",
        )
        .help("write an age in years, `34`, or `8 months`")),
    }
}

/// The pieces that an entry declares, in a line of their own or after `divide`.
fn pieces_of(entry: &Entry) -> Vec<String> {
    let known = entry.kind.line_words();
    entry
        .lines
        .iter()
        .filter_map(|line| match &line.body {
            Body::Weighing(_) if known.iter().all(|word| word.word != line.word.text) => {
                Some(naming::folded(&line.word.text))
            }
            Body::Divide(Divide::Sized(name, _)) => Some(naming::folded(&name.text)),
            Body::Divide(Divide::Counted(quantity)) => {
                let unit = quantity.low.last()?.unit.as_ref()?;
                Some(naming::folded(&unit.text))
            }
            _ => None,
        })
        .collect()
}

/// The name of a piece; one that is a measure already would be read as that measure.
fn piece_name(name: &Name) -> Found<String> {
    match unit::read(&name.text, Settled::default()) {
        unit::Reading::Known(Unit::Piece(piece)) => Ok(piece),
        _ => Err(Diagnostic::error(
            code::WRONG_SORT_OF_MEASURE,
            name.span,
            format!("`{}` is a measure already, so it can't be a piece", name.text),
        )
        .help("give the piece another name, such as `kernel` for a stone")),
    }
}

fn divided(divide: &Divide, span: Span, settled: Settled) -> Found<Pieces> {
    match divide {
        Divide::Sized(name, quantity) => {
            let grams = measure::grams(quantity, settled)?;
            positive(grams.low, quantity.span)?;
            Ok(Pieces {
                name: piece_name(name)?,
                size: PieceSize::Grams(grams),
                span,
            })
        }
        Divide::Counted(quantity) => match measure::portion(quantity, settled)? {
            Portion::Pieces(count, name) => {
                positive(count.low, quantity.span)?;
                Ok(Pieces {
                    name,
                    size: PieceSize::Count(count.nominal),
                    span,
                })
            }
            _ => Err(
                Diagnostic::error(code::WRONG_SORT_OF_MEASURE, quantity.span, "this says no pieces")
                    .help("write `into 24 powders` or `into filter bags of 2 g`"),
            ),
        },
    }
}
