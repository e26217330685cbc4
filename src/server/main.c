/*
 * main.c – the program mistara-serve, which `mistara serve` and `mistara work` become. It is one
 * of its own so that no other command loads a web server, TLS and a database
 * to start.
 */
#include <mistara/server.h>
#include <mistara/store.h>

#include <errno.h>
#include <getopt.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* A signal handler has nothing else to go by. */
static struct mst_server *running;

static void on_signal(int number)
{
    (void)number;
    mst_server_stop(running);
}

static enum mst_status number(const char *name, const char *text, int *out, struct mst_error *err)
{
    char *end;
    long value = strtol(text, &end, 10);
    if (end == text || *end || value < -1 || value > 65535)
        return mst_fail(err, MST_USAGE, "--%s takes a number; “%.40s” given", name, text);
    *out = (int)value;
    return MST_OK;
}

/* One line of standard input: a passphrase on the command line could be seen by others. */
static enum mst_status set_passphrase(const struct mst_server_options *options,
                                      struct mst_error *err)
{
    char *line = NULL;
    size_t room = 0;
    if (isatty(STDIN_FILENO))
        fprintf(stderr, "The passphrase (several words, at least 10 characters): ");
    ssize_t len = getline(&line, &room, stdin);
    if (len > 0 && line[len - 1] == '\n')
        line[--len] = '\0';
    enum mst_status status =
        len > 0 ? mst_server_set_passphrase(options, line, err)
                : mst_fail(err, MST_USAGE, "type the passphrase, or send it on standard input");
    if (line)
        explicit_bzero(line, room);
    free(line);
    return status;
}

/* What is to be done in place of serving. */
enum deed { SERVE, SET_PASSPHRASE, BRING_OVER, ROUTES };

static enum mst_status bring_over(const struct mst_server_options *o, struct mst_error *err)
{
    int64_t rows;
    if (!o->store)
        return mst_fail(err, MST_USAGE, "say with --store where the folder's book is to go");
    enum mst_status status = mst_store_bring(o->data, o->store, &rows, err);
    if (status == MST_OK)
        printf("%lld rows went into the new book; the folder is that book's now\n",
               (long long)rows);
    return status;
}

static enum mst_status options_read(int argc, char **argv, struct mst_server_options *o,
                                    enum deed *deed, struct mst_error *err)
{
    static const struct option names[] = {{"data", required_argument, NULL, 'd'},
                                          {"store", required_argument, NULL, 'S'},
                                          {"works-only", no_argument, NULL, 'W'},
                                          {"bring-over", no_argument, NULL, 'B'},
                                          {"lease", required_argument, NULL, 'L'},
                                          {"port", required_argument, NULL, 'p'},
                                          {"listen", required_argument, NULL, 'l'},
                                          {"cert", required_argument, NULL, 'c'},
                                          {"key", required_argument, NULL, 'k'},
                                          {"behind-proxy", required_argument, NULL, 'b'},
                                          {"names", required_argument, NULL, 'n'},
                                          {"workers", required_argument, NULL, 'w'},
                                          {"patience", required_argument, NULL, 't'},
                                          {"quiet", no_argument, NULL, 'q'},
                                          {"set-passphrase", no_argument, NULL, 's'},
                                          {"routes", no_argument, NULL, 'r'},
                                          {NULL, 0, NULL, 0}};
    enum mst_status status = MST_OK;
    opterr = 0;
    for (int c; status == MST_OK && (c = getopt_long(argc, argv, "", names, NULL)) != -1;) {
        switch (c) {
        case 'd':
            o->data = optarg;
            break;
        case 'S':
            o->store = optarg;
            break;
        case 'W':
            o->works_only = 1;
            break;
        case 'B':
            *deed = BRING_OVER;
            break;
        case 'L':
            status = number("lease", optarg, &o->lease_s, err);
            break;
        case 'p':
            status = number("port", optarg, &o->port, err);
            if (status == MST_OK && o->port == 0)
                o->port = -1; /* as everywhere: any that is free */
            break;
        case 'l':
            o->listen = optarg;
            break;
        case 'c':
            o->cert = optarg;
            break;
        case 'k':
            o->key = optarg;
            break;
        case 'b':
            o->proxy = optarg;
            break;
        case 'n':
            o->names = optarg;
            break;
        case 'w':
            status = number("workers", optarg, &o->workers, err);
            break;
        case 't':
            status = number("patience", optarg, &o->patience_s, err);
            break;
        case 'q':
            o->quiet = 1;
            break;
        case 's':
            *deed = SET_PASSPHRASE;
            break;
        case 'r':
            *deed = ROUTES;
            break;
        default:
            status = mst_fail(err, MST_USAGE, "“%.60s” is not understood; see mistara serve --help",
                              argv[optind - 1]);
        }
    }
    if (status == MST_OK && optind < argc)
        status = mst_fail(err, MST_USAGE, "“%.60s” is not understood; see mistara serve --help",
                          argv[optind]);
    return status;
}

static enum mst_status serve(const struct mst_server_options *options, struct mst_error *err)
{
    char address[256];
    enum mst_status status = mst_server_open(options, &running, err);
    if (status != MST_OK)
        return status;
    struct sigaction stop = {.sa_handler = on_signal};
    sigemptyset(&stop.sa_mask);
    sigaction(SIGINT, &stop, NULL);
    sigaction(SIGTERM, &stop, NULL);
    if (options->works_only)
        printf("at work\n");
    else
        printf("%s\n", mst_server_address(running, 1, address));
    fflush(stdout);
    if (!options->works_only && strchr(address, '#'))
        fprintf(stderr, "The desk is open. Follow this link once, within half an hour; "
                        "Ctrl-C closes the desk.\n");
    mst_server_run(running);
    struct sigaction hurry = {.sa_handler = SIG_DFL, .sa_flags = 0};
    sigemptyset(&hurry.sa_mask);
    sigaction(SIGINT, &hurry, NULL); /* a second Ctrl-C ends it at once */
    mst_server_close(running);
    return MST_OK;
}

int main(int argc, char **argv)
{
    struct mst_server_options options = {0};
    struct mst_error err = {0};
    enum deed deed = SERVE;
    signal(SIGPIPE, SIG_IGN);
    enum mst_status status = options_read(argc, argv, &options, &deed, &err);
    if (status == MST_OK && deed == ROUTES) { /* for the test of the API's description */
        struct mst_string list = {0};
        mst_server_routes(&list);
        printf("%s", list.ptr ? list.ptr : "");
        mst_string_free(&list);
        return 0;
    }
    if (status == MST_OK)
        status = deed == SET_PASSPHRASE ? set_passphrase(&options, &err)
                 : deed == BRING_OVER   ? bring_over(&options, &err)
                                        : serve(&options, &err);
    if (status != MST_OK)
        fprintf(stderr, "mistara: %s\n", err.message);
    return mst_status_exit_code(status);
}
