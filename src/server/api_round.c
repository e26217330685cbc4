/*
 * api_round.c – the listening desk: what was handed in, in order of need; each
 * site to be heard again and ruled on; notes; the answer sent. Voice notes that
 * came without a name. The ruling is the teacher's, and nothing reaches a
 * learner before it is sent.
 */
#include "desk.h"

#include <mistara/classbook.h>
#include <mistara/ear.h>
#include <mistara/round.h>
#include <mistara/take.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { TEXT_MOST = 4000, NAME_MOST = 200, TRIES = 8 };
static const double clip_room_ms = 350; /* before and after a site: enough to know the word */

/* --- as JSON ------------------------------------------------------------------------ */

static void seconds_json(struct mst_string *s, double seconds)
{
    if (seconds > 0)
        js_real(s, "seconds", seconds, 2);
    else
        js_null(s, "seconds"); /* nothing has looked into it yet */
}

/* A row of the desk, the members of an object under way. */
static void row_members(struct mst_string *s, const struct mst_submission *row)
{
    js_text(s, "id", row->id);
    js_text(s, "class", row->class_id);
    js_text(s, "assignment", row->assignment);
    js_text(s, "title", *row->title ? row->title : NULL);
    js_text(s, "person", row->person);
    js_text(s, "label", *row->label ? row->label : NULL);
    js_text(s, "passage", *row->passage ? row->passage : NULL);
    js_bool(s, "audio", row->take != NULL);
    js_text(s, "state", row->state);
    js_said(s, "problem", row->problem);
    js_real(s, "need", row->need, 3);
    js_integer(s, "places", row->sites);
    js_integer(s, "ruled", row->ruled);
    js_integer(s, "made_ms", row->made_ms);
    js_integer(s, "heard_ms", row->heard_ms);
    js_integer(s, "sent_ms", row->sent_ms);
    js_integer(s, "revision", row->revision);
}

static void row_json(struct mst_string *s, const struct mst_submission *row)
{
    js_open(s, NULL, '{');
    row_members(s, row);
    js_close(s, '}');
}

/* The take's own report, in both languages; NULL where there is none. */
static void reports_open(struct request *rq, const char *take, json_t *reports[2])
{
    for (int lang = 0; lang < 2; lang++) {
        const char *path =
            take ? mst_arena_printf(rq->arena, "%s/reports/%s/report-%s.json",
                                    mst_store_folder(rq->desk->store), take, lang ? "ar" : "en")
                 : NULL;
        reports[lang] = path ? json_load_file(path, 0, NULL) : NULL;
    }
}

static void findings_json(json_t *const reports[2], struct mst_string *s)
{
    const json_t *finding;
    size_t n;
    js_open(s, "findings", '[');
    json_array_foreach(json_object_get(reports[0], "findings"), n, finding)
    {
        const json_t *arabic = json_array_get(json_object_get(reports[1], "findings"), n);
        js_open(s, NULL, '{');
        js_text(s, "text", json_string_value(json_object_get(finding, "text")));
        js_text(s, "text_ar", json_string_value(json_object_get(arabic, "text")));
        js_text(s, "at", json_string_value(json_object_get(finding, "at")));
        js_integer(s, "start_ms", json_integer_value(json_object_get(finding, "start_ms")));
        js_integer(s, "end_ms", json_integer_value(json_object_get(finding, "end_ms")));
        js_close(s, '}');
    }
    js_close(s, ']');
}

/* --- what the learner marked ------------------------------------------------------------- */

static void marks_json(struct mst_string *s, const struct mst_text *text, const json_t *marks,
                       const struct heard_places *heard)
{
    const json_t *mark;
    size_t n;
    js_open(s, "marks", '[');
    json_array_foreach(marks, n, mark)
    {
        const char *at = json_string_value(json_object_get(mark, "at"));
        js_open(s, NULL, '{');
        js_text(s, "at", at);
        js_text(s, "mark", json_string_value(json_object_get(mark, "mark")));
        place_members(s, text, at, heard);
        js_close(s, '}');
    }
    js_close(s, ']');
}

