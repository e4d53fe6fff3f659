" Vim indent file
" Language: scruple, formula ledgers of herbal practitioners

if exists('b:did_indent')
  finish
endif
let b:did_indent = 1

setlocal indentexpr=ScrupleIndent(v:lnum)
setlocal indentkeys=o,O,!^F
setlocal nosmartindent

let b:undo_indent = 'setlocal indentexpr< indentkeys< smartindent<'

if exists('*ScrupleIndent')
  finish
endif

" A line stands below its entry, an item below its list, and anything else as deep as the line above it.
function ScrupleIndent(lnum) abort
  let l:above = prevnonblank(a:lnum - 1)
  if l:above == 0 || a:lnum - l:above > 1
    return 0
  endif
  let l:text = getline(l:above)
  let l:opens = l:text =~# '^[^ \t#]' || l:text =~? '\v^\s+%(take|used)\s*%(#.*)?$'
  return indent(l:above) + (l:opens ? shiftwidth() : 0)
endfunction
