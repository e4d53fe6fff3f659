//! The person that a command is asked for: a case code of the ledger, or facts typed on the line.

use clap::Args;

use super::failure::Failure;
use crate::compute::caution::{is_asked_for, words_asked_for};
use crate::model::{self, Fact, FactKind, Ledger, Person};
use crate::naming::{folded, nearest};
use crate::quantity::{Decimal, number};
use crate::source::{Sources, Span};
use crate::syntax;
use crate::syntax::tree::Name;
use crate::workspace::Snapshot;

/// Whom it is for.
#[derive(Debug, Args)]
pub struct ForWhom {
    /// The case code of a person in the ledger
    #[arg(long, value_name = "CODE")]
    person: Option<String>,

    /// What the person is: pregnant, breast-feeding, driving; may be repeated
    #[arg(long = "is", value_name = "FACT", value_delimiter = ',')]
    is: Vec<String>,

    /// What the person takes: anticoagulants, warfarin; may be repeated
    #[arg(long, value_name = "MEDICINE", value_delimiter = ',')]
    takes: Vec<String>,

    /// What the person is allergic to: a plant family or a herb; may be repeated
    #[arg(long, value_name = "PLANT", value_delimiter = ',')]
    allergic: Vec<String>,

    /// The person's own nature by tradition: warm, cold, dry, moist; may be repeated
    #[arg(long, value_name = "NATURE", value_delimiter = ',')]
    nature: Vec<String>,

    /// The age in years
    #[arg(long, value_name = "YEARS")]
    age: Option<String>,

    /// The weight, such as "24 kg"
    #[arg(long, value_name = "WEIGHT")]
    weight: Option<String>,
}

impl ForWhom {
    /// The person, if one is asked for. A fact that no topic knows is refused: a slip in it would
    /// hide a caution.
    pub fn person(&self, snapshot: &Snapshot) -> Result<Option<Person>, Failure> {
        let mut person = match &self.person {
            Some(code) => declared(&snapshot.ledger, code)?,
            None => Person::default(),
        };
        if person.refused {
            return Err(Failure::new(
                "the entry of this person holds an error, so nothing can be checked against it",
                "mend it first: `scruple check` shows it",
            ));
        }
        for fact in &person.facts {
            known(&snapshot.ledger, fact)?;
        }
        let typed = [
            (FactKind::Is, &self.is),
            (FactKind::Takes, &self.takes),
            (FactKind::Allergic, &self.allergic),
        ];
        for (kind, facts) in typed {
            for words in facts {
                let fact = Fact {
                    kind,
                    words: words.trim().to_owned(),
                    span: None,
                };
                known(&snapshot.ledger, &fact)?;
                person.facts.push(fact);
            }
        }
        person
            .nature
            .extend(self.nature.iter().map(|nature| folded(nature)));
        if let Some(age) = &self.age {
            person.years = Some(years(age)?);
        }
        if let Some(weight) = &self.weight {
            person.grams = Some(grams(weight)?);
        }
        let asked = self.person.is_some() || person != Person::default();
        Ok(asked.then_some(person))
    }
}

fn declared(ledger: &Ledger, code: &str) -> Result<Person, Failure> {
    let key = folded(code);
    let found = ledger
        .people
        .iter()
        .find(|person| person.code.as_ref().is_some_and(|own| folded(own) == key));
    found.cloned().ok_or_else(|| {
        let codes: Vec<&str> = ledger
            .people
            .iter()
            .filter_map(|person| person.code.as_deref())
            .collect();
        Failure::new(
            format!("there is no person `{code}` in this ledger"),
            if codes.is_empty() {
                "say what is known on the command line: `--is pregnant --takes anticoagulants --age 34`"
                    .to_owned()
            } else {
                format!("the ledger has: {}", codes.join(", "))
            },
        )
    })
}

fn known(ledger: &Ledger, fact: &Fact) -> Result<(), Failure> {
    if is_asked_for(ledger, fact) {
        return Ok(());
    }
    let help = match nearest(&fact.words, words_asked_for(ledger, fact.kind).into_iter()) {
        Some(near) => format!("did you mean `{near}`?"),
        None => "look at its spelling; a ledger may declare topics of its own".to_owned(),
    };
    Err(Failure::new(
        format!(
            "no topic asks for `{} {}`, so no caution could meet it",
            fact.kind.word(),
            fact.words
        ),
        help,
    ))
}

/// An age as typed: `34`, `8 months`, `2 weeks`.
fn years(text: &str) -> Result<Decimal, Failure> {
    let refused = |message: &str| {
        Failure::new(
            format!("`--age \"{text}\"`: {message}"),
            "write `--age 34`, or for a small child `--age \"8 months\"`, `--age \"2 weeks\"`, `--age \"3 days\"`",
        )
    };
    let mut typed = Sources::default();
    let file = typed.add("--age", text.into());
    let whole = Span::new(file, 0, text.len());
    let text_of = text.trim();
    let (number, unit) = match text_of.rsplit_once(char::is_whitespace) {
        Some((number, unit)) if unit.chars().all(char::is_alphabetic) => (number.trim(), Some(unit)),
        _ => (text_of, None),
    };
    let number = number::read(number).map_err(|_| refused("this is no age"))?.value;
    let unit = unit.map(|unit| Name {
        text: unit.to_owned(),
        span: whole,
    });
    model::years(number, unit.as_ref(), whole).map_err(|finding| refused(&finding.message))
}

fn grams(text: &str) -> Result<Decimal, Failure> {
    let refused = |message: String| {
        Failure::new(
            format!("`--weight \"{text}\"`: {message}"),
            "write `--weight \"24 kg\"`",
        )
    };
    let mut typed = Sources::default();
    let file = typed.add("--weight", text.into());
    let quantity = syntax::parse_quantity(file, text).map_err(|finding| refused(finding.message))?;
    model::weight(&quantity, crate::quantity::unit::Settled::default())
        .map_err(|finding| refused(finding.message))
}
