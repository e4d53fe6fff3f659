//! Turns what scales send, or somebody types, into the lines of `used`.

use super::Unit;
use crate::compute::batch::Refusal;
use crate::quantity::{Decimal, number};

/// What one weighing says: so much, from a lot if one is named.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reading {
    /// How much, as it was shown or typed; in grams or millilitres.
    pub digits: String,
    /// The same.
    pub value: Decimal,
    /// The id of a lot, or the day of a batch.
    pub from: Option<String>,
}

/// Reads one line: `96.8`, `96.8 g`, `60 g from PM-114, 36.8 from PM-131`, or what scales print
/// around their number, such as `ST,GS,+  96.80 g`.
///
/// # Errors
/// [`Refusal`] where there is no number, or more than one thing that it may be.
pub fn read(line: &str, unit: Unit) -> Result<Vec<Reading>, Refusal> {
    if !line.contains(" from ") {
        return Ok(vec![weighed(line, unit)?]);
    }
    line.split(", ")
        .map(|part| {
            let (amount, lot) = part.split_once(" from ").ok_or_else(|| {
                Refusal::new(
                    format!("`{part}` doesn't say from which lot"),
                    "write each part with its lot: `60 g from PM-114, 36.8 g from PM-131`",
                )
            })?;
            let lot = lot.trim();
            if lot.is_empty() || lot.contains([' ', '\t', ',', '#', '"']) {
                return Err(Refusal::new(
                    format!("`{lot}` is no lot"),
                    "a lot's id is one word: `60 g from PM-114`",
                ));
            }
            Ok(Reading {
                from: Some(lot.to_owned()),
                ..weighed(amount, unit)?
            })
        })
        .collect()
}

/// The one number of a line, with its unit or without.
fn weighed(line: &str, unit: Unit) -> Result<Reading, Refusal> {
    let refused = |why: &str| {
        Refusal::new(
            format!("`{}` is no reading: {why}", line.trim()),
            format!("type a number, `96.8` or `96.8 {}`", unit.word()),
        )
    };
    let start = line
        .find(|letter: char| letter.is_ascii_digit())
        .ok_or_else(|| refused("there is no number in it"))?;
    let (before, rest) = line.split_at_checked(start).unwrap_or(("", line));
    if before.trim_end().ends_with(['-', '−', '.']) {
        return Err(refused(
            "a weight is not below zero, and its point follows a digit",
        ));
    }
    let end = rest
        .find(|letter: char| !(letter.is_ascii_digit() || matches!(letter, '.' | ',' | '/')))
        .unwrap_or(rest.len());
    let (digits, after) = rest.split_at_checked(end).unwrap_or((rest, ""));
    let after = after.trim();
    if after.contains(|letter: char| letter.is_ascii_digit()) {
        return Err(refused("there is more than one number in it"));
    }
    let value = number::read(digits)
        .map_err(|_| refused("its number can't be read"))?
        .value;
    if digits.contains('/') {
        return Err(refused("scales show no fractions"));
    }
    let factor = match (unit, after.to_lowercase().as_str()) {
        (_, "") | (Unit::Grams, "g") | (Unit::Millilitres, "ml") => Decimal::ONE,
        (Unit::Grams, "kg") | (Unit::Millilitres, "l") => Decimal::ONE_THOUSAND,
        _ => return Err(refused("its unit is another")),
    };
    let value = value
        .checked_mul(factor)
        .ok_or_else(|| refused("it is too large"))?;
    if value.is_zero() {
        return Err(refused("it is zero"));
    }
    Ok(Reading {
        digits: if factor == Decimal::ONE {
            digits.to_owned()
        } else {
            value.normalize().to_string()
        },
        value,
        from: None,
    })
}

/// The line of a batch that says what was weighed.
pub fn written(name: &str, readings: &[Reading], unit: Unit) -> String {
    let parts: Vec<String> = readings
        .iter()
        .map(|reading| {
            let from = reading.from.as_ref().map(|from| format!(" from {from}"));
            format!("{} {}{}", reading.digits, unit.word(), from.unwrap_or_default())
        })
        .collect();
    let gap = " ".repeat(30_usize.saturating_sub(crate::render::columns(name)).max(2));
    format!("{name}{gap}{}", parts.join(", "))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn digits(line: &str) -> Result<String, String> {
        read(line, Unit::Grams)
            .map(|all| {
                all.iter()
                    .map(|one| format!("{}@{}", one.digits, one.from.as_deref().unwrap_or("-")))
                    .collect::<Vec<_>>()
                    .join(" ")
            })
            .map_err(|refusal| refusal.message)
    }

    #[test]
    fn a_reading_is_one_number() {
        for (line, read) in [
            ("96.8", "96.8@-"),
            ("  96.80 g\r", "96.80@-"),
            ("ST,GS,+  96.80 g", "96.80@-"),
            ("+00012.5g", "00012.5@-"),
            ("1.25 kg", "1250@-"),
            ("60 g from PM-114, 36.8 from PM-131", "60@PM-114 36.8@PM-131"),
        ] {
            assert_eq!(digits(line).as_deref(), Ok(read), "{line}");
        }
        for line in [
            "",
            "g",
            "-3.2 g",
            "3,2 g",
            ".5 g",
            "12 oz",
            "12 g 3",
            "1/2 g",
            "0.0 g",
            "60 g from PM-114, 3",
            "5 from ",
        ] {
            assert!(digits(line).is_err(), "{line}");
        }
    }
}
