/*
 * options.c – a command's options, read from its table. Long names only (and a
 * few letters), "--name value" or "--name=value", in any place; "--" ends them.
 */
#include "cli.h"

#include <errno.h>
#include <limits.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

enum { NAME_MAX_LEN = 40, WORDS_MOST = 200 };

static size_t smaller(size_t a, size_t b)
{
    return a < b ? a : b;
}

/* How many letters must be put in, left out or changed (Levenshtein's distance). */
static size_t slips_between(struct mst_span a, struct mst_span b)
{
    size_t row[NAME_MAX_LEN + 1];
    for (size_t j = 0; j <= b.len; j++)
        row[j] = j;
    for (size_t i = 1; i <= a.len; i++) {
        size_t diagonal = row[0];
        row[0] = i;
        for (size_t j = 1; j <= b.len; j++) {
            size_t changed = diagonal + (a.ptr[i - 1] != b.ptr[j - 1]);
            diagonal = row[j];
            row[j] = smaller(changed, smaller(row[j], row[j - 1]) + 1);
        }
    }
    return row[b.len];
}

void nearest_offer(struct nearest *nearest, const char *name)
{
    struct mst_span candidate = mst_span_of(name);
    if (candidate.len > NAME_MAX_LEN || nearest->typed.len > NAME_MAX_LEN)
        return;
    size_t distance = slips_between(nearest->typed, candidate);
    /* The head of a name ("munf") is as good as a slip. */
    if (nearest->typed.len >= 2 && nearest->typed.len < candidate.len &&
        memcmp(nearest->typed.ptr, candidate.ptr, nearest->typed.len) == 0)
        distance = 1;
    if (distance > 1 + candidate.len / 4)
        return;
    if (!nearest->name || distance < nearest->distance) {
        nearest->name = name;
        nearest->distance = distance;
    }
}

struct found {
    const struct option_row *row;
    void *target;
};

static struct found option_named(const struct command *self, void *const targets[],
                                 struct mst_span name, char letter)
{
    for (size_t g = 0; g < OPTION_GROUPS_MAX && self->groups[g]; g++) {
        const struct option_group *group = self->groups[g];
        for (size_t n = 0; n < group->count; n++) {
            const struct option_row *row = &group->rows[n];
            int same =
                letter ? row->letter == letter : mst_span_equal(mst_span_of(row->name), name);
            if (same)
                return (struct found){row, (char *)targets[g] + row->target};
        }
    }
    return (struct found){NULL, NULL};
}

static enum mst_status no_such_option(const struct command *self, const char *typed,
                                      struct mst_span name, struct mst_error *err)
{
    struct nearest nearest = {name, NULL, 0};
    for (size_t g = 0; g < OPTION_GROUPS_MAX && self->groups[g]; g++)
        for (size_t n = 0; n < self->groups[g]->count; n++)
            nearest_offer(&nearest, self->groups[g]->rows[n].name);
    if (nearest.name)
        return mst_fail(err, MST_USAGE, "“mistara %s” has no option “%.60s”; did you mean --%s?",
                        self->name, typed, nearest.name);
    return mst_fail(err, MST_USAGE,
                    "“mistara %s” has no option “%.60s”; “mistara %s --help” lists them",
                    self->name, typed, self->name);
}

static enum mst_status words_set(const struct option_row *row, void *target, const char *value,
                                 struct mst_error *err)
{
    int letters = mst_utf8_letters(mst_span_of(value));
    if (letters < 0)
        return mst_fail(err, MST_USAGE,
                        "--%s cannot be printed: its bytes are not UTF-8; type it again in a "
                        "terminal that writes UTF-8",
                        row->name);
    if (letters > WORDS_MOST)
        return mst_fail(err, MST_USAGE, "--%s has room for %d letters; %d given", row->name,
                        WORDS_MOST, letters);
    *(const char **)target = value;
    return MST_OK;
}

static enum mst_status option_set(const struct option_row *row, void *target, const char *value,
                                  struct mst_error *err)
{
    switch (row->kind) {
    case OPTION_FLAG:
        *(int *)target = 1;
        return MST_OK;
    case OPTION_TEXT:
    case OPTION_PASSAGE:
        *(const char **)target = value;
        return MST_OK;
    case OPTION_WORDS:
        return words_set(row, target, value, err);
    case OPTION_NUMBER:
    case OPTION_COUNT:
        break;
    }
    char *end;
    errno = 0;
    long number = strtol(value, &end, 10);
    if (end == value || *end || errno || number < INT_MIN || number > INT_MAX)
        return mst_fail(err, MST_USAGE, "--%s takes a whole number; “%.60s” is none", row->name,
                        value);
    if (row->kind == OPTION_COUNT && number < 1)
        return mst_fail(err, MST_USAGE, "--%s takes a number from 1; “%ld” given", row->name,
                        number);
    *(int *)target = (int)number;
    return MST_OK;
}

/* Length of the digit at the head of text, ASCII or Arabic-Indic; 0: there is none. */
static size_t digit_len(const char *text)
{
    size_t off = 0;
    uint32_t cp = mst_utf8_next(text, strlen(text), &off);
    return (cp >= '0' && cp <= '9') || (cp >= 0x660 && cp <= 0x669) ? off : 0;
}

static int ends_in(const char *text, const char *ending)
{
    size_t len = strlen(text), tail = strlen(ending);
    return len >= tail && strcasecmp(text + len - tail, ending) == 0;
}

