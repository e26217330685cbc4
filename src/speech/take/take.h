/* What the files of this folder know of one another. */
#ifndef TAKE_TAKE_H
#define TAKE_TAKE_H

#include "analysis.h"
#include "spool.h"
#include "worker.h"

#include <mistara/take.h>

struct mst_take {
    struct mst_take_file *files;
    size_t file_count;
    size_t reached; /* files wholly decoded */
    int file_fd;    /* of the file being decoded; -1: between files */
    struct worker *worker;
    struct spool spool;
    struct analysis *analysis; /* of takes at MST_TAKE_RATE_HZ */
    int64_t next_sample;       /* of mst_take_read */
    int64_t max_samples;
    int rate_hz;
    struct mst_take_options options; /* those of opening; strings copied */
    int complete, too_long;
    struct mst_error failed; /* sticky */
};

#endif
