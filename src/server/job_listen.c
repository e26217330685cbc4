/* job_listen.c – listening to a take, comparing two, learning a voice: the ear at work. */
#include "hear.h"

#include <mistara/report.h>
#include <mistara/shelf.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { TAKES_MOST = 40, TRIES = 8 };

/* Change a take's row whatever others change meanwhile. */
struct take_change {
    enum mst_kept_state state;
    const char *problem;
    double seconds;    /* 0: as it is */
    int ended, report; /* report -1: as it is */
};

static enum mst_status take_change(struct desk *desk, const char *id, const char *job,
                                   const struct take_change *change, struct mst_error *err)
{
    enum mst_status status = MST_MISMATCH;
    for (int n = 0; n < TRIES && status == MST_MISMATCH; n++) {
        struct mst_arena *arena = mst_arena_new(0);
        struct mst_kept_take take;
        status = arena ? mst_store_take_get(desk->store, id, arena, &take, err) : no_memory(err);
        if (status == MST_OK && take.job && strcmp(take.job, job) == 0) {
            take.state = change->state;
            take.problem = change->problem;
            if (change->seconds > 0)
                take.seconds = change->seconds;
            if (change->report >= 0)
                take.report = change->report;
            if (change->ended)
                take.job = NULL;
            status = mst_store_take_put(desk->store, &take, err);
        }
        mst_arena_free(arena);
    }
    if (status == MST_OK)
        take_say(desk, id);
    return status;
}

void job_take_ended(struct work *work, enum mst_status status, const struct mst_error *err)
{
    const char *id = json_string_value(json_object_get(work->input, "take"));
    struct mst_kept_take take;
    struct mst_error trouble;
    int listens =
        strcmp(work->job.kind, "listen") == 0 || strcmp(work->job.kind, "submission") == 0;
    if (!id || !listens || status == MST_OK)
        return;
    if (mst_store_take_get(work->desk->store, id, work->arena, &take, &trouble) != MST_OK)
        return;
    int cancelled = status == MST_CANCELLED;
    struct take_change change = {.state = !cancelled    ? MST_KEPT_REFUSED
                                          : take.report ? MST_KEPT_HEARD
                                                        : MST_KEPT_NEW,
                                 .problem = cancelled ? NULL : err->message,
                                 .ended = 1,
                                 .report = -1};
    if (take_change(work->desk, id, work->job.id, &change, &trouble) != MST_OK)
        log_event(work->desk, "trouble", "%s", trouble.message);
}

enum mst_status takes_recover(struct desk *desk, struct mst_error *err)
{
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_kept_take *takes;
    size_t count = 0;
    enum mst_status status =
        arena ? mst_store_take_list(desk->store, NULL, arena, &takes, &count, err) : no_memory(err);
    for (size_t n = 0; n < count && status == MST_OK; n++) {
        struct mst_kept_take *take = &takes[n];
        struct mst_job job = {0};
        struct mst_error none;
        if (take->state != MST_KEPT_WAITING && take->state != MST_KEPT_LISTENING)
            continue;
        int known =
            take->job && mst_store_job_get(desk->store, take->job, arena, &job, &none) == MST_OK;
        if (known && (job.state == MST_JOB_WAITING || job.state == MST_JOB_RUNNING))
            continue;
        take->job = NULL;
        take->state = take->report ? MST_KEPT_HEARD : MST_KEPT_NEW;
        if (known && job.state == MST_JOB_FAILED) {
            take->state = MST_KEPT_REFUSED;
            take->problem = job.reason;
        }
        status = mst_store_take_put(desk->store, take, err);
        if (status == MST_OK)
            take_say(desk, take->id);
        else if (status == MST_MISMATCH)
            status = MST_OK; /* someone else was quicker */
    }
    mst_arena_free(arena);
    return status;
}

/* --- listen ------------------------------------------------------------------------ */

static enum mst_status report_put(const char *folder, const char *name, struct mst_string *s,
                                  struct mst_arena *arena, struct mst_error *err)
{
    char *path = mst_arena_printf(arena, "%s/%s", folder, name);
    enum mst_status status = path && !s->failed
                                 ? mst_file_write(path, s->ptr ? s->ptr : "", s->len, err)
                                 : no_memory(err);
    mst_string_free(s);
    return status;
}

