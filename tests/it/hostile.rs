//! Any bytes at all: a clear message or a finding, never a panic, a hang or a half-written file.
//!
//! Every run of the program is killed, and the test fails, after a minute ([`crate::sandbox`]);
//! it also fails if the program ends in any way but its three, or prints what a terminal obeys.

use std::fmt::Write;
use std::sync::Arc;

use proptest::prelude::*;
use scruple::compute::batch::{self, Target};
use scruple::quantity::Decimal;
use scruple::render::{Page, text};
use scruple::source::Span;
use scruple::view::{bench, findings, sheet, why};
use scruple::workspace::Snapshot;

use crate::sandbox::{Ran, Sandbox, project, shortened, wait, write_many};

/// A file that is in order, to see that one bad file does not take the others with it.
const GOOD: &str =
    "herb fennel fruit\n  teaspoon 2 g\nformula seed tea\n  take\n    fennel fruit 2 teaspoons\n";

/// Checks one file of these bytes beside a good one: the good one must be read all the same.
#[track_caller]
fn beside_a_good_file(bytes: impl AsRef<[u8]>) -> Vec<String> {
    let sandbox = Sandbox::new()
        .file("practice.scruple", "practice\n")
        .file("good.scruple", GOOD)
        .file("hostile.scruple", bytes);
    let ran = sandbox.run(["weigh", "seed tea", "--as", "json"]);
    assert_eq!(ran.status(0).json()["total"]["grams"], "4");
    sandbox.run(["check"]);
    sandbox.run(["check", "--as", "sarif"]);
    sandbox.run(["check", "--as", "json"]).codes()
}

// ---- bytes ----------------------------------------------------------------------------------

#[test]
fn what_is_no_utf_8_is_named_and_left_out() {
    for bytes in [
        &b"herb k\xfcmmel\n"[..],
        b"\xff",
        b"\xff\xfeh\0e\0r\0b\0",
        b"\xfe\xff\0h\0e\0r\0b",
        b"herb a\n\xc0\x80\n",
        b"herb a\n\xed\xa0\x80\n",
        b"herb a\n\xf4\x90\x80\x80\n",
        b"herb a \xe2\x82",
        b"\x1b[31m\xff\x1b[0m\n",
    ] {
        assert_eq!(beside_a_good_file(bytes), ["not-utf-8"], "{bytes:?}");
    }
}

#[test]
fn nothing_at_all_is_no_fault() {
    for text in [
        "",
        "\n",
        "   \n\n \t \n",
        "\u{feff}",
        "# only a comment\n",
        "#",
        "\n\n# one\n  # two\n",
    ] {
        assert!(beside_a_good_file(text).is_empty(), "{text:?}");
        let ran = Sandbox::new().file("a.scruple", text).run(["check"]);
        ran.status(0).says("in 1 file with no herbs and materials");
    }
}

#[test]
fn a_byte_order_mark_is_not_part_of_the_first_word() {
    let sandbox = Sandbox::new().file("a.scruple", format!("\u{feff}{GOOD}"));
    sandbox
        .run(["check"])
        .status(0)
        .says("no errors, no warnings, no notices");
    sandbox.run(["weigh", "seed tea"]).status(0).says("4.0 g");
}

#[test]
fn line_ends_of_every_kind_mean_the_same() {
    let plain = Sandbox::new()
        .file("a.scruple", GOOD)
        .run(["weigh", "seed tea", "--as", "json"]);
    for end in ["\r\n", "\n\n", " \n", "\t\n", "  # a comment\n"] {
        let sandbox = Sandbox::new().file("a.scruple", GOOD.replace('\n', end));
        sandbox.run(["check"]).status(0);
        let json = sandbox
            .run(["weigh", "seed tea", "--as", "json"])
            .status(0)
            .json();
        assert_eq!(json["total"], plain.json()["total"], "{end:?}");
        assert_eq!(
            json["lines"][0]["grams"],
            plain.json()["lines"][0]["grams"],
            "{end:?}"
        );
    }
    // The last line needs no end.
    let ran = Sandbox::new()
        .file("a.scruple", GOOD.trim_end())
        .run(["weigh", "seed tea", "--as", "json"]);
    assert_eq!(ran.status(0).json(), plain.json());
    // A carriage return alone, as old computers ended lines: read or remarked, never swallowed.
    let ran = Sandbox::new()
        .file("a.scruple", GOOD.replace('\n', "\r"))
        .run(["check"]);
    assert!(
        ran.status == 1 || ran.stdout.contains("1 herb or material and\n1 formula"),
        "a whole file was read as one line, and nothing was said:\n{}",
        ran.stdout
    );
}

#[test]
fn odd_blanks_are_read_or_remarked() {
    for odd in [
        "\t", "\u{a0}", "\u{2009}", "\u{3000}", "\u{0b}", "\u{0c}", "\u{85}", "\u{2028}", "\0", "\u{1}",
    ] {
        let text = GOOD.replace(
            "fennel fruit 2 teaspoons",
            &format!("fennel fruit{odd}2 teaspoons"),
        );
        let sandbox = Sandbox::new().file("a.scruple", text);
        let checked = sandbox.run(["check"]);
        let weighed = sandbox.run(["weigh", "seed tea", "--as", "json"]);
        if checked.status == 0 {
            assert_eq!(weighed.status(0).json()["total"]["grams"], "4", "{odd:?}");
        } else {
            assert_ne!(weighed.status, 2, "{odd:?}");
        }
        let between = Sandbox::new().file("a.scruple", GOOD.replace("\n  take", &format!("\n{odd}\n  take")));
        between.run(["check"]);
    }
}

#[test]
fn a_huge_file_is_refused_by_its_size() {
    let sandbox = Sandbox::new()
        .file("practice.scruple", "practice\n")
        .file("good.scruple", GOOD);
    // One line of 100 MB.
    write_many(&sandbox.path().join("hostile.scruple"), &vec![b'a'; 1 << 20], 100);
    let ran = sandbox.run(["check", "--as", "json"]);
    ran.status(1);
    assert_eq!(ran.codes(), ["file-too-large"]);
    assert!(ran.stdout.len() < 10_000);
    let weighed = sandbox.run(["weigh", "seed tea", "--as", "json"]);
    assert_eq!(weighed.status(0).json()["total"]["grams"], "4");
    // As the only file, by its name.
    let alone = Sandbox::new();
    write_many(&alone.path().join("hostile.scruple"), &vec![b'\n'; 1 << 20], 17);
    alone
        .run(["check", "--in", "hostile.scruple"])
        .status(1)
        .says("file-too-large");
}

