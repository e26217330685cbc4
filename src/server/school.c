/*
 * school.c – several desks and workers at one book. One thread listens to what
 * the others call out and calls out what happens here; another one keeps the
 * jobs at work here, gives back those whose worker died, and takes up what was
 * handed in but never promised. A desk that has its book to itself needs none
 * of this.
 */
#include "desk.h"

#include <sodium.h>
#include <stdlib.h>
#include <string.h>
#include <sys/eventfd.h>
#include <time.h>
#include <unistd.h>

enum { WAITING_MOST = 2000, FIELDS = 6, PARTS_OF = 32, WHOLE_MOST = 1 << 20, RETRY_MS = 2000 };
/* A lease lasts this many beats; what lies about is looked for every so many. */
enum { BEATS_A_LEASE = 3, BEATS_A_ROUND = 6 };

struct call {
    struct call *next;
    size_t len;
    char text[];
};

/* A long call comes in parts; those of several callers arrive between one another. */
struct part {
    char from[MST_ID_SIZE];
    struct mst_string so_far;
};

struct school {
    struct desk *desk;
    pthread_t ears, heart;
    int ears_run, heart_run, wake_fd;
    atomic_int ends;
    pthread_mutex_t lock; /* of the calls that wait */
    struct call *first, **last;
    int waiting;
    pthread_mutex_t heart_lock;
    pthread_cond_t beat;
    struct part parts[PARTS_OF];
    int part_next;
};

/* --- calling out ---------------------------------------------------------------------- */

/* The parts of a text in calls of their own: “+” goes on, “.” is the last one. */
static struct call *calls_of(const struct mst_string *text, struct call ***last, int *count)
{
    enum { ROOM = MST_HAIL_MOST - 16 };
    struct call *first = NULL, **at = &first;
    *count = 0;
    for (size_t from = 0; from < text->len; from += ROOM) {
        size_t len = text->len - from < ROOM ? text->len - from : ROOM;
        struct call *call = malloc(sizeof *call + len + 1);
        if (!call)
            break;
        call->next = NULL;
        call->len = len + 1;
        call->text[0] = from + len < text->len ? '+' : '.';
        memcpy(call->text + 1, text->ptr + from, len);
        *at = call;
        at = &call->next;
        ++*count;
    }
    *last = at;
    return first;
}

static void calls_free(struct call *call)
{
    for (struct call *next; call; call = next) {
        next = call->next;
        free(call);
    }
}

void school_tell(struct desk *desk, const char *kind, const char *const fields[4], const char *json,
                 size_t len)
{
    struct school *school = desk->school;
    struct mst_string s = {0};
    /* What was told here is not told on. */
    if (!school || (school->ears_run && pthread_equal(pthread_self(), school->ears)))
        return;
    mst_string_adds(&s, kind);
    for (int n = 0; n < 4; n++)
        mst_string_addf(&s, "\t%s", fields && fields[n] ? fields[n] : "");
    mst_string_adds(&s, "\n");
    mst_string_add(&s, json ? json : "", len);
    int count = 0;
    struct call **last, *calls = s.failed ? NULL : calls_of(&s, &last, &count);
    pthread_mutex_lock(&school->lock);
    /* A desk that is cut off calls nobody; what it would have said is old by then. */
    if (calls && school->waiting + count <= WAITING_MOST) {
        *school->last = calls;
        school->last = last;
        school->waiting += count;
        calls = NULL;
    }
    pthread_mutex_unlock(&school->lock);
    calls_free(calls);
    mst_string_free(&s);
    uint64_t one = 1;
    if (write(school->wake_fd, &one, sizeof one) < 0) {
        /* it is full: woken often enough */
    }
}

static struct call *next_call(struct school *school)
{
    pthread_mutex_lock(&school->lock);
    struct call *call = school->first;
    if (call) {
        school->first = call->next;
        school->waiting--;
        if (!school->first)
            school->last = &school->first;
    }
    pthread_mutex_unlock(&school->lock);
    return call;
}

/* --- listening ------------------------------------------------------------------------ */

