; Made by editors/tests/generate.mjs from grammar/tree-sitter/queries/injections.scm.

((comment) @injection.content
 (#set! injection.language "comment"))