#[cfg(unix)]
#[test]
fn a_file_that_never_ends_does_not_hang() {
    let sandbox = Sandbox::new()
        .file("practice.scruple", "practice\n")
        .file("good.scruple", GOOD)
        .link("hostile.scruple", "/dev/zero");
    sandbox.run(["check"]);
    sandbox.run(["check", "--in", "/dev/zero"]);
    // A pipe into which nobody writes.
    let pipe = sandbox.path().join("pipe.scruple");
    let made = std::process::Command::new("mkfifo").arg(pipe).status().unwrap();
    assert!(made.success());
    sandbox.run(["check"]);
    sandbox.run(["check", "--in", "pipe.scruple"]);
}

#[test]
fn a_long_line_is_left_out_and_the_lines_around_it_are_read() {
    for long in [
        "a".repeat(100_000),
        " a".repeat(50_000),
        "9".repeat(100_000),
        "½".repeat(50_000),
        "\"".repeat(100_000),
        ",".repeat(100_000),
        "(".repeat(100_000),
    ] {
        let text = format!(
            "herb rose petal\n  note {long}\n  teaspoon 1 g\n{GOOD}formula rose tea\n  take rose petal 1 teaspoon\n"
        );
        let sandbox = Sandbox::new().file("a.scruple", text);
        let ran = sandbox.run(["check", "--as", "json"]);
        assert_eq!(ran.status(1).codes(), ["line-too-long"]);
        // The line is not printed.
        assert!(sandbox.run(["check"]).stdout.len() < 20_000);
        let json = sandbox
            .run(["weigh", "seed tea", "--as", "json"])
            .status(0)
            .json();
        assert_eq!(json["total"]["grams"], "4");
        // What stood in the line is unknown: it may have been a caution of this very herb.
        sandbox.run(["weigh", "rose tea"]).status(1).says("line-too-long");
    }
    // Where it is a line that is weighed, the formula has no figures.
    let text = format!(
        "herb fennel fruit\nformula seed tea\n  take\n    fennel fruit 2 g\n    fennel fruit 2 g, {}\n",
        "b".repeat(100_000)
    );
    let sandbox = Sandbox::new().file("a.scruple", text);
    sandbox
        .run(["weigh", "seed tea"])
        .status(1)
        .complains("no figures are given");
}

#[test]
fn a_million_empty_lines_are_no_fault() {
    let text = "\n".repeat(1_000_000) + GOOD;
    let sandbox = Sandbox::new().file("a.scruple", text);
    sandbox.run(["check"]).status(0).says("no errors");
    sandbox
        .run(["weigh", "seed tea"])
        .status(0)
        .says("written in   a.scruple:1000003");
}

#[test]
fn five_thousand_faults_are_all_reported() {
    let mut text = String::new();
    for number in 0..5000 {
        let _ = writeln!(text, "formla {number}");
    }
    let sandbox = Sandbox::new().file("a.scruple", text);
    let ran = sandbox.run(["check"]);
    ran.status(1).says("5000 errors");
}

// ---- depth ----------------------------------------------------------------------------------

/// Formulas that each take the one before, with a herb at the bottom.
fn nested(depth: usize, lines: impl Fn(usize) -> String) -> String {
    let mut text =
        String::from("herb fennel fruit\n  teaspoon 2 g\nformula tea 0\n  take\n    fennel fruit 10 g\n");
    text.push_str("formula shallow tea\n  take\n    fennel fruit 10 g\n    tea 0 10 g\n");
    for at in 1..=depth {
        let _ = writeln!(text, "formula tea {at}\n  take\n{}", lines(at - 1));
    }
    text.replace("tea ", "tea x")
}

#[track_caller]
fn survives(sandbox: &Sandbox, formula: &str) -> Ran {
    sandbox.run(["check"]);
    let ran = sandbox.run(["check", "--as", "json"]);
    for command in ["weigh", "why"] {
        for form in ["text", "json"] {
            let ran = sandbox.run([command, formula, "--as", form]);
            assert!(
                ran.stdout.len() < 5_000_000,
                "{command}: {} bytes",
                ran.stdout.len()
            );
        }
    }
    ran
}

#[test]
fn formulas_a_thousand_deep_are_refused_once() {
    let text = nested(1000, |at| format!("    tea {at} 10 g\n    fennel fruit 1 g"));
    let sandbox = Sandbox::new().file("a.scruple", text);
    let ran = survives(&sandbox, "tea x1000");
    let codes = ran.status(1).codes();
    assert_eq!(codes, ["nested-too-deep"], "{} findings", codes.len());
    sandbox.run(["weigh", "tea x1000"]).status(1);
    // Those that lie less deep are reckoned: a tenth of a gram of each of the others.
    sandbox.run(["weigh", "shallow tea"]).status(0);
    sandbox.run(["weigh", "tea x50"]).status(0);
}

#[test]
fn adaptations_a_thousand_long_end() {
    let mut text = String::from("herb fennel fruit\nformula tea x0\n  take\n    fennel fruit 10 g\n");
    for at in 1..=1000 {
        let _ = writeln!(text, "formula tea x{at}\n  adapts tea x{}", at - 1);
    }
    let sandbox = Sandbox::new().file("a.scruple", &text);
    let ran = survives(&sandbox, "tea x1000");
    let codes = ran.codes();
    assert!(
        codes.is_empty() || codes == ["nested-too-deep"],
        "{} findings",
        codes.len()
    );
    // A half of a half of a half, until nothing is left that can be reckoned.
    let halved = text
        .replace("  adapts ", "  adapts")
        .replace("adapts", "  adapts ");
    let halved: String = halved
        .lines()
        .map(|line| {
            if line.trim_start().starts_with("adapts") {
                format!("{line} at 1/2\n")
            } else {
                format!("{line}\n")
            }
        })
        .collect();
    survives(&Sandbox::new().file("a.scruple", halved), "tea x90");
    let tripled: String = text
        .lines()
        .map(|line| {
            if line.trim_start().starts_with("adapts") {
                format!("{line} at 3000000\n")
            } else {
                format!("{line}\n")
            }
        })
        .collect();
    survives(&Sandbox::new().file("a.scruple", tripled), "tea x90");
}

