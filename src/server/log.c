/*
 * log.c – what happened, one line of JSON each on standard error. No names, no
 * passages, no ids, no addresses: a route is named by its pattern.
 */
#include "desk.h"

#include <stdio.h>
#include <time.h>
#include <unistd.h>

static void line(struct desk *desk, struct mst_string *s)
{
    mst_string_adds(s, "}\n");
    pthread_mutex_lock(&desk->log_lock);
    if (!s->failed && write(STDERR_FILENO, s->ptr, s->len) < 0) {
        /* nowhere left to say so */
    }
    pthread_mutex_unlock(&desk->log_lock);
    mst_string_free(s);
}

void log_event(struct desk *desk, const char *event, const char *fmt, ...)
{
    struct mst_string s = {0};
    char words[400];
    va_list args;
    va_start(args, fmt);
    vsnprintf(words, sizeof words, fmt, args);
    va_end(args);
    js_open(&s, NULL, '{');
    js_date(&s, "time", mst_store_now_ms());
    js_text(&s, "event", event);
    js_text(&s, "what", words);
    line(desk, &s);
}

void log_request(const struct request *rq, unsigned status)
{
    struct mst_string s = {0};
    struct timespec now;
    if (rq->desk->options.quiet)
        return;
    clock_gettime(CLOCK_MONOTONIC, &now);
    int64_t us = (int64_t)now.tv_sec * 1000000 + now.tv_nsec / 1000 - rq->began_us;
    js_open(&s, NULL, '{');
    js_date(&s, "time", mst_store_now_ms());
    js_text(&s, "event", "request");
    js_text(&s, "method", method_names[rq->method]);
    js_text(&s, "route", rq->route ? rq->route->path : "page");
    js_integer(&s, "status", status);
    js_real(&s, "ms", (double)us / 1000, 1);
    line(rq->desk, &s);
}
