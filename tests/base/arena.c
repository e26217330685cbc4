#include "test.h"

#include <stdalign.h>
#include <stdlib.h>
#include <string.h>

static void memory_is_zeroed_aligned_and_apart(void **state)
{
    (void)state;
    struct mst_arena *arena = mst_arena_new(256);
    unsigned char *seen[200];
    size_t sizes[200];
    for (size_t i = 0; i < 200; i++) {
        sizes[i] = 1 + i * 7 % 90;
        seen[i] = mst_arena_alloc(arena, sizes[i], 1);
        assert_non_null(seen[i]);
        assert_int_equal((uintptr_t)seen[i] % alignof(max_align_t), 0);
        for (size_t j = 0; j < sizes[i]; j++)
            assert_int_equal(seen[i][j], 0);
        memset(seen[i], (int)i, sizes[i]);
    }
    for (size_t i = 0; i < 200; i++)
        for (size_t j = 0; j < sizes[i]; j++)
            assert_int_equal(seen[i][j], (unsigned char)i);
    mst_arena_free(arena);
    mst_arena_free(NULL);
}

static void overflow_is_refused(void **state)
{
    (void)state;
    struct mst_arena *arena = mst_arena_new(0);
    assert_null(mst_arena_alloc(arena, SIZE_MAX, 2));
    assert_null(mst_arena_alloc(arena, SIZE_MAX / 2 + 1, 2));
    assert_null(mst_arena_alloc(arena, SIZE_MAX - 3, 1));
    assert_null(mst_arena_alloc(arena, SIZE_MAX - 64, 1));
    assert_null(mst_arena_strndup(arena, "x", SIZE_MAX));
    assert_int_equal(mst_arena_used(arena), 0);
    assert_non_null(mst_arena_alloc(arena, 0, 8));
    assert_non_null(mst_arena_alloc(arena, 8, 0));
    mst_arena_free(arena);
}

static void growing_keeps_what_was_there(void **state)
{
    (void)state;
    struct mst_arena *arena = mst_arena_new(128);
    uint32_t *list = NULL;
    size_t room = 0;
    for (uint32_t i = 0; i < 5000; i++) {
        if (i == room) {
            size_t more = room == 0 ? 3 : room * 2;
            list = mst_arena_grow(arena, list, room, more, sizeof *list);
            assert_non_null(list);
            for (size_t j = room; j < more; j++)
                assert_int_equal(list[j], 0);
            room = more;
        }
        list[i] = i;
    }
    for (uint32_t i = 0; i < 5000; i++)
        assert_int_equal(list[i], i);
    /* Smaller is the same place; too large fails and leaves the old alone. */
    assert_ptr_equal(mst_arena_grow(arena, list, room, 1, sizeof *list), list);
    assert_null(mst_arena_grow(arena, list, room, SIZE_MAX, sizeof *list));
    assert_int_equal(list[4999], 4999);
    mst_arena_free(arena);
}

static void the_latest_allocation_grows_in_place(void **state)
{
    (void)state;
    struct mst_arena *arena = mst_arena_new(4096);
    char *text = mst_arena_alloc(arena, 5, 1);
    memset(text, 'a', 5);
    assert_ptr_equal(mst_arena_grow(arena, text, 5, 500, 1), text);
    assert_int_equal(text[5], 0);
    assert_non_null(mst_arena_alloc(arena, 1, 1));
    char *moved = mst_arena_grow(arena, text, 500, 600, 1);
    assert_ptr_not_equal(moved, text);
    assert_memory_equal(moved, text, 500);
    mst_arena_free(arena);
}

/* A dirty tail inside the rounding must not show up as content. */
static void growing_within_the_rounding_is_zeroed(void **state)
{
    (void)state;
    struct mst_arena *arena = mst_arena_new(4096);
    char *text = mst_arena_alloc(arena, 3, 1);
    memset(text, 'x', 3);
    char *same = mst_arena_grow(arena, text, 3, 10, 1);
    assert_ptr_equal(same, text);
    for (int i = 3; i < 10; i++)
        assert_int_equal(same[i], 0);
    mst_arena_free(arena);
}

static void reset_gives_everything_back(void **state)
{
    (void)state;
    struct mst_arena *arena = mst_arena_new(1024);
    void *first = mst_arena_alloc(arena, 100, 1);
    for (int i = 0; i < 100; i++)
        assert_non_null(mst_arena_alloc(arena, 1000, 1));
    assert_true(mst_arena_used(arena) >= 100100);
    mst_arena_reset(arena);
    assert_int_equal(mst_arena_used(arena), 0);
    unsigned char *again = mst_arena_alloc(arena, 100, 1);
    assert_ptr_equal(again, first);
    assert_int_equal(again[0], 0);
    mst_arena_free(arena);

    struct mst_arena *empty = mst_arena_new(0);
    mst_arena_reset(empty);
    assert_non_null(mst_arena_alloc(empty, 1, 1));
    mst_arena_free(empty);
}

static void text_is_copied_and_printed(void **state)
{
    (void)state;
    struct mst_arena *arena = mst_arena_new(64);
    assert_string_equal(mst_arena_strndup(arena, "mulk!", 4), "mulk");
    assert_string_equal(mst_arena_strndup(arena, NULL, 0), "");
    assert_string_equal(mst_arena_printf(arena, "%d:%d %s", 67, 1, "تَبَـٰرَكَ"), "67:1 تَبَـٰرَكَ");
    char *long_text = mst_arena_printf(arena, "%0500d", 7);
    assert_int_equal(strlen(long_text), 500);
    mst_arena_free(arena);
}

/* The same work with memory running out after every possible block: it fails or it is right. */
static void running_out_fails_cleanly(void **state)
{
    (void)state;
    int succeeded = 0;
    for (long n = 0; n < 40 && !succeeded; n++) {
        struct mst_arena *arena = mst_arena_new(128);
        mst_arena_fail_after(arena, n);
        int ok = 1;
        for (int i = 0; i < 30 && ok; i++) {
            char *text = mst_arena_printf(arena, "line %d of the page", i);
            void *room = text != NULL ? mst_arena_alloc(arena, 20, 4) : NULL;
            ok = room != NULL;
            if (text != NULL && i == 7)
                assert_string_equal(text, "line 7 of the page");
        }
        succeeded = ok;
        if (!ok) {
            /* After the shortage is over the arena is as good as before. */
            mst_arena_fail_after(arena, -1);
            assert_non_null(mst_arena_alloc(arena, 1000, 1));
        }
        assert_true(n > 5 || !ok);
        mst_arena_free(arena);
    }
    assert_true(succeeded);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(memory_is_zeroed_aligned_and_apart),
        cmocka_unit_test(overflow_is_refused),
        cmocka_unit_test(growing_keeps_what_was_there),
        cmocka_unit_test(the_latest_allocation_grows_in_place),
        cmocka_unit_test(growing_within_the_rounding_is_zeroed),
        cmocka_unit_test(reset_gives_everything_back),
        cmocka_unit_test(text_is_copied_and_printed),
        cmocka_unit_test(running_out_fails_cleanly),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
