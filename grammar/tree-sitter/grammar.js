/**
 * The grammar of a ledger for tree-sitter, for the colours, folds and outlines of editors.
 *
 * The grammar of record is ../ledger.pest. This one reads the same entries, lines and items, and inside of
 * a line what editors show; README.md says where it is looser. Its line words are those of ../words.json.
 *
 * What hangs on indentation, and where a name or free words end, needs a look ahead, and is told by
 * src/scanner.c. Blanks, comments and line ends that only carry a line on may stand between any two tokens.
 */

/// <reference types="tree-sitter-cli/dsl" />

import { readFileSync } from "node:fs";
import { dirname, join } from "node:path";

const here = dirname(process.env.TREE_SITTER_GRAMMAR_PATH ?? "./grammar.js");
const table = JSON.parse(readFileSync(join(here, "../words.json"), "utf8"));

const BLANK = "[ \\t\\u00a0]";
const VULGAR = "½⅓⅔¼-¾⅕-⅞";
// `dash`; it stands last in a class of letters
const DASH = "\\u2010-\\u2015\\u2212-";
// `no_unit`
const NO_UNIT = "+×=&;?\\u2044";

/** The letters of a pattern, large or small; a blank is any gap. */
const anyCase = (words) =>
  words.replace(/[a-z]/gi, (letter) => `[${letter.toUpperCase()}${letter.toLowerCase()}]`).replace(/ /g, `${BLANK}+`);

const keyword = (words) => token(new RustRegex(anyCase(words)));

/** The name of the hidden rule for a line word. */
const ruleOf = (word) => `_word_${word.replace(/[ -]/g, "_")}`;

const lineWords = [...new Set(table.kinds.flatMap((kind) => kind.lines.map((line) => line.word)))];

/** What stands after the line words of each pattern; nothing after a flag. */
const bodies = {
  words: ($) => $.text,
  names: ($) => $.names,
  weighing: ($) => $.weighing,
  quantity: ($) => $.quantity,
  factor: ($) => $.factor,
  percent: ($) => $.percentage,
  density: ($) => $.density,
  money: ($) => $.money,
  strength: ($) => $.strength,
  dose: ($) => $.dose,
  most: ($) => $.most,
  pack: ($) => $.pack,
  counted: ($) => $.counted,
  caution: ($) => $.caution,
  preparation: ($) => $.preparation,
  divide: ($) => $.pieces,
  adapts: ($) => $.adapted,
  date: ($) => $.date,
  make: ($) => $.target,
  age: ($) => $.age,
};

/** All lines that an entry of one kind may have. */
function linesOf($, { lines, pieces }) {
  const by = {};
  for (const { word, pattern } of lines) (by[pattern] ??= []).push($[ruleOf(word)]);
  const choices = Object.entries(by).map(([pattern, words]) => {
    const word = field("word", alias(choice(...words), $.line_word));
    const cited = optional($._cited);
    if (pattern === "flag") return seq(word, cited);
    if (pattern === "take") {
      return seq(word, optional(field("value", $.item)), cited, optional(field("items", $.items)));
    }
    if (pattern === "used") {
      return seq(
        word,
        optional(field("value", alias($.used_item, $.item))),
        cited,
        optional(field("items", alias($.used_items, $.items))),
      );
    }
    return seq(word, field("value", bodies[pattern]($)), cited);
  });
  if (pieces) {
    choices.push(seq(field("word", alias($._piece, $.piece)), field("value", alias($._piece_weighing, $.weighing)), optional($._cited)));
  }
  return choice(...choices);
}

const commaList = ($, rule) => seq(rule, repeat(seq($._comma, rule)));

const rules = {
  source_file: ($) => repeat(seq($._entry, $.entry)),

  entry: ($) => choice(...table.kinds.map(({ kind }) => $[`_entry_of_${kind}`])),
};

for (const kind of table.kinds) {
  const word = kind.kind;
  rules[`_entry_of_${word}`] = ($) => {
    const opens = field("kind", alias($[`_kind_${word}`], $.kind));
    const name = field("name", choice($.quoted, alias($._head_name, $.name)));
    const dated = seq(field("name", choice($.quoted, alias($._dated_name, $.name))), alias($._on, $.small_word), field("day", $.date));
    const head = {
      practice: optional(name),
      lot: seq(field("id", alias($._id, $.lot_id)), alias($._of, $.small_word), name),
      batch: dated,
      supply: dated,
    }[word] ?? name;
    return seq(opens, head, repeat(seq($._line, alias($[`_line_of_${word}`], $.line))));
  };
  rules[`_line_of_${word}`] = ($) => linesOf($, kind);
}

