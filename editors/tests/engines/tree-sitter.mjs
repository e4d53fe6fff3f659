// The tree-sitter grammar, compiled with the library from the registry's package of the same name.

import { existsSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { here, root } from "../corpus.mjs";
import { Missing, run, scratch } from "../tools.mjs";

const grammar = join(root, "grammar/tree-sitter");
const library = join(here, "node_modules/tree-sitter/vendor/tree-sitter/lib");
const queries = [
  ...["highlights", "folds", "indents", "injections", "tags", "textobjects"].map((name) => join(grammar, `queries/${name}.scm`)),
  join(root, "editors/helix/queries/scruple/textobjects.scm"),
];
const program = join(scratch, "tree");

export const name = "tree-sitter";

export function prepare() {
  if (!existsSync(library)) throw new Missing("the packages are not there: run `npm ci` in editors/tests");
  const flags = ["-std=gnu11", "-D_DEFAULT_SOURCE", `-I${library}/include`];
  const parts = [
    [join(library, "src/lib.c"), ["-O1", `-I${library}/src`]],
    [join(grammar, "src/parser.c"), ["-O0", "-Wall", "-Wextra", "-Werror", `-I${grammar}/src`]],
    [join(grammar, "src/scanner.c"), ["-O1", "-Wall", "-Wextra", "-Werror", `-I${grammar}/src`]],
    [join(here, "tree.c"), ["-O1", "-Wall", "-Wextra", "-Werror"]],
  ].map(([source, own], at) => {
    const object = join(scratch, `${at}.o`);
    run("cc", [...flags, ...own, "-c", source, "-o", object]);
    return object;
  });
  run("cc", [...parts, "-o", program]);
  const { version } = JSON.parse(readFileSync(join(here, "node_modules/tree-sitter/package.json"), "utf8"));
  return `tree-sitter ${version}, ABI ${/#define LANGUAGE_VERSION (\d+)/.exec(readFileSync(join(grammar, "src/parser.c"), "utf8"))[1]}`;
}

/** What the grammar finds in texts: for each its faults, and the captures of each query. */
export function read(texts) {
  if (!existsSync(program)) prepare();
  const paths = texts.map((text, at) => {
    const path = join(scratch, `${at}.scruple`);
    writeFileSync(path, text);
    return path;
  });
  const asked = queries.flatMap((query) => ["--query", query]);
  const found = [];
  for (const line of run(program, [...asked, ...paths]).stdout.split("\n")) {
    const words = line.split(" ");
    if (words[0] === "file") found.push({ faults: [], captures: [] });
    if (words[0] === "error") found.at(-1).faults.push({ kind: words[1], start: Number(words[2]), end: Number(words[3]) });
    if (words[0] === "capture") {
      const query = words[1].split("/").pop().replace(".scm", "");
      found.at(-1).captures.push({ query, name: words[2], start: Number(words[3]), end: Number(words[4]) });
    }
  }
  return found;
}

export function probe(files) {
  return read(files.map((file) => file.text)).map(({ captures }, at) => {
    const { text, points } = files[at];
    const starts = [0];
    for (const line of text.split("\n")) starts.push(starts.at(-1) + Buffer.byteLength(line, "utf8") + 1);
    return points.map(({ line, byte }) => {
      const place = starts[line] + byte;
      let best = null;
      for (const capture of captures) {
        if (capture.query !== "highlights" || capture.start > place || capture.end <= place) continue;
        if (best === null || capture.end - capture.start <= best.end - best.start) best = capture;
      }
      return best?.name ?? "";
    });
  });
}

export const says = (found, { treesitter }) => found === (treesitter ?? "");

/** Every query finds something in an example. */
export function more() {
  const [{ captures }] = read([readFileSync(join(root, "examples/low-barn/formulas/chest.scruple"), "utf8")]);
  const idle = queries.map((path) => path.split("/").pop().replace(".scm", "")).filter((query) => !captures.some((capture) => capture.query === query));
  if (idle.length > 0) throw new Error(`these queries find nothing: ${idle.join(", ")}`);
  return `, ${queries.length} queries find something`;
}
