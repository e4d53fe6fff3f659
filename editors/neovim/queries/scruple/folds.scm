; Made by editors/tests/generate.mjs from grammar/tree-sitter/queries/folds.scm.

(entry) @fold
(line items: (items)) @fold
