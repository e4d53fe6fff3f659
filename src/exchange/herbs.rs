//! Turns rows of herbs into entries of a ledger, or into a fault for each cell that can't become one.
//!
//! A column is a line word: `latin`, `also`, `teaspoon`, `price`. What a cell says stands behind it as it
//! would be typed, and is read back before anything is written.

use std::sync::Arc;

use crate::diagnostic::Severity;
use crate::naming::folded;
use crate::syntax::tree::Kind;
use crate::workspace::Snapshot;

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Column {
    /// The name of a herb, or of a material.
    Name(Kind),
    /// What stands behind a line word.
    Line(&'static str),
}

/// What is wrong with a row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RowFault {
    /// The row as a spreadsheet counts: the headings are row one.
    pub row: usize,
    /// The heading of the column, if one cell is wrong.
    pub column: Option<String>,
    /// What is wrong.
    pub message: String,
    /// What to do.
    pub help: String,
}

/// Entries that can be added to a ledger.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Imported {
    /// The entries as text.
    pub text: String,
    /// How many there are.
    pub count: usize,
}

/// Reads rows of herbs (RFC 4180) into entries, beside a ledger with which they must agree.
///
/// # Errors
/// Every fault of every row; then nothing is imported.
pub fn herbs(bytes: &[u8], ledger: &Snapshot) -> Result<Imported, Vec<RowFault>> {
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let whole = |message: String, help: &str| {
        vec![RowFault {
            row: 1,
            column: None,
            message,
            help: help.to_owned(),
        }]
    };
    let mut reader = csv::ReaderBuilder::new().flexible(true).from_reader(bytes);
    let headings = reader
        .headers()
        .map_err(|error| whole(format!("the headings can't be read: {error}"), SAVE))?
        .clone();
    let columns = columns(headings.iter()).map_err(|fault| vec![fault])?;
    let mut faults = Vec::new();
    let mut entries: Vec<(usize, Cells, Kind)> = Vec::new();
    for (row, record) in (2_usize..).zip(reader.records()) {
        let record = match record {
            Ok(record) => record,
            Err(error) => {
                faults.push(fault(row, None, format!("this row can't be read: {error}"), SAVE));
                continue;
            }
        };
        if record.iter().all(|cell| cell.trim().is_empty()) {
            continue;
        }
        if record.len() > columns.len() {
            faults.push(fault(
                row,
                None,
                format!(
                    "this row has {} cells, and there are {} headings",
                    record.len(),
                    columns.len()
                ),
                "put a cell that holds a comma in quotes",
            ));
            continue;
        }
        let cells: Cells = record
            .iter()
            .enumerate()
            .map(|(at, cell)| (at, cell.trim().to_owned()))
            .filter(|(_, cell)| !cell.is_empty())
            .collect();
        let kind = columns.iter().find_map(|column| match column {
            Column::Name(kind) => Some(*kind),
            Column::Line(_) => None,
        });
        entries.push((row, cells, kind.unwrap_or(Kind::Herb)));
    }
    let mut texts = Vec::new();
    let mut known: Vec<String> = Vec::new();
    for (row, cells, kind) in &entries {
        match entry(*row, cells, *kind, &columns, &headings) {
            Ok((name, text)) => {
                if known.contains(&folded(&name)) {
                    faults.push(fault(
                        *row,
                        None,
                        format!("`{name}` stands in two rows"),
                        "keep one of them",
                    ));
                }
                known.push(folded(&name));
                texts.push((*row, text));
            }
            Err(more) => faults.extend(more),
        }
    }
    faults.extend(beside(&texts, ledger));
    faults.sort_by_key(|one| one.row);
    if !faults.is_empty() {
        return Err(faults);
    }
    Ok(Imported {
        count: texts.len(),
        text: texts
            .into_iter()
            .map(|(_, text)| text)
            .collect::<Vec<_>>()
            .join("\n"),
    })
}

/// The cells of a row that say something, each with its column.
type Cells = Vec<(usize, String)>;

const SAVE: &str = "save it as CSV in UTF-8, with a comma between cells";

fn fault(row: usize, column: Option<&str>, message: String, help: &str) -> RowFault {
    RowFault {
        row,
        column: column.map(str::to_owned),
        message,
        help: help.to_owned(),
    }
}

fn columns<'a>(headings: impl Iterator<Item = &'a str>) -> Result<Vec<Column>, RowFault> {
    let known = Kind::Herb.line_words();
    let mut columns: Vec<Column> = Vec::new();
    for heading in headings {
        let plain = folded(heading);
        let word = known.iter().find(|word| word.word == plain);
        let column = match (plain.as_str(), word) {
            ("herb", _) => Column::Name(Kind::Herb),
            ("material", _) => Column::Name(Kind::Material),
            (_, Some(word)) => Column::Line(word.word),
            (_, None) => return Err(unknown_column(heading, &plain)),
        };
        columns.push(column);
    }
    let names = columns
        .iter()
        .filter(|one| matches!(one, Column::Name(_)))
        .count();
    if names == 1 {
        Ok(columns)
    } else {
        Err(fault(
            1,
            None,
            "one column must hold the names".to_owned(),
            "call it `herb`, or `material` for what is no herb",
        ))
    }
}