Object.assign(rules, {
  _cited: ($) => seq(alias($._source_mark, $.small_word), field("source", alias($.text, $.source))),

  text: ($) => repeat1($._text),
  topic: ($) => repeat1($._topic),
  names: ($) => commaList($, choice($.quoted, alias($._listed_name, $.name))),
  _listed_name: ($) => repeat1($._listed),

  // ---- what is taken
  items: ($) => repeat1(seq($._item, $.item, optional($._cited))),
  item: ($) => choice(
    seq(alias($._without, $.small_word), $._item_names),
    seq(
      optional($.by_volume),
      $._item_names,
      field("amount", $.amount),
      repeat(seq($._comma, $._clause)),
      optional(choice($.role, seq($._comma, $.role))),
      optional($._comma),
    ),
  ),
  by_volume: ($) => seq($._number, alias($._percent, $.unit), optional(alias($._by_weight, $.small_word))),
  _item_names: ($) => commaList($, field("name", choice($.quoted, alias($._item_name, $.name)))),
  _item_name: ($) => prec.right(repeat1($._name_word)),
  amount: ($) => seq(
    optional(alias($._each, $.small_word)),
    choice(
      seq(optional(alias($._enough, $.small_word)), alias($._to, $.small_word), $.quantity),
      alias($._enough, $.small_word),
      alias($._equal, $.small_word),
      seq(alias($._as, $.small_word), $.ratio),
      seq(alias($._about, $.small_word), $.quantity),
      $.quantity,
      $._article_quantity,
    ),
  ),
  _clause: ($) => choice(
    seq(alias($._about, $.small_word), $.quantity),
    seq(alias($._or, $.small_word), alias($._enough, $.small_word)),
    alias($._item_clauses, $.clause),
  ),
  role: ($) => seq(alias($._as, $.small_word), alias($._role_words, $.role_name)),
  _role_words: ($) => prec.right(seq($._word, optional($._word), optional($._word))),

  used_items: ($) => repeat1(seq($._item, alias($.used_item, $.item))),
  used_item: ($) => seq(
    $._item_names,
    $.portion,
    repeat(seq($._comma, choice($.portion, alias($._used_clauses, $.clause)))),
  ),
  portion: ($) => seq($.quantity, optional(seq(alias($._from, $.small_word), alias($._word, $.lot_id)))),

  // ---- numbers and measures
  _number: ($) => choice($.number, $.doubtful_number),
  _numbers: ($) => seq($._number, optional(seq($._range, $._number))),
  _range: ($) => choice(alias($._to, $.small_word), alias($._or, $.small_word), alias($._dash, $.small_word)),
  ratio: ($) => seq($._number, repeat1(seq(":", $._number))),
  _term: ($) => prec.right(seq($._number, optional($.unit))),
  // of several only the last may stand without its measure: `1 000 g` is no number
  _terms: ($) => prec.right(seq($._number, optional(seq($.unit, optional($._terms))))),
  quantity: ($) => prec.right(seq($._terms, optional(seq($._range, $._terms)))),
  _article_quantity: ($) => seq(alias($._article, $.small_word), $.unit),
  unit: ($) => prec.right(choice(
    $._percent,
    seq($._unit_word, optional($._unit_word), optional($._unit_word), optional($._unit_word)),
  )),
  percentage: ($) => seq($._number, alias($._percent, $.unit)),

  weighing: ($) => choice(
    $.quantity,
    seq(alias($._weighed, $.small_word), commaList($, $._weighed_term)),
  ),
  _weighed_term: ($) => seq($._term, optional(seq(alias($._for, $.small_word), $._number))),
  _piece: ($) => prec.right(seq($._piece_word, optional($._piece_word), optional($._piece_word))),
  // a piece without a measure says nothing, and its words are no piece then
  _piece_weighing: ($) => choice(
    alias($._measured, $.quantity),
    seq(alias($._weighed, $.small_word), commaList($, $._weighed_term)),
  ),
  _measured: ($) => choice(
    seq($._number, $._range, $._measures),
    prec.right(seq($._measures, optional(seq($._range, $._measures)))),
  ),
  _measures: ($) => prec.right(repeat1(seq($._number, $.unit))),
  factor: ($) => seq($._numbers, optional(alias(keyword("level spoons|level spoon|level measures"), $.unit))),
  density: ($) => seq($.quantity, alias($._per, $.small_word), $.unit),
  money: ($) => seq(
    optional($.currency),
    $._number,
    optional($.currency),
    optional(seq(alias(choice($._per, $._article), $.small_word), choice($.quantity, $.unit))),
  ),
  pack: ($) => seq(
    $.quantity,
    optional(seq(alias($._for, $.small_word), alias($._pack_price, $.money))),
    optional(seq(alias($._from, $.small_word), field("seller", $.text))),
  ),
  _pack_price: ($) => seq(optional($.currency), $._number, optional($.currency)),
  counted: ($) => seq(
    $.quantity,
    alias($._on, $.small_word),
    field("day", $.date),
    optional(seq($._comma, alias($.text, $.clause))),
  ),
  strength: ($) => seq(
    choice(
      seq($.ratio, optional(alias($._by_weight, $.small_word)), alias($._of, $.small_word), alias($._strength_clauses, $.name)),
      $.by_volume,
    ),
    repeat(seq($._comma, choice($.by_volume, alias($._strength_clauses, $.clause)))),
  ),
  age: ($) => seq($._number, optional($.unit)),

  // ---- preparing and taking
  preparation: ($) => seq($._steps, repeat(seq($._comma, choice($._steps, alias($._step_clauses, $.clause))))),
  _steps: ($) => prec.right(repeat1(choice($.ratio, $.quantity, $.quoted, $._step_word, alias($._plain_word, $.word)))),
  _step_word: ($) => alias(choice($._in, $._with, $._for, $._at, $._down_to, $._of, $._and, $._by_weight), $.small_word),
  pieces: ($) => seq(
    alias($._into, $.small_word),
    choice($.quantity, seq($.unit, alias($._of, $.small_word), $.quantity)),
  ),
  adapted: ($) => seq(
    choice($.quoted, alias($._adapted_names, $.name)),
    optional(seq(alias($._at, $.small_word), $._number)),
  ),
  _adapted_names: ($) => repeat1($._adapted_name),
  dose: ($) => seq(
    optional(seq($.for_age, ":")),
    choice($.quantity, $._article_quantity),
    optional($._takings),
    repeat(seq($._comma, choice($._takings, alias($._dose_clauses, $.clause)))),
  ),
  for_age: ($) => seq(
    alias($._age, $.small_word),
    choice(seq(alias($._under, $.small_word), $._number), $._numbers),
    optional(alias($._years, $.unit)),
  ),
  _takings: ($) => prec.right(repeat1(choice($.quantity, $._taking_word, alias($._plain_word, $.word)))),
  _taking_word: ($) => alias(
    choice($._up_to, $._times, $._a_day, $._once, $._twice, $._daily, $._every, $._for, $._in, $._of),
    $.small_word,
  ),
  most: ($) => seq(
    optional(seq($.for_age, ":")),
    $.quantity,
    optional(alias(choice($._a_day, $._daily, $._at_once), $.small_word)),
  ),
  caution: ($) => seq($.topic, optional(seq(":", optional($.text)))),
  target: ($) => choice(
    alias($._all_stock, $.small_word),
    seq($._number, alias($._times, $.small_word)),
    seq($.quantity, optional(seq(alias(choice($._for, $._of), $.small_word), $.quantity))),
  ),

  ...Object.fromEntries(
    ["item", "used", "step", "dose", "strength"].map((place) => [
      `_${place}_clauses`,
      ($) => repeat1($[`_${place}_clause`]),
    ]),
  ),

  // ---- words; of two that fit the same letters the earlier wins
  date: () => token(/[0-9]{4}-[0-9]{2}(-[0-9]{2})?/),
});

