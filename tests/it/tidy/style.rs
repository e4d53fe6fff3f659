//! How things are written: every spelling of a line comes to the one of `grammar/README.md`.

use super::{attempt, held, tidied};
use crate::sandbox::project;

/// Lines under a kind of entry: each group is one line in several spellings, the tidy one first.
const LINES: &[(&str, &[&[&str]])] = &[
    (
        "herb ginger rhizome",
        &[
            &[
                "  latin             Zingiber officinale Roscoe",
                "  LATIN Zingiber   officinale\u{a0}Roscoe",
            ],
            &[
                "  also              ginger, Ginger-Root, \"E 330, so called\"",
                "\talso ginger,Ginger-Root ,\"E 330, so called\"  ",
            ],
            &[
                "  teaspoon          1.7 to 1.9 g",
                "  teaspoon 1.7-1.9g",
                "  Teaspoon 1.7 – 1.9 gram",
                "  teaspoon 1.7—1.9 GRAMMES",
                "  teaspoon  1.7  TO  1.9  grams",
            ],
            &["  teaspoon          1.7 or 1.9 g", "  teaspoon 1.7 Or 1.9 g"],
            &[
                "  teaspoon          weighed 5.1, 5.40, 5.2 g",
                "  teaspoon WEIGHED 5.1,  5.40,\t5.2 grams",
            ],
            &[
                "  heaped teaspoon   weighed 14.9 g for 5",
                "  Heaped   Teaspoon weighed 14.9g For 5",
            ],
            &[
                "  rounded dessertspoon  3 g",
                "  rounded dessertspoon                  3 g",
            ],
            &["  slice             2 g", "  slice  2g"],
            &["  thick slice       1/2 g", "  thick   slice ½ g"],
            &["  drop              0.03 ml", "  drop 0.03 millilitres"],
            &[
                "  density           1.42 g per ml",
                "  density 1.42 grams PER millilitre",
            ],
            &[
                "  strength          1:5 of sage leaf, 60%",
                "  strength   1:5  of  sage leaf, 60%",
            ],
            &["  strength          96%"],
            &[
                "  dose              0.5 to 1 g in 100 to 150 ml of water, up to 3 times a day",
                "  dose 0.5–1 g in 100–150 millilitres of water , Up To 3 Times A Day",
                "  dose 0.5-1 g in 100 – 150 ml of water,up to 3 times a day",
            ],
            &[
                "  dose              age 6 to 12: 2.5 ml, 2 times a day, for 7 days",
                "  dose age 6–12:2.5ml, 2 times a day, for 7 days",
                "  dose AGE 6-12 : 2.5 ml,2 times a day ,for 7 Days",
            ],
            &[
                "  dose              1 g every 2 hours, for 7 days",
                "  dose 1 g Every 2 hrs, For 7 Days",
            ],
            &[
                "  dose              1 g in a little water, after meals, 3 times daily",
                "  dose 1 g in a little   water ,after meals, 3 TIMES daily",
            ],
            &["  most              3 g a day", "  most 3 grams A Day"],
            &["  most              1/2 g at once", "  most ½ g at once"],
            &[
                "  most              age 4 to 12: 6 days",
                "  most Age 4-12 :6 Days",
            ],
            &["  most              2 weeks", "  most 2 Weeks", "  most 2 week"],
            &[
                "  infuse            1 to 2 g in 150 ml of boiling water for 10 to 15 minutes, covered",
                "  infuse 1–2 g in 150ml of boiling water FOR 10–15 min, covered",
            ],
            &["  nature            warming, drying", "  nature warming,drying"],
            &[
                "  mind              reflux: may worsen 1–2 hours after",
                "  mind reflux:may worsen 1–2 hours after",
                "  mind reflux  :  may worsen 1–2  hours after",
            ],
            &["  consult           pregnancy"],
            &["  avoid             age under 6"],
            &["  price             € 4 per 100 g", "  price €4 per 100 grams"],
            &[
                "  price             31.00 EUR per kg",
                "  price 31.00  EUR  PER kilo",
            ],
            &["  keep              24 months", "  keep     24   months"],
            &[
                "  pack              250 g for 7.75 from the Root seller",
                "  pack 250 grams FOR 7.75 From the Root  seller",
            ],
            &[
                "  pack              1 kg for 29.00 EUR",
                "  pack 1 kilo for 29.00 EUR",
            ],
            &["  pack              100 g", "  PACK 100g"],
            &["  minimum           150 g", "  minimum 150 grammes"],
            &[
                "  instead           lemon verbena leaf, mint",
                "  instead lemon verbena leaf,mint",
            ],
            &[
                "  taste             pungent    source some-book",
                "  taste pungent  source some-book",
                "  taste pungent\tsource   some-book",
            ],
            &[
                "  note              10–15 ½ gm “As It Stands”; e.g. this  source some-book",
                "  note 10–15 ½ gm “As It  Stands”; e.g. this     source some-book",
            ],
            // With two blanks it would be a source.
            &["  note source of the Nile"],
        ],
    ),
    (
        "formula garden tea",
        &[
            &["  adapts chest tea at 1/10", "  adapts        chest tea AT 1/10"],
            &["  person 017", "  person       017"],
            &["  one part     5 g", "  ONE  part 5g"],
            &["  makes        1.5 litres", "  makes 1.5 l"],
            &["  makes        1 litre", "  makes 1 L", "  makes 1 litres"],
            &[
                "  take thyme herb 100 g, coarse powder",
                "  take          thyme herb 100gram,coarse powder",
            ],
            &[
                "  take a, b, c as 1 : 1 1/2 : 2",
                "  take a,b,c AS 1:1½:2",
                "  take a , b, c as 1 :1 ½: 2",
            ],
            &["  take a, b in equal parts", "  Take a,b In Equal Parts"],
            &[
                "  divide       into filter bags of 2 g",
                "  divide INTO filter bags OF 2 grams",
            ],
            &["  divide       into 24 powders"],
            &[
                "  infuse       2 heaped teaspoons in 1 cup of boiling water for 10 to 15 minutes, covered",
                "  infuse 2 heaping tsp in 1 Cup of boiling water for 10 – 15 mins, covered",
            ],
            &[
                "  macerate     1:5 in 60% spirit for 14 days at 50 °C, shaken daily",
                "  macerate 1 : 5 in 60 % spirit for 14 days at 50°C, shaken daily",
            ],
            &[
                "  macerate     1:5 by weight in 450 ml of the spirit and it, 2–3 times turned",
                "  macerate 1:5 BY Weight in 450ml of the spirit AND it,2–3 times turned",
            ],
            &[
                "  decoct       the roots in 700 ml of water for 20 minutes, down to 500 ml",
                "  decoct the roots in 700 ml of water for 20 min, Down To 500 ml",
            ],
            &["  syrup        2:1 with sugar"],
            &[
                "  accept       reflux: small amount",
                "  accept reflux:small   amount",
            ],
            &["  mix          turn over 5–6 times; petals last"],
            &["  heaped teaspoon  2 g", "  heaped teaspoon 2 g"],
        ],
    ),
    (
        "batch garden tea on 2026-11-03",
        &[
            &[
                "  make         2 people for 14 days",
                "  make 2 People For 14 Days",
            ],
            &["  make         3 jars of 80 g", "  make 3 jars OF 80 grams"],
            &[
                "  make         all that stock allows",
                "  make All that Stock allows",
            ],
            &["  best before  2028-09", "  Best  before   2028-09"],
            &["  yielded      298.20 g", "  yielded 298.20g"],
            &[
                "  counted      240 g on 2026-11-20, by Two people",
                "  counted 240 grams ON 2026-11-20,by Two people",
            ],
            &["  discarded    12 g on 2026-11", "  Discarded 12g on 2026-11"],
        ],
    ),
    (
        "practice",
        &[
            &["  dessertspoon 10 ml", "  dessertspoon     10ml"],
            &[
                "  heaped       1.5 to 2.5 level spoons",
                "  heaped 1.5–2.5 Level Spoons",
            ],
            &["  error        5%", "  error 5 %"],
            &["  loss         3%", "  loss 3 %"],
            &["  mark-up      40%", "  Mark-Up 40%"],
            &["  measures     US"],
            &["  money        EUR"],
        ],
    ),
    (
        "person 017",
        &[
            &["  age          8 months", "  age 8 Months"],
            &["  age          34"],
            &["  weight       61 kg", "  weight 61kilos"],
            &["  is           pregnant, driving", "  is pregnant ,driving"],
        ],
    ),
];

