//! Web pages and pictures: every document of the examples as a page that a strict reader of markup
//! takes, and pictures whose figures are those of the published data.

use scruple::quantity::Decimal;
use scruple::render::{Document, Page, html, text};
use scruple::view::pictures;

use crate::golden::{formulas, golden};
use crate::sandbox::{Sandbox, in_project, project};

const DEMO: &str = "examples/low-barn";

/// Reads a page as strictly as XML is read.
fn read(page: &str) -> roxmltree::Document<'_> {
    assert!(page.starts_with("<!DOCTYPE html>\n"), "{page}");
    let options = roxmltree::ParsingOptions {
        allow_dtd: true,
        ..Default::default()
    };
    roxmltree::Document::parse_with_options(page, options).unwrap_or_else(|error| panic!("{error}\n{page}"))
}

/// Rounded to one decimal, a half upwards, as people round.
fn half_up(share: Decimal) -> Decimal {
    let tenths = (share * Decimal::TEN + Decimal::new(5, 1)).floor();
    (tenths / Decimal::TEN).normalize()
}

/// All text of a page below its head.
fn words(page: &roxmltree::Document<'_>) -> String {
    let body = page.descendants().find(|one| one.has_tag_name("body")).unwrap();
    let texts = body.descendants().filter(roxmltree::Node::is_text);
    texts.filter_map(|one| one.text()).collect()
}

/// Two revisions of one formula, in which an ingredient came, one went and one is the same.
fn revisions() -> Sandbox {
    let herbs = "herb fennel fruit\n\nherb mint leaf\n\nherb rose petal\n\nherb <i>lime</i> flower\n";
    Sandbox::new()
        .file("old/herbs.scruple", herbs)
        .file("new/herbs.scruple", herbs)
        .file(
            "old/tea.scruple",
            "formula garden tea\n  take\n    mint leaf 30 g\n    fennel fruit 20 g\n    rose petal 7 g\n",
        )
        .file(
            "new/tea.scruple",
            "formula garden tea\n  take\n    mint leaf 25 g\n    fennel fruit 20 g\n    <i>lime</i> flower 3 g\n  mix don't \"rush\" </td>\n",
        )
}

#[test]
fn every_document_of_the_examples_is_a_page() {
    for (formula, make) in formulas() {
        let mut all = vec![
            vec!["weigh", formula.as_str()],
            vec!["doses", &formula],
            vec!["why", &formula],
        ];
        if let Some(make) = &make {
            all[0].extend(["--make", make.as_str()]);
        }
        for arguments in all {
            let ran = in_project(arguments.iter().chain(&["--as", "html", "--in", DEMO])).run();
            assert_eq!(ran.stderr, "", "{arguments:?}");
            let page = read(&ran.stdout);
            let words = words(&page);
            assert!(words.contains(&formula), "{arguments:?}");
            // The cautions stand on every sheet, whatever its form.
            assert!(words.contains("In an emergency call for help."), "{arguments:?}");
        }
    }
}

#[test]
fn a_page_says_what_the_sheet_says() {
    let arguments = ["weigh", "after-supper tea", "--in", DEMO];
    let json = in_project(arguments.iter().chain(&["--as", "json"])).run().json();
    let ran = in_project(arguments.iter().chain(&["--as", "html"])).run();
    let page = read(&ran.status(0).stdout);
    let rows: Vec<String> = page
        .descendants()
        .filter(|one| one.has_tag_name("tr"))
        .map(|row| {
            row.descendants()
                .filter(roxmltree::Node::is_text)
                .filter_map(|one| one.text())
                .collect()
        })
        .collect();
    let lines = json["lines"].as_array().unwrap();
    assert_eq!(lines.len(), 7);
    for line in lines {
        let name = line["name"].as_str().unwrap();
        let weigh: Decimal = line["target"].as_str().unwrap().parse().unwrap();
        let weigh = format!("{weigh:.1} g");
        let row = rows.iter().find(|row| row.starts_with(name)).unwrap();
        assert!(row.contains(&weigh), "{row}: {weigh}");
    }
}

#[test]
fn findings_are_a_page_too() {
    let json = in_project(["check", "--in", "examples/broken", "--as", "json"])
        .run()
        .json();
    let ran = in_project(["check", "--in", "examples/broken", "--as", "html"]).run();
    let page = read(&ran.status(1).stdout);
    let words = words(&page);
    let findings = json["findings"].as_array().unwrap();
    assert!(findings.len() > 50);
    let headings = page.descendants().filter(|one| one.has_tag_name("h2")).count();
    // One for each, and one for what all of it comes to.
    assert_eq!(headings, findings.len() + 1);
    for finding in findings {
        let message = finding["message"].as_str().unwrap();
        // What can't be seen is made visible in the page.
        if message
            .chars()
            .all(|letter| !letter.is_control() && letter.is_ascii())
        {
            assert!(words.contains(message), "{message}");
        }
    }
}

