// The syntax file of Vim and Neovim. Of two patterns that fit at the same place Vim takes the one defined last.

import { dated, groups, household, kinds, stops } from "../words.mjs";

const B = "[ \\t\\u00a0]";
const V = "½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞";
const N = `0-9${V}`;
// `dash`; last in a class of letters
const D = "‐-―−-";
const either = (words) => `%(${words.map((word) => word.replace(/ /g, `${B}+`)).join("|")})`;
const ahead = (pattern) => `%(${pattern})@=`;
const notAhead = (pattern) => `%(${pattern})@!`;
const afterGap = `%([^ \\t\\u00a0,:])@1<!`;
const edge = ahead("[ \\t\\u00a0,:]|$");
const letter = `[^ \\t\\u00a0,:"]`;
const wide = `%(\\t|[ \\u00a0][ \\u00a0])@4<=`;
const cited = `source${B}+[^ \\t\\u00a0#]`;
const over = `${B}*$|${B}+#|%(\\t|[ \\u00a0]{2})${cited}`;

const number = `%(\\d+${B}+\\d+\\/\\d+|\\d+\\/\\d+|%(\\d+${B}*)?[${V}]|\\d+%(\\.\\d+)?)`;
const doubtful = `%(\\d+${B}*[${D}]${B}*%(\\d+\\/\\d+|[${V}])|\\.\\d+|\\d+[,;'’·]\\d+|\\d+%([.,;'’·\\/]{1,2}\\d+){2,})`;
const unitWord = `${notAhead(`${either(stops)}%([ \\t\\u00a0,:]|$)`)}[^ \\t\\u00a0,:"#${N}${D}]%(${notAhead(`[${D}]${B}*[${N}]`)}${letter})*`;
const measured = `%(${wide}${cited})@!${unitWord}`;
const unit = `%(\\%|per${B}+cent${edge}|${measured}%(${B}+${measured}){0,3})`;
const enough = `%(q\\.${B}?s\\.|qs)${edge}`;
const opens = `%(${[
  `[${N}]`,
  `\\.\\d`,
  `of${B}+each${edge}`,
  `āā${edge}`,
  `%(in${B}+)?equal${B}+parts${edge}`,
  enough,
  `%(about|to)${B}+[${N}]`,
  `as${B}+${number}${B}*:`,
  `an?${B}+%(%(%(level|rounded|heaped|heaping)${B}+)?${either(household)}|${unitWord}${B}*%(,|$|#|as${B}))`,
].join("|")})`;
const name = `%(${opens})@!#@!${letter}+%(${B}+%(${opens})@!#@!${letter}+)*`;
const role = `${letter}+%(${B}+%(as${B})@!#@!${letter}+){0,2}`;
const clause = (formed, end = over) => `,%(${B}*%(${formed}))@!${B}*\\zs[^ \\t\\u00a0,].{-}${ahead(`${B}*,|${end}`)}`;

const lines = [];
const match = (group, pattern, ...options) => lines.push(`syntax match ${group} /\\v${pattern}/ ${options.join(" ")}`.trimEnd());
const contained = (group, pattern, ...options) => match(group, pattern, "contained", ...options);
const region = (group, start, contains) =>
  lines.push(
    `syntax region ${group} matchgroup=scrupleLineWord start=/\\v^\\z(${B}+)${start}/ ` +
      `end=/\\v^%(\\z1${B}+|${B}*$|${B}*#)@!/me=s-1 contains=scrupleComment,${contains} keepend`,
  );
const lineOf = (group, words, contains) => region(group, `${either(words)}${ahead(`${B}|$`)}`, contains);
const small = (group, ...words) => contained(group, `${afterGap}%(${words.join("|")})${edge}`);

