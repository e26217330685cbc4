/*
 * jobs.c – long work: written down, done by threads of its own one after
 * another, told to whoever watches, begun again after a crash.
 */
#include "hear.h"

#include <dirent.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

enum { WORKERS_MOST = 16, ATTEMPTS_MOST = 3, SAY_EVERY_MS = 250, KEPT_DAYS = 30 };

static const struct kind {
    const char *name;
    enum mst_status (*run)(struct work *work, struct mst_error *err);
} kinds[] = {{"listen", job_listen},
             {"compare", job_compare},
             {"voice", job_voice},
             {"sheet", job_sheet},
             {"film", job_film},
             {"lesson", job_lesson},
             {"submission", job_submission},
             {"propose", job_propose},
             {"enrol", job_enrol},
             {"pinch", job_pinch}};

struct jobs {
    struct desk *desk;
    pthread_mutex_t lock;
    pthread_cond_t wake;
    pthread_t threads[WORKERS_MOST];
    struct work *at_work[WORKERS_MOST];
    int thread_count, ends, waits;
};

static int64_t now_ms(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

/* --- a job as JSON ------------------------------------------------------------- */

static const char *type_of(const char *name)
{
    static const char *const types[][2] = {{".pdf", "application/pdf"},
                                           {".png", "image/png"},
                                           {".svg", "image/svg+xml"},
                                           {".txt", "text/plain; charset=utf-8"},
                                           {".vtt", "text/vtt; charset=utf-8"},
                                           {".srt", "application/x-subrip"},
                                           {".html", "text/html; charset=utf-8"},
                                           {".json", "application/json; charset=utf-8"},
                                           {".mp4", "video/mp4"},
                                           {".webm", "video/webm"},
                                           {".wav", "audio/wav"},
                                           {".flac", "audio/flac"},
                                           {".zip", "application/zip"}};
    const char *ending = strrchr(name, '.');
    for (size_t n = 0; ending && n < sizeof types / sizeof types[0]; n++)
        if (strcmp(ending, types[n][0]) == 0)
            return types[n][1];
    return "application/octet-stream";
}

static int by_name(const struct dirent **a, const struct dirent **b)
{
    return strcmp((*a)->d_name, (*b)->d_name);
}

static int shown(const struct dirent *entry)
{
    return entry->d_name[0] != '.';
}

static void files_json(struct desk *desk, struct mst_string *s, const struct mst_job *job)
{
    char path[4096];
    struct dirent **entries = NULL;
    int count = 0;
    js_open(s, "files", '[');
    snprintf(path, sizeof path, "%s/work/%s", mst_store_folder(desk->store), job->id);
    if (job->state == MST_JOB_DONE)
        count = scandir(path, &entries, shown, by_name);
    for (int n = 0; n < count; n++) {
        struct stat st;
        int dir = open(path, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
        if (dir >= 0 && fstatat(dir, entries[n]->d_name, &st, AT_SYMLINK_NOFOLLOW) == 0 &&
            S_ISREG(st.st_mode)) {
            js_open(s, NULL, '{');
            js_text(s, "name", entries[n]->d_name);
            js_text(s, "type", type_of(entries[n]->d_name));
            js_integer(s, "bytes", st.st_size);
            js_close(s, '}');
        }
        if (dir >= 0)
            close(dir);
        free(entries[n]);
    }
    free(entries);
    js_close(s, ']');
}

void job_json(struct desk *desk, struct mst_string *s, const char *key, const struct mst_job *job)
{
    double progress = job->state == MST_JOB_DONE ? 1 : 0;
    const char *doing = NULL;
    pthread_mutex_lock(&desk->jobs->lock);
    for (int n = 0; n < WORKERS_MOST; n++) {
        struct work *work = desk->jobs->at_work[n];
        if (work && strcmp(work->job.id, job->id) == 0) {
            progress = atomic_load(&work->progress);
            doing = atomic_load(&work->doing);
        }
    }
    pthread_mutex_unlock(&desk->jobs->lock);
    js_open(s, key, '{');
    js_text(s, "id", job->id);
    js_text(s, "kind", job->kind);
    js_text(s, "about", job->about);
    js_text(s, "state", mst_job_state_id(job->state));
    js_text(s, "doing", doing);
    js_real(s, "progress", progress, 3);
    js_date(s, "made", job->made_ms);
    js_date(s, "started", job->started_ms);
    js_date(s, "ended", job->ended_ms);
    js_integer(s, "attempts", job->attempts);
    js_said(s, "reason", job->reason);
    js_raw(s, "result", job->result);
    files_json(desk, s, job);
    js_close(s, '}');
}

static void job_say(struct desk *desk, const char *id)
{
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_string s = {0};
    struct mst_job job;
    struct mst_error err;
    if (arena && mst_store_job_get(desk->store, id, arena, &job, &err) == MST_OK) {
        job_json(desk, &s, NULL, &job);
        if (!s.failed)
            events_say(desk, "job", s.ptr, s.len);
    }
    mst_string_free(&s);
    mst_arena_free(arena);
}

/* --- at work ------------------------------------------------------------------------ */

static void work_say(struct work *work)
{
    struct mst_string s = {0};
    job_json(work->desk, &s, NULL, &work->job);
    if (!s.failed)
        events_say(work->desk, "job", s.ptr, s.len);
    mst_string_free(&s);
}

int work_report(void *cls, double done)
{
    struct work *work = cls;
    atomic_store(&work->progress, work->from + (work->to - work->from) * done);
    int64_t now = now_ms();
    if (now - work->said_ms >= SAY_EVERY_MS) {
        work->said_ms = now;
        work_say(work);
    }
    return atomic_load(&work->cancelled) || atomic_load(&work->parted) || atomic_load(&work->lost);
}

void work_stage(struct work *work, const char *doing, double from, double to)
{
    atomic_store(&work->doing, doing);
    work->from = from;
    work->to = to;
    work->said_ms = 0;
    work_report(work, 0);
}

enum mst_status work_effect(struct work *work, struct mst_error *err)
{
    enum mst_status status = mst_store_begin(work->desk->store, err);
    work->effect = status == MST_OK;
    return status;
}

/* The job's end and, where it failed, what that means for the take and the submission: as one with
 * what came of it. */
static enum mst_status written_end(struct work *work, enum mst_status status,
                                   const struct mst_error *err, struct mst_error *trouble)
{
    struct mst_store *store = work->desk->store;
    enum mst_job_state state = status == MST_OK          ? MST_JOB_DONE
                               : status == MST_CANCELLED ? MST_JOB_CANCELLED
                                                         : MST_JOB_FAILED;
    enum mst_status written = work->effect ? MST_OK : mst_store_begin(store, trouble);
    if (written != MST_OK)
        return written;
    struct mst_error said = *err;
    if (status != MST_OK)
        path_hide(work->desk, &said);
    job_take_ended(work, status, &said);
    submission_ended(work, status, &said);
    written = mst_store_job_end(store, work->job.id, state, status == MST_OK ? NULL : said.message,
                                status == MST_OK ? work->result.ptr : NULL, trouble);
    work->effect = 0;
    return mst_store_settle(store, written, trouble);
}

/* Trouble with the book itself is not the recording's fault: where others can, it is tried again.
 */
static int worth_another_try(const struct work *work, enum mst_status status)
{
    return mst_store_shared(work->desk->store) && work->job.attempts < ATTEMPTS_MOST &&
           (status == MST_IO || status == MST_MISMATCH);
}

static void work_end(struct work *work, enum mst_status status, const struct mst_error *err)
{
    struct desk *desk = work->desk;
    struct mst_error trouble = {0};
    enum mst_status written = MST_OK;
    if (status != MST_OK && work->effect) {
        (void)!mst_store_settle(desk->store, status, NULL);
        work->effect = 0;
    }
    int parted = status != MST_OK && atomic_load(&work->parted) && !atomic_load(&work->cancelled);
    if (status != MST_OK && atomic_load(&work->lost))
        log_event(desk, "job", "%s: given to someone else meanwhile", work->job.kind);
    else if (parted || (status != MST_OK && worth_another_try(work, status)))
        written = mst_store_job_put_back(desk->store, work->job.id, parted, &trouble);
    else
        written = written_end(work, status, err, &trouble);
    /* What it did cannot be kept: then at least that is said. */
    if (status == MST_OK && written != MST_OK && written != MST_NOT_FOUND &&
        written != MST_CANCELLED && !worth_another_try(work, written)) {
        struct mst_error why = trouble;
        written = written_end(work, written, &why, &trouble);
    }
    /* NOT_FOUND: deleted with whose it was; CANCELLED: that, or someone else's now. */
    if (written == MST_CANCELLED)
        written = mst_store_job_leftovers(desk->store, &trouble);
    if (written != MST_OK && written != MST_NOT_FOUND && written != MST_CANCELLED)
        log_event(desk, "trouble", "%s", trouble.message);
}

static void work_do(struct jobs *jobs, int slot, struct mst_job job, struct mst_arena *arena)
{
    struct mst_error err = {0};
    json_error_t why;
    struct work work = {
        .desk = jobs->desk, .job = job, .arena = arena, .to = 1, .held_ms = now_ms()};
    work.input = json_loads(job.input, 0, &why);
    pthread_mutex_lock(&jobs->lock);
    jobs->at_work[slot] = &work;
    int ends = jobs->ends;
    pthread_mutex_unlock(&jobs->lock);
    if (ends)
        atomic_store(&work.parted, 1);
    enum mst_status status = mst_store_job_guard(jobs->desk->store, &job, &err);
    if (status == MST_OK)
        status = mst_store_work_folder(jobs->desk->store, job.id, arena, &work.folder, &err);
    if (status == MST_OK && !work.input)
        status = mst_fail(&err, MST_INTERNAL, "the job's own description cannot be read");
    const struct kind *kind = NULL;
    for (size_t n = 0; n < sizeof kinds / sizeof kinds[0]; n++)
        if (strcmp(kinds[n].name, job.kind) == 0)
            kind = &kinds[n];
    if (status == MST_OK && !kind)
        status = mst_fail(&err, MST_UNSUPPORTED, "this Mistara does not know the work “%.40s”",
                          job.kind);
    if (status == MST_OK)
        status = kind->run(&work, &err);
    if (status == MST_OK && work.result.failed)
        status = no_memory(&err);
    struct mst_error trouble;
    if (status != MST_OK && work.folder && !atomic_load(&work.lost) &&
        mst_store_work_forget(jobs->desk->store, job.id, &trouble) != MST_OK)
        log_event(jobs->desk, "trouble", "%s", trouble.message);
    else if (work.folder)
        rmdir(work.folder); /* where it made no files */
    work_end(&work, status, &err);
    (void)!mst_store_job_guard(jobs->desk->store, NULL, NULL);
    pthread_mutex_lock(&jobs->lock);
    jobs->at_work[slot] = NULL;
    pthread_mutex_unlock(&jobs->lock);
    job_say(jobs->desk, job.id);
    log_event(jobs->desk, "job", "%s: %s", job.kind, mst_status_name(status));
    mst_string_free(&work.result);
    json_decref(work.input);
}

/* What ended long ago goes, whoever looks at the list is told. Trouble with it stops nothing. */
static void old_ones_go(struct desk *desk)
{
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_error err = {0};
    const char **ids = NULL;
    size_t count = 0;
    enum mst_status status =
        arena ? mst_store_job_prune(desk->store, mst_store_now_ms() - KEPT_DAYS * INT64_C(86400000),
                                    arena, &ids, &count, &err)
              : no_memory(&err);
    for (size_t n = 0; n < count; n++)
        events_gone(desk, "job", ids[n]);
    if (status != MST_OK)
        log_event(desk, "trouble", "%s", err.message);
    mst_arena_free(arena);
}

struct worker {
    struct jobs *jobs;
    int slot;
};

static void *serve(void *cls)
{
    struct worker worker = *(struct worker *)cls;
    struct jobs *jobs = worker.jobs;
    free(cls);
    for (;;) {
        struct mst_error err;
        struct mst_job job;
        pthread_mutex_lock(&jobs->lock);
        while (!jobs->waits && !jobs->ends)
            pthread_cond_wait(&jobs->wake, &jobs->lock);
        int ends = jobs->ends;
        pthread_mutex_unlock(&jobs->lock);
        if (ends)
            return NULL;
        struct mst_arena *arena = mst_arena_new(0);
        enum mst_status status =
            arena ? mst_store_job_claim(jobs->desk->store, arena, &job, &err) : MST_NO_MEMORY;
        if (status == MST_OK) {
            work_do(jobs, worker.slot, job, arena);
            old_ones_go(jobs->desk);
        } else {
            pthread_mutex_lock(&jobs->lock);
            jobs->waits = 0;
            pthread_mutex_unlock(&jobs->lock);
            if (status != MST_NOT_FOUND)
                log_event(jobs->desk, "trouble", "%s", err.message);
        }
        mst_arena_free(arena);
    }
}

void jobs_wake(struct desk *desk)
{
    jobs_wake_here(desk);
    school_tell(desk, "wake", NULL, NULL, 0);
}

void jobs_wake_here(struct desk *desk)
{
    struct jobs *jobs = desk->jobs;
    pthread_mutex_lock(&jobs->lock);
    jobs->waits = 1;
    pthread_cond_broadcast(&jobs->wake);
    pthread_mutex_unlock(&jobs->lock);
}

enum mst_status jobs_give_back(struct desk *desk, struct mst_error *err)
{
    return mst_store_job_recover(
        desk->store, ATTEMPTS_MOST,
        "it was begun three times, and each time the desk ended in the middle of it", err);
}

/* A job whose lease could not be renewed for as long as it lasts is another's by now. */
enum mst_status jobs_keep(struct desk *desk, struct mst_error *err)
{
    struct jobs *jobs = desk->jobs;
    enum mst_status status = MST_OK;
    for (int n = 0; n < WORKERS_MOST; n++) {
        struct mst_job job = {0};
        char id[MST_ID_SIZE] = "";
        pthread_mutex_lock(&jobs->lock);
        if (jobs->at_work[n]) {
            job.fence = jobs->at_work[n]->job.fence;
            snprintf(id, sizeof id, "%s", jobs->at_work[n]->job.id);
        }
        pthread_mutex_unlock(&jobs->lock);
        if (!*id)
            continue;
        job.id = id;
        enum mst_status held = mst_store_job_hold(desk->store, &job, err);
        pthread_mutex_lock(&jobs->lock);
        struct work *work = jobs->at_work[n];
        if (work && work->job.fence == job.fence && strcmp(work->job.id, id) == 0) {
            if (held == MST_OK)
                work->held_ms = now_ms();
            else if (held == MST_CANCELLED || now_ms() - work->held_ms > desk->lease_ms)
                atomic_store(&work->lost, 1);
        }
        pthread_mutex_unlock(&jobs->lock);
        if (held != MST_OK && held != MST_CANCELLED)
            status = held;
    }
    return status;
}

enum mst_status jobs_open(struct desk *desk, struct mst_error *err)
{
    struct jobs *jobs = calloc(1, sizeof *jobs);
    if (!jobs)
        return no_memory(err);
    desk->jobs = jobs;
    jobs->desk = desk;
    jobs->waits = 1;
    pthread_mutex_init(&jobs->lock, NULL);
    pthread_cond_init(&jobs->wake, NULL);
    enum mst_status status = jobs_give_back(desk, err);
    if (status == MST_OK)
        status = takes_recover(desk, err);
    if (status == MST_OK)
        status = submissions_recover(desk, err);
    if (status == MST_OK)
        old_ones_go(desk);
    int wanted = desk->options.workers ? desk->options.workers : 1; /* -1: others do it */
    for (; status == MST_OK && jobs->thread_count < wanted; jobs->thread_count++) {
        struct worker *worker = malloc(sizeof *worker);
        if (worker)
            *worker = (struct worker){jobs, jobs->thread_count};
        if (!worker ||
            pthread_create(&jobs->threads[jobs->thread_count], NULL, serve, worker) != 0) {
            free(worker);
            return mst_fail(err, MST_NO_MEMORY, "this machine allows no further threads");
        }
    }
    return status;
}

void jobs_close(struct desk *desk)
{
    struct jobs *jobs = desk->jobs;
    if (!jobs)
        return;
    pthread_mutex_lock(&jobs->lock);
    jobs->ends = 1;
    for (int n = 0; n < WORKERS_MOST; n++)
        if (jobs->at_work[n])
            atomic_store(&jobs->at_work[n]->parted, 1);
    pthread_cond_broadcast(&jobs->wake);
    pthread_mutex_unlock(&jobs->lock);
    for (int n = 0; n < jobs->thread_count; n++)
        pthread_join(jobs->threads[n], NULL);
    jobs->thread_count = 0;
}

void jobs_free(struct desk *desk)
{
    if (!desk->jobs)
        return;
    pthread_mutex_destroy(&desk->jobs->lock);
    pthread_cond_destroy(&desk->jobs->wake);
    free(desk->jobs);
}

enum mst_status jobs_promise(struct request *rq, const char *kind, const char *about,
                             const char *input, char id[MST_ID_SIZE], struct mst_error *err)
{
    return mst_store_job_add(rq->desk->store, kind, about, input, id, err);
}

int jobs_cancel_here(struct desk *desk, const char *id)
{
    struct jobs *jobs = desk->jobs;
    int found = 0;
    pthread_mutex_lock(&jobs->lock);
    for (int n = 0; n < WORKERS_MOST; n++) {
        if (jobs->at_work[n] && strcmp(jobs->at_work[n]->job.id, id) == 0) {
            atomic_store(&jobs->at_work[n]->cancelled, 1);
            found = 1;
        }
    }
    pthread_mutex_unlock(&jobs->lock);
    return found;
}

/* At work elsewhere? */
static int is_running(struct desk *desk, const char *id)
{
    struct mst_arena *arena = mst_arena_new(0);
    struct mst_job job;
    struct mst_error none;
    int running = desk->school && arena &&
                  mst_store_job_get(desk->store, id, arena, &job, &none) == MST_OK &&
                  job.state == MST_JOB_RUNNING;
    mst_arena_free(arena);
    return running;
}

enum mst_status jobs_cancel(struct desk *desk, const char *id, struct mst_error *err)
{
    if (jobs_cancel_here(desk, id))
        return MST_OK;
    if (is_running(desk, id)) { /* its own worker ends it */
        school_tell(desk, "cancel", (const char *const[4]){id}, NULL, 0);
        return MST_OK;
    }
    struct mst_error ended;
    enum mst_status status =
        mst_store_job_end(desk->store, id, MST_JOB_CANCELLED, NULL, NULL, &ended);
    if (status == MST_OK) {
        status = takes_recover(desk, err);
        job_say(desk, id);
    }
    return status == MST_NOT_FOUND ? MST_OK : status; /* it had ended already */
}

/* --- handlers -------------------------------------------------------------------------- */

enum mst_status job_reply(struct request *rq, const char *id, unsigned status_wanted,
                          struct mst_error *err)
{
    struct mst_job job;
    enum mst_status status = mst_store_job_get(rq->desk->store, id, rq->arena, &job, err);
    if (status != MST_OK)
        return status;
    if (status_wanted == 202) {
        jobs_wake(rq->desk);
        job_say(rq->desk, id);
    }
    rq->reply.status = status_wanted;
    job_json(rq->desk, &rq->reply.body, NULL, &job);
    return MST_OK;
}

enum mst_status get_jobs(struct request *rq, struct mst_error *err)
{
    static const char *const states[] = {
#define X(name, id) id,
        MST_JOB_STATE_LIST(X)
#undef X
            NULL};
    int state = -1;
    struct mst_job *jobs;
    size_t count;
    enum mst_status status = param_choice(rq, "state", states, &state, err);
    struct mst_job_filter filter = {.state = state, .about = param(rq, "about")};
    if (status == MST_OK)
        status = mst_store_job_list(rq->desk->store, &filter, rq->arena, &jobs, &count, err);
    if (status != MST_OK)
        return status;
    struct mst_string *s = &rq->reply.body;
    js_open(s, NULL, '{');
    js_open(s, "jobs", '[');
    for (size_t n = 0; n < count; n++)
        job_json(rq->desk, s, NULL, &jobs[n]);
    mst_string_adds(s, "]}");
    return MST_OK;
}

enum mst_status get_job(struct request *rq, struct mst_error *err)
{
    return job_reply(rq, rq->args[0], 200, err);
}

enum mst_status delete_job(struct request *rq, struct mst_error *err)
{
    enum mst_status status = mst_store_job_delete(rq->desk->store, rq->args[0], err);
    if (status == MST_USAGE)
        return reply_error(rq, 409, "conflict", "%s", err->message);
    if (status == MST_OK) {
        events_gone(rq->desk, "job", rq->args[0]);
        rq->reply.status = 204;
    }
    return status;
}

enum mst_status post_job_cancel(struct request *rq, struct mst_error *err)
{
    struct mst_job job;
    enum mst_status status = body_only(rq, "", err);
    if (status == MST_OK)
        status = mst_store_job_get(rq->desk->store, rq->args[0], rq->arena, &job, err);
    if (status == MST_OK)
        status = jobs_cancel(rq->desk, rq->args[0], err);
    if (status == MST_OK)
        status = job_reply(rq, rq->args[0], 200, err);
    rq->reply.status = status == MST_OK ? 202 : 0;
    return status;
}

/* The name is looked for among the files there are: it is never made part of a path unseen. */
enum mst_status get_job_file(struct request *rq, struct mst_error *err)
{
    struct mst_job job;
    char path[4096];
    enum mst_status status = mst_store_job_get(rq->desk->store, rq->args[0], rq->arena, &job, err);
    if (status != MST_OK)
        return status;
    const char *name = rq->args[1];
    struct stat st = {0};
    int dir = -1, fd = -1;
    snprintf(path, sizeof path, "%s/work/%s", mst_store_folder(rq->desk->store), job.id);
    if (job.state == MST_JOB_DONE && name[0] != '.' && !strchr(name, '/') && !strchr(name, '\\'))
        dir = open(path, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (dir >= 0)
        fd = openat(dir, name, O_RDONLY | O_CLOEXEC | O_NOFOLLOW | O_NONBLOCK);
    if (dir >= 0)
        close(dir);
    if (fd < 0 || fstat(fd, &st) != 0 || !S_ISREG(st.st_mode)) {
        if (fd >= 0)
            close(fd);
        return mst_fail(err, MST_NOT_FOUND, "the job made no file of that name");
    }
    rq->reply.fd = fd;
    rq->reply.fd_bytes = (uint64_t)st.st_size;
    rq->reply.type = type_of(name);
    reply_header(rq, "Content-Disposition",
                 mst_arena_printf(rq->arena, "attachment; filename=\"%s\"",
                                  strpbrk(name, "\"\r\n") ? "file" : name));
    return MST_OK;
}
