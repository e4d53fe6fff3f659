// Reads files by the tree-sitter grammar and prints what it finds, a line for each:
//   file <path> / error <kind> <first byte> <end> / capture <query> <name> <first byte> <end> / tree <text>
//
// usage: tree [--tree] [--query <file>]... <file>...

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <tree_sitter/api.h>

const TSLanguage *tree_sitter_scruple(void);

static char *contents(const char *path, uint32_t *length) {
  FILE *file = fopen(path, "rb");
  if (file == NULL) {
    fprintf(stderr, "%s can't be read\n", path);
    exit(2);
  }
  fseek(file, 0, SEEK_END);
  long size = ftell(file);
  rewind(file);
  char *text = malloc((size_t)size + 1);
  *length = (uint32_t)fread(text, 1, (size_t)size, file);
  text[*length] = 0;
  fclose(file);
  return text;
}

// Prints what is amiss in a node; a piece that is missing and has no name is told of the node that lacks it.
static void print_errors(TSNode node) {
  if (!ts_node_has_error(node)) {
    return;
  }
  int inside = 0;
  uint32_t children = ts_node_child_count(node);
  for (uint32_t at = 0; at < children; at += 1) {
    TSNode child = ts_node_child(node, at);
    inside = inside || ts_node_has_error(child);
    print_errors(child);
  }
  if (ts_node_is_error(node) || !inside) {
    printf("error %s %u %u\n", ts_node_is_error(node) ? "ERROR" : "MISSING", ts_node_start_byte(node),
           ts_node_end_byte(node));
  }
}

typedef struct {
  const char *name;
  TSQuery *query;
} Query;

int main(int count, char **words) {
  const TSLanguage *language = tree_sitter_scruple();
  TSParser *parser = ts_parser_new();
  if (!ts_parser_set_language(parser, language)) {
    fprintf(stderr, "the parser is of another version than the library\n");
    return 2;
  }
  Query queries[16];
  unsigned asked = 0;
  int show_tree = 0;
  for (int at = 1; at < count; at += 1) {
    uint32_t length = 0;
    if (strcmp(words[at], "--tree") == 0) {
      show_tree = 1;
      continue;
    }
    if (strcmp(words[at], "--query") == 0 && at + 1 < count && asked < 16) {
      at += 1;
      char *text = contents(words[at], &length);
      uint32_t place = 0;
      TSQueryError fault = TSQueryErrorNone;
      TSQuery *query = ts_query_new(language, text, length, &place, &fault);
      if (query == NULL) {
        fprintf(stderr, "%s: fault %d at byte %u: %.60s\n", words[at], fault, place, text + place);
        return 2;
      }
      queries[asked].name = words[at];
      queries[asked].query = query;
      asked += 1;
      free(text);
      continue;
    }
    char *text = contents(words[at], &length);
    TSTree *tree = ts_parser_parse_string(parser, NULL, text, length);
    TSNode root = ts_tree_root_node(tree);
    printf("file %s\n", words[at]);
    print_errors(root);
    if (show_tree) {
      char *written = ts_node_string(root);
      printf("tree %s\n", written);
      free(written);
    }
    for (unsigned one = 0; one < asked; one += 1) {
      TSQueryCursor *cursor = ts_query_cursor_new();
      ts_query_cursor_exec(cursor, queries[one].query, root);
      TSQueryMatch match;
      uint32_t which = 0;
      while (ts_query_cursor_next_capture(cursor, &match, &which)) {
        TSQueryCapture capture = match.captures[which];
        uint32_t letters = 0;
        const char *name = ts_query_capture_name_for_id(queries[one].query, capture.index, &letters);
        printf("capture %s %.*s %u %u\n", queries[one].name, (int)letters, name, ts_node_start_byte(capture.node),
               ts_node_end_byte(capture.node));
      }
      ts_query_cursor_delete(cursor);
    }
    ts_tree_delete(tree);
    free(text);
  }
  ts_parser_delete(parser);
  return 0;
}
