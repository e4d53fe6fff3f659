//! Turns two pieces of prose into the words that both have, and those that only one has.

use similar::{ChangeTag, TextDiff};

/// A run of words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Run {
    /// Where it stands.
    pub stands: Stands,
    /// The words.
    pub text: String,
}

/// Where words stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stands {
    /// In both texts.
    InBoth,
    /// Only before.
    Before,
    /// Only after.
    After,
}

impl Stands {
    /// The word for programs.
    pub fn word(self) -> &'static str {
        match self {
            Self::InBoth => "both",
            Self::Before => "before",
            Self::After => "after",
        }
    }
}

/// The runs of two texts in their order.
pub fn runs(was: &str, is: &str) -> Vec<Run> {
    let difference = TextDiff::from_words(was, is);
    let mut runs: Vec<Run> = Vec::new();
    for change in difference.iter_all_changes() {
        let stands = match change.tag() {
            ChangeTag::Equal => Stands::InBoth,
            ChangeTag::Delete => Stands::Before,
            ChangeTag::Insert => Stands::After,
        };
        match runs.last_mut() {
            Some(run) if run.stands == stands => run.text.push_str(change.value()),
            _ => runs.push(Run {
                stands,
                text: change.value().to_owned(),
            }),
        }
    }
    runs
}

/// One of the two texts with square brackets round the words that the other lacks.
pub fn marked(runs: &[Run], own: Stands) -> String {
    runs.iter()
        .filter(|run| run.stands == Stands::InBoth || run.stands == own)
        .map(|run| {
            let inner = run.text.trim();
            if run.stands == Stands::InBoth || inner.is_empty() {
                run.text.clone()
            } else {
                run.text.replacen(inner, &format!("[{inner}]"), 1)
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_texts_can_be_told_from_the_runs() {
        for (was, is) in [
            (
                "1 cup after meals, up to 3 a day",
                "1 cup after meals, twice a day",
            ),
            ("", "new words"),
            ("old words", ""),
            ("the same", "the same"),
            ("sage [cut] leaf", "sage leaf"),
        ] {
            let runs = runs(was, is);
            let text = |own| -> String {
                runs.iter()
                    .filter(|run| run.stands == Stands::InBoth || run.stands == own)
                    .map(|run| run.text.as_str())
                    .collect()
            };
            assert_eq!(text(Stands::Before), was);
            assert_eq!(text(Stands::After), is);
        }
    }

    #[test]
    fn what_differs_stands_in_brackets() {
        let runs = runs("1 cup, up to 3 a day", "1 cup, twice a day");
        assert_eq!(marked(&runs, Stands::Before), "1 cup, [up to 3] a day");
        assert_eq!(marked(&runs, Stands::After), "1 cup, [twice] a day");
    }
}
