/*
 * reduce.c – the presolve of the covering problem. Three steps, repeated until
 * nothing changes; each leaves at least one smallest answer intact:
 *
 *   forced      A member that all sets together hold only just often enough
 *               takes every set that holds it.
 *   sets        A set goes when other sets that cost no more and hold no less
 *               of anything (its betters) would together meet every need it
 *               serves: in an answer with the set, either one of its betters
 *               is unused and can stand in for it, or all are used and it is
 *               idle. Of equals the lower number counts as the better, so that
 *               standing-in ends.
 *   members     A member goes when another that is needed no less often is
 *               held by no set more often: serving that one serves it too.
 */
#include "parts.h"

#include <string.h>

struct table {
    int32_t sets, members;
    int32_t *times; /* sets × members, capped at the need */
    int32_t *need;  /* what is still needed */
    const int32_t *cost;
    uint8_t *set_gone, *member_gone, *taken;
};

static int32_t *row(const struct table *t, int32_t set)
{
    return t->times + (size_t)set * (size_t)t->members;
}

/* Cap at what is still needed; members with no need left are done. */
static void settle(struct table *t)
{
    for (int32_t m = 0; m < t->members; m++) {
        if (t->need[m] <= 0)
            t->member_gone[m] = 1;
        for (int32_t j = 0; j < t->sets; j++) {
            int32_t *times = &row(t, j)[m];
            if (t->member_gone[m])
                *times = 0;
            else if (*times > t->need[m])
                *times = t->need[m];
        }
    }
    for (int32_t j = 0; j < t->sets; j++) {
        int serves = 0;
        for (int32_t m = 0; m < t->members && !serves; m++)
            serves = row(t, j)[m] > 0;
        if (!serves)
            t->set_gone[j] = 1;
    }
}

static void take(struct table *t, int32_t set)
{
    t->taken[set] = t->set_gone[set] = 1;
    for (int32_t m = 0; m < t->members; m++)
        t->need[m] -= row(t, set)[m];
}

/*
 * Sums are of the capped numbers: with them, too, every answer must take all
 * sets when their sum is only just the need.
 */
static int force(struct table *t)
{
    int changed = 0;
    for (int32_t m = 0; m < t->members; m++) {
        int64_t sum = 0;
        if (t->member_gone[m])
            continue;
        for (int32_t j = 0; j < t->sets; j++)
            sum += t->set_gone[j] ? 0 : row(t, j)[m];
        if (sum != t->need[m])
            continue;
        for (int32_t j = 0; j < t->sets; j++)
            if (!t->set_gone[j] && row(t, j)[m] > 0)
                take(t, j);
        settle(t);
        changed = 1;
    }
    return changed;
}

static int is_better(const struct table *t, int32_t better, int32_t set)
{
    const int32_t *a = row(t, better), *b = row(t, set);
    int equal = t->cost[better] == t->cost[set];
    if (t->cost[better] > t->cost[set])
        return 0;
    for (int32_t m = 0; m < t->members; m++) {
        if (a[m] < b[m])
            return 0;
        equal &= a[m] == b[m];
    }
    return !equal || better < set;
}

static int set_is_idle(const struct table *t, int32_t set, int32_t *rest)
{
    memcpy(rest, t->need, sizeof *rest * (size_t)t->members);
    for (int32_t j = 0; j < t->sets; j++) {
        if (j == set || t->set_gone[j] || !is_better(t, j, set))
            continue;
        int unmet = 0;
        for (int32_t m = 0; m < t->members; m++) {
            rest[m] -= row(t, j)[m];
            unmet |= row(t, set)[m] > 0 && rest[m] > 0;
        }
        if (!unmet)
            return 1;
    }
    return 0;
}

static int drop_sets(struct table *t, int32_t *rest)
{
    int changed = 0;
    for (int32_t j = 0; j < t->sets; j++)
        if (!t->set_gone[j] && set_is_idle(t, j, rest)) {
            t->set_gone[j] = 1;
            changed = 1;
        }
    return changed;
}

