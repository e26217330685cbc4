/* people.c – who is in a class, and that recording them was agreed to. */
#include "store.h"

#include <mistara/classbook.h>

#define COLUMNS "id,class,role,label,note,language,voice,made_ms,left_ms,revision"

static void row(struct query *q, struct mst_arena *arena, void *place)
{
    struct mst_person *out = place;
    *out = (struct mst_person){.id = query_text(q, 0, arena),
                               .class_id = query_text(q, 1, arena),
                               .role = query_text(q, 2, arena),
                               .label = query_text(q, 3, arena),
                               .note = query_text(q, 4, arena),
                               .language = query_text(q, 5, arena),
                               .voice = query_text(q, 6, arena),
                               .made_ms = query_integer(q, 7),
                               .left_ms = query_integer(q, 8),
                               .revision = query_integer(q, 9)};
}

static enum mst_status sound(const struct mst_person *p, struct mst_error *err)
{
    enum mst_status status = store_one_of("role in a class", p->role, "assistant,learner", err);
    return status == MST_OK ? store_one_of("language", p->language, "en,ar", err) : status;
}

enum mst_status mst_person_add(struct mst_store *store, const struct mst_person *person,
                               char id[MST_ID_SIZE], struct mst_error *err)
{
    int64_t rows = 0;
    enum mst_status status = sound(person, err);
    if (status != MST_OK)
        return status;
    mst_store_new_id(id);
    status = db_do(&store->db, err, &rows,
                   "INSERT INTO person(id,class,role,label,note,language,voice,made_ms,left_ms,"
                   "revision) SELECT $1,id,$2,$3,$4,$5,$6,$7,0,1 FROM class WHERE id=$8",
                   "ttttttit", id, person->role, person->label, person->note, person->language,
                   person->voice, mst_store_now_ms(), person->class_id);
    return status == MST_OK && rows == 0 ? store_no_such("class", person->class_id, err) : status;
}

enum mst_status mst_person_get(struct mst_store *store, const char *id, struct mst_arena *arena,
                               struct mst_person *out, struct mst_error *err)
{
    struct query q =
        query_begin(&store->db, err, "SELECT " COLUMNS " FROM person WHERE id=$1", "t", id);
    return store_one(&q, row, arena, out, "person", id, err);
}

enum mst_status mst_person_list(struct mst_store *store, const char *class_id,
                                struct mst_arena *arena, struct mst_person **out, size_t *count,
                                struct mst_error *err)
{
    struct query q = query_begin(
        &store->db, err, "SELECT " COLUMNS " FROM person WHERE class=$1 ORDER BY label, number",
        "t", class_id);
    *out = query_rows(&q, sizeof **out, row, arena, count);
    return query_end(&q);
}

enum mst_status mst_person_put(struct mst_store *store, const struct mst_person *person,
                               struct mst_error *err)
{
    int64_t rows = 0;
    enum mst_status status = sound(person, err);
    if (status == MST_OK)
        status = db_begin(&store->db, err);
    if (status != MST_OK)
        return status;
    status = db_do(&store->db, err, &rows,
                   "UPDATE person SET role=$1,label=$2,note=$3,language=$4,voice=$5,left_ms=$6,"
                   "revision=revision+1 WHERE id=$7 AND revision=$8",
                   "tttttiti", person->role, person->label, person->note, person->language,
                   person->voice, person->left_ms, person->id, person->revision);
    status = store_changed(status, rows, "person", err);
    if (status == MST_OK && person->left_ms)
        status =
            db_do(&store->db, err, NULL, "DELETE FROM session WHERE person=$1", "t", person->id);
    return db_settle(&store->db, status, err);
}

/* --- consent --------------------------------------------------------------------- */

static enum mst_status withdraw(struct mst_store *store, const char *person, int64_t *rows,
                                struct mst_error *err)
{
    return db_do(&store->db, err, rows,
                 "UPDATE consent SET withdrawn_ms=$1 WHERE person=$2 AND withdrawn_ms=0", "it",
                 mst_store_now_ms(), person);
}

enum mst_status mst_consent_add(struct mst_store *store, const char *person, const char *words,
                                const char *by, struct mst_error *err)
{
    int64_t rows = 0;
    enum mst_status status = store_one_of("way of agreeing", by, "self,guardian,paper", err);
    if (status == MST_OK)
        status = db_begin(&store->db, err);
    if (status != MST_OK)
        return status;
    status = withdraw(store, person, NULL, err);
    if (status == MST_OK)
        status = db_do(&store->db, err, &rows,
                       "INSERT INTO consent(person,words,by,said_ms,withdrawn_ms) "
                       "SELECT id,$1,$2,$3,0 FROM person WHERE id=$4",
                       "ttit", words, by, mst_store_now_ms(), person);
    if (status == MST_OK && rows == 0)
        status = store_no_such("person", person, err);
    return db_settle(&store->db, status, err);
}

enum mst_status mst_consent_get(struct mst_store *store, const char *person,
                                struct mst_arena *arena, struct mst_consent *out,
                                struct mst_error *err)
{
    *out = (struct mst_consent){.words = "", .by = ""};
    struct query q = query_begin(&store->db, err,
                                 "SELECT words,by,said_ms,withdrawn_ms FROM consent "
                                 "WHERE person=$1 ORDER BY number DESC LIMIT 1",
                                 "t", person);
    if (query_row(&q))
        *out = (struct mst_consent){.words = query_text(&q, 0, arena),
                                    .by = query_text(&q, 1, arena),
                                    .said_ms = query_integer(&q, 2),
                                    .withdrawn_ms = query_integer(&q, 3)};
    return query_end(&q);
}

enum mst_status mst_consent_withdraw(struct mst_store *store, const char *person,
                                     struct mst_error *err)
{
    int64_t rows = 0;
    enum mst_status status = withdraw(store, person, &rows, err);
    return status == MST_OK && rows == 0
               ? mst_fail(err, MST_NOT_FOUND, "there is no consent to withdraw")
               : status;
}
