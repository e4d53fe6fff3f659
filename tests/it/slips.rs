//! Lines as people type them who have never programmed: each is read as it was meant, or refused in words that
//! name what is wrong. No line may be read as something else without a finding.

use scruple::diagnostic::{Diagnostic, Severity};
use scruple::quantity::Decimal;
use scruple::workspace::Snapshot;

/// Herbs that the lines below take.
const HERBS: &str = "herb sage leaf\n  teaspoon   2 g\nherb mint leaf\n  teaspoon   1 g\n  cup   50 g\n";

fn read(text: &str) -> Snapshot {
    Snapshot::of([("practice.scruple".to_owned(), format!("{HERBS}{text}").into())])
}

/// A formula of one line.
fn taking(line: &str) -> Snapshot {
    read(&format!("formula some tea\n  take\n    {line}\n"))
}

fn findings(snapshot: &Snapshot) -> Vec<String> {
    snapshot
        .diagnostics
        .iter()
        .map(|one| format!("{} {}", one.severity.word(), one.code))
        .collect()
}

fn only(snapshot: &Snapshot) -> &Diagnostic {
    let [one] = snapshot.diagnostics.as_slice() else {
        panic!("{:#?}", findings(snapshot))
    };
    one
}

fn decimal(text: &str) -> Decimal {
    text.parse().unwrap()
}

/// The least and the most grams of a formula's first line, with no finding but those that are named.
fn grams(snapshot: &Snapshot) -> (Decimal, Decimal) {
    let at = snapshot.formula("some tea").unwrap();
    let figures = snapshot
        .figures
        .of(at)
        .unwrap_or_else(|| panic!("no figures: {:#?}", findings(snapshot)));
    let spread = figures.lines[0].amounts.grams.unwrap();
    (spread.low, spread.high)
}

/// Two numbers and a dash are a range, whatever dash it is and whatever blanks stand round it.
#[test]
fn a_dash_between_two_amounts_is_a_range() {
    for (written, low, high) in [
        ("10 - 15 g", "10", "15"),
        ("10 -15 g", "10", "15"),
        ("10- 15 g", "10", "15"),
        ("10-15g", "10", "15"),
        ("10 – 15 g", "10", "15"),
        ("10 — 15 g", "10", "15"),
        ("10 − 15 g", "10", "15"),
        ("10‐15 g", "10", "15"),
        ("10‑15 g", "10", "15"),
        ("10‒15 g", "10", "15"),
        ("10 to 15 g", "10", "15"),
        ("10 TO 15 g", "10", "15"),
        ("1/2 - 1 g", "0.5", "1"),
        ("½ – 1½ g", "0.5", "1.5"),
        ("1 - 1 1/2 g", "1", "1.5"),
        ("500mg–1g", "0.5", "1"),
        ("500mg-1g", "0.5", "1"),
        ("500 mg - 1 g", "0.5", "1"),
        ("500 mg to 1 g", "0.5", "1"),
        ("5g-6g", "5", "6"),
    ] {
        let snapshot = taking(&format!("sage leaf   {written}"));
        assert_eq!(findings(&snapshot), [""; 0], "{written}");
        assert_eq!(grams(&snapshot), (decimal(low), decimal(high)), "{written}");
        let (file, source) = snapshot.sources.iter().next().unwrap();
        let tidied = scruple::tidy::text(file, &source.text).unwrap().text;
        assert!(tidied.contains(" to "), "{written}: {tidied}");
    }
}

#[test]
fn a_dash_before_a_fraction_is_asked_about() {
    for written in ["1-1/2 g", "1 - 1/2 g", "1 – 1/2 g", "1–½ g", "2 - ¼ g"] {
        let snapshot = taking(&format!("sage leaf   {written}"));
        assert_eq!(findings(&snapshot), ["error hyphenated-fraction"], "{written}");
        let fix = only(&snapshot).fix.as_ref().unwrap();
        assert!(!fix.edits[0].text.contains("  "), "{written}");
    }
    // A range that falls is told as one, in whatever measures it is written.
    for written in ["15 - 10 g", "6g-5g", "2g - 1g"] {
        let snapshot = taking(&format!("sage leaf   {written}"));
        assert_eq!(findings(&snapshot), ["error range-not-rising"], "{written}");
    }
}

