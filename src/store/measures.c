/* measures.c – what was heard in a submission, and what the teacher ruled on it. */
#include "store.h"

#include <mistara/classbook.h>

#define COLUMNS                                                                                    \
    "site,rule,letter,at,sura,verse,word,length,start_ms,end_ms,measured_counts,counts_low,"       \
    "counts_high,expected_counts,deviation,wrong,rank,skill,trust,told,fault,fault_ar"

static void row(struct query *q, struct mst_arena *arena, void *place)
{
    struct mst_site_measure *out = place;
    *out = (struct mst_site_measure){.site = (int)query_integer(q, 0),
                                     .rule = query_text(q, 1, arena),
                                     .letter = query_text(q, 2, arena),
                                     .at = query_text(q, 3, arena),
                                     .sura = (int)query_integer(q, 4),
                                     .verse = (int)query_integer(q, 5),
                                     .word = (int)query_integer(q, 6),
                                     .length = query_text(q, 7, arena),
                                     .start_ms = (int)query_integer(q, 8),
                                     .end_ms = (int)query_integer(q, 9),
                                     .measured_counts = query_real(q, 10),
                                     .counts_low = query_real(q, 11),
                                     .counts_high = query_real(q, 12),
                                     .expected_counts = query_real(q, 13),
                                     .deviation = query_real(q, 14),
                                     .wrong = query_real(q, 15),
                                     .rank = query_real(q, 16),
                                     .skill = (int)query_integer(q, 17),
                                     .trust = query_text(q, 18, arena),
                                     .told = query_text(q, 19, arena),
                                     .fault = query_text(q, 20, arena),
                                     .fault_ar = query_text(q, 21, arena),
                                     .ruling = query_text(q, 22, arena),
                                     .ruled_by = query_text(q, 23, arena),
                                     .ruled_ms = query_integer(q, 24),
                                     .sent_ruling = query_text(q, 25, arena)};
}

static enum mst_status insert(struct mst_store *store, const char *submission, int64_t site,
                              const struct mst_site_measure *m, struct mst_error *err)
{
    enum mst_status status = store_one_of("degree of trust", m->trust, "good,fair,none", err);
    if (status == MST_OK)
        status = store_one_of("telling", m->told, "right,short,long,fault,unsure", err);
    if (status != MST_OK)
        return status;
    return db_do(&store->db, err, NULL,
                 "INSERT INTO measure(submission," COLUMNS ") VALUES($1,$2,$3,$4,$5,$6,$7,$8,$9,"
                 "$10,$11,$12,$13,$14,$15,$16,$17,$18,$19,$20,$21,$22,$23)",
                 "tittt"
                 "iiitii"
                 "ddddddd"
                 "itttt",
                 submission, site, m->rule, m->letter, m->at, (int64_t)m->sura, (int64_t)m->verse,
                 (int64_t)m->word, m->length, (int64_t)m->start_ms, (int64_t)m->end_ms,
                 m->measured_counts, m->counts_low, m->counts_high, m->expected_counts,
                 m->deviation, m->wrong, m->rank, (int64_t)m->skill, m->trust, m->told, m->fault,
                 m->fault_ar);
}

enum mst_status mst_measures_put(struct mst_store *store, const char *submission,
                                 const struct mst_site_measure *rows, size_t count,
                                 struct mst_error *err)
{
    enum mst_status status = db_begin(&store->db, err);
    if (status != MST_OK)
        return status;
    /* The old ones step aside below 0 until their rulings are handed on. */
    status = db_do(&store->db, err, NULL, "UPDATE measure SET site=-1-site WHERE submission=$1",
                   "t", submission);
    for (size_t n = 0; n < count && status == MST_OK; n++)
        status = insert(store, submission, (int64_t)n, &rows[n], err);
#define RULED                                                                                      \
    "o.site<0 AND o.rule=measure.rule AND o.at=measure.at AND (o.ruling<>'' OR o.sent_ruling<>'')"
#define EARLIER(column)                                                                            \
    column "=(SELECT o." column " FROM measure o WHERE o.submission=measure.submission AND " RULED \
           " ORDER BY o.site DESC LIMIT 1)"
    if (status == MST_OK)
        status = db_do(
            &store->db, err, NULL,
            "UPDATE measure SET " EARLIER("ruling") "," EARLIER("ruled_by") "," EARLIER(
                "ruled_ms") "," EARLIER("sent_ruling") " WHERE submission=$1 AND site>=0 AND "
                                                       "EXISTS(SELECT 1 FROM measure o WHERE "
                                                       "o.submission=measure.submission AND " RULED
                                                       ")",
            "t", submission);
#undef EARLIER
#undef RULED
    if (status == MST_OK)
        status = db_do(&store->db, err, NULL, "DELETE FROM measure WHERE submission=$1 AND site<0",
                       "t", submission);
    return db_settle(&store->db, status, err);
}