/* pages: those for paper and browser too. */
static enum mst_status reports_write(struct work *work, struct mst_report *report,
                                     const char *folder, int pages, struct mst_error *err)
{
    static const char *const codes[] = {"en", "ar"};
    static const char *const plain[] = {"words.vtt", "sounds.tsv", "labels.txt"};
    static void (*const write[])(const struct mst_report *, struct mst_string *) = {
        mst_report_vtt, mst_report_tsv, mst_report_labels};
    struct mst_string s = {0};
    char name[32];
    enum mst_status status = MST_OK;
    work_stage(work, "writing the report", 0.92, 1);
    for (int n = 0; n < 3 && status == MST_OK; n++) {
        write[n](report, &s);
        status = report_put(folder, plain[n], &s, work->arena, err);
    }
    for (int lang = 0; lang < 2 && status == MST_OK; lang++) {
        report->lang = lang ? MST_LANG_AR : MST_LANG_EN;
        if (pages)
            status = mst_report_html(report, NULL, &s, err);
        snprintf(name, sizeof name, "report-%s.html", codes[lang]);
        if (status == MST_OK && pages)
            status = report_put(folder, name, &s, work->arena, err);
        if (status == MST_OK && pages)
            status = mst_report_pdf(report, NULL, &s, err);
        snprintf(name, sizeof name, "report-%s.pdf", codes[lang]);
        if (status == MST_OK && pages)
            status = report_put(folder, name, &s, work->arena, err);
        mst_string_free(&s);
        mst_report_json(report, &s);
        snprintf(name, sizeof name, "report-%s.json", codes[lang]);
        if (status == MST_OK)
            status = report_put(folder, name, &s, work->arena, err);
        if (status == MST_OK && work_report(work, (lang + 1) / 2.0))
            status = mst_fail(err, MST_CANCELLED, "stopped on request");
    }
    mst_string_free(&s);
    return status;
}

/* What the model take measures, heard with its own voice. */
static enum mst_status model_measure(struct work *work, const struct mst_kept_take *row, double to,
                                     struct mst_length_model *out, struct mst_error *err)
{
    struct mst_voice *own = NULL;
    struct heard model = {0};
    enum mst_status status = take_voice(work->desk, row, &own, err);
    if (status == MST_OK && lengths_find(work->desk, row, own, out)) {
        mst_voice_free(own);
        return MST_OK;
    }
    if (status == MST_OK)
        status = take_hear(work, row->id, own, 0, to, 1, &model, err);
    if (status == MST_OK)
        status =
            mst_measure(model.hearing->timeline, NULL, model.hearing->arena, &model.measures, err);
    if (status == MST_OK)
        status = mst_length_model_make((const struct mst_measures *const[]){model.measures}, 1, out,
                                       err);
    if (status == MST_OK)
        lengths_keep(work->desk, row, own, out);
    mst_hearing_close(model.hearing);
    mst_voice_free(own);
    return status;
}

/* The lengths to expect: those of the model take, else those kept with the take's voice. *out NULL:
 * nothing is known. *name: whose they are. */
static enum mst_status lengths_expected(struct work *work, const struct mst_kept_take *take,
                                        const struct mst_voice *voice, double to,
                                        struct mst_length_model *room,
                                        const struct mst_length_model **out, const char **name,
                                        struct mst_error *err)
{
    struct mst_kept_take row;
    struct mst_error why = {0};
    *out = voice && !take->model ? mst_voice_lengths(voice) : NULL;
    *name = *out ? take->voice : NULL;
    if (!take->model)
        return MST_OK;
    enum mst_status status =
        mst_store_take_get(work->desk->store, take->model, work->arena, &row, &why);
    if (status == MST_OK)
        status = model_measure(work, &row, to, room, &why);
    if (status != MST_OK)
        return mst_fail(err, status, "the model take: %.400s", why.message);
    *out = room;
    *name = row.name;
    return MST_OK;
}

enum mst_status take_faults(struct work *work, const struct mst_hearing *hearing,
                            const struct mst_voice *judge, struct mst_fault_report **out,
                            struct mst_error *err)
{
    const char *path = mst_faults_default_path(work->arena);
    struct mst_fault_list *list = NULL;
    struct mst_similar *similar = NULL;
    enum mst_status status = path ? mst_faults_read(&path, 1, work->arena, &list, err) : MST_OK;
    if (status == MST_OK)
        status = mst_similar_open(work->desk->text, &similar, err);
    if (status == MST_OK)
        status = mst_fault_look(hearing->timeline, hearing->features, judge, list, similar, 0,
                                work->arena, out, err);
    mst_similar_close(similar);
    return status;
}