/// What was used is written herb by herb; a second name was dropped without a word.
#[test]
fn a_line_of_what_was_used_has_one_name() {
    let used = |line: &str| {
        read(&format!(
            "formula some tea\n  take sage leaf 20 g\nbatch some tea on 2026-11-03\n  used\n    {line}\n"
        ))
    };
    assert_eq!(
        findings(&used("sage leaf   20 g, sifted")),
        ["notice batch-without-lots"]
    );
    for line in [
        "sage leaf, mint leaf   20 g",
        "sage leaf, cut   20 g from SL-1",
        "sage leaf, mint leaf   20 g from SL-1, 10 g from ML-2",
    ] {
        let snapshot = used(line);
        assert_eq!(findings(&snapshot), ["error two-names-one-amount"], "{line}");
        let name = snapshot.sources.text(only(&snapshot).span);
        assert!(["mint leaf", "cut"].contains(&name), "{line}: {name}");
    }
}

fn directed(line: &str) -> Snapshot {
    read(&format!(
        "formula some tea\n  take sage leaf 20 g\n  infuse 2 g in 1 cup of boiling water for 10 minutes\n  {line}\n"
    ))
}

/// Hours between beside times a day stay in the tree; more times than hours leave room for are told.
#[test]
fn hours_beside_times_are_kept_and_compared() {
    use scruple::syntax::tree::{Body, Frequency};
    for (line, found) in [
        ("dose 1 cup, every 2 hours, up to 6 times a day", None),
        ("dose 1 cup, up to 6 times a day, every 2 hours", None),
        ("dose 1 cup, 4 times a day, every 6 hours", None),
        ("dose 1 cup, 6 times a day every 4 to 6 hours", None),
        (
            "dose 1 cup, 6 times a day, every 8 hours",
            Some("warning times-and-hours-disagree"),
        ),
        (
            "dose 1 cup, every 8 hours, up to 4 times a day",
            Some("warning times-and-hours-disagree"),
        ),
        (
            "dose 1 cup, 2 or 3 times a day, every 12 hours",
            Some("warning times-and-hours-disagree"),
        ),
        (
            "dose 1 cup, twice daily, every 2 days",
            Some("warning times-and-hours-disagree"),
        ),
    ] {
        let snapshot = directed(line);
        assert_eq!(
            findings(&snapshot),
            found.into_iter().collect::<Vec<_>>(),
            "{line}"
        );
        let dose = snapshot
            .trees
            .iter()
            .flat_map(|tree| &tree.entries)
            .flat_map(|entry| &entry.lines)
            .find_map(|line| match &line.body {
                Body::Dose(dose) => Some(dose),
                _ => None,
            })
            .unwrap();
        assert!(matches!(dose.frequency, Some(Frequency::TimesADay(..))), "{line}");
        assert!(dose.apart.is_some(), "{line}");
    }
}

/// Of two times, lengths or heats the last was taken without a word.
#[test]
fn what_a_line_says_twice_is_refused() {
    for line in [
        "dose 1 cup, 3 times a day, 4 times a day",
        "dose 1 cup, 3 times a day, twice daily",
        "dose 1 cup, every 2 hours, every 3 hours",
        "dose 1 cup, daily, for 3 days, for 7 days",
        "dose 5 ml in 100 ml of water, in 50 ml of water, 3 times a day",
        "macerate 1 g in 1 cup of water for 10 minutes, for 20 minutes",
        "macerate 1 g in 1 cup of water at 50 °C at 60 °C for 1 hour",
        "decoct 1 g in 1 cup of water down to 200 ml, down to 100 ml",
    ] {
        assert_eq!(findings(&directed(line)), ["error line-not-understood"], "{line}");
    }
    // Where it says nothing of an amount, a second `in` takes nothing away.
    assert_eq!(
        findings(&directed("dose 1 cup in 150 ml of water, in the evening, daily")),
        [""; 0]
    );
}