/// Items of a list, in the same way.
const ITEMS: &[&[&str]] = &[
    &[
        "    rose petal                    1 1/2 teaspoons      as aroma",
        "      rose   petal 1½ tsp As aroma",
        "    rose petal 1 ½ teaspoonfuls as aroma",
    ],
    &[
        "    rose petal                    10 to 15 g",
        "    rose petal 10–15gram",
    ],
    &[
        "    fennel fruit, caraway fruit   of each 20 g, bruised",
        "    fennel fruit,caraway fruit āā 20 g,bruised",
        "    fennel fruit , caraway fruit OF  EACH 20 grams , bruised",
    ],
    &[
        "    the rather long name of some herb, and another  of each 2 parts, bruised  as base",
        "    the rather long name of some herb,and another of each 2 Parts, bruised as base",
    ],
    &[
        "    orange peel                   q.s. to 100 g",
        "    orange peel to 100 g",
        "    orange peel QS TO 100 grams",
        "    orange peel q. s. to 100g",
    ],
    &[
        "    honey                         q.s.",
        "    honey qs",
        "    honey q. s.",
    ],
    &[
        "    beeswax                       q.s., about 25 g",
        "    beeswax q.s.,about 25g",
    ],
    &[
        "    water                         2 US pints, or q.s.",
        "    water 2 US Pints,Or QS",
    ],
    &[
        "    60% spirit                    100 ml",
        "    60 % spirit 100ml",
    ],
    &[
        "    60% by weight spirit          100 ml",
        "    60% By Weight spirit 100ml",
    ],
    &["    pepper                        a pinch", "    pepper A pinch"],
    &[
        "    pepper                        33.30%",
        "    pepper 33.30 per cent",
    ],
    &[
        "    pepper                        2 lb 10 oz",
        "    pepper 2lb 10oz",
        "    pepper 2 pounds 10 oz",
    ],
    &[
        "    pepper                        500 mg to 1 g",
        "    pepper 500mg – 1g",
    ],
    &[
        "    pepper                        1 or 2 drachms",
        "    pepper 1 OR 2 drachm",
    ],
    // What says more is kept, and what must be settled elsewhere.
    &["    pepper                        2 avoirdupois ounces"],
    &["    pepper                        1 wine pint"],
    &["    pepper                        2 ounces"],
    &[
        "    pepper                        2 level teaspoons",
        "    pepper 2 level tsp",
    ],
    &["    pepper                        2 Slices"],
    &["    pepper                        007 g"],
    &["    pepper                        2/4 g"],
    // Where a blank would make a comment of it.
    &["    pepper                        20 g,#60 powder"],
    &[
        "    pepper                        20 g, No. 60 powder",
        "    pepper 20 g,No. 60 powder",
    ],
    &[
        "    pepper                        20 g    source some-book",
        "    pepper 20 g  source some-book",
    ],
    &[
        "    pepper                        20 g                 # a note",
        "    pepper 20 g # a note",
        "    pepper 20 g # a note  \t",
    ],
    &["    \"E 330\"                       1 g", "    \"E  330\" 1 g"],
];

