/*
 * stranger.c – a database that came from elsewhere and says it is a book. It
 * is only read, nothing in it is believed, and it is whole before anything is
 * asked of it: a page that lies about its cells, or a trigger or a view that
 * would do what nobody asked for, is found here.
 */
#include "schema.h"
#include "store.h"

#include <sqlite3.h>

static enum mst_status open_shut(const char *path, int flags, sqlite3 **out, struct mst_error *err)
{
    int code = sqlite3_open_v2(path, out, flags | SQLITE_OPEN_FULLMUTEX, NULL);
    if (code == SQLITE_OK)
        code = sqlite3_db_config(*out, SQLITE_DBCONFIG_DEFENSIVE, 1, NULL);
    if (code == SQLITE_OK)
        code = sqlite3_exec(*out, "PRAGMA trusted_schema=OFF; PRAGMA cell_size_check=ON", NULL,
                            NULL, NULL);
    return code == SQLITE_OK
               ? MST_OK
               : mst_fail(err, MST_BAD_DATA, "the database in the backup cannot be opened: %s",
                          *out ? sqlite3_errmsg(*out) : sqlite3_errstr(code));
}

/* Tables and indexes as text; memory is the caller's. */
static enum mst_status shape_of(sqlite3 *db, struct mst_string *out, struct mst_error *err)
{
    sqlite3_stmt *each = NULL;
    int code = sqlite3_prepare_v2(db,
                                  "SELECT type || ' ' || name || ' ' || coalesce(sql,'') FROM "
                                  "sqlite_schema ORDER BY type, name",
                                  -1, &each, NULL);
    while (code == SQLITE_OK && (code = sqlite3_step(each)) == SQLITE_ROW) {
        const char *text = (const char *)sqlite3_column_text(each, 0);
        mst_string_addf(out, "%s\n", text ? text : "");
        code = SQLITE_OK;
    }
    sqlite3_finalize(each);
    if (code != SQLITE_DONE)
        return mst_fail(err, MST_BAD_DATA, "the tables in the backup cannot be read");
    return out->failed ? store_no_memory(err) : MST_OK;
}

static enum mst_status as_we_make_it(const struct mst_string *theirs, int version,
                                     struct mst_error *err)
{
    struct mst_string ours = {0};
    sqlite3 *model = NULL;
    int made = 0;
    enum mst_status status =
        open_shut(":memory:", SQLITE_OPEN_READWRITE | SQLITE_OPEN_MEMORY, &model, err);
    if (status == MST_OK)
        status = db_sqlite.migrate(model, version, &made, err);
    if (status == MST_OK)
        status = shape_of(model, &ours, err);
    if (status == MST_OK &&
        (ours.len != theirs->len || memcmp(ours.ptr, theirs->ptr, ours.len) != 0))
        status = mst_fail(err, MST_BAD_DATA,
                          "the tables in the backup are not those of a book of its version");
    sqlite3_close_v2(model);
    mst_string_free(&ours);
    return status;
}

enum mst_status store_stranger_is_book(const char *path, struct mst_error *err)
{
    struct mst_string shape = {0};
    sqlite3 *db = NULL;
    int version = 0;
    enum mst_status status = open_shut(path, SQLITE_OPEN_READONLY | SQLITE_OPEN_NOFOLLOW, &db, err);
    if (status == MST_OK)
        status = db_sqlite.check(db, err);
    if (status == MST_OK) /* to 0: only says which it is, and refuses a later one */
        status = db_sqlite.migrate(db, 0, &version, err);
    if (status == MST_OK && version < 1)
        status = mst_fail(err, MST_BAD_DATA, "the database in the backup is no book");
    if (status == MST_OK)
        status = shape_of(db, &shape, err);
    if (status == MST_OK)
        status = as_we_make_it(&shape, version, err);
    sqlite3_close_v2(db);
    mst_string_free(&shape);
    return status;
}
