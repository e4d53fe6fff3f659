//! A published set: its pages, its exercises against a reckoning of their own, and what is never touched.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;
use std::path::Path;

use num_bigint::BigInt;
use num_rational::BigRational;
use num_traits::{Signed, Zero};
use scruple::compute::batch::{Batch, Target};
use scruple::exercise::{Class, Exercise, Task, exercises};
use scruple::quantity::Decimal;
use scruple::workspace::Snapshot;

use crate::sandbox::{Sandbox, in_project};

/// What each formula takes, in grams or parts, told to the test by itself.
const TAKEN: [(&str, &[(&str, i64)]); 3] = [
    (
        "weighed tea",
        &[("mint leaf", 30), ("fennel fruit", 20), ("rose petal", 7)],
    ),
    (
        "parted tea",
        &[
            ("mint leaf", 3),
            ("fennel fruit", 3),
            ("rose petal", 1),
            ("lime flower", 4),
        ],
    ),
    (
        "third tea",
        &[("mint leaf", 1), ("fennel fruit", 1), ("lime flower", 1)],
    ),
];

/// Grams in a dose: two teaspoons of 1.5 g, by the formula's own weighing.
const DOSE: i64 = 3;
const TIMES_A_DAY: i64 = 3;

fn ledger() -> String {
    let mut text = String::from("practice\n  scales   0.1 g\n\n");
    for herb in ["mint leaf", "fennel fruit", "rose petal", "lime flower"] {
        write!(text, "herb {herb}\n\n").unwrap();
    }
    for (name, taken) in TAKEN {
        write!(text, "formula {name}\n  for   an evening\n  take\n").unwrap();
        for (herb, amount) in taken {
            let unit = if name == "weighed tea" { "g" } else { "parts" };
            let unit = if *amount == 1 && unit == "parts" {
                "part"
            } else {
                unit
            };
            writeln!(text, "    {herb}   {amount} {unit}").unwrap();
        }
        text.push_str("  teaspoon   1.5 g\n  infuse   2 teaspoons in 1 cup of boiling water for 10 minutes\n  dose   1 cup, 3 times a day\n\n");
    }
    text.push_str("set evening class\n  holds   weighed tea, parted tea, third tea\n  lesson   the lid: a weighed tea is covered\n");
    text
}

fn fraction(value: Decimal) -> BigRational {
    let scale = value.scale();
    BigRational::new(BigInt::from(value.mantissa()), BigInt::from(10_u32).pow(scale))
}

fn whole(value: i64) -> BigRational {
    BigRational::from_integer(BigInt::from(value))
}

/// What each line weighs on scales of 0.1 g: cut down, and the missing tenths one each to the lines
/// that lost most, the earlier first. Written anew here, in exact fractions.
fn on_the_scales(taken: &[(&str, i64)], size: &BigRational) -> BTreeMap<String, BigRational> {
    let sum: i64 = taken.iter().map(|(_, amount)| amount).sum();
    let tenths: Vec<BigRational> = taken
        .iter()
        .map(|(_, amount)| size * whole(*amount) / whole(sum) * whole(10))
        .collect();
    let mut cut: Vec<BigRational> = tenths.iter().map(BigRational::floor).collect();
    let total = (size * whole(10) + BigRational::new(1.into(), 2.into())).floor();
    let mut order: Vec<usize> = (0..taken.len()).collect();
    order.sort_by(|a, b| (&tenths[*b] - &cut[*b]).cmp(&(&tenths[*a] - &cut[*a])));
    for at in order {
        if cut.iter().sum::<BigRational>() < total {
            cut[at] += whole(1);
        }
    }
    taken
        .iter()
        .zip(cut)
        .map(|((name, _), tenths)| ((*name).to_owned(), tenths / whole(10)))
        .collect()
}

fn weighed(batch: &Batch) -> BTreeMap<String, BigRational> {
    batch
        .lines
        .iter()
        .map(|line| {
            (
                line.figure.taken.name.text.clone(),
                fraction(line.target.unwrap()),
            )
        })
        .collect()
}

/// What is left when one is taken from the other, without its sign.
fn apart(one: &BigRational, other: &BigRational) -> BigRational {
    (one - other).abs()
}

