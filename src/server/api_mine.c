/*
 * api_mine.c – a learner's own page: what they agreed to, what they were given,
 * what they handed in, what the teacher sent back. Every route is MINE: the
 * gate has seen to it that it is theirs. Nothing the ear heard and nothing the
 * teacher wrote is here before it was sent.
 */
#include "desk.h"

#include <mistara/round.h>
#include <mistara/shelf.h>
#include <stdlib.h>
#include <string.h>

static enum mst_status own_class(struct request *rq, struct mst_class *out, struct mst_error *err)
{
    return mst_class_get(rq->desk->store, rq->person->class_id, rq->arena, out, err);
}

/* --- all at one look ----------------------------------------------------------------- */

static void sent_json(struct mst_string *s, const struct mst_submission *row)
{
    js_open(s, NULL, '{');
    js_text(s, "id", row->id);
    js_text(s, "state", row->state);
    js_integer(s, "made_ms", row->made_ms);
    js_integer(s, "sent_ms", row->sent_ms);
    js_close(s, '}');
}

/* What was withdrawn is shown to those who had handed something in for it. */
static void given_json(struct mst_string *s, const struct mst_assignment *a,
                       const struct mst_submission *own, size_t count)
{
    size_t handed_in = 0;
    for (size_t n = 0; n < count; n++)
        handed_in += own[n].assignment && strcmp(own[n].assignment, a->id) == 0;
    if (a->withdrawn_ms != 0 && handed_in == 0)
        return;
    js_open(s, NULL, '{');
    assignment_members_json(s, a);
    js_integer(s, "take", a->take != NULL);
    js_integer(s, "withdrawn_ms", a->withdrawn_ms);
    js_open(s, "submissions", '[');
    for (size_t n = 0; n < count; n++)
        if (own[n].assignment && strcmp(own[n].assignment, a->id) == 0)
            sent_json(s, &own[n]);
    js_close(s, ']');
    js_close(s, '}');
}

static int earlier(const void *a, const void *b)
{
    const struct mst_submission *x = a, *y = b;
    return (x->made_ms > y->made_ms) - (x->made_ms < y->made_ms);
}

enum mst_status get_mine(struct request *rq, struct mst_error *err)
{
    const struct mst_person *who = rq->person;
    struct mst_store *store = rq->desk->store;
    struct mst_class c;
    struct mst_consent consent = {0};
    struct mst_assignment *given = NULL;
    struct mst_submission *own = NULL;
    size_t given_count = 0, own_count = 0;
    struct mst_submission_filter filter = {.person = who->id};
    enum mst_status status = own_class(rq, &c, err);
    if (status == MST_OK)
        status = mst_consent_get(store, who->id, rq->arena, &consent, err);
    if (status == MST_OK)
        status = mst_assignment_list(store, c.id, rq->arena, &given, &given_count, err);
    if (status == MST_OK)
        status = mst_submission_list(store, &filter, rq->arena, &own, &own_count, err);
    if (status != MST_OK)
        return status;
    if (own_count > 1)
        qsort(own, own_count, sizeof *own, earlier);
    struct mst_string *s = &rq->reply.body;
    js_open(s, NULL, '{');
    own_person_json(s, who);
    js_open(s, "class", '{');
    js_text(s, "id", c.id);
    js_text(s, "name", c.name);
    js_text(s, "language", c.language);
    js_integer(s, "retention_days", c.retention_days);
    js_integer(s, "closed_ms", c.closed_ms);
    js_close(s, '}');
    /* Other words than they agreed to are words nobody agreed to. */
    int same = consent.said_ms != 0 && strcmp(consent.words, c.consent) == 0;
    js_open(s, "consent", '{');
    js_text(s, "words", c.consent);
    js_text(s, "by", same ? consent.by : NULL);
    js_integer(s, "said_ms", same ? consent.said_ms : 0);
    js_integer(s, "withdrawn_ms", same ? consent.withdrawn_ms : 0);
    js_bool(s, "holds", consent_holds(&c, &consent));
    js_close(s, '}');
    js_open(s, "assignments", '[');
    for (size_t n = 0; n < given_count; n++)
        given_json(s, &given[n], own, own_count);
    mst_string_adds(s, "]}");
    return MST_OK;
}

/* --- agreed to, taken back ------------------------------------------------------------- */

enum mst_status post_mine_consent(struct request *rq, struct mst_error *err)
{
    static const char *const ways[] = {"self", "guardian", NULL};
    enum mst_status status = consent_say(rq, rq->person, ways, err);
    return status == MST_OK ? get_mine(rq, err) : status;
}

enum mst_status delete_mine_consent(struct request *rq, struct mst_error *err)
{
    return consent_take_back(rq, rq->person, err);
}

/* What was heard of it is kept; what was not heard yet goes as a whole. Work on it ends first. */
static enum mst_status recording_delete(struct desk *desk, const struct mst_submission *row,
                                        struct mst_arena *arena, struct mst_error *err)
{
    struct mst_kept_take take;
    struct mst_error ignored;
    enum mst_status status = mst_store_take_get(desk->store, row->take, arena, &take, err);
    if (status == MST_OK && take.job)
        (void)!jobs_cancel(desk, take.job, &ignored);
    if (status != MST_OK)
        return status;
    return strcmp(row->state, "heard") == 0 ? mst_store_take_delete(desk->store, row->take, err)
                                            : mst_submission_delete(desk->store, row->id, err);
}

