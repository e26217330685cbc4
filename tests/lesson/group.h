/* The text and an arena, opened once for the tests of a program. */
#ifndef TEST_LESSON_GROUP_H
#define TEST_LESSON_GROUP_H

#include "test.h"

static struct mst_text *text;
static struct mst_arena *arena;

static int setup(void **state)
{
    (void)state;
    struct mst_error err;
    arena = mst_arena_new(0);
    return !arena || mst_text_open(NULL, &text, &err) != MST_OK;
}

static int teardown(void **state)
{
    (void)state;
    mst_text_close(text);
    mst_arena_free(arena);
    return 0;
}

#endif
