/*
 * job_round.c – the round of a class at work: a learner's recording listened
 * to and laid out for the teacher, a voice note given back to its learner, a
 * learner's voice learned.
 */
#include "hear.h"

#include <mistara/classbook.h>
#include <mistara/find.h>
#include <mistara/know.h>
#include <mistara/round.h>
#include <mistara/shelf.h>
#include <mistara/take.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { TRIES = 8, PASSAGES_MOST = 24, READERS_MOST = 400 };

static const char *input_text(const struct work *work, const char *name)
{
    return json_string_value(json_object_get(work->input, name));
}

/* --- a submission's row, whatever others change meanwhile --------------------------- */

struct submission_change {
    const char *state;
    const char *problem;
    const char *proposal; /* NULL: as it is */
    double need;          /* below 0: as it is */
    int heard;            /* heard_ms becomes now */
};

static enum mst_status submission_change(struct desk *desk, const char *id,
                                         const struct submission_change *change,
                                         struct mst_error *err)
{
    enum mst_status status = MST_MISMATCH;
    for (int n = 0; n < TRIES && status == MST_MISMATCH; n++) {
        struct mst_arena *arena = mst_arena_new(0);
        struct mst_submission submission;
        status =
            arena ? mst_submission_get(desk->store, id, arena, &submission, err) : no_memory(err);
        if (status == MST_OK) {
            submission.state = change->state;
            submission.problem = change->problem;
            if (change->proposal)
                submission.proposal = change->proposal;
            if (change->need >= 0)
                submission.need = change->need;
            if (change->heard)
                submission.heard_ms = mst_store_now_ms();
            status = mst_submission_put(desk->store, &submission, err);
        }
        mst_arena_free(arena);
    }
    if (status == MST_OK)
        submission_say(desk, id);
    return status;
}

void submission_ended(struct work *work, enum mst_status status, const struct mst_error *err)
{
    const char *id = input_text(work, "submission");
    struct mst_error trouble;
    /* What cannot be listened to comes first on the desk: only the teacher's own ear is left. */
    struct submission_change refused = {.state = "refused", .problem = err->message, .need = 1};
    int about_one =
        strcmp(work->job.kind, "submission") == 0 || strcmp(work->job.kind, "propose") == 0;
    if (!id || !about_one || status == MST_OK)
        return;
    enum mst_status written = submission_change(work->desk, id, &refused, &trouble);
    if (written != MST_OK && written != MST_NOT_FOUND) /* deleted meanwhile */
        log_event(work->desk, "trouble", "%s", trouble.message);
}

/* --- laid out for the teacher ----------------------------------------------------------- */

struct laying_out {
    const struct mst_submission *submission;
    struct mst_measure_limits limits;
    const struct mst_voice *judge; /* the voice to judge sounds by, or NULL */
    double need;                   /* what came of it */
};

static const char *in_arena(struct mst_string *s, struct mst_arena *arena)
{
    const char *kept = s->failed ? NULL : mst_arena_strndup(arena, s->ptr ? s->ptr : "", s->len);
    mst_string_free(s);
    return kept;
}

static const char *letter_text(const struct mst_reading *r, int32_t letter, struct mst_arena *arena)
{
    char utf8[5] = "";
    size_t len = mst_utf8_put(r->letters[letter].base, utf8);
    return mst_arena_strndup(arena, utf8, len);
}

