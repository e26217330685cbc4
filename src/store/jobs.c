/* jobs.c – long work: written down before it is promised, never lost. */
#include "store.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char *const state_ids[] = {
#define X(name, id) id,
    MST_JOB_STATE_LIST(X)
#undef X
};

const char *mst_job_state_id(enum mst_job_state state)
{
    return state_ids[state];
}

#define COLUMNS "id,kind,about,input,result,reason,state,made_ms,started_ms,ended_ms,attempts,fence"

static void row(struct query *q, struct mst_arena *arena, struct mst_job *out)
{
    *out = (struct mst_job){.id = query_text(q, 0, arena),
                            .kind = query_text(q, 1, arena),
                            .about = query_text(q, 2, arena),
                            .input = query_text(q, 3, arena),
                            .result = query_text(q, 4, arena),
                            .reason = query_text(q, 5, arena),
                            .made_ms = query_integer(q, 7),
                            .started_ms = query_integer(q, 8),
                            .ended_ms = query_integer(q, 9),
                            .attempts = (int)query_integer(q, 10),
                            .fence = query_integer(q, 11)};
    const char *state = query_text(q, 6, arena);
    for (int n = 0; state && n < MST_JOB_STATE_COUNT; n++)
        if (strcmp(state, state_ids[n]) == 0)
            out->state = (enum mst_job_state)n;
}

static enum mst_status no_such(const char *id, struct mst_error *err)
{
    return mst_fail(err, MST_NOT_FOUND, "there is no job “%.40s”", id);
}

enum mst_status mst_store_job_add(struct mst_store *store, const char *kind, const char *about,
                                  const char *input, char id[MST_ID_SIZE], struct mst_error *err)
{
    mst_store_new_id(id);
    enum mst_status status = db_begin(&store->db, err);
    if (status != MST_OK)
        return status;
    status = db_do(&store->db, err, NULL,
                   "INSERT INTO job(id,kind,about,input,state,made_ms,mentioned) "
                   "VALUES($1,$2,$3,$4,'waiting',$5,1)",
                   "tttti", id, kind, about, input, mst_store_now_ms());
    if (status == MST_OK)
        status = store_mention(store, id, about, err);
    if (status == MST_OK)
        status = store_mention(store, id, input, err);
    return db_settle(&store->db, status, err);
}

enum mst_status mst_store_job_get(struct mst_store *store, const char *id, struct mst_arena *arena,
                                  struct mst_job *out, struct mst_error *err)
{
    struct query q =
        query_begin(&store->db, err, "SELECT " COLUMNS " FROM job WHERE id=$1", "t", id);
    int found = query_row(&q);
    if (found)
        row(&q, arena, out);
    enum mst_status status = query_end(&q);
    return status == MST_OK && !found ? no_such(id, err) : status;
}

enum mst_status mst_store_job_list(struct mst_store *store, const struct mst_job_filter *filter,
                                   struct mst_arena *arena, struct mst_job **out, size_t *count,
                                   struct mst_error *err)
{
    int limit = filter->limit > 0 ? filter->limit : 200;
    struct mst_job *jobs = mst_arena_alloc(arena, (size_t)limit, sizeof *jobs);
    *out = jobs;
    *count = 0;
    if (!jobs)
        return store_no_memory(err);
    struct query q = query_begin(
        &store->db, err,
        "SELECT " COLUMNS " FROM job WHERE ($1='' OR state=$2) AND ($3=0 OR state IN "
        "('waiting','running')) AND ($4='' OR about=$5) ORDER BY number DESC LIMIT $6",
        "ttitti", filter->state < 0 ? "" : state_ids[filter->state],
        filter->state < 0 ? "" : state_ids[filter->state], (int64_t)filter->unended,
        filter->about ? filter->about : "", filter->about ? filter->about : "", (int64_t)limit);
    while (query_row(&q))
        row(&q, arena, &jobs[(*count)++]);
    return query_end(&q);
}

enum mst_status mst_store_job_claim(struct mst_store *store, struct mst_arena *arena,
                                    struct mst_job *out, struct mst_error *err)
{
    char sql[384];
    snprintf(sql, sizeof sql,
             "UPDATE job SET state='running',started_ms=$1,attempts=attempts+1,owner=$2,"
             "fence=fence+1,lease_ms=now_ms()+$3 WHERE number=(SELECT number FROM job WHERE "
             "state='waiting' ORDER BY number LIMIT 1%s) RETURNING " COLUMNS,
             store->db.backend->skip_locked);
    struct query q =
        query_begin(&store->db, err, sql, "iti", mst_store_now_ms(), store->owner, store->lease_ms);
    int found = query_row(&q);
    if (found) {
        row(&q, arena, out);
        while (query_row(&q))
            ;
    }
    enum mst_status status = query_end(&q);
    return status == MST_OK && !found ? mst_fail(err, MST_NOT_FOUND, "no job waits") : status;
}