static enum mst_status voice_delete(struct desk *desk, const struct mst_person *person,
                                    struct mst_error *err)
{
    struct mst_person changed = *person;
    struct mst_shelf *shelf = NULL;
    if (!person->voice)
        return MST_OK;
    enum mst_status status = mst_shelf_open(mst_store_folder(desk->store), &shelf, err);
    if (status == MST_OK)
        status = mst_shelf_forget(shelf, person->voice, err);
    mst_shelf_close(shelf);
    if (status == MST_OK || status == MST_NOT_FOUND)
        status = mst_store_voice_delete(desk->store, person->voice, err);
    changed.voice = NULL;
    return status == MST_OK ? mst_person_put(desk->store, &changed, err) : status;
}

enum mst_status recordings_delete(struct request *rq, const struct mst_person *person,
                                  struct mst_error *err)
{
    struct desk *desk = rq->desk;
    struct mst_submission *rows;
    struct mst_upload *uploads;
    size_t count = 0, upload_count = 0;
    int64_t gone = 0;
    struct mst_submission_filter filter = {.person = person->id};
    enum mst_status status =
        mst_submission_list(desk->store, &filter, rq->arena, &rows, &count, err);
    for (size_t n = 0; status == MST_OK && n < count; n++) {
        if (!rows[n].take)
            continue;
        status = recording_delete(desk, &rows[n], rq->arena, err);
        gone += status == MST_OK;
    }
    if (status == MST_OK)
        status = mst_upload_list(desk->store, person->id, rq->arena, &uploads, &upload_count, err);
    for (size_t n = 0; status == MST_OK && n < upload_count; n++)
        status = mst_upload_drop(desk->store, uploads[n].id, err);
    if (status == MST_OK)
        status = voice_delete(desk, person, err);
    sounds_forget_all(desk);
    if (status != MST_OK)
        return status;
    person_say(desk, person->class_id, person->id);
    js_open(&rq->reply.body, NULL, '{');
    js_integer(&rq->reply.body, "recordings", gone);
    js_close(&rq->reply.body, '}');
    return MST_OK;
}

enum mst_status delete_mine_recordings(struct request *rq, struct mst_error *err)
{
    return recordings_delete(rq, rq->person, err);
}

enum mst_status delete_recordings(struct request *rq, struct mst_error *err)
{
    struct mst_person person;
    enum mst_status status = mst_person_get(rq->desk->store, rq->args[0], rq->arena, &person, err);
    return status == MST_OK ? recordings_delete(rq, &person, err) : status;
}

/* --- the teacher's take of an assignment ---------------------------------------------------- */

static enum mst_status given_take(struct request *rq, struct mst_kept_take *out,
                                  struct mst_error *err)
{
    struct mst_assignment a;
    enum mst_status status = mst_assignment_get(rq->desk->store, rq->args[0], rq->arena, &a, err);
    if (status == MST_OK && !a.take)
        status = mst_fail(err, MST_NOT_FOUND, "there is no recitation of the teacher's for this");
    return status == MST_OK ? mst_store_take_get(rq->desk->store, a.take, rq->arena, out, err)
                            : status;
}

enum mst_status get_mine_assignment_audio(struct request *rq, struct mst_error *err)
{
    struct mst_kept_take take;
    enum mst_status status = given_take(rq, &take, err);
    return status == MST_OK ? sound_reply(rq, take.hash, take.type, err) : status;
}

/* When each word sounds: of what was heard in it, no more. Not heard yet: none. */
enum mst_status get_mine_assignment_words(struct request *rq, struct mst_error *err)
{
    struct mst_kept_take take;
    const json_t *word;
    size_t n;
    struct mst_string *s = &rq->reply.body;
    enum mst_status status = given_take(rq, &take, err);
    if (status != MST_OK)
        return status;
    const char *path = mst_arena_printf(rq->arena, "%s/reports/%s/report-en.json",
                                        mst_store_folder(rq->desk->store), take.id);
    if (!path)
        return no_memory(err);
    json_t *report = take.report ? json_load_file(path, 0, NULL) : NULL;
    js_open(s, NULL, '{');
    js_open(s, "words", '[');
    json_array_foreach(json_object_get(report, "words"), n, word)
    {
        const char *at = json_string_value(json_object_get(word, "at"));
        if (!at)
            continue;
        js_open(s, NULL, '{');
        js_text(s, "at", at);
        js_integer(s, "start_ms", (int64_t)json_number_value(json_object_get(word, "start_ms")));
        js_integer(s, "end_ms", (int64_t)json_number_value(json_object_get(word, "end_ms")));
        js_close(s, '}');
    }
    mst_string_adds(s, "]}");
    json_decref(report);
    return MST_OK;
}

/* --- what they handed in --------------------------------------------------------------------- */

