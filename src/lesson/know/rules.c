/* rules.c – the letters of a rule put together. */
#include "parts.h"

static void add(struct mst_known_rule *to, const struct mst_known *row)
{
    to->heard += row->heard;
    to->skills++;
    to->right += row->right;
    to->known += row->heard * row->known;
    to->low += row->heard * row->known_low;
    to->high += row->heard * row->known_high;
    to->last_ms = row->last_ms > to->last_ms ? row->last_ms : to->last_ms;
    if (row->due_ms > 0 && (to->due_ms == 0 || row->due_ms < to->due_ms))
        to->due_ms = row->due_ms;
}

static void finish(struct mst_known_rule *r)
{
    if (r->heard == 0)
        return;
    r->known /= r->heard;
    r->low /= r->heard;
    r->high /= r->heard;
}

enum mst_status mst_know_rules(const struct mst_knowledge *k, int32_t learner,
                               struct mst_arena *arena, struct mst_known_rule **out, int32_t *count,
                               struct mst_error *err)
{
    struct mst_known_rule of[MST_RULE_COUNT] = {{0}};
    *count = 0;
    *out = NULL;
    enum mst_status status = know_learner_exists(learner, k->learner_count, err);
    if (status != MST_OK)
        return status;
    for (size_t n = k->first[learner]; n < k->first[learner + 1]; n++)
        add(&of[k->skills[k->rows[n].skill].rule], &k->rows[n]);
    struct mst_known_rule *list = mst_arena_alloc(arena, MST_RULE_COUNT, sizeof *list);
    if (!list)
        return know_no_memory(err);
    for (int r = 0; r < MST_RULE_COUNT; r++) {
        if (of[r].heard == 0)
            continue;
        of[r].rule = (enum mst_rule)r;
        finish(&of[r]);
        list[(*count)++] = of[r];
    }
    *out = list;
    return MST_OK;
}

enum mst_status mst_know_courses(const struct mst_know_model *model,
                                 const struct mst_class_evidence *evidence, int32_t learner,
                                 const int64_t *times_ms, int32_t time_count,
                                 struct mst_arena *arena, struct mst_rule_course **out,
                                 int32_t *count, struct mst_error *err)
{
    struct mst_know_history *histories;
    int32_t history_count, row_of[MST_RULE_COUNT];
    *count = 0;
    *out = NULL;
    struct mst_arena *work = mst_arena_new(0);
    if (!work)
        return know_no_memory(err);
    enum mst_status status = mst_know_histories(model, evidence, learner, times_ms, time_count,
                                                work, &histories, &history_count, err);
    struct mst_rule_course *list = mst_arena_alloc(arena, MST_RULE_COUNT, sizeof *list);
    for (int r = 0; r < MST_RULE_COUNT; r++)
        row_of[r] = -1;
    for (int32_t n = 0; status == MST_OK && n < history_count; n++)
        row_of[evidence->skills[histories[n].skill].rule] = 0;
    for (int r = 0; status == MST_OK && r < MST_RULE_COUNT; r++) {
        if (row_of[r] < 0)
            continue;
        struct mst_known_rule *at = mst_arena_alloc(arena, (size_t)time_count + 1, sizeof *at);
        if (!list || !at)
            status = know_no_memory(err);
        for (int32_t t = 0; status == MST_OK && t < time_count; t++)
            at[t].rule = (enum mst_rule)r;
        if (status == MST_OK) {
            list[*count] = (struct mst_rule_course){(enum mst_rule)r, at};
            row_of[r] = (*count)++;
        }
    }
    for (int32_t n = 0; status == MST_OK && n < history_count; n++)
        for (int32_t t = 0; t < time_count; t++)
            if (histories[n].at[t].heard > 0)
                add(&list[row_of[evidence->skills[histories[n].skill].rule]].at[t],
                    &histories[n].at[t]);
    for (int32_t k = 0; status == MST_OK && k < *count; k++)
        for (int32_t t = 0; t < time_count; t++)
            finish(&list[k].at[t]);
    *out = status == MST_OK ? list : NULL;
    mst_arena_free(work);
    return status;
}
