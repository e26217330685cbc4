#include "clock.h"

#include <stdlib.h>
#include <time.h>

static double clock_ms(clockid_t clock)
{
    struct timespec t;
    clock_gettime(clock, &t);
    return (double)t.tv_sec * 1e3 + (double)t.tv_nsec / 1e6;
}

double now_ms(void)
{
    return clock_ms(CLOCK_MONOTONIC);
}

double used_ms(void)
{
    return clock_ms(CLOCK_PROCESS_CPUTIME_ID);
}

static int ascending(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

double median(double *samples, size_t count)
{
    qsort(samples, count, sizeof *samples, ascending);
    return count % 2 ? samples[count / 2] : (samples[count / 2 - 1] + samples[count / 2]) / 2;
}
