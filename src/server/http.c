/*
 * http.c – from the listener to a handler and back: a request is let in, its
 * parameters and body are read, its handler runs (here or on a slow thread),
 * its reply is sent with the headers every reply has.
 */
#include "answers.h"

#include "pack.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/uio.h>
#include <time.h>
#include <unistd.h>

enum { SOUND_MOST_MIB = 512, FRESH = 0, READING, ELSEWHERE, READY };

static int64_t now_us(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000000 + now.tv_nsec / 1000;
}

enum mst_status no_memory(struct mst_error *err)
{
    return mst_fail(err, MST_NO_MEMORY, "memory ran out; try again in a moment");
}

/* A header of the request. */
static const char *head(struct request *rq, const char *name)
{
    return MHD_lookup_connection_value(rq->connection, MHD_HEADER_KIND, name);
}

/* --- replies ---------------------------------------------------------------- */

void reply_header(struct request *rq, const char *name, const char *value)
{
    struct reply *reply = &rq->reply;
    if (!value || reply->header_count == REPLY_HEADERS_MOST)
        return;
    reply->headers[reply->header_count][0] = name;
    reply->headers[reply->header_count++][1] = value;
}

static void reply_clear(struct request *rq)
{
    mst_string_free(&rq->reply.body);
    if (rq->reply.fd >= 0)
        close(rq->reply.fd);
    answer_let_go(rq->reply.answer);
    int headers = rq->reply.header_count;
    const char *kept[REPLY_HEADERS_MOST][2];
    memcpy(kept, rq->reply.headers, sizeof kept);
    rq->reply = (struct reply){.fd = -1, .header_count = headers};
    memcpy(rq->reply.headers, kept, sizeof kept);
}

static void reply_problem(struct request *rq, unsigned status, const char *code,
                          const char *message)
{
    reply_clear(rq);
    rq->reply.status = status;
    struct mst_string *s = &rq->reply.body;
    js_open(s, NULL, '{');
    js_open(s, "error", '{');
    js_text(s, "code", code);
    js_said(s, "message", message);
    js_null(s, "line");
    mst_string_adds(s, "}}");
}

enum mst_status reply_error(struct request *rq, unsigned status, const char *code, const char *fmt,
                            ...)
{
    char message[600];
    va_list args;
    va_start(args, fmt);
    vsnprintf(message, sizeof message, fmt, args);
    va_end(args);
    reply_problem(rq, status, code, message);
    return MST_OK;
}

void reply_failed(struct request *rq, enum mst_status status, const struct mst_error *err)
{
    static const struct {
        unsigned status;
        const char *code;
    } map[] = {
        [MST_OK] = {500, "internal"},
        [MST_USAGE] = {400, "usage"},
        [MST_NOT_FOUND] = {404, "not_found"},
        [MST_BAD_DATA] = {422, "bad_data"},
        [MST_IO] = {500, "io"},
        [MST_NO_MEMORY] = {503, "no_memory"},
        [MST_UNSUPPORTED] = {501, "unsupported"},
        [MST_CANCELLED] = {409, "conflict"},
        [MST_MISMATCH] = {422, "mismatch"},
        [MST_INTERNAL] = {500, "internal"},
    };
    /* A database that cannot be reached is back in a while; a disk that failed is not. */
    int later = status == MST_IO && rq->desk->school;
    if (status == MST_NO_MEMORY || later)
        reply_header(rq, "Retry-After", "5");
    if (later)
        reply_problem(rq, 503, "busy", err->message);
    else
        reply_problem(rq, map[status].status, map[status].code, err->message);
}

