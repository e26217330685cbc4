/*
 * course_check.c – a course held against the text: does a lesson need a rule
 * that comes later, which letters and kinds does nobody ever see an example
 * of, which juz does the class never read.
 */
#include "../find/parts.h"
#include "parts.h"

#include <string.h>

enum { USES_MOST = 4000 };

struct check {
    struct plan_source s;
    const struct mst_course *c;
    struct mst_course_report *out;
    struct survey survey;
    int32_t taught_in[MST_RULE_COUNT];
    int32_t *in_text; /* places of each member, by its number */
    uint8_t *shown;
    struct mst_arena *scratch;
    struct mst_error *err;
};

static struct mst_rule_set known_in(const struct check *k, int32_t lesson)
{
    struct mst_rule_set known = k->c->assumed;
    for (int32_t n = 0; n <= lesson; n++)
        known.bits |= k->c->lessons[n].rules.bits;
    return known;
}

static void use_add(struct check *k, int32_t lesson, struct mst_member shows, int rule,
                    struct mst_range range)
{
    struct mst_course_report *out = k->out;
    for (int32_t n = 0; n < out->use_count; n++)
        if (out->uses[n].lesson == lesson && out->uses[n].rule == rule &&
            mst_find_member_id(out->uses[n].shows) == mst_find_member_id(shows))
            return;
    if (out->use_count >= USES_MOST)
        return;
    struct mst_course_use *list = mst_plan_grow(&k->s, out->uses, out->use_count, sizeof *list);
    if (!list)
        return;
    out->uses = list;
    list[out->use_count++] = (struct mst_course_use){.lesson = lesson,
                                                     .shows = shows,
                                                     .rule = (uint8_t)rule,
                                                     .taught_in = k->taught_in[rule],
                                                     .range = range};
}

static void juz_touch(struct check *k, const struct mst_range *ranges, size_t count)
{
    for (size_t n = 0; n < count; n++) {
        int32_t first = mst_text_verse_index(k->s.text, ranges[n].first.sura,
                                             ranges[n].first.verse ? ranges[n].first.verse : 1),
                last = mst_text_verse_index(k->s.text, ranges[n].last.sura,
                                            ranges[n].last.verse ? ranges[n].last.verse : 1);
        for (int32_t v = first; v >= 0 && v <= last; v++) {
            struct mst_addr at = mst_text_verse_addr(k->s.text, v);
            int32_t juz = mst_text_place(k->s.text, at.sura, at.verse).juz;
            k->out->juz_untouched &= ~(UINT32_C(1) << (juz - 1));
        }
    }
}

/* --- a lesson that is written: what its examples show and need --------------------------- */

static enum mst_status example_read(struct check *k, int32_t lesson, struct mst_range range,
                                    const struct mst_reading_options *how)
{
    struct mst_reading_options o = *how;
    struct mst_reading *r;
    struct mst_rule_set known = known_in(k, lesson), taught = k->c->lessons[lesson].rules;
    struct mst_member shows = {0};
    int any = 0;
    o.no_basmala = 1;
    enum mst_status status = mst_reading_new(k->s.text, range, &o, k->scratch, &r, k->err);
    if (status != MST_OK)
        return status;
    uint8_t *phone = mst_arena_alloc(k->scratch, (size_t)r->site_count + 1, 1);
    if (!phone)
        return mst_fail(k->err, MST_NO_MEMORY, "memory ran out");
    mst_find_sites_phones(r, phone);
    for (int32_t n = 0; n < r->site_count; n++) {
        if (!mst_rule_set_has(taught, r->sites[n].rule))
            continue;
        struct mst_member m =
            mst_find_site_member(&k->survey.letters, r, &r->sites[n], phone[n], MST_BY_OWN);
        k->shown[mst_find_member_id(m)] = 1;
        if (!any++)
            shows = m;
    }
    if (!any)
        shows = (struct mst_member){.kind = MST_MEMBER_RULE};
    for (int32_t n = 0; n < r->site_count; n++)
        if (!mst_rule_set_has(known, r->sites[n].rule))
            use_add(k, lesson, shows, r->sites[n].rule, range);
    return MST_OK;
}

static enum mst_status written_lesson(struct check *k, int32_t n)
{
    struct mst_lesson lesson;
    struct mst_lesson_problems problems;
    struct mst_error why;
    enum mst_status status =
        mst_lesson_open(k->s.text, k->c->lessons[n].path, k->scratch, &lesson, &problems, &why);
    if (status != MST_OK)
        return mst_fail(k->err, status, "“%.200s”: %s", k->c->lessons[n].file, why.message);
    for (int32_t e = 0; status == MST_OK && e < lesson.example_count; e++)
        status = example_read(k, n, lesson.examples[e].range, &lesson.reading);
    for (int32_t e = 0; e < lesson.example_count; e++)
        juz_touch(k, &lesson.examples[e].range, 1);
    for (int32_t p = 0; p < lesson.passage_count; p++)
        juz_touch(k, &lesson.passages[p].range, 1);
    return status;
}

/* --- a lesson that is only planned: can it be shown with what the class knows? ------------ */

/* The rules that the clearest example of a member would need too. */
static void needs(struct check *k, int32_t lesson, const struct mst_example_group *group,
                  struct mst_rule_set known)
{
    const struct mst_example *e = &group->examples[0];
    for (int32_t n = 0; n < e->reading->site_count; n++)
        if (!mst_rule_set_has(known, e->reading->sites[n].rule))
            use_add(k, lesson, group->member, e->reading->sites[n].rule, e->range);
}