#[test]
fn every_answer_is_that_of_another_reckoning() {
    let snapshot = Snapshot::of([("l.scruple".to_owned(), ledger().into())]);
    let class = Class {
        ledger: &snapshot.ledger,
        faults: &snapshot.faults,
        figures: &snapshot.figures,
    };
    let tiny = BigRational::new(1.into(), BigInt::from(10_u64.pow(10)));
    let mut seen: BTreeMap<&str, usize> = BTreeMap::new();
    for seed in 0..80 {
        let found = exercises(&class, &[0, 1, 2], &seed.to_string());
        assert_eq!(found.len(), 10, "two of each sort");
        for Exercise { formula, task } in &found {
            let (_, taken) = TAKEN[*formula];
            let sum: i64 = taken.iter().map(|(_, amount)| amount).sum();
            let amount = |name: &str| taken.iter().find(|(own, _)| *own == name).unwrap().1;
            let sort = match task {
                Task::Scale { grams, batch } => {
                    assert_eq!(weighed(batch), on_the_scales(taken, &fraction(*grams)));
                    "scale"
                }
                Task::Part {
                    grams,
                    line,
                    share,
                    weight,
                } => {
                    let part = BigRational::new(taken[*line].1.into(), sum.into());
                    assert!(apart(&fraction(*share), &(&part * whole(100))) < tiny);
                    assert!(apart(&fraction(*weight), &(part * fraction(*grams))) < tiny);
                    "part"
                }
                Task::Cup {
                    herb,
                    blend,
                    share,
                    at_once,
                    a_day,
                } => {
                    let name = &snapshot.ledger.substances[*herb].name;
                    let part = BigRational::new(amount(name).into(), sum.into());
                    assert_eq!(fraction(blend.nominal), whole(DOSE));
                    assert!(apart(&fraction(*share), &(&part * whole(100))) < tiny);
                    let dose = part * whole(DOSE);
                    assert!(apart(&fraction(at_once.nominal), &dose) < tiny);
                    let day = dose * whole(TIMES_A_DAY);
                    assert!(apart(&fraction(a_day.unwrap().nominal), &day) < tiny);
                    "cup"
                }
                Task::Make { asked, plan } => {
                    let words: Vec<&str> = asked.split(' ').collect();
                    let (people, days): (i64, i64) = (words[0].parse().unwrap(), words[3].parse().unwrap());
                    let Target::Grams(grams) = plan.target else {
                        panic!("{asked}")
                    };
                    assert_eq!(
                        fraction(grams),
                        whole(people * days * TIMES_A_DAY * DOSE),
                        "{asked}"
                    );
                    "make"
                }
                Task::Mistake {
                    grams,
                    batch,
                    line,
                    wrong,
                    ..
                } => {
                    let right = on_the_scales(taken, &fraction(*grams));
                    assert_eq!(weighed(batch), right);
                    let name = &batch.lines[*line].figure.taken.name.text;
                    let off = fraction(*wrong) - &right[name];
                    // Told from rounding, and the foot of the sheet shows that something is wrong.
                    assert!(off.abs() >= whole(1), "{seed}: {name}");
                    assert!((fraction(*wrong) * whole(10)).is_integer());
                    assert!(!off.is_zero());
                    "mistake"
                }
            };
            *seen.entry(sort).or_default() += 1;
        }
    }
    assert_eq!(seen.len(), 5, "{seen:?}");
}

#[test]
fn a_seed_gives_the_same_exercises_and_another_seed_others() {
    let pages = |seed: &str| {
        let sandbox = Sandbox::new().file("l.scruple", ledger());
        sandbox.run(["publish", "--seed", seed, "--to", "out"]).status(0);
        let read = |path: &str| std::fs::read_to_string(sandbox.path().join(path)).unwrap();
        (read("out/class/exercises.html"), read("out/teacher/answers.html"))
    };
    let (first, again, other) = (pages("group A"), pages("group A"), pages("group B"));
    assert_eq!(first, again);
    assert_ne!(first, other);
    // The class's pages hold no answer and no way to them.
    assert!(!first.0.contains("Answer:") && !first.0.contains("teacher/"));
    assert_eq!(first.1.matches("Answer:").count(), 10);
}

/// The names of all files below a folder, with their bytes.
fn files(sandbox: &Sandbox, below: &str) -> BTreeMap<String, Vec<u8>> {
    let begins = format!("{below}/");
    sandbox
        .files()
        .into_iter()
        .filter(|(name, _)| name.starts_with(&begins))
        .collect()
}

