//! Pages against a strict reader of markup, hostile text, and the contrast that WCAG asks for.

use super::*;
use crate::render::picture::{Measure, Moment, Pair};
use crate::render::{Column, FORMS, Picture, Table};

/// Reads a page as strictly as XML is read; that it can be is the first thing tested.
fn read(page: &str) -> roxmltree::Document<'_> {
    let options = roxmltree::ParsingOptions {
        allow_dtd: true,
        ..Default::default()
    };
    roxmltree::Document::parse_with_options(page, options).unwrap_or_else(|error| panic!("{error}\n{page}"))
}

/// The body of a page, without the style sheet above it.
fn body(document: &Document) -> String {
    let page = print(document);
    read(&page);
    page.split_once("<body>").unwrap().1.to_owned()
}

fn pictures(text: &str) -> [Picture; 2] {
    let pairs = [
        Pair {
            label: text.to_owned(),
            first: Measure::new(1000, format!("40 % {text}")),
            second: Measure::new(333, "13.3 %"),
        },
        Pair {
            label: "rose petal".to_owned(),
            first: Measure::nothing("not in it"),
            second: Measure::new(0, "0 %"),
        },
    ];
    let moment = |label: &str, shares: &[u16]| Moment {
        label: label.to_owned(),
        shares: shares
            .iter()
            .map(|share| Measure::new(*share, format!("{share}")))
            .collect(),
    };
    [
        Picture::pairs(text, "bars from 0 to 40 %", ["was", "is"], pairs),
        Picture::through_time(
            text,
            ["mint", text].map(str::to_owned),
            [moment("2026-03", &[600, 400]), moment(text, &[980, 20])],
        ),
    ]
}

/// A document with every kind of block, and the same text in every place of it.
fn everything(text: &str) -> Document {
    let mut table = Table::new([
        Column::left(text),
        Column::decimal(text),
        Column::right(text),
        Column::left(""),
    ]);
    table
        .section(text)
        .row([text, "1.5 g", text])
        .quiet(["mint", "12 g", "1", text, text])
        .section("more")
        .row(["", text, "–"])
        .total([text, "13.5 g"])
        .total(["and", "1 g"]);
    let mut document = Document::new();
    document
        .title(text)
        .paragraph(text)
        .facts([(text, text)])
        .heading(text)
        .table(table)
        .table(Table::new([Column::left(text)]))
        .notes([
            Note::plain(text),
            Note::mind(text),
            Note::warning(text),
            Note::error(text),
        ])
        .notes([Note::plain(text)])
        .heading("next")
        .tree([0, 2, 1, 5, usize::MAX, 0].map(|depth| TreeLine::new(depth, text)))
        .preformatted(&format!("\n  {text}"));
    for picture in pictures(text) {
        document.picture(picture);
    }
    document.small_print(text);
    document
}

#[test]
fn hostile_text_is_only_shown() {
    for text in [
        "<script>alert(1)</script>",
        "\"'><img src=x onerror=alert(1)>",
        "' style='display:none",
        "</style></title></svg><b>",
        "-->]]>&amp;&#x3c;",
        "${x} {{x}}",
    ] {
        let page = print(&everything(text));
        // Letters of the same number, with digits in the same places.
        let harmless = text.replace(|letter: char| !letter.is_alphanumeric(), "m");
        let plain = print(&everything(&harmless));
        let (page, plain) = (read(&page), read(&plain));
        let elements = |page: &roxmltree::Document<'_>| -> Vec<String> {
            page.descendants()
                .filter(roxmltree::Node::is_element)
                .map(|one| {
                    let names = one.attributes().map(|attribute| attribute.name().to_owned());
                    format!("{} {:?}", one.tag_name().name(), names.collect::<Vec<_>>())
                })
                .collect()
        };
        // Whatever the text, the page has the same elements with the same attributes.
        assert_eq!(elements(&page), elements(&plain), "{text}");
        let heading = page.descendants().find(|one| one.has_tag_name("h1")).unwrap();
        assert_eq!(heading.text(), Some(text));
    }
}

