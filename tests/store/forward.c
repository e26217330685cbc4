/* forward.c – a book of every earlier version comes forward with what is in it; one of a later
 * version, or a damaged one, is refused and left as it is. */
#include "folder.h"
#include "schema.h"
#include "store.h"

#include <sqlite3.h>
#include <sys/stat.h>
#include <unistd.h>

static void sql(const struct place *place, const char *statements)
{
    char path[128], *why = NULL;
    sqlite3 *db;
    snprintf(path, sizeof path, "%s/mistara.db", place->folder);
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    if (sqlite3_exec(db, statements, NULL, NULL, &why) != SQLITE_OK)
        fail_msg("%s: %s", statements, why);
    sqlite3_close(db);
}

static char *schema_of(const struct place *place)
{
    char path[128];
    sqlite3 *db;
    sqlite3_stmt *rows;
    struct mst_string s = {0};
    snprintf(path, sizeof path, "%s/mistara.db", place->folder);
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    assert_int_equal(
        sqlite3_prepare_v2(db, "SELECT sql FROM sqlite_schema ORDER BY name", -1, &rows, NULL),
        SQLITE_OK);
    while (sqlite3_step(rows) == SQLITE_ROW)
        if (sqlite3_column_text(rows, 0))
            mst_string_addf(&s, "%s\n", (const char *)sqlite3_column_text(rows, 0));
    sqlite3_finalize(rows);
    sqlite3_close(db);
    return s.ptr;
}

/* What a desk of that version could have held. */
static const char *const held[SCHEMA_VERSION + 1] = {
    [1] = "INSERT INTO take VALUES(1,'0123456789abcdef','a','67:1-5','{}','00','audio/ogg','',"
          "NULL,NULL,NULL,NULL,'[]',1.5,3,7,'heard',0,0,1,1);"
          "INSERT INTO document(number,id,kind,title,text,made_ms,changed_ms,revision) "
          "VALUES(1,'0123456789abcdef','lesson','t','text',1,2,3);"
          "INSERT INTO setting VALUES('pages','{}');"
          "INSERT INTO job VALUES(1,'0123456789abcdef','listen','x','{}',NULL,NULL,'running',1,2,"
          "0,1);",
    [2] = "INSERT INTO hearing VALUES(1,'0123456789abcdef','67:1:1',67,1,1,'short','','',NULL,9,"
          "0);",
    [3] = "UPDATE document SET problems=4",
};

static void every_version_comes_forward(void **state)
{
    struct place *place = *state;
    for (int from = 1; from <= SCHEMA_VERSION; from++) {
        char command[128];
        struct mst_store *store;
        struct mst_kept_take take;
        struct mst_document document;
        struct mst_live_hearing hearing;
        struct mst_job job;
        snprintf(command, sizeof command, "rm -rf '%s'/*", place->folder);
        assert_int_equal(system(command), 0);
        assert_done(store_open_at(place->folder, from, &store, &err));
        assert_int_equal(mst_store_version(store), from);
        mst_store_close(store);
        for (int n = 1; n <= from; n++)
            sql(place, held[n]);
        assert_done(mst_store_open(place->folder, &store, &err));
        assert_int_equal(mst_store_version(store), SCHEMA_VERSION);
        assert_done(mst_store_check(store, &err));
        assert_done(mst_store_take_get(store, "0123456789abcdef", place->arena, &take, &err));
        assert_int_equal(take.state, MST_KEPT_HEARD);
        assert_done(mst_store_document_get(store, "lesson", "0123456789abcdef", place->arena,
                                           &document, &err));
        assert_int_equal(document.problems, from >= 3 ? 4 : 0);
        assert_done(mst_store_job_get(store, "0123456789abcdef", place->arena, &job, &err));
        if (from >= 2)
            assert_done(
                mst_store_hearing_get(store, "0123456789abcdef", place->arena, &hearing, &err));
        mst_store_close(store);
    }
}

/* The long way and the short way lead to the same tables. */
static void the_way_does_not_matter(void **state)
{
    struct place *place = *state;
    struct mst_store *store;
    for (int version = 1; version <= SCHEMA_VERSION; version++) {
        assert_done(store_open_at(place->folder, version, &store, &err));
        mst_store_close(store);
    }
    char *slowly = schema_of(place), command[128];
    snprintf(command, sizeof command, "rm -rf '%s'/*", place->folder);
    assert_int_equal(system(command), 0);
    assert_done(mst_store_open(place->folder, &store, &err));
    mst_store_close(store);
    char *at_once = schema_of(place);
    assert_string_equal(slowly, at_once);
    /* Every table is STRICT. */
    for (const char *at = at_once; (at = strstr(at, "CREATE TABLE")) != NULL; at++)
        assert_non_null(memmem(at, strcspn(at, "\n"), "STRICT", 6));
    free(slowly);
    free(at_once);
}

static void later_versions_are_refused(void **state)
{
    struct place *place = *state;
    struct mst_store *store;
    assert_done(mst_store_open(place->folder, &store, &err));
    mst_store_close(store);
    sql(place, "PRAGMA user_version=99");
    assert_refused(MST_BAD_DATA, mst_store_open(place->folder, &store, &err));
}

static void damage_is_refused(void **state)
{
    struct place *place = *state;
    struct mst_store *store;
    char path[128];
    snprintf(path, sizeof path, "%s/mistara.db", place->folder);
    FILE *f = fopen(path, "w");
    for (int n = 0; n < 2000; n++)
        fputs("no book at all ", f);
    fclose(f);
    assert_refused(MST_BAD_DATA, mst_store_open(place->folder, &store, &err));
    f = fopen(path, "r");
    char word[3] = "";
    assert_int_equal(fread(word, 1, 2, f), 2);
    fclose(f);
    assert_string_equal(word, "no"); /* left as it was */
}

/* A disk that is full: what was answered is kept, what was not is not half there. */
static void a_full_disk_is_said(void **state)
{
    struct place *place = *state;
    struct mst_store *store;
    struct mst_error why = {0};
    assert_done(mst_store_open(place->folder, &store, &err));
    char *much = malloc(300001);
    memset(much, 'x', 300000);
    much[300000] = '\0';
    assert_int_equal(db_sqlite.run(store->db.handle, "PRAGMA max_page_count=60", &why), MST_OK);
    assert_done(mst_store_setting_put(store, "small", "1", &err));
    assert_refused(MST_IO, mst_store_setting_put(store, "large", much, &err));
    const char *value;
    assert_done(mst_store_setting_get(store, "small", place->arena, &value, &err));
    assert_string_equal(value, "1");
    assert_done(mst_store_setting_get(store, "large", place->arena, &value, &err));
    assert_null(value);
    assert_done(mst_store_check(store, &err));
    free(much);
    mst_store_close(store);
}

int main(void)
{
#define TEST(name) cmocka_unit_test_setup_teardown(name, place_make, place_remove)
    const struct CMUnitTest tests[] = {
        TEST(every_version_comes_forward), TEST(the_way_does_not_matter),
        TEST(later_versions_are_refused),  TEST(damage_is_refused),
        TEST(a_full_disk_is_said),
    };
    return cmocka_run_group_tests_name("forward", tests, NULL, NULL);
}