#[test]
fn a_formula_without_figures_is_a_page_that_says_why() {
    let ran = in_project(["weigh", "ginger tea", "--in", "examples/broken", "--as", "html"]).run();
    let page = read(&ran.status(1).stdout);
    let words = words(&page);
    assert!(words.contains("nothing says what a teaspoon of it weighs"));
    assert!(words.contains("3 |     ginger rhizome     1 teaspoon\n  |                        ^^^^^^^^^^"));
    assert!(words.contains("In an emergency call for help."));
}

#[test]
fn the_other_commands_print_pages() {
    let page = in_project(["why", "spoon-without-weight", "--as", "html"]).run();
    assert!(words(&read(&page.status(0).stdout)).contains("spoon"));
    let page = in_project(["adopt", "--as", "html"]).run();
    read(&page.status(0).stdout);
    let page = Sandbox::new().run(["begin", "--as", "html"]);
    read(&page.status(0).stdout);
}

#[test]
fn figures_of_the_picture_are_those_of_the_data() {
    let sandbox = revisions();
    let compare = |form| {
        sandbox.run([
            "compare", "--from", "old", "--to", "new", "--in", "new", "--as", form,
        ])
    };
    let json = compare("json").status(1).json();
    let page = compare("html");
    let page = read(&page.status(1).stdout);
    let drawing = page.descendants().find(|one| one.has_tag_name("svg")).unwrap();
    let figures: Vec<&str> = drawing
        .descendants()
        .filter(|one| one.attribute("class") == Some("figure"))
        .filter_map(|one| one.text())
        .collect();
    let bars: Vec<Decimal> = drawing
        .descendants()
        .filter(|one| one.has_tag_name("rect") && one.attribute("y").is_some())
        .map(|one| {
            one.attribute("width")
                .unwrap()
                .trim_end_matches('%')
                .parse()
                .unwrap()
        })
        .collect();
    // 30 of 57 g is 52.6 %, so that the axis, 60 % of the page, ends at 60 %: a percent is a percent.
    let mut expected = Vec::new();
    let mut lengths: Vec<Decimal> = Vec::new();
    for ingredient in json["formulas"][0]["ingredients"].as_array().unwrap() {
        for (side, none) in [("was", "not in it"), ("is", "left out")] {
            match ingredient[side]["share"].as_str() {
                Some(share) => {
                    let share: Decimal = share.parse().unwrap();
                    expected.push(format!("{side} {} %", half_up(share)));
                    lengths.push(share);
                }
                None => expected.push(format!("{side} {none}")),
            }
        }
    }
    assert_eq!(expected.len(), 8);
    assert_eq!(expected[0], "was 52.6 %");
    assert_eq!(figures, expected);
    assert_eq!(bars.len(), lengths.len());
    for (bar, length) in bars.iter().zip(&lengths) {
        // A bar is a whole number of thousandths of the axis of 60 %.
        assert!((bar - length).abs() <= Decimal::new(3, 2), "{bar} for {length}");
    }
    // The table above it has the same words.
    let words = words(&page);
    assert!(words.contains("52.6 %") && words.contains("6.3 %"));
}

/// The bars of a dose are drawn from the published figures: what is stated above, the dose below it,
/// each pair on an axis that takes 60 % of the page and ends at the greater figure.
#[test]
fn the_bars_of_a_dose_are_those_of_the_data() {
    let doses = |form: &str| in_project(["doses", "after-supper tea", "--in", DEMO, "--as", form]).run();
    let data = doses("json").json();
    let page = doses("html");
    let page = read(&page.stdout);
    let drawing = page.descendants().find(|one| one.has_tag_name("svg")).unwrap();
    let bars: Vec<(Decimal, Decimal)> = drawing
        .descendants()
        .filter(|one| one.has_tag_name("rect") && one.attribute("y").is_some())
        .map(|one| {
            let of = |name| -> Decimal {
                let text: &str = one.attribute(name).unwrap();
                text.trim_end_matches('%').parse().unwrap()
            };
            (of("x"), of("x") + of("width"))
        })
        .collect();
    let figure = |value: &serde_json::Value| -> Decimal { value.as_str().unwrap().parse().unwrap() };
    let mut expected = Vec::new();
    for herb in data["herbs"].as_array().unwrap() {
        if herb["most_at_once"].is_null() {
            continue;
        }
        let least = &herb["least_at_once"]["value"];
        let least = if least.is_null() {
            Decimal::ZERO
        } else {
            figure(least)
        };
        let most = figure(&herb["most_at_once"]["value"]);
        let (low, high) = (figure(&herb["at_once"]["low"]), figure(&herb["at_once"]["high"]));
        let end = most.max(high);
        for value in [least, most, low, high] {
            expected.push(value / end * Decimal::from(60));
        }
    }
    assert_eq!(bars.len() * 2, expected.len());
    assert!(bars.len() >= 12, "six herbs of the demo have a stated dose");
    for (bar, expected) in bars.iter().flat_map(|(from, to)| [from, to]).zip(&expected) {
        assert!(
            (bar - expected).abs() <= Decimal::new(4, 2),
            "{bar} for {expected}"
        );
    }
    let words = words(&page);
    for said in ["stated 1.5 to 3 g", "this dose 1.85 g (1.35 to 2.43 g)"] {
        assert!(words.contains(said), "{said} is missing: {words}");
    }
}