#[test]
fn each_taking_the_one_before_twice_is_reckoned_once_each() {
    // Written out, the last of them would have 2 to the power of 90 lines.
    for depth in [90, 200] {
        let text = nested(depth, |at| {
            format!("    tea {at} 10 g, first\n    tea {at} 5 g, then")
        });
        let sandbox = Sandbox::new().file("a.scruple", text);
        survives(&sandbox, &format!("tea x{depth}"));
        let ran = sandbox.run(["weigh", "tea x90", "--as", "json"]);
        assert_eq!(ran.status(0).json()["total"]["grams"], "15");
    }
    // By parts, and by volume.
    let text = nested(90, |at| {
        format!("    tea {at} 2 parts\n    tea {at} 1 part, bruised")
    });
    survives(&Sandbox::new().file("a.scruple", text), "tea x90");
    let text = nested(90, |at| {
        format!("    tea {at} 30 ml\n    tea {at} 10 ml, then\n  makes 100 ml")
    });
    survives(&Sandbox::new().file("a.scruple", text), "tea x90");
    // By the spoon of the finished blend, which is worked out from its herbs.
    let text = nested(90, |at| {
        format!("    tea {at} 2 teaspoons\n    tea {at} 1 teaspoon, then")
    });
    survives(&Sandbox::new().file("a.scruple", text), "tea x90");
}

#[test]
fn circles_of_every_kind_are_named() {
    for text in [
        "formula a tea\n  take a tea 10 g\n",
        "formula a tea\n  adapts a tea\n",
        "formula a tea\n  adapts b tea\nformula b tea\n  take a tea 10 g\n",
        "formula a tea\n  take\n    b tea 10 g\n    c tea 10 g\nformula b tea\n  take c tea 1 g\nformula c tea\n  take\n    a tea 1 g\n    b tea 2 g\n",
    ] {
        let sandbox = Sandbox::new().file("a.scruple", text);
        let codes = sandbox.run(["check", "--as", "json"]).status(1).codes();
        assert!(
            codes.contains(&"circle-of-formulas".to_owned()),
            "{text}: {codes:?}"
        );
        for command in ["weigh", "why"] {
            sandbox.run([command, "a tea"]).status(1);
        }
    }
    // A circle of a thousand.
    let mut text = String::new();
    for at in 0..1000 {
        let _ = writeln!(text, "formula tea x{at}\n  take tea x{} 10 g", (at + 1) % 1000);
    }
    let sandbox = Sandbox::new().file("a.scruple", text);
    let ran = sandbox.run(["check"]);
    ran.status(1).says("circle-of-formulas").says("\n1 error,");
    // A thousand names are no message.
    assert!(
        ran.stdout.len() < 10_000,
        "{} bytes for one finding",
        ran.stdout.len()
    );
    // Every formula of a crowd takes every other.
    let mut text = String::new();
    for at in 0..60 {
        let _ = writeln!(text, "formula tea x{at}\n  take");
        for other in 0..60 {
            let _ = writeln!(text, "    tea x{other} 1 g");
        }
    }
    Sandbox::new().file("a.scruple", text).run(["check"]).status(1);
}

#[test]
fn deep_indentation_and_deep_folders_end() {
    let mut text = String::from("herb meadow herb\n");
    for depth in 1..2000 {
        let _ = writeln!(text, "{}note deeper", " ".repeat(depth));
    }
    beside_a_good_file(text);
    let deep = "d/".repeat(200);
    let sandbox = Sandbox::new()
        .file("practice.scruple", "practice\n")
        .file(&format!("{deep}deep.scruple"), GOOD);
    let ran = sandbox.run(["check"]);
    assert!(
        ran.status == 1 || ran.stdout.contains("in 2 files"),
        "a file deep down was left out, and nothing was said:\n{}",
        ran.stdout
    );
}

// ---- size -----------------------------------------------------------------------------------

#[test]
fn ten_thousand_ingredients_are_weighed() {
    let mut text = String::from("practice\n  scales 0.1 g\n");
    for at in 0..10_000 {
        let _ = writeln!(text, "herb herb x{at}\n  teaspoon 2 g");
    }
    text.push_str("formula big tea\n  take\n");
    for at in 0..10_000 {
        let _ = writeln!(text, "    herb x{at} 1.01 g");
    }
    let sandbox = Sandbox::new().file("practice.scruple", text);
    sandbox.run(["check"]).status(0).says("no errors, no warnings");
    let ran = sandbox.run(["weigh", "big tea", "--as", "json"]);
    assert_eq!(ran.status(0).json()["total"]["target"], "10100");
    sandbox.run(["weigh", "big tea"]).status(0).says("10100.0 g");
}

#[test]
fn one_herb_on_ten_thousand_lines_is_remarked() {
    let mut text = String::from("herb fennel fruit\nformula big tea\n  take\n");
    for at in 0..10_000 {
        let _ = writeln!(text, "    fennel fruit {} g", at + 1);
    }
    Sandbox::new()
        .file("a.scruple", text)
        .run(["check"])
        .status(1)
        .says("listed-twice");
}

/// Forty thousand findings in one file: what is found in a line costs no more for the lines above it. (Were each
/// reported by reading the file from its first byte, this would take minutes, and be stopped.)
#[test]
fn forty_thousand_findings_are_reported_in_good_time() {
    let mut text = String::from("herb fennel fruit\nformula big tea\n  take\n");
    for _ in 0..40_000 {
        text.push_str("    fennel fruit   20 g\n");
    }
    let started = std::time::Instant::now();
    let ran = Sandbox::new().file("a.scruple", text).run(["check"]);
    let said = ran.status(1).says("39999 warnings");
    assert!(started.elapsed().as_secs() < 60);
    assert_eq!(said.stdout.matches("stands here a second time").count(), 39_999);
}

#[test]
fn twenty_thousand_herbs_are_read() {
    let mut text = String::new();
    for at in 0..20_000 {
        let _ = writeln!(
            text,
            "herb herb x{at}\n  also other x{at}, third x{at}\n  teaspoon 2 g\n  tablespoon 6 g"
        );
    }
    text.push_str("formula seed tea\n  take\n    third x19999 2 teaspoons\n    third y19999 1 teaspoon\n");
    let sandbox = Sandbox::new().file("a.scruple", text);
    sandbox
        .run(["check"])
        .status(1)
        .says("unknown-name")
        .says("did you mean `third x19999`?");
    sandbox
        .run(["weigh", "sead tea"])
        .fails("did you mean \"seed tea\"?");
}

#[test]
fn five_thousand_names_for_one_herb_are_read() {
    let mut text = String::from("herb fennel fruit\n  teaspoon 2 g\n");
    for at in 0..5000 {
        let _ = writeln!(text, "  also name x{at}");
    }
    text.push_str("formula seed tea\n  take\n    name x4999 2 teaspoons\n    nane x77 1 teaspoon\n");
    for at in 0..50 {
        let _ = writeln!(
            text,
            "formula tea x{at}\n  take\n    name x{at} 2 g\n    unknown thing x{at} 2 g"
        );
    }
    let sandbox = Sandbox::new().file("a.scruple", text);
    sandbox.run(["check"]).status(1).says("51 errors");
}

