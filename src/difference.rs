//! Turns two texts into what differs between them, word by word.

use similar::{ChangeTag, TextDiff, TextMerge};

/// Longer texts are shown whole, without marks: nobody looks for a word in them.
const LONGEST: usize = 2000;

/// A stretch of a text, and whether the other text has it too.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stretch {
    /// The text.
    pub text: String,
    /// Whether only this side has it.
    pub differs: bool,
}

/// What differs between two texts: the stretches of the one and those of the other. Blanks don't differ.
pub fn words(one: &str, other: &str) -> (Vec<Stretch>, Vec<Stretch>) {
    let whole = |text: &str| {
        vec![Stretch {
            text: text.to_owned(),
            differs: false,
        }]
    };
    if one.len() > LONGEST || other.len() > LONGEST {
        return (whole(one), whole(other));
    }
    // Blanks would be matched with one another, and tear words apart that are the same.
    let bare = |text| -> Vec<&str> { str::split_whitespace(text).collect() };
    let (mine, theirs) = (bare(one), bare(other));
    let changes: Vec<ChangeTag> = TextDiff::from_slices(&mine, &theirs)
        .iter_all_changes()
        .map(|change| change.tag())
        .collect();
    let side = |text, others: ChangeTag| {
        stretches(
            text,
            changes
                .iter()
                .filter(|tag| **tag != others)
                .map(|tag| *tag != ChangeTag::Equal),
        )
    };
    (side(one, ChangeTag::Insert), side(other, ChangeTag::Delete))
}

/// Three versions of a text, the one that both others began with first, merged line by line; and how
/// many places stand in it twice, between marks.
pub fn merged_lines(
    [base, ours, theirs]: [&str; 3],
    mark: usize,
    [our_name, their_name]: [&str; 2],
) -> (String, usize) {
    let mut merge = TextMerge::from_lines(base, ours, theirs);
    merge.conflict_marker_size(mark).labels("", our_name, their_name);
    (merge.to_string(), merge.conflict_count())
}

/// A text in stretches, when it is known of each word whether it differs.
fn stretches(text: &str, mut differs: impl Iterator<Item = bool>) -> Vec<Stretch> {
    let mut out = Vec::new();
    let mut rest = text;
    while !rest.is_empty() {
        let word = rest.trim_start();
        let (blanks, after) = rest
            .split_at_checked(rest.len().saturating_sub(word.len()))
            .unwrap_or((rest, ""));
        if !blanks.is_empty() {
            push(&mut out, blanks, false);
        }
        let end = after.find(char::is_whitespace).unwrap_or(after.len());
        let (word, after) = after.split_at_checked(end).unwrap_or((after, ""));
        if !word.is_empty() {
            push(&mut out, word, differs.next().unwrap_or(false));
        }
        rest = after;
    }
    out
}

/// Words that differ and have one blank between them are one stretch.
fn push(stretches: &mut Vec<Stretch>, text: &str, differs: bool) {
    if let [.., before, gap] = stretches.as_mut_slice()
        && differs
        && before.differs
        && gap.text == " "
    {
        before.text.push(' ');
        before.text.push_str(text);
        stretches.pop();
        return;
    }
    if let Some(last) = stretches.last_mut()
        && last.differs == differs
    {
        last.text.push_str(text);
        return;
    }
    stretches.push(Stretch {
        text: text.to_owned(),
        differs,
    });
}

/// A text with square brackets round what differs.
pub fn bracketed(stretches: &[Stretch]) -> String {
    stretches
        .iter()
        .map(|stretch| {
            if stretch.differs {
                format!("[{}]", stretch.text)
            } else {
                stretch.text.clone()
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::{bracketed, words};

    #[test]
    fn either_text_can_be_told_from_its_stretches() {
        for (was, is) in [
            (
                "1 cup after meals, up to 3 a day",
                "1 cup after meals, twice a day",
            ),
            ("", "new words"),
            ("old words", ""),
            ("the  same ", "the  same "),
            ("sage [cut] leaf", "sage leaf"),
        ] {
            let (one, other) = words(was, is);
            let text =
                |side: &[super::Stretch]| -> String { side.iter().map(|one| one.text.as_str()).collect() };
            assert_eq!((text(&one).as_str(), text(&other).as_str()), (was, is));
        }
    }

    #[test]
    fn what_differs_stands_in_brackets() {
        let (one, other) = words("1 cup, up to 3 a day", "1 cup, twice a day");
        assert_eq!(bracketed(&one), "1 cup, [up to 3] a day");
        assert_eq!(bracketed(&other), "1 cup, [twice] a day");
    }
}
