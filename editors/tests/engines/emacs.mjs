// Emacs in batch mode: the mode compiled with warnings as errors, the face at each place, the index, the indentation.

import { copyFileSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { root } from "../corpus.mjs";
import { run, scratch, versionOf } from "../tools.mjs";

const source = join(root, "editors/emacs/scruple-mode.el");
const copy = join(scratch, "scruple-mode.el");
const asked = join(scratch, "emacs-asked.json");
const found = join(scratch, "emacs-found.json");

const SCRIPT = `;;; -*- lexical-binding: t; -*-
(require 'json)
(require 'imenu)
(load ${JSON.stringify(join(scratch, "scruple-mode.elc"))} nil t)
(defun answer (what) (with-temp-file ${JSON.stringify(found)} (insert (json-encode what))))
(defun probe (path points)
  (with-temp-buffer
    (insert-file-contents path)
    (setq buffer-file-name path)
    (set-auto-mode)
    (unless (eq major-mode 'scruple-mode) (error "The mode is %s" major-mode))
    (font-lock-ensure)
    (set-buffer-modified-p nil)
    (vconcat (mapcar (lambda (point)
                       (goto-char (point-min))
                       (forward-line (aref point 0))
                       (let ((face (get-text-property (+ (point) (aref point 1)) 'face)))
                         (format "%s" (or face ""))))
                     points))))
(defun typed ()
  (with-temp-buffer
    (scruple-mode)
    (electric-indent-local-mode 1)
    (dolist (line '("formula short tea" "take" "mint   2 g" "part   3 g"))
      (unless (bobp) (newline-and-indent))
      (insert line))
    (buffer-string)))
(defun indexed (path)
  (with-temp-buffer
    (insert-file-contents path)
    (scruple-mode)
    (mapcar #'car (cdr (assoc "Formula" (funcall imenu-create-index-function))))))
`;

function ask(question) {
  const script = join(scratch, "emacs-script.el");
  writeFileSync(script, `${SCRIPT}\n(answer ${question})\n`);
  run("emacs", ["-Q", "--batch", "-l", script], { env: { ...process.env, LC_ALL: "C.UTF-8", HOME: scratch } });
  return JSON.parse(readFileSync(found, "utf8"));
}

export const name = "emacs";

export function prepare() {
  const version = versionOf("emacs");
  copyFileSync(source, copy);
  run("emacs", ["-Q", "--batch", "--eval", "(setq byte-compile-error-on-warn t)", "-f", "batch-byte-compile", copy]);
  return version;
}

export function probe(files) {
  // Emacs counts letters, not halves of letters
  const points = files.map(({ path, points }) => [path, points.map(({ line, column, whole }) => [line, [...whole.slice(0, column)].length])]);
  writeFileSync(asked, JSON.stringify(points));
  return ask(`(let ((json-array-type 'vector))
    (vconcat (mapcar (lambda (asked) (probe (aref asked 0) (aref asked 1))) (json-read-file ${JSON.stringify(asked)}))))`);
}

export const says = (face, { emacs }) => face === (emacs ?? "");

export function more() {
  const typed = ask("(typed)");
  if (typed !== "formula short tea\n  take\n    mint   2 g\n    part   3 g") throw new Error(`typed lines are indented so: ${JSON.stringify(typed)}`);
  const index = ask(`(vconcat (indexed ${JSON.stringify(join(root, "examples/low-barn/formulas/chest.scruple"))}))`);
  const wanted = ["chest tea", "chest tea for the hoarse", "plantain syrup", "thyme tincture", "throat drops"];
  if (!wanted.every((name) => index.includes(name))) throw new Error(`the index holds ${JSON.stringify(index)}`);
  return ", compiled without a warning, lines indented as they are typed, entries in the index";
}