/// Where an example's findings stand, and how grave they are.
fn places(snapshot: &Snapshot) -> Vec<(String, String, usize)> {
    snapshot
        .diagnostics
        .iter()
        .map(|one| {
            let place = snapshot.sources.place(one.span);
            let file = snapshot.sources.path(one.span).to_owned();
            (format!("{} {}", one.severity.word(), one.code), file, place.line)
        })
        .collect()
}

/// Every fixed word may be written in capitals: a whole ledger in capitals, or with a capital to each word, says the
/// same. (Names ignore case, too; what is no ASCII is left as it is.)
#[test]
fn a_ledger_in_capitals_says_the_same() {
    let capitals = |text: &str| text.to_ascii_uppercase();
    let titles = |text: &str| {
        let mut before = ' ';
        text.chars()
            .map(|letter| {
                let opens = !before.is_alphanumeric() && before != '\'';
                before = letter;
                if opens {
                    letter.to_ascii_uppercase()
                } else {
                    letter
                }
            })
            .collect::<String>()
    };
    let files = crate::properties::example("low-barn");
    assert!(files.len() > 10);
    let read = |change: &dyn Fn(&str) -> String| {
        Snapshot::of(
            files
                .iter()
                .map(|(path, text)| (path.clone(), change(text).into())),
        )
    };
    let plain = read(&str::to_owned);
    for changed in [read(&capitals), read(&titles)] {
        assert_eq!(places(&changed), places(&plain));
        assert_eq!(changed.ledger.formulas.len(), plain.ledger.formulas.len());
        for at in 0..plain.ledger.formulas.len() {
            let amounts = |snapshot: &Snapshot| {
                let figures = snapshot.figures.of(at).unwrap();
                let lines: Vec<_> = figures.lines.iter().map(|line| line.amounts).collect();
                (lines, figures.totals.grams, figures.totals.millilitres)
            };
            assert_eq!(amounts(&changed), amounts(&plain));
        }
        for (file, source) in changed.sources.iter() {
            let tidied = scruple::tidy::text(file, &source.text).unwrap().text;
            assert!(!tidied.contains("  SOURCE "), "{tidied}");
        }
    }
}

#[test]
fn the_small_words_may_be_written_in_capitals() {
    let sound = [
        "herb thyme herb\n  price 31.00 PER kg\n",
        "practice\n  money EUR\nherb thyme herb\n  price 31.00 EUR PER kg\n",
        "herb thyme herb\n  price 31.00 Per kg\n",
        "practice\n  money EUR\nherb thyme herb\n  price €4 A kg\n",
        "herb thyme herb\n  large leaf WEIGHED 1.7, 1.8 g\n",
        "formula some tea\n  take sage leaf 20 g\nbatch some tea ON 2026-11-03\n  make 20 g\n",
        "formula some tea\n  take sage leaf 20 g\nsupply some tea On 2026-11-03\n  amount 20 g\n",
        "source book\n  title a book\nherb thyme herb\n  dose 1 TO 2 G, 3 TIMES A DAY  SOURCE book\n",
    ];
    for text in sound {
        let mut found = findings(&read(text));
        // What was handed out stands here without its batch.
        found.retain(|one| one != "notice supply-without-a-batch");
        assert_eq!(found, [""; 0], "{text}");
    }
    // What a tincture is made of brings its cautions along.
    for of in ["of", "OF"] {
        let snapshot = read(&format!(
            "herb thyme herb\n  avoid pregnancy\nmaterial thyme tincture\n  strength 1:5 {of} thyme herb, 60%\n  avoid alcohol dependence\n\
             person 017\n  is pregnant\nformula some drops\n  person 017\n  take thyme tincture 20 ml\n"
        ));
        assert!(
            findings(&snapshot).contains(&"error not-for-this-person".to_owned()),
            "{of}: {:#?}",
            findings(&snapshot)
        );
    }
}

