/* pack.h – an answer packed for the way over a network (gzip). */
#ifndef SERVER_PACK_H
#define SERVER_PACK_H

#include <mistara/base.h>

enum { PACK_LEAST = 2048 }; /* bytes; less is not worth it */

/* The bytes packed, with no NUL after them; ptr NULL when that could not be done: they are sent as
 * they are. level: 1 quick … 9 small. */
struct mst_string gzip_of(const char *bytes, size_t len, int level);

#endif
