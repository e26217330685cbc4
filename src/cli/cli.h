/*
 * cli.h – what the commands of the program `mistara` share: how a command is
 * described, how its options are read, how it prints. The commands themselves
 * parse, call and print; what they print was worked out on the floors below.
 *
 * Ownership: strings of the command line live as long as the program; a
 * command owns what it opens and closes it before it returns.
 * Errors: a command returns a status and fills *err; main() prints the one
 * sentence and turns the status into the exit code.
 */
#ifndef MISTARA_CLI_H
#define MISTARA_CLI_H

#include <mistara/ear.h>
#include <mistara/tajweed.h>

/* --- output -------------------------------------------------------------- */

/* Standard output, gathered and written in large pieces. Sticky: after a failed write the rest is
 * dropped and out_finish() says what went wrong. */
struct out {
    struct mst_string text; /* not yet written */
    int colour;             /* the reader is a terminal and wants colour */
    int columns;            /* width of that terminal; 0 when it is none */
    int write_errno;        /* of the first failed write; 0 so far so good */
};

/* Call after each line or record: writes when enough has gathered. */
void out_more(struct out *out);
MST_MUST_CHECK enum mst_status out_finish(struct out *out, struct mst_error *err);

/* Switched on and off around words in the text; they add nothing when colour is off. */
enum ink { INK_PLAIN, INK_STRONG, INK_QUIET, INK_RULE, INK_HIT };
void out_ink(struct out *out, enum ink ink);

/* Arabic inside a left-to-right line, isolated so that its neighbours keep their columns. */
void out_arabic(struct out *out, struct mst_span words);

/* Columns that text takes in a terminal: marks take none, isolates take none. */
int text_columns(struct mst_span text);
/* text, then spaces up to width columns (at least one, but none at width 0). */
void out_padded(struct out *out, struct mst_span text, int width);
/* text broken between words where a line would be longer than width columns (0: not at all);
 * lines after the first begin with indent spaces. Ends the line. */
void out_wrapped(struct out *out, struct mst_span text, int indent, int width);

/* --- JSON ---------------------------------------------------------------- */
/* "key":value for an object under way; the comma is put where it belongs. */
void json_text(struct mst_string *s, const char *key, struct mst_span value);
/* As text, but null when empty. */
void json_text_or_null(struct mst_string *s, const char *key, struct mst_span value);
void json_number(struct mst_string *s, const char *key, long value);
void json_bool(struct mst_string *s, const char *key, int value);
void json_null(struct mst_string *s, const char *key);
/* Only `"key":`, for a value the caller writes. */
void json_key(struct mst_string *s, const char *key);

/* --- the command line ---------------------------------------------------- */

enum option_kind {
    OPTION_FLAG,    /* an int, set to 1 */
    OPTION_NUMBER,  /* an int */
    OPTION_COUNT,   /* an int from 1; what was not given stays 0 */
    OPTION_TEXT,    /* a const char * */
    OPTION_WORDS,   /* a const char * that will be printed on a page: UTF-8, of a bearable length */
    OPTION_PASSAGE, /* a const char *; "juz 30" and "al-Mulk 1-5" need no quotes */
};

/* One row of a command's options; `target` is where in the command's own struct it goes. */
struct option_row {
    const char *name; /* long name without its dashes */
    char letter;      /* short form, or 0 */
    enum option_kind kind;
    const char *argument; /* what the help calls the value; NULL for a flag */
    const char *help;
    size_t target;
};

/* Rows under one heading of the help, and the struct they fill. */
struct option_group {
    const char *title;
    const struct option_row *rows;
    size_t count;
};
enum { OPTION_GROUPS_MAX = 3 };

struct command {
    const char *name;
    const char *arguments; /* "PASSAGE" */
    const char *asks;      /* what it cannot do without, with an example; NULL when nothing */
    const char *summary;   /* one line for the table of commands */
    const char *about;     /* paragraphs for its own help */
    const char *examples;  /* lines of two columns: what to type, what it is for */
    const struct option_group *groups[OPTION_GROUPS_MAX];
    enum mst_status (*run)(const struct command *self, int argc, char **argv, struct out *out,
                           struct mst_error *err);
};

/*
 * Read a command's options. targets[n] is the struct that self->groups[n]
 * fills, already holding the defaults. The words that are no options are
 * joined with spaces into *words ("al-Mulk 1-5" needs no quotes), owned by
 * the arena. argv[0] is the command's name.
 */
MST_MUST_CHECK enum mst_status options_read(const struct command *self, int argc, char **argv,
                                            void *const targets[], struct mst_arena *arena,
                                            struct mst_span *words, struct mst_error *err);
/* The same, word by word, for commands that take several things; none is no error here. */
MST_MUST_CHECK enum mst_status options_read_words(const struct command *self, int argc, char **argv,
                                                  void *const targets[], struct mst_arena *arena,
                                                  const char *const **words, size_t *count,
                                                  struct mst_error *err);
