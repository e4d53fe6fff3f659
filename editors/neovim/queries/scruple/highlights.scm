; Made by editors/tests/generate.mjs from grammar/tree-sitter/queries/highlights.scm.

; What each piece of a ledger is. The names of the captures are those that Neovim and Helix share.

(comment) @comment

(kind) @keyword
(entry name: (_) @type)
(entry id: (_) @variable)
(line_word) @property
(piece) @property

(number) @number
(doubtful_number) @error
(unit) @constant.builtin
(currency) @constant.builtin
(date) @constant
(small_word) @keyword.operator

(item name: (_) @variable)
(names (_) @variable)
(adapted (name) @variable)
(adapted (quoted) @variable)
(preparation (quoted) @variable)
(strength (name) @variable)
(lot_id) @variable
(role_name) @label
(topic) @attribute
(line source: (source) @string.special)
(items source: (source) @string.special)

(text) @string
(clause) @string
