// The TextMate grammar, put together from its pieces: one pattern for a number, a measure, a name.

import { dated, groups, kinds } from "../words.mjs";
import {
  B, D, N, aDay, allStock, alone, alternatives, beforeRole, clauseOf, comment, day, doubtful, edge, enough, forAge, formed, letter,
  name, number, opens, over, pieceName, unit,
} from "./patterns.mjs";

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

const clause = (form, end) => match(clauseOf(form, end, "("), WORDS);

const date = match(`\\b(${day})\\b`, DATE);
const small = (...words) => ({ match: i(alone(...words)), name: `${SMALL}.scruple` });
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
    amounts: { ...line(groups.amounts), patterns: ["comment", "cited", "counted-day", "seller", "measures", "amount-words"].map(include) },
    steps: { ...line(groups.steps), patterns: ["comment", "cited", "clause-of-step", "quoted-name", "measures", "step-words"].map(include) },
    dose: {
      ...line(groups.dose, `(?:${B}+(an?)${B}+(${unit}))?`, [SMALL, UNIT]),
      patterns: ["comment", "cited", "clause-of-dose", "measures", "dose-words"].map(include),
    },
    take: { ...line(groups.take), patterns: ["comment", "cited", "without", "by-volume", "amount-of-item", "quoted-name", "taken"].map(include) },
    used: { ...line(groups.used), patterns: ["comment", "portions", "quoted-name", "taken"].map(include) },
    piece: {
      begin: i(`^(${B}+)(${pieceName})`),
      end: `^(?!${B}*$|${B}*#|\\1${B}+)`,
      beginCaptures: captures(null, WORD),
      patterns: ["comment", "cited", "measures", "amount-words"].map(include),
    },
  };
  const plain = kinds.filter((kind) => kind !== "lot");
  const repository = {
    comment: { match: comment, name: "comment.line.number-sign.scruple" },
    head: {
      patterns: [
        match(`^(lot)(?=${B}|$)(?:${B}+(${letter}+))?(?:${B}+(of))?(?:${B}+(\\S.*?))?(?=${B}*$|${B}+#)`, KIND, NAME, SMALL, ENTRY),
        match(`^(${dated.join("|")})${B}+(\\S.*?)${B}+(on)${B}+(${day})(?=${B}*$|${B}+#)`, KIND, ENTRY, SMALL, DATE),
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
        match(`(?<![^ \\t\\u00A0,:${D}])(${doubtful})(?:${B}*(${unit}))?`, "invalid.illegal.number", UNIT),
        match(`(?<![^ \\t\\u00A0,:€£$¥${D}])(${number})(?:${B}*(${unit}))?`, NUMBER, UNIT),
        { match: `[€£$¥]|(?<![^ \\t\\u00A0])[A-Z]{3}(?=${B}|$)`, name: `${UNIT}.scruple` },
      ],
    },
    "amount-words": {
      patterns: [
        small(forAge, aDay, `at${B}+once`, `in${B}+one${B}+dose`, allStock, `by${B}+weight`),
        match(`(?<![^ \\t\\u00A0])(per|a|into)${B}+(${unit})`, SMALL, UNIT),
        small("to", "or", "weighed", "for", "per", "of", "into", "daily", "times"),
      ],
    },
    "counted-day": match(`(?<![^ \\t\\u00A0])(on)${B}+(${day})(?:${B}*,${B}*([^ \\t\\u00A0#].*?))?${over}`, SMALL, DATE, WORDS),
    seller: match(`(?<![^ \\t\\u00A0])(from)${B}+([^ \\t\\u00A0#].*?)${over}`, SMALL, WORDS),
    "of-what": match(`(?<![^ \\t\\u00A0])(of)${B}+([^ \\t\\u00A0,](?:[^,]*?[^ \\t\\u00A0,])??)(?=${B}*,|${over.slice(3)}`, SMALL, NAME),
    "clause-of-strength": clause(formed.number),
    "clause-of-step": clause(formed.step),
    "step-words": { patterns: [small("in", "with", "for", "at", `down${B}+to`, "of", "and", `by${B}+weight`), range, include("other-words")] },
    "clause-of-dose": clause(formed.dose),
    "dose-words": {
      patterns: [
        small(`up${B}+to`, "times", aDay, "once", "twice", "daily", "every", "for", "in", "of", `age(?=${B}+(?:under${B}|[${N}]))`, "under"),
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
        clause(formed.item, beforeRole),
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
        clause(formed.number),
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
