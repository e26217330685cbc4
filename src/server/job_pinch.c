/*
 * job_pinch.c – a learner's own check: the same phrase twice, open and with the
 * nose pinched. The two recordings are uploads and become nothing else: they
 * are deleted when they were compared, whatever came of it.
 */
#include "hear.h"

#include <mistara/classbook.h>
#include <mistara/faults.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { OPEN_TAKE, PINCHED_TAKE, TAKES };
static const char *const take_names[TAKES] = {"open", "pinched"};

enum mst_status post_mine_pinch(struct request *rq, struct mst_error *err)
{
    struct mst_range range;
    const char *passage = NULL, *ids[TAKES] = {NULL, NULL};
    char job[MST_ID_SIZE], printed[96];
    enum mst_status status = body_only(rq, "passage open pinched", err);
    if (status == MST_OK)
        status = body_text(rq, "passage", 200, &passage, err);
    for (int n = 0; n < TAKES && status == MST_OK; n++)
        status = body_text(rq, take_names[n], 40, &ids[n], err);
    if (status == MST_OK && (!passage || !ids[0] || !ids[1] || strcmp(ids[0], ids[1]) == 0))
        status = mst_fail(err, MST_USAGE,
                          "say which passage it is, and name two uploads: open and pinched");
    if (status == MST_OK)
        status = mst_range_parse(rq->desk->text, mst_span_of(passage), &range, err);
    if (status == MST_OK)
        status = passage_not_too_long(rq->desk->text, range, err);
    for (int n = 0; n < TAKES && status == MST_OK; n++) {
        struct mst_upload upload;
        status = mst_upload_get(rq->desk->store, ids[n], rq->arena, &upload, err);
        if (status == MST_OK && strcmp(upload.person, rq->person->id) != 0)
            status = mst_fail(err, MST_NOT_FOUND, "there is no upload “%.40s”", ids[n]);
        if (status == MST_OK && upload.have < upload.bytes)
            return reply_error(rq, 409, "conflict", "the recording has not arrived whole yet");
    }
    const char *input =
        status == MST_OK
            ? mst_arena_printf(
                  rq->arena,
                  "{\"person\":\"%s\",\"passage\":\"%s\",\"open\":\"%s\",\"pinched\":\"%s\"}",
                  rq->person->id, passage_id(range, printed), ids[0], ids[1])
            : NULL;
    if (status == MST_OK)
        status =
            input ? jobs_promise(rq, "pinch", rq->person->id, input, job, err) : no_memory(err);
    if (status != MST_OK)
        return status;
    jobs_wake(rq->desk);
    rq->reply.status = 202;
    js_open(&rq->reply.body, NULL, '{');
    js_text(&rq->reply.body, "job", job);
    js_text(&rq->reply.body, "state", mst_job_state_id(MST_JOB_WAITING));
    js_close(&rq->reply.body, '}');
    return MST_OK;
}

/* Only one's own: of another's nothing is said, not even that it is there. */
enum mst_status get_mine_pinch(struct request *rq, struct mst_error *err)
{
    struct mst_job job;
    const char *id;
    enum mst_status status = param_wanted(rq, "job", "k3v9x2m4q7w1t5za", &id, err);
    if (status == MST_OK)
        status = mst_store_job_get(rq->desk->store, id, rq->arena, &job, err);
    if (status == MST_OK &&
        (strcmp(job.kind, "pinch") != 0 || strcmp(job.about, rq->person->id) != 0))
        status = mst_fail(err, MST_NOT_FOUND, "there is no job “%.40s”", id);
    if (status != MST_OK)
        return status;
    struct mst_string *s = &rq->reply.body;
    js_open(s, NULL, '{');
    js_text(s, "job", job.id);
    js_text(s, "state", mst_job_state_id(job.state));
    js_said(s, "reason", job.reason);
    js_raw(s, "result", job.result);
    js_close(s, '}');
    return MST_OK;
}

/* --- at work ---------------------------------------------------------------------------- */

/* What most of the holds say, weighed by how sure each is; a doubt is said before a comfort. */
static enum mst_pinch_verdict verdict_of(const struct mst_pinch *p, double *sureness)
{
    static const enum mst_pinch_verdict order[] = {MST_PINCH_STAYS, MST_PINCH_DIES,
                                                   MST_PINCH_CHANGES};
    double sums[MST_PINCH_COUNT] = {0}, all = 0;
    enum mst_pinch_verdict best = MST_PINCH_CANNOT_TELL;
    for (int32_t n = 0; n < p->site_count; n++) {
        if (p->sites[n].verdict == MST_PINCH_CANNOT_TELL)
            continue;
        sums[p->sites[n].verdict] += p->sites[n].sureness;
        all += p->sites[n].sureness;
    }
    for (int n = 0; n < 3; n++)
        if (sums[order[n]] > 0 && (best == MST_PINCH_CANNOT_TELL || sums[order[n]] > sums[best]))
            best = order[n];
    *sureness = all > 0 ? sums[best] / all : 0;
    return best;
}

