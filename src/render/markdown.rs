//! Turns a document into Markdown: what `CommonMark` has, and the tables that forges add to it.
//!
//! Text from files stays text: it opens no list, link, mention or tag, and what a reader would not
//! see shows as an escape, as on a terminal.

use super::{Align, Block, Document, Form, NoteKind, Page, RowStyle, Table, TreeLine, escape, text};

/// The form.
pub const FORM: Form = Form {
    name: "markdown",
    purpose: "Markdown, for a pull request or a page",
    print: |document, _| print(document),
};

/// Prints a document. It ends in one line feed, or is empty.
pub fn print(document: &Document) -> String {
    let safe = document.map_text(|text| escape::terminal(text).trim().to_owned());
    // Lines that keep their own blanks lose none.
    let kept = document.map_text(|text| escape::terminal(text).into_owned());
    let blocks: Vec<String> = safe
        .blocks
        .iter()
        .zip(&kept.blocks)
        .map(|(block, kept)| match kept {
            Block::Preformatted(lines) => fenced(lines),
            _ => set(block),
        })
        .filter(|text| !text.is_empty())
        .collect();
    blocks.join("\n")
}

fn set(block: &Block) -> String {
    match block {
        Block::Title(text) => line("# ", &inline(text)),
        Block::Heading(text) => line("## ", &inline(text)),
        Block::Paragraph(text) => line("", &opening(text)),
        Block::SmallPrint(text) => line("", &emphasised("*", text)),
        Block::Facts(facts) => facts
            .iter()
            .filter(|(label, value)| !(label.is_empty() && value.is_empty()))
            .map(|(label, value)| {
                if label.is_empty() {
                    line("- ", &opening(value))
                } else {
                    line("- ", &format!("{}: {}", emphasised("**", label), inline(value)))
                }
            })
            .collect(),
        Block::Table(table) => table_of(table),
        Block::Notes(notes) => notes
            .iter()
            .map(|note| match note.kind {
                NoteKind::Plain => line("- ", &opening(&note.text)),
                kind => line("- ", &format!("**{}:** {}", kind.word(), inline(&note.text))),
            })
            .collect(),
        Block::Tree(lines) => tree(lines),
        Block::Preformatted(lines) => fenced(lines),
        // Markdown draws nothing by itself: the letters of the terminal do.
        Block::Picture(_) => {
            let mut alone = Document::new();
            alone.push(block.clone());
            let drawn = (text::FORM.print)(&alone, &Page::default());
            fenced(&drawn.lines().map(str::to_owned).collect::<Vec<_>>())
        }
    }
}

fn line(before: &str, text: &str) -> String {
    if text.is_empty() {
        String::new()
    } else {
        format!("{before}{text}\n")
    }
}

fn emphasised(mark: &str, text: &str) -> String {
    if text.is_empty() {
        String::new()
    } else {
        format!("{mark}{}{mark}", inline(text))
    }
}

/// Lines between fences that none of them closes.
fn fenced(lines: &[String]) -> String {
    let longest = lines
        .iter()
        .flat_map(|line| line.split(|letter| letter != '`'))
        .map(str::len)
        .max()
        .unwrap_or(0);
    let fence = "`".repeat(longest.saturating_add(1).max(3));
    let mut out = format!("{fence}text\n");
    for line in lines {
        out.push_str(line);
        out.push('\n');
    }
    out.push_str(&fence);
    out.push('\n');
    out
}

/// A list in a list; no step is deeper than one below the line above, or it would be read as code.
fn tree(lines: &[TreeLine]) -> String {
    let mut out = String::new();
    let mut deepest = 0_usize;
    for one in lines.iter().filter(|one| !one.text.is_empty()) {
        let depth = one.depth.min(deepest);
        deepest = depth.saturating_add(1);
        out.push_str(&"  ".repeat(depth));
        out.push_str(&line("- ", &opening(&one.text)));
    }
    out
}

fn table_of(table: &Table) -> String {
    let width = table
        .rows
        .iter()
        .map(|row| row.cells.len())
        .chain([table.columns.len()])
        .max()
        .unwrap_or(0);
    if width == 0 {
        return String::new();
    }
    let row = |cells: Vec<String>| {
        let mut out = String::from("|");
        for at in 0..width {
            out.push(' ');
            out.push_str(cells.get(at).map_or("", String::as_str));
            out.push_str(" |");
        }
        out.push('\n');
        out
    };
    let mut out = row(table
        .columns
        .iter()
        .map(|column| inline(&column.heading))
        .collect());
    out.push_str(&row((0..width)
        .map(|at| match table.columns.get(at).map(|column| column.align) {
            Some(Align::Right | Align::Decimal) => "---:".to_owned(),
            Some(Align::Left) | None => ":---".to_owned(),
        })
        .collect()));
    for one in &table.rows {
        let cell = |text: &String| match one.style {
            RowStyle::Total | RowStyle::Section => emphasised("**", text),
            RowStyle::Plain | RowStyle::Quiet => inline(text),
        };
        out.push_str(&row(one.cells.iter().map(cell).collect()));
    }
    out
}

