/*
 * folder.h – a fresh data folder for each test. Where MISTARA_TEST_DATABASE
 * names a PostgreSQL (with_postgresql.sh), the rows are there, in a schema of
 * the test's own, and the same tests are to hold.
 */
#ifndef TESTS_STORE_FOLDER_H
#define TESTS_STORE_FOLDER_H

/* cmocka.h wants these four before it. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include "db.h"

#include <cmocka.h>
#include <mistara/store.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define assert_done(call)                                                                          \
    do {                                                                                           \
        struct mst_error err = {0};                                                                \
        enum mst_status ended = (call);                                                            \
        if (ended != MST_OK)                                                                       \
            fail_msg("%s: %s: %s", #call, mst_status_name(ended), err.message);                    \
    } while (0)
#define assert_refused(wanted, call)                                                               \
    do {                                                                                           \
        struct mst_error err = {0};                                                                \
        assert_int_equal((call), (wanted));                                                        \
        assert_true(err.message[0] != '\0');                                                       \
    } while (0)

struct place {
    char folder[64];
    char database[512]; /* empty: SQLite in the folder */
    char schema[32];    /* of it */
    struct mst_arena *arena;
};

/* Statements at the book itself, past the program. */
static inline void place_sql(const struct place *place, const char *statements)
{
    const struct db_backend *backend = &db_sqlite;
    char path[128];
    void *handle = NULL;
    snprintf(path, sizeof path, "%s/mistara.db", place->folder);
#ifdef MISTARA_POSTGRESQL
    if (*place->database)
        backend = &db_postgresql;
#endif
    assert_done(backend->open(*place->database ? place->database : path, &handle, &err));
    assert_done(backend->run(handle, statements, &err));
    backend->close(handle);
}

static inline int place_make(void **state)
{
    static int count;
    const char *database = getenv("MISTARA_TEST_DATABASE");
    struct place *place = calloc(1, sizeof *place);
    strcpy(place->folder, P_tmpdir "/mistara-store-XXXXXX");
    if (!mkdtemp(place->folder))
        return -1;
    if (database) {
        char make[64];
        snprintf(place->schema, sizeof place->schema, "t%d_%d", (int)getpid(), ++count);
        snprintf(place->database, sizeof place->database, "%s&options=-csearch_path%%3D%s",
                 database, place->schema);
        snprintf(make, sizeof make, "CREATE SCHEMA %s", place->schema);
        place_sql(place, make);
    }
    place->arena = mst_arena_new(0);
    *state = place;
    return 0;
}

/* As if nothing had ever been kept in it. */
static inline void place_empty(const struct place *place)
{
    char command[160];
    snprintf(command, sizeof command, "rm -rf '%s'/*", place->folder);
    assert_int_equal(system(command), 0);
    snprintf(command, sizeof command, "DROP SCHEMA %s CASCADE; CREATE SCHEMA %s", place->schema,
             place->schema);
    if (*place->schema)
        place_sql(place, command);
}

static inline struct mst_store_options place_options(const struct place *place)
{
    return (struct mst_store_options){.folder = place->folder,
                                      .database = *place->database ? place->database : NULL};
}

static inline enum mst_status place_open(const struct place *place, struct mst_store **out,
                                         struct mst_error *err)
{
    struct mst_store_options options = place_options(place);
    return mst_store_open_with(&options, out, err);
}

/* A shared book leaves to others what they may be about to name or to end: let a day go by. */
static inline void place_next_day(const struct place *place, struct mst_store *store)
{
    char command[160];
    if (!*place->database)
        return;
    place_sql(place, "UPDATE held SET made_ms=0; UPDATE job SET lease_ms=0");
    snprintf(command, sizeof command, "find '%s' -type f -exec touch -d '2 days ago' {} +",
             place->folder);
    assert_int_equal(system(command), 0);
    assert_done(mst_store_tidy(store, &err));
}

static inline int place_remove(void **state)
{
    struct place *place = *state;
    char command[128];
    snprintf(command, sizeof command, "DROP SCHEMA %s CASCADE", place->schema);
    if (*place->schema)
        place_sql(place, command);
    snprintf(command, sizeof command, "rm -rf '%s'", place->folder);
    mst_arena_free(place->arena);
    free(place);
    return system(command) != 0;
}

#endif
