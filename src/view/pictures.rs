//! Turns shares into pictures: what they were and are, and how they went through time.

use crate::compute::intake::Intake;
use crate::quantity::print::{self, short, telling_places};
use crate::quantity::rounding::{apportion, quotient, to_places};
use crate::quantity::{Checked, Decimal, Overflow, Spread};
use crate::render::Picture;
use crate::render::picture::{Amount, Measure, Moment, Pair};

/// A share before and after, in percent of the total.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SharePair {
    /// Of what.
    pub name: String,
    /// Before; the words say why there is none.
    pub was: Result<Decimal, String>,
    /// After.
    pub is: Result<Decimal, String>,
}

/// A share as it is printed everywhere: with one decimal, or as many as a small one needs to be seen.
pub fn percent(share: Decimal) -> String {
    format!("{} %", short(share, telling_places(&[Spread::exact(share)], 1)))
}

/// Shares before and after as pairs of bars; nothing where no share differs in print.
pub fn before_and_after(pairs: &[SharePair]) -> Option<Picture> {
    let drawn = |share: &Result<Decimal, String>| share.as_ref().ok().map(|share| percent(*share));
    let any = |get: &dyn Fn(&SharePair) -> bool| pairs.iter().any(get);
    let differs = any(&|pair| drawn(&pair.was) != drawn(&pair.is));
    // Shares on one side only are no change of shares, but of what can be reckoned.
    let both = any(&|pair| pair.was.is_ok()) && any(&|pair| pair.is.is_ok());
    if !differs || !both {
        return None;
    }
    let most = pairs
        .iter()
        .flat_map(|pair| [&pair.was, &pair.is])
        .filter_map(|share| share.as_ref().ok())
        .max()?;
    let end = axis(*most).ok()?;
    let measure = |share: &Result<Decimal, String>| match share {
        Ok(share) => Some(Measure::new(thousandths(*share, end).ok()?, percent(*share))),
        Err(why) => Some(Measure::nothing(why.as_str())),
    };
    let pairs: Option<Vec<Pair>> = pairs
        .iter()
        .map(|pair| {
            Some(Pair {
                label: pair.name.clone(),
                first: measure(&pair.was)?,
                second: measure(&pair.is)?,
            })
        })
        .collect();
    Some(Picture::pairs(
        "share of the total",
        format!("bars from 0 to {} %", short(end, 0)),
        ["was", "is"],
        pairs?,
    ))
}

/// What a whole is made of: one bar for each share in percent, in the order given.
pub fn composition(shares: &[(String, Decimal)]) -> Option<Picture> {
    let most = shares.iter().map(|(_, share)| *share).max()?;
    let end = axis(most).ok()?;
    let rows: Option<Vec<Amount>> = shares
        .iter()
        .map(|(name, share)| {
            Some(Amount {
                label: name.clone(),
                measure: Measure::new(thousandths(*share, end).ok()?, percent(*share)),
                reach: None,
                stated: None,
            })
        })
        .collect();
    Some(Picture::amounts(
        "share of the whole by weight",
        format!("bars from 0 to {} %", short(end, 0)),
        rows?,
    ))
}

