/* db.c – lines to whichever backend, and queries over them. */
#include "db.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* --- lines ---------------------------------------------------------------------- */

enum mst_status db_open(struct db *db, const struct db_backend *backend, const char *where,
                        struct mst_error *err)
{
    db->backend = backend;
    db->where = strdup(where);
    if (!db->where)
        return mst_fail(err, MST_NO_MEMORY, "memory ran out while opening the book");
    return backend->open(where, &db->lines[0].handle, err);
}

void db_close(struct db *db)
{
    for (int n = 0; n < DB_LINES_MOST; n++)
        if (db->lines[n].handle)
            db->backend->close(db->lines[n].handle);
    free(db->where);
}

/* Under the lock: this thread's own, else a free one that is open, else a free one. */
static struct db_line *line_for(struct db *db, pthread_t self)
{
    struct db_line *open = NULL, *closed = NULL;
    for (int n = 0; n < db->backend->lines_most && n < DB_LINES_MOST; n++) {
        struct db_line *line = &db->lines[n];
        if (line->held > 0 && pthread_equal(line->owner, self))
            return line;
        if (line->held == 0 && line->handle && !open)
            open = line;
        if (line->held == 0 && !line->handle && !closed)
            closed = line;
    }
    return open ? open : closed;
}

struct db_line *db_enter(struct db *db, struct mst_error *err)
{
    pthread_t self = pthread_self();
    struct db_line *line;
    pthread_mutex_lock(&db->lock);
    while (!(line = line_for(db, self)))
        pthread_cond_wait(&db->freed, &db->lock);
    line->owner = self;
    line->held++;
    pthread_mutex_unlock(&db->lock);
    if (line->handle || db->backend->open(db->where, &line->handle, err) == MST_OK)
        return line;
    line->handle = NULL;
    db_leave(db, line);
    return NULL;
}

void db_leave(struct db *db, struct db_line *line)
{
    pthread_mutex_lock(&db->lock);
    if (--line->held == 0)
        pthread_cond_signal(&db->freed);
    pthread_mutex_unlock(&db->lock);
}

/* --- the guard -------------------------------------------------------------------- */

enum mst_status db_guard(struct db *db, const char *job, int64_t fence, struct mst_error *err)
{
    struct db_guard *free_one = NULL;
    pthread_mutex_lock(&db->lock);
    for (int n = 0; n < DB_GUARDS_MOST && !free_one; n++)
        if (!db->guards[n].set)
            free_one = &db->guards[n];
    if (free_one) {
        *free_one = (struct db_guard){.thread = pthread_self(), .set = 1, .fence = fence};
        snprintf(free_one->job, sizeof free_one->job, "%s", job);
    }
    pthread_mutex_unlock(&db->lock);
    return free_one ? MST_OK : mst_fail(err, MST_USAGE, "too much work goes on at once");
}

static int guard_of(struct db *db, struct db_guard *out, int lift)
{
    int found = 0;
    pthread_mutex_lock(&db->lock);
    for (int n = 0; n < DB_GUARDS_MOST && !found; n++) {
        struct db_guard *guard = &db->guards[n];
        if (guard->set && pthread_equal(guard->thread, pthread_self())) {
            *out = *guard;
            found = 1;
            guard->set = !lift;
        }
    }
    pthread_mutex_unlock(&db->lock);
    return found;
}

void db_guard_lift(struct db *db)
{
    struct db_guard lifted;
    guard_of(db, &lifted, 1);
}

static struct query begin_plain(struct db *db, struct mst_error *err, const char *sql,
                                const char *kinds, ...);

/* Inside a transaction that has just begun: from here to its end nobody can give the job away. */
static enum mst_status guarded(struct db *db, struct mst_error *err)
{
    struct db_guard guard;
    char sql[128];
    if (!guard_of(db, &guard, 0))
        return MST_OK;
    snprintf(sql, sizeof sql, "SELECT 1 FROM job WHERE id=$1 AND fence=$2 AND state='running'%s",
             db->backend->for_share);
    struct query q = begin_plain(db, err, sql, "ti", guard.job, guard.fence);
    int held = query_row(&q);
    enum mst_status status = query_end(&q);
    return status == MST_OK && !held
               ? mst_fail(err, MST_CANCELLED, "this work was given to someone else meanwhile")
               : status;
}

/* --- queries ------------------------------------------------------------------------ */

static enum mst_status bind(const struct db_backend *b, void *statement, const char *kinds,
                            va_list args)
{
    enum mst_status status = MST_OK;
    for (int n = 1; kinds[n - 1] && status == MST_OK; n++) {
        switch (kinds[n - 1]) {
        case 'i':
            status = b->bind_integer(statement, n, va_arg(args, int64_t));
            break;
        case 'd':
            status = b->bind_real(statement, n, va_arg(args, double));
            break;
        case 'b': {
            const void *bytes = va_arg(args, const void *);
            status = b->bind_bytes(statement, n, bytes, va_arg(args, size_t));
            break;
        }
        default:
            status = b->bind_text(statement, n, va_arg(args, const char *));
        }
    }
    return status;
}

static struct query begin_va(struct db *db, struct mst_error *err, const char *sql,
                             const char *kinds, va_list args)
{
    struct query q = {.db = db, .err = err};
    q.line = db_enter(db, err);
    q.status = q.line ? db->backend->prepare(q.line->handle, sql, &q.statement, err) : MST_IO;
    if (q.status == MST_OK && bind(db->backend, q.statement, kinds, args) != MST_OK)
        q.status = mst_fail(err, MST_NO_MEMORY, "memory ran out while asking the book");
    return q;
}

