/*
 * The library's end of decoding: start mistara-decode, hand it one file after
 * another, read what the confined process says, and believe none of it
 * unchecked.
 */
#ifndef TAKE_WORKER_H
#define TAKE_WORKER_H

#include "decode/wire.h"

#include <mistara/take.h>

struct worker;

/* Starts mistara-decode. UNSUPPORTED when it is not there. */
enum mst_status worker_start(const struct mst_take_options *options, struct worker **out,
                             struct mst_error *err);
void worker_stop(struct worker *worker); /* accepts NULL */

/* Begin with a file, whose samples shall come at rate_hz; file_fd stays the caller's. */
enum mst_status worker_begin(struct worker *worker, int file_fd, int rate_hz, int64_t max_samples,
                             struct mst_error *err);

enum worker_event { WORKER_FORMAT, WORKER_SAMPLES, WORKER_END, WORKER_DIED };
struct worker_news {
    enum worker_event event;
    struct wire_format format; /* FORMAT */
    const float *samples;      /* SAMPLES: until the next call; finite, within -8…8 */
    size_t sample_count;
    struct wire_end end; /* END; DIED: all zero but detail */
};
/*
 * Wait for the next piece of news of the file begun. WORKER_END and
 * WORKER_DIED are the last of a file. Errors: CANCELLED, INTERNAL (the
 * decoder speaks otherwise than agreed), IO (it does not answer).
 */
enum mst_status worker_next(struct worker *worker, struct worker_news *news, struct mst_error *err);

#endif