#[test]
fn marks_of_direction_and_controls_become_visible() {
    let page = print(&everything("2\u{202e}0 g\u{0}\u{1b}[31m\u{200b}\u{2066}\u{fffe}"));
    read(&page);
    assert!(page.contains("2\\u{202e}0 g\\u{0}\\u{1b}[31m\\u{200b}\\u{2066}\\u{fffe}"));
    for mark in ['\u{202e}', '\u{0}', '\u{1b}', '\u{200b}', '\u{2066}', '\u{fffe}'] {
        assert!(!page.contains(mark), "{mark:?}");
    }
}

#[test]
fn right_to_left_names_are_isolated_everywhere() {
    let page = print(&everything("נענע 12 g"));
    read(&page);
    // In text by an element; in values, titles and pictures by marks.
    assert_eq!(
        page.matches("נענע").count(),
        page.matches("<bdi>נענע</bdi> 12").count() + page.matches("\u{2068}נענע\u{2069} 12").count()
    );
}

#[test]
fn every_kind_of_block_has_its_words() {
    let mut document = Document::new();
    document
        .title("one")
        .heading("two")
        .paragraph("three")
        .facts([("four", "five")]);
    document
        .notes([Note::mind("six"), Note::plain("seven")])
        .tree([
            TreeLine::new(0, "eight"),
            TreeLine::new(1, "nine"),
            TreeLine::new(0, "ten"),
        ])
        .preformatted("\n  eleven")
        .small_print("twelve");
    assert_eq!(
        body(&document),
        "\
<main><h1>one</h1>
<section aria-labelledby=\"part-1\"><h2 id=\"part-1\">two</h2>
<p>three</p>
<dl><div><dt>four</dt>
<dd>five</dd>
</div>
</dl>
<ul class=\"notes\" role=\"list\"><li class=\"mind\"><strong>Mind:</strong> six</li>
<li class=\"plain\"><strong>Note:</strong> seven</li>
</ul>
<ul class=\"tree\" role=\"list\"><li>eight<ul class=\"inner\" role=\"list\"><li>nine</li>
</ul>
</li>
<li>ten</li>
</ul>
<pre tabindex=\"0\" role=\"region\" aria-label=\"two: lines as they are written\">

  eleven</pre>
</section>
</main>
<footer><p class=\"small\">twelve</p>
</footer>
</body>
</html>
"
    );
}

#[test]
fn decimals_stand_under_one_another() {
    let mut table = Table::new([Column::left("herb"), Column::decimal("weight")]);
    table
        .row(["mint", "161.4 g"])
        .row(["rose", "4 g"])
        .row(["fennel", "as needed"])
        .total(["in all", "–"]);
    let page = print(Document::new().title("tea").table(table));
    let page = read(&page);
    let cells: Vec<(String, String)> = page
        .descendants()
        .filter(|one| one.has_tag_name("td"))
        .map(|cell| {
            let whole = cell
                .descendants()
                .find(|one| one.attribute("class") == Some("whole"));
            (
                whole
                    .and_then(|one| one.attribute("style"))
                    .unwrap_or_default()
                    .to_owned(),
                cell.descendants()
                    .filter_map(|one| one.text().filter(|_| one.is_text()))
                    .collect(),
            )
        })
        .collect();
    let wide = "min-width:3ch".to_owned();
    assert_eq!(
        cells,
        [
            (wide.clone(), "161.4 g".to_owned()),
            (wide.clone(), "4 g".to_owned()),
            (String::new(), "as needed".to_owned()),
            (wide, "–".to_owned()),
        ]
    );
}

#[test]
fn figures_keep_their_units_and_spreads_their_brackets() {
    let mut table = Table::new([Column::left("herb"), Column::left("was"), Column::decimal("is")]);
    table.row([
        "mint (dried)",
        "4.2 g (4 to 4.4 g), as aroma (1 of 2)",
        "4.2 g (4 to 4.4 g)",
    ]);
    let page = body(Document::new().title("tea").table(table));
    for cell in [
        ">mint (dried)</th>",
        "><span class=\"keep\">4.2 g</span> <span class=\"keep\">(4 to 4.4 g)</span>, as aroma (1 of 2)</td>",
        "><span class=\"keep\"><span class=\"whole\" style=\"min-width:1ch\">4</span>.2 g</span> \
         <span class=\"keep\">(4 to 4.4 g)</span></td>",
    ] {
        assert!(page.contains(cell), "{cell}\n{page}");
    }
}