static struct MHD_Response *response_of(struct request *rq)
{
    struct reply *reply = &rq->reply;
    struct MHD_Response *response;
    if (reply->events) {
        response = events_response(rq);
    } else if (reply->fd >= 0) {
        response =
            MHD_create_response_from_fd_at_offset64(reply->fd_bytes, reply->fd, reply->fd_offset);
        if (response)
            reply->fd = -1; /* closed with the response */
    } else if (reply->answer) {
        struct mst_span packed = answer_packed(reply->answer), sent = answer_body(reply->answer);
        const char *accepts = head(rq, "Accept-Encoding");
        if (packed.len && accepts && strstr(accepts, "gzip") && !strstr(accepts, "gzip;q=0")) {
            sent = packed;
            reply_header(rq, "Content-Encoding", "gzip");
        }
        response = MHD_create_response_from_buffer_with_free_callback_cls(
            reply->status == 304 ? 0 : sent.len, (void *)(uintptr_t)sent.ptr, answer_let_go,
            reply->answer);
        if (response)
            reply->answer = NULL; /* let go with the response */
    } else if (reply->kept.ptr) {
        response = MHD_create_response_from_buffer(
            reply->kept.len, (void *)(uintptr_t)reply->kept.ptr, MHD_RESPMEM_PERSISTENT);
    } else {
        response = MHD_create_response_from_buffer(
            reply->body.len, reply->body.ptr ? reply->body.ptr : (void *)(uintptr_t) "",
            reply->body.ptr ? MHD_RESPMEM_MUST_FREE : MHD_RESPMEM_PERSISTENT);
        if (response)
            reply->body = (struct mst_string){0};
    }
    return response;
}

/* Over a network, text is worth packing; on this machine it is not. What holds the session's token
 * is never packed beside what a stranger might choose. */
static void pack(struct request *rq)
{
    struct mst_string *body = &rq->reply.body;
    const char *accepts = head(rq, "Accept-Encoding");
    int text = !rq->reply.type || strstr(rq->reply.type, "text/") || strstr(rq->reply.type, "svg");
    if (rq->desk->loopback || body->len < PACK_LEAST || !text || rq->reply.events || !accepts ||
        !strstr(accepts, "gzip") || strstr(accepts, "gzip;q=0") ||
        strcmp(rq->url, "/api/session") == 0)
        return;
    struct mst_string small = gzip_of(body->ptr, body->len, 4);
    if (!small.ptr)
        return;
    mst_string_free(body);
    *body = small;
    reply_header(rq, "Content-Encoding", "gzip");
    reply_header(rq, "Vary", "Accept-Encoding");
}

static const char api_policy[] = "default-src 'none'; frame-ancestors 'none'; sandbox";

static enum MHD_Result reply_send(struct request *rq)
{
    struct reply *reply = &rq->reply;
    if (reply->body.failed) {
        reply_header(rq, "Retry-After", "5");
        reply_problem(rq, 503, "no_memory", "memory ran out; try again in a moment");
    }
    pack(rq);
    unsigned status = reply->status ? reply->status : 200;
    const char *type = reply->type     ? reply->type
                       : status == 204 ? NULL
                       : reply->events ? "text/event-stream; charset=utf-8"
                                       : "application/json; charset=utf-8";
    int has_cache = 0;
    struct MHD_Response *response = response_of(rq);
    if (!response)
        return MHD_NO;
    if (type && status != 304)
        MHD_add_response_header(response, "Content-Type", type);
    for (int n = 0; n < reply->header_count; n++) {
        has_cache |= strcasecmp(reply->headers[n][0], "Cache-Control") == 0;
        MHD_add_response_header(response, reply->headers[n][0], reply->headers[n][1]);
    }
    if (!has_cache)
        MHD_add_response_header(response, "Cache-Control", "no-store");
    if (!reply->own_policy)
        MHD_add_response_header(response, "Content-Security-Policy", api_policy);
    MHD_add_response_header(response, "X-Content-Type-Options", "nosniff");
    MHD_add_response_header(response, "X-Frame-Options", "DENY");
    MHD_add_response_header(response, "Referrer-Policy", "no-referrer");
    MHD_add_response_header(response, "Cross-Origin-Resource-Policy", "same-origin");
    MHD_add_response_header(response, "Cross-Origin-Opener-Policy", "same-origin");
    if (rq->desk->tls)
        MHD_add_response_header(response, "Strict-Transport-Security", "max-age=31536000");
    enum MHD_Result sent = MHD_queue_response(rq->connection, status, response);
    MHD_destroy_response(response);
    line_stage(rq->connection, LINE_ANSWER);
    log_request(rq, status);
    return sent;
}

