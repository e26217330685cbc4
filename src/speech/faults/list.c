/*
 * list.c – a list of faults from a readable file.
 *
 *   mistara faults 1
 *   [fault]
 *   id: q_as_k
 *   name: qāf said as kāf
 *   name ar: …
 *   grade: plain          or fine
 *   weight: 0.9
 *   sound: q              the sounds it befalls
 *   rule: qalqala         only where one of these rules acts (may be left out)
 *   only: echo            only such of them (may be left out)
 *   said: k | same a      what is said instead; | parts the ways
 *   told: no              the ear was measured not to tell it (may be left out)
 */
#include "parts.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { FILE_BYTES_MAX = 1 << 20, FAULTS_MAX = 2000 };

#define KEY_LIST(X)                                                                                \
    X(ID, "id")                                                                                    \
    X(NAME, "name")                                                                                \
    X(NAME_AR, "name ar")                                                                          \
    X(GRADE, "grade")                                                                              \
    X(WEIGHT, "weight")                                                                            \
    X(SOUND, "sound")                                                                              \
    X(RULE, "rule")                                                                                \
    X(ONLY, "only")                                                                                \
    X(SAID, "said")                                                                                \
    X(TOLD, "told")                                                                                \
    X(OFF, "off")
enum key {
#define X(name, id) KEY_##name,
    KEY_LIST(X)
#undef X
        KEY_COUNT
};
static const char *const keys[KEY_COUNT] = {
#define X(name, id) id,
    KEY_LIST(X)
#undef X
};
static const char *const changes[MST_FAULT_CHANGE_COUNT] = {
#define X(name, id) id,
    MST_FAULT_CHANGE_LIST(X)
#undef X
};
static const char *const conditions[MST_FAULT_ONLY_COUNT] = {
#define X(name, id) id,
    MST_FAULT_ONLY_LIST(X)
#undef X
};

struct parser {
    const char *path, *name; /* name: without its folders */
    struct mst_arena *arena;
    struct mst_fault_list *list;
    struct mst_fault fault; /* being read */
    int open, off;
    int32_t line, seen[KEY_COUNT];
    struct mst_error *err;
};

static enum mst_status wrong(const struct parser *p, int32_t line, const char *fmt, ...)
    MST_PRINTF(3, 4);
static enum mst_status wrong(const struct parser *p, int32_t line, const char *fmt, ...)
{
    char text[400];
    va_list args;
    va_start(args, fmt);
    vsnprintf(text, sizeof text, fmt, args);
    va_end(args);
    return mst_fail(p->err, MST_BAD_DATA, "%.120s:%d: %s", p->name, line, text);
}

static struct mst_span trimmed(struct mst_span s)
{
    while (s.len > 0 && strchr(" \t\r", s.ptr[0])) {
        s.ptr++;
        s.len--;
    }
    while (s.len > 0 && strchr(" \t\r", s.ptr[s.len - 1]))
        s.len--;
    return s;
}

/* The piece before the next `stroke`; rest moves on behind it. 0 when there is none left. */
static int next_piece(struct mst_span *rest, char stroke, struct mst_span *piece)
{
    if (!rest->ptr)
        return 0;
    const char *end = memchr(rest->ptr, stroke, rest->len);
    *piece = trimmed((struct mst_span){rest->ptr, end ? (size_t)(end - rest->ptr) : rest->len});
    if (end)
        *rest = (struct mst_span){end + 1, rest->len - (size_t)(end + 1 - rest->ptr)};
    else
        *rest = (struct mst_span){NULL, 0};
    return 1;
}

static int place_of(const char *const *names, int count, struct mst_span word)
{
    for (int n = 0; n < count; n++)
        if (mst_span_equal(mst_span_of(names[n]), word))
            return n;
    return -1;
}

static int phone_called(struct mst_span word)
{
    for (int n = 0; n < MST_PHONE_COUNT; n++)
        if (mst_span_equal(mst_span_of(mst_phone_id((enum mst_phone)n)), word))
            return n;
    return -1;
}

