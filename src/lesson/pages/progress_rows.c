/* What a progress page shows (progress.h): a row for each rule heard. */
#include "progress.h"

#include <stdlib.h>

#define WEEK_MS (INT64_C(7) * 86400000)
enum { WEAK_SHOWN = 6, MISSES_SHOWN = 8 };

static enum mst_status no_memory(struct mst_error *err)
{
    return mst_fail(err, MST_NO_MEMORY, "memory ran out while setting the pages");
}

struct weeks {
    int count;
    int64_t ends[WEEKS_MOST + 1]; /* ends[0]: where the first week begins */
};

static struct weeks weeks_of(const struct mst_progress *p)
{
    struct weeks w = {.count = p->weeks > 0 ? (int)p->weeks : 12};
    w.count = w.count > WEEKS_MOST ? WEEKS_MOST : w.count;
    for (int k = 0; k <= w.count; k++)
        w.ends[k] = p->until_ms - (w.count - k) * WEEK_MS;
    return w;
}

static void strip_of(const struct weeks *weeks, const struct mst_rule_course *course,
                     struct strip *out)
{
    *out = (struct strip){.weeks = weeks->count, .family = mst_rule_family(course->rule)};
    for (int k = 0; k < weeks->count; k++) {
        const struct mst_known_rule *before = &course->at[k], *then = &course->at[k + 1];
        out->heard[k] = then->heard - before->heard;
        out->by_then[k] = then->heard;
        out->known[k] = then->known;
        out->low[k] = then->low;
        out->high[k] = then->high;
    }
}

static enum mst_status of_learner(const struct mst_know_model *model,
                                  const struct mst_class_evidence *e,
                                  const struct mst_knowledge *now, const struct weeks *weeks,
                                  int32_t learner, struct mst_arena *arena,
                                  struct progress_rows *out, struct mst_error *err)
{
    struct mst_rule_course *courses;
    struct mst_known_rule *rules;
    int32_t count, rule_count;
    enum mst_status status = mst_know_courses(model, e, learner, weeks->ends, weeks->count + 1,
                                              arena, &courses, &count, err);
    if (status == MST_OK)
        status = mst_know_rules(now, learner, arena, &rules, &rule_count, err);
    if (status == MST_OK)
        status = mst_know_weak(now, learner, WEAK_SHOWN, arena, &out->weak, &out->weak_count, err);
    if (status != MST_OK)
        return status;
    out->rows = mst_arena_alloc(arena, (size_t)count + 1, sizeof *out->rows);
    if (!out->rows)
        return no_memory(err);
    for (int32_t n = 0; n < count && n < rule_count; n++) { /* both in the order of the rules */
        out->rows[n].rule = courses[n].rule;
        out->rows[n].now = rules[n];
        strip_of(weeks, &courses[n], &out->rows[n].strip);
        out->count++;
    }
    return MST_OK;
}

/* --- the class: the middle of everyone's strips -------------------------------------------- */

static int by_size(const void *a, const void *b)
{
    const double *x = a, *y = b;
    return (*x > *y) - (*x < *y);
}

/* Quantile of sorted numbers, between neighbours in proportion. */
static double quantile(const double *sorted, int count, double share)
{
    double at = share * (count - 1);
    int below = (int)at;
    double rest = at - below;
    return below + 1 < count ? sorted[below] * (1 - rest) + sorted[below + 1] * rest
                             : sorted[count - 1];
}

struct class_course {
    struct mst_rule_course *courses; /* of one learner */
    int32_t count;
};

static void middle_of_rule(const struct class_course *all, int32_t learners, enum mst_rule rule,
                           const struct weeks *weeks, double *room, struct strip *out)
{
    *out = (struct strip){.weeks = weeks->count, .family = mst_rule_family(rule)};
    for (int k = 0; k < weeks->count; k++) {
        int n = 0;
        for (int32_t l = 0; l < learners; l++)
            for (int32_t c = 0; c < all[l].count; c++) {
                if (all[l].courses[c].rule != rule)
                    continue;
                const struct mst_known_rule *at = all[l].courses[c].at;
                if (at[k + 1].heard > 0)
                    room[n++] = at[k + 1].known;
                out->heard[k] += at[k + 1].heard - at[k].heard;
                out->by_then[k] += at[k + 1].heard;
            }
        if (n == 0)
            continue;
        qsort(room, (size_t)n, sizeof *room, by_size);
        out->known[k] = quantile(room, n, 0.5);
        out->low[k] = quantile(room, n, 0.25);
        out->high[k] = quantile(room, n, 0.75);
        /* ticks tell of a learner as on the other pages */
        out->heard[k] = (out->heard[k] + n / 2) / n;
    }
}