fn file(head: &str, line: &str) -> String {
    format!("{head}\n{line}\n")
}

/// All that comes out otherwise, at once.
fn one_way(tidy: &str, spelling: &str, faults: &mut Vec<String>) {
    match attempt(spelling) {
        Ok(found) if found.text == tidy => {}
        Ok(found) => faults.push(format!("{spelling}comes to\n{}instead of\n{tidy}", found.text)),
        Err(why) => faults.push(format!(
            "{spelling}{}",
            format!("{why:?}").chars().take(80).collect::<String>()
        )),
    }
    held(spelling, spelling);
}

#[test]
fn every_line_has_one_way() {
    let mut faults = Vec::new();
    for (head, groups) in LINES {
        for group in *groups {
            for spelling in *group {
                one_way(&file(head, group[0]), &file(head, spelling), &mut faults);
            }
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn every_item_has_one_way() {
    let mut faults = Vec::new();
    for group in ITEMS {
        for spelling in *group {
            one_way(
                &file("formula a\n  take", group[0]),
                &file("formula a\n  take", spelling),
                &mut faults,
            );
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    // A name under `used` keeps its letters.
    held(
        "one name",
        "batch a on 2026-11-03\n  used\n    Heart OF Palm 10–15 g\n",
    );
    let one = tidied("batch a on 2026-11-03\n  used\n    Heart  OF Palm 10–15 g\n");
    assert!(
        one.contains("    Heart OF Palm                 10 to 15 g\n"),
        "{one}"
    );
    let used = "batch a on 2026-11-03\n  used\n    peppermint leaf               60 g from PM-114, 31.4 g from pm-131, sieved\n";
    for spelling in [
        "batch  a   on 2026-11-03\n  used\n    peppermint leaf 60g From PM-114,31.4 g from pm-131,sieved\n",
        used,
    ] {
        assert_eq!(tidied(spelling), used);
    }
}

#[test]
fn heads_are_written_in_one_way() {
    for (written, tidy) in [
        ("HERB  Lady’s-Mantle   Herb\n", "herb Lady’s-Mantle Herb\n"),
        ("herb \"a,  b\"\n", "herb \"a, b\"\n"),
        ("Lot PM-114 OF peppermint leaf", "lot PM-114 of peppermint leaf\n"),
        ("practice Low  Barn", "practice Low Barn\n"),
        (
            "herb кипрей # fireweed",
            "herb кипрей                                            # fireweed\n",
        ),
    ] {
        assert_eq!(tidied(written), tidy);
    }
}

#[test]
fn blank_lines_part_entries() {
    assert_eq!(
        tidied(
            "\n\n# top\n\n\nherb a\n  keep x\n\n\n\n  note y\nherb b\nherb c\nherb d\n  note z\n# about e\nherb e\n\n\n"
        ),
        "# top\n\nherb a\n  keep              x\n\n  note              y\n\nherb b\nherb c\n\nherb d\n  note              z\n\n# about e\nherb e\n"
    );
}

#[test]
fn comments_keep_their_places() {
    let written = "\
#top
   # an indented one at the top
herb a   # of a
      # before latin
  latin x     #   of latin
# before keep
  keep y
    # the end of a

      # the very end of a
# before the tea
formula tea
    # before take
  take # of take
# before b
    b 5 g # of b
      # behind b, far in
  # before mix
  mix gently,  # of the first half
     # between the halves
    then again # of the second half
  # the end of tea
# the end of the file
";
    assert_eq!(
        tidied(written),
        "\
#top
# an indented one at the top
herb a                                                 # of a
  # before latin
  latin             x                             #   of latin
  # before keep
  keep              y
  # the end of a

  # the very end of a

# before the tea
formula tea
  # before take
  take                                       # of take
    # before b
    b                             5 g                  # of b
    # behind b, far in
  # before mix
  mix          gently,                       # of the first half
               # between the halves
               then again                    # of the second half
  # the end of tea
# the end of the file
"
    );
    held("comments", written);
}

#[test]
fn a_comment_that_touches_an_entry_is_not_torn_away() {
    // A line that somebody has put out of use.
    let written = "practice\n  money        EUR\n# measures     imperial\n";
    assert_eq!(tidied(written), written);
    let written = "practice\n  money        EUR\n# measures     imperial\n\nherb a\n";
    assert_eq!(tidied(written), written);
}

#[test]
fn lines_that_go_on_keep_their_breaks() {
    let written = "\
herb ginger rhizome
  also ginger,   # a comma: the list goes on
    ginger root,
  gingembre
  note bought dried and cut; keep it
     apart from the mint
       # so says the label
     always  source own-book
formula a
  adapts
    chest tea
  take
    ginger rhizome,
  fennel fruit of each 20 g,
      bruised,  # well
   sieved as base
    fennel fruit 5 g
batch a on 2026-11-03
  used
    ginger rhizome 5 g from GI-1,
     6 g from GI-2
";
    assert_eq!(
        tidied(written),
        "\
herb ginger rhizome
  also              ginger,                       # a comma: the list goes on
                    ginger root,
                    gingembre
  note              bought dried and cut; keep it
                    apart from the mint
                    # so says the label
                    always  source own-book

formula a
  adapts
               chest tea
  take
    ginger rhizome,
      fennel fruit                of each 20 g,
                                  bruised,             # well
                                  sieved               as base
    fennel fruit                  5 g

batch a on 2026-11-03
  used
    ginger rhizome                5 g from GI-1,
                                  6 g from GI-2
"
    );
    held("lines that go on", written);
}

#[test]
fn sources_share_a_column_in_their_entry_only() {
    let long = "x".repeat(130);
    let written = format!(
        "herb a\n  taste b  source s\n  consult pregnancy: ask first  source s\n  mind reflux: {long}  source s\n  note c  source s\n\nherb b\n  taste b  source s\n"
    );
    assert_eq!(
        tidied(&written),
        format!(
            "herb a
  taste             b                       source s
  consult           pregnancy: ask first    source s
  mind              reflux: {long}  source s
  note              c  source s

herb b
  taste             b    source s
"
        )
    );
}

#[test]
fn a_new_line_moves_no_other() {
    let text = "formula a\n  take\n    b                             5 g\n    c                             6 g    # d\n";
    let longer = "    a very long name of a herb that stands out  7 g\n";
    let tidy = tidied(text);
    assert_eq!(tidied(&format!("{text}{longer}")), format!("{tidy}{longer}"));
}

#[test]
fn line_ends_stay_and_other_marks_go() {
    assert_eq!(
        tidied("herb a\r\n  keep x\n  note y"),
        "herb a\r\n  keep              x\r\n  note              y\r\n"
    );
    assert_eq!(tidied("herb a\n  keep x\r\n"), "herb a\n  keep              x\n");
    assert_eq!(tidied("herb a\r  keep x\r"), "herb a\n  keep              x\n");
    assert_eq!(tidied("\u{feff}herb a\n"), "herb a\n");
    assert_eq!(tidied("# a\n\u{feff}herb a\n"), "# a\nherb a\n");
    for nothing in ["", "\n", " \n\t\n", "\u{feff}", "\r\n\r\n"] {
        assert_eq!(tidied(nothing), "", "{nothing:?}");
    }
    assert_eq!(tidied("  # only this  "), "# only this\n");
}

#[test]
fn what_looks_like_a_comment_or_a_source_stays_what_it_is() {
    for text in [
        "herb a\n  note a \"quote # not a comment\" # a comment\n",
        "herb a\n  note an open \" quote # a comment\n",
        "herb \"a # b\"   # c\n",
        "herb a\n  note x#y # z\n",
        "herb a\n  note x  source y # z\n",
        "herb a\n  note x  source y  source z\n",
        "herb a\n  note words\n     source of wisdom\n",
        "herb a\n  note words  source\n",
        "herb a\n  note\n    source\n",
        "herb source\n  also source\n",
        "formula a\n  take source water 20 g\n",
        "formula a\n  take\n    source water 20 g  source b\n",
        "herb a\n  source b, c\n  source    d\n",
        "herb a\n  dose 1 g in water source, 3 times a day\n",
    ] {
        assert!(held(text, text).is_some(), "{text}");
    }
}

#[test]
fn wide_letters_take_the_room_that_they_take() {
    assert_eq!(
        tidied("formula a\n  take\n    紅茶 5 g as base\n    tea 5 g as base\n"),
        "formula a\n  take\n    紅茶                          5 g                  as base\n    tea                           5 g                  as base\n"
    );
}

#[test]
fn a_line_that_would_become_too_long_leaves_the_file_alone() {
    // 16 KiB is the most that a line may have; a tidied one has more blanks.
    let name = "b".repeat(16 * 1024 - 9);
    let text = format!("herb a\n  note {name}\n");
    match attempt(&text) {
        Err(scruple::tidy::Untidied::WouldSayElse) => {}
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_slip_leaves_the_file_alone() {
    for text in [
        "herb a\n  teaspoon 1,5 g\n",
        "nonsense\n",
        "  stray\n",
        "formula a\n  take\n    b\n",
        "herb a\n  unheard of\n",
    ] {
        match attempt(text) {
            Err(scruple::tidy::Untidied::Slips(found)) => assert_eq!(found.len(), 1, "{text}"),
            other => panic!("{text}: {other:?}"),
        }
    }
}

#[test]
fn the_pages_show_what_becomes_of_a_text() {
    let page = std::fs::read_to_string(project().join("grammar/README.md")).unwrap();
    let section = page.split("## How `tidy` writes").nth(1).unwrap();
    let blocks: Vec<&str> = section
        .split("```scruple\n")
        .skip(1)
        .take(2)
        .map(|rest| rest.split("```").next().unwrap())
        .collect();
    assert_eq!(tidied(blocks[0]), blocks[1]);
    let readme = std::fs::read_to_string(project().join("README.md")).unwrap();
    let block = readme.split("```scruple\n").nth(1).unwrap();
    let block = block.split("```").next().unwrap();
    assert_eq!(tidied(block), block);
}
