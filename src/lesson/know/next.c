/* next.c – what to teach next: to one learner, and to the class. */
#include "parts.h"

#include <math.h>
#include <stdlib.h>

/* --- one learner ------------------------------------------------------------------------ */

/* Weak before due; the least likely known first; of what is due, what waited longest for its kind.
 */
static double overdue(const struct mst_weak *w, int64_t time_ms)
{
    double days = (double)(time_ms - w->row->last_ms) / 86400e3;
    return w->row->half_life_days > 0 ? days / w->row->half_life_days : 0;
}

struct dated {
    struct mst_weak weak;
    double overdue;
};

static int weakest_first(const void *a, const void *b)
{
    const struct dated *x = a, *y = b;
    if (x->weak.due != y->weak.due)
        return x->weak.due - y->weak.due;
    if (x->weak.due && x->overdue != y->overdue)
        return x->overdue > y->overdue ? -1 : 1;
    if (x->weak.row->known != y->weak.row->known)
        return x->weak.row->known < y->weak.row->known ? -1 : 1;
    return (x->weak.row->skill > y->weak.row->skill) - (x->weak.row->skill < y->weak.row->skill);
}

enum mst_status mst_know_weak(const struct mst_knowledge *k, int32_t learner, size_t most,
                              struct mst_arena *arena, struct mst_weak **out, size_t *count,
                              struct mst_error *err)
{
    *out = NULL;
    *count = 0;
    enum mst_status status = know_learner_exists(learner, k->learner_count, err);
    if (status != MST_OK)
        return status;
    size_t first = k->first[learner], end = k->first[learner + 1], found = 0;
    struct dated *all = mst_arena_alloc(arena, end - first + 1, sizeof *all);
    struct mst_weak *list = mst_arena_alloc(arena, end - first + 1, sizeof *list);
    if (!all || !list)
        return know_no_memory(err);
    for (size_t n = first; n < end; n++) {
        const struct mst_known *row = &k->rows[n];
        const int weak = row->known < 0.5;
        if (weak || mst_is_due(row->due_ms, k->time_ms)) {
            struct mst_weak w = {k->skills[row->skill], row, !weak};
            all[found++] = (struct dated){w, overdue(&w, k->time_ms)};
        }
    }
    qsort(all, found, sizeof *all, weakest_first);
    if (most > 0 && found > most)
        found = most;
    for (size_t n = 0; n < found; n++)
        list[n] = all[n].weak;
    *out = list;
    *count = found;
    return MST_OK;
}

/* --- the class ---------------------------------------------------------------------------- */

static int most_missed_first(const void *a, const void *b)
{
    const struct mst_class_miss *x = a, *y = b;
    if (x->half != y->half)
        return x->half > y->half ? -1 : 1;
    double p = x->missing * y->learners, q = y->missing * x->learners; /* shares, crosswise */
    if (p != q)
        return p > q ? -1 : 1;
    return (x->skill > y->skill) - (x->skill < y->skill);
}

/* One more coin into the distribution of the number missing, chances[0…n]. */
static void add_coin(double *chances, int32_t n, double missing)
{
    chances[n + 1] = 0;
    for (int32_t i = n + 1; i > 0; i--)
        chances[i] = chances[i] * (1 - missing) + chances[i - 1] * missing;
    chances[0] *= 1 - missing;
}

static void sum_up(struct mst_class_miss *m, const double *chances)
{
    double below = 0;
    m->low = m->median = m->high = -1;
    for (int32_t n = 0; n <= m->learners; n++) {
        below += chances[n];
        if (m->low < 0 && below >= 0.05)
            m->low = n;
        if (m->median < 0 && below >= 0.5 - 1e-12)
            m->median = n;
        if (m->high < 0 && below >= 0.95)
            m->high = n;
        m->missing += n * chances[n];
        if (2 * n >= m->learners)
            m->half += chances[n];
    }
    m->median = m->median < 0 ? m->learners : m->median;
    m->high = m->high < 0 ? m->learners : m->high;
    m->low = m->low < 0 ? m->learners : m->low;
    m->half = fmin(m->half, 1);
}

static enum mst_status misses(const struct mst_knowledge *k, struct mst_arena *work,
                              struct mst_class_miss *list, size_t *count, struct mst_error *err)
{
    /* rows of each skill, counted and then laid out */
    size_t *from = mst_arena_alloc(work, (size_t)k->skill_count + 2, sizeof *from);
    double *missing = mst_arena_alloc(work, k->count + 1, sizeof *missing);
    double *chances = mst_arena_alloc(work, (size_t)k->learner_count + 2, sizeof *chances);
    if (!from || !missing || !chances)
        return know_no_memory(err);
    for (size_t n = 0; n < k->count; n++)
        from[k->rows[n].skill + 2]++;
    for (int32_t s = 0; s < k->skill_count; s++)
        from[s + 2] += from[s + 1];
    for (size_t n = 0; n < k->count; n++)
        missing[from[k->rows[n].skill + 1]++] = 1 - k->rows[n].known;
    for (int32_t s = 0; s < k->skill_count; s++) {
        int32_t learners = (int32_t)(from[s + 1] - from[s]);
        if (learners == 0)
            continue;
        chances[0] = 1;
        for (int32_t n = 0; n < learners; n++)
            add_coin(chances, n, missing[from[s] + (size_t)n]);
        list[*count] = (struct mst_class_miss){.skill = s, .learners = learners};
        sum_up(&list[(*count)++], chances);
    }
    qsort(list, *count, sizeof *list, most_missed_first);
    return MST_OK;
}

enum mst_status mst_know_class(const struct mst_knowledge *knowledge, struct mst_arena *arena,
                               struct mst_class_miss **out, size_t *count, struct mst_error *err)
{
    *count = 0;
    *out = mst_arena_alloc(arena, (size_t)knowledge->skill_count + 1, sizeof **out);
    struct mst_arena *work = mst_arena_new(0);
    enum mst_status status =
        *out && work ? misses(knowledge, work, *out, count, err) : know_no_memory(err);
    mst_arena_free(work);
    return status;
}
