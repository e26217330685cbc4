/* db.c – queries over whichever backend. */
#include "db.h"

#include <string.h>

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

static struct query begin(struct db *db, struct mst_error *err, const char *sql, const char *kinds,
                          va_list args)
{
    struct query q = {.db = db, .err = err};
    pthread_mutex_lock(&db->lock);
    q.status = db->backend->prepare(db->handle, sql, &q.statement, err);
    if (q.status == MST_OK && bind(db->backend, q.statement, kinds, args) != MST_OK)
        q.status = mst_fail(err, MST_NO_MEMORY, "memory ran out while asking the book");
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
        q->status = q->db->backend->step(q->db->handle, q->statement, &row, q->err);
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

enum mst_status query_end(struct query *q)
{
    if (q->statement)
        q->db->backend->finish(q->statement);
    pthread_mutex_unlock(&q->db->lock);
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
        *changed = q.status == MST_OK ? db->backend->changed(db->handle) : 0;
    return query_end(&q);
}

enum mst_status db_begin(struct db *db, struct mst_error *err)
{
    pthread_mutex_lock(&db->lock);
    enum mst_status status = db->backend->run(db->handle, "BEGIN", err);
    if (status != MST_OK)
        pthread_mutex_unlock(&db->lock);
    return status;
}

enum mst_status db_settle(struct db *db, enum mst_status status, struct mst_error *err)
{
    if (status == MST_OK)
        status = db->backend->run(db->handle, "COMMIT", err);
    if (status != MST_OK)
        (void)!db->backend->run(db->handle, "ROLLBACK", NULL);
    pthread_mutex_unlock(&db->lock);
    return status;
}
