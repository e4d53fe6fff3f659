//! What is bought ready-made of a herb and taken by volume is told, though what it holds of the herb is not.

use super::{dec, figure, low_barn, near, on_disk, r, run};

/// 30 of 90 ml, 4 ml at a time and at the most three times a day: 4 / 3 ml, and 4 ml.
#[test]
fn a_tincture_that_is_bought_is_told_by_its_volume() {
    let ran = run(&low_barn(), &["doses", "throat drops"]);
    let said = ran.flat();
    assert!(
        said.contains(
            "sage tincture 1.33 ml in a dose, 4 ml (2.67 to 4 ml) in a day; what it holds of sage leaf is not reckoned"
        ),
        "{said}"
    );
    let json = run(&low_barn(), &["doses", "throat drops", "--as", "json"]).json();
    let bought = &json["bought"][0];
    assert_eq!(bought["name"], "sage tincture");
    assert_eq!(bought["made_of"], "sage leaf");
    assert!(near(&figure(&bought["at_once"]["nominal"]), &r(4, 3)));
    assert!(near(&figure(&bought["a_day"]["nominal"]), &dec("4")));
    // The weights that are known are not all of it.
    assert_eq!(json["herbs"][0]["herb"], "thyme herb");
    assert!(json["herbs"][0]["share"].is_null(), "{json:#}");
}

#[test]
fn why_says_of_the_herb_what_is_bought_of_it() {
    let ran = run(&low_barn(), &["why", "throat drops", "sage leaf"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let said = ran.flat();
    assert!(
        said.contains("sage tincture") && said.contains("1.333 ml in a dose"),
        "{said}"
    );
    assert!(
        said.contains("bought ready-made of sage leaf: what it holds of that is not reckoned"),
        "{said}"
    );
}

/// Through a formula inside: 20 of 50 ml hold 2 / 5 of 10 ml of the tincture, 4 ml in 100 ml; a dose of 5 ml has 0.2 ml.
#[test]
fn what_is_bought_is_told_through_formulas_inside() {
    let folder = on_disk(&[(
        "practice.scruple",
        "herb sage leaf\n\nmaterial sage tincture\n  strength   1:5 of sage leaf, 60%\n\n\
         formula drops\n  take\n    sage tincture   10 ml\n    water   q.s. to 50 ml\n\n\
         formula mixture\n  take\n    drops   20 ml\n    water   q.s. to 100 ml\n  dose   5 ml, 2 times a day\n",
    )]);
    let json = run(folder.path(), &["doses", "mixture", "--as", "json"]).json();
    let bought = &json["bought"][0];
    assert!(
        near(&figure(&bought["at_once"]["nominal"]), &dec("0.2")),
        "{json:#}"
    );
    assert!(
        near(&figure(&bought["a_day"]["nominal"]), &dec("0.4")),
        "{json:#}"
    );
}