#[test]
fn the_size_of_a_part_needs_parts() {
    for (lines, found) in [
        (
            "take sage leaf 20 g\n  one part 5 g",
            &["warning part-size-unused"][..],
        ),
        (
            "take sage leaf 100%\n  one part 5 g",
            &["warning part-size-unused"],
        ),
        ("take sage leaf 3 parts\n  one part 5 g", &[]),
        ("take sage leaf, mint leaf as 1 : 2\n  one part 5 g", &[]),
        ("take sage leaf, mint leaf in equal parts\n  one part 5 g", &[]),
        (
            "take sage leaf 3 parts\nformula another tea\n  adapts some tea\n  one part 5 g",
            &[],
        ),
        (
            "take sage leaf 3 g\nformula another tea\n  adapts some tea\n  one part 5 g",
            &["warning part-size-unused"],
        ),
    ] {
        let snapshot = read(&format!("formula some tea\n  {lines}\n"));
        assert_eq!(findings(&snapshot), found, "{lines}");
    }
}

/// One line of an adaptation takes the place of all lines of that herb, and says so.
#[test]
fn a_line_that_replaces_several_says_so() {
    const BASE: &str = "formula some tea\n  take\n    sage leaf 20 g, cut\n    sage leaf 10 g, whole\n    mint leaf 5 g\n\
                        formula another tea\n  adapts some tea\n  take\n";
    let told = "notice replaces-several-lines";
    for (lines, times) in [
        ("    sage leaf 4 g\n", 1),
        ("    sage leaf 4 g, cut\n    sage leaf 3 g, whole\n", 0),
        ("    without sage leaf\n    sage leaf 4 g\n", 0),
        ("    mint leaf 4 g\n", 0),
    ] {
        let snapshot = read(&format!("{BASE}{lines}"));
        let found = findings(&snapshot);
        assert_eq!(
            found.iter().filter(|one| *one == told).count(),
            times,
            "{lines}: {found:#?}"
        );
        for one in snapshot
            .diagnostics
            .iter()
            .filter(|one| one.code.name() == "replaces-several-lines")
        {
            assert_eq!(one.related.len(), 2);
        }
    }
}

/// Spoons and a density of one thing are held against each other, and so are the smallest and a far larger measure.
#[test]
fn measures_of_one_thing_go_together() {
    let told = |lines: &str| {
        let text = format!("practice\n  cup 250 ml\nmaterial honey\n{lines}");
        let snapshot = Snapshot::of([("practice.scruple".to_owned(), text.into())]);
        let messages: Vec<String> = snapshot
            .diagnostics
            .iter()
            .map(|one| one.message.clone())
            .collect();
        assert!(
            findings(&snapshot)
                .iter()
                .all(|one| one == "notice spoons-disagree"),
            "{messages:#?}"
        );
        messages
    };
    let none: [&str; 0] = [];
    // 5 ml at 1.42 g are 7.1 g.
    assert_eq!(
        told("  density 1.42 g per ml\n  teaspoon 7.1 g\n  cup 355 g\n"),
        none
    );
    assert_eq!(told("  density 1.42 g per ml\n  teaspoon 7 g\n"), none);
    assert_eq!(
        told("  density 1.42 g per ml\n  teaspoon 9 g\n  cup 450 g\n"),
        ["by its density a teaspoon of honey would weigh 7.1 g; it is said to weigh 9 g, 27 % more"]
    );
    // Each is within five in a hundred of the next smaller one: 5, 15.6, 270 g; but fifty teaspoons are 250 g.
    assert_eq!(
        told("  teaspoon 5 g\n  tablespoon 15.6 g\n  cup 270 g\n"),
        ["by its teaspoon a cup of honey would weigh 250 g; it is said to weigh 270 g, 8 % more"]
    );
    // One slip is one finding: the cup goes with the tablespoon.
    assert_eq!(
        told("  teaspoon 5 g\n  tablespoon 30 g\n  cup 500 g\n"),
        ["by its teaspoon a tablespoon of honey would weigh 15 g; it is said to weigh 30 g, 100 % more"]
    );
}

