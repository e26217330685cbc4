/*
 * leaving.c – a person, a class, a submission or a recording goes: first what
 * files that means is written down, then the rows go, all as one; then the
 * files go, and what was deleted is wiped from the database file.
 */
#include "store.h"

#include <mistara/classbook.h>
#include <stdio.h>

/* Whom it is about, each as a question with one parameter. Takes are the recordings. */
struct scope {
    const char *people, *submissions, *takes;
};

static const struct scope one_person = {.people = "SELECT id FROM person WHERE id=$1",
                                        .submissions = "SELECT id FROM submission WHERE person=$1",
                                        .takes = "SELECT id FROM take WHERE person=$1 UNION "
                                                 "SELECT take FROM submission WHERE person=$1 "
                                                 "AND take IS NOT NULL"};
static const struct scope one_class = {
    .people = "SELECT id FROM person WHERE class=$1",
    .submissions = "SELECT id FROM submission WHERE class=$1",
    .takes = "SELECT id FROM take WHERE person IN (SELECT id FROM person WHERE class=$1) UNION "
             "SELECT take FROM submission WHERE class=$1 AND take IS NOT NULL"};
static const struct scope one_submission = {
    .people = "SELECT id FROM person WHERE id=$1 AND 1=0",
    .submissions = "SELECT id FROM submission WHERE id=$1",
    .takes = "SELECT take AS id FROM submission WHERE id=$1 AND take IS NOT NULL"};
static const struct scope one_recording = {.people = "SELECT id FROM person WHERE id=$1 AND 1=0",
                                           .submissions =
                                               "SELECT id FROM submission WHERE id=$1 AND 1=0",
                                           .takes = "SELECT id FROM take WHERE id=$1"};

/* What was done on their recordings, or says their ids; the files it made carry their sound. A
 * class's own work may show any of its learners. */
static char *jobs_of(const struct scope *scope, struct mst_arena *arena)
{
    char *listening = mst_arena_printf(
        arena, "SELECT job FROM take WHERE job IS NOT NULL AND id IN (%s)", scope->takes);
    return listening
               ? mst_arena_printf(
                     arena,
                     "SELECT job AS id FROM mention WHERE id IN (%s UNION ALL %s UNION ALL %s "
                     "UNION ALL SELECT id FROM upload WHERE person IN (%s) "
                     "UNION ALL SELECT class FROM person WHERE id IN (%s) UNION ALL %s) UNION %s",
                     scope->people, scope->submissions, scope->takes, scope->people, scope->people,
                     listening, listening)
               : NULL;
}

static enum mst_status doom_files(struct mst_store *store, const struct scope *scope,
                                  const char *jobs, const char *id, struct mst_arena *arena,
                                  struct mst_error *err)
{
    const char *const files[] = {
        mst_arena_printf(arena, "SELECT 'sound/' || hash AS path FROM take WHERE id IN (%s)",
                         scope->takes),
        mst_arena_printf(arena,
                         "SELECT 'sound/' || hash AS path FROM note WHERE hash IS NOT NULL AND "
                         "submission IN (%s)",
                         scope->submissions),
        mst_arena_printf(arena, "SELECT 'reports/' || id AS path FROM take WHERE id IN (%s)",
                         scope->takes),
        mst_arena_printf(arena, "SELECT 'work/' || id AS path FROM job WHERE id IN (%s)", jobs),
        mst_arena_printf(arena, "SELECT 'uploads/' || id AS path FROM upload WHERE person IN (%s)",
                         scope->people),
        mst_arena_printf(arena,
                         "SELECT 'voices/' || voice AS path FROM person WHERE voice IS NOT NULL "
                         "AND id IN (%s) AND voice NOT IN (SELECT o.voice FROM person o WHERE "
                         "o.voice IS NOT NULL AND o.id NOT IN (%s))",
                         scope->people, scope->people),
    };
    enum mst_status status = MST_OK;
    for (size_t n = 0; n < sizeof files / sizeof files[0] && status == MST_OK; n++)
        status = files[n] ? store_doom(store, err, files[n], id) : store_no_memory(err);
    return status;
}

/* What the head says, for what a question of the scope finds; the question may say $1
 * (NULL: memory ran out). */
static enum mst_status each(struct mst_store *store, struct mst_arena *arena, const char *id,
                            int64_t *rows, struct mst_error *err, const char *head,
                            const char *question)
{
    const char *sql = question ? mst_arena_printf(arena, "%s (%s)", head, question) : NULL;
    return sql ? db_do(&store->db, err, rows, sql, "t", id) : store_no_memory(err);
}

