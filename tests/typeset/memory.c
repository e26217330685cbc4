/* Memory that runs out at any point ends the sheet with NO_MEMORY, and with nothing else. */
#include "fixture.h"

static void any_block_may_fail(void **state)
{
    struct fixture *f = *state;
    struct mst_sheet_options options = {
        .rules = all_rules(), .key = MST_KEY_FOOT, .page = mst_page_a4()};
    options.page.type_size = 18;
    const struct mst_reading *r = read_passage(f, "112", MST_STOPS_VERSES);
    int failures = 0;
    for (long n = 0;; n++) {
        struct mst_arena *arena = mst_arena_new(512);
        struct mst_sheet *sheet;
        struct mst_error err = {0};
        assert_non_null(arena);
        mst_arena_fail_after(arena, n);
        enum mst_status status = mst_sheet_new(f->typeset, r, &options, arena, &sheet, &err);
        mst_arena_free(arena);
        if (status == MST_OK)
            break;
        assert_int_equal(status, MST_NO_MEMORY);
        assert_null(sheet);
        failures++;
    }
    print_message("%d points of failure\n", failures);
    assert_true(failures > 100);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(any_block_may_fail)};
    return cmocka_run_group_tests(tests, fixture_open, fixture_close);
}