static enum mst_status row_of(const struct mst_timeline *timeline,
                              const struct mst_round_site *site, const struct mst_member *skills,
                              struct mst_arena *arena, struct mst_site_measure *out,
                              struct mst_error *err)
{
    const struct mst_reading *r = timeline->reading;
    char at[48];
    *out = (struct mst_site_measure){.rule =
                                         site->rule < MST_RULE_COUNT ? mst_rule_id(site->rule) : "",
                                     .letter = "",
                                     .length = "",
                                     .trust = mst_edge_trust_id(timeline->trust),
                                     .told = mst_told_id(site->told),
                                     .ruling = "",
                                     .ruled_by = "",
                                     .sura = site->at.sura,
                                     .verse = site->at.verse,
                                     .word = site->at.word,
                                     .start_ms = site->start_ms,
                                     .end_ms = site->end_ms,
                                     .deviation = site->deviation,
                                     .wrong = site->wrong,
                                     .rank = site->rank};
    mst_addr_print(site->at, at);
    out->at = mst_arena_strndup(arena, at, strlen(at));
    if (site->measured) {
        const struct mst_measured_site *m = site->measured;
        out->letter = letter_text(r, r->sites[m->site_idx].trigger, arena);
        out->length = mst_length_id(m->length);
        out->trust = mst_edge_trust_id(m->trust);
        out->skill = mst_skill_number(skills[m->site_idx]);
        out->measured_counts = m->measured_counts;
        out->counts_low = m->counts_low;
        out->counts_high = m->counts_high;
        out->expected_counts = m->expected_counts;
    } else {
        struct mst_string s = {0};
        const struct mst_kind_fault *kind = site->fault->kind;
        int32_t sound = kind ? timeline->sounds[kind->sound].sound_idx : -1;
        mst_fault_item_short(timeline, site->fault, MST_LANG_EN, &s);
        out->fault = in_arena(&s, arena);
        mst_fault_item_short(timeline, site->fault, MST_LANG_AR, &s);
        out->fault_ar = in_arena(&s, arena);
        if (sound >= 0)
            out->letter = letter_text(r, r->sounds[sound].first_letter, arena);
        if (sound >= 0 && r->sounds[sound].site >= 0)
            out->skill = mst_skill_number(skills[r->sounds[sound].site]);
        if (!out->fault || !out->fault_ar)
            return no_memory(err);
    }
    return out->at && out->letter ? MST_OK : no_memory(err);
}

static enum mst_status lay_out(struct work *work, const struct listened *heard, void *with,
                               struct mst_error *err)
{
    struct laying_out *l = with;
    const struct mst_timeline *timeline = heard->hearing->timeline;
    struct mst_fault_report *faults = NULL;
    struct mst_round *round = NULL;
    enum mst_status status = take_faults(work, heard->hearing, l->judge, &faults, err);
    if (status == MST_OK)
        status = mst_round_make(heard->measures, faults, &l->limits, work->arena, &round, err);
    if (status != MST_OK)
        return status;
    size_t count = (size_t)round->count;
    struct mst_site_measure *rows = mst_arena_alloc(work->arena, count + 1, sizeof *rows);
    struct mst_member *skills =
        mst_arena_alloc(work->arena, (size_t)timeline->reading->site_count + 1, sizeof *skills);
    if (!rows || !skills)
        return no_memory(err);
    mst_skills_of_reading(timeline->reading, skills);
    for (size_t n = 0; n < count && status == MST_OK; n++)
        status = row_of(timeline, &round->sites[n], skills, work->arena, &rows[n], err);
    /* Measures, the take's and the submission's state, the job's end: all or nothing. */
    if (status == MST_OK)
        status = work_effect(work, err);
    if (status == MST_OK)
        status = mst_measures_put(work->desk->store, l->submission->id, rows, count, err);
    l->need = round->need;
    return status;
}

/* *out NULL: nobody named one, or it was forgotten meanwhile. */
static enum mst_status voice_named(struct desk *desk, const char *name, struct mst_voice **out,
                                   struct mst_error *err)
{
    enum mst_status status = voice_kept(desk, name, out, err);
    return status == MST_NOT_FOUND ? MST_OK : status;
}

/* The voice of the teacher's take for this assignment: what the sounds are judged by. */
static enum mst_status judge_of(struct work *work, const struct mst_submission *submission,
                                struct mst_voice **out, struct mst_error *err)
{
    struct mst_assignment assignment;
    struct mst_kept_take take;
    *out = NULL;
    if (!submission->assignment)
        return MST_OK;
    enum mst_status status = mst_assignment_get(work->desk->store, submission->assignment,
                                                work->arena, &assignment, err);
    if (status != MST_OK || !assignment.take)
        return status;
    status = mst_store_take_get(work->desk->store, assignment.take, work->arena, &take, err);
    return status == MST_OK ? voice_named(work->desk, take.voice, out, err) : status;
}

enum mst_status job_submission(struct work *work, struct mst_error *err)
{
    struct desk *desk = work->desk;
    const char *id = input_text(work, "submission");
    struct mst_submission submission;
    struct mst_class class;
    struct mst_voice *judge = NULL;
    struct submission_change begun = {.state = "listening", .need = -1};
    enum mst_status status = id ? mst_submission_get(desk->store, id, work->arena, &submission, err)
                                : mst_fail(err, MST_INTERNAL, "the job names no submission");
    if (status == MST_OK && !submission.take)
        status = mst_fail(err, MST_NOT_FOUND, "the recording was deleted");
    if (status == MST_OK)
        status = submission_change(desk, id, &begun, err);
    if (status == MST_OK)
        status = mst_class_get(desk->store, submission.class_id, work->arena, &class, err);
    if (status == MST_OK)
        status = judge_of(work, &submission, &judge, err);
    if (status == MST_OK) {
        struct laying_out l = {&submission, class_limits(&class), judge, 0};
        status = take_listen(work, submission.take, &l.limits, &(struct goes_on){lay_out, &l}, err);
        struct submission_change done = {.state = "heard", .need = l.need, .heard = 1};
        if (status == MST_OK)
            status = submission_change(desk, id, &done, err);
    }
    mst_voice_free(judge);
    return status;
}

