/* takes.c – takes as rows. */
#include "store.h"

#include <string.h>

static const char *const state_ids[] = {
#define X(name, id) id,
    MST_KEPT_STATE_LIST(X)
#undef X
};

const char *mst_kept_state_id(enum mst_kept_state state)
{
    return state_ids[state];
}

#define COLUMNS                                                                                    \
    "id,name,passage,how,hash,type,note,voice,model,job,problem,pins,seconds,bytes,made_ms,"       \
    "state,keep_voice,chosen,report,revision,person"

static void row(struct query *q, struct mst_arena *arena, void *place)
{
    struct mst_kept_take *out = place;
    *out = (struct mst_kept_take){.id = query_text(q, 0, arena),
                                  .name = query_text(q, 1, arena),
                                  .passage = query_text(q, 2, arena),
                                  .how = query_text(q, 3, arena),
                                  .hash = query_text(q, 4, arena),
                                  .type = query_text(q, 5, arena),
                                  .note = query_text(q, 6, arena),
                                  .voice = query_text(q, 7, arena),
                                  .model = query_text(q, 8, arena),
                                  .job = query_text(q, 9, arena),
                                  .problem = query_text(q, 10, arena),
                                  .pins = query_text(q, 11, arena),
                                  .seconds = query_real(q, 12),
                                  .bytes = query_integer(q, 13),
                                  .made_ms = query_integer(q, 14),
                                  .keep_voice = (int)query_integer(q, 16),
                                  .chosen = (int)query_integer(q, 17),
                                  .report = (int)query_integer(q, 18),
                                  .revision = query_integer(q, 19),
                                  .person = query_text(q, 20, arena)};
    const char *state = query_text(q, 15, arena);
    for (int n = 0; state && n < MST_KEPT_STATE_COUNT; n++)
        if (strcmp(state, state_ids[n]) == 0)
            out->state = (enum mst_kept_state)n;
}

enum mst_status store_take_insert(struct mst_store *store, const struct mst_kept_take *take,
                                  char id[MST_ID_SIZE], struct mst_error *err)
{
    mst_store_new_id(id);
    enum mst_status status = db_do(
        &store->db, err, NULL,
        "INSERT INTO take(" COLUMNS ") VALUES($1,$2,$3,$4,$5,$6,$7,$8,$9,$10,$11,$12,$13,"
        "$14,$15,$16,$17,$18,$19,1,$20)",
        "ttttttttttttdiitiiit", id, take->name, take->passage, take->how, take->hash, take->type,
        take->note, take->voice, take->model, take->job, take->problem, take->pins, take->seconds,
        take->bytes, mst_store_now_ms(), state_ids[take->state], (int64_t)take->keep_voice,
        (int64_t)take->chosen, (int64_t)take->report, take->person);
    return status == MST_OK ? store_sound_named(store, take->hash, err) : status;
}

enum mst_status mst_store_take_add(struct mst_store *store, const struct mst_kept_take *take,
                                   char id[MST_ID_SIZE], struct mst_error *err)
{
    enum mst_status status = db_begin(&store->db, err);
    if (status != MST_OK)
        return status;
    status = store_take_insert(store, take, id, err);
    return db_settle(&store->db, status, err);
}

enum mst_status mst_store_take_get(struct mst_store *store, const char *id, struct mst_arena *arena,
                                   struct mst_kept_take *out, struct mst_error *err)
{
    struct query q =
        query_begin(&store->db, err, "SELECT " COLUMNS " FROM take WHERE id=$1", "t", id);
    int found = query_row(&q);
    if (found)
        row(&q, arena, out);
    enum mst_status status = query_end(&q);
    return status == MST_OK && !found ? store_no_such("take", id, err) : status;
}

enum mst_status mst_store_take_list(struct mst_store *store, const char *passage,
                                    struct mst_arena *arena, struct mst_kept_take **out,
                                    size_t *count, struct mst_error *err)
{
    /* A voice note that nobody has claimed yet has no person, but it is a submission. */
    struct query q = query_begin(&store->db, err,
                                 "SELECT " COLUMNS " FROM take WHERE ($1='' OR passage=$2) AND "
                                 "person IS NULL AND NOT EXISTS(SELECT 1 FROM submission s WHERE "
                                 "s.take=take.id) ORDER BY number DESC",
                                 "tt", passage ? passage : "", passage ? passage : "");
    *out = query_rows(&q, sizeof **out, row, arena, count);
    return query_end(&q);
}

enum mst_status mst_store_take_put(struct mst_store *store, const struct mst_kept_take *take,
                                   struct mst_error *err)
{
    int64_t changed = 0;
    enum mst_status status = db_begin(&store->db, err);
    if (status != MST_OK)
        return status;
    status = db_do(&store->db, err, &changed,
                   "UPDATE take SET name=$1,passage=$2,how=$3,note=$4,voice=$5,model=$6,job=$7,"
                   "problem=$8,pins=$9,seconds=$10,state=$11,keep_voice=$12,chosen=$13,report=$14,"
                   "revision=revision+1 WHERE id=$15 AND revision=$16",
                   "tttttttttdtiiiti", take->name, take->passage, take->how, take->note,
                   take->voice, take->model, take->job, take->problem, take->pins, take->seconds,
                   state_ids[take->state], (int64_t)take->keep_voice, (int64_t)take->chosen,
                   (int64_t)take->report, take->id, take->revision);
    if (status == MST_OK && changed == 0)
        status = mst_fail(err, MST_MISMATCH, "the take was changed in between; look at it again");
    if (status == MST_OK && take->chosen)
        status = db_do(&store->db, err, NULL,
                       "UPDATE take SET chosen=0,revision=revision+1 "
                       "WHERE passage=$1 AND id<>$2 AND chosen=1 AND coalesce(person,'')="
                       "(SELECT coalesce(mine.person,'') FROM take mine WHERE mine.id=$3)",
                       "ttt", take->passage, take->id, take->id);
    return db_settle(&store->db, status, err);
}

enum mst_status mst_store_take_measured(struct mst_store *store, const char *id, double seconds,
                                        struct mst_error *err)
{
    return db_do(&store->db, err, NULL, "UPDATE take SET seconds=$1 WHERE id=$2 AND seconds=0",
                 "dt", seconds, id);
}

enum mst_status mst_store_take_delete(struct mst_store *store, const char *id,
                                      struct mst_error *err)
{
    struct query q =
        query_begin(&store->db, err, "DELETE FROM take WHERE id=$1 RETURNING hash", "t", id);
    enum mst_status status = store_sound_let_go(store, &q, "take", id, err);
    return status == MST_OK ? mst_store_report_forget(store, id, err) : status;
}
