//! Turns a number as people write it into an exact value, or says which slip it holds.

use super::rounding::quotient;
use super::{Checked, Decimal, Overflow};

/// The most digits before the decimal point.
pub const MOST_WHOLE_DIGITS: usize = 12;
/// The most digits after it.
pub const MOST_DECIMALS: usize = 12;

/// A number as written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Number {
    /// Its value; thirds and the like to 28 digits.
    pub value: Decimal,
    /// How many decimals were printed: 1 for `33.3`; none for fractions.
    pub decimals: Option<u32>,
}

/// Why a number is refused.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Slip {
    /// `40,0` or `1,000`: a comma that may be a decimal sign or a divider of thousands.
    Comma,
    /// `.5`: a point with nothing before it.
    NakedPoint,
    /// `1-1/2`.
    Hyphen,
    /// More digits than any balance has.
    TooLong,
    /// `3/11/2026`.
    SlashedDate,
    /// `1/0`, `1.2.3` and the like.
    Other,
}

/// The whole and the fraction of `½` and its kin.
fn vulgar(letter: char) -> Option<(u32, u32)> {
    Some(match letter {
        '½' => (1, 2),
        '⅓' => (1, 3),
        '⅔' => (2, 3),
        '¼' => (1, 4),
        '¾' => (3, 4),
        '⅕' => (1, 5),
        '⅖' => (2, 5),
        '⅗' => (3, 5),
        '⅘' => (4, 5),
        '⅙' => (1, 6),
        '⅚' => (5, 6),
        '⅛' => (1, 8),
        '⅜' => (3, 8),
        '⅝' => (5, 8),
        '⅞' => (7, 8),
        _ => return None,
    })
}

/// Whether a letter is a hyphen, a dash of any length or a minus sign: between two numbers they all mean `to`.
pub fn is_dash(letter: char) -> bool {
    matches!(letter, '-' | '\u{2010}'..='\u{2015}' | '−')
}

/// Reads `20`, `0.5`, `1/2`, `1 1/2`, `½`, `1½`.
///
/// # Errors
/// The [`Slip`] that the text holds.
pub fn read(text: &str) -> Result<Number, Slip> {
    let text = text.trim();
    if text.contains(',') {
        return Err(Slip::Comma);
    }
    if text.contains(is_dash) {
        return Err(Slip::Hyphen);
    }
    if text.contains('⁄') {
        return Err(Slip::Other);
    }
    if text.matches('/').count() == 2 {
        return Err(Slip::SlashedDate);
    }
    if let Some((whole, part)) = text.split_once([' ', '\t', '\u{a0}']) {
        let whole = whole_number(whole)?;
        return sum(whole, fraction(part.trim())?);
    }
    if let Some(last) = text.chars().next_back()
        && vulgar(last).is_some()
    {
        let whole = text.strip_suffix(last).unwrap_or_default();
        let part = fraction(text.strip_prefix(whole).unwrap_or_default())?;
        if whole.is_empty() {
            return Ok(Number {
                value: part,
                decimals: None,
            });
        }
        return sum(whole_number(whole)?, part);
    }
    if text.contains('/') {
        return Ok(Number {
            value: fraction(text)?,
            decimals: None,
        });
    }
    decimal(text)
}

fn sum(whole: Decimal, part: Decimal) -> Result<Number, Slip> {
    Ok(Number {
        value: whole.checked_add(part).ok_or(Slip::TooLong)?,
        decimals: None,
    })
}

fn whole_number(text: &str) -> Result<Decimal, Slip> {
    if text.is_empty() || !text.bytes().all(|byte| byte.is_ascii_digit()) {
        return Err(Slip::Other);
    }
    if text.len() > MOST_WHOLE_DIGITS {
        return Err(Slip::TooLong);
    }
    text.parse().map_err(|_| Slip::TooLong)
}

fn fraction(text: &str) -> Result<Decimal, Slip> {
    let mut letters = text.chars();
    if let (Some(letter), None) = (letters.next(), letters.next())
        && let Some((above, below)) = vulgar(letter)
    {
        return quotient(above.into(), below.into()).map_err(|Overflow| Slip::Other);
    }
    let (above, below) = text.split_once('/').ok_or(Slip::Other)?;
    quotient(whole_number(above)?, whole_number(below)?).map_err(|Overflow| Slip::Other)
}

fn decimal(text: &str) -> Result<Number, Slip> {
    let Some((whole, decimals)) = text.split_once('.') else {
        return Ok(Number {
            value: whole_number(text)?,
            decimals: Some(0),
        });
    };
    if whole.is_empty() {
        return Err(Slip::NakedPoint);
    }
    let whole_value = whole_number(whole)?;
    if decimals.is_empty() || !decimals.bytes().all(|byte| byte.is_ascii_digit()) {
        return Err(Slip::Other);
    }
    if decimals.len() > MOST_DECIMALS {
        return Err(Slip::TooLong);
    }
    let value = text.parse().unwrap_or(whole_value);
    Ok(Number {
        value,
        decimals: u32::try_from(decimals.len()).ok(),
    })
}

impl Number {
    /// How far the printed number may lie from what was meant: half a unit of its last digit.
    /// A fraction is taken as exact.
    pub fn half_unit(&self) -> Checked<Decimal> {
        match self.decimals {
            None => Ok(Decimal::ZERO),
            Some(places) => Decimal::try_new(5, places.saturating_add(1)).map_err(|_| Overflow),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{Slip, read};

    fn value(text: &str) -> String {
        read(text).map_or_else(|slip| format!("{slip:?}"), |n| n.value.normalize().to_string())
    }

    #[test]
    fn every_way_of_writing_a_number() {
        for (text, expected) in [
            ("20", "20"),
            ("0.5", "0.5"),
            ("1/2", "0.5"),
            ("1 1/2", "1.5"),
            ("½", "0.5"),
            ("1½", "1.5"),
            ("1 ½", "1.5"),
            ("2¾", "2.75"),
            ("5.0", "5"),
            ("007", "7"),
        ] {
            assert_eq!(value(text), expected, "{text}");
        }
    }

    #[test]
    fn every_slip() {
        for (text, expected) in [
            ("40,0", Slip::Comma),
            ("1,000", Slip::Comma),
            (".5", Slip::NakedPoint),
            ("1-1/2", Slip::Hyphen),
            ("3/11/2026", Slip::SlashedDate),
            ("1/0", Slip::Other),
            ("1.2.3", Slip::Other),
            ("5.", Slip::Other),
            ("", Slip::Other),
            ("1 2", Slip::Other),
            ("1234567890123", Slip::TooLong),
            ("0.1234567890123", Slip::TooLong),
        ] {
            assert_eq!(read(text), Err(expected), "{text}");
        }
        assert_eq!(read(&"9".repeat(400)), Err(Slip::TooLong));
    }
}