for (const { kind } of table.kinds) rules[`_kind_${kind}`] = () => keyword(kind);
for (const word of lineWords) rules[ruleOf(word)] = () => keyword(word);

const small = {
  _on: "on", _of: "of", _each: "of each", _equal: "equal parts", _enough: null, _to: "to", _as: "as", _about: "about",
  _or: "or", _from: "from", _article: null, _weighed: "weighed", _for: "for", _per: "per", _by_weight: "by weight",
  _in: "in", _with: "with", _at: "at", _down_to: "down to", _and: "and", _into: "into", _age: "age", _under: "under",
  _years: "years", _up_to: "up to", _times: null, _a_day: null, _once: "once", _twice: "twice", _daily: "daily",
  _every: "every", _at_once: null, _all_stock: null,
};
const spelled = {
  _each: `${anyCase("of each")}|āā`,
  _equal: `(${anyCase("in ")})?${anyCase("equal parts")}`,
  _enough: `[Qq]\\.${BLANK}?[Ss]\\.|[Qq][Ss]`,
  _article: `${anyCase("a")}|${anyCase("an")}`,
  _times: anyCase("times"),
  _a_day: ["a", "per", "each", "every"].map((word) => anyCase(`${word} day`)).join("|"),
  _at_once: `${anyCase("at once")}|${anyCase("in one dose")}`,
  _all_stock: `${anyCase("all ")}(${anyCase("that ")})?${anyCase("stock allows")}`,
};
for (const [name, words] of Object.entries(small)) {
  rules[name] = () => token(new RustRegex(spelled[name] ?? anyCase(words)));
}

