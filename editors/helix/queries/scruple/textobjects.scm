; Made by editors/tests/generate.mjs from grammar/tree-sitter/queries/textobjects.scm.

; As Helix's text objects name them: an entry is a class, a line of it a function, an item a parameter.
(entry) @class.around
(line) @function.around
(line value: (_) @function.inside)
(item) @parameter.around
(item amount: (_) @parameter.inside)
(comment) @comment.around