/* The word itself, or a letter of it. */
static int is_marked(const struct mst_text *text, const json_t *marks,
                     const struct mst_site_measure *m)
{
    const json_t *mark;
    size_t n;
    json_array_foreach(marks, n, mark)
    {
        const char *typed = json_string_value(json_object_get(mark, "at"));
        struct mst_addr at;
        struct mst_error none;
        if (typed && mst_addr_parse(text, mst_span_of(typed), &at, &none) == MST_OK &&
            at.sura == m->sura && at.verse == m->verse && at.word == m->word)
            return 1;
    }
    return 0;
}

/* The teacher begins where the learner did: the words they marked, then the others. */
static enum mst_status marked_first(struct request *rq, const json_t *marks,
                                    struct mst_site_measure *sites, size_t count,
                                    struct mst_error *err)
{
    struct mst_site_measure *was = mst_arena_alloc(rq->arena, count + 1, sizeof *was);
    size_t put = 0;
    if (!was)
        return no_memory(err);
    for (size_t n = 0; n < count; n++)
        was[n] = sites[n];
    for (int marked = 1; marked >= 0; marked--)
        for (size_t n = 0; n < count; n++)
            if (is_marked(rq->desk->text, marks, &was[n]) == marked)
                sites[put++] = was[n];
    return MST_OK;
}

/* --- the desk ---------------------------------------------------------------------------- */

static enum mst_status submissions_reply(struct request *rq,
                                         const struct mst_submission_filter *filter,
                                         struct mst_error *err)
{
    struct mst_submission *list = NULL;
    size_t count = 0;
    enum mst_status status =
        mst_submission_list(rq->desk->store, filter, rq->arena, &list, &count, err);
    if (status != MST_OK)
        return status;
    struct mst_string *s = &rq->reply.body;
    js_open(s, NULL, '{');
    js_open(s, "submissions", '[');
    for (size_t n = 0; n < count; n++)
        row_json(s, &list[n]);
    mst_string_adds(s, "]}");
    return MST_OK;
}

enum mst_status get_class_desk(struct request *rq, struct mst_error *err)
{
    int sent = 0;
    struct mst_submission_filter filter = {.class_id = rq->args[0], .named = 1};
    enum mst_status status = param_flag(rq, "sent", &sent, err);
    filter.unsent = !sent;
    filter.assignment = param(rq, "assignment");
    filter.person = param(rq, "person");
    return status == MST_OK ? submissions_reply(rq, &filter, err) : status;
}

enum mst_status get_submission(struct request *rq, struct mst_error *err)
{
    struct mst_store *store = rq->desk->store;
    struct mst_submission row;
    struct mst_site_measure *sites = NULL;
    struct mst_note *notes = NULL;
    struct mst_kept_take take = {0};
    size_t site_count = 0, note_count = 0;
    enum mst_status status = mst_submission_get(store, rq->args[0], rq->arena, &row, err);
    if (status == MST_OK && row.take)
        status = mst_store_take_get(store, row.take, rq->arena, &take, err);
    if (status == MST_OK)
        status = mst_measures_get(store, row.id, rq->arena, &sites, &site_count, err);
    if (status == MST_OK)
        status = mst_note_list(store, row.id, rq->arena, &notes, &note_count, err);
    json_t *marks = status == MST_OK ? json_loads(row.marks, 0, NULL) : NULL, *reports[2];
    if (status == MST_OK)
        status = marked_first(rq, marks, sites, site_count, err);
    if (status != MST_OK) {
        json_decref(marks);
        return status;
    }
    reports_open(rq, row.take, reports);
    struct heard_places heard = {sites, site_count, json_object_get(reports[0], "words")};
    struct mst_string *s = &rq->reply.body;
    js_open(s, NULL, '{');
    row_members(s, &row);
    js_raw(s, "how", row.how);
    marks_json(s, rq->desk->text, marks, &heard);
    seconds_json(s, take.seconds);
    js_open(s, "sites", '[');
    for (size_t n = 0; n < site_count; n++)
        measure_json(s, NULL, rq->desk->text, &sites[n]);
    js_close(s, ']');
    findings_json(reports, s);
    js_open(s, "notes", '[');
    for (size_t n = 0; n < note_count; n++)
        note_json(s, rq->desk->text, &notes[n], &heard);
    js_close(s, ']');
    js_text(s, "reminder", mst_findings_reminder(MST_LANG_EN));
    js_text(s, "reminder_ar", mst_findings_reminder(MST_LANG_AR));
    js_close(s, '}');
    json_decref(marks);
    json_decref(reports[0]);
    json_decref(reports[1]);
    return MST_OK;
}

