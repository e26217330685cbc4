/* submissions.c – what learners handed in. */
#include "store.h"

#include <mistara/classbook.h>
#include <string.h>

#define COLUMNS                                                                                    \
    "s.id,s.class,s.assignment,s.person,s.take,s.passage,s.how,s.marks,s.state,s.problem,"         \
    "s.proposal,s.need,s.made_ms,s.heard_ms,s.sent_ms,s.revision,coalesce(p.label,''),"            \
    "coalesce(a.title,''),(SELECT count(*) FROM measure m WHERE m.submission=s.id),"               \
    "(SELECT count(*) FROM measure m WHERE m.submission=s.id AND m.ruling<>'')"
#define TABLES                                                                                     \
    "submission s LEFT JOIN person p ON p.id=s.person "                                            \
    "LEFT JOIN assignment a ON a.id=s.assignment"

static const char states[] = "received,listening,heard,refused";

static void row(struct query *q, struct mst_arena *arena, void *place)
{
    struct mst_submission *out = place;
    *out = (struct mst_submission){.id = query_text(q, 0, arena),
                                   .class_id = query_text(q, 1, arena),
                                   .assignment = query_text(q, 2, arena),
                                   .person = query_text(q, 3, arena),
                                   .take = query_text(q, 4, arena),
                                   .passage = query_text(q, 5, arena),
                                   .how = query_text(q, 6, arena),
                                   .marks = query_text(q, 7, arena),
                                   .state = query_text(q, 8, arena),
                                   .problem = query_text(q, 9, arena),
                                   .proposal = query_text(q, 10, arena),
                                   .need = query_real(q, 11),
                                   .made_ms = query_integer(q, 12),
                                   .heard_ms = query_integer(q, 13),
                                   .sent_ms = query_integer(q, 14),
                                   .revision = query_integer(q, 15),
                                   .label = query_text(q, 16, arena),
                                   .title = query_text(q, 17, arena),
                                   .sites = (int)query_integer(q, 18),
                                   .ruled = (int)query_integer(q, 19)};
}

/* A person and an assignment are of the submission's class, or the classes would mix. */
static enum mst_status same_class(struct mst_store *store, const char *class_id, const char *person,
                                  const char *assignment, struct mst_error *err)
{
    struct query q = query_begin(&store->db, err,
                                 "SELECT (SELECT count(*) FROM class WHERE id=$1),"
                                 "(SELECT count(*) FROM person WHERE id=$2 AND class=$3),"
                                 "(SELECT count(*) FROM assignment WHERE id=$4 AND class=$5)",
                                 "ttttt", class_id, person ? person : "", class_id,
                                 assignment ? assignment : "", class_id);
    int row_there = query_row(&q);
    int class_there = row_there && query_integer(&q, 0), person_there = 0, assignment_there = 0;
    if (row_there) {
        person_there = query_integer(&q, 1) > 0;
        assignment_there = query_integer(&q, 2) > 0;
    }
    enum mst_status status = query_end(&q);
    if (status == MST_OK && !class_there)
        status = store_no_such("class", class_id, err);
    if (status == MST_OK && person && !person_there)
        status = store_no_such("person in this class", person, err);
    if (status == MST_OK && assignment && !assignment_there)
        status = store_no_such("assignment of this class", assignment, err);
    return status;
}

static enum mst_status take_is_of(struct mst_store *store, const char *take, const char *person,
                                  struct mst_error *err)
{
    return take ? db_do(&store->db, err, NULL, "UPDATE take SET person=$1 WHERE id=$2", "tt",
                        person, take)
                : MST_OK;
}

enum mst_status store_submission_insert(struct mst_store *store, const struct mst_submission *s,
                                        const char *take, char id[MST_ID_SIZE],
                                        struct mst_error *err)
{
    if (s->id)
        memcpy(id, s->id, MST_ID_SIZE);
    else
        mst_store_new_id(id);
    enum mst_status status = store_one_of("state of a submission", s->state, states, err);
    if (status == MST_OK)
        status = same_class(store, s->class_id, s->person, s->assignment, err);
    if (status == MST_OK)
        status = db_do(&store->db, err, NULL,
                       "INSERT INTO submission(id,class,assignment,person,take,passage,how,marks,"
                       "state,problem,proposal,need,made_ms,heard_ms,sent_ms,revision) "
                       "VALUES($1,$2,$3,$4,$5,$6,$7,$8,$9,$10,$11,$12,$13,$14,0,1)",
                       "tttttttttttdii", id, s->class_id, s->assignment, s->person, take,
                       s->passage, s->how, s->marks, s->state, s->problem, s->proposal, s->need,
                       mst_store_now_ms(), s->heard_ms);
    if (status == MST_OK)
        status = take_is_of(store, take, s->person, err);
    return status;
}

enum mst_status mst_submission_hand_in(struct mst_store *store, const struct mst_kept_take *take,
                                       const struct mst_submission *submission,
                                       char id[MST_ID_SIZE], struct mst_error *err)
{
    char take_id[MST_ID_SIZE];
    enum mst_status status = db_begin(&store->db, err);
    if (status != MST_OK)
        return status;
    status = store_take_insert(store, take, take_id, err);
    if (status == MST_OK)
        status = store_submission_insert(store, submission, take_id, id, err);
    status = db_settle(&store->db, status, err);
    return status;
}

