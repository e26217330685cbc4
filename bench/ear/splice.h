/* splice.h – cut or stretch a piece of sound by a known ratio, without a click. */
#ifndef BENCH_EAR_SPLICE_H
#define BENCH_EAR_SPLICE_H

#include <mistara/ear.h>

/* One piece of a take to be changed. */
struct piece {
    int32_t start_ms, end_ms;
    double ratio;      /* asked */
    double true_ratio; /* got: the splice is laid where the waves agree */
};
/* The samples with all pieces (in order, apart) changed; *count gets how many. */
float *splice(const float *samples, size_t n, struct piece *pieces, size_t piece_count,
              size_t *count);

#endif
