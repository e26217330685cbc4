/* Memory running out at each allocation in turn: a status and a sentence, never a crash or a leak.
 * GLPK's own memory is not ours to fail (it ends the program when there is none). */
#include "memory_runs_out.h"
#include "test.h"

#include <string.h>

static struct mst_text *text;

static enum mst_status examples(struct mst_arena *arena, struct mst_error *err)
{
    struct mst_example_query query = {.rules = {UINT64_C(1) << MST_RULE_IKHFA}};
    struct mst_range range = {{78, 0, 0, 0}, {78, 0, 0, 0}};
    struct mst_examples found;
    query.scope.ranges = &range;
    query.scope.range_count = 1;
    return mst_find_examples(text, &query, arena, &found, err);
}

static enum mst_status passages(struct mst_arena *arena, struct mst_error *err)
{
    struct mst_passage_query query = {.rules = {UINT64_C(1) << MST_RULE_IKHFA}};
    struct mst_passage *found;
    size_t count;
    return mst_find_passages(text, &query, arena, &found, &count, err);
}

static enum mst_status cover(struct mst_arena *arena, struct mst_error *err)
{
    struct mst_cover_query query = {.rules = {UINT64_C(1) << MST_RULE_IKHFA}, .times = 3};
    struct mst_cover found;
    return mst_find_cover(text, &query, arena, &found, err);
}

static void fails_cleanly(enum mst_status (*search)(struct mst_arena *, struct mst_error *))
{
    enum mst_status status = MST_NO_MEMORY;
    long n = 0;
    for (; status != MST_OK && n < 5000; n += 1 + n / 3) { /* each at first, then in strides */
        struct mst_arena *arena = mst_arena_new(64);
        struct mst_error err = {0};
        allocations_left = n;
        status = search(arena, &err);
        allocations_left = -1;
        if (status != MST_OK) {
            assert_int_equal(status, MST_NO_MEMORY);
            assert_non_null(strstr(err.message, "memory ran out"));
        }
        mst_arena_free(arena);
    }
    assert_int_equal(status, MST_OK);
    assert_true(n > 5);
}

static void examples_fail_cleanly(void **state)
{
    (void)state;
    fails_cleanly(examples);
}

static void passages_fail_cleanly(void **state)
{
    (void)state;
    fails_cleanly(passages);
}

static void covers_fail_cleanly(void **state)
{
    (void)state;
    fails_cleanly(cover);
}

int main(void)
{
    struct mst_error err;
    if (mst_text_open(NULL, &text, &err) != MST_OK)
        return 1;
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(examples_fail_cleanly),
        cmocka_unit_test(passages_fail_cleanly),
        cmocka_unit_test(covers_fail_cleanly),
    };
    int failed = cmocka_run_group_tests(tests, NULL, NULL);
    mst_text_close(text);
    return failed;
}
