/* hearings.c – what a teacher noticed while someone recited live. */
#include "store.h"

#define COLUMNS "id,at,what,note,who,rule,made_ms,sura,verse,word,undone,person"
enum { MOST = 1000 };

static void row(struct query *q, struct mst_arena *arena, struct mst_live_hearing *out)
{
    *out = (struct mst_live_hearing){.id = query_text(q, 0, arena),
                                     .at = query_text(q, 1, arena),
                                     .what = query_text(q, 2, arena),
                                     .note = query_text(q, 3, arena),
                                     .who = query_text(q, 4, arena),
                                     .rule = query_text(q, 5, arena),
                                     .made_ms = query_integer(q, 6),
                                     .sura = (int)query_integer(q, 7),
                                     .verse = (int)query_integer(q, 8),
                                     .word = (int)query_integer(q, 9),
                                     .undone = (int)query_integer(q, 10),
                                     .person = query_text(q, 11, arena)};
}

static enum mst_status no_such(const char *id, struct mst_error *err)
{
    return mst_fail(err, MST_NOT_FOUND, "there is no hearing “%.40s”", id);
}

enum mst_status mst_store_hearing_add(struct mst_store *store,
                                      const struct mst_live_hearing *hearing, char id[MST_ID_SIZE],
                                      struct mst_error *err)
{
    mst_store_new_id(id);
    return db_do(&store->db, err, NULL,
                 "INSERT INTO hearing(" COLUMNS ") VALUES($1,$2,$3,$4,$5,$6,$7,$8,$9,$10,$11,$12)",
                 "ttttttiiiiit", id, hearing->at, hearing->what, hearing->note, hearing->who,
                 hearing->rule, mst_store_now_ms(), (int64_t)hearing->sura, (int64_t)hearing->verse,
                 (int64_t)hearing->word, (int64_t)hearing->undone, hearing->person);
}

enum mst_status mst_store_hearing_get(struct mst_store *store, const char *id,
                                      struct mst_arena *arena, struct mst_live_hearing *out,
                                      struct mst_error *err)
{
    struct query q =
        query_begin(&store->db, err, "SELECT " COLUMNS " FROM hearing WHERE id=$1", "t", id);
    int found = query_row(&q);
    if (found)
        row(&q, arena, out);
    enum mst_status status = query_end(&q);
    return status == MST_OK && !found ? no_such(id, err) : status;
}

enum mst_status mst_store_hearing_list(struct mst_store *store,
                                       const struct mst_hearing_filter *filter,
                                       struct mst_arena *arena, struct mst_live_hearing **out,
                                       size_t *count, struct mst_error *err)
{
    struct mst_live_hearing *rows = mst_arena_alloc(arena, MOST, sizeof *rows);
    *out = rows;
    *count = 0;
    if (!rows)
        return store_no_memory(err);
    /* An address as one number: a sura has at most 286 verses. */
    struct query q =
        query_begin(&store->db, err,
                    "SELECT " COLUMNS " FROM hearing WHERE made_ms>=$1 AND ($2=0 OR "
                    "(sura*1000+verse BETWEEN $3 AND $4)) AND ($5='' OR person=$6) "
                    "ORDER BY number DESC LIMIT 1000",
                    "iiiitt", filter->since_ms, (int64_t)filter->first_sura,
                    (int64_t)filter->first_sura * 1000 + filter->first_verse,
                    (int64_t)filter->last_sura * 1000 + filter->last_verse,
                    filter->person ? filter->person : "", filter->person ? filter->person : "");
    while (query_row(&q) && *count < MOST)
        row(&q, arena, &rows[(*count)++]);
    return query_end(&q);
}

enum mst_status mst_store_hearing_put(struct mst_store *store,
                                      const struct mst_live_hearing *hearing, struct mst_error *err)
{
    int64_t changed = 0;
    enum mst_status status =
        db_do(&store->db, err, &changed,
              "UPDATE hearing SET what=$1,note=$2,who=$3,undone=$4,person=$5 WHERE id=$6", "tttitt",
              hearing->what, hearing->note, hearing->who, (int64_t)hearing->undone, hearing->person,
              hearing->id);
    return status == MST_OK && changed == 0 ? no_such(hearing->id, err) : status;
}

enum mst_status mst_store_hearing_delete(struct mst_store *store, const char *id,
                                         struct mst_error *err)
{
    int64_t changed = 0;
    enum mst_status status =
        db_do(&store->db, err, &changed, "DELETE FROM hearing WHERE id=$1", "t", id);
    return status == MST_OK && changed == 0 ? no_such(id, err) : status;
}