/* --- promised --------------------------------------------------------------------------------- */

/* The learner's own voice when it was learned, else the teacher's; expected lengths from the
 * teacher's take of the same passage. */
static enum mst_status listens_how(struct desk *desk, const struct mst_submission *submission,
                                   struct mst_arena *arena, struct mst_kept_take *io,
                                   struct mst_error *err)
{
    struct mst_person person = {0};
    struct mst_assignment assignment = {0};
    struct mst_kept_take model = {0};
    enum mst_status status = MST_OK;
    if (submission->person)
        status = mst_person_get(desk->store, submission->person, arena, &person, err);
    if (status == MST_OK && submission->assignment)
        status = mst_assignment_get(desk->store, submission->assignment, arena, &assignment, err);
    if (status == MST_OK && assignment.take)
        status = mst_store_take_get(desk->store, assignment.take, arena, &model, err);
    if (status != MST_OK)
        return status;
    io->voice = person.voice ? person.voice : model.voice;
    io->model = assignment.take && *model.passage ? assignment.take : NULL;
    io->keep_voice = 0;
    return MST_OK;
}

enum mst_status submission_listen(struct desk *desk, const char *id, struct mst_error *err)
{
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_submission submission;
    struct mst_kept_take take;
    char job[MST_ID_SIZE];
    enum mst_status status =
        arena ? mst_submission_get(desk->store, id, arena, &submission, err) : no_memory(err);
    if (status == MST_OK && !submission.take)
        status = mst_fail(err, MST_NOT_FOUND, "the recording was deleted");
    if (status == MST_OK)
        status = mst_store_take_get(desk->store, submission.take, arena, &take, err);
    if (status == MST_OK)
        status = listens_how(desk, &submission, arena, &take, err);
    if (status == MST_OK) {
        take.passage = submission.passage;
        take.how = submission.how;
    }
    const char *input = status == MST_OK
                            ? mst_arena_printf(arena, "{\"submission\":\"%s\",\"take\":\"%s\"}", id,
                                               submission.take)
                            : NULL;
    /* As one: of two who promise the same, one does. */
    if (status == MST_OK)
        status = input ? mst_store_begin(desk->store, err) : no_memory(err);
    if (status == MST_OK) {
        status = mst_store_job_add(desk->store, "submission", id, input, job, err);
        take.job = job;
        take.state = MST_KEPT_WAITING;
        take.problem = NULL;
        if (status == MST_OK)
            status = mst_store_take_put(desk->store, &take, err);
        status = mst_store_settle(desk->store, status, err);
    }
    mst_arena_free(arena);
    if (status == MST_OK)
        jobs_wake(desk);
    return status;
}

/* What was handed in and never promised to be listened to, or whose listening was broken off for
 * good. Where there are several desks, one of them may be about to promise it. */
enum mst_status submissions_recover(struct desk *desk, struct mst_error *err)
{
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_submission *list = NULL;
    size_t count = 0;
    int64_t before = mst_store_now_ms() - (mst_store_shared(desk->store) ? 2 * desk->lease_ms : 0);
    enum mst_status status =
        arena ? mst_submission_list_left(desk->store, before, arena, &list, &count, err)
              : no_memory(err);
    for (size_t n = 0; n < count && status == MST_OK; n++) {
        struct mst_kept_take take;
        struct mst_job job = {0};
        struct mst_error none;
        status = mst_store_take_get(desk->store, list[n].take, arena, &take, err);
        if (status != MST_OK)
            break;
        int ended = take.job &&
                    mst_store_job_get(desk->store, take.job, arena, &job, &none) == MST_OK &&
                    (job.state == MST_JOB_FAILED || job.state == MST_JOB_CANCELLED);
        const char *why = job.reason ? job.reason : "stopped on request";
        struct submission_change refused = {
            .state = "refused", .problem = ended ? why : take.problem, .need = 1};
        status = ended || take.state == MST_KEPT_REFUSED
                     ? submission_change(desk, list[n].id, &refused, err)
                     : submission_listen(desk, list[n].id, err);
        if (status == MST_MISMATCH || status == MST_NOT_FOUND)
            status = MST_OK; /* someone else was quicker */
    }
    mst_arena_free(arena);
    return status;
}

