/*
 * sounds.c – takes that were decoded and are kept at hand for a while, for
 * looking at and listening into: decoding is done once, not with every look.
 * What is kept is a nameless file that is gone with the server.
 */
#include "hear.h"

#include <mistara/take.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum { KEPT = 6, KEPT_MS = 5 * 60 * 1000 };

struct sound {
    char hash[MST_HASH_HEX_SIZE]; /* empty: free */
    struct mst_take *take;        /* NULL while it is being decoded */
    int64_t used_ms;
    int lent, forgotten;
};

struct sounds {
    pthread_mutex_t lock;
    pthread_cond_t given_back;
    struct sound kept[KEPT];
};

static int64_t now_ms(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

enum mst_status sounds_open(struct desk *desk, struct mst_error *err)
{
    desk->sounds = calloc(1, sizeof *desk->sounds);
    if (!desk->sounds)
        return no_memory(err);
    pthread_mutex_init(&desk->sounds->lock, NULL);
    pthread_cond_init(&desk->sounds->given_back, NULL);
    return MST_OK;
}

static void sound_drop(struct sound *sound)
{
    mst_take_close(sound->take);
    *sound = (struct sound){0};
}

void sounds_close(struct sounds *sounds)
{
    if (!sounds)
        return;
    for (int n = 0; n < KEPT; n++)
        sound_drop(&sounds->kept[n]);
    pthread_mutex_destroy(&sounds->lock);
    pthread_cond_destroy(&sounds->given_back);
    free(sounds);
}

/* Under the lock: the one with this hash, else a free one, else the longest unused; NULL: wait. */
static struct sound *place_for(struct sounds *sounds, const char *hash)
{
    struct sound *best = NULL;
    int64_t now = now_ms();
    for (int n = 0; n < KEPT; n++)
        if (strcmp(sounds->kept[n].hash, hash) == 0 && !sounds->kept[n].forgotten)
            return sounds->kept[n].lent ? NULL : &sounds->kept[n];
    for (int n = 0; n < KEPT; n++) {
        struct sound *s = &sounds->kept[n];
        if (!s->lent && s->take && now - s->used_ms > KEPT_MS)
            sound_drop(s);
        if (!s->lent && (!best || s->used_ms < best->used_ms))
            best = s;
    }
    return best;
}

enum mst_status sound_borrow(struct desk *desk, const struct mst_kept_take *kept,
                             struct mst_take **out, struct mst_error *err)
{
    struct sounds *sounds = desk->sounds;
    struct sound *place;
    *out = NULL;
    pthread_mutex_lock(&sounds->lock);
    while (!(place = place_for(sounds, kept->hash)))
        pthread_cond_wait(&sounds->given_back, &sounds->lock);
    if (strcmp(place->hash, kept->hash) != 0) {
        sound_drop(place);
        strcpy(place->hash, kept->hash);
    }
    place->lent = 1;
    pthread_mutex_unlock(&sounds->lock);

    enum mst_status status = MST_OK;
    struct mst_take *take = place->take;
    if (!take) {
        struct mst_arena *arena = mst_arena_new(4096);
        const char *path = arena ? mst_store_sound_path(desk->store, kept->hash, arena) : NULL;
        status = path ? mst_take_open(&path, 1, NULL, &take, err) : no_memory(err);
        if (status == MST_OK)
            status = mst_take_read_all(take, err);
        mst_arena_free(arena);
    }
    pthread_mutex_lock(&sounds->lock);
    place->take = take;
    place->used_ms = now_ms();
    if (status != MST_OK) {
        path_hide(desk, err);
        sound_drop(place);
        pthread_cond_broadcast(&sounds->given_back);
    } else {
        *out = take;
    }
    pthread_mutex_unlock(&sounds->lock);
    return status;
}

void sound_give_back(struct desk *desk, struct mst_take *take)
{
    struct sounds *sounds = desk->sounds;
    if (!take)
        return;
    pthread_mutex_lock(&sounds->lock);
    for (int n = 0; n < KEPT; n++) {
        struct sound *s = &sounds->kept[n];
        if (s->take != take)
            continue;
        s->lent = 0;
        if (s->forgotten)
            sound_drop(s);
    }
    pthread_cond_broadcast(&sounds->given_back);
    pthread_mutex_unlock(&sounds->lock);
}

void sound_forget(struct desk *desk, const char *hash)
{
    struct sounds *sounds = desk->sounds;
    school_tell(desk, "forget", (const char *const[4]){hash}, NULL, 0);
    pthread_mutex_lock(&sounds->lock);
    for (int n = 0; n < KEPT; n++) {
        struct sound *s = &sounds->kept[n];
        if (strcmp(s->hash, hash) != 0)
            continue;
        s->forgotten = 1;
        if (!s->lent)
            sound_drop(s);
    }
    pthread_mutex_unlock(&sounds->lock);
}

void sounds_forget_all(struct desk *desk)
{
    struct sounds *sounds = desk->sounds;
    school_tell(desk, "forget", NULL, NULL, 0);
    pthread_mutex_lock(&sounds->lock);
    for (int n = 0; n < KEPT; n++) {
        struct sound *s = &sounds->kept[n];
        s->forgotten = *s->hash != 0;
        if (!s->lent)
            sound_drop(s);
    }
    pthread_mutex_unlock(&sounds->lock);
}
