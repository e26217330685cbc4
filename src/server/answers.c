/*
 * answers.c – answers that hang on the question alone, kept while they fit: a
 * reading of a passage, the ink of its letters, the list of suras. The text
 * does not change while the desk is open, so the same question is computed
 * once; a browser that still has the answer is told so (ETag, 304).
 *
 * What was asked longest ago makes room. An answer that is on its way to
 * somebody lives until it has arrived, in the list or not.
 */
#include "answers.h"

#include "pack.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { SLOTS = 1024, KEPT_MOST_BYTES = 48 << 20, ONE_MOST_BYTES = 4 << 20 };

struct answer {
    struct answers *of;
    struct answer *next_in_slot, *newer, *older;
    char *key, *body, *packed;
    size_t key_len, len, packed_len;
    uint64_t hash; /* of the key */
    char etag[20];
    int held, listed;
};

struct answers {
    pthread_mutex_t lock;
    struct answer *slots[SLOTS], *newest, *oldest;
    size_t bytes;
};

static uint64_t hash_of(const char *bytes, size_t len)
{
    uint64_t hash = UINT64_C(14695981039346656037);
    for (size_t n = 0; n < len; n++)
        hash = (hash ^ (unsigned char)bytes[n]) * UINT64_C(1099511628211);
    return hash;
}

enum mst_status answers_open(struct desk *desk, struct mst_error *err)
{
    desk->answers = calloc(1, sizeof *desk->answers);
    if (!desk->answers)
        return no_memory(err);
    pthread_mutex_init(&desk->answers->lock, NULL);
    return MST_OK;
}

static void answer_free(struct answer *a)
{
    free(a->key);
    free(a->body);
    free(a->packed);
    free(a);
}

static size_t size_of(const struct answer *a)
{
    return sizeof *a + a->key_len + a->len + a->packed_len;
}

/* --- the list; all under the lock ---------------------------------------------- */

static void unlink_age(struct answers *all, struct answer *a)
{
    *(a->newer ? &a->newer->older : &all->newest) = a->older;
    *(a->older ? &a->older->newer : &all->oldest) = a->newer;
    a->newer = a->older = NULL;
}

static void link_newest(struct answers *all, struct answer *a)
{
    a->older = all->newest;
    *(all->newest ? &all->newest->newer : &all->oldest) = a;
    all->newest = a;
}

static struct answer *look_up(struct answers *all, uint64_t hash, struct mst_span key)
{
    struct answer *a = all->slots[hash % SLOTS];
    while (a && (a->hash != hash || a->key_len != key.len || memcmp(a->key, key.ptr, key.len) != 0))
        a = a->next_in_slot;
    return a;
}

static void unlist(struct answers *all, struct answer *a)
{
    struct answer **at = &all->slots[a->hash % SLOTS];
    while (*at != a)
        at = &(*at)->next_in_slot;
    *at = a->next_in_slot;
    unlink_age(all, a);
    all->bytes -= size_of(a);
    a->listed = 0;
    if (!a->held)
        answer_free(a);
}

static void list(struct answers *all, struct answer *a)
{
    struct answer *twin = look_up(all, a->hash, (struct mst_span){a->key, a->key_len});
    if (twin) /* two asked at once: both made the same */
        unlist(all, twin);
    a->next_in_slot = all->slots[a->hash % SLOTS];
    all->slots[a->hash % SLOTS] = a;
    link_newest(all, a);
    all->bytes += size_of(a);
    a->listed = 1;
    while (all->bytes > KEPT_MOST_BYTES && all->oldest != a)
        unlist(all, all->oldest);
}

void answers_close(struct answers *all)
{
    if (!all)
        return;
    while (all->oldest)
        unlist(all, all->oldest);
    pthread_mutex_destroy(&all->lock);
    free(all);
}

/* --- asked, made, sent ------------------------------------------------------------ */

/* What is asked, unmistakably: every part with its length before it. */
static void key_of(const struct request *rq, struct mst_string *key)
{
    mst_string_adds(key, rq->route->path);
    for (int n = 0; n < rq->param_count; n++)
        mst_string_addf(key, " %zu:%s=%zu:%s", strlen(rq->params[n].name), rq->params[n].name,
                        strlen(rq->params[n].value), rq->params[n].value);
}

struct answer *answer_find(const struct request *rq)
{
    struct answers *all = rq->desk->answers;
    struct mst_string key = {0};
    struct answer *found = NULL;
    key_of(rq, &key);
    if (!key.failed) {
        uint64_t hash = hash_of(key.ptr, key.len);
        pthread_mutex_lock(&all->lock);
        found = look_up(all, hash, (struct mst_span){key.ptr, key.len});
        if (found) {
            found->held++;
            unlink_age(all, found);
            link_newest(all, found);
        }
        pthread_mutex_unlock(&all->lock);
    }
    mst_string_free(&key);
    return found;
}

/* Beyond this machine an answer is sent packed; it is packed once. */
static void pack(struct answer *a)
{
    if (a->len < PACK_LEAST)
        return;
    struct mst_string small = gzip_of(a->body, a->len, 6);
    a->packed = small.ptr;
    a->packed_len = small.len;
}

struct answer *answer_keep(const struct request *rq, struct mst_string *body)
{
    struct answers *all = rq->desk->answers;
    struct answer *a = calloc(1, sizeof *a);
    struct mst_string key = {0};
    key_of(rq, &key);
    if (!a || key.failed || body->failed || !body->ptr) {
        free(a);
        mst_string_free(&key);
        return NULL;
    }
    *a = (struct answer){.of = all,
                         .key = key.ptr,
                         .key_len = key.len,
                         .body = body->ptr,
                         .len = body->len,
                         .hash = hash_of(key.ptr, key.len),
                         .held = 1};
    *body = (struct mst_string){0};
    snprintf(a->etag, sizeof a->etag, "\"%016" PRIx64 "\"", hash_of(a->body, a->len));
    if (!rq->desk->loopback)
        pack(a);
    if (a->len <= ONE_MOST_BYTES) {
        pthread_mutex_lock(&all->lock);
        list(all, a);
        pthread_mutex_unlock(&all->lock);
    }
    return a;
}

void answer_let_go(void *held)
{
    struct answer *a = held;
    if (!a)
        return;
    struct answers *all = a->of;
    pthread_mutex_lock(&all->lock);
    if (--a->held == 0 && !a->listed)
        answer_free(a);
    pthread_mutex_unlock(&all->lock);
}

const char *answer_etag(const struct answer *a)
{
    return a->etag;
}

struct mst_span answer_body(const struct answer *a)
{
    return (struct mst_span){a->body, a->len};
}

struct mst_span answer_packed(const struct answer *a)
{
    return (struct mst_span){a->packed, a->packed_len};
}
