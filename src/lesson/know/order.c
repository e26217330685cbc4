/* order.c – evidence of a class into one sequence for each learner and skill. */
#include "parts.h"

#include <math.h>
#include <stdlib.h>

struct sorted {
    int64_t time_ms;
    uint64_t group; /* the major index in the upper half */
    size_t item;    /* what came first stays first */
};

static int by_group_and_time(const void *a, const void *b)
{
    const struct sorted *x = a, *y = b;
    if (x->group != y->group)
        return x->group < y->group ? -1 : 1;
    if (x->time_ms != y->time_ms)
        return x->time_ms < y->time_ms ? -1 : 1;
    return (x->item > y->item) - (x->item < y->item);
}

static enum mst_status check(const struct mst_class_evidence *e, size_t n, struct mst_error *err)
{
    const struct mst_evidence *item = &e->items[n];
    if (item->learner < 0 || item->learner >= e->learner_count)
        return mst_fail(err, MST_USAGE, "evidence %zu is of learner %d, but there are %d", n + 1,
                        (int)item->learner, (int)e->learner_count);
    if (item->skill < 0 || item->skill >= e->skill_count)
        return mst_fail(err, MST_USAGE, "evidence %zu is of skill %d, but there are %d", n + 1,
                        (int)item->skill, (int)e->skill_count);
    if (!isfinite(item->weight))
        return mst_fail(err, MST_USAGE, "evidence %zu has no number for a weight", n + 1);
    if (item->time_ms < 0)
        return mst_fail(err, MST_USAGE, "evidence %zu is from before 1970", n + 1);
    return MST_OK;
}

enum mst_status know_order(const struct mst_class_evidence *e, enum order order, int32_t learner,
                           int64_t until_ms, struct mst_arena *arena, struct ordered *out,
                           struct mst_error *err)
{
    *out = (struct ordered){0};
    struct sorted *sorted = mst_arena_alloc_raw(arena, e->count + 1, sizeof *sorted);
    out->items = mst_arena_alloc_raw(arena, e->count + 1, sizeof *out->items);
    if (!sorted || !out->items)
        return know_no_memory(err);
    size_t count = 0;
    for (size_t n = 0; n < e->count; n++) {
        const struct mst_evidence *item = &e->items[n];
        enum mst_status status = check(e, n, err);
        if (status != MST_OK)
            return status;
        if (item->time_ms > until_ms || (learner >= 0 && item->learner != learner))
            continue;
        uint64_t major = (uint64_t)(order == BY_SKILL ? item->skill : item->learner);
        uint64_t minor = (uint64_t)(order == BY_SKILL ? item->learner : item->skill);
        sorted[count++] = (struct sorted){item->time_ms, major << 32 | minor, n};
    }
    qsort(sorted, count, sizeof *sorted, by_group_and_time);
    for (size_t n = 0; n < count; n++)
        out->sequence_count += n == 0 || sorted[n].group != sorted[n - 1].group;
    out->sequences = mst_arena_alloc(arena, out->sequence_count + 1, sizeof *out->sequences);
    if (!out->sequences)
        return know_no_memory(err);
    struct sequence *at = out->sequences - 1;
    for (size_t n = 0; n < count; n++) {
        const struct mst_evidence *item = &e->items[sorted[n].item];
        double weight = item->weight > MST_WEIGHT_MOST    ? MST_WEIGHT_MOST
                        : item->weight < -MST_WEIGHT_MOST ? -MST_WEIGHT_MOST
                                                          : (double)item->weight;
        if (n == 0 || sorted[n].group != sorted[n - 1].group)
            *++at = (struct sequence){.learner = item->learner,
                                      .skill = item->skill,
                                      .first = n,
                                      .first_ms = item->time_ms};
        at->count++;
        at->last_ms = item->time_ms;
        out->items[n] = (struct heard){(double)item->time_ms / 86400e3, logistic(weight)};
    }
    out->item_count = count;
    return MST_OK;
}
