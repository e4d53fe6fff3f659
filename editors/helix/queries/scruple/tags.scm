; Made by editors/tests/generate.mjs from grammar/tree-sitter/queries/tags.scm.

; An outline: every entry by its kind and name.
(entry name: (_) @name) @definition.class
(item name: (_) @name) @reference.class
