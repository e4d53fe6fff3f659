// What the grammar of tree-sitter can't tell without looking ahead: how lines hang together by their
// indentation, and where a name, a clause or free words end. It follows src/syntax/layout.rs and the
// rules of grammar/ledger.pest that are named beside each function.
//
// The state between two tokens is small: how far the line of the entry is indented, whether the last line
// that said something ended in a comma, whether items stand below it, and which run of words was read last.

#include "tree_sitter/alloc.h"
#include "tree_sitter/parser.h"

enum Token {
  ENTRY,
  LINE,
  ITEM,
  GOES_ON,
  COMMA,
  SOURCE_MARK,
  TEXT,
  TOPIC,
  LISTED,
  HEAD_NAME,
  DATED_NAME,
  ADAPTED_NAME,
  WITHOUT,
  NAME_WORD,
  ITEM_CLAUSE,
  USED_CLAUSE,
  STEP_CLAUSE,
  DOSE_CLAUSE,
  STRENGTH_CLAUSE,
  RECOVERING,
};

typedef struct {
  uint16_t indent;
  bool comma;
  // whether items have been read below this line, so that what is indented further is one, too
  bool list;
  // the kind of run that was read last on this line, and one; nothing goes on behind it but in a further line
  uint8_t run;
} State;

void *tree_sitter_scruple_external_scanner_create(void) {
  return ts_calloc(1, sizeof(State));
}

void tree_sitter_scruple_external_scanner_destroy(void *payload) { ts_free(payload); }

unsigned tree_sitter_scruple_external_scanner_serialize(void *payload, char *buffer) {
  State *state = payload;
  buffer[0] = (char)(state->indent & 0xff);
  buffer[1] = (char)(state->indent >> 8);
  buffer[2] = (char)state->comma;
  buffer[3] = (char)state->run;
  buffer[4] = (char)state->list;
  return 5;
}

void tree_sitter_scruple_external_scanner_deserialize(void *payload, const char *buffer, unsigned length) {
  State *state = payload;
  state->indent = 0;
  state->comma = false;
  state->run = 0;
  state->list = false;
  if (length == 5) {
    state->indent = (uint16_t)((unsigned char)buffer[0] | (unsigned char)buffer[1] << 8);
    state->comma = buffer[2] != 0;
    state->run = (uint8_t)buffer[3];
    state->list = buffer[4] != 0;
  }
}

// ---- letters --------------------------------------------------------------------------------

static bool is_blank(int32_t letter) { return letter == ' ' || letter == '\t' || letter == 0xa0; }

static bool ends_line(TSLexer *lexer) {
  return lexer->lookahead == '\n' || lexer->lookahead == '\r' || lexer->eof(lexer);
}

static bool ends_word(TSLexer *lexer) { return is_blank(lexer->lookahead) || ends_line(lexer); }

static bool is_digit(int32_t letter) { return letter >= '0' && letter <= '9'; }

// `vulgar`
static bool is_vulgar(int32_t letter) {
  return letter == 0xbd || letter == 0x2153 || letter == 0x2154 || (letter >= 0xbc && letter <= 0xbe) ||
         (letter >= 0x2155 && letter <= 0x215e);
}

static bool is_number(int32_t letter) { return is_digit(letter) || is_vulgar(letter); }

// `letter`
static bool is_letter(TSLexer *lexer) {
  int32_t letter = lexer->lookahead;
  return !ends_word(lexer) && letter != ',' && letter != ':' && letter != '"';
}

static int32_t small(int32_t letter) { return letter >= 'A' && letter <= 'Z' ? letter + 32 : letter; }

static void step(TSLexer *lexer) { lexer->advance(lexer, false); }

// ---- words ----------------------------------------------------------------------------------

// As much of a word as is needed to know it, in small letters.
typedef struct {
  int32_t letters[16];
  unsigned length;
} Word;

static void add(Word *word, int32_t letter) {
  if (word->length < sizeof(word->letters) / sizeof(word->letters[0])) {
    word->letters[word->length] = small(letter);
  }
  word->length += 1;
}

static bool is(const Word *word, const char *wanted) {
  unsigned at = 0;
  while (wanted[at] != 0) {
    if (at >= word->length || word->letters[at] != wanted[at]) {
      return false;
    }
    at += 1;
  }
  return at == word->length;
}

