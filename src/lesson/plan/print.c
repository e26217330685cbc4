/* print.c – a lesson as its file. */
#include "parts.h"

#include <string.h>

static void text_line(struct mst_string *s, const char *key, const char *value)
{
    if (*value)
        mst_string_addf(s, "%s: %s\n", key, value);
}

static void rules_line(struct mst_string *s, const char *key, struct mst_rule_set rules)
{
    mst_string_addf(s, "%s:%s", key, rules.bits ? " " : "");
    mst_plan_rules_print(rules, s);
    mst_string_adds(s, "\n");
}

static void explain(struct mst_string *s, const char *head, const char *text)
{
    if (!*text)
        return;
    mst_string_addf(s, "\n[%s]\n", head);
    while (*text) {
        size_t len = strcspn(text, "\n");
        if (*text == '#' || *text == '[' || *text == '\\')
            mst_string_adds(s, "\\");
        mst_string_add(s, text, len);
        mst_string_adds(s, "\n");
        text += len + (text[len] == '\n');
    }
}

static void passage(struct mst_string *s, const struct mst_lesson_passage *p)
{
    char at[96];
    mst_string_addf(s, "\n[passage]\nrange: %s\nstops: ", mst_range_print(p->range, at));
    mst_plan_stops_print(p, s);
    mst_string_adds(s, p->fade_evenly ? "\nfade: evenly" : p->stage_count ? "\nfade: " : "");
    for (int32_t n = 0; n < p->stage_count; n++)
        mst_string_addf(s, "%s%d", n ? "," : "", p->stages[n]);
    mst_string_adds(s, "\n");
}

void mst_lesson_print(const struct mst_lesson *l, struct mst_string *s)
{
    struct mst_string reading = {0};
    char at[96];
    mst_string_addf(s, "mistara lesson %d\n\n", MST_LESSON_VERSION);
    text_line(s, "title", l->title);
    text_line(s, "title ar", l->title_ar);
    rules_line(s, "rules", l->rules);
    if (l->known_given)
        rules_line(s, "known", l->known);
    mst_string_addf(s, "level: %s\nlanguage: %s\n", mst_lesson_level_id(l->level),
                    mst_lesson_language_id(l->language));
    mst_plan_reading_print(&l->reading, &reading);
    if (reading.len)
        text_line(s, "reading", reading.ptr);
    s->failed |= reading.failed;
    mst_string_free(&reading);
    if (*l->narration)
        text_line(s, "narration", l->narration);
    if (l->voice && *l->voice)
        text_line(s, "voice", l->voice);
    explain(s, "explain", l->explain_en);
    explain(s, "explain ar", l->explain_ar);
    if (l->example_count)
        mst_string_adds(s, "\n[examples]\n");
    for (int32_t n = 0; n < l->example_count; n++) {
        const struct mst_lesson_example *e = &l->examples[n];
        mst_string_addf(s, "%s%s%s\n", mst_range_print(e->range, at), *e->note ? " | " : "",
                        e->note);
    }
    for (int32_t n = 0; n < l->passage_count; n++)
        passage(s, &l->passages[n]);
    if (l->question_count)
        mst_string_adds(s, "\n[questions]\n");
    for (int32_t n = 0; n < l->question_count; n++) {
        const struct mst_lesson_question *q = &l->questions[n];
        mst_string_addf(s, "%s: %s | count %d | seed %u\n",
                        mst_ask_kind_id((enum mst_ask_kind)q->kind), mst_range_print(q->range, at),
                        q->count, q->seed);
    }
    if (l->take_count)
        mst_string_adds(s, "\n[takes]\n");
    for (int32_t n = 0; n < l->take_count; n++) {
        const struct mst_lesson_recording *t = &l->takes[n];
        mst_string_addf(s, "%s: %s | %s\n", t->name, t->file, mst_range_print(t->range, at));
    }
}
