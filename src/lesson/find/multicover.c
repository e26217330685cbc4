/*
 * multicover.c – the smallest covering set: minimise Σ cost·x over x ∈ {0,1}
 * with Σ times·x ≥ need for every member. Presolved (reduce.c), then solved by
 * GLPK's branch and bound; a greedy answer stands by, and the linear
 * relaxation's bound says how far off it can be. Greedy for multicover with
 * its logarithmic guarantee: Dobson, "Worst-case analysis of greedy heuristics
 * for integer programming with nonnegative data", 1982.
 */
#include "parts.h"

#include <glpk.h>
#include <math.h>
#include <string.h>

/* Costs are whole numbers: a bound may be rounded up, but for the solver's own rounding. */
static int64_t bound_of(double value)
{
    return (int64_t)ceil(value - 1e-6 * (1 + fabs(value)));
}

static int32_t times_in(const struct reduced *r, int32_t set, int32_t member)
{
    return r->times[(size_t)set * (size_t)r->member_count + (size_t)member];
}

/* --- greedy ------------------------------------------------------------------- */

static int64_t gain(const struct reduced *r, int32_t set, const int32_t *rest)
{
    int64_t sum = 0;
    for (int32_t m = 0; m < r->member_count; m++) {
        int32_t times = times_in(r, set, m);
        if (rest[m] > 0)
            sum += times < rest[m] ? times : rest[m];
    }
    return sum;
}

static void use(const struct reduced *r, int32_t set, int32_t sign, int32_t *rest)
{
    for (int32_t m = 0; m < r->member_count; m++)
        rest[m] -= sign * times_in(r, set, m);
}

static int all_met(const struct reduced *r, const int32_t *rest)
{
    for (int32_t m = 0; m < r->member_count; m++)
        if (rest[m] > 0)
            return 0;
    return 1;
}

/* The set that serves most for its cost, again and again; then what became idle is taken out. */
static int64_t greedy(const struct reduced *r, int32_t *rest, uint8_t *chosen)
{
    int64_t cost = 0;
    memcpy(rest, r->need, sizeof *rest * (size_t)r->member_count);
    while (!all_met(r, rest)) {
        int32_t best = -1;
        int64_t best_gain = 0;
        for (int32_t j = 0; j < r->set_count; j++) {
            int64_t served = chosen[j] ? 0 : gain(r, j, rest);
            if (served > 0 && (best < 0 || served * r->cost[best] > best_gain * r->cost[j])) {
                best = j;
                best_gain = served;
            }
        }
        if (best < 0)
            return -1;
        chosen[best] = 1;
        cost += r->cost[best];
        use(r, best, 1, rest);
    }
    for (int32_t j = 0; j < r->set_count; j++) {
        if (!chosen[j])
            continue;
        use(r, j, -1, rest);
        if (all_met(r, rest)) {
            chosen[j] = 0;
            cost -= r->cost[j];
        } else {
            use(r, j, 1, rest);
        }
    }
    return cost;
}

/* --- GLPK ---------------------------------------------------------------------- */

static glp_prob *model_make(const struct reduced *r, struct mst_arena *arena)
{
    size_t most = (size_t)r->set_count * (size_t)r->member_count;
    int *row = mst_arena_alloc(arena, most + 1, sizeof *row);
    int *column = mst_arena_alloc(arena, most + 1, sizeof *column);
    double *value = mst_arena_alloc(arena, most + 1, sizeof *value);
    if (!row || !column || !value)
        return NULL;
    glp_prob *model = glp_create_prob();
    glp_set_obj_dir(model, GLP_MIN);
    glp_add_rows(model, r->member_count);
    glp_add_cols(model, r->set_count);
    for (int32_t m = 0; m < r->member_count; m++)
        glp_set_row_bnds(model, m + 1, GLP_LO, r->need[m], 0);
    int filled = 0;
    for (int32_t j = 0; j < r->set_count; j++) {
        glp_set_col_kind(model, j + 1, GLP_BV);
        glp_set_obj_coef(model, j + 1, r->cost[j]);
        for (int32_t m = 0; m < r->member_count; m++) {
            if (!times_in(r, j, m))
                continue;
            filled++;
            row[filled] = m + 1;
            column[filled] = j + 1;
            value[filled] = times_in(r, j, m);
        }
    }
    glp_load_matrix(model, filled, row, column, value);
    return model;
}

/* What the tree has proved so far, and how many nodes it has looked at. */
struct watch {
    double proved;
    int32_t nodes, node_limit;
};

static void watch_tree(glp_tree *tree, void *info)
{
    struct watch *w = info;
    int best = glp_ios_best_node(tree);
    if (best)
        w->proved = glp_ios_node_bound(tree, best);
    if (glp_ios_reason(tree) == GLP_ISELECT && w->node_limit && ++w->nodes > w->node_limit)
        glp_ios_terminate(tree);
}

