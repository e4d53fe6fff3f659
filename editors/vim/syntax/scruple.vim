" Vim syntax file
" Language: scruple, formula ledgers of herbal practitioners
" Made by editors/tests/generate.mjs; its source is editors/tests/made/vim.mjs.

if exists('b:current_syntax')
  finish
endif
let s:cpo_save = &cpo
set cpo&vim
scriptencoding utf-8

syntax case ignore
syntax spell notoplevel
" entries stand alone
syntax sync match scrupleSync grouphere NONE /\v\c^%(practice|source|herb|material|formula|person|batch|lot|supply|set|topic)>/
syntax sync minlines=50

" comments, and entries by their first line
syntax match scrupleComment /\v%(^|[ \t\u00a0])@2<=#.*$/ contains=@Spell
syntax match scrupleKind /\v^%(practice|source|herb|material|formula|person|batch|lot|supply|set|topic)%([ \t\u00a0]|$)@=/ nextgroup=scrupleEntryName skipwhite
syntax match scrupleKind /\v^%(batch|supply)%([ \t\u00a0])@=/ nextgroup=scrupleDatedName,scrupleEntryName skipwhite
syntax match scrupleKind /\v^lot%([ \t\u00a0]|$)@=/ nextgroup=scrupleLotId skipwhite
syntax match scrupleEntryName /\v%("[^"]*"|[^ \t\u00a0#].{-})%([ \t\u00a0]*$|[ \t\u00a0]+#)@=/ contained
syntax match scrupleDatedName /\v[^ \t\u00a0#].{-}%([ \t\u00a0]+on[ \t\u00a0]+\d{4}-\d)@=/ contained nextgroup=scrupleOn skipwhite
syntax match scrupleOn /\von/ contained nextgroup=scrupleDate skipwhite
syntax match scrupleLotId /\v[^ \t\u00a0,:"]+/ contained nextgroup=scrupleOf skipwhite
syntax match scrupleOf /\vof%([ \t\u00a0])@=/ contained nextgroup=scrupleEntryName skipwhite

" numbers, measures, and the words between them
syntax match scrupleUnit /\v%(\%|per[ \t\u00a0]+cent%([ \t\u00a0,:]|$)@=|%(%(\t|[ \u00a0][ \u00a0])@4<=source[ \t\u00a0]+[^ \t\u00a0#])@!%(%(to|or|as|in|for|at|with|from|of|and|down|on|up|every|an|a|per|once|twice|daily|times)%([ \t\u00a0,:]|$))@![^ \t\u00a0,:"#0-9½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞‐-―−-]%(%([‐-―−-][ \t\u00a0]*[0-9½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞])@![^ \t\u00a0,:"])*%([ \t\u00a0]+%(%(\t|[ \u00a0][ \u00a0])@4<=source[ \t\u00a0]+[^ \t\u00a0#])@!%(%(to|or|as|in|for|at|with|from|of|and|down|on|up|every|an|a|per|once|twice|daily|times)%([ \t\u00a0,:]|$))@![^ \t\u00a0,:"#0-9½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞‐-―−-]%(%([‐-―−-][ \t\u00a0]*[0-9½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞])@![^ \t\u00a0,:"])*){0,3})/ contained
syntax match scrupleCurrency /\v\C[€£$¥]|%([^ \t\u00a0])@1<![A-Z]{3}%([ \t\u00a0]|$)@=/ contained
syntax match scrupleNumber /\v%([^ \t\u00a0,:€£$¥‐-―−-])@3<!%(\d+[ \t\u00a0]+\d+\/\d+|\d+\/\d+|%(\d+[ \t\u00a0]*)?[½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞]|\d+%(\.\d+)?)/ contained nextgroup=scrupleUnit skipwhite
syntax match scrupleDoubtful /\v%([^ \t\u00a0,:‐-―−-])@3<!%(\d+[ \t\u00a0]*[‐-―−-][ \t\u00a0]*%(\d+\/\d+|[½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞])|\.\d+|\d+[,;'’·]\d+|\d+%([.,;'’·\/]{1,2}\d+){2,})/ contained nextgroup=scrupleUnit skipwhite
syntax match scrupleDate /\v\d{4}-\d{2}%(-\d{2})?%([ \t\u00a0]|$)@=/ contained
syntax match scrupleSourceWord /\v%(\t|[ \u00a0][ \u00a0])@4<=source%([ \t\u00a0]+[^ \t\u00a0#])@=/ contained nextgroup=scrupleSource skipwhite
syntax match scrupleSource /\v[^ \t\u00a0].{-}%([ \t\u00a0]*$|[ \t\u00a0]+#)@=/ contained
syntax match scrupleQuoted /\v"[^"]*"/ contained
syntax match scrupleQuotedName /\v"[^"]+"/ contained
syntax match scrupleAmountWord /\v%([^ \t\u00a0,:])@1<!%(to|or|weighed|for|per|of|into|daily|times)%([ \t\u00a0,:]|$)@=/ contained
syntax match scrupleMeasureWord /\v%([^ \t\u00a0,:])@1<!%(per|a|into)%([ \t\u00a0]+%(%(to|or|as|in|for|at|with|from|of|and|down|on|up|every|an|a|per|once|twice|daily|times)%([ \t\u00a0,:]|$))@![^ \t\u00a0,:"#0-9½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞‐-―−-]%(%([‐-―−-][ \t\u00a0]*[0-9½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞])@![^ \t\u00a0,:"])*)@=/ contained nextgroup=scrupleUnit skipwhite
syntax match scrupleAmountWord /\v%([^ \t\u00a0,:])@1<!%(%(a|per|each|every)[ \t\u00a0]+day|at[ \t\u00a0]+once|in[ \t\u00a0]+one[ \t\u00a0]+dose|all[ \t\u00a0]+%(that[ \t\u00a0]+)?stock[ \t\u00a0]+allows|by[ \t\u00a0]+weight)%([ \t\u00a0,:]|$)@=/ contained
syntax match scrupleAmountWord /\v%([^ \t\u00a0,:])@1<!age%([ \t\u00a0]+under)?%([ \t\u00a0]+[0-9½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞])@=/ contained
syntax match scrupleOnDay /\v%([^ \t\u00a0,:])@1<!on%([ \t\u00a0]+\d{4}-\d)@=/ contained nextgroup=scrupleShelfDay skipwhite
syntax match scrupleShelfDay /\v\d{4}-\d{2}%(-\d{2})?%([ \t\u00a0,]|$)@=/ contained nextgroup=scrupleShelfClause
syntax match scrupleShelfClause /\v[ \t\u00a0]*,[ \t\u00a0]*[^ \t\u00a0#].{-}%([ \t\u00a0]*$|[ \t\u00a0]+#|%(\t|[ \u00a0]{2})source[ \t\u00a0]+[^ \t\u00a0#])@=/ contained
syntax match scrupleFromSeller /\v%([^ \t\u00a0,:])@1<!from%([ \t\u00a0]+[^ \t\u00a0#])@=/ contained nextgroup=scrupleSeller skipwhite
syntax match scrupleSeller /\v[^ \t\u00a0#].{-}%([ \t\u00a0]*$|[ \t\u00a0]+#|%(\t|[ \u00a0]{2})source[ \t\u00a0]+[^ \t\u00a0#])@=/ contained

" lines: a word, what stands after it, and all lines that are indented further
syntax region scrupleLineOfPiece matchgroup=scrupleLineWord start=/\v^\z([ \t\u00a0]+)[^ \t\u00a0,:"#.0-9½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞][^ \t\u00a0,:"0-9½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞]*%([ \t\u00a0]+%(weighed[ \t\u00a0])@![^ \t\u00a0,:"#0-9½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞]+){0,2}%([ \t\u00a0]+%(weighed[ \t\u00a0]|\.?[0-9½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞]))@=/ end=/\v^%(\z1[ \t\u00a0]+|[ \t\u00a0]*$|[ \t\u00a0]*#)@!/me=s-1 contains=scrupleComment,@scrupleAmounts keepend
syntax region scrupleLineOfWords matchgroup=scrupleLineWord start=/\v^\z([ \t\u00a0]+)%(checked[ \t\u00a0]+by|weighed[ \t\u00a0]+by|reference|children|measures|supplier|address|author|effect|family|lesson|totals|given|latin|money|ounce|title|dram|keep|note|sign|then|year|for|mix)%([ \t\u00a0]|$)@=/ end=/\v^%(\z1[ \t\u00a0]+|[ \t\u00a0]*$|[ \t\u00a0]*#)@!/me=s-1 contains=scrupleComment,scrupleQuoted,scrupleSourceWord,@Spell keepend
syntax region scrupleLineOfNames matchgroup=scrupleLineWord start=/\v^\z([ \t\u00a0]+)%(to[ \t\u00a0]+person|allergic|from[ \t\u00a0]+lot|instead|nature|person|source|holds|takes|taste|also|part|when|is)%([ \t\u00a0]|$)@=/ end=/\v^%(\z1[ \t\u00a0]+|[ \t\u00a0]*$|[ \t\u00a0]*#)@!/me=s-1 contains=scrupleComment,scrupleListed,scrupleQuotedName,scrupleSourceWord keepend
syntax region scrupleLineOfCaution matchgroup=scrupleLineWord start=/\v^\z([ \t\u00a0]+)%(consult|accept|avoid|mind)%([ \t\u00a0]|$)@=/ end=/\v^%(\z1[ \t\u00a0]+|[ \t\u00a0]*$|[ \t\u00a0]*#)@!/me=s-1 contains=scrupleComment,scrupleTopic,scrupleQuoted,scrupleSourceWord,@Spell keepend
syntax region scrupleLineOfAdapts matchgroup=scrupleLineWord start=/\v^\z([ \t\u00a0]+)%(adapts)%([ \t\u00a0]|$)@=/ end=/\v^%(\z1[ \t\u00a0]+|[ \t\u00a0]*$|[ \t\u00a0]*#)@!/me=s-1 contains=scrupleComment,scrupleAdapted,scrupleQuotedName,scrupleShareWord,scrupleSourceWord keepend
syntax region scrupleLineOfDate matchgroup=scrupleLineWord start=/\v^\z([ \t\u00a0]+)%(best[ \t\u00a0]+before|from[ \t\u00a0]+batch|received)%([ \t\u00a0]|$)@=/ end=/\v^%(\z1[ \t\u00a0]+|[ \t\u00a0]*$|[ \t\u00a0]*#)@!/me=s-1 contains=scrupleComment,scrupleDate,scrupleSourceWord keepend
syntax region scrupleLineOfStrength matchgroup=scrupleLineWord start=/\v^\z([ \t\u00a0]+)%(strength)%([ \t\u00a0]|$)@=/ end=/\v^%(\z1[ \t\u00a0]+|[ \t\u00a0]*$|[ \t\u00a0]*#)@!/me=s-1 contains=scrupleComment,@scrupleAmounts,scrupleOfWhat,scrupleStrengthClause keepend
syntax region scrupleLineOfAmounts matchgroup=scrupleLineWord start=/\v^\z([ \t\u00a0]+)%(rounded[ \t\u00a0]+dessertspoon|heaped[ \t\u00a0]+dessertspoon|level[ \t\u00a0]+dessertspoon|rounded[ \t\u00a0]+tablespoon|heaped[ \t\u00a0]+tablespoon|level[ \t\u00a0]+tablespoon|rounded[ \t\u00a0]+teaspoon|heaped[ \t\u00a0]+teaspoon|level[ \t\u00a0]+teaspoon|dessertspoon|from[ \t\u00a0]+memory|rounded[ \t\u00a0]+cup|heaped[ \t\u00a0]+cup|tablespoon|discarded|level[ \t\u00a0]+cup|wineglass|cylinder|one[ \t\u00a0]+part|teaspoon|counted|density|handful|mark-up|minimum|rounded|yielded|amount|divide|heaped|margin|scales|teacup|weight|error|makes|pinch|price|cost|drop|loss|make|most|pack|age|cup)%([ \t\u00a0]|$)@=/ end=/\v^%(\z1[ \t\u00a0]+|[ \t\u00a0]*$|[ \t\u00a0]*#)@!/me=s-1 contains=scrupleComment,@scrupleAmounts keepend
syntax region scrupleLineOfSteps matchgroup=scrupleLineWord start=/\v^\z([ \t\u00a0]+)%(percolate|macerate|decoct|infuse|syrup)%([ \t\u00a0]|$)@=/ end=/\v^%(\z1[ \t\u00a0]+|[ \t\u00a0]*$|[ \t\u00a0]*#)@!/me=s-1 contains=scrupleComment,scrupleNumber,scrupleDoubtful,scrupleStepWord,scrupleQuotedName,scrupleStepClause,scrupleSourceWord keepend
syntax region scrupleLineOfDose matchgroup=scrupleLineWord start=/\v^\z([ \t\u00a0]+)%(dose)%([ \t\u00a0]|$)@=/ end=/\v^%(\z1[ \t\u00a0]+|[ \t\u00a0]*$|[ \t\u00a0]*#)@!/me=s-1 contains=scrupleComment,scrupleNumber,scrupleDoubtful,scrupleDoseWord,scrupleDoseArticle,scrupleDoseClause,scrupleSourceWord keepend
syntax region scrupleLineOfTake matchgroup=scrupleLineWord start=/\v^\z([ \t\u00a0]+)%(take)%([ \t\u00a0]|$)@=/ end=/\v^%(\z1[ \t\u00a0]+|[ \t\u00a0]*$|[ \t\u00a0]*#)@!/me=s-1 contains=scrupleComment,scrupleWithout,scrupleByVolume,scrupleTaken,scrupleQuotedName,scrupleAmount,scrupleSourceWord keepend
syntax region scrupleLineOfUsed matchgroup=scrupleLineWord start=/\v^\z([ \t\u00a0]+)%(used)%([ \t\u00a0]|$)@=/ end=/\v^%(\z1[ \t\u00a0]+|[ \t\u00a0]*$|[ \t\u00a0]*#)@!/me=s-1 contains=scrupleComment,scrupleTaken,scrupleQuotedName,scruplePortions keepend
syntax cluster scrupleAmounts contains=scrupleNumber,scrupleDoubtful,scrupleCurrency,scrupleAmountWord,scrupleMeasureWord,scrupleOnDay,scrupleFromSeller,scrupleSourceWord

" what stands in them
syntax match scrupleListed /\v[^ \t\u00a0,"]%([^,"]{-}[^ \t\u00a0,"])?%([ \t\u00a0]*[,"]|[ \t\u00a0]*$|[ \t\u00a0]+#|%(\t|[ \u00a0]{2})source[ \t\u00a0]+[^ \t\u00a0#])@=/ contained
syntax match scrupleTopic /\v%(^[ \t\u00a0]+%(consult|accept|avoid|mind)[ \t\u00a0]+)@<=[^ \t\u00a0:][^:]{-}%([ \t\u00a0]*:|[ \t\u00a0]*$|[ \t\u00a0]+#|%(\t|[ \u00a0]{2})source[ \t\u00a0]+[^ \t\u00a0#])@=/ contained
syntax match scrupleAdapted /\v[^ \t\u00a0,":]%([^,":]{-}[^ \t\u00a0,":])?%([ \t\u00a0]+at[ \t\u00a0]+[0-9½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞]|[ \t\u00a0]*$|[ \t\u00a0]+#|%(\t|[ \u00a0]{2})source[ \t\u00a0]+[^ \t\u00a0#])@=/ contained
syntax match scrupleShareWord /\v%([^ \t\u00a0,:])@1<!at%([ \t\u00a0]+[0-9½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞])@=/ contained nextgroup=scrupleNumber skipwhite
syntax match scrupleOfWhat /\v%([^ \t\u00a0,:])@1<!of%([ \t\u00a0])@=/ contained nextgroup=scrupleWhat skipwhite
syntax match scrupleWhat /\v[^ \t\u00a0,][^,]{-}%([ \t\u00a0]*,|[ \t\u00a0]*$|[ \t\u00a0]+#|%(\t|[ \u00a0]{2})source[ \t\u00a0]+[^ \t\u00a0#])@=/ contained
syntax match scrupleStrengthClause /\v,%([ \t\u00a0]*%([0-9½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞]))@![ \t\u00a0]*\zs[^ \t\u00a0,].{-}%([ \t\u00a0]*,|[ \t\u00a0]*$|[ \t\u00a0]+#|%(\t|[ \u00a0]{2})source[ \t\u00a0]+[^ \t\u00a0#])@=/ contained
syntax match scrupleStepClause /\v,%([ \t\u00a0]*%(%(in|with|for|at)[ \t\u00a0]+[0-9½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞]|down[ \t\u00a0]+t))@![ \t\u00a0]*\zs[^ \t\u00a0,].{-}%([ \t\u00a0]*,|[ \t\u00a0]*$|[ \t\u00a0]+#|%(\t|[ \u00a0]{2})source[ \t\u00a0]+[^ \t\u00a0#])@=/ contained
syntax match scrupleStepWord /\v%([^ \t\u00a0,:])@1<!%(in|with|for|at|down[ \t\u00a0]+to|of|and|by[ \t\u00a0]+weight|%(to|or)%([ \t\u00a0]+\.?[0-9½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞])@=)%([ \t\u00a0,:]|$)@=/ contained
syntax match scrupleDoseClause /\v,%([ \t\u00a0]*%([0-9½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞]|%(every|for|in)[ \t\u00a0]+[0-9½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞]|up[ \t\u00a0]+t|daily|%(once|twice)[ \t\u00a0]+[adpe]))@![ \t\u00a0]*\zs[^ \t\u00a0,].{-}%([ \t\u00a0]*,|[ \t\u00a0]*$|[ \t\u00a0]+#|%(\t|[ \u00a0]{2})source[ \t\u00a0]+[^ \t\u00a0#])@=/ contained
syntax match scrupleDoseWord /\v%([^ \t\u00a0,:])@1<!%(up[ \t\u00a0]+to|times|%(a|per|each|every)[ \t\u00a0]+day|once|twice|daily|every|for|in|of|age%([ \t\u00a0]+%(under[ \t\u00a0]|[0-9½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞]))@=|under|%(to|or)%([ \t\u00a0]+\.?[0-9½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞])@=)%([ \t\u00a0,:]|$)@=/ contained
syntax match scrupleDoseArticle /\v%(^[ \t\u00a0]+dose[ \t\u00a0]+)@<=an?%([ \t\u00a0]+%(%(to|or|as|in|for|at|with|from|of|and|down|on|up|every|an|a|per|once|twice|daily|times)%([ \t\u00a0,:]|$))@![^ \t\u00a0,:"#0-9½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞‐-―−-]%(%([‐-―−-][ \t\u00a0]*[0-9½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞])@![^ \t\u00a0,:"])*)@=/ contained nextgroup=scrupleUnit skipwhite
syntax match scrupleTaken /\v%(%([0-9½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞]|\.\d|of[ \t\u00a0]+each%([ \t\u00a0,:]|$)@=|āā%([ \t\u00a0,:]|$)@=|%(in[ \t\u00a0]+)?equal[ \t\u00a0]+parts%([ \t\u00a0,:]|$)@=|%(q\.[ \t\u00a0]?s\.|qs)%([ \t\u00a0,:]|$)@=|%(about|to)[ \t\u00a0]+[0-9½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞]|as[ \t\u00a0]+%(\d+[ \t\u00a0]+\d+\/\d+|\d+\/\d+|%(\d+[ \t\u00a0]*)?[½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞]|\d+%(\.\d+)?)[ \t\u00a0]*:|an?[ \t\u00a0]+%(%(%(level|rounded|heaped|heaping)[ \t\u00a0]+)?%(teaspoon|dessertspoon|tablespoon|cup|pinch|handful|wineglass|teacup|drop)|%(%(to|or|as|in|for|at|with|from|of|and|down|on|up|every|an|a|per|once|twice|daily|times)%([ \t\u00a0,:]|$))@![^ \t\u00a0,:"#0-9½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞‐-―−-]%(%([‐-―−-][ \t\u00a0]*[0-9½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞])@![^ \t\u00a0,:"])*[ \t\u00a0]*%(,|$|#|as[ \t\u00a0]))))@!#@![^ \t\u00a0,:"]+%([ \t\u00a0]+%(%([0-9½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞]|\.\d|of[ \t\u00a0]+each%([ \t\u00a0,:]|$)@=|āā%([ \t\u00a0,:]|$)@=|%(in[ \t\u00a0]+)?equal[ \t\u00a0]+parts%([ \t\u00a0,:]|$)@=|%(q\.[ \t\u00a0]?s\.|qs)%([ \t\u00a0,:]|$)@=|%(about|to)[ \t\u00a0]+[0-9½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞]|as[ \t\u00a0]+%(\d+[ \t\u00a0]+\d+\/\d+|\d+\/\d+|%(\d+[ \t\u00a0]*)?[½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞]|\d+%(\.\d+)?)[ \t\u00a0]*:|an?[ \t\u00a0]+%(%(%(level|rounded|heaped|heaping)[ \t\u00a0]+)?%(teaspoon|dessertspoon|tablespoon|cup|pinch|handful|wineglass|teacup|drop)|%(%(to|or|as|in|for|at|with|from|of|and|down|on|up|every|an|a|per|once|twice|daily|times)%([ \t\u00a0,:]|$))@![^ \t\u00a0,:"#0-9½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞‐-―−-]%(%([‐-―−-][ \t\u00a0]*[0-9½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞])@![^ \t\u00a0,:"])*[ \t\u00a0]*%(,|$|#|as[ \t\u00a0]))))@!#@![^ \t\u00a0,:"]+)*/ contained
syntax match scrupleByVolume /\v^[ \t\u00a0]*%(\d+[ \t\u00a0]+\d+\/\d+|\d+\/\d+|%(\d+[ \t\u00a0]*)?[½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞]|\d+%(\.\d+)?)[ \t\u00a0]*\%%([ \t\u00a0]+by[ \t\u00a0]+weight)?%([ \t\u00a0]+[^ \t\u00a0,#0-9½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞])@=/ contained transparent contains=scrupleNumber,scrupleAmountWord
syntax match scrupleWithout /\v%(^[ \t\u00a0]+)@<=without%([ \t\u00a0])@=/ contained
syntax match scrupleWithout /\v%(^[ \t\u00a0]+take[ \t\u00a0]+)@<=without%([ \t\u00a0])@=/ contained
syntax region scrupleAmount start=/\v%([^ \t\u00a0])@1<!%(%([0-9½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞]|\.\d|of[ \t\u00a0]+each%([ \t\u00a0,:]|$)@=|āā%([ \t\u00a0,:]|$)@=|%(in[ \t\u00a0]+)?equal[ \t\u00a0]+parts%([ \t\u00a0,:]|$)@=|%(q\.[ \t\u00a0]?s\.|qs)%([ \t\u00a0,:]|$)@=|%(about|to)[ \t\u00a0]+[0-9½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞]|as[ \t\u00a0]+%(\d+[ \t\u00a0]+\d+\/\d+|\d+\/\d+|%(\d+[ \t\u00a0]*)?[½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞]|\d+%(\.\d+)?)[ \t\u00a0]*:|an?[ \t\u00a0]+%(%(%(level|rounded|heaped|heaping)[ \t\u00a0]+)?%(teaspoon|dessertspoon|tablespoon|cup|pinch|handful|wineglass|teacup|drop)|%(%(to|or|as|in|for|at|with|from|of|and|down|on|up|every|an|a|per|once|twice|daily|times)%([ \t\u00a0,:]|$))@![^ \t\u00a0,:"#0-9½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞‐-―−-]%(%([‐-―−-][ \t\u00a0]*[0-9½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞])@![^ \t\u00a0,:"])*[ \t\u00a0]*%(,|$|#|as[ \t\u00a0]))))@=/ end=/$/ contained oneline keepend contains=scrupleNumber,scrupleDoubtful,scrupleItemWord,scrupleItemArticle,scrupleSourceWord,scrupleComment,scrupleClause,scrupleAs
syntax region scruplePortions start=/\v%([^ \t\u00a0])@1<!%([0-9½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞])@=/ end=/$/ contained oneline keepend contains=scrupleNumber,scrupleDoubtful,scrupleItemWord,scrupleFrom,scruplePortionClause,scrupleComment
syntax match scruplePortionClause /\v,%([ \t\u00a0]*%([0-9½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞]))@![ \t\u00a0]*\zs[^ \t\u00a0,].{-}%([ \t\u00a0]*,|[ \t\u00a0]*$|[ \t\u00a0]+#|%(\t|[ \u00a0]{2})source[ \t\u00a0]+[^ \t\u00a0#])@=/ contained
syntax match scrupleFrom /\v%([^ \t\u00a0,:])@1<!from%([ \t\u00a0])@=/ contained nextgroup=scrupleFromLot skipwhite
syntax match scrupleFromLot /\v[^ \t\u00a0,:"]+/ contained
syntax match scrupleItemWord /\v%([^ \t\u00a0,:])@1<!%(of[ \t\u00a0]+each|āā|%(in[ \t\u00a0]+)?equal[ \t\u00a0]+parts|about|to|or)%([ \t\u00a0,:]|$)@=/ contained
syntax match scrupleItemWord /\v%([^ \t\u00a0,:])@1<!%(q\.[ \t\u00a0]?s\.|qs)%([ \t\u00a0,:]|$)@=/ contained
syntax match scrupleItemArticle /\v%([^ \t\u00a0,:])@1<!an?%([ \t\u00a0]+%(%(to|or|as|in|for|at|with|from|of|and|down|on|up|every|an|a|per|once|twice|daily|times)%([ \t\u00a0,:]|$))@![^ \t\u00a0,:"#0-9½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞‐-―−-]%(%([‐-―−-][ \t\u00a0]*[0-9½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞])@![^ \t\u00a0,:"])*)@=/ contained nextgroup=scrupleUnit skipwhite
syntax match scrupleAs /\v%([^ \t\u00a0,:])@1<!as%([ \t\u00a0])@=/ contained nextgroup=scrupleRole skipwhite
syntax match scrupleRole /\v[^ \t\u00a0,:"]+%([ \t\u00a0]+%(as[ \t\u00a0])@!#@![^ \t\u00a0,:"]+){0,2}/ contained
syntax match scrupleItemWord /\v%([^ \t\u00a0,:])@1<!as%([ \t\u00a0]+%(\d+[ \t\u00a0]+\d+\/\d+|\d+\/\d+|%(\d+[ \t\u00a0]*)?[½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞]|\d+%(\.\d+)?)[ \t\u00a0]*:)@=/ contained
syntax match scrupleClause /\v,%([ \t\u00a0]*%(about[ \t\u00a0]+[0-9½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞]|or[ \t\u00a0]+q|as[ \t\u00a0]+[^ \t\u00a0,:"]+%([ \t\u00a0]+%(as[ \t\u00a0])@!#@![^ \t\u00a0,:"]+){0,2}%([ \t\u00a0]*$|[ \t\u00a0]+#|%(\t|[ \u00a0]{2})source[ \t\u00a0]+[^ \t\u00a0#])))@![ \t\u00a0]*\zs[^ \t\u00a0,].{-}%([ \t\u00a0]*,|[ \t\u00a0]+as[ \t\u00a0]+[^ \t\u00a0,:"]+%([ \t\u00a0]+%(as[ \t\u00a0])@!#@![^ \t\u00a0,:"]+){0,2}%([ \t\u00a0]*$|[ \t\u00a0]+#|%(\t|[ \u00a0]{2})source[ \t\u00a0]+[^ \t\u00a0#])|[ \t\u00a0]*$|[ \t\u00a0]+#|%(\t|[ \u00a0]{2})source[ \t\u00a0]+[^ \t\u00a0#])@=/ contained

" the groups, by the usual names
highlight default link scrupleOn scrupleSmallWord
highlight default link scrupleOf scrupleSmallWord
highlight default link scrupleSourceWord scrupleSmallWord
highlight default link scrupleAmountWord scrupleSmallWord
highlight default link scrupleMeasureWord scrupleSmallWord
highlight default link scrupleShareWord scrupleSmallWord
highlight default link scrupleOfWhat scrupleSmallWord
highlight default link scrupleStepWord scrupleSmallWord
highlight default link scrupleDoseWord scrupleSmallWord
highlight default link scrupleDoseArticle scrupleSmallWord
highlight default link scrupleWithout scrupleSmallWord
highlight default link scrupleItemWord scrupleSmallWord
highlight default link scrupleItemArticle scrupleSmallWord
highlight default link scrupleAs scrupleSmallWord
highlight default link scrupleFrom scrupleSmallWord
highlight default link scrupleOnDay scrupleSmallWord
highlight default link scrupleFromSeller scrupleSmallWord
highlight default link scrupleLotId scrupleName
highlight default link scrupleQuotedName scrupleName
highlight default link scrupleListed scrupleName
highlight default link scrupleAdapted scrupleName
highlight default link scrupleWhat scrupleName
highlight default link scrupleTaken scrupleName
highlight default link scrupleFromLot scrupleName
highlight default link scrupleDatedName scrupleEntryName
highlight default link scrupleLineOfWords scrupleWords
highlight default link scrupleLineOfCaution scrupleWords
highlight default link scrupleStrengthClause scrupleWords
highlight default link scrupleStepClause scrupleWords
highlight default link scrupleDoseClause scrupleWords
highlight default link scrupleClause scrupleWords
highlight default link scruplePortionClause scrupleWords
highlight default link scrupleShelfClause scrupleWords
highlight default link scrupleSeller scrupleWords
highlight default link scrupleCurrency scrupleUnit
highlight default link scrupleComment Comment
highlight default link scrupleKind Statement
highlight default link scrupleEntryName Title
highlight default link scrupleLineWord Keyword
highlight default link scrupleNumber Number
highlight default link scrupleDoubtful Error
highlight default link scrupleUnit Type
highlight default link scrupleSmallWord Operator
highlight default link scrupleName Identifier
highlight default link scrupleRole Label
highlight default link scrupleTopic Tag
highlight default link scrupleDate Constant
highlight default link scrupleShelfDay scrupleDate
highlight default link scrupleSource Special
highlight default link scrupleWords String

let b:current_syntax = 'scruple'

let &cpo = s:cpo_save
unlet s:cpo_save