struct took {
    int64_t recordings, submissions, measures, notes, hearings, jobs;
};

/* Inside a transaction. The rows that hang on a person or a submission go with it by themselves;
 * here goes what only mentions them. */
static enum mst_status take_away(struct mst_store *store, const struct scope *scope, const char *id,
                                 struct took *took, struct mst_arena *arena, struct mst_error *err)
{
    const char *jobs = jobs_of(scope, arena);
    if (!jobs)
        return store_no_memory(err);
    enum mst_status status = doom_files(store, scope, jobs, id, arena, err);
    if (status == MST_OK)
        status = each(store, arena, id, &took->jobs, err, "DELETE FROM job WHERE id IN", jobs);
    if (status == MST_OK)
        status = each(store, arena, id, NULL, err,
                      "DELETE FROM voice WHERE name IN (SELECT substr(path,8) FROM doomed WHERE "
                      "path LIKE 'voices/%') AND name IN (SELECT voice FROM person WHERE voice IS "
                      "NOT NULL AND id IN",
                      mst_arena_printf(arena, "%s)", scope->people));
    /* Someone else's voice note may have been taken for theirs. */
    if (status == MST_OK)
        status = each(store, arena, id, NULL, err,
                      "UPDATE submission SET proposal=NULL WHERE proposal IS NOT NULL AND "
                      "EXISTS(SELECT 1 FROM person p "
                      "WHERE submission.proposal LIKE '%' || p.id || '%' AND p.id IN",
                      mst_arena_printf(arena, "%s)", scope->people));
    /* Noted by name before they had a row of their own; where two have one name it stays. */
    if (status == MST_OK)
        status = each(store, arena, id, NULL, err,
                      "UPDATE hearing SET who='' WHERE person IS NULL AND who<>'' AND who NOT IN "
                      "(SELECT o.label FROM person o GROUP BY o.label HAVING count(*)>1) AND who "
                      "IN (SELECT label FROM person WHERE id IN",
                      mst_arena_printf(arena, "%s)", scope->people));
    const struct {
        int64_t *rows;
        const char *head, *question;
    } rows[] = {
        {&took->hearings, "DELETE FROM hearing WHERE person IN", scope->people},
        {&took->measures, "DELETE FROM measure WHERE submission IN", scope->submissions},
        {&took->notes, "DELETE FROM note WHERE submission IN", scope->submissions},
        {&took->recordings, "DELETE FROM take WHERE id IN", scope->takes},
        {&took->submissions, "DELETE FROM submission WHERE id IN", scope->submissions},
    };
    for (size_t n = 0; n < sizeof rows / sizeof rows[0] && status == MST_OK; n++)
        status = each(store, arena, id, rows[n].rows, err, rows[n].head, rows[n].question);
    return status;
}

/* --- receipts ------------------------------------------------------------------------- */

static enum mst_status receipt_write(struct mst_store *store, const char *person,
                                     const struct took *took, char id[MST_ID_SIZE],
                                     struct mst_error *err)
{
    struct mst_string counts = {0}, names = {0};
    struct mst_arena *arena = mst_arena_new(0);
    mst_string_addf(&counts,
                    "{\"recordings\":%lld,\"submissions\":%lld,\"measures\":%lld,\"notes\":%lld,"
                    "\"hearings\":%lld,\"jobs\":%lld}",
                    (long long)took->recordings, (long long)took->submissions,
                    (long long)took->measures, (long long)took->notes, (long long)took->hearings,
                    (long long)took->jobs);
    mst_string_adds(&names, "[");
    struct query q = query_begin(&store->db, err,
                                 "SELECT name FROM backup WHERE bytes=0 OR made_ms>="
                                 "(SELECT made_ms FROM person WHERE id=$1) ORDER BY number",
                                 "t", person);
    while (arena && query_row(&q)) {
        const char *name = query_text(&q, 0, arena);
        if (names.len > 1)
            mst_string_adds(&names, ",");
        if (name)
            mst_string_add_json(&names, name, strlen(name));
    }
    enum mst_status status = query_end(&q);
    mst_string_adds(&names, "]");
    if (status == MST_OK && (!arena || counts.failed || names.failed))
        status = store_no_memory(err);
    mst_store_new_id(id);
    if (status == MST_OK)
        status = db_do(&store->db, err, NULL,
                       "INSERT INTO receipt(id,person,made_ms,took,backups) "
                       "VALUES($1,$2,$3,$4,$5)",
                       "ttitt", id, person, mst_store_now_ms(), counts.ptr, names.ptr);
    mst_string_free(&counts);
    mst_string_free(&names);
    mst_arena_free(arena);
    return status;
}