static enum mst_status own_submission(struct request *rq, struct mst_submission *out,
                                      struct mst_error *err)
{
    return mst_submission_get(rq->desk->store, rq->args[0], rq->arena, out, err);
}

/* What the teacher's ruling, as it was sent, makes of a place, for the learner; NULL: there is
 * nothing to say of it (not ruled on, or what was told as wrong is not). */
static const char *told_learner(const struct mst_site_measure *m)
{
    int agreed = strcmp(m->sent_ruling, "agree") == 0;
    int wrong = mst_round_ruled_wrong(m->told, m->sent_ruling);
    if (wrong == 1)
        return agreed ? m->told : "fault";
    return wrong == 0 && agreed ? "right" : NULL;
}

/* Of what was heard, the places the teacher ruled on; and the notes: as they were sent. */
static enum mst_status answer_json(struct request *rq, const struct mst_submission *row,
                                   struct mst_error *err)
{
    struct mst_string *s = &rq->reply.body;
    struct mst_note *notes = NULL;
    struct mst_site_measure *places = NULL;
    size_t note_count = 0, place_count = 0;
    enum mst_status status = MST_OK;
    if (row->sent_ms != 0)
        status = mst_note_list(rq->desk->store, row->id, rq->arena, &notes, &note_count, err);
    if (status == MST_OK && row->sent_ms != 0)
        status = mst_measures_get(rq->desk->store, row->id, rq->arena, &places, &place_count, err);
    if (status != MST_OK)
        return status;
    js_open(s, "notes", '[');
    for (size_t n = 0; n < note_count; n++)
        if (notes[n].sent)
            note_json(s, rq->desk->text, &notes[n],
                      &(struct heard_places){places, place_count, NULL});
    js_close(s, ']');
    js_open(s, "sites", '[');
    for (size_t n = 0; n < place_count; n++) {
        struct mst_site_measure place = places[n];
        place.told = told_learner(&places[n]);
        place.ruling = place.sent_ruling;
        if (place.told)
            measure_json(s, NULL, rq->desk->text, &place);
    }
    js_close(s, ']');
    return MST_OK;
}

enum mst_status submission_reply(struct request *rq, const char *id, unsigned wanted,
                                 struct mst_error *err)
{
    struct mst_submission row;
    struct mst_string *s = &rq->reply.body;
    enum mst_status status = mst_submission_get(rq->desk->store, id, rq->arena, &row, err);
    if (status != MST_OK)
        return status;
    js_open(s, NULL, '{');
    js_text(s, "id", row.id);
    js_text(s, "assignment", row.assignment);
    js_text(s, "title", *row.title ? row.title : NULL);
    js_text(s, "passage", row.passage);
    js_raw(s, "how", row.how);
    js_text(s, "state", row.state);
    js_bool(s, "audio", row.take != NULL);
    js_integer(s, "made_ms", row.made_ms);
    js_integer(s, "sent_ms", row.sent_ms);
    js_raw(s, "marks", row.marks);
    status = answer_json(rq, &row, err);
    js_close(s, '}');
    rq->reply.status = wanted;
    return status;
}

enum mst_status get_mine_submission(struct request *rq, struct mst_error *err)
{
    return submission_reply(rq, rq->args[0], 200, err);
}

enum mst_status get_mine_submission_audio(struct request *rq, struct mst_error *err)
{
    struct mst_submission row;
    struct mst_kept_take take;
    enum mst_status status = own_submission(rq, &row, err);
    if (status == MST_OK && !row.take)
        status = mst_fail(err, MST_NOT_FOUND, "the recording is no longer kept");
    if (status == MST_OK)
        status = mst_store_take_get(rq->desk->store, row.take, rq->arena, &take, err);
    return status == MST_OK ? sound_reply(rq, take.hash, take.type, err) : status;
}

enum mst_status get_mine_note_audio(struct request *rq, struct mst_error *err)
{
    struct mst_submission row;
    struct mst_note note = {0};
    enum mst_status status = own_submission(rq, &row, err);
    if (status == MST_OK && row.sent_ms != 0)
        status = mst_note_get(rq->desk->store, rq->args[1], rq->arena, &note, err);
    if (status == MST_OK && (!note.hash || !note.sent || strcmp(note.submission, row.id) != 0))
        status = mst_fail(err, MST_NOT_FOUND, "there is no such spoken note");
    return status == MST_OK ? sound_reply(rq, note.hash, note.type, err) : status;
}

/* Taken back while nobody has listened to it. */
enum mst_status delete_mine_submission(struct request *rq, struct mst_error *err)
{
    struct mst_submission row;
    enum mst_status status = own_submission(rq, &row, err);
    if (status != MST_OK)
        return status;
    if (row.sent_ms != 0 ||
        (strcmp(row.state, "received") != 0 && strcmp(row.state, "refused") != 0))
        return reply_error(rq, 409, "conflict",
                           "it is being listened to, or was; ask your teacher to delete it");
    status = mst_submission_delete(rq->desk->store, row.id, err);
    if (status != MST_OK)
        return status;
    submission_gone(rq->desk, row.class_id, row.person, row.id);
    rq->reply.status = 204;
    return MST_OK;
}