#[test]
fn very_long_names_are_printed_short_enough_to_read() {
    for name in [
        "a".repeat(10_000),
        "a ".repeat(5000) + "b",
        "紅".repeat(5000),
        "e\u{301}".repeat(3000),
    ] {
        let text = format!(
            "herb {name}\n  teaspoon 2 g\nformula {name} tea\n  take\n    {name} 2 teaspoons\n    x{name} 2 g\n"
        );
        let sandbox = Sandbox::new().file("a.scruple", text);
        let ran = sandbox.run(["check"]);
        ran.status(1).says("unknown-name");
        for command in ["weigh", "why"] {
            for width in [20, 80] {
                sandbox
                    .command([command, &format!("{name} tea")])
                    .columns(width)
                    .run();
                sandbox.command([command, "tea"]).columns(width).run().status(2);
            }
        }
    }
}

// ---- numbers --------------------------------------------------------------------------------

/// Lines with a number in every place where one may stand; `N` is the number.
const NUMBERED: &[&str] = &[
    "practice\n  teaspoon N ml\n",
    "practice\n  cup N fl oz\n",
    "practice\n  heaped N level spoons\n",
    "practice\n  heaped N to N level spoons\n",
    "practice\n  scales N g\n",
    "practice\n  error N%\n",
    "herb a herb\n  teaspoon N g\n",
    "herb a herb\n  teaspoon N to N g\n",
    "herb a herb\n  teaspoon weighed N, N, N g\n",
    "herb a herb\n  teaspoon weighed 3 g for N\n",
    "herb a herb\n  heaped teaspoon N g\n",
    "herb a herb\n  slice N g\n",
    "herb a herb\n  slice weighed N g for N\n",
    "herb a herb\n  dose N g in 150 ml, 3 times a day\n",
    "herb a herb\n  dose 1 g in N ml, 3 times a day\n",
    "herb a herb\n  dose 1 g in 150 ml, N times a day\n",
    "herb a herb\n  dose 1 g in 150 ml, every N hours\n",
    "herb a herb\n  dose age N to N: 1 g, 3 times a day\n",
    "herb a herb\n  dose age under N: 1 g, 3 times a day\n",
    "herb a herb\n  most N g a day\n",
    "herb a herb\n  price N per kg\n",
    "herb a herb\n  price 3 per N kg\n",
    "herb a herb\n  infuse N g in N ml of boiling water for N minutes\n",
    "material a liquid\n  density N g per ml\n",
    "material a liquid\n  strength N%\n",
    "material a liquid\n  strength 1:N of fennel fruit, N%\n",
    "material a liquid\n  drop N ml\n",
    "formula a tea\n  take fennel fruit N g\n",
    "formula a tea\n  take fennel fruit N kg\n",
    "formula a tea\n  take fennel fruit N lb N oz\n",
    "formula a tea\n  take fennel fruit N teaspoons\n",
    "formula a tea\n  take fennel fruit N ml\n",
    "formula a tea\n  take fennel fruit N parts\n",
    "formula a tea\n  take fennel fruit N%\n",
    "formula a tea\n  take fennel fruit N slices\n",
    "formula a tea\n  take fennel fruit N to N g\n",
    "formula a tea\n  take fennel fruit N or N g\n",
    "formula a tea\n  take fennel fruit q.s. to N g\n",
    "formula a tea\n  take fennel fruit q.s., about N g\n",
    "formula a tea\n  take fennel fruit about N g\n",
    "formula a tea\n  take fennel fruit 1/N g\n",
    "formula a tea\n  take fennel fruit N/1 g\n",
    "formula a tea\n  take fennel fruit 1 N/2 g\n",
    "formula a tea\n  take fennel fruit 1 1/N g\n",
    "formula a tea\n  take fennel fruit, caraway fruit as N : 1\n",
    "formula a tea\n  take fennel fruit, caraway fruit as 1 : N\n  makes 100 g\n",
    "formula a tea\n  take fennel fruit, caraway fruit of each N g\n",
    "formula a tea\n  take N% spirit 10 ml\n",
    "formula a tea\n  take fennel fruit 1 part\n  one part N g\n",
    "formula a tea\n  take fennel fruit 1 part\n  makes N g\n",
    "formula a tea\n  take fennel fruit 3 teaspoons\n  teaspoon weighed N, N g\n",
    "formula a tea\n  adapts seed tea at N\n",
    "formula a tea\n  adapts seed tea at 1/N\n",
    "formula a tea\n  take fennel fruit 10 g\n  divide into filter bags of N g\n",
    "formula a tea\n  take fennel fruit 10 g\n  divide into N powders\n",
    "formula a tea\n  take fennel fruit 10 g\n  infuse N g in 1 cup of boiling water for 10 minutes\n",
    "formula a tea\n  take fennel fruit 10 g\n  infuse 2 g in N ml of boiling water for 10 minutes\n",
    "formula a tea\n  take fennel fruit 10 g\n  infuse 2 g in 1 cup of boiling water for N minutes\n",
    "formula a tea\n  take fennel fruit 10 g\n  decoct in 700 ml of water for 20 minutes, down to N ml\n",
    "formula a tea\n  take fennel fruit 10 g\n  macerate 1:N in 60% spirit for 14 days\n",
    "formula a tea\n  take fennel fruit 10 g\n  macerate 1:5 in N% spirit for 14 days\n",
    "formula a tea\n  take fennel fruit 10 g\n  macerate 1:5 in 60% spirit for N days at N °C\n",
    "formula a tea\n  take fennel fruit 10 g\n  syrup N:1 with honey\n",
    "formula a tea\n  take fennel fruit 10 g\n  dose N cups, 3 times a day\n",
    "formula a tea\n  take fennel fruit 10 g\n  dose 1 cup, up to N times a day, for N days\n",
    "formula a tea\n  take fennel fruit 10 g\n  dose 1 cup every N hours\n",
    "person 017\n  age N\n",
    "person 017\n  weight N kg\n",
    "batch seed tea on 2026-11-03\n  make N g\n",
    "batch seed tea on 2026-11-03\n  make N people for N days\n",
    "batch seed tea on 2026-11-03\n  make N jars of N g\n",
    "batch seed tea on 2026-11-03\n  used\n    fennel fruit N g from F-1\n",
    "batch seed tea on 2026-11-03\n  yielded N g\n",
    "batch seed tea on N-11-03\n  make 20 g\n",
    "batch seed tea on 2026-N-03\n  make 20 g\n",
    "lot F-1 of fennel fruit\n  received 2026-11-N\n",
    "lot F-1 of fennel fruit\n  amount N kg\n",
    "lot F-1 of fennel fruit\n  cost N\n",
    "supply seed tea on 2026-11-03\n  amount N g\n",
];