/// Sixty cups of what is known only roughly: made is for the middle, and the sheet says so.
#[test]
fn the_spread_of_a_cup_is_carried_into_what_is_made() {
    let plan = |weighs: &str, asked: &str| {
        let snapshot = Snapshot::of([(
            "practice.scruple".to_owned(),
            format!(
                "herb sage leaf\n  teaspoon {weighs}\nformula some tea\n  take sage leaf 100 g\n  \
                 infuse 2 teaspoons in 1 cup of boiling water for 10 minutes\n  dose 1 cup, 3 times a day\n"
            )
            .into(),
        )]);
        let mut typed = scruple::source::Sources::default();
        let file = typed.add("--make", asked.into());
        let wanted = scruple::syntax::parse_make(file, asked).unwrap();
        let at = snapshot.formula("some tea").unwrap();
        scruple::compute::make::plan(&snapshot.ledger, &snapshot.faults, &snapshot.figures, at, &wanted)
            .unwrap()
    };
    assert_eq!(plan("1.5 g", "60 cups").working, ["60 cups of 3 g = 180 g"]);
    // 2 × (1.4 to 1.6 g): 60 × 2.8 = 168, 60 × 3.2 = 192; 180 / 3.2 = 56.25, 180 / 2.8 = 64.29.
    let open = plan("1.4 to 1.6 g", "60 cups");
    assert_eq!(
        open.working,
        [
            "60 cups of 3 g (2.8 to 3.2 g) = 180 g (168 to 192 g)",
            "what is made is for the middle: it may come to 56.3 to 64.3 cups"
        ]
    );
    assert_eq!(open.target, plan("1.5 g", "60 cups").target);
    let people = plan("1.4 to 1.6 g", "2 people for 10 days").working;
    assert_eq!(people.len(), 3);
    assert!(people[2].ends_with("56.3 to 64.3 doses"), "{people:#?}");
}

/// A letter of another alphabet inside of a word, and characters that turn the order of others round.
#[test]
fn letters_that_deceive_the_eye_are_told() {
    let herb = |name: &str| read(&format!("herb {name}\n"));
    for (name, mended) in [
        ("ch\u{430}momile flower", "chamomile"),
        ("chamomile fl\u{43e}wer", "flower"),
        ("\u{421}hamomile flower", "Chamomile"),
        ("\u{440}\u{43e}ppy petal", "poppy"),
        ("vitamin \u{421}", "C"),
        ("vitamin \u{412}12", "B"),
        ("cham\u{3bf}mile", "chamomile"),
        ("\u{ff53}age", "sage"),
        ("sa\u{261}e", "sage"),
        ("кипр\u{65}й", "кипрей"),
    ] {
        let snapshot = herb(name);
        assert_eq!(findings(&snapshot), ["warning look-alike-letters"], "{name}");
        let finding = only(&snapshot);
        assert_eq!(finding.fix.as_ref().unwrap().edits[0].text, mended, "{name}");
        assert_eq!(snapshot.sources.text(finding.span).chars().count(), 1, "{name}");
    }
    for name in [
        "кипрей",
        "lady’s mantle",
        "réglisse",
        "Ἀψίνθιον",
        "β-carotene",
        "IT-лист",
        "\"Иван-чай, a leaf\"",
        "ginseng 人参",
        "Ångström œil ß",
    ] {
        assert_eq!(findings(&herb(name)), [""; 0], "{name}");
    }
    // A comment may say what it likes, and so may a line in another alphabet.
    assert_eq!(
        findings(&read(
            "herb thyme herb # ch\u{430}momile\n  note  С чаем и мятой\n"
        )),
        [""; 0]
    );
    for letter in ['\u{202e}', '\u{2066}', '\u{200f}', '\u{61c}'] {
        let snapshot = herb(&format!("thyme{letter} herb"));
        assert_eq!(findings(&snapshot), ["warning hidden-character"], "{letter:?}");
        assert!(only(&snapshot).message.contains("order of letters"));
    }
    for letter in [
        '\u{200b}',
        '\u{34f}',
        '\u{3164}',
        '\u{fe0f}',
        '\u{e0041}',
        '\u{ad}',
    ] {
        assert_eq!(
            findings(&herb(&format!("thyme{letter} herb"))),
            ["warning hidden-character"],
            "{letter:?}"
        );
    }
}