fn unknown_column(heading: &str, plain: &str) -> RowFault {
    let all: Vec<&str> = Kind::Herb.line_words().iter().map(|word| word.word).collect();
    let help = match crate::naming::nearest(plain, all.iter().copied()) {
        Some(near) => format!("did you mean `{near}`?"),
        None => format!("a column is `herb`, `material` or one of: {}", all.join(", ")),
    };
    fault(
        1,
        Some(heading),
        format!("`{heading}` is no line of a herb"),
        &help,
    )
}

/// The entry of one row, read back cell by cell.
fn entry(
    row: usize,
    cells: &[(usize, String)],
    kind: Kind,
    columns: &[Column],
    headings: &csv::StringRecord,
) -> Result<(String, String), Vec<RowFault>> {
    let heading = |at: usize| headings.get(at).unwrap_or_default();
    let mut faults = Vec::new();
    let mut name = None;
    let mut lines = Vec::new();
    for (at, cell) in cells {
        if cell.contains(['\n', '\r']) {
            faults.push(fault(
                row,
                Some(heading(*at)),
                "this cell has a line break in it".to_owned(),
                "take the line break out",
            ));
            continue;
        }
        match columns.get(*at) {
            Some(Column::Name(_)) => name = Some(cell.clone()),
            Some(Column::Line(word)) => lines.push((*at, *word, cell)),
            None => {}
        }
    }
    let Some(name) = name else {
        faults.push(fault(
            row,
            None,
            "this row has no name".to_owned(),
            "give it one, or empty the row",
        ));
        return Err(faults);
    };
    let head = format!("{} {}\n", kind.word(), quoted(&name));
    let mut text = head.clone();
    for (at, word, cell) in lines {
        let line = format!("  {word:<17} {cell}\n");
        // Each line is tried alone, so that a fault belongs to its cell.
        let alone = Snapshot::of([("row".to_owned(), Arc::from(format!("{head}{line}")))]);
        let refused = alone
            .diagnostics
            .iter()
            .find(|one| one.severity == Severity::Error && one.span.first_byte() >= head.len());
        let entries: Vec<_> = alone.trees.iter().flat_map(|tree| &tree.entries).collect();
        let whole = matches!(entries.as_slice(), [one] if one.lines.len() == 1)
            && alone.trees.iter().all(|tree| tree.comments.is_empty());
        match refused {
            Some(one) => faults.push(fault(
                row,
                Some(heading(at)),
                one.message.clone(),
                one.help.as_deref().unwrap_or("mend the cell"),
            )),
            None if !whole => faults.push(fault(
                row,
                Some(heading(at)),
                format!("`{cell}` would not be read as it is written"),
                "take `#` out, and what looks like another line",
            )),
            None => text.push_str(&line),
        }
    }
    let alone = Snapshot::of([("row".to_owned(), Arc::from(head.as_str()))]);
    let read = alone.trees.iter().flat_map(|tree| &tree.entries).next();
    if read
        .and_then(|entry| entry.name.as_ref())
        .is_none_or(|own| own.text != name)
    {
        faults.push(fault(
            row,
            None,
            format!("`{name}` can't be a name"),
            "a name is words without quotes in it",
        ));
    }
    if faults.is_empty() {
        Ok((name, text))
    } else {
        Err(faults)
    }
}

/// A name as it must stand in a first line.
fn quoted(name: &str) -> String {
    let plain = name
        .split(' ')
        .all(|word| word.starts_with(char::is_alphabetic) && !word.contains([',', ':', '"', '#']));
    if plain && !name.starts_with("without") {
        name.to_owned()
    } else {
        format!("\"{name}\"")
    }
}

/// What is wrong with entries only beside the ledger and each other: names that are taken, sources
/// that are not declared.
fn beside(texts: &[(usize, String)], ledger: &Snapshot) -> Vec<RowFault> {
    const FILE: &str = "imported rows";
    let whole: String = texts
        .iter()
        .map(|(_, text)| text.as_str())
        .collect::<Vec<_>>()
        .join("\n");
    let files = ledger
        .sources
        .iter()
        .map(|(_, source)| (source.path.to_string(), Arc::clone(&source.text)))
        .chain([(FILE.to_owned(), Arc::from(whole.as_str()))]);
    let together = Snapshot::of(files);
    let mut starts = Vec::new();
    let mut at = 0_usize;
    for (row, text) in texts {
        starts.push((at, *row));
        at = at.saturating_add(text.len()).saturating_add(1);
    }
    let of_byte = |byte: usize| {
        let before = starts.partition_point(|(start, _)| *start <= byte);
        before
            .checked_sub(1)
            .and_then(|at| starts.get(at))
            .map_or(1, |(_, row)| *row)
    };
    together
        .diagnostics
        .iter()
        .filter_map(|one| {
            let own = together.sources.path(one.span) == FILE;
            let related = one
                .related
                .iter()
                .map(|(span, _)| *span)
                .find(|span| together.sources.path(*span) == FILE);
            let span = if own { Some(one.span) } else { related }?;
            let grave = one.severity == Severity::Error || one.code == crate::code::SOURCE_NOT_DECLARED;
            grave.then(|| {
                fault(
                    of_byte(span.first_byte()),
                    None,
                    one.message.clone(),
                    one.help.as_deref().unwrap_or("mend the row"),
                )
            })
        })
        .collect()
}