const AROUND: &str = "herb fennel fruit\n  teaspoon 2 g\n  density 0.4 g per ml\n  slice 1 g\nherb caraway fruit\n  teaspoon 2 g\n\
                      material honey\nmaterial spirit\nformula seed tea\n  take fennel fruit 20 g\n";

fn in_memory(text: &str) -> Snapshot {
    Snapshot::of([
        ("around.scruple".to_owned(), Arc::from(AROUND)),
        ("hostile.scruple".to_owned(), Arc::from(text)),
    ])
}

#[test]
fn numbers_of_four_hundred_digits_are_refused_everywhere() {
    let nines = "9".repeat(400);
    let point = format!("0.{}1", "0".repeat(400));
    let zeros = format!("{}1", "0".repeat(400));
    let mut silent = Vec::new();
    for number in [&nines, &point] {
        for line in NUMBERED {
            let snapshot = in_memory(&line.replace('N', number));
            hold(&snapshot);
            if snapshot.diagnostics.is_empty() {
                silent.push(line);
            }
            let named = snapshot.formula("a tea");
            assert!(
                named.is_none_or(
                    |at| snapshot.figures.of(at).is_none() || !line.contains("take fennel fruit N")
                ),
                "{line} has figures"
            );
        }
    }
    assert!(silent.is_empty(), "nothing is said about {silent:#?}");
    for line in NUMBERED {
        hold(&in_memory(&line.replace('N', &zeros)));
    }
}

#[test]
fn numbers_at_the_edge_of_what_is_read_are_reckoned_or_refused() {
    for number in [
        "999999999999.999999999999",
        "0.000000000001",
        "999999999999",
        "999999999999/0.000000000001",
        "999999999999/999999999999",
        "1/999999999999",
        "999999999998 999999999998/999999999999",
        "0",
        "0.0",
        "0/1",
        "1/0",
        "0/0",
        "-1",
        "−1",
        "+1",
        "1e9",
        "1_000",
        "1'000",
        "0x10",
        "٣",
        "３",
        "Ⅳ",
        "½½",
        "1½½",
        "1/2/3",
        "1.2.3",
        "1..2",
        "1.",
        ".",
        "/",
        ":",
        "N",
        "%",
        "1 2 3",
        "5.0",
        "007",
    ] {
        for line in NUMBERED {
            hold(&in_memory(&line.replace('N', number)));
        }
    }
}

#[test]
fn extreme_figures_multiply_to_a_finding_and_not_to_a_crash() {
    let large = "999999999999";
    let small = "0.000000000001";
    let mut text = String::from(
        "practice\n  heaped 999999999999 level spoons\n  scales 0.000000000001 g\n  error 0.000000000001%\n",
    );
    let _ = writeln!(
        text,
        "herb big herb\n  heaped teaspoon {large} kg\n  teaspoon {large} kg\n  pod {small} mg\n  density {large} kg per ml"
    );
    let _ = writeln!(
        text,
        "formula one tea\n  take\n    big herb {large} heaped tablespoons\n"
    );
    let _ = writeln!(
        text,
        "formula two tea\n  take\n    big herb {large} pods\n    one tea {small} mg\n"
    );
    let _ = writeln!(
        text,
        "formula three tea\n  take\n    big herb {large} parts\n    two tea {small} parts\n  one part {large} kg\n"
    );
    let _ = writeln!(
        text,
        "formula four tea\n  take\n    big herb {large} litres\n    three tea {large} kg\n  divide into powders of {small} mg\n  dose {large} powders, {large} times a day\n"
    );
    let _ = writeln!(
        text,
        "formula five tea\n  take\n    big herb {small} mg\n  infuse {small} mg in {large} litres of water\n  dose {large} cups every {small} minutes\n"
    );
    let sandbox = Sandbox::new().file("practice.scruple", text);
    sandbox.run(["check"]);
    for name in ["one tea", "two tea", "three tea", "four tea", "five tea"] {
        for make in [
            "1 g",
            "999999999999 kg",
            "0.000000000001 mg",
            "999999999999 cups",
            "999999999999 doses",
            "999999999999 people for 999999999999 days",
            "999999999999 powders",
            "999999999999 jars of 999999999999 kg",
            "999999999999 litres",
        ] {
            sandbox.run(["weigh", name, "--make", make]);
        }
        sandbox.run(["weigh", name, "--as", "json"]);
        sandbox.run(["why", name]);
    }
}

// ---- files ----------------------------------------------------------------------------------

#[cfg(unix)]
#[test]
fn what_may_not_be_read_is_named() {
    let sandbox = Sandbox::new()
        .file("practice.scruple", "practice\n")
        .file("good.scruple", GOOD)
        .file("secret.scruple", "herb secret herb\n")
        .file("closed/more.scruple", "herb hidden herb\n")
        .allow(".", 0o755)
        .allow("secret.scruple", 0o000)
        .allow("closed", 0o000);
    let ran = sandbox.command(["check", "--as", "json"]).unprivileged().run();
    assert_eq!(ran.status(1).codes(), ["unreadable-file", "unreadable-file"]);
    let files: Vec<String> = ran.json()["findings"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| one["at"]["file"].as_str().unwrap().to_owned())
        .collect();
    assert_eq!(files, ["closed", "secret.scruple"]);
    let said = sandbox.command(["check"]).unprivileged().run();
    said.status(1).says("you have no permission to read it");
    let weighed = sandbox
        .command(["weigh", "seed tea", "--as", "json"])
        .unprivileged()
        .run();
    assert_eq!(weighed.status(0).json()["total"]["grams"], "4");
    // The practice itself: without it every figure might be another, and that must be said.
    let sandbox = sandbox.allow("practice.scruple", 0o000);
    sandbox
        .command(["check"])
        .unprivileged()
        .run()
        .status(1)
        .says("practice.scruple");
    // A ledger of which nothing may be read is not an empty one.
    let sandbox = sandbox.allow(".", 0o000);
    let ran = sandbox
        .command(["check", "--in", sandbox.path().to_str().unwrap()])
        .in_folder("/")
        .unprivileged()
        .run();
    assert_ne!(ran.status, 0);
    let _again = sandbox.allow(".", 0o755).allow("closed", 0o755);
}

