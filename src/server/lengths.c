/*
 * lengths.c – what was measured in model takes, kept at hand: a whole class is
 * compared with the same one, and it need not be listened to for each of them.
 */
#include "hear.h"

#include <stdlib.h>
#include <string.h>

enum { KEPT = 16 };

struct kept {
    char take[MST_ID_SIZE];
    int64_t revision; /* of the take's row: its edges, its passage, its voice's name */
    uint32_t voice;   /* checksum of the voice it was heard with; 0: none */
    uint64_t used;    /* 0: empty */
    struct mst_length_model model;
};
struct lengths {
    pthread_mutex_t lock;
    struct kept kept[KEPT];
    uint64_t uses;
};

enum mst_status lengths_open(struct desk *desk, struct mst_error *err)
{
    desk->lengths = calloc(1, sizeof *desk->lengths);
    if (!desk->lengths)
        return no_memory(err);
    pthread_mutex_init(&desk->lengths->lock, NULL);
    return MST_OK;
}

void lengths_close(struct lengths *lengths)
{
    if (!lengths)
        return;
    pthread_mutex_destroy(&lengths->lock);
    free(lengths);
}

static uint32_t checksum_of(const struct mst_voice *voice)
{
    return voice ? mst_voice_info(voice).checksum : 0;
}

int lengths_find(struct desk *desk, const struct mst_kept_take *take, const struct mst_voice *voice,
                 struct mst_length_model *out)
{
    struct lengths *l = desk->lengths;
    int found = 0;
    pthread_mutex_lock(&l->lock);
    for (int n = 0; n < KEPT && !found; n++) {
        struct kept *k = &l->kept[n];
        found = k->used && k->revision == take->revision && k->voice == checksum_of(voice) &&
                strcmp(k->take, take->id) == 0;
        if (found) {
            k->used = ++l->uses;
            *out = k->model;
        }
    }
    pthread_mutex_unlock(&l->lock);
    return found;
}

void lengths_keep(struct desk *desk, const struct mst_kept_take *take,
                  const struct mst_voice *voice, const struct mst_length_model *model)
{
    struct lengths *l = desk->lengths;
    pthread_mutex_lock(&l->lock);
    struct kept *oldest = &l->kept[0];
    for (int n = 1; n < KEPT; n++)
        if (l->kept[n].used < oldest->used)
            oldest = &l->kept[n];
    *oldest = (struct kept){.revision = take->revision,
                            .voice = checksum_of(voice),
                            .used = ++l->uses,
                            .model = *model};
    memcpy(oldest->take, take->id, strnlen(take->id, MST_ID_SIZE - 1));
    pthread_mutex_unlock(&l->lock);
}
