/* Memory running out at each allocation in turn: a status and a sentence, never a crash or a leak.
 */
#include "test.h"

void *__real_malloc(size_t size);
void *__wrap_malloc(size_t size);
void *__real_calloc(size_t count, size_t size);
void *__wrap_calloc(size_t count, size_t size);
void *__real_realloc(void *old, size_t size);
void *__wrap_realloc(void *old, size_t size);

/* How many allocations still succeed before one fails; -1: all do. */
static long allocations_left = -1;

static int fails_now(void)
{
    return allocations_left >= 0 && allocations_left-- == 0;
}

void *__wrap_malloc(size_t size)
{
    return fails_now() ? NULL : __real_malloc(size);
}

void *__wrap_calloc(size_t count, size_t size)
{
    return fails_now() ? NULL : __real_calloc(count, size);
}

void *__wrap_realloc(void *old, size_t size)
{
    return fails_now() ? NULL : __real_realloc(old, size);
}

static void opening(void **state)
{
    (void)state;
    enum mst_status status = MST_NO_MEMORY;
    long n = 0;
    for (; status != MST_OK && n < 20; n++) {
        struct mst_text *opened;
        struct mst_error err = {0};
        allocations_left = n;
        status = mst_text_open(NULL, &opened, &err);
        allocations_left = -1;
        if (status == MST_OK) {
            mst_text_close(opened);
        } else {
            assert_int_equal(status, MST_NO_MEMORY);
            assert_null(opened);
            assert_non_null(strstr(err.message, "memory ran out"));
        }
    }
    assert_int_equal(status, MST_OK);
    assert_true(n > 1);
}

static void searching(void **state)
{
    (void)state;
    static const char *const queries[] = {"الله", "merciful"};
    for (size_t q = 0; q < 2; q++) {
        enum mst_status status = MST_NO_MEMORY;
        long n = 0;
        for (; status != MST_OK && n < 20; n++) {
            struct mst_arena *arena = mst_arena_new(0);
            struct mst_hit *hits;
            size_t count;
            struct mst_error err = {0};
            allocations_left = n;
            status =
                mst_text_search(text, mst_span_of(queries[q]), -1, 5, arena, &hits, &count, &err);
            allocations_left = -1;
            assert_int_equal(count, status == MST_OK ? 5 : 0);
            if (status != MST_OK)
                assert_int_equal(status, MST_NO_MEMORY);
            mst_arena_free(arena);
        }
        assert_int_equal(status, MST_OK);
        assert_true(n > 1);
    }
}

/* The nearest names are a courtesy: without memory for them the error stays an error. */
static void suggesting(void **state)
{
    (void)state;
    struct mst_range r;
    struct mst_error err = {0};
    allocations_left = 0;
    enum mst_status status = mst_range_parse(text, MST_SPAN("al-Mulq"), &r, &err);
    allocations_left = -1;
    assert_int_equal(status, MST_NOT_FOUND);
    assert_non_null(strstr(err.message, "al-Mulq"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(opening),
        cmocka_unit_test(searching),
        cmocka_unit_test(suggesting),
    };
    return cmocka_run_group_tests(tests, open_text, close_text);
}
