//! Turns documents into pages of many widths and reads the pages line by line.

use super::*;
use crate::render::{Column, Table};

fn page(width: usize) -> Page {
    Page {
        width,
        ..Page::default()
    }
}

fn of(build: impl FnOnce(&mut Document)) -> Document {
    let mut document = Document::new();
    build(&mut document);
    document
}

fn printed(width: usize, build: impl FnOnce(&mut Document)) -> String {
    print(&of(build), &page(width))
}

fn table_at(width: usize, table: Table) -> String {
    printed(width, |document| {
        document.table(table);
    })
}

/// The page as a reader of plain text sees it: every select-graphic-rendition sequence removed.
fn strip(text: &str) -> String {
    let mut plain = String::new();
    let mut rest = text;
    while let Some((before, after)) = rest.split_once("\u{1b}[") {
        plain.push_str(before);
        rest = after.split_once('m').map_or("", |(_, after)| after);
    }
    plain + rest
}

fn weighing() -> Table {
    let mut table = Table::new([
        Column::left("herb"),
        Column::decimal("target"),
        Column::decimal("running total").with_importance(1),
        Column::decimal("spread").with_importance(3),
        Column::right("share").with_importance(2),
    ]);
    table
        .section("On the large scales")
        .row(["peppermint leaf", "60 g", "60 g", "± 0.5 g", "60 %"])
        .row(["fennel seed, bruised", "37.5 g", "97.5 g", "–", "37.5 %"])
        .section("On the small scales")
        .row(["gentian root", "2.50 g", "100 g", "± 0.05 g", "2.5 %"])
        .total(["together", "100.00 g", "", "", "100 %"]);
    table
}

fn sheet() -> Document {
    of(|document| {
        document
            .title("After-supper tea")
            .facts([("Makes", "100 g, enough for 40 cups"), ("For", "the evening class")])
            .heading("Weighing")
            .table(weighing())
            .notes([
                Note::warning("gentian root is bitter enough to hide what else is in the cup, so taste a cup before any of it is packed"),
                Note::mind("bruise the seed last"),
            ])
            .small_print("For use by or with a qualified practitioner.");
    })
}

#[test]
fn a_sheet_at_80_columns() {
    assert_eq!(
        print(&sheet(), &page(80)),
        "\
After-supper tea
────────────────────────────────────────────────────────────────────────────────

Makes   100 g, enough for 40 cups
For     the evening class


Weighing

herb                     target   running total     spread    share
───────────────────────────────────────────────────────────────────
On the large scales
peppermint leaf         60 g             60 g     ± 0.5 g      60 %
fennel seed, bruised    37.5 g           97.5 g     –        37.5 %

On the small scales
gentian root             2.50 g         100 g     ± 0.05 g    2.5 %
───────────────────────────────────────────────────────────────────
together               100.00 g                               100 %

Warning: gentian root is bitter enough to hide what else is in the cup, so taste
         a cup before any of it is packed
Mind:    bruise the seed last

For use by or with a qualified practitioner.
"
    );
}

#[test]
fn a_table_at_100_columns_is_no_wider_than_it_needs() {
    assert_eq!(table_at(100, weighing()), table_at(80, weighing()));
}

#[test]
fn a_sheet_at_40_columns() {
    assert_eq!(
        print(&sheet(), &page(40)),
        "\
After-supper tea
───────────────────────────────────────

Makes   100 g, enough for 40 cups
For     the evening class


Weighing

                                running
herb                    target    total
───────────────────────────────────────
On the large scales
peppermint leaf        60 g      60 g
fennel seed, bruised   37.5 g    97.5 g

On the small scales
gentian root            2.50 g  100 g
───────────────────────────────────────
together              100.00 g

left out at this width: spread, share

Warning: gentian root is bitter enough
         to hide what else is in the
         cup, so taste a cup before any
         of it is packed
Mind:    bruise the seed last

For use by or with a qualified
practitioner.
"
    );
}

#[test]
fn a_sheet_at_20_columns() {
    assert_eq!(
        print(&sheet(), &page(20)),
        "\
After-supper tea
────────────────────

Makes
  100 g, enough for
  40 cups
For
  the evening class


Weighing

On the large scales
peppermint leaf
  target   60 g
fennel seed, bruised
  target   37.5 g

On the small scales
gentian root
  target   2.50 g
────────────────────
together
  target   100.00 g

left out at this
width: running
total, spread, share

Warning: gentian
  root is bitter
  enough to hide
  what else is in
  the cup, so taste
  a cup before any
  of it is packed
Mind: bruise the
  seed last

For use by or with a
qualified
practitioner.
"
    );
}

