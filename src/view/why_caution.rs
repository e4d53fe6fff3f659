//! Why a caution is shown: by which herb, on whose word, for which fact of the person; data and document.

use serde::Serialize;

use super::doses::{DoseCaution, caution, rows};
use super::standing;
use super::why::{WhyStep, tree_of_steps, why_step};
use crate::compute::Composition;
use crate::compute::caution::Assessed;
use crate::compute::reason::reason;
use crate::compute::within::within;
use crate::model::Person;
use crate::render::{Document, Note, TreeLine};
use crate::workspace::Snapshot;

/// One caution with its reasons.
#[derive(Debug, Clone, Serialize)]
pub struct CautionReason {
    /// The caution, as `doses` has it.
    #[serde(flatten)]
    pub caution: DoseCaution,
    /// The reasons, from the formula to the person.
    pub steps: Vec<WhyStep>,
}

/// Why cautions of a formula are shown, as data.
#[derive(Debug, Clone, Serialize)]
pub struct WhyCautions {
    /// The formula.
    pub formula: String,
    /// Whom it was looked at for.
    pub person: Option<String>,
    /// The topic that was asked about.
    pub topic: String,
    /// Why some may be missing, where the formula or something in it holds an error.
    pub incomplete: Option<&'static str>,
    /// The cautions, in the order of `doses`.
    pub cautions: Vec<CautionReason>,
    /// What stands on every sheet.
    pub standing: [&'static str; 3],
}

/// What is said beside the cautions of a formula that has no figures.
pub const INCOMPLETE: &str = "An error in this formula or in what it takes withholds its figures. Where that is a line that is not understood, a caution that stands in such a line is missing here.";

/// Puts the reasons together.
pub fn why_cautions(
    snapshot: &Snapshot,
    composition: &Composition,
    person: Option<&Person>,
    topic: &str,
    cautions: &[Assessed],
    withheld: bool,
) -> WhyCautions {
    let all = within(&snapshot.ledger, &snapshot.figures, composition);
    WhyCautions {
        formula: composition.formula.name.text.clone(),
        person: person.map(Person::described),
        topic: topic.to_owned(),
        incomplete: withheld.then_some(INCOMPLETE),
        cautions: cautions
            .iter()
            .map(|one| CautionReason {
                caution: caution(snapshot, one),
                steps: reason(&snapshot.ledger, &all, composition, person, one)
                    .iter()
                    .map(|step| why_step(snapshot, step))
                    .collect(),
            })
            .collect(),
        standing: standing::CAUTIONS,
    }
}

/// The reasons as a document.
pub fn document(why: &WhyCautions) -> Document {
    let mut page = Document::new();
    page.title(format!("Why: {} in {}", why.topic, why.formula));
    let whom = why
        .person
        .clone()
        .unwrap_or_else(|| "nobody in particular: name a person to see what bears on them".to_owned());
    page.facts([("for", whom)]);
    page.notes(why.incomplete.map(Note::warning));
    let mut tree = Vec::new();
    for one in &why.cautions {
        let own = &one.caution;
        let whom = match own.bears_on {
            "this person" => "bears on this person",
            "everyone" => "for everyone",
            "not known" => "can't be told without the age",
            _ => "for others",
        };
        tree.push(TreeLine::new(
            0,
            format!("{} {}, {}: {whom}", own.level, own.topic, own.herb),
        ));
        tree.extend(tree_of_steps(&one.steps, None));
    }
    page.tree(tree);
    page.small_print(standing::paragraph());
    page
}

/// The cautions of a formula without figures, as far as they can be read.
pub fn withheld(
    snapshot: &Snapshot,
    composition: &Composition,
    person: Option<&Person>,
    cautions: &[Assessed],
) -> Document {
    let mut page = Document::new();
    page.title(format!(
        "{}: cautions that can be read",
        composition.formula.name.text
    ));
    let whom = person.map_or_else(|| "nobody in particular".to_owned(), Person::described);
    page.facts([("for", whom)]);
    page.notes([Note::warning(INCOMPLETE)]);
    let all: Vec<DoseCaution> = cautions.iter().map(|one| caution(snapshot, one)).collect();
    for (bears_on, heading) in [
        ("this person", "Cautions that bear on this person"),
        ("everyone", "Cautions for everyone"),
        ("not known", "Cautions that can't be told without the age"),
        ("others", "Cautions for others"),
    ] {
        let of: Vec<&DoseCaution> = all.iter().filter(|one| one.bears_on == bears_on).collect();
        if !of.is_empty() {
            page.heading(heading);
            page.facts(rows(&of));
        }
    }
    if all.is_empty() {
        page.paragraph("None can be read.");
    }
    page.small_print(standing::paragraph());
    page
}
