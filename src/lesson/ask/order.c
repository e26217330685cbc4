/* order.c – put the stages of an articulation in order, at a place of the verse. */
#include "parts.h"

static enum mst_status texts_set(const struct asker *a, const struct mst_mouth_stage *stages,
                                 int count, int32_t letter, struct mst_question *q)
{
    const enum mst_rule rule = (enum mst_rule)q->rule;
    struct mst_string en = {0}, ar = {0}, ask_en = {0}, ask_ar = {0};
    for (int n = 0; n < count; n++) {
        mst_string_addf(&en, "%s%d. %s", n ? " " : "", n + 1, stages[n].en);
        mst_string_addf(&ar, "%s%d. %s", n ? " " : "", n + 1, stages[n].ar);
    }
    mst_string_adds(&ask_en, "Put into order what tongue, lips and nose do at ");
    mst_string_adds(&ask_ar, "رتّب ما يفعله اللسان والشفتان والخيشوم عند ");
    mst_ask_place_add(a, letter, &ask_en, &ask_ar);
    mst_string_addf(&ask_en, " (%s).", mst_rule_name(rule, MST_LANG_EN));
    mst_string_addf(&ask_ar, " (%s).", mst_rule_name(rule, MST_LANG_AR));
    q->why_en = mst_ask_keep(a, &en);
    q->why_ar = mst_ask_keep(a, &ar);
    q->prompt_en = mst_ask_keep(a, &ask_en);
    q->prompt_ar = mst_ask_keep(a, &ask_ar);
    return q->why_en && q->why_ar && q->prompt_en && q->prompt_ar && q->verse
               ? MST_OK
               : mst_find_no_memory(a->err);
}

/* The first place of the rule in the verse. */
static const struct mst_site *place(const struct asker *a, int32_t verse, enum mst_rule rule)
{
    int32_t first, end;
    mst_ask_verse_sites(a, verse, &first, &end);
    for (int32_t n = first; n < end; n++)
        if (a->survey.r->sites[n].rule == rule)
            return &a->survey.r->sites[n];
    return NULL;
}

enum mst_status mst_ask_order(struct asker *a, int32_t verse, enum mst_rule rule,
                              struct mst_question *q, int *made)
{
    enum { WORDS_MOST = 30 };
    struct mst_mouth_stage stages[MST_MOUTH_STAGES_MOST];
    int count = mst_rule_mouth_stages(rule, stages);
    const struct mst_site *site = place(a, verse, rule);
    *made = 0;
    if (count < 2 || !site || mst_ask_places(a, verse, rule) < 1 ||
        mst_ask_verse_words(a, verse) > WORDS_MOST)
        return MST_OK;
    q->options = mst_arena_alloc(a->arena, (size_t)count, sizeof *q->options);
    q->order = mst_arena_alloc(a->arena, (size_t)count, sizeof *q->order);
    if (!q->options || !q->order)
        return mst_find_no_memory(a->err);
    int32_t shown[MST_MOUTH_STAGES_MOST]; /* which stage stands as the nth option */
    int sorted = 1;
    for (int n = 0; n < count; n++)
        shown[n] = n;
    while (sorted) { /* never as it is to be: nothing would be asked */
        mst_ask_shuffle(&a->dice, shown, count);
        for (int n = 0; n < count; n++)
            if (shown[n] != n)
                sorted = 0;
    }
    for (int n = 0; n < count; n++) {
        q->options[n] = (struct mst_question_option){
            .en = stages[shown[n]].en, .ar = stages[shown[n]].ar, .rule = -1};
        q->order[shown[n]] = n;
    }
    q->option_count = count;
    q->range = mst_ask_verse_range(a, verse);
    q->verse = mst_ask_verse_text(a, verse);
    q->at = mst_letter_addr(a->survey.r, site->trigger);
    *made = 1;
    return texts_set(a, stages, count, site->trigger, q);
}
