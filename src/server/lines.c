/*
 * lines.c – connections that dawdle. libmicrohttpd closes those that are
 * silent; these here are closed although a byte drips now and then: a head
 * that does not come to its end in time, a body slower than any network.
 */
#include "desk.h"

#include <stdlib.h>
#include <sys/socket.h>
#include <time.h>

enum { HEAD_S = 30, BODY_S = 20, BODY_LEAST_BYTES_A_S = 2048 };

struct line {
    struct line *next, **here;
    int fd;
    enum line_stage stage;
    int64_t since_ms;
    uint64_t bytes;
};

struct lines {
    pthread_mutex_t lock;
    pthread_cond_t wake;
    pthread_t thread;
    struct line *first;
    int head_patience_ms, body_grace_ms, ends, running;
};

static int64_t now_ms(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

static int dawdles(const struct lines *lines, const struct line *line, int64_t now)
{
    enum line_stage stage = __atomic_load_n(&line->stage, __ATOMIC_ACQUIRE);
    int64_t for_ms = now - __atomic_load_n(&line->since_ms, __ATOMIC_RELAXED);
    int64_t bytes = (int64_t)__atomic_load_n(&line->bytes, __ATOMIC_RELAXED);
    if (stage == LINE_HEAD)
        return for_ms > lines->head_patience_ms;
    if (stage == LINE_BODY)
        return for_ms > lines->body_grace_ms && bytes < for_ms / 1000 * BODY_LEAST_BYTES_A_S;
    return 0;
}

static void *watch(void *cls)
{
    struct lines *lines = cls;
    pthread_mutex_lock(&lines->lock);
    while (!lines->ends) {
        struct timespec until;
        clock_gettime(CLOCK_REALTIME, &until);
        until.tv_sec += 1;
        pthread_cond_timedwait(&lines->wake, &lines->lock, &until);
        int64_t now = now_ms();
        for (struct line *line = lines->first; line; line = line->next)
            if (dawdles(lines, line, now))
                shutdown(line->fd, SHUT_RDWR);
    }
    pthread_mutex_unlock(&lines->lock);
    return NULL;
}

enum mst_status lines_open(struct desk *desk, struct mst_error *err)
{
    struct lines *lines = calloc(1, sizeof *lines);
    if (!lines)
        return no_memory(err);
    desk->lines = lines;
    int told_s = desk->options.patience_s;
    lines->head_patience_ms = 1000 * (told_s ? told_s : HEAD_S);
    lines->body_grace_ms = 1000 * (told_s && told_s < BODY_S ? told_s : BODY_S);
    pthread_mutex_init(&lines->lock, NULL);
    pthread_cond_init(&lines->wake, NULL);
    lines->running = pthread_create(&lines->thread, NULL, watch, lines) == 0;
    return lines->running ? MST_OK
                          : mst_fail(err, MST_NO_MEMORY, "this machine allows no further threads");
}

/* After the listener has ended. */
void lines_close(struct lines *lines)
{
    if (!lines)
        return;
    pthread_mutex_lock(&lines->lock);
    lines->ends = 1;
    pthread_cond_signal(&lines->wake);
    pthread_mutex_unlock(&lines->lock);
    if (lines->running)
        pthread_join(lines->thread, NULL);
    for (struct line *line = lines->first, *next; line; line = next) {
        next = line->next;
        free(line);
    }
    pthread_mutex_destroy(&lines->lock);
    pthread_cond_destroy(&lines->wake);
    free(lines);
}

void line_changed(void *cls, struct MHD_Connection *connection, void **slot,
                  enum MHD_ConnectionNotificationCode code)
{
    struct desk *desk = cls;
    struct lines *lines = desk->lines;
    struct line *line = *slot;
    if (code == MHD_CONNECTION_NOTIFY_STARTED) {
        const union MHD_ConnectionInfo *info =
            MHD_get_connection_info(connection, MHD_CONNECTION_INFO_CONNECTION_FD);
        line = calloc(1, sizeof *line);
        if (!line || !info) {
            free(line);
            return;
        }
        line->fd = info->connect_fd;
        line->since_ms = now_ms();
        pthread_mutex_lock(&lines->lock);
        line->next = lines->first;
        line->here = &lines->first;
        if (line->next)
            line->next->here = &line->next;
        lines->first = line;
        pthread_mutex_unlock(&lines->lock);
        *slot = line;
    } else if (line) {
        pthread_mutex_lock(&lines->lock);
        *line->here = line->next;
        if (line->next)
            line->next->here = line->here;
        pthread_mutex_unlock(&lines->lock);
        free(line);
        *slot = NULL;
    }
}

static struct line *line_of(struct MHD_Connection *connection)
{
    const union MHD_ConnectionInfo *info =
        MHD_get_connection_info(connection, MHD_CONNECTION_INFO_SOCKET_CONTEXT);
    return info ? info->socket_context : NULL;
}

/* Only the connection's own thread writes these; the watcher may read them a moment late. */
void line_stage(struct MHD_Connection *connection, enum line_stage stage)
{
    struct line *line = line_of(connection);
    if (!line)
        return;
    __atomic_store_n(&line->bytes, 0, __ATOMIC_RELAXED);
    __atomic_store_n(&line->since_ms, now_ms(), __ATOMIC_RELAXED);
    __atomic_store_n(&line->stage, stage, __ATOMIC_RELEASE);
}

void line_received(struct MHD_Connection *connection, size_t bytes)
{
    struct line *line = line_of(connection);
    if (line)
        __atomic_fetch_add(&line->bytes, bytes, __ATOMIC_RELAXED);
}