static void heard(struct desk *desk, char *text)
{
    uint8_t keys[2][MST_KEY_BYTES];
    const char *field[FIELDS] = {text, "", "", "", "", ""};
    char *body = strchr(text, '\n');
    if (!body)
        return;
    *body++ = '\0';
    int count = 1;
    for (char *at = text; count < FIELDS && (at = strchr(at, '\t')) != NULL;) {
        *at++ = '\0';
        field[count++] = at;
    }
    size_t len = strlen(body), got[2] = {0, 0};
    if (strcmp(field[0], "wake") == 0) {
        jobs_wake_here(desk);
    } else if (strcmp(field[0], "cancel") == 0) {
        jobs_cancel_here(desk, field[1]);
    } else if (strcmp(field[0], "say") == 0) {
        events_say(desk, field[1], body, len);
    } else if (strcmp(field[0], "about") == 0) {
        events_about(desk, field[1], *field[2] ? field[2] : NULL, field[3], field[4], body, len);
    } else if (strcmp(field[0], "part") == 0) {
        events_part(desk, field[1]);
    } else if (strcmp(field[0], "ended") == 0) {
        for (int n = 0; n < 2; n++)
            sodium_hex2bin(keys[n], MST_KEY_BYTES, field[n + 1], strlen(field[n + 1]), NULL,
                           &got[n], NULL);
        events_session_ended(desk, got[0] == MST_KEY_BYTES ? keys[0] : NULL,
                             got[1] == MST_KEY_BYTES ? keys[1] : NULL);
    } else if (strcmp(field[0], "forget") == 0) {
        if (*field[1])
            sound_forget(desk, field[1]);
        else
            sounds_forget_all(desk);
    }
}

static struct part *part_of(struct school *school, const char *from)
{
    for (int n = 0; n < PARTS_OF; n++)
        if (strcmp(school->parts[n].from, from) == 0)
            return &school->parts[n];
    struct part *part = &school->parts[school->part_next];
    school->part_next = (school->part_next + 1) % PARTS_OF;
    mst_string_free(&part->so_far);
    strcpy(part->from, from);
    return part;
}

static void hear_all(struct school *school, struct mst_hail *hail)
{
    struct mst_string from = {0}, text = {0};
    while (mst_hail_next(hail, &from, &text)) {
        if (!from.failed && !text.failed && from.len == MST_ID_SIZE - 1 && text.len > 0) {
            struct part *part = part_of(school, from.ptr);
            mst_string_add(&part->so_far, text.ptr + 1, text.len - 1);
            int whole = text.ptr[0] == '.';
            if (whole && !part->so_far.failed && part->so_far.ptr)
                heard(school->desk, part->so_far.ptr);
            if (whole || part->so_far.len > WHOLE_MOST)
                mst_string_free(&part->so_far);
        }
        mst_string_free(&from);
        mst_string_free(&text);
    }
}

static enum mst_status call_all(struct school *school, struct mst_hail *hail, struct mst_error *err)
{
    enum mst_status status = MST_OK;
    for (struct call *call; status == MST_OK && (call = next_call(school)) != NULL; free(call))
        status = mst_hail_out(hail, call->text, call->len, err);
    return status;
}

static void slept(struct school *school)
{
    uint64_t count;
    if (read(school->wake_fd, &count, sizeof count) < 0) {
        /* nobody woke it */
    }
}

/* While the line is broken calls are missed: every page that listens here begins afresh. */
static void *listen_to_others(void *cls)
{
    struct school *school = cls;
    struct mst_hail *hail = NULL;
    int told = 0;
    while (!atomic_load(&school->ends)) {
        struct mst_error err = {0};
        enum mst_status status = hail ? MST_OK : mst_hail_open(school->desk->store, &hail, &err);
        if (status == MST_OK && told) {
            told = 0;
            log_event(school->desk, "school", "the line to the database is whole again");
            events_session_ended(school->desk, NULL, NULL);
            jobs_wake_here(school->desk);
        }
        if (status == MST_OK)
            status = call_all(school, hail, &err);
        if (status == MST_OK)
            status = mst_hail_wait(hail, school->wake_fd, -1, &err);
        slept(school);
        if (status == MST_OK) {
            hear_all(school, hail);
            continue;
        }
        mst_hail_close(hail);
        hail = NULL;
        if (!told)
            log_event(school->desk, "trouble", "%s", err.message);
        told = 1;
        for (int n = 0; n < RETRY_MS / 50 && !atomic_load(&school->ends); n++)
            nanosleep(&(struct timespec){0, 50000000}, NULL);
        for (struct call *call; (call = next_call(school)) != NULL;)
            free(call);
    }
    mst_hail_close(hail);
    return NULL;
}

