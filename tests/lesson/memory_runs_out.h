/* memory_runs_out.h – allocations that fail, for tests linked with --wrap=malloc and --wrap=calloc.
 * Included by one file of a program. */
#ifndef TESTS_LESSON_MEMORY_RUNS_OUT_H
#define TESTS_LESSON_MEMORY_RUNS_OUT_H

#include <stddef.h>

void *__real_malloc(size_t size);
void *__wrap_malloc(size_t size);
void *__real_calloc(size_t count, size_t size);
void *__wrap_calloc(size_t count, size_t size);

/* How many allocations still succeed before all fail; -1: all do. */
static long allocations_left = -1;

static int fails_now(void)
{
    if (allocations_left == 0)
        return 1;
    allocations_left -= allocations_left > 0;
    return 0;
}

void *__wrap_malloc(size_t size)
{
    return fails_now() ? NULL : __real_malloc(size);
}

void *__wrap_calloc(size_t count, size_t size)
{
    return fails_now() ? NULL : __real_calloc(count, size);
}

#endif
