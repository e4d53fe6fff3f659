//! Offers what may stand after a line word, by the pattern that follows it.

use super::measures::{measures_of, number_and_unit, units};
use super::{Offers, Sort, Typed, names};
use crate::compute::caution;
use crate::model::{Bound, FactKind};
use crate::quantity::Decimal;
use crate::syntax::tree::Kind;
use crate::syntax::words::{LineWord, Pattern};

/// What may stand after a line word.
pub fn after(offers: &mut Offers<'_, '_>, kind: Kind, word: &LineWord, typed: Typed<'_>) {
    match word.pattern {
        Pattern::Names => listed(offers, kind, word.word, typed),
        Pattern::Caution => topics(offers, word.word, typed),
        Pattern::Adapts => names::formulas(offers, typed, str::to_owned),
        Pattern::Words => {
            fixed(offers, kind, word.word, typed);
            if matches!(word.word, "family" | "given" | "supplier" | "keep") {
                names::said_elsewhere(offers, kind, word.word, typed);
            }
        }
        Pattern::Dose => {
            example(
                offers,
                typed,
                &[
                    "1 cup, up to 3 times a day",
                    "2 ml in a little water, 3 times a day",
                ],
            );
            in_figures(
                offers,
                typed,
                &[
                    "g",
                    "ml",
                    "drops",
                    "teaspoons",
                    "cups",
                    "times a day",
                    "days",
                    "weeks",
                ],
            );
            pieces(offers, typed);
        }
        Pattern::Most => in_figures(offers, typed, &["g a day", "g at once", "days", "weeks"]),
        Pattern::Preparation => preparation(offers, typed),
        Pattern::Weighing => {
            example(
                offers,
                typed,
                &["weighed 1.7, 1.8, 1.9 g", "weighed 14.9 g for 5", "1.7 to 1.9 g"],
            );
            in_figures(offers, typed, &["g"]);
        }
        Pattern::Quantity => match number_and_unit(typed) {
            Some((_, unit)) => units(offers, unit, Decimal::TWO),
            None => example(offers, typed, &["500 g"]),
        },
        Pattern::Factor => example(offers, typed, &["1.5 to 2.5 level spoons"]),
        Pattern::Percent => example(offers, typed, &["5%"]),
        Pattern::Density => example(offers, typed, &["1.42 g per ml"]),
        Pattern::Strength => example(offers, typed, &["1:5 of sage leaf, 60%", "96%"]),
        Pattern::Divide => {
            example(offers, typed, &["into filter bags of 2 g", "into 24 powders"]);
            in_figures(offers, typed, &["g", "powders", "capsules", "filter bags"]);
        }
        Pattern::Money => in_figures(offers, typed, &["per kg", "per 100 g"]),
        Pattern::Counted => example(offers, typed, &["240 g on 2026-11-20"]),
        Pattern::Pack => example(offers, typed, &["250 g for 7.75", "250 g"]),
        Pattern::Make => {
            example(
                offers,
                typed,
                &[
                    "500 g",
                    "60 cups",
                    "14 doses",
                    "2 people for 14 days",
                    "3 jars of 80 g",
                ],
            );
            in_figures(
                offers,
                typed,
                &["g", "kg", "cups", "doses", "days", "people for 14 days"],
            );
        }
        Pattern::Age => in_figures(offers, typed, &["years", "months"]),
        Pattern::Flag | Pattern::Take | Pattern::Used | Pattern::Date => {}
    }
}

/// Names between commas.
fn listed(offers: &mut Offers<'_, '_>, kind: Kind, word: &str, typed: Typed<'_>) {
    let own = typed.after_last(',');
    match word {
        "source" => names::sources(offers, own),
        "person" | "to person" => names::people(offers, own),
        "holds" => names::formulas(offers, own, str::to_owned),
        "is" | "takes" | "allergic" => facts(offers, word, own),
        "when" => {
            let said = own
                .words
                .split_once(' ')
                .and_then(|(kind, _)| Some((kind.len(), FactKind::named(kind)?)));
            match said {
                Some((length, fact)) => facts(offers, fact.word(), own.from(length).trimmed()),
                None => {
                    for word in ["is", "takes", "allergic", "everyone"] {
                        let blank = if word == "everyone" { "" } else { " " };
                        offers.put_as(own, Sort::Value, word, &format!("{word}{blank}"), None::<String>);
                    }
                }
            }
        }
        "also" => {}
        _ => names::said_elsewhere(offers, kind, word, own),
    }
}

/// Facts of a person that some topic asks for.
fn facts(offers: &mut Offers<'_, '_>, word: &str, typed: Typed<'_>) {
    let Some(kind) = FactKind::named(word) else { return };
    let ledger = &offers.here.snapshot.ledger;
    let mut known = caution::words_asked_for(ledger, kind);
    known.sort_unstable();
    known.dedup();
    for fact in known {
        let topic = ledger.topics.iter().find(|topic| topic.concerns(kind, fact));
        let detail = topic
            .filter(|topic| topic.name != fact)
            .map(|topic| format!("asked for by {}", topic.name));
        offers.put(typed, Sort::Topic, fact, detail);
    }
}