/// Text at the beginning of a block, where a dash or a number would open a list.
fn opening(text: &str) -> String {
    let safe = inline(text);
    let digits = safe.len().saturating_sub(
        safe.trim_start_matches(|letter: char| letter.is_ascii_digit())
            .len(),
    );
    match safe.split_at_checked(digits) {
        // A number opens a list only before a blank: `20.5 g` is none.
        Some((number, rest))
            if digits > 0
                && rest.starts_with(['.', ')'])
                && rest.chars().nth(1).is_none_or(char::is_whitespace) =>
        {
            format!("{number}\\{rest}")
        }
        _ if safe.starts_with(['-', '+', '=']) => format!("\\{safe}"),
        _ => safe,
    }
}

/// What a forge looks for in text that is already set: a mention, a number of a ticket, an address.
/// A backslash does not hide these, an empty remark inside them does.
const EMPTY_REMARK: &str = "<!-- -->";

/// Text that is nothing but text.
fn inline(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '\\' | '`' | '*' | '_' | '[' | ']' | '<' | '>' | '|' | '~' | '&' | '$' | '!' => {
                out.push('\\');
                out.push(letter);
            }
            '@' => {
                out.push(letter);
                out.push_str(EMPTY_REMARK);
            }
            '#' => {
                out.push_str("\\#");
                out.push_str(EMPTY_REMARK);
            }
            '/' if out.ends_with(':') => {
                out.push_str(EMPTY_REMARK);
                out.push(letter);
            }
            '.' if ends_in_www(&out) => {
                out.push_str(EMPTY_REMARK);
                out.push(letter);
            }
            _ => out.push(letter),
        }
    }
    out
}

fn ends_in_www(text: &str) -> bool {
    let mut last = text.chars().rev();
    (0..3).all(|_| {
        last.next()
            .is_some_and(|letter| letter.eq_ignore_ascii_case(&'w'))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::render::{Column, Note};

    #[test]
    fn every_block_has_its_form() {
        let mut table = Table::new([Column::left("herb"), Column::decimal("g")]);
        table
            .section("leaves")
            .row(["sage", "30.0"])
            .row(["thyme", "2", "beyond"])
            .total(["in all"]);
        let mut page = Document::new();
        page.title("a title")
            .heading("a heading")
            .paragraph("words")
            .facts([("for", "a cough"), ("", "no label")])
            .table(table)
            .notes([Note::plain("plain"), Note::error("wrong")])
            .tree([
                TreeLine::new(0, "one"),
                TreeLine::new(4, "two"),
                TreeLine::new(1, "three"),
            ])
            .preformatted("  kept ``` so")
            .small_print("small");
        assert_eq!(
            print(&page),
            "# a title\n\n## a heading\n\nwords\n\n- **for**: a cough\n- no label\n\n\
             | herb | g |  |\n| :--- | ---: | :--- |\n| **leaves** |  |  |\n| sage | 30.0 |  |\n\
             | thyme | 2 | beyond |\n| **in all** |  |  |\n\n- plain\n- **Error:** wrong\n\n\
             - one\n  - two\n  - three\n\n````text\n  kept ``` so\n````\n\n*small*\n"
        );
    }

    #[test]
    fn text_opens_nothing() {
        let safe = |text: &str| {
            let mut page = Document::new();
            page.paragraph(text);
            print(&page)
        };
        for (text, expected) in [
            ("a | b", "a \\| b\n"),
            ("<script>", "\\<script\\>\n"),
            ("`code` *strong* _so_", "\\`code\\` \\*strong\\* \\_so\\_\n"),
            ("[x](y) ![i](u)", "\\[x\\](y) \\!\\[i\\](u)\n"),
            ("@somebody, see #12", "@<!-- -->somebody, see \\#<!-- -->12\n"),
            ("https://a.example", "https:<!-- -->//a.example\n"),
            ("WWW.a.example", "WWW<!-- -->.a.example\n"),
            ("a@b.example", "a@<!-- -->b.example\n"),
            ("1. one", "1\\. one\n"),
            ("12) one", "12\\) one\n"),
            ("- one", "\\- one\n"),
            ("=== ", "\\===\n"),
            ("    set in", "set in\n"),
            (
                "20.5 g\u{202e} \u{1b}[2J\nnext",
                "20.5 g\\\\u{202e} \\\\u{1b}\\[2J next\n",
            ),
            ("&lt; $x$ ~~y~~", "\\&lt; \\$x\\$ \\~\\~y\\~\\~\n"),
            ("", ""),
        ] {
            assert_eq!(safe(text), expected, "{text:?}");
        }
    }
}
