/* sqlite.c – the book in one file: WAL, foreign keys, every commit on disk before it is answered.
 */
#include "db.h"
#include "schema.h"

#include <mistara/store.h>
#include <sqlite3.h>
#include <string.h>
#include <sys/stat.h>

static enum mst_status failed(sqlite3 *db, int code, const char *doing, struct mst_error *err)
{
    enum mst_status status = MST_IO;
    if (code == SQLITE_NOMEM)
        status = MST_NO_MEMORY;
    else if (code == SQLITE_CORRUPT || code == SQLITE_NOTADB)
        status = MST_BAD_DATA;
    int more = db ? sqlite3_extended_errcode(db) : code;
    if (more == SQLITE_CONSTRAINT_FOREIGNKEY)
        return mst_fail(err, MST_NOT_FOUND, "what this belongs to was deleted in between (%s)",
                        doing);
    if (more == SQLITE_CONSTRAINT_UNIQUE || more == SQLITE_CONSTRAINT_PRIMARYKEY)
        return mst_fail(err, MST_MISMATCH, "the same is there already (%s): %s", doing,
                        sqlite3_errmsg(db));
    const char *why = db ? sqlite3_errmsg(db) : sqlite3_errstr(code);
    mst_fail(err, status,
             status == MST_BAD_DATA ? "the book is damaged (%s): %s"
             : code == SQLITE_FULL  ? "the disk is full (%s): %s"
                                    : "the book failed (%s): %s",
             doing, why);
    return status;
}

static enum mst_status run(void *handle, const char *sql, struct mst_error *err)
{
    int code = sqlite3_exec(handle, sql, NULL, NULL, NULL);
    return code == SQLITE_OK ? MST_OK : failed(handle, code, "writing", err);
}

/* In PostgreSQL it is the database's clock: those of several machines differ. */
static void now_ms(sqlite3_context *context, int count, sqlite3_value **values)
{
    (void)count;
    (void)values;
    sqlite3_result_int64(context, mst_store_now_ms());
}

static enum mst_status open_file(const char *where, void **handle, struct mst_error *err)
{
    sqlite3 *db = NULL;
    int code = sqlite3_open_v2(
        where, &db, SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE | SQLITE_OPEN_FULLMUTEX, NULL);
    enum mst_status status = code == SQLITE_OK ? MST_OK : failed(db, code, "opening", err);
    if (status == MST_OK && chmod(where, 0600) != 0)
        status = mst_fail(err, MST_IO, "“%.200s” cannot be made private", where);
    if (status == MST_OK && sqlite3_create_function(db, "now_ms", 0, SQLITE_UTF8, NULL, now_ms,
                                                    NULL, NULL) != SQLITE_OK)
        status = failed(db, SQLITE_NOMEM, "opening", err);
    if (status == MST_OK) {
        sqlite3_extended_result_codes(db, 0);
        sqlite3_busy_timeout(db, 5000);
        status = run(db,
                     "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; PRAGMA foreign_keys=ON; "
                     "PRAGMA secure_delete=ON; PRAGMA trusted_schema=OFF",
                     err);
    }
    if (status != MST_OK) {
        sqlite3_close_v2(db);
        return status;
    }
    *handle = db;
    return MST_OK;
}

static void close_file(void *handle)
{
    sqlite3_close_v2(handle);
}

static enum mst_status prepare(void *handle, const char *sql, void **statement,
                               struct mst_error *err)
{
    sqlite3_stmt *made = NULL;
    int code = sqlite3_prepare_v2(handle, sql, -1, &made, NULL);
    *statement = made;
    return code == SQLITE_OK ? MST_OK : failed(handle, code, "asking", err);
}

static enum mst_status bound(int code)
{
    return code == SQLITE_OK ? MST_OK : MST_NO_MEMORY;
}
static enum mst_status bind_integer(void *statement, int n, int64_t value)
{
    return bound(sqlite3_bind_int64(statement, n, value));
}
static enum mst_status bind_real(void *statement, int n, double value)
{
    return bound(sqlite3_bind_double(statement, n, value));
}
static enum mst_status bind_text(void *statement, int n, const char *value)
{
    return bound(value ? sqlite3_bind_text(statement, n, value, -1, SQLITE_TRANSIENT)
                       : sqlite3_bind_null(statement, n));
}
static enum mst_status bind_bytes(void *statement, int n, const void *value, size_t len)
{
    return bound(value ? sqlite3_bind_blob64(statement, n, value, len, SQLITE_TRANSIENT)
                       : sqlite3_bind_null(statement, n));
}

static enum mst_status step(void *handle, void *statement, int *row, struct mst_error *err)
{
    int code = sqlite3_step(statement);
    *row = code == SQLITE_ROW;
    return code == SQLITE_ROW || code == SQLITE_DONE ? MST_OK : failed(handle, code, "asking", err);
}

