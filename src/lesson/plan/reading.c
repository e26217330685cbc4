/* reading.c – the options of a reading as words in one line: "arid 4, lin 2, rawm". What they mean
 * and which go together is known to the engine alone. */
#include "parts.h"

#include <string.h>

#define OPTION_LIST(X)                                                                             \
    X(no_basmala, "no-basmala", 0)                                                                 \
    X(istiadha, "istiadha", 0)                                                                     \
    X(muttasil, "muttasil", 1)                                                                     \
    X(munfasil, "munfasil", 1)                                                                     \
    X(arid, "arid", 1)                                                                             \
    X(lin, "lin", 1)                                                                               \
    X(ayn, "ayn", 1)                                                                               \
    X(muttasil_stop_6, "muttasil-stop-6", 0)                                                       \
    X(question_easing, "easing", 0)                                                                \
    X(tamanna_rawm, "tamanna-rawm", 0)                                                             \
    X(atani_without_ya, "atani-without-ya", 0)                                                     \
    X(duf_damm, "duf-damm", 0)                                                                     \
    X(musaytirun_sin, "musaytirun-sin", 0)                                                         \
    X(maliyah_merge, "maliyah-merge", 0)                                                           \
    X(salasila_alif, "salasila-alif", 0)                                                           \
    X(nakhluqkum_partial, "nakhluqkum-partial", 0)                                                 \
    X(alim_allah_2, "alim-allah-2", 0)                                                             \
    X(firq_light, "firq-light", 0)                                                                 \
    X(anfal_sakt, "anfal-sakt", 0)

static const struct {
    const char *name;
    size_t offset;
    int counted; /* followed by a number of counts */
} options[] = {
#define X(field, name, counted) {name, offsetof(struct mst_reading_options, field), counted},
    OPTION_LIST(X)
#undef X
};
enum { OPTION_COUNT = sizeof options / sizeof options[0] };

static const char *const names[] = {
#define X(field, name, counted) name,
    OPTION_LIST(X)
#undef X
        "rawm",
    "ishmam", NULL};

static int *field_of(struct mst_reading_options *o, size_t n)
{
    return (int *)(void *)((char *)o + options[n].offset);
}

static void option_read(struct plan_source *s, const struct plan_line *line, struct mst_span item,
                        struct mst_reading_options *out)
{
    size_t len = 0;
    while (len < item.len && item.ptr[len] != ' ')
        len++;
    struct mst_span name = {item.ptr, len},
                    rest = mst_plan_trim((struct mst_span){item.ptr + len, item.len - len});
    int manner = mst_span_equal(name, MST_SPAN("rawm"))     ? MST_STOP_RAWM
                 : mst_span_equal(name, MST_SPAN("ishmam")) ? MST_STOP_ISHMAM
                                                            : MST_STOP_SUKUN;
    if (manner != MST_STOP_SUKUN && rest.len == 0) {
        if (out->stop_manner != MST_STOP_SUKUN && (int)out->stop_manner != manner)
            mst_plan_problem(s, line->number, 0, "rawm and ishmam cannot both be read; choose one");
        out->stop_manner = (enum mst_stop_manner)manner;
        return;
    }
    for (size_t n = 0; n < OPTION_COUNT; n++) {
        if (!mst_span_equal(name, mst_span_of(options[n].name)))
            continue;
        int32_t counts = 1;
        if (options[n].counted ? !mst_plan_number(rest, 1, 6, &counts) : rest.len > 0)
            mst_plan_problem(s, line->number, 0,
                             options[n].counted
                                 ? "“%.*s” needs its number of counts, such as “%s 4”"
                                 : "“%.*s” takes nothing behind it; write only “%s”",
                             PLAN_SHOWN(item), options[n].name);
        *field_of(out, n) = counts;
        return;
    }
    const char *near = mst_plan_nearest(name, names);
    mst_plan_problem(s, line->number, 0,
                     "“%.*s” is no way of reading%s%s; docs/lesson.md lists them", PLAN_SHOWN(item),
                     near ? "; nearest: " : "", near ? near : "");
}

void mst_plan_reading(struct plan_source *s, const struct plan_line *line,
                      struct mst_reading_options *out)
{
    struct mst_span rest = line->value;
    while (rest.len > 0) {
        const char *comma = memchr(rest.ptr, ',', rest.len);
        size_t len = comma ? (size_t)(comma - rest.ptr) : rest.len;
        option_read(s, line, mst_plan_trim((struct mst_span){rest.ptr, len}), out);
        rest.ptr += len + (comma != NULL);
        rest.len -= len + (comma != NULL);
    }
}

void mst_plan_reading_print(const struct mst_reading_options *from, struct mst_string *out)
{
    struct mst_reading_options o = *from;
    const char *between = "";
    for (size_t n = 0; n < OPTION_COUNT; n++) {
        int value = *field_of(&o, n);
        if (!value)
            continue;
        mst_string_addf(out, "%s%s", between, options[n].name);
        if (options[n].counted)
            mst_string_addf(out, " %d", value);
        between = ", ";
    }
    if (o.stop_manner != MST_STOP_SUKUN)
        mst_string_addf(out, "%s%s", between, o.stop_manner == MST_STOP_RAWM ? "rawm" : "ishmam");
}

void mst_plan_stops_print(const struct mst_lesson_passage *p, struct mst_string *out)
{
    static const char *const words[] = {"verses", "none", "signs"};
    if (p->stops != MST_STOPS_LIST) {
        mst_string_adds(out, words[p->stops]);
        return;
    }
    for (int32_t n = 0; n < p->stop_count; n++) {
        char at[48];
        mst_string_addf(out, "%s%s", n ? "," : "", mst_addr_print(p->stop_list[n], at));
    }
}