static enum mst_status read_sounds(struct parser *p, struct mst_span value)
{
    for (struct mst_span word; next_piece(&value, ',', &word);) {
        int phone = phone_called(word);
        if (phone < 0)
            return wrong(p, p->line,
                         "“%.*s” is no sound; “mistara sounds 1:1” shows what they are called",
                         (int)word.len, word.ptr);
        p->fault.phones |= UINT64_C(1) << phone;
    }
    return MST_OK;
}

static enum mst_status read_rules(struct parser *p, struct mst_span value)
{
    struct mst_error why;
    enum mst_status status = mst_rule_set_parse(value, &p->fault.rules, &why);
    if (status == MST_NO_MEMORY)
        return mst_fail(p->err, status, "%s", why.message);
    return status ? wrong(p, p->line, "%s", why.message) : MST_OK;
}

static enum mst_status read_only(struct parser *p, struct mst_span value)
{
    for (struct mst_span word; next_piece(&value, ',', &word);) {
        int n = place_of(conditions, MST_FAULT_ONLY_COUNT, word);
        if (n < 0)
            return wrong(p, p->line,
                         "only: takes single, double, echo, nasal, heavy, light, going, stopped; "
                         "“%.*s” given",
                         (int)word.len, word.ptr);
        p->fault.only |= 1u << n;
    }
    return MST_OK;
}

/* One sound of a way: "n", "same+light". */
static enum mst_status read_said_sound(struct parser *p, struct mst_span word,
                                       struct mst_fault_sound *out)
{
    struct mst_span part;
    (void)next_piece(&word, '+', &part);
    out->phone = (int8_t)(mst_span_equal(part, MST_SPAN("same")) ? -1 : phone_called(part));
    if (out->phone < 0 && !mst_span_equal(part, MST_SPAN("same")))
        return wrong(p, p->line, "“%.*s” is no sound; a sound's id or “same” belongs here",
                     (int)part.len, part.ptr);
    while (next_piece(&word, '+', &part)) {
        int n = place_of(changes, MST_FAULT_CHANGE_COUNT, part);
        if (n < 0)
            return wrong(p, p->line,
                         "a sound is changed by +single, +double, +heavy, +light or +oral; "
                         "“+%.*s” given",
                         (int)part.len, part.ptr);
        out->changes |= (uint8_t)(1u << n);
    }
    return MST_OK;
}

static enum mst_status read_said(struct parser *p, struct mst_span value)
{
    for (struct mst_span way; next_piece(&value, '|', &way);) {
        if (p->fault.way_count == MST_FAULT_WAYS_MAX)
            return wrong(p, p->line, "at most %d ways, parted by |, have room here",
                         MST_FAULT_WAYS_MAX);
        struct mst_fault_way *w = &p->fault.ways[p->fault.way_count++];
        for (struct mst_span word; next_piece(&way, ' ', &word);) {
            if (word.len == 0)
                continue;
            if (w->count == MST_FAULT_SOUNDS_MAX)
                return wrong(p, p->line, "at most %d sounds may stand for one",
                             MST_FAULT_SOUNDS_MAX);
            enum mst_status status = read_said_sound(p, word, &w->sounds[w->count++]);
            if (status)
                return status;
        }
        if (w->count == 0)
            return wrong(p, p->line, "nothing stands between two strokes of said:");
    }
    return MST_OK;
}

static enum mst_status read_weight(struct parser *p, struct mst_span value)
{
    char digits[16], *end;
    size_t len = value.len < sizeof digits ? value.len : sizeof digits - 1;
    memcpy(digits, value.ptr, len);
    digits[len] = '\0';
    p->fault.weight = strtod(digits, &end);
    if (*end || end == digits || value.len != len || !(p->fault.weight > 0 && p->fault.weight <= 1))
        return wrong(p, p->line, "weight: takes a number above 0, at most 1; “%.*s” given",
                     (int)value.len, value.ptr);
    return MST_OK;
}

static int is_id(struct mst_span s)
{
    for (size_t i = 0; i < s.len; i++)
        if (!strchr("abcdefghijklmnopqrstuvwxyz0123456789_-", s.ptr[i]) || !s.ptr[i])
            return 0;
    return s.len > 0;
}