static struct query begin_plain(struct db *db, struct mst_error *err, const char *sql,
                                const char *kinds, ...)
{
    va_list args;
    va_start(args, kinds);
    struct query q = begin_va(db, err, sql, kinds, args);
    va_end(args);
    return q;
}

static int in_transaction(struct db *db)
{
    int deep = 0;
    pthread_mutex_lock(&db->lock);
    for (int n = 0; n < DB_LINES_MOST; n++)
        if (db->lines[n].held > 0 && pthread_equal(db->lines[n].owner, pthread_self()))
            deep = db->lines[n].deep;
    pthread_mutex_unlock(&db->lock);
    return deep > 0;
}

static struct query begin(struct db *db, struct mst_error *err, const char *sql, const char *kinds,
                          va_list args)
{
    struct db_guard guard;
    int own = strncmp(sql, "SELECT", 6) != 0 && guard_of(db, &guard, 0) && !in_transaction(db);
    enum mst_status status = own ? db_begin(db, err) : MST_OK;
    if (status != MST_OK)
        return (struct query){.db = db, .err = err, .status = status};
    struct query q = begin_va(db, err, sql, kinds, args);
    q.own = own;
    return q;
}

struct query query_begin(struct db *db, struct mst_error *err, const char *sql, const char *kinds,
                         ...)
{
    va_list args;
    va_start(args, kinds);
    struct query q = begin(db, err, sql, kinds, args);
    va_end(args);
    return q;
}

int query_row(struct query *q)
{
    int row = 0;
    if (q->status == MST_OK)
        q->status = q->db->backend->step(q->line->handle, q->statement, &row, q->err);
    return q->status == MST_OK && row;
}

int64_t query_integer(struct query *q, int column)
{
    return q->db->backend->integer(q->statement, column);
}

double query_real(struct query *q, int column)
{
    return q->db->backend->real(q->statement, column);
}

const char *query_text(struct query *q, int column, struct mst_arena *arena)
{
    struct mst_span text = q->db->backend->text(q->statement, column);
    if (!text.ptr)
        return NULL;
    const char *kept = mst_arena_strndup(arena, text.ptr, text.len);
    if (!kept && q->status == MST_OK)
        q->status = mst_fail(q->err, MST_NO_MEMORY, "memory ran out while reading the book");
    return kept;
}

void query_bytes(struct query *q, int column, void *out, size_t len)
{
    struct mst_span bytes = q->db->backend->text(q->statement, column);
    memset(out, 0, len);
    if (bytes.ptr)
        memcpy(out, bytes.ptr, bytes.len < len ? bytes.len : len);
}

void *query_rows(struct query *q, size_t size,
                 void (*read)(struct query *q, struct mst_arena *arena, void *out),
                 struct mst_arena *arena, size_t *count)
{
    char *rows = NULL; /* gathered outside: the arena could not grow them between their texts */
    size_t have = 0, room = 0;
    while (query_row(q)) {
        if (have == room) {
            room = room ? 2 * room : 16;
            char *more = reallocarray(rows, room, size);
            if (!more) {
                q->status =
                    mst_fail(q->err, MST_NO_MEMORY, "memory ran out while reading the book");
                break;
            }
            rows = more;
        }
        read(q, arena, rows + have++ * size);
    }
    void *out = have && q->status == MST_OK ? mst_arena_alloc_raw(arena, have, size) : NULL;
    if (out)
        memcpy(out, rows, have * size);
    else if (have && q->status == MST_OK)
        q->status = mst_fail(q->err, MST_NO_MEMORY, "memory ran out while reading the book");
    *count = out ? have : 0;
    free(rows);
    return out;
}

enum mst_status query_end(struct query *q)
{
    if (q->statement)
        q->db->backend->finish(q->statement);
    q->statement = NULL;
    if (q->line)
        db_leave(q->db, q->line);
    if (q->own)
        q->status = db_settle(q->db, q->status, q->err);
    return q->status;
}

enum mst_status db_do(struct db *db, struct mst_error *err, int64_t *changed, const char *sql,
                      const char *kinds, ...)
{
    va_list args;
    va_start(args, kinds);
    struct query q = begin(db, err, sql, kinds, args);
    va_end(args);
    while (query_row(&q))
        ;
    if (changed)
        *changed = q.status == MST_OK ? db->backend->changed(q.line->handle) : 0;
    return query_end(&q);
}

enum mst_status db_begin(struct db *db, struct mst_error *err)
{
    char inner[32];
    struct db_line *line = db_enter(db, err);
    if (!line)
        return MST_IO;
    snprintf(inner, sizeof inner, "SAVEPOINT inner%d", line->deep);
    enum mst_status status =
        db->backend->run(line->handle, line->deep ? inner : db->backend->begin, err);
    if (status != MST_OK) {
        db_leave(db, line);
        return status;
    }
    status = line->deep++ ? MST_OK : guarded(db, err);
    return status == MST_OK ? MST_OK : db_settle(db, status, err);
}

enum mst_status db_settle(struct db *db, enum mst_status status, struct mst_error *err)
{
    char keep[32], undo[80];
    struct db_line *line = db_enter(db, err); /* this thread's: it began */
    int deep = --line->deep;
    snprintf(keep, sizeof keep, "RELEASE inner%d", deep);
    snprintf(undo, sizeof undo, "ROLLBACK TO inner%d; RELEASE inner%d", deep, deep);
    if (status == MST_OK)
        status = db->backend->run(line->handle, deep ? keep : "COMMIT", err);
    if (status != MST_OK)
        (void)!db->backend->run(line->handle, deep ? undo : "ROLLBACK", NULL);
    db_leave(db, line);
    db_leave(db, line); /* what db_begin entered */
    return status;
}
