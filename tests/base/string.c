#include "test.h"

#include <string.h>

static void check(const char *got, const char *wanted)
{
    assert_non_null(got);
    assert_string_equal(got, wanted);
}

#define ESCAPED(fn, literal, wanted)                                                               \
    do {                                                                                           \
        struct mst_string s = {0};                                                                 \
        fn(&s, literal, sizeof(literal) - 1);                                                      \
        check(s.ptr, wanted);                                                                      \
        assert_false(s.failed);                                                                    \
        mst_string_free(&s);                                                                       \
    } while (0)

static void strings_grow(void **state)
{
    (void)state;
    struct mst_string s = {0};
    assert_null(s.ptr);
    mst_string_add(&s, "ignored", 0);
    mst_string_adds(&s, "");
    assert_null(s.ptr);
    for (int i = 0; i < 1000; i++)
        mst_string_addf(&s, "%d,", i % 10);
    assert_int_equal(s.len, 2000);
    assert_int_equal(strlen(s.ptr), 2000);
    mst_string_add_cp(&s, 0x06E1);
    assert_string_equal(s.ptr + 2000, "ۡ");
    mst_string_free(&s);
    assert_null(s.ptr);
    mst_string_free(&s);
}

static void an_impossible_length_sticks(void **state)
{
    (void)state;
    struct mst_string s = {0};
    mst_string_adds(&s, "kept");
    mst_string_add(&s, "x", SIZE_MAX);
    assert_true(s.failed);
    mst_string_adds(&s, "more");
    assert_string_equal(s.ptr, "kept");
    mst_string_free(&s);
}

/* Source: RFC 8259, section 7. */
static void json_is_escaped(void **state)
{
    (void)state;
    ESCAPED(mst_string_add_json, "", "\"\"");
    ESCAPED(mst_string_add_json, "a\"b\\c/", "\"a\\\"b\\\\c/\"");
    ESCAPED(mst_string_add_json, "\n\r\t\x01\x1f\x7f", "\"\\n\\r\\t\\u0001\\u001f\\u007f\"");
    ESCAPED(mst_string_add_json, "نۡ", "\"نۡ\"");
    ESCAPED(mst_string_add_json, "a\xff\xd9z", "\"a\xEF\xBF\xBD\xEF\xBF\xBDz\"");
    ESCAPED(mst_string_add_json, "a\0b", "\"a\\u0000b\"");
    ESCAPED(mst_string_add_json, "\xEF\xBF\xBD", "\"\xEF\xBF\xBD\"");
}

/* Source: XML 1.0, sections 2.2 and 2.4. */
static void xml_is_escaped(void **state)
{
    (void)state;
    struct mst_string empty = {0};
    mst_string_add_xml(&empty, "", 0);
    assert_null(empty.ptr);
    ESCAPED(mst_string_add_xml, "a<b>&\"'c", "a&lt;b&gt;&amp;&quot;&#39;c");
    ESCAPED(mst_string_add_xml, "نۡ\n\t\r", "نۡ\n\t&#13;");
    ESCAPED(mst_string_add_xml, "\x01x\xEF\xBF\xBE", "\xEF\xBF\xBDx\xEF\xBF\xBD");
    ESCAPED(mst_string_add_xml, "\xC0", "\xEF\xBF\xBD");
}

/* Source: RFC 4180, section 2; the guard against formulas: OWASP, "CSV Injection". */
static void csv_is_escaped(void **state)
{
    (void)state;
    ESCAPED(mst_string_add_csv, "plain", "plain");
    ESCAPED(mst_string_add_csv, "a,b", "\"a,b\"");
    ESCAPED(mst_string_add_csv, "say \"nūn\"", "\"say \"\"nūn\"\"\"");
    ESCAPED(mst_string_add_csv, "two\nlines", "\"two\nlines\"");
    ESCAPED(mst_string_add_csv, "\"", "\"\"\"\"");
    ESCAPED(mst_string_add_csv, "=1+1", "'=1+1");
    ESCAPED(mst_string_add_csv, "-2", "'-2");
    ESCAPED(mst_string_add_csv, "@x,y", "\"'@x,y\"");
    ESCAPED(mst_string_add_csv, "a=b", "a=b");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(strings_grow),    cmocka_unit_test(an_impossible_length_sticks),
        cmocka_unit_test(json_is_escaped), cmocka_unit_test(xml_is_escaped),
        cmocka_unit_test(csv_is_escaped),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