#[cfg(unix)]
#[test]
fn links_that_lead_nowhere_or_in_a_circle_are_named() {
    let sandbox = Sandbox::new()
        .file("practice.scruple", "practice\n")
        .file("good.scruple", GOOD)
        .folder("folder")
        .link("dangling.scruple", "nothing-there")
        .link("self.scruple", "self.scruple")
        .link("folder/up", "..")
        .link("folder/root", "/");
    // A link to the root of the disk would be walked for ever; it is left out of this test.
    std::fs::remove_file(sandbox.path().join("folder/root")).unwrap();
    let ran = sandbox.run(["check", "--as", "json"]);
    ran.status(1);
    let found: Vec<String> = ran.json()["findings"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| {
            format!(
                "{} {}",
                one["code"].as_str().unwrap(),
                one["at"]["file"].as_str().unwrap()
            )
        })
        .collect();
    assert_eq!(
        found,
        [
            "unreadable-file dangling.scruple",
            "unreadable-file folder/up",
            "unreadable-file self.scruple"
        ]
    );
    assert_eq!(ran.json()["formulas"], 1, "the good file is read once");
    // One file under two names is two entries of one name.
    let twice = Sandbox::new()
        .file("good.scruple", GOOD)
        .link("same.scruple", "good.scruple");
    twice.run(["check"]).status(1).says("name-taken-twice");
    // A dangling link as the ledger.
    sandbox.run(["check", "--in", "dangling.scruple"]).status(2);
}

#[test]
fn a_folder_with_the_name_of_a_file_is_a_folder() {
    let sandbox = Sandbox::new()
        .folder("practice.scruple")
        .file("teas.scruple/good.scruple", GOOD)
        .folder("empty.scruple");
    sandbox.run(["check"]).status(0).says("in 1 file with 1 herb");
    sandbox.run(["check", "--in", "teas.scruple"]).status(0);
    sandbox
        .run(["check", "--in", "empty.scruple"])
        .fails("there is no ledger in `empty.scruple`");
}

#[cfg(target_os = "linux")]
#[test]
fn a_file_name_that_is_no_text_is_read_all_the_same() {
    use std::os::unix::ffi::OsStrExt;
    let sandbox = Sandbox::new().file("practice.scruple", "practice\n");
    let name = std::ffi::OsStr::from_bytes(b"\xff\x1b[31m.scruple");
    std::fs::write(sandbox.path().join(name), format!("{GOOD}formla x\n")).unwrap();
    sandbox.run(["check"]).status(1).says("unknown-entry");
    let sarif = sandbox.run(["check", "--as", "sarif"]);
    sarif.status(1).json();
    let argument = std::ffi::OsStr::from_bytes(b"\xff\x1b[31m");
    let check = [
        std::ffi::OsStr::new("check"),
        std::ffi::OsStr::new("--in"),
        argument,
    ];
    sandbox.run(check).status(2);
    for command in ["weigh", "why", "begin"] {
        sandbox.run([std::ffi::OsStr::new(command), argument]);
    }
}

// ---- what a terminal would obey ---------------------------------------------------------------

/// Sequences that colour, move, name windows, ring, delete, and turn the order of letters round.
const OBEYED: &[&str] = &[
    "\u{1b}[31m",
    "\u{1b}]0;title\u{7}",
    "\u{1b}]8;;http://example.org\u{1b}\\link\u{1b}]8;;\u{1b}\\",
    "\u{1b}[2J\u{1b}[1;1H",
    "\u{1b}P1$r\u{1b}\\",
    "\u{9b}31m",
    "\u{90}",
    "\u{7f}\u{8}\u{7}",
    "\u{202e}evil\u{202c}",
    "\u{2066}isolated\u{2069}",
    "\u{200e}\u{200f}\u{61c}",
];

#[test]
fn nothing_that_a_terminal_obeys_is_printed_raw() {
    // The sandbox itself looks for such characters in all that is printed.
    for bad in OBEYED {
        let text = format!(
            "# comment {bad}\n\
             source book{bad}\n  title a {bad} book\n  author {bad}\n  year {bad}\n  reference {bad}\n  from memory\n\
             practice\n  scales 0.1 g\n  wrong{bad} 5 ml\n\
             herb fennel{bad} fruit\n  latin Foeniculum {bad}\n  also sweet{bad}\n  part fruit, {bad}\n  family {bad}\n\
             \x20 teaspoon 2 g  source book{bad}\n  dose 1 g{bad}\n  mind reflux{bad}: more {bad}\n  avoid {bad}\n  note {bad}\n\
             formla{bad} x\n\
             formula seed{bad} tea\n  for {bad} cough\n  take\n    fennel{bad} fruit 20 g, cut {bad} as base{bad}\n    sweet{bad} 2 teaspoons\n\
             \x20   unknown{bad} 20 g\n  mix stir {bad}; fennel{bad} first\n  infuse 2 g in 1 cup of {bad} water, {bad}\n  then {bad}\n  dose 1 cup, {bad}\n  sign {bad}\n  keep {bad}\n  accept reflux{bad}: told {bad}\n\
             formula plain{bad} tea\n  for {bad} cough\n  take\n    fennel{bad} fruit 20 g, cut {bad}\n    sweet{bad} 2 teaspoons, {bad}\n  mix {bad}\n  infuse 2 g in 1 cup of boiling water, {bad}\n  then {bad}\n  accept reflux{bad}: told {bad}\n\
             person {bad}\n  age {bad}\nbatch plain{bad} tea on {bad}\n  make {bad}\nset {bad}\n  lesson {bad}\n{bad}\n"
        );
        let file = format!("tea{}.scruple", bad.replace('/', ""));
        let sandbox = Sandbox::new()
            .file("practice.scruple", "practice\n")
            .file(&file, text);
        for form in ["text", "json", "sarif"] {
            let ran = sandbox.run(["check", "--as", form]);
            ran.status(1);
            assert!(
                ran.stdout.contains("hidden-character"),
                "{bad:?} is not remarked as hidden"
            );
        }
        let (plain, seed) = (format!("plain{bad} tea"), format!("seed{bad} tea"));
        for form in ["text", "json"] {
            for name in [plain.as_str(), &seed, bad] {
                sandbox.run(["weigh", name, "--as", form]);
                sandbox.run(["why", name, "--as", form]);
            }
            sandbox.run(["why", &plain, &format!("fennel{bad} fruit"), "--as", form]);
        }
        sandbox.run(["why", &plain, bad]);
        sandbox.run(["weigh", &plain, "--make", bad]);
        sandbox.run(["weigh", &plain, "--make", &format!("5 {bad}")]);
        sandbox.run(["check", "--in", bad]).status(2);
        let folder = format!("new{}", bad.replace('/', ""));
        for form in ["text", "json"] {
            let place = Sandbox::new();
            place.run(["begin", &folder, "--as", form]).status(0);
            place.run(["begin", &folder, "--as", form]).status(2);
        }
    }
}

