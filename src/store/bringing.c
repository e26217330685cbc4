/*
 * bringing.c – the book of a folder brought into PostgreSQL, when a school has
 * outgrown its one machine: all rows as one transaction; the folder stays and
 * is then the school's.
 */
#include "schema.h"
#include "store.h"

#include <errno.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

enum { COLUMNS_MOST = 32 };

/* One table on its way. */
struct carried {
    char select[1200], insert[1600];
    char kinds[COLUMNS_MOST + 1]; /* as those of query_begin */
};

static char kind_of(const char *type)
{
    return strcmp(type, "bigint") == 0             ? 'i'
           : strcmp(type, "double precision") == 0 ? 'd'
           : strcmp(type, "bytea") == 0            ? 'b'
                                                   : 't';
}

/* What columns it has the new book knows. */
static enum mst_status columns_of(struct db *to, struct mst_span table, struct carried *out,
                                  struct mst_error *err)
{
    char name[64], values[COLUMNS_MOST * 5] = "", list[900] = "";
    size_t at = 0, list_len = 0;
    int count = 0;
    snprintf(name, sizeof name, "%.*s", (int)table.len, table.ptr);
    struct query q = query_begin(to, err,
                                 "SELECT column_name,data_type FROM information_schema.columns "
                                 "WHERE table_schema=current_schema() AND table_name=$1 "
                                 "ORDER BY ordinal_position",
                                 "t", name);
    while (query_row(&q) && count < COLUMNS_MOST) {
        char column[64] = "", type[40] = "";
        query_bytes(&q, 0, column, sizeof column - 1);
        query_bytes(&q, 1, type, sizeof type - 1);
        out->kinds[count++] = kind_of(type);
        list_len += (size_t)snprintf(list + list_len, sizeof list - list_len, "%s%s",
                                     count > 1 ? "," : "", column);
        at +=
            (size_t)snprintf(values + at, sizeof values - at, "%s$%d", count > 1 ? "," : "", count);
    }
    out->kinds[count] = '\0';
    snprintf(out->select, sizeof out->select, "SELECT %s FROM %s ORDER BY 1", list, name);
    snprintf(out->insert, sizeof out->insert, "INSERT INTO %s(%s) VALUES(%s)", name, list, values);
    enum mst_status status = query_end(&q);
    return status == MST_OK && count == 0
               ? mst_fail(err, MST_INTERNAL, "the new book has no table “%s”", name)
               : status;
}

static enum mst_status row_put(struct db *to, const struct carried *c, struct query *from,
                               struct mst_error *err)
{
    const struct db_backend *a = from->db->backend, *b = to->backend;
    void *row = NULL;
    int none;
    struct db_line *line = db_enter(to, err);
    enum mst_status status = line ? b->prepare(line->handle, c->insert, &row, err) : MST_IO;
    for (int n = 0; status == MST_OK && c->kinds[n]; n++) {
        struct mst_span text = a->text(from->statement, n);
        char *copy = NULL;
        enum mst_status bound;
        if (c->kinds[n] == 'i') {
            bound = b->bind_integer(row, n + 1, a->integer(from->statement, n));
        } else if (c->kinds[n] == 'd') {
            bound = b->bind_real(row, n + 1, a->real(from->statement, n));
        } else if (c->kinds[n] == 'b') {
            bound = b->bind_bytes(row, n + 1, text.ptr, text.len);
        } else {
            copy = text.ptr ? strndup(text.ptr, text.len) : NULL;
            bound = text.ptr && !copy ? MST_NO_MEMORY : b->bind_text(row, n + 1, copy);
        }
        free(copy);
        if (bound != MST_OK)
            status = store_no_memory(err);
    }
    if (status == MST_OK)
        status = b->step(line->handle, row, &none, err);
    if (row)
        b->finish(row);
    if (line)
        db_leave(to, line);
    return status;
}

static enum mst_status table_carry(struct mst_store *from, struct db *to, struct mst_span table,
                                   int64_t *rows, struct mst_error *err)
{
    struct carried c;
    char sql[256];
    enum mst_status status = columns_of(to, table, &c, err);
    if (status != MST_OK)
        return status;
    struct query q = query_begin(&from->db, err, c.select, "");
    while (status == MST_OK && query_row(&q)) {
        status = row_put(to, &c, &q, err);
        ++*rows;
    }
    enum mst_status read = query_end(&q);
    if (status == MST_OK)
        status = read;
    /* What comes after is numbered after. */
    if (status == MST_OK && strncmp(c.select, "SELECT number,", 14) == 0) {
        snprintf(sql, sizeof sql,
                 "SELECT setval(pg_get_serial_sequence('%.*s','number'),max(number)) FROM %.*s",
                 (int)table.len, table.ptr, (int)table.len, table.ptr);
        q = query_begin(to, err, sql, "");
        while (query_row(&q))
            ;
        status = query_end(&q);
    }
    return status;
}

