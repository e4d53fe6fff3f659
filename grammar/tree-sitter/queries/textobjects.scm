; As Neovim's text objects name them: an entry is a class, a line of it a function, an item a parameter.
(entry) @class.outer
(line) @function.outer
(line value: (_) @function.inner)
(item) @parameter.outer
(item amount: (_) @parameter.inner)
(comment) @comment.outer
