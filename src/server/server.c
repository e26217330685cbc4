/* server.c – the desk opened, run and closed in good order. */
#include "answers.h"

#include <arpa/inet.h>
#include <errno.h>
#include <netinet/tcp.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/eventfd.h>
#include <sys/resource.h>
#include <unistd.h>

/* One client may be a class behind the one address of its library, six lines a browser. */
enum { PORT = 7114, CONNECTIONS = 700, CONNECTIONS_A_CLIENT = 300, SILENCE_S = 60, THREADS = 4 };
enum { LEASE_S = 30 };

struct mst_server {
    struct desk desk;
    struct MHD_Daemon *daemon;
    int listen_fd, stop_fd;
    char *cert, *key;
};

/* --- what can be refused ------------------------------------------------------------ */

struct address {
    struct sockaddr_storage at;
    socklen_t len;
    int loopback;
};

static enum mst_status address_read(const char *text, int port, struct address *out,
                                    struct mst_error *err)
{
    struct sockaddr_in *four = (struct sockaddr_in *)(void *)&out->at;
    struct sockaddr_in6 *six = (struct sockaddr_in6 *)(void *)&out->at;
    *out = (struct address){0};
    if (inet_pton(AF_INET, text, &four->sin_addr) == 1) {
        four->sin_family = AF_INET;
        four->sin_port = htons((uint16_t)port);
        out->len = sizeof *four;
        out->loopback = ntohl(four->sin_addr.s_addr) >> 24 == 127;
        return MST_OK;
    }
    if (inet_pton(AF_INET6, text, &six->sin6_addr) == 1) {
        six->sin6_family = AF_INET6;
        six->sin6_port = htons((uint16_t)port);
        out->len = sizeof *six;
        out->loopback = IN6_IS_ADDR_LOOPBACK(&six->sin6_addr);
        return MST_OK;
    }
    return mst_fail(err, MST_USAGE,
                    "“%.60s” is no address; give one in numbers such as 192.168.1.5", text);
}

/* Beyond this machine: only with TLS, or behind a proxy that does it; and with a passphrase. */
static enum mst_status options_check(const struct mst_server_options *o, const struct address *at,
                                     struct mst_error *err)
{
    struct address proxy;
    if (!o->cert != !o->key)
        return mst_fail(err, MST_USAGE, "--cert and --key go together");
    if (o->port < -1 || o->port > 65535)
        return mst_fail(err, MST_USAGE, "--port takes 1 to 65535; “%d” given", o->port);
    if (o->lease_s < 0 || o->lease_s > 3600)
        return mst_fail(err, MST_USAGE, "--lease takes 1 to 3600 seconds; “%d” given", o->lease_s);
    if (o->works_only && !o->store)
        return mst_fail(err, MST_USAGE,
                        "work for a school needs --store postgresql://…; a desk whose book is in "
                        "its folder does its own work");
    if (o->workers == -1 && !o->store)
        return mst_fail(err, MST_USAGE,
                        "--no-workers goes with --store: a desk whose book is in its folder does "
                        "its own work");
    if (o->workers < (o->store && !o->works_only ? -1 : 0) || o->workers > 16)
        return mst_fail(err, MST_USAGE, "--workers takes 1 to 16; “%d” given", o->workers);
    if (o->patience_s < 0 || o->patience_s > 600)
        return mst_fail(err, MST_USAGE, "--patience takes 1 to 600 seconds; “%d” given",
                        o->patience_s);
    if (o->proxy)
        return address_read(o->proxy, 0, &proxy, err);
    if (!at->loopback && !o->cert)
        return mst_fail(err, MST_USAGE,
                        "%s is reached from other machines: give --cert and --key, or "
                        "--behind-proxy with the address of a proxy that does TLS",
                        o->listen);
    return MST_OK;
}