static void verdict_members(struct mst_string *s, enum mst_pinch_verdict verdict, double sureness)
{
    js_text(s, "verdict", mst_pinch_id(verdict));
    js_text(s, "text", mst_pinch_text(verdict, MST_LANG_EN));
    js_text(s, "text_ar", mst_pinch_text(verdict, MST_LANG_AR));
    js_real(s, "sureness", sureness, 2);
}

static void result_write(struct mst_string *s, const struct mst_text *text,
                         const struct mst_pinch *p)
{
    double sureness;
    enum mst_pinch_verdict verdict = verdict_of(p, &sureness);
    js_open(s, NULL, '{');
    verdict_members(s, verdict, sureness);
    js_open(s, "sites", '[');
    for (int32_t n = 0; n < p->site_count; n++) {
        const struct mst_pinch_site *site = &p->sites[n];
        js_open(s, NULL, '{');
        js_address(s, "at", site->at);
        if (site->at.verse > 0 && site->at.word > 0)
            display(s, "word", mst_text_word(text, site->at.sura, site->at.verse, site->at.word));
        else
            js_null(s, "word");
        verdict_members(s, site->verdict, site->sureness);
        js_close(s, '}');
    }
    js_close(s, ']');
    js_text(s, "reminder", mst_findings_reminder(MST_LANG_EN));
    js_text(s, "reminder_ar", mst_findings_reminder(MST_LANG_AR));
    js_close(s, '}');
}

static enum mst_status hear_both(struct work *work, struct mst_range range,
                                 const struct mst_voice *voice, struct mst_hearing *out[TAKES],
                                 struct mst_error *err)
{
    const struct mst_reading_options how = {0};
    struct mst_ear_progress progress = {work_report, work};
    enum mst_status status = MST_OK;
    for (int n = 0; n < TAKES && status == MST_OK; n++) {
        const char *id = json_string_value(json_object_get(work->input, take_names[n]));
        const char *path = mst_upload_path(work->desk->store, id ? id : "", work->arena);
        struct mst_listen_options options = {.voice = voice, .given = 1, .progress = &progress};
        work_stage(work, "listening", 0.45 * n, 0.45 * (n + 1));
        status = path ? mst_hearing_open(work->desk->text, &path, 1, range, &how, &progress,
                                         &out[n], err)
                      : no_memory(err);
        if (status == MST_OK)
            status = mst_hearing_listen(out[n], &options, err);
    }
    return status;
}

static enum mst_status voice_of_person(struct work *work, const char *id, struct mst_voice **out,
                                       struct mst_error *err)
{
    struct mst_person person;
    *out = NULL;
    enum mst_status status =
        mst_person_get(work->desk->store, id ? id : "", work->arena, &person, err);
    if (status == MST_OK)
        status = voice_kept(work->desk, person.voice, out, err);
    return status == MST_NOT_FOUND ? MST_OK : status;
}

enum mst_status job_pinch(struct work *work, struct mst_error *err)
{
    const char *passage = json_string_value(json_object_get(work->input, "passage"));
    const char *person = json_string_value(json_object_get(work->input, "person"));
    struct mst_hearing *heard[TAKES] = {NULL, NULL};
    struct mst_voice *voice = NULL;
    struct mst_pinch *pinch = NULL;
    struct mst_range range;
    enum mst_status status =
        mst_range_parse(work->desk->text, mst_span_of(passage ? passage : ""), &range, err);
    if (status == MST_OK)
        status = voice_of_person(work, person, &voice, err);
    if (status == MST_OK)
        status = hear_both(work, range, voice, heard, err);
    if (status == MST_OK) {
        struct mst_pinch_take open = {heard[OPEN_TAKE]->timeline, heard[OPEN_TAKE]->take};
        struct mst_pinch_take pinched = {heard[PINCHED_TAKE]->timeline, heard[PINCHED_TAKE]->take};
        status = mst_pinch_compare(open, pinched, work->arena, &pinch, err);
    }
    if (status == MST_OK)
        result_write(&work->result, work->desk->text, pinch);
    for (int n = 0; n < TAKES; n++)
        mst_hearing_close(heard[n]);
    mst_voice_free(voice);
    int again = status != MST_OK && atomic_load(&work->parted) && !atomic_load(&work->cancelled);
    for (int n = 0; n < TAKES && !again; n++) {
        struct mst_error trouble;
        const char *id = json_string_value(json_object_get(work->input, take_names[n]));
        if (id && mst_upload_drop(work->desk->store, id, &trouble) != MST_OK)
            log_event(work->desk, "trouble", "%s", trouble.message);
    }
    return status;
}
