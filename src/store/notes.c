/* notes.c – what the teacher answers, written or spoken. */
#include "store.h"

#include <mistara/classbook.h>

#define COLUMNS "id,submission,at,text,hash,type,by,bytes,made_ms"

static void row(struct query *q, struct mst_arena *arena, void *place)
{
    struct mst_note *out = place;
    *out = (struct mst_note){.id = query_text(q, 0, arena),
                             .submission = query_text(q, 1, arena),
                             .at = query_text(q, 2, arena),
                             .text = query_text(q, 3, arena),
                             .hash = query_text(q, 4, arena),
                             .type = query_text(q, 5, arena),
                             .by = query_text(q, 6, arena),
                             .bytes = query_integer(q, 7),
                             .made_ms = query_integer(q, 8),
                             .sent = (int)query_integer(q, 9)};
}

enum mst_status mst_note_add(struct mst_store *store, const struct mst_note *note,
                             char id[MST_ID_SIZE], struct mst_error *err)
{
    int64_t rows = 0;
    mst_store_new_id(id);
    enum mst_status status = db_begin(&store->db, err);
    if (status != MST_OK)
        return status;
    status = db_do(&store->db, err, &rows,
                   "INSERT INTO note(" COLUMNS ") SELECT $1,id,$2,$3,$4,$5,$6,$7,$8 "
                   "FROM submission WHERE id=$9",
                   "ttttttiit", id, note->at, note->text, note->hash, note->type, note->by,
                   note->bytes, mst_store_now_ms(), note->submission);
    if (status == MST_OK && rows == 0)
        status = store_no_such("submission", note->submission, err);
    if (status == MST_OK && note->hash)
        status = store_sound_named(store, note->hash, err);
    return db_settle(&store->db, status, err);
}

enum mst_status mst_note_get(struct mst_store *store, const char *id, struct mst_arena *arena,
                             struct mst_note *out, struct mst_error *err)
{
    struct query q =
        query_begin(&store->db, err, "SELECT " COLUMNS ",sent FROM note WHERE id=$1", "t", id);
    return store_one(&q, row, arena, out, "note", id, err);
}

enum mst_status mst_note_list(struct mst_store *store, const char *submission,
                              struct mst_arena *arena, struct mst_note **out, size_t *count,
                              struct mst_error *err)
{
    struct query q = query_begin(
        &store->db, err, "SELECT " COLUMNS ",sent FROM note WHERE submission=$1 ORDER BY number",
        "t", submission);
    *out = query_rows(&q, sizeof **out, row, arena, count);
    return query_end(&q);
}

enum mst_status mst_note_delete(struct mst_store *store, const char *id, struct mst_error *err)
{
    struct query q =
        query_begin(&store->db, err, "DELETE FROM note WHERE id=$1 RETURNING hash", "t", id);
    return store_sound_let_go(store, &q, "note", id, err);
}
