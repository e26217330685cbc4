/* assignments.c – what a class was given to recite. */
#include "store.h"

#include <mistara/classbook.h>

#define COLUMNS                                                                                    \
    "id,class,title,passage,how,lesson,rules,attend,take,stage,due_ms,made_ms,withdrawn_ms,"       \
    "revision,(SELECT count(DISTINCT s.person) FROM submission s WHERE "                           \
    "s.assignment=assignment.id)"

static void row(struct query *q, struct mst_arena *arena, void *place)
{
    struct mst_assignment *out = place;
    *out = (struct mst_assignment){.id = query_text(q, 0, arena),
                                   .class_id = query_text(q, 1, arena),
                                   .title = query_text(q, 2, arena),
                                   .passage = query_text(q, 3, arena),
                                   .how = query_text(q, 4, arena),
                                   .lesson = query_text(q, 5, arena),
                                   .rules = query_text(q, 6, arena),
                                   .attend = query_text(q, 7, arena),
                                   .take = query_text(q, 8, arena),
                                   .stage = (int)query_integer(q, 9),
                                   .due_ms = query_integer(q, 10),
                                   .made_ms = query_integer(q, 11),
                                   .withdrawn_ms = query_integer(q, 12),
                                   .revision = query_integer(q, 13),
                                   .handed_in = (int)query_integer(q, 14)};
}

/* A take is the teacher's: a learner's would show one learner to all the others. */
static enum mst_status sound(struct mst_store *store, const struct mst_assignment *a,
                             struct mst_error *err)
{
    if (a->stage < 0 || a->stage > 3)
        return mst_fail(err, MST_USAGE, "the stage of a page is 0 to 3; “%d” given", a->stage);
    if (!a->take)
        return MST_OK;
    struct query q = query_begin(&store->db, err,
                                 "SELECT 1 FROM take WHERE id=$1 AND person IS NULL AND NOT EXISTS("
                                 "SELECT 1 FROM submission s WHERE s.take=take.id)",
                                 "t", a->take);
    int found = query_row(&q);
    enum mst_status status = query_end(&q);
    return status == MST_OK && !found ? store_no_such("take of the teacher's", a->take, err)
                                      : status;
}

enum mst_status mst_assignment_add(struct mst_store *store, const struct mst_assignment *assignment,
                                   char id[MST_ID_SIZE], struct mst_error *err)
{
    int64_t rows = 0;
    enum mst_status status = sound(store, assignment, err);
    if (status != MST_OK)
        return status;
    mst_store_new_id(id);
    status = db_do(&store->db, err, &rows,
                   "INSERT INTO assignment(id,class,title,passage,how,lesson,rules,attend,take,"
                   "stage,due_ms,made_ms,withdrawn_ms,revision) "
                   "SELECT $1,id,$2,$3,$4,$5,$6,$7,$8,$9,$10,$11,0,1 FROM class WHERE id=$12",
                   "ttttttttiiit", id, assignment->title, assignment->passage, assignment->how,
                   assignment->lesson, assignment->rules, assignment->attend, assignment->take,
                   (int64_t)assignment->stage, assignment->due_ms, mst_store_now_ms(),
                   assignment->class_id);
    return status == MST_OK && rows == 0 ? store_no_such("class", assignment->class_id, err)
                                         : status;
}

enum mst_status mst_assignment_get(struct mst_store *store, const char *id, struct mst_arena *arena,
                                   struct mst_assignment *out, struct mst_error *err)
{
    struct query q =
        query_begin(&store->db, err, "SELECT " COLUMNS " FROM assignment WHERE id=$1", "t", id);
    return store_one(&q, row, arena, out, "assignment", id, err);
}

enum mst_status mst_assignment_list(struct mst_store *store, const char *class_id,
                                    struct mst_arena *arena, struct mst_assignment **out,
                                    size_t *count, struct mst_error *err)
{
    struct query q = query_begin(
        &store->db, err, "SELECT " COLUMNS " FROM assignment WHERE class=$1 ORDER BY number DESC",
        "t", class_id);
    *out = query_rows(&q, sizeof **out, row, arena, count);
    return query_end(&q);
}

enum mst_status mst_assignment_put(struct mst_store *store, const struct mst_assignment *assignment,
                                   struct mst_error *err)
{
    int64_t rows = 0;
    enum mst_status status = sound(store, assignment, err);
    if (status == MST_OK)
        status = db_do(&store->db, err, &rows,
                       "UPDATE assignment SET title=$1,passage=$2,how=$3,lesson=$4,rules=$5,"
                       "attend=$6,take=$7,stage=$8,due_ms=$9,withdrawn_ms=$10,"
                       "revision=revision+1 WHERE id=$11 AND revision=$12",
                       "tttttttiiiti", assignment->title, assignment->passage, assignment->how,
                       assignment->lesson, assignment->rules, assignment->attend, assignment->take,
                       (int64_t)assignment->stage, assignment->due_ms, assignment->withdrawn_ms,
                       assignment->id, assignment->revision);
    return store_changed(status, rows, "assignment", err);
}

enum mst_status mst_assignment_delete(struct mst_store *store, const char *id,
                                      struct mst_error *err)
{
    int64_t rows = 0;
    enum mst_status status =
        db_do(&store->db, err, &rows, "DELETE FROM assignment WHERE id=$1", "t", id);
    return status == MST_OK && rows == 0 ? store_no_such("assignment", id, err) : status;
}
