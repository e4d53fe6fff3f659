;;; scruple-mode.el --- Formula ledgers of herbal practitioners  -*- lexical-binding: t; -*-

;; Version: 0.1.0
;; Package-Requires: ((emacs "27.1"))
;; Keywords: languages
;; SPDX-License-Identifier: MIT

;;; Commentary:

;; Colours, indentation and an index of entries for the ledgers of `scruple'.
;; What is known of their meaning comes from `scruple lsp', by Eglot.
;;
;; How lines hang together depends on their indentation, so lines are coloured
;; one after the other from the first line of their entry on.

;;; Code:

(defgroup scruple nil
  "Formula ledgers of herbal practitioners."
  :group 'languages)

(defface scruple-number-face '((t :inherit font-lock-constant-face))
  "Face of numbers.")

(defface scruple-small-word-face '((t :inherit font-lock-keyword-face))
  "Face of the small words between names, numbers and measures.")

(defface scruple-topic-face '((t :inherit font-lock-preprocessor-face))
  "Face of what a caution is about.")

(defface scruple-date-face '((t :inherit font-lock-constant-face))
  "Face of dates.")

;; The words; made by editors/tests/generate.mjs.
;; words: begin
(defconst scruple--kinds
  '("practice" "source" "herb" "material" "formula" "person" "batch" "lot" "supply" "set" "topic"))

(defconst scruple--groups
  '((amounts "rounded dessertspoon" "heaped dessertspoon" "level dessertspoon" "rounded tablespoon" "heaped tablespoon" "level tablespoon" "rounded teaspoon" "heaped teaspoon" "level teaspoon" "dessertspoon" "from memory" "rounded cup" "heaped cup" "tablespoon" "discarded" "level cup" "wineglass" "cylinder" "one part" "teaspoon" "counted" "density" "handful" "mark-up" "minimum" "rounded" "yielded" "amount" "divide" "heaped" "margin" "scales" "teacup" "weight" "error" "makes" "pinch" "price" "cost" "drop" "loss" "make" "most" "pack" "age" "cup")
    (words "checked by" "weighed by" "reference" "children" "measures" "supplier" "address" "author" "effect" "family" "lesson" "totals" "given" "latin" "money" "ounce" "title" "dram" "keep" "note" "sign" "then" "year" "for" "mix")
    (names "to person" "allergic" "from lot" "instead" "nature" "person" "source" "holds" "takes" "taste" "also" "part" "when" "is")
    (strength "strength")
    (dose "dose")
    (steps "percolate" "macerate" "decoct" "infuse" "syrup")
    (caution "consult" "accept" "avoid" "mind")
    (adapts "adapts")
    (take "take")
    (used "used")
    (date "best before" "from batch" "received")))

(defconst scruple--stops
  '("to" "or" "as" "in" "for" "at" "with" "from" "of" "and" "down" "on" "up" "every" "an" "a" "per" "once" "twice" "daily" "times"))

(defconst scruple--household
  '("teaspoon" "dessertspoon" "tablespoon" "cup" "pinch" "handful" "wineglass" "teacup" "drop"))
;; words: end

;;; Pieces of patterns

(defconst scruple--blank "[ \t\u00a0]")
(defconst scruple--letter "[^ \t\u00a0,:\"\n]")
(defconst scruple--vulgar "½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞")
(defconst scruple--dash "‐-―−-" "Hyphens, dashes of any length and a minus sign, last in a class of letters.")
(defconst scruple--edge "\\(?:[ \t\u00a0,:]\\|$\\)")

(defun scruple--spelled (words)
  "A pattern for WORDS, with gaps of any width."
  (concat "\\(?:"
          (mapconcat (lambda (word)
                       (replace-regexp-in-string " " (concat scruple--blank "+") (regexp-quote word)))
                     words "\\|")
          "\\)"))

(defconst scruple--number
  (concat "[0-9]+" scruple--blank "+[0-9]+/[0-9]+\\|[0-9]+/[0-9]+\\|"
          "\\(?:[0-9]+" scruple--blank "*\\)?[" scruple--vulgar "]\\|[0-9]+\\(?:\\.[0-9]+\\)?"))

(defconst scruple--doubtful
  (concat "[0-9]+" scruple--blank "*[" scruple--dash "]" scruple--blank "*\\(?:[0-9]+/[0-9]+\\|[" scruple--vulgar "]\\)\\|\\.[0-9]+\\|[0-9]+[,;'’·][0-9]+\\|"
          "[0-9]+[.,;'’·/][0-9]+\\(?:[./,;'’·][0-9]+\\)+")
  "What is taken for a number and refused.")

(defconst scruple--digit (concat "[0-9" scruple--vulgar "]"))
(defconst scruple--enough (concat "\\(?:q\\." scruple--blank "?s\\.\\|qs\\)"))
(defconst scruple--each (concat "\\(?:of" scruple--blank "+each\\|āā\\)"))
(defconst scruple--equal (concat "\\(?:in" scruple--blank "+\\)?equal" scruple--blank "+parts"))
(defconst scruple--a-day (concat "\\(?:a\\|per\\|each\\|every\\)" scruple--blank "+day"))
(defconst scruple--stop (concat (scruple--spelled scruple--stops) scruple--edge))

(defconst scruple--amount-words
  (concat "\\(" (scruple--spelled '("at once" "in one dose" "by weight" "all that stock allows" "all stock allows"
                                    "to" "or" "weighed" "for" "per" "of" "into" "daily" "times"))
          "\\|" scruple--a-day "\\)" scruple--edge))

(defconst scruple--step-words
  (concat "\\(" (scruple--spelled '("down to" "by weight" "in" "with" "for" "at" "of" "and")) "\\)" scruple--edge))

(defconst scruple--dose-words
  (concat "\\(" (scruple--spelled '("up to" "times" "once" "twice" "daily" "every" "for" "in" "of" "under"))
          "\\|" scruple--a-day "\\)" scruple--edge))

(defconst scruple--item-words
  (concat "\\(" scruple--each "\\|" scruple--equal "\\|" scruple--enough "\\|about\\|to\\|or\\)" scruple--edge))

;;; Reading a line

(defun scruple--colour (from to face)
  "Give what stands FROM there TO there a FACE."
  (when (< from to)
    (put-text-property from to 'face face)))

(defun scruple--skip-blanks (end)
  "Go over blanks, up to END."
  (skip-chars-forward " \t\u00a0" end))

(defun scruple--trimmed (from to)
  "The place TO without the blanks before it, FROM at the least."
  (save-excursion
    (goto-char to)
    (skip-chars-backward " \t\u00a0" from)
    (point)))

(defun scruple--comment-start (end)
  "Where the comment of this line begins that ends at END, or END.
It opens with a # at the start or after a blank, outside of quotes that close."
  (save-excursion
    (beginning-of-line)
    (let ((after-blank t) found)
      (while (and (not found) (< (point) end))
        (let ((letter (char-after)))
          (cond
           ((and after-blank (eq letter ?#)) (setq found (point)))
           ((and (eq letter ?\") (looking-at "\"[^\"\n]*\"")) (goto-char (match-end 0)) (setq after-blank nil))
           (t (setq after-blank (memq letter '(?\s ?\t ?\u00a0))) (forward-char)))))
      (or found end))))

(defun scruple--cited (from end)
  "Colour the source that a line cites between FROM and END.
Give where it begins, or END."
  (save-excursion
    (goto-char from)
    (if (re-search-forward "\\(?:\t\\|[ \u00a0][ \u00a0]\\)\\(source\\)[ \t\u00a0]+\\([^ \t\u00a0]\\)" end t)
        (let ((at (match-beginning 1)) (name (match-beginning 2)))
          (scruple--colour at (match-end 1) 'scruple-small-word-face)
          (scruple--colour name end 'font-lock-doc-face)
          (scruple--trimmed from at))
      end)))

(defun scruple--unit (end)
  "Colour the measure here, up to END, and go behind it."
  (let ((from (point)) (words 0) (last (point)))
    (scruple--skip-blanks end)
    (setq from (point))
    (cond
     ((looking-at "%\\|per[ \t\u00a0]+cent\\_>") (setq last (match-end 0)))
     (t
      (while (and (< words 4) (< (point) end)
                  (not (looking-at scruple--stop))
                  (looking-at (concat "[^ \t\u00a0,:\"#0-9" scruple--vulgar "\n" scruple--dash "]" scruple--letter "*")))
        (let ((to (min end (match-end 0))))
          ;; a dash that leads to a number ends the measure
          (when (re-search-forward (concat "[" scruple--dash "]" scruple--blank "*" scruple--digit) (min end (1+ to)) t)
            (setq to (match-beginning 0) words 4))
          (goto-char to))
        (setq last (point) words (1+ words))
        (scruple--skip-blanks end))))
    (goto-char last)
    (scruple--colour from last 'font-lock-type-face)
    (> last from)))

(defun scruple--number-here (end)
  "Colour the number here and its measure, up to END; say whether there was one."
  (let ((face (cond ((looking-at scruple--doubtful) 'font-lock-warning-face)
                    ((looking-at scruple--number) 'scruple-number-face))))
    (when face
      ;; of what fits, the longest counts
      (when (and (eq face 'font-lock-warning-face)
                 (let ((to (match-end 0)))
                   (save-match-data (and (looking-at scruple--number) (>= (match-end 0) to)))))
        (setq face 'scruple-number-face))
      (looking-at (if (eq face 'font-lock-warning-face) scruple--doubtful scruple--number))
      (scruple--colour (match-beginning 0) (min end (match-end 0)) face)
      (goto-char (min end (match-end 0)))
      (scruple--unit end)
      t)))

(defun scruple--small-word (pattern end)
  "Colour the small word here, if PATTERN fits up to END, and go behind it."
  (when (and (looking-at pattern) (<= (match-end 1) end))
    (scruple--colour (match-beginning 1) (match-end 1) 'scruple-small-word-face)
    (goto-char (match-end 1))
    t))

(defun scruple--article (pattern end)
  "Colour a PATTERN such as `a' or `per' and the measure behind it, up to END."
  (when (looking-at (concat "\\(" pattern "\\)[ \t\u00a0]+[^0-9" scruple--vulgar ",:]"))
    (let ((from (match-beginning 1)) (to (match-end 1)))
      (goto-char to)
      (if (scruple--unit end)
          (progn (scruple--colour from to 'scruple-small-word-face) t)
        (goto-char from)
        nil))))

(defun scruple--clause (end face &optional role)
  "Colour what stands up to a comma or END with FACE.
If ROLE, a role that stands last has a colour of its own."
  (scruple--skip-blanks end)
  (let* ((from (point))
         (to (if (search-forward "," end t) (1- (point)) end))
         (cut to))
    (goto-char from)
    (goto-char to)
    ;; the last `as' with up to three words behind it
    (when (and role (= to end)
               (re-search-backward "[ \t\u00a0,]\\(as\\)[ \t\u00a0]+" (max (point-min) (1- from)) t))
      (let* ((opening (match-beginning 0)) (at (match-beginning 1)) (name (match-end 0))
             (words (buffer-substring-no-properties name to)))
        (when (and (<= 1 (length (split-string words "[ \t\u00a0]+" t)) 3)
                   (not (string-match-p "[:\"]" words)))
          (setq cut opening)
          (scruple--colour at (+ at 2) 'scruple-small-word-face)
          (scruple--colour name to 'font-lock-constant-face))))
    (scruple--colour from (scruple--trimmed from cut) face)
    (goto-char to)))

(defun scruple--tokens (end words &optional formed more role)
  "Colour numbers, measures and small WORDS up to END.
If FORMED, what stands behind a comma is free words, unless it begins
like that.  
MORE may read what is special here; it says whether it did.  With ROLE a
role may stand last."
  (while (progn (scruple--skip-blanks end) (< (point) end))
    (cond
     ((and formed (eq (char-after) ?,))
      (forward-char)
      (scruple--skip-blanks end)
      (unless (or (looking-at formed) (>= (point) end))
        (scruple--clause end 'font-lock-string-face role)))
     ((and more (funcall more end)))
     ((scruple--number-here end))
     ((looking-at (concat "\\(?:to\\|or\\)[ \t\u00a0]+\\.?" scruple--digit))
      (scruple--small-word "\\(to\\|or\\)" end))
     ((scruple--small-word words end))
     ((looking-at "[€£$¥]")
      (scruple--colour (point) (1+ (point)) 'font-lock-type-face)
      (forward-char))
     ((looking-at (concat "[" scruple--dash "]" scruple--blank "*" scruple--digit)) (forward-char))
     ((looking-at (concat scruple--letter "+")) (goto-char (min end (match-end 0))))
     (t (forward-char)))))

;;; Lines by what stands in them

(defun scruple--names (end)
  "Colour names between commas up to END."
  (while (progn (skip-chars-forward " \t\u00a0," end) (< (point) end))
    (let ((from (point)))
      (if (looking-at "\"[^\"\n]+\"")
          (goto-char (min end (match-end 0)))
        (skip-chars-forward "^,\"" end))
      (when (= from (point)) (forward-char))
      (scruple--colour from (scruple--trimmed from (point)) 'font-lock-variable-name-face))))

(defun scruple--opens-amount (end)
  "Whether an amount opens here, before END."
  (or (looking-at (concat scruple--digit "\\|\\.[0-9]"))
      (looking-at (concat "\\(?:" scruple--each "\\|" scruple--equal "\\|" scruple--enough "\\)" scruple--edge))
      (looking-at (concat "\\(?:about\\|to\\)[ \t\u00a0]+" scruple--digit))
      (looking-at (concat "as[ \t\u00a0]+\\(?:" scruple--number "\\)[ \t\u00a0]*:"))
      (looking-at (concat "an?[ \t\u00a0]+\\(?:\\(?:level\\|rounded\\|heaped\\|heaping\\)[ \t\u00a0]+\\)?"
                          (scruple--spelled scruple--household)))
      (and (looking-at (concat "an?[ \t\u00a0]+\\([^ \t\u00a0,:\"#0-9" scruple--dash "]" scruple--letter "*\\)[ \t\u00a0]*\\(?:,\\|$\\|#\\|as[ \t\u00a0]\\)"))
           (save-match-data
             (not (string-match-p (concat "\\`" (scruple--spelled scruple--stops) "\\'") (match-string 1)))))
      (>= (point) end)))

(defun scruple--amount (end)
  "Colour an amount and what follows it, up to END."
  (scruple--tokens
   end scruple--item-words (concat "about[ \t\u00a0]+" scruple--digit "\\|or[ \t\u00a0]+q")
   (lambda (end)
     (cond
      ((looking-at (concat "\\(as\\)[ \t\u00a0]+\\(?:" scruple--number "\\)[ \t\u00a0]*:"))
       (scruple--small-word "\\(as\\)" end))
      ((looking-at "\\(as\\)[ \t\u00a0]+\\([^,]*?\\)[ \t\u00a0]*$\\|\\(as\\)[ \t\u00a0]+")
       (scruple--small-word "\\(as\\)" end)
       (scruple--skip-blanks end)
       (scruple--colour (point) end 'font-lock-constant-face)
       (goto-char end))
      ((scruple--article "an?" end))))
   t))

(defun scruple--item (end carried)
  "Colour what is taken, up to END.
CARRIED says that the line above goes on here."
  (scruple--skip-blanks end)
  (if carried
      (scruple--clause end 'font-lock-string-face t)
    (when (looking-at "\\(without\\)[ \t\u00a0]")
      (scruple--small-word "\\(without\\)" end))
    (when (looking-at (concat "\\(" scruple--number "\\)[ \t\u00a0]*\\(%\\)\\(?:[ \t\u00a0]+\\(by[ \t\u00a0]+weight\\)\\)?[ \t\u00a0]+[^ \t\u00a0,#]"))
      (scruple--colour (match-beginning 1) (match-end 1) 'scruple-number-face)
      (scruple--colour (match-beginning 2) (match-end 2) 'font-lock-type-face)
      (when (match-beginning 3)
        (scruple--colour (match-beginning 3) (match-end 3) 'scruple-small-word-face))
      (goto-char (or (match-end 3) (match-end 2)))))
  (while (progn (skip-chars-forward " \t\u00a0,:" end) (not (scruple--opens-amount end)))
    (let ((from (point)) (last (point)))
      (if (looking-at "\"[^\"\n]*\"?")
          (setq last (match-end 0))
        (while (and (< (point) end) (not (scruple--opens-amount end))
                    (looking-at (concat scruple--letter "+")))
          (goto-char (match-end 0))
          (setq last (point))
          (scruple--skip-blanks end)))
      (goto-char (if (= last from) (1+ from) last))
      (scruple--colour from last 'font-lock-variable-name-face)))
  (scruple--amount end))

(defun scruple--used (end)
  "Colour what went into a batch, up to END."
  (let ((from (progn (scruple--skip-blanks end) (point))))
    (skip-chars-forward (concat "^0-9" scruple--vulgar) end)
    (scruple--colour from (scruple--trimmed from (point)) 'font-lock-variable-name-face))
  (scruple--tokens
   end "\\(to\\|or\\)[ \t\u00a0]" scruple--digit
   (lambda (end)
     (when (and (looking-at "\\(from\\)[ \t\u00a0]+\\([^ \t\u00a0,:\"\n]+\\)") (<= (match-end 2) end))
       (scruple--colour (match-beginning 1) (match-end 1) 'scruple-small-word-face)
       (scruple--colour (match-beginning 2) (match-end 2) 'font-lock-variable-name-face)
       (goto-char (match-end 2))
       t))))

(defun scruple--value (group end first)
  "Colour what stands here up to END, in a line of GROUP.
FIRST says that the word of the line stands before it."
  (pcase group
    ('words (scruple--skip-blanks end) (scruple--colour (point) end 'font-lock-string-face))
    ('names (scruple--names end))
    ('caution
     (scruple--skip-blanks end)
     (when first
       (let ((from (point)))
         (skip-chars-forward "^:" end)
         (scruple--colour from (scruple--trimmed from (point)) 'scruple-topic-face)
         (skip-chars-forward ": \t\u00a0" end)))
     (scruple--colour (point) end 'font-lock-string-face))
    ('adapts
     (scruple--skip-blanks end)
     (let ((from (point)))
       (when (re-search-forward (concat "[ \t\u00a0]\\(at\\)[ \t\u00a0]+" scruple--digit) end t)
         (let ((at (match-beginning 1)))
           (scruple--colour at (match-end 1) 'scruple-small-word-face)
           (goto-char (match-end 1))
           (scruple--skip-blanks end)
           (scruple--number-here end)
           (setq end at)))
       (scruple--colour from (scruple--trimmed from end) 'font-lock-variable-name-face)))
    ('date
     (scruple--skip-blanks end)
     (when (looking-at "[0-9]\\{4\\}-[0-9]\\{2\\}\\(?:-[0-9]\\{2\\}\\)?")
       (scruple--colour (point) (match-end 0) 'scruple-date-face)))
    ('strength
     (scruple--tokens
      end scruple--amount-words scruple--digit
      (lambda (end)
        (when (looking-at "\\(of\\)[ \t\u00a0]")
          (scruple--small-word "\\(of\\)" end)
          (scruple--clause end 'font-lock-variable-name-face)
          t))))
    ('steps
     (scruple--tokens end scruple--step-words
                      (concat "\\(?:in\\|with\\|for\\|at\\)[ \t\u00a0]+" scruple--digit "\\|down[ \t\u00a0]+t")))
    ('dose
     (when first
       (scruple--skip-blanks end)
       (scruple--article "an?" end))
     (scruple--tokens
      end scruple--dose-words
      (concat scruple--digit "\\|\\(?:every\\|for\\|in\\)[ \t\u00a0]+" scruple--digit
              "\\|up[ \t\u00a0]+t\\|daily\\|\\(?:once\\|twice\\)[ \t\u00a0]+[adpe]")
      (lambda (end)
        (when (looking-at (concat "age[ \t\u00a0]+\\(?:under[ \t\u00a0]\\|" scruple--digit "\\)"))
          (scruple--small-word "\\(age\\)" end)))))
    ('take (scruple--item end nil))
    ('used (scruple--used end))
    (_ (scruple--tokens end scruple--amount-words nil
                        (lambda (end) (scruple--amount-phrase end))))))

(defun scruple--amount-phrase (end)
  "Colour `a day', `per' and the like with a measure, a day or a seller, up to END."
  (cond
   ((looking-at "\\(on\\)[ \t\u00a0]+\\([0-9]\\{4\\}-[0-9]\\{2\\}\\(?:-[0-9]\\{2\\}\\)?\\)")
    (scruple--colour (match-beginning 1) (match-end 1) 'scruple-small-word-face)
    (scruple--colour (match-beginning 2) (match-end 2) 'scruple-date-face)
    (goto-char (match-end 2))
    (when (looking-at "[ \t\u00a0]*,[ \t\u00a0]*")
      (scruple--colour (min end (match-end 0)) end 'font-lock-string-face)
      (goto-char end))
    t)
   ((looking-at "\\(from\\)[ \t\u00a0]+")
    (scruple--colour (match-beginning 1) (match-end 1) 'scruple-small-word-face)
    (scruple--colour (min end (match-end 0)) end 'font-lock-string-face)
    (goto-char end)
    t)
   ((scruple--small-word (concat "\\(age\\(?:[ \t\u00a0]+under\\)?\\)[ \t\u00a0]+" scruple--digit) end))
   ((looking-at (concat scruple--a-day scruple--edge)) (scruple--small-word (concat "\\(" scruple--a-day "\\)") end))
   ((scruple--article "per\\|a\\|into" end))
   ((let ((case-fold-search nil)) (looking-at "[A-Z]\\{3\\}\\(?:[ \t\u00a0]\\|$\\)"))
    (scruple--colour (point) (+ 3 (point)) 'font-lock-type-face)
    (forward-char 3)
    t)))

(defun scruple--head (end)
  "Colour the first line of an entry, up to END."
  (when (looking-at (concat (scruple--spelled scruple--kinds) "\\(?:[ \t\u00a0]\\|$\\)"))
    (let ((kind (downcase (buffer-substring-no-properties (point) (progn (skip-chars-forward "a-zA-Z" end) (point))))))
      (scruple--colour (line-beginning-position) (point) 'font-lock-keyword-face)
      (scruple--skip-blanks end)
      (when (and (equal kind "lot") (looking-at "[^ \t\u00a0,:\"\n]+"))
        (scruple--colour (point) (match-end 0) 'font-lock-variable-name-face)
        (goto-char (match-end 0))
        (scruple--skip-blanks end)
        (when (looking-at "of[ \t\u00a0]")
          (scruple--small-word "\\(of\\)" end)
          (scruple--skip-blanks end)))
      (let ((from (point)))
        (when (and (member kind '("batch" "supply"))
                   (re-search-forward "[ \t\u00a0]+\\(on\\)[ \t\u00a0]+\\([0-9]\\{4\\}-[0-9]\\{2\\}\\(?:-[0-9]\\{2\\}\\)?\\)" end t))
          (scruple--colour (match-beginning 1) (match-end 1) 'scruple-small-word-face)
          (scruple--colour (match-beginning 2) (match-end 2) 'scruple-date-face)
          (setq end (match-beginning 0)))
        (scruple--colour from end 'font-lock-function-name-face)))))

(defun scruple--piece-end (end)
  "Where the name of a piece ends that stands here before its weight, before END."
  (save-excursion
    (let ((from (point)))
      (when (re-search-forward (concat "[ \t\u00a0]+\\(?:weighed[ \t\u00a0]\\|\\.?" scruple--digit "\\)") end t)
        (let ((to (match-beginning 0)))
          (goto-char from)
          (skip-chars-forward (concat "^,:\"#0-9" scruple--vulgar) to)
          (and (= (point) to) (<= (count-words from to) 3) to))))))

(defun scruple--line (end)
  "Colour a line of an entry, up to END; give the group of its word."
  (let ((from (point)) (longest 0) found)
    ;; the longest word counts, whichever group it is in
    (dolist (group scruple--groups)
      (when (and (looking-at (concat "\\(" (scruple--spelled (cdr group)) "\\)\\(?:[ \t\u00a0]\\|$\\)"))
                 (> (match-end 1) longest))
        (setq found group longest (match-end 1))))
    (cond
     (found
      (scruple--colour from longest 'font-lock-builtin-face)
      (goto-char longest)
      (scruple--value (car found) end t)
      (car found))
     ((setq longest (scruple--piece-end end))
      (scruple--colour from longest 'font-lock-builtin-face)
      (goto-char longest)
      (scruple--value 'amounts end t)
      'amounts)
     (t 'nothing))))

(defun scruple--entry-start (place)
  "The start of the entry that PLACE stands in, or of the buffer."
  (save-excursion
    (goto-char place)
    (beginning-of-line)
    (while (and (looking-at "[ \t\u00a0#\r]\\|$") (zerop (forward-line -1)) (not (bobp))))
    (point)))

(defun scruple--fontify (limit)
  "Colour all lines from here to LIMIT.
This is a matcher for font-lock that leaves nothing for it to do."
  (let ((case-fold-search t) (from (line-beginning-position)) (top 0) group carried)
    (goto-char (scruple--entry-start from))
    (while (and (< (point) limit) (not (eobp)))
      (let* ((start (point))
             (next (line-beginning-position 2))
             (line-end (line-end-position))
             (comment (scruple--comment-start line-end))
             (end (scruple--trimmed start comment)))
        (scruple--skip-blanks end)
        (when (and (>= start from) (< start line-end))
          (remove-text-properties start line-end '(face nil)))
        (scruple--colour comment line-end 'font-lock-comment-face)
        (when (< (point) end)
          (let* ((indent (current-column))
                 (own (or (zerop top) (and (<= indent top) (not carried))))
                 (cited (if (zerop indent) end (scruple--cited (if own (point) start) end)))
                 (said end))
            (unless (eq group 'used)
              (setq said cited))
            (cond
             ((zerop indent) (setq top 0 group nil) (scruple--head end))
             ((and carried (not own))
              (if (eq group 'take)
                  (scruple--item said carried)
                (scruple--value group said nil)))
             (own
              (setq top indent group (scruple--line said)))
             (t (scruple--value group said nil)))
            (setq carried (eq (char-before end) ?,))))
        (goto-char next)))
    (goto-char limit)
    nil))

;;; Indentation and index

(defun scruple-indent-line ()
  "Indent a line below its entry, an item below its list.
Anything else is indented like the line above."
  (interactive)
  (let ((case-fold-search t)
        (column (save-excursion
                  (beginning-of-line)
                  (if (or (bobp) (progn (forward-line -1) (looking-at "[ \t]*$")))
                      0
                    (+ (current-indentation)
                       (if (looking-at "[^ \t#\n]\\|[ \t]+\\(?:take\\|used\\)[ \t]*\\(?:#.*\\)?$") 2 0))))))
    (if (<= (current-column) (current-indentation))
        (indent-line-to column)
      (save-excursion (indent-line-to column)))))

(defvar scruple-imenu-generic-expression
  (mapcar (lambda (kind)
            (list (capitalize kind) (concat "^" kind "[ \t]+\\([^#\n]*[^# \t\n]\\)") 1))
          scruple--kinds)
  "The entries of a ledger, kind by kind.")

(defvar scruple-mode-syntax-table
  (let ((table (make-syntax-table)))
    (modify-syntax-entry ?- "w" table)
    (modify-syntax-entry ?' "w" table)
    (modify-syntax-entry ?\" "." table)
    table)
  "Syntax table of `scruple-mode'.")

;;;###autoload
(define-derived-mode scruple-mode prog-mode "Scruple"
  "Major mode for the formula ledgers of `scruple'."
  (setq-local comment-start "# ")
  (setq-local comment-start-skip "#+[ \t]*")
  (setq-local comment-end "")
  (setq-local indent-tabs-mode nil)
  (setq-local tab-width 4)
  (setq-local indent-line-function #'scruple-indent-line)
  (setq-local outline-regexp "[^ \t\n#]")
  (setq-local imenu-case-fold-search t)
  (setq-local imenu-generic-expression scruple-imenu-generic-expression)
  ;; a line that changes may change what those below it are
  (defvar jit-lock-contextually)
  (setq-local jit-lock-contextually t)
  (setq-local font-lock-defaults '(((scruple--fontify)) t t)))

;;;###autoload
(add-to-list 'auto-mode-alist '("\\.scruple\\'" . scruple-mode))

(defvar eglot-server-programs)
(with-eval-after-load 'eglot
  (add-to-list 'eglot-server-programs '(scruple-mode . ("scruple" "lsp"))))

(provide 'scruple-mode)
;;; scruple-mode.el ends here
