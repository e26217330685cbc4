/* pack.c – an answer packed for the way over a network. */
#include "pack.h"

#include <stdlib.h>
#include <zlib.h>

struct mst_string gzip_of(const char *bytes, size_t len, int level)
{
    enum { WINDOW_BITS = 15, AS_GZIP = 16, MEMORY = 8 };
    z_stream z = {0};
    struct mst_string out = {0};
    if (deflateInit2(&z, level, Z_DEFLATED, WINDOW_BITS + AS_GZIP, MEMORY, Z_DEFAULT_STRATEGY) !=
        Z_OK)
        return out;
    size_t room = deflateBound(&z, len);
    char *to = malloc(room);
    z.next_in = (unsigned char *)bytes;
    z.avail_in = (unsigned)len;
    z.next_out = (unsigned char *)to;
    z.avail_out = (unsigned)room;
    if (to && deflate(&z, Z_FINISH) == Z_STREAM_END)
        out = (struct mst_string){to, z.total_out, room, 0};
    else
        free(to);
    deflateEnd(&z);
    return out;
}