// āā, of each
static bool is_ana(const Word *word) {
  return word->length == 2 && word->letters[0] == 0x101 && word->letters[1] == 0x101;
}

static void read_word(TSLexer *lexer, Word *word) {
  word->length = 0;
  while (is_letter(lexer)) {
    add(word, lexer->lookahead);
    step(lexer);
  }
}

// Blanks on this line; says whether there were any.
static bool skip_blanks(TSLexer *lexer) {
  bool any = false;
  while (is_blank(lexer->lookahead)) {
    any = true;
    step(lexer);
  }
  return any;
}

// Whether nothing more is said on this line; to be asked after a gap.
static bool says_no_more(TSLexer *lexer) { return ends_line(lexer) || lexer->lookahead == '#'; }

// ---- lines ----------------------------------------------------------------------------------

// `attach` of src/syntax/layout.rs: what the line that begins here is.
static bool begin_line(State *state, TSLexer *lexer, const bool *valid, uint16_t indent) {
  bool carried = state->comma;
  enum Token token;
  state->run = 0;
  state->comma = false;
  if (indent == 0) {
    token = ENTRY;
  } else if (state->indent == 0) {
    token = LINE;
  } else if (carried) {
    token = GOES_ON;
  } else if (indent > state->indent) {
    token = valid[ITEM] || state->list ? ITEM : GOES_ON;
  } else {
    token = LINE;
  }
  lexer->result_symbol = token;
  state->list = token == ITEM || (token == GOES_ON && state->list);
  if (token == GOES_ON) {
    // the indentation is a gap, and left for whoever reads on
    return true;
  }
  lexer->mark_end(lexer);
  if (token == ENTRY) {
    state->indent = 0;
  } else if (token == LINE) {
    state->indent = indent;
  }
  return true;
}

// ---- runs of words --------------------------------------------------------------------------

typedef struct {
  enum Token token;
  bool at_comma;
  bool at_colon;
  bool at_quote;
  bool cites;
} Run;

static const Run RUNS[] = {
    {.token = TEXT, .cites = true},
    {.token = TOPIC, .at_colon = true, .cites = true},
    {.token = LISTED, .at_comma = true, .at_quote = true, .cites = true},
    {.token = HEAD_NAME, .at_comma = true, .at_colon = true, .at_quote = true},
    {.token = DATED_NAME, .at_comma = true, .at_colon = true, .at_quote = true},
    {.token = ADAPTED_NAME, .at_comma = true, .at_colon = true, .at_quote = true, .cites = true},
    {.token = ITEM_CLAUSE, .at_comma = true, .cites = true},
    {.token = USED_CLAUSE, .at_comma = true},
    {.token = STEP_CLAUSE, .at_comma = true, .cites = true},
    {.token = DOSE_CLAUSE, .at_comma = true, .cites = true},
    {.token = STRENGTH_CLAUSE, .at_comma = true, .cites = true},
};

// Whether two words that open a clause are the start of something with a form of its own.
static bool has_a_form(enum Token token, const Word *first, int32_t next) {
  bool number = is_number(next);
  switch (token) {
  case ITEM_CLAUSE:
    return (is(first, "about") && number) || (is(first, "or") && small(next) == 'q');
  case STEP_CLAUSE:
    return (number && (is(first, "in") || is(first, "with") || is(first, "for") || is(first, "at"))) ||
           (is(first, "down") && small(next) == 't');
  case DOSE_CLAUSE:
    return (number && (is(first, "every") || is(first, "for") || is(first, "in"))) ||
           (is(first, "up") && small(next) == 't') || is(first, "daily") ||
           ((is(first, "once") || is(first, "twice")) &&
            (small(next) == 'a' || small(next) == 'd' || small(next) == 'p' || small(next) == 'e'));
  default:
    return false;
  }
}

// `quantity`s and their like open with a number.
static bool may_open_with_a_number(enum Token token) {
  return token != USED_CLAUSE && token != DOSE_CLAUSE && token != STRENGTH_CLAUSE;
}

