" Vim filetype plugin
" Language: scruple, formula ledgers of herbal practitioners

if exists('b:did_ftplugin')
  finish
endif
let b:did_ftplugin = 1

setlocal comments=:# commentstring=#\ %s
setlocal expandtab shiftwidth=2 softtabstop=2 tabstop=4
setlocal formatoptions-=t formatoptions+=croql
setlocal iskeyword+=-

let b:undo_ftplugin = 'setlocal comments< commentstring< expandtab< shiftwidth< softtabstop< tabstop< formatoptions< iskeyword<'
