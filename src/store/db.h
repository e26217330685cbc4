/*
 * db.h – the seam between what the book keeps and where it keeps it. The files
 * of this floor speak SQL that SQLite and PostgreSQL both understand ($1, $2 …
 * in order of first use); a backend is one table of functions.
 *
 * A db has one line to where it keeps things (SQLite) or a few (PostgreSQL); a
 * line belongs to one thread at a time, between db_enter and db_leave.
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
    int lines_most;
    /* Opens a transaction that is going to write: the right to write is asked for here, where it
     * can be waited for, not at the first change, where a second program (a backup, a check) makes
     * it fail at once. */
    const char *begin;
    const char *for_update;  /* after a SELECT: nobody else changes these rows until it ends */
    const char *for_share;   /* the same, but several may look */
    const char *skip_locked; /* as for_update, passing over rows that others have */
    const char *lock_name;   /* a query: until the transaction ends nobody else has the name $1 */
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
    /* What was deleted cannot be read from the files any more. whole: not even what lay about in
     * pages that are in use; 2: and now is a quiet hour. *done 0: not yet; try again later. */
    enum mst_status (*scrub)(void *handle, int whole, int *done, struct mst_error *err);
};
extern const struct db_backend db_sqlite;
#ifdef MISTARA_POSTGRESQL
extern const struct db_backend db_postgresql;
#endif

struct db_line {
    void *handle;
    pthread_t owner;
    int held; /* how often its owner has entered; 0: it is free */
    int deep; /* transactions within transactions */
};

/* What a thread writes counts only while its job is still its own. */
struct db_guard {
    pthread_t thread;
    int set;
    int64_t fence;
    char job[24];
};

enum { DB_LINES_MOST = 12, DB_GUARDS_MOST = 64 };
struct db {
    const struct db_backend *backend;
    char *where;
    pthread_mutex_t lock; /* of the members below */
    pthread_cond_t freed;
    struct db_line lines[DB_LINES_MOST];
    struct db_guard guards[DB_GUARDS_MOST];
};

/* Opens the first line. where is copied. */
enum mst_status db_open(struct db *db, const struct db_backend *backend, const char *where,
                        struct mst_error *err);
void db_close(struct db *db);
/* The line this thread has already, or one that is free, or a new one; NULL: none can be had. Every
 * db_enter that gave a line wants its db_leave. */
struct db_line *db_enter(struct db *db, struct mst_error *err);
void db_leave(struct db *db, struct db_line *line);
/* From here on until it is lifted, what this thread writes is refused (CANCELLED) when the job is
 * no longer running under this fence. USAGE: too many at once. */
enum mst_status db_guard(struct db *db, const char *job, int64_t fence, struct mst_error *err);
void db_guard_lift(struct db *db);

struct query {
    struct db *db;
    struct db_line *line;
    int own; /* a transaction of its own, for the guard */
    void *statement;
    enum mst_status status;
    struct mst_error *err;
};

/*
 * Begin a query; its line is this thread's until query_end. kinds: a letter a parameter:
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
/*
 * All further rows, each read into `size` bytes by `read`, as one array in the
 * arena; NULL when there are none, or memory ran out (query_end says which).
 */
void *query_rows(struct query *q, size_t size,
                 void (*read)(struct query *q, struct mst_arena *arena, void *out),
                 struct mst_arena *arena, size_t *count);
enum mst_status query_end(struct query *q);
/* For statements that give no rows; *changed may be NULL. */
enum mst_status db_do(struct db *db, struct mst_error *err, int64_t *changed, const char *sql,
                      const char *kinds, ...);
/* Several statements as one: db_begin takes a line and opens, db_settle commits (status OK) or
 * undoes, and leaves. Within one another: the inner one is undone by itself, but stays only when
 * the outer one does. */
enum mst_status db_begin(struct db *db, struct mst_error *err);
enum mst_status db_settle(struct db *db, enum mst_status status, struct mst_error *err);

#endif