static enum mst_status recording_of(struct request *rq, struct mst_kept_take *out,
                                    struct mst_error *err)
{
    struct mst_submission row;
    enum mst_status status = mst_submission_get(rq->desk->store, rq->args[0], rq->arena, &row, err);
    if (status == MST_OK && !row.take)
        status = mst_fail(err, MST_NOT_FOUND,
                          "the recording was deleted, as this class keeps none so long");
    return status == MST_OK ? mst_store_take_get(rq->desk->store, row.take, rq->arena, out, err)
                            : status;
}

enum mst_status get_submission_audio(struct request *rq, struct mst_error *err)
{
    struct mst_kept_take take;
    enum mst_status status = recording_of(rq, &take, err);
    return status == MST_OK ? sound_reply(rq, take.hash, take.type, err) : status;
}

enum mst_status get_submission_clip(struct request *rq, struct mst_error *err)
{
    struct mst_kept_take kept;
    struct mst_take *take = NULL;
    struct mst_site_measure *sites = NULL;
    size_t count = 0, n = 0;
    int site = -1;
    enum mst_status status = param_int(rq, "site", 0, 100000, &site, err);
    if (status == MST_OK && site < 0)
        status = mst_fail(err, MST_USAGE, "say which site: site=0");
    if (status == MST_OK)
        status = recording_of(rq, &kept, err);
    if (status == MST_OK)
        status = mst_measures_get(rq->desk->store, rq->args[0], rq->arena, &sites, &count, err);
    while (n < count && sites[n].site != site)
        n++;
    if (status == MST_OK && n == count)
        status = mst_fail(err, MST_NOT_FOUND, "there is no site %d in it", site);
    if (status == MST_OK)
        status = sound_borrow(rq->desk, &kept, &take, err);
    if (status != MST_OK)
        return status;
    double start = sites[n].start_ms - clip_room_ms, end = sites[n].end_ms + clip_room_ms;
    status = mst_take_clip_bytes(take, start > 0 ? start : 0, end, &rq->reply.body, err);
    sound_give_back(rq->desk, take);
    if (status == MST_OK) {
        rq->reply.type = "audio/wav";
        reply_header(rq, "Cache-Control", "private, max-age=3600");
    }
    return status;
}

/* --- rulings ---------------------------------------------------------------------------------- */

/* The limit by which this class is judged from here on, from all rulings on lengths there are. */
static enum mst_status limit_learn(struct request *rq, const char *class_id, struct mst_error *err)
{
    struct mst_ruled *ruled = NULL;
    size_t count = 0, used = 0;
    enum mst_status status =
        mst_ruled_list(rq->desk->store, class_id, rq->arena, &ruled, &count, err);
    struct mst_round_ruling *rulings = mst_arena_alloc(rq->arena, count + 1, sizeof *rulings);
    if (status == MST_OK && !rulings)
        status = no_memory(err);
    for (size_t n = 0; n < count && status == MST_OK; n++) {
        int wrong = mst_round_ruled_wrong(ruled[n].told, ruled[n].ruling);
        if (wrong >= 0 && ruled[n].deviation != 0 &&
            mst_told_called(ruled[n].told) != MST_TOLD_UNSURE)
            rulings[used++] = (struct mst_round_ruling){ruled[n].deviation, wrong};
    }
    double limit = status == MST_OK ? mst_round_limit(rulings, used) : 0;
    enum mst_status written = MST_MISMATCH;
    for (int n = 0; n < TRIES && status == MST_OK && written == MST_MISMATCH; n++) {
        struct mst_class class;
        status = mst_class_get(rq->desk->store, class_id, rq->arena, &class, err);
        json_t *kept = status == MST_OK ? json_loads(class.limits, 0, NULL) : NULL;
        kept = kept ? kept : json_object();
        char *text = json_object_set_new(kept, "site_deviation", json_real(limit)) == 0
                         ? json_dumps(kept, JSON_COMPACT | JSON_REAL_PRECISION(4))
                         : NULL;
        json_decref(kept);
        if (status == MST_OK && !text)
            status = no_memory(err);
        class.limits = text;
        written = status == MST_OK ? mst_class_put(rq->desk->store, &class, err) : status;
        free(text);
    }
    return status == MST_OK ? written : status;
}