/* --- whose is it? --------------------------------------------------------------------------- */

struct candidates {
    struct mst_round_passage passages[PASSAGES_MOST];
    const char *assignments[PASSAGES_MOST];
    struct mst_round_reader readers[READERS_MOST];
    struct mst_voice *voices[READERS_MOST]; /* those of the readers, to be freed */
    const char *people[READERS_MOST];
    size_t passage_count, reader_count;
};

/* The passages the class was given, the latest first, each once. */
static enum mst_status passages_of(struct work *work, const char *class_id, struct candidates *c,
                                   struct mst_error *err)
{
    struct mst_assignment *list = NULL;
    size_t count = 0;
    enum mst_status status =
        mst_assignment_list(work->desk->store, class_id, work->arena, &list, &count, err);
    for (size_t n = 0; n < count && status == MST_OK && c->passage_count < PASSAGES_MOST; n++) {
        struct mst_round_passage *p = &c->passages[c->passage_count];
        struct mst_reading_options *how = mst_arena_alloc(work->arena, 1, sizeof *how);
        int known = list[n].withdrawn_ms != 0;
        status =
            how ? mst_range_parse(work->desk->text, mst_span_of(list[n].passage), &p->range, err)
                : no_memory(err);
        json_t *options = json_loads(list[n].how, 0, NULL);
        if (status == MST_OK)
            status = how_of_json(work->desk->text, options, work->arena, how, err);
        json_decref(options);
        p->how = how;
        for (size_t k = 0; k < c->passage_count && status == MST_OK; k++)
            known |= memcmp(&c->passages[k].range, &p->range, sizeof p->range) == 0;
        c->assignments[c->passage_count] = list[n].id;
        c->passage_count += status == MST_OK && !known;
    }
    return status;
}

static enum mst_status readers_of(struct work *work, const char *class_id, struct candidates *c,
                                  struct mst_error *err)
{
    struct mst_person *list = NULL;
    size_t count = 0;
    enum mst_status status =
        mst_person_list(work->desk->store, class_id, work->arena, &list, &count, err);
    for (size_t n = 0; n < count && status == MST_OK && c->reader_count < READERS_MOST; n++) {
        struct mst_voice *voice = NULL;
        if (list[n].left_ms || !list[n].voice)
            continue;
        status = voice_named(work->desk, list[n].voice, &voice, err);
        if (!voice)
            continue;
        c->people[c->reader_count] = list[n].id;
        c->voices[c->reader_count] = voice;
        c->readers[c->reader_count++].voice = voice;
    }
    return status;
}

/* How long it is; what is no sound is refused here, whatever there is to compare it with. */
static enum mst_status sound_measured(struct work *work, const struct mst_kept_take *take,
                                      const char *path, struct mst_error *err)
{
    struct mst_take *sound = NULL;
    enum mst_status status = mst_take_open(&path, 1, NULL, &sound, err);
    if (status == MST_OK)
        status = mst_take_read_all(sound, err);
    if (status == MST_OK)
        status = mst_store_take_measured(work->desk->store, take->id,
                                         mst_take_ms_at_sample(mst_take_sample_count(sound)) / 1000,
                                         err);
    mst_take_close(sound);
    return status;
}

enum mst_status job_propose(struct work *work, struct mst_error *err)
{
    struct desk *desk = work->desk;
    const char *id = input_text(work, "submission"), *path = NULL;
    struct mst_submission submission;
    struct mst_kept_take take;
    struct mst_round_proposal found;
    struct mst_ear_progress progress = {work_report, work};
    struct candidates *c = calloc(1, sizeof *c);
    enum mst_status status =
        !c   ? no_memory(err)
        : id ? mst_submission_get(desk->store, id, work->arena, &submission, err)
             : mst_fail(err, MST_INTERNAL, "the job names no submission");
    if (status == MST_OK)
        status = mst_store_take_get(desk->store, submission.take ? submission.take : "",
                                    work->arena, &take, err);
    if (status == MST_OK)
        status = passages_of(work, submission.class_id, c, err);
    if (status == MST_OK)
        status = readers_of(work, submission.class_id, c, err);
    if (status == MST_OK) {
        path = mst_store_sound_path(desk->store, take.hash, work->arena);
        work_stage(work, "listening", 0, 1);
        status = path ? sound_measured(work, &take, path, err) : no_memory(err);
    }
    if (status == MST_OK) {
        status = mst_round_propose(desk->text, path, c->passages, c->passage_count, c->readers,
                                   c->reader_count, NULL, &progress, &found, err);
    }
    if (status == MST_OK) {
        struct mst_string s = {0};
        char passage[96];
        js_open(&s, NULL, '{');
        js_text(&s, "assignment", found.passage >= 0 ? c->assignments[found.passage] : NULL);
        js_text(&s, "passage",
                found.passage >= 0 ? passage_id(c->passages[found.passage].range, passage) : NULL);
        js_real(&s, "fit", found.passage_fit, 3);
        js_text(&s, "person", found.reader >= 0 ? c->people[found.reader] : NULL);
        js_real(&s, "sureness", found.reader_sureness, 3);
        js_close(&s, '}');
        struct submission_change change = {.state = "received", .proposal = s.ptr, .need = -1};
        status = s.failed ? no_memory(err) : submission_change(desk, id, &change, err);
        mst_string_free(&s);
    }
    for (size_t n = 0; c && n < c->reader_count; n++)
        mst_voice_free(c->voices[n]);
    free(c);
    return status;
}