enum mst_status mst_store_job_end(struct mst_store *store, const char *id, enum mst_job_state state,
                                  const char *reason, const char *result, struct mst_error *err)
{
    int64_t changed = 0;
    enum mst_status status = db_begin(&store->db, err);
    if (status != MST_OK)
        return status;
    status =
        db_do(&store->db, err, &changed,
              "UPDATE job SET state=$1,reason=$2,result=$3,ended_ms=$4 WHERE id=$5 AND "
              "(state='running' OR (state='waiting' AND $6='cancelled'))",
              "tttitt", state_ids[state], reason, result, mst_store_now_ms(), id, state_ids[state]);
    if (status == MST_OK && changed > 0)
        status = store_mention(store, id, result, err);
    status = db_settle(&store->db, status, err);
    if (status != MST_OK || changed > 0)
        return status;
    /* Whoever it worked for may have been deleted meanwhile: what it still wrote goes too. */
    status = store_orphans_sweep(store, err);
    return status == MST_OK ? no_such(id, err) : status;
}

enum mst_status mst_store_job_leftovers(struct mst_store *store, struct mst_error *err)
{
    return store_orphans_sweep(store, err);
}

enum mst_status mst_store_job_hold(struct mst_store *store, const struct mst_job *job,
                                   struct mst_error *err)
{
    int64_t rows = 0;
    enum mst_status status = db_do(&store->db, err, &rows,
                                   "UPDATE job SET lease_ms=now_ms()+$1 WHERE id=$2 AND fence=$3 "
                                   "AND state='running'",
                                   "iti", store->lease_ms, job->id, job->fence);
    return status == MST_OK && rows == 0
               ? mst_fail(err, MST_CANCELLED, "this work was given to someone else meanwhile")
               : status;
}

enum mst_status mst_store_job_guard(struct mst_store *store, const struct mst_job *job,
                                    struct mst_error *err)
{
    if (job)
        return db_guard(&store->db, job->id, job->fence, err);
    db_guard_lift(&store->db);
    return MST_OK;
}

enum mst_status mst_store_job_put_back(struct mst_store *store, const char *id, int uncounted,
                                       struct mst_error *err)
{
    return db_do(&store->db, err, NULL,
                 "UPDATE job SET state='waiting',started_ms=0,owner=NULL,attempts=attempts-$1 "
                 "WHERE id=$2 AND state='running'",
                 "it", (int64_t)(uncounted != 0), id);
}

/* One lease ago a dead one may have been in the middle of it; a late one is kept out by the fence,
 * which counts on when the job is given away again. */
enum mst_status mst_store_job_recover(struct mst_store *store, int most, const char *reason,
                                      struct mst_error *err)
{
    int64_t whole = !store->shared; /* nobody else can be at work */
    enum mst_status status = db_begin(&store->db, err);
    if (status != MST_OK)
        return status;
    status = db_do(&store->db, err, NULL,
                   "UPDATE job SET state='failed',reason=$1,ended_ms=$2,owner=NULL WHERE "
                   "state='running' AND attempts>=$3 AND ($4=1 OR lease_ms<now_ms())",
                   "tiii", reason, mst_store_now_ms(), (int64_t)most, whole);
    if (status == MST_OK)
        status = db_do(&store->db, err, NULL,
                       "UPDATE job SET state='waiting',started_ms=0,owner=NULL WHERE "
                       "state='running' AND ($1=1 OR lease_ms<now_ms())",
                       "i", whole);
    return db_settle(&store->db, status, err);
}

enum mst_status mst_store_job_delete(struct mst_store *store, const char *id, struct mst_error *err)
{
    struct mst_job job;
    struct mst_arena *arena = mst_arena_new(0);
    if (!arena)
        return store_no_memory(err);
    int64_t changed = 0;
    enum mst_status status = mst_store_job_get(store, id, arena, &job, err);
    if (status == MST_OK)
        status =
            db_do(&store->db, err, &changed,
                  "DELETE FROM job WHERE id=$1 AND state NOT IN ('waiting','running')", "t", id);
    if (status == MST_OK && changed == 0)
        status = mst_fail(err, MST_USAGE, "the job is still at work; cancel it first");
    if (status == MST_OK)
        status = mst_store_work_forget(store, job.id, err);
    mst_arena_free(arena);
    return status;
}

enum { PRUNED_AT_ONCE = 200 };

enum mst_status mst_store_job_prune(struct mst_store *store, int64_t ended_ms,
                                    struct mst_arena *arena, const char ***ids, size_t *count,
                                    struct mst_error *err)
{
    size_t found = 0;
    *ids = mst_arena_alloc(arena, PRUNED_AT_ONCE, sizeof **ids);
    *count = 0;
    if (!*ids)
        return store_no_memory(err);
    struct query q = query_begin(
        &store->db, err,
        "SELECT id FROM job WHERE state IN ('done','failed','cancelled') AND ended_ms<$1 AND NOT("
        "kind='lesson' AND state='done' "
        "AND EXISTS(SELECT 1 FROM document d WHERE d.kind='lesson' AND d.id=job.about) "
        "AND number=(SELECT max(other.number) FROM job other WHERE other.kind='lesson' AND "
        "other.state='done' AND other.about=job.about AND other.input=job.input)) "
        "ORDER BY number LIMIT $2",
        "ii", ended_ms, (int64_t)PRUNED_AT_ONCE);
    while (query_row(&q))
        (*ids)[found++] = query_text(&q, 0, arena);
    enum mst_status status = query_end(&q);
    for (; status == MST_OK && *count < found; *count += status == MST_OK) {
        const char *id = (*ids)[*count];
        status = id ? mst_store_job_delete(store, id, err) : store_no_memory(err);
        if (status == MST_NOT_FOUND)
            status = MST_OK; /* someone else was quicker */
    }
    return status;
}