static const char *who(const struct request *rq)
{
    return rq->person ? rq->person->id : ""; /* the teacher */
}

enum mst_status patch_submission_site(struct request *rq, struct mst_error *err)
{
    struct mst_submission row;
    const char *ruling = NULL;
    char *end;
    long site = strtol(rq->args[1], &end, 10);
    enum mst_status status = body_only(rq, "ruling", err);
    if (status == MST_OK)
        status = body_text(rq, "ruling", 20, &ruling, err);
    if (status == MST_OK &&
        (!ruling || (*ruling && strcmp(ruling, "agree") != 0 && strcmp(ruling, "overrule") != 0)))
        status = mst_fail(err, MST_USAGE, "a ruling is agree, overrule, or empty to take it back");
    if (status == MST_OK && (*end || end == rq->args[1] || site < 0 || site > 100000))
        status = mst_fail(err, MST_NOT_FOUND, "there is no site “%.20s” in it", rq->args[1]);
    if (status == MST_OK)
        status = mst_submission_get(rq->desk->store, rq->args[0], rq->arena, &row, err);
    if (status == MST_OK)
        status = mst_ruling_put(rq->desk->store, row.id, (int)site, ruling, who(rq), err);
    if (status == MST_OK)
        status = limit_learn(rq, row.class_id, err);
    if (status != MST_OK)
        return status;
    submission_say(rq->desk, row.id);
    rq->reply.status = 204;
    return MST_OK;
}

/* --- notes
 * ---------------------------------------------------------------------------------------- */

static enum mst_status note_reply(struct request *rq, const char *id, struct mst_error *err)
{
    struct mst_note note;
    struct heard_places heard = {0};
    struct mst_site_measure *places = NULL;
    enum mst_status status = mst_note_get(rq->desk->store, id, rq->arena, &note, err);
    if (status == MST_OK)
        status = mst_measures_get(rq->desk->store, note.submission, rq->arena, &places,
                                  &heard.count, err);
    if (status != MST_OK)
        return status;
    heard.places = places;
    rq->reply.status = 201;
    note_json(&rq->reply.body, rq->desk->text, &note, &heard);
    submission_say(rq->desk, note.submission);
    return MST_OK;
}

static enum mst_status place_read(const struct request *rq, const char *typed, char text[48],
                                  const char **out, struct mst_error *err)
{
    struct mst_addr at;
    *out = NULL;
    if (!typed || !*typed)
        return MST_OK;
    enum mst_status status = mst_addr_parse(rq->desk->text, mst_span_of(typed), &at, err);
    if (status == MST_OK)
        *out = mst_addr_print(at, text);
    return status;
}

enum mst_status post_submission_note(struct request *rq, struct mst_error *err)
{
    char id[MST_ID_SIZE], at[48];
    const char *typed = NULL;
    struct mst_note note = {.submission = rq->args[0], .text = "", .type = "", .by = who(rq)};
    enum mst_status status = body_only(rq, "text at", err);
    if (status == MST_OK)
        status = body_text(rq, "text", TEXT_MOST, &note.text, err);
    if (status == MST_OK)
        status = body_text_or_null(rq, "at", 40, &typed, err);
    if (status == MST_OK && !*note.text)
        status = mst_fail(err, MST_USAGE, "the note has no text");
    if (status == MST_OK)
        status = place_read(rq, typed, at, &note.at, err);
    if (status == MST_OK)
        status = mst_note_add(rq->desk->store, &note, id, err);
    return status == MST_OK ? note_reply(rq, id, err) : status;
}

enum mst_status post_submission_voice_note(struct request *rq, struct mst_error *err)
{
    char id[MST_ID_SIZE], at[48], hash[MST_HASH_HEX_SIZE];
    struct mst_note note = {.submission = rq->args[0], .text = "", .by = who(rq)};
    enum mst_status status = place_read(rq, param(rq, "at"), at, &note.at, err);
    if (status != MST_OK)
        return status;
    status = sound_keep(rq, hash, &note.bytes, &note.type, err);
    if (status != MST_OK)
        return status;
    note.hash = hash;
    status = mst_note_add(rq->desk->store, &note, id, err);
    return status == MST_OK ? note_reply(rq, id, err) : status;
}

