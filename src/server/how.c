/* how.c – the options of a reading under their plain names. What they mean, and which of them go
 * together, is known to the engine alone. */
#include "desk.h"

#include <stdlib.h>
#include <string.h>

static const struct how_row {
    const char *name;
    size_t offset;
    int counts; /* a number of counts rather than yes or no */
} rows[] = {
    {"no_basmala", offsetof(struct mst_reading_options, no_basmala), 0},
    {"istiadha", offsetof(struct mst_reading_options, istiadha), 0},
    {"muttasil", offsetof(struct mst_reading_options, muttasil), 1},
    {"munfasil", offsetof(struct mst_reading_options, munfasil), 1},
    {"arid", offsetof(struct mst_reading_options, arid), 1},
    {"lin", offsetof(struct mst_reading_options, lin), 1},
    {"ayn", offsetof(struct mst_reading_options, ayn), 1},
    {"muttasil_stop_6", offsetof(struct mst_reading_options, muttasil_stop_6), 0},
    {"easing", offsetof(struct mst_reading_options, question_easing), 0},
    {"tamanna_rawm", offsetof(struct mst_reading_options, tamanna_rawm), 0},
    {"atani_without_ya", offsetof(struct mst_reading_options, atani_without_ya), 0},
    {"duf_damm", offsetof(struct mst_reading_options, duf_damm), 0},
    {"musaytirun_sin", offsetof(struct mst_reading_options, musaytirun_sin), 0},
    {"maliyah_merge", offsetof(struct mst_reading_options, maliyah_merge), 0},
    {"salasila_alif", offsetof(struct mst_reading_options, salasila_alif), 0},
    {"nakhluqkum_partial", offsetof(struct mst_reading_options, nakhluqkum_partial), 0},
    {"alim_allah_2", offsetof(struct mst_reading_options, alim_allah_2), 0},
    {"firq_light", offsetof(struct mst_reading_options, firq_light), 0},
    {"anfal_sakt", offsetof(struct mst_reading_options, anfal_sakt), 0},
};
enum { ROW_COUNT = sizeof rows / sizeof rows[0] };
static const char *const others[] = {"stops", "rawm", "ishmam"};

static int *field(struct mst_reading_options *options, const struct how_row *row)
{
    return (int *)(void *)((char *)options + row->offset);
}

int how_is_name(const char *name)
{
    for (size_t n = 0; n < ROW_COUNT; n++)
        if (strcmp(rows[n].name, name) == 0)
            return 1;
    for (size_t n = 0; n < sizeof others / sizeof others[0]; n++)
        if (strcmp(others[n], name) == 0)
            return 1;
    return 0;
}

static enum mst_status number(const char *name, const char *value, int most, int *out,
                              struct mst_error *err)
{
    char *end;
    long read = strtol(value, &end, 10);
    if (end == value || *end || read < 0 || read > most)
        return mst_fail(err, MST_USAGE, "%s takes %s; “%.40s” given", name,
                        most == 1 ? "0 or 1" : "a number of counts", value);
    *out = (int)read;
    return MST_OK;
}

enum mst_status how_read(const struct mst_text *text, struct how_source source,
                         struct mst_arena *arena, struct mst_reading_options *out,
                         struct mst_error *err)
{
    *out = (struct mst_reading_options){0};
    enum mst_status status = MST_OK;
    for (size_t n = 0; n < ROW_COUNT && status == MST_OK; n++) {
        const char *value = source.get(source.from, rows[n].name, arena);
        if (value)
            status = number(rows[n].name, value, rows[n].counts ? 6 : 1, field(out, &rows[n]), err);
    }
    int rawm = 0, ishmam = 0;
    const char *value;
    if (status == MST_OK && (value = source.get(source.from, "rawm", arena)) != NULL)
        status = number("rawm", value, 1, &rawm, err);
    if (status == MST_OK && (value = source.get(source.from, "ishmam", arena)) != NULL)
        status = number("ishmam", value, 1, &ishmam, err);
    if (status == MST_OK && rawm && ishmam)
        status = mst_fail(err, MST_USAGE, "rawm and ishmam cannot both be read; choose one");
    out->stop_manner = rawm ? MST_STOP_RAWM : ishmam ? MST_STOP_ISHMAM : MST_STOP_SUKUN;
    if (status == MST_OK && (value = source.get(source.from, "stops", arena)) != NULL) {
        struct mst_error why = {0};
        status = mst_stops_parse(text, mst_span_of(value), arena, out, &why);
        if (status != MST_OK)
            status = mst_fail(err, status,
                              "stops takes verses, signs, none or words such as 67:1:3: %.300s",
                              why.message);
    }
    return status;
}