#[test]
fn a_hostile_name_is_only_shown_in_a_comparison() {
    let ran = revisions().run([
        "compare", "--from", "old", "--to", "new", "--in", "new", "--as", "html",
    ]);
    let page = read(&ran.status(1).stdout);
    assert!(!page.descendants().any(|one| one.has_tag_name("i")));
    assert!(ran.stdout.contains("&lt;i&gt;lime&lt;/i&gt; flower"));
    assert!(ran.stdout.contains("don&#39;t &quot;rush&quot; &lt;/td&gt;"));
    let label = page.descendants().find(|one| {
        one.attribute("class") == Some("label") && one.text().is_some_and(|text| text.contains("lime"))
    });
    assert_eq!(label.unwrap().text(), Some("<i>lime</i> flower"));
}

#[test]
fn a_comparison_without_other_shares_has_no_picture() {
    let herbs = "herb mint leaf\n\nherb rose petal\n";
    let tea = |scale: u8| {
        format!(
            "formula tea\n  take\n    mint leaf {} g\n    rose petal {} g\n",
            scale * 3,
            scale
        )
    };
    let ran = Sandbox::new()
        .file("old/tea.scruple", format!("{herbs}\n{}", tea(1)))
        .file("new/tea.scruple", format!("{herbs}\n{}", tea(2)))
        .run([
            "compare", "--from", "old", "--to", "new", "--in", "new", "--as", "html",
        ]);
    let page = read(&ran.status(1).stdout);
    assert!(page.descendants().any(|one| one.has_tag_name("table")));
    assert!(!page.descendants().any(|one| one.has_tag_name("figure")));
}

#[test]
fn pages_look_as_they_did() {
    let ran = in_project(["weigh", "after-supper tea", "--in", DEMO, "--as", "html"]).run();
    golden("page-after-supper-tea", &without_style(&ran.status(0).stdout));
    let sandbox = revisions();
    let compare = ["compare", "--from", "old", "--to", "new", "--in", "new"];
    golden("compare-with-pictures", &sandbox.run(compare).status(1).stdout);
    let ran = sandbox.run(compare.into_iter().chain(["--as", "html"]));
    golden("page-compare", &without_style(&ran.status(1).stdout));
}

#[test]
fn shares_through_time_look_as_they_did() {
    let share = |name: &str, percent: &str| (name.to_owned(), percent.parse().unwrap());
    let moments = [
        (
            "2026-03-01".to_owned(),
            vec![
                share("mint leaf", "60"),
                share("fennel fruit", "39.5"),
                share("rose petal", "0.5"),
            ],
        ),
        (
            "2026-06-14".to_owned(),
            vec![
                share("mint leaf", "33.333333"),
                share("fennel fruit", "33.333333"),
                share("rose petal", "33.333333"),
            ],
        ),
        ("2026-09-30".to_owned(), vec![share("fennel fruit", "100")]),
    ];
    let mut document = Document::new();
    document
        .title("garden tea")
        .picture(pictures::through_time("share of the total", &moments).unwrap());
    golden("through-time-as-text", &text::print(&document, &Page::default()));
    let page = html::print(&document);
    read(&page);
    golden("through-time-as-a-page", &without_style(&page));
}

/// A page without its style sheet, which stands in a file of its own.
fn without_style(page: &str) -> String {
    let (before, rest) = page.split_once("<style>").unwrap();
    let (style, after) = rest.split_once("</style>").unwrap();
    let own = std::fs::read_to_string(project().join("src/render/html/page.css")).unwrap();
    assert_eq!(style.trim(), own.trim());
    format!("{before}<style>…</style>{after}")
}