/// What WCAG 2.2 asks of structure (1.3.1, 2.4.2, 3.1.1, 4.1.2; from memory of the recommendation).
#[test]
fn a_page_can_be_read_aloud() {
    for document in [everything("mint"), Document::new()] {
        let page = print(&document);
        let page = read(&page);
        let all = |name: &'static str| page.descendants().filter(move |one| one.has_tag_name(name));
        assert_eq!(page.root_element().attribute("lang"), Some("en"));
        assert!(!all("title").next().unwrap().text().unwrap().is_empty());
        assert_eq!(all("main").count(), 1);
        let headings: Vec<usize> = page
            .descendants()
            .filter_map(|one| one.tag_name().name().strip_prefix('h')?.parse().ok())
            .collect();
        assert_eq!(headings.first(), Some(&1));
        assert!(headings.windows(2).all(|pair| pair[1] <= pair[0] + 1));
        let names: Vec<&str> = page.descendants().filter_map(|one| one.attribute("id")).collect();
        let mut once = names.clone();
        once.sort_unstable();
        once.dedup();
        assert_eq!(once.len(), names.len(), "a name is given twice");
        for named in page
            .descendants()
            .filter_map(|one| one.attribute("aria-labelledby"))
        {
            assert!(named.split(' ').all(|name| names.contains(&name)), "{named}");
        }
        for table in all("table") {
            let caption = table.first_element_child().unwrap();
            assert!(caption.has_tag_name("caption") && !caption.text().unwrap().is_empty());
        }
        for heading in all("th") {
            assert!(heading.attribute("scope").is_some());
        }
        for drawing in all("svg").filter(|one| one.attribute("aria-hidden").is_none()) {
            assert_eq!(drawing.attribute("role"), Some("img"));
            let said: Vec<_> = drawing
                .children()
                .filter(roxmltree::Node::is_element)
                .take(2)
                .collect();
            assert!(said[0].has_tag_name("title") && said[1].has_tag_name("desc"));
            assert!(said.iter().all(|one| !one.text().unwrap().is_empty()));
        }
    }
}

#[test]
fn a_page_needs_nothing_but_itself() {
    let page = print(&everything("mint"));
    let read = read(&page);
    for one in read.descendants().filter(roxmltree::Node::is_element) {
        assert!(!matches!(
            one.tag_name().name(),
            "script" | "link" | "img" | "iframe" | "object" | "embed" | "form" | "base"
        ));
        for attribute in one.attributes() {
            assert!(!matches!(attribute.name(), "src" | "href" | "srcset" | "action"));
            assert!(!attribute.name().starts_with("on"));
        }
    }
    assert!(!STYLE.contains("@import") && !STYLE.contains("url("));
    assert!(!page.contains("http:") && !page.contains("https:") && !page.contains("//"));
    // What stands in a style sheet must not end it.
    assert!(!STYLE.contains('<') && !STYLE.contains('&'));
}

#[test]
fn bars_are_as_long_as_their_figures() {
    let [pairs, through_time] = pictures("mint");
    let page = print(Document::new().picture(pairs).picture(through_time));
    let page = read(&page);
    let lengths = |class: &str| -> Vec<(String, String)> {
        page.descendants()
            .filter(|one| one.has_tag_name("rect") && one.attribute("y").is_some())
            .filter(|one| one.attribute("class").unwrap().starts_with(class))
            .map(|one| {
                let get = |name| one.attribute(name).unwrap().to_owned();
                (get("x"), get("width"))
            })
            .collect()
    };
    let own = |pairs: &[(&str, &str)]| -> Vec<(String, String)> {
        pairs
            .iter()
            .map(|(x, width)| ((*x).to_owned(), (*width).to_owned()))
            .collect()
    };
    // The whole axis is 60 % of the width: 333 thousandths of it are 19.98 %.
    assert_eq!(lengths("first"), own(&[("0", "60.000%")]));
    assert_eq!(lengths("second"), own(&[("0", "19.980%"), ("0", "0.000%")]));
    assert_eq!(
        lengths("tone"),
        own(&[
            ("0.000%", "60.000%"),
            ("60.000%", "40.000%"),
            ("0.000%", "98.000%"),
            ("98.000%", "2.000%"),
        ])
    );
    // A stretch of 2 % has no room for its letter; the key has them all.
    let signs: Vec<_> = page
        .descendants()
        .filter(|one| one.attribute("class") == Some("sign"))
        .filter_map(|one| one.text())
        .collect();
    assert_eq!(signs, ["a", "b", "a", "a", "b"]);
}

