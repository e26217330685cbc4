/*
 * serve.c – `mistara serve`: the desk in the browser. The server is a program
 * of its own (mistara-serve), which this one becomes: a web server, TLS and a
 * database must not slow the start of the other commands.
 */
#include "cli.h"

#include "src/server/serve-config.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

struct request {
    const char *data, *store, *listen, *cert, *key, *proxy, *names;
    int port, workers, no_workers, lease, set_passphrase, bring_over, quiet;
};
#define TARGET(field) offsetof(struct request, field)

static const struct option_row rows[] = {
    {"data", 0, OPTION_TEXT, "FOLDER", "where everything is kept", TARGET(data)},
    {"store", 0, OPTION_TEXT, "URL",
     "the book of a school: postgresql://HOST/NAME (no password in it)", TARGET(store)},
    {"port", 0, OPTION_NUMBER, "N", "the port (default 7114; 0: any that is free)", TARGET(port)},
    {"listen", 0, OPTION_TEXT, "ADDRESS",
     "the address to listen at (default 127.0.0.1: this machine alone)", TARGET(listen)},
    {"cert", 0, OPTION_TEXT, "FILE", "for other machines: the certificate, PEM", TARGET(cert)},
    {"key", 0, OPTION_TEXT, "FILE", "its key, PEM", TARGET(key)},
    {"behind-proxy", 0, OPTION_TEXT, "ADDRESS",
     "a proxy at this address does TLS and says who asks", TARGET(proxy)},
    {"names", 0, OPTION_TEXT, "NAME,…", "further names the desk is reached by", TARGET(names)},
    {"workers", 0, OPTION_NUMBER, "N", "how many long works go on at once (default 1)",
     TARGET(workers)},
    {"no-workers", 0, OPTION_FLAG, NULL,
     "with --store: leave long work to the machines that `mistara work`", TARGET(no_workers)},
    {"lease", 0, OPTION_NUMBER, "SECONDS",
     "with --store: after how long a silence work is given to others (default 30)", TARGET(lease)},
    {"set-passphrase", 0, OPTION_FLAG, NULL,
     "read a passphrase from the keyboard or standard input, keep it, and end",
     TARGET(set_passphrase)},
    {"bring-over", 0, OPTION_FLAG, NULL,
     "with --store: the folder's own book goes into that database, and end", TARGET(bring_over)},
    {"quiet", 0, OPTION_FLAG, NULL, "no log of single requests", TARGET(quiet)},
};
static const struct option_group group = {"The desk:", rows, sizeof rows / sizeof rows[0]};

enum { ARGUMENTS_MOST = 32 };
struct arguments {
    char *list[ARGUMENTS_MOST];
    int count;
};

static void add(struct arguments *a, struct mst_arena *arena, const char *name, const char *value)
{
    if (value && a->count < ARGUMENTS_MOST - 1)
        a->list[a->count++] = mst_arena_printf(arena, "--%s=%s", name, value);
}

static void add_number(struct arguments *a, struct mst_arena *arena, const char *name, int value)
{
    if (value >= 0 && a->count < ARGUMENTS_MOST - 1)
        a->list[a->count++] = mst_arena_printf(arena, "--%s=%d", name, value);
}

static const char *server_program(void)
{
    const char *told = getenv("MISTARA_SERVE");
    if (told && *told)
        return told;
    return access(MISTARA_SERVE_INSTALLED, X_OK) == 0 ? MISTARA_SERVE_INSTALLED
                                                      : MISTARA_SERVE_BUILT;
}

enum mst_status server_become(char *const list[], struct mst_error *err)
{
    const char *program = server_program();
    execv(program, list);
    return mst_fail_errno(err, MST_UNSUPPORTED, errno,
                          "the desk's program “%.200s” cannot be started; install Mistara whole, "
                          "or set MISTARA_SERVE to its place",
                          program);
}

static enum mst_status run(const struct command *self, int argc, char **argv, struct out *out,
                           struct mst_error *err)
{
    struct request request = {.port = -1, .workers = -1, .lease = -1};
    void *const targets[] = {&request};
    struct mst_arena *arena = mst_arena_new(0);
    const char *const *words;
    size_t count;
    (void)out;
    enum mst_status status =
        options_read_words(self, argc, argv, targets, arena, &words, &count, err);
    if (status == MST_OK && count > 0)
        status =
            mst_fail(err, MST_USAGE, "“mistara serve” takes no words; “%.60s” given", words[0]);
    if (status == MST_OK && (request.port < -1 || request.port > 65535))
        status = mst_fail(err, MST_USAGE, "--port takes 1 to 65535; “%d” given", request.port);
    if (status == MST_OK) {
        struct arguments a = {{(char *)(uintptr_t) "mistara-serve"}, 1};
        add(&a, arena, "data", request.data);
        add(&a, arena, "store", request.store);
        add_number(&a, arena, "port", request.port);
        add(&a, arena, "listen", request.listen);
        add(&a, arena, "cert", request.cert);
        add(&a, arena, "key", request.key);
        add(&a, arena, "behind-proxy", request.proxy);
        add(&a, arena, "names", request.names);
        add_number(&a, arena, "workers", request.workers);
        add_number(&a, arena, "lease", request.lease);
        if (request.no_workers)
            a.list[a.count++] = (char *)(uintptr_t) "--workers=-1";
        if (request.set_passphrase)
            a.list[a.count++] = (char *)(uintptr_t) "--set-passphrase";
        if (request.bring_over)
            a.list[a.count++] = (char *)(uintptr_t) "--bring-over";
        if (request.quiet)
            a.list[a.count++] = (char *)(uintptr_t) "--quiet";
        status = server_become(a.list, err);
    }
    mst_arena_free(arena);
    return status;
}

const struct command command_serve = {
    .name = "serve",
    .arguments = "",
    .summary = "the desk: everything in the browser",
    .about =
        "Opens the desk: a server on this machine, with its pages inside it. It prints a link\n"
        "that signs you in once; follow it in a browser. Everything you keep is in one folder.\n"
        "By default nobody but this machine can reach it. For other machines give --listen\n"
        "with a certificate, or put a proxy before it, and set a passphrase first.",
    .examples = "  mistara serve                                  at http://127.0.0.1:7114/\n"
                "  mistara serve --data class --port 8000\n"
                "  mistara serve --store postgresql://book.school/mistara --data /srv/mistara\n"
                "  mistara serve --set-passphrase\n"
                "  mistara serve --listen 192.168.1.5 --cert desk.pem --key desk.key\n",
    .groups = {&group},
    .run = run,
};
