/*
 * gate.c – who may come in: the name the desk is called by, the session in the
 * cookie, the token against requests that other sites cause, the pace. Roles
 * are checked here and nowhere else.
 */
#include "desk.h"

#include <arpa/inet.h>
#include <sodium.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <time.h>

enum {
    LINKS = 8,
    SESSIONS = 64,
    CLIENTS = 512,
    NAMES = 24,
    PASSPHRASE_LEAST = 10,
    PASSPHRASE_MOST = 1000
};
static const int64_t link_lives_ms = 30 * 60 * 1000LL, session_lives_ms = 30 * 24 * 3600 * 1000LL,
                     seen_every_ms = 10 * 60 * 1000LL;

/* A bucket that fills at a rate and empties by one a request. */
struct bucket {
    double level;
    int64_t at_ms;
};
enum pace { PACE_STRANGER, PACE_SIGN_IN, PACE_SOUND, PACE_JOB, PACES };
static const struct {
    double a_second, most;
} paces[PACES] = {
    [PACE_STRANGER] = {50, 300}, /* pages and their files, before anyone is signed in */
    [PACE_SIGN_IN] = {5.0 / 60, 5},
    [PACE_SOUND] = {2, 60},
    [PACE_JOB] = {2, 60},
};
struct client {
    char address[64];
    int64_t seen_ms;
    struct bucket buckets[PACES];
};

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
    struct client clients[CLIENTS];
    struct bucket all_sign_ins;
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

/* It holds once. */
static int link_spend(struct gate *gate, const char *secret)
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