enum mst_status mst_submission_get(struct mst_store *store, const char *id, struct mst_arena *arena,
                                   struct mst_submission *out, struct mst_error *err)
{
    struct query q =
        query_begin(&store->db, err, "SELECT " COLUMNS " FROM " TABLES " WHERE s.id=$1", "t", id);
    return store_one(&q, row, arena, out, "submission", id, err);
}

enum mst_status mst_submission_list(struct mst_store *store, const struct mst_submission_filter *f,
                                    struct mst_arena *arena, struct mst_submission **out,
                                    size_t *count, struct mst_error *err)
{
    /* Only what is asked for is written into the question, so that an index answers it. */
    struct mst_string sql = {0};
    mst_string_adds(&sql, "SELECT " COLUMNS " FROM " TABLES " WHERE ");
    const char *const values[] = {f->class_id, f->person, f->assignment, f->state};
    static const char *const columns[] = {"s.class", "s.person", "s.assignment", "s.state"};
    for (int n = 0; n < 4; n++)
        mst_string_addf(&sql, "%s=$%d AND ", values[n] ? columns[n] : "''", n + 1);
    if (f->unsent)
        mst_string_adds(&sql, "s.sent_ms=0 AND ");
    if (f->unnamed)
        mst_string_adds(&sql, "s.person IS NULL AND ");
    if (f->named)
        mst_string_adds(&sql, "s.person IS NOT NULL AND ");
    mst_string_adds(&sql, "1=1 ORDER BY s.need DESC, s.number LIMIT $5");
    *out = NULL;
    *count = 0;
    if (sql.failed) {
        mst_string_free(&sql);
        return store_no_memory(err);
    }
    struct query q =
        query_begin(&store->db, err, sql.ptr, "tttti", values[0] ? values[0] : "",
                    values[1] ? values[1] : "", values[2] ? values[2] : "",
                    values[3] ? values[3] : "", (int64_t)(f->limit > 0 ? f->limit : 1000));
    *out = query_rows(&q, sizeof **out, row, arena, count);
    enum mst_status status = query_end(&q);
    mst_string_free(&sql);
    return status;
}

enum mst_status mst_submission_list_left(struct mst_store *store, int64_t before_ms,
                                         struct mst_arena *arena, struct mst_submission **out,
                                         size_t *count, struct mst_error *err)
{
    struct query q = query_begin(
        &store->db, err,
        "SELECT " COLUMNS " FROM " TABLES " JOIN take t ON t.id=s.take LEFT JOIN job j ON "
        "j.id=t.job WHERE s.person IS NOT NULL AND s.state IN ('received','listening') AND "
        "s.made_ms<=$1 AND (j.id IS NULL OR j.state NOT IN ('waiting','running')) "
        "ORDER BY s.number",
        "i", before_ms);
    *out = query_rows(&q, sizeof **out, row, arena, count);
    return query_end(&q);
}

enum mst_status mst_submission_put(struct mst_store *store, const struct mst_submission *s,
                                   struct mst_error *err)
{
    int64_t rows = 0;
    enum mst_status status = store_one_of("state of a submission", s->state, states, err);
    if (status == MST_OK)
        status = db_begin(&store->db, err);
    if (status != MST_OK)
        return status;
    status = same_class(store, s->class_id, s->person, s->assignment, err);
    if (status == MST_OK)
        status =
            db_do(&store->db, err, &rows,
                  "UPDATE submission SET assignment=$1,person=$2,passage=$3,how=$4,marks=$5,"
                  "state=$6,problem=$7,proposal=$8,need=$9,heard_ms=$10,revision=revision+1 "
                  "WHERE id=$11 AND revision=$12 AND class=$13",
                  "ttttttttditit", s->assignment, s->person, s->passage, s->how, s->marks, s->state,
                  s->problem, s->proposal, s->need, s->heard_ms, s->id, s->revision, s->class_id);
    status = store_changed(status, rows, "submission", err);
    if (status == MST_OK)
        status = db_do(&store->db, err, NULL,
                       "UPDATE take SET person=$1 WHERE id=(SELECT s.take FROM submission s "
                       "WHERE s.id=$2)",
                       "tt", s->person, s->id);
    return db_settle(&store->db, status, err);
}

/* What is ruled and written by now is what the learner has, until it is sent again. */
enum mst_status mst_submission_send(struct mst_store *store, const char *id, struct mst_error *err)
{
    int64_t rows = 0;
    enum mst_status status = db_begin(&store->db, err);
    if (status != MST_OK)
        return status;
    status = db_do(&store->db, err, &rows,
                   "UPDATE submission SET sent_ms=$1,revision=revision+1 WHERE id=$2", "it",
                   mst_store_now_ms(), id);
    if (status == MST_OK && rows == 0)
        status = store_no_such("submission", id, err);
    if (status == MST_OK)
        status = db_do(&store->db, err, NULL,
                       "UPDATE measure SET sent_ruling=ruling WHERE submission=$1", "t", id);
    if (status == MST_OK)
        status =
            db_do(&store->db, err, NULL, "UPDATE note SET sent=1 WHERE submission=$1", "t", id);
    return db_settle(&store->db, status, err);
}
