/*
 * pace.c – how quickly one address may ask. A bucket that fills at a rate and
 * empties by one a request, for each kind of request; of signing in there is
 * one more for all addresses together.
 */
#include "desk.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum { CLIENTS = 512, SIGN_INS_MOST = 60 };

struct bucket {
    double level;
    int64_t at_ms;
};
static const struct {
    double a_second, most;
} rates[PACES] = {
    [PACE_STRANGER] = {50, 300}, /* pages and their files, before anyone is signed in */
    [PACE_LEARNER] = {50, 600},  /* a class behind one address */
    [PACE_SIGN_IN] = {5.0 / 60, 5},
    [PACE_SOUND] = {2, 60},
};
struct client {
    char address[64];
    int64_t seen_ms;
    struct bucket buckets[PACES];
};

struct pacer {
    pthread_mutex_t lock;
    struct client clients[CLIENTS];
    struct bucket all_sign_ins;
};

enum mst_status pace_open(struct desk *desk, struct mst_error *err)
{
    desk->pacer = calloc(1, sizeof *desk->pacer);
    if (!desk->pacer)
        return no_memory(err);
    pthread_mutex_init(&desk->pacer->lock, NULL);
    return MST_OK;
}

void pace_close(struct pacer *pacer)
{
    if (!pacer)
        return;
    pthread_mutex_destroy(&pacer->lock);
    free(pacer);
}

static struct client *client_of(struct pacer *pacer, const char *address)
{
    uint32_t hash = 2166136261u;
    for (const char *c = address; *c; c++)
        hash = (hash ^ (unsigned char)*c) * 16777619u;
    struct client *oldest = NULL;
    for (uint32_t n = 0; n < 8; n++) { /* of eight places the one that fits, else the stalest */
        struct client *c = &pacer->clients[(hash + n) % CLIENTS];
        if (strcmp(c->address, address) == 0)
            return c;
        if (!oldest || c->seen_ms < oldest->seen_ms)
            oldest = c;
    }
    *oldest = (struct client){0};
    snprintf(oldest->address, sizeof oldest->address, "%s", address);
    for (int p = 0; p < PACES; p++)
        oldest->buckets[p].level = rates[p].most;
    return oldest;
}

static int bucket_takes(struct bucket *b, double a_second, double most, int64_t now)
{
    b->level += b->at_ms ? (double)(now - b->at_ms) / 1000 * a_second : 0;
    b->level = b->level < most ? b->level : most;
    b->at_ms = now;
    if (b->level < 1)
        return 0;
    b->level -= 1;
    return 1;
}

int pace_allows(struct request *rq, enum pace pace)
{
    struct pacer *pacer = rq->desk->pacer;
    struct timespec clock;
    clock_gettime(CLOCK_MONOTONIC, &clock);
    int64_t now = (int64_t)clock.tv_sec * 1000 + clock.tv_nsec / 1000000;
    pthread_mutex_lock(&pacer->lock);
    struct client *client = client_of(pacer, rq->client);
    client->seen_ms = now;
    int allowed = bucket_takes(&client->buckets[pace], rates[pace].a_second, rates[pace].most, now);
    if (pace == PACE_SIGN_IN && allowed) {
        if (pacer->all_sign_ins.at_ms == 0)
            pacer->all_sign_ins.level = SIGN_INS_MOST;
        allowed = bucket_takes(&pacer->all_sign_ins, 1, SIGN_INS_MOST, now);
    }
    pthread_mutex_unlock(&pacer->lock);
    if (!allowed) {
        reply_header(rq, "Retry-After", pace == PACE_SIGN_IN ? "12" : "1");
        reply_error(rq, 429, "too_many", "too many requests in a short time; wait a moment");
    }
    return allowed;
}

/* Only wrong tries count: a whole class may come in through one address in one evening. */
void pace_forgive_sign_in(struct request *rq)
{
    struct pacer *pacer = rq->desk->pacer;
    pthread_mutex_lock(&pacer->lock);
    client_of(pacer, rq->client)->buckets[PACE_SIGN_IN].level += 1;
    pacer->all_sign_ins.level += 1;
    pthread_mutex_unlock(&pacer->lock);
}