/* --- which door --------------------------------------------------------------- */

/* A path against a route's; the parts that its stars stand for go to args. */
static int path_fits(struct request *rq, const char *pattern, const char *args[2])
{
    const char *at = rq->url;
    size_t count = 0;
    for (; *pattern; pattern++) {
        if (*pattern != '*') {
            if (*at++ != *pattern)
                return 0;
            continue;
        }
        size_t len = strcspn(at, "/");
        if (len == 0 || len > 200)
            return 0;
        args[count] = mst_arena_strndup(rq->arena, at, len);
        if (!args[count++])
            return 0;
        at += len;
    }
    return *at == '\0';
}

static void allowed_methods(struct request *rq)
{
    struct mst_string list = {0};
    const char *args[2];
    for (size_t n = 0; n < route_count; n++)
        if (path_fits(rq, routes[n].path, args))
            mst_string_addf(&list, "%s%s%s", list.len ? ", " : "", method_names[routes[n].method],
                            routes[n].method == GET ? ", HEAD" : "");
    reply_header(rq, "Allow", list.ptr ? mst_arena_strndup(rq->arena, list.ptr, list.len) : NULL);
    mst_string_free(&list);
}

/* Plain paths win over those with stars: they stand first where both would fit. */
static int route_find(struct request *rq)
{
    int other_method = 0;
    enum method wanted = rq->method == HEAD ? GET : rq->method;
    for (size_t n = 0; n < route_count; n++) {
        const char *args[2] = {NULL, NULL};
        if (!path_fits(rq, routes[n].path, args))
            continue;
        if (routes[n].method != wanted) {
            other_method = 1;
            continue;
        }
        rq->route = &routes[n];
        memcpy(rq->args, args, sizeof rq->args);
        return 1;
    }
    if (other_method) {
        allowed_methods(rq);
        reply_error(rq, 405, "method", "%s is not possible here", method_names[rq->method]);
        return 0;
    }
    if (strncmp(rq->url, "/api/", 5) == 0 || wanted != GET) {
        reply_error(rq, 404, "not_found", "there is nothing at this address");
        return 0;
    }
    return 1; /* a page */
}

/* --- parameters ----------------------------------------------------------------- */

static int is_word_of(const char *words, const char *word)
{
    size_t len = strlen(word);
    for (const char *at = words; *at;) {
        size_t here = strcspn(at, " ");
        if (here == len && memcmp(at, word, len) == 0)
            return 1;
        at += here + (at[here] == ' ');
    }
    return 0;
}

static int is_utf8(const char *text, size_t len)
{
    for (size_t at = 0; at < len;) {
        size_t before = at;
        uint32_t cp = mst_utf8_next(text, len, &at);
        if (cp == 0 || (cp == 0xFFFD && at - before == 1))
            return 0;
    }
    return 1;
}

int http_param(struct request *rq, const char *name, size_t name_len, const char *value,
               size_t value_len)
{
    if (rq->reply.status)
        return 0;
    if (!is_utf8(name, name_len) || (value && !is_utf8(value, value_len))) {
        reply_error(rq, 400, "usage", "the address holds bytes that are no text");
    } else if (!is_word_of(rq->route->params, name) &&
               !((rq->route->flags & HOW) && how_is_name(name))) {
        reply_error(rq, 400, "usage", "there is no parameter “%.40s” here%s%s", name,
                    *rq->route->params ? "; there are " : "", rq->route->params);
    } else if (param(rq, name)) {
        reply_error(rq, 400, "usage", "the parameter %s is given twice", name);
    } else if (rq->param_count == PARAMS_MOST) {
        reply_error(rq, 400, "usage", "there are too many parameters");
    } else {
        rq->params[rq->param_count++] = (struct param){name, value ? value : ""};
    }
    return rq->reply.status == 0;
}

