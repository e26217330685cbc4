/*
 * hailing.c – programs that have the same book open call out to one another,
 * over PostgreSQL's LISTEN and NOTIFY. Nothing hangs on a call being heard: it
 * only makes quick what would be found anyway.
 */
#include "postgresql.h"
#include "store.h"

#include <poll.h>
#include <stdio.h>
#include <stdlib.h>

struct mst_hail {
    PGconn *conn;
    char channel[40];
    char self[MST_ID_SIZE];
};

static enum mst_status broke(struct mst_hail *hail, struct mst_error *err)
{
    const char *why = PQerrorMessage(hail->conn);
    return mst_fail(err, MST_IO, "the line to the database broke (listening): %.*s",
                    (int)strcspn(why, "\n"), why);
}

static enum mst_status say(struct mst_hail *hail, const char *sql, struct mst_error *err)
{
    PGresult *result = PQexec(hail->conn, sql);
    enum mst_status status = PQresultStatus(result) == PGRES_COMMAND_OK ? MST_OK : broke(hail, err);
    PQclear(result);
    return status;
}

enum mst_status mst_hail_open(struct mst_store *store, struct mst_hail **out, struct mst_error *err)
{
    char sql[128];
    *out = NULL;
    struct mst_hail *hail = calloc(1, sizeof *hail);
    if (!hail)
        return store_no_memory(err);
    snprintf(hail->channel, sizeof hail->channel, "mistara_%s", store->word);
    memcpy(hail->self, store->owner, MST_ID_SIZE);
    hail->conn = postgresql_connect(store->db.where, err);
    /* A call says nothing that must outlive the power: its commit need not wait for the disk. */
    snprintf(sql, sizeof sql, "SET synchronous_commit=off; LISTEN %s", hail->channel);
    enum mst_status status = hail->conn ? say(hail, sql, err) : MST_IO;
    if (status != MST_OK) {
        mst_hail_close(hail);
        return status;
    }
    *out = hail;
    return MST_OK;
}

enum mst_status mst_hail_wait(struct mst_hail *hail, int wake_fd, int timeout_ms,
                              struct mst_error *err)
{
    struct pollfd fds[] = {{PQsocket(hail->conn), POLLIN, 0}, {wake_fd, POLLIN, 0}};
    poll(fds, 2, timeout_ms);
    if (!PQconsumeInput(hail->conn) || PQstatus(hail->conn) != CONNECTION_OK)
        return broke(hail, err);
    return MST_OK;
}

int mst_hail_next(struct mst_hail *hail, struct mst_string *from, struct mst_string *text)
{
    for (PGnotify *call; (call = PQnotifies(hail->conn)) != NULL; PQfreemem(call)) {
        const char *blank = strchr(call->extra, ' ');
        if (!blank || (size_t)(blank - call->extra) != MST_ID_SIZE - 1 ||
            strncmp(call->extra, hail->self, MST_ID_SIZE - 1) == 0)
            continue;
        mst_string_add(from, call->extra, MST_ID_SIZE - 1);
        mst_string_adds(text, blank + 1);
        PQfreemem(call);
        return 1;
    }
    return 0;
}

enum mst_status mst_hail_out(struct mst_hail *hail, const char *text, size_t len,
                             struct mst_error *err)
{
    struct mst_string whole = {0};
    if (len > MST_HAIL_MOST)
        return mst_fail(err, MST_USAGE, "a call has at most %d bytes", MST_HAIL_MOST);
    mst_string_addf(&whole, "%s ", hail->self);
    mst_string_add(&whole, text, len);
    if (whole.failed)
        return store_no_memory(err);
    const char *const values[] = {hail->channel, whole.ptr};
    PGresult *result =
        PQexecParams(hail->conn, "SELECT pg_notify($1,$2)", 2, NULL, values, NULL, NULL, 0);
    enum mst_status status = PQresultStatus(result) == PGRES_TUPLES_OK ? MST_OK : broke(hail, err);
    PQclear(result);
    mst_string_free(&whole);
    return status;
}

void mst_hail_close(struct mst_hail *hail)
{
    if (!hail)
        return;
    PQfinish(hail->conn);
    free(hail);
}