// Reads words up to what ends them. What may be the end is marked, and passed over if it isn't.
static bool read_run(State *state, TSLexer *lexer, const Run *run, bool after_wide_gap) {
  enum {
    NONE,
    CITATION,
    ROLE,
    DAY,
    SHARE,
  } candidate = NONE;
  unsigned words_behind = 0;
  unsigned words = 0;
  bool ended_in_comma = false;
  bool wide_gap = false;
  // whether the clause so far may be a role behind its comma: `as` and up to three words
  bool opens_role = false;
  if (is_number(lexer->lookahead) && !may_open_with_a_number(run->token)) {
    return false;
  }
  Word first = {.length = 0};
  for (;;) {
    // a word, with what stands in quotes in it
    Word word = {.length = 0};
    int32_t opening = lexer->lookahead;
    bool bounded = false;
    if (words == 1 && has_a_form(run->token, &first, opening)) {
      return false;
    }
    while (!ends_word(lexer)) {
      int32_t letter = lexer->lookahead;
      if ((letter == ',' && run->at_comma) || (letter == ':' && run->at_colon) || (letter == '"' && run->at_quote)) {
        bounded = true;
        break;
      }
      add(&word, letter);
      ended_in_comma = letter == ',';
      step(lexer);
      if (letter == '"') {
        // comments don't begin in quotes that close on this line
        bool after_blank = false;
        bool comment = false;
        while (!ends_line(lexer) && lexer->lookahead != '"' && !(lexer->lookahead == ',' && run->at_comma)) {
          comment = comment || (after_blank && lexer->lookahead == '#');
          if (!comment && !after_blank && candidate == NONE) {
            lexer->mark_end(lexer);
          }
          after_blank = is_blank(lexer->lookahead);
          step(lexer);
        }
        if (lexer->lookahead == '"') {
          step(lexer);
          ended_in_comma = false;
        } else if (comment && ends_line(lexer)) {
          lexer->result_symbol = run->token;
          return true;
        }
      }
    }
    if (word.length == 0 && bounded) {
      if (words == 0) {
        return false;
      }
      if (candidate == CITATION || candidate == NONE) {
        break;
      }
      // what looked like the end isn't, since more follows
      lexer->mark_end(lexer);
      break;
    }
    words += 1;
    if (words == 1) {
      first = word;
      opens_role = run->token == ITEM_CLAUSE && is(&word, "as") && !bounded;
    } else if ((words > 4 && !(wide_gap && is(&word, "source"))) || bounded || (candidate == NONE && is(&word, "as"))) {
      opens_role = false;
    }
    if (words > 1 || run->token == DATED_NAME) {
      switch (candidate) {
      case CITATION:
        // `source` and the name behind it: then the mark stands
        break;
      case ROLE:
        if (is(&word, "as")) {
          // the role begins further on: what stands before the first `as` is a piece of the clause
          lexer->result_symbol = run->token;
          return true;
        }
        words_behind += 1;
        if (words_behind > 3 || bounded) {
          candidate = NONE;
        }
        break;
      case DAY:
      case SHARE:
        words_behind += 1;
        if (words_behind == 1 && !is_number(opening)) {
          candidate = NONE;
        }
        break;
      default:
        break;
      }
      if (candidate == NONE && !bounded && words > 1) {
        if (run->cites && wide_gap && is(&word, "source")) {
          candidate = CITATION;
        } else if (run->token == ITEM_CLAUSE && is(&word, "as")) {
          candidate = ROLE;
        } else if (run->token == DATED_NAME && is(&word, "on")) {
          candidate = DAY;
        } else if (run->token == ADAPTED_NAME && is(&word, "at")) {
          candidate = SHARE;
        }
        words_behind = 0;
      }
    }
    if (candidate == NONE) {
      lexer->mark_end(lexer);
    }
    if (bounded) {
      break;
    }
    // the gap
    unsigned gap = 0;
    bool tab = false;
    while (is_blank(lexer->lookahead)) {
      gap += 1;
      tab = lexer->lookahead == '\t';
      step(lexer);
    }
    if (says_no_more(lexer)) {
      bool stands = (candidate == CITATION && words_behind > 0) || (candidate == ROLE && words_behind > 0) ||
                    ((candidate == DAY || candidate == SHARE) && words_behind > 0);
      if (opens_role && words > 1) {
        return false;
      }
      if (candidate != NONE && !stands) {
        lexer->mark_end(lexer);
        candidate = NONE;
      }
      if (candidate == NONE) {
        state->comma = ended_in_comma;
      }
      break;
    }
    wide_gap = tab || gap > 1;
    if (words == 1 && after_wide_gap && run->cites && is(&first, "source")) {
      // a citation, and nothing before it
      return false;
    }
    if (candidate == CITATION) {
      // something follows the word
      if (opens_role && words > 2) {
        return false;
      }
      break;
    }
  }
  lexer->result_symbol = run->token;
  state->run = (uint8_t)(run->token + 1);
  return words > 0;
}