/* --- the heart --------------------------------------------------------------------------- */

static void beat(struct school *school, int count, int *troubled)
{
    struct desk *desk = school->desk;
    struct mst_error err = {0};
    enum mst_status status = jobs_keep(desk, &err);
    if (status == MST_OK)
        status = jobs_give_back(desk, &err);
    if (status == MST_OK && count % BEATS_A_ROUND == 0)
        status = takes_recover(desk, &err);
    if (status == MST_OK && count % BEATS_A_ROUND == 0)
        status = submissions_recover(desk, &err);
    if (status != MST_OK && !*troubled)
        log_event(desk, "trouble", "%s", err.message);
    *troubled = status != MST_OK;
    jobs_wake_here(desk); /* a call may have been missed */
}

static void *keep_alive(void *cls)
{
    struct school *school = cls;
    int64_t every_ms = school->desk->lease_ms / BEATS_A_LEASE;
    struct timespec until;
    int troubled = 0;
    pthread_mutex_lock(&school->heart_lock);
    for (int count = 1; !atomic_load(&school->ends); count++) {
        clock_gettime(CLOCK_MONOTONIC, &until);
        until.tv_sec += every_ms / 1000;
        until.tv_nsec += every_ms % 1000 * 1000000;
        until.tv_sec += until.tv_nsec / 1000000000;
        until.tv_nsec %= 1000000000;
        pthread_cond_timedwait(&school->beat, &school->heart_lock, &until);
        pthread_mutex_unlock(&school->heart_lock);
        if (!atomic_load(&school->ends))
            beat(school, count, &troubled);
        pthread_mutex_lock(&school->heart_lock);
    }
    pthread_mutex_unlock(&school->heart_lock);
    return NULL;
}

/* --- opened and closed ---------------------------------------------------------------------- */

enum mst_status school_open(struct desk *desk, struct mst_error *err)
{
    pthread_condattr_t clock;
    if (!mst_store_shared(desk->store))
        return MST_OK;
    struct school *school = calloc(1, sizeof *school);
    if (!school)
        return no_memory(err);
    desk->school = school;
    school->desk = desk;
    school->last = &school->first;
    pthread_mutex_init(&school->lock, NULL);
    pthread_mutex_init(&school->heart_lock, NULL);
    pthread_condattr_init(&clock);
    pthread_condattr_setclock(&clock, CLOCK_MONOTONIC);
    pthread_cond_init(&school->beat, &clock);
    pthread_condattr_destroy(&clock);
    school->wake_fd = eventfd(0, EFD_CLOEXEC | EFD_NONBLOCK);
    school->ears_run =
        school->wake_fd >= 0 && pthread_create(&school->ears, NULL, listen_to_others, school) == 0;
    school->heart_run =
        school->ears_run && pthread_create(&school->heart, NULL, keep_alive, school) == 0;
    return school->heart_run
               ? MST_OK
               : mst_fail(err, MST_NO_MEMORY, "this machine allows no further threads");
}

void school_stop(struct desk *desk)
{
    struct school *school = desk->school;
    uint64_t one = 1;
    if (!school)
        return;
    pthread_mutex_lock(&school->heart_lock);
    atomic_store(&school->ends, 1);
    pthread_cond_signal(&school->beat);
    pthread_mutex_unlock(&school->heart_lock);
    if (school->wake_fd >= 0 && write(school->wake_fd, &one, sizeof one) < 0) {
        /* woken already */
    }
    if (school->heart_run)
        pthread_join(school->heart, NULL);
    if (school->ears_run)
        pthread_join(school->ears, NULL);
    school->heart_run = school->ears_run = 0;
}

void school_close(struct desk *desk)
{
    struct school *school = desk->school;
    if (!school)
        return;
    for (int n = 0; n < PARTS_OF; n++)
        mst_string_free(&school->parts[n].so_far);
    calls_free(school->first);
    if (school->wake_fd >= 0)
        close(school->wake_fd);
    pthread_cond_destroy(&school->beat);
    pthread_mutex_destroy(&school->heart_lock);
    pthread_mutex_destroy(&school->lock);
    free(school);
}
