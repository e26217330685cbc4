/* sqlite.c – what holds of the book in one file: two programs at work in it at once. */
#include "folder.h"
#include "store.h"

#include <sqlite3.h>

/* What was read at the beginning of a transaction still holds when it writes: a second program
 * that wants to write between the two is kept out, instead of making the first one fail. */
static void who_will_write_asks_at_the_beginning(void **state)
{
    struct place *place = *state;
    struct mst_store *store;
    sqlite3 *other;
    char path[128];
    assert_done(mst_store_open(place->folder, &store, &err));
    snprintf(path, sizeof path, "%s/mistara.db", place->folder);
    assert_int_equal(sqlite3_open(path, &other), SQLITE_OK);
    assert_done(db_begin(&store->db, &err));
    struct mst_error why = {0};
    struct query q = query_begin(&store->db, &why, "SELECT count(*) FROM setting", "");
    assert_true(query_row(&q));
    assert_done(query_end(&q));
    assert_int_equal(
        sqlite3_exec(other, "INSERT INTO setting VALUES('theirs','1')", NULL, NULL, NULL),
        SQLITE_BUSY);
    assert_done(mst_store_setting_put(store, "ours", "1", &err));
    assert_done(db_settle(&store->db, MST_OK, &err));
    assert_int_equal(
        sqlite3_exec(other, "INSERT INTO setting VALUES('theirs','1')", NULL, NULL, NULL),
        SQLITE_OK);
    sqlite3_close(other);
    mst_store_close(store);
}

int main(void)
{
#define TEST(name) cmocka_unit_test_setup_teardown(name, place_make, place_remove)
    const struct CMUnitTest tests[] = {
        TEST(who_will_write_asks_at_the_beginning),
    };
    return cmocka_run_group_tests_name("the book in one file", tests, NULL, NULL);
}