/* The note is the submission's: an id of another one is as good as none. */
static enum mst_status note_of(struct request *rq, struct mst_note *out, struct mst_error *err)
{
    enum mst_status status = mst_note_get(rq->desk->store, rq->args[1], rq->arena, out, err);
    if (status == MST_OK && strcmp(out->submission, rq->args[0]) != 0)
        status = mst_fail(err, MST_NOT_FOUND, "there is no note “%.40s”", rq->args[1]);
    return status;
}

enum mst_status get_note_audio(struct request *rq, struct mst_error *err)
{
    struct mst_note note;
    enum mst_status status = note_of(rq, &note, err);
    if (status == MST_OK && !note.hash)
        status = mst_fail(err, MST_NOT_FOUND, "this note is a written one");
    return status == MST_OK ? sound_reply(rq, note.hash, note.type, err) : status;
}

enum mst_status delete_submission_note(struct request *rq, struct mst_error *err)
{
    struct mst_note note;
    enum mst_status status = note_of(rq, &note, err);
    if (status == MST_OK)
        status = mst_note_delete(rq->desk->store, note.id, err);
    if (status != MST_OK)
        return status;
    submission_say(rq->desk, rq->args[0]);
    rq->reply.status = 204;
    return MST_OK;
}

/* --- sent, deleted, heard again
 * ---------------------------------------------------------------------- */

enum mst_status post_submission_send(struct request *rq, struct mst_error *err)
{
    struct mst_submission row;
    enum mst_status status = body_only(rq, "", err);
    if (status == MST_OK)
        status = mst_submission_get(rq->desk->store, rq->args[0], rq->arena, &row, err);
    if (status == MST_OK && !row.person)
        return reply_error(rq, 409, "conflict", "say first whose recording it is");
    if (status == MST_OK)
        status = mst_submission_send(rq->desk->store, row.id, err);
    if (status == MST_OK)
        status = mst_submission_get(rq->desk->store, row.id, rq->arena, &row, err);
    if (status != MST_OK)
        return status;
    row_json(&rq->reply.body, &row);
    submission_say(rq->desk, row.id);
    return MST_OK;
}

static int is_at_work(struct desk *desk, const struct mst_submission *row, struct mst_arena *arena)
{
    struct mst_kept_take take;
    struct mst_error none;
    return row->take && mst_store_take_get(desk->store, row->take, arena, &take, &none) == MST_OK &&
           (take.state == MST_KEPT_WAITING || take.state == MST_KEPT_LISTENING);
}

static enum mst_status idle_submission(struct request *rq, struct mst_submission *out, int *idle,
                                       struct mst_error *err)
{
    enum mst_status status = mst_submission_get(rq->desk->store, rq->args[0], rq->arena, out, err);
    *idle = status == MST_OK && !is_at_work(rq->desk, out, rq->arena);
    if (status == MST_OK && !*idle)
        return reply_error(rq, 409, "conflict", "it is being listened to; wait a moment");
    return status;
}

enum mst_status post_submission_listen(struct request *rq, struct mst_error *err)
{
    struct mst_submission row;
    int idle;
    enum mst_status status = body_only(rq, "", err);
    if (status == MST_OK)
        status = idle_submission(rq, &row, &idle, err);
    if (status != MST_OK || !idle)
        return status;
    status = submission_listen(rq->desk, row.id, err);
    rq->reply.status = 204;
    return status;
}

enum mst_status delete_submission(struct request *rq, struct mst_error *err)
{
    struct mst_submission row;
    struct mst_kept_take take = {0};
    int idle;
    enum mst_status status = idle_submission(rq, &row, &idle, err);
    if (status != MST_OK || !idle)
        return status;
    if (row.take)
        status = mst_store_take_get(rq->desk->store, row.take, rq->arena, &take, err);
    if (status == MST_OK)
        status = mst_submission_delete(rq->desk->store, row.id, err);
    if (status != MST_OK)
        return status;
    if (take.hash)
        sound_forget(rq->desk, take.hash);
    submission_gone(rq->desk, row.class_id, row.person, row.id);
    rq->reply.status = 204;
    return MST_OK;
}