/* Rows refer to one another in all directions: looked at when all are there. */
static enum mst_status references(struct db *to, int later, struct mst_error *err)
{
    char sql[512];
    snprintf(sql, sizeof sql,
             "DO $$DECLARE c record; BEGIN FOR c IN SELECT conrelid::regclass AS of, conname FROM "
             "pg_constraint WHERE contype='f' AND connamespace=current_schema()::regnamespace LOOP "
             "EXECUTE format('ALTER TABLE %%s ALTER CONSTRAINT %%I %s',c.of,c.conname); END LOOP; "
             "END$$",
             later ? "DEFERRABLE INITIALLY DEFERRED" : "NOT DEFERRABLE");
    enum mst_status status =
        later ? MST_OK : db_do(to, err, NULL, "SET CONSTRAINTS ALL IMMEDIATE", "");
    return status == MST_OK ? db_do(to, err, NULL, sql, "") : status;
}

static enum mst_status is_empty(struct db *to, struct mst_error *err)
{
    struct query q =
        query_begin(to, err,
                    "SELECT (SELECT count(*) FROM setting)+(SELECT count(*) FROM class)+"
                    "(SELECT count(*) FROM take)+(SELECT count(*) FROM document)",
                    "");
    int64_t rows = query_row(&q) ? query_integer(&q, 0) : 0;
    enum mst_status status = query_end(&q);
    return status == MST_OK && rows > 0
               ? mst_fail(err, MST_USAGE,
                          "there is a book in this database already; make an empty one for the "
                          "book of the folder")
               : status;
}

static enum mst_status all_carry(struct mst_store *from, struct db *to, int64_t *rows,
                                 struct mst_error *err)
{
    char word[MST_ID_SIZE + 1], path[PATH_MAX];
    struct mst_span table;
    enum mst_status status = references(to, 1, err);
    for (size_t step = 0, at = 0; status == MST_OK && schema_table_next(&step, &at, &table);)
        status = table_carry(from, to, table, rows, err);
    if (status == MST_OK)
        status = references(to, 0, err);
    mst_store_new_id(word);
    if (status == MST_OK)
        status =
            db_do(to, err, NULL, "INSERT INTO setting(name,value) VALUES('folder',$1)", "t", word);
    snprintf(path, sizeof path, "%s/school", from->folder);
    strcat(word, "\n");
    return status == MST_OK ? mst_file_write(path, word, strlen(word), err) : status;
}

/* From here on the rows are in the new book, and who is deleted there must not be here. */
static enum mst_status old_one_goes(const char *folder, struct mst_error *err)
{
    static const char *const endings[] = {"", "-wal", "-shm"};
    char path[PATH_MAX];
    for (int n = 0; n < 3; n++) {
        snprintf(path, sizeof path, "%s/mistara.db%s", folder, endings[n]);
        if (unlink(path) != 0 && errno != ENOENT)
            return mst_fail_errno(err, MST_IO, errno,
                                  "the rows are in the new book, but “%.200s” cannot be deleted; "
                                  "delete it yourself",
                                  path);
    }
    int failed = mst_name_sync(path);
    return failed && failed != ENOENT
               ? mst_fail_errno(err, MST_IO, failed, "the folder cannot be written safely")
               : MST_OK;
}

enum mst_status mst_store_bring(const char *folder, const char *database, int64_t *rows,
                                struct mst_error *err)
{
    struct mst_store *from = NULL;
    struct db to = {0};
    int version;
    char *where = NULL;
    *rows = 0;
    pthread_mutex_init(&to.lock, NULL);
    pthread_cond_init(&to.freed, NULL);
    enum mst_status status = mst_store_open(folder, &from, err);
    if (status == MST_OK)
        status = db_open(&to, &db_postgresql, database, err);
    if (status == MST_OK)
        status = to.backend->migrate(to.lines[0].handle, SCHEMA_VERSION, &version, err);
    if (status == MST_OK)
        status = is_empty(&to, err);
    if (status == MST_OK)
        status = db_begin(&to, err);
    if (status == MST_OK) {
        status = all_carry(from, &to, rows, err);
        status = db_settle(&to, status, err);
    }
    if (status == MST_OK)
        where = strdup(from->folder);
    mst_store_close(from); /* accepts NULL; what its log held is in the file now */
    if (status == MST_OK)
        status = where ? old_one_goes(where, err) : store_no_memory(err);
    free(where);
    db_close(&to);
    pthread_mutex_destroy(&to.lock);
    pthread_cond_destroy(&to.freed);
    return status;
}