/* "juz 30", "al-Mulk 1-5": a name goes on with its number; "78, 80": behind a comma comes more. */
static int passage_goes_on(const char *so_far, const char *word)
{
    size_t len = strlen(so_far);
    if (!word || word[0] == '-' || len == 0)
        return 0;
    if (ends_in(so_far, ",") || ends_in(so_far, "،"))
        return 1;
    int numbered = digit_len(so_far + len - 1) || (len > 1 && digit_len(so_far + len - 2) == 2);
    return digit_len(word) && !numbered;
}

/* The words from argv[*n] on that name one passage; *n stops at the last of them. */
static const char *passage_typed(const char *value, char **argv, int *n, struct mst_arena *arena)
{
    while (value && passage_goes_on(value, argv[*n + 1]))
        value = mst_arena_printf(arena, "%s %s", value, argv[++*n]);
    return value;
}

static void words_add(struct mst_string *words, const char *word)
{
    if (words->len > 0)
        mst_string_adds(words, " ");
    mst_string_adds(words, word);
}

/* argv[*n] is an option: set it, stepping *n over its value. */
static enum mst_status option_read(const struct command *self, char **argv, int *n,
                                   void *const targets[], struct mst_arena *arena,
                                   struct mst_error *err)
{
    const char *typed = argv[*n];
    int is_long = typed[1] == '-';
    const char *equals = is_long ? strchr(typed, '=') : NULL;
    struct mst_span name = {typed + 1 + is_long, 0};
    name.len = equals ? (size_t)(equals - name.ptr) : strlen(name.ptr);
    struct found found = is_long || typed[2] == '\0'
                             ? option_named(self, targets, name, is_long ? 0 : typed[1])
                             : (struct found){NULL, NULL};
    if (!found.row)
        return no_such_option(self, typed, name, err);

    const char *value = equals ? equals + 1 : NULL;
    if (found.row->kind == OPTION_FLAG) {
        if (value)
            return mst_fail(err, MST_USAGE,
                            "--%s is switched on by its name alone; it takes no “%.60s”",
                            found.row->name, value);
    } else if (!value) {
        value = argv[*n + 1];
        if (!value)
            return mst_fail(err, MST_USAGE, "--%s wants %s after it", found.row->name,
                            found.row->argument);
        *n += 1;
    }
    if (found.row->kind == OPTION_PASSAGE && !(value = passage_typed(value, argv, n, arena)))
        return mst_fail(err, MST_NO_MEMORY, "memory ran out");
    return option_set(found.row, found.target, value, err);
}

enum mst_status options_read_words(const struct command *self, int argc, char **argv,
                                   void *const targets[], struct mst_arena *arena,
                                   const char *const **words, size_t *count, struct mst_error *err)
{
    *words = NULL;
    *count = 0;
    const char **list = arena ? mst_arena_alloc(arena, (size_t)argc + 1, sizeof *list) : NULL;
    if (!list)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out");
    enum mst_status status = MST_OK;
    int only_words = 0;
    for (int n = 1; n < argc && status == MST_OK; n++) {
        if (!only_words && strcmp(argv[n], "--") == 0)
            only_words = 1;
        else if (!only_words && argv[n][0] == '-' && argv[n][1] != '\0')
            status = option_read(self, argv, &n, targets, arena, err);
        else
            list[(*count)++] = argv[n];
    }
    *words = list;
    return status;
}

enum mst_status options_read(const struct command *self, int argc, char **argv,
                             void *const targets[], struct mst_arena *arena, struct mst_span *words,
                             struct mst_error *err)
{
    const char *const *list;
    size_t count;
    *words = (struct mst_span){NULL, 0};
    struct mst_string joined = {0};
    enum mst_status status =
        options_read_words(self, argc, argv, targets, arena, &list, &count, err);
    for (size_t n = 0; n < count && status == MST_OK; n++)
        words_add(&joined, list[n]);
    if (status == MST_OK && joined.len == 0 && self->asks && !joined.failed)
        status = mst_fail(err, MST_USAGE, "“mistara %s” needs %s", self->name, self->asks);
    char *kept = status == MST_OK
                     ? mst_arena_strndup(arena, joined.len ? joined.ptr : "", joined.len)
                     : NULL;
    if (status == MST_OK && (!kept || joined.failed))
        status = mst_fail(err, MST_NO_MEMORY, "memory ran out");
    *words = (struct mst_span){kept, joined.len};
    mst_string_free(&joined);
    return status;
}

enum mst_status picture_options(const char *file, int dark, int dpi, struct mst_error *err)
{
    int png = ends_in(file, ".png"), drawn = png || ends_in(file, ".svg");
    if (dark && !drawn)
        return mst_fail(err, MST_USAGE, "--dark goes with .svg and .png; “%.200s” is neither",
                        file);
    if (dpi && !png)
        return mst_fail(err, MST_USAGE, "--dpi goes with .png; “%.200s” is none", file);
    return MST_OK;
}

enum mst_status choice_read(const char *option, const char *typed, const char *const names[],
                            int *chosen, struct mst_error *err)
{
    if (!typed)
        return MST_OK;
    for (int n = 0; names[n]; n++) {
        if (strcmp(typed, names[n]) == 0) {
            *chosen = n;
            return MST_OK;
        }
    }
    struct mst_string list = {0};
    for (int n = 0; names[n]; n++)
        mst_string_addf(&list, "%s%s", n == 0 ? "" : names[n + 1] ? ", " : " or ", names[n]);
    enum mst_status status = mst_fail(err, MST_USAGE, "--%s takes %s; “%.60s” given", option,
                                      list.ptr ? list.ptr : "", typed);
    mst_string_free(&list);
    return status;
}
