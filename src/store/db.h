/*
 * db.h – the seam between what the book keeps and where it keeps it. The files
 * of this floor speak SQL that SQLite and PostgreSQL both understand ($1, $2 …
 * in order of first use); a backend is one table of functions.
 *
 * A db belongs to one thread at a time: db_lock … db_unlock around every use.
 * Errors stick to the query: check what query_end returns.
 */
#ifndef STORE_DB_H
#define STORE_DB_H

#include <mistara/base.h>
#include <pthread.h>

struct db;
struct query;

struct db_backend {
    const char *name;
    enum mst_status (*open)(const char *where, void **handle, struct mst_error *err);
    void (*close)(void *handle);
    /* Several statements without parameters. */
    enum mst_status (*run)(void *handle, const char *sql, struct mst_error *err);
    enum mst_status (*prepare)(void *handle, const char *sql, void **statement,
                               struct mst_error *err);
    enum mst_status (*bind_integer)(void *statement, int n, int64_t value);
    enum mst_status (*bind_real)(void *statement, int n, double value);
    enum mst_status (*bind_text)(void *statement, int n, const char *value); /* NULL: null */
    enum mst_status (*bind_bytes)(void *statement, int n, const void *value, size_t len);
    /* *row 0: no further row. */
    enum mst_status (*step)(void *handle, void *statement, int *row, struct mst_error *err);
    int64_t (*integer)(void *statement, int column);
    double (*real)(void *statement, int column);
    struct mst_span (*text)(void *statement, int column); /* ptr NULL: null */
    int64_t (*changed)(void *handle);                     /* rows the latest statement changed */
    void (*finish)(void *statement);
    /* Forward to the newest shape; *version is what it was brought to. */
    enum mst_status (*migrate)(void *handle, int to, int *version, struct mst_error *err);
    enum mst_status (*check)(void *handle, struct mst_error *err);
};
extern const struct db_backend db_sqlite;

struct db {
    const struct db_backend *backend;
    void *handle;
    pthread_mutex_t lock;
};

struct query {
    struct db *db;
    void *statement;
    enum mst_status status;
    struct mst_error *err;
};

/*
 * Begin a query and lock the db until query_end. kinds: a letter a parameter:
 * i int64_t, d double, t const char * (NULL allowed), b const void * and size_t.
 */
struct query query_begin(struct db *db, struct mst_error *err, const char *sql, const char *kinds,
                         ...);
int query_row(struct query *q); /* 0: no further row, or failed */
int64_t query_integer(struct query *q, int column);
double query_real(struct query *q, int column);
/* In the arena; NULL for null. */
const char *query_text(struct query *q, int column, struct mst_arena *arena);
void query_bytes(struct query *q, int column, void *out, size_t len);
enum mst_status query_end(struct query *q);
/* For statements that give no rows; *changed may be NULL. */
enum mst_status db_do(struct db *db, struct mst_error *err, int64_t *changed, const char *sql,
                      const char *kinds, ...);
/* Several statements as one: db_begin locks and opens, db_settle commits (status OK) or undoes and
 * unlocks. The lock is recursive. */
enum mst_status db_begin(struct db *db, struct mst_error *err);
enum mst_status db_settle(struct db *db, enum mst_status status, struct mst_error *err);

#endif
