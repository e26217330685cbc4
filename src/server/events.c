/*
 * events.c – server-sent events: what changed, to every open page. A stream
 * sleeps until there is something to say; one whose reader has fallen far
 * behind is ended, and the browser comes back for a fresh start.
 */
#include "desk.h"

#include <errno.h>
#include <sodium.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum { STREAMS_A_SESSION = 12, STREAMS_MOST = 200, BEHIND_MOST = 1 << 20, COMMENT_S = 15 };

struct stream {
    struct stream *next, **here;
    struct events *events;
    struct MHD_Connection *connection;
    struct mst_string pending;
    size_t sent; /* of pending */
    int asleep, ends;
    uint8_t key[MST_KEY_BYTES];
    char class_id[MST_ID_SIZE], person[MST_ID_SIZE]; /* empty: the teacher's */
    int learner;
};

struct events {
    pthread_mutex_t lock;
    pthread_cond_t wake;
    pthread_t thread;
    struct stream *first;
    int ends, running;
};

/* All under the lock. */
static void stir(struct stream *stream)
{
    if (!stream->asleep)
        return;
    stream->asleep = 0;
    MHD_resume_connection(stream->connection);
}

static void append(struct stream *stream, const char *bytes, size_t len)
{
    if (stream->sent > 0 && stream->sent == stream->pending.len)
        stream->sent = stream->pending.len = 0;
    if (stream->pending.len - stream->sent > BEHIND_MOST)
        stream->ends = 1;
    else
        mst_string_add(&stream->pending, bytes, len);
    stir(stream);
}

static void *comment(void *cls)
{
    struct events *events = cls;
    pthread_mutex_lock(&events->lock);
    while (!events->ends) {
        struct timespec until;
        clock_gettime(CLOCK_REALTIME, &until);
        until.tv_sec += COMMENT_S;
        if (pthread_cond_timedwait(&events->wake, &events->lock, &until) != ETIMEDOUT)
            continue;
        for (struct stream *s = events->first; s; s = s->next)
            append(s, ":\n\n", 3);
    }
    pthread_mutex_unlock(&events->lock);
    return NULL;
}

enum mst_status events_open(struct desk *desk, struct mst_error *err)
{
    struct events *events = calloc(1, sizeof *events);
    if (!events)
        return no_memory(err);
    desk->events = events;
    pthread_mutex_init(&events->lock, NULL);
    pthread_cond_init(&events->wake, NULL);
    events->running = pthread_create(&events->thread, NULL, comment, events) == 0;
    return events->running ? MST_OK
                           : mst_fail(err, MST_NO_MEMORY, "this machine allows no further threads");
}

void events_stop(struct events *events)
{
    if (!events)
        return;
    pthread_mutex_lock(&events->lock);
    events->ends = 1;
    pthread_cond_signal(&events->wake);
    for (struct stream *s = events->first; s; s = s->next) {
        s->ends = 1;
        stir(s);
    }
    pthread_mutex_unlock(&events->lock);
    if (events->running)
        pthread_join(events->thread, NULL);
    events->running = 0;
}

void events_close(struct events *events)
{
    if (!events)
        return;
    pthread_mutex_destroy(&events->lock);
    pthread_cond_destroy(&events->wake);
    free(events);
}

static ssize_t read_stream(void *cls, uint64_t pos, char *out, size_t most)
{
    struct stream *stream = cls;
    struct events *events = stream->events;
    (void)pos;
    ssize_t got = 0;
    pthread_mutex_lock(&events->lock);
    size_t there = stream->pending.len - stream->sent;
    if (there > 0) {
        size_t len = there < most ? there : most;
        memcpy(out, stream->pending.ptr + stream->sent, len);
        stream->sent += len;
        got = (ssize_t)len;
    } else if (stream->ends || stream->pending.failed) {
        got = MHD_CONTENT_READER_END_OF_STREAM;
    } else {
        stream->asleep = 1;
        MHD_suspend_connection(stream->connection);
    }
    pthread_mutex_unlock(&events->lock);
    return got;
}

static void free_stream(void *cls)
{
    struct stream *stream = cls;
    struct events *events = stream->events;
    pthread_mutex_lock(&events->lock);
    *stream->here = stream->next;
    if (stream->next)
        stream->next->here = stream->here;
    pthread_mutex_unlock(&events->lock);
    mst_string_free(&stream->pending);
    free(stream);
}

int events_full(struct request *rq)
{
    struct events *events = rq->desk->events;
    int own = 0, all = 0;
    pthread_mutex_lock(&events->lock);
    for (struct stream *s = events->first; s; s = s->next, all++)
        own += memcmp(s->key, rq->session.key, MST_KEY_BYTES) == 0;
    /* One whose page is gone is found out when it is spoken to: the next who asks finds its place.
     */
    for (struct stream *s = events->first; s && own >= STREAMS_A_SESSION; s = s->next)
        append(s, ":\n\n", 3);
    pthread_mutex_unlock(&events->lock);
    return own >= STREAMS_A_SESSION || all >= STREAMS_MOST;
}

