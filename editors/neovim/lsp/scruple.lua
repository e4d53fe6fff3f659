-- How Neovim 0.11 and newer start the language server of scruple.
return {
  cmd = { 'scruple', 'lsp' },
  filetypes = { 'scruple' },
  root_markers = { 'practice.scruple', '.git' },
}
