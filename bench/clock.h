/* clock.h – the clock of the benchmarks, and the median of what it showed. */
#ifndef BENCH_CLOCK_H
#define BENCH_CLOCK_H

#include <stddef.h>

double now_ms(void);
/* What this process has used of the processor: where others share the machine, the fairer clock. */
double used_ms(void);
/* Sorts the samples. */
double median(double *samples, size_t count);

#endif
