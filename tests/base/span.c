#include "test.h"

#include <stdlib.h>
#include <string.h>

static void spans_compare_by_bytes(void **state)
{
    (void)state;
    assert_true(mst_span_equal(MST_SPAN("نون"), mst_span_of("نون")));
    assert_false(mst_span_equal(MST_SPAN("نو"), MST_SPAN("نون")));
    assert_false(mst_span_equal(MST_SPAN("a"), MST_SPAN("b")));
    assert_true(mst_span_equal(mst_span_of(NULL), (struct mst_span){0}));
}

static void every_code_point_survives(void **state)
{
    (void)state;
    for (uint32_t cp = 0; cp <= 0x10FFFF; cp++) {
        if (cp >= 0xD800 && cp <= 0xDFFF)
            continue;
        char bytes[4];
        size_t len = mst_utf8_put(cp, bytes), off = 0;
        assert_int_equal(mst_utf8_next(bytes, len, &off), cp);
        assert_int_equal(off, len);
    }
}

static void impossible_code_points_become_the_stand_in(void **state)
{
    (void)state;
    char bytes[4];
    static const uint32_t bad[] = {0xD800, 0xDFFF, 0x110000, 0xFFFFFFFF};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        assert_int_equal(mst_utf8_put(bad[i], bytes), 3);
        assert_memory_equal(bytes, "\xEF\xBF\xBD", 3);
    }
}

/* Source: The Unicode Standard 15.0, table 3-7, "Well-Formed UTF-8 Byte Sequences": what lies
 * outside it is ill-formed. */
static void ill_formed_bytes_move_on_by_one(void **state)
{
    (void)state;
    static const char *const ill[] = {
        "\x80",             /* a continuation alone */
        "\xC0\xAF",         /* overlong */
        "\xC1\x81",         /* overlong */
        "\xE0\x9F\xBF",     /* overlong */
        "\xED\xA0\x80",     /* a surrogate */
        "\xF0\x8F\xBF\xBF", /* overlong */
        "\xF4\x90\x80\x80", /* beyond U+10FFFF */
        "\xF5\x80\x80\x80",
        "\xFF",
        "\xD9",
        "\xE2\x80",
        "\xF0\x9F\x98",
        "\xE2\x28\xA1",
    };
    for (size_t i = 0; i < sizeof ill / sizeof ill[0]; i++) {
        size_t off = 0;
        assert_int_equal(mst_utf8_next(ill[i], strlen(ill[i]), &off), 0xFFFD);
        assert_int_equal(off, 1);
    }
}

/* Every sequence of one, two and three bytes against table 3-7, written out once more. */
static int table_3_7(const unsigned char *b, size_t len)
{
    if (b[0] <= 0x7F)
        return 1;
    if (b[0] >= 0xC2 && b[0] <= 0xDF)
        return len >= 2 && b[1] >= 0x80 && b[1] <= 0xBF ? 2 : 0;
    if (b[0] >= 0xE0 && b[0] <= 0xEF) {
        unsigned low = b[0] == 0xE0 ? 0xA0 : 0x80, high = b[0] == 0xED ? 0x9F : 0xBF;
        return len >= 3 && b[1] >= low && b[1] <= high && b[2] >= 0x80 && b[2] <= 0xBF ? 3 : 0;
    }
    return 0;
}

static void decoder_agrees_with_the_table(void **state)
{
    (void)state;
    for (uint32_t n = 0; n < 0xF00000; n += n < 0xC00000 ? 0x3B : 1) {
        unsigned char bytes[3] = {(unsigned char)(n >> 16), (unsigned char)(n >> 8),
                                  (unsigned char)n};
        size_t off = 0;
        uint32_t cp = mst_utf8_next((const char *)bytes, 3, &off);
        int len = table_3_7(bytes, 3);
        if (len == 0)
            assert_true(off == 1 && cp == 0xFFFD);
        else if (off != (size_t)len)
            fail_msg("%02X %02X %02X", bytes[0], bytes[1], bytes[2]);
    }
}

static void lists_fall_into_words(void **state)
{
    (void)state;
    static const char *const names[] = {"one", "two", "three"};
    static const struct {
        const char *list;
        int holds;
        uint32_t bits;
        const char *bad;
    } cases[] = {{"one", 1, 1, ""},      {" two , one ", 1, 3, ""},
                 {"all", 1, 7, ""},      {"three,three", 1, 4, ""},
                 {"", 0, 0, ""},         {"one,", 0, 1, ""},
                 {"one,,two", 0, 1, ""}, {"one,four", 0, 1, "four"}};
    for (size_t n = 0; n < sizeof cases / sizeof cases[0]; n++) {
        uint32_t bits;
        struct mst_span word;
        assert_int_equal(mst_list_bits(mst_span_of(cases[n].list), names, 3, &bits, &word),
                         cases[n].holds);
        assert_int_equal(bits, cases[n].bits);
        if (!cases[n].holds)
            assert_true(mst_span_equal(word, mst_span_of(cases[n].bad)));
    }
}

static void data_is_found(void **state)
{
    (void)state;
    char path[4096], small[8];
    setenv("MISTARA_TEST_DATA", "/nowhere/at.all", 1);
    assert_true(mst_data_path("MISTARA_TEST_DATA", "some.file", path, sizeof path));
    assert_string_equal(path, "/nowhere/at.all"); /* what is told is not looked for */
    assert_false(mst_data_path("MISTARA_TEST_DATA", "some.file", small, sizeof small));
    unsetenv("MISTARA_TEST_DATA");
    assert_false(mst_data_path("MISTARA_TEST_DATA", "no/such.file", path, sizeof path));
    assert_non_null(strstr(path, "no/such.file"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(lists_fall_into_words),
        cmocka_unit_test(data_is_found),
        cmocka_unit_test(spans_compare_by_bytes),
        cmocka_unit_test(every_code_point_survives),
        cmocka_unit_test(impossible_code_points_become_the_stand_in),
        cmocka_unit_test(ill_formed_bytes_move_on_by_one),
        cmocka_unit_test(decoder_agrees_with_the_table),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
