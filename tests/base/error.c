#include "test.h"

#include <errno.h>
#include <string.h>

static void status_is_handed_through(void **state)
{
    (void)state;
    struct mst_error err = {.where = "old"};
    assert_int_equal(mst_fail(&err, MST_NOT_FOUND, "sura %d has %d verses", 2, 286), MST_NOT_FOUND);
    assert_int_equal(err.status, MST_NOT_FOUND);
    assert_string_equal(err.message, "sura 2 has 286 verses");
    assert_string_equal(err.where, "");
    assert_int_equal(mst_fail(NULL, MST_IO, "unheard"), MST_IO);
}

static void system_words_go_to_where(void **state)
{
    (void)state;
    struct mst_error err;
    assert_int_equal(mst_fail_errno(&err, MST_IO, ENOSPC, "cannot write “%s”", "sheet.pdf"),
                     MST_IO);
    assert_string_equal(err.message, "cannot write “sheet.pdf”");
    assert_string_equal(err.where, strerror(ENOSPC));
    assert_int_equal(mst_fail_errno(NULL, MST_IO, ENOSPC, "x"), MST_IO);
}

static void long_messages_end_in_a_whole_letter(void **state)
{
    (void)state;
    struct mst_error err;
    char long_name[1000];
    /* Letters of two, three and four bytes at every offset to the end of the buffer. */
    static const char *const letters[] = {"ق", "‎", "𐀀"};
    for (size_t l = 0; l < 3; l++) {
        size_t width = strlen(letters[l]);
        for (size_t lead = 0; lead < 4; lead++) {
            memset(long_name, 'x', sizeof long_name);
            for (size_t i = lead; i + width < sizeof long_name; i += width)
                memcpy(long_name + i, letters[l], width);
            long_name[sizeof long_name - 5] = '\0';
            mst_fail(&err, MST_USAGE, "%s", long_name);
            size_t len = strlen(err.message);
            assert_in_range(len, sizeof err.message - 5, sizeof err.message - 1);
            for (size_t off = 0; off < len;)
                assert_int_not_equal(mst_utf8_next(err.message, len, &off), 0xFFFD);
        }
    }
}

static void every_status_has_name_and_exit_code(void **state)
{
    (void)state;
    assert_int_equal(mst_status_exit_code(MST_OK), 0);
    assert_string_equal(mst_status_name(MST_BAD_DATA), "BAD_DATA");
    assert_int_equal(mst_status_exit_code(MST_MISMATCH), 9);
    /* A number that is no status is a mistake of ours. */
    assert_int_equal(mst_status_exit_code((enum mst_status)999), 70);
    assert_string_equal(mst_status_name((enum mst_status) - 1), "INTERNAL");
    for (int a = MST_OK; a <= MST_INTERNAL; a++)
        for (int b = MST_OK; b < a; b++)
            assert_int_not_equal(mst_status_exit_code((enum mst_status)a),
                                 mst_status_exit_code((enum mst_status)b));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(status_is_handed_through),
        cmocka_unit_test(system_words_go_to_where),
        cmocka_unit_test(long_messages_end_in_a_whole_letter),
        cmocka_unit_test(every_status_has_name_and_exit_code),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