// ---- names of what is taken -----------------------------------------------------------------

static bool number_follows(TSLexer *lexer) { return skip_blanks(lexer) && is_number(lexer->lookahead); }

static bool word_follows(TSLexer *lexer, const char *wanted) {
  Word word;
  if (!skip_blanks(lexer)) {
    return false;
  }
  read_word(lexer, &word);
  return is(&word, wanted) && lexer->lookahead != '"';
}

// `stop`
static bool is_stop(const Word *word) {
  static const char *const STOPS[] = {"to",   "or",   "as", "in",    "for", "at", "with", "from",  "of",    "and",
                                      "down", "on",   "up", "every", "an", "a", "per", "once", "twice", "daily", "times"};
  for (unsigned at = 0; at < sizeof(STOPS) / sizeof(STOPS[0]); at += 1) {
    if (is(word, STOPS[at])) {
      return true;
    }
  }
  return false;
}

static bool starts_with(const Word *word, const char *wanted) {
  for (unsigned at = 0; wanted[at] != 0; at += 1) {
    if (at >= word->length || word->letters[at] != wanted[at]) {
      return false;
    }
  }
  return true;
}

// `household`, after its degree
static bool is_household(const Word *word) {
  static const char *const MEASURES[] = {"teaspoon", "dessertspoon", "tablespoon", "cup",  "pinch",
                                         "handful",  "wineglass",    "teacup",     "drop"};
  for (unsigned at = 0; at < sizeof(MEASURES) / sizeof(MEASURES[0]); at += 1) {
    if (starts_with(word, MEASURES[at])) {
      return true;
    }
  }
  return false;
}

// `article_opens`, behind the article
static bool measure_follows(TSLexer *lexer) {
  Word word;
  if (!skip_blanks(lexer)) {
    return false;
  }
  if (is_number(lexer->lookahead) || lexer->lookahead == '-') {
    return false;
  }
  read_word(lexer, &word);
  if (word.length == 0) {
    return false;
  }
  if (is_household(&word)) {
    return true;
  }
  bool degree = is(&word, "level") || is(&word, "rounded") || is(&word, "heaped") || is(&word, "heaping");
  if (!is_stop(&word)) {
    if (lexer->lookahead == ',' || ends_line(lexer)) {
      return true;
    }
    if (!skip_blanks(lexer)) {
      return false;
    }
    if (lexer->lookahead == ',' || says_no_more(lexer)) {
      return true;
    }
    Word next;
    read_word(lexer, &next);
    return (is(&next, "as") && is_blank(lexer->lookahead)) || (degree && is_household(&next));
  }
  return false;
}

// One word of `name_words`: a word that no amount begins with (`opens`).
static bool read_name_word(TSLexer *lexer, bool first, bool wide) {
  if (is_number(lexer->lookahead) || !is_letter(lexer)) {
    return false;
  }
  Word word = {.length = 0};
  bool point = lexer->lookahead == '.';
  while (is_letter(lexer)) {
    if (point && word.length == 1 && is_digit(lexer->lookahead)) {
      return false;
    }
    add(&word, lexer->lookahead);
    step(lexer);
  }
  lexer->mark_end(lexer);
  lexer->result_symbol = NAME_WORD;
  if (first && is(&word, "without") && ends_word(lexer)) {
    lexer->result_symbol = WITHOUT;
    return true;
  }
  if (!first && wide && is(&word, "source") && is_blank(lexer->lookahead)) {
    // a citation, and no amount before it
    skip_blanks(lexer);
    return says_no_more(lexer);
  }
  if (is_ana(&word) || is(&word, "qs") || is(&word, "q.s.")) {
    return false;
  }
  if (is(&word, "q.")) {
    return !word_follows(lexer, "s.");
  }
  if (is(&word, "of")) {
    return !word_follows(lexer, "each");
  }
  if (is(&word, "equal")) {
    return !word_follows(lexer, "parts");
  }
  if (is(&word, "in")) {
    return !(word_follows(lexer, "equal") && word_follows(lexer, "parts"));
  }
  if (is(&word, "about") || is(&word, "to")) {
    return !number_follows(lexer);
  }
  if (is(&word, "as")) {
    if (!number_follows(lexer)) {
      return true;
    }
    while (is_number(lexer->lookahead) || lexer->lookahead == '.' || lexer->lookahead == '/') {
      step(lexer);
    }
    skip_blanks(lexer);
    return lexer->lookahead != ':';
  }
  if (is(&word, "a") || is(&word, "an")) {
    return !measure_follows(lexer);
  }
  return true;
}