static enum mst_status of_class(const struct mst_know_model *model,
                                const struct mst_class_evidence *e, const struct mst_knowledge *now,
                                const struct weeks *weeks, struct mst_arena *arena,
                                struct progress_rows *out, struct mst_error *err)
{
    size_t learners = (size_t)e->learner_count;
    struct class_course *all = mst_arena_alloc(arena, learners + 1, sizeof *all);
    double *room = mst_arena_alloc(arena, learners + 1, sizeof *room);
    out->rows = mst_arena_alloc(arena, MST_RULE_COUNT, sizeof *out->rows);
    if (!all || !room || !out->rows)
        return no_memory(err);
    struct mst_known_rule sum[MST_RULE_COUNT] = {{0}};
    enum mst_status status = MST_OK;
    for (int32_t l = 0; status == MST_OK && l < e->learner_count; l++) {
        status = mst_know_courses(model, e, l, weeks->ends, weeks->count + 1, arena,
                                  &all[l].courses, &all[l].count, err);
        for (int32_t c = 0; status == MST_OK && c < all[l].count; c++) {
            const struct mst_known_rule *at = &all[l].courses[c].at[weeks->count];
            struct mst_known_rule *s = &sum[all[l].courses[c].rule];
            s->heard += at->heard;
            s->last_ms = at->last_ms > s->last_ms ? at->last_ms : s->last_ms;
        }
    }
    for (int r = 0; status == MST_OK && r < MST_RULE_COUNT; r++) {
        if (sum[r].heard == 0)
            continue;
        struct progress_row *row = &out->rows[out->count++];
        row->rule = sum[r].rule = (enum mst_rule)r;
        middle_of_rule(all, e->learner_count, (enum mst_rule)r, weeks, room, &row->strip);
        row->now = sum[r];
        row->now.known = row->strip.known[weeks->count - 1];
        row->now.low = row->strip.low[weeks->count - 1];
        row->now.high = row->strip.high[weeks->count - 1];
    }
    if (status == MST_OK)
        status = mst_know_class(now, arena, &out->misses, &out->miss_count, err);
    size_t half = 0;
    while (status == MST_OK && half < out->miss_count && out->misses[half].half >= 0.5)
        half++;
    out->miss_count = half < MISSES_SHOWN ? half : MISSES_SHOWN;
    return status;
}

enum mst_status progress_rows_make(const struct mst_know_model *model,
                                   const struct mst_class_evidence *evidence,
                                   const struct mst_spacing *spacing,
                                   const struct mst_progress *progress, struct mst_arena *arena,
                                   struct progress_rows *out, struct mst_error *err)
{
    struct weeks weeks = weeks_of(progress);
    struct mst_knowledge *now;
    int whole_class = progress->reader == MST_PROGRESS_CLASS;
    *out = (struct progress_rows){.skills = evidence->skills};
    if (!whole_class && (progress->learner < 0 || progress->learner >= evidence->learner_count))
        return mst_fail(err, MST_USAGE, "there is no learner %d among %d", (int)progress->learner,
                        (int)evidence->learner_count);
    enum mst_status status =
        mst_know_now(model, evidence, spacing, progress->until_ms, arena, &now, err);
    if (status == MST_OK)
        status = whole_class
                     ? of_class(model, evidence, now, &weeks, arena, out, err)
                     : of_learner(model, evidence, now, &weeks, progress->learner, arena, out, err);
    if (status == MST_OK && out->count == 0)
        status =
            mst_fail(err, MST_NOT_FOUND, "nothing was heard yet: there is no progress to show");
    return status;
}