static int64_t integer(void *statement, int column)
{
    return sqlite3_column_int64(statement, column);
}
static double real(void *statement, int column)
{
    return sqlite3_column_double(statement, column);
}
static struct mst_span text(void *statement, int column)
{
    if (sqlite3_column_type(statement, column) == SQLITE_NULL)
        return (struct mst_span){NULL, 0};
    const char *bytes = sqlite3_column_blob(statement, column);
    return (struct mst_span){bytes ? bytes : "", (size_t)sqlite3_column_bytes(statement, column)};
}
static int64_t changed(void *handle)
{
    return sqlite3_changes64(handle);
}
static void finish(void *statement)
{
    sqlite3_finalize(statement);
}

static enum mst_status first_integer(void *handle, const char *sql, int64_t *out,
                                     struct mst_error *err)
{
    void *statement;
    int row = 0;
    enum mst_status status = prepare(handle, sql, &statement, err);
    if (status == MST_OK)
        status = step(handle, statement, &row, err);
    *out = row ? integer(statement, 0) : 0;
    finish(statement);
    return status;
}

static enum mst_status migrate(void *handle, int to, int *version, struct mst_error *err)
{
    int64_t have = 0;
    enum mst_status status = first_integer(handle, "PRAGMA user_version", &have, err);
    if (status == MST_OK && have > SCHEMA_VERSION)
        status = mst_fail(err, MST_BAD_DATA,
                          "the book is of version %d, which is later than this program knows (%d); "
                          "use the newer Mistara",
                          (int)have, SCHEMA_VERSION);
    if (status == MST_OK && have < 0)
        status = mst_fail(err, MST_BAD_DATA,
                          "the book says that it is of version %d, which no book is", (int)have);
    while (status == MST_OK && have < to) {
        struct mst_string step_sql = {0};
        mst_string_addf(&step_sql, "BEGIN IMMEDIATE; %s; PRAGMA user_version=%d; COMMIT",
                        schema_steps[have], (int)have + 1);
        status = step_sql.failed ? mst_fail(err, MST_NO_MEMORY, "memory ran out")
                                 : run(handle, step_sql.ptr, err);
        if (status != MST_OK)
            (void)!run(handle, "ROLLBACK", NULL);
        mst_string_free(&step_sql);
        have++;
    }
    *version = (int)have;
    return status;
}

static enum mst_status check(void *handle, struct mst_error *err)
{
    void *statement;
    int row = 0;
    enum mst_status status = prepare(handle, "PRAGMA integrity_check(1)", &statement, err);
    if (status == MST_OK)
        status = step(handle, statement, &row, err);
    if (status == MST_OK && row) {
        struct mst_span said = text(statement, 0);
        if (!mst_span_equal(said, MST_SPAN("ok")))
            status = mst_fail(err, MST_BAD_DATA, "the book is damaged: %.*s",
                              (int)(said.len < 300 ? said.len : 300), said.ptr);
    }
    finish(statement);
    int64_t orphans = 0;
    if (status == MST_OK)
        status =
            first_integer(handle, "SELECT count(*) FROM pragma_foreign_key_check", &orphans, err);
    if (status == MST_OK && orphans > 0)
        status = mst_fail(err, MST_BAD_DATA, "the book is damaged: %d rows refer to nothing",
                          (int)orphans);
    return status;
}

/*
 * secure_delete overwrites what is deleted, but not the copies that are left
 * behind where rows once moved from one page to another: only writing every
 * page anew does that. Then the log is written back and cut to nothing.
 */
static enum mst_status scrub(void *handle, int whole, int *done, struct mst_error *err)
{
    int code = whole ? sqlite3_exec(handle, "VACUUM", NULL, NULL, NULL) : SQLITE_OK;
    if (code == SQLITE_OK)
        code = sqlite3_wal_checkpoint_v2(handle, NULL, SQLITE_CHECKPOINT_TRUNCATE, NULL, NULL);
    *done = code == SQLITE_OK;
    if (code == SQLITE_OK || code == SQLITE_BUSY || code == SQLITE_LOCKED || code == SQLITE_FULL)
        return MST_OK;
    return failed(handle, code, "clearing what was deleted", err);
}

const struct db_backend db_sqlite = {
    .name = "sqlite",
    .lines_most = 1, /* one writer at a time is what SQLite has */
    .begin = "BEGIN IMMEDIATE",
    .for_update = "",
    .for_share = "",
    .skip_locked = "",
    .lock_name = "SELECT $1", /* BEGIN IMMEDIATE has locked all */
    .open = open_file,
    .close = close_file,
    .run = run,
    .prepare = prepare,
    .bind_integer = bind_integer,
    .bind_real = bind_real,
    .bind_text = bind_text,
    .bind_bytes = bind_bytes,
    .step = step,
    .integer = integer,
    .real = real,
    .text = text,
    .changed = changed,
    .finish = finish,
    .migrate = migrate,
    .check = check,
    .scrub = scrub,
};