enum mst_status mst_measures_get(struct mst_store *store, const char *submission,
                                 struct mst_arena *arena, struct mst_site_measure **out,
                                 size_t *count, struct mst_error *err)
{
    struct query q =
        query_begin(&store->db, err,
                    "SELECT " COLUMNS ",ruling,ruled_by,ruled_ms,sent_ruling FROM measure "
                    "WHERE submission=$1 ORDER BY rank DESC, site",
                    "t", submission);
    *out = query_rows(&q, sizeof **out, row, arena, count);
    return query_end(&q);
}

enum mst_status mst_ruling_put(struct mst_store *store, const char *submission, int site,
                               const char *ruling, const char *by, struct mst_error *err)
{
    int64_t rows = 0;
    enum mst_status status = MST_OK;
    if (*ruling)
        status = store_one_of("ruling", ruling, "agree,overrule", err);
    if (status == MST_OK)
        status = db_do(&store->db, err, &rows,
                       "UPDATE measure SET ruling=$1,ruled_by=$2,ruled_ms=$3 "
                       "WHERE submission=$4 AND site=$5",
                       "ttiti", ruling, *ruling ? by : "",
                       *ruling ? mst_store_now_ms() : (int64_t)0, submission, (int64_t)site);
    return status == MST_OK && rows == 0
               ? mst_fail(err, MST_NOT_FOUND, "there is no site %d in this submission", site)
               : status;
}

static void ruled_row(struct query *q, struct mst_arena *arena, void *place)
{
    struct mst_ruled *out = place;
    *out = (struct mst_ruled){.deviation = query_real(q, 0),
                              .told = query_text(q, 1, arena),
                              .ruling = query_text(q, 2, arena)};
}

enum mst_status mst_ruled_list(struct mst_store *store, const char *class_id,
                               struct mst_arena *arena, struct mst_ruled **out, size_t *count,
                               struct mst_error *err)
{
    struct query q = query_begin(&store->db, err,
                                 "SELECT m.deviation,m.told,m.ruling FROM submission s JOIN "
                                 "measure m ON m.submission=s.id WHERE s.class=$1 AND "
                                 "m.ruling<>'' AND m.told<>'fault' ORDER BY m.ruled_ms",
                                 "t", class_id);
    *out = query_rows(&q, sizeof **out, ruled_row, arena, count);
    return query_end(&q);
}

/* --- evidence ------------------------------------------------------------------------ */

static void heard_row(struct query *q, struct mst_arena *arena, void *place)
{
    struct mst_heard_place *out = place;
    *out = (struct mst_heard_place){.person = query_text(q, 0, arena),
                                    .submission = query_text(q, 1, arena),
                                    .rule = query_text(q, 2, arena),
                                    .letter = query_text(q, 3, arena),
                                    .at = query_text(q, 4, arena),
                                    .told = query_text(q, 5, arena),
                                    .ruling = query_text(q, 6, arena),
                                    .what = query_text(q, 7, arena),
                                    .sura = (int)query_integer(q, 8),
                                    .verse = (int)query_integer(q, 9),
                                    .word = (int)query_integer(q, 10),
                                    .skill = (int)query_integer(q, 11),
                                    .deviation = query_real(q, 12),
                                    .wrong = query_real(q, 13),
                                    .heard_ms = query_integer(q, 14),
                                    .sent_ruling = query_text(q, 15, arena)};
}

#define RECORDED                                                                                   \
    "SELECT s.person,s.id,m.rule,m.letter,m.at,m.told,m.ruling,'',m.sura,m.verse,m.word,m.skill,"  \
    "m.deviation,m.wrong,s.made_ms AS heard_ms,m.sent_ruling FROM submission s JOIN measure m "    \
    "ON m.submission=s.id WHERE s.state='heard' AND "
#define LIVE                                                                                       \
    "SELECT h.person,NULL,coalesce(h.rule,''),'',h.at,'','',h.what,h.sura,h.verse,h.word,0,0.0,"   \
    "0.0,h.made_ms AS heard_ms,'' FROM hearing h WHERE h.undone=0 AND "

enum mst_status mst_evidence_list(struct mst_store *store, const char *class_id, const char *person,
                                  struct mst_arena *arena, struct mst_heard_place **out,
                                  size_t *count, struct mst_error *err)
{
    struct query q =
        person ? query_begin(&store->db, err,
                             RECORDED "s.person=$1 UNION ALL " LIVE "h.person=$2 ORDER BY heard_ms",
                             "tt", person, person)
               : query_begin(&store->db, err,
                             RECORDED "s.class=$1 AND s.person IS NOT NULL UNION ALL " LIVE
                                      "h.person IN (SELECT id FROM person WHERE class=$2) "
                                      "ORDER BY heard_ms",
                             "tt", class_id, class_id);
    *out = query_rows(&q, sizeof **out, heard_row, arena, count);
    return query_end(&q);
}
