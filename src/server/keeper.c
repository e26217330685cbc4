/*
 * keeper.c – what is to be done at the start and then once a day: recordings
 * that a class no longer keeps go, sessions nobody used for long end.
 */
#include "desk.h"

#include <stdlib.h>
#include <time.h>

/* Looked at often: a machine that sleeps at night does not count the hours. */
enum { LOOK_S = 15 * 60 };
static const int64_t every_ms = 24 * 3600 * 1000LL;

struct keeper {
    struct desk *desk;
    pthread_mutex_t lock;
    pthread_cond_t wake;
    pthread_t thread;
    int64_t kept_ms;
    int ends, running;
};

/* Trouble with it is told and stops nothing: it is tried again tomorrow. */
static void keep(struct desk *desk)
{
    struct mst_error err = {0};
    int gone = 0;
    enum mst_status status = mst_retention_run(desk->store, mst_store_now_ms(), &gone, &err);
    if (status == MST_OK && gone > 0) {
        sounds_forget_all(desk);
        log_event(desk, "retention", "%d recordings were deleted", gone);
    }
    if (status == MST_OK && mst_store_shared(desk->store))
        status = mst_store_tidy(desk->store, &err);
    if (status == MST_OK)
        status = sessions_expire(desk, &err);
    if (status != MST_OK)
        log_event(desk, "trouble", "%s", err.message);
}

/* A school's book is cleared thoroughly, and others wait meanwhile: at night where it runs then. */
enum { NIGHT_FROM = 2, NIGHT_TO = 5 };
static int is_time(const struct keeper *keeper, int64_t now)
{
    time_t seconds = (time_t)(now / 1000);
    struct tm local;
    if (!mst_store_shared(keeper->desk->store) || !localtime_r(&seconds, &local))
        return now - keeper->kept_ms >= every_ms;
    int night = local.tm_hour >= NIGHT_FROM && local.tm_hour < NIGHT_TO;
    return now - keeper->kept_ms >= (night ? every_ms / 2 : every_ms + every_ms / 2);
}

static void *watch(void *cls)
{
    struct keeper *keeper = cls;
    struct timespec until;
    pthread_mutex_lock(&keeper->lock);
    while (!keeper->ends) {
        clock_gettime(CLOCK_MONOTONIC, &until);
        until.tv_sec += LOOK_S;
        pthread_cond_timedwait(&keeper->wake, &keeper->lock, &until);
        int64_t now = mst_store_now_ms();
        if (keeper->ends || !is_time(keeper, now))
            continue;
        keeper->kept_ms = now;
        pthread_mutex_unlock(&keeper->lock);
        keep(keeper->desk);
        pthread_mutex_lock(&keeper->lock);
    }
    pthread_mutex_unlock(&keeper->lock);
    return NULL;
}

enum mst_status keeper_open(struct desk *desk, struct mst_error *err)
{
    struct keeper *keeper = calloc(1, sizeof *keeper);
    pthread_condattr_t clock;
    if (!keeper)
        return no_memory(err);
    desk->keeper = keeper;
    keeper->desk = desk;
    pthread_mutex_init(&keeper->lock, NULL);
    pthread_condattr_init(&clock);
    pthread_condattr_setclock(&clock, CLOCK_MONOTONIC);
    pthread_cond_init(&keeper->wake, &clock);
    pthread_condattr_destroy(&clock);
    keeper->kept_ms = mst_store_now_ms();
    keep(desk);
    keeper->running = pthread_create(&keeper->thread, NULL, watch, keeper) == 0;
    return keeper->running ? MST_OK
                           : mst_fail(err, MST_NO_MEMORY, "this machine allows no further threads");
}

void keeper_close(struct keeper *keeper)
{
    if (!keeper)
        return;
    pthread_mutex_lock(&keeper->lock);
    keeper->ends = 1;
    pthread_cond_signal(&keeper->wake);
    pthread_mutex_unlock(&keeper->lock);
    if (keeper->running)
        pthread_join(keeper->thread, NULL);
    pthread_mutex_destroy(&keeper->lock);
    pthread_cond_destroy(&keeper->wake);
    free(keeper);
}