// ---- the way in -----------------------------------------------------------------------------

static bool opens_a_citation(TSLexer *lexer) {
  Word word;
  read_word(lexer, &word);
  if (!is(&word, "source") || !is_blank(lexer->lookahead)) {
    return false;
  }
  lexer->mark_end(lexer);
  skip_blanks(lexer);
  return !says_no_more(lexer);
}

bool tree_sitter_scruple_external_scanner_scan(void *payload, TSLexer *lexer, const bool *valid) {
  State *state = payload;

  // blanks, and the ends of lines
  unsigned gap = 0;
  bool tab = false;
  while (is_blank(lexer->lookahead)) {
    gap += 1;
    tab = lexer->lookahead == '\t';
    lexer->advance(lexer, true);
  }
  if (lexer->lookahead == '\n' || lexer->lookahead == '\r') {
    while (lexer->lookahead == '\n' || lexer->lookahead == '\r') {
      uint32_t indent = 0;
      while (lexer->lookahead == '\n' || lexer->lookahead == '\r') {
        step(lexer);
      }
      lexer->mark_end(lexer);
      while (is_blank(lexer->lookahead)) {
        indent = lexer->lookahead == '\t' ? (indent / 4 + 1) * 4 : indent + 1;
        step(lexer);
      }
      if (!says_no_more(lexer)) {
        return begin_line(state, lexer, valid, indent > 0xffff ? 0xffff : (uint16_t)indent);
      }
    }
    return false;
  }
  if (lexer->eof(lexer) || (lexer->lookahead == '#' && (gap > 0 || lexer->get_column(lexer) == 0))) {
    return false;
  }
  if (valid[RECOVERING]) {
    // what can't be read is passed over to the end of its line
    return read_run(state, lexer, &RUNS[0], false);
  }
  if (valid[ENTRY] && !valid[LINE]) {
    // the first line of the file
    if (lexer->get_column(lexer) > 0) {
      return false;
    }
    lexer->mark_end(lexer);
    lexer->result_symbol = ENTRY;
    state->indent = 0;
    state->comma = false;
    state->run = 0;
    return true;
  }

  if (lexer->lookahead == ',' && valid[COMMA]) {
    step(lexer);
    lexer->mark_end(lexer);
    bool after_blank = skip_blanks(lexer);
    state->comma = ends_line(lexer) || (after_blank && lexer->lookahead == '#');
    state->run = 0;
    lexer->result_symbol = COMMA;
    return true;
  }

  bool wide = tab || gap > 1;
  for (unsigned at = 0; at < sizeof(RUNS) / sizeof(RUNS[0]); at += 1) {
    if (valid[RUNS[at].token] && state->run != RUNS[at].token + 1) {
      if (wide && valid[SOURCE_MARK] && small(lexer->lookahead) == 's') {
        break;
      }
      return read_run(state, lexer, &RUNS[at], wide);
    }
  }
  if (valid[SOURCE_MARK] && wide && lexer->lookahead == 's') {
    lexer->result_symbol = SOURCE_MARK;
    state->run = 0;
    return opens_a_citation(lexer);
  }
  if (valid[NAME_WORD]) {
    state->list = state->list || valid[ITEM];
    return read_name_word(lexer, valid[WITHOUT], wide);
  }
  return false;
}