static enum mst_status passphrase_check(struct desk *desk, struct mst_error *err)
{
    int set;
    if (desk->loopback)
        return MST_OK;
    enum mst_status status = gate_has_passphrase(desk->store, &set, err);
    if (status == MST_OK && !set)
        status = mst_fail(err, MST_USAGE,
                          "a desk that other machines reach needs a passphrase; set one first with "
                          "“mistara serve --set-passphrase”");
    return status;
}

/* --- opening --------------------------------------------------------------------------- */

static const char *copied(const char *text)
{
    return text ? strdup(text) : NULL;
}

static enum mst_status file_text(const char *path, char **out, struct mst_error *err)
{
    struct mst_map map;
    enum mst_status status = mst_map_open(path, &map, err);
    if (status != MST_OK)
        return status;
    *out = strndup(map.ptr ? (const char *)map.ptr : "", map.len);
    mst_map_close(&map);
    return *out ? MST_OK : no_memory(err);
}

static enum mst_status listen_at(struct mst_server *server, const struct address *at,
                                 struct mst_error *err)
{
    struct sockaddr_storage bound;
    socklen_t len = sizeof bound;
    int yes = 1;
    server->listen_fd = socket(at->at.ss_family, SOCK_STREAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);
    if (server->listen_fd < 0)
        return mst_fail_errno(err, MST_IO, errno, "no connection can be opened");
    setsockopt(server->listen_fd, SOL_SOCKET, SO_REUSEADDR, &yes, sizeof yes);
    if (at->at.ss_family == AF_INET6)
        setsockopt(server->listen_fd, IPPROTO_IPV6, IPV6_V6ONLY, &yes, sizeof yes);
    if (bind(server->listen_fd, (const struct sockaddr *)&at->at, at->len) != 0) {
        if (errno == EADDRINUSE)
            return mst_fail(err, MST_USAGE,
                            "the port is in use, perhaps by another desk; choose one with --port");
        return mst_fail_errno(err, MST_USAGE, errno, "the desk cannot listen there");
    }
    if (listen(server->listen_fd, 512) != 0 ||
        getsockname(server->listen_fd, (struct sockaddr *)&bound, &len) != 0)
        return mst_fail_errno(err, MST_IO, errno, "the desk cannot listen there");
    server->desk.port = ntohs(bound.ss_family == AF_INET6
                                  ? ((const struct sockaddr_in6 *)(const void *)&bound)->sin6_port
                                  : ((const struct sockaddr_in *)(const void *)&bound)->sin_port);
    return MST_OK;
}

static void files_raise(void)
{
    struct rlimit limit;
    if (getrlimit(RLIMIT_NOFILE, &limit) == 0 && limit.rlim_cur < 4096) {
        limit.rlim_cur = limit.rlim_max < 4096 ? limit.rlim_max : 4096;
        setrlimit(RLIMIT_NOFILE, &limit);
    }
}

