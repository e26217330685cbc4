/*
 * mentions.c – whose ids each job says, in what it is about, what it was told
 * and what came of it: when someone leaves, the jobs that say their ids go too,
 * and are found without reading all the jobs of a school.
 *
 * An id is a word of its own in a job's text: sixteen of the letters that ids
 * are made of, with none of them before or after.
 */
#include "store.h"

enum { FILLED_AT_ONCE = 500 };

static int is_letter(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9');
}

enum mst_status store_mention(struct mst_store *store, const char *job, const char *text,
                              struct mst_error *err)
{
    enum mst_status status = MST_OK;
    for (const char *at = text ? text : ""; *at && status == MST_OK;) {
        size_t len = 0;
        char id[MST_ID_SIZE] = "";
        while (is_letter(at[len]))
            len++;
        if (len == MST_ID_SIZE - 1)
            memcpy(id, at, len);
        if (mst_store_is_id(id))
            status = db_do(&store->db, err, NULL,
                           "INSERT INTO mention(id,job) VALUES($1,$2) ON CONFLICT DO NOTHING", "tt",
                           id, job);
        at += len ? len : 1;
    }
    return status;
}

struct told {
    int64_t number;
    const char *id, *texts[3];
};

static void told_row(struct query *q, struct mst_arena *arena, void *place)
{
    struct told *out = place;
    *out = (struct told){.number = query_integer(q, 0), .id = query_text(q, 1, arena)};
    for (int n = 0; n < 3; n++)
        out->texts[n] = query_text(q, 2 + n, arena);
}

/* So many at once, and all of what was looked through as one: a crash loses none. */
static enum mst_status fill_some(struct mst_store *store, struct mst_arena *arena, size_t *count,
                                 struct mst_error *err)
{
    enum mst_status status = db_begin(&store->db, err);
    if (status != MST_OK)
        return status;
    struct query q = query_begin(&store->db, err,
                                 "SELECT number,id,about,input,result FROM job WHERE mentioned=0 "
                                 "ORDER BY number LIMIT $1",
                                 "i", (int64_t)FILLED_AT_ONCE);
    struct told *jobs = query_rows(&q, sizeof *jobs, told_row, arena, count);
    status = query_end(&q);
    for (size_t n = 0; n < *count && status == MST_OK; n++)
        for (int text = 0; text < 3 && status == MST_OK; text++)
            status = store_mention(store, jobs[n].id, jobs[n].texts[text], err);
    if (status == MST_OK && *count > 0)
        status = db_do(&store->db, err, NULL,
                       "UPDATE job SET mentioned=1 WHERE mentioned=0 AND number<=$1", "i",
                       jobs[*count - 1].number);
    return db_settle(&store->db, status, err);
}

enum mst_status store_mentions_fill(struct mst_store *store, struct mst_error *err)
{
    struct mst_arena *arena = mst_arena_new(0);
    enum mst_status status = arena ? MST_OK : store_no_memory(err);
    for (size_t count = 1; status == MST_OK && count > 0;) {
        /* Of several desks that open a book of before, one does it and the others wait. */
        status = fill_some(store, arena, &count, err);
        if (status == MST_OK)
            mst_arena_reset(arena);
    }
    mst_arena_free(arena);
    return status;
}