/* Marks what is shown; the members asked in `open` that are not, stay there. */
static int32_t seen_in(struct check *k, const struct mst_examples *found)
{
    int32_t open = 0;
    for (int32_t g = 0; g < found->group_count; g++) {
        int id = mst_find_member_id(found->groups[g].member);
        k->shown[id] |= found->groups[g].count > 0;
        open += found->groups[g].in_range > 0 && !k->shown[id];
    }
    return open;
}

static enum mst_status planned_lesson(struct check *k, int32_t n)
{
    const struct mst_course_lesson *l = &k->c->lessons[n];
    struct mst_rule_set known = known_in(k, n);
    struct mst_example_query query = {
        .scope = {.ranges = l->examples, .range_count = l->example_count},
        .rules = l->rules,
        .untaught = {((UINT64_C(1) << MST_RULE_COUNT) - 1) & ~known.bits},
        .per_member = 1};
    struct mst_examples found;
    enum mst_status status = mst_find_examples_in(&k->survey, &query, k->scratch, &found, k->err);
    if (status != MST_OK || seen_in(k, &found) == 0)
        return status;
    query.words_min = 1;
    query.words_max = 12;
    query.worst_cut = MST_CUT_LOOSE;
    status = mst_find_examples_in(&k->survey, &query, k->scratch, &found, k->err);
    if (status != MST_OK || seen_in(k, &found) == 0)
        return status;
    query.untaught.bits = 0;
    status = mst_find_examples_in(&k->survey, &query, k->scratch, &found, k->err);
    for (int32_t g = 0; status == MST_OK && g < found.group_count; g++)
        if (found.groups[g].count > 0 && !k->shown[mst_find_member_id(found.groups[g].member)])
            needs(k, n, &found.groups[g], known);
    return status;
}

/* --- the whole ----------------------------------------------------------------------------- */

static void members_count(struct check *k)
{
    const struct mst_reading *r = k->survey.r;
    for (int32_t n = 0; n < r->site_count; n++)
        k->in_text[mst_find_member_id(mst_find_site_member(&k->survey.letters, r, &r->sites[n],
                                                           k->survey.site_phone[n], MST_BY_OWN))]++;
}

static void gaps_collect(struct check *k)
{
    struct mst_course_report *out = k->out;
    for (int id = 0; id < MEMBER_IDS && !k->s.failed; id++) {
        if (k->in_text[id] == 0)
            continue;
        struct mst_member m = mst_find_member_of_id(id);
        if (m.kind > MST_MEMBER_SOUND || k->taught_in[m.rule] < 0)
            continue;
        out->members++;
        out->members_shown += k->shown[id];
        if (k->shown[id])
            continue;
        struct mst_course_gap *list = mst_plan_grow(&k->s, out->gaps, out->gap_count, sizeof *list);
        if (!list)
            return;
        out->gaps = list;
        list[out->gap_count++] = (struct mst_course_gap){
            .member = m, .lesson = k->taught_in[m.rule], .in_text = k->in_text[id]};
    }
}

static enum mst_status prepare(struct check *k)
{
    struct mst_find_scope whole = {0};
    k->in_text = mst_arena_alloc(k->s.arena, MEMBER_IDS, sizeof *k->in_text);
    k->shown = mst_arena_alloc(k->s.arena, MEMBER_IDS, 1);
    if (!k->in_text || !k->shown)
        return mst_fail(k->err, MST_NO_MEMORY, "memory ran out");
    for (int rule = 0; rule < MST_RULE_COUNT; rule++) {
        k->taught_in[rule] = -1;
        for (int32_t n = k->c->lesson_count - 1; n >= 0; n--)
            if (mst_rule_set_has(k->c->lessons[n].rules, (enum mst_rule)rule))
                k->taught_in[rule] = n;
        if (k->taught_in[rule] < 0)
            k->out->never_taught.bits |= UINT64_C(1) << rule;
    }
    k->out->juz_untouched = (UINT32_C(1) << 30) - 1;
    enum mst_status status =
        mst_find_survey_make(k->s.text, &whole, k->s.arena, &k->survey, k->err);
    if (status == MST_OK)
        members_count(k);
    return status;
}

enum mst_status mst_course_check(const struct mst_text *text, const struct mst_course *course,
                                 struct mst_arena *arena, struct mst_course_report *out,
                                 struct mst_error *err)
{
    struct mst_lesson_problems none = {0};
    struct mst_arena *own = mst_arena_new(0), *lists = arena;
    struct check k = {.s = {.text = text, .arena = own, .problems = &none},
                      .c = course,
                      .out = out,
                      .scratch = mst_arena_new(0),
                      .err = err};
    *out = (struct mst_course_report){0};
    enum mst_status status =
        own && k.scratch ? prepare(&k) : mst_fail(err, MST_NO_MEMORY, "memory ran out");
    k.s.arena = lists; /* what is reported outlives the check */
    for (int32_t n = 0; status == MST_OK && n < course->lesson_count; n++) {
        const struct mst_course_lesson *l = &course->lessons[n];
        mst_arena_reset(k.scratch);
        juz_touch(&k, l->passage, l->passage_count);
        if (l->path)
            status = written_lesson(&k, n);
        else if (l->rules.bits)
            status = planned_lesson(&k, n);
    }
    if (status == MST_OK)
        gaps_collect(&k);
    mst_arena_free(k.scratch);
    mst_arena_free(own);
    if (status == MST_OK && k.s.failed)
        status = mst_fail(err, MST_NO_MEMORY, "memory ran out while the course was checked");
    return status;
}