#[test]
fn a_page_without_unicode_draws_with_hyphens() {
    let page = Page {
        unicode: false,
        ..page(80)
    };
    let document = of(|document| {
        let mut table = Table::new([Column::left("herb"), Column::decimal("target")]);
        table.row(["mint", "2 g"]).total(["together", "2 g"]);
        document
            .title("Tea")
            .table(table)
            .notes([Note::plain("one"), Note::plain("two")]);
    });
    assert_eq!(
        print(&document, &page),
        "\
Tea
-----------------

herb       target
-----------------
mint          2 g
-----------------
together      2 g

- one
- two
"
    );
}

#[test]
fn columns_that_are_left_out_are_named_in_the_order_of_the_table() {
    let seen = |width| {
        let page = table_at(width, weighing());
        page.split_once("\n\nleft out at this width: ")
            .map(|(_, named)| named.trim_end().replace('\n', " "))
    };
    assert_eq!(seen(80), None);
    assert_eq!(seen(55), Some("spread".into()));
    assert_eq!(seen(40), Some("spread, share".into()));
    assert_eq!(seen(36), Some("running total, spread, share".into()));
}

#[test]
fn every_grave_note_carries_its_word() {
    assert_eq!(
        printed(40, |document| {
            document.notes([
                Note::error("the lot is past its date"),
                Note::warning("more than the source allows"),
                Note::mind("stir"),
                Note::plain("keeps for a year"),
            ]);
        }),
        "\
Error:   the lot is past its date
Warning: more than the source allows
Mind:    stir
Note:    keeps for a year
"
    );
}

#[test]
fn a_tree_is_set_in_and_hangs() {
    assert_eq!(
        printed(34, |document| {
            document.tree([
                TreeLine::new(0, "gentian root 2.5 g"),
                TreeLine::new(1, "1 part of 40 parts of the whole blend"),
                TreeLine::new(2, "100 g / 40 = 2.5 g"),
            ]);
        }),
        "\
gentian root 2.5 g
  1 part of 40 parts of the whole
      blend
    100 g / 40 = 2.5 g
"
    );
}

#[test]
fn preformatted_text_keeps_its_blanks_while_there_is_room() {
    let build = |document: &mut Document| {
        document.preformatted("LOW BARN\n\n    after  supper  tea");
    };
    assert_eq!(printed(40, build), "LOW BARN\n\n    after  supper  tea\n");
    assert_eq!(printed(17, build), "LOW BARN\n\n    after supper\n    tea\n");
}

#[test]
fn running_text_stops_at_100_columns_and_tables_do_not() {
    let page = printed(160, |document| {
        let mut table = Table::new([Column::left("herb"), Column::left("why")]);
        table.row(["mint", &"why ".repeat(35)]);
        document.paragraph("word ".repeat(60)).table(table);
    });
    let widths: Vec<_> = page.lines().map(wrap::columns).collect();
    assert_eq!(widths.first(), Some(&99));
    assert_eq!(widths.last(), Some(&(7 + 139)));
}

#[test]
fn nothing_gives_nothing() {
    assert_eq!(print(&Document::new(), &page(80)), "");
    assert_eq!(
        printed(80, |document| {
            document
                .title("")
                .paragraph(" ")
                .facts::<&str, &str>([])
                .notes([])
                .tree([])
                .preformatted("");
        }),
        ""
    );
}

#[test]
fn colour_marks_the_word_and_never_the_whole_warning() {
    let coloured = Page {
        colour: true,
        ..page(80)
    };
    let document = of(|document| {
        document.heading("Doses").notes([Note::warning("too much")]);
    });
    assert_eq!(
        print(&document, &coloured),
        "\u{1b}[1mDoses\u{1b}[0m\n\n\u{1b}[33mWarning:\u{1b}[0m too much\n"
    );
}

