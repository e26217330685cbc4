/* check.c – what a lesson says, held against what the engine finds in its examples and passages. */
#include "parts.h"

#include <stdlib.h>
#include <string.h>

struct check {
    struct plan_source s;
    const struct mst_lesson *l;
    struct mst_arena *scratch;
    struct mst_error *err;
};

/* Of the rules and of none that the class knows; the rules not known, by the bits. */
struct tally {
    int32_t shown, words, words_with_unknown;
    uint64_t unknown;
};

static enum mst_status tally(struct check *c, struct mst_range range,
                             const struct mst_reading_options *options, struct tally *out)
{
    struct mst_reading *r;
    mst_arena_reset(c->scratch);
    *out = (struct tally){0};
    enum mst_status status = mst_reading_new(c->s.text, range, options, c->scratch, &r, c->err);
    if (status != MST_OK)
        return status;
    uint64_t known = c->l->known.bits | c->l->rules.bits;
    uint8_t *with = mst_arena_alloc(c->scratch, (size_t)r->word_count + 1, 1);
    if (!with)
        return mst_fail(c->err, MST_NO_MEMORY, "memory ran out");
    out->words = r->word_count;
    for (int32_t n = 0; n < r->site_count; n++) {
        const struct mst_site *site = &r->sites[n];
        out->shown += mst_rule_set_has(c->l->rules, site->rule);
        if (known >> site->rule & 1u)
            continue;
        out->unknown |= UINT64_C(1) << site->rule;
        with[r->letters[site->trigger].word_idx] = 1;
    }
    for (int32_t w = 0; w < r->word_count; w++)
        out->words_with_unknown += with[w];
    return MST_OK;
}

static enum mst_status example_check(struct check *c, const struct mst_lesson_example *e)
{
    struct mst_reading_options o = c->l->reading;
    struct tally t;
    char at[96];
    o.no_basmala = 1; /* a phrase is taught by itself */
    enum mst_status status = tally(c, e->range, &o, &t);
    if (status != MST_OK)
        return status;
    mst_range_print(e->range, at);
    if (t.shown == 0)
        mst_plan_problem(&c->s, e->line, 0,
                         "the example %s shows no rule of the lesson when it is read by itself; "
                         "choose another (mistara find examples)",
                         at);
    if (c->l->known_given && t.unknown) {
        struct mst_string rules = {0};
        mst_plan_rules_print((struct mst_rule_set){t.unknown}, &rules);
        c->s.failed |= rules.failed;
        mst_plan_problem(&c->s, e->line, 1, "the example %s also needs %s, not known yet", at,
                         rules.ptr ? rules.ptr : "");
        mst_string_free(&rules);
    }
    return MST_OK;
}

static enum mst_status passage_check(struct check *c, const struct mst_lesson_passage *p)
{
    struct mst_reading_options o = mst_lesson_reading(c->l, p);
    struct tally t;
    char at[96];
    enum mst_status status = tally(c, p->range, &o, &t);
    if (status != MST_OK)
        return status;
    mst_range_print(p->range, at);
    if (t.shown == 0)
        mst_plan_problem(&c->s, p->line, 0,
                         "the passage %s holds no rule of the lesson; choose another (mistara find "
                         "passages)",
                         at);
    if (c->l->known_given && t.unknown) {
        struct mst_string rules = {0};
        mst_plan_rules_print((struct mst_rule_set){t.unknown}, &rules);
        c->s.failed |= rules.failed;
        mst_plan_problem(&c->s, p->line, 1,
                         "in the passage %s, %d of %d words need a rule not known yet: %s", at,
                         t.words_with_unknown, t.words, rules.ptr ? rules.ptr : "");
        mst_string_free(&rules);
    }
    return MST_OK;
}

static enum mst_status question_check(struct check *c, const struct mst_lesson_question *q)
{
    struct mst_reading_options o = c->l->reading;
    struct tally t;
    char at[96];
    enum mst_status status = MST_OK;
    if (q->kind == MST_ASK_FIND)
        return MST_OK; /* about the words alone */
    status = tally(c, q->range, &o, &t);
    if (status == MST_OK && t.shown == 0)
        mst_plan_problem(&c->s, q->line, 0,
                         "“%s” asks in %s, where no rule of the lesson acts; choose another range",
                         mst_ask_kind_id((enum mst_ask_kind)q->kind),
                         mst_range_print(q->range, at));
    return status;
}

static int within(struct mst_range a, struct mst_range b)
{
    int32_t a_last = a.last.word ? a.last.word : INT32_MAX,
            b_first = b.first.word ? b.first.word : 1, a_first = a.first.word ? a.first.word : 1,
            b_last = b.last.word ? b.last.word : INT32_MAX;
    struct mst_addr a1 = a.first, a2 = a.last, b1 = b.first, b2 = b.last;
    a1.word = a_first;
    a2.word = a_last;
    b1.word = b_first;
    b2.word = b_last;
    return mst_addr_compare(a1, b2) <= 0 && mst_addr_compare(b1, a2) <= 0;
}

static void take_check(struct check *c, const struct mst_lesson_recording *t)
{
    char at[96];
    for (int32_t n = 0; n < c->l->passage_count; n++)
        if (within(t->range, c->l->passages[n].range))
            return;
    for (int32_t n = 0; n < c->l->example_count; n++)
        if (within(t->range, c->l->examples[n].range))
            return;
    mst_plan_problem(&c->s, t->line, 1,
                     "the take “%s” (%s) holds no example and no passage of the lesson", t->name,
                     mst_range_print(t->range, at));
}

static void parts_check(struct check *c)
{
    const struct mst_lesson *l = c->l;
    if (l->example_count == 0)
        mst_plan_problem(&c->s, 0, 1, "the lesson has no examples yet; put them under [examples]");
    if (l->passage_count == 0)
        mst_plan_problem(&c->s, 0, 1, "the lesson has no passage yet; put one under [passage]");
    if (!*l->explain_en && l->language != MST_LESSON_AR)
        mst_plan_problem(&c->s, 0, 1,
                         "the lesson has no explanation yet; write it under [explain]");
    if (!*l->explain_ar && l->language != MST_LESSON_EN)
        mst_plan_problem(&c->s, 0, 1,
                         "the lesson has no explanation in Arabic; write it under [explain ar], or "
                         "say language: en");
}

enum mst_status mst_lesson_check(const struct mst_text *text, const struct mst_lesson *lesson,
                                 struct mst_arena *arena, struct mst_lesson_problems *problems,
                                 struct mst_error *err)
{
    struct check c = {.s = {.text = text, .arena = arena, .problems = problems},
                      .l = lesson,
                      .scratch = mst_arena_new(0),
                      .err = err};
    enum mst_status status = c.scratch ? MST_OK : mst_fail(err, MST_NO_MEMORY, "memory ran out");
    if (status == MST_OK)
        parts_check(&c);
    for (int32_t n = 0; status == MST_OK && n < lesson->example_count; n++)
        status = example_check(&c, &lesson->examples[n]);
    for (int32_t n = 0; status == MST_OK && n < lesson->passage_count; n++)
        status = passage_check(&c, &lesson->passages[n]);
    for (int32_t n = 0; status == MST_OK && n < lesson->question_count; n++)
        status = question_check(&c, &lesson->questions[n]);
    for (int32_t n = 0; status == MST_OK && n < lesson->take_count; n++)
        take_check(&c, &lesson->takes[n]);
    mst_arena_free(c.scratch);
    mst_plan_sort(problems);
    if (status == MST_OK && c.s.failed)
        status = mst_fail(err, MST_NO_MEMORY, "memory ran out while the lesson was checked");
    return status;
}
