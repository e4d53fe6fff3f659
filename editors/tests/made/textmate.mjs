// The TextMate grammar, put together from its pieces: one pattern for a number, a measure, a name.

import { groups, household, kinds, dated, stops } from "../words.mjs";

const B = "[ \\t\\u00A0]";
const N = "0-9½⅓⅔¼¾⅕-⅞";
const alternatives = (words) => words.map((word) => word.replace(/ /g, `${B}+`)).join("|");
const edge = `(?=[ \\t\\u00A0,:]|$)`;

const letter = `[^ \\t\\u00A0,:"\\r\\n]`;
const comment = `(?:(?<=[ \\t\\u00A0])|^)#`;
const over = `(?=${B}*$|${B}+#|(?:\\t|${B}{2})source${B}+[^ \\t\\u00A0#])`;

const number = `[0-9]+${B}+[0-9]+/[0-9]+|[0-9]+/[0-9]+|(?:[0-9]+${B}*)?[½⅓⅔¼¾⅕-⅞]|[0-9]+(?:\\.[0-9]+)?`;
const doubtful = `[0-9]+-(?:[0-9]+/[0-9]+|[½⅓⅔¼¾⅕-⅞])|(?<![^ \\t\\u00A0])\\.[0-9]+|[0-9]+(?:[.,;'’·][0-9]+|/[0-9]+(?=[./,;'’·][0-9]))(?:[./,;'’·]{1,2}[0-9]+)+|[0-9]+[,;'’·][0-9]+`;
const unitWord = `(?!(?:${stops.join("|")})${edge})[^ \\t\\u00A0,:"#${N}–—-]${letter}*`;
const unit = `%|per${B}+cent${edge}|${unitWord}(?:${B}+(?!(?<=\\t|  | \\u00A0)source${B})${unitWord}){0,3}`;
const enough = `(?:q\\.${B}?s\\.|qs)${edge}`;
const opens = [
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
const name = `(?!${opens})(?!#)${letter}+(?:${B}+(?!${opens}|#)${letter}+)*`;
const roleEnd = `${B}+as${B}+${letter}+(?:${B}+${letter}+){0,2}(?:${B}*$|${B}+#|(?:\\t|${B}{2})source${B})`;

const i = (pattern) => `(?i)${pattern}`;
const captures = (...scopes) =>
  Object.fromEntries(scopes.flatMap((scope, at) => (scope ? [[String(at + 1), { name: `${scope}.scruple` }]] : [])));
const match = (pattern, ...scopes) => ({ match: i(pattern), captures: captures(...scopes) });
const include = (name) => ({ include: `#${name}` });

const KIND = "keyword.control.entry";
const ENTRY = "entity.name.section";
const WORD = "support.type.property-name";
const NUMBER = "constant.numeric";
const UNIT = "keyword.other.unit";
const SMALL = "keyword.operator.word";
const NAME = "variable.other";
const ROLE = "entity.other.attribute-name";
const TOPIC = "entity.name.tag";
const DATE = "constant.other.date";
const SOURCE = "string.other.source";
const WORDS = "string.unquoted";

/** A line of an entry, with all lines that are indented further than it. */
const line = (words, more = "", scopes = []) => ({
  begin: i(`^(${B}+)(${alternatives(words)})(?=${B}|$)${more}`),
  end: `^(?!${B}*$|${B}*#|\\1${B}+)`,
  beginCaptures: captures(null, WORD, ...scopes),
});

/** What stands after a comma, unless it begins like something with a form of its own. */
const clause = (formed, end = over) =>
  match(`,(?>${B}*)(?!${formed})([^,\\r\\n]+?)(?=${B}*,|${end.slice(3)}`, WORDS);

const date = match(`\\b([0-9]{4}-[0-9]{2}(?:-[0-9]{2})?)\\b`, DATE);
const small = (...words) => match(`(?<![^ \\t\\u00A0,:])(${words.join("|")})${edge}`, SMALL);
const range = match(`(?<![^ \\t\\u00A0])(to|or)(?=${B}+\\.?[${N}])`, SMALL);

export function textmate() {
  const lineOf = {
    words: { ...line(groups.words), contentName: `${WORDS}.scruple`, patterns: ["comment", "cited", "quoted"].map(include) },
    names: { ...line(groups.names), patterns: ["comment", "cited", "quoted-name", "listed"].map(include) },
    caution: {
      ...line(groups.caution, `(?:${B}+([^:\\r\\n]+?)(?=${B}*:|${over.slice(3)})?`, [TOPIC]),
      contentName: `${WORDS}.scruple`,
      patterns: ["comment", "cited", "quoted"].map(include),
    },
    adapts: { ...line(groups.adapts), patterns: ["comment", "cited", "quoted-name", "adapted"].map(include) },
    date: { ...line(groups.date), patterns: ["comment", "cited", "date"].map(include) },
    strength: { ...line(groups.strength), patterns: ["comment", "cited", "of-what", "clause-of-strength", "measures", "amount-words"].map(include) },
    amounts: { ...line(groups.amounts), patterns: ["comment", "cited", "measures", "amount-words"].map(include) },
    steps: { ...line(groups.steps), patterns: ["comment", "cited", "clause-of-step", "quoted-name", "measures", "step-words"].map(include) },
    dose: {
      ...line(groups.dose, `(?:${B}+(an?)${B}+(${unit}))?`, [SMALL, UNIT]),
      patterns: ["comment", "cited", "clause-of-dose", "measures", "dose-words"].map(include),
    },
    take: { ...line(groups.take), patterns: ["comment", "cited", "without", "by-volume", "amount-of-item", "quoted-name", "taken"].map(include) },
    used: { ...line(groups.used), patterns: ["comment", "portions", "quoted-name", "taken"].map(include) },
    piece: {
      begin: i(`^(${B}+)([^ \\t\\u00A0,:"#.${N}][^ \\t\\u00A0,:"${N}]*(?:${B}+(?!weighed${B})[^ \\t\\u00A0,:"#${N}]+){0,2})(?=${B}+(?:weighed${B}|\\.?[${N}]))`),
      end: `^(?!${B}*$|${B}*#|\\1${B}+)`,
      beginCaptures: captures(null, WORD),
      patterns: ["comment", "cited", "measures", "amount-words"].map(include),
    },
  };
  const plain = kinds.filter((kind) => kind !== "lot");
  const repository = {
    comment: { match: `${comment}.*$`, name: "comment.line.number-sign.scruple" },
    head: {
      patterns: [
        match(`^(lot)(?=${B}|$)(?:${B}+(${letter}+))?(?:${B}+(of))?(?:${B}+(\\S.*?))?(?=${B}*$|${B}+#)`, KIND, NAME, SMALL, ENTRY),
        match(`^(${dated.join("|")})${B}+(\\S.*?)${B}+(on)${B}+([0-9]{4}-[0-9]{2}(?:-[0-9]{2})?)(?=${B}*$|${B}+#)`, KIND, ENTRY, SMALL, DATE),
        match(`^(${plain.join("|")})(?=${B}|$)(?:${B}+("[^"]*"|[^ \\t\\u00A0#].*?))?(?=${B}*$|${B}+#)`, KIND, ENTRY),
      ],
    },
    cited: match(`(?<=\\t|  | \\u00A0|\\u00A0\\u00A0)(source)${B}+([^ \\t\\u00A0#].*?)(?=${B}*$|${B}+#)`, SMALL, SOURCE),
    quoted: { match: `"[^"\\r\\n]*"` },
    "quoted-name": { match: `"[^"\\r\\n]+"`, name: `${NAME}.scruple` },
    listed: match(`([^ \\t\\u00A0,"](?:[^,"]*?[^ \\t\\u00A0,"])??)(?=${B}*[,"]|${over.slice(3)}`, NAME),
    adapted: {
      patterns: [
        match(`(?<![^ \\t\\u00A0])(at)${B}+(${number})(?=${B}|$)`, SMALL, NUMBER),
        match(`([^ \\t\\u00A0,":](?:[^,":]*?[^ \\t\\u00A0,":])??)(?=${B}+at${B}+[${N}]|${over.slice(3)}`, NAME),
      ],
    },
    date,
    measures: {
      patterns: [
        match(`(?<![^ \\t\\u00A0,:–—-])(${doubtful})(?:${B}*(${unit}))?`, "invalid.illegal.number", UNIT),
        match(`(?<![^ \\t\\u00A0,:–—€£$¥-])(${number})(?:${B}*(${unit}))?`, NUMBER, UNIT),
        { match: `[€£$¥]|(?<![^ \\t\\u00A0])[A-Z]{3}(?=${B}|$)`, name: `${UNIT}.scruple` },
      ],
    },
    "amount-words": {
      patterns: [
        small(`(?:a|per|each|every)${B}+day`, `at${B}+once`, `in${B}+one${B}+dose`, `all${B}+(?:that${B}+)?stock${B}+allows`, `by${B}+weight`),
        match(`(?<![^ \\t\\u00A0])(per|a|into)${B}+(${unit})`, SMALL, UNIT),
        small("to", "or", "weighed", "for", "per", "of", "into", "daily"),
      ],
    },
    "of-what": match(`(?<![^ \\t\\u00A0])(of)${B}+([^ \\t\\u00A0,](?:[^,]*?[^ \\t\\u00A0,])??)(?=${B}*,|${over.slice(3)}`, SMALL, NAME),
    "clause-of-strength": clause(`[${N}]`),
    "clause-of-step": clause(`(?:in|with|for|at)${B}+[${N}]|down${B}+t`),
    "step-words": { patterns: [small("in", "with", "for", "at", `down${B}+to`, "of", "and", `by${B}+weight`), range, include("other-words")] },
    "clause-of-dose": clause(`[${N}]|(?:every|for|in)${B}+[${N}]|up${B}+t|daily|(?:once|twice)${B}+[adpe]`),
    "dose-words": {
      patterns: [
        small(`up${B}+to`, "times", `(?:a|per|each|every)${B}+day`, "once", "twice", "daily", "every", "for", "in", "of", `age(?=${B}+(?:under${B}|[${N}]))`, "under"),
        range,
        include("other-words"),
      ],
    },
    "other-words": { match: `${letter}+` },
    without: match(`(?:^|\\G)${B}*(without)(?=${B})`, SMALL),
    "by-volume": match(`(?:^|\\G)${B}*(${number})${B}*(%)(?:${B}+(by${B}+weight))?(?=${B}+[^ \\t\\u00A0,#])`, NUMBER, UNIT, SMALL),
    taken: match(`(${name})`, NAME),
    "amount-of-item": {
      begin: i(`(?<![^ \\t\\u00A0])(?=${opens})`),
      end: "$",
      patterns: [
        include("comment"),
        include("cited"),
        clause(`about${B}+[${N}]|or${B}+q`, `(?=${roleEnd}|${over.slice(3)}`),
        small(`of${B}+each`, "āā", `(?:in${B}+)?equal${B}+parts`),
        match(`(?<![^ \\t\\u00A0])(${enough})`, SMALL),
        match(`(?<![^ \\t\\u00A0])(as)(?=${B}+(?:${number})${B}*:)`, SMALL),
        match(`(?<![^ \\t\\u00A0])(as)${B}+(${letter}+(?:${B}+(?!#)${letter}+){0,2})`, SMALL, ROLE),
        match(`(?<![^ \\t\\u00A0])(an?)${B}+(${unit})`, SMALL, UNIT),
        small("about", "to", "or"),
        include("measures"),
      ],
    },
    portions: {
      begin: i(`(?<![^ \\t\\u00A0])(?=[${N}])`),
      end: "$",
      patterns: [
        include("comment"),
        clause(`[${N}]`),
        match(`(?<![^ \\t\\u00A0])(from)${B}+(${letter}+)`, SMALL, NAME),
        small("to", "or"),
        include("measures"),
      ],
    },
  };
  for (const [group, region] of Object.entries(lineOf)) repository[`line-${group}`] = region;
  return {
    name: "scruple",
    scopeName: "source.scruple",
    fileTypes: ["scruple"],
    comment: "Made by editors/tests/generate.mjs; its source is editors/tests/made/textmate.mjs.",
    patterns: [include("comment"), include("head"), ...Object.keys(lineOf).map((group) => include(`line-${group}`))],
    repository,
  };
}