/* --- voice notes without a name
 * -------------------------------------------------------------------------- */

static enum mst_status import_json(struct request *rq, const struct mst_submission *row,
                                   struct mst_error *err)
{
    struct mst_kept_take take = {.name = ""};
    struct mst_person person = {0};
    struct mst_error none;
    struct mst_string *s = &rq->reply.body;
    enum mst_status status = MST_OK;
    if (row->take)
        status = mst_store_take_get(rq->desk->store, row->take, rq->arena, &take, err);
    if (status != MST_OK)
        return status;
    json_t *proposal = row->proposal ? json_loads(row->proposal, 0, NULL) : NULL;
    const char *whose = json_string_value(json_object_get(proposal, "person"));
    js_open(s, NULL, '{');
    js_text(s, "id", row->id);
    js_text(s, "class", row->class_id);
    js_text(s, "name", take.name);
    js_integer(s, "made_ms", row->made_ms);
    js_text(s, "state", row->state);
    js_said(s, "problem", row->problem);
    seconds_json(s, take.seconds);
    if (proposal) {
        js_open(s, "proposal", '{');
        js_text(s, "person", whose);
        if (whose && mst_person_get(rq->desk->store, whose, rq->arena, &person, &none) != MST_OK)
            person.label = NULL; /* deleted since */
        js_text(s, "label", person.label);
        js_text(s, "passage", json_string_value(json_object_get(proposal, "passage")));
        js_text(s, "assignment", json_string_value(json_object_get(proposal, "assignment")));
        js_real(s, "fit", json_number_value(json_object_get(proposal, "fit")), 3);
        js_real(s, "sureness", json_number_value(json_object_get(proposal, "sureness")), 3);
        js_close(s, '}');
    } else {
        js_null(s, "proposal");
    }
    js_close(s, '}');
    json_decref(proposal);
    return MST_OK;
}

enum mst_status post_import(struct request *rq, struct mst_error *err)
{
    struct desk *desk = rq->desk;
    struct mst_class class;
    struct mst_submission row;
    char hash[MST_HASH_HEX_SIZE], id[MST_ID_SIZE], job[MST_ID_SIZE];
    const char *name = param(rq, "name");
    struct mst_kept_take take = {.note = "", .pins = "[]", .how = "{}", .passage = ""};
    enum mst_status status = mst_class_get(desk->store, rq->args[0], rq->arena, &class, err);
    if (status == MST_OK && name && strlen(name) > NAME_MOST)
        status = mst_fail(err, MST_USAGE, "a name has at most %d bytes", NAME_MOST);
    if (status != MST_OK)
        return status;
    status = sound_keep(rq, hash, &take.bytes, &take.type, err);
    if (status != MST_OK)
        return status;
    take.name = name && *name ? name : "—";
    take.hash = hash;
    struct mst_submission made = {
        .class_id = class.id, .passage = "", .how = "{}", .marks = "[]", .state = "received"};
    status = mst_submission_hand_in(desk->store, &take, &made, id, err);
    const char *input =
        status == MST_OK ? mst_arena_printf(rq->arena, "{\"submission\":\"%s\"}", id) : NULL;
    if (status == MST_OK)
        status = input ? jobs_promise(rq, "propose", id, input, job, err) : no_memory(err);
    if (status == MST_OK)
        status = mst_submission_get(desk->store, id, rq->arena, &row, err);
    if (status != MST_OK)
        return status;
    jobs_wake(desk);
    rq->reply.status = 201;
    submission_say(desk, id);
    return import_json(rq, &row, err);
}

enum mst_status get_imports(struct request *rq, struct mst_error *err)
{
    struct mst_submission_filter filter = {.class_id = rq->args[0], .unnamed = 1};
    struct mst_submission *list = NULL;
    size_t count = 0;
    enum mst_status status =
        mst_submission_list(rq->desk->store, &filter, rq->arena, &list, &count, err);
    js_open(&rq->reply.body, NULL, '{');
    js_open(&rq->reply.body, "imports", '[');
    for (size_t n = 0; n < count && status == MST_OK; n++)
        status = import_json(rq, &list[n], err);
    mst_string_adds(&rq->reply.body, "]}");
    return status;
}