static enum mst_status daemon_start(struct mst_server *server, struct mst_error *err)
{
    struct desk *desk = &server->desk;
    struct MHD_OptionItem tls[] = {
        {MHD_OPTION_HTTPS_MEM_CERT, 0, server->cert},
        {MHD_OPTION_HTTPS_MEM_KEY, 0, server->key},
        {MHD_OPTION_HTTPS_PRIORITIES, 0,
         (void *)(uintptr_t) "NORMAL:-VERS-ALL:+VERS-TLS1.3:+VERS-TLS1.2"},
        {MHD_OPTION_END, 0, NULL}};
    struct MHD_OptionItem plain[] = {{MHD_OPTION_END, 0, NULL}};
    unsigned flags = MHD_USE_EPOLL_INTERNAL_THREAD | MHD_ALLOW_SUSPEND_RESUME;
    flags |= desk->tls ? MHD_USE_TLS : 0;
    server->daemon = desk->daemon = MHD_start_daemon(
        flags, 0, NULL, NULL, http_answer, desk, MHD_OPTION_LISTEN_SOCKET, server->listen_fd,
        MHD_OPTION_THREAD_POOL_SIZE, (unsigned)THREADS, MHD_OPTION_CONNECTION_LIMIT,
        (unsigned)CONNECTIONS, MHD_OPTION_PER_IP_CONNECTION_LIMIT,
        desk->loopback || desk->options.proxy ? 0u : (unsigned)CONNECTIONS_A_CLIENT,
        MHD_OPTION_CONNECTION_TIMEOUT, (unsigned)SILENCE_S, MHD_OPTION_CONNECTION_MEMORY_LIMIT,
        (size_t)65536, MHD_OPTION_CONNECTION_MEMORY_INCREMENT, (size_t)16384,
        MHD_OPTION_NOTIFY_COMPLETED, http_completed, desk, MHD_OPTION_NOTIFY_CONNECTION,
        line_changed, desk, MHD_OPTION_STRICT_FOR_CLIENT, 1, MHD_OPTION_ARRAY,
        desk->tls ? tls : plain, MHD_OPTION_END);
    if (!server->daemon)
        return mst_fail(err, MST_USAGE,
                        desk->tls ? "the desk cannot start; are --cert and --key what they should "
                                    "be (PEM, of one pair)?"
                                  : "the desk cannot start");
    server->listen_fd = -1; /* the daemon's now */
    return MST_OK;
}

enum mst_status mst_server_open(const struct mst_server_options *options, struct mst_server **out,
                                struct mst_error *err)
{
    struct address at = {0};
    *out = NULL;
    struct mst_server *server = calloc(1, sizeof *server);
    if (!server)
        return no_memory(err);
    struct desk *desk = &server->desk;
    server->listen_fd = server->stop_fd = -1;
    pthread_mutex_init(&desk->typeset_lock, NULL);
    pthread_mutex_init(&desk->log_lock, NULL);
    desk->options = *options;
    desk->options.data = copied(options->data);
    desk->options.listen = copied(options->listen ? options->listen : "127.0.0.1");
    desk->options.cert = copied(options->cert);
    desk->options.key = copied(options->key);
    desk->options.proxy = copied(options->proxy);
    desk->options.names = copied(options->names);
    desk->options.store = copied(options->store);
    desk->lease_ms = 1000 * (int64_t)(options->lease_s ? options->lease_s : LEASE_S);
    desk->tls = options->cert != NULL;
    int port = options->port == 0 ? PORT : options->port < 0 ? 0 : options->port;
    server->stop_fd = eventfd(0, EFD_CLOEXEC);
    enum mst_status status = desk->options.listen && server->stop_fd >= 0 ? MST_OK : no_memory(err);
    if (status == MST_OK)
        status = address_read(desk->options.listen, port, &at, err);
    if (status == MST_OK)
        status = options_check(&desk->options, &at, err);
    desk->loopback = at.loopback && !desk->options.proxy;
    if (status == MST_OK && desk->tls)
        status = file_text(options->cert, &server->cert, err);
    if (status == MST_OK && desk->tls)
        status = file_text(options->key, &server->key, err);
    if (status == MST_OK)
        status = mst_text_open(NULL, &desk->text, err);
    if (status == MST_OK)
        status = mst_store_open_with(
            &(struct mst_store_options){options->data, options->store, desk->lease_ms},
            &desk->store, err);
    if (status == MST_OK && !options->works_only)
        status = passphrase_check(desk, err);
    if (status == MST_OK && !options->works_only)
        status = listen_at(server, &at, err);
    files_raise();
    if (status == MST_OK)
        status = gate_open(desk, err);
    if (status == MST_OK)
        status = pace_open(desk, err);
    if (status == MST_OK)
        status = lines_open(desk, err);
    if (status == MST_OK)
        status = events_open(desk, err);
    if (status == MST_OK)
        status = slow_open(desk, err);
    if (status == MST_OK)
        status = sounds_open(desk, err);
    if (status == MST_OK)
        status = lengths_open(desk, err);
    if (status == MST_OK)
        status = answers_open(desk, err);
    if (status == MST_OK)
        status = school_open(desk, err);
    if (status == MST_OK)
        status = jobs_open(desk, err);
    if (status == MST_OK && !options->works_only)
        status = keeper_open(desk, err);
    if (status == MST_OK && !options->works_only)
        status = daemon_start(server, err);
    if (status != MST_OK) {
        mst_server_close(server);
        return status;
    }
    *out = server;
    return MST_OK;
}

