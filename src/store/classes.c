/* classes.c – classes as rows. */
#include "store.h"

#include <mistara/classbook.h>

#define COLUMNS                                                                                    \
    "id,name,language,consent,limits,retention_days,made_ms,closed_ms,revision,"                   \
    "(SELECT count(*) FROM person p WHERE p.class=class.id AND p.role='learner' AND p.left_ms=0)," \
    "(SELECT count(*) FROM submission s WHERE s.class=class.id AND s.state='heard' AND "           \
    "s.sent_ms=0 "                                                                                 \
    "AND s.person IS NOT NULL)"

static void row(struct query *q, struct mst_arena *arena, void *place)
{
    struct mst_class *out = place;
    *out = (struct mst_class){.id = query_text(q, 0, arena),
                              .name = query_text(q, 1, arena),
                              .language = query_text(q, 2, arena),
                              .consent = query_text(q, 3, arena),
                              .limits = query_text(q, 4, arena),
                              .retention_days = (int)query_integer(q, 5),
                              .made_ms = query_integer(q, 6),
                              .closed_ms = query_integer(q, 7),
                              .revision = query_integer(q, 8),
                              .learners = (int)query_integer(q, 9),
                              .unsent = (int)query_integer(q, 10)};
}

static enum mst_status sound(const struct mst_class *c, struct mst_error *err)
{
    if (c->retention_days < 0 || c->retention_days > 36500)
        return mst_fail(err, MST_USAGE,
                        "recordings are kept for 1 to 36500 days, or for good (0); “%d” given",
                        c->retention_days);
    return store_one_of("language of a class", c->language, "en,ar", err);
}

enum mst_status mst_class_add(struct mst_store *store, const struct mst_class *made,
                              char id[MST_ID_SIZE], struct mst_error *err)
{
    enum mst_status status = sound(made, err);
    if (status != MST_OK)
        return status;
    mst_store_new_id(id);
    return db_do(&store->db, err, NULL,
                 "INSERT INTO class(id,name,language,consent,limits,retention_days,made_ms,"
                 "closed_ms,revision) VALUES($1,$2,$3,$4,$5,$6,$7,0,1)",
                 "tttttii", id, made->name, made->language, made->consent, made->limits,
                 (int64_t)made->retention_days, mst_store_now_ms());
}

enum mst_status mst_class_get(struct mst_store *store, const char *id, struct mst_arena *arena,
                              struct mst_class *out, struct mst_error *err)
{
    struct query q =
        query_begin(&store->db, err, "SELECT " COLUMNS " FROM class WHERE id=$1", "t", id);
    return store_one(&q, row, arena, out, "class", id, err);
}

enum mst_status mst_class_list(struct mst_store *store, struct mst_arena *arena,
                               struct mst_class **out, size_t *count, struct mst_error *err)
{
    struct query q =
        query_begin(&store->db, err, "SELECT " COLUMNS " FROM class ORDER BY number DESC", "");
    *out = query_rows(&q, sizeof **out, row, arena, count);
    return query_end(&q);
}

enum mst_status mst_class_put(struct mst_store *store, const struct mst_class *changed,
                              struct mst_error *err)
{
    int64_t rows = 0;
    enum mst_status status = sound(changed, err);
    if (status == MST_OK)
        status = db_do(&store->db, err, &rows,
                       "UPDATE class SET name=$1,language=$2,consent=$3,limits=$4,"
                       "retention_days=$5,closed_ms=$6,revision=revision+1 "
                       "WHERE id=$7 AND revision=$8",
                       "ttttiiti", changed->name, changed->language, changed->consent,
                       changed->limits, (int64_t)changed->retention_days, changed->closed_ms,
                       changed->id, changed->revision);
    return store_changed(status, rows, "class", err);
}