/// What a dose holds of each herb, beside what is stated for a single dose.
pub fn dose(intake: &Intake, name: impl Fn(usize) -> String) -> Option<Picture> {
    let bounds = |herb: &crate::compute::intake::HerbIntake| {
        let published = &herb.published;
        let (most, _) = published.most_at_once.filter(|_| !published.for_adults)?;
        Some((
            published.least_at_once.map_or(Decimal::ZERO, |(least, _)| least),
            most,
        ))
    };
    let end = intake
        .herbs
        .iter()
        .flat_map(|herb| [Some(herb.at_once.high), bounds(herb).map(|(_, most)| most)])
        .flatten()
        .max()
        .filter(|end| !end.is_zero())?;
    let rows: Option<Vec<Amount>> = intake
        .herbs
        .iter()
        .map(|herb| {
            let at = |value: Decimal| thousandths(value, end).ok();
            let spread = &herb.at_once;
            let said = bounds(herb).map(|(least, most)| {
                let least = if least.is_zero() || least == most {
                    String::new()
                } else {
                    format!("{} to ", short(least, 3))
                };
                format!("; stated {least}{} g", short(most, 3))
            });
            Some(Amount {
                label: name(herb.substance),
                measure: Measure::new(
                    at(spread.nominal)?,
                    format!("{}{}", print::dose(spread), said.unwrap_or_default()),
                ),
                reach: if spread.is_exact() {
                    None
                } else {
                    Some((at(spread.low)?, at(spread.high)?))
                },
                stated: match bounds(herb) {
                    // A single figure is drawn as a narrow frame, or it would not be seen.
                    Some((least, most)) => {
                        let most = at(most)?;
                        Some((at(least)?.min(most.saturating_sub(6)), most))
                    }
                    None => None,
                },
            })
        })
        .collect();
    let any = intake.herbs.iter().any(|herb| bounds(herb).is_some());
    Some(Picture::amounts(
        "what is in a dose",
        format!(
            "bars from 0 to {} g; a line shows how far it may reach{}",
            short(end, 3),
            if any {
                ", a dashed frame what is stated for one dose"
            } else {
                ""
            }
        ),
        rows?,
    ))
}

/// Shares through time: each moment with its label and the shares in percent by name, in the order
/// of the formula. What came later is drawn after what was there before.
///
/// # Errors
/// [`Overflow`] when a share is negative or does not fit.
pub fn through_time(title: &str, moments: &[(String, Vec<(String, Decimal)>)]) -> Checked<Picture> {
    let mut parts: Vec<String> = Vec::new();
    for (name, _) in moments.iter().flat_map(|(_, shares)| shares) {
        if !parts.contains(name) {
            parts.push(name.clone());
        }
    }
    let moments = moments
        .iter()
        .map(|(label, shares)| {
            let given: Vec<Option<Decimal>> = parts.iter().map(|part| share_of(part, shares)).collect();
            let lengths = lengths(&given)?;
            let measures = given.iter().zip(lengths).map(|(share, length)| match share {
                Some(share) => Measure::new(length, percent(*share)),
                None => Measure::nothing(""),
            });
            Ok(Moment {
                label: label.clone(),
                shares: measures.collect(),
            })
        })
        .collect::<Checked<Vec<_>>>()?;
    Ok(Picture::through_time(title, parts, moments))
}

/// The share of a part; one that is taken twice has both.
fn share_of(part: &str, shares: &[(String, Decimal)]) -> Option<Decimal> {
    shares
        .iter()
        .filter(|(name, _)| name == part)
        .map(|(_, share)| *share)
        .reduce(|sum, share| sum.checked_add(share).unwrap_or(Decimal::MAX))
}

/// Thousandths that add up as the shares do, so that a whole has no gap at its end.
fn lengths(shares: &[Option<Decimal>]) -> Checked<Vec<u16>> {
    let given: Vec<Decimal> = shares.iter().map(|share| share.unwrap_or_default()).collect();
    let tenth = Decimal::new(1, 1);
    let whole = apportion(&given, None, tenth)?;
    whole
        .values
        .into_iter()
        .map(|share| thousandths(share, Decimal::ONE_HUNDRED))
        .collect()
}

/// The end of an axis that begins at nothing: the next full ten.
fn axis(most: Decimal) -> Checked<Decimal> {
    let tens = quotient(most, Decimal::TEN)?.ceil().max(Decimal::ONE);
    tens.checked_mul(Decimal::TEN).ok_or(Overflow)
}