/* The nearest name so far to what was typed, when it is near enough to be a slip of the hand. */
struct nearest {
    struct mst_span typed;
    const char *name; /* NULL: none */
    size_t distance;
};
void nearest_offer(struct nearest *nearest, const char *name);

/* The options of a reading, shared by every command that reads a passage. */
struct reading_request {
    const char *stops; /* as typed; NULL = the default */
    int rawm, ishmam;
    struct mst_reading_options options;
};
extern const struct option_group reading_group;
/* What was typed → what the engine takes. */
MST_MUST_CHECK enum mst_status reading_options(const struct reading_request *request,
                                               const struct mst_text *text, struct mst_arena *arena,
                                               struct mst_reading_options *out,
                                               struct mst_error *err);
/* Passage and options as typed → the reading, in the arena. */
MST_MUST_CHECK enum mst_status reading_open(const struct mst_text *text, struct mst_span passage,
                                            const struct reading_request *request,
                                            struct mst_arena *arena, struct mst_reading **out,
                                            struct mst_error *err);
/* NULL (every rule) or a list of ids as typed. */
MST_MUST_CHECK enum mst_status rules_chosen(const char *typed, struct mst_rule_set *out,
                                            struct mst_error *err);
/*
 * One of a few names (ending with NULL) → its place among them; NULL typed
 * leaves *chosen as it is.
 */
MST_MUST_CHECK enum mst_status choice_read(const char *option, const char *typed,
                                           const char *const names[], int *chosen,
                                           struct mst_error *err);
/* --dark and --dpi (0: not given) are said of pictures: refused where the file is none. */
MST_MUST_CHECK enum mst_status picture_options(const char *file, int dark, int dpi,
                                               struct mst_error *err);
/* NULL (English), "en" or "ar". */
MST_MUST_CHECK enum mst_status lang_chosen(const char *typed, enum mst_lang *out,
                                           struct mst_error *err);

/* --- sites, as several commands print them -------------------------------- */
/* One site as a JSON object without the line's end. */
void site_json(const struct mst_reading *r, const struct mst_site *site, struct mst_string *s);
/* The printed words that letters first…last lie in. */
void words_of_letters(const struct mst_reading *r, int32_t first, int32_t last,
                      struct mst_string *s);
/* "67:1"; the basmala before the first verse is "67:0". */
char *verse_address(const struct mst_word *word, char text[48]);
/* "67:1:2:3", or empty for letter -1. */
char *letter_address(const struct mst_reading *r, int32_t letter, char text[48]);
/* "2", "2–6" with the chosen one first ("4 (2–6)"), or empty. */
char *counts_text(const struct mst_site *site, char text[24]);

/* --- takes, for the commands that listen ------------------------------------ */
/* Words as typed → the takes, then the passage: its words are the last one and those before it
 * that are no files and do not look like any. */
struct takes_typed {
    const char *const *takes;
    size_t take_count;
    struct mst_span passage; /* in the arena */
};
MST_MUST_CHECK enum mst_status takes_read(const struct command *self, const char *const *words,
                                          size_t count, struct mst_arena *arena,
                                          struct takes_typed *out, struct mst_error *err);
/* Where one of several takes is refused: *err says which, unless it does already. Returns status.
 */
MST_MUST_CHECK enum mst_status take_refused(const char *path, enum mst_status status,
                                            struct mst_error *err);
/* A learned voice by its name on the shelf (data: where that is, or NULL), or by its file. */
MST_MUST_CHECK enum mst_status voice_called(const char *name, const char *data,
                                            struct mst_voice **out, struct mst_error *err);

/*
 * Long work: a line of progress where a person watches (standard error is a
 * terminal), and an end in good order on Ctrl-C.
 */
struct patience {
    const char *doing; /* "listening to take.mp3" */
    double from, to;   /* which part of the whole work `done` stands for */
    int shown;         /* percent on the line; -1 nothing yet */
};
void patience_begin(struct patience *patience);
struct mst_ear_progress patience_for(struct patience *patience, const char *doing, double from,
                                     double to);
void patience_end(struct patience *patience);

/* --- lessons and the course --------------------------------------------------- */
struct mst_lesson_problems;
/* "FILE:7: what is wrong", a line each. */
void problems_print(const char *file, const struct mst_lesson_problems *problems, int json,
                    struct out *out);

/* --- the commands --------------------------------------------------------- */
extern const struct command command_sites, command_explain, command_sounds, command_sheet,
    command_card, command_handout, command_text, command_rules, command_find, command_listen,
    command_voice, command_serve, command_work, command_backup, command_restore, command_export,
    command_check, command_class, command_film, command_lesson, command_course;
extern const struct command command_ask, command_pinch;
extern const struct command *const commands[]; /* ends with NULL */
void help_of_program(struct out *out);
void help_of_command(const struct command *command, struct out *out);

/* `mistara serve` and `mistara work` become the desk's program (serve.c). list: its words, the
 * first its name, NULL after the last. Comes back only when it cannot be started. */
MST_MUST_CHECK enum mst_status server_become(char *const list[], struct mst_error *err);

#endif
