autocmd BufNewFile,BufRead *.scruple setfiletype scruple
