//! The cautions of a formula: why each is shown, and those of one that has no figures.

use super::failure::Failure;
use super::terminal::{self, Terminal};
use super::{Arguments, Form, Outcome};
use crate::compute::caution::{Assessed, assess, same_topic};
use crate::compute::within::opened;
use crate::model::{AgeTopic, Person};
use crate::naming::{folded, nearest, same_but_for_number};
use crate::view::why_caution;
use crate::workspace::Snapshot;

/// Which cautions are asked about.
pub struct Asked<'a> {
    /// The ledger.
    pub snapshot: &'a Snapshot,
    /// The formula, by its place in the ledger.
    pub formula: usize,
    /// The topic as typed.
    pub topic: &'a str,
    /// The herb, if only one is meant.
    pub herb: Option<&'a str>,
    /// Whom it is for; nothing for whom the formula is made.
    pub person: Option<&'a Person>,
}

/// Prints why the cautions on a topic are shown.
pub fn why(asked: &Asked<'_>, arguments: &Arguments, terminal: &Terminal) -> Result<Outcome, Failure> {
    let snapshot = asked.snapshot;
    let Some(composition) = opened(&snapshot.ledger, &snapshot.figures, asked.formula) else {
        return Err(Failure::new(
            "this formula can't be read",
            "`scruple check` shows why",
        ));
    };
    let composition = composition.as_ref();
    let person = asked
        .person
        .or_else(|| snapshot.ledger.person_of(&composition.formula));
    let mut all = assess(&snapshot.ledger, &snapshot.figures, composition, person);
    let name = &composition.formula.name.text;
    if let Some(herb) = asked.herb {
        let is_it = |one: &Assessed| {
            same_but_for_number(&folded(&herb_of(snapshot, one)), &folded(herb))
                || snapshot.ledger.names.look(herb)
                    == crate::model::Looked::Found(crate::model::Bound::Substance(one.substance))
        };
        let herbs: Vec<String> = all.iter().map(|one| herb_of(snapshot, one)).collect();
        all.retain(is_it);
        if all.is_empty() {
            return Err(Failure::new(
                format!("no caution of `{herb}` is in {name}"),
                offer(herb, &herbs, "cautions stand for"),
            ));
        }
    }
    let topics: Vec<String> = all.iter().map(|one| one.topic.clone()).collect();
    all.retain(|one| is_about(snapshot, &one.topic, asked.topic));
    if all.is_empty() {
        return Err(Failure::new(
            format!("nothing in {name} has a caution about `{}`", asked.topic),
            offer(asked.topic, &topics, "it has cautions about"),
        ));
    }
    let withheld = snapshot.figures.of(asked.formula).is_none();
    let why = why_caution::why_cautions(snapshot, composition, person, asked.topic, &all, withheld);
    match arguments.form {
        Form::Json => terminal::data(&why)?,
        _ => terminal.document(&why_caution::document(&why))?,
    }
    Ok(Outcome::Clean)
}

/// Whether a caution is about what was typed: `age` stands for every age.
fn is_about(snapshot: &Snapshot, topic: &str, asked: &str) -> bool {
    same_topic(&snapshot.ledger, topic, asked)
        || (folded(asked) == "age" && AgeTopic::read(topic).is_some())
        || (folded(asked) == "allergy" && folded(topic).starts_with("allergy "))
}

fn herb_of(snapshot: &Snapshot, one: &Assessed) -> String {
    let herb = snapshot.ledger.substances.get(one.substance);
    herb.map(|herb| herb.name.clone()).unwrap_or_default()
}

fn offer(typed: &str, names: &[String], having: &str) -> String {
    let mut names: Vec<&str> = names.iter().map(String::as_str).collect();
    names.sort_unstable();
    names.dedup();
    match nearest(typed, names.iter().copied()) {
        Some(near) => format!("did you mean \"{near}\"?"),
        None if names.is_empty() => "it has no cautions".to_owned(),
        None => format!("{having}: {}", names.join(", ")),
    }
}

/// The cautions of a formula without figures, after its errors: what can be read of them stands.
pub fn of_withheld(
    snapshot: &Snapshot,
    formula: usize,
    person: Option<&Person>,
    terminal: &Terminal,
) -> Result<(), Failure> {
    let Some(composition) = opened(&snapshot.ledger, &snapshot.figures, formula) else {
        return Ok(());
    };
    let composition = composition.as_ref();
    let person = person.or_else(|| snapshot.ledger.person_of(&composition.formula));
    let cautions = assess(&snapshot.ledger, &snapshot.figures, composition, person);
    terminal.document(&why_caution::withheld(snapshot, composition, person, &cautions))?;
    Ok(())
}