#[test]
fn a_change_of_one_blend_rewrites_its_page_alone_and_all_is_as_from_cold() {
    let sandbox = Sandbox::new().file("l.scruple", ledger());
    sandbox.run(["publish", "--to", "out"]).status(0);
    sandbox
        .run(["publish", "--to", "out"])
        .status(0)
        .says("written           0 files");
    let was = files(&sandbox, "out");
    let changed = ledger().replace("rose petal   7 g", "rose petal   9 g");
    assert_ne!(changed, ledger());
    let sandbox = sandbox.file("l.scruple", &changed);
    sandbox.run(["publish", "--to", "out"]).status(0);
    let is = files(&sandbox, "out");
    let cold = Sandbox::new().file("l.scruple", &changed);
    cold.run(["publish", "--to", "out"]).status(0);
    let afresh = files(&cold, "out");
    let differ: BTreeSet<&str> = was
        .iter()
        .filter(|(name, text)| is.get(*name) != Some(text))
        .map(|(name, _)| name.as_str())
        .collect();
    assert!(
        differ.contains("out/class/formulas/weighed-tea.html"),
        "{differ:?}"
    );
    assert!(
        !differ.contains("out/class/formulas/parted-tea.html"),
        "{differ:?}"
    );
    assert!(
        !differ.contains("out/class/formulas/third-tea.html"),
        "{differ:?}"
    );
    assert!(!differ.contains("out/class/herbs.html"), "{differ:?}");
    assert_eq!(is, afresh);
}

#[test]
fn what_an_adaptation_leans_on_rewrites_it_too() {
    let text = format!(
        "{}\nformula late tea\n  adapts weighed tea\n  take\n    rose petal   1 g\n",
        ledger()
    );
    let text = text.replace("holds   weighed", "holds   late tea, weighed");
    let sandbox = Sandbox::new().file("l.scruple", &text);
    sandbox.run(["publish", "--to", "out"]).status(0);
    let page = |sandbox: &Sandbox| {
        std::fs::read_to_string(sandbox.path().join("out/class/formulas/late-tea.html")).unwrap()
    };
    let was = page(&sandbox);
    let sandbox = sandbox.file("l.scruple", text.replace("mint leaf   30 g", "mint leaf   31 g"));
    sandbox.run(["publish", "--to", "out"]).status(0);
    assert_ne!(page(&sandbox), was);
}

#[test]
fn what_publish_did_not_make_is_never_touched() {
    let own = "<p>my own page</p>";
    let sandbox = Sandbox::new()
        .file("l.scruple", ledger())
        .file("out/class/index.html", own)
        .file("out/class/formulas/notes.txt", "mine");
    sandbox
        .run(["publish", "--to", "out"])
        .status(1)
        .says("class/index.html: left as it is");
    let read = |path: &str| std::fs::read_to_string(sandbox.path().join(path)).unwrap();
    assert_eq!(read("out/class/index.html"), own);
    // A page that somebody changed is theirs, also when its blend goes out of the set.
    let page = "out/class/formulas/third-tea.html";
    let changed = read(page).replace("</main>", "<p>remember</p></main>");
    let sandbox = sandbox.file(page, &changed).file(
        "l.scruple",
        ledger().replace(", third tea", "").replace("parted tea, ", ""),
    );
    let sandbox = sandbox.file(
        "l.scruple",
        ledger().replace(
            "holds   weighed tea, parted tea, third tea",
            "holds   weighed tea",
        ),
    );
    sandbox
        .run(["publish", "--to", "out"])
        .status(1)
        .says("class/formulas/third-tea.html: left as it is")
        .says("class/formulas/parted-tea.html: taken away");
    let read = |path: &str| std::fs::read_to_string(sandbox.path().join(path)).unwrap();
    assert_eq!(read(page), changed);
    assert_eq!(read("out/class/formulas/notes.txt"), "mine");
    assert!(!sandbox.path().join("out/class/formulas/parted-tea.html").exists());
}

#[test]
fn a_list_that_was_changed_is_not_believed() {
    let sandbox = Sandbox::new()
        .file("l.scruple", ledger())
        .file("out/made-by-scruple.txt", "class/index.html\n");
    sandbox
        .run(["publish", "--to", "out"])
        .status(2)
        .fails("made-by-scruple.txt");
    assert_eq!(files(&sandbox, "out").len(), 1);
}

#[test]
fn every_page_is_read_strictly_and_every_way_leads_somewhere() {
    let sandbox = Sandbox::new();
    let out = sandbox.path().join("out");
    let arguments = [
        "publish",
        "winter evening class",
        "--in",
        "examples/low-barn",
        "--to",
    ];
    in_project(
        arguments
            .iter()
            .map(std::ffi::OsStr::new)
            .chain([out.as_os_str()]),
    )
    .run()
    .status(0);
    let pages: BTreeMap<String, String> = files(&sandbox, "out")
        .into_iter()
        .filter(|(name, _)| Path::new(name).extension().is_some_and(|end| end == "html"))
        .map(|(name, bytes)| (name, String::from_utf8(bytes).unwrap()))
        .collect();
    assert!(pages.len() > 12, "{:?}", pages.keys());
    assert_eq!(ways(&sandbox, &pages), Vec::<String>::new());
}