export function vim() {
  lines.length = 0;
  const section = (title) => lines.push("", `" ${title}`);

  section("comments, and entries by their first line");
  match("scrupleComment", `%(^|[ \\t\\u00a0])@2<=#.*$`, "contains=@Spell");
  match("scrupleKind", `^${either(kinds)}${ahead(`${B}|$`)}`, "nextgroup=scrupleEntryName skipwhite");
  match("scrupleKind", `^${either(dated)}${ahead(B)}`, "nextgroup=scrupleDatedName,scrupleEntryName skipwhite");
  match("scrupleKind", `^lot${ahead(`${B}|$`)}`, "nextgroup=scrupleLotId skipwhite");
  contained("scrupleEntryName", `%("[^"]*"|[^ \\t\\u00a0#].{-})${ahead(`${B}*$|${B}+#`)}`);
  contained("scrupleDatedName", `[^ \\t\\u00a0#].{-}${ahead(`${B}+on${B}+\\d{4}-\\d`)}`, "nextgroup=scrupleOn skipwhite");
  contained("scrupleOn", "on", "nextgroup=scrupleDate skipwhite");
  contained("scrupleLotId", `${letter}+`, "nextgroup=scrupleOf skipwhite");
  contained("scrupleOf", `of${ahead(B)}`, "nextgroup=scrupleEntryName skipwhite");

  section("numbers, measures, and the words between them");
  contained("scrupleUnit", unit);
  contained("scrupleCurrency", `\\C[€£$¥]|%([^ \\t\\u00a0])@1<![A-Z]{3}${ahead(`${B}|$`)}`);
  contained("scrupleNumber", `%([^ \\t\\u00a0,:€£$¥${D}])@3<!${number}`, "nextgroup=scrupleUnit skipwhite");
  contained("scrupleDoubtful", `%([^ \\t\\u00a0,:${D}])@3<!${doubtful}`, "nextgroup=scrupleUnit skipwhite");
  contained("scrupleDate", `\\d{4}-\\d{2}%(-\\d{2})?${ahead(`${B}|$`)}`);
  contained("scrupleSourceWord", `${wide}source${ahead(`${B}+[^ \\t\\u00a0#]`)}`, "nextgroup=scrupleSource skipwhite");
  contained("scrupleSource", `[^ \\t\\u00a0].{-}${ahead(`${B}*$|${B}+#`)}`);
  contained("scrupleQuoted", `"[^"]*"`);
  contained("scrupleQuotedName", `"[^"]+"`);
  small("scrupleAmountWord", "to", "or", "weighed", "for", "per", "of", "into", "daily", "times");
  contained("scrupleMeasureWord", `${afterGap}%(per|a|into)${ahead(`${B}+${unitWord}`)}`, "nextgroup=scrupleUnit skipwhite");
  small("scrupleAmountWord", `%(a|per|each|every)${B}+day`, `at${B}+once`, `in${B}+one${B}+dose`, `all${B}+%(that${B}+)?stock${B}+allows`, `by${B}+weight`);

  contained("scrupleAmountWord", `${afterGap}age%(${B}+under)?${ahead(`${B}+[${N}]`)}`);
  contained("scrupleOnDay", `${afterGap}on${ahead(`${B}+\\d{4}-\\d`)}`, "nextgroup=scrupleShelfDay skipwhite");
  contained("scrupleShelfDay", `\\d{4}-\\d{2}%(-\\d{2})?${ahead("[ \\t\\u00a0,]|$")}`, "nextgroup=scrupleShelfClause");
  contained("scrupleShelfClause", `${B}*,${B}*[^ \\t\\u00a0#].{-}${ahead(over)}`);
  contained("scrupleFromSeller", `${afterGap}from${ahead(`${B}+[^ \\t\\u00a0#]`)}`, "nextgroup=scrupleSeller skipwhite");
  contained("scrupleSeller", `[^ \\t\\u00a0#].{-}${ahead(over)}`);

  section("lines: a word, what stands after it, and all lines that are indented further");
  region("scrupleLineOfPiece", `[^ \\t\\u00a0,:"#.${N}][^ \\t\\u00a0,:"${N}]*%(${B}+%(weighed${B})@![^ \\t\\u00a0,:"#${N}]+){0,2}${ahead(`${B}+%(weighed${B}|\\.?[${N}])`)}`, "@scrupleAmounts");
  lineOf("scrupleLineOfWords", groups.words, "scrupleQuoted,scrupleSourceWord,@Spell");
  lineOf("scrupleLineOfNames", groups.names, "scrupleListed,scrupleQuotedName,scrupleSourceWord");
  lineOf("scrupleLineOfCaution", groups.caution, "scrupleTopic,scrupleQuoted,scrupleSourceWord,@Spell");
  lineOf("scrupleLineOfAdapts", groups.adapts, "scrupleAdapted,scrupleQuotedName,scrupleShareWord,scrupleSourceWord");
  lineOf("scrupleLineOfDate", groups.date, "scrupleDate,scrupleSourceWord");
  lineOf("scrupleLineOfStrength", groups.strength, "@scrupleAmounts,scrupleOfWhat,scrupleStrengthClause");
  lineOf("scrupleLineOfAmounts", groups.amounts, "@scrupleAmounts");
  lineOf("scrupleLineOfSteps", groups.steps, "scrupleNumber,scrupleDoubtful,scrupleStepWord,scrupleQuotedName,scrupleStepClause,scrupleSourceWord");
  lineOf("scrupleLineOfDose", groups.dose, "scrupleNumber,scrupleDoubtful,scrupleDoseWord,scrupleDoseArticle,scrupleDoseClause,scrupleSourceWord");
  lineOf("scrupleLineOfTake", groups.take, "scrupleWithout,scrupleByVolume,scrupleTaken,scrupleQuotedName,scrupleAmount,scrupleSourceWord");
  lineOf("scrupleLineOfUsed", groups.used, "scrupleTaken,scrupleQuotedName,scruplePortions");
  lines.push("syntax cluster scrupleAmounts contains=scrupleNumber,scrupleDoubtful,scrupleCurrency,scrupleAmountWord,scrupleMeasureWord,scrupleOnDay,scrupleFromSeller,scrupleSourceWord");

  section("what stands in them");
  contained("scrupleListed", `[^ \\t\\u00a0,"]%([^,"]{-}[^ \\t\\u00a0,"])?${ahead(`${B}*[,"]|${over}`)}`);
  contained("scrupleTopic", `%(^${B}+${either(groups.caution)}${B}+)@<=[^ \\t\\u00a0:][^:]{-}${ahead(`${B}*:|${over}`)}`);
  contained("scrupleAdapted", `[^ \\t\\u00a0,":]%([^,":]{-}[^ \\t\\u00a0,":])?${ahead(`${B}+at${B}+[${N}]|${over}`)}`);
  contained("scrupleShareWord", `${afterGap}at${ahead(`${B}+[${N}]`)}`, "nextgroup=scrupleNumber skipwhite");
  contained("scrupleOfWhat", `${afterGap}of${ahead(B)}`, "nextgroup=scrupleWhat skipwhite");
  contained("scrupleWhat", `[^ \\t\\u00a0,][^,]{-}${ahead(`${B}*,|${over}`)}`);
  contained("scrupleStrengthClause", clause(`[${N}]`));
  contained("scrupleStepClause", clause(`%(in|with|for|at)${B}+[${N}]|down${B}+t`));
  small("scrupleStepWord", "in", "with", "for", "at", `down${B}+to`, "of", "and", `by${B}+weight`, `%(to|or)${ahead(`${B}+\\.?[${N}]`)}`);
  contained("scrupleDoseClause", clause(`[${N}]|%(every|for|in)${B}+[${N}]|up${B}+t|daily|%(once|twice)${B}+[adpe]`));
  small(
    "scrupleDoseWord", `up${B}+to`, "times", `%(a|per|each|every)${B}+day`, "once", "twice", "daily", "every", "for", "in", "of",
    `age${ahead(`${B}+%(under${B}|[${N}])`)}`, "under", `%(to|or)${ahead(`${B}+\\.?[${N}]`)}`,
  );
  contained("scrupleDoseArticle", `%(^${B}+dose${B}+)@<=an?${ahead(`${B}+${unitWord}`)}`, "nextgroup=scrupleUnit skipwhite");
  contained("scrupleTaken", name);
  contained("scrupleByVolume", `^${B}*${number}${B}*\\%%(${B}+by${B}+weight)?${ahead(`${B}+[^ \\t\\u00a0,#${N}]`)}`, "transparent contains=scrupleNumber,scrupleAmountWord");
  contained("scrupleWithout", `%(^${B}+)@<=without${ahead(B)}`);
  contained("scrupleWithout", `%(^${B}+take${B}+)@<=without${ahead(B)}`);
  const items = "scrupleNumber,scrupleDoubtful,scrupleItemWord,scrupleItemArticle,scrupleSourceWord,scrupleComment";
  lines.push(`syntax region scrupleAmount start=/\\v%([^ \\t\\u00a0])@1<!%(${opens})@=/ end=/$/ contained oneline keepend contains=${items},scrupleClause,scrupleAs`);
  lines.push(`syntax region scruplePortions start=/\\v%([^ \\t\\u00a0])@1<!%([${N}])@=/ end=/$/ contained oneline keepend contains=scrupleNumber,scrupleDoubtful,scrupleItemWord,scrupleFrom,scruplePortionClause,scrupleComment`);
  contained("scruplePortionClause", clause(`[${N}]`));
  contained("scrupleFrom", `${afterGap}from${ahead(B)}`, "nextgroup=scrupleFromLot skipwhite");
  contained("scrupleFromLot", `${letter}+`);
  small("scrupleItemWord", `of${B}+each`, "āā", `%(in${B}+)?equal${B}+parts`, "about", "to", "or");
  contained("scrupleItemWord", `${afterGap}${enough}`);
  contained("scrupleItemArticle", `${afterGap}an?${ahead(`${B}+${unitWord}`)}`, "nextgroup=scrupleUnit skipwhite");
  contained("scrupleAs", `${afterGap}as${ahead(B)}`, "nextgroup=scrupleRole skipwhite");
  contained("scrupleRole", role);
  contained("scrupleItemWord", `${afterGap}as${ahead(`${B}+${number}${B}*:`)}`);
  // last, so that what is a clause is none of the words above
  const lastRole = `as${B}+${role}%(${B}*$|${B}+#|%(\\t|[ \\u00a0]{2})${cited})`;
  contained("scrupleClause", clause(`about${B}+[${N}]|or${B}+q|${lastRole}`, `${B}+${lastRole}|${over}`));

  const links = {
    scrupleSmallWord: "scrupleOn scrupleOf scrupleSourceWord scrupleAmountWord scrupleMeasureWord scrupleShareWord scrupleOfWhat scrupleStepWord scrupleDoseWord scrupleDoseArticle scrupleWithout scrupleItemWord scrupleItemArticle scrupleAs scrupleFrom scrupleOnDay scrupleFromSeller",
    scrupleName: "scrupleLotId scrupleQuotedName scrupleListed scrupleAdapted scrupleWhat scrupleTaken scrupleFromLot",
    scrupleEntryName: "scrupleDatedName",
    scrupleWords: "scrupleLineOfWords scrupleLineOfCaution scrupleStrengthClause scrupleStepClause scrupleDoseClause scrupleClause scruplePortionClause scrupleShelfClause scrupleSeller",
    scrupleUnit: "scrupleCurrency",
    Comment: "scrupleComment",
    Statement: "scrupleKind",
    Title: "scrupleEntryName",
    Keyword: "scrupleLineWord",
    Number: "scrupleNumber",
    Error: "scrupleDoubtful",
    Type: "scrupleUnit",
    Operator: "scrupleSmallWord",
    Identifier: "scrupleName",
    Label: "scrupleRole",
    Tag: "scrupleTopic",
    Constant: "scrupleDate",
    scrupleDate: "scrupleShelfDay",
    Special: "scrupleSource",
    String: "scrupleWords",
  };
  section("the groups, by the usual names");
  for (const [target, ours] of Object.entries(links)) {
    for (const group of ours.split(" ")) lines.push(`highlight default link ${group} ${target}`);
  }

  return `" Vim syntax file
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
syntax sync match scrupleSync grouphere NONE /\\v\\c^%(${kinds.join("|")})>/
syntax sync minlines=50
${lines.join("\n")}

let b:current_syntax = 'scruple'

let &cpo = s:cpo_save
unlet s:cpo_save
`;
}
