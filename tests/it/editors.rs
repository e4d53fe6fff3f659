//! The words that the editors' grammars know are those of the language.
//!
//! `grammar/words.json` is made from the table in `src/syntax/words.rs`; with `UPDATE_GENERATED=1` it is
//! rewritten. What the editors are given is made from that file in turn, and compared with it, by
//! `editors/tests/run.mjs`.

use std::path::Path;

use scruple::syntax::tree::Kind;

/// The table of kinds and line words, a line for each, as JSON.
fn table() -> String {
    let kinds: Vec<String> = Kind::ALL
        .into_iter()
        .map(|kind| {
            let lines: Vec<String> = kind
                .line_words()
                .iter()
                .map(|line| {
                    format!(
                        "        {{ \"word\": \"{}\", \"pattern\": \"{}\", \"repeats\": {} }}",
                        line.word,
                        format!("{:?}", line.pattern).to_lowercase(),
                        line.repeats
                    )
                })
                .collect();
            format!(
                "    {{\n      \"kind\": \"{}\",\n      \"pieces\": {},\n      \"lines\": [\n{}\n      ]\n    }}",
                kind.word(),
                kind.has_pieces(),
                lines.join(",\n")
            )
        })
        .collect();
    format!("{{\n  \"kinds\": [\n{}\n  ]\n}}\n", kinds.join(",\n"))
}

#[test]
fn the_table_of_words_for_editors_is_that_of_the_code() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("grammar/words.json");
    let made = table();
    assert!(
        serde_json::from_str::<serde_json::Value>(&made).is_ok(),
        "the table is no JSON"
    );
    if std::env::var_os("UPDATE_GENERATED").is_some() {
        std::fs::write(&path, &made).unwrap();
    }
    let kept = std::fs::read_to_string(&path).unwrap_or_default();
    assert_eq!(
        kept, made,
        "grammar/words.json is not what the code says; run again with UPDATE_GENERATED=1, and then \
         `node editors/tests/generate.mjs`"
    );
}