/// What a caution may be about; what an acceptance may accept are the cautions of what is taken.
fn topics(offers: &mut Offers<'_, '_>, word: &str, typed: Typed<'_>) {
    if typed.words.contains(':') {
        return;
    }
    let ledger = &offers.here.snapshot.ledger;
    if word == "accept" {
        if let Some(formula) = offers.here.formula() {
            let formulas = ledger
                .all_needs(formula)
                .into_iter()
                .filter_map(|at| ledger.formulas.get(at));
            let substances =
                formulas
                    .flat_map(|formula| &formula.taken)
                    .filter_map(|taken| match taken.what {
                        Bound::Substance(at) => ledger.substances.get(at),
                        _ => None,
                    });
            for substance in substances {
                for caution in &substance.cautions {
                    let topic = &caution.topic.text;
                    let says = caution
                        .text
                        .as_ref()
                        .map_or(String::new(), |text| format!(": {text}"));
                    let detail = format!("{} {}{says}", substance.name, caution.level.word());
                    offers.put_as(typed, Sort::Topic, topic, &format!("{topic}: "), Some(detail));
                }
            }
        }
        return;
    }
    for topic in ledger.topics.iter() {
        let mut asked: Vec<String> = topic
            .when
            .iter()
            .take(4)
            .map(|(kind, fact)| format!("{} {fact}", kind.word()))
            .collect();
        if topic.everyone {
            asked = vec!["everyone".to_owned()];
        }
        offers.put(typed, Sort::Topic, &topic.name, Some(asked.join(", ")));
    }
    for age in ["age under 6", "age under 12", "age under 18", "age over 65"] {
        offers.put(typed, Sort::Topic, age, Some("by the person's age".to_owned()));
    }
}

/// Words of which one is to be chosen.
fn fixed(offers: &mut Offers<'_, '_>, kind: Kind, word: &str, typed: Typed<'_>) {
    let words: &[&str] = match (kind, word) {
        (Kind::Practice, "measures") => &["imperial", "US"],
        (Kind::Practice, "ounce" | "dram") => &["avoirdupois", "apothecary"],
        (Kind::Practice, "children") => &["by Young", "by Clark", "by Cowling", "by Fried"],
        (Kind::Practice, "totals") => &["beside", "in totals", "none"],
        (Kind::Formula, "given") => &[
            "by mouth",
            "as steam",
            "as a bath",
            "as a foot bath",
            "as a gargle",
            "as a compress",
            "on the skin",
        ],
        _ => &[],
    };
    for one in words {
        offers.put(typed, Sort::Value, one, None::<String>);
    }
}

/// A measure after a number.
fn in_figures(offers: &mut Offers<'_, '_>, typed: Typed<'_>, measures: &[&str]) {
    if let Some((_, unit)) = number_and_unit(typed) {
        for measure in measures {
            offers.put(unit, Sort::Measure, measure, None::<String>);
        }
    }
}

/// The pieces that the formula is divided into, after a number.
fn pieces(offers: &mut Offers<'_, '_>, typed: Typed<'_>) {
    let here = offers.here;
    let Some(formula) = here.formula() else { return };
    if let Some((_, unit)) = number_and_unit(typed) {
        for (words, each) in measures_of(offers, Bound::Formula(formula), Decimal::TWO) {
            offers.put(unit, Sort::Measure, &words, each);
        }
    }
}

/// Examples of a form, offered where nothing is typed yet.
fn example(offers: &mut Offers<'_, '_>, typed: Typed<'_>, examples: &[&str]) {
    if typed.words.is_empty() {
        for one in examples {
            let says = "an example of the form: put your own figures in";
            offers.put(typed, Sort::Example, one, Some(says.to_owned()));
        }
    }
}

/// A step of preparing: what, in what, for how long.
fn preparation(offers: &mut Offers<'_, '_>, typed: Typed<'_>) {
    example(
        offers,
        typed,
        &[
            "2 teaspoons in 1 cup of boiling water for 10 minutes, covered",
            "in 700 ml of water for 20 minutes",
            "1:5 in 60% spirit for 14 days",
        ],
    );
    in_figures(
        offers,
        typed,
        &[
            "teaspoons",
            "g",
            "ml",
            "cup of boiling water",
            "minutes",
            "hours",
            "days",
        ],
    );
    if number_and_unit(typed).is_some() {
        pieces(offers, typed);
        return;
    }
    let own = typed.after_last(',');
    if let Some(formula) = offers
        .here
        .formula()
        .and_then(|at| offers.here.snapshot.ledger.formulas.get(at))
    {
        for taken in &formula.taken {
            offers.put(
                own,
                Sort::Substance,
                &taken.name.text,
                Some("taken above".to_owned()),
            );
        }
    }
    for word in ["it", "the rest"] {
        offers.put(own, Sort::Value, word, None::<String>);
    }
}
