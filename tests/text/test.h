/* What every test of this folder starts with: cmocka's headers, the open text. */
#ifndef TEST_TEXT_TEST_H
#define TEST_TEXT_TEST_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <mistara/text.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static struct mst_text *text;

static inline int open_text(void **state)
{
    (void)state;
    struct mst_error err;
    if (mst_text_open(NULL, &text, &err) != MST_OK)
        fail_msg("%s", err.message);
    return 0;
}

static inline int close_text(void **state)
{
    (void)state;
    mst_text_close(text);
    return 0;
}

static inline void assert_span(struct mst_span got, const char *wanted)
{
    if (!mst_span_equal(got, mst_span_of(wanted)))
        fail_msg("“%.*s” instead of “%s”", (int)got.len, got.ptr, wanted);
}

static inline void assert_addr(struct mst_addr got, int32_t sura, int32_t verse, int32_t word)
{
    assert_int_equal(got.sura, sura);
    assert_int_equal(got.verse, verse);
    assert_int_equal(got.word, word);
}

#endif