/* Whose it is and what it holds, as the teacher says: then it is listened to like any other. */
enum mst_status post_import_confirm(struct request *rq, struct mst_error *err)
{
    struct mst_store *store = rq->desk->store;
    struct mst_submission row;
    struct mst_person person;
    struct mst_class class;
    struct mst_assignment assignment = {0};
    struct mst_range range = {0};
    int agreed = 0;
    const char *person_id = NULL, *passage = NULL, *assignment_id = NULL;
    char printed[96];
    enum mst_status status = body_only(rq, "person passage assignment", err);
    if (status == MST_OK)
        status = body_text(rq, "person", 40, &person_id, err);
    if (status == MST_OK)
        status = body_text_or_null(rq, "passage", 200, &passage, err);
    if (status == MST_OK)
        status = body_text_or_null(rq, "assignment", 40, &assignment_id, err);
    if (status == MST_OK && !person_id)
        status = mst_fail(err, MST_USAGE, "say whose recording it is: the member person");
    if (status == MST_OK && !passage && !assignment_id)
        status =
            mst_fail(err, MST_USAGE, "say what it holds: passage, or the assignment it is for");
    if (status == MST_OK)
        status = mst_submission_get(store, rq->args[0], rq->arena, &row, err);
    if (status == MST_OK)
        status = mst_person_get(store, person_id, rq->arena, &person, err);
    if (status == MST_OK && assignment_id)
        status = mst_assignment_get(store, assignment_id, rq->arena, &assignment, err);
    if (status == MST_OK)
        status = consent_look(rq, &person, &class, &agreed, err);
    if (status != MST_OK)
        return status;
    if (strcmp(person.class_id, row.class_id) != 0 ||
        (assignment_id && strcmp(assignment.class_id, row.class_id) != 0))
        return mst_fail(err, MST_NOT_FOUND, "that is of another class");
    if (row.person)
        return reply_error(rq, 409, "conflict", "it was confirmed before");
    if (!agreed)
        return reply_error(rq, 403, "consent",
                           "%s, or a parent or guardian, has not agreed that recordings are kept: "
                           "note their consent first, or throw the recording away",
                           person.label);
    row.person = person.id;
    row.assignment = assignment_id ? assignment.id : NULL;
    row.how = assignment_id ? assignment.how : row.how;
    status = mst_range_parse(rq->desk->text, mst_span_of(passage ? passage : assignment.passage),
                             &range, err);
    row.passage = passage_id(range, printed);
    if (status == MST_OK)
        status = mst_submission_put(store, &row, err);
    if (status == MST_MISMATCH)
        return reply_error(rq, 409, "conflict", "%s", err->message);
    if (status == MST_OK)
        status = submission_listen(rq->desk, row.id, err);
    if (status == MST_OK)
        status = mst_submission_get(store, row.id, rq->arena, &row, err);
    if (status != MST_OK)
        return status;
    row_json(&rq->reply.body, &row);
    submission_say(rq->desk, row.id);
    return MST_OK;
}

/* --- enrolment
 * ---------------------------------------------------------------------------------------------- */

enum mst_status post_person_enrol(struct request *rq, struct mst_error *err)
{
    struct mst_submission row;
    const char *id = NULL;
    char job[MST_ID_SIZE];
    enum mst_status status = body_only(rq, "submission", err);
    if (status == MST_OK)
        status = body_text(rq, "submission", 40, &id, err);
    if (status == MST_OK && !id)
        status = mst_fail(err, MST_USAGE, "say which recording to learn the voice from");
    if (status == MST_OK)
        status = mst_submission_get(rq->desk->store, id, rq->arena, &row, err);
    if (status == MST_OK && (!row.person || strcmp(row.person, rq->args[0]) != 0))
        status = mst_fail(err, MST_NOT_FOUND, "that is no recording of this learner");
    if (status == MST_OK && !row.take)
        status = mst_fail(err, MST_NOT_FOUND, "the recording was deleted");
    const char *input =
        status == MST_OK ? mst_arena_printf(rq->arena, "{\"submission\":\"%s\"}", row.id) : NULL;
    if (status == MST_OK)
        status = input ? jobs_promise(rq, "enrol", row.id, input, job, err) : no_memory(err);
    return status == MST_OK ? job_reply(rq, job, 202, err) : status;
}
