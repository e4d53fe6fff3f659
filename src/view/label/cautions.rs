//! Turns the cautions of what is in a jar into those of its label.

use serde::Serialize;

use crate::compute::Composition;
use crate::compute::caution::{Bearing, assess};
use crate::model::Person;
use crate::workspace::Snapshot;

/// One caution of a label: a topic, with everything in the jar that it is stated for.
#[derive(Debug, Clone, Serialize)]
pub struct LabelCaution {
    /// `avoid`, `consult` or `mind`.
    pub level: &'static str,
    /// About what.
    pub topic: String,
    /// Whether it bears on the person that the jar is for, or on everyone; or it can't be told.
    pub bears: bool,
    /// For what in the jar it is stated, with what is said about it.
    pub of: Vec<CautionOf>,
}

/// For what a caution is stated.
#[derive(Debug, Clone, Serialize)]
pub struct CautionOf {
    /// The herb or material.
    pub name: String,
    /// What is said.
    pub text: Option<String>,
}

/// The cautions, each topic once at its gravest: first what bears on the person or on everyone. An
/// acceptance makes none of them milder here: whoever holds the jar has not read the ledger.
pub(super) fn cautions(
    snapshot: &Snapshot,
    composition: &Composition,
    person: Option<&Person>,
) -> Vec<LabelCaution> {
    let mut found: Vec<LabelCaution> = Vec::new();
    for one in assess(&snapshot.ledger, &snapshot.figures, composition, person) {
        let bears = one.bearing != Bearing::Others;
        let of = CautionOf {
            name: snapshot
                .ledger
                .substances
                .get(one.substance)
                .map(|substance| substance.name.clone())
                .unwrap_or_default(),
            text: one.text,
        };
        match found
            .iter_mut()
            .find(|known| known.topic == one.topic && known.bears == bears && known.level == one.level.word())
        {
            Some(known) => known.of.push(of),
            None => found.push(LabelCaution {
                level: one.level.word(),
                topic: one.topic,
                bears,
                of: vec![of],
            }),
        }
    }
    // What is avoided need not be asked about, too.
    let graver: Vec<(String, usize)> = found
        .iter()
        .map(|one| (one.topic.clone(), rank(one.level)))
        .collect();
    found.retain(|one| {
        !graver.iter().any(|(topic, level)| {
            *topic == one.topic && *level > rank(one.level) && one.of.iter().all(|of| of.text.is_none())
        })
    });
    found.sort_by_key(|one| (!one.bears, std::cmp::Reverse(rank(one.level))));
    found
}

fn rank(level: &str) -> usize {
    match level {
        "avoid" => 2,
        "consult" => 1,
        _ => 0,
    }
}
