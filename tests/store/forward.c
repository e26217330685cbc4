/* forward.c – a book of every earlier version comes forward with what is in it; one of a later
 * version, or a damaged one, is refused and left as it is. */
#include "earlier.h"
#include "schema.h"
#include "store.h"

#include <mistara/classbook.h>
#include <sys/stat.h>
#include <unistd.h>

static void sql(const struct place *place, const char *statements)
{
    place_sql(place, statements);
}

/* Every column and index, as the database itself tells of them. */
static char *schema_of(const struct place *place)
{
    const struct db_backend *backend = &db_sqlite;
    const char *ask = "SELECT sql FROM sqlite_schema ORDER BY name";
    char path[128];
    void *handle, *rows;
    struct mst_string s = {0};
    snprintf(path, sizeof path, "%s/mistara.db", place->folder);
#ifdef MISTARA_POSTGRESQL
    if (*place->database) {
        backend = &db_postgresql;
        ask = "SELECT concat_ws(' ',table_name,column_name,data_type,is_nullable,column_default,"
              "collation_name) FROM information_schema.columns WHERE table_schema="
              "current_schema() UNION ALL SELECT replace(indexdef,current_schema(),'') FROM "
              "pg_indexes WHERE schemaname=current_schema() ORDER BY 1";
    }
#endif
    assert_done(backend->open(*place->database ? place->database : path, &handle, &err));
    assert_done(backend->prepare(handle, ask, &rows, &err));
    for (int more = 1; more;) {
        assert_done(backend->step(handle, rows, &more, &err));
        struct mst_span text = more ? backend->text(rows, 0) : (struct mst_span){NULL, 0};
        if (text.ptr)
            mst_string_addf(&s, "%.*s\n", (int)text.len, text.ptr);
    }
    backend->finish(rows);
    backend->close(handle);
    return s.ptr;
}

static void every_version_comes_forward(void **state)
{
    struct place *place = *state;
    for (int from = 1; from <= SCHEMA_VERSION; from++) {
        struct mst_store *store;
        struct mst_store_options options = place_options(place);
        struct mst_kept_take take;
        struct mst_document document;
        struct mst_live_hearing hearing;
        struct mst_job job;
        place_empty(place);
        assert_done(store_open_at(&options, from, &store, &err));
        assert_int_equal(mst_store_version(store), from);
        mst_store_close(store);
        for (int n = 1; n <= from; n++)
            sql(place, held[n]);
        assert_done(place_open(place, &store, &err));
        assert_int_equal(mst_store_version(store), SCHEMA_VERSION);
        assert_done(mst_store_check(store, &err));
        assert_done(mst_store_take_get(store, "0123456789abcdef", place->arena, &take, &err));
        assert_int_equal(take.state, MST_KEPT_HEARD);
        assert_done(mst_store_document_get(store, "lesson", "0123456789abcdef", place->arena,
                                           &document, &err));
        assert_int_equal(document.problems, from >= 3 ? 4 : 0);
        assert_done(mst_store_job_get(store, "0123456789abcdef", place->arena, &job, &err));
        assert_null(take.person);
        if (from >= 2) {
            assert_done(
                mst_store_hearing_get(store, "0123456789abcdef", place->arena, &hearing, &err));
            assert_null(hearing.person);
        }
        if (from >= 4) {
            struct mst_person person;
            assert_done(mst_person_get(store, "p123456789abcdef", place->arena, &person, &err));
            assert_string_equal(person.label, "Learner 7");
            /* Work that said who they are, or what they handed in, goes with them; none else. */
            struct mst_receipt receipt;
            assert_done(mst_person_delete(store, person.id, place->arena, &receipt, &err));
            assert_non_null(strstr(receipt.took, "\"jobs\":2"));
            assert_done(mst_store_job_get(store, "0123456789abcdef", place->arena, &job, &err));
            assert_refused(MST_NOT_FOUND,
                           mst_store_job_get(store, "j123456789abcdef", place->arena, &job, &err));
            assert_refused(MST_NOT_FOUND,
                           mst_store_job_get(store, "k123456789abcdef", place->arena, &job, &err));
        }
        /* The teacher's takes are still the teacher's. */
        struct mst_kept_take *takes;
        size_t count;
        assert_done(mst_store_take_list(store, NULL, place->arena, &takes, &count, &err));
        assert_int_equal(count, 1);
        mst_store_close(store);
    }
}

/* The long way and the short way lead to the same tables. */
static void the_way_does_not_matter(void **state)
{
    struct place *place = *state;
    struct mst_store *store;
    struct mst_store_options options = place_options(place);
    for (int version = 1; version <= SCHEMA_VERSION; version++) {
        assert_done(store_open_at(&options, version, &store, &err));
        mst_store_close(store);
    }
    char *slowly = schema_of(place);
    assert_true(strlen(slowly) > 4000); /* all of it */
    place_empty(place);
    assert_done(place_open(place, &store, &err));
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
    assert_done(place_open(place, &store, &err));
    mst_store_close(store);
    sql(place, *place->database ? "UPDATE shape SET version=99" : "PRAGMA user_version=99");
    assert_refused(MST_BAD_DATA, place_open(place, &store, &err));
}

static void damage_is_refused(void **state)
{
    struct place *place = *state;
    if (*place->database)
        skip(); /* a matter of the file */
    struct mst_store *store;
    char path[128];
    snprintf(path, sizeof path, "%s/mistara.db", place->folder);
    FILE *f = fopen(path, "w");
    for (int n = 0; n < 2000; n++)
        fputs("no book at all ", f);
    fclose(f);
    assert_refused(MST_BAD_DATA, place_open(place, &store, &err));
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
    if (*place->database)
        skip(); /* a matter of the file */
    struct mst_store *store;
    struct mst_error why = {0};
    assert_done(place_open(place, &store, &err));
    char *much = malloc(300001);
    memset(much, 'x', 300000);
    much[300000] = '\0';
    assert_int_equal(db_sqlite.run(store->db.lines[0].handle, "PRAGMA max_page_count=60", &why),
                     MST_OK);
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