static enum mst_status passphrase_fits(struct request *rq, const char *typed, int *fits,
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

/* --- pace --------------------------------------------------------------------------------- */

static struct client *client_of(struct gate *gate, const char *address)
{
    uint32_t hash = 2166136261u;
    for (const char *c = address; *c; c++)
        hash = (hash ^ (unsigned char)*c) * 16777619u;
    struct client *oldest = NULL;
    for (uint32_t n = 0; n < 8; n++) { /* of eight places the one that fits, else the stalest */
        struct client *c = &gate->clients[(hash + n) % CLIENTS];
        if (strcmp(c->address, address) == 0)
            return c;
        if (!oldest || c->seen_ms < oldest->seen_ms)
            oldest = c;
    }
    *oldest = (struct client){0};
    snprintf(oldest->address, sizeof oldest->address, "%s", address);
    for (int p = 0; p < PACES; p++)
        oldest->buckets[p].level = paces[p].most;
    return oldest;
}

static int bucket_takes(struct bucket *b, double a_second, double most, int64_t now)
{
    b->level += b->at_ms ? (double)(now - b->at_ms) / 1000 * a_second : 0;
    b->level = b->level < most ? b->level : most;
    b->at_ms = now;
    if (b->level < 1)
        return 0;
    b->level -= 1;
    return 1;
}

static int pace_allows(struct request *rq, enum pace pace)
{
    struct gate *gate = rq->desk->gate;
    struct timespec clock;
    clock_gettime(CLOCK_MONOTONIC, &clock);
    int64_t now = (int64_t)clock.tv_sec * 1000 + clock.tv_nsec / 1000000;
    pthread_mutex_lock(&gate->lock);
    struct client *client = client_of(gate, rq->client);
    client->seen_ms = now;
    int allowed = bucket_takes(&client->buckets[pace], paces[pace].a_second, paces[pace].most, now);
    if (pace == PACE_SIGN_IN && allowed) {
        if (gate->all_sign_ins.at_ms == 0)
            gate->all_sign_ins.level = 60;
        allowed = bucket_takes(&gate->all_sign_ins, 1, 60, now);
    }
    pthread_mutex_unlock(&gate->lock);
    if (!allowed) {
        reply_header(rq, "Retry-After", pace == PACE_SIGN_IN ? "12" : "1");
        reply_error(rq, 429, "too_many", "too many requests in a short time; wait a moment");
    }
    return allowed;
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

static void sessions_forget(struct gate *gate)
{
    pthread_mutex_lock(&gate->lock);
    sodium_memzero(gate->sessions, sizeof gate->sessions);
    pthread_mutex_unlock(&gate->lock);
}

static void session_look(struct request *rq)
{
    const char *cookie = MHD_lookup_connection_value(rq->connection, MHD_COOKIE_KIND, "mistara");
    struct mst_error err;
    uint8_t key[MST_KEY_BYTES];
    if (!cookie || strlen(cookie) != 43)
        return;
    key_of(cookie, key);
    int64_t now = mst_store_now_ms();
    if (!session_cached(rq->desk->gate, key, &rq->session)) {
        if (mst_store_session_get(rq->desk->store, key, &rq->session, &err) != MST_OK)
            return;
        session_remember(rq->desk->gate, &rq->session);
    }
    if (now - rq->session.seen_ms > session_lives_ms)
        return;
    rq->signed_in = 1;
    if (now - rq->session.seen_ms > seen_every_ms) {
        rq->session.seen_ms = now;
        session_remember(rq->desk->gate, &rq->session);
        if (mst_store_session_seen(rq->desk->store, key, now, &err) != MST_OK)
            log_event(rq->desk, "trouble", "%s", err.message);
    }
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

static int refuse(struct request *rq, unsigned status, const char *code, const char *message)
{
    reply_error(rq, status, code, "%s", message);
    return 0;
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
    session_look(rq);
    int flags = rq->route ? rq->route->flags : OPEN;
    if (!rq->signed_in && !pace_allows(rq, PACE_STRANGER))
        return 0;
    if (flags & OPEN)
        return 1;
    if (!rq->signed_in)
        return refuse(rq, 401, "sign_in", "sign in first");
    if (!asks_only && !(flags & NO_TOKEN) && !token_fits(rq))
        return refuse(rq, 403, "token", "the session's token is missing; load the page again");
    if (strcmp(rq->session.role, "teacher") != 0)
        return refuse(rq, 403, "forbidden", "this is the teacher's");
    if (flags & SOUND)
        return pace_allows(rq, PACE_SOUND);
    return 1;
}

/* --- handlers
 * ------------------------------------------------------------------------------------- */

static enum mst_status session_reply(struct request *rq, struct mst_error *err)
{
    int set;
    enum mst_status status = gate_has_passphrase(rq->desk->store, &set, err);
    if (status != MST_OK)
        return status;
    struct mst_string *s = &rq->reply.body;
    js_open(s, NULL, '{');
    js_bool(s, "signed_in", rq->signed_in);
    js_text(s, "token", rq->signed_in ? rq->session.token : NULL);
    js_text(s, "role", rq->signed_in ? rq->session.role : NULL);
    js_open(s, "ways", '[');
    if (rq->desk->loopback)
        js_text(s, NULL, "link");
    if (set)
        js_text(s, NULL, "passphrase");
    js_close(s, ']');
    js_bool(s, "passphrase", set);
    js_text(s, "version", MISTARA_VERSION);
    js_close(s, '}');
    return MST_OK;
}

enum mst_status get_session(struct request *rq, struct mst_error *err)
{
    return session_reply(rq, err);
}

static enum mst_status session_begin(struct request *rq, struct mst_error *err)
{
    char secret[44];
    random_text(secret, 43); /* 258 bits */
    struct mst_session *session = &rq->session;
    *session = (struct mst_session){.role = "teacher"};
    key_of(secret, session->key);
    random_text(session->token, 32);
    session->made_ms = session->seen_ms = mst_store_now_ms();
    enum mst_status status = mst_store_session_add(rq->desk->store, session, err);
    if (status != MST_OK)
        return status;
    session_remember(rq->desk->gate, session);
    rq->signed_in = 1;
    reply_header(rq, "Set-Cookie",
                 mst_arena_printf(rq->arena,
                                  "mistara=%s; Path=/; HttpOnly; SameSite=Strict; "
                                  "Max-Age=2592000%s",
                                  secret, rq->desk->loopback ? "" : "; Secure"));
    rq->reply.status = 201;
    return session_reply(rq, err);
}

enum mst_status post_session(struct request *rq, struct mst_error *err)
{
    const char *link = NULL, *passphrase = NULL;
    int fits = 0;
    enum mst_status status = body_only(rq, "link passphrase", err);
    if (status == MST_OK)
        status = body_text(rq, "link", 200, &link, err);
    if (status == MST_OK)
        status = body_text(rq, "passphrase", PASSPHRASE_MOST, &passphrase, err);
    if (status == MST_OK && !link == !passphrase)
        status = mst_fail(err, MST_USAGE, "sign in with a link or with the passphrase");
    if (status != MST_OK || !pace_allows(rq, PACE_SIGN_IN))
        return status;
    if (link && rq->desk->loopback)
        fits = link_spend(rq->desk->gate, link);
    else if (passphrase)
        status = passphrase_fits(rq, passphrase, &fits, err);
    if (status == MST_OK && !fits)
        return reply_error(rq, 401, "sign_in",
                           link ? "the link was used before, or is too old; start the desk again "
                                  "for a new one"
                                : "that is not the passphrase");
    return status == MST_OK ? session_begin(rq, err) : status;
}

enum mst_status delete_session(struct request *rq, struct mst_error *err)
{
    enum mst_status status = mst_store_session_remove(rq->desk->store, rq->session.key, NULL, err);
    sessions_forget(rq->desk->gate);
    if (status != MST_OK)
        return status;
    reply_header(rq, "Set-Cookie", "mistara=; Path=/; HttpOnly; SameSite=Strict; Max-Age=0");
    rq->reply.status = 204;
    return MST_OK;
}

enum mst_status put_passphrase(struct request *rq, struct mst_error *err)
{
    const char *passphrase = NULL, *current = NULL;
    int set, fits = 0;
    enum mst_status status = body_only(rq, "passphrase current", err);
    if (status == MST_OK)
        status = body_text(rq, "passphrase", PASSPHRASE_MOST, &passphrase, err);
    if (status == MST_OK)
        status = body_text_or_null(rq, "current", PASSPHRASE_MOST, &current, err);
    if (status == MST_OK && !passphrase)
        status = mst_fail(err, MST_USAGE, "the member passphrase is missing");
    if (status == MST_OK)
        status = gate_has_passphrase(rq->desk->store, &set, err);
    if (status != MST_OK || !pace_allows(rq, PACE_SIGN_IN))
        return status;
    if (set)
        status = passphrase_fits(rq, current, &fits, err);
    if (status == MST_OK && set && !fits)
        return reply_error(rq, 403, "forbidden", "that is not the passphrase there is");
    if (status == MST_OK)
        status = gate_set_passphrase(rq->desk->store, passphrase, err);
    if (status == MST_OK)
        status = mst_store_session_remove(rq->desk->store, NULL, rq->session.key, err);
    sessions_forget(rq->desk->gate);
    rq->reply.status = status == MST_OK ? 204 : 0;
    return status;
}

enum mst_status get_health(struct request *rq, struct mst_error *err)
{
    (void)err;
    struct mst_string *s = &rq->reply.body;
    js_open(s, NULL, '{');
    js_text(s, "status", "ok");
    js_text(s, "version", MISTARA_VERSION);
    js_close(s, '}');
    return MST_OK;
}