static const char *from_params(const void *from, const char *name, struct mst_arena *arena)
{
    (void)arena;
    return param(from, name);
}

enum mst_status how_of_request(const struct request *rq, struct mst_reading_options *out,
                               struct mst_error *err)
{
    return how_read(rq->desk->text, (struct how_source){from_params, rq}, rq->arena, out, err);
}

static const char *from_json(const void *from, const char *name, struct mst_arena *arena)
{
    const json_t *member = json_object_get(from, name);
    if (json_is_boolean(member))
        return json_is_true(member) ? "1" : "0";
    if (json_is_integer(member))
        return mst_arena_printf(arena, "%lld", (long long)json_integer_value(member));
    if (json_is_string(member))
        return json_string_value(member);
    return member && !json_is_null(member) ? "?" : NULL;
}

enum mst_status how_of_json(const struct mst_text *text, const json_t *object,
                            struct mst_arena *arena, struct mst_reading_options *out,
                            struct mst_error *err)
{
    *out = (struct mst_reading_options){0};
    if (!object)
        return MST_OK;
    if (!json_is_object(object))
        return mst_fail(err, MST_USAGE, "the member how is an object such as {\"arid\": 6}");
    const char *key;
    json_t *member;
    json_object_foreach((json_t *)(uintptr_t)object, key, member)
    {
        if (!how_is_name(key))
            return mst_fail(err, MST_USAGE, "how has no member “%.40s”", key);
    }
    return how_read(text, (struct how_source){from_json, object}, arena, out, err);
}

const char *how_as_json(const struct request *rq)
{
    struct mst_string s = {0};
    js_open(&s, NULL, '{');
    for (int n = 0; n < rq->param_count; n++) {
        const struct param *p = &rq->params[n];
        if (!how_is_name(p->name))
            continue;
        int counts = 0;
        for (size_t r = 0; r < ROW_COUNT; r++)
            counts |= rows[r].counts && strcmp(rows[r].name, p->name) == 0;
        if (strcmp(p->name, "stops") == 0)
            js_text(&s, p->name, p->value);
        else if (counts)
            js_integer(&s, p->name, atoi(p->value));
        else
            js_bool(&s, p->name, atoi(p->value));
    }
    js_close(&s, '}');
    const char *kept = s.failed ? NULL : mst_arena_strndup(rq->arena, s.ptr, s.len);
    mst_string_free(&s);
    return kept;
}

void how_write(struct mst_string *s, const char *key, const struct mst_reading_options *options)
{
    static const char *const stops[] = {"verses", "none", "signs", NULL};
    struct mst_reading_options copy = *options;
    char at[48];
    js_open(s, key, '{');
    if (options->stops == MST_STOPS_LIST) {
        struct mst_string list = {0};
        for (size_t n = 0; n < options->stop_count; n++)
            mst_string_addf(&list, "%s%s", n ? "," : "", mst_addr_print(options->stop_list[n], at));
        js_take(s, "stops", &list);
    } else {
        js_text(s, "stops", stops[options->stops]);
    }
    js_bool(s, "rawm", options->stop_manner == MST_STOP_RAWM);
    js_bool(s, "ishmam", options->stop_manner == MST_STOP_ISHMAM);
    for (size_t n = 0; n < ROW_COUNT; n++) {
        if (rows[n].counts)
            js_integer(s, rows[n].name, *field(&copy, &rows[n]));
        else
            js_bool(s, rows[n].name, *field(&copy, &rows[n]));
    }
    js_close(s, '}');
}
