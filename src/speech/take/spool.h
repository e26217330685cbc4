/*
 * The working copy of a take: its samples one after another in a file without
 * a name, which the system takes back when the take is closed or the program
 * dies. Buffered for appending; any part can be read at once.
 */
#ifndef TAKE_SPOOL_H
#define TAKE_SPOOL_H

#include <mistara/base.h>

enum { SPOOL_BUFFER = 16384 };

struct spool {
    int fd; /* -1: not open */
    int64_t sample_count;
    size_t fill; /* of buffer: the last samples, not yet in the file */
    float buffer[SPOOL_BUFFER];
};

enum mst_status spool_open(struct spool *spool, const char *dir, struct mst_error *err);
void spool_close(struct spool *spool);
enum mst_status spool_add(struct spool *spool, const float *samples, size_t count,
                          struct mst_error *err);
/* Fewer than max only at the end of what has been added. */
enum mst_status spool_read(const struct spool *spool, int64_t first, float *samples, size_t max,
                           size_t *got, struct mst_error *err);

#endif
