/*
 * gate.c – who may come in: the name the desk is called by, the session in the
 * cookie, the token against requests that other sites cause. What a teacher,
 * an assistant and a learner may do is decided here and nowhere else, and
 * whose a thing is that a request is about.
 */
#include "desk.h"

#include <arpa/inet.h>
#include <sodium.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <time.h>

enum { LINKS = 8, SESSIONS = 64, NAMES = 24, PASSPHRASE_LEAST = 10 };
static const int64_t link_lives_ms = 30 * 60 * 1000LL, session_lives_ms = 30 * 24 * 3600 * 1000LL,
                     seen_every_ms = 24 * 3600 * 1000LL;

struct link {
    uint8_t key[MST_KEY_BYTES];
    int64_t ends_ms; /* 0: unused */
};

struct gate {
    pthread_mutex_t lock;
    char names[NAMES][128];
    int name_count;
    struct link links[LINKS];
    struct mst_session sessions[SESSIONS]; /* of those seen lately; made_ms 0: empty */
    int session_next;
};

static const char alphabet[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_";

/* bits of chance as letters: 6 each */
static void random_text(char *out, size_t letters)
{
    for (size_t n = 0; n < letters; n++)
        out[n] = alphabet[randombytes_random() & 63];
    out[letters] = '\0';
}

static void key_of(const char *secret, uint8_t key[MST_KEY_BYTES])
{
    crypto_generichash(key, MST_KEY_BYTES, (const unsigned char *)secret, strlen(secret), NULL, 0);
}

/* --- names ---------------------------------------------------------------------- */

static void name_add(struct gate *gate, const char *name, size_t len)
{
    if (gate->name_count < NAMES && len > 0 && len < sizeof gate->names[0])
        snprintf(gate->names[gate->name_count++], sizeof gate->names[0], "%.*s", (int)len, name);
}

/* "name:7114" and "[::1]:7114" → the name. */
static size_t name_length(const char *host)
{
    if (host[0] == '[') {
        const char *end = strchr(host, ']');
        return end ? (size_t)(end - host) + 1 : strlen(host);
    }
    return strcspn(host, ":");
}

int gate_is_name(struct gate *gate, const char *host)
{
    size_t len = name_length(host);
    const char *port = host + len;
    if (*port && (*port != ':' || strspn(port + 1, "0123456789") != strlen(port + 1)))
        return 0;
    for (int n = 0; n < gate->name_count; n++)
        if (strlen(gate->names[n]) == len && strncasecmp(gate->names[n], host, len) == 0)
            return 1;
    return 0;
}

static int is_loopback_name(const char *name, size_t len)
{
    static const char *const names[] = {"localhost", "127.0.0.1", "[::1]"};
    for (size_t n = 0; n < sizeof names / sizeof names[0]; n++)
        if (strlen(names[n]) == len && strncasecmp(name, names[n], len) == 0)
            return 1;
    return 0;
}

/* The name the asker used, unless it means this machine and there is another one. A proxy that does
 * TLS is taken to be reached at its usual port. */
int gate_address(const struct request *rq, char out[320])
{
    const struct desk *desk = rq->desk;
    const char *host = MHD_lookup_connection_value(rq->connection, MHD_HEADER_KIND, "Host");
    const char *scheme = desk->tls || desk->options.proxy ? "https" : "http";
    const char *names = desk->options.names;
    size_t len = names ? strcspn(names, ",") : 0;
    if (host && !is_loopback_name(host, name_length(host))) {
        snprintf(out, 320, "%s://%.200s", scheme, host);
        return !desk->loopback;
    }
    if (len == 0 || len > 128) {
        snprintf(out, 320, "%s://%.200s", scheme, host ? host : "localhost");
        return 0;
    }
    if (desk->options.proxy)
        snprintf(out, 320, "%s://%.*s", scheme, (int)len, names);
    else
        snprintf(out, 320, "%s://%.*s:%d", scheme, (int)len, names, desk->port);
    return !desk->loopback;
}

/* --- opening ---------------------------------------------------------------------- */

enum mst_status gate_open(struct desk *desk, struct mst_error *err)
{
    struct gate *gate = calloc(1, sizeof *gate);
    if (!gate)
        return no_memory(err);
    desk->gate = gate;
    pthread_mutex_init(&gate->lock, NULL);
    name_add(gate, "localhost", 9);
    name_add(gate, "127.0.0.1", 9);
    name_add(gate, "[::1]", 5);
    const char *listen = desk->options.listen;
    if (listen && strchr(listen, ':')) {
        char bracketed[128];
        name_add(gate, bracketed, (size_t)snprintf(bracketed, sizeof bracketed, "[%s]", listen));
    } else if (listen) {
        name_add(gate, listen, strlen(listen));
    }
    for (const char *at = desk->options.names; at && *at;) {
        size_t len = strcspn(at, ",");
        name_add(gate, at, len);
        at += len + (at[len] == ',');
    }
    return sessions_expire(desk, err);
}

enum mst_status sessions_expire(struct desk *desk, struct mst_error *err)
{
    return mst_store_session_expire(desk->store, mst_store_now_ms() - session_lives_ms, err);
}

void gate_close(struct gate *gate)
{
    if (!gate)
        return;
    pthread_mutex_destroy(&gate->lock);
    sodium_memzero(gate, sizeof *gate);
    free(gate);
}

void gate_new_link(struct gate *gate, char out[48])
{
    int oldest = 0;
    random_text(out, 32);
    pthread_mutex_lock(&gate->lock);
    for (int n = 1; n < LINKS; n++)
        if (gate->links[n].ends_ms < gate->links[oldest].ends_ms)
            oldest = n;
    key_of(out, gate->links[oldest].key);
    gate->links[oldest].ends_ms = mst_store_now_ms() + link_lives_ms;
    pthread_mutex_unlock(&gate->lock);
}

int gate_spend_link(struct gate *gate, const char *secret)
{
    uint8_t key[MST_KEY_BYTES];
    int found = 0;
    key_of(secret, key);
    pthread_mutex_lock(&gate->lock);
    for (int n = 0; n < LINKS; n++) {
        struct link *link = &gate->links[n];
        if (link->ends_ms > mst_store_now_ms() && sodium_memcmp(link->key, key, sizeof key) == 0) {
            link->ends_ms = 0;
            found = 1;
        }
    }
    pthread_mutex_unlock(&gate->lock);
    return found;
}

/* --- passphrase ------------------------------------------------------------------------ */

static const char passphrase_setting[] = "passphrase";

enum mst_status gate_set_passphrase(struct mst_store *store, const char *passphrase,
                                    struct mst_error *err)
{
    char hash[crypto_pwhash_STRBYTES];
    size_t len = strlen(passphrase);
    if (len < PASSPHRASE_LEAST || len > PASSPHRASE_MOST)
        return mst_fail(err, MST_USAGE,
                        "a passphrase has at least %d characters; several words are best",
                        PASSPHRASE_LEAST);
    if (crypto_pwhash_str_alg(hash, passphrase, len, crypto_pwhash_OPSLIMIT_INTERACTIVE,
                              crypto_pwhash_MEMLIMIT_INTERACTIVE,
                              crypto_pwhash_ALG_ARGON2ID13) != 0)
        return no_memory(err);
    return mst_store_setting_put(store, passphrase_setting, hash, err);
}

enum mst_status gate_passphrase_fits(struct request *rq, const char *typed, int *fits,
                                     struct mst_error *err)
{
    const char *hash;
    *fits = 0;
    enum mst_status status =
        mst_store_setting_get(rq->desk->store, passphrase_setting, rq->arena, &hash, err);
    if (status == MST_OK && hash && typed && strlen(typed) <= PASSPHRASE_MOST)
        *fits = crypto_pwhash_str_verify(hash, typed, strlen(typed)) == 0;
    return status;
}

enum mst_status gate_has_passphrase(struct mst_store *store, int *out, struct mst_error *err)
{
    const char *hash = NULL;
    struct mst_arena *arena = mst_arena_new(1024);
    enum mst_status status =
        arena ? mst_store_setting_get(store, passphrase_setting, arena, &hash, err)
              : no_memory(err);
    *out = hash != NULL;
    mst_arena_free(arena);
    return status;
}

/* --- sessions -------------------------------------------------------------------------------- */

static int session_cached(struct gate *gate, const uint8_t key[MST_KEY_BYTES],
                          struct mst_session *out)
{
    int found = 0;
    pthread_mutex_lock(&gate->lock);
    for (int n = 0; n < SESSIONS && !found; n++) {
        if (gate->sessions[n].made_ms && memcmp(gate->sessions[n].key, key, MST_KEY_BYTES) == 0) {
            *out = gate->sessions[n];
            found = 1;
        }
    }
    pthread_mutex_unlock(&gate->lock);
    return found;
}

static void session_remember(struct gate *gate, const struct mst_session *session)
{
    pthread_mutex_lock(&gate->lock);
    int at = -1;
    for (int n = 0; n < SESSIONS; n++)
        if (memcmp(gate->sessions[n].key, session->key, MST_KEY_BYTES) == 0)
            at = n;
    if (at < 0) {
        at = gate->session_next;
        gate->session_next = (at + 1) % SESSIONS;
    }
    gate->sessions[at] = *session;
    pthread_mutex_unlock(&gate->lock);
}

void gate_forget(struct gate *gate)
{
    pthread_mutex_lock(&gate->lock);
    sodium_memzero(gate->sessions, sizeof gate->sessions);
    pthread_mutex_unlock(&gate->lock);
}

/* Whose the session is: looked up each time, so that who leaves the class is out at once. 0:
 * nobody's who may come in; *trouble: it cannot be told now. */
static int person_look(struct request *rq, int *trouble)
{
    struct mst_error err;
    rq->person = NULL;
    if (!*rq->session.person)
        return 1;
    struct mst_person *person = mst_arena_alloc(rq->arena, 1, sizeof *person);
    enum mst_status status =
        person ? mst_person_get(rq->desk->store, rq->session.person, rq->arena, person, &err)
               : MST_NO_MEMORY;
    *trouble |= status != MST_OK && status != MST_NOT_FOUND;
    if (status != MST_OK)
        return 0;
    if (person->left_ms != 0)
        return 0;
    rq->person = person;
    return 1;
}

/* For 30 days from now on. */
static void cookie_give(struct request *rq, const char *secret)
{
    reply_header(rq, "Set-Cookie",
                 mst_arena_printf(rq->arena,
                                  "mistara=%s; Path=/; HttpOnly; SameSite=Strict; "
                                  "Max-Age=%lld%s",
                                  secret, (long long)session_lives_ms / 1000,
                                  rq->desk->loopback ? "" : "; Secure"));
}

/* 0: the book cannot be asked now. Whoever is signed in must not be told that they are not. */
static int session_look(struct request *rq)
{
    int trouble = 0;
    const char *cookie = MHD_lookup_connection_value(rq->connection, MHD_COOKIE_KIND, "mistara");
    struct mst_error err;
    uint8_t key[MST_KEY_BYTES];
    if (!cookie || strlen(cookie) != 43)
        return 1;
    key_of(cookie, key);
    int64_t now = mst_store_now_ms();
    /* Where there are several desks another one may have ended the session: looked up each time. */
    if (rq->desk->school || !session_cached(rq->desk->gate, key, &rq->session)) {
        enum mst_status status = mst_store_session_get(rq->desk->store, key, &rq->session, &err);
        if (status != MST_OK)
            return status == MST_NOT_FOUND;
        session_remember(rq->desk->gate, &rq->session);
    }
    if (now - rq->session.seen_ms > session_lives_ms || !person_look(rq, &trouble))
        return !trouble;
    rq->signed_in = 1;
    /* Its end moves on with its use, in the browser and here, and is written once a day. */
    if (now - rq->session.seen_ms > seen_every_ms) {
        cookie_give(rq, cookie);
        rq->session.seen_ms = now;
        session_remember(rq->desk->gate, &rq->session);
        if (mst_store_session_seen(rq->desk->store, key, now, &err) != MST_OK)
            log_event(rq->desk, "trouble", "%s", err.message);
    }
    return 1;
}

enum mst_status gate_sign_in(struct request *rq, const char *person, struct mst_error *err)
{
    char secret[44];
    random_text(secret, 43); /* 258 bits */
    struct mst_session *session = &rq->session;
    *session = (struct mst_session){0};
    snprintf(session->person, sizeof session->person, "%s", person);
    int trouble = 0;
    if (!person_look(rq, &trouble))
        return trouble
                   ? mst_fail(err, MST_IO, "the book cannot be asked now; try again in a moment")
                   : mst_fail(err, MST_NOT_FOUND, "this person is no longer in the class");
    snprintf(session->role, sizeof session->role, "%s", role_of(rq));
    key_of(secret, session->key);
    random_text(session->token, 32);
    session->made_ms = session->seen_ms = mst_store_now_ms();
    enum mst_status status = mst_store_session_add(rq->desk->store, session, err);
    if (status != MST_OK)
        return status;
    session_remember(rq->desk->gate, session);
    rq->signed_in = 1;
    cookie_give(rq, secret);
    return MST_OK;
}

/* --- roles ------------------------------------------------------------------------------------
 */

const char *role_of(const struct request *rq)
{
    return rq->person ? rq->person->role : "teacher";
}

int is_learner(const struct request *rq)
{
    return rq->person && strcmp(rq->person->role, "learner") == 0;
}

static int refuse(struct request *rq, unsigned status, const char *code, const char *message)
{
    reply_error(rq, status, code, "%s", message);
    return 0;
}

/* Whose a thing is that the first star of a path stands for. NULL: nobody's in particular. */
struct owner {
    const char *class_id, *person;
};

static enum mst_status owner_of(const struct request *rq, struct owner *out, struct mst_error *err)
{
    struct mst_store *store = rq->desk->store;
    const char *id = rq->args[0];
    enum mst_status status = MST_OK;
    *out = (struct owner){0};
    switch (rq->route->flags & OF_SOMETHING) {
    case OF_CLASS:
        out->class_id = id;
        break;
    case OF_PERSON: {
        struct mst_person person = {0};
        status = mst_person_get(store, id, rq->arena, &person, err);
        *out = (struct owner){person.class_id, person.id};
        break;
    }
    case OF_ASSIGNMENT: {
        struct mst_assignment assignment = {0};
        status = mst_assignment_get(store, id, rq->arena, &assignment, err);
        out->class_id = assignment.class_id;
        break;
    }
    case OF_SUBMISSION: {
        struct mst_submission submission = {0};
        status = mst_submission_get(store, id, rq->arena, &submission, err);
        *out = (struct owner){submission.class_id, submission.person};
        break;
    }
    case OF_UPLOAD: {
        struct mst_upload upload = {0};
        struct mst_submission submission = {0};
        status = mst_upload_get(store, id, rq->arena, &upload, err);
        *out = (struct owner){rq->person->class_id, upload.person};
        if (status == MST_NOT_FOUND) { /* it may have become a submission, by the same id */
            status = mst_submission_get(store, id, rq->arena, &submission, err);
            *out = (struct owner){submission.class_id, submission.person};
        }
        break;
    }
    case OF_JOB: {
        struct mst_job job = {0};
        status = mst_store_job_get(store, id, rq->arena, &job, err);
        *out = (struct owner){rq->person->class_id, job.about};
        break;
    }
    default: /* a route with a star that does not say of what is the teacher's alone */
        status = mst_fail(err, MST_NOT_FOUND, "there is nothing at this address");
    }
    return status;
}

/* The teacher may all but be a learner; the others what their role may, of their own class, and a
 * learner of what is their own. What is another's is not there at all: 404 tells nothing. */
static int role_allows(struct request *rq)
{
    struct mst_error err = {0};
    struct owner owner;
    const int flags = rq->route->flags;
    const struct mst_person *who = rq->person;
    if (!who)
        return flags & MINE ? refuse(rq, 403, "forbidden", "this is a learner's own page") : 1;
    if (!(is_learner(rq) ? flags & (LEARNER | MINE) : flags & ASSISTANT))
        return refuse(rq, 403, "forbidden", "this is the teacher's");
    if (!rq->args[0])
        return 1;
    enum mst_status status = owner_of(rq, &owner, &err);
    if (status != MST_OK && status != MST_NOT_FOUND) {
        reply_failed(rq, status, &err);
        return 0;
    }
    int theirs = status == MST_OK && owner.class_id && strcmp(owner.class_id, who->class_id) == 0;
    if (is_learner(rq) && (flags & OF_SOMETHING) != OF_ASSIGNMENT)
        theirs = theirs && owner.person && strcmp(owner.person, who->id) == 0;
    return theirs ? 1 : refuse(rq, 404, "not_found", "there is nothing at this address");
}

/* --- the gate ------------------------------------------------------------------------------------
 */

/* Where the request came from; 0: not from the proxy that alone may ask. */
static int client_look(struct request *rq)
{
    char address[INET6_ADDRSTRLEN] = "";
    const union MHD_ConnectionInfo *info =
        MHD_get_connection_info(rq->connection, MHD_CONNECTION_INFO_CLIENT_ADDRESS);
    const struct sockaddr *peer = info ? info->client_addr : NULL;
    if (peer && peer->sa_family == AF_INET)
        inet_ntop(AF_INET, &((const struct sockaddr_in *)(const void *)peer)->sin_addr, address,
                  sizeof address);
    else if (peer && peer->sa_family == AF_INET6)
        inet_ntop(AF_INET6, &((const struct sockaddr_in6 *)(const void *)peer)->sin6_addr, address,
                  sizeof address);
    snprintf(rq->client, sizeof rq->client, "%s", address);
    if (!rq->desk->options.proxy)
        return 1;
    if (strcmp(address, rq->desk->options.proxy) != 0)
        return 0;
    const char *list =
        MHD_lookup_connection_value(rq->connection, MHD_HEADER_KIND, "X-Forwarded-For");
    if (list && *list) { /* the last one is what the proxy itself saw */
        const char *last = strrchr(list, ',');
        last = last ? last + 1 : list;
        last += strspn(last, " ");
        snprintf(rq->client, sizeof rq->client, "%.*s", (int)strcspn(last, " ,"), last);
    }
    return 1;
}

static int from_elsewhere(struct request *rq, const char *host)
{
    const char *origin = MHD_lookup_connection_value(rq->connection, MHD_HEADER_KIND, "Origin");
    const char *site =
        MHD_lookup_connection_value(rq->connection, MHD_HEADER_KIND, "Sec-Fetch-Site");
    if (site && (strcmp(site, "cross-site") == 0 || strcmp(site, "same-site") == 0) && rq->route)
        return 1;
    if (!origin)
        return 0;
    const char *rest = strstr(origin, "://");
    return !rest || strcasecmp(rest + 3, host) != 0;
}

static int token_fits(struct request *rq)
{
    const char *token =
        MHD_lookup_connection_value(rq->connection, MHD_HEADER_KIND, "X-Mistara-Token");
    size_t len = strlen(rq->session.token);
    return token && strlen(token) == len && sodium_memcmp(token, rq->session.token, len) == 0;
}

int gate_lets_in(struct request *rq)
{
    const char *host = MHD_lookup_connection_value(rq->connection, MHD_HEADER_KIND, "Host");
    int asks_only = rq->method == GET || rq->method == HEAD;
    if (!client_look(rq))
        return refuse(rq, 403, "forbidden", "this desk is reached through its proxy only");
    if (!host || !gate_is_name(rq->desk->gate, host))
        return refuse(rq, 421, "host", "this desk does not go by that name; allow it with --names");
    if (from_elsewhere(rq, host))
        return refuse(rq, 403, "token", "the request comes from another site");
    if (!session_look(rq)) {
        reply_header(rq, "Retry-After", "5");
        return refuse(rq, 503, "busy", "the book cannot be asked now; try again in a moment");
    }
    int flags = rq->route ? rq->route->flags : OPEN;
    if (!rq->signed_in && !pace_allows(rq, PACE_STRANGER))
        return 0;
    if (flags & OPEN)
        return 1;
    if (!rq->signed_in)
        return refuse(rq, 401, "sign_in", "sign in first");
    if (!asks_only && !(flags & NO_TOKEN) && !token_fits(rq))
        return refuse(rq, 403, "token", "the session's token is missing; load the page again");
    if (rq->person && !pace_allows(rq, PACE_LEARNER))
        return 0;
    if (!role_allows(rq))
        return 0;
    if (flags & SOUND)
        return pace_allows(rq, PACE_SOUND);
    return 1;
}
