//! Neutral data for simple pictures of numbers, which each form draws in its own way.
//!
//! A view gives every figure twice: scaled to the axis in thousandths, and in the words that are
//! printed beside it. So nothing here or in a form calculates an amount, and the words are those
//! of the table that stands in the same document.

/// The whole axis of a picture.
pub const WHOLE: u16 = 1000;

/// A picture.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Picture {
    /// Two bars for each label: before and after.
    Pairs(Pairs),
    /// What a whole is made of, at each of several moments.
    ThroughTime(ThroughTime),
    /// Two stretches for each label, against one another.
    Ranges(Ranges),
    /// One bar for each label.
    Amounts(Amounts),
}

/// Two stretches for each label, each label with an axis of its own that begins at nothing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Ranges {
    /// What the picture shows.
    pub title: String,
    /// What the first stretch of each label is called.
    pub first: String,
    /// What the second is called.
    pub second: String,
    /// One row for each label, from top to bottom.
    pub rows: Vec<Range>,
}

/// One label with its two stretches.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Range {
    /// What the figures are of.
    pub label: String,
    /// The figure at the end of its axis, in words.
    pub end: String,
    /// The first stretch.
    pub first: Stretch,
    /// The second.
    pub second: Stretch,
}

/// From where to where something reaches, scaled and in words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stretch {
    /// Where it begins, in thousandths of the axis.
    pub from: u16,
    /// Where it ends, in thousandths of the axis.
    pub to: u16,
    /// The figure as printed.
    pub words: String,
}

/// One bar for each label, all on one axis that begins at nothing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Amounts {
    /// What the picture shows.
    pub title: String,
    /// How far the axis reaches and what is drawn, in words.
    pub axis: String,
    /// One row for each label, from top to bottom.
    pub rows: Vec<Amount>,
}

/// One label with its figure.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Amount {
    /// What the figure is of.
    pub label: String,
    /// The figure.
    pub measure: Measure,
    /// From where to where it may lie, in thousandths of the axis.
    pub reach: Option<(u16, u16)>,
    /// From where to where it is stated that it should lie, in thousandths of the axis.
    pub stated: Option<(u16, u16)>,
}

/// Two bars for each label, one under the other, all on one axis that begins at nothing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pairs {
    /// What the picture shows.
    pub title: String,
    /// How far the axis reaches, in words.
    pub axis: String,
    /// What the first bar of each pair is called.
    pub first: String,
    /// What the second is called.
    pub second: String,
    /// One row for each label, from top to bottom.
    pub rows: Vec<Pair>,
}

/// One label with its two figures.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pair {
    /// What the figures are of.
    pub label: String,
    /// The figure before.
    pub first: Measure,
    /// The figure after.
    pub second: Measure,
}

/// What a whole is made of, at each of several moments.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ThroughTime {
    /// What the picture shows.
    pub title: String,
    /// What the whole is made of, in the order in which it is drawn.
    pub parts: Vec<String>,
    /// The moments, the earliest first.
    pub moments: Vec<Moment>,
}

/// One moment.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Moment {
    /// When, such as a date.
    pub label: String,
    /// A figure for each part, in the order of the parts.
    pub shares: Vec<Measure>,
}

/// A figure, scaled and in words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Measure {
    /// Its length in thousandths of the axis, 1000 at the most; nothing where there is no figure.
    pub length: Option<u16>,
    /// The figure as printed, or why there is none.
    pub words: String,
}

impl Picture {
    /// Two bars for each label. `axis` says in words how far the axis reaches.
    pub fn pairs(
        title: impl Into<String>,
        axis: impl Into<String>,
        [first, second]: [&str; 2],
        pairs: impl IntoIterator<Item = Pair>,
    ) -> Self {
        Self::Pairs(Pairs {
            title: title.into(),
            axis: axis.into(),
            first: first.to_owned(),
            second: second.to_owned(),
            rows: pairs.into_iter().collect(),
        })
    }

    /// Shares through time: each moment is drawn as one bar from 0 to 100 percent.
    ///
    /// A moment with fewer figures than there are parts has nothing of the rest; figures beyond
    /// the last part are left away.
    pub fn through_time(
        title: impl Into<String>,
        parts: impl IntoIterator<Item = String>,
        moments: impl IntoIterator<Item = Moment>,
    ) -> Self {
        let parts: Vec<String> = parts.into_iter().collect();
        let moments = moments.into_iter().map(|mut moment| {
            moment.shares.resize(parts.len(), Measure::nothing(""));
            moment
        });
        Self::ThroughTime(ThroughTime {
            title: title.into(),
            moments: moments.collect(),
            parts,
        })
    }

    /// One bar for each label. `axis` says in words how far the axis reaches.
    pub fn amounts(
        title: impl Into<String>,
        axis: impl Into<String>,
        rows: impl IntoIterator<Item = Amount>,
    ) -> Self {
        Self::Amounts(Amounts {
            title: title.into(),
            axis: axis.into(),
            rows: rows.into_iter().collect(),
        })
    }

