/* Memory running out at each allocation in turn: a status and a sentence, never a crash or half of
 * a result. */
#include "../memory_runs_out.h"
#include "../test.h"
#include "simulate.h"

#include <string.h>

static struct simulated s;
static struct mst_know_model *model;
static struct mst_knowledge *known;

static enum mst_status fit(struct mst_arena *arena, struct mst_error *err)
{
    struct mst_know_model *m;
    struct mst_know_options few = {.rounds_most = 2};
    enum mst_status status = mst_know_fit(&s.evidence, &few, arena, &m, err);
    assert_true((status == MST_OK) == (m != NULL));
    return status;
}

static enum mst_status spacing(struct mst_arena *arena, struct mst_error *err)
{
    struct mst_spacing *out;
    enum mst_status status = mst_spacing_fit(&s.evidence, arena, &out, err);
    assert_true((status == MST_OK) == (out != NULL));
    return status;
}

static enum mst_status now(struct mst_arena *arena, struct mst_error *err)
{
    struct mst_knowledge *out;
    enum mst_status status = mst_know_now(model, &s.evidence, NULL, s.end_ms, arena, &out, err);
    assert_true((status == MST_OK) == (out != NULL));
    return status;
}

static enum mst_status courses(struct mst_arena *arena, struct mst_error *err)
{
    struct mst_rule_course *out;
    int32_t count;
    return mst_know_courses(model, &s.evidence, 0, &s.end_ms, 1, arena, &out, &count, err);
}

static enum mst_status next(struct mst_arena *arena, struct mst_error *err)
{
    struct mst_class_miss *misses;
    struct mst_weak *weak;
    size_t count;
    enum mst_status status = mst_know_class(known, arena, &misses, &count, err);
    return status == MST_OK ? mst_know_weak(known, 0, 0, arena, &weak, &count, err) : status;
}

static void fails_cleanly(void **state)
{
    enum mst_status (*const calls[])(struct mst_arena *, struct mst_error *) = {fit, spacing, now,
                                                                                courses, next};
    (void)state;
    for (size_t c = 0; c < sizeof calls / sizeof *calls; c++) {
        enum mst_status status = MST_NO_MEMORY;
        long n = 0;
        for (; status != MST_OK && n < 5000; n += 1 + n / 3) {
            struct mst_arena *arena = mst_arena_new(64);
            struct mst_error err = {0};
            allocations_left = n;
            status = calls[c](arena, &err);
            allocations_left = -1;
            if (status != MST_OK) {
                assert_int_equal(status, MST_NO_MEMORY);
                assert_non_null(strstr(err.message, "memory ran out"));
            }
            mst_arena_free(arena);
        }
        assert_int_equal(status, MST_OK);
        assert_true(n > 1);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(fails_cleanly)};
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_error err = {0};
    simulate(2, 4, 2, arena, &s);
    if (mst_know_fit(&s.evidence, NULL, arena, &model, &err) != MST_OK ||
        mst_know_now(model, &s.evidence, NULL, s.end_ms, arena, &known, &err) != MST_OK)
        return 1;
    int failed = cmocka_run_group_tests(tests, NULL, NULL);
    mst_arena_free(arena);
    return failed;
}