/// Everything that a page might stumble over, in every kind of block.
fn nasty() -> Document {
    let hostile = "\u{1b}[2J\u{202e}evil\u{2066}\u{200b}\r\n\t\u{7}\u{9b}31m\u{feff}";
    let long = "supercalifragilistic-and-then-some-more-without-a-single-blank".repeat(3);
    let wide = "紅茶と薄荷".repeat(9);
    let zalgo = "e\u{301}\u{302}\u{303} ".repeat(30);
    let every = [
        "",
        " ",
        hostile,
        &long,
        &wide,
        &zalgo,
        "נענע שלום 12 g",
        "زعتر ١٢",
        "👍🏽 🇬🇧 ½ ﷽",
        "\u{301}alone",
        "trailing\u{a0}\u{3000} ",
        "1 2 3 4 5 6 7 8 9 10 11 12 13 14 15 16 17 18 19 20 g",
    ];
    let mut table = Table::new([
        Column::left(wide.as_str()),
        Column::decimal("target of a long heading"),
        Column::right(hostile).with_importance(1),
        Column::left("notes").with_importance(2),
        Column::decimal("").with_importance(2),
    ]);
    let mut narrow = Table::new([Column::left(""), Column::decimal("wt")]);
    let mut document = Document::new();
    for (at, text) in every.iter().enumerate() {
        table
            .section(*text)
            .row([*text, "1.5 to 2 g", *text, *text, "–"])
            .quiet(["ordinary herb", "120.25 g", "x", *text, *text])
            .total([*text, "12 g"]);
        narrow.row([*text, "0.5 g", ""]);
        document
            .title(*text)
            .heading(*text)
            .paragraph(*text)
            .facts([(*text, "value"), ("label", *text), (*text, *text)])
            .notes([
                Note::error(*text),
                Note::warning(*text),
                Note::mind(*text),
                Note::plain(*text),
            ])
            .notes([Note::plain(*text)])
            .tree([
                TreeLine::new(at, *text),
                TreeLine::new(usize::MAX, *text),
                TreeLine::new(0, *text),
            ])
            .preformatted(&format!("  {text}\n{}{text}", " ".repeat(at * 20)))
            .small_print(*text);
        let mut figures = Table::new([Column::decimal(*text), Column::right(*text)]);
        figures.row([*text, *text]).total([*text]);
        document.table(figures);
    }
    document
        .table(table)
        .table(narrow)
        .table(Table::new([Column::left(long)]));
    document
}

#[test]
fn any_page_keeps_its_width_and_says_the_same_in_colour() {
    let document = nasty();
    for width in 20..=160 {
        let page = Page {
            width,
            colour: false,
            unicode: width % 2 == 0,
        };
        let plain = print(&document, &page);
        for line in plain.lines() {
            assert!(wrap::columns(line) <= width, "{width}: {line}");
            assert_eq!(line, line.trim_end(), "{width}");
        }
        // The printer's own fence around right-to-left text is all that may be unseen.
        let unfenced = plain.replace(['\u{200e}', '\n'], "");
        assert_eq!(escape::terminal(&unfenced), unfenced);
        assert_eq!(plain.matches("\u{200e}").count() % 2, 0);
        // A figure is whole at any width, whatever stands around it.
        assert!(plain.matches("1.5 to 2 g").count() >= 12, "{width}");

        let coloured = print(&document, &Page { colour: true, ..page });
        assert!(coloured.contains("\u{1b}[33mWarning:\u{1b}[0m"));
        assert_eq!(strip(&coloured), plain, "{width}");
    }
}

#[test]
fn no_character_of_running_text_is_lost_at_any_width() {
    let text = "Take 1.5 to 2 g of 紅茶 in 150 ml of water, cafe\u{301} or not, \
        supercalifragilisticexpialidociously 3 times a day";
    let bare = |text: &str| text.replace([' ', '\n'], "");
    for width in 1..=120 {
        for build in [
            |document: &mut Document, text| {
                document.paragraph(text);
            },
            |document: &mut Document, text| {
                document.tree([TreeLine::new(3, text)]);
            },
            |document: &mut Document, text| {
                document.facts([("", text)]);
            },
            |document: &mut Document, text| {
                let mut table = Table::new([]);
                table.row([text]);
                document.table(table);
            },
        ] {
            let page = printed(width, |document| build(document, text));
            assert_eq!(bare(&page), bare(text), "{width}");
        }
    }
}

#[test]
fn hostile_text_is_shown_and_not_obeyed() {
    let page = printed(80, |document| {
        document
            .title("tea\u{1b}]0;owned\u{7}")
            .facts([("Lot\u{202e}", "1\r2")])
            .preformatted("a\tb\u{200b}");
    });
    assert_eq!(
        page,
        "\
tea\\u{1b}]0;owned\\u{7}
──────────────────────

Lot\\u{202e}   1\\u{d}2

a b\\u{200b}
"
    );
}