static enum MHD_Result one_param(void *cls, enum MHD_ValueKind kind, const char *name,
                                 size_t name_len, const char *value, size_t value_len)
{
    (void)kind;
    return http_param(cls, name, name_len, value, value_len) ? MHD_YES : MHD_NO;
}

/* --- bodies ------------------------------------------------------------------------ */

static int64_t content_length(struct request *rq)
{
    const char *text = head(rq, "Content-Length");
    char *end;
    if (!text || !*text)
        return -1;
    long long length = strtoll(text, &end, 10);
    return *end || length < 0 ? -1 : length;
}

static void body_expect(struct request *rq)
{
    int64_t length = content_length(rq);
    int flags = rq->route ? rq->route->flags : 0;
    const char *type = head(rq, "Content-Type");
    if (flags & SOUND) {
        struct mst_error err = {0};
        if (length < 0)
            reply_error(rq, 411, "length_required", "say how long the recording is");
        else if (length > (int64_t)SOUND_MOST_MIB << 20)
            reply_error(rq, 413, "too_large", "a take may have at most %d MiB", SOUND_MOST_MIB);
        else if (length == 0)
            reply_error(rq, 400, "usage", "the recording is empty");
        else {
            enum mst_status status = mst_store_incoming_open(
                rq->desk->store, (int64_t)SOUND_MOST_MIB << 20, &rq->incoming, &err);
            if (status != MST_OK)
                reply_failed(rq, status, &err);
        }
        return;
    }
    if (length > BODY_MOST)
        reply_error(rq, 413, "too_large", "a body may have at most %d KiB", BODY_MOST >> 10);
    else if ((flags & JSON) && length > 0 &&
             (!type || strncasecmp(type, "application/json", 16) != 0))
        reply_error(rq, 415, "media_type", "the body is expected as application/json");
}

static void body_more(struct request *rq, const char *bytes, size_t len)
{
    struct mst_error err = {0};
    rq->body_bytes += (int64_t)len;
    if (rq->reply.status)
        return; /* known to be refused: the rest is let pass */
    if (rq->incoming) {
        enum mst_status status = mst_store_incoming_write(rq->incoming, bytes, len, &err);
        if (status != MST_OK)
            reply_failed(rq, status, &err);
    } else if (rq->body_bytes > BODY_MOST) {
        reply_error(rq, 413, "too_large", "a body may have at most %d KiB", BODY_MOST >> 10);
    } else if (rq->route && rq->route->flags & (JSON | PART)) {
        mst_string_add(&rq->body, bytes, len);
    }
}

static void body_done(struct request *rq)
{
    json_error_t why;
    if (rq->body.failed) {
        reply_error(rq, 503, "no_memory", "memory ran out; try again in a moment");
        return;
    }
    if (!rq->route || !(rq->route->flags & JSON))
        return;
    rq->json = rq->body.len ? json_loadb(rq->body.ptr, rq->body.len, JSON_REJECT_DUPLICATES, &why)
                            : json_object();
    if (!rq->json)
        reply_error(rq, 400, "usage", "the body is no JSON (line %d: %.200s)", why.line, why.text);
    else if (!json_is_object(rq->json))
        reply_error(rq, 400, "usage", "the body is no JSON object");
}

/* --- a request's life ------------------------------------------------------------------ */

/* An answer that is kept, or was just made, unless the browser still has it. */
static void reply_answer(struct request *rq, struct answer *answer)
{
    const char *known = head(rq, "If-None-Match");
    rq->reply.answer = answer;
    rq->reply.status = known && strstr(known, answer_etag(answer)) ? 304 : 0;
    reply_header(rq, "ETag", answer_etag(answer));
    reply_header(rq, "Cache-Control", "private, no-cache");
    if (!rq->desk->loopback)
        reply_header(rq, "Vary", "Accept-Encoding");
}

static int is_kept(struct request *rq)
{
    struct answer *answer = rq->route && rq->route->flags & PURE ? answer_find(rq) : NULL;
    if (answer)
        reply_answer(rq, answer);
    return answer != NULL;
}