/// The colours of a scheme: those of the first block, changed by those of the named one.
fn palette(scheme: Option<&str>) -> Vec<(String, [u8; 3])> {
    let mut found: Vec<(String, [u8; 3])> = Vec::new();
    let blocks = std::iter::once(":root {").chain(scheme);
    for block in blocks {
        let (_, rest) = STYLE.split_once(block).unwrap();
        let (rules, _) = rest.split_once("\n}").unwrap();
        for line in rules.split([';', '{']) {
            let Some((name, colour)) = line
                .trim()
                .strip_prefix("--")
                .and_then(|line| line.split_once(": #"))
            else {
                continue;
            };
            let byte = |at: usize| u8::from_str_radix(colour.get(at..at + 2).unwrap(), 16).unwrap();
            let colour = [byte(0), byte(2), byte(4)];
            found.retain(|(known, _)| known != name);
            found.push((name.to_owned(), colour));
        }
    }
    found
}

/// Relative luminance as WCAG 2.2 defines it: <https://www.w3.org/TR/WCAG22/#dfn-relative-luminance>
/// (the formula from memory).
#[expect(
    clippy::float_arithmetic,
    reason = "the standard's formula has powers in it; a test only"
)]
fn luminance(colour: [u8; 3]) -> f64 {
    let [red, green, blue] = colour.map(|part| {
        let part = f64::from(part) / 255.0;
        if part <= 0.04045 {
            part / 12.92
        } else {
            ((part + 0.055) / 1.055).powf(2.4)
        }
    });
    0.2126 * red + 0.7152 * green + 0.0722 * blue
}

/// Contrast as WCAG 2.2 defines it, from 1 to 21.
#[expect(clippy::float_arithmetic, reason = "as above")]
fn contrast(one: [u8; 3], other: [u8; 3]) -> f64 {
    let (one, other) = (luminance(one), luminance(other));
    (one.max(other) + 0.05) / (one.min(other) + 0.05)
}

#[test]
fn the_formula_gives_the_known_ends() {
    assert!((20.99..21.01).contains(&contrast([0; 3], [255; 3])));
    assert!((0.99..1.01).contains(&contrast([9; 3], [9; 3])));
    // #767676 on white is known as the lightest grey that reaches 4.5 (from memory).
    assert!((4.5..4.6).contains(&contrast([0x76; 3], [255; 3])));
    assert!(contrast([0x77; 3], [255; 3]) < 4.5);
}

/// WCAG 2.2, 1.4.3: text 4.5 to 1; 1.4.11: what is drawn 3 to 1. Signs stand in the colour of the
/// paper on the tones, so the same pairs serve both.
#[test]
fn every_colour_stands_out_from_the_paper() {
    for scheme in [
        None,
        Some("(prefers-color-scheme: dark) {"),
        Some("@media print {"),
    ] {
        let palette = palette(scheme);
        assert_eq!(palette.len(), 15, "{scheme:?}");
        let paper = palette.iter().find(|(name, _)| name == "paper").unwrap().1;
        for (name, colour) in palette.iter().filter(|(name, _)| name != "paper") {
            let least = if name == "rule" { 3.0 } else { 4.5 };
            let found = contrast(*colour, paper);
            assert!(found >= least, "{scheme:?}: {name} has {found:.2}");
        }
    }
    // No colour is used that is not in the palette.
    let outside: Vec<&str> = STYLE
        .lines()
        .filter(|line| line.contains('#') && !line.contains("--"))
        .collect();
    assert!(outside.is_empty(), "{outside:?}");
}

#[test]
fn the_form_is_in_the_table() {
    assert!(FORMS.iter().any(|form| form.name == "html"));
}