#[test]
fn a_word_on_the_command_line_is_not_printed_raw_either() {
    // These are refused by the reader of arguments, before any command is begun.
    for bad in OBEYED {
        let sandbox = Sandbox::new();
        for arguments in [
            vec![*bad],
            vec!["check", bad],
            vec!["check", "--as", bad],
            vec!["weigh", "a", bad],
            vec!["weigh", "a", "--make", "1 g", &format!("--{bad}")],
        ] {
            sandbox.run(arguments).status(2);
        }
    }
}

// ---- shapes ---------------------------------------------------------------------------------

#[test]
fn quotes_and_signs_in_every_place_end() {
    for piece in [
        "\"",
        "\"\"",
        "\"\"\"",
        "\"a",
        "a\"b",
        "'",
        "`",
        "(",
        ")",
        "[",
        "{",
        "<",
        "\\",
        "/",
        ":",
        "::",
        ",",
        ",,",
        ";",
        "#",
        " #",
        "#a",
        "%",
        "&",
        "*",
        "=",
        "@",
        "~",
        "^",
        "|",
        "$",
        "€",
        "“a”",
        "’",
        "…",
        "–",
        "—",
        "-",
        "--",
        ".",
        "..",
        "...",
        "½",
        "°",
        "×",
        "µ",
        "ʒ",
        "℥",
        "℈",
        "āā",
        "q.s.",
        "of each",
        "equal parts",
        "as",
        "to",
        "in",
        "for",
        "without",
        "the",
        "it",
        "a",
        "an",
        "and",
    ] {
        let changed = |change: &dyn Fn(&str) -> String| -> String {
            NUMBERED
                .iter()
                .enumerate()
                .map(|(at, line)| change(line).replace("a tea", &format!("tea x{at}")))
                .collect()
        };
        hold(&in_memory(&changed(&|line| line.replace('N', piece))));
        hold(&in_memory(&changed(&|line| line.replace(" N", piece))));
        hold(&in_memory(&changed(&|line| line.replace("fennel", piece))));
        hold(&in_memory(&changed(&|line| {
            format!("{}{piece}\n", line.trim_end())
        })));
        for kind in [
            "practice", "source", "herb", "material", "formula", "person", "batch", "lot", "supply", "set",
        ] {
            hold(&in_memory(&format!(
                "{kind} {piece}\n  note {piece}\n  {piece}\n    {piece}\n  take\n    {piece}\n"
            )));
            hold(&in_memory(&format!("{kind}{piece}\n{piece}{kind}\n")));
        }
    }
}

#[test]
fn every_line_of_the_examples_may_end_anywhere() {
    // Each line cut off after each of its letters.
    for line in example_lines() {
        let letters: Vec<char> = line.chars().collect();
        for length in (0..letters.len()).step_by(17) {
            let cut: String = letters[..length].iter().collect();
            let text = if cut.starts_with("    ") {
                format!("formula a tea\n  take\n{cut}\n")
            } else if cut.starts_with(' ') {
                format!("formula a tea\n{cut}\nherb a herb\n{cut}\nbatch seed tea on 2026-11-03\n{cut}\n")
            } else {
                format!("{cut}\n")
            };
            well_formed(&in_memory(&text));
        }
    }
}

// ---- writing --------------------------------------------------------------------------------

#[test]
fn of_many_who_begin_at_once_one_does() {
    for _ in 0..3 {
        let sandbox = Sandbox::new();
        let children: Vec<_> = (0..8)
            .map(|_| sandbox.command(["begin", "one"]).prepare().spawn().unwrap())
            .collect();
        let ended: Vec<(Option<i32>, Vec<u8>, Vec<u8>)> = children.into_iter().map(wait).collect();
        let won = ended.iter().filter(|(code, ..)| *code == Some(0)).count();
        assert_eq!(won, 1, "{ended:?}");
        for (code, _, said) in &ended {
            let said = String::from_utf8_lossy(said);
            assert!(
                *code == Some(0) || (*code == Some(2) && said.contains("help: ")),
                "{code:?} {said}"
            );
        }
        assert_eq!(
            sandbox.files(),
            begun().files(),
            "what is there is whole, and nothing is left over"
        );
    }
}

#[test]
fn a_begin_that_is_killed_leaves_whole_files_only() {
    let whole = begun().files();
    for microseconds in [0, 500, 1000, 2000, 3000, 5000, 8000, 12_000, 20_000] {
        let sandbox = Sandbox::new();
        let mut child = sandbox.command(["begin", "one"]).prepare().spawn().unwrap();
        std::thread::sleep(std::time::Duration::from_micros(microseconds));
        child.kill().unwrap();
        child.wait().unwrap();
        if !sandbox.path().join("one").exists() {
            continue;
        }
        for (name, bytes) in sandbox.files() {
            let hidden = name.rsplit('/').next().unwrap().starts_with('.');
            assert!(
                hidden || whole.contains(&(name.clone(), bytes)),
                "{name} is half written"
            );
        }
        // And what is left does not stand in the way of reading.
        sandbox.run(["check", "--in", "one"]);
    }
}

fn begun() -> Sandbox {
    let sandbox = Sandbox::new();
    sandbox.run(["begin", "one"]).status(0);
    sandbox
}

#[test]
fn reading_writes_nothing() {
    let sandbox = begun();
    let before = sandbox.files();
    for arguments in [
        &["check"][..],
        &["check", "--as", "json"],
        &["check", "--as", "sarif"],
        &["weigh", "garden tea"],
        &["why", "garden tea"],
        &["why", "percent-off"],
    ] {
        sandbox.run(arguments.iter().copied().chain(["--in", "one"]));
    }
    assert_eq!(sandbox.files(), before);
}

// ---- arbitrary text -------------------------------------------------------------------------

/// Holds a snapshot to all that must be true of any: places lie in their texts, and every figure
/// that is given can be printed.
fn hold(snapshot: &Snapshot) {
    well_formed(snapshot);
    let _ = serde_json::to_string(&findings::findings(snapshot)).unwrap();
    let _ = serde_json::to_string(&findings::sarif(snapshot)).unwrap();
    for at in 0..snapshot.ledger.formulas.len() {
        let Some(composition) = snapshot.figures.of(at) else {
            assert!(
                !snapshot.faults_of(at).is_empty(),
                "{} has no figures, and no error says why",
                snapshot.ledger.formulas[at].name.text
            );
            continue;
        };
        let _ = text::print(
            &why::document(&why::why(snapshot, at, None, None).unwrap()),
            &page(40),
        );
        for target in [
            Target::Own,
            Target::Grams(Decimal::ONE_HUNDRED),
            Target::Millilitres(Decimal::ONE_HUNDRED),
        ] {
            if let Ok(batch) = batch::make(&snapshot.ledger, composition, target) {
                let sheet = sheet::sheet(snapshot, composition, &batch, None);
                let _ = text::print(&bench::document(snapshot, composition, &batch, &sheet), &page(40));
                let _ = serde_json::to_string(&sheet).unwrap();
            }
        }
    }
}

