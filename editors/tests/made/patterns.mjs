// The pieces that the patterns of TextMate and Kate are put together from: a number, a measure, a name. Each follows
// the rule of grammar/ledger.pest of its name.

import { household, stops } from "../words.mjs";

export const B = "[ \\t\\u00A0]";
export const N = "0-9½⅓⅔¼¾⅕-⅞";
/** Hyphens, dashes of any length and a minus sign: `dash`; last in a class of letters. */
export const D = "‐-―−-";
export const alternatives = (words) => words.map((word) => word.replace(/ /g, `${B}+`)).join("|");
export const edge = `(?=[ \\t\\u00A0,:]|$)`;

export const letter = `[^ \\t\\u00A0,:"\\r\\n]`;
export const comment = `(?:(?<=[ \\t\\u00A0])|^)#.*$`;
export const over = `(?=${B}*$|${B}+#|(?:\\t|${B}{2})source${B}+[^ \\t\\u00A0#])`;

export const number = `[0-9]+${B}+[0-9]+/[0-9]+|[0-9]+/[0-9]+|(?:[0-9]+${B}*)?[½⅓⅔¼¾⅕-⅞]|[0-9]+(?:\\.[0-9]+)?`;
export const doubtful = `[0-9]+${B}*[${D}]${B}*(?:[0-9]+/[0-9]+|[½⅓⅔¼¾⅕-⅞])|(?<![^ \\t\\u00A0])\\.[0-9]+|[0-9]+(?:[.,;'’·][0-9]+|/[0-9]+(?=[./,;'’·][0-9]))(?:[./,;'’·]{1,2}[0-9]+)+|[0-9]+[,;'’·][0-9]+`;
export const unitWord = `(?!(?:${stops.join("|")})${edge})[^ \\t\\u00A0,:"#${N}${D}](?:(?![${D}]${B}*[${N}])${letter})*`;
const measured = `(?!(?<=\\t|  | \\u00A0)source${B})${unitWord}`;
export const unit = `%|per${B}+cent${edge}|${measured}(?:${B}+${measured}){0,3}`;
export const enough = `(?:q\\.${B}?s\\.|qs)${edge}`;
export const opens = [
  `[${N}]`,
  `\\.[0-9]`,
  `of${B}+each${edge}`,
  `āā${edge}`,
  `(?:in${B}+)?equal${B}+parts${edge}`,
  enough,
  `(?:about|to)${B}+[${N}]`,
  `as${B}+(?:${number})${B}*:`,
  `an?${B}+(?:(?:(?:level|rounded|heaped|heaping)${B}+)?(?:${household.join("|")})|${unitWord}${B}*(?:,|$|#|as${B}))`,
].join("|");
export const name = `(?!${opens})(?!#)${letter}+(?:${B}+(?!${opens}|#)${letter}+)*`;
const role = `as${B}+${letter}+(?:${B}+(?!as${B})${letter}+){0,2}(?:${B}*$|${B}+#|(?:\\t|${B}{2})source${B})`;
export const roleEnd = `${B}+${role}`;

/** What in a clause begins with a form of its own, and so isn't free words. */
export const formed = {
  item: `about${B}+[${N}]|or${B}+q|${role}`,
  number: `[${N}]`,
  step: `(?:in|with|for|at)${B}+[${N}]|down${B}+t`,
  dose: `[${N}]|(?:every|for|in)${B}+[${N}]|up${B}+t|daily|(?:once|twice)${B}+[adpe]`,
};

/** A comma and the free words behind it, up to the next comma or what `end` says. */
export const clauseOf = (form, end = over, open = "") =>
  `,(?>${B}*)(?!${form})${open}[^,\\r\\n]+?${open && ")"}(?=${B}*,|${end.slice(3)}`;

export const beforeRole = `(?=${roleEnd}|${over.slice(3)}`;
export const aDay = `(?:a|per|each|every)${B}+day`;
export const allStock = `all${B}+(?:that${B}+)?stock${B}+allows`;
export const day = `[0-9]{4}-[0-9]{2}(?:-[0-9]{2})?`;
/** The age that a most is for. */
export const forAge = `age(?:${B}+under)?(?=${B}+[${N}])`;
export const pieceName = `[^ \\t\\u00A0,:"#.${N}][^ \\t\\u00A0,:"${N}]*(?:${B}+(?!weighed${B})[^ \\t\\u00A0,:"#${N}]+){0,2}(?=${B}+(?:weighed${B}|\\.?[${N}]))`;

/** Small words, wherever they stand alone. */
export const alone = (...words) => `(?<![^ \\t\\u00A0,:])(?:${words.join("|")})${edge}`;
