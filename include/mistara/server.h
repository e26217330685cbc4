/*
 * mistara/server.h – the desk: an HTTP server for one teacher's browser, with
 * the pages inside it. It carries requests to the floors below and their
 * answers back as JSON (docs/api.md); it knows no rule of recitation.
 *
 * Ownership: a server owns its store, its threads and its listening socket
 * until mst_server_close(). Threads: start and close from one thread;
 * mst_server_stop may be called from any.
 */
#ifndef MISTARA_SERVER_H
#define MISTARA_SERVER_H

#include <mistara/base.h>

#ifdef __cplusplus
extern "C" {
#endif

struct mst_server;

/* All zero = the defaults. */
struct mst_server_options {
    const char *data;       /* data folder; NULL: the one of store.h */
    const char *store;      /* "postgresql://…"; NULL: the book is in the data folder */
    int works_only;         /* no web server: it takes jobs of the store, with all its threads */
    int lease_s;            /* a job whose worker is silent for so long is given away; 0: 30 */
    const char *listen;     /* numeric address; NULL: 127.0.0.1 */
    int port;               /* 0: 7114; -1: any that is free */
    const char *cert, *key; /* PEM files; both or none */
    const char *proxy;      /* numeric address of a proxy that does TLS and names the client in
                               X-Forwarded-For; NULL: none */
    const char *names;      /* further names the desk is reached by, commas between them */
    int workers;            /* threads for long work; 0: 1; -1: none, others do it */
    int patience_s;         /* a request's head must have come within this; 0: 30 */
    int quiet;              /* no log of requests */
};

/* Everything that can be refused is refused here, with a sentence that says what to do. */
MST_MUST_CHECK enum mst_status mst_server_open(const struct mst_server_options *options,
                                               struct mst_server **out, struct mst_error *err);
/* Where it is reached: "http://127.0.0.1:7114/", followed by the one-time link's #enter=… on
 * loopback. The link is new with each call. Returns out. */
char *mst_server_address(struct mst_server *server, int with_link, char out[256]);
/* Serve until mst_server_stop. */
void mst_server_run(struct mst_server *server);
void mst_server_stop(struct mst_server *server);  /* may be called from a signal handler */
void mst_server_close(struct mst_server *server); /* accepts NULL */

/* Every route, a line each, for checks of the API's description: METHOD PATH, how it is asked. */
void mst_server_routes(struct mst_string *out);

/* Set the passphrase of a data folder that no server uses, or of a store. USAGE when it is too
 * short. */
MST_MUST_CHECK enum mst_status mst_server_set_passphrase(const struct mst_server_options *options,
                                                         const char *passphrase,
                                                         struct mst_error *err);

#ifdef __cplusplus
}
#endif
#endif
