/* lines.c – lines of a lesson or course file, and what is wrong with them. */
#include "parts.h"

#include <stdio.h>
#include <string.h>

int mst_plan_shown(struct mst_span s)
{
    enum { MOST = 60 };
    size_t len = s.len;
    if (len > MOST)
        for (len = MOST; len > 0 && ((unsigned char)s.ptr[len] & 0xC0) == 0x80;)
            len--;
    return (int)len;
}

struct mst_span mst_plan_trim(struct mst_span s)
{
    while (s.len > 0 && (s.ptr[0] == ' ' || s.ptr[0] == '\t')) {
        s.ptr++;
        s.len--;
    }
    while (s.len > 0 && (s.ptr[s.len - 1] == ' ' || s.ptr[s.len - 1] == '\t'))
        s.len--;
    return s;
}

struct mst_span mst_plan_field(struct mst_span *rest)
{
    const char *bar = rest->len ? memchr(rest->ptr, '|', rest->len) : NULL;
    struct mst_span field = *rest;
    if (bar) {
        field.len = (size_t)(bar - rest->ptr);
        rest->ptr = bar + 1;
        rest->len -= field.len + 1;
    } else {
        *rest = (struct mst_span){NULL, 0};
    }
    return mst_plan_trim(field);
}

void mst_plan_problem(struct plan_source *s, int32_t line, int advice, const char *fmt, ...)
{
    struct mst_lesson_problems *p = s->problems;
    char message[800];
    va_list args;
    if (p->count >= PLAN_PROBLEMS_MOST) {
        p->mistakes += !advice;
        return;
    }
    va_start(args, fmt);
    vsnprintf(message, sizeof message, fmt, args);
    va_end(args);
    struct mst_lesson_problem *items = mst_plan_grow(s, p->items, p->count, sizeof *items);
    char *kept = mst_arena_strndup(s->arena, message, strlen(message));
    if (!items || !kept) {
        s->failed = 1;
        return;
    }
    p->items = items;
    items[p->count++] =
        (struct mst_lesson_problem){.line = line, .advice = advice, .message = kept};
    p->mistakes += !advice;
}

void *mst_plan_grow(struct plan_source *s, void *items, int32_t count, size_t size)
{
    size_t have = (size_t)count;
    if (have & (have - 1) || (have > 0 && have < 4))
        return items; /* room is a power of two, at least four */
    void *grown = have ? mst_arena_grow(s->arena, items, have, 2 * have, size)
                       : mst_arena_alloc(s->arena, 4, size);
    s->failed |= !grown;
    return grown;
}

int mst_plan_room(struct plan_source *s, int32_t line, int32_t count, const char *what)
{
    if (count < PLAN_ITEMS_MOST)
        return 1;
    if (count == PLAN_ITEMS_MOST)
        mst_plan_problem(s, line, 0, "there are more than %d %s here; part the file in two",
                         PLAN_ITEMS_MOST, what);
    return 0;
}

const char *mst_plan_copy(struct plan_source *s, struct mst_span span)
{
    const char *copy = mst_arena_strndup(s->arena, span.ptr ? span.ptr : "", span.len);
    s->failed |= !copy;
    return copy ? copy : "";
}

/* Bytes that are no UTF-8 and control characters other than a tab: 0 when there are any. */
static int readable(struct mst_span line)
{
    for (size_t at = 0; at < line.len;) {
        size_t from = at;
        uint32_t cp = mst_utf8_next(line.ptr, line.len, &at);
        if ((cp == 0xFFFD && at == from + 1) || (cp < 0x20 && cp != '\t') || cp == 0x7F)
            return 0;
    }
    return 1;
}

int mst_plan_next_line(struct plan_source *s, struct plan_line *line)
{
    if (s->at >= s->bytes.len || s->failed)
        return 0;
    const char *from = s->bytes.ptr + s->at;
    size_t left = s->bytes.len - s->at;
    const char *end = memchr(from, '\n', left);
    size_t len = end ? (size_t)(end - from) : left;
    s->at += len + (end != NULL);
    struct mst_span whole = {from, len};
    if (whole.len > 0 && whole.ptr[whole.len - 1] == '\r')
        whole.len--;
    *line = (struct plan_line){.number = ++s->number};
    if (!readable(whole)) {
        mst_plan_problem(s, line->number, 0,
                         "this line holds bytes that are no text in UTF-8, or control characters; "
                         "write it anew and save the file as UTF-8");
        whole.len = 0;
    }
    line->whole = whole = mst_plan_trim(whole);
    const char *colon = whole.len ? memchr(whole.ptr, ':', whole.len) : NULL;
    if (colon) {
        size_t head = (size_t)(colon - whole.ptr);
        line->key = mst_plan_trim((struct mst_span){whole.ptr, head});
        line->value = mst_plan_trim((struct mst_span){colon + 1, whole.len - head - 1});
    }
    return 1;
}

int mst_plan_line_empty(const struct plan_line *line)
{
    return line->whole.len == 0 || line->whole.ptr[0] == '#';
}

int mst_plan_line_head(const struct plan_line *line, struct mst_span *name)
{
    struct mst_span w = line->whole;
    if (w.len < 2 || w.ptr[0] != '[' || w.ptr[w.len - 1] != ']')
        return 0;
    *name = mst_plan_trim((struct mst_span){w.ptr + 1, w.len - 2});
    return 1;
}