fn page(width: usize) -> Page {
    Page {
        width,
        colour: false,
        unicode: true,
    }
}

/// Every finding says something, and points to letters that are there.
fn well_formed(snapshot: &Snapshot) {
    let fits = |span: Span, code: &str| {
        let source = snapshot.sources.get(span.file).unwrap();
        assert!(
            source.text.get(span.first_byte()..span.end_byte()).is_some(),
            "{code} points to {}..{} of {} bytes",
            span.start,
            span.end,
            source.text.len()
        );
    };
    let mut last = None;
    for one in &snapshot.diagnostics {
        let code = one.code.name();
        assert!(
            !one.message.is_empty() && !one.message.contains('\n'),
            "{code}: {:?}",
            one.message
        );
        fits(one.span, code);
        for (span, _) in &one.related {
            fits(*span, code);
        }
        for edit in one.fix.iter().flat_map(|fix| &fix.edits) {
            fits(edit.span, code);
            assert_eq!(edit.span.file, one.span.file, "{code} mends another file");
        }
        let place = (snapshot.sources.path(one.span).to_owned(), one.span.start);
        assert!(
            last.as_ref().is_none_or(|before| *before <= place),
            "{code} is out of order"
        );
        last = Some(place);
    }
}

/// Every line of the examples and of what `begin` writes.
fn example_lines() -> Vec<String> {
    let mut lines = Vec::new();
    let mut folders = vec![project().join("examples"), project().join("src/reference/begin")];
    while let Some(folder) = folders.pop() {
        let mut entries: Vec<_> = std::fs::read_dir(folder)
            .unwrap()
            .map(|one| one.unwrap().path())
            .collect();
        entries.sort();
        for path in entries {
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|ending| ending == "scruple")
                && let Ok(text) = std::fs::read_to_string(&path)
            {
                lines.extend(
                    text.lines()
                        .filter(|line| !line.trim().is_empty())
                        .map(str::to_owned),
                );
            }
        }
    }
    lines.sort();
    lines.dedup();
    assert!(lines.len() > 500);
    lines
}

/// What a line may be changed by: words of the language, numbers that hurt, odd letters.
const PIECES: &[&str] = &[
    " ",
    "  ",
    "\t",
    "\n",
    "\r\n",
    "\u{feff}",
    "\u{200b}",
    "\u{202e}",
    "\u{a0}",
    "é",
    "紅",
    "\u{1f33f}",
    "½",
    "0",
    "1",
    "9",
    "10 to 8",
    "1/0",
    "1/3",
    "999999999999",
    "0.000000000001",
    "12345678901234567890",
    ".5",
    "40,0",
    "1-1/2",
    "ij",
    " g",
    " kg",
    " ml",
    " teaspoons",
    " heaped tablespoon",
    " parts",
    "%",
    " ounce",
    " pint",
    " gr",
    " T",
    " slices",
    ",",
    ", ",
    ":",
    " : ",
    "/",
    "\"",
    "#",
    " # ",
    "of each ",
    "equal parts",
    "q.s.",
    "q.s. to 100 g",
    "q.s. to 100%",
    "as base",
    " as 1 : 2",
    "about 5 g",
    "to ",
    " in ",
    " for ",
    " at ",
    " with ",
    " from ",
    " on ",
    "without ",
    "the ",
    "it",
    "take",
    "take\n",
    "makes 100 g",
    "makes 5 ml",
    "one part 5 g",
    "adapts ",
    "divide into 10 powders",
    "formula ",
    "herb ",
    "water",
    "fennel fruit",
    "seed tea",
    "  source ",
    "2026-13-01",
    "3/11/2026",
    "€",
    "-",
    "–",
];

/// Texts that look like ledgers: lines of the examples, some of them changed, under other entries.
pub fn ledger_like() -> impl Strategy<Value = String> {
    let lines = example_lines();
    let heads: Vec<String> = lines
        .iter()
        .filter(|line| !line.starts_with(' '))
        .cloned()
        .collect();
    let line = (
        proptest::sample::select(lines),
        proptest::collection::vec(
            (
                any::<proptest::sample::Index>(),
                proptest::sample::select(PIECES),
                0..4_usize,
            ),
            0..3,
        ),
    )
        .prop_map(|(line, changes)| {
            changes.into_iter().fold(line, |line, (place, piece, drop)| {
                let letters: Vec<char> = line.chars().collect();
                let at = if letters.is_empty() {
                    0
                } else {
                    place.index(letters.len())
                };
                let mut changed: String = letters[..at].iter().collect();
                changed.push_str(piece);
                changed.extend(letters.iter().skip(at + drop));
                changed
            })
        });
    let entry = (
        proptest::sample::select(heads),
        proptest::collection::vec(line, 0..12),
    )
        .prop_map(|(head, lines)| format!("{head}\n{}\n", lines.join("\n")));
    proptest::collection::vec(entry, 1..8).prop_map(|entries| entries.concat())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn text_that_looks_like_a_ledger_never_panics(text in ledger_like()) {
        hold(&in_memory(&text));
    }

    #[test]
    fn any_text_never_panics(text in "\\PC*|(\\s|[a-z0-9½,:/\"#%.-]|herb |formula |\n  |\n    )*") {
        hold(&in_memory(&text));
    }

    #[test]
    fn the_same_text_means_the_same_twice(text in ledger_like()) {
        let json = |snapshot: &Snapshot| serde_json::to_string(&findings::findings(snapshot)).unwrap();
        prop_assert_eq!(json(&in_memory(&text)), json(&in_memory(&text)));
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_bytes_end_in_one_of_three_ways(bytes in proptest::collection::vec(any::<u8>(), 0..2000), cut in 0..400_usize) {
        // As they are, and with the beginning of a ledger before them.
        let begun: Vec<u8> = AROUND.bytes().take(cut).chain(bytes.iter().copied()).collect();
        for bytes in [&bytes, &begun] {
            let sandbox = Sandbox::new().file("a.scruple", bytes);
            for form in ["text", "json"] {
                let ran = sandbox.run(["check", "--as", form]);
                prop_assert!(ran.status <= 1, "{}", shortened(&ran.stderr));
            }
            sandbox.run(["weigh", "seed tea"]);
        }
    }

    #[test]
    fn text_that_looks_like_a_ledger_is_checked(text in ledger_like()) {
        // The reports as they are drawn.
        let sandbox = Sandbox::new().file("a.scruple", text);
        for width in [20, 80] {
            let ran = sandbox.command(["check"]).columns(width).run();
            prop_assert!(ran.status <= 1);
        }
    }
}
