/* documents.c – lessons and the course, as texts that know how often they were saved. */
#include "store.h"

#define COLUMNS "id,kind,title,made_ms,changed_ms,revision,problems"

static void row(struct query *q, struct mst_arena *arena, struct mst_document *out)
{
    *out = (struct mst_document){.id = query_text(q, 0, arena),
                                 .kind = query_text(q, 1, arena),
                                 .title = query_text(q, 2, arena),
                                 .made_ms = query_integer(q, 3),
                                 .changed_ms = query_integer(q, 4),
                                 .revision = query_integer(q, 5),
                                 .problems = (int)query_integer(q, 6)};
}

static enum mst_status no_such(const char *kind, const char *id, struct mst_error *err)
{
    return mst_fail(err, MST_NOT_FOUND, "there is no %s “%.40s”", kind, id);
}

enum mst_status mst_store_document_add(struct mst_store *store, const struct mst_document *document,
                                       char id[MST_ID_SIZE], struct mst_error *err)
{
    mst_store_new_id(id);
    const char *chosen = document->id ? document->id : id;
    return db_do(&store->db, err, NULL,
                 "INSERT INTO document(id,kind,title,text,made_ms,changed_ms,revision,problems) "
                 "VALUES($1,$2,$3,$4,$5,$6,1,$7)",
                 "ttttiii", chosen, document->kind, document->title, document->text,
                 mst_store_now_ms(), mst_store_now_ms(), (int64_t)document->problems);
}

enum mst_status mst_store_document_get(struct mst_store *store, const char *kind, const char *id,
                                       struct mst_arena *arena, struct mst_document *out,
                                       struct mst_error *err)
{
    struct query q = query_begin(&store->db, err,
                                 "SELECT " COLUMNS ",text FROM document WHERE kind=$1 AND id=$2",
                                 "tt", kind, id);
    int found = query_row(&q);
    if (found) {
        row(&q, arena, out);
        out->text = query_text(&q, 7, arena);
    }
    enum mst_status status = query_end(&q);
    return status == MST_OK && !found ? no_such(kind, id, err) : status;
}

enum mst_status mst_store_document_list(struct mst_store *store, const char *kind,
                                        struct mst_arena *arena, struct mst_document **out,
                                        size_t *count, struct mst_error *err)
{
    size_t room = 0;
    *out = NULL;
    *count = 0;
    struct query q = query_begin(&store->db, err,
                                 "SELECT " COLUMNS ",count(*) OVER () FROM document WHERE kind=$1 "
                                 "ORDER BY changed_ms DESC, number DESC",
                                 "t", kind);
    while (query_row(&q)) {
        if (!*out) {
            room = (size_t)query_integer(&q, 7);
            *out = mst_arena_alloc(arena, room, sizeof **out);
        }
        if (!*out || *count == room) {
            q.status = store_no_memory(err);
            break;
        }
        row(&q, arena, &(*out)[(*count)++]);
    }
    return query_end(&q);
}

enum mst_status mst_store_document_put(struct mst_store *store, const struct mst_document *document,
                                       struct mst_error *err)
{
    int64_t changed = 0;
    enum mst_status status =
        db_do(&store->db, err, &changed,
              "UPDATE document SET title=$1,text=$2,changed_ms=$3,problems=$4,"
              "revision=revision+1 WHERE kind=$5 AND id=$6 AND revision=$7",
              "ttiitti", document->title, document->text, mst_store_now_ms(),
              (int64_t)document->problems, document->kind, document->id, document->revision);
    if (status == MST_OK && changed == 0)
        status = mst_fail(err, MST_MISMATCH,
                          "it was saved elsewhere in between; look at that version first");
    return status;
}

enum mst_status mst_store_document_delete(struct mst_store *store, const char *kind, const char *id,
                                          struct mst_error *err)
{
    int64_t changed = 0;
    enum mst_status status = db_do(&store->db, err, &changed,
                                   "DELETE FROM document WHERE kind=$1 AND id=$2", "tt", kind, id);
    return status == MST_OK && changed == 0 ? no_such(kind, id, err) : status;
}

enum mst_status mst_store_voice_put(struct mst_store *store, const char *name, const char *takes,
                                    struct mst_error *err)
{
    return db_do(&store->db, err, NULL,
                 "INSERT INTO voice(name,takes,made_ms) VALUES($1,$2,$3) ON CONFLICT(name) "
                 "DO UPDATE SET takes=excluded.takes,made_ms=excluded.made_ms",
                 "tti", name, takes, mst_store_now_ms());
}

enum mst_status mst_store_voice_get(struct mst_store *store, const char *name,
                                    struct mst_arena *arena, struct mst_kept_voice *out,
                                    struct mst_error *err)
{
    *out = (struct mst_kept_voice){.name = name, .takes = "[]"};
    struct query q =
        query_begin(&store->db, err, "SELECT takes,made_ms FROM voice WHERE name=$1", "t", name);
    if (query_row(&q)) {
        out->takes = query_text(&q, 0, arena);
        out->made_ms = query_integer(&q, 1);
    }
    return query_end(&q);
}

enum mst_status mst_store_voice_delete(struct mst_store *store, const char *name,
                                       struct mst_error *err)
{
    return db_do(&store->db, err, NULL, "DELETE FROM voice WHERE name=$1", "t", name);
}