    pub(super) fn map_text(&self, change: &impl Fn(&str) -> String) -> Self {
        match self {
            Self::Amounts(picture) => Self::Amounts(Amounts {
                title: change(&picture.title),
                axis: change(&picture.axis),
                rows: picture
                    .rows
                    .iter()
                    .map(|row| Amount {
                        label: change(&row.label),
                        measure: row.measure.map_text(change),
                        ..row.clone()
                    })
                    .collect(),
            }),
            Self::Pairs(picture) => Self::Pairs(Pairs {
                title: change(&picture.title),
                axis: change(&picture.axis),
                first: change(&picture.first),
                second: change(&picture.second),
                rows: picture
                    .rows
                    .iter()
                    .map(|pair| Pair {
                        label: change(&pair.label),
                        first: pair.first.map_text(change),
                        second: pair.second.map_text(change),
                    })
                    .collect(),
            }),
            Self::Ranges(picture) => Self::Ranges(Ranges {
                title: change(&picture.title),
                first: change(&picture.first),
                second: change(&picture.second),
                rows: picture
                    .rows
                    .iter()
                    .map(|row| Range {
                        label: change(&row.label),
                        end: change(&row.end),
                        first: row.first.map_text(change),
                        second: row.second.map_text(change),
                    })
                    .collect(),
            }),
            Self::ThroughTime(picture) => Self::ThroughTime(ThroughTime {
                title: change(&picture.title),
                parts: picture.parts.iter().map(|part| change(part)).collect(),
                moments: picture
                    .moments
                    .iter()
                    .map(|moment| Moment {
                        label: change(&moment.label),
                        shares: moment.shares.iter().map(|share| share.map_text(change)).collect(),
                    })
                    .collect(),
            }),
        }
    }
}

impl Measure {
    /// A figure of so many thousandths of the axis; what reaches beyond the axis is cut at its end.
    pub fn new(length: u16, words: impl Into<String>) -> Self {
        Self {
            length: Some(length.min(WHOLE)),
            words: words.into(),
        }
    }

    /// No figure, and the words that say so.
    pub fn nothing(words: impl Into<String>) -> Self {
        Self {
            length: None,
            words: words.into(),
        }
    }

    fn map_text(&self, change: &impl Fn(&str) -> String) -> Self {
        Self {
            length: self.length,
            words: change(&self.words),
        }
    }
}

impl Stretch {
    fn map_text(&self, change: &impl Fn(&str) -> String) -> Self {
        Self {
            from: self.from,
            to: self.to,
            words: change(&self.words),
        }
    }
}

impl ThroughTime {
    /// The sign of a part: a letter, in the order of the parts; those after the fifty-second share a star.
    pub fn sign(at: usize) -> char {
        ('a'..='z').chain('A'..='Z').nth(at).unwrap_or('*')
    }
}

impl Moment {
    /// The parts that there is something of: which part, where it begins on the axis and how long
    /// it is, both in thousandths. What would reach beyond the whole is cut.
    pub fn stretches(&self) -> impl Iterator<Item = (usize, u16, u16)> {
        let mut from = 0_u16;
        self.shares.iter().enumerate().filter_map(move |(at, share)| {
            let length = share.length?.min(WHOLE.saturating_sub(from));
            let start = from;
            from = from.saturating_add(length);
            (length > 0).then_some((at, start, length))
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_end_with_the_axis() {
        assert_eq!(Measure::new(1001, "").length, Some(1000));
        let moment = Moment {
            label: String::new(),
            shares: vec![
                Measure::new(700, ""),
                Measure::nothing(""),
                Measure::new(0, ""),
                Measure::new(200, ""),
                Measure::new(200, ""),
                Measure::new(200, ""),
            ],
        };
        let stretches: Vec<_> = moment.stretches().collect();
        assert_eq!(stretches, [(0, 0, 700), (3, 700, 200), (4, 900, 100)]);
    }

    #[test]
    fn a_moment_has_a_figure_for_each_part() {
        let moment = |count: usize| Moment {
            label: String::new(),
            shares: vec![Measure::new(100, "10 %"); count],
        };
        let Picture::ThroughTime(picture) =
            Picture::through_time("", ["a", "b"].map(str::to_owned), [moment(1), moment(3)])
        else {
            panic!("another picture");
        };
        assert_eq!(picture.moments[0].shares[1], Measure::nothing(""));
        assert_eq!(picture.moments[1].shares.len(), 2);
    }

    #[test]
    fn signs_are_letters_and_then_a_star() {
        let signs: String = [0, 25, 26, 51, 52, 900].map(ThroughTime::sign).iter().collect();
        assert_eq!(signs, "azAZ**");
    }
}
