/* parallel.c – independent pieces of work on a few threads; and progress. */
#include "parts.h"

#include <pthread.h>
#include <stdatomic.h>

enum { MOST_THREADS = 16 };

struct crew {
    void (*task)(void *ctx, size_t index);
    void *ctx;
    size_t count;
    atomic_size_t next;
};

static void *crew_member(void *arg)
{
    struct crew *crew = arg;
    for (;;) {
        size_t index = atomic_fetch_add(&crew->next, 1);
        if (index >= crew->count)
            return NULL;
        crew->task(crew->ctx, index);
    }
}

void ear_parallel(int threads, size_t count, void (*task)(void *ctx, size_t index), void *ctx)
{
    struct crew crew = {.task = task, .ctx = ctx, .count = count};
    pthread_t helpers[MOST_THREADS];
    int started = 0, wanted = threads < MOST_THREADS ? threads - 1 : MOST_THREADS - 1;
    atomic_init(&crew.next, 0);
    while (started < wanted && (size_t)started + 1 < count &&
           pthread_create(&helpers[started], NULL, crew_member, &crew) == 0)
        started++;
    crew_member(&crew);
    for (int i = 0; i < started; i++)
        pthread_join(helpers[i], NULL);
}

enum mst_status ear_progress(const struct mst_ear_progress *p, double done, struct mst_error *err)
{
    if (p && p->report && p->report(p->user, done < 0 ? 0 : done > 1 ? 1 : done) != 0)
        return mst_fail(err, MST_CANCELLED, "listening was stopped on request");
    return MST_OK;
}
