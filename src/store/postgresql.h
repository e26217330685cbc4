/* postgresql.h – a connection as the book wants it, for what needs one of its own. */
#ifndef STORE_POSTGRESQL_H
#define STORE_POSTGRESQL_H

#include <libpq-fe.h>
#include <mistara/base.h>

/* NULL: *err says why. */
PGconn *postgresql_connect(const char *where, struct mst_error *err);

#endif