void http_run(struct request *rq)
{
    struct mst_error err = {0};
    enum mst_status status = rq->route ? rq->route->run(rq, &err) : page_reply(rq, &err);
    if (status != MST_OK) {
        reply_failed(rq, status, &err);
    } else if (rq->route && rq->route->flags & PURE && rq->reply.status == 0) {
        struct answer *answer = answer_keep(rq, &rq->reply.body);
        if (answer)
            reply_answer(rq, answer);
    }
}

static struct request *request_new(struct desk *desk, struct MHD_Connection *connection,
                                   const char *url)
{
    struct request *rq = calloc(1, sizeof *rq);
    if (!rq)
        return NULL;
    rq->desk = desk;
    rq->connection = connection;
    rq->reply.fd = -1;
    rq->began_us = now_us();
    rq->arena = mst_arena_new(0);
    rq->url = rq->arena ? mst_arena_strndup(rq->arena, url, strlen(url)) : NULL;
    if (!rq->url) {
        mst_arena_free(rq->arena);
        free(rq);
        return NULL;
    }
    return rq;
}

static int method_of(const char *name)
{
    for (int n = 0; n < METHOD_COUNT; n++)
        if (strcmp(method_names[n], name) == 0)
            return n;
    return -1;
}

static void request_begin(struct request *rq, const char *method)
{
    int found = method_of(method);
    rq->method = found < 0 ? GET : (enum method)found;
    if (found < 0) {
        reply_error(rq, 405, "method", "this desk does not know that method");
        reply_header(rq, "Allow", "GET, HEAD, POST, PUT, PATCH, DELETE");
        return;
    }
    if (!route_find(rq) || !gate_lets_in(rq))
        return;
    if (rq->route)
        MHD_get_connection_values_n(rq->connection, MHD_GET_ARGUMENT_KIND, one_param, rq);
    if (!rq->reply.status)
        body_expect(rq);
}

enum MHD_Result http_answer(void *cls, struct MHD_Connection *connection, const char *url,
                            const char *method, const char *version, const char *upload,
                            size_t *upload_len, void **slot)
{
    struct desk *desk = cls;
    struct request *rq = *slot;
    (void)version;
    if (!rq) {
        rq = request_new(desk, connection, url);
        if (!rq)
            return MHD_NO;
        *slot = rq;
        request_begin(rq, method);
        if (rq->reply.status)
            return reply_send(rq);
        rq->state = READING;
        line_stage(connection, LINE_BODY);
        return MHD_YES;
    }
    if (*upload_len > 0) {
        line_received(connection, *upload_len);
        body_more(rq, upload, *upload_len);
        *upload_len = 0;
        return MHD_YES;
    }
    if (rq->state == READING) {
        line_stage(connection, LINE_ANSWER);
        if (!rq->reply.status)
            body_done(rq);
        if (!rq->reply.status && atomic_load(&desk->stopping)) {
            reply_header(rq, "Retry-After", "5");
            reply_error(rq, 503, "busy", "the desk is closing");
        }
        if (!rq->reply.status && is_kept(rq)) {
            /* nothing is left to do */
        } else if (!rq->reply.status && rq->route && rq->route->flags & SLOW) {
            rq->state = ELSEWHERE;
            if (slow_take(rq))
                return MHD_YES;
            reply_header(rq, "Retry-After", "2");
            reply_error(rq, 503, "busy", "the desk has more to do than fits; try again");
        } else if (!rq->reply.status) {
            http_run(rq);
        }
        rq->state = READY;
    }
    return reply_send(rq);
}

void http_completed(void *cls, struct MHD_Connection *connection, void **slot,
                    enum MHD_RequestTerminationCode code)
{
    struct request *rq = *slot;
    (void)cls;
    (void)code;
    line_stage(connection, LINE_HEAD);
    if (!rq)
        return;
    mst_store_incoming_drop(rq->incoming);
    if (rq->reply.fd >= 0)
        close(rq->reply.fd);
    answer_let_go(rq->reply.answer);
    mst_string_free(&rq->reply.body);
    mst_string_free(&rq->body);
    json_decref(rq->json);
    mst_arena_free(rq->arena);
    free(rq);
    *slot = NULL;
}