/// A value in thousandths of an axis.
pub fn thousandths(value: Decimal, end: Decimal) -> Checked<u16> {
    let part = value.checked_mul(Decimal::ONE_THOUSAND).ok_or(Overflow)?;
    u16::try_from(to_places(quotient(part, end)?, 0)).map_err(|_| Overflow)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn decimal(text: &str) -> Decimal {
        text.parse().unwrap()
    }

    fn pair(name: &str, was: Option<&str>, is: Option<&str>) -> SharePair {
        SharePair {
            name: name.to_owned(),
            was: was.map(decimal).ok_or_else(|| "not in it".to_owned()),
            is: is.map(decimal).ok_or_else(|| "left out".to_owned()),
        }
    }

    #[test]
    fn bars_are_scaled_to_the_next_ten() {
        let pairs = [
            pair("mint", Some("60.5"), Some("50")),
            pair("rose", None, Some("12.25")),
        ];
        let Some(Picture::Pairs(picture)) = before_and_after(&pairs) else {
            panic!("no picture");
        };
        assert_eq!(picture.axis, "bars from 0 to 70 %");
        // 60.5 of 70, 50 of 70 and 12.25 of 70, in thousandths, reckoned by hand.
        assert_eq!(picture.rows[0].first, Measure::new(864, "60.5 %"));
        assert_eq!(picture.rows[0].second, Measure::new(714, "50 %"));
        assert_eq!(picture.rows[1].first, Measure::nothing("not in it"));
        assert_eq!(picture.rows[1].second, Measure::new(175, "12.3 %"));
    }

    #[test]
    fn there_is_a_picture_only_of_what_differs() {
        assert_eq!(before_and_after(&[]), None);
        assert_eq!(before_and_after(&[pair("mint", Some("50"), Some("50.01"))]), None);
        // All shares came at once: there is nothing to compare them with.
        assert_eq!(before_and_after(&[pair("mint", None, Some("50"))]), None);
        assert!(before_and_after(&[pair("mint", Some("50"), Some("50.1"))]).is_some());
    }

    #[test]
    fn the_axis_ends_where_the_longest_bar_does_or_beyond() {
        for (most, end) in [
            ("0", "10"),
            ("0.5", "10"),
            ("10", "10"),
            ("10.1", "20"),
            ("100", "100"),
        ] {
            assert_eq!(axis(decimal(most)), Ok(decimal(end)));
        }
    }

    #[test]
    fn thirds_fill_the_whole() {
        let third = decimal("33.333333333333");
        let shares = ["a", "b", "c"].map(|name| (name.to_owned(), third));
        let Ok(Picture::ThroughTime(picture)) = through_time(
            "shares",
            &[
                ("2026".to_owned(), shares.to_vec()),
                ("2027".to_owned(), Vec::new()),
            ],
        ) else {
            panic!("no picture");
        };
        let lengths: Vec<_> = picture.moments[0].shares.iter().map(|one| one.length).collect();
        assert_eq!(lengths, [Some(334), Some(333), Some(333)]);
        assert_eq!(picture.moments[0].shares[0].words, "33.3 %");
        assert_eq!(picture.moments[1].shares, vec![Measure::nothing(""); 3]);
    }

    #[test]
    fn parts_stand_in_the_order_in_which_they_came() {
        let moment = |label: &str, shares: &[(&str, &str)]| {
            let shares = shares
                .iter()
                .map(|(name, share)| ((*name).to_owned(), decimal(share)));
            (label.to_owned(), shares.collect::<Vec<_>>())
        };
        let Ok(Picture::ThroughTime(picture)) = through_time(
            "shares",
            &[
                moment("1", &[("mint", "40"), ("rose", "60")]),
                moment(
                    "2",
                    &[("fennel", "10"), ("rose", "30"), ("mint", "30"), ("rose", "30")],
                ),
            ],
        ) else {
            panic!("no picture");
        };
        assert_eq!(picture.parts, ["mint", "rose", "fennel"]);
        let last: Vec<_> = picture.moments[1].stretches().collect();
        assert_eq!(last, [(0, 0, 300), (1, 300, 600), (2, 900, 100)]);
        assert_eq!(picture.moments[1].shares[1].words, "60 %");
    }

    #[test]
    fn shares_that_are_none_give_no_picture() {
        let moment = |share: &str| [("1".to_owned(), vec![("mint".to_owned(), decimal(share))])];
        assert!(through_time("", &moment("-1")).is_err());
        assert!(through_time("", &moment("100000000")).is_err());
    }
}