struct MHD_Response *events_response(struct request *rq)
{
    struct events *events = rq->desk->events;
    struct stream *stream = calloc(1, sizeof *stream);
    if (!stream)
        return NULL;
    stream->events = events;
    stream->connection = rq->connection;
    memcpy(stream->key, rq->session.key, MST_KEY_BYTES);
    if (rq->person) {
        snprintf(stream->class_id, MST_ID_SIZE, "%s", rq->person->class_id);
        snprintf(stream->person, MST_ID_SIZE, "%s", rq->person->id);
        stream->learner = is_learner(rq);
    }
    stream->pending = rq->reply.body; /* the hello */
    rq->reply.body = (struct mst_string){0};
    pthread_mutex_lock(&events->lock);
    stream->ends = events->ends;
    stream->next = events->first;
    stream->here = &events->first;
    if (stream->next)
        stream->next->here = &stream->next;
    events->first = stream;
    pthread_mutex_unlock(&events->lock);
    struct MHD_Response *response = MHD_create_response_from_callback(
        MHD_SIZE_UNKNOWN, 16384, read_stream, stream, free_stream);
    if (!response)
        free_stream(stream);
    return response;
}

void events_say(struct desk *desk, const char *event, const char *json, size_t len)
{
    struct events *events = desk->events;
    struct mst_string s = {0};
    school_tell(desk, "say", (const char *const[4]){event}, json, len);
    mst_string_addf(&s, "event: %s\ndata: ", event);
    mst_string_add(&s, json, len);
    mst_string_adds(&s, "\n\n");
    pthread_mutex_lock(&events->lock);
    for (struct stream *stream = events->first; stream && !s.failed; stream = stream->next)
        if (!*stream->person)
            append(stream, s.ptr, s.len);
    pthread_mutex_unlock(&events->lock);
    mst_string_free(&s);
}

void events_about(struct desk *desk, const char *class_id, const char *person, const char *event,
                  const char *id, const char *json, size_t len)
{
    struct events *events = desk->events;
    struct mst_string all = {0}, own = {0};
    school_tell(desk, "about", (const char *const[4]){class_id, person, event, id}, json, len);
    mst_string_addf(&all, "event: %s\ndata: ", event);
    mst_string_add(&all, json, len);
    mst_string_adds(&all, "\n\n");
    mst_string_addf(&own, "event: %s\ndata: {\"id\":\"%s\"}\n\n", event, id);
    pthread_mutex_lock(&events->lock);
    for (struct stream *s = events->first; s && !all.failed && !own.failed; s = s->next) {
        if (!*s->person || (!s->learner && strcmp(s->class_id, class_id) == 0))
            append(s, all.ptr, all.len);
        else if (s->learner && person && strcmp(s->person, person) == 0)
            append(s, own.ptr, own.len);
    }
    pthread_mutex_unlock(&events->lock);
    mst_string_free(&all);
    mst_string_free(&own);
}

void events_part(struct desk *desk, const char *person)
{
    struct events *events = desk->events;
    school_tell(desk, "part", (const char *const[4]){person}, NULL, 0);
    pthread_mutex_lock(&events->lock);
    for (struct stream *s = events->first; s; s = s->next) {
        if (strcmp(s->person, person) == 0) {
            s->ends = 1;
            stir(s);
        }
    }
    pthread_mutex_unlock(&events->lock);
}

void events_session_ended(struct desk *desk, const uint8_t *key, const uint8_t *but)
{
    struct events *events = desk->events;
    char hex[2][2 * MST_KEY_BYTES + 1] = {"", ""};
    if (key)
        sodium_bin2hex(hex[0], sizeof hex[0], key, MST_KEY_BYTES);
    if (but)
        sodium_bin2hex(hex[1], sizeof hex[1], but, MST_KEY_BYTES);
    school_tell(desk, "ended", (const char *const[4]){hex[0], hex[1]}, NULL, 0);
    pthread_mutex_lock(&events->lock);
    for (struct stream *s = events->first; s; s = s->next) {
        if ((!key || memcmp(s->key, key, MST_KEY_BYTES) == 0) &&
            (!but || memcmp(s->key, but, MST_KEY_BYTES) != 0)) {
            s->ends = 1;
            stir(s);
        }
    }
    pthread_mutex_unlock(&events->lock);
}

void events_gone(struct desk *desk, const char *event, const char *id)
{
    struct mst_string s = {0};
    js_open(&s, NULL, '{');
    js_text(&s, "id", id);
    js_bool(&s, "gone", 1);
    js_close(&s, '}');
    if (!s.failed)
        events_say(desk, event, s.ptr, s.len);
    mst_string_free(&s);
}

enum mst_status get_events(struct request *rq, struct mst_error *err)
{
    struct mst_job *jobs;
    size_t count;
    if (events_full(rq)) {
        reply_header(rq, "Retry-After", "10");
        return reply_error(rq, 429, "too_many", "too many pages listen already; close some");
    }
    struct mst_job_filter filter = {.state = -1, .unended = 1};
    enum mst_status status =
        mst_store_job_list(rq->desk->store, &filter, rq->arena, &jobs, &count, err);
    if (status != MST_OK)
        return status;
    if (rq->person)
        count = 0; /* long work is the teacher's */
    struct mst_string *s = &rq->reply.body;
    mst_string_adds(s, "retry: 2000\nevent: hello\ndata: {\"jobs\":[");
    for (size_t n = 0; n < count; n++)
        job_json(rq->desk, s, NULL, &jobs[n]);
    mst_string_adds(s, "]}\n\n");
    rq->reply.events = 1;
    return MST_OK;
}
