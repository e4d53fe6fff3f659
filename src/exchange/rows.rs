//! Turns formulas into rows of text (RFC 4180), one row an ingredient.

use crate::compute::Composition;
use crate::model::Bound;
use crate::quantity::Spread;
use crate::quantity::print::digits;
use crate::quantity::rounding::to_places;
use crate::render::escape;
use crate::syntax::tree::Kind;
use crate::workspace::Snapshot;

/// What stands above the columns of formulas. Units are codes of UCUM.
pub const FORMULA_COLUMNS: [&str; 15] = [
    "formula",
    "line",
    "ingredient",
    "kind",
    "botanical name",
    "processing",
    "role",
    "as written",
    "how",
    "amount",
    "least",
    "most",
    "unit (UCUM)",
    "share in %",
    "written in",
];

/// The rows of formulas, by their places in the ledger; those without figures have none.
pub fn formulas(snapshot: &Snapshot, places: &[usize]) -> Vec<Vec<String>> {
    places
        .iter()
        .filter_map(|at| snapshot.figures.of(*at))
        .flat_map(|composition| rows(snapshot, composition))
        .collect()
}

fn rows(snapshot: &Snapshot, composition: &Composition) -> Vec<Vec<String>> {
    (1_usize..)
        .zip(&composition.lines)
        .map(|(number, line)| {
            let taken = &line.taken;
            let substance = match taken.what {
                Bound::Substance(at) => snapshot.ledger.substances.get(at),
                _ => None,
            };
            let kind = match (substance.map(|one| one.kind), taken.what) {
                (Some(Kind::Herb), _) => "herb",
                (Some(_), _) => "material",
                (None, Bound::Formula(_)) => "formula",
                (None, _) => "unknown",
            };
            let name = match taken.what {
                Bound::Formula(at) => snapshot.ledger.formulas.get(at).map(|one| one.name.text.clone()),
                _ => substance.map(|one| one.name.clone()),
            };
            let amounts = &line.amounts;
            let measures: [(Option<Spread>, &str); 3] = [
                (amounts.grams, "g"),
                (amounts.millilitres, "mL"),
                (amounts.parts, "{part}"),
            ];
            let known = measures
                .into_iter()
                .find_map(|(spread, unit)| Some((spread?.settled(), unit)));
            let end = |get: fn(&Spread) -> crate::quantity::Decimal| {
                known
                    .as_ref()
                    .map(|(spread, _)| digits(get(spread)))
                    .unwrap_or_default()
            };
            vec![
                composition.formula.name.text.clone(),
                number.to_string(),
                name.unwrap_or_else(|| taken.name.text.clone()),
                kind.to_owned(),
                substance.and_then(|one| one.latin.clone()).unwrap_or_default(),
                taken.processing.join("; "),
                taken.role.clone().unwrap_or_default(),
                taken.written(&snapshot.sources),
                line.how.words().to_owned(),
                end(|spread| spread.nominal),
                end(|spread| spread.low),
                end(|spread| spread.high),
                known.map_or("", |(_, unit)| unit).to_owned(),
                line.share
                    .map(|share| digits(to_places(share, 6)))
                    .unwrap_or_default(),
                snapshot.sources.address(taken.span),
            ]
        })
        .collect()
}

/// A cell that no spreadsheet takes for a formula of its own: one that begins like such a formula
/// gets an apostrophe before it (the advice of OWASP on CSV injection, from memory). A plain number
/// stays a number.
pub fn spreadsheet_safe(cell: &str) -> String {
    let number = cell.strip_prefix('-').unwrap_or(cell);
    let is_number = !number.is_empty()
        && number
            .chars()
            .all(|letter| letter.is_ascii_digit() || letter == '.')
        && number.matches('.').count() <= 1;
    let first = cell.trim_start_matches([' ', '\u{a0}']).chars().next();
    let dangerous = first.is_some_and(|first| "=+-@|\t\r\n＝＋－＠".contains(first));
    if dangerous && !is_number {
        format!("'{cell}")
    } else {
        cell.to_owned()
    }
}

/// Rows below their headings as text that a terminal may print, too: what it would obey is shown as
/// an escape. Lines end in LF, which every reader of such rows takes; cells stand in quotes where they must.
///
/// # Errors
/// What the writer says, in words.
pub fn written(headings: &[&str], rows: &[Vec<String>]) -> Result<String, String> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(headings).map_err(|error| error.to_string())?;
    for row in rows {
        writer
            .write_record(row.iter().map(|cell| spreadsheet_safe(&escape::terminal(cell))))
            .map_err(|error| error.to_string())?;
    }
    let bytes = writer.into_inner().map_err(|error| error.to_string())?;
    String::from_utf8(bytes).map_err(|error| error.to_string())
}

#[cfg(test)]
mod tests {
    use super::{spreadsheet_safe, written};

    #[test]
    fn no_cell_is_a_formula() {
        for cell in ["=1+1", "+1+1", "@SUM(A1)", "-2+3", "\t=1", " =1", "＝1", "|calc"] {
            assert_eq!(spreadsheet_safe(cell), format!("'{cell}"));
        }
        for cell in ["30", "-4.5", "0.5", "", "mint leaf", "'quoted", "–"] {
            assert_eq!(spreadsheet_safe(cell), cell);
        }
        assert_eq!(spreadsheet_safe("-1.2.3"), "'-1.2.3");
    }

    /// RFC 4180, section 2: a cell with a comma or quotes stands in quotes, and its quotes are doubled.
    #[test]
    fn quotes_commas_and_breaks_stay_in_their_cell() {
        let rows = [vec!["a, b".to_owned(), "say \"c\"\u{1b}\nd".to_owned()]];
        assert_eq!(
            written(&["one", "two"], &rows).unwrap(),
            "one,two\n\"a, b\",\"say \"\"c\"\"\\u{1b} d\"\n"
        );
    }
}