int mst_plan_header(struct plan_source *s, const char *kind, int version)
{
    struct plan_line line;
    char wanted[32];
    int32_t number;
    if (s->bytes.len > PLAN_BYTES_MOST) {
        mst_plan_problem(s, 0, 0, "the file has %zu bytes; a %s has at most %d", s->bytes.len, kind,
                         PLAN_BYTES_MOST);
        return 0;
    }
    if (s->bytes.len >= 3 && memcmp(s->bytes.ptr, "\xEF\xBB\xBF", 3) == 0)
        s->at = 3;
    int len = snprintf(wanted, sizeof wanted, "mistara %s ", kind);
    do
        if (!mst_plan_next_line(s, &line)) {
            if (s->problems->mistakes == 0)
                mst_plan_problem(s, 1, 0,
                                 "the file is empty; its first line is to be “mistara %s %d”", kind,
                                 version);
            return 0;
        }
    while (mst_plan_line_empty(&line));
    struct mst_span w = line.whole;
    if (w.len > (size_t)len && memcmp(w.ptr, wanted, (size_t)len) == 0 &&
        mst_plan_number((struct mst_span){w.ptr + len, w.len - (size_t)len}, 1, 1000000, &number)) {
        if (number == version)
            return 1;
        mst_plan_problem(s, line.number, 0,
                         "this is a %s of version %d; this program reads version %d", kind, number,
                         version);
        return 0;
    }
    mst_plan_problem(s, line.number, 0,
                     "the first line is to be “mistara %s %d”; “%.*s” stands there", kind, version,
                     PLAN_SHOWN(w));
    return 0;
}

int mst_plan_number(struct mst_span typed, int32_t least, int32_t most, int32_t *out)
{
    int64_t value = 0;
    if (typed.len == 0 || typed.len > 10)
        return 0;
    for (size_t n = 0; n < typed.len; n++) {
        if (typed.ptr[n] < '0' || typed.ptr[n] > '9')
            return 0;
        value = value * 10 + (typed.ptr[n] - '0');
    }
    if (value < least || value > most)
        return 0;
    *out = (int32_t)value;
    return 1;
}

/* Levenshtein, for short names. */
static size_t slips(struct mst_span a, const char *b)
{
    enum { MOST = 40 };
    size_t row[MOST + 1], n = strlen(b);
    if (a.len > MOST || n > MOST)
        return MOST;
    for (size_t j = 0; j <= n; j++)
        row[j] = j;
    for (size_t i = 1; i <= a.len; i++) {
        size_t diagonal = row[0];
        row[0] = i;
        for (size_t j = 1; j <= n; j++) {
            size_t best = diagonal + (a.ptr[i - 1] != b[j - 1]);
            diagonal = row[j];
            if (row[j] + 1 < best)
                best = row[j] + 1;
            if (row[j - 1] + 1 < best)
                best = row[j - 1] + 1;
            row[j] = best;
        }
    }
    return row[n];
}

const char *mst_plan_nearest(struct mst_span typed, const char *const names[])
{
    const char *best = NULL;
    size_t least = 4;
    for (size_t n = 0; names[n]; n++) {
        size_t distance = slips(typed, names[n]);
        if (distance < least && distance < strlen(names[n])) {
            least = distance;
            best = names[n];
        }
    }
    return best;
}

/* By line, those of the whole file last; what was found first stays first. */
void mst_plan_sort(struct mst_lesson_problems *problems)
{
    for (int32_t n = 1; n < problems->count; n++) {
        struct mst_lesson_problem kept = problems->items[n];
        int32_t at = n;
        while (at > 0 && kept.line != 0 &&
               (problems->items[at - 1].line == 0 || problems->items[at - 1].line > kept.line)) {
            problems->items[at] = problems->items[at - 1];
            at--;
        }
        problems->items[at] = kept;
    }
}

enum mst_status mst_plan_end(const struct plan_source *s, const char *what, struct mst_error *err)
{
    if (s->failed)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while the %s was read", what);
    mst_plan_sort(s->problems);
    if (s->problems->mistakes == 0)
        return MST_OK;
    for (int32_t n = 0; n < s->problems->count; n++) {
        const struct mst_lesson_problem *p = &s->problems->items[n];
        if (!p->advice)
            return p->line ? mst_fail(err, MST_BAD_DATA, "line %d: %s", p->line, p->message)
                           : mst_fail(err, MST_BAD_DATA, "%s", p->message);
    }
    return mst_fail(err, MST_BAD_DATA, "the %s has %d mistakes", what, s->problems->mistakes);
}

int mst_plan_range(struct plan_source *s, const struct plan_line *line, struct mst_span typed,
                   struct mst_range *out)
{
    struct mst_error why;
    enum mst_status status = mst_range_parse(s->text, typed, out, &why);
    if (status == MST_OK)
        return 1;
    s->failed |= status == MST_NO_MEMORY;
    mst_plan_problem(s, line->number, 0, "%s", why.message);
    return 0;
}

int mst_plan_rules(struct plan_source *s, const struct plan_line *line, struct mst_rule_set *out)
{
    struct mst_error why;
    *out = (struct mst_rule_set){0};
    if (mst_rule_set_parse(line->value, out, &why) == MST_OK)
        return 1;
    mst_plan_problem(s, line->number, 0, "%s; “mistara rules” lists them all", why.message);
    return 0;
}

void mst_plan_rules_print(struct mst_rule_set rules, struct mst_string *out)
{
    const char *between = "";
    for (int rule = 0; rule < MST_RULE_COUNT; rule++)
        if (mst_rule_set_has(rules, (enum mst_rule)rule)) {
            mst_string_addf(out, "%s%s", between, mst_rule_id((enum mst_rule)rule));
            between = ", ";
        }
}
