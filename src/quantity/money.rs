//! Money: which currency is meant, and how many decimals its smallest coin has (ISO 4217).

use super::rounding::to_places;
use super::{Decimal, print};

/// A currency by its ISO 4217 code, or by a symbol that stands for one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Currency {
    /// The code, or the symbol where it doesn't say which.
    code: String,
}

/// Currencies without a smaller coin, and those with three or four decimals; all others have two.
/// ISO 4217, the table of minor units, from memory.
const MINOR_UNITS: &[(u32, &[&str])] = &[
    (
        0,
        &[
            "BIF", "CLP", "DJF", "GNF", "ISK", "JPY", "KMF", "KRW", "PYG", "RWF", "UGX", "UYI", "VND", "VUV",
            "XAF", "XOF", "XPF",
        ],
    ),
    (3, &["BHD", "IQD", "JOD", "KWD", "LYD", "OMR", "TND"]),
    (4, &["CLF", "UYW"]),
];

impl Currency {
    /// Reads a code of three capitals, or a symbol; nothing if it is neither.
    pub fn read(words: &str) -> Option<Self> {
        let code = match words.trim() {
            "€" => "EUR",
            "£" => "GBP",
            "¥" => "JPY",
            // Many countries have a dollar: it stays a dollar.
            "$" => "$",
            code if code.len() == 3 && code.bytes().all(|byte| byte.is_ascii_uppercase()) => code,
            _ => return None,
        };
        Some(Self {
            code: code.to_owned(),
        })
    }

    /// The code.
    pub fn code(&self) -> &str {
        &self.code
    }

    /// How many decimals an amount of it has.
    pub fn decimals(&self) -> u32 {
        MINOR_UNITS
            .iter()
            .find(|(_, codes)| codes.contains(&self.code.as_str()))
            .map_or(2, |(decimals, _)| *decimals)
    }

    /// An amount in whole smallest coins, a half away from zero; made once, at the end.
    pub fn rounded(&self, amount: Decimal) -> Decimal {
        to_places(amount, self.decimals())
    }
}

/// An amount with its currency, rounded to the smallest coin: `12.40 EUR`; two decimals where no
/// currency is said.
pub fn written(amount: Decimal, currency: Option<&Currency>) -> String {
    match currency {
        Some(currency) => format!(
            "{} {}",
            print::column(amount, currency.decimals()),
            currency.code()
        ),
        None => print::column(amount, 2),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_currency_has_the_decimals_of_its_smallest_coin() {
        // ISO 4217, minor units, from memory.
        for (code, decimals) in [
            ("EUR", 2),
            ("GBP", 2),
            ("JPY", 0),
            ("KWD", 3),
            ("CLF", 4),
            ("$", 2),
        ] {
            assert_eq!(Currency::read(code).unwrap().decimals(), decimals, "{code}");
        }
        assert_eq!(Currency::read("€"), Currency::read("EUR"));
        for words in ["euro", "eur", "EURO", ""] {
            assert_eq!(Currency::read(words), None, "{words}");
        }
    }

    #[test]
    fn an_amount_is_rounded_to_the_coin() {
        let euro = Currency::read("EUR");
        assert_eq!(written(Decimal::new(12345, 3), euro.as_ref()), "12.35 EUR");
        assert_eq!(written(Decimal::new(124, 1), euro.as_ref()), "12.40 EUR");
        assert_eq!(
            written(Decimal::new(1245, 1), Currency::read("JPY").as_ref()),
            "125 JPY"
        );
        assert_eq!(written(Decimal::new(5, 1), None), "0.50");
    }
}