/* Is m served wherever other is? */
static int is_served_with(const struct table *t, int32_t m, int32_t other)
{
    int equal = t->need[m] == t->need[other];
    if (t->need[other] < t->need[m])
        return 0;
    for (int32_t j = 0; j < t->sets; j++) {
        if (t->set_gone[j])
            continue;
        if (row(t, j)[m] < row(t, j)[other])
            return 0;
        equal &= row(t, j)[m] == row(t, j)[other];
    }
    return !equal || other < m;
}

static int drop_members(struct table *t)
{
    int changed = 0;
    for (int32_t m = 0; m < t->members; m++)
        for (int32_t other = 0; other < t->members && !t->member_gone[m]; other++)
            if (other != m && !t->member_gone[other] && is_served_with(t, m, other))
                changed = t->member_gone[m] = 1;
    if (changed)
        settle(t);
    return changed;
}

static enum mst_status table_make(const struct mst_multicover *p, struct mst_arena *arena,
                                  struct table *t, struct mst_error *err)
{
    size_t sets = (size_t)p->set_count, members = (size_t)p->member_count;
    *t = (struct table){.sets = p->set_count, .members = p->member_count, .cost = p->cost};
    t->times = mst_arena_alloc(arena, sets * members + 1, sizeof *t->times);
    t->need = mst_arena_alloc(arena, members + 1, sizeof *t->need);
    t->set_gone = mst_arena_alloc(arena, sets + 1, 1);
    t->taken = mst_arena_alloc(arena, sets + 1, 1);
    t->member_gone = mst_arena_alloc(arena, members + 1, 1);
    if (!t->times || !t->need || !t->set_gone || !t->taken || !t->member_gone)
        return mst_find_no_memory(err);
    for (int32_t m = 0; m < p->member_count; m++)
        t->need[m] = p->need[m];
    for (int32_t j = 0; j < p->set_count; j++)
        for (int32_t k = p->first[j]; k < p->first[j + 1]; k++)
            row(t, j)[p->member[k]] = p->times[k];
    return MST_OK;
}

/* What is left, numbered anew. */
static enum mst_status pack(const struct table *t, struct mst_arena *arena, struct reduced *out,
                            struct mst_error *err)
{
    *out = (struct reduced){.taken = t->taken};
    for (int32_t j = 0; j < t->sets; j++) {
        out->set_count += !t->set_gone[j];
        out->taken_cost += t->taken[j] ? t->cost[j] : 0;
    }
    for (int32_t m = 0; m < t->members; m++)
        out->member_count += !t->member_gone[m];
    size_t sets = (size_t)out->set_count, members = (size_t)out->member_count;
    out->set = mst_arena_alloc(arena, sets + 1, sizeof *out->set);
    out->cost = mst_arena_alloc(arena, sets + 1, sizeof *out->cost);
    out->need = mst_arena_alloc(arena, members + 1, sizeof *out->need);
    out->times = mst_arena_alloc(arena, sets * members + 1, sizeof *out->times);
    if (!out->set || !out->cost || !out->need || !out->times)
        return mst_find_no_memory(err);
    size_t at = 0, set = 0, member = 0;
    for (int32_t m = 0; m < t->members; m++)
        if (!t->member_gone[m])
            out->need[member++] = t->need[m];
    for (int32_t j = 0; j < t->sets; j++) {
        if (t->set_gone[j])
            continue;
        out->set[set] = j;
        out->cost[set++] = t->cost[j];
        for (int32_t m = 0; m < t->members; m++)
            if (!t->member_gone[m])
                out->times[at++] = row(t, j)[m];
    }
    return MST_OK;
}

enum mst_status mst_find_reduce(const struct mst_multicover *problem, struct mst_arena *arena,
                                struct reduced *out, struct mst_error *err)
{
    struct table t;
    enum mst_status status = table_make(problem, arena, &t, err);
    if (status != MST_OK)
        return status;
    int32_t *rest = mst_arena_alloc(arena, (size_t)t.members + 1, sizeof *rest);
    if (!rest)
        return mst_find_no_memory(err);
    settle(&t);
    int changed;
    do {
        changed = force(&t);
        changed |= drop_sets(&t, rest);
        changed |= drop_members(&t);
    } while (changed);
    return pack(&t, arena, out, err);
}
