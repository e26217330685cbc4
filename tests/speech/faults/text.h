/* The text, opened once for the tests of a program. */
#ifndef TEST_FAULTS_TEXT_H
#define TEST_FAULTS_TEXT_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <mistara/faults.h>

static struct mst_text *text;

static int open_text(void **state)
{
    struct mst_error err;
    (void)state;
    return mst_text_open(NULL, &text, &err) != MST_OK;
}

static int close_text(void **state)
{
    (void)state;
    mst_text_close(text);
    return 0;
}

#endif