static enum mst_status read_value(struct parser *p, enum key key, struct mst_span value)
{
    const char *copy = mst_arena_strndup(p->arena, value.ptr, value.len);
    if (!copy)
        return mst_fail(p->err, MST_NO_MEMORY, "memory ran out while reading the faults");
    switch (key) {
    case KEY_ID:
        if (!is_id(value))
            return wrong(p, p->line, "an id is written with a–z, 0–9, _ and -; “%s” given", copy);
        p->fault.id = copy;
        return MST_OK;
    case KEY_NAME:
        p->fault.name_en = copy;
        return MST_OK;
    case KEY_NAME_AR:
        p->fault.name_ar = copy;
        return MST_OK;
    case KEY_GRADE:
        if (strcmp(copy, "plain") != 0 && strcmp(copy, "fine") != 0)
            return wrong(p, p->line, "grade: is plain or fine; “%s” given", copy);
        p->fault.grade = *copy == 'p' ? MST_FAULT_PLAIN : MST_FAULT_FINE;
        return MST_OK;
    case KEY_WEIGHT:
        return read_weight(p, value);
    case KEY_SOUND:
        return read_sounds(p, value);
    case KEY_RULE:
        return read_rules(p, value);
    case KEY_ONLY:
        return read_only(p, value);
    case KEY_SAID:
        return read_said(p, value);
    case KEY_TOLD:
        if (strcmp(copy, "no") != 0)
            return wrong(p, p->line, "told: is no or not there at all; “%s” given", copy);
        p->fault.untold = 1;
        return MST_OK;
    default:
        if (strcmp(copy, "yes") != 0)
            return wrong(p, p->line, "off: is yes or not there at all; “%s” given", copy);
        p->off = 1;
        return MST_OK;
    }
}

/* --- the blocks ----------------------------------------------------------------- */
static struct mst_fault *called(const struct mst_fault_list *list, struct mst_span id)
{
    for (int32_t i = 0; i < list->count; i++)
        if (mst_span_equal(mst_span_of(list->faults[i].id), id))
            return &list->faults[i];
    return NULL;
}

/* A fault must be complete; one that was there already is replaced, or taken away. */
static enum mst_status end_fault(struct parser *p)
{
    static const enum key needed[] = {KEY_NAME,   KEY_NAME_AR, KEY_GRADE,
                                      KEY_WEIGHT, KEY_SOUND,   KEY_SAID};
    struct mst_fault *f = &p->fault;
    if (!p->open)
        return MST_OK;
    p->open = 0;
    if (!f->id)
        return wrong(p, f->line, "the fault has no id; write id: … under [fault]");
    struct mst_fault *before = called(p->list, mst_span_of(f->id));
    if (before && strcmp(before->file, p->path) == 0)
        return wrong(p, f->line, "“%s” was described in line %d already", f->id, before->line);
    if (p->off) {
        if (!before)
            return wrong(p, f->line, "“%s” cannot be taken away: no fault is called so", f->id);
        int32_t at = (int32_t)(before - p->list->faults);
        memmove(before, before + 1, (size_t)(--p->list->count - at) * sizeof *before);
        return MST_OK;
    }
    for (size_t n = 0; n < sizeof needed / sizeof needed[0]; n++)
        if (!p->seen[needed[n]])
            return wrong(p, f->line, "“%s” lacks the line %s: …", f->id, keys[needed[n]]);
    if (before) {
        *before = *f;
        return MST_OK;
    }
    if (p->list->count == FAULTS_MAX)
        return wrong(p, f->line, "more than %d faults have no room", FAULTS_MAX);
    p->list->faults[p->list->count++] = *f;
    return MST_OK;
}