static void receipt_row(struct query *q, struct mst_arena *arena, void *place)
{
    struct mst_receipt *out = place;
    *out = (struct mst_receipt){.id = query_text(q, 0, arena),
                                .person = query_text(q, 1, arena),
                                .took = query_text(q, 2, arena),
                                .backups = query_text(q, 3, arena),
                                .made_ms = query_integer(q, 4)};
}

enum mst_status mst_receipt_list(struct mst_store *store, struct mst_arena *arena,
                                 struct mst_receipt **out, size_t *count, struct mst_error *err)
{
    struct query q =
        query_begin(&store->db, err,
                    "SELECT id,person,took,backups,made_ms FROM receipt ORDER BY number DESC", "");
    *out = query_rows(&q, sizeof **out, receipt_row, arena, count);
    return query_end(&q);
}

/* --- who and what can go ----------------------------------------------------------------- */

static enum mst_status person_away(struct mst_store *store, const char *id,
                                   char receipt[MST_ID_SIZE], struct mst_arena *arena,
                                   struct mst_error *err)
{
    struct took took = {0};
    int64_t rows = 0;
    /* What someone hands in for them meanwhile waits, and then finds them gone. */
    enum mst_status status = store_row_lock(store, "person", id, err);
    if (status == MST_OK)
        status = take_away(store, &one_person, id, &took, arena, err);
    if (status == MST_OK)
        status = receipt_write(store, id, &took, receipt, err);
    if (status == MST_OK)
        status = db_do(&store->db, err, &rows, "DELETE FROM person WHERE id=$1", "t", id);
    if (status == MST_OK && rows == 0)
        status = store_no_such("person", id, err);
    if (status == MST_OK)
        status = store_doom(store, err, "SELECT 'scrub' AS path", NULL);
    return status;
}

enum mst_status mst_person_delete(struct mst_store *store, const char *id, struct mst_arena *arena,
                                  struct mst_receipt *out, struct mst_error *err)
{
    char receipt[MST_ID_SIZE];
    enum mst_status status = db_begin(&store->db, err);
    if (status != MST_OK)
        return status;
    status = person_away(store, id, receipt, arena, err);
    status = db_settle(&store->db, status, err);
    if (status == MST_OK)
        status = store_doomed_work_off(store, 0, err);
    if (status != MST_OK)
        return status;
    struct query q =
        query_begin(&store->db, err,
                    "SELECT id,person,took,backups,made_ms FROM receipt WHERE id=$1", "t", receipt);
    return store_one(&q, receipt_row, arena, out, "receipt", receipt, err);
}

struct one_id {
    const char *id;
};
static void id_row(struct query *q, struct mst_arena *arena, void *place)
{
    ((struct one_id *)place)->id = query_text(q, 0, arena);
}

enum mst_status mst_class_delete(struct mst_store *store, const char *id, struct mst_error *err)
{
    struct mst_arena *arena = mst_arena_new(0);
    if (!arena)
        return store_no_memory(err);
    struct took took = {0};
    char receipt[MST_ID_SIZE];
    size_t count = 0;
    int64_t rows = 0;
    enum mst_status status = db_begin(&store->db, err);
    if (status != MST_OK) {
        mst_arena_free(arena);
        return status;
    }
    status = store_row_lock(store, "class", id, err);
    struct query q = query_begin(&store->db, err, "SELECT id FROM person WHERE class=$1", "t", id);
    struct one_id *people = query_rows(&q, sizeof *people, id_row, arena, &count);
    enum mst_status listed = query_end(&q);
    if (status == MST_OK)
        status = listed;
    for (size_t n = 0; n < count && status == MST_OK; n++)
        status = person_away(store, people[n].id, receipt, arena, err);
    if (status == MST_OK)
        status = take_away(store, &one_class, id, &took, arena, err);
    if (status == MST_OK)
        status = db_do(&store->db, err, &rows, "DELETE FROM class WHERE id=$1", "t", id);
    if (status == MST_OK && rows == 0)
        status = store_no_such("class", id, err);
    if (status == MST_OK)
        status = store_doom(store, err, "SELECT 'scrub' AS path", NULL);
    status = db_settle(&store->db, status, err);
    if (status == MST_OK)
        status = store_doomed_work_off(store, 0, err);
    mst_arena_free(arena);
    return status;
}