Object.assign(rules, {
  _percent: () => token(new RustRegex(`%|${anyCase("per cent")}`)),
  _dash: () => token(new RustRegex(`[${DASH}]`)),
  currency: () => token(/[€£$¥]|[A-Z]{3}/),
  // 20, 0.5, 1/2, 1 1/2, ½, 1½
  number: () => token(new RustRegex(
    `[0-9]+(\\.[0-9]+)?|[0-9]+/[0-9]+|[0-9]+${BLANK}+[0-9]+/[0-9]+|([0-9]+${BLANK}*)?[${VULGAR}]`,
  )),
  // what is taken for a number and refused: 40,0, .5, 1-1/2, 1.2.5
  doubtful_number: () => token(new RustRegex(
    `\\.[0-9]+|[0-9]+${BLANK}*[${DASH}]${BLANK}*([0-9]+/[0-9]+|[${VULGAR}])|[0-9${VULGAR}]+([./\\u2044,;'’·]{1,2}[0-9]+)+[${VULGAR}]?`,
  )),
  quoted: () => token(/"[^"\r\n]+"/),
  comment: () => token(/#[^\r\n]*/),
  // a dash inside of it leads to no number
  _unit_word: () => token(new RustRegex(
    `[^ \\t\\u00a0\\r\\n,:"#/0-9${VULGAR}${NO_UNIT}${DASH}]([^ \\t\\u00a0\\r\\n,:"${NO_UNIT}${DASH}]|[${DASH}]+[^ \\t\\u00a0\\r\\n,:"0-9${VULGAR}${NO_UNIT}${DASH}])*`,
  )),
  _piece_word: () => token(new RustRegex(`[^ \\t\\u00a0\\r\\n,:"#0-9${VULGAR}.][^ \\t\\u00a0\\r\\n,:"0-9${VULGAR}]*`)),
  _plain_word: () => token(new RustRegex(`[^ \\t\\u00a0\\r\\n,:"#0-9${VULGAR}][^ \\t\\u00a0\\r\\n,:"]*`)),
  _id: () => token(/[^ \t\u00a0\r\n#][^ \t\u00a0\r\n]*/),
  _word: () => token(/[^ \t\u00a0\r\n,:"#][^ \t\u00a0\r\n,:"]*/),
});

export default grammar({
  name: "scruple",
  rules,
  extras: ($) => [/[ \t\u00a0\r\n]/, $.comment, $._goes_on],
  externals: ($) => [
    $._entry,
    $._line,
    $._item,
    $._goes_on,
    $._comma,
    $._source_mark,
    $._text,
    $._topic,
    $._listed,
    $._head_name,
    $._dated_name,
    $._adapted_name,
    $._without,
    $._name_word,
    $._item_clause,
    $._used_clause,
    $._step_clause,
    $._dose_clause,
    $._strength_clause,
    $._recovering,
  ],
});