/* --- a learner's voice -------------------------------------------------------------------------
 */

/* The name on the shelf: nobody's label. */
static const char *shelf_name(const char *person, struct mst_arena *arena)
{
    return mst_arena_printf(arena, "learner %s", person);
}

static enum mst_status voice_noted(struct desk *desk, const char *person, const char *voice,
                                   struct mst_error *err)
{
    enum mst_status status = MST_MISMATCH;
    for (int n = 0; n < TRIES && status == MST_MISMATCH; n++) {
        struct mst_arena *arena = mst_arena_new(0);
        struct mst_person row;
        status = arena ? mst_person_get(desk->store, person, arena, &row, err) : no_memory(err);
        if (status == MST_OK) {
            row.voice = voice;
            status = mst_person_put(desk->store, &row, err);
        }
        mst_arena_free(arena);
    }
    return status;
}

enum mst_status job_enrol(struct work *work, struct mst_error *err)
{
    struct desk *desk = work->desk;
    const char *id = input_text(work, "submission"), *path = NULL, *name = NULL;
    struct mst_submission submission = {0};
    struct mst_kept_take take;
    struct mst_range range;
    struct mst_reading_options how;
    struct mst_hearing *hearing = NULL;
    struct mst_shelf *shelf = NULL;
    struct mst_voice *voice = NULL;
    struct mst_ear_progress progress = {work_report, work};
    enum mst_status status = id ? mst_submission_get(desk->store, id, work->arena, &submission, err)
                                : mst_fail(err, MST_INTERNAL, "the job names no submission");
    if (status == MST_OK && (!submission.take || !submission.person))
        status = mst_fail(err, MST_NOT_FOUND, "there is no recording of a learner to learn from");
    if (status == MST_OK)
        status = mst_store_take_get(desk->store, submission.take, work->arena, &take, err);
    if (status == MST_OK)
        status = mst_range_parse(desk->text, mst_span_of(submission.passage), &range, err);
    json_t *options = status == MST_OK ? json_loads(submission.how, 0, NULL) : NULL;
    if (status == MST_OK)
        status = how_of_json(desk->text, options, work->arena, &how, err);
    json_decref(options);
    if (status == MST_OK) {
        path = mst_store_sound_path(desk->store, take.hash, work->arena);
        name = shelf_name(submission.person, work->arena);
        status = path && name ? mst_shelf_open(mst_store_folder(desk->store), &shelf, err)
                              : no_memory(err);
    }
    work_stage(work, "reading the sound", 0, 0.2);
    if (status == MST_OK)
        status = mst_hearing_open(desk->text, &path, 1, range, &how, &progress, &hearing, err);
    work_stage(work, "learning the voice", 0.2, 1);
    if (status == MST_OK)
        status = mst_hearing_learn(&hearing, 1, name,
                                   &(struct mst_learn_options){.progress = &progress}, &voice, err);
    if (status == MST_OK)
        status = mst_shelf_put(shelf, name, voice, err);
    if (status == MST_OK)
        status = voice_noted(desk, submission.person, name, err);
    if (status == MST_OK) {
        js_open(&work->result, NULL, '{');
        js_text(&work->result, "person", submission.person);
        js_real(&work->result, "speech_seconds", mst_voice_info(voice).speech_seconds, 1);
        js_close(&work->result, '}');
    }
    mst_voice_free(voice);
    mst_hearing_close(hearing);
    mst_shelf_close(shelf);
    return status;
}