/* Written back and cut at once; every page anew, which takes long in a large book, the next time
 * that somebody leaves, or that what has had its time goes: once a day. */
static enum mst_status wipe(struct mst_store *store, struct mst_error *err)
{
    int done;
    enum mst_status status = store_scrub(store, 0, &done, err);
    return status == MST_OK ? store_doom(store, err, "SELECT 'scrub/day' AS path", NULL) : status;
}

enum mst_status mst_submission_delete(struct mst_store *store, const char *id,
                                      struct mst_error *err)
{
    struct mst_arena *arena = mst_arena_new(0);
    if (!arena)
        return store_no_memory(err);
    struct took took = {0};
    enum mst_status status = db_begin(&store->db, err);
    if (status == MST_OK) {
        status = take_away(store, &one_submission, id, &took, arena, err);
        if (status == MST_OK && took.submissions == 0)
            status = store_no_such("submission", id, err);
        status = db_settle(&store->db, status, err);
    }
    if (status == MST_OK)
        status = store_doomed_work_off(store, 0, err);
    if (status == MST_OK)
        status = wipe(store, err);
    mst_arena_free(arena);
    return status;
}

/* --- what is kept only so long ------------------------------------------------------------- */

enum { UPLOAD_DAYS = 14 };
static const int64_t day_ms = 24LL * 60 * 60 * 1000;

/* The recording of a submission with what was spoken in answer: sound goes, words stay. */
static enum mst_status recording_away(struct mst_store *store, const char *take,
                                      struct mst_arena *arena, struct mst_error *err)
{
    struct took took = {0};
    enum mst_status status = db_begin(&store->db, err);
    if (status != MST_OK)
        return status;
    status = store_doom(store, err,
                        "SELECT 'sound/' || n.hash AS path FROM note n JOIN submission s ON "
                        "s.id=n.submission WHERE n.hash IS NOT NULL AND s.take=$1",
                        take);
    if (status == MST_OK)
        status = db_do(&store->db, err, NULL,
                       "DELETE FROM note WHERE hash IS NOT NULL AND text='' AND submission IN "
                       "(SELECT id FROM submission WHERE take=$1)",
                       "t", take);
    if (status == MST_OK)
        status = db_do(&store->db, err, NULL,
                       "UPDATE note SET hash=NULL,type='',bytes=0 WHERE hash IS NOT NULL AND "
                       "submission IN (SELECT id FROM submission WHERE take=$1)",
                       "t", take);
    if (status == MST_OK)
        status = take_away(store, &one_recording, take, &took, arena, err);
    return db_settle(&store->db, status, err);
}

enum mst_status mst_retention_run(struct mst_store *store, int64_t now_ms, int *gone,
                                  struct mst_error *err)
{
    struct mst_arena *arena = mst_arena_new(0);
    size_t count = 0, uploads = 0;
    *gone = 0;
    if (!arena)
        return store_no_memory(err);
    struct query q = query_begin(
        &store->db, err,
        "SELECT t.id FROM take t LEFT JOIN submission s ON s.take=t.id LEFT JOIN person p ON "
        "p.id=t.person JOIN class c ON c.id=coalesce(s.class,p.class) WHERE c.retention_days>0 "
        "AND t.made_ms<$1-c.retention_days*$2",
        "ii", now_ms, day_ms);
    struct one_id *takes = query_rows(&q, sizeof *takes, id_row, arena, &count);
    enum mst_status status = query_end(&q);
    for (size_t n = 0; n < count && status == MST_OK; n++) {
        status = recording_away(store, takes[n].id, arena, err);
        *gone += status == MST_OK;
    }
    if (status == MST_OK) {
        q = query_begin(&store->db, err, "SELECT id FROM upload WHERE made_ms<$1", "i",
                        now_ms - UPLOAD_DAYS * day_ms);
        struct one_id *left = query_rows(&q, sizeof *left, id_row, arena, &uploads);
        status = query_end(&q);
        for (size_t n = 0; n < uploads && status == MST_OK; n++)
            status = mst_upload_drop(store, left[n].id, err);
    }
    if (status == MST_OK && (*gone > 0 || uploads > 0))
        status = store_doom(store, err, "SELECT 'scrub' AS path", NULL);
    if (status == MST_OK)
        status = store_doomed_work_off(store, 1, err); /* also what waited for a reader to end */
    mst_arena_free(arena);
    return status;
}