/* Was the voice learned from this take, or is nothing known of that? Then it cannot judge it. */
static int voice_is_its_own(struct work *work, const struct mst_kept_take *take)
{
    struct mst_kept_voice kept = {.takes = NULL};
    struct mst_error unknown;
    return mst_store_voice_get(work->desk->store, take->voice, work->arena, &kept, &unknown) !=
               MST_OK ||
           kept.made_ms == 0 || !kept.takes || strstr(kept.takes, take->id);
}

enum mst_status take_listen(struct work *work, const char *id,
                            const struct mst_measure_limits *limits, const struct goes_on *then,
                            struct mst_error *err)
{
    struct desk *desk = work->desk;
    const char *folder = NULL;
    struct mst_kept_take take = {0};
    struct mst_voice *voice = NULL;
    struct heard heard = {0};
    struct mst_length_model lengths;
    const char *model_name = NULL;
    const struct mst_length_model *expected = NULL;
    struct mst_finding *findings = NULL;
    size_t finding_count = 0;
    struct mst_fault_report *faults = NULL;
    struct take_change begun = {.state = MST_KEPT_LISTENING, .report = -1};

    enum mst_status status = id ? take_change(desk, id, work->job.id, &begun, err)
                                : mst_fail(err, MST_INTERNAL, "the job names no take");
    if (status == MST_OK)
        status = mst_store_take_get(desk->store, id, work->arena, &take, err);
    if (status == MST_OK)
        status = take_voice(desk, &take, &voice, err);
    double middle = take.model ? 0.45 : 0;
    if (status == MST_OK)
        status =
            lengths_expected(work, &take, voice, middle, &lengths, &expected, &model_name, err);
    if (status == MST_OK)
        status = take_hear(work, id, voice, middle, 0.92, 1, &heard, err);
    if (status == MST_OK)
        status = mst_measure_by(heard.hearing->timeline, expected, heard.hearing->arena,
                                &heard.measures, err);
    if (status == MST_OK)
        status = mst_find(heard.measures, limits, work->arena, &findings, &finding_count, err);
    /* its own voice cannot judge its sounds; a submission is judged by who goes on with it */
    if (status == MST_OK && !then) {
        const struct mst_voice *judge = voice && !voice_is_its_own(work, &take) ? voice : NULL;
        status = take_faults(work, heard.hearing, judge, &faults, err);
    }
    if (status == MST_OK)
        status = mst_store_report_folder(desk->store, id, work->arena, &folder, err);
    if (status == MST_OK) {
        struct mst_report report = {.take_names = (const char *const[]){take.name},
                                    .take_count = 1,
                                    .passage = heard.hearing->passage,
                                    .take = heard.hearing->take,
                                    .quality = &heard.hearing->quality,
                                    .measures = heard.measures,
                                    .findings = findings,
                                    .finding_count = finding_count,
                                    .faults = faults,
                                    .model_name = model_name};
        status = reports_write(work, &report, folder, !then, err);
    }
    if (status == MST_OK && then) {
        struct listened listened = {heard.hearing, heard.measures, findings, finding_count};
        status = then->run(work, &listened, then->with, err);
    }
    if (status == MST_OK) {
        struct take_change done = {.state = MST_KEPT_HEARD,
                                   .seconds = heard.hearing->quality.seconds,
                                   .ended = 1,
                                   .report = 1};
        status = take_change(desk, id, work->job.id, &done, err);
    }
    mst_hearing_close(heard.hearing);
    mst_voice_free(voice);
    return status;
}

enum mst_status job_listen(struct work *work, struct mst_error *err)
{
    const char *id = json_string_value(json_object_get(work->input, "take"));
    return take_listen(work, id, NULL, NULL, err);
}

/* --- compare -------------------------------------------------------------------------- */