char *mst_server_address(struct mst_server *server, int with_link, char out[256])
{
    const struct desk *desk = &server->desk;
    const char *listen = desk->options.listen;
    char link[48] = "";
    if (with_link && desk->loopback)
        gate_new_link(desk->gate, link);
    snprintf(out, 256, "%s://%s%s%s:%d/%s%s", desk->tls ? "https" : "http",
             strchr(listen, ':') ? "[" : "", listen, strchr(listen, ':') ? "]" : "", desk->port,
             *link ? "#enter=" : "", link);
    return out;
}

void mst_server_run(struct mst_server *server)
{
    struct pollfd stop = {server->stop_fd, POLLIN, 0};
    log_event(&server->desk, "open", "Mistara %s", MISTARA_VERSION);
    while (poll(&stop, 1, -1) < 0 && errno == EINTR)
        ;
    log_event(&server->desk, "closing", "asked to stop");
}

void mst_server_stop(struct mst_server *server)
{
    uint64_t one = 1;
    if (write(server->stop_fd, &one, sizeof one) < 0) {
        /* it is full: asked often enough */
    }
}

/* Nobody new; long work put back; streams ended; what was asked is answered. */
void mst_server_close(struct mst_server *server)
{
    if (!server)
        return;
    struct desk *desk = &server->desk;
    atomic_store(&desk->stopping, 1);
    if (server->daemon) {
        MHD_socket fd = MHD_quiesce_daemon(server->daemon);
        if (fd != MHD_INVALID_SOCKET)
            close(fd);
    }
    keeper_close(desk->keeper);
    jobs_close(desk);
    school_stop(desk);
    events_stop(desk->events);
    slow_close(desk->slow);
    if (server->daemon)
        MHD_stop_daemon(server->daemon);
    lines_close(desk->lines);
    events_close(desk->events);
    sounds_close(desk->sounds);
    lengths_close(desk->lengths);
    answers_close(desk->answers);
    jobs_free(desk);
    school_close(desk);
    gate_close(desk->gate);
    pace_close(desk->pacer);
    for (int n = 0; n < desk->typeset_count; n++)
        mst_typeset_close(desk->typesets[n]);
    mst_store_close(desk->store);
    mst_text_close(desk->text);
    if (server->listen_fd >= 0)
        close(server->listen_fd);
    if (server->stop_fd >= 0)
        close(server->stop_fd);
    const char *const copies[] = {desk->options.data, desk->options.listen, desk->options.cert,
                                  desk->options.key,  desk->options.proxy,  desk->options.names,
                                  desk->options.store};
    for (size_t n = 0; n < sizeof copies / sizeof copies[0]; n++)
        free((void *)(uintptr_t)copies[n]);
    free(server->cert);
    free(server->key);
    pthread_mutex_destroy(&desk->typeset_lock);
    pthread_mutex_destroy(&desk->log_lock);
    free(server);
}

enum mst_status mst_server_set_passphrase(const struct mst_server_options *options,
                                          const char *passphrase, struct mst_error *err)
{
    struct mst_store *store;
    enum mst_status status = mst_store_open_with(
        &(struct mst_store_options){.folder = options->data, .database = options->store}, &store,
        err);
    if (status != MST_OK)
        return status;
    status = gate_set_passphrase(store, passphrase, err);
    if (status == MST_OK)
        status = mst_store_session_remove(store, NULL, NULL, err);
    mst_store_close(store);
    return status;
}