/// Pasted lists, signs, amounts before names: nothing is read as something else, and the message names the slip.
#[test]
fn what_is_pasted_or_turned_round_is_named() {
    for (line, message) in [
        ("1. sage leaf 20 g", "`1.` looks like the number of a list"),
        ("2) sage leaf 20 g", "`2)` looks like the number of a list"),
        ("• sage leaf 20 g", "`•` is no part of a name"),
        ("* sage leaf 20 g", "`*` is no part of a name"),
        ("sage leaf – 20 g", "`–` is no part of a name"),
        ("sage leaf = 20 g", "`=` is no part of a name"),
        ("sage leaf .... 20 g", "`....` is no part of a name"),
        ("20g sage leaf", "begins with its name"),
        ("2 teaspoons of sage leaf", "begins with its name"),
        (
            "sage leaf 20 g mint leaf 10 g",
            "is a measure with other words run into it",
        ),
        ("sage leaf 20 g + mint leaf 10 g", "not understood from here on"),
        ("sage leaf 20 g;", "not understood from here on"),
        ("sage leaf 2 × 5 g", "not understood from here on"),
        ("sage leaf 1 / 2 tsp", "not understood from here on"),
        ("sage leaf 1⁄2 tsp", "`1⁄2` is no number"),
        ("sage leaf 10-15-20 g", "`10-15-20` is no number"),
        // Read as level, with `heaped` for a way of processing, it would be half of what is meant.
        ("sage leaf 2 tsp heaped", "how full the spoon is"),
        ("sage leaf 2 tsp, heaped", "how full the spoon is"),
        ("sage leaf 2 tsp, rounded, cut", "how full the spoon is"),
    ] {
        let snapshot = taking(line);
        let finding = only(&snapshot);
        assert!(finding.message.contains(message), "{line}: {}", finding.message);
        assert!(
            snapshot
                .figures
                .of(snapshot.formula("some tea").unwrap())
                .is_none(),
            "{line}"
        );
    }
    // A hyphen beside a name takes nothing from it.
    for line in ["sage leaf - 20 g", "- sage leaf 20 g", "sage leaf 20 g."] {
        let snapshot = taking(line);
        assert_eq!(findings(&snapshot), [""; 0], "{line}");
        assert_eq!(grams(&snapshot), (decimal("20"), decimal("20")), "{line}");
    }
    for line in [
        "infuse 2 tsp, heaped, in 1 cup of water",
        "dose 1 teaspoon, heaped, 3 times a day",
        "dose 1 cup, tds",
        "dose 1 cup, t.i.d.",
        "dose 1 cup, 2 times a day, bid",
    ] {
        let snapshot = read(&format!("formula some tea\n  take sage leaf 20 g\n  {line}\n"));
        assert_eq!(findings(&snapshot), ["error line-not-understood"], "{line}");
    }
}

/// A herb as far left as `take` was a piece of the formula's own, and missing from it without a word.
#[test]
fn a_herb_beside_take_is_told() {
    let snapshot = read("formula some tea\n  take mint leaf 10 g\n  sage leaf 20 g\n");
    assert_eq!(findings(&snapshot), ["error unknown-line-word"]);
    assert_eq!(snapshot.sources.text(only(&snapshot).span), "sage leaf");
    // A piece of its own stays one.
    let snapshot = read("formula some tea\n  take mint leaf 10 g\n  lozenge 2 g\n");
    assert_eq!(findings(&snapshot), [""; 0]);
}

#[test]
fn free_words_may_say_as() {
    let snapshot = Snapshot::of([(
        "a.scruple".to_owned(),
        "practice\n  teaspoon   5 ml\n  cup   250 ml\n\nherb mallow leaf\n  teaspoon   1 g\n\nformula hall tea\n  take\n    mallow leaf   20 g, sliced, as base\n  infuse   1 teaspoon in 1 cup of water for 10 minutes, kept as it was\n  dose   1 cup, 2 times a day, taken as needed\n".into(),
    )]);
    assert!(
        snapshot
            .diagnostics
            .iter()
            .all(|one| one.severity < Severity::Error),
        "{:?}",
        snapshot.diagnostics
    );
    let formula = &snapshot.ledger.formulas[0];
    assert_eq!(formula.taken[0].role.as_deref(), Some("base"));
    assert_eq!(formula.taken[0].processing, ["sliced"]);
    assert_eq!(formula.doses[0].dose.clauses[0].text, "taken as needed");
}