/// The ways that lead nowhere.
fn ways(sandbox: &Sandbox, pages: &BTreeMap<String, String>) -> Vec<String> {
    let options = || roxmltree::ParsingOptions {
        allow_dtd: true,
        ..Default::default()
    };
    let mut astray = Vec::new();
    let mut followed = 0;
    for (name, text) in pages {
        let page = roxmltree::Document::parse_with_options(text, options())
            .unwrap_or_else(|error| panic!("{name}: {error}"));
        let here = sandbox.path().join(name);
        let folder = here.parent().unwrap();
        for way in page.descendants().filter_map(|one| one.attribute("href")) {
            let (path, place) = way.split_once('#').unwrap_or((way, ""));
            let to = if path.is_empty() {
                here.clone()
            } else {
                folder.join(path)
            };
            let there = std::fs::read_to_string(&to);
            let fine = there.is_ok_and(|text| place.is_empty() || text.contains(&format!("id=\"{place}\"")));
            if !fine {
                astray.push(format!("{name}: {way}"));
            }
            followed += 1;
        }
        let names: Vec<&str> = page.descendants().filter_map(|one| one.attribute("id")).collect();
        let different: BTreeSet<&&str> = names.iter().collect();
        assert_eq!(names.len(), different.len(), "{name}: two places with one name");
    }
    assert!(followed > 20);
    astray
}

#[test]
fn hostile_names_are_only_text() {
    let names = [
        "<script>alert(1)<\\script> leaf",
        "\u{5e0}\u{5e2}\u{5e0}\u{5e2} leaf",
        "lady's & <b>mantle</b>",
        "..",
        "con",
        "javascript:alert(1)",
    ];
    let mut text = String::new();
    for name in names {
        write!(text, "herb \"{name}\"\n  latin   <img src=x onerror=alert(1)>\n  mind   </dl>: <script>x()</script>\n\n").unwrap();
        write!(text, "formula \"{name} tea\"\n  for   \"><script>alert(2)</script>\n  take\n    \"{name}\"   30 g\n  sign   <b>1</b>\n\n").unwrap();
    }
    let held: Vec<String> = names.iter().map(|name| format!("\"{name} tea\"")).collect();
    write!(text, "set class\n  title   </title><script>alert(3)</script>\n  holds   {}\n  lesson   </h2><script>: <iframe src=x>\n",
        held.join(", ")).unwrap();
    let sandbox = Sandbox::new().file("l.scruple", &text);
    sandbox.run(["publish", "--to", "out"]).status(0);
    let pages: BTreeMap<String, String> = files(&sandbox, "out")
        .into_iter()
        .filter(|(name, _)| Path::new(name).extension().is_some_and(|end| end == "html"))
        .map(|(name, bytes)| (name, String::from_utf8(bytes).unwrap()))
        .collect();
    assert_eq!(ways(&sandbox, &pages), Vec::<String>::new());
    assert_eq!(
        pages.keys().filter(|name| name.contains("/formulas/")).count(),
        names.len()
    );
    for (name, page) in &pages {
        for wrong in ["<script", "<img", "<iframe", "href=\"javascript:"] {
            assert!(!page.contains(wrong), "{name}: {wrong}");
        }
    }
}

#[test]
fn what_is_made_for_one_person_or_holds_an_error_is_left_out_and_named() {
    let text = format!(
        "{}\nperson 017\n  age   34\n\nformula own tea\n  person 017\n  take mint leaf 20 g\n\nformula wrong tea\n  take mint leaf 2 handfuls\n",
        ledger().replace("holds   weighed tea", "holds   own tea, wrong tea, weighed tea")
    );
    let sandbox = Sandbox::new().file("l.scruple", text);
    let ran = sandbox.run(["publish", "--to", "out"]);
    ran.status(1)
        .says("own tea: left out; it is made for one person")
        .says("wrong tea: left out; it holds an error");
    for (name, bytes) in files(&sandbox, "out") {
        let text = String::from_utf8(bytes).unwrap();
        assert!(!text.contains("017") && !text.contains("own tea"), "{name}");
    }
}

#[test]
fn sets_are_found_by_name() {
    let sandbox = Sandbox::new().file("l.scruple", ledger());
    sandbox
        .run(["publish", "evning class"])
        .status(2)
        .fails("did you mean \"evening class\"?");
    let two = format!("{}\nset other class\n  holds   third tea\n", ledger());
    let sandbox = sandbox.file("l.scruple", two);
    sandbox
        .run(["publish"])
        .status(2)
        .fails("evening class, other class");
    sandbox.run(["publish", "Other  class"]).status(0);
    assert!(sandbox.path().join("other-class/class/index.html").exists());
}