static enum mst_status read_line(struct parser *p, struct mst_span line)
{
    line = trimmed(line);
    if (line.len == 0 || line.ptr[0] == '#')
        return MST_OK;
    if (mst_span_equal(line, MST_SPAN("[fault]"))) {
        enum mst_status status = end_fault(p);
        p->fault = (struct mst_fault){.file = p->path, .line = p->line};
        p->open = 1;
        p->off = 0;
        memset(p->seen, 0, sizeof p->seen);
        return status;
    }
    const char *colon = memchr(line.ptr, ':', line.len);
    struct mst_span name =
        trimmed((struct mst_span){line.ptr, colon ? (size_t)(colon - line.ptr) : line.len});
    int key = colon ? place_of(keys, KEY_COUNT, name) : -1;
    if (key < 0)
        return wrong(p, p->line,
                     "“%.*s” is not understood; lines are [fault] and id:, name:, name ar:, "
                     "grade:, weight:, sound:, rule:, only:, said:, told:, off:",
                     name.len > 60 ? 60 : (int)name.len, name.ptr);
    if (!p->open)
        return wrong(p, p->line, "%s: belongs under a line [fault]", keys[key]);
    if (p->seen[key])
        return wrong(p, p->line, "%s: was given in line %d already", keys[key], p->seen[key]);
    p->seen[key] = p->line;
    struct mst_span value =
        trimmed((struct mst_span){colon + 1, line.len - (size_t)(colon + 1 - line.ptr)});
    if (value.len == 0)
        return wrong(p, p->line, "nothing stands behind %s:", keys[key]);
    return read_value(p, (enum key)key, value);
}

static enum mst_status read_text(struct parser *p, struct mst_span rest)
{
    struct mst_span line;
    enum mst_status status = MST_OK;
    if (!next_piece(&rest, '\n', &line) || !mst_span_equal(line, MST_SPAN("mistara faults 1")))
        return wrong(p, 1, "a list of faults begins with the line “mistara faults 1”");
    p->line = 1;
    while (!status && next_piece(&rest, '\n', &line)) {
        p->line++;
        status = read_line(p, line);
    }
    return status ? status : end_fault(p);
}

static enum mst_status read_file(struct parser *p)
{
    struct mst_map map;
    enum mst_status status = mst_map_open(p->path, &map, p->err);
    if (status)
        return status;
    const char *stroke = strrchr(p->path, '/');
    p->name = stroke ? stroke + 1 : p->path;
    struct mst_span bytes = {map.ptr ? (const char *)map.ptr : "", map.len};
    if (map.len > FILE_BYTES_MAX)
        status = wrong(p, 1, "too long for a list of faults");
    for (size_t off = 0; !status && off < bytes.len;) {
        size_t at = off;
        if (bytes.ptr[at] == '\0' || mst_utf8_next(bytes.ptr, bytes.len, &off) == 0xFFFD)
            status = wrong(p, 1, "not readable as text (UTF-8) at byte %zu", at + 1);
    }
    if (!status)
        status = read_text(p, bytes);
    mst_map_close(&map);
    return status;
}

enum mst_status mst_faults_read(const char *const *paths, size_t count, struct mst_arena *arena,
                                struct mst_fault_list **out, struct mst_error *err)
{
    struct mst_fault_list *list = mst_arena_alloc(arena, 1, sizeof *list);
    *out = NULL;
    if (list)
        list->faults = mst_arena_alloc(arena, FAULTS_MAX, sizeof *list->faults);
    if (!list || !list->faults)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while reading the faults");
    for (size_t n = 0; n < count; n++) {
        struct parser p = {.arena = arena, .list = list, .err = err};
        p.path = mst_arena_strndup(arena, paths[n], strlen(paths[n]));
        if (!p.path)
            return mst_fail(err, MST_NO_MEMORY, "memory ran out while reading the faults");
        enum mst_status status = read_file(&p);
        if (status)
            return status;
    }
    *out = list;
    return MST_OK;
}

const struct mst_fault *mst_fault_called(const struct mst_fault_list *list, struct mst_span id)
{
    return called(list, id);
}

const char *mst_faults_default_path(struct mst_arena *arena)
{
    char path[4400];
    return mst_data_path("MISTARA_FAULTS", "faults/default.faults", path, sizeof path)
               ? mst_arena_strndup(arena, path, strlen(path))
               : NULL;
}
