/*
 * slow.c – questions that take more than a few ms are answered on threads of
 * their own, so that the listener's threads stay free for the others. The
 * connection sleeps meanwhile.
 */
#include "desk.h"

#include <stdlib.h>

enum { THREADS = 3, WAITING_MOST = 256 };

struct slow {
    pthread_mutex_t lock;
    pthread_cond_t work;
    struct request *first, **last;
    int waiting, ends, thread_count;
    pthread_t threads[THREADS];
};

static void *serve(void *cls)
{
    struct slow *slow = cls;
    pthread_mutex_lock(&slow->lock);
    for (;;) {
        while (!slow->first && !slow->ends)
            pthread_cond_wait(&slow->work, &slow->lock);
        struct request *rq = slow->first;
        if (!rq)
            break;
        slow->first = rq->next;
        if (!slow->first)
            slow->last = &slow->first;
        slow->waiting--;
        pthread_mutex_unlock(&slow->lock);
        http_run(rq);
        MHD_resume_connection(rq->connection);
        pthread_mutex_lock(&slow->lock);
    }
    pthread_mutex_unlock(&slow->lock);
    return NULL;
}

enum mst_status slow_open(struct desk *desk, struct mst_error *err)
{
    struct slow *slow = calloc(1, sizeof *slow);
    if (!slow)
        return no_memory(err);
    desk->slow = slow;
    slow->last = &slow->first;
    pthread_mutex_init(&slow->lock, NULL);
    pthread_cond_init(&slow->work, NULL);
    for (; slow->thread_count < THREADS; slow->thread_count++)
        if (pthread_create(&slow->threads[slow->thread_count], NULL, serve, slow) != 0)
            return mst_fail(err, MST_NO_MEMORY, "this machine allows no further threads");
    return MST_OK;
}

/* What waits is still answered. */
void slow_close(struct slow *slow)
{
    if (!slow)
        return;
    pthread_mutex_lock(&slow->lock);
    slow->ends = 1;
    pthread_cond_broadcast(&slow->work);
    pthread_mutex_unlock(&slow->lock);
    for (int n = 0; n < slow->thread_count; n++)
        pthread_join(slow->threads[n], NULL);
    pthread_mutex_destroy(&slow->lock);
    pthread_cond_destroy(&slow->work);
    free(slow);
}

int slow_take(struct request *rq)
{
    struct slow *slow = rq->desk->slow;
    pthread_mutex_lock(&slow->lock);
    int fits = slow->waiting < WAITING_MOST && !slow->ends;
    if (fits) {
        MHD_suspend_connection(rq->connection);
        rq->next = NULL;
        *slow->last = rq;
        slow->last = &rq->next;
        slow->waiting++;
        pthread_cond_signal(&slow->work);
    }
    pthread_mutex_unlock(&slow->lock);
    return fits;
}
