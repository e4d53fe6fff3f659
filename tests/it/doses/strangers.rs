//! What a step prepares and no line takes: the figures are withheld, and its cautions are shown.

use super::{codes_of, ledger, listed, on_disk, run};

const HERBS: &str = "herb mint leaf\n  also   peppermint\n\nherb sage leaf\n  avoid   pregnancy\n\n\
    herb burdock root\n\nherb marshmallow root\n\nmaterial honey\n\n\
    formula inner tea\n  take\n    sage leaf   5 g\n    mint leaf   5 g\n\n\
    formula inmost tea\n  take\n    inner tea   5 g\n\n";

const CODE: &str = "error prepared-but-not-taken";

/// Every step here names something that is nowhere under `take`.
const STRANGE: &[&str] = &[
    "take mint leaf 10 g\n  infuse   sage leaf in 500 ml of water for 5 minutes\n  dose   100 ml, 3 times a day",
    "take mint leaf 10 g\n  infuse   3 g of sage leaf in 1 cup of boiling water for 5 minutes\n  dose   1 cup, 3 times a day",
    "take mint leaf 10 g\n  decoct   mint leaf in 500 ml of water for 5 minutes\n  infuse   sage leaf in it for 5 minutes\n  dose   100 ml",
    "take mint leaf 10 g\n  infuse   mint leaf and sage leaf in 500 ml of water for 5 minutes\n  dose   100 ml",
    "take mint leaf 10 g\n  infuse   mint leaf, sage leaf in 500 ml of water for 5 minutes\n  dose   100 ml",
    "take mint leaf 10 g\n  infuse   the sage in 500 ml of water for 5 minutes\n  dose   100 ml",
    "take mint leaf 10 g\n  infuse   bruised sage leaves in 500 ml of water for 5 minutes\n  dose   100 ml",
    "take mint leaf 10 g\n  infuse   inner tea in 500 ml of water for 5 minutes\n  dose   100 ml",
];

#[test]
fn what_is_prepared_and_not_taken_withholds_the_figures_and_keeps_its_cautions() {
    for text in STRANGE {
        let text = format!("{HERBS}formula probe\n  {text}\n");
        let snapshot = ledger(&text);
        let codes = codes_of(&snapshot, "probe");
        assert_eq!(
            codes.iter().filter(|code| *code == CODE).count(),
            1,
            "{text}\n{}",
            listed(&snapshot.diagnostics)
        );
        let at = snapshot.formula("probe").unwrap();
        assert!(snapshot.figures.of(at).is_none(), "{text}");
        let folder = on_disk(&[("practice.scruple", &text)]);
        let ran = run(folder.path(), &["doses", "probe", "--is", "pregnant"]);
        assert_ne!(ran.code, 0, "{}", ran.out);
        let said = ran.flat();
        assert!(
            said.contains("avoid pregnancy") && said.contains("sage leaf"),
            "{text}\n{said}"
        );
        assert!(!said.contains("None of the cautions"), "{said}");
    }
}

#[test]
fn a_name_that_is_declared_nowhere_is_no_less_strange() {
    let snapshot = ledger(&format!(
        "{HERBS}formula probe\n  take mint leaf 10 g\n  infuse   comfrey tops in 500 ml of water for 5 minutes\n"
    ));
    assert_eq!(codes_of(&snapshot, "probe"), [CODE]);
}

#[test]
fn what_was_taken_may_be_named_in_any_way() {
    for text in [
        "take mint leaf 10 g\n  infuse   mint leaf in 500 ml of water for 5 minutes",
        "take mint leaf 10 g\n  infuse   peppermint in 500 ml of water for 5 minutes",
        "take mint leaf 10 g\n  infuse   Mint Leaves in 500 ml of water for 5 minutes",
        "take mint leaf 10 g\n  infuse   the mint in 500 ml of water for 5 minutes",
        "take mint leaf 10 g\n  infuse   the bruised mint leaf in 500 ml of water for 5 minutes",
        "take mint leaf 10 g\n  infuse   the herbs in 500 ml of water for 5 minutes",
        "take mint leaf 10 g\n  infuse   it in 500 ml of water for 5 minutes",
        "take peppermint 10 g\n  infuse   mint leaf in 500 ml of water for 5 minutes",
        "take\n    burdock root   5 g\n    marshmallow root   5 g\n    mint leaf   5 g\n  \
         decoct   the roots in 500 ml of water for 20 minutes\n  infuse   the rest in it for 5 minutes",
        "take\n    burdock root   5 g\n    marshmallow root   5 g\n  \
         decoct   burdock root and marshmallow root in 500 ml of water for 20 minutes",
        "take\n    burdock root   5 g\n    marshmallow root   5 g\n  \
         decoct   burdock root, marshmallow root in 500 ml of water for 20 minutes",
        "take\n    inner tea   5 g\n  infuse   inner tea in 500 ml of water for 5 minutes",
        "take\n    inner tea   5 g\n  infuse   sage leaf in 500 ml of water for 5 minutes",
        "take\n    inmost tea   5 g\n  infuse   sage leaf in 500 ml of water for 5 minutes",
        "take mint leaf 10 g\n  infuse   2 g of probe in 1 cup of water for 5 minutes",
        "take mint leaf 10 g\n  infuse   2 g of the blend in 1 cup of water for 5 minutes",
        "adapts inner tea\n  infuse   sage leaf in 500 ml of water for 5 minutes",
    ] {
        let snapshot = ledger(&format!("{HERBS}formula probe\n  {text}\n"));
        assert!(
            codes_of(&snapshot, "probe").iter().all(|code| code != CODE),
            "{text}\n{}",
            listed(&snapshot.diagnostics)
        );
        assert!(
            snapshot.figures.of(snapshot.formula("probe").unwrap()).is_some(),
            "{text}"
        );
    }
}

/// What an adaptation leaves out, the steps that it keeps may still name.
#[test]
fn what_is_left_out_of_an_adaptation_and_prepared_all_the_same() {
    let snapshot = ledger(&format!(
        "{HERBS}formula base\n  take\n    mint leaf   5 g\n    sage leaf   5 g\n  infuse   sage leaf in 500 ml of water for 5 minutes\n\n\
         formula probe\n  adapts base\n  take without sage leaf\n"
    ));
    let found = listed(&snapshot.diagnostics);
    assert_eq!(found.matches("prepared-but-not-taken").count(), 1, "{found}");
    assert!(snapshot.figures.of(snapshot.formula("probe").unwrap()).is_none());
    assert!(snapshot.figures.of(snapshot.formula("base").unwrap()).is_some());
}

/// A line under `take` that was refused may be the one that a step names: one slip, one finding.
#[test]
fn beside_a_refused_line_nothing_more_is_said() {
    let snapshot = ledger(&format!(
        "{HERBS}formula probe\n  take\n    mint leaf   5 g\n    sage leaf   5,5 g\n  infuse   sage leaf in 500 ml of water for 5 minutes\n"
    ));
    let codes = codes_of(&snapshot, "probe");
    assert!(!codes.contains(&CODE.to_owned()), "{codes:?}");
}