enum mst_status job_compare(struct work *work, struct mst_error *err)
{
    static const char *const names[] = {"first", "second"};
    struct heard heard[2] = {0};
    struct mst_comparison *comparison = NULL;
    struct mst_string whole = {0};
    enum mst_status status = MST_OK;
    for (int n = 0; n < 2 && status == MST_OK; n++) {
        const char *id = json_string_value(json_object_get(work->input, names[n]));
        struct mst_kept_take take;
        struct mst_voice *voice = NULL;
        status = mst_store_take_get(work->desk->store, id ? id : "", work->arena, &take, err);
        if (status == MST_OK)
            status = take_voice(work->desk, &take, &voice, err);
        if (status == MST_OK)
            status = take_hear(work, id, voice, 0.5 * n, 0.5 * (n + 1), 1, &heard[n], err);
        if (status == MST_OK)
            status = mst_measure(heard[n].hearing->timeline, NULL, heard[n].hearing->arena,
                                 &heard[n].measures, err);
        mst_voice_free(voice);
    }
    if (status == MST_OK)
        status = mst_compare(heard[0].measures, heard[1].measures, work->arena, &comparison, err);
    if (status == MST_OK) {
        struct mst_report reports[2];
        for (int n = 0; n < 2; n++)
            reports[n] = (struct mst_report){.take_names = &heard[n].take.name,
                                             .take_count = 1,
                                             .passage = heard[n].hearing->passage,
                                             .take = heard[n].hearing->take,
                                             .quality = &heard[n].hearing->quality,
                                             .measures = heard[n].measures};
        reports[0].beside = &reports[1];
        reports[0].comparison = comparison;
        mst_report_json(&reports[0], &whole);
        json_t *report = whole.failed ? NULL : json_loadb(whole.ptr, whole.len, 0, NULL);
        json_t *beside = json_object_get(report, "beside");
        json_t *result = json_object();
        json_object_set(result, "first", json_object_get(work->input, "first"));
        json_object_set(result, "second", json_object_get(work->input, "second"));
        char *text = beside && json_object_update_missing(result, beside) == 0
                         ? json_dumps(result, JSON_COMPACT | JSON_REAL_PRECISION(6))
                         : NULL;
        if (text)
            mst_string_adds(&work->result, text);
        else
            status = no_memory(err);
        free(text);
        json_decref(result);
        json_decref(report);
    }
    mst_string_free(&whole);
    for (int n = 0; n < 2; n++)
        mst_hearing_close(heard[n].hearing);
    return status;
}

/* --- learn a voice ------------------------------------------------------------------------ */

enum mst_status job_voice(struct work *work, struct mst_error *err)
{
    const char *name = json_string_value(json_object_get(work->input, "name"));
    const char *from_name = json_string_value(json_object_get(work->input, "from"));
    const json_t *takes = json_object_get(work->input, "takes");
    size_t count = json_array_size(takes), opened = 0;
    struct heard heard[TAKES_MOST];
    struct mst_hearing *hearings[TAKES_MOST];
    struct mst_shelf *shelf = NULL;
    struct mst_voice *from = NULL, *voice = NULL;
    struct mst_ear_progress progress = {work_report, work};
    enum mst_status status = name && count > 0 && count <= TAKES_MOST
                                 ? mst_shelf_open(mst_store_folder(work->desk->store), &shelf, err)
                                 : mst_fail(err, MST_INTERNAL, "the job names no voice");
    if (status == MST_OK && from_name)
        status = mst_shelf_get(shelf, from_name, &from, err);
    for (; opened < count && status == MST_OK; opened++) {
        const char *id = json_string_value(json_array_get(takes, opened));
        double step = 0.3 / (double)count;
        status = take_hear(work, id ? id : "", NULL, step * (double)opened,
                           step * (double)(opened + 1), 0, &heard[opened], err);
        hearings[opened] = heard[opened].hearing;
    }
    struct mst_learn_options options = {.from = from, .progress = &progress};
    work_stage(work, "learning the voice", 0.3, 1);
    if (status == MST_OK)
        status = mst_hearing_learn(hearings, count, name, &options, &voice, err);
    if (status == MST_OK)
        status = mst_shelf_put(shelf, name, voice, err);
    char *list = json_dumps(takes, JSON_COMPACT);
    if (status == MST_OK)
        status = list ? mst_store_voice_put(work->desk->store, name, list, err) : no_memory(err);
    free(list);
    if (status == MST_OK) {
        js_open(&work->result, NULL, '{');
        js_text(&work->result, "name", name);
        js_real(&work->result, "speech_seconds", mst_voice_info(voice).speech_seconds, 1);
        js_close(&work->result, '}');
        struct mst_string s = {0};
        js_open(&s, NULL, '{');
        js_text(&s, "name", name);
        js_close(&s, '}');
        events_say(work->desk, "voice", s.ptr, s.len);
        mst_string_free(&s);
    }
    for (size_t n = 0; n < opened; n++)
        mst_hearing_close(heard[n].hearing);
    mst_voice_free(from);
    mst_voice_free(voice);
    mst_shelf_close(shelf);
    return status;
}