/*
 * LP bound, then the tree. chosen and *cost are replaced where the tree finds
 * something cheaper than the greedy answer; *bound is raised as far as proved.
 */
static void branch_and_bound(glp_prob *model, const struct reduced *r, int time_limit_ms,
                             int32_t node_limit, uint8_t *chosen, int64_t *cost, int64_t *bound)
{
    glp_smcp simplex;
    glp_init_smcp(&simplex);
    simplex.msg_lev = GLP_MSG_OFF;
    if (glp_simplex(model, &simplex) != 0 || glp_get_status(model) != GLP_OPT)
        return;
    *bound = bound_of(glp_get_obj_val(model));
    if (*bound >= *cost || time_limit_ms == 0)
        return;
    glp_iocp tree;
    struct watch watch = {.proved = (double)*bound, .node_limit = node_limit};
    glp_init_iocp(&tree);
    tree.msg_lev = GLP_MSG_OFF;
    if (time_limit_ms > 0) /* else as long as it takes */
        tree.tm_lim = time_limit_ms;
    tree.br_tech = GLP_BR_DTH;
    tree.bt_tech = GLP_BT_BLB;
    tree.mir_cuts = GLP_ON; /* Gomory's cuts cost three times what they save here */
    tree.cb_func = watch_tree;
    tree.cb_info = &watch;
    int ended = glp_intopt(model, &tree);
    int status = glp_mip_status(model);
    if (status == GLP_OPT || status == GLP_FEAS) {
        int64_t found = (int64_t)llround(glp_mip_obj_val(model));
        if (found < *cost) {
            *cost = found;
            for (int32_t j = 0; j < r->set_count; j++)
                chosen[j] = glp_mip_col_val(model, j + 1) > 0.5;
        }
    }
    if (ended == 0 && status == GLP_OPT)
        *bound = *cost;
    else if (bound_of(watch.proved) > *bound)
        *bound = bound_of(watch.proved) < *cost ? bound_of(watch.proved) : *cost;
}

static enum mst_status answer_make(const struct mst_multicover *p, const struct reduced *r,
                                   const uint8_t *chosen, struct mst_arena *arena,
                                   struct mst_multicover_answer *out, struct mst_error *err)
{
    out->chosen = mst_arena_alloc(arena, (size_t)p->set_count + 1, sizeof *out->chosen);
    if (!out->chosen)
        return mst_find_no_memory(err);
    int32_t left = 0;
    for (int32_t j = 0; j < p->set_count; j++) {
        int is_left = left < r->set_count && r->set[left] == j;
        if (r->taken[j] || (is_left && chosen[left]))
            out->chosen[out->chosen_count++] = j;
        left += is_left;
    }
    return MST_OK;
}

static enum mst_status solve(const struct mst_multicover *p, int time_limit_ms,
                             struct mst_arena *work, struct mst_arena *arena,
                             struct mst_multicover_answer *out, struct mst_error *err)
{
    struct reduced r;
    enum mst_status status = mst_find_reduce(p, work, &r, err);
    if (status != MST_OK)
        return status;
    uint8_t *chosen = mst_arena_alloc(work, (size_t)r.set_count + 1, 1);
    int32_t *rest = mst_arena_alloc(work, (size_t)r.member_count + 1, sizeof *rest);
    if (!chosen || !rest)
        return mst_find_no_memory(err);
    int64_t cost = greedy(&r, rest, chosen), bound = 0;
    if (cost < 0)
        return mst_fail(err, MST_NOT_FOUND, "all sets together do not hold every member so often");
    if (r.member_count > 0) {
        glp_prob *model = model_make(&r, work);
        if (!model)
            return mst_find_no_memory(err);
        branch_and_bound(model, &r, time_limit_ms, p->node_limit, chosen, &cost, &bound);
        glp_delete_prob(model);
    }
    out->cost = cost + r.taken_cost;
    out->bound = bound + r.taken_cost;
    out->sets_left = r.set_count;
    out->members_left = r.member_count;
    return answer_make(p, &r, chosen, arena, out, err);
}

enum mst_status mst_multicover_solve(const struct mst_multicover *problem, int time_limit_ms,
                                     struct mst_arena *arena, struct mst_multicover_answer *out,
                                     struct mst_error *err)
{
    *out = (struct mst_multicover_answer){0};
    struct mst_arena *work = mst_arena_new(0);
    if (!work)
        return mst_find_no_memory(err);
    enum mst_status status = solve(problem, time_limit_ms, work, arena, out, err);
    mst_arena_free(work);
    return status;
}
