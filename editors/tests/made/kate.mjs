// Kate's highlighting. A context remembers how far its line is indented (%1) and ends at the first line that isn't
// indented further; a rule colours all that it matches alike, so what follows a number or an article is read in a
// context of its own.

import { dated, groups, kinds } from "../words.mjs";
import {
  B, D, N, aDay, allStock, alone, alternatives, beforeRole, clauseOf, comment, day, doubtful, enough, forAge, formed, letter,
  name, number, opens, over, pieceName, unit, unitWord,
} from "./patterns.mjs";

const escaped = (text) => text.replace(/&/g, "&amp;").replace(/</g, "&lt;").replace(/>/g, "&gt;").replace(/"/g, "&quot;");

const rule = (pattern, attribute, more = {}) => {
  const all = { ...(attribute ? { attribute } : {}), context: "#stay", insensitive: "true", ...more, String: pattern.replace(/\\u00A0/g, "\\x{00A0}") };
  return `        <RegExpr ${Object.entries(all).map(([key, value]) => `${key}="${escaped(value)}"`).join(" ")}/>`;
};

const context = (name, rules, { attribute = "Plain", end = "#stay", falls } = {}) =>
  `      <context name="${name}" attribute="${attribute}" lineEndContext="${end}"${falls ? ` fallthroughContext="${falls}"` : ""}>\n${rules.join("\n")}\n      </context>`;

const COMMENT = rule(comment, "Comment");
const CITED = rule(`(?<=\\t|  | \\u00A0|\\u00A0\\u00A0)source(?=${B}+[^ \\t\\u00A0#])`, "Small Word", { context: "Source" });
const QUOTED_NAME = rule(`"[^"]+"`, "Name");
const MEASURES = [
  rule(`(?<![^ \\t\\u00A0,:${D}])(?:${doubtful})`, "Doubtful", { context: "AfterNumber" }),
  rule(`(?<![^ \\t\\u00A0,:€£$¥${D}])(?:${number})`, "Number", { context: "AfterNumber" }),
  rule(`[€£$¥]|(?<![^ \\t\\u00A0])[A-Z]{3}(?=${B}|$)`, "Measure", { insensitive: "false" }),
];
const AMOUNT_WORDS = [
  rule(alone(forAge, aDay, `at${B}+once`, `in${B}+one${B}+dose`, allStock, `by${B}+weight`), "Small Word"),
  rule(`(?<![^ \\t\\u00A0])(?:per|a|into)(?=${B}+${unitWord})`, "Small Word", { context: "AfterNumber" }),
  rule(alone("to", "or", "weighed", "for", "per", "of", "into", "daily", "times"), "Small Word"),
];
/** `on` a day, and words behind it; `from` a seller. */
const SHELF = [
  rule(`(?<![^ \\t\\u00A0])on(?=${B}+${day})`, "Small Word", { context: "CountedDay" }),
  rule(`(?<![^ \\t\\u00A0])from(?=${B}+[^ \\t\\u00A0#])`, "Small Word", { context: "Seller" }),
];
const RANGE = rule(`(?<![^ \\t\\u00A0])(?:to|or)(?=${B}+\\.?[${N}])`, "Small Word");
const OTHER = rule(`${letter}+`, "Plain");

/** The context of a line, with all lines that are indented further. */
const line = (group, rules, { attribute, then, opening } = {}) => {
  const own = opening ?? `(?:${alternatives(groups[group])})(?=${B}|$)`;
  return context(
    `Line of ${group}`,
    [
      rule(`^%1${own}`, "Line Word", { dynamic: "true", column: "0", context: then ?? "#stay" }),
      rule(`^(?!%1${B}|${B}*$|${B}*#).`, null, { dynamic: "true", column: "0", lookAhead: "true", context: "#pop" }),
      COMMENT,
      ...rules,
    ],
    { attribute },
  );
};

export function kate() {
  const items = [
    ["words", [CITED, rule(`"[^"]*"`, "Words")], { attribute: "Words" }],
    ["names", [CITED, QUOTED_NAME, rule(`[^ \\t\\u00A0,"](?:[^,"]*?[^ \\t\\u00A0,"])??(?=${B}*[,"]|${over.slice(3)}`, "Name")]],
    ["caution", [CITED, rule(`"[^"]*"`, "Words")], { attribute: "Words", then: "Topic" }],
    [
      "adapts",
      [
        CITED,
        QUOTED_NAME,
        rule(`(?<![^ \\t\\u00A0])at(?=${B}+(?:${number})(?:${B}|$))`, "Small Word"),
        rule(`(?<![^ \\t\\u00A0])(?:${number})(?=${B}|$)`, "Number"),
        rule(`[^ \\t\\u00A0,":](?:[^,":]*?[^ \\t\\u00A0,":])??(?=${B}+at${B}+[${N}]|${over.slice(3)}`, "Name"),
      ],
    ],
    ["date", [CITED, rule(`\\b${day}\\b`, "Date")]],
    ["strength", [CITED, rule(`(?<![^ \\t\\u00A0])of(?=${B})`, "Small Word", { context: "What" }), rule(clauseOf(formed.number), "Words"), ...MEASURES, ...AMOUNT_WORDS]],
    ["amounts", [CITED, ...SHELF, ...MEASURES, ...AMOUNT_WORDS]],
    [
      "steps",
      [CITED, rule(clauseOf(formed.step), "Words"), QUOTED_NAME, ...MEASURES, rule(alone("in", "with", "for", "at", `down${B}+to`, "of", "and", `by${B}+weight`), "Small Word"), RANGE, OTHER],
    ],
    [
      "dose",
      [
        CITED,
        rule(clauseOf(formed.dose), "Words"),
        ...MEASURES,
        rule(alone(`up${B}+to`, "times", aDay, "once", "twice", "daily", "every", "for", "in", "of", `age(?=${B}+(?:under${B}|[${N}]))`, "under"), "Small Word"),
        RANGE,
        OTHER,
      ],
      { then: "Article" },
    ],
    [
      "take",
      [
        CITED,
        rule(`^${B}*without(?=${B})`, "Small Word"),
        rule(`(?<=take)${B}+without(?=${B})`, "Small Word"),
        rule(`^${B}*(?:${number})(?=${B}*%(?:${B}+by${B}+weight)?${B}+[^ \\t\\u00A0,#${N}])`, "Number", { context: "ByVolume" }),
        rule(`(?<![^ \\t\\u00A0])(?=${opens}).`, null, { lookAhead: "true", context: "Amount" }),
        QUOTED_NAME,
        rule(name, "Name"),
      ],
    ],
    ["used", [rule(`(?<![^ \\t\\u00A0])(?=[${N}]).`, null, { lookAhead: "true", context: "Portions" }), QUOTED_NAME, rule(name, "Name")]],
    ["pieces", [CITED, ...MEASURES, ...AMOUNT_WORDS], { opening: pieceName.replace("[^ ", `(?!(?:${alternatives(Object.values(groups).flat())})(?:${B}|$))[^ `) }],
  ];
  const contexts = [
    context("Ledger", [
      COMMENT,
      rule(`^(?:${dated.join("|")})(?=${B}.*${B}on${B}+${day}${B}*(?:$|#))`, "Kind", { context: "DatedName", column: "0" }),
      rule(`^lot(?=${B}|$)`, "Kind", { context: "LotId", column: "0" }),
      rule(`^(?:${kinds.join("|")})(?=${B}|$)`, "Kind", { context: "EntryName", column: "0" }),
      ...items.map(([group, , options]) =>
        rule(`^(${B}+)(?=${options?.opening ?? `(?:${alternatives(groups[group])})(?:${B}|$)`})`, null, { column: "0", lookAhead: "true", context: `Line of ${group}` }),
      ),
    ]),
    context("EntryName", [COMMENT, rule(`(?:"[^"]*"|[^ \\t\\u00A0#].*?)(?=${B}*$|${B}+#)`, "Entry Name")], { end: "#pop" }),
    context("DatedName", [
      COMMENT,
      rule(`(?<![^ \\t\\u00A0])on(?=${B}+${day}${B}*(?:$|#))`, "Small Word"),
      rule(`(?<![^ \\t\\u00A0])${day}(?=${B}*(?:$|#))`, "Date"),
      rule(`[^ \\t\\u00A0#].*?(?=${B}+on${B}+${day}${B}*(?:$|#))`, "Entry Name"),
    ], { end: "#pop" }),
    context("LotId", [rule(`${B}+${letter}+`, "Name", { context: "#pop!OfLot" })], { end: "#pop" }),
    context("OfLot", [rule(`of(?=${B})`, "Small Word", { context: "#pop!EntryName" })], { end: "#pop" }),
    ...items.map(([group, rules, options]) => line(group, rules, options)),
    context("AfterNumber", [rule(`${B}*(?:${unit})`, "Measure", { context: "#pop" })], { end: "#pop", falls: "#pop" }),
    context("CountedDay", [
      COMMENT,
      CITED,
      rule(`(?<=on)${B}+${day}`, "Date"),
      rule(`[^ \\t\\u00A0,#].*?${over}`, "Words", { context: "#pop" }),
    ], { end: "#pop" }),
    context("Seller", [rule(`${B}+[^ \\t\\u00A0#].*?${over}`, "Words", { context: "#pop" })], { end: "#pop", falls: "#pop" }),
    context("Topic", [rule(`${B}+[^:]+?(?=${B}*:|${over.slice(3)}`, "Topic", { context: "#pop" })], { end: "#pop", falls: "#pop" }),
    context("Article", [rule(`${B}+an?(?=${B}+${unitWord})`, "Small Word", { context: "#pop!AfterNumber" })], { end: "#pop", falls: "#pop" }),
    context("What", [rule(`${B}+[^,]+?(?=${B}*,|${over.slice(3)}`, "Name", { context: "#pop" })], { end: "#pop", falls: "#pop" }),
    context("Source", [rule(`${B}+[^ \\t\\u00A0#].*?(?=${B}*$|${B}+#)`, "Source", { context: "#pop" })], { end: "#pop", falls: "#pop" }),
    context("ByVolume", [rule(`${B}*%`, "Measure"), rule(`${B}+by${B}+weight`, "Small Word", { context: "#pop" })], { end: "#pop", falls: "#pop" }),
    context("Amount", [
      COMMENT,
      CITED,
      rule(clauseOf(formed.item, beforeRole), "Words"),
      rule(alone(`of${B}+each`, "āā", `(?:in${B}+)?equal${B}+parts`), "Small Word"),
      rule(`(?<![^ \\t\\u00A0])${enough}`, "Small Word"),
      rule(`(?<![^ \\t\\u00A0])as(?=${B}+(?:${number})${B}*:)`, "Small Word"),
      rule(`(?<![^ \\t\\u00A0])as(?=${B}+${letter})`, "Small Word", { context: "Role" }),
      rule(`(?<![^ \\t\\u00A0])an?(?=${B}+${unitWord})`, "Small Word", { context: "AfterNumber" }),
      rule(alone("about", "to", "or"), "Small Word"),
      ...MEASURES,
    ], { end: "#pop" }),
    context("Role", [rule(`${B}+${letter}+(?:${B}+(?!#)${letter}+){0,2}`, "Role", { context: "#pop" })], { end: "#pop", falls: "#pop" }),
    context("Portions", [
      COMMENT,
      rule(clauseOf(formed.number), "Words"),
      rule(`(?<![^ \\t\\u00A0])from(?=${B}+${letter})`, "Small Word", { context: "FromLot" }),
      rule(alone("to", "or"), "Small Word"),
      ...MEASURES,
    ], { end: "#pop" }),
    context("FromLot", [rule(`${B}+${letter}+`, "Name", { context: "#pop" })], { end: "#pop", falls: "#pop" }),
  ];
  const styles = {
    Plain: "dsNormal",
    Comment: "dsComment",
    Kind: "dsControlFlow",
    "Entry Name": "dsFunction",
    "Line Word": "dsKeyword",
    Number: "dsDecVal",
    Doubtful: "dsError",
    Measure: "dsDataType",
    "Small Word": "dsOperator",
    Name: "dsVariable",
    Role: "dsAttribute",
    Topic: "dsPreprocessor",
    Date: "dsConstant",
    Source: "dsSpecialString",
    Words: "dsString",
  };
  return `<?xml version="1.0" encoding="UTF-8"?>
<!DOCTYPE language>
<!-- Made by editors/tests/generate.mjs; its source is editors/tests/made/kate.mjs. -->
<language name="scruple" section="Other" version="1" kateversion="5.62" extensions="*.scruple" casesensitive="0" license="MIT">
  <highlighting>
    <contexts>
${contexts.join("\n")}
    </contexts>
    <itemDatas>
${Object.entries(styles).map(([name, style]) => `      <itemData name="${name}" defStyleNum="${style}"${style === "dsComment" || name === "Words" ? "" : ` spellChecking="false"`}/>`).join("\n")}
    </itemDatas>
  </highlighting>
  <general>
    <comments>
      <comment name="singleLine" start="#"/>
    </comments>
    <keywords casesensitive="0"/>
    <folding indentationsensitive="true"/>
  </general>
</language>
`;
}
